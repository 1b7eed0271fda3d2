/* colour.h - from CIELAB to what a screen and a page show. */
#ifndef BASE_COLOUR_H
#define BASE_COLOUR_H

#include <stdint.h>

/* Linear light 0..1 as sRGB encodes it, 0..1 (IEC 61966-2-1). */
double colour_encode(double linear);

/* CIELAB (D65, CIE 15) to sRGB (IEC 61966-2-1); what the screen cannot show is clipped. */
void colour_from_lab(double L, double a, double b, uint8_t rgb[3]);

/* CIEDE2000 difference of two CIELAB colours {L, a, b}, weights kL = kC = kH = 1 (CIE 142-2001; steps and
 * the branches of the hue as in Sharma, Wu and Dalal, Color Research and Application 30(1), 2005,
 * equations 2 to 22). The same both ways round. */
double colour_difference(const double one[3], const double other[3]);

#endif
