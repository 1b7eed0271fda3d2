#include "gauge/gauge_rim.h"

#include <math.h>
#include <string.h>

#include "gauge/gauge_colour.h"

#define LEVELS 5 /* bench and its slope, metal and its slope, rim: linear light */
#define RIM 4
#define SAMPLES 96
/* Light of a rim, of the metal's beside it: it is turned away. In all channels alike, but for what the bench throws on it. */
#define FACE 0.15
#define FACE_SD 0.2
#define TINGE 0.2
/* That a rim has just the light that hides it against bench and metal is a coincidence, the rarer the closer the profile tells its light.
 * Counted once, not once a channel: their lights go together. */
#define COINCIDENCE 0.33
#define SHADES 12       /* tried, each of them weighed by how likely it is beforehand */
#define SHADE_STEP 0.1  /* of the light of the metal */
#define SHARPEST 0.5  /* blur, of what a sample stands for, in px */
#define SOFTEST 2.8   /* of a picture of 25 px in a mm */
#define FLOOR2 2.0   /* grey levels squared that this plain model is off by at its best */
#define ROWS_MM 0.8

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

/* Least squares by the normal equations, which stay small. The last unknown is solved for last: what is left on its diagonal is
 * what the others leave to tell it by, 0 nothing. */
static bool solve(double a[LEVELS][LEVELS + 1], double *known)
{
    for (int i = 0; i < LEVELS; i++) {
        if (i == RIM)
            *known = a[i][i];
        if (fabs(a[i][i]) < 1e-9) {
            if (i != RIM)
                return false;
            *known = 0;
            a[i][i] = 1, a[i][LEVELS] = 0;
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

/* How well a place, width of rim and blur fit. */
struct fit {
    double rest;                /* square left, in grey levels, whatever light the rim has */
    double rim[3], known[3];    /* in each channel its light, and grey levels squared for a change of it squared */
};

/* When the metal ends at x0 with a rim w wide and blur sigma. */
static bool fit_make(const struct profile *p, double x0, double w, double sigma, const double metal[3], double span, struct fit *out)
{
    double basis[SAMPLES][LEVELS];

    for (int k = 0; k < p->n; k++) {
        double outer = below((p->x[k] - x0) / sigma), inner = w > 0 ? below((p->x[k] - x0 - w) / sigma) : outer;

        basis[k][0] = 1 - outer, basis[k][1] = (1 - outer) * (p->x[k] - x0) / span;
        basis[k][2] = inner, basis[k][3] = inner * (p->x[k] - x0 - w) / span;
        basis[k][RIM] = outer - inner;
    }
    out->rest = 0;
    for (int c = 0; c < 3; c++) {
        double a[LEVELS][LEVELS + 1] = {{0}}, g = grey_slope(fmax(metal[c], 0.002)), k_slope = p->noise2 * pow(g / 12, 2);

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
        a[1][1] += k_slope, a[3][3] += k_slope; /* slopes are gentle */
        if (!solve(a, &out->known[c]))
            return false;
        out->rim[c] = a[RIM][LEVELS];
        out->rest += k_slope * (a[1][LEVELS] * a[1][LEVELS] + a[3][LEVELS] * a[3][LEVELS]);
        for (int k = 0; k < p->n; k++) {
            double model = 0;

            for (int i = 0; i < LEVELS; i++)
                model += basis[k][i] * a[i][LEVELS];
            out->rest += pow((model - p->light[k][c]) * p->weight[k][c], 2);
        }
    }
    return true;
}

/* How likely the profile is then, all shades of the rim weighed: it is of the metal's colour, darker by one share in all
 * channels, but for what colour the bench throws on it. as_seen: how well it fits, coincidence or not. */
static double likelihood(const struct profile *p, const struct fit *f, const double metal[3], double independent, float *as_seen)
{
    double sum = 0, all = 0, seen = 0;

    for (int k = 0; k < SHADES; k++) {
        double shade = (k + 0.5) * SHADE_STEP, prior = exp(-0.5 * pow((shade - FACE) / FACE_SD, 2)), rest = f->rest, chance = 1;

        for (int c = 0; c < 3; c++) {
            double sd = TINGE * shade * metal[c] + 0.005, given = p->noise2 / (sd * sd);

            rest += pow(f->rim[c] - shade * metal[c], 2) * f->known[c] * given / (f->known[c] + given);
            chance *= pow(1 + f->known[c] * independent / 3 / p->n / given, -0.5 * COINCIDENCE);
        }
        all += prior;
        /* neither grain nor the plainness of the model is known well: tails are fat */
        prior *= pow(1 + rest / 3 / p->n / p->noise2, -0.5 * independent);
        seen += prior, sum += prior * chance;
    }
    *as_seen = (float)(seen / all);
    return sum / all;
}

bool gauge_rim_read(const struct gauge_strip *s, const struct gauge_line *edge, int side, double gap_px, double mm, struct gauge_rim *out)
{
    double q = fmax(1, mm / 25), before = fmin(8 * q, 0.5 * gap_px), behind = 7 * q, sharp = SHARPEST * 2 * s->step_s, softer = pow(SOFTEST * q / sharp, 1.0 / (GAUGE_RIM_BLURS - 1)), metal[3] = {0}, best = 1e18, most = 1e-300;
    float as_seen[GAUGE_RIM_BLURS][GAUGE_RIM_PLACES][GAUGE_RIM_WIDTHS] = {{{0}}}, most_seen = 0;
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
                double place = out->place0 + i * out->place_step, width = k * out->width_step;
                struct fit f;

                if (place + width > behind - 2 * q || place < -before + 1.5 * q || !fit_make(&p, place, width, sharp * pow(softer, b), metal, 6 * q, &f))
                    continue;
                out->likely[b][i][k] = likelihood(&p, &f, metal, 0.5 * p.n * 1.5, &as_seen[b][i][k]);
                best = fmin(best, f.rest / 3 / p.n), most = fmax(most, out->likely[b][i][k]), most_seen = fmaxf(most_seen, as_seen[b][i][k]);
            }
    out->level = best;
    for (int b = 0; b < GAUGE_RIM_BLURS; b++)
        for (int i = 0; i < GAUGE_RIM_PLACES; i++)
            for (int k = 0; k < GAUGE_RIM_WIDTHS; k++) {
                out->likely[b][i][k] /= most;
                if (as_seen[b][i][k] > 0 && as_seen[b][i][k] >= 0.5F * most_seen) /* unlikely as it may be beforehand: it could be there */
                    out->unsure_px = fmax(out->unsure_px, k * out->width_step);
            }
    return true;
}
