/* gauge_gap.h - the gap between two electrodes, both edges found below a pixel. */
#ifndef GAUGE_GAUGE_GAP_H
#define GAUGE_GAUGE_GAP_H

#include "gauge/gauge_thread.h"

struct gauge_gap {
    double gap_mm;                /* smallest clearance along the band */
    double uncertainty_mm;        /* holds the truth in about 95 of 100 pictures: scale, edges, angle of view */
    struct gauge_point across[2]; /* the line drawn, its ends held to the edges, on the band's middle */
};
/* Measures across a line drawn roughly over the gap (ends some px off, some degrees askew). The direction
 * is the thread's axis where the line is within 15 degrees of it. Fails ERR_MEASURE when no pair of edges
 * stands out near the line's ends, ERR_BADARG when the line is too short. */
bool gauge_gap_read(const struct gauge_picture *p, const struct gauge_point line[2], const struct gauge_thread *scale, struct gauge_gap *out,
                    struct err *e);

#endif
