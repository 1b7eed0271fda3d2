/* ui_draw.c - rects, and the list of things to draw. */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "ui/ui_bidi.h"
#include "ui/ui_state.h"

struct rect ui_cut_left(struct rect *r, float w)
{
    struct rect part = *r;

    part.w = w < r->w ? w : r->w;
    r->x += part.w;
    r->w -= part.w;
    return part;
}

struct rect ui_cut_right(struct rect *r, float w)
{
    struct rect part = *r;

    part.w = w < r->w ? w : r->w;
    part.x = r->x + r->w - part.w;
    r->w -= part.w;
    return part;
}

struct rect ui_cut_top(struct rect *r, float h)
{
    struct rect part = *r;

    part.h = h < r->h ? h : r->h;
    r->y += part.h;
    r->h -= part.h;
    return part;
}

struct rect ui_cut_bottom(struct rect *r, float h)
{
    struct rect part = *r;

    part.h = h < r->h ? h : r->h;
    part.y = r->y + r->h - part.h;
    r->h -= part.h;
    return part;
}

struct rect ui_inset(struct rect r, float dx, float dy)
{
    struct rect in = {r.x + dx, r.y + dy, r.w - 2 * dx, r.h - 2 * dy};

    if (in.w < 0)
        in.w = 0;
    if (in.h < 0)
        in.h = 0;
    return in;
}

struct ui_flow ui_flow_begin(struct rect r, float h)
{
    return (struct ui_flow){r, r.x, r.y, h};
}

struct rect ui_flow_next(struct ui_flow *f, float w)
{
    struct rect item;

    if (f->x + w > f->r.x + f->r.w) {
        f->x = f->r.x;
        f->y += f->h + 6;
    }
    item = (struct rect){f->x, f->y, w, f->h};
    f->x += w + 6;
    return item;
}

float ui_flow_height(const struct ui_flow *f)
{
    return f->y + f->h - f->r.y;
}

bool ui_inside(struct rect r, float x, float y)
{
    return x >= r.x && y >= r.y && x < r.x + r.w && y < r.y + r.h;
}

struct rect ui_intersect(struct rect a, struct rect b)
{
    float x0 = fmaxf(a.x, b.x), y0 = fmaxf(a.y, b.y);
    float x1 = fminf(a.x + a.w, b.x + b.w), y1 = fminf(a.y + a.h, b.y + b.h);

    return (struct rect){x0, y0, fmaxf(0, x1 - x0), fmaxf(0, y1 - y0)};
}

struct rect ui_clip(const struct ui *ui)
{
    return ui->n_clips > 0 ? ui->clips[ui->n_clips - 1] : ui_screen(ui);
}

bool ui_visible(const struct ui *ui, struct rect r)
{
    struct rect c = ui_clip(ui);

    return r.x < c.x + c.w && r.y < c.y + c.h && r.x + r.w > c.x && r.y + r.h > c.y;
}

struct ui_draw *ui_add_draw(struct ui *ui, enum ui_draw_type type, struct rect r, struct rgba c)
{
    struct ui_draw *d;

    if (ui->n_draws == ui->draws_room) {
        ui->draws_room = ui->draws_room ? ui->draws_room * 2 : 256;
        ui->draws = mem_resize(ui->draws, ui->draws_room, sizeof *ui->draws);
    }
    d = &ui->draws[ui->n_draws++];
    memset(d, 0, sizeof *d);
    d->type = type;
    d->r = r;
    d->colour = c;
    return d;
}

const struct ui_draw *ui_draws(const struct ui *ui, size_t *n)
{
    *n = ui->n_draws;
    return ui->draws;
}

void ui_clip_push(struct ui *ui, struct rect r)
{
    struct rect c = ui_intersect(r, ui_clip(ui));

    assert(ui->n_clips < MAX_CLIPS);
    ui->clips[ui->n_clips++] = c;
    ui_add_draw(ui, UI_DRAW_CLIP, c, (struct rgba){0, 0, 0, 0});
}

void ui_clip_pop(struct ui *ui)
{
    assert(ui->n_clips > 0);
    ui->n_clips--;
    ui_add_draw(ui, UI_DRAW_CLIP, ui_clip(ui), (struct rgba){0, 0, 0, 0});
}

void ui_fill_rgba(struct ui *ui, struct rect r, struct rgba c)
{
    if (ui_visible(ui, r))
        ui_add_draw(ui, UI_DRAW_FILL, r, c);
}

void ui_fill(struct ui *ui, struct rect r, enum ui_colour c)
{
    ui_fill_rgba(ui, r, ui_rgba(c));
}

void ui_round_rgba(struct ui *ui, struct rect r, float radius, struct rgba c)
{
    if (ui_visible(ui, r))
        ui_add_draw(ui, UI_DRAW_ROUND, r, c)->radius = radius;
}

void ui_round(struct ui *ui, struct rect r, float radius, enum ui_colour c)
{
    ui_round_rgba(ui, r, radius, ui_rgba(c));
}

void ui_round_line(struct ui *ui, struct rect r, float radius, float width, enum ui_colour c)
{
    if (ui_visible(ui, r)) {
        struct ui_draw *d = ui_add_draw(ui, UI_DRAW_ROUND_LINE, r, ui_rgba(c));

        d->radius = radius;
        d->width = width;
    }
}

void ui_round_dashed(struct ui *ui, struct rect r, float radius, float width, enum ui_colour c)
{
    if (ui_visible(ui, r)) {
        struct ui_draw *d = ui_add_draw(ui, UI_DRAW_ROUND_LINE, r, ui_rgba(c));

        d->radius = radius;
        d->width = width;
        d->dash = 8;
        d->gap = 5;
    }
}

void ui_disc(struct ui *ui, float x, float y, float radius, struct rgba c)
{
    struct rect r = {x - radius, y - radius, 2 * radius, 2 * radius};

    if (ui_visible(ui, r))
        ui_add_draw(ui, UI_DRAW_DISC, r, c)->radius = radius;
}

void ui_arc(struct ui *ui, float x, float y, float radius, float width, float from_deg, float to_deg,
            struct rgba c)
{
    struct rect r = {x - radius, y - radius, 2 * radius, 2 * radius};

    if (ui_visible(ui, r)) {
        struct ui_draw *d = ui_add_draw(ui, UI_DRAW_RING, r, c);

        d->radius = radius;
        d->width = width;
        d->from_deg = from_deg;
        d->to_deg = to_deg;
    }
}

void ui_ring(struct ui *ui, float x, float y, float radius, float width, struct rgba c)
{
    ui_arc(ui, x, y, radius, width, 0, 0, c);
}

static struct ui_draw *add_line(struct ui *ui, float x0, float y0, float x1, float y1, float width,
                                struct rgba c)
{
    struct ui_draw *d = ui_add_draw(ui, UI_DRAW_LINE, (struct rect){x0, y0, x1 - x0, y1 - y0}, c);

    d->width = width;
    return d;
}

void ui_line(struct ui *ui, float x0, float y0, float x1, float y1, float width, enum ui_colour c)
{
    add_line(ui, x0, y0, x1, y1, width, ui_rgba(c));
}

void ui_line_rgba(struct ui *ui, float x0, float y0, float x1, float y1, float width, struct rgba c)
{
    add_line(ui, x0, y0, x1, y1, width, c);
}

void ui_line_dashed(struct ui *ui, float x0, float y0, float x1, float y1, float width, enum ui_colour c)
{
    struct ui_draw *d = add_line(ui, x0, y0, x1, y1, width, ui_rgba(c));

    d->dash = 4;
    d->gap = 4;
}

void ui_polygon(struct ui *ui, const float *points, int n_points, struct rgba c)
{
    float x0 = points[0], y0 = points[1], x1 = x0, y1 = y0, *copy;
    struct ui_draw *d;

    for (int i = 1; i < n_points; i++) {
        x0 = fminf(x0, points[2 * i]);
        x1 = fmaxf(x1, points[2 * i]);
        y0 = fminf(y0, points[2 * i + 1]);
        y1 = fmaxf(y1, points[2 * i + 1]);
    }
    if (!ui_visible(ui, (struct rect){x0, y0, x1 - x0, y1 - y0}))
        return;
    copy = arena_alloc(ui_arena(ui), (size_t)n_points * 2, sizeof *copy);
    memcpy(copy, points, (size_t)n_points * 2 * sizeof *copy);
    d = ui_add_draw(ui, UI_DRAW_POLYGON, (struct rect){x0, y0, x1 - x0, y1 - y0}, c);
    d->points = copy;
    d->n_points = n_points;
}

void ui_triangle(struct ui *ui, float x, float y, float size, struct rgba c)
{
    float h = size * 0.5f;
    float p[] = {x, y - h, x + h * 1.1f, y + h * 0.85f, x - h * 1.1f, y + h * 0.85f};

    ui_polygon(ui, p, 3, c);
}

void ui_diamond(struct ui *ui, float x, float y, float size, struct rgba c)
{
    float h = size * 0.58f;
    float p[] = {x, y - h, x + h, y, x, y + h, x - h, y};

    ui_polygon(ui, p, 4, c);
}

void ui_select_line(struct ui *ui, struct rect r, float radius, float width)
{
    ui_round_line(ui, (struct rect){r.x - 1.5f, r.y - 1.5f, r.w + 3, r.h + 3}, radius > 0 ? radius + 1.5f : 0, 2, UI_EDGE_LIGHT);
    ui_round_line(ui, r, radius, width, UI_SELECT);
}

void ui_select_ring(struct ui *ui, float x, float y, float radius, float width)
{
    ui_ring(ui, x, y, radius + 1.5f, 2, ui_rgba(UI_EDGE_LIGHT));
    ui_ring(ui, x, y, radius, width, ui_rgba(UI_SELECT));
}

void ui_image(struct ui *ui, struct rect r, uint64_t key, struct rect crop, int turn, bool round)
{
    if (ui_visible(ui, r)) {
        struct ui_draw *d = ui_add_draw(ui, UI_DRAW_IMAGE, r, (struct rgba){255, 255, 255, 255});

        d->key = key;
        d->crop = crop;
        d->turn = turn;
        d->round = round;
        d->share = ui->fade;
    }
}

void ui_fade(struct ui *ui, float share)
{
    assert(share > 0 && share <= 1);
    ui->fade = share;
}

void ui_layer_image(struct ui *ui, struct rect r, uint64_t key, float turn_deg, int layer, float share)
{
    float d = hypotf(r.w, r.h), cx = r.x + r.w / 2, cy = r.y + r.h / 2;

    assert(layer > 0);
    if (share > 0 && ui_visible(ui, (struct rect){cx - d / 2, cy - d / 2, d, d})) {
        struct ui_draw *draw = ui_add_draw(ui, UI_DRAW_IMAGE, r, (struct rgba){255, 255, 255, 255});

        draw->key = key;
        draw->crop = (struct rect){0, 0, 1, 1};
        draw->layer = layer;
        draw->turn_deg = turn_deg;
        draw->share = share;
    }
}

void ui_painting(struct ui *ui, struct rect r, uint64_t key, ui_paint_fn *paint, const void *ctx,
                 size_t n_ctx_bytes)
{
    if (ui_visible(ui, r)) {
        struct ui_draw *d = ui_add_draw(ui, UI_DRAW_PAINTING, r, (struct rgba){255, 255, 255, 255});
        void *copy = arena_alloc(ui_arena(ui), n_ctx_bytes, 1);

        memcpy(copy, ctx, n_ctx_bytes);
        d->key = key;
        d->paint = paint;
        d->ctx = copy;
        d->share = ui->fade;
    }
}

/* FNV-1a, 64 bit. */
uint64_t ui_hash(const void *data, size_t n_bytes, uint64_t seed)
{
    const unsigned char *p = data;
    uint64_t h = seed != 0 ? seed : 14695981039346656037u;

    for (size_t i = 0; i < n_bytes; i++)
        h = (h ^ p[i]) * 1099511628211u;
    return h;
}

/* ---- text ---- */

static int size_of(const struct ui_style *s)
{
    return s->size_px != 0 ? s->size_px : 13;
}

static float width_of(struct ui *ui, const char *s, size_t n, const struct ui_style *style)
{
    return ui->measure.text_width(ui->measure.ctx, s, n, size_of(style), (int)style->weight, style->tabular);
}

float ui_text_width(struct ui *ui, const char *s, const struct ui_style *style)
{
    return width_of(ui, s, strlen(s), style);
}

static float line_height(struct ui *ui, const struct ui_style *style)
{
    return ui->measure.line_height(ui->measure.ctx, size_of(style));
}

static void put_line(struct ui *ui, struct rect r, const char *s, const struct ui_style *style)
{
    struct ui_draw *d;
    float w = ui_text_width(ui, s, style);

    if (style->align == UI_RIGHT)
        r.x += r.w - w;
    else if (style->align == UI_CENTRE)
        r.x += (r.w - w) / 2;
    r.w = w;
    if (s[0] == '\0' || !ui_visible(ui, r))
        return;
    d = ui_add_draw(ui, UI_DRAW_TEXT, r, ui_rgba(style->colour));
    d->text = arena_text(ui_arena(ui), s);
    d->size_px = size_of(style);
    d->weight = (int)style->weight;
    d->tabular = style->tabular;
}

/* The longest beginning of s that fits with an ellipsis behind it. */
static const char *shortened(struct ui *ui, const char *s, float w, const struct ui_style *style)
{
    size_t low = 0, high = strlen(s);
    char *out;

    if (width_of(ui, s, high, style) <= w + 0.5f)
        return s;
    w -= width_of(ui, "\xE2\x80\xA6", 3, style);
    while (low < high) { /* by bisection over whole characters */
        size_t mid = (low + high + 1) / 2;

        while (mid < high && ((unsigned char)s[mid] & 0xC0) == 0x80)
            mid++;
        if (width_of(ui, s, mid, style) <= w)
            low = mid;
        else
            high = mid - 1;
        while (high > low && ((unsigned char)s[high] & 0xC0) == 0x80)
            high--;
    }
    while (low > 0 && s[low - 1] == ' ')
        low--;
    out = arena_alloc(ui_arena(ui), low + 4, 1);
    memcpy(out, s, low);
    memcpy(out + low, "\xE2\x80\xA6", 4);
    return out;
}

size_t ui_fit_line(struct ui *ui, const char *s, float w, const struct ui_style *style)
{
    size_t best = 0, at = 0;

    while (s[at] != '\0' && s[at] != '\n') {
        size_t word = at + strcspn(s + at, " \n");

        if (width_of(ui, s, word, style) > w)
            break;
        best = word;
        at = word;
        while (s[at] == ' ')
            at++;
        if (at == word && s[at] != '\n' && s[at] != '\0')
            break;
    }
    if (best == 0 && s[0] != '\0' && s[0] != '\n') { /* a word wider than the line is broken */
        best = text_next(s, 0);
        while (s[best] != '\0' && s[best] != ' ' && s[best] != '\n' &&
               width_of(ui, s, text_next(s, best), style) <= w)
            best = text_next(s, best);
    }
    return best;
}

bool ui_begins_right(struct ui *ui, const char *paragraph, bool wrapped)
{
    return wrapped && bidi_line(ui_arena(ui), paragraph, strcspn(paragraph, "\n")).rtl;
}

static float lay_out(struct ui *ui, struct rect r, const char *s, const struct ui_style *style, bool draw)
{
    float line = line_height(ui, style), y = r.y;
    int n_lines = 0, max = style->max_lines > 1 ? style->max_lines : 1;
    const char *paragraph = s;

    while (*s != '\0' && n_lines < max) {
        size_t n = ui_fit_line(ui, s, r.w, style);
        const char *rest = s + n, *end = s + strcspn(s, "\n");
        const bool last = n_lines + 1 == max;

        while (*rest == ' ')
            rest++;
        if (*rest == '\n')
            rest++;
        if (draw) {
            const bool cut = last && *rest != '\0';
            struct ui_style here = *style;
            size_t n_mark;
            char *part = bidi_part(ui_arena(ui), paragraph, (size_t)(s - paragraph), cut ? (size_t)(end - s) : n, &n_mark);

            if (here.align == UI_LEFT && ui_begins_right(ui, paragraph, s > paragraph || rest < end))
                here.align = UI_RIGHT;
            put_line(ui, (struct rect){r.x, y, r.w, line}, cut ? shortened(ui, part, r.w, style) : part, &here);
        }
        y += line;
        n_lines++;
        s = rest;
        paragraph = rest > end ? rest : paragraph;
    }
    return (float)n_lines * line;
}

float ui_text(struct ui *ui, struct rect r, const char *s, const struct ui_style *style)
{
    if (style->max_lines <= 1) {
        float line = line_height(ui, style);

        if (!style->top)
            r.y += (r.h - line) / 2;
        r.h = line;
        put_line(ui, r, shortened(ui, s, r.w, style), style);
        return line;
    }
    return lay_out(ui, r, s, style, true);
}

float ui_text_height(struct ui *ui, float width, const char *s, const struct ui_style *style)
{
    return lay_out(ui, (struct rect){0, 0, width, 0}, s, style, false);
}
