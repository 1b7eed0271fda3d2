#include "photo/photo_view.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"

int photo_view_level(double zoom)
{
    int level = 0;

    assert(zoom > 0);
    while (level < PHOTO_VIEW_MAX_LEVEL && zoom * (2 << level) <= 1)
        level++;
    return level;
}

struct photo_region photo_tile_region(const struct photo_tile *t, int width, int height)
{
    int side = PHOTO_TILE_PX << t->level;
    struct photo_region r = {t->x * side, t->y * side, side, side};

    if (t->x < 0 || t->y < 0 || r.x >= width || r.y >= height)
        return (struct photo_region){0};
    r.width = r.width > width - r.x ? width - r.x : r.width;
    r.height = r.height > height - r.y ? height - r.y : r.height;
    return r;
}

struct ranked {
    struct photo_tile tile;
    double away; /* of its middle from that of the view, squared */
};

static int by_distance(const void *pa, const void *pb)
{
    const struct ranked *a = pa, *b = pb;

    if (a->away < b->away || a->away > b->away)
        return a->away < b->away ? -1 : 1;
    return a->tile.y != b->tile.y ? a->tile.y - b->tile.y : a->tile.x - b->tile.x;
}

size_t photo_view_tiles(int width, int height, double zoom, const struct photo_box *visible, int have_px,
                        struct photo_tile *tiles, size_t n_room)
{
    struct photo_box in = {fmax(visible->x0, 0), fmax(visible->y0, 0), fmin(visible->x1, width), fmin(visible->y1, height)};
    struct ranked *all;
    int level = photo_view_level(zoom), x0, y0, x1, y1;
    int longer = width > height ? width : height;
    double side = PHOTO_TILE_PX << level;
    size_t n = 0;

    if (longer <= have_px || longer * zoom <= have_px || in.x0 >= in.x1 || in.y0 >= in.y1)
        return 0;
    x0 = (int)floor(in.x0 / side);
    y0 = (int)floor(in.y0 / side);
    x1 = (int)ceil(in.x1 / side);
    y1 = (int)ceil(in.y1 / side);
    all = mem_alloc((size_t)(x1 - x0) * (size_t)(y1 - y0), sizeof *all);
    for (int y = y0; y < y1; y++)
        for (int x = x0; x < x1; x++) {
            double dx = (x + 0.5) * side - (in.x0 + in.x1) / 2, dy = (y + 0.5) * side - (in.y0 + in.y1) / 2;

            all[n++] = (struct ranked){{level, x, y}, dx * dx + dy * dy};
        }
    qsort(all, n, sizeof *all, by_distance);
    n = n < n_room ? n : n_room;
    for (size_t i = 0; i < n; i++)
        tiles[i] = all[i].tile;
    free(all);
    return n;
}
