/* ui_raster.h - shapes as coverage: how much of each pixel a shape covers, 0 to 255. Pure. */
#ifndef UI_UI_RASTER_H
#define UI_UI_RASTER_H

#include <stdint.h>

/* All sizes in real pixels; `alpha` is w × h bytes and is added to, up to 255. */

/* Rounded rect that fills 0,0 .. w,h; radius is held to half the shorter side. */
void raster_round(uint8_t *alpha, int w, int h, float radius);
/* Its border, `width` wide, inside; dash 0 = solid. */
void raster_round_line(uint8_t *alpha, int w, int h, float radius, float width, float dash, float gap);
/* Ring around the middle, outer radius r, from one angle to another, clockwise from the top in
 * degrees; equal angles: the whole ring. */
void raster_ring(uint8_t *alpha, int w, int h, float r, float width, float from_deg, float to_deg);
void raster_disc(uint8_t *alpha, int w, int h, float cx, float cy, float r);
/* Line with butt ends. */
void raster_line(uint8_t *alpha, int w, int h, float x0, float y0, float x1, float y1, float width, float dash, float gap);
/* Polygon by the nonzero rule, exact area coverage to 1/16 of a pixel's height. */
void raster_polygon(uint8_t *alpha, int w, int h, const float *points, int n_points);

#endif
