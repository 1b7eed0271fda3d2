/* gauge_budget.h - what the ± of a gap is made of, and what makes the largest part of it smaller. */
#ifndef GAUGE_GAUGE_BUDGET_H
#define GAUGE_GAUGE_BUDGET_H

#include "gauge/gauge_gap.h"

enum gauge_part {
    GAUGE_PART_SCALE,   /* the period, or the ends of a known length */
    GAUGE_PART_DEPTH,   /* perspective: how much nearer than the gap the line of the scale lies */
    GAUGE_PART_TIP,     /* where the centre electrode ends */
    GAUGE_PART_STRAP,   /* where the side electrode begins */
    GAUGE_PART_ANGLE,   /* how far off square it was taken */
    GAUGE_PART_COUNT
};
struct gauge_budget {
    double mm[GAUGE_PART_COUNT]; /* each by itself, about 95 of 100 within; squared they add up to the square of the ± */
    enum gauge_part largest;
    /* what the words say: */
    double px_per_mm, turns, soft_px[2], off_sd_deg; /* turns 0: no thread; soft: from metal to gap, of tip and strap */
    bool focal_known, along_outline, thread;
};
/* Splits gap->uncertainty_mm. What scale and angle make of it follows from their own doubt; the rest lies at the two edges, by how
 * soft and how faint each is in the picture.
 *   scale     as gauge_gap_read() had it
 *   focal_px  as gauge_thread_read() had it, 0 unknown */
void gauge_budget_make(const struct gauge_picture *p, const struct gauge_thread *scale, const struct gauge_gap *gap, double focal_px, struct gauge_budget *out);

const char *gauge_part_id(enum gauge_part part);    /* "scale", "depth", "tip", "strap", "angle" */
const char *gauge_part_label(enum gauge_part part); /* "Centre electrode's edge" */
/* What to do about a part: "The scale line lies over 3.6 turns: lay it over more." */
void gauge_budget_remedy(const struct gauge_budget *b, enum gauge_part part, char *to, size_t n_room);

#endif
