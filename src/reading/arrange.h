/* arrange.h - is this pattern luck? The readings of one measure are dealt out over the plugs in every
 * way, and each shape's statistic is compared with the one observed.
 *
 * The statistic of a shape is the largest over all its places (either bank, any pair) of the sum
 * of weight times value; over both signs of it where either direction counts. A shape may also be a
 * list of neighbours: the sum over neighbours of the product of their values less a centre (join count
 * with centre 0, the numerator of Moran's I with the mean). Equal values are not told apart: only
 * distinct arrangements are counted. */
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

struct arrange_edge {
    uint8_t from, to; /* 0 .. n-1 */
};

struct arrange_joins {
    int shape;      /* one that has no places */
    double centre;
    int n_edges;
    const struct arrange_edge *edges;
};

struct arrange {
    int n;                          /* plugs read */
    double value[ENGINE_MAX_PLUGS]; /* in place order */
    int n_shapes, n_places, n_joins;
    bool two_sided[ARRANGE_MAX_SHAPES]; /* places of this shape count in both directions */
    const struct arrange_place *places;
    const struct arrange_joins *joins;
    uint64_t seed;
    double max_exact;               /* above so many that some place tells apart: sampling */
    int n_samples;
    const atomic_bool *cancel;      /* NULL: none */
};

struct arrange_result {
    double statistic[ARRANGE_MAX_SHAPES]; /* observed, largest over the shape's places */
    bool tested[ARRANGE_MAX_SHAPES];      /* the shape has a place or a list of neighbours */
    int best_place[ARRANGE_MAX_SHAPES];   /* -1 when the shape has no place */
    int direction[ARRANGE_MAX_SHAPES];    /* -1 when it is the negative of the best place's sum that is so large */
    double z[ARRANGE_MAX_SHAPES];         /* observed, in standard deviations of its own distribution */
    double chance[ARRANGE_MAX_SHAPES];    /* share of arrangements with a statistic at least as large */
    double chance_any[ARRANGE_MAX_SHAPES]; /* share in which any shape's z is at least this one's (max-statistic
                                              of Westfall and Young 1993) */
    double chance_none;                   /* share in which no shape's z is larger than the largest observed */
    bool exact;
    double arrangements;                  /* counted or sampled */
};

/* Number of distinct arrangements of the values: n! over the product of m! for each group of m equal ones. */
double arrange_count(const double *value, int n);
/* Fails only ERR_CANCEL. */
bool arrange_run(const struct arrange *a, struct arrange_result *out, struct err *e);

#endif
