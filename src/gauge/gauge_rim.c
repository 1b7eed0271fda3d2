#include "gauge/gauge_rim.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/colour.h"
#include "base/mem.h"
#include "gauge/gauge_colour.h"

#define PLACES GAUGE_RIM_PLACES
#define WIDTHS GAUGE_RIM_WIDTHS
#define BLURS GAUGE_RIM_BLURS
#define LEVELS 5 /* bench and its slope, metal and its slope, rim: linear light */
#define RIM 4
#define SAMPLES 96
#define CELL_PX 0.1 /* where either end of a rim may lie; a place is two of them, a width three. In a picture of 25 px in a mm, as all below */
#define PLACE_CELLS 2
#define WIDTH_CELLS 3
#define CELLS (PLACE_CELLS * (PLACES - 1) + WIDTH_CELLS * (WIDTHS - 1) + 1)
#define BEFORE_PX 8.0 /* looked at to either side of an edge */
#define BEHIND_PX 9.0 /* a face that is seen is as wide as 6 */
#define MARGIN_BEFORE_PX 1.5 /* and of it left for bench and metal at least */
#define MARGIN_BEHIND_PX 2.0
#define LEVEL_PX 3.0  /* past so much a level is one side's own */
#define SLOPE_PX 6.0
#define SHARPEST 0.5  /* blur, of what a sample stands for, in px */
#define SOFTEST 2.8
#define REACH 5.0     /* blurs from an edge on which nothing of it is left */
/* Rows taken together. Soot, rust and streaks of light are as wide: each block has levels of its own, while end, rim and blur are common
 * to all. Where an edge has the bench's light in one block, it has not in the next. */
#define BLOCK_MM 0.25
#define PART 0.95     /* of the electrode's width: its corners are rounded */
#define ALIKE 0.5     /* so many blocks, to this power, tell as much as that many independent ones */
#define FLAT 5.0      /* grey levels between bench and metal that are none */
#define DARKEST 1e-3  /* light of a metal */
#define STRANGE 1e-4  /* what is in a block may be something else altogether, as likely as this */
#define TINGE 0.2     /* of a rim's light: what colour the bench throws on it */
/* That a rim has just the light that hides it against bench and metal is a coincidence, the rarer the closer the profile tells its light.
 * Counted once, not once a channel: their lights go together. */
#define COINCIDENCE 0.33
#define SHADES 12       /* tried, each of them weighed by how likely it is beforehand */
#define SHADE_STEP 0.1  /* of the light of the metal */
#define HOPELESS 14.0 /* logarithm of a likelihood past which shades are not tried */

/* What is taken for granted of a profile. A rim is turned away from the light: its own is a share of the metal's, in all channels alike. */
struct given {
    double behind_px;
    double face, face_sd;       /* that share */
    /* Grey levels squared that are left whatever is seen, and what this plain model is off by: a share of the step between bench and metal
     * where the bench is seen, a share where the metal is, which streaks, and of how steeply light changes from a px to the next, for an
     * edge is not blurred as by a bell. A smooth bench shows a dark rim that would be lost in the metal's streaks. */
    double floor2, bench, metal, steep;
};
/* Of a block, whose metal's light is as much its own as that of all, since a side of a round tip that is turned away is as dark as its rim. */
static const struct given of_block = {BEHIND_PX, 0.05, 0.3, 1.0, 0.007, 0.025, 0.05};
/* Of all rows that run straight together. How wide a rim may be is asked of them: what hides it in one block of a straight side hides it in all. */
static const struct given of_all = {7.0, 0.15, 0.2, 2.0, 0, 0, 0};
#define ALL_MM 0.8 /* rows to each side, */
#define ALL 0.3    /*   and of what runs straight */

typedef double pair __attribute__((vector_size(16))); /* worked on at once */

/* Grey levels for a change of linear light. */
static double grey_slope(double linear)
{
    return linear <= 0.0031308 ? 255 * 12.92 : 255 * 1.055 / 2.4 * pow(linear, 1 / 2.4 - 1);
}

/* Light across an edge, mean of a block of rows. */
struct profile {
    int n;
    double x[SAMPLES];          /* px from the edge, into the metal */
    double light[SAMPLES][3], weight2[SAMPLES][3]; /* linear; for a change of it squared, so many squares of what a sample may be off by */
    double metal[3];
    const struct given *given;
};

/* What all profiles of an edge have in common. */
struct across {
    double q;                   /* px as fine as is sampled: 1 where 25 px or fewer are in a mm */
    double before, behind;      /* px looked at */
    double cell;                /* px between two places where an end of a rim may lie */
    int side;
};

/* Levels before and behind the edge, of one channel. False when too little is seen of either. */
static bool levels(const struct profile *p, int channel, double off, double *bench, double *metal)
{
    int n_bench = 0, n_metal = 0;

    *bench = *metal = 0;
    for (int k = 0; k < p->n; k++) {
        if (p->x[k] < -off)
            *bench += p->light[k][channel], n_bench++;
        if (p->x[k] > off)
            *metal += p->light[k][channel], n_metal++;
    }
    if (n_metal == 0)
        return false;
    *metal /= n_metal;
    *bench = n_bench ? *bench / n_bench : *metal;
    return true;
}

/* How far each sample is to be trusted; grain2: what the mean of the rows is left with of it, grey levels squared. False when too little is
 * seen of bench or metal. */
static bool weigh_samples(struct profile *p, const struct across *a, double grain2)
{
    double grey[SAMPLES], bench[3], metal[3], contrast = 0;
    int near = (int)fmax(1, round(0.5 * a->q / (p->x[1] - p->x[0])));

    for (int c = 0; c < 3; c++) {
        if (!levels(p, c, LEVEL_PX * a->q, &bench[c], &p->metal[c]))
            return false;
        bench[c] = 255 * colour_encode(bench[c]), metal[c] = 255 * colour_encode(p->metal[c]);
        contrast = fmax(contrast, fabs(bench[c] - metal[c]));
    }
    for (int c = 0; c < 3; c++) {
        for (int k = 0; k < p->n; k++)
            grey[k] = 255 * colour_encode(p->light[k][c]);
        for (int k = 0; k < p->n; k++) {
            int from = k > near ? k - near : 0, to = k + near < p->n ? k + near : p->n - 1;
            double step = metal[c] - bench[c], on_metal = fabs(step) > FLAT ? fmin(fmax((grey[k] - bench[c]) / step, 0), 1) : p->x[k] > 0;
            double steep = (grey[to] - grey[from]) / (p->x[to] - p->x[from]) * a->q, plain = contrast * (p->given->bench * (1 - on_metal) + p->given->metal * on_metal);
            double slope = grey_slope(fmax(p->light[k][c], 0.002)) * (c == 1 ? 1.0 : 0.6); /* JPEG keeps green's place best */

            p->weight2[k][c] = slope * slope / (p->given->floor2 + grain2 + plain * plain + pow(p->given->steep * steep, 2));
        }
    }
    return true;
}

/* Rows from..to, each shifted along the edge's slope. */
static bool profile_make(const struct gauge_strip *s, const struct gauge_line *edge, const struct across *a, const struct given *given, double from, double to, struct profile *out)
{
    double step = s->step_s, squares = 0;
    int n_rows = 0, n_squares = 0;

    memset(out, 0, sizeof *out);
    out->given = given;
    out->n = (int)fmin((a->before + a->behind) / step + 1, SAMPLES);
    for (int k = 0; k < out->n; k++)
        out->x[k] = -a->before + k * step;
    for (int j = 0; j < s->n_t; j++) {
        double t = s->t0 + j * s->step_t, last[3] = {0};
        const float(*v)[3] = (const float(*)[3])(s->rgb + (size_t)j * (size_t)s->n_s);

        if (!s->seen[j] || t < from || t >= to)
            continue;
        n_rows++;
        for (int k = 0; k < out->n; k++) {
            double at = (edge->at + edge->slope * t + a->side * out->x[k] - s->s0) / step;
            int i = (int)floor(at);

            if (i < 0 || i + 1 >= s->n_s)
                return false;
            for (int c = 0; c < 3; c++) {
                double grey = v[i][c] + (at - i) * ((double)v[i + 1][c] - v[i][c]);

                out->light[k][c] += gauge_linear(grey);
                if (k > 0 && out->x[k] < -2.5 * a->before / 6)
                    squares += (grey - last[c]) * (grey - last[c]), n_squares++;
                last[c] = grey;
            }
        }
    }
    if (n_rows < 2)
        return false;
    for (int k = 0; k < out->n; k++)
        for (int c = 0; c < 3; c++)
            out->light[k][c] /= n_rows;
    return weigh_samples(out, a, n_squares ? squares / n_squares / n_rows : 0);
}

/* The step from 0 to 1 at each cell, at one blur: of all blocks alike. */
struct steps {
    double at[CELLS];
    double step[CELLS][SAMPLES];
    double away[CELLS][SAMPLES];  /* of each sample from there, in spans of a slope */
    int from[CELLS], to[CELLS]; /* samples in which it is neither 0 nor 1 */
};

static void steps_make(const struct profile *p, double place0, double cell, double sigma, double span, struct steps *out)
{
    for (int g = 0; g < CELLS; g++) {
        out->at[g] = place0 + g * cell;
        out->from[g] = p->n, out->to[g] = -1;
        for (int k = 0; k < p->n; k++) {
            double z = (p->x[k] - out->at[g]) / sigma;

            out->away[g][k] = (p->x[k] - out->at[g]) / span;
            out->step[g][k] = z > REACH ? 1 : z < -REACH ? 0 : 0.5 * erfc(-z * 0.70710678118654752);
            if (z >= -REACH && out->from[g] > k)
                out->from[g] = k;
            if (z <= REACH)
                out->to[g] = k;
        }
    }
}

/* Weighted sums over a profile of a level that begins or ends at a cell (f), of it times the way from there (u), and of their products. */
struct sums {
    double f, u, ff, fu, uu, yf, yu;
};

static void sums_make(const struct profile *p, const struct steps *t, int cell, int channel, double span, bool metal, struct sums *out)
{
    memset(out, 0, sizeof *out);
    for (int k = metal ? t->from[cell] : 0; k < (metal ? p->n : t->to[cell] + 1); k++) {
        double f = metal ? t->step[cell][k] : 1 - t->step[cell][k], u = f * (p->x[k] - t->at[cell]) / span, wf = p->weight2[k][channel] * f, wu = p->weight2[k][channel] * u;

        out->f += wf, out->u += wu;
        out->ff += wf * f, out->fu += wf * u, out->uu += wu * u;
        out->yf += wf * p->light[k][channel], out->yu += wu * p->light[k][channel];
    }
}

/* Least squares by the normal equations of the first n unknowns, right hand side last. The last is solved for last: what is left on its
 * diagonal is what the others leave to tell it by, 0 nothing. Returns what is left of yy, less than 0 when they can't be solved. */
static double solve(double a[LEVELS][LEVELS + 1], int n, double yy, double *rim, double *known)
{
    for (int i = 0; i < n; i++) {
        if (!(a[i][i] > 1e-9))
            return -1;
        for (int k = i + 1; k < n; k++) {
            double q = a[i][k] / a[i][i];

            for (int m = k; m <= LEVELS; m++)
                a[k][m] -= q * a[i][m];
        }
        yy -= a[i][LEVELS] * a[i][LEVELS] / a[i][i];
    }
    *known = n == LEVELS ? a[RIM][RIM] : 0;
    *rim = n == LEVELS ? a[RIM][LEVELS] / a[RIM][RIM] : 0;
    return fmax(yy, 0);
}

/* How well a place, width of rim and blur fit. */
struct fit {
    double rest;                /* squares left, of what samples may be off by, whatever light the rim has; less than 0: not to be had */
    double rim[3], known[3];    /* in each channel its light, and such squares for a change of it squared */
};

/* A block of rows, all that may be the case with it. */
struct block {
    struct fit fit[BLURS][PLACES][WIDTHS];
    double likely[BLURS][PLACES][WIDTHS], as_seen[BLURS][PLACES][WIDTHS], most, most_seen;
    struct sums bench[CELLS], metal[CELLS];
};

static bool has_room(const struct across *a, const struct gauge_rim *r, int place, int width)
{
    double at = r->place0 + place * r->place_step;

    return at + width * r->width_step <= a->behind - MARGIN_BEHIND_PX * a->q && at >= -a->before + MARGIN_BEFORE_PX * a->q;
}

/* Fits of one channel at one blur, added to those of the channels before. Bench, rim and metal make 1 everywhere, so that what has to do
 * with the rim follows from sums over the other two. */
static void fit_channel(const struct profile *p, const struct steps *t, const struct across *a, const struct gauge_rim *r, int channel, struct block *b, struct fit (*fit)[WIDTHS])
{
    double span = SLOPE_PX * a->q, w = 0, y = 0, yy = 0, k_slope = pow(grey_slope(fmax(p->metal[channel], 0.002)) / 12, 2); /* slopes are gentle */

    for (int k = 0; k < p->n; k++) {
        double wy = p->weight2[k][channel] * p->light[k][channel];

        w += p->weight2[k][channel], y += wy, yy += wy * p->light[k][channel];
    }
    for (int g = 0; g < CELLS; g++) {
        if (g % PLACE_CELLS == 0 && g <= PLACE_CELLS * (PLACES - 1))
            sums_make(p, t, g, channel, span, false, &b->bench[g]);
        sums_make(p, t, g, channel, span, true, &b->metal[g]);
    }
    for (int i = 0; i < PLACES; i++) {
        const int g0 = PLACE_CELLS * i, last = t->to[g0];
        double bench[SAMPLES]; /* what of each sample the bench has, as it weighs, */
        pair flat[SAMPLES];    /* and what its slope makes of 1 there */

        for (int j = 0; j <= last; j++)
            bench[j] = p->weight2[j][channel] * (1 - t->step[g0][j]), flat[j] = (pair){1, t->away[g0][j]};
        for (int k = 0; k < WIDTHS; k++) {
            int g1 = g0 + WIDTH_CELLS * k;
            const struct sums *o = &b->bench[g0], *m = &b->metal[g1];
            pair both_f = {0}, both_u = {0};
            double ff, fu, uf, uu, rest;
            struct fit *f = &fit[i][k];

            if (f->rest < 0 || !has_room(a, r, i, k)) {
                f->rest = -1;
                continue;
            }
            for (int j = t->from[g1]; j <= last; j++) { /* where one has not ended and the other has begun */
                const pair both = bench[j] * t->step[g1][j] * flat[j];

                both_f += both, both_u += both * t->away[g1][j];
            }
            ff = both_f[0], uf = both_f[1], fu = both_u[0], uu = both_u[1];
            rest = solve((double[LEVELS][LEVELS + 1]){{o->ff, o->fu, ff, fu, o->f - o->ff - ff, o->yf},
                                                      {0, o->uu + k_slope, uf, uu, o->u - o->fu - uf, o->yu},
                                                      {0, 0, m->ff, m->fu, m->f - m->ff - ff, m->yf},
                                                      {0, 0, 0, m->uu + k_slope, m->u - m->fu - fu, m->yu},
                                                      {0, 0, 0, 0, w - 2 * o->f - 2 * m->f + o->ff + m->ff + 2 * ff, y - o->yf - m->yf}},
                         k == 0 ? LEVELS - 1 : LEVELS, yy, &f->rim[channel], &f->known[channel]);
            f->rest = rest < 0 ? -1 : f->rest + rest;
        }
    }
}

/* A shade a rim may have: how likely beforehand, its light, and how closely that is given. */
struct shade {
    double prior, light[3], given[3];
};

static void shades_make(const struct given *g, const double metal[3], struct shade out[SHADES])
{
    for (int k = 0; k < SHADES; k++) {
        double shade = (k + 0.5) * SHADE_STEP;

        out[k].prior = exp(-0.5 * pow((shade - g->face) / g->face_sd, 2));
        for (int c = 0; c < 3; c++) {
            double sd = TINGE * shade * metal[c] + 0.005;

            out[k].light[c] = shade * metal[c], out[k].given[c] = 1 / (sd * sd);
        }
    }
}

/* How likely the profile is then, all shades of the rim weighed: it is of the metal's colour, darker by one share in all
 * channels, but for what colour the bench throws on it. as_seen: how well it fits, coincidence or not. */
static double likelihood(const struct profile *p, const struct fit *f, const struct shade shades[SHADES], double independent, double *as_seen)
{
    double sum = 0, all = 0, seen = 0, n = 3 * p->n;

    for (int k = 0; k < SHADES; k++) {
        double prior = shades[k].prior, rest = f->rest, chance = 1;

        for (int c = 0; c < 3; c++) {
            double given = shades[k].given[c];

            rest += pow(f->rim[c] - shades[k].light[c], 2) * f->known[c] * given / (f->known[c] + given);
            chance *= 1 + f->known[c] * independent / n / given;
        }
        all += prior;
        /* neither grain nor the plainness of the model is known well: tails are fat */
        prior *= pow(1 + rest / n, -0.5 * independent);
        seen += prior, sum += prior * pow(chance, -0.5 * COINCIDENCE);
    }
    *as_seen = seen / all;
    return sum / all;
}

/* All places, widths and blurs against one profile; metal: the light that shades are shares of. */
static void block_read(const struct profile *p, const struct steps t[BLURS], const struct across *a, const double metal[3], const struct gauge_rim *r, struct block *b)
{
    double least = 1e18, independent = 0.75 * p->n, n = 3 * p->n;
    struct shade shades[SHADES];

    memset(b, 0, sizeof *b);
    shades_make(p->given, metal, shades);
    for (int blur = 0; blur < BLURS; blur++)
        for (int c = 0; c < 3; c++)
            fit_channel(p, &t[blur], a, r, c, b, b->fit[blur]);
    for (int k = 0; k < BLURS * PLACES * WIDTHS; k++) {
        const struct fit *f = &b->fit[0][0][0] + k;

        least = f->rest >= 0 ? fmin(least, f->rest) : least;
    }
    for (int k = 0; k < BLURS * PLACES * WIDTHS; k++) {
        const struct fit *f = &b->fit[0][0][0] + k;

        if (f->rest < 0 || 0.5 * independent * log((1 + f->rest / n) / (1 + least / n)) > HOPELESS)
            continue;
        (&b->likely[0][0][0])[k] = likelihood(p, f, shades, independent, &(&b->as_seen[0][0][0])[k]);
        b->most = fmax(b->most, (&b->likely[0][0][0])[k]), b->most_seen = fmax(b->most_seen, (&b->as_seen[0][0][0])[k]);
    }
}

/* Adds what one block tells, as logarithms: 0 the best. */
static void block_add(const struct block *b, double share, float (*likely)[PLACES][WIDTHS])
{
    for (int blur = 0; blur < BLURS; blur++)
        for (int i = 0; i < PLACES; i++)
            for (int k = 0; k < WIDTHS; k++)
                likely[blur][i][k] += (float)(share * log(b->likely[blur][i][k] / fmax(b->most, 1e-300) + STRANGE));
}

void gauge_rim_given(const struct gauge_rim *r, double face_px, double off_tan, double (*likely)[PLACES][WIDTHS])
{
    double face = fmin(face_px / r->width_step, WIDTHS - 1);

    for (int blur = 0; blur < BLURS; blur++) {
        double sum[PLACES][WIDTHS] = {{0}};

        for (int b = 0; b < r->n_blocks; b++) {
            double away = (fabs(off_tan) - r->off_tan) * r->back_px[b] / r->place_step, narrowed = 1 - r->back_px[b] / r->half_px, wider[WIDTHS];
            int narrower[WIDTHS];

            for (int k = 0; k < WIDTHS; k++) {
                double width = fmin(k + narrowed * face, WIDTHS - 1);

                narrower[k] = (int)fmin(width, WIDTHS - 2), wider[k] = width - narrower[k];
            }
            for (int i = 0; i < PLACES; i++) {
                double place = fmin(fmax(i + away, 0), PLACES - 1), *to = sum[i];
                int before = (int)fmin(place, PLACES - 2);
                const float *at = r->likely[b][blur][before];

                for (int k = 0; k < WIDTHS; k++) {
                    const float *l = at + narrower[k], *m = l + WIDTHS;

                    to[k] += (before + 1 - place) * (l[0] + wider[k] * (l[1] - l[0])) + (place - before) * (m[0] + wider[k] * (m[1] - m[0]));
                }
            }
        }
        for (int i = 0; i < PLACES; i++)
            for (int k = 0; k < WIDTHS; k++)
                likely[blur][i][k] = k + face < r->widths[i] ? exp(sum[i][k]) : 0;
    }
}

void gauge_rim_release(struct gauge_rim *r)
{
    free(r->back_px), free(r->likely);
    r->back_px = NULL, r->likely = NULL, r->n_blocks = 0;
}

/* The widest rim that could be there, unlikely as it may be beforehand. */
static double widest(const struct block *b, double step)
{
    double wide = 0;

    for (int blur = 0; blur < BLURS; blur++)
        for (int i = 0; i < PLACES; i++)
            for (int k = 0; k < WIDTHS; k++)
                if (b->as_seen[blur][i][k] > 0 && b->as_seen[blur][i][k] >= 0.5 * b->most_seen)
                    wide = fmax(wide, k * step);
    return wide;
}

bool gauge_rim_read(const struct gauge_strip *s, const struct gauge_line *edge, int side, double gap_px, double mm, const struct gauge_rim_end *end, struct gauge_rim *out)
{
    double q = fmax(1, mm / 25), sharp = SHARPEST * 2 * s->step_s, softer = pow(SOFTEST * q / sharp, 1.0 / (BLURS - 1)), half = PART * end->half_px, all[3] = {0};
    double straight = (edge->t0 + edge->t1) / 2, rows = fmin(ALL_MM * mm, ALL * (edge->t1 - edge->t0));
    struct across a = {.q = q, .before = fmin(BEFORE_PX * q, 0.5 * gap_px), .behind = of_block.behind_px * q, .cell = CELL_PX * q, .side = side};
    int most = (int)fmax(1, round(2 * half / (BLOCK_MM * mm))), n = 0;
    struct profile *p = mem_alloc((size_t)most, sizeof *p);
    struct steps *steps = mem_alloc(BLURS, sizeof *steps);
    struct block *b = mem_alloc(1, sizeof *b);

    memset(out, 0, sizeof *out);
    out->off_tan = fabs(end->off_tan);
    out->half_px = end->half_px, out->back_px = mem_alloc((size_t)most, sizeof *out->back_px), out->likely = mem_alloc((size_t)most, sizeof *out->likely);
    out->place_step = PLACE_CELLS * a.cell, out->width_step = WIDTH_CELLS * a.cell;
    out->place0 = -0.6 * (PLACES - 1) * out->place_step;
    for (int m = 0; m < most; m++) {
        double from = -half + 2 * half * m / most, to = -half + 2 * half * (m + 1) / most;
        double t = (from + to) / 2;
        struct gauge_line line = *edge;

        out->back_px[n] = end->round ? end->half_px - sqrt(fmax(0, end->half_px * end->half_px - t * t)) : 0;
        line.at += side * out->off_tan * out->back_px[n];
        if (!profile_make(s, &line, &a, &of_block, from, to, &p[n]))
            continue;
        for (int c = 0; c < 3; c++)
            all[c] += p[n].metal[c];
        n++;
    }
    if (n > 0) {
        for (int k = 0; k < BLURS; k++)
            steps_make(p, out->place0, a.cell, sharp * pow(softer, k), SLOPE_PX * q, &steps[k]);
        for (int m = 0; m < n; m++) {
            double metal[3];

            for (int c = 0; c < 3; c++)
                metal[c] = sqrt(fmax(p[m].metal[c], DARKEST) * fmax(all[c] / n, DARKEST));
            block_read(&p[m], steps, &a, metal, out, b);
            block_add(b, pow(n, ALIKE - 1), out->likely[end->round ? m : 0]);
        }
        out->n_blocks = end->round ? n : 1; /* of a bar each shows the same of a face */
        for (int i = 0; i < PLACES; i++)
            for (int k = 0; k < WIDTHS && has_room(&a, out, i, k); k++)
                out->widths[i] = k + 1;
        a.behind = of_all.behind_px * q;
        if (profile_make(s, edge, &a, &of_all, straight - rows, straight + rows, p)) {
            block_read(p, steps, &a, p->metal, out, b);
            out->unsure_px = widest(b, out->width_step);
        }
    }
    free(p), free(steps), free(b);
    return n > 0;
}
