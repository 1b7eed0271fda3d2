/* ui_pictures.c - pictures that are drawn a little smaller or larger go to the renderer as they are; those
 * turned by any angle or blended are put together here (ui_layer.h). */
#include "ui/ui_pictures.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "ui/ui_layer.h"
#include "ui/ui_raster.h"

enum { BAND_ROWS = 32, LEAST_SHARED_PX = 100000 }; /* rows put together at once; what is less is not worth a thread */

/* Kept of small pictures (hundreds of thumbnails) and of large ones (a screen of tiles and some photos). */
static const size_t kept_bytes[2] = {(size_t)192 << 20, (size_t)32 << 20};

struct pictures {
    SDL_Renderer *renderer;
    struct picture *list;
    size_t n, room;
    size_t n_bytes[2];  /* of small and large ones */
    SDL_Texture *layer; /* pictures put together, for one call after the other; grows */
    int layer_w, layer_h;
    uint8_t *upper;     /* rows of a layer that is laid over it, for each of two threads; grows */
    size_t upper_bytes;
    uint64_t frame;
};

struct pictures *pictures_create(SDL_Renderer *renderer)
{
    struct pictures *ps = mem_alloc(1, sizeof *ps);

    ps->renderer = renderer;
    return ps;
}

static void drop_texture(struct picture *p)
{
    if (p->texture != NULL)
        SDL_DestroyTexture(p->texture);
    p->texture = NULL;
}

void pictures_drop_textures(struct pictures *ps)
{
    if (ps->layer != NULL)
        SDL_DestroyTexture(ps->layer);
    ps->layer = NULL;
    ps->layer_w = ps->layer_h = 0;
    for (size_t i = 0; i < ps->n; i++)
        drop_texture(&ps->list[i]);
}

void pictures_destroy(struct pictures *ps)
{
    pictures_drop_textures(ps);
    for (size_t i = 0; i < ps->n; i++)
        free(ps->list[i].bgra);
    free(ps->list);
    free(ps->upper);
    free(ps);
}

void pictures_begin_frame(struct pictures *ps, uint64_t frame)
{
    ps->frame = frame;
    for (size_t i = 0; i < ps->n; i++) /* of what is off the screen the pixels are enough */
        if (ps->list[i].used + 2 < frame)
            drop_texture(&ps->list[i]);
}

static struct picture *find(const struct pictures *ps, uint64_t key)
{
    for (size_t i = 0; i < ps->n; i++)
        if (ps->list[i].key == key)
            return &ps->list[i];
    return NULL;
}

bool picture_is_large(int w, int h)
{
    return w > PICTURE_DIRECT_PX || h > PICTURE_DIRECT_PX;
}

static void drop_picture(struct pictures *ps, struct picture *p)
{
    drop_texture(p);
    ps->n_bytes[picture_is_large(p->w, p->h)] -= (size_t)p->w * (size_t)p->h * 4;
    free(p->bgra);
    *p = ps->list[--ps->n];
}

void pictures_drop(struct pictures *ps, uint64_t key)
{
    struct picture *p = find(ps, key);

    if (p != NULL)
        drop_picture(ps, p);
}

bool pictures_put(struct pictures *ps, uint64_t key, const uint8_t *rgba, int w, int h)
{
    size_t n_bytes = (size_t)w * (size_t)h * 4;
    uint8_t *own = mem_try(n_bytes, 1);
    int large = picture_is_large(w, h) ? 1 : 0;
    struct picture *p;

    if (own == NULL)
        return false;
    for (size_t i = 0; i < n_bytes; i += 4)
        own[i] = rgba[i + 2], own[i + 1] = rgba[i + 1], own[i + 2] = rgba[i], own[i + 3] = rgba[i + 3];
    pictures_drop(ps, key);
    while (ps->n_bytes[large] + n_bytes > kept_bytes[large]) {
        struct picture *oldest = NULL;

        for (size_t i = 0; i < ps->n; i++) {
            struct picture *other = &ps->list[i];

            if (picture_is_large(other->w, other->h) == large && (oldest == NULL || other->used < oldest->used))
                oldest = other;
        }
        if (oldest == NULL || oldest->used == ps->frame)
            break; /* all are on the screen */
        drop_picture(ps, oldest);
    }
    if (ps->n == ps->room) {
        ps->room = ps->room ? ps->room * 2 : 64;
        ps->list = mem_resize(ps->list, ps->room, sizeof *ps->list);
    }
    p = &ps->list[ps->n++];
    *p = (struct picture){key, own, w, h, NULL, 0, ps->frame};
    ps->n_bytes[large] += n_bytes;
    return true;
}

bool pictures_have(const struct pictures *ps, uint64_t key)
{
    return find(ps, key) != NULL;
}

struct picture *pictures_use(struct pictures *ps, uint64_t key)
{
    struct picture *p = find(ps, key);

    if (p != NULL)
        p->used = ps->frame;
    return p;
}

/* Averages the part of the picture that falls on each of n × m pixels (a box filter). */
void picture_shrink(const struct picture *p, struct rect crop, int turn, bool round, uint8_t *to, int w, int h)
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
                    const uint8_t *in = p->bgra + ((size_t)qy * (size_t)p->w + (size_t)qx) * 4;

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

/* The window's own where its pixels are laid out as those of pictures, mostly without alpha: SDL's software renderer then
 * copies and scales as they are, without a conversion in each frame. */
static Uint32 format_of(const struct pictures *ps)
{
    SDL_Window *window = SDL_RenderGetWindow(ps->renderer);
    const Uint32 known = SDL_PIXELFORMAT_BGRA32, own = window != NULL ? SDL_GetWindowPixelFormat(window) : known;
    Uint32 masks[2][4];
    int bits[2];

    if (!SDL_PixelFormatEnumToMasks(known, &bits[0], &masks[0][0], &masks[0][1], &masks[0][2], &masks[0][3]) ||
        !SDL_PixelFormatEnumToMasks(own, &bits[1], &masks[1][0], &masks[1][1], &masks[1][2], &masks[1][3]))
        return known;
    return SDL_BYTESPERPIXEL(own) == 4 && memcmp(masks[0], masks[1], 3 * sizeof masks[0][0]) == 0 ? own : known;
}

static SDL_Texture *texture_of(struct pictures *ps, const void *bgra, int w, int h)
{
    SDL_Texture *t = SDL_CreateTexture(ps->renderer, format_of(ps), SDL_TEXTUREACCESS_STATIC, w, h);

    if (t == NULL)
        return NULL;
    SDL_UpdateTexture(t, NULL, bgra, w * 4);
    SDL_SetTextureBlendMode(t, SDL_BLENDMODE_NONE);
    return t;
}

/* The texture of a picture, turned: drawing at an angle would first scale all of it to its full size on
 * the screen, also what lies outside. */
static SDL_Texture *turned_texture(struct pictures *ps, struct picture *p, int turn)
{
    uint32_t *to;

    if (p->texture != NULL && p->turn == turn)
        return p->texture;
    drop_texture(p);
    p->turn = turn;
    SDL_SetHint(SDL_HINT_RENDER_SCALE_QUALITY, "linear");
    if (turn == 0)
        return p->texture = texture_of(ps, p->bgra, p->w, p->h);
    to = mem_try((size_t)p->w * (size_t)p->h, sizeof *to);
    if (to == NULL)
        return NULL;
    for (int y = 0; y < p->h; y++)
        for (int x = 0; x < p->w; x++) {
            size_t at = turn == 1   ? (size_t)x * (size_t)p->h + (size_t)(p->h - 1 - y)
                        : turn == 2 ? (size_t)(p->h - 1 - y) * (size_t)p->w + (size_t)(p->w - 1 - x)
                                    : (size_t)(p->w - 1 - x) * (size_t)p->h + (size_t)y;

            memcpy(&to[at], p->bgra + ((size_t)y * (size_t)p->w + (size_t)x) * 4, 4);
        }
    p->texture = turn % 2 ? texture_of(ps, to, p->h, p->w) : texture_of(ps, to, p->w, p->h);
    free(to);
    return p->texture;
}

/* Scaled by the renderer into r. Only what is seen is handed on: whole pixels of the picture, and one
 * more around, for the smoothing. */
void picture_draw_direct(struct pictures *ps, struct picture *p, struct rect crop, int turn, SDL_Rect r)
{
    SDL_Texture *texture = turned_texture(ps, p, turn);
    int w = turn % 2 ? p->h : p->w, h = turn % 2 ? p->w : p->h;
    SDL_Rect clip, seen, from, to;
    double fx, fy, kx, ky, x0, y0, x1, y1;

    for (int i = 0; i < turn; i++)
        crop = (struct rect){1 - crop.y - crop.h, crop.x, crop.h, crop.w};
    SDL_RenderGetClipRect(ps->renderer, &clip);
    if (SDL_RectEmpty(&clip)) {
        clip.x = clip.y = 0;
        SDL_GetRendererOutputSize(ps->renderer, &clip.w, &clip.h);
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
    SDL_RenderCopy(ps->renderer, texture, &from, &to);
}

/* What of the screen parts can reach, in the clip. */
static bool layer_bounds(struct pictures *ps, const struct layer_part *parts, size_t n, SDL_Rect *to)
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
    SDL_RenderGetClipRect(ps->renderer, &clip);
    if (SDL_RectEmpty(&clip)) {
        clip.x = clip.y = 0;
        SDL_GetRendererOutputSize(ps->renderer, &clip.w, &clip.h);
    }
    return SDL_IntersectRect(&all, &clip, to) == SDL_TRUE;
}

/* The images of one layer as parts of what is drawn to r; pixels of the screen. */
static size_t parts_of(struct pictures *ps, const struct ui_draw *d, size_t n, float scale, struct layer_part *parts)
{
    size_t n_parts = 0;

    for (size_t i = 0; i < n; i++) {
        struct picture *p = pictures_use(ps, d[i].key);

        if (p == NULL || !(d[i].r.w > 0) || !(d[i].r.h > 0) || p->w > LAYER_MAX_SIDE || p->h > LAYER_MAX_SIDE)
            continue;
        parts[n_parts++] = (struct layer_part){
            .bgra = p->bgra, .w = p->w, .h = p->h, .cx = (double)((d[i].r.x + d[i].r.w / 2) * scale), .cy = (double)((d[i].r.y + d[i].r.h / 2) * scale),
            .kx = (double)(d[i].r.w * scale) / p->w, .ky = (double)(d[i].r.h * scale) / p->h, .turn_deg = (double)d[i].turn_deg};
    }
    return n_parts;
}

static uint8_t alpha_of(const struct ui_draw *d)
{
    return (uint8_t)lrintf(fminf(d->share, 1) * 255);
}

/* Where layers are put together; grows. */
static bool lock_layer(struct pictures *ps, const SDL_Rect *r, void **pixels, int *pitch)
{
    const SDL_Rect part = {0, 0, r->w, r->h};

    if (ps->layer == NULL || ps->layer_w < r->w || ps->layer_h < r->h) {
        if (ps->layer != NULL)
            SDL_DestroyTexture(ps->layer);
        ps->layer_w = ps->layer_w > r->w ? ps->layer_w : r->w;
        ps->layer_h = ps->layer_h > r->h ? ps->layer_h : r->h;
        ps->layer = SDL_CreateTexture(ps->renderer, SDL_PIXELFORMAT_BGRA32, SDL_TEXTUREACCESS_STREAMING, ps->layer_w, ps->layer_h);
    }
    return ps->layer != NULL && SDL_LockTexture(ps->layer, &part, pixels, pitch) == 0;
}

static uint8_t *upper_layer(struct pictures *ps, int w)
{
    size_t n_bytes = (size_t)w * 4 * 2 * BAND_ROWS;

    if (n_bytes > ps->upper_bytes) {
        free(ps->upper);
        ps->upper = mem_try(n_bytes, 1);
        ps->upper_bytes = ps->upper != NULL ? n_bytes : 0;
    }
    return ps->upper;
}

/* Layers put together, of a picture so wide: its rows from .. to, so many at once that what is laid over what stays in the processor's cache. */
struct composing {
    const struct layer_part *parts;
    const size_t *ends;   /* of each layer's parts, among all */
    const uint8_t *alpha; /* of each layer */
    size_t n_layers;
    uint8_t *to, *upper;  /* the picture; room for rows of a layer that is laid over, NULL: there is but one */
    size_t pitch;
    int w, from, end;
    bool covered; /* the lowest layer covers all; told */
};

static int compose(void *data)
{
    struct composing *c = data;
    struct layer_part *own = mem_alloc(c->ends[c->n_layers - 1] + 1, sizeof *own);

    c->covered = true;
    for (int y = c->from; y < c->end; y += BAND_ROWS) {
        const int h = c->end - y < BAND_ROWS ? c->end - y : BAND_ROWS;
        uint8_t *to = c->to + (size_t)y * c->pitch;

        memcpy(own, c->parts, c->ends[c->n_layers - 1] * sizeof *own);
        for (size_t i = 0; i < c->ends[c->n_layers - 1]; i++)
            own[i].cy -= y;
        for (size_t k = 0; k < c->n_layers; k++) {
            const size_t first = k > 0 ? c->ends[k - 1] : 0;

            if (k == 0) {
                c->covered = layer_compose(to, c->pitch, c->w, h, own, c->ends[0], c->alpha[0]) && c->covered;
            } else {
                layer_compose(c->upper, (size_t)c->w * 4, c->w, h, own + first, c->ends[k] - first, c->alpha[k]);
                layer_lay_over(to, c->pitch, c->upper, (size_t)c->w * 4, c->w, h);
            }
        }
    }
    free(own);
    return 0;
}

/* The lower half is worked on beside the upper one where there is a processor for it. */
static bool compose_all(struct composing *c, int h)
{
    struct composing lower = *c;
    SDL_Thread *beside = NULL;

    c->from = 0, c->end = h;
    if (c->w * h > LEAST_SHARED_PX && SDL_GetCPUCount() > 1) {
        lower.from = h / 2, lower.end = h;
        if (lower.upper != NULL)
            lower.upper += (size_t)c->w * 4 * BAND_ROWS;
        beside = SDL_CreateThread(compose, "layers", &lower);
        if (beside != NULL)
            c->end = lower.from;
    }
    compose(c);
    SDL_WaitThread(beside, NULL);
    return c->covered && (beside == NULL || lower.covered);
}

/* At its own size and unturned a picture is copied, not smoothed: its edge comes onto one of pixels. */
static void onto_pixels(struct layer_part *p)
{
    if (fabs(p->turn_deg) < 1e-6 && fabs(p->kx - 1) < 1e-5 && fabs(p->ky - 1) < 1e-5) {
        p->kx = p->ky = 1;
        p->cx = floor(p->cx - p->w / 2.0 + 0.501) + p->w / 2.0;
        p->cy = floor(p->cy - p->h / 2.0 + 0.501) + p->h / 2.0;
    }
}

size_t pictures_draw_layers(struct pictures *ps, const struct ui_draw *d, size_t n_left, float scale)
{
    struct composing c = {0};
    struct layer_part *parts;
    size_t n = 0, n_parts = 0, *ends;
    uint8_t *alpha;
    bool covered;
    SDL_Rect r, from_layer;
    void *pixels;
    int pitch;

    while (n < n_left && d[n].type == UI_DRAW_IMAGE && d[n].layer > 0)
        n++;
    parts = mem_alloc(n, sizeof *parts), ends = mem_alloc(n, sizeof *ends), alpha = mem_alloc(n, sizeof *alpha);
    for (size_t from = 0, to; from < n; from = to, c.n_layers++) {
        for (to = from; to < n && d[to].layer == d[from].layer; to++)
            ;
        n_parts += parts_of(ps, d + from, to - from, scale, parts + n_parts);
        ends[c.n_layers] = n_parts;
        alpha[c.n_layers] = alpha_of(d + from);
    }
    if (!layer_bounds(ps, parts, n_parts, &r) || (c.n_layers > 1 && (c.upper = upper_layer(ps, r.w)) == NULL) || !lock_layer(ps, &r, &pixels, &pitch))
        goto done;
    for (size_t i = 0; i < n_parts; i++) {
        parts[i].cx -= r.x;
        parts[i].cy -= r.y;
        onto_pixels(&parts[i]);
    }
    c.parts = parts, c.ends = ends, c.alpha = alpha, c.to = pixels, c.pitch = (size_t)pitch, c.w = r.w;
    covered = compose_all(&c, r.h) && d->share >= 1;
    SDL_UnlockTexture(ps->layer);
    SDL_SetTextureBlendMode(ps->layer, covered ? SDL_BLENDMODE_NONE : SDL_BLENDMODE_BLEND);
    from_layer = (SDL_Rect){0, 0, r.w, r.h};
    SDL_RenderCopy(ps->renderer, ps->layer, &from_layer, &r);
done:
    free(parts), free(ends), free(alpha);
    return n;
}
