/* ui_render.c - shapes and texts are made once at their final size in real pixels, kept as white
 * textures with alpha, and tinted when drawn. Nothing is ever scaled but large photographs. */
#include "ui/ui_render.h"

#include <SDL.h>
#include <SDL_ttf.h>
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
#include "ui/ui_layer.h"
#include "ui/ui_raster.h"

#define SLOTS 4096           /* of each table; a power of two */
#define KEEP_FRAMES 600      /* a texture not drawn for so long is dropped */
/* Kept of small pictures (hundreds of thumbnails) and of large ones (a screen of tiles and some photos). */
static const size_t kept_bytes[2] = {(size_t)192 << 20, (size_t)32 << 20};
#define DIRECT_PX 420        /* photographs drawn larger than this are scaled by the renderer */

struct slot {
    uint64_t key; /* 0: free */
    SDL_Texture *texture;
    int w, h;
    uint64_t used; /* frame */
};

struct picture {
    uint64_t key;
    uint8_t *rgba;
    int w, h;
    SDL_Texture *texture; /* made when drawn directly, */
    int turn;             /* turned so many quarters clockwise */
    uint64_t used;
};

struct width_slot {
    uint64_t key;
    float width;
};

struct ui_render {
    SDL_Renderer *renderer;
    float scale;
    struct fonts *fonts;
    struct slot slots[SLOTS];
    int n_slots;
    SDL_Texture *layer; /* pictures put together, for one call after the other; grows */
    int layer_w, layer_h;
    struct picture *pictures;
    size_t n_pictures, pictures_room;
    size_t n_bytes[2]; /* of small and large ones */
    struct width_slot widths[SLOTS];
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
    rd->renderer = renderer;
    rd->scale = scale;
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
    if (rd->layer != NULL)
        SDL_DestroyTexture(rd->layer);
    rd->layer = NULL;
    rd->layer_w = rd->layer_h = 0;
    for (size_t i = 0; i < rd->n_pictures; i++) {
        if (rd->pictures[i].texture != NULL)
            SDL_DestroyTexture(rd->pictures[i].texture);
        rd->pictures[i].texture = NULL;
    }
}

void ui_render_destroy(struct ui_render *rd)
{
    if (rd == NULL)
        return;
    ui_render_drop_textures(rd);
    for (size_t i = 0; i < rd->n_pictures; i++)
        free(rd->pictures[i].rgba);
    free(rd->pictures);
    fonts_destroy(rd->fonts);
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

static SDL_Texture *texture_from_rgba(struct ui_render *rd, const void *rgba, int w, int h, bool alpha)
{
    SDL_Texture *t = SDL_CreateTexture(rd->renderer, SDL_PIXELFORMAT_ABGR8888, SDL_TEXTUREACCESS_STATIC, w, h);

    if (t == NULL)
        return NULL;
    SDL_UpdateTexture(t, NULL, rgba, w * 4);
    SDL_SetTextureBlendMode(t, alpha ? SDL_BLENDMODE_BLEND : SDL_BLENDMODE_NONE);
    return t;
}

/* Takes the mask over. */
static struct slot *add_mask(struct ui_render *rd, uint64_t key, uint8_t *alpha, int w, int h)
{
    uint32_t *px = mem_alloc((size_t)w * (size_t)h, sizeof *px);
    SDL_Texture *t = SDL_CreateTexture(rd->renderer, SDL_PIXELFORMAT_ARGB8888, SDL_TEXTUREACCESS_STATIC, w, h);

    for (int i = 0; i < w * h; i++)
        px[i] = 0x00FFFFFFu | (uint32_t)alpha[i] << 24;
    if (t != NULL) {
        SDL_UpdateTexture(t, NULL, px, w * 4);
        SDL_SetTextureBlendMode(t, SDL_BLENDMODE_BLEND);
    }
    free(px);
    free(alpha);
    return t != NULL ? add_slot(rd, key, t, w, h) : NULL;
}

/* Takes the pixels over. */
static struct slot *add_rgba(struct ui_render *rd, uint64_t key, uint8_t *rgba, int w, int h, bool alpha)
{
    SDL_Texture *t = texture_from_rgba(rd, rgba, w, h, alpha);

    free(rgba);
    return t != NULL ? add_slot(rd, key, t, w, h) : NULL;
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

static void tint(SDL_Texture *t, struct rgba c)
{
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
    uint64_t key = key_of(&n, sizeof n, 1);
    struct slot *s = find_slot(rd, key);

    if (s == NULL) {
        uint8_t *mask = mem_alloc((size_t)n * (size_t)n, 1);

        raster_round(mask, n, n, (float)corner);
        s = add_mask(rd, key, mask, n, n);
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
        uint64_t key = key_of(&what, sizeof what, 2);
        struct slot *s = find_slot(rd, key);

        if (s == NULL) {
            uint8_t *mask = mem_alloc((size_t)r.w * (size_t)r.h, 1);

            raster_round_line(mask, r.w, r.h, (float)corner, (float)width, what.dash, what.gap);
            s = add_mask(rd, key, mask, r.w, r.h);
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
    uint64_t key = key_of(what, sizeof what, 3);
    struct slot *s = find_slot(rd, key);

    if (s == NULL) {
        uint8_t *mask = mem_alloc((size_t)n * (size_t)n, 1);

        raster_round_line(mask, n, n, (float)corner, (float)width, 0, 0);
        s = add_mask(rd, key, mask, n, n);
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
    key = key_of(&what, sizeof what, 4);
    s = find_slot(rd, key);
    if (s == NULL) {
        uint8_t *mask = mem_alloc((size_t)n * (size_t)n, 1);

        raster_ring(mask, n, n, what.r, what.width, what.from, what.to);
        s = add_mask(rd, key, mask, n, n);
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
    key = key_of(&what, sizeof what, 5);
    s = find_slot(rd, key);
    if (s == NULL) {
        uint8_t *mask = mem_alloc((size_t)w * (size_t)h, 1);

        raster_line(mask, w, h, what.x0, what.y0, what.x1, what.y1, width, what.dash, what.gap);
        s = add_mask(rd, key, mask, w, h);
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
    key = key_of(p, (size_t)d->n_points * 2 * sizeof *p, 6);
    s = find_slot(rd, key);
    if (s == NULL) {
        uint8_t *mask = mem_alloc((size_t)w * (size_t)h, 1);

        raster_polygon(mask, w, h, p, d->n_points);
        s = add_mask(rd, key, mask, w, h);
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

static bool is_digit(const char *s)
{
    return *s >= '0' && *s <= '9';
}

/* Calls for each piece: digits one by one at equal advance, what is between them whole. */
static float tabular_pieces(struct ui_render *rd, const char *s, int size, int weight,
                            void (*each)(void *ctx, const char *piece, float x), void *ctx)
{
    TTF_Font *font = fonts_get(rd->fonts, size, weight);
    int digit = fonts_digit_px(rd->fonts, size, weight);
    float x = 0;
    char piece[256];

    while (*s != '\0') {
        size_t n = 0;
        int w = 0;

        if (is_digit(s)) {
            piece[0] = *s++;
            piece[1] = '\0';
            TTF_SizeUTF8(font, piece, &w, NULL);
            if (each != NULL)
                each(ctx, piece, x + (float)(digit - w) / 2);
            x += (float)digit;
            continue;
        }
        while (s[n] != '\0' && !is_digit(s + n) && n + 5 < sizeof piece)
            n = text_next(s, n);
        memcpy(piece, s, n);
        piece[n] = '\0';
        s += n;
        TTF_SizeUTF8(font, piece, &w, NULL);
        if (each != NULL)
            each(ctx, piece, x);
        x += (float)w;
    }
    return x;
}

static float measure_width(void *ctx, const char *s, size_t n_bytes, int size_px, int weight, bool tabular)
{
    struct ui_render *rd = ctx;
    int what[3] = {size_px, weight, tabular};
    uint64_t key = ui_hash(s, n_bytes, key_of(what, sizeof what, 8));
    struct width_slot *slot = &rd->widths[key & (SLOTS - 1)];
    int size = font_px(rd, size_px), w = 0;
    char small[256], *copy_of = small;

    if (n_bytes == 0)
        return 0;
    if (slot->key == key)
        return slot->width;
    if (n_bytes >= sizeof small)
        copy_of = mem_alloc(n_bytes + 1, 1);
    memcpy(copy_of, s, n_bytes);
    copy_of[n_bytes] = '\0';
    if (tabular) {
        w = (int)ceilf(tabular_pieces(rd, copy_of, size, weight, NULL, NULL));
    } else {
        TTF_SizeUTF8(fonts_get(rd->fonts, size, weight), copy_of, &w, NULL);
    }
    if (copy_of != small)
        free(copy_of);
    slot->key = key;
    slot->width = (float)w / rd->scale;
    return slot->width;
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

struct tabular_job {
    TTF_Font *font;
    SDL_Surface *surface;
};

static void put_piece(void *ctx, const char *piece, float x)
{
    struct tabular_job *job = ctx;
    SDL_Surface *part = TTF_RenderUTF8_Blended(job->font, piece, (SDL_Color){255, 255, 255, 255});
    SDL_Rect to = {(int)lrintf(x), 0, 0, 0};

    if (part == NULL)
        return;
    SDL_SetSurfaceBlendMode(part, SDL_BLENDMODE_NONE);
    SDL_BlitSurface(part, NULL, job->surface, &to);
    SDL_FreeSurface(part);
}

static struct slot *text_slot(struct ui_render *rd, const struct ui_draw *d)
{
    int size = font_px(rd, d->size_px), what[3] = {size, d->weight, d->tabular};
    uint64_t key = ui_hash(d->text, strlen(d->text), key_of(what, sizeof what, 7));
    struct slot *s;
    SDL_Surface *surface;
    SDL_Texture *t;
    TTF_Font *font;

    if (key == 0)
        key = 1;
    s = find_slot(rd, key);
    if (s != NULL)
        return s;
    font = fonts_get(rd->fonts, size, d->weight);
    if (d->tabular) {
        int w = (int)ceilf(tabular_pieces(rd, d->text, size, d->weight, NULL, NULL));

        surface = SDL_CreateRGBSurfaceWithFormat(0, w > 0 ? w : 1, TTF_FontHeight(font), 32, SDL_PIXELFORMAT_ARGB8888);
        if (surface == NULL)
            return NULL;
        SDL_FillRect(surface, NULL, SDL_MapRGBA(surface->format, 255, 255, 255, 0));
        struct tabular_job job = {font, surface};

        tabular_pieces(rd, d->text, size, d->weight, put_piece, &job);
    } else {
        surface = TTF_RenderUTF8_Blended(font, d->text, (SDL_Color){255, 255, 255, 255});
    }
    if (surface == NULL)
        return NULL;
    t = SDL_CreateTextureFromSurface(rd->renderer, surface);
    if (t != NULL)
        SDL_SetTextureBlendMode(t, SDL_BLENDMODE_BLEND);
    s = t != NULL ? add_slot(rd, key, t, surface->w, surface->h) : NULL;
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

static struct picture *find_picture(const struct ui_render *rd, uint64_t key)
{
    for (size_t i = 0; i < rd->n_pictures; i++)
        if (rd->pictures[i].key == key)
            return &rd->pictures[i];
    return NULL;
}

static int is_large(int w, int h)
{
    return w > DIRECT_PX || h > DIRECT_PX;
}

static void drop_picture(struct ui_render *rd, struct picture *p)
{
    if (p->texture != NULL)
        SDL_DestroyTexture(p->texture);
    rd->n_bytes[is_large(p->w, p->h)] -= (size_t)p->w * (size_t)p->h * 4;
    free(p->rgba);
    *p = rd->pictures[--rd->n_pictures];
}

void ui_render_drop_image(struct ui_render *rd, uint64_t key)
{
    struct picture *p = find_picture(rd, key);

    if (p != NULL)
        drop_picture(rd, p);
}

bool ui_render_put_image(struct ui_render *rd, uint64_t key, const uint8_t *rgba, int w, int h)
{
    size_t n_bytes = (size_t)w * (size_t)h * 4;
    uint8_t *own = mem_try(n_bytes, 1);
    int large = is_large(w, h);
    struct picture *p;

    if (own == NULL)
        return false;
    memcpy(own, rgba, n_bytes);
    ui_render_drop_image(rd, key);
    while (rd->n_bytes[large] + n_bytes > kept_bytes[large]) {
        struct picture *oldest = NULL;

        for (size_t i = 0; i < rd->n_pictures; i++) {
            struct picture *other = &rd->pictures[i];

            if (is_large(other->w, other->h) == large && (oldest == NULL || other->used < oldest->used))
                oldest = other;
        }
        if (oldest == NULL || oldest->used == rd->frame)
            break; /* all are on the screen */
        drop_picture(rd, oldest);
    }
    if (rd->n_pictures == rd->pictures_room) {
        rd->pictures_room = rd->pictures_room ? rd->pictures_room * 2 : 64;
        rd->pictures = mem_resize(rd->pictures, rd->pictures_room, sizeof *rd->pictures);
    }
    p = &rd->pictures[rd->n_pictures++];
    *p = (struct picture){key, own, w, h, NULL, 0, rd->frame};
    rd->n_bytes[large] += n_bytes;
    return true;
}

bool ui_render_has_image(const struct ui_render *rd, uint64_t key)
{
    return find_picture(rd, key) != NULL;
}

/* Averages the part of the picture that falls on each of n × m pixels (a box filter). */
static void shrink(const struct picture *p, struct rect crop, int turn, bool round, uint8_t *to, int w, int h)
{
    float cx = crop.x * (float)p->w, cy = crop.y * (float)p->h;
    float cw = crop.w * (float)p->w, ch = crop.h * (float)p->h;

    for (int y = 0; y < h; y++)
        for (int x = 0; x < w; x++) {
            float u0 = (float)x / (float)w, u1 = (float)(x + 1) / (float)w;
            float v0 = (float)y / (float)h, v1 = (float)(y + 1) / (float)h, t;
            unsigned sum[3] = {0, 0, 0}, n = 0;
            uint8_t *out = to + ((size_t)y * (size_t)w + (size_t)x) * 4;

            for (int q = 0; q < turn; q++) { /* back to the picture's own axes */
                t = u0, u0 = v0, v0 = 1 - t;
                t = u1, u1 = v1, v1 = 1 - t;
            }
            int x0 = (int)(cx + fminf(u0, u1) * cw), x1 = (int)(cx + fmaxf(u0, u1) * cw);
            int y0 = (int)(cy + fminf(v0, v1) * ch), y1 = (int)(cy + fmaxf(v0, v1) * ch);

            if (x1 <= x0)
                x1 = x0 + 1;
            if (y1 <= y0)
                y1 = y0 + 1;
            for (int sy = y0; sy < y1; sy++)
                for (int sx = x0; sx < x1; sx++) {
                    int qx = sx < 0 ? 0 : sx >= p->w ? p->w - 1 : sx;
                    int qy = sy < 0 ? 0 : sy >= p->h ? p->h - 1 : sy;
                    const uint8_t *in = p->rgba + ((size_t)qy * (size_t)p->w + (size_t)qx) * 4;

                    sum[0] += in[0];
                    sum[1] += in[1];
                    sum[2] += in[2];
                    n++;
                }
            for (int k = 0; k < 3; k++)
                out[k] = (uint8_t)((sum[k] + n / 2) / n);
            out[3] = 255;
        }
    if (round) {
        uint8_t *mask = mem_alloc((size_t)w * (size_t)h, 1);

        raster_disc(mask, w, h, (float)w / 2, (float)h / 2, (float)(w < h ? w : h) / 2);
        for (int i = 0; i < w * h; i++)
            to[4 * i + 3] = mask[i];
        free(mask);
    }
}

/* The texture of a picture, turned: drawing at an angle would first scale all of it to its full size on
 * the screen, also what lies outside. */
static SDL_Texture *turned_texture(struct ui_render *rd, struct picture *p, int turn)
{
    uint32_t *to;

    if (p->texture != NULL && p->turn == turn)
        return p->texture;
    if (p->texture != NULL)
        SDL_DestroyTexture(p->texture);
    p->texture = NULL;
    p->turn = turn;
    SDL_SetHint(SDL_HINT_RENDER_SCALE_QUALITY, "linear");
    if (turn == 0)
        return p->texture = texture_from_rgba(rd, p->rgba, p->w, p->h, false);
    to = mem_try((size_t)p->w * (size_t)p->h, sizeof *to);
    if (to == NULL)
        return NULL;
    for (int y = 0; y < p->h; y++)
        for (int x = 0; x < p->w; x++) {
            size_t at = turn == 1   ? (size_t)x * (size_t)p->h + (size_t)(p->h - 1 - y)
                        : turn == 2 ? (size_t)(p->h - 1 - y) * (size_t)p->w + (size_t)(p->w - 1 - x)
                                    : (size_t)(p->w - 1 - x) * (size_t)p->h + (size_t)y;

            memcpy(&to[at], p->rgba + ((size_t)y * (size_t)p->w + (size_t)x) * 4, 4);
        }
    p->texture = turn % 2 ? texture_from_rgba(rd, to, p->h, p->w, false) : texture_from_rgba(rd, to, p->w, p->h, false);
    free(to);
    return p->texture;
}

/* Scaled by the renderer into r. Only what is seen is handed on: whole pixels of the picture, and one
 * more around, for the smoothing. */
static void draw_direct(struct ui_render *rd, struct picture *p, struct rect crop, int turn, SDL_Rect r)
{
    SDL_Texture *texture = turned_texture(rd, p, turn);
    int w = turn % 2 ? p->h : p->w, h = turn % 2 ? p->w : p->h;
    SDL_Rect clip, seen, from, to;
    double fx, fy, kx, ky, x0, y0, x1, y1;

    for (int i = 0; i < turn; i++)
        crop = (struct rect){1 - crop.y - crop.h, crop.x, crop.h, crop.w};
    SDL_RenderGetClipRect(rd->renderer, &clip);
    if (SDL_RectEmpty(&clip)) {
        clip.x = clip.y = 0;
        SDL_GetRendererOutputSize(rd->renderer, &clip.w, &clip.h);
    }
    if (texture == NULL || !SDL_IntersectRect(&r, &clip, &seen))
        return;
    fx = (double)(crop.x * (float)w);
    fy = (double)(crop.y * (float)h);
    kx = r.w / (double)(crop.w * (float)w); /* pixels of the screen for one of the picture */
    ky = r.h / (double)(crop.h * (float)h);
    x0 = fmax(floor(fx + (seen.x - r.x) / kx) - 1, rint(fx));
    y0 = fmax(floor(fy + (seen.y - r.y) / ky) - 1, rint(fy));
    x1 = fmin(ceil(fx + (seen.x + seen.w - r.x) / kx) + 1, rint(fx + r.w / kx));
    y1 = fmin(ceil(fy + (seen.y + seen.h - r.y) / ky) + 1, rint(fy + r.h / ky));
    if (x1 <= x0 || y1 <= y0)
        return;
    from = (SDL_Rect){(int)x0, (int)y0, (int)(x1 - x0), (int)(y1 - y0)};
    to.x = r.x + (int)lrint((x0 - fx) * kx);
    to.y = r.y + (int)lrint((y0 - fy) * ky);
    to.w = r.x + (int)lrint((x1 - fx) * kx) - to.x;
    to.h = r.y + (int)lrint((y1 - fy) * ky) - to.y;
    SDL_RenderCopy(rd->renderer, texture, &from, &to);
}

static void draw_image(struct ui_render *rd, const struct ui_draw *given)
{
    struct picture *p = find_picture(rd, given->key);
    SDL_Rect r = px_rect(rd, given->r);
    struct ui_draw whole = *given;
    const struct ui_draw *d = &whole;

    if (p == NULL || r.w <= 0 || r.h <= 0)
        return;
    p->used = rd->frame;
    if (!(whole.crop.w > 0)) { /* no part named: all of it, in proportion, in the middle */
        float k = fminf((float)r.w / (float)p->w, (float)r.h / (float)p->h);
        int w = (int)lrintf((float)p->w * k), h = (int)lrintf((float)p->h * k);

        whole.crop = (struct rect){0, 0, 1, 1};
        r = (SDL_Rect){r.x + (r.w - w) / 2, r.y + (r.h - h) / 2, w > 0 ? w : 1, h > 0 ? h : 1};
    }
    /* A large part of a photograph that is made smaller by no more than half is as good so, and quicker
     * while it moves. */
    bool slightly = is_large(p->w, p->h) && r.w * 2 >= (d->turn % 2 ? p->h : p->w) && r.h * 2 >= (d->turn % 2 ? p->w : p->h);

    if (!d->round && (slightly || r.w > DIRECT_PX * (int)ceilf(rd->scale) || r.h > DIRECT_PX * (int)ceilf(rd->scale))) {
        draw_direct(rd, p, d->crop, d->turn, r);
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
    what.pixels = p->rgba;
    uint64_t key = key_of(&what, sizeof what, 9);
    struct slot *s = find_slot(rd, key);

    if (s == NULL) {
        uint8_t *small = mem_alloc((size_t)r.w * (size_t)r.h, 4);

        shrink(p, d->crop, d->turn, d->round, small, r.w, r.h);
        s = add_rgba(rd, key, small, r.w, r.h, d->round);
        if (s == NULL)
            return;
    }
    copy(rd, s, (SDL_Rect){0, 0, r.w, r.h}, r.x, r.y);
}

/* What of the screen parts can reach, in the clip. */
static bool layer_bounds(struct ui_render *rd, const struct layer_part *parts, size_t n, SDL_Rect *to)
{
    SDL_Rect all = {0, 0, 0, 0}, clip;

    for (size_t i = 0; i < n; i++) {
        const struct layer_part *p = &parts[i];
        double a = p->turn_deg * 3.14159265358979 / 180, w = p->w * p->kx, h = p->h * p->ky;
        double rx = (fabs(cos(a)) * w + fabs(sin(a)) * h) / 2, ry = (fabs(sin(a)) * w + fabs(cos(a)) * h) / 2;
        double x0 = fmax(floor(p->cx - rx), -32000), y0 = fmax(floor(p->cy - ry), -32000);
        double x1 = fmin(ceil(p->cx + rx), 32000), y1 = fmin(ceil(p->cy + ry), 32000);
        SDL_Rect r = {(int)x0, (int)y0, (int)fmax(x1 - x0, 0), (int)fmax(y1 - y0, 0)};

        SDL_UnionRect(&all, &r, &all);
    }
    SDL_RenderGetClipRect(rd->renderer, &clip);
    if (SDL_RectEmpty(&clip)) {
        clip.x = clip.y = 0;
        SDL_GetRendererOutputSize(rd->renderer, &clip.w, &clip.h);
    }
    return SDL_IntersectRect(&all, &clip, to) == SDL_TRUE;
}

/* The images from d on that make one layer, at most n_left; gives their number. */
static size_t draw_layer(struct ui_render *rd, const struct ui_draw *d, size_t n_left)
{
    struct layer_part *parts;
    size_t n = 0, n_parts = 0;
    bool covered;
    SDL_Rect r;
    void *pixels;
    int pitch;

    while (n < n_left && d[n].type == UI_DRAW_IMAGE && d[n].layer == d->layer)
        n++;
    parts = mem_alloc(n, sizeof *parts);
    for (size_t i = 0; i < n; i++) {
        struct picture *p = find_picture(rd, d[i].key);

        if (p == NULL || !(d[i].r.w > 0) || !(d[i].r.h > 0) || p->w > LAYER_MAX_SIDE || p->h > LAYER_MAX_SIDE)
            continue;
        p->used = rd->frame;
        parts[n_parts++] = (struct layer_part){
            .rgba = p->rgba, .w = p->w, .h = p->h, .cx = (double)((d[i].r.x + d[i].r.w / 2) * rd->scale), .cy = (double)((d[i].r.y + d[i].r.h / 2) * rd->scale),
            .kx = (double)(d[i].r.w * rd->scale) / p->w, .ky = (double)(d[i].r.h * rd->scale) / p->h, .turn_deg = (double)d[i].turn_deg};
    }
    if (!layer_bounds(rd, parts, n_parts, &r))
        goto done;
    if (rd->layer == NULL || rd->layer_w < r.w || rd->layer_h < r.h) {
        if (rd->layer != NULL)
            SDL_DestroyTexture(rd->layer);
        rd->layer_w = rd->layer_w > r.w ? rd->layer_w : r.w;
        rd->layer_h = rd->layer_h > r.h ? rd->layer_h : r.h;
        rd->layer = SDL_CreateTexture(rd->renderer, SDL_PIXELFORMAT_BGRA32, SDL_TEXTUREACCESS_STREAMING, rd->layer_w, rd->layer_h);
    }
    if (rd->layer == NULL || SDL_LockTexture(rd->layer, &(SDL_Rect){0, 0, r.w, r.h}, &pixels, &pitch) != 0)
        goto done;
    for (size_t i = 0; i < n_parts; i++) {
        parts[i].cx -= r.x;
        parts[i].cy -= r.y;
    }
    covered = layer_compose(pixels, (size_t)pitch, r.w, r.h, parts, n_parts, (uint8_t)lrintf(fminf(d->share, 1) * 255));
    SDL_UnlockTexture(rd->layer);
    SDL_SetTextureBlendMode(rd->layer, covered && d->share >= 1 ? SDL_BLENDMODE_NONE : SDL_BLENDMODE_BLEND);
    SDL_RenderCopy(rd->renderer, rd->layer, &(SDL_Rect){0, 0, r.w, r.h}, &r);
done:
    free(parts);
    return n;
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
        s = add_rgba(rd, key, rgba, r.w, r.h, true);
        if (s == NULL)
            return;
    }
    copy(rd, s, (SDL_Rect){0, 0, r.w, r.h}, r.x, r.y);
}

/* ---- the frame ---- */

void ui_render_frame(struct ui_render *rd, const struct ui *ui)
{
    size_t n;
    const struct ui_draw *draws = ui_draws(ui, &n);

    rd->frame++;
    if (rd->frame % KEEP_FRAMES == 0)
        sweep(rd, KEEP_FRAMES);
    for (size_t i = 0; i < rd->n_pictures; i++) /* of what is off the screen the pixels are enough */
        if (rd->pictures[i].texture != NULL && rd->pictures[i].used + 2 < rd->frame) {
            SDL_DestroyTexture(rd->pictures[i].texture);
            rd->pictures[i].texture = NULL;
        }
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
                i += draw_layer(rd, d, n - i) - 1;
            else
                draw_image(rd, d);
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
