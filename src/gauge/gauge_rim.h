/* gauge_rim.h - where exactly an electrode ends, from the light across its edge. */
#ifndef GAUGE_GAUGE_RIM_H
#define GAUGE_GAUGE_RIM_H

#include "gauge/gauge_edge.h"

/* Both ends are as sharp, so each has to be well fitted at a blur the other is fitted at: with steps of two fifths between blurs, one of them was not. */
enum { GAUGE_RIM_PLACES = 49, GAUGE_RIM_WIDTHS = 24, GAUGE_RIM_BLURS = 10 };

/* The electrode that ends there. */
struct gauge_rim_end {
    double half_px; /* half its width across the strip */
    bool round;     /* and it is round: seen off square its end is bowed */
    double off_tan; /* tangent of the angle off square, as far as that is known; 0 */
};

/* Between bench and metal lies a rim: the rounding of the edge and, where the camera is off square, the face
 * of the electrode, both turned away from the light. For each place where the metal may end and each width
 * of rim, at each blur, which two ends of a gap have in common: how likely what is seen is. The rows are read in
 * blocks, each with lights of its own: what hides an end in one of them, soot or a rim of the bench's light, does not in all. */
struct gauge_rim {
    double place0, place_step; /* px along, at t = 0, growing into the metal; place0 is measured from the frame's origin */
    double width_step;         /* px */
    int n_blocks;
    double off_tan;     /* the tangent they were cut for */
    /* Of each block: how far a round end has fallen back there from the middle, px for a tangent of 1, of half_px, its half width. Seen off square it
     * bows by it, and a face that is seen is narrower by as large a share. */
    double *back_px, half_px;
    float (*likely)[GAUGE_RIM_BLURS][GAUGE_RIM_PLACES][GAUGE_RIM_WIDTHS]; /* of each block, as logarithms, weighed so that their sum is that of all */
    int widths[GAUGE_RIM_PLACES]; /* so many have room within what is looked at */
    double unsure_px;          /* the widest rim that is half as likely as the best: so far from where the metal shines it may end */
};
/* edge: as followed in the strip; gap_px: to the other electrode's; mm: px in one. False when the strip is too short. To be released, either way. */
bool gauge_rim_read(const struct gauge_strip *s, const struct gauge_line *edge, int side, double gap_px, double mm, const struct gauge_rim_end *end, struct gauge_rim *out);
void gauge_rim_release(struct gauge_rim *r);

/* How likely each place in the middle and rounding is, a rounding in the steps of a width, `off_tan` (tangent) off square and with a face seen
 * that is `face_px` wide in the middle, 0 when it is not. Of one scale, whatever these are. */
void gauge_rim_given(const struct gauge_rim *r, double face_px, double off_tan, double (*likely)[GAUGE_RIM_PLACES][GAUGE_RIM_WIDTHS]);

#endif
