#include "gauge/gauge_strip.h"

#ifdef __SSE2__
#include <emmintrin.h>
#endif
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"

/* A pixel's four channels, worked on at once: a reading looks at some ten million places. */
typedef float channels __attribute__((vector_size(16)));

/* A place: x and y. */
typedef double place __attribute__((vector_size(16)));

enum { MOST = 8, CHUNK = MOST * MOST }; /* samples each way for one of the strip; places looked up at once */

/* Places of which is known that they lie inside: the pixel at each one's upper left, and the shares of the four about it. */
struct looked_up {
    size_t at[CHUNK]; /* of the pixels */
    float w[4][CHUNK];
};

#ifdef __SSE2__
/* Of two places: their pixels' columns and rows, and how far they lie past those. */
static inline void split(__m128d v, __m128i *whole, __m128 *part)
{
    *whole = _mm_cvttpd_epi32(v);
    *part = _mm_cvtpd_ps(_mm_sub_pd(v, _mm_cvtepi32_pd(*whole)));
}
#endif

/* n is a multiple of four. */
static inline void look_up(const place *v, int n, size_t width, struct looked_up *to)
{
#ifdef __SSE2__
    for (int m = 0; m < n; m += 4) {
        __m128i x[2], y[2];
        __m128 fx[2], fy[2], w0, w1, w2, w3, u, t;
        int32_t column[4], row[4];

        for (int h = 0; h < 2; h++) {
            const __m128d a = (__m128d)v[m + 2 * h], b = (__m128d)v[m + 2 * h + 1];

            split(_mm_unpacklo_pd(a, b), &x[h], &fx[h]);
            split(_mm_unpackhi_pd(a, b), &y[h], &fy[h]);
        }
        _mm_storeu_si128((__m128i *)(void *)column, _mm_unpacklo_epi64(x[0], x[1]));
        _mm_storeu_si128((__m128i *)(void *)row, _mm_unpacklo_epi64(y[0], y[1]));
        u = _mm_movelh_ps(fx[0], fx[1]), t = _mm_movelh_ps(fy[0], fy[1]);
        w3 = _mm_mul_ps(u, t), w2 = _mm_sub_ps(t, w3), w1 = _mm_sub_ps(u, w3), w0 = _mm_sub_ps(_mm_sub_ps(_mm_set1_ps(1), u), w2);
        _mm_storeu_ps(to->w[0] + m, w0), _mm_storeu_ps(to->w[1] + m, w1), _mm_storeu_ps(to->w[2] + m, w2), _mm_storeu_ps(to->w[3] + m, w3);
        for (int h = 0; h < 4; h++)
            to->at[m + h] = (size_t)(unsigned)row[h] * width + (size_t)(unsigned)column[h];
    }
#else
    for (int m = 0; m < n; m++) {
        int ix = (int)v[m][0], iy = (int)v[m][1];
        float fx = (float)(v[m][0] - ix), fy = (float)(v[m][1] - iy), w3 = fx * fy, w2 = fy - w3;

        to->at[m] = (size_t)iy * width + (size_t)ix;
        to->w[0][m] = 1 - fx - w2, to->w[1][m] = fx - w3, to->w[2][m] = w2, to->w[3][m] = w3;
    }
#endif
}

/* Of a pixel and its right neighbour. */
static inline void two_pixels(const uint8_t *q, channels out[2])
{
#ifdef __SSE2__ /* gcc 12 takes each byte out singly, four times as slowly */
    const __m128i zero = _mm_setzero_si128(), both = _mm_unpacklo_epi8(_mm_loadl_epi64((const __m128i *)(const void *)q), zero);

    out[0] = (channels)_mm_cvtepi32_ps(_mm_unpacklo_epi16(both, zero)), out[1] = (channels)_mm_cvtepi32_ps(_mm_unpackhi_epi16(both, zero));
#else
    for (int k = 0; k < 2; k++)
        out[k] = (channels){(float)q[4 * k], (float)q[4 * k + 1], (float)q[4 * k + 2], (float)q[4 * k + 3]};
#endif
}

static inline channels sample(const struct gauge_picture *p, const struct looked_up *l, int m)
{
    const uint8_t *q = p->rgba + 4 * l->at[m];
    channels upper[2], lower[2];

    two_pixels(q, upper), two_pixels(q + 4 * (size_t)p->width, lower);
    return l->w[0][m] * upper[0] + l->w[1][m] * upper[1] + l->w[2][m] * lower[0] + l->w[3][m] * lower[1];
}

static inline bool inside(place at, place least, place most)
{
#ifdef __SSE2__
    return _mm_movemask_pd(_mm_and_pd(_mm_cmpge_pd((__m128d)at, (__m128d)least), _mm_cmplt_pd((__m128d)at, (__m128d)most))) == 3;
#else
    return at[0] >= least[0] && at[1] >= least[1] && at[0] < most[0] && at[1] < most[1];
#endif
}

/* How a strip is looked at: k samples each way for one of its own. */
struct cut {
    const struct gauge_picture *p;
    int k, n_s;
    place least, most; /* of the picture */
    place *along;      /* of the row through the origin, k for each sample */
};

/* One sample of a strip from `each` of the picture. */
static inline void put_mean(channels sum, int each, float to[3])
{
    if (each > 1)
        sum /= (channels){(float)each, (float)each, (float)each, (float)each};
    to[0] = sum[0], to[1] = sum[1], to[2] = sum[2];
}

/* A row that lies wholly inside. */
static void cut_inside(const struct cut *c, const place *across, float (*to)[3])
{
    const int each = c->k * c->k, at_once = CHUNK / each;
    struct looked_up l;
    place v[CHUNK] = {{0}};

    for (int from = 0, n; from < c->n_s; from += n) {
        int m = 0;

        n = c->n_s - from < at_once ? c->n_s - from : at_once;
        for (int i = from * c->k; i < (from + n) * c->k; i++)
            for (int b = 0; b < c->k; b++)
                v[m++] = c->along[i] + across[b];
        look_up(v, (m + 3) / 4 * 4, (size_t)c->p->width, &l);
        m = 0;
        for (int i = 0; i < n; i++) {
            channels sum = {0};

            for (int q = 0; q < each; q++)
                sum += sample(c->p, &l, m++);
            put_mean(sum, each, to[from + i]);
        }
    }
}

/* A row that leaves the picture: what is outside counts as black. */
static void cut_outside(const struct cut *c, const place *across, float (*to)[3])
{
    for (int i = 0; i < c->n_s; i++) {
        channels sum = {0};

        for (int a = 0; a < c->k; a++)
            for (int b = 0; b < c->k; b++) {
                place at[4] = {c->along[i * c->k + a] + across[b]};
                struct looked_up l;

                if (!inside(at[0], c->least, c->most))
                    continue;
                look_up(at, 4, (size_t)c->p->width, &l);
                sum += sample(c->p, &l, 0);
            }
        put_mean(sum, c->k * c->k, to[i]);
    }
}

/* Whether all samples of a row lie inside: its outermost do. */
static bool row_inside(const struct cut *c, const place *across)
{
    const place *first = c->along, *last = c->along + (size_t)c->n_s * (size_t)c->k - 1;
    bool fine = true;

    for (int b = 0; b < c->k; b += c->k > 1 ? c->k - 1 : 1)
        fine = fine && inside(*first + across[b], c->least, c->most) && inside(*last + across[b], c->least, c->most);
    return fine;
}

bool gauge_strip_cut(const struct gauge_picture *p, const struct gauge_frame *f, double s0, double s1, double t0, double t1,
                     double step_s, double step_t, bool whole_rows, struct gauge_strip *out, struct err *e)
{
    struct cut c = {.p = p, .k = (int)ceil(fmin(fmax(step_s, step_t), MOST)), .least = {0, 0}, .most = {p->width - 1, p->height - 1}};

    memset(out, 0, sizeof *out);
    out->n_s = c.n_s = (int)floor((s1 - s0) / step_s) + 1;
    out->n_t = (int)floor((t1 - t0) / step_t) + 1;
    out->s0 = s0, out->t0 = t0, out->step_s = step_s, out->step_t = step_t;
    out->rgb = mem_try((size_t)out->n_s * (size_t)out->n_t, sizeof *out->rgb);
    out->seen = mem_try((size_t)out->n_t, sizeof *out->seen);
    c.along = mem_try((size_t)out->n_s * (size_t)c.k, sizeof *c.along);
    if (!out->rgb || !out->seen || !c.along) {
        free(c.along);
        gauge_strip_release(out);
        return err_set(e, ERR_LIMIT, "There is not enough memory to measure along a line this long. Use a smaller copy of the photo.");
    }
    for (int i = 0; i < c.n_s * c.k; i++) {
        double s = s0 + (i / c.k + (i % c.k + 0.5) / c.k - 0.5) * step_s; /* int / int: which sample */

        c.along[i] = (place){f->origin.x - 0.5 + s * f->ux, f->origin.y - 0.5 + s * f->uy};
    }
    for (int j = 0; j < out->n_t; j++) {
        float(*to)[3] = out->rgb + (size_t)j * (size_t)out->n_s;
        place across[MOST] = {{0}};

        for (int b = 0; b < c.k; b++) {
            double t = t0 + (j + (b + 0.5) / c.k - 0.5) * step_t;

            across[b] = (place){-(t * f->uy), t * f->ux};
        }
        out->seen[j] = row_inside(&c, across);
        if (out->seen[j])
            cut_inside(&c, across, to);
        else if (!whole_rows)
            cut_outside(&c, across, to);
    }
    free(c.along);
    return true;
}

void gauge_strip_release(struct gauge_strip *s)
{
    free(s->rgb);
    free(s->seen);
    memset(s, 0, sizeof *s);
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

double gauge_median(double *v, int n)
{
    qsort(v, (size_t)n, sizeof *v, by_value);
    return n % 2 ? v[n / 2] : (v[n / 2 - 1] + v[n / 2]) / 2;
}

/* The value that would stand at k were v sorted; moves them about. Hoare's method. */
static float select_step(float *v, size_t n, size_t k)
{
    size_t from = 0, to = n;

    while (to - from > 1) {
        float pivot = v[from + (to - from - 1) / 2]; /* the lower middle: the part before it is never all there is */
        size_t a = from, b = to - 1;

        for (;;) {
            while (v[a] < pivot)
                a++;
            while (v[b] > pivot)
                b--;
            if (a >= b)
                break;
            float swap = v[a];

            v[a++] = v[b], v[b--] = swap;
        }
        if (k <= b)
            to = b + 1;
        else
            from = b + 1;
    }
    return v[k];
}

void gauge_clearness(float *step, size_t n, float times, float least)
{
    float *copy = mem_alloc(n + 1, sizeof *copy), unit;

    memcpy(copy, step, n * sizeof *copy);
    unit = fmaxf(times * select_step(copy, n, n / 2), least);
    for (size_t i = 0; i < n; i++) {
        float x = step[i] / unit;

        step[i] = x * x / (1 + x * x);
    }
    free(copy);
}
