/* gauge_beside.h - where an electrode ends by what lies beside it: metal is what differs from the bench seen past its side at the
 * same place along the axis. A shadow's edge runs on past the side and tells nothing here, so this judges ends found by their
 * edges without making the same mistakes. */
#ifndef GAUGE_GAUGE_BESIDE_H
#define GAUGE_GAUGE_BESIDE_H

#include "gauge/gauge_strip.h"

/* An end of metal to be judged, along a frame whose axis is the plug's. */
struct gauge_beside_end {
    double at_mm;       /* where the metal is thought to end, from the frame's origin */
    int way;            /* where the gap lies from it: 1 ahead, -1 behind */
    double gap_mm;      /* how far the gap is open from there */
    double t0_mm, t1_mm; /* the metal across the frame, t0 < t1 */
    bool bench_below, bench_above; /* beside it the bench is seen: at t < t0, at t > t1 */
};
struct gauge_beside {
    double at_mm;       /* where it ends, by what lies beside it */
    double share;       /* of its width that tells: 0 none, where metal and bench look alike */
    double farther;     /* of its width, that reaches out into the gap well past at_mm: an end in patches, which may be anywhere */
};
/*   mm  px in a millimetre
 * A share of 0 when nothing can be told: outside the picture, or no memory. */
void gauge_beside_read(const struct gauge_picture *p, const struct gauge_frame *f, double mm, const struct gauge_beside_end *end, struct gauge_beside *out);

#endif
