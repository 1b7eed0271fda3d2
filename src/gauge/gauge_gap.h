/* gauge_gap.h - the gap between two electrodes, both ends found below a pixel. */
#ifndef GAUGE_GAUGE_GAP_H
#define GAUGE_GAUGE_GAP_H

#include "gauge/gauge_thread.h"

struct gauge_gap {
    double gap_mm;                /* smallest clearance, what the camera's angle hid of it added */
    double uncertainty_mm;        /* holds the truth in about 95 of 100 pictures: scale, edges, angle of view */
    double off_deg, off_sd_deg;   /* how far off square it was taken, either way; what thread and faces tell together */
    double hidden_mm;             /* how much shorter the gap looks for that: already added to gap_mm */
    struct gauge_point across[2]; /* the line drawn, its ends where the metal ends to the eye, on the band's middle */
};
/* Measures across a line drawn roughly over the gap (ends some px off, some degrees askew). The direction
 * is the thread's axis where the line is within 15 degrees of it, or too short to tell.
 *
 * Seen off square by an angle a, two electrodes of half depths r and w leave gap - (r + w) tan a to be seen, and of one of
 * them, by the sign of a, the face shows: a band 2 r tan a wide and mostly dark. So does the rounding of each edge. Places
 * of both ends, widths of both rims and the angle, which the thread's turns tell apart (gauge_view.h), are
 * weighed together: what the picture can't tell goes into the uncertainty. Rims that look like the bench may be as
 * wide as an edge is rounded: then the uncertainty is as wide, past what else is too doubtful.
 *
 * Fails ERR_MEASURE when no pair of edges stands out near the line's ends or what is found is too doubtful to set a
 * plug by, ERR_BADARG when the line is too short. */
bool gauge_gap_read(const struct gauge_picture *p, const struct gauge_point line[2], const struct gauge_thread *scale, struct gauge_gap *out,
                    struct err *e);

#endif
