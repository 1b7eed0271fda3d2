/* gauge_turns.h - how far off square a thread was taken, told by the edges of its turns. */
#ifndef GAUGE_GAUGE_TURNS_H
#define GAUGE_GAUGE_TURNS_H

#include "gauge/gauge_thread.h"

enum { GAUGE_TURNS_ANGLES = 45 };
#define GAUGE_TURNS_MOST_DEG 11.0
#define GAUGE_TURNS_STEP_DEG 0.5

struct gauge_turns {
    double likely[GAUGE_TURNS_ANGLES]; /* from -GAUGE_TURNS_MOST_DEG on; the sum is 1. Signs as in gauge_view.h, at the thread's middle */
    double rest; /* logarithm of how badly the likeliest fits, of any scale: to be held against another hand's */
};
/* All turns along the line are laid over each other, row by row, without their helix: crest, root and the two flanks of one turn are left,
 * as a thread's shape has them. Seen off square, crest and root bow by the angle, by how much nearer to the camera than the axis each
 * lies; on the outlines they do not bow, and there the teeth stand against the bench. In each row crest, root and flanks may be as light as
 * they like, and a shadow's edge may fall on a flank: so hard light from one side misleads less than it does where a wave is fitted.
 *   nearness  1 over the distance of the camera, mm
 *   hand      1, or -1 where the picture is mirrored
 * False where no body was found or too little of it lies in the picture. */
bool gauge_turns_read(const struct gauge_picture *p, const struct gauge_thread *scale, double nearness, int hand, struct gauge_turns *out);

#endif
