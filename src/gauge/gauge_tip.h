/* gauge_tip.h - the firing end of a plug seen from the side: centre electrode, gap and side electrode beyond a thread's end. */
#ifndef GAUGE_GAUGE_TIP_H
#define GAUGE_GAUGE_TIP_H

#include "gauge/gauge_strip.h"

struct gauge_tip {
    double tip_mm;     /* along the frame: where the centre electrode ends, */
    double strap_mm;   /*   where the side electrode begins */
    double thick_mm;   /* of the side electrode */
    double wide_mm;    /* half width of the centre electrode */
    double past_mm;    /* how far the side electrode goes past the axis, away from its leg */
    double aside_mm;   /* across, from the frame to the middle of the centre electrode, which is the axis all the rest is told about */
    int leg_side;      /* side electrode's leg lies at t < 0: -1, t > 0: 1 */
    double score;      /* how much of the outline of such a pair of electrodes is there, 0..1; chance finds 0.5 */
};
/* Looks along a frame whose origin is on the plug's axis where the thread ends, pointing away from the thread.
 *   mm         px in a millimetre
 *   radius_mm  of the thread
 * The frame may lie 1.5 mm beside the axis: the centre electrode tells where it is.
 * False when nothing like it is there. */
bool gauge_tip_find(const struct gauge_picture *p, const struct gauge_frame *f, double mm, double radius_mm, struct gauge_tip *out);

#endif
