/* plan.h - what a table would write into a logbook: every value with the cell it comes from, what is wrong row by
 * row, and what has still to be asked. Nothing is written before take_plan_write(). */
#ifndef TAKEOVER_PLAN_H
#define TAKEOVER_PLAN_H

#include "base/clock.h"
#include "takeover/table.h"

struct arena;
struct logbook;
struct text;

/* Which engine the rows are of. */
struct take_target {
    char engine_id[UUID_BYTES]; /* "": a new one is made of `engine` */
    struct engine engine;
    bool known;                 /* false: not found out, has to be asked */
    char visit_id[UUID_BYTES];  /* visit that rows without a date belong to, "" none */
    char why[240];              /* how it was found, or what is missing */
};
/* engine_name, preset: asked for, NULL not. visit_id: the visit shown or named, "" none. Goes by the engine named in the
 * table, else by `shown` (the engine that is open, "" none), else by the only one there is; one that is not in
 * the logbook is made of the ready-made layout with the table's cylinders, when exactly one has them. Fails when
 * what is asked for is not there. */
bool take_target_find(struct logbook *lb, const struct take_table *t, const char *engine_name, const char *preset, const char *shown,
                      const char *visit_id, struct take_target *out, struct err *e);

/* Whether an engine has the cylinders the table names, in the banks it says; nearly: three quarters of them, for a
 * table with a slip or a plug that was not read. */
bool take_target_fits(const struct take_table *t, const struct engine *en, bool nearly);

struct take_value { /* of one cell, or one sign of it */
    size_t row;
    int column, visit, cylinder, position;
    enum take_field_id field;
    int64_t whole;     /* also a sign's amount, a yes or no, a word's value */
    double real;
    int sign;          /* TAKE_IS_SIGNS: -1: the zone was looked at */
    bool there;        /* the logbook holds it already, as exactly or more so: it stays */
    const char *text;  /* TAKE_IS_PART, notes, codes and complaints */
    int before;        /* while the plan is made: one before in its chain of plugs, -1 none */
};
struct take_visit {
    char id[UUID_BYTES]; /* "" new */
    char date[11];
    bool odometer_given;
    int64_t odometer_m;
    const char *odometer_unit;
    bool sets_odometer;  /* one that is there has none yet */
    size_t row;          /* of the table, that named it first */
    int before;          /* while the plan is made: the one before in its chain of dates, -1 none */
};
struct take_trouble {
    size_t line;       /* of the file, from 1 */
    int column;        /* -1: of the row as a whole */
    bool only_said;    /* the row is taken all the same, */
    bool cell_out;     /*   without this cell */
    const char *text;
};
struct take_plan {
    struct take_value *values;
    size_t n_values, values_room;
    struct take_visit *visits;
    size_t n_visits, visits_room, n_new_visits;
    struct take_trouble *troubles;
    size_t n_troubles, troubles_room;
    size_t n_rows, n_bad_rows;        /* rows with something in them; left out */
    size_t n_bad_cells;               /* left out of rows that are taken */
    size_t n_readings, n_changed;     /* plugs with a value; with one to write */
    size_t n_new, n_same, n_replaced; /* values: not in the logbook yet, there already, others there */
    bool assumed[TAKE_MAX_COLUMNS];   /* figures of this column have the unit that was guessed */
    char plug_type[ENGINE_PLUG_TYPE_BYTES]; /* goes onto the engine's card, which names none; "" none */
    char question[300];                    /* what has to be known first; "" nothing */
};
struct logbook_watch;
/* Everything in the arena. False only when the logbook cannot be read, or it was stopped (ERR_CANCEL). watch: asked on
 * the way, NULL not. */
bool take_plan_make(struct logbook *lb, const struct take_table *t, const struct take_target *target, const struct logbook_watch *watch, struct arena *a, struct take_plan *out, struct err *e);
/* Writes it as one change, one undo step. engine_id, visit_id: where it went (the last visit). Nothing is written
 * when it fails. The plan must have no question. */
bool take_plan_write(struct logbook *lb, const struct take_table *t, const struct take_plan *p, const struct take_target *target, const struct logbook_watch *watch,
                     char engine_id[UUID_BYTES], char visit_id[UUID_BYTES], struct err *e);
/* "12 readings with 40 values into 3 visits, 2 of them new; 4 values there already" */
void take_plan_words(const struct take_plan *p, char *to, size_t n_room);
/* "2 rows and 1 cell" that stay out; false, "": all of it is taken. */
bool take_plan_left_out(const struct take_plan *p, char *to, size_t n_room);
/* The distance's unit stands nowhere: it is asked for, miles taken as kilometres spoil all wear. */
bool take_plan_asks_distance(const struct take_table *t);
/* Which unit was taken for which column where nothing says one, and how to say another: "" none was. in_window: by the
 * panel's key, else by the heading or the option of the command line. */
void take_plan_assumed(const struct take_table *t, const struct take_plan *p, bool in_window, struct text *to);

#endif
