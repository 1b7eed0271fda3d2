/* measure.h - one quantity over all plugs that were read: the form in which everything is compared. */
#ifndef READING_MEASURE_H
#define READING_MEASURE_H

#include "record/record.h"

#define MEASURE_MAX 80

enum measure_kind { MEASURE_SIGN, MEASURE_GAP, MEASURE_NOSE, MEASURE_COMPRESSION, MEASURE_COMPRESSION_WET, MEASURE_LEAK, MEASURE_DIFFERENTIAL };

struct measure {
    enum measure_kind kind;
    int sign;                       /* enum sign, -1 when not a sign */
    char id[40];                    /* "well.oil", "gap", "nose.L", "compression" */
    const char *label;              /* "oil in the well", "gap" */
    const char *unit;               /* "mm", "" for amounts */
    int n_decimals;
    int worse;                      /* +1 more is worse, -1 less is worse, 0 either */
    double practical;               /* a difference nobody would act on is smaller than this */
    const char *practical_why;
    int n;                          /* plugs read */
    int plug[ENGINE_MAX_PLUGS];     /* record_plug_index, in place order */
    double value[ENGINE_MAX_PLUGS];
    bool explained[ENGINE_MAX_PLUGS]; /* carried over or run down: not counted as this plug's own */
};

/* All measures with at least one value. A measure of the cylinder (compression) is taken once, at its
 * first plug. Returns their number. */
int measure_collect(const struct record *r, struct measure *out);
const struct measure *measure_find(const struct measure *m, int n, const char *id);

#endif
