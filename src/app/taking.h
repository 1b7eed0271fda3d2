/* taking.h - what is on its way in: a table, a folder of old photos, or another copy of the logbook. Looked at first,
 * written only when it is accepted. Whatever may take long is done beside the window (app/errand.h), on a logbook handle
 * of its own. */
#ifndef APP_TAKING_H
#define APP_TAKING_H

#include "app/errand.h"
#include "base/err.h"
#include "logbook/logbook.h"
#include "screen/model.h"
#include "placing/old_photos.h"
#include "takeover/plan.h"

struct taking {
    bool open;             /* a table */
    struct take_table table;
    struct take_target target;
    struct take_plan plan;
    struct arena *arena; /* of the plan */
    char engine[UUID_BYTES], preset[32]; /* chosen, "" not */
    struct old_photos *old; /* or a folder of photos, in the arena; NULL none */
    bool merge;             /* or another copy of the logbook, looked at */
    struct logbook_merged merged;
    struct logbook_conflict *conflicts; /* it would leave */
    size_t n_conflicts;
    char folder[1024];
    char shown[UUID_BYTES], visit[UUID_BYTES]; /* what was open when it came */
};
void taking_close(struct taking *t);

/* What the thread is to do, and what came of it. */
enum taking_do { TAKING_OPEN, TAKING_PLAN, TAKING_WRITE, TAKING_MERGE, TAKING_BACK, TAKING_COPY };
struct taking_job {
    enum taking_do what;
    char logbook[1024]; /* its folder */
    char path[4096];    /* TAKING_OPEN: the table or folder; TAKING_MERGE: the other copy; TAKING_COPY: the folder a copy of the logbook goes into */
    bool engine_open;   /* and which one it is: */
    struct engine en;
    bool anew;          /* TAKING_PLAN: the engine is another one, columns are matched again */
    struct taking taking;
    bool fine;
    struct err err;
    char engine_id[UUID_BYTES], visit_id[UUID_BYTES]; /* TAKING_WRITE: where it went */
    char words[1400];                                 /* TAKING_WRITE, TAKING_MERGE, TAKING_BACK (the last merge), TAKING_COPY: what was done */
};
/* The work of an errand. TAKING_PLAN has only a copy of the table's columns: its cells are the session's. */
void taking_work(struct errand *r, void *job);
void taking_job_free(void *job);
/* Whether a folder is a logbook. */
bool taking_is_logbook(const char *path);
/* A column's field, its unit, the order of days and months, the engine: ACT_TAKE_COLUMN, _DATES, _ENGINE. The columns are
 * as chosen at once, the plan is made anew by a job. */
void taking_change(struct taking *t, const struct action *a, bool *anew);

#endif
