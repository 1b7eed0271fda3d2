#include "gauge/gauge_thread.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "gauge/gauge_axis.h"
#include "gauge/gauge_rows.h"
#include "gauge/gauge_view.h"

#define PI 3.14159265358979323846
#define MIN_TURNS 3.3 /* four drawn, and the hand was short */
#define LEAST_TURNS 1.6 /* fewer are not told from nothing */
#define MIN_SHARE 0.20 /* of a row's variance that a period must explain; noise explains about 6/n */
/* Of 136 rough lines on rendered threads the least had 0.27, 1.08 and at most 0.0078; of 88 lines on cloth,
 * wood and stone beside them six pass all three. */
#define MAX_SD 0.008   /* of the period, relative */
#define MIN_EDGES 0.9  /* contrast of the outlines */
#define FAR_TURN 0.11 /* radians the outlines may leave the axis off, of a thread much wider than the line is long */
#define MIN_LONE 0.3   /* share of the best rows, where no width tells more: grain and noise explain a tenth */
#define PERIODS 600    /* tried, an eighth of a turn apart */
#define NEARER_SD 0.012
/* How far to each side a body is looked for, as a share of the picture: a plug is taken to fill a good part of it. Four turns of an M18
 * are a third of its width, so the line's length alone does not tell. */
#define WIDE_VIEW 0.43
#define WIDEST_VIEW 0.9  /* and where none is found so, to fill all of it */
#define PER_TURN 5       /* periods looked at: so many to one turn more along the line */
#define MOST_TURNS 90    /* in a line are the most looked for */
#define BETWEEN 0.85
#define FAINT 0.45       /* score below which lines askew are tried: of 408 rough lines on rendered threads one in ten has less */
#define ASKEW 0.08       /* radians */
#define CLEARER 1.1      /* and so much clearer one has to be */
#define OTHER_WIDTH 0.02 /* of the width: the axis is looked for anew, and so far as at first, */
#define MOST_PASSES 8
#define USUAL_MM 280     /* people hold a phone so far away */
#define BOW_SD 0.003     /* of the share by which the middle's period is longer, whatever the rows say */
/* A picture cut out about the plug keeps the focal length it was taken with, which then says too near. On sixteen rendered threads the told
 * bow was at most 1.5 doubts above the one seen; cut out to half their width, 1.8 to 11, and under 2.5 only where the scale stays within half a per cent. */
#define CUT_OUT 2.5
#define NEAREST 0.25     /* radius over distance: nothing is sharp from nearer, the focal length is wrong */
/* Of the pitch, from the crest to the middle of the flank: half the depth of a metric thread with rounded roots, 0.6134 P (ISO, from memory).
 * What is seen of a turn lies between crest and root; over our rendered threads the rows' periods are those of 0.945 of an M14's radius. */
#define FLANK 0.307
#define MEAN_DEPTH 0.74 /* of the radius, of the flank's middle over the body's width */
#define TOO_NEAR 0.06   /* widths that differ by less no photo tells apart: an M12x1.25 and an M10x1.0 */
#define SELDOM_MM 9    /* thinner plugs are seldom met: they must stand out by more */
#define SELDOM 0.7
#define ALIKE 0.8 /* over our rendered threads the wrong width's outlines have 0.7 of the right one's contrast at most, but for one in oil: 0.95 */
#define CLEARLY 0.75 /* doubts of about 18 independent rows differ by chance by a fifth; that one's by 0.6 */
/* Mean share over the body less that beside it: of few turns, and of so many or more. Rust and soot in patches take most of what turns
 * show, of a dozen as well, but a dozen do not repeat by chance. */
#define MIN_SCORE 0.25
#define MIN_SCORE_MANY 0.18
#define MANY_TURNS 10.0
#define FEWER 0.8      /* turns' worth that a period is taken to repeat by chance, when one is chosen: bench that is in patches shows three of something */

#define NOTHING "Nothing repeats along this line. Draw it along the thread, over four turns or more, where they are sharp."
#define UNEVEN "What repeats along this line does not keep one period as a thread does. Draw the line along the outline of the thread."

/* A row's spectrum at many frequencies, `per_turn` of them for each turn along the line. */
struct spectrum {
    int n_f, per_turn;
    float *power; /* for each frequency, of each of n rows: share of the row's variance */
};

/* Four at once; a row is a whole number of pairs of them, so that no sum waits for the one before it. */
typedef float four __attribute__((vector_size(16)));

static inline float total(four a, four b)
{
    a += b;
    return a[0] + a[1] + (a[2] + a[3]);
}

/* Of two rows with the real and the imaginary part of a frequency. */
static inline void dots(const four *v, const four *w, const four *re, const four *im, int n, float out[2][2])
{
    four a = {0}, b = {0}, c = {0}, d = {0}, e = {0}, f = {0}, g = {0}, h = {0};

    for (int i = 0; i < n; i += 2) {
        a += v[i] * re[i], b += v[i + 1] * re[i + 1], c += v[i] * im[i], d += v[i + 1] * im[i + 1];
        e += w[i] * re[i], f += w[i + 1] * re[i + 1], g += w[i] * im[i], h += w[i + 1] * im[i + 1];
    }
    out[0][0] = total(a, b), out[0][1] = total(c, d), out[1][0] = total(e, f), out[1][1] = total(g, h);
}

/* Whether a frequency is a multiple, once to three times, of one whose period lies between these: no other is asked for. */
static bool is_asked(int k, double turn_px, double shortest, double longest)
{
    bool asked = false;

    for (int m = 1; m <= 3; m++)
        asked |= k % m == 0 && turn_px / (k / m) >= 0.999 * shortest && turn_px / (k / m) <= 1.001 * longest; /* int / int: that frequency */
    return asked;
}

/* Of the periods between these. */
static void spectrum_make(const struct gauge_rows *r, double length, double shortest, double longest, struct spectrum *out)
{
    int n_f, n_s = r->n_s, stride = (n_s + 7) / 8 * 2;
    double sum_w2 = 0, *window = mem_alloc((size_t)n_s, sizeof *window);
    four *row = mem_alloc((size_t)stride * (size_t)r->n, sizeof *row), *re = mem_alloc((size_t)stride, sizeof *re), *im = mem_alloc((size_t)stride, sizeof *im);

    out->per_turn = PER_TURN;
    n_f = (int)(PER_TURN * fmin(length / 3.5, MOST_TURNS)) + 1;
    out->n_f = n_f;
    out->power = mem_alloc((size_t)r->n * (size_t)n_f, sizeof *out->power);
    for (int j = 0; j < r->n; j++)
        memcpy(row + (size_t)j * (size_t)stride, r->v + (size_t)j * (size_t)n_s, (size_t)n_s * sizeof(float));
    for (int i = 0; i < n_s; i++) {
        double x = 2.0 * i / (n_s - 1) - 1;

        window[i] = 0.15 + 0.85 * cos(x * PI / 2) * cos(x * PI / 2);
        sum_w2 += window[i] * window[i];
    }
    for (int k = 1; k < n_f; k++) {
        if (!is_asked(k, length * PER_TURN, shortest, longest))
            continue;
        for (int i = 0; i < n_s; i++) {
            double a = 2 * PI * k / out->per_turn * i * r->step / length;

            re[i / 4][i % 4] = (float)(window[i] * cos(a)), im[i / 4][i % 4] = (float)(window[i] * sin(a));
        }
        for (int j = 0; j < r->n; j += 2) {
            int n = r->n - j > 1 ? 2 : 1;
            const four *v = row + (size_t)j * (size_t)stride;
            float part[2][2];

            dots(v, v + (n - 1) * stride, re, im, stride, part);
            for (int m = 0; m < n; m++) {
                const double a = (double)part[m][0], b = (double)part[m][1];

                if (r->total[j + m] > 0)
                    out->power[(size_t)k * (size_t)r->n + (size_t)(j + m)] = (float)(2 * (a * a + b * b) / sum_w2 / r->total[j + m]);
            }
        }
    }
    free(row), free(re), free(im), free(window);
}

/* A thread as it is known: its pitch, its major diameter or 0, and the focal length of its picture or 0. */
struct size {
    double pitch_mm, major_mm, focal_px;
};

/* Whether a row of assets/threads.csv may be the thread. */
static bool may_be(const struct csv *threads, size_t row, const struct size *size, double *major_mm)
{
    *major_mm = strtod(csv_named(threads, row, "major_mm"), NULL);
    return fabs(strtod(csv_named(threads, row, "pitch_mm"), NULL) - size->pitch_mm) < 0.01 && (size->major_mm <= 0 || fabs(*major_mm - size->major_mm) < 0.1);
}

struct choice {
    double period, score, major; /* period as it is met over the body */
    double outline; /* the period in the plane of the axis, which the outlines lie in: the body lies nearer */
    double sd, bow, bow_sd; /* doubt of the outline's, px; how much longer it is on the middle, a share */
    double seen_bow, seen_bow_sd; /* as the rows tell it whatever the focal length says */
    double middle; /* px across from the line to the body's axis */
    double edges;  /* contrast of the outlines, summed over both in five pieces: at most 10 */
    double rival;  /* score of the best period that is neither this one nor a multiple or part of it */
};

/* How much longer the period is on the middle than in the plane of the axis: the middle lies a radius nearer, and without a focal
 * length people hold a phone 150 to 600 mm away. */
static double bow_of(const struct size *size, double major, double outline)
{
    return fmin(major / 2 / (size->focal_px > 0 ? size->focal_px * size->pitch_mm / outline : USUAL_MM), NEAREST);
}

/* The outline's period where that over the body is known. */
static double outline_of(const struct size *size, double major, double period)
{
    return period / (1 + MEAN_DEPTH * bow_of(size, major, period));
}

/* Px from the axis to an outline, of a thread so wide. */
static double radius_of(const struct choice *c, const struct size *size, double major)
{
    return major / 2 / size->pitch_mm * c->outline;
}

/* The period among those between the limits, and the place of the body. A body of a thread is a band as many
 * pitches wide as its major diameter says, inside which rows repeat and just outside which they don't: half
 * the period finds a band too narrow, twice the period one too wide, and a cloth no end of it. */
static bool choose_period(const struct gauge_rows *r, const struct spectrum *sp, double length, const struct size *size, double turns, double shortest, double longest, struct choice *out)
{
    struct csv threads;
    double *sum = mem_alloc((size_t)r->n + 1, sizeof *sum), *seen = mem_alloc((size_t)r->n + 1, sizeof *seen), *best, most = 0;

    *out = (struct choice){0};
    if (!asset_table("threads.csv", &threads, NULL)) {
        free(sum), free(seen);
        return false;
    }
    best = mem_alloc((size_t)sp->n_f, sizeof *best);
    for (int k = (int)(turns * sp->per_turn); k < sp->n_f; k++) {
        double period = length * sp->per_turn / k;

        if (period < shortest || period > longest || period < fmax(3.5, 2.5 * r->step))
            continue;
        for (int j = 0; j < r->n; j++) {
            const float *power = sp->power + j;
            const size_t at = (size_t)k * (size_t)r->n;
            double share = power[at] + (2 * k < sp->n_f ? power[2 * at] : 0);

            if (3 * k < sp->n_f) /* never the most of a thread's: then a third of this period is meant */
                share += fmin((double)power[3 * at], share / 2);
            sum[j + 1] = sum[j] + fmin(share, 1);
            seen[j + 1] = seen[j] + (r->total[j] > 0);
        }
        for (size_t row = 1; row < threads.n_rows; row++) {
            double major, radius;
            int half, skip, margin;

            if (!may_be(&threads, row, size, &major))
                continue;
            radius = major / 2 / size->pitch_mm * outline_of(size, major, period);
            half = (int)lround((radius - 0.4 * period) / r->step_t), skip = (int)ceil(0.8 * period / r->step_t), margin = (int)lround(radius * 0.3 / r->step_t);
            if (half < 4)
                continue;
            for (int m = half; m + half < r->n; m++) {
                double t = r->t0 + m * r->step_t, in, n_in = seen[m + half + 1] - seen[m - half], outside = -1, score, weighed, far;

                if (n_in < 0.7 * (2 * half + 1))
                    continue;
                in = (sum[m + half + 1] - sum[m - half]) / n_in;
                for (int side = -1; side <= 1; side += 2) { /* a frame that ends at the outline tells nothing of what is outside */
                    int from = side < 0 ? m - half - skip - margin : m + half + skip, to = from + margin;
                    double n;

                    from = from < 0 ? 0 : from, to = to > r->n ? r->n : to;
                    if (to <= from)
                        continue;
                    n = seen[to] - seen[from];
                    if (n > 0.3 * margin)
                        outside = fmax(outside, (sum[to] - sum[from]) / n);
                }
                if (outside < 0)
                    continue;
                far = fabs(t) / radius; /* the line lies on the body or its outline */
                score = (in - outside) * (far < 1.1 ? 1 : exp(-0.5 * pow((far - 1.1) / 0.12, 2)));
                best[k] = fmax(best[k], score);
                weighed = score * (1 - FEWER * sp->per_turn / k);
                if (weighed > most) {
                    most = weighed;
                    *out = (struct choice){.period = period, .outline = outline_of(size, major, period), .score = score, .major = major, .middle = t};
                }
            }
        }
    }
    if (out->period > 0) {
        double at = length * sp->per_turn / out->period;

        for (int k = 0; k < sp->n_f; k++) {
            double ratio = k > 0 ? (k > at ? k / at : at / k) : 1;

            if (fabs(ratio - round(ratio)) > 0.1 * ratio && ratio < 1.9)
                out->rival = fmax(out->rival, best[k]);
        }
    }
    csv_release(&threads);
    free(sum), free(seen), free(best);
    return out->score > 0;
}

/* Lines are drawn along an outline or along the middle, seldom between. */
static double where_drawn(double middle, double radius)
{
    double far = fabs(middle) / radius;

    return far < 0.4 || far > 0.8 ? 1 : BETWEEN;
}

/* How much the axis is turned from the rows, as a tangent: the body's place is sought in pieces of the line,
 * by the same band as in choose_period(). Returns how well it stands out, 0 not at all. The grooves would tell it finer, but the helix, the bow of a picture
 * taken from near and a light from the side, which moves from one flank to the other, all lean them. */
static double find_turn_as(const struct gauge_picture *p, const struct gauge_frame *f, double length, const struct choice *c, const struct size *size,
                           double major, double turned, double *turn, double *middle)
{
    enum { PIECES = 5, TURNS = 101 };
    double radius = radius_of(c, size, major), half = fmax(1.3 * c->period, length / 7), step = fmax(1, c->period / 24), t0 = c->middle - 1.6 * radius;
    double reach = 0.45 * radius, most = 0, *fit[PIECES] = {0};
    int n = 0, most_k = TURNS / 2, most_m = 0;
    bool fine = true;

    half = fmin(half, 0.4 * length);
    for (int g = 0; g < PIECES && fine; g++) {
        double at = (length / 2 - half) * (g - 2) / 2.0, *share, *sum, *seen;
        struct gauge_frame piece = {{f->origin.x + at * f->ux, f->origin.y + at * f->uy}, f->ux, f->uy};
        struct gauge_rows r;
        int in, margin;

        fine = gauge_rows_cut(p, &piece, half, t0, t0 + 3.2 * radius, step, step, &r, NULL);
        if (!fine)
            break;
        n = r.n;
        share = mem_alloc((size_t)n, sizeof *share), sum = mem_alloc((size_t)n + 1, sizeof *sum), seen = mem_alloc((size_t)n + 1, sizeof *seen);
        fit[g] = mem_alloc((size_t)n, sizeof **fit);
        gauge_rows_explain(&r, c->period, share);
        for (int j = 0; j < n; j++)
            sum[j + 1] = sum[j] + share[j], seen[j + 1] = seen[j] + (r.total[j] > 0);
        in = (int)(radius / step), margin = (int)(0.12 * radius / step);
        for (int m = 0; m < n; m++)
            for (int side = -1; side <= 1; side += 2) { /* contrast of each outline's inside with its outside */
                int edge = m + side * in, a = side > 0 ? edge - margin : edge, b = a + margin, d = side > 0 ? edge : edge - margin;

                if (fmin(a, d) < 0 || fmax(a, d) + margin > n)
                    continue;
                if (seen[b] - seen[a] > 0.5 * margin && seen[d + margin] - seen[d] > 0.5 * margin)
                    fit[g][m] += (sum[b] - sum[a]) / (seen[b] - seen[a]) - (sum[d + margin] - sum[d]) / (seen[d + margin] - seen[d]);
            }
        free(share), free(sum), free(seen);
        gauge_rows_release(&r);
    }
    for (int k = 0; k < TURNS && fine; k++)
        for (int m = (int)((1.6 * radius - reach) / step); m <= (1.6 * radius + reach) / step && m < n; m++) {
            double all = 0, tangent = 0.004 * (k - TURNS / 2);

            for (int g = 0; g < PIECES; g++) {
                double at = m + (length / 2 - half) * (g - 2) / 2.0 * tangent / step;
                int i = (int)floor(at);

                if (i >= 0 && i + 1 < n)
                    all += fit[g][i] + (at - i) * (fit[g][i + 1] - fit[g][i]);
            }
            all *= exp(-0.5 * pow((turned + tangent) / 0.09, 2)); /* of a hand's line: ±4 degrees and its ends' */
            if (all > most)
                most = all, most_k = k, most_m = m;
        }
    for (int g = 0; g < PIECES; g++)
        free(fit[g]);
    *turn = 0.004 * (most_k - TURNS / 2);
    *middle = most > 0 ? t0 + most_m * step : c->middle;
    return fine ? most : 0;
}

/* Rows' periods against their depth: period at the outline, and how much longer it is on the middle, which
 * `bow` with its doubt is known of beforehand. Far rows lose their weight. Doubt of the outline's period. */
static double fit_bow(const double *period, const double *depth, const double *weight, int n, double bow, double bow_sd, double *outline, double *fitted, double *fitted_sd)
{
    double *off = mem_alloc((size_t)n, sizeof *off), *copy = mem_alloc((size_t)n, sizeof *copy), scale, a, b = bow, var = 0;

    for (int i = 0; i < n; i++)
        copy[i] = period[i] / (1 + bow * depth[i]);
    a = gauge_median(copy, n);
    for (int pass = 0; pass < 12; pass++) {
        double s = 0, sd = 0, sdd = 0, sp = 0, spd = 0, prior;

        for (int i = 0; i < n; i++)
            copy[i] = fabs(off[i] = period[i] - a * (1 + b * depth[i]));
        scale = fmax(1.4826 * gauge_median(copy, n), 0.0004 * a);
        for (int i = 0; i < n; i++) {
            double u = off[i] / (3.5 * scale), w = fabs(u) < 1 ? weight[i] * (1 - u * u) * (1 - u * u) : 0;

            s += w, sd += w * depth[i], sdd += w * depth[i] * depth[i], sp += w * period[i], spd += w * depth[i] * period[i];
        }
        /* neighbouring rows see the same turns: six count as one */
        prior = 6 * scale * scale / (a * a * bow_sd * bow_sd);
        sdd += prior, spd += prior * a * bow;
        if (s * sdd - sd * sd > 1e-12 * sdd * s) {
            double slope = (s * spd - sd * sp) / (s * sdd - sd * sd);

            a = (sp - slope * sd) / s, b = slope / a;
            var = 6 * scale * scale * sdd / (s * sdd - sd * sd);
            *fitted_sd = sqrt(6 * s / (s * sdd - sd * sd)) * scale / a;
        }
    }
    *outline = a, *fitted = b;
    free(off), free(copy);
    return sqrt(var);
}

/* Each row's own period about that of the choice, and from all of them that of the outline, in the plane of the axis; twice, for a
 * spectrum of few turns tells it to some hundredths only. Fails ERR_LIMIT, and ERR_MEASURE where hardly a row repeats: the choice is as
 * it was then. */
static bool fit_rows(const struct gauge_picture *p, const struct gauge_frame *f, double length, const struct size *size, struct choice *c, struct err *e)
{
    for (int pass = 0; pass < 2; pass++) {
        double radius = radius_of(c, size, c->major), step = fmax(fmax(1, length / 500), c->period / 24), bow = bow_of(size, c->major, c->outline);
        double flank = 1 - FLANK * size->pitch_mm / (c->major / 2), *best, *share, *depth, *weight;
        struct gauge_rows r;
        int n = 0;

        if (!gauge_rows_cut(p, f, length / 2, c->middle - radius, c->middle + radius, step, fmax(step, 0.08 * c->period), &r, e))
            return false;
        best = mem_alloc((size_t)r.n, sizeof *best), share = mem_alloc((size_t)r.n, sizeof *share);
        depth = mem_alloc((size_t)r.n, sizeof *depth), weight = mem_alloc((size_t)r.n, sizeof *weight);
        gauge_rows_periods(&r, c->period, best, share);
        for (int j = 0; j < r.n; j++) {
            double t = (r.t0 + j * r.step_t - c->middle) / radius, near = sqrt(fmax(0, flank * flank - t * t));

            if (share[j] < MIN_SHARE || best[j] <= 0)
                continue;
            best[n] = best[j], depth[n] = near / (1 - bow * near), weight[n++] = share[j];
        }
        gauge_rows_release(&r);
        if (n >= 8) {
            double alone;

            fit_bow(best, depth, weight, n, bow, 1.5 * bow, &alone, &c->seen_bow, &c->seen_bow_sd);
            c->sd = fit_bow(best, depth, weight, n, bow, (size->focal_px > 0 ? 0.1 : 0.6) * bow, &c->outline, &c->bow, &c->bow_sd);
            c->period = c->outline * (1 + MEAN_DEPTH * c->bow);
        }
        free(best), free(share), free(depth), free(weight);
        if (n < 8)
            return err_set(e, ERR_MEASURE, "The thread along this line is too unclear: hardly a row of it repeats. Draw the line where the turns are sharp.");
    }
    return true;
}

/* Whether the rows bow as the focal length says. Never seen nearer than told: nobody adds to a picture's edges. */
static bool bows_as_told(const struct choice *c, const struct size *size)
{
    return size->focal_px <= 0 || bow_of(size, c->major, c->outline) - c->seen_bow < CUT_OUT * hypot(c->seen_bow_sd, BOW_SD);
}

/* One thread's choice, with the turn of its axis and how well its outlines stand out. */
struct body {
    struct choice choice;
    double fit, turn;
};

/* Of two whose outlines stand out alike, the one whose rows' periods fall towards its outlines as they must: with the wrong width
 * they don't. */
static const struct body *better_fitted(const struct gauge_picture *p, const struct gauge_frame *f, double length, const struct size *size, struct body *a,
                                        struct body *b)
{
    if (b->fit < ALIKE * a->fit || !fit_rows(p, f, length, size, &a->choice, NULL) || !fit_rows(p, f, length, size, &b->choice, NULL))
        return a;
    return b->choice.sd < CLEARLY * a->choice.sd ? b : a;
}

/* Tries the threads of this pitch, which differ in width; corrects the choice of one, and the body's middle. */
static bool find_turn(const struct gauge_picture *p, const struct gauge_frame *f, double length, const struct size *size, double turned, struct choice *c,
                      double *turn)
{
    struct body best = {.choice = *c}, next = best;
    const struct body *found;
    struct csv threads;

    if (!asset_table("threads.csv", &threads, NULL))
        return false;
    for (size_t row = 1; row < threads.n_rows; row++) {
        struct body b = {.choice = *c};
        double major;

        if (!may_be(&threads, row, size, &major))
            continue;
        b.fit = find_turn_as(p, f, length, c, size, major, turned, &b.turn, &b.choice.middle) * (major < SELDOM_MM ? SELDOM : 1);
        b.fit *= where_drawn(b.choice.middle, radius_of(c, size, major));
        b.choice.major = major, b.choice.edges = b.fit;
        if (b.fit > best.fit)
            next = best, best = b;
        else if (b.fit > next.fit)
            next = b;
    }
    csv_release(&threads);
    if (best.fit <= 0)
        return false;
    found = better_fitted(p, f, length, size, &best, &next);
    *c = found->choice, *turn = found->turn;
    return true;
}

/* The rows along a line, from t0 to t1 px across it, and what repeats in them with periods between these: whatever the thread is. Fails ERR_LIMIT. */
static bool rows_read(const struct gauge_picture *p, const struct gauge_frame *f, double length, double t0, double t1, double shortest, double longest, struct gauge_rows *r,
                      struct spectrum *sp, struct err *e)
{
    double step = fmax(1, length / 300);

    if (!gauge_rows_cut(p, f, length / 2, t0, t1, step, fmax(step, (t1 - t0) / 500), r, e))
        return false;
    spectrum_make(r, length, shortest, longest, sp);
    return true;
}

/* How much of the picture is looked at. */
enum view { VIEW_PART, VIEW_ALL, VIEWS };
static const double view_share[VIEWS] = {WIDE_VIEW, WIDEST_VIEW};

struct gauge_line {
    struct {
        bool made;
        struct gauge_rows rows;
        struct spectrum spectrum;
    } in[VIEWS];
};

struct gauge_line *gauge_line_create(void)
{
    return mem_alloc(1, sizeof(struct gauge_line));
}

void gauge_line_destroy(struct gauge_line *l)
{
    for (int k = 0; l != NULL && k < VIEWS; k++)
        if (l->in[k].made) {
            gauge_rows_release(&l->in[k].rows);
            free(l->in[k].spectrum.power);
        }
    free(l);
}

/* Px looked at to each side of a line. */
static double across_of(const struct gauge_picture *p, double length, enum view view)
{
    return fmin(fmax(1.5 * length, fmin(4.5 * length, fmax(520, view_share[view] * fmax(p->width, p->height)))), hypot(p->width, p->height));
}

/* The period in the rows of the line as it was drawn. Fails ERR_LIMIT where so many cannot be held, ERR_MEASURE where there is none. */
static bool choose_drawn(const struct gauge_picture *p, const struct gauge_frame *f, double length, const struct size *size, double turns, enum view view,
                         double shortest, struct gauge_line *l, struct choice *c, struct err *e)
{
    double across = across_of(p, length, view);

    if (!l->in[view].made)
        l->in[view].made = rows_read(p, f, length, -across, across, 0, HUGE_VAL, &l->in[view].rows, &l->in[view].spectrum, e);
    if (!l->in[view].made)
        return false;
    return choose_period(&l->in[view].rows, &l->in[view].spectrum, length, size, turns, shortest, 1e9, c) || err_set(e, ERR_MEASURE, NOTHING);
}

/* The period near the one chosen, and its score, about the body it was chosen with. */
static bool choose_near(const struct gauge_picture *p, const struct gauge_frame *f, double length, const struct size *size, struct choice *c, struct err *e)
{
    double reach = 1.5 * radius_of(c, size, c->major), shortest = 0.93 * c->period, longest = 1.07 * c->period;
    struct gauge_rows r;
    struct spectrum sp;
    bool found;

    if (!rows_read(p, f, length, c->middle - reach, c->middle + reach, shortest, longest, &r, &sp, e))
        return false;
    found = choose_period(&r, &sp, length, size, MIN_TURNS, shortest, longest, c);
    gauge_rows_release(&r);
    free(sp.power);
    return found || err_set(e, ERR_MEASURE, NOTHING);
}

/* Oil and bright metal shine on crest and root alike: then half the period is found, in a part of the body. About the whole body twice
 * the period stands out better; it does not where it is no thread's. */
static void double_period(const struct gauge_picture *p, const struct gauge_frame *f, double length, const struct size *size, struct choice *c)
{
    struct choice once = *c, twice = *c;
    double turn;

    twice.period *= 2, twice.outline *= 2;
    if (length / twice.period < MIN_TURNS || !find_turn(p, f, length, size, 0, &twice, &turn) || !choose_near(p, f, length, size, &twice, NULL))
        return;
    if (!find_turn(p, f, length, size, 0, &once, &turn) || !choose_near(p, f, length, size, &once, NULL) || twice.score > once.score)
        *c = twice;
}

static void turn_frame(struct gauge_frame *f, double turn)
{
    double ux = f->ux * cos(turn) - f->uy * sin(turn);

    f->uy = f->ux * sin(turn) + f->uy * cos(turn);
    f->ux = ux;
}

static struct gauge_thread scale_so_far(const struct gauge_frame *f, const struct choice *c, const struct size *size, double length)
{
    return (struct gauge_thread){
        .pitch_mm = size->pitch_mm, .length_px = length, .pitch_px = c->period, .px_per_mm = c->outline / size->pitch_mm, .major_mm = c->major, .has_body = true,
        .radius_px = radius_of(c, size, c->major), /* the known diameter is better than the outline's soft end */
        .ux = f->ux, .uy = f->uy, .middle = {f->origin.x - c->middle * f->uy, f->origin.y + c->middle * f->ux},
        .distance_mm = size->focal_px > 0 ? size->focal_px * size->pitch_mm / c->outline : 0};
}

/* Along a line drawn some degrees askew over a wide thread, whose turns run across its rows then, little repeats: a body half beside the thread may do so
 * better. Where what was found is faint, lines turned either way are tried as well, and the clearest stands. */
static void choose_askew(const struct gauge_picture *p, struct gauge_frame *f, double length, const struct size *size, enum view view, struct choice *c, double *turned)
{
    double across = across_of(p, length, view);
    const struct gauge_frame drawn = *f;

    for (int way = -1; way <= 1 && c->score < FAINT; way += 2) {
        struct gauge_frame askew = drawn;
        struct gauge_rows r;
        struct spectrum sp;
        struct choice other;

        turn_frame(&askew, way * ASKEW);
        if (!rows_read(p, &askew, length, -across, across, 0, HUGE_VAL, &r, &sp, NULL))
            return;
        if (choose_period(&r, &sp, length, size, MIN_TURNS, 0, HUGE_VAL, &other) && other.score > CLEARER * c->score)
            *c = other, *f = askew, *turned = way * ASKEW;
        gauge_rows_release(&r);
        free(sp.power);
    }
}

static bool in_table(const struct size *size)
{
    struct csv threads;
    double major;
    bool found = false;

    if (!asset_table("threads.csv", &threads, NULL))
        return false;
    for (size_t row = 1; row < threads.n_rows; row++)
        found |= may_be(&threads, row, size, &major);
    csv_release(&threads);
    return found;
}

/* Whether fewer turns than can be measured lie along the line. */
static bool few_turns(const struct gauge_picture *p, const struct gauge_frame *f, double length, const struct size *size, enum view view, struct gauge_line *l, double *turns)
{
    struct choice c = {0};
    double turn;
    /* of a thread they have outlines, which what is printed or grown on a bench has not */
    bool found = choose_drawn(p, f, length, size, LEAST_TURNS, view, length / MIN_TURNS, l, &c, NULL) && c.score >= MIN_SCORE && find_turn(p, f, length, size, 0, &c, &turn) &&
                 c.edges >= MIN_EDGES;

    *turns = found ? length / c.period : 0;
    return found;
}

static double turns_tried(int k)
{
    return MIN_TURNS + 0.125 * k;
}

/* A thread of a pitch that no table tells the diameter of: its period alone, of the third of the rows about the line that
 * repeat best. The shortest period that explains them as well as any: twice it does so too. */
static bool read_without_width(const struct gauge_picture *p, const struct gauge_frame *f, double length, double pitch_mm, double focal_px,
                               struct gauge_thread *out, struct err *e)
{
    double aside = fmin(fmax(0.2 * length, 10), 120), step = fmax(0.5, length / 500), most = 0, period = 0, *share, *best, *sorted, *score, sd;
    int n = 0, third, n_tried = 0;
    struct gauge_rows r;

    if (!gauge_rows_cut(p, f, length / 2, -aside, aside, step, fmax(1, aside / 60), &r, e))
        return false;
    share = mem_alloc((size_t)r.n, sizeof *share), best = mem_alloc((size_t)r.n, sizeof *best), sorted = mem_alloc((size_t)r.n, sizeof *sorted);
    score = mem_alloc(PERIODS, sizeof *score);
    third = r.n / 3 > 0 ? r.n / 3 : 1;
    for (; n_tried < PERIODS && length / turns_tried(n_tried) > fmax(3.5, 6.5 * step); n_tried++) {
        gauge_rows_explain(&r, length / turns_tried(n_tried), share);
        memcpy(sorted, share, (size_t)r.n * sizeof *sorted);
        gauge_median(sorted, r.n);
        for (int j = r.n - third; j < r.n; j++)
            score[n_tried] += sorted[j] / third;
        most = fmax(most, score[n_tried]);
    }
    for (int k = 1; k + 1 < n_tried; k++)
        if (score[k] >= 0.97 * most && score[k] >= score[k - 1] && score[k] >= score[k + 1])
            period = length / turns_tried(k);
    free(score);
    if (period > 0) {
        gauge_rows_periods(&r, period, best, share);
        memcpy(sorted, share, (size_t)r.n * sizeof *sorted);
        gauge_median(sorted, r.n);
        for (int j = 0; j < r.n; j++)
            if (share[j] >= sorted[r.n - third] && best[j] > 0)
                best[n++] = best[j];
    }
    gauge_rows_release(&r);
    free(share);
    if (most < MIN_LONE || n < 3) {
        free(best), free(sorted);
        return err_set(e, ERR_MEASURE, NOTHING);
    }
    period = gauge_median(best, n);
    for (int j = 0; j < n; j++)
        sorted[j] = fabs(best[j] - period);
    sd = 1.4826 * gauge_median(sorted, n) / sqrt(n / 6.0 > 1 ? n / 6.0 : 1);
    free(best), free(sorted);
    if (sd > MAX_SD * period)
        return err_set(e, ERR_MEASURE, UNEVEN);
    *out = (struct gauge_thread){.pitch_mm = pitch_mm, .length_px = length, .pitch_px = period, .ux = f->ux, .uy = f->uy, .middle = f->origin,
                                 .distance_mm = focal_px > 0 ? focal_px * pitch_mm / period : 0, .px_per_mm = period / pitch_mm};
    out->pitch_sd_px = fmax(sd, 0.0008 * period);
    /* neither how thick it is nor where on it the line lies is known: the gap may lie some hundredths of the distance farther */
    out->px_per_mm_sd = hypot(out->pitch_sd_px, NEARER_SD * period) / pitch_mm;
    return true;
}

static double least_score(double turns)
{
    return MIN_SCORE + (MIN_SCORE_MANY - MIN_SCORE) * fmin(fmax((turns - MIN_TURNS) / (MANY_TURNS - MIN_TURNS), 0), 1);
}

/* Fails with these words, unless fewer turns than can be measured lie along the line: then it says that. */
static bool no_thread(const struct gauge_picture *p, const struct gauge_frame *f, double length, const struct size *size, enum view view, struct gauge_line *l, const char *words,
                      struct err *e)
{
    double turns;

    if (e != NULL && few_turns(p, f, length, size, view, l, &turns))
        return err_set(e, ERR_MEASURE, "Too few threads: about %.1f turns lie along this line. Draw it over four or more, as many as are sharp.", turns);
    return err_set(e, ERR_MEASURE, "%s", words);
}

static bool read_as(const struct gauge_picture *p, const struct gauge_point line[2], double pitch_mm, double major_mm, double focal_px, enum view view, struct gauge_line *l,
                    struct gauge_thread *out, struct err *e)
{
    double dx = line[1].x - line[0].x, dy = line[1].y - line[0].y, length = hypot(dx, dy), q, turned = 0, looked_with = 0;
    struct gauge_frame f = {{(line[0].x + line[1].x) / 2, (line[0].y + line[1].y) / 2}, dx / length, dy / length}, drawn = f;
    struct size size = {pitch_mm, major_mm, focal_px};
    struct choice c = {0};
    struct gauge_axis axis;
    struct err why = {0};

    memset(out, 0, sizeof *out);
    if (!(pitch_mm >= 0.2 && pitch_mm <= 5))
        return err_set(e, ERR_BADARG, "A plug's thread has a pitch of 1 to 1.5 mm; %g mm cannot be one.", pitch_mm);
    if (!(length >= 24))
        return err_set(e, ERR_BADARG, "The line along the threads is %.0f px long. Draw it over at least four turns.", length);
    if (!in_table(&size))
        return read_without_width(p, &f, length, pitch_mm, focal_px, out, e);
    for (int pass = 0, last = 2; pass <= last; pass++) {
        double turn = 0;
        bool anew;

        if (!(pass ? choose_near(p, &f, length, &size, &c, &why) : choose_drawn(p, &f, length, &size, MIN_TURNS, view, 0, l, &c, &why)))
            return why.code == ERR_LIMIT ? err_set(e, why.code, "%s", why.text) : no_thread(p, &drawn, length, &size, view, l, why.text, e);
        if (pass == 0) {
            choose_askew(p, &f, length, &size, view, &c, &turned);
            double_period(p, &f, length, &size, &c);
        }
        fit_rows(p, &f, length, &size, &c, NULL); /* what is too unclear for it is told at the end */
        anew = fabs(c.outline - looked_with) > OTHER_WIDTH * c.outline; /* outlines lie elsewhere than they were looked for */
        if (pass > 0 && anew && last < MOST_PASSES - 1)
            last++;
        if (!find_turn(p, &f, length, &size, turned, &c, &turn) || pass == last)
            continue;
        turn = atan(turn);
        if (pass == 0) { /* about the line's middle; the body's turns with it */
            turn_frame(&f, turn);
            turned += turn;
        }
        if (gauge_axis_find(p, &f, length / 2, radius_of(&c, &size, c.major), c.middle, (anew ? 6 : 1.5) * PI / 180, turned, &axis)) {
            turn_frame(&f, axis.turn);
            turned += axis.turn, c.middle = axis.middle;
        }
        looked_with = c.outline;
        if (pass > 0 && pass == last - 1) {
            struct gauge_thread scale = scale_so_far(&f, &c, &size, length);

            if (gauge_view_axis(p, &scale, FAR_TURN, &turn)) {
                turn_frame(&f, turn);
                f.origin.x = scale.middle.x + c.middle * f.uy, f.origin.y = scale.middle.y - c.middle * f.ux;
            }
        }
    }
    if (c.score < least_score(length / c.period) || c.edges < MIN_EDGES)
        return no_thread(p, &drawn, length, &size, view, l, "What repeats along this line is too faint, or not as wide as a thread of this pitch is. Check the pitch, draw the "
                         "line along the outline of the thread over four turns or more, and keep both outlines in the picture.", e);
    if (c.rival > 0.85 * c.score)
        return err_set(e, ERR_MEASURE, "Two periods are found along this line, and which is the thread's is not clear. Draw the line along the thread's outline.");
    if (!fit_rows(p, &f, length, &size, &c, &why))
        return why.code == ERR_LIMIT ? err_set(e, why.code, "%s", why.text) : no_thread(p, &drawn, length, &size, view, l, why.text, e);
    if (!bows_as_told(&c, &size)) /* as if none were told; as wide as it was found, where that leaves no thread */
        return read_as(p, line, pitch_mm, major_mm, 0, view, l, out, NULL) || read_as(p, line, pitch_mm, c.major, 0, view, l, out, NULL) || err_set(e, ERR_MEASURE, UNEVEN);
    if (c.sd > MAX_SD * c.outline)
        return no_thread(p, &drawn, length, &size, view, l, UNEVEN, e);
    *out = scale_so_far(&f, &c, &size, length);
    out->on_outline = fabs(c.middle) > out->radius_px - fmax(1.2 * c.outline, 14);
    q = fmin(1, fabs(c.middle) / out->radius_px);
    out->pitch_px = c.outline * (1 + c.bow * (out->on_outline ? 0 : sqrt(1 - q * q)));
    out->pitch_sd_px = fmax(c.sd, 0.0008 * out->pitch_px);
    out->px_per_mm_sd = out->pitch_sd_px / pitch_mm;
    out->nearness = fmax(c.bow, 0) / (c.major / 2);
    out->nearness_sd = hypot(c.bow_sd, BOW_SD) / (c.major / 2);
    return true;
}

bool gauge_thread_read_as(const struct gauge_picture *p, const struct gauge_point line[2], double pitch_mm, double major_mm, double focal_px, struct gauge_line *l,
                          struct gauge_thread *out, struct err *e)
{
    double length = hypot(line[1].x - line[0].x, line[1].y - line[0].y);
    struct gauge_line *own = l == NULL ? gauge_line_create() : NULL;
    bool fine = read_as(p, line, pitch_mm, major_mm, focal_px, VIEW_PART, l != NULL ? l : own, out, e);

    if (!fine && across_of(p, length, VIEW_ALL) > across_of(p, length, VIEW_PART)) {
        fine = read_as(p, line, pitch_mm, major_mm, focal_px, VIEW_ALL, l != NULL ? l : own, out, NULL);
        if (fine && e != NULL)
            err_clear(e);
    }
    gauge_line_destroy(own);
    return fine;
}

bool gauge_thread_read(const struct gauge_picture *p, const struct gauge_point line[2], double pitch_mm, double major_mm, double focal_px,
                       struct gauge_thread *out, struct err *e)
{
    return gauge_thread_read_as(p, line, pitch_mm, major_mm, focal_px, NULL, out, e);
}

double gauge_thread_against(const struct gauge_picture *p, const struct gauge_thread *scale, struct gauge_other *best)
{
    struct gauge_frame f = {scale->middle, scale->ux, scale->uy};
    struct size size = {scale->pitch_mm, scale->major_mm, scale->distance_mm > 0 ? scale->distance_mm * scale->px_per_mm : 0};
    struct choice c = {.outline = scale->px_per_mm * scale->pitch_mm, .major = scale->major_mm};
    struct csv threads;
    double own, most = 0, turn, middle;

    memset(best, 0, sizeof *best);
    if (!scale->has_body || !asset_table("threads.csv", &threads, NULL))
        return 1;
    c.bow = bow_of(&size, c.major, c.outline);
    c.period = c.outline * (1 + MEAN_DEPTH * c.bow);
    own = find_turn_as(p, &f, scale->length_px, &c, &size, c.major, 0, &turn, &middle);
    for (size_t row = 1; row < threads.n_rows; row++) {
        double major = strtod(csv_named(&threads, row, "major_mm"), NULL), pitch = strtod(csv_named(&threads, row, "pitch_mm"), NULL), wide = major / pitch, stands;

        if (fabs(pitch - scale->pitch_mm) < 0.01 || fabs(wide * scale->pitch_mm / scale->major_mm - 1) < TOO_NEAR)
            continue;
        stands = find_turn_as(p, &f, scale->length_px, &c, &size, wide * scale->pitch_mm, 0, &turn, &middle) * (major < SELDOM_MM ? SELDOM : 1);
        if (stands > most) {
            most = stands;
            best->major_mm = major, best->pitch_mm = pitch, best->wider = pitch / scale->pitch_mm - 1;
            text_copy(best->thread, sizeof best->thread, csv_named(&threads, row, "thread"));
        }
    }
    csv_release(&threads);
    return most > 0 ? own / most : 1;
}
