/* threshold.h - from which difference on a measure counts: assets/thresholds.csv, with the reason and
 * the source of each row. A difference nobody would act on is not flagged, however rare it is. */
#ifndef READING_THRESHOLD_H
#define READING_THRESHOLD_H

#include <stdbool.h>

struct csv;
struct err;

struct threshold {
    char id[40];          /* the measure's id, "amount" for every sign without a row of its own */
    char label[40], unit[24];
    int n_decimals;
    int worse;            /* +1 more is worse, -1 less is worse, 0 either */
    bool compared;        /* false: no difference on it means anything */
    double counts_from;   /* smallest difference that counts, in the unit, or a fraction when relative */
    double always_from;   /* counts whatever the spread of the others */
    double resolution;    /* gauge, eye and sound plugs scatter within +- this; a fraction when relative */
    bool relative;        /* fractions of the reference */
    bool lasting_normal;  /* a difference that was there at the visit before is this engine's manner */
    char reason[200], source[240]; /* figures of the reason in braces: unit_tell_words() */
};

/* The row of a measure; of "amount" when it has none of its own. From the built-in table, read and
 * checked at first use; any thread. */
const struct threshold *threshold_find(const char *measure);
const struct threshold *threshold_rows(int *n);
/* One table into rows (room for THRESHOLD_MAX); fails ERR_FORMAT naming the line and what is wrong. */
#define THRESHOLD_MAX 40
bool threshold_parse(const struct csv *c, struct threshold *rows, int *n, struct err *e);

/* The least spread that can be believed: gauges read in steps make a spread of 0 out of readings that
 * fell on one step, and a handful of readings lie close together by luck. Standard deviation of a uniform error of +-resolution: resolution / sqrt(3). */
double threshold_least_spread(const struct threshold *t, double reference);
double threshold_counts_from(const struct threshold *t, double reference); /* in the unit */
double threshold_always_from(const struct threshold *t, double reference);

#endif
