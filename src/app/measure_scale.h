/* measure_scale.h - the lengths in a photo that tell its scale: each by itself, which of them counts, and whether they
 * agree. Lines across a hex are held to its sides, lines along a ruler to its marks; the thread is read elsewhere. */
#ifndef APP_MEASURE_SCALE_H
#define APP_MEASURE_SCALE_H

#include "app/measure.h"
#include "gauge/gauge_thread.h"
#include "photo/photo.h"

/* "M14x1.25": the pitch; a card that says nothing is taken for the commonest thread, and that is said. */
double measure_pitch(const char *thread);

/* Pixels of the photo about its lines: where their corner lies in it. */
struct measure_pixels {
    const struct photo_pixels *px;
    double x, y;
};

/* Fills scales, counts, conflict and the scale of *out from the lines of q. pixels: NULL where lines are taken as they are drawn. thread: what the thread's line gave, in
 * pixels of the photo, NULL nothing. focal_px: of the photo, 0 unknown. *counts: the scale that the gap is to be told by,
 * the surest one; with a thread it keeps what else is known of that. False, *counts untouched, when none is given. */
bool measure_scales(const struct measure_question *q, const struct measure_pixels *pixels, double focal_px, const struct gauge_thread *thread, struct gauge_thread *counts, struct photo_measured *out);

#endif
