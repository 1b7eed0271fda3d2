/* measure.h - one quantity over all plugs that were read: the form in which everything is compared. */
#ifndef READING_MEASURE_H
#define READING_MEASURE_H

#include "reading/threshold.h"
#include "record/record.h"

#define MEASURE_MAX 80

enum measure_kind {
    MEASURE_SIGN, MEASURE_GAP, MEASURE_NOSE, MEASURE_NOSE_A, MEASURE_NOSE_B, MEASURE_NOSE_DE, MEASURE_COMPRESSION,
    MEASURE_COMPRESSION_WET, MEASURE_LEAK, MEASURE_DIFFERENTIAL, MEASURE_GROWTH
};

struct measure {
    enum measure_kind kind;
    int sign;                       /* enum sign, -1 when not a sign */
    char id[40];                    /* "well.oil", "gap", "nose.L", "compression" */
    const char *label;              /* "oil in the well", "gap" */
    const char *unit;               /* "mm", "" for amounts */
    int n_decimals;
    double told_factor;             /* in sentences: value * told_factor, of this unit, so many decimals */
    const char *told_unit;
    int told_decimals;
    int worse;                      /* +1 more is worse, -1 less is worse, 0 either */
    const struct threshold *threshold;
    int n;                          /* plugs read */
    int plug[ENGINE_MAX_PLUGS];     /* record_plug_index, in place order */
    double value[ENGINE_MAX_PLUGS];
    bool explained[ENGINE_MAX_PLUGS]; /* carried over or run down: not counted as this plug's own */
};

/* All measures of a visit of the record with at least one value; a sign nobody saw anywhere is none. What
 * was not looked at is left out, never taken for clean. A measure of the cylinder (compression) is
 * taken once, at its first plug. The colour difference of a nose is that from the median colour of the
 * others. Returns their number. */
int measure_collect(const struct record *r, const struct visit *v, struct measure *out);
/* Makes an empty measure of the kind (not of a sign) from its row of the thresholds. */
void measure_init(struct measure *m, enum measure_kind kind, const char *id);
/* Sentences tell it in the units a person set. */
struct reading_options;
void measure_tell_in(struct measure *m, const struct reading_options *o);
void measure_put(struct measure *m, int plug, double value);
const struct measure *measure_find(const struct measure *m, int n, const char *id);

#endif
