/* arrange.h - is this pattern luck? The readings of one measure are dealt out over the plugs in every
 * way, and each shape's statistic is compared with the one observed.
 *
 * A statistic is the largest, over all places of a shape (either bank, any pair), of the contrast
 * sum(w * x) with weights that add up to 0 over the plugs that were read. Equal values are not told
 * apart: only distinct arrangements are counted. */
#ifndef READING_ARRANGE_H
#define READING_ARRANGE_H

#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>
#include "engine/engine.h"

struct err;

#define ARRANGE_MAX_EXACT 5000000.0
#define ARRANGE_MAX_SHAPES 16

struct arrange_place {
    int shape;      /* 0 .. n_shapes-1 */
    double weight[ENGINE_MAX_PLUGS];
};

struct arrange {
    int n;                          /* plugs read */
    double value[ENGINE_MAX_PLUGS]; /* in place order */
    int n_shapes, n_places;
    struct arrange_place *places;
    uint64_t seed;
    double max_exact;               /* above so many arrangements: sampling */
    int n_samples;
    const atomic_bool *cancel;      /* NULL: none */
};

struct arrange_result {
    double statistic[ARRANGE_MAX_SHAPES]; /* observed, largest over the shape's places */
    int best_place[ARRANGE_MAX_SHAPES];   /* -1 when the shape has no place */
    double z[ARRANGE_MAX_SHAPES];         /* observed, in standard deviations of its own distribution */
    double chance[ARRANGE_MAX_SHAPES];    /* share of arrangements with a statistic at least as large */
    double chance_any[ARRANGE_MAX_SHAPES]; /* share in which any shape's z is at least this one's (max-statistic
                                              of Westfall and Young 1993) */
    bool exact;
    double arrangements;                  /* counted or sampled */
};

/* Number of distinct arrangements of the values. */
double arrange_count(const double *value, int n);
/* Fails only ERR_CANCEL. */
bool arrange_run(const struct arrange *a, struct arrange_result *out, struct err *e);

#endif
