/* gauge_around.h - the part of a picture that is looked at for the lines drawn in it: window and command see the same. */
#ifndef GAUGE_GAUGE_AROUND_H
#define GAUGE_GAUGE_AROUND_H

#include "gauge/gauge.h"

#define GAUGE_AROUND_PLUG 1.7  /* as far again as its lines reach, so that the whole thread lies in it */
#define GAUGE_AROUND_LINE 0.15 /* of a line that stands for itself */
#define GAUGE_AROUND_NOTHING {{1e9, 1e9}, {-1e9, -1e9}}

/* Corners of what is wanted: least and largest x and y, not yet held to the picture. */
struct gauge_reach {
    struct gauge_point from, to;
};
struct gauge_around {
    int x, y, width, height; /* px of the picture, of at least one */
};
/* Widens a reach by n points and what lies about them: `times` as far as they lie apart, 200 px at least. */
void gauge_around_widen(struct gauge_reach *r, const struct gauge_point *at, int n, double times);
/* What of it lies in a picture so large. */
struct gauge_around gauge_around_of(const struct gauge_reach *r, int width, int height);

#endif
