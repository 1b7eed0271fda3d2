/* ui_render.c - shapes and texts are made once at their final size in real pixels and in their colour, and kept as
 * textures with alpha; only what is see-through itself is kept white and tinted when drawn, since it may be fading.
 * (SDL's software renderer blends a tinted texture pixel by pixel, four times as slowly as a plain one in the
 * window's own order of channels.) Nothing is ever scaled but large photographs. */
#include "ui/ui_render.h"

#include <SDL.h>
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define STB_IMAGE_WRITE_IMPLEMENTATION
#define STB_IMAGE_WRITE_STATIC
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wconversion"
#pragma GCC diagnostic ignored "-Wsign-conversion"
#pragma GCC diagnostic ignored "-Wunused-function"
#pragma GCC diagnostic ignored "-Wmissing-prototypes"
#include <stb/stb_image_write.h>
#pragma GCC diagnostic pop

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "ui/ui_fonts.h"
#include "ui/ui_line.h"
#include "ui/ui_pictures.h"
#include "ui/ui_raster.h"

#define SLOTS 4096           /* of textures; a power of two */
#define WIDTH_SETS 4096      /* of WIDTH_WAYS each; a power of two */
#define WIDTH_WAYS 4
#define KEEP_FRAMES 600      /* a texture not drawn for so long is dropped */


struct slot {
    uint64_t key; /* 0: free */
    SDL_Texture *texture;
    int w, h;
    uint64_t used; /* frame */
};

struct width_slot {
    uint64_t key;
    float width;
};

struct ui_render {
    SDL_Renderer *renderer;
    float scale;
    struct fonts *fonts;
    struct arena *work; /* of the line being laid */
    struct slot slots[SLOTS];
    int n_slots;
    struct pictures *pictures;
    struct width_slot widths[WIDTH_SETS][WIDTH_WAYS]; /* of a set the last asked for first */
    uint64_t frame;
};

/* ---- life ---- */

struct ui_render *ui_render_create(struct SDL_Renderer *renderer, float scale, struct err *e)
{
    struct ui_render *rd = mem_alloc(1, sizeof *rd);

    rd->fonts = fonts_create(e);
    if (rd->fonts == NULL) {
        free(rd);
        return NULL;
    }
    rd->work = arena_create();
    rd->renderer = renderer;
    rd->scale = scale;
    rd->pictures = pictures_create(renderer);
    return rd;
}

static void drop_slots(struct ui_render *rd)
{
    for (int i = 0; i < SLOTS; i++)
        if (rd->slots[i].key != 0)
            SDL_DestroyTexture(rd->slots[i].texture);
    memset(rd->slots, 0, sizeof rd->slots);
    rd->n_slots = 0;
}

void ui_render_drop_textures(struct ui_render *rd)
{
    drop_slots(rd);
    pictures_drop_textures(rd->pictures);
}

void ui_render_destroy(struct ui_render *rd)
{
    if (rd == NULL)
        return;
    ui_render_drop_textures(rd);
    pictures_destroy(rd->pictures);
    fonts_destroy(rd->fonts);
    arena_destroy(rd->work);
    free(rd);
}

void ui_render_set_scale(struct ui_render *rd, float scale)
{
    if (fabsf(scale - rd->scale) < 1e-4f)
        return;
    rd->scale = scale;
    drop_slots(rd);
    memset(rd->widths, 0, sizeof rd->widths);
}

/* ---- textures by key ---- */

static struct slot *find_slot(struct ui_render *rd, uint64_t key)
{
    for (size_t i = key & (SLOTS - 1);; i = (i + 1) & (SLOTS - 1)) {
        if (rd->slots[i].key == key) {
            rd->slots[i].used = rd->frame;
            return &rd->slots[i];
        }
        if (rd->slots[i].key == 0)
            return NULL;
    }
}

/* Throws out what was not drawn lately; the table is built anew, since its chains would break. */
static void sweep(struct ui_render *rd, uint64_t keep_frames)
{
    struct slot *old = mem_alloc(SLOTS, sizeof *old);

    memcpy(old, rd->slots, sizeof rd->slots);
    memset(rd->slots, 0, sizeof rd->slots);
    rd->n_slots = 0;
    for (int i = 0; i < SLOTS; i++) {
        if (old[i].key == 0)
            continue;
        if (rd->frame - old[i].used > keep_frames) {
            SDL_DestroyTexture(old[i].texture);
            continue;
        }
        size_t at = old[i].key & (SLOTS - 1);

        while (rd->slots[at].key != 0)
            at = (at + 1) & (SLOTS - 1);
        rd->slots[at] = old[i];
        rd->n_slots++;
    }
    free(old);
}

static struct slot *add_slot(struct ui_render *rd, uint64_t key, SDL_Texture *texture, int w, int h)
{
    size_t at;

    if (rd->n_slots > SLOTS * 3 / 4)
        sweep(rd, 60);
    if (rd->n_slots > SLOTS * 3 / 4)
        sweep(rd, 0);
    at = key & (SLOTS - 1);
    while (rd->slots[at].key != 0)
        at = (at + 1) & (SLOTS - 1);
    rd->slots[at] = (struct slot){key, texture, w, h, rd->frame};
    rd->n_slots++;
    return &rd->slots[at];
}

/* Takes the pixels over, in the order of channels a window has: as numbers or as bytes. */
static struct slot *add_pixels(struct ui_render *rd, uint64_t key, void *px, Uint32 format, int w, int h, bool alpha)
{
    SDL_Texture *t = SDL_CreateTexture(rd->renderer, format, SDL_TEXTUREACCESS_STATIC, w, h);

    if (t != NULL) {
        SDL_UpdateTexture(t, NULL, px, w * 4);
        SDL_SetTextureBlendMode(t, alpha ? SDL_BLENDMODE_BLEND : SDL_BLENDMODE_NONE);
    }
    free(px);
    return t != NULL ? add_slot(rd, key, t, w, h) : NULL;
}

static bool is_solid(struct rgba c)
{
    return c.a == 255;
}

/* The key of a mask as it is kept for this colour. */
static uint64_t key_in(uint64_t key, struct rgba c)
{
    const uint8_t kept[4] = {1, c.r, c.g, c.b};

    return is_solid(c) ? ui_hash(kept, sizeof kept, key) : key;
}

/* The colour a mask is kept in, without its alpha. */
static uint32_t kept_colour(struct rgba c)
{
    return is_solid(c) ? (uint32_t)c.r << 16 | (uint32_t)c.g << 8 | c.b : 0x00FFFFFFu;
}

/* Takes the mask over. */
static struct slot *add_mask(struct ui_render *rd, uint64_t key, uint8_t *alpha, int w, int h, struct rgba colour)
{
    uint32_t *px = mem_alloc((size_t)w * (size_t)h, sizeof *px);

    for (int i = 0; i < w * h; i++)
        px[i] = kept_colour(colour) | (uint32_t)alpha[i] << 24;
    free(alpha);
    return add_pixels(rd, key, px, SDL_PIXELFORMAT_ARGB8888, w, h, true);
}

/* Takes the pixels over. */
static struct slot *add_rgba(struct ui_render *rd, uint64_t key, uint8_t *rgba, int w, int h)
{
    uint32_t *px = mem_alloc((size_t)w * (size_t)h, sizeof *px);

    for (size_t i = 0; i < (size_t)w * (size_t)h; i++)
        px[i] = (uint32_t)rgba[4 * i + 3] << 24 | (uint32_t)rgba[4 * i] << 16 | (uint32_t)rgba[4 * i + 1] << 8 | rgba[4 * i + 2];
    free(rgba);
    return add_pixels(rd, key, px, SDL_PIXELFORMAT_ARGB8888, w, h, true);
}

static uint64_t key_of(const void *data, size_t n_bytes, uint64_t kind)
{
    uint64_t key = ui_hash(data, n_bytes, kind * 0x9E3779B97F4A7C15u | 1);

    return key != 0 ? key : 1;
}

/* ---- small helps ---- */

static int px(const struct ui_render *rd, float v)
{
    return (int)lrintf(v * rd->scale);
}

/* Edges are rounded, not sizes: neighbours stay flush. */
static SDL_Rect px_rect(const struct ui_render *rd, struct rect r)
{
    int x0 = px(rd, r.x), y0 = px(rd, r.y), x1 = px(rd, r.x + r.w), y1 = px(rd, r.y + r.h);

    return (SDL_Rect){x0, y0, x1 - x0, y1 - y0};
}

/* Of a mask kept for this colour. */
static void tint(SDL_Texture *t, struct rgba c)
{
    if (is_solid(c))
        return;
    SDL_SetTextureColorMod(t, c.r, c.g, c.b);
    SDL_SetTextureAlphaMod(t, c.a);
}

static void fill(struct ui_render *rd, SDL_Rect r, struct rgba c)
{
    if (r.w <= 0 || r.h <= 0)
        return;
    SDL_SetRenderDrawBlendMode(rd->renderer, c.a == 255 ? SDL_BLENDMODE_NONE : SDL_BLENDMODE_BLEND);
    SDL_SetRenderDrawColor(rd->renderer, c.r, c.g, c.b, c.a);
    SDL_RenderFillRect(rd->renderer, &r);
}

static void copy(struct ui_render *rd, const struct slot *s, SDL_Rect from, int x, int y)
{
    SDL_Rect to = {x, y, from.w, from.h};

    SDL_RenderCopy(rd->renderer, s->texture, &from, &to);
}

/* Of a picture; `solid`: it has no see-through parts of its own. */
static void copy_share(struct ui_render *rd, const struct slot *s, SDL_Rect from, int x, int y, float share, bool solid)
{
    if (share >= 1) {
        copy(rd, s, from, x, y);
        return;
    }
    SDL_SetTextureAlphaMod(s->texture, (uint8_t)lrintf(share * 255));
    SDL_SetTextureBlendMode(s->texture, SDL_BLENDMODE_BLEND);
    copy(rd, s, from, x, y);
    SDL_SetTextureAlphaMod(s->texture, 255);
    if (solid)
        SDL_SetTextureBlendMode(s->texture, SDL_BLENDMODE_NONE);
}

/* ---- shapes ---- */

/* The quarters of a mask of twice the corner's size, each into its corner. */
static void draw_corners(struct ui_render *rd, const struct slot *s, SDL_Rect r, int corner, struct rgba colour)
{
    tint(s->texture, colour);
    copy(rd, s, (SDL_Rect){0, 0, corner, corner}, r.x, r.y);
    copy(rd, s, (SDL_Rect){corner, 0, corner, corner}, r.x + r.w - corner, r.y);
    copy(rd, s, (SDL_Rect){0, corner, corner, corner}, r.x, r.y + r.h - corner);
    copy(rd, s, (SDL_Rect){corner, corner, corner, corner}, r.x + r.w - corner, r.y + r.h - corner);
}

static void draw_round(struct ui_render *rd, const struct ui_draw *d)
{
    SDL_Rect r = px_rect(rd, d->r);
    int corner = px(rd, d->radius), most = (r.w < r.h ? r.w : r.h) / 2;

    if (r.w <= 0 || r.h <= 0)
        return;
    if (corner > most)
        corner = most;
    if (corner < 1) {
        fill(rd, r, d->colour);
        return;
    }
    /* Four corners from one small mask, the rest is fills. */
    int n = 2 * corner;
    uint64_t key = key_in(key_of(&n, sizeof n, 1), d->colour);
    struct slot *s = find_slot(rd, key);

    if (s == NULL) {
        uint8_t *mask = mem_alloc((size_t)n * (size_t)n, 1);

        raster_round(mask, n, n, (float)corner);
        s = add_mask(rd, key, mask, n, n, d->colour);
        if (s == NULL)
            return;
    }
    draw_corners(rd, s, r, corner, d->colour);
    fill(rd, (SDL_Rect){r.x + corner, r.y, r.w - 2 * corner, corner}, d->colour);
    fill(rd, (SDL_Rect){r.x, r.y + corner, r.w, r.h - 2 * corner}, d->colour);
    fill(rd, (SDL_Rect){r.x + corner, r.y + r.h - corner, r.w - 2 * corner, corner}, d->colour);
}

static void draw_round_line(struct ui_render *rd, const struct ui_draw *d)
{
    SDL_Rect r = px_rect(rd, d->r);
    int corner = px(rd, d->radius), width = px(rd, d->width), most = (r.w < r.h ? r.w : r.h) / 2;

    if (r.w <= 0 || r.h <= 0)
        return;
    if (width < 1)
        width = 1;
    if (corner > most)
        corner = most;
    if (d->dash > 0) { /* dashes run around: one mask of the whole */
        struct {
            int w, h, corner, width;
            float dash, gap;
        } what = {r.w, r.h, corner, width, d->dash * rd->scale, d->gap * rd->scale};
        uint64_t key = key_in(key_of(&what, sizeof what, 2), d->colour);
        struct slot *s = find_slot(rd, key);

        if (s == NULL) {
            uint8_t *mask = mem_alloc((size_t)r.w * (size_t)r.h, 1);

            raster_round_line(mask, r.w, r.h, (float)corner, (float)width, what.dash, what.gap);
            s = add_mask(rd, key, mask, r.w, r.h, d->colour);
        }
        if (s == NULL)
            return;
        tint(s->texture, d->colour);
        /* only the four edges: the middle is empty and a blend of nothing still costs */
        int edge = (corner > width ? corner : width) + 2;

        if (2 * edge >= r.w || 2 * edge >= r.h) {
            copy(rd, s, (SDL_Rect){0, 0, r.w, r.h}, r.x, r.y);
            return;
        }
        copy(rd, s, (SDL_Rect){0, 0, r.w, edge}, r.x, r.y);
        copy(rd, s, (SDL_Rect){0, r.h - edge, r.w, edge}, r.x, r.y + r.h - edge);
        copy(rd, s, (SDL_Rect){0, edge, edge, r.h - 2 * edge}, r.x, r.y + edge);
        copy(rd, s, (SDL_Rect){r.w - edge, edge, edge, r.h - 2 * edge}, r.x + r.w - edge, r.y + edge);
        return;
    }
    if (corner < 1) {
        fill(rd, (SDL_Rect){r.x, r.y, r.w, width}, d->colour);
        fill(rd, (SDL_Rect){r.x, r.y + r.h - width, r.w, width}, d->colour);
        fill(rd, (SDL_Rect){r.x, r.y + width, width, r.h - 2 * width}, d->colour);
        fill(rd, (SDL_Rect){r.x + r.w - width, r.y + width, width, r.h - 2 * width}, d->colour);
        return;
    }
    int what[2] = {corner, width}, n = 2 * corner;
    uint64_t key = key_in(key_of(what, sizeof what, 3), d->colour);
    struct slot *s = find_slot(rd, key);

    if (s == NULL) {
        uint8_t *mask = mem_alloc((size_t)n * (size_t)n, 1);

        raster_round_line(mask, n, n, (float)corner, (float)width, 0, 0);
        s = add_mask(rd, key, mask, n, n, d->colour);
        if (s == NULL)
            return;
    }
    draw_corners(rd, s, r, corner, d->colour);
    fill(rd, (SDL_Rect){r.x + corner, r.y, r.w - 2 * corner, width}, d->colour);
    fill(rd, (SDL_Rect){r.x + corner, r.y + r.h - width, r.w - 2 * corner, width}, d->colour);
    fill(rd, (SDL_Rect){r.x, r.y + corner, width, r.h - 2 * corner}, d->colour);
    fill(rd, (SDL_Rect){r.x + r.w - width, r.y + corner, width, r.h - 2 * corner}, d->colour);
}

static void draw_ring(struct ui_render *rd, const struct ui_draw *d)
{
    struct {
        float r, width, from, to;
    } what = {d->radius * rd->scale, d->width * rd->scale, d->from_deg, d->to_deg};
    int n;
    uint64_t key;
    struct slot *s;

    if (d->type == UI_DRAW_DISC)
        what.width = what.r + 1, what.from = what.to = 0;
    n = (int)ceilf(2 * what.r) + 2;
    key = key_in(key_of(&what, sizeof what, 4), d->colour);
    s = find_slot(rd, key);
    if (s == NULL) {
        uint8_t *mask = mem_alloc((size_t)n * (size_t)n, 1);

        raster_ring(mask, n, n, what.r, what.width, what.from, what.to);
        s = add_mask(rd, key, mask, n, n, d->colour);
        if (s == NULL)
            return;
    }
    tint(s->texture, d->colour);
    copy(rd, s, (SDL_Rect){0, 0, n, n}, (int)lrintf((d->r.x + d->r.w / 2) * rd->scale - (float)n / 2),
         (int)lrintf((d->r.y + d->r.h / 2) * rd->scale - (float)n / 2));
}

static void draw_line(struct ui_render *rd, const struct ui_draw *d)
{
    float x0 = d->r.x * rd->scale, y0 = d->r.y * rd->scale;
    float x1 = (d->r.x + d->r.w) * rd->scale, y1 = (d->r.y + d->r.h) * rd->scale;
    float width = d->width * rd->scale;
    int left = (int)floorf(fminf(x0, x1) - width) - 1, top = (int)floorf(fminf(y0, y1) - width) - 1;
    int w = (int)ceilf(fmaxf(x0, x1) + width) + 1 - left, h = (int)ceilf(fmaxf(y0, y1) + width) + 1 - top;
    struct {
        float x0, y0, x1, y1, width, dash, gap;
    } what;
    uint64_t key;
    struct slot *s;

    if (d->dash <= 0 && (fabsf(x1 - x0) < 0.5f || fabsf(y1 - y0) < 0.5f)) {
        int thick = (int)lrintf(width) > 1 ? (int)lrintf(width) : 1;
        SDL_Rect r = {(int)lrintf(fminf(x0, x1)), (int)lrintf(fminf(y0, y1)), (int)lrintf(fabsf(x1 - x0)),
                      (int)lrintf(fabsf(y1 - y0))};

        if (r.w < thick) {
            r.x -= thick / 2;
            r.w = thick;
        }
        if (r.h < thick) {
            r.y -= thick / 2;
            r.h = thick;
        }
        fill(rd, r, d->colour);
        return;
    }
    if (w <= 0 || h <= 0 || w > 8192 || h > 8192)
        return;
    what.x0 = x0 - (float)left;
    what.y0 = y0 - (float)top;
    what.x1 = x1 - (float)left;
    what.y1 = y1 - (float)top;
    what.width = width;
    what.dash = d->dash * rd->scale;
    what.gap = d->gap * rd->scale;
    key = key_in(key_of(&what, sizeof what, 5), d->colour);
    s = find_slot(rd, key);
    if (s == NULL) {
        uint8_t *mask = mem_alloc((size_t)w * (size_t)h, 1);

        raster_line(mask, w, h, what.x0, what.y0, what.x1, what.y1, width, what.dash, what.gap);
        s = add_mask(rd, key, mask, w, h, d->colour);
        if (s == NULL)
            return;
    }
    tint(s->texture, d->colour);
    copy(rd, s, (SDL_Rect){0, 0, w, h}, left, top);
}

static void draw_polygon(struct ui_render *rd, const struct ui_draw *d)
{
    int left = (int)floorf(d->r.x * rd->scale), top = (int)floorf(d->r.y * rd->scale);
    int w = (int)ceilf((d->r.x + d->r.w) * rd->scale) - left + 1;
    int h = (int)ceilf((d->r.y + d->r.h) * rd->scale) - top + 1;
    float *p;
    uint64_t key;
    struct slot *s;

    if (w <= 0 || h <= 0 || w > 8192 || h > 8192)
        return;
    p = mem_alloc((size_t)d->n_points * 2, sizeof *p);
    for (int i = 0; i < d->n_points; i++) {
        /* a sixteenth of a pixel is enough, and keeps a moving mark's masks few */
        p[2 * i] = roundf((d->points[2 * i] * rd->scale - (float)left) * 16) / 16;
        p[2 * i + 1] = roundf((d->points[2 * i + 1] * rd->scale - (float)top) * 16) / 16;
    }
    key = key_in(key_of(p, (size_t)d->n_points * 2 * sizeof *p, 6), d->colour);
    s = find_slot(rd, key);
    if (s == NULL) {
        uint8_t *mask = mem_alloc((size_t)w * (size_t)h, 1);

        raster_polygon(mask, w, h, p, d->n_points);
        s = add_mask(rd, key, mask, w, h, d->colour);
    }
    free(p);
    if (s == NULL)
        return;
    tint(s->texture, d->colour);
    copy(rd, s, (SDL_Rect){0, 0, s->w, s->h}, left, top);
}

/* ---- text ---- */

static int font_px(const struct ui_render *rd, int size_px)
{
    int n = (int)lrintf((float)size_px * rd->scale);

    return n > 5 ? n : 5;
}

static float measure_width(void *ctx, const char *s, size_t n_bytes, int size_px, int weight, bool tabular)
{
    struct ui_render *rd = ctx;
    int what[3] = {size_px, weight, tabular};
    uint64_t key = ui_hash(s, n_bytes, key_of(what, sizeof what, 8));
    struct width_slot *set = rd->widths[key & (WIDTH_SETS - 1)], found = {0};
    int size = font_px(rd, size_px), way = 0;
    char small[256], *copy_of = small;

    if (n_bytes == 0)
        return 0;
    for (; way < WIDTH_WAYS - 1 && set[way].key != key; way++)
        ;
    if (set[way].key == key) {
        found = set[way];
    } else {
        if (n_bytes >= sizeof small)
            copy_of = mem_alloc(n_bytes + 1, 1);
        memcpy(copy_of, s, n_bytes);
        copy_of[n_bytes] = '\0';
        found = (struct width_slot){key, (float)line_width(rd->fonts, rd->work, copy_of, size, weight, tabular) / rd->scale};
        arena_reset(rd->work);
        if (copy_of != small)
            free(copy_of);
    }
    memmove(set + 1, set, (size_t)way * sizeof *set);
    set[0] = found;
    return found.width;
}

static float measure_line(void *ctx, int size_px)
{
    (void)ctx;
    return roundf((float)size_px * 1.38f);
}

struct ui_measure ui_render_measure(struct ui_render *rd)
{
    return (struct ui_measure){measure_width, measure_line, rd};
}

static struct slot *text_slot(struct ui_render *rd, const struct ui_draw *d)
{
    int size = font_px(rd, d->size_px), what[3] = {size, d->weight, d->tabular};
    uint64_t key = key_in(ui_hash(d->text, strlen(d->text), key_of(what, sizeof what, 7)), d->colour);
    struct slot *s;
    SDL_Surface *surface;
    uint8_t *mask;

    if (key == 0)
        key = 1;
    s = find_slot(rd, key);
    if (s != NULL)
        return s;
    surface = line_surface(rd->fonts, rd->work, d->text, size, d->weight, d->tabular);
    arena_reset(rd->work);
    if (surface == NULL)
        return NULL;
    assert(surface->format->BytesPerPixel == 4 && surface->format->Amask == 0xFF000000u); /* as the font library makes them */
    mask = mem_alloc((size_t)surface->w * (size_t)surface->h, 1);
    for (int y = 0; y < surface->h; y++)
        for (int x = 0; x < surface->w; x++)
            mask[y * surface->w + x] = (uint8_t)(((const uint32_t *)(const void *)((const uint8_t *)surface->pixels + y * surface->pitch))[x] >> 24);
    s = add_mask(rd, key, mask, surface->w, surface->h, d->colour);
    SDL_FreeSurface(surface);
    return s;
}

static void draw_text(struct ui_render *rd, const struct ui_draw *d)
{
    struct slot *s = text_slot(rd, d);

    if (s == NULL)
        return;
    tint(s->texture, d->colour);
    copy(rd, s, (SDL_Rect){0, 0, s->w, s->h}, px(rd, d->r.x),
         (int)lrintf((d->r.y + d->r.h / 2) * rd->scale - (float)s->h / 2));
}

/* ---- pictures ---- */

bool ui_render_put_image(struct ui_render *rd, uint64_t key, const uint8_t *rgba, int w, int h)
{
    return pictures_put(rd->pictures, key, rgba, w, h);
}

bool ui_render_has_image(const struct ui_render *rd, uint64_t key)
{
    return pictures_have(rd->pictures, key);
}

void ui_render_drop_image(struct ui_render *rd, uint64_t key)
{
    pictures_drop(rd->pictures, key);
}

/* Takes b out of the n rectangles at r, which then are at most n_room; false when they would be more. */
static bool take_out(SDL_Rect *r, int *n, int n_room, const SDL_Rect *b)
{
    for (int i = *n - 1; i >= 0; i--) {
        const SDL_Rect a = r[i];
        SDL_Rect in;

        if (!SDL_IntersectRect(&a, b, &in))
            continue;
        const SDL_Rect left[4] = {{a.x, a.y, a.w, in.y - a.y}, {a.x, in.y + in.h, a.w, a.y + a.h - in.y - in.h},
                                  {a.x, in.y, in.x - a.x, in.h}, {in.x + in.w, in.y, a.x + a.w - in.x - in.w, in.h}};

        r[i] = r[--*n];
        for (int k = 0; k < 4; k++) {
            if (SDL_RectEmpty(&left[k]))
                continue;
            if (*n == n_room)
                return false;
            r[(*n)++] = left[k];
        }
    }
    return true;
}

/* Whether the pictures drawn right after this one, at most n, hide all that would be seen of it at r: the preview of a
 * photo, once its tiles are there. */
static bool is_hidden(struct ui_render *rd, SDL_Rect r, const struct ui_draw *next, size_t n)
{
    enum { ROOM = 32 };
    SDL_Rect left[ROOM], clip;
    int n_left = 1;

    SDL_RenderGetClipRect(rd->renderer, &clip);
    if (SDL_RectEmpty(&clip) || !SDL_IntersectRect(&r, &clip, &left[0]))
        return false;
    for (size_t i = 0; i < n && next[i].type == UI_DRAW_IMAGE && next[i].layer == 0 && n_left > 0; i++) {
        const SDL_Rect over = px_rect(rd, next[i].r);

        if (!next[i].round && next[i].share >= 1 && next[i].crop.w > 0 && pictures_have(rd->pictures, next[i].key) && !take_out(left, &n_left, ROOM, &over))
            return false;
    }
    return n_left == 0;
}

/* The first of the n that are left. */
static void draw_image(struct ui_render *rd, const struct ui_draw *given, size_t n)
{
    struct picture *p = pictures_use(rd->pictures, given->key);
    SDL_Rect r = px_rect(rd, given->r);
    struct ui_draw whole = *given;
    const struct ui_draw *d = &whole;

    if (p == NULL || r.w <= 0 || r.h <= 0)
        return;
    if (!(whole.crop.w > 0)) { /* no part named: all of it, in proportion, in the middle */
        float k = fminf((float)r.w / (float)p->w, (float)r.h / (float)p->h);
        int w = (int)lrintf((float)p->w * k), h = (int)lrintf((float)p->h * k);

        whole.crop = (struct rect){0, 0, 1, 1};
        r = (SDL_Rect){r.x + (r.w - w) / 2, r.y + (r.h - h) / 2, w > 0 ? w : 1, h > 0 ? h : 1};
    }
    /* A large part of a photograph that is made smaller by no more than half is as good so, and quicker
     * while it moves. */
    bool slightly = picture_is_large(p->w, p->h) && r.w * 2 >= (d->turn % 2 ? p->h : p->w) && r.h * 2 >= (d->turn % 2 ? p->w : p->h);

    if (!d->round && d->share >= 1 && (slightly || r.w > PICTURE_DIRECT_PX * (int)ceilf(rd->scale) || r.h > PICTURE_DIRECT_PX * (int)ceilf(rd->scale))) {
        if (!is_hidden(rd, r, given + 1, n - 1))
            picture_draw_direct(rd->pictures, p, d->crop, d->turn, r);
        return;
    }
    struct {
        uint64_t key;
        struct rect crop;
        int w, h, turn, round;
        const uint8_t *pixels; /* a replaced picture gets a mask of its own */
    } what;

    memset(&what, 0, sizeof what);
    what.key = d->key;
    what.crop = d->crop;
    what.w = r.w;
    what.h = r.h;
    what.turn = d->turn;
    what.round = d->round;
    what.pixels = p->bgra;
    uint64_t key = key_of(&what, sizeof what, 9);
    struct slot *s = find_slot(rd, key);

    if (s == NULL) {
        uint8_t *small = mem_alloc((size_t)r.w * (size_t)r.h, 4);

        picture_shrink(p, d->crop, d->turn, d->round, small, r.w, r.h);
        s = add_pixels(rd, key, small, SDL_PIXELFORMAT_BGRA32, r.w, r.h, d->round);
        if (s == NULL)
            return;
    }
    copy_share(rd, s, (SDL_Rect){0, 0, r.w, r.h}, r.x, r.y, d->share, !d->round);
}

static void draw_painting(struct ui_render *rd, const struct ui_draw *d)
{
    SDL_Rect r = px_rect(rd, d->r);
    struct {
        uint64_t key;
        int w, h;
    } what = {d->key, r.w, r.h};
    uint64_t key = key_of(&what, sizeof what, 10);
    struct slot *s;

    if (r.w <= 0 || r.h <= 0 || r.w > 8192 || r.h > 8192)
        return;
    s = find_slot(rd, key);
    if (s == NULL) {
        uint8_t *rgba = mem_alloc((size_t)r.w * (size_t)r.h, 4);

        d->paint(rgba, r.w, r.h, d->ctx);
        s = add_rgba(rd, key, rgba, r.w, r.h);
        if (s == NULL)
            return;
    }
    copy_share(rd, s, (SDL_Rect){0, 0, r.w, r.h}, r.x, r.y, d->share, false);
}

/* ---- the frame ---- */

void ui_render_frame(struct ui_render *rd, const struct ui *ui)
{
    size_t n;
    const struct ui_draw *draws = ui_draws(ui, &n);

    rd->frame++;
    if (rd->frame % KEEP_FRAMES == 0)
        sweep(rd, KEEP_FRAMES);
    pictures_begin_frame(rd->pictures, rd->frame);
    SDL_RenderSetClipRect(rd->renderer, NULL);
    for (size_t i = 0; i < n; i++) {
        const struct ui_draw *d = &draws[i];

        switch (d->type) {
        case UI_DRAW_FILL: fill(rd, px_rect(rd, d->r), d->colour); break;
        case UI_DRAW_ROUND: draw_round(rd, d); break;
        case UI_DRAW_ROUND_LINE: draw_round_line(rd, d); break;
        case UI_DRAW_DISC: /* a ring without a hole */
        case UI_DRAW_RING: draw_ring(rd, d); break;
        case UI_DRAW_LINE: draw_line(rd, d); break;
        case UI_DRAW_POLYGON: draw_polygon(rd, d); break;
        case UI_DRAW_TEXT: draw_text(rd, d); break;
        case UI_DRAW_IMAGE:
            if (d->layer > 0)
                i += pictures_draw_layers(rd->pictures, d, n - i, rd->scale) - 1;
            else
                draw_image(rd, d, n - i);
            break;
        case UI_DRAW_PAINTING: draw_painting(rd, d); break;
        case UI_DRAW_CLIP: {
            SDL_Rect r = px_rect(rd, d->r);

            SDL_RenderSetClipRect(rd->renderer, &r);
            break;
        }
        }
    }
    SDL_RenderSetClipRect(rd->renderer, NULL);
}

bool ui_render_save_png(struct ui_render *rd, const char *path, struct err *e)
{
    int w = 0, h = 0;
    uint8_t *rgb;
    bool fine;

    SDL_GetRendererOutputSize(rd->renderer, &w, &h);
    rgb = mem_try((size_t)w * (size_t)h, 3);
    if (rgb == NULL)
        return err_set(e, ERR_LIMIT, "There is not enough memory for a picture of %d × %d.", w, h);
    if (SDL_RenderReadPixels(rd->renderer, NULL, SDL_PIXELFORMAT_RGB24, rgb, w * 3) != 0) {
        free(rgb);
        return err_set(e, ERR_IO, "The window's picture cannot be read back: %s", SDL_GetError());
    }
    fine = stbi_write_png(path, w, h, 3, rgb, w * 3) != 0;
    free(rgb);
    if (!fine)
        return err_set_errno(e, ERR_IO, "Cannot write %s", path);
    return true;
}
