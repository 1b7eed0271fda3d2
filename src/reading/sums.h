/* sums.h - the statistics of all places of all shapes at once, for arrange.c alone. The sums lie side by
 * side in vectors that one instruction adds. Where values and weights are whole multiples of a step, as
 * amounts and covers always are, the sums are whole numbers of 16 bits, eight to a vector and exact;
 * otherwise doubles, two to a vector. Places whose statistic grows alike with their sum are a group: only
 * the largest sum of a group (and the smallest, where both directions count) is turned into a statistic. */
#ifndef READING_SUMS_H
#define READING_SUMS_H

#include "reading/arrange.h"

#define SUMS_SLACK 1e-9 /* of the range: sums in another order differ in the last bits; this is no difference */

struct levels {
    int n;                            /* different values */
    double least, range;              /* range 1 when all are equal */
    double value[ENGINE_MAX_PLUGS];   /* of each level, rising, from 0 to 1 */
    int16_t whole[ENGINE_MAX_PLUGS];  /* the same in steps, from 0; where the sums are whole */
    int times[ENGINE_MAX_PLUGS];      /* how often it occurs */
    int of[ENGINE_MAX_PLUGS];         /* level of each plug as observed */
};
void levels_make(struct levels *l, const double *value, int n);
double levels_count(const struct levels *l, int n); /* distinct arrangements */

typedef double lane __attribute__((vector_size(16), may_alias));

struct sums_group {
    int shape;
    int first, end;      /* vectors */
    double scale, start; /* statistic = scale * sum + start */
};

struct sums {
    const struct arrange *a;
    struct levels levels;
    bool whole;
    int n_vectors;               /* in a row */
    int n_groups, n_groups_room;
    struct sums_group *groups;
    int *place;                  /* of each number in a row, as an index into a->places */
    int order[ENGINE_MAX_PLUGS]; /* plugs in the order of the walk: classes together */
    int of_class[ENGINE_MAX_PLUGS]; /* of each step of the walk: how many of its class came before */
    bool has_classes;
    int last_class;              /* step at which the last class begins */
    lane *weight;                /* [step][vector] */
    lane *tail;                  /* [step][vector]: weights of this step and all behind it */
    lane *stack;                 /* [depth][vector]; [0] is all 0 */
    double slack[ARRANGE_MAX_SHAPES];
    int now[ENGINE_MAX_PLUGS];   /* level at each step of the arrangement looked at */
};
void sums_make(struct sums *s, const struct arrange *a);
void sums_release(struct sums *s);
/* to = from + row * the value of level k. */
void sums_add(const struct sums *s, lane *to, const lane *from, const lane *row, int k);
/* Statistic of each shape, of the sums so far and what level k times a row adds to them. */
void sums_statistics(const struct sums *s, const lane *sum, const lane *row, int k, double *stat);
/* The place whose statistic, times way, reaches the limit: the first; -1 when none does. */
int sums_find(const struct sums *s, const lane *sum, int shape, int way, double limit);

#endif
