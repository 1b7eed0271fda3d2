#include "screen/report_pen.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "screen/lineup_plug.h"

/* What is written in a report, in the window's own colours. */
static enum ui_colour ink(uint32_t rgb)
{
    switch (rgb) {
    case INK_SOFT: return UI_TEXT_QUIET;
    case INK_WHITE: return UI_DARK_TEXT;
    case INK_ACT: return UI_ACT_INK;
    case 0x101010: return UI_DESK_TEXT;
    default: return UI_TEXT;
    }
}

static struct rgba rgba(uint32_t rgb)
{
    return (struct rgba){(uint8_t)(rgb >> 16), (uint8_t)(rgb >> 8), (uint8_t)rgb, 255};
}

static struct ui_style style_of(const struct paper_style *s)
{
    return (struct ui_style){.size_px = (int)lround(s->size_px), .weight = s->bold ? UI_SEMIBOLD : UI_REGULAR, .colour = ink(s->rgb), .tabular = s->tabular, .top = true, .max_lines = 400,
                             .align = s->align == DRAW_RIGHT ? UI_RIGHT : s->align == DRAW_MIDDLE ? UI_CENTRE : UI_LEFT};
}

static struct ui *ui_of(void *ctx)
{
    return ((struct report_pen *)ctx)->ui;
}

static double text_width(void *ctx, const char *s, const struct paper_style *style)
{
    struct ui_style st = style_of(style);

    return (double)ui_text_width(ui_of(ctx), s, &st);
}

static double text(void *ctx, double x, double y, double w, const char *s, const struct paper_style *style, bool draw)
{
    struct ui_style st = style_of(style);

    if (s[0] == '\0')
        return 0;
    if (draw)
        return (double)ui_text(ui_of(ctx), (struct rect){(float)x, (float)y, (float)w, 4000}, s, &st);
    return (double)ui_text_height(ui_of(ctx), (float)w, s, &st);
}

static void words(void *ctx, double x, double baseline, const char *s, const struct paper_style *style)
{
    struct ui_style st = style_of(style);
    float w = ui_text_width(ui_of(ctx), s, &st) + 1;
    double left = x - (style->align == DRAW_RIGHT ? (double)w : style->align == DRAW_MIDDLE ? (double)w / 2 : 0);

    st.top = false;
    st.max_lines = 1;
    st.align = UI_LEFT;
    /* capitals of the face are 0.73 of its size high: their middle is that of the line */
    ui_text(ui_of(ctx), (struct rect){(float)left, (float)(baseline - 0.365 * style->size_px - 12), w, 24}, s, &st);
}

static void box(void *ctx, double x, double y, double w, double h, double radius, uint32_t rgb)
{
    ui_round_rgba(ui_of(ctx), (struct rect){(float)x, (float)y, (float)w, (float)h}, (float)radius, rgba(rgb));
}

static void disc(void *ctx, double x, double y, double radius, uint32_t rgb)
{
    ui_disc(ui_of(ctx), (float)x, (float)y, (float)radius, rgba(rgb));
}

static void ring(void *ctx, double x, double y, double radius, double width, double from_deg, double to_deg, uint32_t rgb)
{
    if (from_deg == to_deg)
        ui_ring(ui_of(ctx), (float)x, (float)y, (float)(radius + width / 2), (float)width, rgba(rgb));
    else
        ui_arc(ui_of(ctx), (float)x, (float)y, (float)(radius + width / 2), (float)width, (float)from_deg, (float)to_deg, rgba(rgb));
}

static void line(void *ctx, double x0, double y0, double x1, double y1, double width, bool dashed, uint32_t rgb)
{
    if (dashed)
        ui_line_dashed(ui_of(ctx), (float)x0, (float)y0, (float)x1, (float)y1, (float)width, rgb == INK_ACT ? UI_ACT : UI_TEXT);
    else
        ui_line_rgba(ui_of(ctx), (float)x0, (float)y0, (float)x1, (float)y1, (float)width, rgba(rgb));
}

static void polygon(void *ctx, const double *points, int n_points, uint32_t rgb)
{
    float *p = arena_alloc(ui_arena(ui_of(ctx)), (size_t)n_points * 2, sizeof *p);

    for (int i = 0; i < n_points * 2; i++)
        p[i] = (float)points[i];
    ui_polygon(ui_of(ctx), p, n_points, rgba(rgb));
}

/* The window's own small picture; of a plug, the one the Line-up cut out. */
static void picture(void *ctx, double x, double y, double w, double h, const struct report_picture *q, bool as_disc)
{
    struct report_pen *p = ctx;
    struct rect r = {(float)x, (float)y, (float)w, (float)h};

    if (q->photo == NULL || q->visit < 0 || q->visit >= p->m->record->n_visits)
        return;
    p->from = q->visit < p->from ? q->visit : p->from;
    p->to = q->visit + 1 > p->to ? q->visit + 1 : p->to;
    if (as_disc) {
        struct lineup_plug plug = lineup_plug_of(p->m, q->visit, (struct plug_place){q->cylinder, q->position < 0 ? 0 : q->position}, CROP_TIP);

        lineup_plug_draw(p->ui, &plug, r.x + r.w / 2, r.y + r.h / 2, r.w, 1);
        return;
    }
    ui_fill(p->ui, r, UI_CARD_DIM);
    photo_draw(p->ui, q->photo, r);
}

void report_pen_init(struct report_pen *p, struct ui *ui, const struct model *m)
{
    *p = (struct report_pen){.pen = {p, text_width, text, words, box, disc, ring, line, polygon, picture, NULL}, .ui = ui, .m = m, .from = m->record->n_visits, .to = 0};
}
