#include "ui/ui_line.h"

#include <SDL.h>
#include <SDL_ttf.h>
#include <hb.h>
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "ui/ui_bidi.h"
#include "ui/ui_fonts.h"

#define DOT "\xE2\x80\xA2" /* for a sign that no face has */
#define PIECE_BYTES 1000   /* a longer one is cut: the library works within limits of its own */

struct piece {
    const char *text; /* as typed: the shaping turns it round */
    int face;
    uint32_t script;
    bool rtl;
    float x;          /* its left edge in the line */
};

struct pieces {
    struct piece *all;
    size_t n, n_room;
    float w;
};

/* Bitmaps of one size, as faces of coloured signs are made: they are drawn smaller. 1: an outline, drawn at its size. */
static float shrink_of(TTF_Font *font, int size_px)
{
    const int h = TTF_FontHeight(font);

    return h > 2 * size_px ? 1.2f * (float)size_px / (float)h : 1;
}

/* Direction and script stay with the font until they are set anew. "Zzzz" is what it begins with. */
static void set_way(TTF_Font *font, bool rtl, uint32_t script)
{
    char tag[5] = {(char)(script >> 24), (char)(script >> 16), (char)(script >> 8), (char)script, '\0'};

    TTF_SetFontDirection(font, rtl ? TTF_DIRECTION_RTL : TTF_DIRECTION_LTR);
    TTF_SetFontScriptName(font, tag);
}

static float width_of(TTF_Font *font, const struct piece *p, int size_px)
{
    int w = 0;

    set_way(font, p->rtl, p->script);
    TTF_SizeUTF8(font, p->text, &w, NULL);
    set_way(font, false, HB_SCRIPT_UNKNOWN);
    return roundf((float)w * shrink_of(font, size_px));
}

/* The n bytes at s as the face can draw them. */
static char *drawable(struct arena *a, TTF_Font *font, const char *s, size_t n)
{
    char *text = arena_alloc(a, n + 3 * n + 1, 1), *to = text;

    for (size_t at = 0, next; at < n; at = next) {
        const uint32_t sign = text_codepoint(s, at);

        next = text_next(s, at);
        if (bidi_is_control(sign))
            continue;
        if (sign >= 0x80 && !(sign >= 0x300 && sign < 0x370) && !TTF_GlyphIsProvided32(font, sign)) {
            if (sign >= 0x1F1E6 && sign <= 0x1F1FF) { /* a flag: its country's letters */
                *to++ = (char)('A' + (int)(sign - 0x1F1E6));
                continue;
            }
            if (!bidi_clings(sign)) {
                memcpy(to, DOT, 3);
                to += 3;
                continue;
            }
            if (sign != 0x200C && sign != 0x200D) /* these two say whether letters join, and have no shape */
                continue;
        }
        memcpy(to, s + at, next - at);
        to += next - at;
    }
    *to = '\0';
    return text;
}

static bool is_digit(const char *s)
{
    return *s >= '0' && *s <= '9';
}

static struct piece *add_piece(struct pieces *l, struct arena *a)
{
    return arena_push(a, (void **)&l->all, &l->n, &l->n_room, sizeof *l->all);
}

/* One stretch of one direction. */
static void add_stretch(struct pieces *l, struct fonts *f, struct arena *a, const char *s, size_t n_bytes, bool rtl, int size, int weight, bool tabular)
{
    const float digit = tabular ? (float)fonts_digit_px(f, size, weight) : 0;
    const size_t first = l->n;
    float *widths = arena_alloc(a, n_bytes, sizeof *widths);

    for (size_t at = 0; at < n_bytes;) {
        const struct font_run run = fonts_run(f, size, weight, s + at, n_bytes - at);
        TTF_Font *font = fonts_face(f, size, weight, run.face);
        size_t n = 0;
        struct piece *p;

        if (tabular && is_digit(s + at)) {
            n = 1;
        } else {
            while (n < run.n && !(tabular && is_digit(s + at + n)) && n + 5 < PIECE_BYTES)
                n = text_next(s, at + n) - at;
            n = n < run.n ? n : run.n;
        }
        p = add_piece(l, a);
        p->text = drawable(a, font, s + at, n);
        p->face = run.face;
        p->script = run.script;
        p->rtl = rtl;
        widths[l->n - 1 - first] = width_of(font, p, size);
        at += n;
    }
    for (size_t i = 0; i < l->n - first; i++) { /* from the left */
        const size_t k = rtl ? l->n - 1 - i : first + i;
        const bool one_digit = tabular && is_digit(l->all[k].text);

        l->all[k].x = l->w + (one_digit ? (digit - widths[k - first]) / 2 : 0);
        l->w += one_digit ? digit : widths[k - first];
    }
}

static struct pieces lay(struct fonts *f, struct arena *a, const char *s, int size, int weight, bool tabular)
{
    const struct bidi_line line = bidi_line(a, s, strlen(s));
    struct pieces l = {0};

    for (size_t i = 0; i < line.n; i++)
        add_stretch(&l, f, a, s + line.runs[i].at, line.runs[i].n, line.runs[i].rtl, size, weight, tabular);
    return l;
}

/* The own face draws all of it, in one go. */
static bool is_one_piece(struct fonts *f, const char *s, int size, int weight, bool tabular)
{
    TTF_Font *own = NULL;

    if (tabular)
        return false;
    for (size_t at = 0; s[at] != '\0'; at = text_next(s, at))
        if ((unsigned char)s[at] >= 0x80) {
            const uint32_t sign = text_codepoint(s, at);

            own = own != NULL ? own : fonts_get(f, size, weight);
            if (sign >= 0x590 && (sign < 0x2000 || sign >= 0xFB1D || bidi_is_control(sign) || bidi_clings(sign)))
                return false;
            if (!TTF_GlyphIsProvided32(own, sign) && !(sign >= 0x300 && sign < 0x370))
                return false;
        }
    return true;
}

int line_width(struct fonts *f, struct arena *a, const char *s, int size, int weight, bool tabular)
{
    int w = 0;

    if (!is_one_piece(f, s, size, weight, tabular))
        return (int)ceilf(lay(f, a, s, size, weight, tabular).w);
    TTF_SizeUTF8(fonts_get(f, size, weight), s, &w, NULL);
    return w;
}

/* A coloured picture of a sign as a mask: dark is dense, bright is thin. Hue is kept for what it means elsewhere. */
static SDL_Surface *as_mask(SDL_Surface *coloured, float shrink)
{
    const int w = (int)lrintf((float)coloured->w * shrink), h = (int)lrintf((float)coloured->h * shrink);
    SDL_Surface *from = SDL_ConvertSurfaceFormat(coloured, SDL_PIXELFORMAT_ARGB8888, 0), *mask = NULL;

    if (from != NULL && w > 0 && h > 0)
        mask = SDL_CreateRGBSurfaceWithFormat(0, w, h, 32, SDL_PIXELFORMAT_ARGB8888);
    for (int y = 0; mask != NULL && y < h; y++)
        for (int x = 0; x < w; x++) { /* the average of what falls on it */
            const int x0 = x * from->w / w, x1 = (x + 1) * from->w / w, y0 = y * from->h / h, y1 = (y + 1) * from->h / h;
            float sum = 0;

            for (int j = y0; j < y1; j++)
                for (int i = x0; i < x1; i++) {
                    const uint32_t px = ((const uint32_t *)(const void *)((const uint8_t *)from->pixels + j * from->pitch))[i];
                    /* Rec. 709 luma of the values as they are: enough for a mask */
                    const float luma = (0.2126f * (float)(px >> 16 & 255) + 0.7152f * (float)(px >> 8 & 255) + 0.0722f * (float)(px & 255)) / 255;

                    sum += (float)(px >> 24) * (1 - 0.7f * luma);
                }
            const int n = (x1 - x0) * (y1 - y0);

            ((uint32_t *)(void *)((uint8_t *)mask->pixels + y * mask->pitch))[x] = 0x00FFFFFFu | (uint32_t)lrintf(n > 0 ? sum / (float)n : 0) << 24;
        }
    SDL_FreeSurface(from);
    SDL_FreeSurface(coloured);
    return mask;
}

SDL_Surface *line_surface(struct fonts *f, struct arena *a, const char *s, int size, int weight, bool tabular)
{
    static const SDL_Color white = {255, 255, 255, 255};
    struct pieces l;
    SDL_Surface *all;
    int ascent, height, w;

    if (is_one_piece(f, s, size, weight, tabular))
        return TTF_RenderUTF8_Blended(fonts_get(f, size, weight), s, white);
    l = lay(f, a, s, size, weight, tabular);
    w = (int)ceilf(l.w);
    ascent = TTF_FontAscent(fonts_get(f, size, weight));
    height = TTF_FontHeight(fonts_get(f, size, weight));
    all = SDL_CreateRGBSurfaceWithFormat(0, w > 0 ? w : 1, height, 32, SDL_PIXELFORMAT_ARGB8888);
    if (all == NULL)
        return NULL;
    SDL_FillRect(all, NULL, SDL_MapRGBA(all->format, 255, 255, 255, 0));
    for (size_t i = 0; i < l.n; i++) {
        const struct piece *p = &l.all[i];
        TTF_Font *font = fonts_face(f, size, weight, p->face);
        const float shrink = shrink_of(font, size);
        SDL_Surface *part;

        set_way(font, p->rtl, p->script);
        part = p->text[0] != '\0' ? TTF_RenderUTF8_Blended(font, p->text, white) : NULL;
        set_way(font, false, HB_SCRIPT_UNKNOWN);
        if (part != NULL && shrink < 1)
            part = as_mask(part, shrink);
        if (part == NULL)
            continue;
        SDL_Rect to = {(int)lrintf(p->x), shrink < 1 ? (height - part->h) / 2 : ascent - TTF_FontAscent(font), 0, 0};

        SDL_SetSurfaceBlendMode(part, SDL_BLENDMODE_NONE);
        SDL_BlitSurface(part, NULL, all, &to);
        SDL_FreeSurface(part);
    }
    return all;
}
