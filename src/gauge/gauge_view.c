#include "gauge/gauge_view.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "gauge/gauge_strip.h"

#define PI 3.14159265358979323846
#define WIDE 0.92        /* of the radius to each side: beyond it the turns run together */
#define MOST_DEG 14.0
#define COARSE_DEG 1.0
#define FINE_DEG 0.2
#define COARSE_LEAN 0.02
#define FINE_LEAN 0.004
#define LEAN 0.03        /* radians the axis may be off where it is known */
/* Agreement of the rows, 1 all: with less than CLEAR, lights on the flanks win over the shape; with less than SURE they begin to, and
 * the angle is known less well, by so much for each hundredth. Of the second scene's plugs, whose light is harder, four of seven between
 * the two told angles 2 to 3 degrees off; all of the truth set's but six have more than SURE. */
#define CLEAR 0.955
#define SURE 0.985
#define UNSURE_DEG 0.6
/* Taken for the other hand's, the turns of 34 rendered threads lean by 3.3 to 4.7 degrees more or less, and up to three times as many of
 * their waves disagree. */
#define HAND_REACH 0.11  /* looked at, in radians, */
#define HAND_LEAN 0.035  /*   so much less lean speaks as clearly for a hand */
#define HAND_CLEAR 0.4   /*   as so much less disagreement, a logarithm */
#define SELDOM 1.5       /*   and pictures are mirrored so seldom */
/* Where hard light spoils the waves, the turns' edges tell which way they run: logarithm of a likelihood, right-hand threads of 34 rendered pictures fit better
 * by 2 to 26 their own way, left-hand ones alike. */
#define MIRRORED 3.0
/* Crests shine and roots lie in the dark, a thread's depth nearer to the axis: their difference bows by more than the crests do,
 * by 1.1 to 1.3 (1.19 over our rendered threads, the same for the fourth harmonic). */
#define LEAD 1.18
#define LEAD_SD 0.08
#define SD_DEG 0.45      /* light from the side bends the bow by this much */
/* People stand 150 to 600 mm away. */
#define NEARNESS (1 / 260.0)
#define NEARNESS_SD (1 / 500.0)
#define AHEAD 8          /* tried each way, of how much the angle changes from thread to gap, */
#define AHEAD_STEP 0.3   /*   in standard deviations */
#define FOCAL_SD 0.05    /* a picture may be trimmed a little */

/* Second harmonic of one row, windowed. */
static void row_wave(const struct gauge_strip *s, int j, double period, double *re, double *im)
{
    const float(*v)[3] = (const float(*)[3])(s->rgb + (size_t)j * (size_t)s->n_s);
    double sum = 0, weight = 0, wave_re = 0, wave_im = 0;

    *re = *im = 0;
    for (int i = 0; i < s->n_s; i++) {
        double x = s->s0 + i * s->step_s, w = cos(PI * x / (2 * fabs(s->s0) + s->step_s)), a = 4 * PI * x / period, grey;

        w *= w;
        grey = w * (0.3 * v[i][0] + 0.59 * v[i][1] + 0.11 * v[i][2]);
        sum += grey, weight += w;
        *re += grey * cos(a), *im -= grey * sin(a);
        wave_re += w * cos(a), wave_im -= w * sin(a);
    }
    *re -= sum / weight * wave_re, *im -= sum / weight * wave_im;
}

/* Rows' waves, brought to where they would be without the helix. */
struct waves {
    int n;
    double *re, *im, *depth, *period, *across; /* depth and across in px from the axis */
    double total;
};

static void waves_release(struct waves *w)
{
    free(w->re), free(w->im), free(w->depth), free(w->period), free(w->across);
}

static void waves_make(const struct gauge_picture *p, const struct gauge_thread *scale, double nearness, int hand, struct waves *w)
{
    double mm = scale->px_per_mm, radius = scale->radius_px, half = scale->length_px / 2, outline = mm * scale->pitch_mm, step = fmax(0.5, outline / 40);
    struct gauge_frame f = {scale->middle, scale->ux, scale->uy};
    struct gauge_strip s;

    memset(w, 0, sizeof *w);
    if (!scale->has_body || !(scale->pitch_px > 0) || !(half > 0) || !(radius > 8))
        return;
    if (!gauge_strip_cut(p, &f, -half, half, -WIDE * radius, WIDE * radius, step, fmax(1, radius / 150), false, &s, NULL))
        return;
    w->re = mem_alloc((size_t)s.n_t, sizeof *w->re), w->im = mem_alloc((size_t)s.n_t, sizeof *w->im);
    w->depth = mem_alloc((size_t)s.n_t, sizeof *w->depth), w->period = mem_alloc((size_t)s.n_t, sizeof *w->period);
    w->across = mem_alloc((size_t)s.n_t, sizeof *w->across);
    for (int j = 0; j < s.n_t; j++) {
        double q = (s.t0 + j * s.step_t) / radius, a, c, d, keep;
        int n = w->n;

        if (!s.seen[j] || fabs(q) >= 1)
            continue;
        w->across[n] = q * radius;
        w->depth[n] = sqrt(1 - q * q) * radius;
        w->period[n] = outline * (1 + w->depth[n] / mm * nearness); /* nearer to the camera */
        row_wave(&s, j, w->period[n], &w->re[n], &w->im[n]);
        a = hand * 4 * PI * outline / (2 * PI) * asin(q) / w->period[n]; /* a right-hand helix climbs a pitch in a turn */
        c = cos(a), d = sin(a), keep = w->re[n];
        w->re[n] = keep * c - w->im[n] * d, w->im[n] = keep * d + w->im[n] * c;
        w->total += hypot(w->re[n], w->im[n]);
        w->n++;
    }
    gauge_strip_release(&s);
}

struct bow {
    double deg, lean; /* of the turns; of the rows from the axis, as a tangent */
    double clear;     /* share of the waves that agree */
};

/* Best bow and lean on a grid about those in `out`. */
static void bow_search(const struct waves *w, double deg_reach, double deg_step, double lean_reach, double lean_step, struct bow *out)
{
    struct bow from = *out;

    out->clear = 0;
    for (double lean = -lean_reach; lean <= lean_reach + 1e-9; lean += lean_step)
        for (double deg = -deg_reach; deg <= deg_reach + 1e-9; deg += deg_step) {
            double re = 0, im = 0, bow = tan((from.deg + deg) * PI / 180), agree;

            for (int i = 0; i < w->n; i++) {
                double a = 4 * PI * (bow * w->depth[i] + (from.lean + lean) * w->across[i]) / w->period[i], c = cos(a), d = sin(a);

                re += w->re[i] * c - w->im[i] * d, im += w->re[i] * d + w->im[i] * c;
            }
            agree = hypot(re, im) / w->total;
            if (agree > out->clear)
                *out = (struct bow){from.deg + deg, from.lean + lean, agree};
        }
}

static double nearness_of(const struct gauge_thread *scale)
{
    return scale->distance_mm > 0 ? 1 / scale->distance_mm : scale->nearness_sd > 0 ? scale->nearness : NEARNESS;
}

static double nearness_sd_of(const struct gauge_thread *scale)
{
    return scale->distance_mm > 0 ? FOCAL_SD / scale->distance_mm : scale->nearness_sd > 0 ? scale->nearness_sd : NEARNESS_SD;
}

/* As of a right-hand thread, and as of a left-hand one. */
static void waves_both(const struct gauge_picture *p, const struct gauge_thread *scale, struct waves w[2])
{
    waves_make(p, scale, nearness_of(scale), 1, &w[0]);
    waves_make(p, scale, nearness_of(scale), -1, &w[1]);
}

static bool bow_find(const struct waves *w, double lean_reach, struct bow *out)
{
    memset(out, 0, sizeof *out);
    if (w->n <= 8)
        return false;
    bow_search(w, MOST_DEG, COARSE_DEG, lean_reach, COARSE_LEAN, out);
    bow_search(w, COARSE_DEG, FINE_DEG, COARSE_LEAN, FINE_LEAN, out);
    return out->clear >= CLEAR && fabs(out->deg) <= MOST_DEG - 1 && fabs(out->lean) <= lean_reach + COARSE_LEAN / 2;
}

/* Which way the turns run: 1, or -1 in a mirrored picture, as the camera on a screen's side takes them, and in one drawn so. *out, *found: their bow that way.
 * Turns taken for the other hand's lean some degrees, but so do those of a rough axis; they also keep less to the shape. Both are weighed. */
static int hand_of(const struct waves w[2], double reach, struct bow *out, bool *found)
{
    struct bow right, left;
    bool by_right = bow_find(&w[0], reach, &right), by_left = bow_find(&w[1], reach, &left);
    bool mirrored = by_left && log((1 - right.clear) / (1 - left.clear)) / HAND_CLEAR + (fabs(right.lean) - fabs(left.lean)) / HAND_LEAN > SELDOM;

    *out = mirrored ? left : right, *found = mirrored ? by_left : by_right;
    return mirrored ? -1 : 1;
}

/* The turns' edges as they fit better, and which way. */
static bool turns_either_way(const struct gauge_picture *p, const struct gauge_thread *scale, struct gauge_turns *out, int *hand)
{
    struct gauge_turns left;

    if (!gauge_turns_read(p, scale, nearness_of(scale), 1, out) || !gauge_turns_read(p, scale, nearness_of(scale), -1, &left))
        return false;
    if (out->rest - left.rest > MIRRORED)
        *out = left, *hand = -1;
    return true;
}

bool gauge_view_axis(const struct gauge_picture *p, const struct gauge_thread *scale, double reach, double *turn)
{
    struct waves w[2];
    struct bow b;
    bool found;

    waves_both(p, scale, w);
    hand_of(w, reach, &b, &found);
    waves_release(&w[0]), waves_release(&w[1]);
    if (found)
        *turn = -atan(b.lean);
    return found;
}

/* At the thread. */
static double bow_at(const struct gauge_view *v, double deg)
{
    double q = (deg - v->bow_deg) / v->bow_sd_deg;

    return v->bow_known ? 0.95 * exp(-0.5 * q * q) + 0.05 * exp(-0.125 * q * q) : 1; /* now and then it is farther off than it knows */
}

static double turns_at(const struct gauge_view *v, double deg)
{
    double at = (fmin(fmax(deg, -GAUGE_TURNS_MOST_DEG), GAUGE_TURNS_MOST_DEG) + GAUGE_TURNS_MOST_DEG) / GAUGE_TURNS_STEP_DEG;
    int k = (int)fmin(at, GAUGE_TURNS_ANGLES - 2);

    return v->turns_known ? v->turns.likely[k] * (1 - (at - k)) + v->turns.likely[k + 1] * (at - k) : 1;
}

double gauge_view_likely(const struct gauge_view *v, double deg)
{
    double sum = 0, all = 0;

    for (int m = -AHEAD; m <= AHEAD; m++) { /* as well as the distance tells what lies between */
        double w = exp(-0.5 * m * m * AHEAD_STEP * AHEAD_STEP), here = deg - v->ahead_deg + m * AHEAD_STEP * v->ahead_sd_deg;

        sum += w * bow_at(v, here) * turns_at(v, here), all += w;
    }
    return sum / all;
}

void gauge_view_read(const struct gauge_picture *p, const struct gauge_thread *scale, double along_px, struct gauge_view *out)
{
    double nearness = nearness_of(scale), far_mm = along_px / scale->px_per_mm, sum = 0, least = 1e18;
    struct waves waves[2];
    struct bow b;
    bool found;
    int hand;

    memset(out, 0, sizeof *out);
    out->ahead_deg = atan(far_mm * nearness) * 180 / PI;
    out->ahead_sd_deg = fabs(far_mm) * nearness_sd_of(scale) * 180 / PI;
    waves_both(p, scale, waves);
    hand = hand_of(waves, HAND_REACH, &b, &found);
    out->turns_known = found ? gauge_turns_read(p, scale, nearness, hand, &out->turns) : turns_either_way(p, scale, &out->turns, &hand);
    out->bow_known = bow_find(&waves[hand < 0], LEAN, &b);
    waves_release(&waves[0]), waves_release(&waves[1]);
    if (out->bow_known) {
        b.deg /= LEAD;
        out->bow_deg = b.deg;
        out->bow_sd_deg = hypot(hypot(SD_DEG, LEAD_SD * b.deg), UNSURE_DEG * 100 * fmax(SURE - b.clear, 0));
    }
    out->known = out->bow_known || out->turns_known;
    for (double deg = -MOST_DEG; out->known && deg <= MOST_DEG; deg += FINE_DEG)
        least = fmin(least, gauge_view_likely(out, deg));
    for (double deg = -MOST_DEG; out->known && deg <= MOST_DEG; deg += FINE_DEG) { /* how far off it is where nothing else bows */
        double w = gauge_view_likely(out, deg) - least;

        sum += w, out->off_deg += w * deg, out->sd_deg += w * deg * deg;
    }
    if (!(sum > 0)) {
        out->known = out->bow_known = out->turns_known = false;
        return;
    }
    out->off_deg /= sum;
    out->sd_deg = sqrt(fmax(out->sd_deg / sum - out->off_deg * out->off_deg, 0) + FINE_DEG * FINE_DEG / 12);
}
