/* drawing_paint.c - a drawing as pixels. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "photo/photo.h"
#include "report/drawing.h"
#include "report/paint.h"
#include "report/report.h"

#define MOST_PX ((double)100000000)
#define DASH_PX 6.0
#define SPACE_PX 4.0

struct canvas {
    struct photo_pixels *px;
    double k; /* pixels for one of the drawing */
    struct paint_face *plain, *bold;
    struct {
        uint8_t *was; /* what lies beneath it; NULL: no layer is open */
        int x, y, w, h;
        double share;
    } layer;
};

static void colour(uint32_t rgb, uint8_t to[3])
{
    to[0] = (uint8_t)(rgb >> 16), to[1] = (uint8_t)(rgb >> 8), to[2] = (uint8_t)rgb;
}

static void line(const struct canvas *c, const struct drawing_shape *s, const uint8_t rgb[3])
{
    double dx = s->w - s->x, dy = s->h - s->y, length = hypot(dx, dy), step = s->dashed ? DASH_PX + SPACE_PX : fmax(length, 1);

    for (double at = 0; at < length; at += step) {
        double to = fmin(at + (s->dashed ? DASH_PX : length), length);

        paint_line(c->px, (s->x + dx * at / length) * c->k, (s->y + dy * at / length) * c->k, (s->x + dx * to / length) * c->k, (s->y + dy * to / length) * c->k, s->width * c->k, rgb);
    }
}

/* A word's letters; digits and signs stand on the baseline at y. */
static void words(const struct canvas *c, const struct drawing_shape *s, const uint8_t rgb[3])
{
    const struct paint_face *f = s->bold ? c->bold : c->plain;
    double w = paint_width(f, s->size_px * c->k, s->text);

    paint_words(c->px, f, s->size_px * c->k, s->x * c->k - (s->align == DRAW_MIDDLE ? w / 2 : s->align == DRAW_RIGHT ? w : 0), s->y * c->k, s->text, rgb);
}

/* A square picture cut to a disc. One that cannot be decoded is left out. */
static void photo(const struct canvas *c, const struct drawing_shape *s)
{
    struct photo_pixels whole, small;
    double r = s->radius * c->k, x0 = s->x * c->k - r, y0 = s->y * c->k - r;
    bool fine;

    if (s->photo->disc == NULL || r < 1 || !photo_decode(s->photo->disc, s->photo->n_disc_bytes, 0, NULL, &whole, NULL, NULL))
        return;
    fine = photo_shrink(&whole, (int)fmax(2, ceil(2 * r)), &small, NULL);
    photo_pixels_release(&whole);
    if (!fine)
        return;
    for (int y = (int)floor(y0); y <= (int)ceil(y0 + 2 * r); y++)
        for (int x = (int)floor(x0); x <= (int)ceil(x0 + 2 * r); x++) {
            int sx = (int)((x + 0.5 - x0) / (2 * r) * small.width), sy = (int)((y + 0.5 - y0) / (2 * r) * small.height);

            sx = sx < 0 ? 0 : sx >= small.width ? small.width - 1 : sx;
            sy = sy < 0 ? 0 : sy >= small.height ? small.height - 1 : sy;
            paint_mix(c->px, x, y, small.rgba + ((size_t)sy * (size_t)small.width + (size_t)sx) * 4, r + 0.5 - hypot(x + 0.5 - x0 - r, y + 0.5 - y0 - r));
        }
    photo_pixels_release(&small);
}

static int within(double px, int n)
{
    return px < 0 ? 0 : px > n ? n : (int)px;
}

/* One for which there is no memory hides what it lies over. */
static void begin_layer(struct canvas *c, const struct drawing_shape *s)
{
    const int x = within(floor(s->x * c->k), c->px->width), y = within(floor(s->y * c->k), c->px->height);
    const int w = within(ceil((s->x + s->w) * c->k), c->px->width) - x, h = within(ceil((s->y + s->h) * c->k), c->px->height) - y;

    c->layer.x = x, c->layer.y = y, c->layer.w = w, c->layer.h = h, c->layer.share = s->share;
    c->layer.was = mem_try((size_t)w * (size_t)h, 4);
    for (int i = 0; i < h && c->layer.was != NULL; i++)
        memcpy(c->layer.was + (size_t)i * (size_t)w * 4, c->px->rgba + ((size_t)(y + i) * (size_t)c->px->width + (size_t)x) * 4, (size_t)w * 4);
}

static void end_layer(struct canvas *c)
{
    for (int i = 0; i < c->layer.h && c->layer.was != NULL; i++)
        for (int k = 0; k < c->layer.w; k++)
            paint_mix(c->px, c->layer.x + k, c->layer.y + i, c->layer.was + ((size_t)i * (size_t)c->layer.w + (size_t)k) * 4, 1 - c->layer.share);
    free(c->layer.was);
    c->layer.was = NULL;
}

static void shape(struct canvas *c, const struct drawing_shape *s)
{
    double k = c->k, points[64];
    uint8_t rgb[3];

    colour(s->rgb, rgb);
    switch (s->kind) {
    case DRAW_BOX: paint_box(c->px, s->x * k, s->y * k, s->w * k, s->h * k, s->radius * k, rgb); break;
    case DRAW_DISC: paint_ring(c->px, s->x * k, s->y * k, s->radius * k / 2, s->radius * k, 0, 0, rgb); break;
    case DRAW_RING: paint_ring(c->px, s->x * k, s->y * k, s->radius * k, s->width * k, s->from_deg, s->to_deg, rgb); break;
    case DRAW_LINE: line(c, s, rgb); break;
    case DRAW_POLYGON:
        for (int i = 0; i < 2 * s->n_points && i < 64; i++)
            points[i] = s->points[i] * k;
        paint_polygon(c->px, points, s->n_points < 32 ? s->n_points : 32, rgb);
        break;
    case DRAW_TEXT: words(c, s, rgb); break;
    case DRAW_PHOTO: photo(c, s); break;
    case DRAW_LAYER: begin_layer(c, s); break;
    case DRAW_LAYER_END: end_layer(c); break;
    }
}

bool drawing_paint(const struct drawing *d, double scale, struct photo_pixels *out, struct err *e)
{
    struct canvas c = {.px = out, .k = scale};
    uint8_t ground[3];
    bool fine = false;

    memset(out, 0, sizeof *out);
    if (d->width * d->height * scale * scale > MOST_PX)
        return err_set(e, ERR_LIMIT, "The picture would be larger than %.0f megapixels. Ask for fewer visits.", MOST_PX / 1e6);
    *out = (struct photo_pixels){(int)ceil(d->width * scale), (int)ceil(d->height * scale), NULL};
    out->rgba = mem_try((size_t)out->width * (size_t)out->height, 4);
    if (out->rgba == NULL)
        return err_set(e, ERR_LIMIT, "There is not enough memory for a picture of %d × %d pixels.", out->width, out->height);
    colour(d->desk ? INK_DESK : INK_WHITE, ground);
    for (size_t i = 0; i < (size_t)out->width * (size_t)out->height; i++) {
        memcpy(out->rgba + 4 * i, ground, 3);
        out->rgba[4 * i + 3] = 255;
    }
    c.plain = paint_face_open(false, e);
    c.bold = c.plain != NULL ? paint_face_open(true, e) : NULL;
    if (c.bold != NULL) {
        for (size_t i = 0; i < d->n_shapes; i++)
            shape(&c, &d->shapes[i]);
        fine = true;
    }
    paint_face_close(c.plain);
    paint_face_close(c.bold);
    if (!fine)
        photo_pixels_release(out);
    return fine;
}
