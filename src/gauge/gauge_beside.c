#include "gauge/gauge_beside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"

#define PER_MM 32.0
#define REACH_MM 0.5    /* an end is looked for this far either way */
#define INSIDE_MM 0.28  /* metal looked at behind it */
#define OPEN_MM 0.12    /* gap looked at before it */
#define BAND_MM 0.12    /* of rows joined: soot is patchy at this size */
#define CLEAR_MM 0.22   /* from the metal's side to the bench looked at */
#define WIDE_MM 0.3     /* of that bench, twice */
#define LEAST 5.0       /* grey levels */
#define RAGGED_MM 0.15  /* farther out than the end is taken to be */
#define NOISE 2.5       /* times what the bench differs from itself by */

static double differ(const float a[3], const float b[3])
{
    double r = (double)(a[0] - b[0]), g = (double)(a[1] - b[1]), l = (double)(a[2] - b[2]);

    return sqrt(0.3 * r * r + 0.5 * g * g + 0.2 * l * l);
}

/* Mean colour over rows t0..t1 (mm) at every sample along. False when none of them is seen. */
static bool rows_mean(const struct gauge_strip *s, double mm, double t0, double t1, float (*out)[3])
{
    int from = (int)ceil((t0 * mm - s->t0) / s->step_t), to = (int)floor((t1 * mm - s->t0) / s->step_t), n = 0;

    memset(out, 0, (size_t)s->n_s * sizeof *out);
    for (int j = from < 0 ? 0 : from; j <= to && j < s->n_t; j++) {
        if (!s->seen[j])
            continue;
        n++;
        for (int i = 0; i < s->n_s; i++)
            for (int c = 0; c < 3; c++)
                out[i][c] += s->rgb[(size_t)j * (size_t)s->n_s + (size_t)i][c];
    }
    for (int i = 0; i < s->n_s && n > 0; i++)
        for (int c = 0; c < 3; c++)
            out[i][c] /= (float)n;
    return n > 0;
}

/* Colour of a band in the middle of the gap, or as near to it as the strip reaches. */
static void middle_of(float (*band)[3], int n, double gap_mm, double open, float out[3])
{
    int at = (int)fmax(0, (open - gap_mm / 2) * PER_MM), from = at < 2 ? 0 : at - 2, to = at + 2 < n ? at + 2 : n - 1;

    for (int c = 0; c < 3; c++) {
        out[c] = 0;
        for (int i = from; i <= to; i++)
            out[c] += band[i][c] / (float)(to - from + 1);
    }
}

/* Where one band's difference from the bench rises half way, in samples; -1 where it stays within `noise`. Samples run from the
 * gap into the metal. */
static double rise(const double *d, int n, double noise, int open, int inside)
{
    for (int i = open; i + inside < n; i++) {
        double metal[64], before = 0, half;
        int m = 0;

        if (d[i] < noise)
            continue;
        for (int k = i + 2; k <= i + inside && m < 64; k++)
            metal[m++] = d[k];
        half = gauge_median(metal, m);
        if (half < noise) /* a speck */
            continue;
        for (int k = i - open; k < i; k++)
            before += d[k] / open;
        half = (half + fmin(before, noise)) / 2;
        for (int k = i; k < i + inside; k++)
            if (d[k] >= half)
                return d[k] > d[k - 1] && d[k - 1] < half ? k - (d[k] - half) / (d[k] - d[k - 1]) : k;
        return i;
    }
    return -1;
}

void gauge_beside_read(const struct gauge_picture *p, const struct gauge_frame *f, double mm, const struct gauge_beside_end *end, struct gauge_beside *out)
{
    /* the strip runs from the gap into the metal */
    double open = fmin(REACH_MM, end->gap_mm / 2) + OPEN_MM, t_reach = CLEAR_MM + 2 * WIDE_MM, noise = 0, found[64];
    struct gauge_frame g = {{f->origin.x + end->at_mm * mm * f->ux, f->origin.y + end->at_mm * mm * f->uy}, -end->way * f->ux, -end->way * f->uy};
    /* turned round, across is turned round too */
    double t0 = end->way < 0 ? end->t0_mm : -end->t1_mm, t1 = end->way < 0 ? end->t1_mm : -end->t0_mm;
    bool below = end->way < 0 ? end->bench_below : end->bench_above, above = end->way < 0 ? end->bench_above : end->bench_below;
    struct gauge_strip s;
    struct err e = {0};
    float (*bench[2][2])[3] = {{NULL}}, (*band)[3], in_gap[3];
    double *d, *self;
    int n_bands = 0, n_found = 0, n_self = 0;

    *out = (struct gauge_beside){0};
    if (!gauge_strip_cut(p, &g, -open * mm, (REACH_MM + INSIDE_MM) * mm, (t0 - t_reach) * mm, (t1 + t_reach) * mm, mm / PER_MM, mm / PER_MM, false, &s, &e))
        return;
    d = mem_alloc((size_t)s.n_s, sizeof *d), self = mem_alloc((size_t)s.n_s * 2, sizeof *self), band = mem_alloc((size_t)s.n_s, sizeof *band);
    for (int side = 0; side < 2; side++)
        for (int k = 0; k < 2 && (side ? above : below); k++) {
            double from = CLEAR_MM + k * WIDE_MM;

            bench[side][k] = mem_alloc((size_t)s.n_s, sizeof *bench[side][k]);
            if (!rows_mean(&s, mm, side ? t1 + from : t0 - from - WIDE_MM, side ? t1 + from + WIDE_MM : t0 - from, bench[side][k])) {
                free(bench[side][k]);
                bench[side][k] = NULL;
            }
        }
    for (int side = 0; side < 2; side++)
        for (int i = 0; i < s.n_s && bench[side][0] && bench[side][1]; i++)
            self[n_self++] = differ(bench[side][0][i], bench[side][1][i]);
    noise = n_self > 0 ? fmax(LEAST, NOISE * gauge_median(self, n_self)) : 0;
    for (double t = t0; t + BAND_MM <= t1 + 1e-9 && n_self > 0 && n_found < 64; t += BAND_MM) {
        double at;

        if (!rows_mean(&s, mm, t, t + BAND_MM, band))
            continue;
        n_bands++;
        middle_of(band, s.n_s, end->gap_mm, open, in_gap);
        for (int i = 0; i < s.n_s; i++) {
            d[i] = differ(band[i], in_gap); /* a shadow falls into the gap and not beside it */
            for (int side = 0; side < 2; side++)
                if (bench[side][0])
                    d[i] = fmin(d[i], differ(band[i], bench[side][0][i]));
        }
        at = rise(d, s.n_s, noise, (int)(OPEN_MM * PER_MM), (int)(INSIDE_MM * PER_MM));
        if (at >= 0)
            found[n_found++] = at;
    }
    if (n_found > 0) {
        int third;

        gauge_median(found, n_found); /* sorts: metal that looks like the bench puts an end off into the metal, nothing puts it off the other way */
        third = n_found / 3;
        out->at_mm = end->at_mm - end->way * (-open + found[third] / PER_MM);
        out->share = (double)n_found / n_bands;
        for (int i = 0; i < third; i++)
            out->farther += found[i] < found[third] - RAGGED_MM * PER_MM ? 1.0 / n_bands : 0;
    }
    for (int side = 0; side < 2; side++)
        free(bench[side][0]), free(bench[side][1]);
    free(d), free(self), free(band);
    gauge_strip_release(&s);
}
