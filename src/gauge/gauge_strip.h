/* gauge_strip.h - a turned rectangle of a picture, sampled along and across a line. */
#ifndef GAUGE_GAUGE_STRIP_H
#define GAUGE_GAUGE_STRIP_H

#include "gauge/gauge.h"

struct gauge_frame {
    struct gauge_point origin;
    double ux, uy; /* unit vector along; across is (-uy, ux) */
};
struct gauge_strip {
    int n_s, n_t;          /* samples along, rows across */
    double s0, t0;         /* px from the frame's origin to the first sample */
    double step_s, step_t; /* px */
    float (*rgb)[3];       /* n_t rows of n_s, sRGB 0..255 */
    bool *seen;            /* row lies wholly inside the picture */
};
/* Samples bilinearly, by the mean of several where steps are wider than a pixel. whole_rows: those that leave the picture are not
 * wanted and stay 0. Fails ERR_LIMIT. gauge_strip_release() it. */
bool gauge_strip_cut(const struct gauge_picture *p, const struct gauge_frame *f, double s0, double s1, double t0, double t1,
                     double step_s, double step_t, bool whole_rows, struct gauge_strip *out, struct err *e);
void gauge_strip_release(struct gauge_strip *s);

/* Turns steps of colour into how clear an edge each is, 0 none to 1 sure: a step of `times` the median one, or the least that counts
 * where that is more, is half sure. */
void gauge_clearness(float *step, size_t n, float times, float least);

double gauge_median(double *v, int n); /* sorts v; n > 0 */

#endif
