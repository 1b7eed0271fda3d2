/* drawing.h - a small vector picture of a report: the engine's plan, the line-up, a trend. Drawn as SVG on the
 * page, on paper and in the window, each from the same shapes. */
#ifndef REPORT_DRAWING_H
#define REPORT_DRAWING_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct arena;
struct report_picture;

enum drawing_kind {
    DRAW_BOX,      /* x, y, w, h, corner radius; filled */
    DRAW_DISC,     /* middle x, y, radius; filled */
    DRAW_RING,     /* the same, a line of this width; from_deg to to_deg clockwise from the top, equal: all of it */
    DRAW_LINE,     /* from x, y to w, h */
    DRAW_POLYGON,  /* n_points of points */
    DRAW_TEXT,     /* baseline at y; x is its left end, middle or right end */
    DRAW_PHOTO,    /* a plug's picture, cut to a disc: middle x, y, radius */
    DRAW_LAYER,    /* shapes from here to LAYER_END lie over the rest as one picture, within x, y, w, h; share shows of it */
    DRAW_LAYER_END
};
enum drawing_align { DRAW_LEFT, DRAW_MIDDLE, DRAW_RIGHT };
struct drawing_shape {
    enum drawing_kind kind;
    double x, y, w, h, radius, width;
    double from_deg, to_deg;
    double share;              /* LAYER: 0 to 1 */
    uint32_t rgb;              /* 0xRRGGBB */
    bool dashed;
    enum drawing_align align;
    int size_px;               /* TEXT: 11, 13, 14 or 18 */
    bool bold;
    const char *text;
    const double *points;      /* x, y pairs */
    int n_points;
    const struct report_picture *photo;
};
/* On a page too narrow for it to be read, as a phone's. */
enum drawing_narrow {
    DRAW_MOVED,  /* moved about, from its left end */
    DRAW_NEWEST, /* moved about, from its right end */
    DRAW_FITTED  /* all of it, small: what it tells also stands in words */
};
struct drawing {
    double width, height;      /* px at its natural size; drawn smaller where there is less room */
    bool desk;                 /* on the grey the window shows plugs on; else on white */
    enum drawing_narrow narrow;
    double axis_px;            /* of a NEWEST: figures of its axis end this far from the left; they stay in view while it is moved about; 0 none */
    struct drawing_shape *shapes;
    size_t n_shapes, n_room;
    struct arena *memory;
};
/* Zeroed shapes are added; texts and points are copied into the arena. */
struct drawing_shape *drawing_add(struct drawing *d, enum drawing_kind kind);
void drawing_box(struct drawing *d, double x, double y, double w, double h, double radius, uint32_t rgb);
void drawing_disc(struct drawing *d, double x, double y, double radius, uint32_t rgb);
void drawing_ring(struct drawing *d, double x, double y, double radius, double width, double from_deg, double to_deg, uint32_t rgb);
void drawing_line(struct drawing *d, double x0, double y0, double x1, double y1, double width, bool dashed, uint32_t rgb);
void drawing_polygon(struct drawing *d, const double *points, int n_points, uint32_t rgb);
void drawing_text(struct drawing *d, double x, double y, const char *s, int size_px, bool bold, enum drawing_align align, uint32_t rgb);
/* Layers do not nest. */
void drawing_layer(struct drawing *d, double share, double x, double y, double w, double h);
void drawing_layer_end(struct drawing *d);

struct err;
struct photo_pixels;
/* As pixels, `scale` of them for a px of the drawing; photos are decoded. Fails ERR_LIMIT when it would be too large, ERR_IO,
 * ERR_FORMAT without a typeface. */
bool drawing_paint(const struct drawing *d, double scale, struct photo_pixels *out, struct err *e);

/* The colours of meaning and of paper, one place for page, paper and drawings (those of the window's theme). */
#define INK_TEXT   0x181818u
#define INK_SOFT   0x565656u
#define INK_ACT    0xb2221au
#define INK_WATCH  0xf4a800u
#define INK_NOTE   0x4e5e70u
#define INK_LINE   0xd0d0d0u
#define INK_CARD   0xf5f5f5u
#define INK_WHITE  0xffffffu
#define INK_DESK   0x8a8a8au

#endif
