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

/* Orthonormal trend and harmonics over n_s samples; window falls to 0 at the ends so that a turn cut
 * through weighs little. */
static void make_basis(int n_s, double step, double period, double (*q)[TERMS])
{
    for (int i = 0; i < n_s; i++) {
        double x = 2.0 * i / (n_s - 1) - 1, w = 0.15 + 0.85 * cos(x * PI / 2) * cos(x * PI / 2), a = 2 * PI * i * step / period;

        q[i][0] = w, q[i][1] = w * x, q[i][2] = w * x * x, q[i][3] = w * x * x * x;
        for (int k = 0; period > 0 && k < HARMONICS; k++)
            q[i][TREND + 2 * k] = w * cos((k + 1) * a), q[i][TREND + 2 * k + 1] = w * sin((k + 1) * a);
    }
    for (int k = 0; k < (period > 0 ? TERMS : TREND); k++) {
        double norm = 0;

        for (int pass = 0; pass < 2; pass++)
            for (int m = 0; m < k; m++) {
                double dot = 0;

                for (int i = 0; i < n_s; i++)
                    dot += q[i][k] * q[i][m];
                for (int i = 0; i < n_s; i++)
                    q[i][k] -= dot * q[i][m];
            }
        for (int i = 0; i < n_s; i++)
            norm += q[i][k] * q[i][k];
        norm = norm > 1e-9 ? 1 / sqrt(norm) : 0;
        for (int i = 0; i < n_s; i++)
            q[i][k] *= norm;
    }
}

bool gauge_rows_cut(const struct gauge_picture *p, const struct gauge_frame *f, double half_s, double t0, double t1, double step, double step_t,
                     struct gauge_rows *out, struct err *e)
{
    struct gauge_strip strip;
    double (*q)[TERMS];

    memset(out, 0, sizeof *out);
    if (!gauge_strip_cut(p, f, -half_s, half_s, t0, t1, step, step_t, &strip, e))
        return false;
    *out = (struct gauge_rows){strip.n_t, strip.n_s, step, t0, step_t, mem_alloc((size_t)strip.n_t * (size_t)strip.n_s, sizeof(float)),
                         mem_alloc((size_t)strip.n_t, sizeof(double))};
    q = mem_alloc((size_t)strip.n_s, sizeof *q);
    make_basis(strip.n_s, step, 0, q);
    for (int j = 0; j < strip.n_t; j++) {
        float *v = out->v + (size_t)j * (size_t)strip.n_s;
        double dot[TREND] = {0}, left = 0;

        if (!strip.seen[j])
            continue;
        for (int i = 0; i < strip.n_s; i++) {
            const float *c = strip.rgb[(size_t)j * (size_t)strip.n_s + (size_t)i];
            double x = 2.0 * i / (strip.n_s - 1) - 1, w = 0.15 + 0.85 * cos(x * PI / 2) * cos(x * PI / 2);

            v[i] = (float)(w * (0.3 * c[0] + 0.59 * c[1] + 0.11 * c[2]));
            for (int k = 0; k < TREND; k++)
                dot[k] += q[i][k] * v[i];
        }
        for (int i = 0; i < strip.n_s; i++) {
            for (int k = 0; k < TREND; k++)
                v[i] -= (float)(dot[k] * q[i][k]);
            left += (double)v[i] * v[i];
        }
        out->total[j] = left + 0.1 * strip.n_s; /* under a third of a grey level is no pattern */
    }
    free(q);
    gauge_strip_release(&strip);
    return true;
}

void gauge_rows_release(struct gauge_rows *r)
{
    free(r->v);
    free(r->total);
}

void gauge_rows_explain(const struct gauge_rows *r, double period, double *share)
{
    double (*q)[TERMS] = mem_alloc((size_t)r->n_s, sizeof *q);

    make_basis(r->n_s, r->step, period, q);
    for (int j = 0; j < r->n; j++) {
        const float *v = r->v + (size_t)j * (size_t)r->n_s;
        double dot[TERMS] = {0}, sum = 0;

        share[j] = 0;
        if (r->total[j] <= 0)
            continue;
        for (int i = 0; i < r->n_s; i++)
            for (int k = TREND; k < TERMS; k++)
                dot[k] += q[i][k] * v[i];
        for (int k = TREND; k < TERMS; k++)
            sum += dot[k] * dot[k];
        share[j] = sum / r->total[j];
    }
    free(q);
}

void gauge_rows_periods(const struct gauge_rows *r, double period, double *best, double *share)
{
    enum { STEPS = 61 };
    double *all = mem_alloc((size_t)r->n * STEPS, sizeof *all), *one = mem_alloc((size_t)r->n, sizeof *one);

    for (int k = 0; k < STEPS; k++) {
        gauge_rows_explain(r, period * (1 + 0.002 * (k - STEPS / 2)), one);
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
}
