/* ui_layer.c - row by row: which pixels of a row a part covers follows from where its two edges cross it,
 * so that what lies below a part is never drawn, and the pixels themselves are walked in fixed point. */
#include "ui/ui_layer.h"

#ifdef __SSE2__
#include <emmintrin.h>
#endif
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

/* What a row has not been given yet: pixels from .. to. */
struct gap {
    int from, to;
};

/* The place in a part of the layer's pixel (x, y): u0 + x*ux + y*uy, v0 + x*vx + y*vy. */
struct walk {
    double u0, ux, uy, v0, vx, vy;
    int top, bottom; /* rows it can reach */
};

static struct walk walk_of(const struct layer_part *p, int h)
{
    double a = p->turn_deg * (3.14159265358979323846 / 180), c = cos(a), s = sin(a);
    double reach = (fabs(s) * p->w * p->kx + fabs(c) * p->h * p->ky) / 2 + 1;
    struct walk k = {.ux = c / p->kx, .uy = s / p->kx, .vx = -s / p->ky, .vy = c / p->ky};

    k.u0 = p->w / 2.0 + k.ux * (0.5 - p->cx) + k.uy * (0.5 - p->cy);
    k.v0 = p->h / 2.0 + k.vx * (0.5 - p->cx) + k.vy * (0.5 - p->cy);
    k.top = (int)fmax(0, fmin(h, floor(p->cy - reach)));
    k.bottom = (int)fmax(0, fmin(h, ceil(p->cy + reach)));
    return k;
}

/* Narrows from .. to to the x with low <= at + x*step < high. */
static void narrow(double at, double step, double low, double high, double *from, double *to)
{
    if (fabs(step) < 1e-12) {
        if (at < low || at >= high)
            *to = *from;
        return;
    }
    double a = (low - at) / step, b = (high - at) / step;

    *from = fmax(*from, fmin(a, b));
    *to = fmin(*to, fmax(a, b));
}

/* Of the pixels from .. to of a row those whose place keeps `inset` from the part's edges. */
static struct gap covered(const struct layer_part *p, double u, double v, const struct walk *k, struct gap within, double inset)
{
    double from = within.from, to = within.to;
    struct gap g;

    narrow(u, k->ux, inset, p->w - inset, &from, &to);
    narrow(v, k->vx, inset, p->h - inset, &from, &to);
    g.from = (int)fmin(within.to, fmax(within.from, ceil(from))); /* of a row that is hardly turned the crossing may lie miles away */
    g.to = (int)fmax(within.from, fmin(within.to, ceil(to)));
    if (g.to < g.from)
        g.to = g.from;
    return g;
}

/* Four bytes to four lanes of 16 bits and back: one multiplication weighs all of them. */
#define LANES 0x00ff00ff00ff00ffu

static uint64_t spread(const uint8_t *px)
{
    uint32_t v;

    memcpy(&v, px, sizeof v);
    return (v | (uint64_t)v << 24) & LANES;
}

static void mix(uint8_t *to, const uint8_t *a, const uint8_t *b, const uint8_t *c, const uint8_t *d, uint64_t fx, uint64_t fy, uint8_t alpha)
{
    uint64_t both = fx * fy >> 8, sum;
    uint32_t v;

    sum = spread(a) * (256 - fx - fy + both) + spread(b) * (fx - both) + spread(c) * (fy - both) + spread(d) * both;
    sum = (sum + 0x0080008000800080u) >> 8 & LANES;
    v = (uint32_t)(sum | sum >> 24);
    memcpy(to, &v, sizeof v);
    to[3] = alpha;
}

static int64_t fixed(double v)
{
    return (int64_t)(v * 4294967296.0);
}

static int held(int64_t at, int most)
{
    return at < 0 ? 0 : at > most ? most : (int)at;
}

/* Near an edge of the part: the outermost pixels go on beyond it. */
static void draw_edge(uint8_t *to, const struct layer_part *p, int64_t u, int64_t v, int64_t du, int64_t dv, int n, uint8_t alpha)
{
    for (int i = 0; i < n; i++, to += 4, u += du, v += dv) {
        size_t x0 = (size_t)held(u >> 32, p->w - 1), x1 = (size_t)held((u >> 32) + 1, p->w - 1);
        size_t y0 = (size_t)held(v >> 32, p->h - 1), y1 = (size_t)held((v >> 32) + 1, p->h - 1), w = (size_t)p->w;

        mix(to, p->bgra + (y0 * w + x0) * 4, p->bgra + (y0 * w + x1) * 4, p->bgra + (y1 * w + x0) * 4, p->bgra + (y1 * w + x1) * 4,
            (uint64_t)(u >> 24 & 255), (uint64_t)(v >> 24 & 255), alpha);
    }
}

static const uint8_t *pixel_at(const struct layer_part *p, int64_t u, int64_t v)
{
    return p->bgra + ((size_t)(v >> 32) * (size_t)p->w + (size_t)(u >> 32)) * 4;
}

#ifdef __SSE2__
/* As mix(), its four channels in lanes of 32 bits. */
static inline __m128i mixed(const uint8_t *at, size_t row, uint32_t fx, uint32_t fy)
{
    const __m128i zero = _mm_setzero_si128();
    uint32_t both = fx * fy >> 8, low = fy - both, right = fx - both;
    __m128i upper = _mm_loadl_epi64((const __m128i *)(const void *)at), lower = _mm_loadl_epi64((const __m128i *)(const void *)(at + row));
    __m128i of_upper = _mm_set1_epi32((int)((256 - fx - low) | right << 16)), of_lower = _mm_set1_epi32((int)(low | both << 16));

    upper = _mm_unpacklo_epi8(_mm_unpacklo_epi8(upper, _mm_srli_si128(upper, 4)), zero); /* each channel beside its right neighbour's */
    lower = _mm_unpacklo_epi8(_mm_unpacklo_epi8(lower, _mm_srli_si128(lower, 4)), zero);
    upper = _mm_add_epi32(_mm_madd_epi16(upper, of_upper), _mm_madd_epi16(lower, of_lower));
    return _mm_srli_epi32(_mm_add_epi32(upper, _mm_set1_epi32(128)), 8);
}
#endif

/* Where pixels lie on pixels. */
static void copy_inside(uint8_t *to, const uint8_t *from, int n, uint8_t alpha)
{
    memcpy(to, from, (size_t)n * 4);
    for (int i = 0; i < n && alpha < 255; i++)
        to[4 * i + 3] = alpha;
}

#ifdef __SSE2__
#define ONE ((int64_t)1 << 32)
#define LEVEL ((int64_t)1 << 23) /* a fraction of a pixel that changes no weight, of 256, by a whole one */
#define ROOM 512                 /* pixels of the part that are put together at a time */

/* The two rows of a part that a row of the layer lies between, as one: n pixels. */
static void rows_mixed(uint8_t *to, const uint8_t *at, size_t row, uint32_t fy, int n)
{
    const __m128i zero = _mm_setzero_si128(), half = _mm_set1_epi16(128), of_upper = _mm_set1_epi16((short)(256 - fy)), of_lower = _mm_set1_epi16((short)fy);

    for (int i = 0; i < n; i += 2, to += 8, at += 8) { /* n is even, or the row has one more */
        __m128i upper = _mm_unpacklo_epi8(_mm_loadl_epi64((const __m128i *)(const void *)at), zero), lower = _mm_unpacklo_epi8(_mm_loadl_epi64((const __m128i *)(const void *)(at + row)), zero);
        __m128i sum = _mm_add_epi16(_mm_add_epi16(_mm_mullo_epi16(upper, of_upper), _mm_mullo_epi16(lower, of_lower)), half);

        _mm_storel_epi64((__m128i *)(void *)to, _mm_packus_epi16(_mm_srli_epi16(sum, 8), zero));
    }
}

/* The pixels of a row that is scaled and not turned: so many as come out of ROOM pixels of the part; how many they are. */
static int draw_scaled(uint8_t *to, const struct layer_part *p, int64_t u, int64_t v, int64_t du, int n, uint8_t alpha)
{
    const __m128i zero = _mm_setzero_si128(), half = _mm_set1_epi32(128), opaque = _mm_set1_epi32((int)((uint32_t)alpha << 24)), colours = _mm_set1_epi32(0x00ffffff);
    const int64_t first = u >> 32;
    const int fits = (int)((((int64_t)ROOM - 3) * ONE) / du), many = fits < n ? fits : n;
    uint8_t mixed_row[(ROOM + 2) * 4];
    int i = 0, n_px;

    if (many < 4)
        return 0;
    n_px = (int)(((u + (many - 1) * du) >> 32) - first) + 2;
    if (first + n_px + 1 > p->w)
        n_px = (int)(p->w - first) & ~1; /* in pairs, none beyond the row's end */
    rows_mixed(mixed_row, pixel_at(p, u, v), (size_t)p->w * 4, (uint32_t)(v >> 24 & 255), n_px);
    for (; i + 4 <= many && ((u + 3 * du) >> 32) - first + 2 <= n_px; i += 4, to += 16) {
        __m128i px[4], four;

        for (int k = 0; k < 4; k++, u += du) {
            const uint32_t fx = (uint32_t)(u >> 24 & 255);
            __m128i two = _mm_loadl_epi64((const __m128i *)(const void *)(mixed_row + ((u >> 32) - first) * 4));

            two = _mm_unpacklo_epi8(_mm_unpacklo_epi8(two, _mm_srli_si128(two, 4)), zero); /* each channel beside its right neighbour's */
            px[k] = _mm_srli_epi32(_mm_add_epi32(_mm_madd_epi16(two, _mm_set1_epi32((int)((256 - fx) | fx << 16))), half), 8);
        }
        four = _mm_packus_epi16(_mm_packs_epi32(px[0], px[1]), _mm_packs_epi32(px[2], px[3]));
        _mm_storeu_si128((__m128i *)(void *)to, _mm_or_si128(_mm_and_si128(four, colours), opaque));
    }
    return i;
}

/* Turned by whatever angle, four at a time; how many they are. (Places looked up four at once took a third longer.) */
static int draw_turned(uint8_t *to, const struct layer_part *p, int64_t u, int64_t v, int64_t du, int64_t dv, int n, uint8_t alpha)
{
    const __m128i opaque = _mm_set1_epi32((int)((uint32_t)alpha << 24)), colours = _mm_set1_epi32(0x00ffffff);
    const size_t row = (size_t)p->w * 4;
    int i = 0;

    for (; i + 4 <= n; i += 4, to += 16) {
        __m128i px[4], four;

        for (int k = 0; k < 4; k++, u += du, v += dv)
            px[k] = mixed(pixel_at(p, u, v), row, (uint32_t)(u >> 24 & 255), (uint32_t)(v >> 24 & 255));
        four = _mm_packus_epi16(_mm_packs_epi32(px[0], px[1]), _mm_packs_epi32(px[2], px[3]));
        _mm_storeu_si128((__m128i *)(void *)to, _mm_or_si128(_mm_and_si128(four, colours), opaque));
    }
    return i;
}
#endif

static void draw_inside(uint8_t *to, const struct layer_part *p, int64_t u, int64_t v, int64_t du, int64_t dv, int n, uint8_t alpha)
{
    size_t row = (size_t)p->w * 4;
    int i = 0;

    if (du == fixed(1) && dv == 0 && (u >> 24 & 255) == 0 && (v >> 24 & 255) == 0) {
        copy_inside(to, pixel_at(p, u, v), n, alpha);
        return;
    }
#ifdef __SSE2__
    const bool level = llabs(dv) * n < LEVEL;

    for (int did = 1; level && du > 0 && du < 4 * ONE && i < n && did > 0; i += did)
        did = draw_scaled(to + (size_t)i * 4, p, u + i * du, v, du, n - i, alpha);
    if (i == 0)
        i = draw_turned(to, p, u, v, du, dv, n, alpha);
#endif
    to += (size_t)i * 4;
    u += i * du;
    v += i * dv;
    for (; i < n; i++, to += 4, u += du, v += dv) {
        const uint8_t *at = pixel_at(p, u, v);

        mix(to, at, at + 4, at + row, at + row + 4, (uint64_t)(u >> 24 & 255), (uint64_t)(v >> 24 & 255), alpha);
    }
}

static void draw_span(uint8_t *row, const struct layer_part *p, const struct walk *k, double u, double v, struct gap g, uint8_t alpha)
{
    /* Half a pixel: the middle of the outermost; a little more, so that rounding reaches nothing outside. */
    struct gap in = covered(p, u, v, k, g, 0.5 + 1e-6);
    int64_t du = fixed(k->ux), dv = fixed(k->vx);
    int ends[4] = {g.from, in.from, in.to, g.to};

    if (in.to <= in.from)
        ends[1] = ends[2] = g.to;
    for (int i = 0; i < 3; i++) {
        int64_t fu = fixed(u - 0.5 + ends[i] * k->ux), fv = fixed(v - 0.5 + ends[i] * k->vx);

        if (ends[i + 1] > ends[i])
            (i == 1 ? draw_inside : draw_edge)(row + (size_t)ends[i] * 4, p, fu, fv, du, dv, ends[i + 1] - ends[i], alpha);
    }
}

bool layer_compose(uint8_t *to, size_t pitch, int w, int h, const struct layer_part *parts, size_t n, uint8_t alpha)
{
    struct walk *walks = mem_alloc(n + 1, sizeof *walks);
    struct gap *gaps = mem_alloc(2 * (n + 2), sizeof *gaps), *left = gaps + n + 2; /* as they are, as they will be */
    bool all = true;

    for (size_t i = 0; i < n; i++) {
        assert(parts[i].w > 0 && parts[i].h > 0 && parts[i].w <= LAYER_MAX_SIDE && parts[i].h <= LAYER_MAX_SIDE);
        walks[i] = walk_of(&parts[i], h);
    }
    for (int y = 0; y < h; y++) {
        uint8_t *row = to + (size_t)y * pitch;
        size_t n_gaps = 1;

        gaps[0] = (struct gap){0, w};
        for (size_t i = n; i-- > 0 && n_gaps > 0;) {
            const struct walk *k = &walks[i];
            double u = k->u0 + y * k->uy, v = k->v0 + y * k->vy;
            size_t n_left = 0;
            struct gap g;

            if (y < k->top || y >= k->bottom)
                continue;
            g = covered(&parts[i], u, v, k, (struct gap){0, w}, -1e-6); /* the line between two tiles is in both, lest rounding leave it to none */
            for (size_t q = 0; q < n_gaps; q++) {
                struct gap here = {g.from > gaps[q].from ? g.from : gaps[q].from, g.to < gaps[q].to ? g.to : gaps[q].to};

                if (here.to <= here.from) {
                    left[n_left++] = gaps[q];
                    continue;
                }
                draw_span(row, &parts[i], k, u, v, here, alpha);
                if (here.from > gaps[q].from)
                    left[n_left++] = (struct gap){gaps[q].from, here.from};
                if (here.to < gaps[q].to)
                    left[n_left++] = (struct gap){here.to, gaps[q].to};
            }
            memcpy(gaps, left, n_left * sizeof *gaps);
            n_gaps = n_left;
        }
        all = all && n_gaps == 0;
        for (size_t q = 0; q < n_gaps; q++)
            memset(row + (size_t)gaps[q].from * 4, 0, (size_t)(gaps[q].to - gaps[q].from) * 4);
    }
    free(walks);
    free(gaps);
    return all;
}

static void lay_pixel_over(uint8_t *lower, const uint8_t *upper)
{
    uint64_t share = upper[3] + (upper[3] >> 7u), sum; /* of 256 */
    uint32_t v;

    if (upper[3] == 0)
        return;
    if (lower[3] == 0) {
        memcpy(lower, upper, 4);
        return;
    }
    sum = (spread(lower) * (256 - share) + spread(upper) * share + 0x0080008000800080u) >> 8 & LANES;
    v = (uint32_t)(sum | sum >> 24);
    memcpy(lower, &v, sizeof v);
    lower[3] = 255;
}

#ifdef __SSE2__
/* Four at once, where they have one share and lie on something; false else. */
static inline bool lay_four_over(uint8_t *lower, const uint8_t *upper)
{
    const __m128i zero = _mm_setzero_si128();
    __m128i u = _mm_loadu_si128((const __m128i *)(const void *)upper), l = _mm_loadu_si128((const __m128i *)(const void *)lower);
    __m128i alpha = _mm_srli_epi32(u, 24), share, rest, half = _mm_set1_epi16(128), sum[2];
    int of_256 = upper[3] + (upper[3] >> 7);

    if (upper[3] == 0 || _mm_movemask_epi8(_mm_cmpeq_epi32(alpha, _mm_set1_epi32(upper[3]))) != 0xffff || _mm_movemask_epi8(_mm_cmpeq_epi32(_mm_srli_epi32(l, 24), zero)) != 0)
        return false;
    share = _mm_set1_epi16((short)of_256);
    rest = _mm_set1_epi16((short)(256 - of_256));
    sum[0] = _mm_add_epi16(_mm_mullo_epi16(_mm_unpacklo_epi8(l, zero), rest), _mm_mullo_epi16(_mm_unpacklo_epi8(u, zero), share));
    sum[1] = _mm_add_epi16(_mm_mullo_epi16(_mm_unpackhi_epi8(l, zero), rest), _mm_mullo_epi16(_mm_unpackhi_epi8(u, zero), share));
    for (int k = 0; k < 2; k++)
        sum[k] = _mm_srli_epi16(_mm_add_epi16(sum[k], half), 8);
    _mm_storeu_si128((__m128i *)(void *)lower, _mm_or_si128(_mm_packus_epi16(sum[0], sum[1]), _mm_set1_epi32((int)0xff000000u)));
    return true;
}
#endif

void layer_lay_over(uint8_t *to, size_t pitch, const uint8_t *from, size_t from_pitch, int w, int h)
{
    for (int y = 0; y < h; y++) {
        uint8_t *lower = to + (size_t)y * pitch;
        const uint8_t *upper = from + (size_t)y * from_pitch;
        int x = 0;

        while (x < w) {
#ifdef __SSE2__
            if (x + 4 <= w && lay_four_over(lower + (size_t)x * 4, upper + (size_t)x * 4)) {
                x += 4;
                continue;
            }
#endif
            lay_pixel_over(lower + (size_t)x * 4, upper + (size_t)x * 4);
            x++;
        }
    }
}
