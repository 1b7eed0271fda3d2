/* gauge_band.h - where in a picture a straight band repeats along itself as a screw thread does. */
#ifndef GAUGE_GAUGE_BAND_H
#define GAUGE_GAUGE_BAND_H

#include "gauge/gauge.h"

/* Asked now and then during long work: true, and the work is dropped. */
struct gauge_stop {
    bool (*wanted)(void *ctx); /* NULL: never */
    void *ctx;
};
bool gauge_stopped(const struct gauge_stop *stop);

#define GAUGE_MAX_BANDS 6
struct gauge_band {
    struct gauge_point middle;
    double ux, uy;     /* along the band */
    double length_px;  /* of what repeats, roughly */
    double width_px;   /* across, outline to outline, roughly */
    double period_px;
    double score;      /* share of what is seen that repeats, inside less beside it: 0..1 */
};
/* The best of them, best first; how many. None when the picture shows none, or the work was dropped. */
int gauge_band_find(const struct gauge_picture *p, const struct gauge_stop *stop, struct gauge_band out[GAUGE_MAX_BANDS]);

#endif
