/* plan_work.h - what the files that make and write a plan share. Not for callers. */
#ifndef TAKEOVER_PLAN_WORK_H
#define TAKEOVER_PLAN_WORK_H

#include "takeover/plan.h"

#define TAKE_OFTEN 256 /* rows or values between two looks at whether to go on */

struct logbook_visit;

/* A plan while it is made. */
struct take_making {
    struct logbook *lb;
    const struct take_table *t;
    const struct take_target *target;
    struct arena *a;
    struct take_plan *p;
    struct logbook_visit *visits; /* of the engine, in the logbook */
    size_t n_visits;
    int *by_date; /* the latest visit of the table in each chain, + 1; 0 none */
    int *by_plug; /* the same for the values of a plug at a visit */
    int date, odometer, cylinder, position, engine, gap_from; /* columns, -1 none */
    size_t row;
    bool bad; /* the row has a trouble */
    size_t n_cells_out; /* of the row */
    bool plugless; /* whose its figures are has been told to be wrong */
    bool which_asked; /* of several plugs of the cylinder */
    struct record *known; /* the engine in the logbook, NULL until it is asked for */
};

/* Said of a row, or with the column of a cell, -1 none: the row stays out, or it is only said. */
__attribute__((format(printf, 4, 5))) void take_tell_trouble(struct take_making *m, int column, bool only_said, const char *fmt, ...);
/* Sets whether the logbook holds this value already, and counts it; says which other value it takes the place of. */
void take_compare(struct take_making *m, struct take_value *v);
/* The column of a visit that such words are kept in. A complaint of the list is kept with those. */
const char *take_kept_in(const struct take_value *v);
/* False, ERR_CANCEL: whoever watches (NULL: nobody) wants it stopped. */
bool take_go_on(const struct logbook_watch *watch, const char *what, size_t n_done, size_t n_all, struct err *e);

#endif
