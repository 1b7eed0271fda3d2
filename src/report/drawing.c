#include "report/drawing.h"

#include <string.h>

#include "base/mem.h"

struct drawing_shape *drawing_add(struct drawing *d, enum drawing_kind kind)
{
    struct drawing_shape *s = arena_push(d->memory, (void **)&d->shapes, &d->n_shapes, &d->n_room, sizeof *s);

    s->kind = kind;
    return s;
}

void drawing_box(struct drawing *d, double x, double y, double w, double h, double radius, uint32_t rgb)
{
    struct drawing_shape *s = drawing_add(d, DRAW_BOX);

    s->x = x, s->y = y, s->w = w, s->h = h, s->radius = radius, s->rgb = rgb;
}

void drawing_disc(struct drawing *d, double x, double y, double radius, uint32_t rgb)
{
    struct drawing_shape *s = drawing_add(d, DRAW_DISC);

    s->x = x, s->y = y, s->radius = radius, s->rgb = rgb;
}

void drawing_ring(struct drawing *d, double x, double y, double radius, double width, double from_deg, double to_deg, uint32_t rgb)
{
    struct drawing_shape *s = drawing_add(d, DRAW_RING);

    s->x = x, s->y = y, s->radius = radius, s->width = width, s->from_deg = from_deg, s->to_deg = to_deg, s->rgb = rgb;
}

void drawing_line(struct drawing *d, double x0, double y0, double x1, double y1, double width, bool dashed, uint32_t rgb)
{
    struct drawing_shape *s = drawing_add(d, DRAW_LINE);

    s->x = x0, s->y = y0, s->w = x1, s->h = y1, s->width = width, s->dashed = dashed, s->rgb = rgb;
}

void drawing_polygon(struct drawing *d, const double *points, int n_points, uint32_t rgb)
{
    struct drawing_shape *s = drawing_add(d, DRAW_POLYGON);
    double *kept = arena_alloc(d->memory, (size_t)n_points * 2, sizeof *kept);

    memcpy(kept, points, (size_t)n_points * 2 * sizeof *kept);
    s->points = kept, s->n_points = n_points, s->rgb = rgb;
}

void drawing_text(struct drawing *d, double x, double y, const char *text, int size_px, bool bold, enum drawing_align align, uint32_t rgb)
{
    struct drawing_shape *s = drawing_add(d, DRAW_TEXT);

    s->x = x, s->y = y, s->text = arena_text(d->memory, text), s->size_px = size_px, s->bold = bold, s->align = align, s->rgb = rgb;
}

void drawing_layer(struct drawing *d, double share, double x, double y, double w, double h)
{
    struct drawing_shape *s = drawing_add(d, DRAW_LAYER);

    s->share = share, s->x = x, s->y = y, s->w = w, s->h = h;
}

void drawing_layer_end(struct drawing *d)
{
    drawing_add(d, DRAW_LAYER_END);
}
