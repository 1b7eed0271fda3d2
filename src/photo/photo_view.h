/* photo_view.h - a large photo on the screen in tiles: which ones a view needs, how small, and cut from
 * the decoded picture. Pure. The first view is a small copy of the whole; tiles are laid over it where
 * that is too coarse. */
#ifndef PHOTO_PHOTO_VIEW_H
#define PHOTO_PHOTO_VIEW_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "photo/photo.h"

#define PHOTO_TILE_PX         512
#define PHOTO_VIEW_MAX_LEVEL  5
#define PHOTO_VIEW_MAX_TILES  192 /* of one view: 3840 × 2160 pixels hold 150 at the most */

struct photo_tile {
    int level; /* made 2^level times smaller */
    int x, y;  /* column and row among the tiles of its level */
};
struct photo_box {
    double x0, y0, x1, y1; /* px of the picture as displayed */
};

/* The smallest copy that is still sharp at `zoom` (pixels of the screen for one of the picture, above 0). */
int photo_view_level(double zoom);
/* What a tile shows, at full size, cut at the picture's edges; no width when it lies outside. */
struct photo_region photo_tile_region(const struct photo_tile *t, int width, int height);
/* The tiles that `visible` needs, the ones nearest to its middle first; at most n_room. None when a copy
 * of have_px on the longer side is sharp enough. */
size_t photo_view_tiles(int width, int height, double zoom, const struct photo_box *visible, int have_px,
                        struct photo_tile *tiles, size_t n_room);

/* A part of a picture (px as displayed, inside it), upright and in sRGB, made `shrink` times smaller by
 * averaging squares (at the right and lower edge what there is of them). Fails ERR_LIMIT without memory. */
bool photo_cut(const struct photo_held *h, const struct photo_region *part, int shrink, struct photo_pixels *out, struct err *e);

#endif
