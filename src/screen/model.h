/* model.h - what the screens are shown, and what they ask for in return. A screen reads the model,
 * emits widgets and queues actions; src/app applies them after the frame, each as one undo step.
 * Screens never touch the disk, the database or SDL. */
#ifndef SCREEN_MODEL_H
#define SCREEN_MODEL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "base/files.h"
#include "gauge/gauge_budget.h"
#include "lineup/lineup_crop.h"
#include "logbook/logbook.h"
#include "photo/photo_view.h"
#include "placing/old_photos.h"
#include "placing/placing.h"
#include "reading/findings.h"
#include "reading/job.h"
#include "reading/refit.h"
#include "reading/wear.h"
#include "record/ready.h"
#include "record/record.h"
#include "report/paper.h"
#include "report/report.h"
#include "screen/engine_form.h"
#include "takeover/plan.h"
#include "ui/ui.h"

enum screen_id { SCREEN_ENGINES, SCREEN_PLAN, SCREEN_PHOTOS, SCREEN_LINEUP, SCREEN_TRENDS, SCREEN_JOB, SCREEN_REPORT, SCREEN_COUNT };

#define TAKE_TROUBLES_SHOWN 400 /* of a table's, in the window: nobody reads more, and the command tells them all */
#define FILES_MOST 600 /* chosen at once in the file browser; of more the first */
enum files_purpose { FILES_PHOTOS, FILES_TAKE, FILES_MERGE, FILES_COPY }; /* what the file browser is open for */
enum panel_id { PANEL_NONE, PANEL_VISIT, PANEL_SIGNS, PANEL_HELP, PANEL_FILES, PANEL_REMOVE_ENGINE, PANEL_REMOVE_VISIT, PANEL_RULES, PANEL_SEARCH, PANEL_MEASURES, PANEL_PLUG, PANEL_TAKE, PANEL_CONFLICTS };

struct engine_levels { /* worst level of each cylinder at the last visit */
    uint8_t level[ENGINE_MAX_CYLINDERS];
    bool read[ENGINE_MAX_CYLINDERS]; /* somebody looked at a firing end: */
    struct rgba nose[ENGINE_MAX_CYLINDERS]; /* how its insulator looks */
    bool known;              /* false: not looked up yet */
    char not_ready[120];     /* why it must not be started, "" */
    bool counted;            /* what follows was looked up: for that all visits are read */
    int n_answered;          /* of its open steps, those that its latest visit answers, or that are done or over without a tick */
    char next_step[160];     /* with some: the first of the others, "" none */
};

/* The lengths in a photo that tell its scale. */
enum photo_scale_kind { PHOTO_SCALE_THREAD, PHOTO_SCALE_HEX, PHOTO_SCALE_LENGTH, PHOTO_SCALE_COUNT };
struct photo_scale {
    bool drawn, given;              /* there is a line for it; it tells a scale */
    double px_per_mm, pm;           /* in the plane of the gap; pm: about 95 in 100 lie within */
    bool held;                      /* HEX: both ends lie on its edges; LENGTH: on marks of the ruler: */
    double x[2], y[2];              /*   there, px of the photo */
    double n_marks;                 /* LENGTH: of the ruler's marks' distances between the ends; 0 not counted */
    double by_counted_mm;           /* its length (a hex': across flats) by the scale that counts; 0: a thread's, not given */
    char words[400];                /* what it rests on, or why there is none */
};

/* Lines that were found in a photo without drawing; px of the photo. */
struct photo_offer {
    bool given;
    double axis_x[2], axis_y[2], thread_x[2], thread_y[2], gap_x[2], gap_y[2];
    double gap_mm, gap_pm_mm; /* as the lines would be measured */
};

#define PHOTO_MAX_WHICH 8
/* What the marks of one photo give; computed beside the window. What is not given says why. */
struct photo_measured {
    char photo[UUID_BYTES];
    bool busy;                /* newer figures are on their way */
    struct photo_scale scales[PHOTO_SCALE_COUNT];
    bool scale_given;
    int counts;                     /* enum photo_scale_kind: the surest, which the gap is told by */
    double px_per_mm, px_per_mm_pm; /* of that one */
    char conflict[500];             /* two that do not agree, and what to do; "" none */
    bool at_odds[PHOTO_SCALE_COUNT]; /* which two */
    double pitch_px, n_periods;     /* 0: not from a thread */
    bool on_outline;                /* of the thread, not over its middle */
    int n_which;                    /* threads the line may lie along, where nobody named one: a person has to say which; 0 none */
    char which[PHOTO_MAX_WHICH][24], thread[24]; /*   they; the thread it was read as, "" none */
    double scale_x[2], scale_y[2];  /* the thread's line as it was used, straightened to it */
    bool gap_given;
    double gap_mm, gap_pm_mm, gap_x[2], gap_y[2]; /* ends on the edges of the metal */
    double gap_part_mm[GAUGE_PART_COUNT]; /* what the ± is made of, each by itself */
    char gap_remedy[300];           /* what makes the largest of them smaller */
    char gap_words[400];
    bool colour_given;
    double lab[3], spread, dark_share, gloss_share;
    uint8_t srgb[3];
    char colour_words[400], suggest[300];
    struct photo_offer offer; /* of a photo without lines */
};

/* What is known of a plug that is being cut out of its photo. */
struct cut_facts {
    bool known, failed;      /* not known: on its way */
    bool by_eye, by_hand;    /* the scale is not measured; a person set the frame */
    enum lineup_light light;
    char why[300];           /* failed */
};
struct plug_cut {
    const struct logbook_photo *photo; /* NULL: none shows the plug so */
    struct lineup_plan *plan;
    uint64_t key;            /* of its picture, LINEUP_CUT_PX square */
    bool asked;              /* for its picture */
    struct cut_facts facts;
};
struct visit_photos {
    const char *done;        /* the work that was done at it, in short; NULL not looked up yet */
    const struct logbook_photo *photos;
    size_t n, n_cuts;
    struct plug_cut *cuts;   /* at plug index * CROP_VIEW_COUNT + view; NULL without photos */
    bool known;              /* false: not looked up yet */
    bool asked;              /* its pictures are there or on their way */
};

/* What will be handed over; put together beside the window. */
struct report_preview {
    const struct content *content;
    struct arena *memory;    /* of the layout, which the screen makes: */
    struct paper paper;
    float width;             /* it was laid out for; 0: not yet */
};

struct model {
    const char *logbook_name, *logbook_folder; /* the folder's name, its path */
    bool can_write;
    const char *why_read_only;
    const struct logbook_engine *engines;
    const struct engine_levels *engine_levels;
    size_t n_engines;
    size_t n_all_visits;
    /* the open engine */
    const char *engine_id, *visit_id; /* "" none */
    const struct logbook_visit *visits;
    size_t n_visits;
    const struct record *record;      /* NULL none; its last visit is the one shown */
    const struct ready *ready;        /* whether the engine may be started, by all its visits; never NULL with a record */
    const struct findings *findings;  /* NULL while the first are computed */
    const struct wear *wear;          /* of the record, NULL with it */
    const struct logbook_photo *photos; /* of the visit, in order */
    size_t n_photos;
    const struct logbook_mark *marks;   /* of all photos of the visit, those of a photo together */
    size_t n_marks;
    const struct logbook_crop *crops;   /* frames set by hand on the visit's photos */
    size_t n_crops;
    bool large_lacks;        /* the large picture of the photo shown is not there yet: the small one stands for it */
    const struct photo_measured *measured; /* of the photo shown, NULL none */
    const struct photo_measured *measured_other; /* of the one compared with it, NULL none */
    bool offers_off;         /* by a script: photos are not looked through for lines to offer */
    const struct visit_photos *lineup; /* of each visit of the record, NULL none */
    const struct photo_proposal *proposal; /* one for each photo, or NULL */
    const char *proposal_why;         /* why there is none, "" */
    const struct logbook_fact *facts;
    size_t n_facts;
    /* the job */
    const struct logbook_step *steps; /* of the visit; before them, at the latest visit, n_left_steps that earlier ones left open */
    const struct logbook_need *needs; /* likewise */
    const struct logbook_verdict *verdicts; /* of the engine */
    size_t n_steps, n_needs, n_verdicts, n_left_steps, n_left_needs;
    const struct logbook_part *parts; /* plugs, coils, leads, injectors that were ever moved or named */
    size_t n_parts;
    const struct job *job;            /* what is proposed and not taken over; never NULL with a record */
    const struct refit *refit;        /* charts for the engine's plug, or NULL */
    const struct refit *book;         /* the same, or the maker's figure alone; NULL without an engine */
    const char *refit_why;            /* why there are none, "" */
    const struct report_watch *watches; /* whether repairs held */
    const struct swap_verdict *swaps;
    size_t n_watches, n_swaps;
    const char *ended_with;           /* what was checked and what stays open; "" */
    bool closed;                      /* the visit is finished */
    enum level cylinder_level[ENGINE_MAX_CYLINDERS];
    const char *undo_label, *redo_label;
    struct report_preview *report;    /* NULL: on its way */
    struct report_ask report_ask;
    const char *report_paper;         /* id of the paper a PDF is set for */
    const char *report_written;       /* the file written last, "" */
    bool report_writing;
    bool inches, large_targets;
    const struct logbook_hit *hits;   /* of the search, best first */
    size_t n_hits;
    const struct take_table *take;    /* a table being taken over, NULL none */
    const struct take_target *take_target;
    const struct take_plan *take_plan;
    const struct old_photos *take_photos; /* a folder of photos being taken over, NULL none */
    const char *take_folder;
    const struct logbook_merged *merge;   /* another copy of the logbook, looked at: what it would bring; NULL none */
    const struct logbook_conflict *merge_conflicts;
    size_t n_merge_conflicts;
    const char *take_busy, *take_words;   /* what is being looked through or written, NULL nothing; how far it is */
    float take_share;                     /* 0 to 1; 0 not known */
    bool take_planning;                   /* the plan is being made anew for the columns shown */
    unsigned take_made;                   /* grows with each plan */
    const struct logbook_conflict *conflicts; /* fields that merged copies say differently */
    size_t n_conflicts;
    bool merged_last;                     /* a merge is noted: */
    struct logbook_last_merge last_merge;
    const char *pressure;             /* id of the unit compression is typed and shown in */
    const char *compression_rule;     /* id of the rule compression is judged by */
    const char *watched;              /* folder whose new photos are taken in, "" none */
    const char *photos_here;          /* ids of visits to which photos of another day belong; NULL none */
    const char *files_dir;            /* the folder listed for the file browser, "" none */
    const struct files_list *files;   /* its entries, NULL when it cannot be opened */
    const bool *files_are_logbooks;   /* of each entry; looked up where a copy is looked for, else NULL */
    const char *copy_name, *copy_words; /* what a copy made into that folder would be called, what it would hold: "12 photos, 45.0 MB" */
    int jobs_done, jobs_all;          /* photos being taken in; all 0: nothing runs */
    const char *today;
    float px_scale;                   /* pixels of the screen for a logical one */
    int scale_percent;                /* set by the person; 0: as the screen says */
};

#define JOB_ROTATION "Plug rotation" /* the fact that keeps a scheme of one's own */
#define JOB_MOST_HELD 128
enum job_section { JOB_CAUSES, JOB_STEPS, JOB_PARTS, JOB_PLUGS };

/* Drawing on a photo. */
enum bench_drag { BENCH_IDLE, BENCH_PAN, BENCH_NEW, BENCH_POINT, BENCH_WHOLE, BENCH_LEVEL, BENCH_CLOSE };
enum bench_frame { BENCH_FRAME_NONE, BENCH_FRAME_TIP, BENCH_FRAME_SIDE };
struct bench_state {
    int tool;                /* enum mark_kind that is drawn next, -1: marks are selected */
    char mark[UUID_BYTES];   /* selected, "" none */
    int point;               /* of it, that the arrows move; -1: all of it */
    enum bench_drag drag;
    struct logbook_mark draft; /* BENCH_NEW, POINT, WHOLE, LEVEL: as it will be; an outline begun by its corners has points while idle */
    int corners;             /* it had before the press that is held */
    double grab_x, grab_y;   /* px of the photo */
    bool loupe;              /* the magnifier is at the pointer */
    bool no_corner;          /* the gap of the photo shown, magnified in a corner, was put away */
    int corner;              /* where that or the magnifier is: bit 0 right, bit 1 above */
    int reveal;              /* frames in which the photo shown is brought into view in the strip */
    int beside;              /* index of a photo compared with this one, counted from 1; 0 none */
    bool blended;            /* it lies over this one, not beside it */
    char words_left[UUID_BYTES]; /* photo whose marks were copied on but for words, pins and rulers, "" none */
    bool mark_gone;          /* Delete took a mark of this photo away, and nothing was asked of it since */
    int share;               /* of it that is seen then, per cent */
    enum bench_frame framing; /* the plug is laid into this frame */
    bool levelling;          /* the next line drawn says what is to be level or upright */
    char no_offer[24][UUID_BYTES]; /* photos whose offered lines were turned down, "" none; the oldest makes room */
    int next_no_offer;
    char placed_here[UUID_BYTES]; /* the photo shown, as long as it is, whose plug was pressed where that is asked for first: it stays there; "" none */
};

/* What was typed into a field and could not be taken (refused.h). */
struct refusal {
    char field[64], typed[256], words[300];
    bool half; /* typing only paused: not said while the field has the focus */
    bool said; /* it takes its room: not before the press that left the field is let go */
};

/* Two visits of the Line-up: not compared, one laid over the other, one seen after the other. */
enum lineup_laid { LINEUP_APART, LINEUP_OVERLAID, LINEUP_BLINKED };

struct view_tiles {
    struct photo_tile list[PHOTO_VIEW_MAX_TILES];
    size_t n;
};

/* What the screens keep for themselves: never on disk. */
struct screen_state {
    enum screen_id screen;
    enum panel_id panel;
    int engine_row;          /* on Engines */
    int engines_from, engines_to; /* rows in view: their levels are wanted */
    bool new_open;           /* the new-engine panel is shown */
    struct engine_form fresh; /* of a new engine, or of the one that is changed */
    struct engine_form left[2]; /* forms that were left with something in them, of a new engine, of one that was being changed; not touched: none */
    uint32_t new_said;        /* which of its fields say what is wrong with them, by their order */
    int cylinder, position;  /* selected plug; cylinder -1 none */
    int found;               /* selected stand-out, -1 none */
    int look_row, look_plug; /* what last time asks: where its key led last at the visit look_visit; 0 nowhere yet */
    char look_visit[UUID_BYTES];
    int cause_open;          /* likely cause whose sum is shown, counted from 1; 0 none */
    bool pulling;
    bool tell_unread;        /* it is to be told which plugs were left out */
    bool pulled;             /* its last plug led to the plan by itself: Escape does not leave the engine for it */
    int pull_at;             /* index in the removal order */
    int noted_sign, noted_cylinder, noted_position; /* the sign noted last, + 1, and of which plug; 0 none */
    enum zone signs_zone;    /* PANEL_SIGNS: which */
    char digits[8];          /* typed so far of a cylinder's name, where names have several signs */
    double digits_until_s;
    char newest[UUID_BYTES]; /* photo that came in last in this session: Photos opens with it; "" none */
    int newest_with;         /* so many came in with it, itself counted: files dropped together */
    bool newest_goes_on;     /* more of them are still on their way */
    int photo;               /* index of the photo selected in the tray or shown, -1 none */
    int tray_from, tray_showed; /* the first of the tray's photos that is shown, and which was taken up then */
    char shows_of[UUID_BYTES]; /* the photo of the tray of which it was said what it shows, before its number is pressed */
    int shows;               /* its enum zone */
    int work_verb, work_part, work_bank; /* work done as it is put together: words, bank counted from 1; 0 none */
    engine_set work_cylinders;
    int measure_row;         /* PANEL_MEASURES: cylinder whose air is listened for */
    float ready_px;          /* room that the reasons not to start took, kept while this visit is open: */
    char ready_visit[UUID_BYTES];
    float ready_w;           /* at this width */
    bool turned_asked;       /* it is asked whether the plugs were out when the engine was turned by hand */
    char ran_asked[UUID_BYTES], ran_visit[UUID_BYTES]; /* the step by whose tick the engine ran, while it is asked whether the plugs were in, "" none; the visit shown then */
    bool menu;               /* the menu of the visit bar is open */
    float menu_x, menu_y;
    float left_px;           /* width of what stands out, 0: as the window suggests */
    int lineup_from, lineup_to; /* Line-up: visits in view, their photos are wanted */
    bool lineup_firing;
    enum crop_view lineup_view;
    enum lineup_laid lineup_laid; /* two visits compared: */
    int lineup_over, lineup_under; /* which */
    int lineup_share;        /* of the upper one that is seen, per cent */
    bool lineup_blinked;     /* one at a time: the lower one is seen now */
    bool by_default;         /* the plug chosen is the first, nobody chose it: its number still means its first plug */
    enum job_section job_section; /* Job: what is chosen, and its row, at this visit */
    char job_visit[UUID_BYTES];
    int job_fact;            /* fact whose fields are shown, counted from 1; 0 none */
    bool job_by_person;      /* somebody chose it: it is not just the first */
    enum job_section job_awaits; /* a row was added to it: chosen as soon as it holds more than so many */
    int job_awaits_above;    /* -1 none */
    int job_row, job_kind;   /* kind of part that changes holes: plug, coil, lead, injector */
    int job_swap_from;       /* cylinder whose part waits for the other, counted from 1; 0 none */
    bool job_show_things, job_show_kinds; /* parts that change holes are brought into view; the choice of their kind */
    int job_thing;           /* part whose fields are shown, counted from 1; 0 none */
    bool job_open;           /* its fields are shown */
    struct rect job_area;    /* where its lists stood in the last frame; h 0: it was not shown */
    struct {
        uint64_t of;         /* which step, with which words */
        float px;            /* as tall as it was since the screen was opened: what is ticked moves no other away */
    } job_held[JOB_MOST_HELD];
    int n_job_held;
    int job_show;            /* it was chosen by key, its fields opened: brought into view in so many frames */
    int trend;               /* Trends: row of its measures */
    bool trend_by_date, trend_table, trend_by_plug;
    int trend_in_view[2];    /* measure and line, counted from 1, for which the list was last scrolled to the line */
    int trend_out;           /* line of a plug that is out of the engine, counted from 1; 0 none */
    int trend_out_beside;    /* hole that was chosen with it: another one chosen since counts instead */
    float zoom, pan_x, pan_y; /* Photos: zoom 0 = fit */
    float grab_x, grab_y;
    struct bench_state bench;
    struct view_tiles tiles, other_tiles; /* of the photo shown, of the one compared with it: what is to be sharp */
    enum files_purpose files_for;
    char files_dir[1024];    /* PANEL_FILES: the folder shown, the names chosen in it */
    char files_chosen[FILES_MOST][256];
    int n_files_chosen;
    char files_preview[1300]; /* path whose picture is wanted, "" none */
    bool files_fresh;               /* the list just came: its first row gets the focus */
    uint64_t files_hover, files_focus; /* hashes of the names the pointer and the focus came to last */
    char search[200];        /* PANEL_SEARCH: the words */
    bool search_opened;
    int take_column;         /* PANEL_TAKE: the chosen column */
    int conflict;            /* PANEL_CONFLICTS: the chosen field */
    struct trouble_heights { /* PANEL_TAKE: where each sentence of the list begins, for the plan and the width they were measured at */
        unsigned made;
        float w;
        float y[TAKE_TROUBLES_SHOWN + 1];
    } trouble_heights;
    struct refusal refused[6]; /* oldest first */
    int n_refused;
    char typed_in[64];         /* what refused_text_field() has the focus, or had it last, by the name it is refused under */
    char to_show[64];          /* a field that waits with what was refused, to be brought into view; "" none */
    bool editing_order;      /* plan_order.c: the order the plugs come out is drawn */
    int16_t order[ENGINE_MAX_PLUGS]; /* so far, as cylinder * ENGINE_MAX_POSITIONS + position */
    int n_order;
    char order_visit[UUID_BYTES]; /* it is of */
};

/* What nobody would find his way in any more: no scale makes the window smaller than this, in logical px. */
#define LEAST_WIDTH 960
#define LEAST_HEIGHT 600

enum action_type {
    ACT_NONE, ACT_OPEN_ENGINE, ACT_CLOSE_ENGINE, ACT_ADD_ENGINE, ACT_SAVE_ENGINE, ACT_SET_THREAD, ACT_NO_WELLS, ACT_REMOVE_ENGINE,
    ACT_OPEN_VISIT, ACT_NEW_VISIT, ACT_REMOVE_VISIT, ACT_SET_VISIT_TEXT, ACT_TOGGLE_COMPLAINT,
    ACT_NOTE_SIGN, ACT_SEE_ZONE, ACT_SET_GAP, ACT_SET_GAP_LEFT, ACT_SET_GAP_PHOTO, ACT_TRUST_GAP, ACT_SET_MEASURE, ACT_TOGGLE_HEARD, ACT_SET_PLUG, ACT_SET_TEST, ACT_SET_OUTSIDE, ACT_SET_WORK, ACT_SET_PRESSURE,
    ACT_REFIT, ACT_ADD_FILES, ACT_PHOTOS_APART, ACT_PLACE_PHOTO, ACT_CAPTION, ACT_ACCEPT_PROPOSAL, ACT_TURN_PHOTO,
    ACT_REMOVE_PHOTO, ACT_UNDO, ACT_REDO, ACT_WRITE_REPORT, ACT_SET_REPORT, ACT_WRITE_SHEET, ACT_SET_UNITS, ACT_SET_TARGETS, ACT_SET_SCALE, ACT_SET_RULE, ACT_PHOTOS_HERE, ACT_SEARCH, ACT_OPEN_HIT, ACT_CANCEL_JOBS, ACT_WATCH, ACT_LIST_FOLDER, ACT_COPY_LOGBOOK,
    ACT_PUT_MARKS, ACT_REMOVE_MARK, ACT_SET_NOSE, ACT_EXPORT_MARKS, ACT_SET_CROP, ACT_REMOVE_CROP,
    ACT_JUDGE, ACT_STEP_STATE, ACT_STEP_TEXT, ACT_STEP_ADD, ACT_STEP_MOVE, ACT_TAKE_PROPOSED, ACT_NEED_STATE, ACT_NEED_TEXT,
    ACT_NEED_ADD, ACT_FACT_ADD, ACT_FACT_TEXT, ACT_CLOSE_VISIT, ACT_TAKE_OUT, ACT_REFIT_WORD, ACT_SWAP_PARTS,
    ACT_PART_NEW, ACT_PART_FIT, ACT_PART_TEXT, ACT_SCHEME, ACT_ROTATE, ACT_TURNED, ACT_SET_TORQUE, ACT_CLEANED, ACT_UNPLUGGED, ACT_KEEP_SCRAP, /* the job: app/job_edit.c */
    ACT_TAKE_COLUMN, ACT_TAKE_DATES, ACT_TAKE_ENGINE, ACT_TAKE_ACCEPT, ACT_TAKE_STOP, /* a table: app/taking.c */
    ACT_SETTLE,
    ACT_QUIT
};
struct action {
    enum action_type type;
    char id[UUID_BYTES];
    int cylinder, position, sign, amount, zone, number;
    char column[32];
    char text[4096];
    bool flag;
    char field[64];    /* typed there: what is refused stays in it (refused.h); "" told by a toast */
    bool half;         /* typing only paused: a refusal is told when the field is left */
    bool entered;      /* by Enter: what is refused keeps the focus */
    const char *files; /* ACT_ADD_FILES: paths, one a line; in the frame's arena */
    const struct logbook_mark *marks; /* ACT_PUT_MARKS: `number` of them, one step; in the frame's arena */
    double figures[4]; /* ACT_SET_NOSE: CIELAB; ACT_SET_GAP_PHOTO: gap (less than 0: none) and its ±, mm; ACT_SET_CROP: x, y, turn_deg, px_per_mm */
};
struct actions {
    struct action list[16];
    int n;
};
/* The next free action, zeroed, with cylinder -1; more than fit in one frame are dropped (a frame
 * handles one event, so two are the most there are). */
struct action *actions_add(struct actions *out, enum action_type type);

/* ---- the screens ---- */
/* Gives the part of the bar in which nothing stands that is used: behind the way back, before the tabs. */
struct rect screen_bar(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r, float *name_px); /* name_px: how much of it the engine's name takes, from the left */
void screen_more_button(struct ui *ui, struct screen_state *st, struct rect r); /* opens the menu under it */
void screen_visits(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r);
/* Why the engine must not be started, over the whole width under the visits. Where nothing stands in the way it takes no room, but
 * plug by plug, and where it took some at this visit: nothing moves away under a hand. */
float screen_ready_px(struct ui *ui, const struct model *m, struct screen_state *st, float w);
/* The engine was turned by hand, plugs out. With a plug in over the liquid that is asked first: said again, it is so. */
/* A tick that says that the engine ran, while holes are blank, is asked about first: it is taken out of what is done. */
void screen_ready_ask_ran(const struct model *m, struct screen_state *st, struct actions *out);
void screen_ready_turned(const struct model *m, struct screen_state *st, struct actions *out);
void screen_ready(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r);
struct rect screen_engines(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r);
/* An engine's bores by number where they are, front marked, no further apart than most_pitch; levels NULL: none known. */
void engine_sketch(struct ui *ui, const struct engine *en, const struct engine_levels *levels, float most_pitch, struct rect r);
/* The engine of a form large, with all that follows from how it is written down, to be checked before it is added;
 * title stands there until it has a name. */
void engine_sketch_sheet(struct ui *ui, const struct engine_form *f, const char *title, struct rect r);
/* A form before anything is typed into it, of this engine or ("") of a new one; false: there is no such engine. Whether one holds
 * something else than that. */
bool form_as_begun(const struct model *m, const char *editing, bool inches, struct engine_form *out);
bool form_holds(const struct model *m, const struct engine_form *f);
/* The panel of a new engine, or of the one to change, with what was left in it; it is left, and what it holds kept for the
 * next time. */
void form_open(const struct model *m, struct screen_state *st, const char *editing);
void form_leave(const struct model *m, struct screen_state *st);
void screen_new_engine(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r);
void screen_plan(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r);
void screen_photos(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r);
void screen_search(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out);
void screen_lineup(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r);
void screen_trends(struct ui *ui, const struct model *m, struct screen_state *st, struct rect r);
void screen_job(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r);
void screen_report(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r);
void screen_panels(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out);
struct rect panel_begin(struct ui *ui, const char *id, struct rect r, const char *title, struct screen_state *st); /* gives what is inside; ends with ui_modal_end */
void screen_files_open(struct screen_state *st, enum files_purpose purpose);
void screen_files(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out);
void screen_all(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out);

/* ---- parts of Plan ---- */
void plan_found(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r);
void plan_engine(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r);
/* An engine's cylinders in firing order over its crank's degrees, each with its level's mark (levels NULL: none).
 * Live: each can be pressed; gives the one that was, else -1. */
int firing_ribbon(struct ui *ui, const struct engine *en, const enum level *levels, int chosen_cylinder, bool live, struct rect r);
/* The gap as found of the selected plug; true when a figure was entered that is a gap. */
bool trust_gap_button(struct ui *ui, const char *id, struct rect r, const struct reading *reading); /* where there are two gaps as found: the other counts */
bool gap_field(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r);
float gap_refused(struct ui *ui, struct screen_state *st, struct rect r, bool draw); /* refused_words() of it */
void plan_tray(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r);
int tray_shows(const struct model *m, const struct screen_state *st); /* what was said of the photo taken up, -1 nothing, -2 none is taken up */
void tray_next(const struct model *m, struct screen_state *st); /* takes up the next photo that waits: a number then places it; -1 none */
void plan_card(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r);
/* Puts the photos where they are proposed, or the one that is offered for the plug in hand on that; false: there is none. */
bool pulling_accept(const struct model *m, const struct screen_state *st, struct actions *out);
bool pulling_offers(const struct model *m, const struct screen_state *st); /* a photo, for the plug in hand */
void pulling_place(const struct model *m, const struct screen_state *st, int zone, struct actions *out); /* it, as what it shows; -1 not said */
void plan_no_wells(const struct model *m, struct actions *out); /* they stand in the open, where the card does not say */
void plan_pulling(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r);
#define PLAN_TOAST "This is the plan. Esc again: all engines." /* said of the plan, and only there */
/* A cylinder's name begun with figures is taken before anything else acts: at any other key or press of
 * the pointer, or when nothing more came. */
void plan_settle_digits(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out);
void plan_digits(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out); /* on Job they choose its hole */
void job_let_go(struct screen_state *st); /* Job was left, or shows another visit: its rows stand as tall as their words again */
int job_hole(const struct model *m, const struct screen_state *st); /* the cylinder of the hole chosen there, -1 none is */
void job_pick_hole(const struct model *m, struct screen_state *st, int cylinder); /* the one chosen already: its next plug */
void plan_keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out);
/* Drawing the order the plugs come out. */
void plan_order_begin(const struct model *m, struct screen_state *st);
int plan_order_place(const struct screen_state *st, int cylinder, int position); /* from 0, -1 not yet in it */
void plan_order_tap(struct screen_state *st, int cylinder, int position); /* at its end, or out of it again */
void plan_order_number(const struct model *m, struct screen_state *st, int cylinder); /* its first plug that is not in it */
bool plan_order_keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out); /* true: a key was used */
void plan_order_band(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r);
/* To Photos, with a photo of the selected plug: the one of its bore, else its first. The one shown stays when it is of
 * that plug, or waits in the tray. False, and nothing changed, where the plug has none. */
bool screen_to_photos(const struct model *m, struct screen_state *st);

/* The bore of one plug: a photo of its firing end, or a tip drawn from the reading. */
struct bore_look {
    struct rgba nose;    /* of the insulator */
    uint8_t wet, soot, ash, specks, blister; /* amounts 0..3 */
    uint8_t read;        /* 0: nothing known of the firing end */
    int16_t strap_deg;   /* where the side electrode comes from, clockwise from the top */
};
struct bore_look bore_look_of(const struct reading *r, int cylinder);
void bore_draw(struct ui *ui, struct rect r, const struct bore_look *look);
uint64_t photo_key(const char *sha256, bool large);
uint64_t photo_file_key(const char *path); /* of a file in the browser */
uint64_t plug_cut_key(const struct lineup_plan *plan);
uint64_t photo_tile_key(const char *sha256, const struct photo_tile *t);
/* The photo that stands for a plug's firing end, or NULL. */
const struct logbook_photo *model_bore_photo(const struct model *m, int cylinder, int position);
/* The same plug cut out of that very photo; NULL: it is not known where it is in it. */
const struct plug_cut *model_bore_cut(const struct model *m, int cylinder, int position);
/* A step of the visit, or one left open for it; NULL: none has that id. */
const struct logbook_step *model_step(const struct model *m, const char *id);
/* Rows of the job's lists: what earlier visits left open, then the visit's own; row below their number. */
int model_step_rows(const struct model *m);
int model_need_rows(const struct model *m);
const struct logbook_step *model_step_row(const struct model *m, int row);
const struct logbook_need *model_need_row(const struct model *m, int row);
/* Index among the engine's visits, -1: none has that id. */
int model_visit_index(const struct model *m, const char *id);
/* "14 Jun 2026 · 186,400 km"; a second visit of the same day has (2) behind its date. */
void model_visit_words(const struct model *m, size_t visit, char *to, size_t n_room);
/* Of the photos without a place: how many there are, for how many one is proposed, and the one proposed for the
 * firing end of a plug (NULL none). */
struct photos_waiting {
    int n, n_proposed;
};
struct photos_waiting model_waiting(const struct model *m);
const struct logbook_photo *model_proposed_photo(const struct model *m, int cylinder, int position);
/* A plug in its bore about x, y: oil or water in the well, then the photo, or the tip drawn from the reading, or an
 * open bore. cut: the plug cut out of that photo, upright and as large as all are, NULL: the photo's middle. */
void bore_show(struct ui *ui, float x, float y, float radius, const struct reading *r, const struct logbook_photo *photo, const struct plug_cut *cut, int cylinder);
void bore_well(struct ui *ui, float x, float y, float radius, const struct reading *r); /* the oil or water only */
void bore_open(struct ui *ui, float x, float y, float radius); /* of a plug nobody has read */
enum level gap_level(const struct engine_plug_spec *spec, double mm); /* how a gap stands to its range */
enum level model_gap_level(const struct model *m, const struct reading *r); /* and to the others: of the visit shown, with a gap */
bool photo_ready(const struct logbook_photo *p); /* it has a picture */

/* The small picture of a photo, whole, in the middle of r; the photo has a size. */
void photo_draw(struct ui *ui, const struct logbook_photo *p, struct rect r);

/* Keys that open the signs of a zone, in the order its rows are shown. */
struct zone_key {
    enum zone zone;
    const char *key;
};
const struct zone_key *screen_zone_keys(int *n);
int screen_zone_pressed(struct ui *ui, const struct model *m); /* the zone whose key was pressed, its firing end by Shift+F; -1 none. Takes the key */
extern const char *const screen_ignitions[ENGINE_IGNITION_COUNT]; /* as shown, "" unknown */

/* ---- small helps ---- */
/* A plug's label as long as fits: "1A bottom", "1A b", "b". */
void model_plug_short(struct ui *ui, const struct engine *en, int cylinder, int position, float width, const struct ui_style *style, char *to, size_t n_room);
struct unit_choice model_units(const struct model *m); /* figures are told in */
void model_format_gap(const struct model *m, double mm, char *to, size_t n_room); /* in the set unit, without its name */
void model_gap_hint(const struct model *m, char *to, size_t n_room); /* what a gap's field proposes to type: the lower end of the range, else a usual one */
void model_format_found(const struct model *m, const struct reading *r, char *to, size_t n_room); /* the gap as found, "≈" before one from a photo */
const struct visit *model_visit(const struct model *m); /* NULL none */
const struct reading *model_reading(const struct model *m, int cylinder, int position);
const struct reading *model_plug_reading(const struct model *m, int cylinder, int position); /* of the plug that is in this hole now; NULL of one that was not read */
/* The order of work: as the plugs are drawn where that is written down, the others behind them as they stand. */
int model_order_count(const struct model *m);
struct plug_place model_order_at(const struct model *m, int i);
bool model_next_plug(const struct model *m, struct plug_place *at); /* false, *at untouched, at its end */
/* Plug by plug, from the selected plug; where that is finished or nobody selected it, from the first that is not. */
/* To a place in the order, and at once: a key that follows in the next frame is of that plug. One that is not there: the first. */
void pulling_go(const struct model *m, struct screen_state *st, int at);
void pulling_begin(const struct model *m, struct screen_state *st);
void pulling_step(const struct model *m, struct screen_state *st); /* onward; behind the last back to the plan */
void pulling_tell_unread(struct ui *ui, const struct model *m, struct screen_state *st); /* once, there: which were left out */
/* The plugs of the order without deposit and gap; how many, and "plugs 1, 2 and 5". */
int pulling_unread(const struct model *m, char *to, size_t n_room);
bool model_asks_zone(const struct model *m, const struct reading *r, enum zone zone); /* the engine may have it, or something was noted of this one all the same */
bool model_asks_well(const struct model *m, const struct reading *r);
bool pulling_finished(const struct model *m, struct plug_place at); /* deposit and gap are noted */
/* What is asked for about the selected plug. */
struct action *actions_note_sign(struct actions *out, struct screen_state *st, int sign, int amount);
void actions_trust_gap(struct actions *out, int cylinder, int position, bool photo); /* which gap as found counts */
/* By amount_next(); normal wear has no amount: it stays. A firing end whose last sign is taken back was not looked at. */
void actions_next_sign(struct actions *out, struct screen_state *st, const struct reading *r, int sign);
/* + and −: more or less of the sign that was noted last, of the same plug; says so where there is none. */
void amount_keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out);
/* Where normal wear and a fault stand on one firing end: the question, amber, from the top of r; gives its height, 0 nothing. */
float contradiction_note(struct ui *ui, const struct reading *reading, struct rect r);
/* + and − are about a zone's sign: the one noted last, else the heaviest there is. */
void amount_of_zone(const struct model *m, struct screen_state *st, enum zone zone);
/* The same by mouse: a chip for less of it, the last of a flow; none where nothing was noted. out NULL: only laid out. */
void amount_less_chip(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct ui_flow *flow);
struct action *actions_see_zone(struct actions *out, const struct screen_state *st, enum zone zone, bool seen);
struct rgba level_colour(enum level level);
/* Draws the level's mark (triangle, diamond, dot) at x, y. */
void level_mark(struct ui *ui, float x, float y, float size, enum level level);

#endif
