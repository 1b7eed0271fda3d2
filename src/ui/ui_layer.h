/* ui_layer.h - pictures turned by any angle, scaled and put together into one. Pure. */
#ifndef UI_UI_LAYER_H
#define UI_UI_LAYER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define LAYER_MAX_SIDE 16384 /* of a part */

struct layer_part {
    const uint8_t *bgra; /* opaque, w * 4 bytes a row */
    int w, h;
    double cx, cy;       /* where its middle comes to lie, pixels of the layer */
    double kx, ky;       /* pixels of the layer for one of its own, above 0 */
    double turn_deg;     /* clockwise */
};
/* Fills w × h pixels (pitch bytes a row; B, G, R, A like the parts, as windows mostly have them, so that nothing is left
 * to convert) from parts, of which later ones lie over earlier ones; each pixel takes the value at its middle,
 * bilinear, is read from one part only, and gets this alpha. What none covers becomes 0. True when all is
 * covered. */
bool layer_compose(uint8_t *to, size_t pitch, int w, int h, const struct layer_part *parts, size_t n, uint8_t alpha);

/* Lays a layer over another, both of w × h pixels: of what lies on opaque ones the share its alpha says, of
 * the rest the upper ones as they are, see-through. */
void layer_lay_over(uint8_t *to, size_t pitch, const uint8_t *from, size_t from_pitch, int w, int h);

#endif
