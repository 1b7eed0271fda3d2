/* gauge_cut.h - a part of a picture, turned, at a scale, in a light. */
#ifndef GAUGE_GAUGE_CUT_H
#define GAUGE_GAUGE_CUT_H

#include "gauge/gauge_colour.h"

struct gauge_cut {
    struct gauge_point at; /* px of the picture: the place that is shown at */
    double ax, ay;         /* this share of the cut's width and height */
    double turn_deg;       /* the picture is turned so much clockwise about it */
    double px;             /* of the picture for one of the cut, above 0 */
    const struct gauge_light *light; /* NULL: as taken */
    uint8_t outside;       /* grey where the picture does not reach */
};
/* Fills w * h * 4 bytes, opaque sRGB. Averaged in linear light, which is what falls on the coarser pixel. */
void gauge_cut_make(const struct gauge_picture *p, const struct gauge_cut *cut, int w, int h, uint8_t *rgba);

#endif
