/* session_work.h - what the parts of the session share: loading (session_load.c), actions as edits
 * (session_edit.c; on photos session_photo.c; what is taken over session_take.c), life and news (session.c). Nobody else includes it. */
#ifndef APP_SESSION_WORK_H
#define APP_SESSION_WORK_H

#include "app/session.h"
#include "app/behind.h"
#include "app/draft.h"
#include "app/intake.h"
#include "app/measure.h"
#include "app/report_job.h"
#include "app/report_view.h"
#include "app/taking.h"
#include "app/worker.h"
#include "base/err.h"
#include "base/files.h"
#include "base/text.h"
#include "photo/watch.h"
#include "settings/settings.h"

struct session {
    struct logbook *lb;
    struct worker *worker;
    struct behind *behind; /* NULL: nothing is read behind the window */
    struct intake *intake;
    struct measurer *measurer;
    struct measure_question measuring; /* asked last; no photo: nothing */
    struct photo_measured measured;
    struct measure_question measuring_other; /* of the photo compared with, behind it; no photo: nothing */
    struct photo_measured measured_other;
    struct report_job *report_job;
    struct report_view *report_view;
    struct report_question report_asked; /* asked last; no engine: nothing */
    int64_t read_to;                     /* the change up to which the record was read */
    uint64_t loaded;                     /* grows each time the engine is loaded anew */
    char report_written[400];
    struct settings settings;
    struct watch *watch;
    void (*wake)(void *ctx);
    void *wake_ctx;
    struct model m;
    struct screen_state st;
    struct engine_levels *engine_levels; /* of m.engines, each looked up when it comes into view */
    struct arena *engines_arena, *engine_arena; /* lists of Engines; lists of the open engine */
    struct arena *search_arena; /* what was found */
    struct arena *conflicts_arena;
    struct draft draft;
    struct taking taking;
    struct errand *errand;    /* what is looked through, planned or written for it */
    enum taking_do errand_does;
    bool plan_again, plan_anew; /* columns were changed while it planned */
    char errand_title[200], errand_words[80];
    struct text take_waiting; /* tables and folders that come after it, one a line */
    struct visit_photos *lineup; /* of the record's visits, each looked up when it comes into view */
    struct wear wear;
    struct ready ready;
    struct record record;
    struct record left;             /* of the engine that was left last: opened again, only what was edited since is read */
    char left_engine[UUID_BYTES];   /* "": none */
    int64_t left_to;                /* the change up to which it was read */
    char left_day[11];
    bool wear_stands;               /* the record was taken as it was left: so was its wear */
    int64_t levels_to;              /* the change up to which the levels of engines were looked up */
    char levels_day[11];
    struct job job;                 /* what is proposed for the visit shown */
    struct refit refit;
    struct report_watch watches[REPORT_MOST_WATCHED];
    struct swap_verdict swaps[REPORT_MOST_WATCHED];
    char refit_why[400], ended_with[400], merge_label[300], redo_merge[FILES_PATH_BYTES], redo_merge_label[300];
    struct findings findings;
    bool *are_logbooks; /* of its entries; NULL not looked up */
    char copy_name[300], copy_words[80], folder_path[4096]; /* the logbook's, in full */
    struct files_list files; /* of files_dir, for the file browser */
    char files_dir[1024];
    int64_t files_changed_ns;
    char turned[UUID_BYTES]; /* the photo turned last, and by which step of undo */
    int64_t turned_step;
    int64_t typed_run, typed_step; /* the run of typing kept last, and its step of undo; 0 none */
    uint64_t asked; /* number of the newest question to the worker */
    char engine_id[UUID_BYTES], visit_id[UUID_BYTES], name[128], today[11], why[200];
};

/* The worst sign of each cylinder at the last visit, and "do not start", of the engines in view that have none yet: quick,
 * without the whole reading. True when one was looked up; one that another copy writes just now waits. */
bool session_levels_in_view(struct session *s);
/* How many of its open steps are answered; reads all its visits. */
void session_count_open(struct session *s, struct engine_levels *levels, const struct logbook_engine *e);
/* Lets go of what is shown of the open engine; close: and goes back to Engines. */
void session_drop_engine(struct session *s);
void session_close_engine(struct session *s);
/* The open engine at the visit shown (the latest when that one is gone). whole: all of its visits are read anew, not only
 * those that edits touched since. On failure what was shown stays. */
bool session_load_engine(struct session *s, bool whole, struct err *e);
/* Findings of the visit shown, as the settings say; they come by themselves. */
void session_ask_findings(struct session *s);
/* What is on the screen, anew from the disk. */
bool session_reload(struct session *s, bool whole, struct err *e);
/* Looks up the visits the Line-up has in view and asks for their pictures; true when something is new. */
bool session_show_lineup(struct session *s);
bool session_lineup_asked(const struct session *s); /* pictures of the visits in view are there or on their way */
/* Which photo of the visit is new among n_was of before: Photos is to open with it. */
void session_note_newest(struct session *s, char (*was)[UUID_BYTES], size_t n_was);

/* What the settings say of reports, into the model. */
void session_take_report(struct session *s);
/* Watches the folder of the settings, none when it is empty. */
bool session_start_watch(struct session *s, struct err *e);
/* Lists a folder for the file browser; "" when it is shut. */
void session_list_folder(struct session *s, const char *dir);

/* An engine that is opened is seen from above, its first plug on the card. */
void session_to_plan(struct session *s);
/* What was chosen of a table, a folder or another copy on its way in; looked through, planned and written beside the
 * window, so that nothing can fail here. */
void session_take(struct session *s, const struct action *a);
/* Cases among the files (one a line) become engines, the others are photos of the visit. edited: an engine came in;
 * photos come in by themselves. */
bool session_take_files(struct session *s, struct ui *ui, const char *files, bool *edited, struct err *e);
void session_merge(struct session *s, const char *folder);
void session_merge_back(struct session *s); /* the last thing done was a merge: the whole of it goes */
/* What came of the errand, when it is done; true when something is new. */
bool session_take_errand(struct session *s, struct ui *ui, struct err *e);
/* Carries out one action: one undo step at most. edited: what is shown must be loaded anew. */
bool session_carry_out(struct session *s, struct ui *ui, const struct action *a, bool *edited, struct err *e);
/* The same for what is done to photos of the visit. */
bool session_photo(struct session *s, struct ui *ui, const struct action *a, bool *edited, struct err *e);

#endif
