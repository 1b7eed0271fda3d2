/* gauge_thread.h - the scale of a picture from the pitch of a screw thread in it. */
#ifndef GAUGE_GAUGE_THREAD_H
#define GAUGE_GAUGE_THREAD_H

#include "gauge/gauge.h"

struct gauge_thread {
    double pitch_px, pitch_sd_px;     /* along the plug's axis, where the line was drawn */
    double ux, uy;                    /* the axis' direction, the way the line was drawn */
    bool has_body;                    /* both outlines were found: */
    struct gauge_point middle;        /*   a point on the axis beside the line's middle */
    double radius_px;                 /*   half the distance of the outlines */
    double major_mm;                  /*   which thread of this pitch it is; 0 when not told */
    bool on_outline;                  /*   the line lies along an outline, not over the body */
    double distance_mm;               /* camera to axis, from the focal length; 0 unknown */
    double px_per_mm, px_per_mm_sd;   /* in the plane of the axis, where the gap lies */
};
/* Finds the period along a line drawn roughly along the threads: ends may be some px off and the
 * direction some degrees.
 *   pitch_mm  of the thread; threads of assets/threads.csv with this pitch tell how wide the body is
 *   focal_px  focal length in pixels of this picture, 0 unknown
 * Method: each row's share of variance explained by a trend and three harmonics is scanned over periods;
 * the smallest period that explains nearly as much as the best is the fundamental, and the body's
 * width in pitches must fit the thread. The rows are then put parallel to the axis and their periods, each
 * brought to the plane of the axis by its depth, are joined by their median.
 * Fails ERR_MEASURE: too few turns, no period, outside the picture; ERR_BADARG: line or pitch unusable. */
bool gauge_thread_read(const struct gauge_picture *p, const struct gauge_point line[2], double pitch_mm, double focal_px,
                       struct gauge_thread *out, struct err *e);

#endif
