/* colour.h - from CIELAB to what a screen and a page show. */
#ifndef BASE_COLOUR_H
#define BASE_COLOUR_H

#include <stdint.h>

/* CIELAB (D65, CIE 15) to sRGB (IEC 61966-2-1); what the screen cannot show is clipped. */
void colour_from_lab(double L, double a, double b, uint8_t rgb[3]);

#endif
