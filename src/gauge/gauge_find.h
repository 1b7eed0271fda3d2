/* gauge_find.h - the whole plug in a side view, nothing drawn: its axis, a line along the thread, a line across the gap. */
#ifndef GAUGE_GAUGE_FIND_H
#define GAUGE_GAUGE_FIND_H

#include "gauge/gauge_band.h"
#include "gauge/gauge_gap.h"
#include "gauge/gauge_tip.h"

struct gauge_find {
    struct gauge_point axis[2];   /* from the thread's far end to the side electrode */
    struct gauge_point thread[2]; /* along an outline of the thread, or over its body where that reads better */
    struct gauge_point across[2]; /* from the centre electrode's tip to the side electrode, as long as the gap told */
    struct gauge_thread scale;    /* as read along thread */
    struct gauge_gap gap;         /* as read along across */
    struct gauge_tip tip;
};
/* Looks for a plug and offers it only where sure.
 *   pitch_mm  of the thread, 0 unknown: then every pitch of assets/threads.csv is tried
 *   focal_px  focal length in pixels of this picture, 0 unknown
 * Fails ERR_MEASURE where it is not sure, with the reason; ERR_CANCEL when stop asked for it. */
bool gauge_find(const struct gauge_picture *p, double pitch_mm, double focal_px, const struct gauge_stop *stop, struct gauge_find *out, struct err *e);

#endif
