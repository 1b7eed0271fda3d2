/* gauge_view.h - how far off square a plug was taken, told by its thread. */
#ifndef GAUGE_GAUGE_VIEW_H
#define GAUGE_GAUGE_VIEW_H

#include "gauge/gauge_thread.h"
#include "gauge/gauge_turns.h"

struct gauge_view {
    bool known;
    double off_deg, sd_deg; /* positive: the camera stands behind the gap, on the side that along points away from */
    /* What they are made of, at the thread's middle: */
    bool bow_known, turns_known;
    double bow_deg, bow_sd_deg;      /* the wave's bow */
    struct gauge_turns turns;        /* the turns' edges */
    double ahead_deg, ahead_sd_deg;  /* the angle at the gap is so much more */
};
/* The angle between the line of sight and square to the axis, at a place `along_px` along the axis from the
 * thread's middle (positive the way of scale->ux, uy). Turns of a thread are circles, leaned by the helix: seen
 * off square they bow by the radius times the tangent of the angle. Crest and root both show, so the second
 * harmonic across the turns keeps to the shape where the first follows the light. Where hard light spoils that wave, the turns' edges still
 * tell (gauge_turns.h); where both do, they are taken together. Unknown where neither does. How much the angle changes from thread to gap follows
 * from the distance: without a focal length it is what the turns tell, or else what is usual. */
void gauge_view_read(const struct gauge_picture *p, const struct gauge_thread *scale, double along_px, struct gauge_view *out);

/* How likely an angle at the gap is by both, of any scale; the same for all where nothing is known. */
double gauge_view_likely(const struct gauge_view *v, double deg);

/* How much the axis is turned from scale->ux, uy (radians, clockwise as shown), told by the lean of the turns: the
 * helix' own and the bow are taken off. False where they do not keep to the shape, or lean by more than `reach`. */
bool gauge_view_axis(const struct gauge_picture *p, const struct gauge_thread *scale, double reach, double *turn);

#endif
