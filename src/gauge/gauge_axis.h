/* gauge_axis.h - the axis of a thread from its two outlines, which are straight. */
#ifndef GAUGE_GAUGE_AXIS_H
#define GAUGE_GAUGE_AXIS_H

#include "gauge/gauge_strip.h"

struct gauge_axis {
    double turn;   /* radians from the frame to the axis, clockwise as shown */
    double middle; /* px across from the turned frame's origin to the axis */
    double sharp;  /* how sharp both outlines are along it; of the same picture the more the better, no unit */
};
/* Turns a band about the frame's origin until what is seen along it changes most steeply where the two outlines of
 * a body of this radius would be. Teeth of a thread are even along the outline and leave it steep; a hand's line,
 * grain of wood or a bent shadow do not.
 *   half_px    half the length to look along
 *   middle_px  where the axis is thought to be, within a quarter of the radius
 *   reach      radians either way to look
 *   turned     radians the frame has been turned from a hand's line already: far turns are unlikely
 * False when memory is short or the body lies outside the picture. */
bool gauge_axis_find(const struct gauge_picture *p, const struct gauge_frame *f, double half_px, double radius_px, double middle_px, double reach,
                     double turned, struct gauge_axis *out);

#endif
