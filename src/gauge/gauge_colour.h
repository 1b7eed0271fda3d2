/* gauge_colour.h - the colour of an insulator's nose, its light corrected by a neutral patch. */
#ifndef GAUGE_GAUGE_COLOUR_H
#define GAUGE_GAUGE_COLOUR_H

#include "gauge/gauge.h"

#define GAUGE_REFLECTANCE 0.18 /* of a photographer's grey card, where none is said */

/* sRGB values 0..255 to linear light 0..1 and linear sRGB to CIELAB (D65, 2 degrees); IEC 61966-2-1,
 * CIE 15, the matrix worked out from the primaries and the white 0.3127, 0.3290. */
double gauge_linear(double value);
void gauge_lab(const double linear[3], double lab[3]);

struct gauge_light {
    double gain[3]; /* for linear light: brings the patch to its reflectance in every channel */
};
struct gauge_box {
    double x, y, width, height; /* px */
};
/* Reads the patch. Fails ERR_MEASURE when it lies outside the picture, is smaller than 6 × 6 px,
 * clipped, too dark to tell its colour, or not even; ERR_BADARG when the reflectance is not in 0.02..1. */
bool gauge_light_read(const struct gauge_picture *p, const struct gauge_box *patch, double reflectance,
                      struct gauge_light *out, struct err *e);

#define GAUGE_MAX_CORNERS 256
struct gauge_colour {
    double lab[3];      /* median of each linear channel, highlights left out */
    double spread;      /* middle half of the lightnesses: upper less lower quartile, L* */
    double dark_share;  /* of all pixels: darker than L* 25, as carbon is */
    double gloss_share; /* of all pixels: spots more than three times as bright as the median; not a strap's, nor single pixels */
    int n_pixels;
    int n_suggested;
    struct {
        const char *id;  /* as in assets/deposits.csv */
        char reason[96];
    } suggested[3];      /* never applied by itself */
};
/* Reads the pixels whose middle lies in the outline. Fails ERR_MEASURE when there are fewer than 30
 * inside the picture, when most of them are clipped or black, or when they come out lighter than white. */
bool gauge_colour_read(const struct gauge_picture *p, const struct gauge_point *outline, int n_corners,
                       const struct gauge_light *light, struct gauge_colour *out, struct err *e);

#endif
