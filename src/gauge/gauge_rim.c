#include "gauge/gauge_rim.h"

#include <math.h>
#include <string.h>

#include "gauge/gauge_colour.h"

#define LEVELS 5 /* bench and its slope, rim, metal and its slope: linear light */
#define SAMPLES 96
#define FACE 0.3     /* light of a rim, of the metal's beside it: it is turned away */
#define FACE_SD 0.3
#define FLOOR2 2.0   /* grey levels squared that this plain model is off by at its best */
#define ROWS_MM 0.45

/* Grey levels for a change of linear light. */
static double grey_slope(double linear)
{
    return linear <= 0.0031308 ? 255 * 12.92 : 255 * 1.055 / 2.4 * pow(linear, 1 / 2.4 - 1);
}

struct profile {
    int n;
    double x[SAMPLES];          /* px from the edge, into the metal */
    double light[SAMPLES][3], weight[SAMPLES][3];
    double noise2;              /* of one sample, grey levels squared */
};

/* Mean light of the rows, each shifted along the edge's slope. */
static bool profile_make(const struct gauge_strip *s, const struct gauge_line *edge, int side, double before, double behind, double rows, struct profile *out)
{
    double step = s->step_s, squares = 0;
    int n_rows = 0, n_squares = 0;

    memset(out, 0, sizeof *out);
    out->n = (int)((before + behind) / step) + 1;
    if (out->n > SAMPLES)
        out->n = SAMPLES;
    for (int k = 0; k < out->n; k++)
        out->x[k] = -before + k * step;
    for (int j = 0; j < s->n_t; j++) {
        double t = s->t0 + j * s->step_t, last[3] = {0};
        const float(*v)[3] = (const float(*)[3])(s->rgb + (size_t)j * (size_t)s->n_s);

        if (!s->seen[j] || fabs(t - (edge->t0 + edge->t1) / 2) > rows)
            continue;
        n_rows++;
        for (int k = 0; k < out->n; k++) {
            double at = (edge->at + edge->slope * t + side * out->x[k] - s->s0) / step;
            int i = (int)floor(at);

            if (i < 0 || i + 1 >= s->n_s)
                return false;
            for (int c = 0; c < 3; c++) {
                double grey = v[i][c] + (at - i) * ((double)v[i + 1][c] - v[i][c]);

                out->light[k][c] += gauge_linear(grey);
                if (k > 0 && (out->x[k] < -2.5 * before / 6))
                    squares += (grey - last[c]) * (grey - last[c]), n_squares++;
                last[c] = grey;
            }
        }
    }
    if (n_rows < 3)
        return false;
    for (int k = 0; k < out->n; k++)
        for (int c = 0; c < 3; c++) {
            out->light[k][c] /= n_rows;
            out->weight[k][c] = grey_slope(fmax(out->light[k][c], 0.002)) * (c == 1 ? 1.0 : 0.6); /* JPEG keeps green's place best */
        }
    out->noise2 = FLOOR2 + (n_squares ? squares / n_squares / n_rows : 0);
    return true;
}

static double below(double x)
{
    return 0.5 * erfc(-x * 0.70710678118654752);
}

/* Least squares by the normal equations, which stay small. */
static bool solve(double a[LEVELS][LEVELS + 1])
{
    for (int i = 0; i < LEVELS; i++) {
        int top = i;

        for (int k = i + 1; k < LEVELS; k++)
            if (fabs(a[k][i]) > fabs(a[top][i]))
                top = k;
        if (fabs(a[top][i]) < 1e-12)
            return false;
        for (int m = 0; m <= LEVELS; m++) {
            double swap = a[i][m];

            a[i][m] = a[top][m], a[top][m] = swap;
        }
        for (int k = 0; k < LEVELS; k++) {
            double q = k == i ? 0 : a[k][i] / a[i][i];

            for (int m = i; m <= LEVELS && k != i; m++)
                a[k][m] -= q * a[i][m];
        }
    }
    for (int i = 0; i < LEVELS; i++)
        a[i][LEVELS] /= a[i][i];
    return true;
}

/* Mean square left, in grey levels, when the metal ends at x0 with a rim w wide and blur sigma. */
static double misfit(const struct profile *p, double x0, double w, double sigma, const double metal[3], double span)
{
    double basis[SAMPLES][LEVELS], sum = 0;

    for (int k = 0; k < p->n; k++) {
        double outer = below((p->x[k] - x0) / sigma), inner = w > 0 ? below((p->x[k] - x0 - w) / sigma) : outer;

        basis[k][0] = 1 - outer, basis[k][1] = (1 - outer) * (p->x[k] - x0) / span;
        basis[k][2] = outer - inner;
        basis[k][3] = inner, basis[k][4] = inner * (p->x[k] - x0 - w) / span;
    }
    for (int c = 0; c < 3; c++) {
        double a[LEVELS][LEVELS + 1] = {{0}}, g = grey_slope(fmax(metal[c], 0.002)), rest = 0;

        for (int k = 0; k < p->n; k++) {
            double w2 = p->weight[k][c] * p->weight[k][c];

            for (int i = 0; i < LEVELS; i++) {
                for (int m = i; m < LEVELS; m++)
                    a[i][m] += w2 * basis[k][i] * basis[k][m];
                a[i][LEVELS] += w2 * basis[k][i] * p->light[k][c];
            }
        }
        for (int i = 0; i < LEVELS; i++)
            for (int m = 0; m < i; m++)
                a[i][m] = a[m][i];
        { /* what is known beforehand: how dark a rim is, and that slopes are gentle */
            double sd_rim = FACE_SD * metal[c] + 0.01, k_rim = p->noise2 / (sd_rim * sd_rim), k_slope = p->noise2 * pow(g / 12, 2);

            a[2][2] += k_rim, a[2][LEVELS] += k_rim * FACE * metal[c];
            a[1][1] += k_slope, a[4][4] += k_slope;
            if (!solve(a))
                return 1e9;
            rest += k_rim * pow(a[2][LEVELS] - FACE * metal[c], 2) + k_slope * (a[1][LEVELS] * a[1][LEVELS] + a[4][LEVELS] * a[4][LEVELS]);
        }
        for (int k = 0; k < p->n; k++) {
            double model = 0;

            for (int i = 0; i < LEVELS; i++)
                model += basis[k][i] * a[i][LEVELS];
            rest += pow((model - p->light[k][c]) * p->weight[k][c], 2);
        }
        sum += rest;
    }
    return sum;
}

bool gauge_rim_read(const struct gauge_strip *s, const struct gauge_line *edge, int side, double gap_px, double mm, struct gauge_rim *out)
{
    static const double blurs[GAUGE_RIM_BLURS] = {0.5, 0.75, 1.05, 1.45, 2.0, 2.8};
    double q = fmax(1, mm / 25), before = fmin(8 * q, 0.5 * gap_px), behind = 7 * q, metal[3] = {0}, best = 1e18, most = -1e18;
    struct profile p;
    int n = 0;

    memset(out, 0, sizeof *out);
    out->side = side;
    out->place_step = 0.2 * q, out->width_step = fmax(0.3 * q, 0.012 * mm);
    out->place0 = -0.6 * (GAUGE_RIM_PLACES - 1) * out->place_step;
    if (!profile_make(s, edge, side, before, behind, fmin(ROWS_MM * mm, 0.3 * (edge->t1 - edge->t0)), &p))
        return false;
    for (int k = 0; k < p.n; k++)
        if (p.x[k] > 3 * q) {
            for (int c = 0; c < 3; c++)
                metal[c] += p.light[k][c];
            n++;
        }
    if (n == 0)
        return false;
    for (int c = 0; c < 3; c++)
        metal[c] /= n;
    for (int b = 0; b < GAUGE_RIM_BLURS; b++)
        for (int i = 0; i < GAUGE_RIM_PLACES; i++)
            for (int k = 0; k < GAUGE_RIM_WIDTHS; k++) {
                double place = out->place0 + i * out->place_step, width = k * out->width_step, independent = 0.5 * p.n * 1.5;
                double rest = place + width > behind - 2 * q || place < -before + 1.5 * q ? 1e9 : misfit(&p, place, width, blurs[b] * q, metal, 6 * q);

                /* neither grain nor the plainness of the model is known well: tails are fat */
                out->likely[b][i][k] = -0.5 * independent * log(1 + rest / 3 / p.n / p.noise2);
                best = fmin(best, rest / 3 / p.n), most = fmax(most, out->likely[b][i][k]);
            }
    out->level = best;
    for (int b = 0; b < GAUGE_RIM_BLURS; b++)
        for (int i = 0; i < GAUGE_RIM_PLACES; i++)
            for (int k = 0; k < GAUGE_RIM_WIDTHS; k++)
                out->likely[b][i][k] = exp(out->likely[b][i][k] - most);
    return true;
}
