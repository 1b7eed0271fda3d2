#include "report/report_pdf.h"

#include <cairo-pdf.h>
#include <math.h>
#include <pango/pangocairo.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "report/paper.h"
#include "report/report.h"

#define PT 0.75        /* of a px: 13 px are 9.75 pt */
#define MARGIN_PT 42.5 /* 15 mm */
#define FOOT_PT 20.0

static const struct report_paper papers[] = { /* ISO 216 A4; ANSI A, 8.5 by 11 in */
    {"a4", "A4", 210 / 25.4 * 72, 297 / 25.4 * 72},
    {"letter", "Letter", 612, 792},
};

const struct report_paper *report_papers(int *n)
{
    *n = (int)(sizeof papers / sizeof papers[0]);
    return papers;
}

const struct report_paper *report_paper_find(const char *id)
{
    for (size_t i = 0; i < sizeof papers / sizeof papers[0]; i++)
        if (strcmp(papers[i].id, id) == 0)
            return &papers[i];
    return NULL;
}

double report_paper_width_pt(const struct report_paper *p)
{
    return p->width_pt - 2 * MARGIN_PT;
}

double report_paper_height_pt(const struct report_paper *p)
{
    return p->height_pt - 2 * MARGIN_PT - FOOT_PT;
}

/* ---- the pen ---- */

struct press {
    cairo_surface_t *surface;
    cairo_t *cr;
    PangoFontMap *fonts;
    PangoContext *context;
    PangoLayout *layout;
    PangoAttrList *tabular;
    double share; /* of the layer that is open */
};

static void ink(struct press *p, uint32_t rgb)
{
    cairo_set_source_rgb(p->cr, (rgb >> 16 & 255) / 255.0, (rgb >> 8 & 255) / 255.0, (rgb & 255) / 255.0);
}

static void set(struct press *p, const char *s, const struct paper_style *style, double width)
{
    PangoFontDescription *font = pango_font_description_new();

    pango_font_description_set_family_static(font, "Inter,Noto Sans,DejaVu Sans,sans-serif");
    pango_font_description_set_absolute_size(font, style->size_px * PANGO_SCALE);
    pango_font_description_set_weight(font, style->bold ? PANGO_WEIGHT_SEMIBOLD : PANGO_WEIGHT_NORMAL);
    pango_layout_set_font_description(p->layout, font);
    pango_font_description_free(font);
    pango_layout_set_attributes(p->layout, style->tabular ? p->tabular : NULL);
    pango_layout_set_width(p->layout, width < 0 ? -1 : (int)(width * PANGO_SCALE));
    pango_layout_set_wrap(p->layout, PANGO_WRAP_WORD_CHAR);
    pango_layout_set_alignment(p->layout, style->align == DRAW_RIGHT ? PANGO_ALIGN_RIGHT : style->align == DRAW_MIDDLE ? PANGO_ALIGN_CENTER : PANGO_ALIGN_LEFT);
    pango_layout_set_text(p->layout, s, -1);
}

static double text_width(void *ctx, const char *s, const struct paper_style *style)
{
    PangoRectangle r;
    struct press *p = ctx;

    set(p, s, style, -1);
    pango_layout_get_extents(p->layout, NULL, &r);
    return (double)r.width / PANGO_SCALE;
}

static double text(void *ctx, double x, double y, double w, const char *s, const struct paper_style *style, bool draw)
{
    PangoRectangle r;
    struct press *p = ctx;

    if (s[0] == '\0')
        return 0;
    set(p, s, style, w);
    pango_layout_get_extents(p->layout, NULL, &r);
    if (draw) {
        ink(p, style->rgb);
        cairo_move_to(p->cr, x, y);
        pango_cairo_show_layout(p->cr, p->layout);
    }
    return (double)r.height / PANGO_SCALE;
}

static void words(void *ctx, double x, double baseline, const char *s, const struct paper_style *style)
{
    struct press *p = ctx;
    double w = text_width(p, s, style);

    ink(p, style->rgb);
    cairo_move_to(p->cr, x - (style->align == DRAW_RIGHT ? w : style->align == DRAW_MIDDLE ? w / 2 : 0), baseline - (double)pango_layout_get_baseline(p->layout) / PANGO_SCALE);
    pango_cairo_show_layout(p->cr, p->layout);
}

static void round_path(cairo_t *cr, double x, double y, double w, double h, double r)
{
    r = fmin(r, fmin(w, h) / 2);
    cairo_new_path(cr);
    if (r <= 0) {
        cairo_rectangle(cr, x, y, w, h);
        return;
    }
    cairo_arc(cr, x + w - r, y + r, r, -M_PI / 2, 0);
    cairo_arc(cr, x + w - r, y + h - r, r, 0, M_PI / 2);
    cairo_arc(cr, x + r, y + h - r, r, M_PI / 2, M_PI);
    cairo_arc(cr, x + r, y + r, r, M_PI, 1.5 * M_PI);
    cairo_close_path(cr);
}

static void box(void *ctx, double x, double y, double w, double h, double radius, uint32_t rgb)
{
    struct press *p = ctx;

    ink(p, rgb);
    round_path(p->cr, x, y, w, h, radius);
    cairo_fill(p->cr);
}

static void disc(void *ctx, double x, double y, double radius, uint32_t rgb)
{
    struct press *p = ctx;

    ink(p, rgb);
    cairo_new_path(p->cr);
    cairo_arc(p->cr, x, y, radius, 0, 2 * M_PI);
    cairo_fill(p->cr);
}

static void ring(void *ctx, double x, double y, double radius, double width, double from_deg, double to_deg, uint32_t rgb)
{
    struct press *p = ctx;

    ink(p, rgb);
    cairo_new_path(p->cr);
    cairo_set_line_width(p->cr, width);
    if (from_deg == to_deg)
        cairo_arc(p->cr, x, y, radius, 0, 2 * M_PI);
    else
        cairo_arc(p->cr, x, y, radius, (from_deg - 90) * M_PI / 180, (to_deg - 90) * M_PI / 180);
    cairo_stroke(p->cr);
}

static void line(void *ctx, double x0, double y0, double x1, double y1, double width, bool dashed, uint32_t rgb)
{
    static const double dashes[] = {6, 4};
    struct press *p = ctx;

    ink(p, rgb);
    cairo_set_line_width(p->cr, width);
    cairo_set_dash(p->cr, dashes, dashed ? 2 : 0, 0);
    cairo_move_to(p->cr, x0, y0);
    cairo_line_to(p->cr, x1, y1);
    cairo_stroke(p->cr);
    cairo_set_dash(p->cr, NULL, 0, 0);
}

static void polygon(void *ctx, const double *points, int n_points, uint32_t rgb)
{
    struct press *p = ctx;

    ink(p, rgb);
    cairo_new_path(p->cr);
    for (int i = 0; i < n_points; i++)
        cairo_line_to(p->cr, points[2 * i], points[2 * i + 1]);
    cairo_close_path(p->cr);
    cairo_fill(p->cr);
}

static void layer(void *ctx, double share)
{
    struct press *p = ctx;

    if (share > 0) {
        cairo_push_group(p->cr);
    } else {
        cairo_pop_group_to_source(p->cr);
        cairo_paint_with_alpha(p->cr, p->share);
    }
    p->share = share;
}

/* The JPEG goes into the file as it is: the surface beneath it is only its size. */
static void picture(void *ctx, double x, double y, double w, double h, const struct report_picture *q, bool as_disc)
{
    struct press *p = ctx;
    const unsigned char *jpeg = as_disc ? q->disc : q->jpeg;
    size_t n = as_disc ? q->n_disc_bytes : q->n_bytes;
    int wide = as_disc ? q->disc_px : q->width, high = as_disc ? q->disc_px : q->height;
    cairo_surface_t *image;

    if (jpeg == NULL)
        return;
    image = cairo_image_surface_create(CAIRO_FORMAT_RGB24, wide, high);
    cairo_surface_set_mime_data(image, CAIRO_MIME_TYPE_JPEG, jpeg, n, NULL, NULL);
    cairo_save(p->cr);
    if (as_disc) {
        cairo_new_path(p->cr);
        cairo_arc(p->cr, x + w / 2, y + h / 2, w / 2, 0, 2 * M_PI);
        cairo_clip(p->cr);
    }
    cairo_translate(p->cr, x, y);
    cairo_scale(p->cr, w / wide, h / high);
    cairo_set_source_surface(p->cr, image, 0, 0);
    cairo_paint(p->cr);
    cairo_restore(p->cr);
    cairo_surface_destroy(image);
}

/* ---- pages ---- */

static cairo_status_t keep(void *ctx, const unsigned char *data, unsigned n)
{
    text_add_bytes(ctx, data, n);
    return CAIRO_STATUS_SUCCESS;
}

struct pages {
    struct press press;
    struct paper_pen pen;
    struct paper paper;
    const struct report_paper *size;
    const char *title;
    double y, highest; /* px */
    int number;
    int parents[4];    /* bookmark of each depth above */
};

static void begin_page(struct pages *g)
{
    struct paper_style soft = {11, false, true, INK_SOFT, DRAW_LEFT};
    double foot = (g->size->height_pt - 2 * MARGIN_PT) / PT + 6;
    char number[24];

    if (g->number > 0)
        cairo_show_page(g->press.cr);
    g->number++;
    g->y = 0;
    words(&g->press, 0, foot, g->title, &soft);
    text_format(number, sizeof number, "%d", g->number);
    soft.align = DRAW_RIGHT;
    words(&g->press, g->paper.width, foot, number, &soft);
}

static void bookmark(struct pages *g, const struct content_block *b)
{
    char where[96];

    if (b->kind != CONTENT_HEADING || b->depth > 3)
        return;
    text_format(where, sizeof where, "page=%d pos=[%.0f %.0f]", g->number, MARGIN_PT, MARGIN_PT + g->y * PT);
    g->parents[b->depth] = cairo_pdf_surface_add_outline(g->press.surface, g->parents[b->depth - 1], b->text, where, b->depth == 1 ? CAIRO_PDF_OUTLINE_FLAG_OPEN : 0);
    for (int d = b->depth + 1; d < 4; d++)
        g->parents[d] = g->parents[b->depth];
}

static void print(struct pages *g)
{
    for (size_t i = 0; i < g->paper.n_pieces; i++) {
        const struct paper_piece *p = &g->paper.pieces[i], *head = paper_head_of(&g->paper, i);
        double before = g->y > 0 ? p->before : 0;

        if (g->number == 0 || (g->y > 0 && g->y + before + paper_together(&g->paper, i) > g->highest && !paper_shrink(&g->paper, i, g->highest - g->y - before))) {
            begin_page(g);
            before = 0;
            if (head != NULL) {
                paper_draw(&g->pen, &g->paper, head, 0, 0);
                g->y = head->height;
            }
        }
        g->y += before;
        bookmark(g, p->block);
        paper_draw(&g->pen, &g->paper, p, 0, g->y);
        g->y += p->height;
    }
}

/* Opens a file of pages of this size in points; false without a typeface. end_press() closes it either way. */
static bool begin_press(struct press *p, double width_pt, double height_pt, const char *title, struct text *out)
{
    cairo_font_options_t *options = cairo_font_options_create();

    p->surface = cairo_pdf_surface_create_for_stream(keep, out, width_pt, height_pt);
    cairo_pdf_surface_set_metadata(p->surface, CAIRO_PDF_METADATA_TITLE, title);
    cairo_pdf_surface_set_metadata(p->surface, CAIRO_PDF_METADATA_CREATOR, "Sootbook");
    p->cr = cairo_create(p->surface);
    cairo_translate(p->cr, MARGIN_PT, MARGIN_PT);
    cairo_scale(p->cr, PT, PT);
    p->fonts = pango_cairo_font_map_new(); /* of its own: it is let go with all it holds */
    p->context = pango_font_map_create_context(p->fonts);
    pango_cairo_update_context(p->cr, p->context);
    p->layout = pango_layout_new(p->context);
    p->tabular = pango_attr_list_new();
    pango_attr_list_insert(p->tabular, pango_attr_font_features_new("tnum=1"));
    /* glyphs where they belong, not on whole pixels of a screen */
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    pango_cairo_context_set_font_options(p->context, options);
    pango_context_set_round_glyph_positions(p->context, FALSE);
    cairo_font_options_destroy(options);
    pango_layout_set_text(p->layout, "abc", -1);
    return pango_layout_get_unknown_glyphs_count(p->layout) == 0;
}

static bool end_press(struct press *p, bool typeface, struct err *e)
{
    cairo_status_t status = cairo_status(p->cr);

    pango_attr_list_unref(p->tabular);
    g_object_unref(p->layout);
    g_object_unref(p->context);
    cairo_destroy(p->cr);
    cairo_surface_finish(p->surface);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_status(p->surface);
    cairo_surface_destroy(p->surface);
    g_object_unref(p->fonts);
    if (!typeface)
        return err_set(e, ERR_IO, "The PDF cannot be set: this system has no typeface. Install one, fonts-inter for example.");
    if (status != CAIRO_STATUS_SUCCESS)
        return err_set(e, ERR_IO, "The PDF cannot be set: %s.", cairo_status_to_string(status));
    return true;
}

static struct paper_pen pen_of(struct press *p)
{
    return (struct paper_pen){p, text_width, text, words, box, disc, ring, line, polygon, picture, layer};
}

bool report_pdf(const struct content *c, const struct report_paper *size, struct text *out, struct err *e)
{
    struct arena *a = arena_create();
    struct pages g = {.size = size, .title = c->title};
    bool typeface = begin_press(&g.press, size->width_pt, size->height_pt, c->title, out);

    g.pen = pen_of(&g.press);
    g.highest = report_paper_height_pt(size) / PT;
    if (typeface) {
        paper_lay(&g.pen, c, report_paper_width_pt(size) / PT, g.highest, a, &g.paper);
        print(&g);
    }
    arena_destroy(a);
    return end_press(&g.press, typeface, e);
}

bool report_pdf_drawings(const struct drawing *pages, size_t n, const char *title, const struct report_paper *paper, bool lying, struct text *out, struct err *e)
{
    double width_pt = lying ? paper->height_pt : paper->width_pt, height_pt = lying ? paper->width_pt : paper->height_pt;
    struct press press;
    bool typeface = begin_press(&press, width_pt, height_pt, title, out);
    struct paper_pen pen = pen_of(&press);
    struct paper_style soft = {11, false, true, INK_SOFT, DRAW_LEFT};
    double wide = (width_pt - 2 * MARGIN_PT) / PT, high = (height_pt - 2 * MARGIN_PT - FOOT_PT) / PT;
    char number[24];

    for (size_t i = 0; i < n && typeface; i++) {
        struct content_block block = {.kind = CONTENT_DRAWING, .drawing = &pages[i], .text = ""};
        struct paper_piece piece = {.block = &block, .scale = fmin(wide / pages[i].width, high / pages[i].height)};

        if (i > 0)
            cairo_show_page(press.cr);
        paper_draw(&pen, NULL, &piece, 0, 0);
        words(&press, 0, high + FOOT_PT / PT + 6, title, &soft);
        soft.align = DRAW_RIGHT;
        text_format(number, sizeof number, "%zu of %zu", i + 1, n);
        words(&press, wide, high + FOOT_PT / PT + 6, number, &soft);
        soft.align = DRAW_LEFT;
    }
    return end_press(&press, typeface, e);
}
