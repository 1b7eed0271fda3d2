/* refit.h - tightening: every published chart by its own name, never merged into one band, since they
 * do not always overlap; turning angle for a new and for a used washer. The engine maker's own figure
 * comes first. Tables: assets/torque.csv, assets/turn-angle.csv (sources row by row). */
#ifndef READING_REFIT_H
#define READING_REFIT_H

#include <stdbool.h>
#include <stddef.h>

struct err;

struct refit_chart {
    char chart[32];             /* id as in the table */
    char head[24];              /* "aluminium", "cast-iron", "not stated" */
    double nm_min, nm_max;
    char note[300], source[300];
};
struct refit_turn {
    char washer[32];            /* "new", "reused", "n/a" */
    char seat[40];
    double deg_min, deg_max;
    bool doubtful;              /* in conflict with every other source read: not to be used */
    char source[300];
};
#define REFIT_MAX 40
struct refit {
    int n_charts, n_turns;
    struct refit_chart charts[REFIT_MAX];
    struct refit_turn turns[REFIT_MAX];
};
/* thread "M14x1.25", seat "gasket" or "taper", head "aluminium", "cast-iron" or "" (any). Fails
 * ERR_NOTFOUND naming the threads there are when no chart knows the thread. */
bool refit_find(const char *thread, const char *seat, const char *head, struct refit *out, struct err *e);

#endif
