/* gauge.h - a picture's pixels in, millimetres and colours with their doubt out. Pure: no disk, no
 * window. Positions are pixels of the picture as displayed, from its top left corner; the middle of
 * the first pixel is 0.5, 0.5. */
#ifndef GAUGE_GAUGE_H
#define GAUGE_GAUGE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct err;

struct gauge_picture {
    int width, height;
    const uint8_t *rgba; /* width * 4 bytes a row, upright sRGB */
};
struct gauge_point {
    double x, y;
};

#endif
