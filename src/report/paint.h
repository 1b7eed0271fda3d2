/* paint.h - shapes and words drawn into pixels, edges smoothed; colours are {r, g, b}, places in pixels, what lies
 * outside is cut off. */
#ifndef REPORT_PAINT_H
#define REPORT_PAINT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct err;
struct photo_pixels;

void paint_mix(struct photo_pixels *p, int x, int y, const uint8_t rgb[3], double share); /* 1 hides what was there */
void paint_line(struct photo_pixels *p, double x0, double y0, double x1, double y1, double width, const uint8_t rgb[3]); /* round ends */
void paint_box(struct photo_pixels *p, double x, double y, double w, double h, double radius, const uint8_t rgb[3]);
/* radius: to the middle of its line; angles clockwise from the top, equal: all of it. A disc is a ring of no hole. */
void paint_ring(struct photo_pixels *p, double x, double y, double radius, double width, double from_deg, double to_deg, const uint8_t rgb[3]);
void paint_polygon(struct photo_pixels *p, const double *points, int n_points, const uint8_t rgb[3]); /* x, y pairs */

/* The program's typeface, or any sans-serif. NULL when there is none. */
struct paint_face;
struct paint_face *paint_face_open(bool bold, struct err *e);
void paint_face_close(struct paint_face *f); /* NULL is fine */
double paint_ascent(const struct paint_face *f, double size_px); /* of the line above its baseline */
double paint_width(const struct paint_face *f, double size_px, const char *s);
void paint_words(struct photo_pixels *p, const struct paint_face *f, double size_px, double x, double baseline, const char *s, const uint8_t rgb[3]);

/* The pixels as PNG bytes (malloc'd), three channels, nothing else in it. */
bool paint_png(const struct photo_pixels *p, uint8_t **bytes, size_t *n_bytes, struct err *e);

#endif
