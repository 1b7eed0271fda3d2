/* photo_place.c - where a photo lies on the screen, and its picture there. */
#include <math.h>
#include <string.h>

#include "screen/photo_bench.h"

#define PI 3.14159265358979323846

/* (x, y) from the middle of the picture as displayed to the middle of it as turned a quarter `turn` times
 * clockwise, 4 - turn leads back; and by any angle. */
static void turn_about_middle(int turn, double *x, double *y)
{
    for (int i = 0; i < turn; i++) {
        double was_x = *x;

        *x = -*y;
        *y = was_x;
    }
}

static void lean_about_middle(double deg, double *x, double *y)
{
    double c = cos(deg * PI / 180), s = sin(deg * PI / 180), was_x = *x;

    *x = c * was_x - s * *y;
    *y = s * was_x + c * *y;
}

void photo_to_screen(const struct photo_place *p, double x, double y, float *sx, float *sy)
{
    x -= p->width / 2.0;
    y -= p->height / 2.0;
    turn_about_middle(p->turn, &x, &y);
    lean_about_middle(p->lean_deg, &x, &y);
    *sx = p->cx + (float)(x * (double)p->zoom);
    *sy = p->cy + (float)(y * (double)p->zoom);
}

void photo_from_screen(const struct photo_place *p, float sx, float sy, double *x, double *y)
{
    *x = (double)(sx - p->cx) / (double)p->zoom;
    *y = (double)(sy - p->cy) / (double)p->zoom;
    lean_about_middle(-p->lean_deg, x, y);
    turn_about_middle((4 - p->turn) % 4, x, y);
    *x += p->width / 2.0;
    *y += p->height / 2.0;
}

void photo_corners(const struct photo_place *p, double x0, double y0, double x1, double y1, float xy[8])
{
    photo_to_screen(p, x0, y0, &xy[0], &xy[1]);
    photo_to_screen(p, x1, y0, &xy[2], &xy[3]);
    photo_to_screen(p, x1, y1, &xy[4], &xy[5]);
    photo_to_screen(p, x0, y1, &xy[6], &xy[7]);
}

struct photo_place photo_fit(const struct logbook_photo *p, struct rect r)
{
    float w = (float)(p->turn % 2 ? p->height : p->width), h = (float)(p->turn % 2 ? p->width : p->height);
    double lean = p->lean_mdeg / 1000.0;
    float c = (float)fabs(cos(lean * PI / 180)), s = (float)fabs(sin(lean * PI / 180));

    return (struct photo_place){r.x + r.w / 2, r.y + r.h / 2, fminf(r.w / (c * w + s * h), r.h / (s * w + c * h)), p->turn, p->width, p->height, lean};
}

/* The smallest upright rectangle around a part of the photo. */
static struct rect part_on_screen(const struct photo_place *at, const struct photo_region *r)
{
    float xy[8], x0, y0, x1, y1;

    photo_corners(at, r->x, r->y, r->x + r->width, r->y + r->height, xy);
    x0 = fminf(fminf(xy[0], xy[2]), fminf(xy[4], xy[6]));
    x1 = fmaxf(fmaxf(xy[0], xy[2]), fmaxf(xy[4], xy[6]));
    y0 = fminf(fminf(xy[1], xy[3]), fminf(xy[5], xy[7]));
    y1 = fmaxf(fmaxf(xy[1], xy[3]), fmaxf(xy[5], xy[7]));
    return (struct rect){x0, y0, x1 - x0, y1 - y0};
}

struct rect photo_bounds(const struct photo_place *at)
{
    return part_on_screen(at, &(struct photo_region){0, 0, at->width, at->height});
}

static bool leans(const struct photo_place *at)
{
    return at->lean_deg < 0 || at->lean_deg > 0;
}

/* layer 0: only where the photo leans. */
static void paint_part(struct ui *ui, const struct photo_place *at, const struct photo_region *r, uint64_t key, int layer, float share)
{
    float cx, cy, w = (float)r->width * at->zoom, h = (float)r->height * at->zoom;

    if (!leans(at) && layer == 0) {
        ui_image(ui, part_on_screen(at, r), key, (struct rect){0, 0, 1, 1}, at->turn, false);
        return;
    }
    photo_to_screen(at, r->x + r->width / 2.0, r->y + r->height / 2.0, &cx, &cy);
    ui_layer_image(ui, (struct rect){cx - w / 2, cy - h / 2, w, h}, key, (float)(at->turn * 90 + at->lean_deg), layer > 0 ? layer : 1, share);
}

/* What of a photo is in sight of the view; into tiles, with what is there already. */
static void paint(struct ui *ui, const struct model *m, const struct logbook_photo *p, const struct photo_place *at, struct rect view, int layer, float share, struct view_tiles *wanted)
{
    enum { ROOM = 2 * PHOTO_VIEW_MAX_TILES }; /* the box around a view that leans is up to twice as large */
    struct photo_region whole = {0, 0, p->width, p->height};
    struct photo_tile tiles[ROOM];
    double scale = m->px_scale > 0 ? (double)m->px_scale : 1;
    struct photo_box seen = {1e9, 1e9, -1e9, -1e9};
    size_t n;

    if (m->large_lacks && layer == 0)
        paint_part(ui, at, &whole, photo_key(p->sha256, false), layer, share);
    paint_part(ui, at, &whole, photo_key(p->sha256, true), layer, share);
    for (int i = 0; i < 4; i++) {
        double x, y;

        photo_from_screen(at, view.x + (i % 2 ? view.w : 0), view.y + (i / 2 ? view.h : 0), &x, &y);
        seen = (struct photo_box){fmin(seen.x0, x), fmin(seen.y0, y), fmax(seen.x1, x), fmax(seen.y1, y)};
    }
    n = photo_view_tiles(p->width, p->height, (double)at->zoom * scale, &seen, PHOTO_PREVIEW_PX, tiles, ROOM);
    for (size_t i = 0; i < n; i++) {
        struct photo_region r = photo_tile_region(&tiles[i], p->width, p->height);
        struct rect box = part_on_screen(at, &r);
        bool there = false;

        if (box.x >= view.x + view.w || box.y >= view.y + view.h || box.x + box.w <= view.x || box.y + box.h <= view.y)
            continue;
        paint_part(ui, at, &r, photo_tile_key(p->sha256, &tiles[i]), layer, share);
        for (size_t k = 0; k < wanted->n && !there; k++)
            there = memcmp(&wanted->list[k], &tiles[i], sizeof tiles[i]) == 0;
        if (!there && wanted->n < PHOTO_VIEW_MAX_TILES)
            wanted->list[wanted->n++] = tiles[i];
    }
}

void photo_paint(struct ui *ui, const struct model *m, struct screen_state *st, const struct logbook_photo *p, const struct photo_place *at, struct rect view)
{
    int layer = st->bench.beside > 0 && st->bench.blended ? 1 : 0; /* each pixel once: there is a second one to draw */

    paint(ui, m, p, at, view, layer, 1, &st->tiles);
}

void photo_paint_other(struct ui *ui, const struct model *m, struct screen_state *st, const struct logbook_photo *p, const struct photo_place *at, struct rect view, float share)
{
    paint(ui, m, p, at, view, share < 1 ? 2 : 0, share, &st->other_tiles);
}
