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

static inline channels channels_of(const uint8_t *q)
{
#ifdef __SSE2__ /* gcc 12 takes each byte out singly, four times as slowly */
    __m128i zero = _mm_setzero_si128();

    return (channels)_mm_cvtepi32_ps(_mm_unpacklo_epi16(_mm_unpacklo_epi8(_mm_loadu_si32(q), zero), zero));
#else
    return (channels){(float)q[0], (float)q[1], (float)q[2], (float)q[3]};
#endif
}

/* A place: x and y. */
typedef double place __attribute__((vector_size(16)));

/* What is seen at a place of which is known that it lies inside. */
static inline channels sample(const struct gauge_picture *p, place at)
{
#ifdef __SSE2__
    __m128i whole = _mm_cvttpd_epi32((__m128d)at);
    __m128 part = _mm_cvtpd_ps(_mm_sub_pd((__m128d)at, _mm_cvtepi32_pd(whole)));
    int ix = _mm_cvtsi128_si32(whole), iy = _mm_cvtsi128_si32(_mm_srli_si128(whole, 4));
    float fx = _mm_cvtss_f32(part), fy = _mm_cvtss_f32(_mm_shuffle_ps(part, part, 1));
#else
    int ix = (int)at[0], iy = (int)at[1];
    float fx = (float)(at[0] - ix), fy = (float)(at[1] - iy);
#endif
    float w3 = fx * fy, w2 = fy - w3, w1 = fx - w3;
    const uint8_t *q = p->rgba + 4 * ((size_t)iy * (size_t)p->width + (size_t)ix), *r = q + 4 * (size_t)p->width;

    return (1 - fx - w2) * channels_of(q) + w1 * channels_of(q + 4) + w2 * channels_of(r) + w3 * channels_of(r + 4);
}

static inline bool inside(place at, place least, place most)
{
#ifdef __SSE2__
    return _mm_movemask_pd(_mm_and_pd(_mm_cmpge_pd((__m128d)at, (__m128d)least), _mm_cmplt_pd((__m128d)at, (__m128d)most))) == 3;
#else
    return at[0] >= least[0] && at[1] >= least[1] && at[0] < most[0] && at[1] < most[1];
#endif
}

bool gauge_strip_cut(const struct gauge_picture *p, const struct gauge_frame *f, double s0, double s1, double t0, double t1,
                     double step_s, double step_t, struct gauge_strip *out, struct err *e)
{
    enum { MOST = 8 };
    int k = (int)ceil(fmin(fmax(step_s, step_t), MOST));
    const place least = {0, 0}, most = {p->width - 1, p->height - 1};

    memset(out, 0, sizeof *out);
    out->n_s = (int)floor((s1 - s0) / step_s) + 1;
    out->n_t = (int)floor((t1 - t0) / step_t) + 1;
    out->s0 = s0, out->t0 = t0, out->step_s = step_s, out->step_t = step_t;
    out->rgb = mem_try((size_t)out->n_s * (size_t)out->n_t, sizeof *out->rgb);
    out->seen = mem_try((size_t)out->n_t, sizeof *out->seen);
    if (!out->rgb || !out->seen) {
        gauge_strip_release(out);
        return err_set(e, ERR_LIMIT, "There is not enough memory to measure along a line this long. Use a smaller copy of the photo.");
    }
    for (int j = 0; j < out->n_t; j++) {
        place across[MOST] = {{0}};

        for (int b = 0; b < k; b++) {
            double t = t0 + (j + (b + 0.5) / k - 0.5) * step_t;

            across[b] = (place){-(t * f->uy), t * f->ux};
        }
        out->seen[j] = true;
        for (int i = 0; i < out->n_s; i++) {
            channels sum = {0};
            float *v = out->rgb[(size_t)j * (size_t)out->n_s + (size_t)i];

            for (int a = 0; a < k; a++) {
                double s = s0 + (i + (a + 0.5) / k - 0.5) * step_s;
                place along = {f->origin.x - 0.5 + s * f->ux, f->origin.y - 0.5 + s * f->uy};

                for (int b = 0; b < k; b++) {
                    place at = along + across[b];

                    if (inside(at, least, most))
                        sum += sample(p, at);
                    else
                        out->seen[j] = false;
                }
            }
            for (int c = 0; c < 3; c++)
                v[c] = sum[c] / (float)(k * k);
        }
    }
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
