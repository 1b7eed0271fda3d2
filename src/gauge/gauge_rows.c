#include "gauge/gauge_rows.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "gauge/gauge_strip.h"

#define PI 3.14159265358979323846
#define HARMONICS 3
#define TREND 4 /* a cubic */
#define TERMS (TREND + 2 * HARMONICS)

/* Two at once; each of a sum's halves waits for itself alone. */
typedef double pair __attribute__((vector_size(16)));

/* Trend and harmonics over n_s samples, each term's beside each other; `stride` pairs a term, filled up with 0. The window falls to 0 at
 * the ends so that a turn cut through weighs little. */
struct basis {
    int n_s, stride;
    double *window;
    pair *terms;
};

static double *term(const struct basis *b, int k)
{
    return (double *)(b->terms + (size_t)k * (size_t)b->stride);
}

static double dot_of(const pair *a, const pair *b, int n)
{
    pair sum[2] = {{0}};

    for (int i = 0; i < n; i += 2)
        sum[0] += a[i] * b[i], sum[1] += a[i + 1] * b[i + 1];
    sum[0] += sum[1];
    return sum[0][0] + sum[0][1];
}

/* Makes terms from .. to orthonormal to each other and to those before. */
static void orthonormal(struct basis *b, int from, int to)
{
    const int n = b->stride;

    for (int k = from; k < to; k++) {
        pair *own = b->terms + (size_t)k * (size_t)n;
        double norm;

        for (int pass = 0; pass < 2; pass++)
            for (int m = 0; m < k; m++) {
                const pair *other = b->terms + (size_t)m * (size_t)n;
                const double dot = dot_of(own, other, n);

                for (int i = 0; i < n; i++)
                    own[i] -= dot * other[i];
            }
        norm = dot_of(own, own, n);
        norm = norm > 1e-9 ? 1 / sqrt(norm) : 0;
        for (int i = 0; i < n; i++)
            own[i] *= norm;
    }
}

static struct basis basis_of_trend(int n_s)
{
    struct basis b = {n_s, (n_s + 3) / 4 * 2, mem_alloc((size_t)n_s, sizeof(double)), NULL};

    b.terms = mem_alloc((size_t)b.stride * TERMS, sizeof *b.terms);
    for (int i = 0; i < n_s; i++) {
        double x = 2.0 * i / (n_s - 1) - 1, w = 0.15 + 0.85 * cos(x * PI / 2) * cos(x * PI / 2);

        b.window[i] = w;
        term(&b, 0)[i] = w, term(&b, 1)[i] = w * x, term(&b, 2)[i] = w * x * x, term(&b, 3)[i] = w * x * x * x;
    }
    orthonormal(&b, 0, TREND);
    return b;
}

/* The harmonics of a period, beside the trend. */
static void add_period(struct basis *b, double step, double period)
{
    double *h[2 * HARMONICS];

    for (int k = 0; k < 2 * HARMONICS; k++)
        h[k] = term(b, TREND + k);
    for (int i = 0; i < b->n_s; i++) {
        const double a = 2 * PI * i * step / period, c = cos(a), s = sin(a), w = b->window[i], c2 = c * c - s * s, s2 = 2 * c * s;

        h[0][i] = w * c, h[1][i] = w * s, h[2][i] = w * c2, h[3][i] = w * s2;
        h[4][i] = w * (c2 * c - s2 * s), h[5][i] = w * (s2 * c + c2 * s);
    }
    orthonormal(b, TREND, TERMS);
}

static void basis_release(struct basis *b)
{
    free(b->window);
    free(b->terms);
}

bool gauge_rows_cut(const struct gauge_picture *p, const struct gauge_frame *f, double half_s, double t0, double t1, double step, double step_t,
                     struct gauge_rows *out, struct err *e)
{
    struct gauge_strip strip;
    struct basis b;

    memset(out, 0, sizeof *out);
    if (!gauge_strip_cut(p, f, -half_s, half_s, t0, t1, step, step_t, true, &strip, e))
        return false;
    *out = (struct gauge_rows){strip.n_t, strip.n_s, step, t0, step_t, mem_alloc((size_t)strip.n_t * (size_t)strip.n_s, sizeof(float)),
                         mem_alloc((size_t)strip.n_t, sizeof(double))};
    b = basis_of_trend(strip.n_s);
    for (int j = 0; j < strip.n_t; j++) {
        float *v = out->v + (size_t)j * (size_t)strip.n_s;
        double dot[TREND] = {0}, left = 0;

        if (!strip.seen[j])
            continue;
        for (int i = 0; i < strip.n_s; i++) {
            const float *c = strip.rgb[(size_t)j * (size_t)strip.n_s + (size_t)i];

            v[i] = (float)(b.window[i] * (0.3 * c[0] + 0.59 * c[1] + 0.11 * c[2]));
            for (int k = 0; k < TREND; k++)
                dot[k] += term(&b, k)[i] * v[i];
        }
        for (int i = 0; i < strip.n_s; i++) {
            for (int k = 0; k < TREND; k++)
                v[i] -= (float)(dot[k] * term(&b, k)[i]);
            left += (double)v[i] * v[i];
        }
        out->total[j] = left + 0.1 * strip.n_s; /* under a third of a grey level is no pattern */
    }
    basis_release(&b);
    gauge_strip_release(&strip);
    return true;
}

void gauge_rows_release(struct gauge_rows *r)
{
    free(r->v);
    free(r->total);
}

/* The rows as pairs, as long as a term each. */
static pair *widen(const struct gauge_rows *r, const struct basis *b)
{
    pair *wide = mem_alloc((size_t)r->n * (size_t)b->stride, sizeof *wide);

    for (int j = 0; j < r->n; j++) {
        double *one = (double *)(wide + (size_t)j * (size_t)b->stride);
        const float *v = r->v + (size_t)j * (size_t)r->n_s;

        for (int i = 0; i < r->n_s; i++)
            one[i] = (double)v[i];
    }
    return wide;
}

/* Squares of a row's parts along the harmonics, each as dot_of() has it; beside each other, so that a row is read once. */
static double harmonics_in(const pair *row, const struct basis *b)
{
    const pair *t = b->terms + (size_t)TREND * (size_t)b->stride;
    pair even[2 * HARMONICS] = {{0}}, odd[2 * HARMONICS] = {{0}};
    const int n = b->stride;
    double sum = 0;

    for (int i = 0; i < n; i += 2)
        for (int k = 0; k < 2 * HARMONICS; k++)
            even[k] += row[i] * t[k * n + i], odd[k] += row[i + 1] * t[k * n + i + 1];
    for (int k = 0; k < 2 * HARMONICS; k++) {
        double dot;

        even[k] += odd[k];
        dot = even[k][0] + even[k][1];
        sum += dot * dot;
    }
    return sum;
}

static void explain(const struct gauge_rows *r, struct basis *b, const pair *wide, double period, double *share)
{
    add_period(b, r->step, period);
    for (int j = 0; j < r->n; j++)
        share[j] = r->total[j] > 0 ? harmonics_in(wide + (size_t)j * (size_t)b->stride, b) / r->total[j] : 0;
}

void gauge_rows_explain(const struct gauge_rows *r, double period, double *share)
{
    struct basis b = basis_of_trend(r->n_s);
    pair *wide = widen(r, &b);

    explain(r, &b, wide, period, share);
    free(wide);
    basis_release(&b);
}

void gauge_rows_periods(const struct gauge_rows *r, double period, double *best, double *share)
{
    enum { STEPS = 61 };
    double *all = mem_alloc((size_t)r->n * STEPS, sizeof *all), *one = mem_alloc((size_t)r->n, sizeof *one);
    struct basis b = basis_of_trend(r->n_s);
    pair *wide = widen(r, &b);

    for (int k = 0; k < STEPS; k++) {
        explain(r, &b, wide, period * (1 + 0.002 * (k - STEPS / 2)), one);
        for (int j = 0; j < r->n; j++)
            all[(size_t)j * STEPS + (size_t)k] = one[j];
    }
    for (int j = 0; j < r->n; j++) {
        const double *a = all + (size_t)j * STEPS;
        int top = 0;

        for (int k = 1; k < STEPS; k++)
            if (a[k] > a[top])
                top = k;
        share[j] = a[top];
        best[j] = 0;
        if (top > 0 && top < STEPS - 1) {
            double bend = a[top - 1] - 2 * a[top] + a[top + 1], off = bend < 0 ? 0.5 * (a[top - 1] - a[top + 1]) / bend : 0;

            best[j] = period * (1 + 0.002 * (top + off - STEPS / 2));
        }
    }
    free(all);
    free(one);
    free(wide);
    basis_release(&b);
}
