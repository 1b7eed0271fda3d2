#include "gauge/gauge_turns.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "gauge/gauge_strip.h"

#define PI 3.14159265358979323846
#define BINS 48          /* of a turn */
#define ROWS 41          /* across the thread, outline to outline */
#define WIDE 0.94        /* of the radius to each side */
#define WITHIN 0.96      /* of the root's radius: beyond it the root is not seen */
#define LEAST_ROWS 11
#define FEWEST 3         /* turns laid over each other */
#define MOST 14
#define DEPTH 0.6134     /* of the pitch, of a metric thread with rounded roots (ISO, from memory) */
#define FLAT 0.125       /* of the pitch: crest and root (ISO, from memory) */
#define SOFT 0.075       /* of the pitch: blur, and what is rounded, oily and dirty. 0.05 and 0.1 tell less on rendered threads of both scenes */
#define LEVELS 6         /* a row's light: all, one flank against the other, a slope on either, crest, root */
#define SHADOWS 12       /* edges of shadows tried: so many, on both flanks, */
#define SHADOW_FIRST 0.08
#define SHADOW_STEP 0.06 /*   from the root on, in turns */
#define SHADOW_COST 0.3  /* what one must explain of a row's light, as a logarithm */
#define PLAIN 0.001      /* share of a row's light this shape is off by at its best */
#define NOISE2 8.0       /* grey levels squared, of a whole row */
#define ROW_TELLS 0.8    /* rows side by side err together; with this the angle lies within its doubt in 85 of 100 and within twice that in 98 */
#define NARROWER 0.02    /* turns: how finely the root's place against the crest is tried, */
#define NARROWERS 32
#define LEANS 9          /* how much the axis may be off, as a tangent: so many, */
#define LEAN_STEP 0.005
#define LEAN_SD 0.01
#define TEETH_SD 0.08    /* turns, of the teeth on an outline where they stand out, */
#define TEETH_CLEAR 0.2  /*   by this much; half as clear, half as well known */
#define TEETH_WRONG 0.1  /* share of outlines where something else than teeth was seen, anywhere */
#define BENCH_GREY 20.0  /* what differs from the bench by that is half sure to be metal */
#define ASTRAY 0.03      /* now and then something else bows */

/* One turn, seen in rows across: each a mean of grey over all turns. */
struct fold {
    int n;
    double across[ROWS]; /* pitches from the axis */
    double grey[ROWS][BINS], total[ROWS];
    double crest, root;  /* radii, in pitches */
    double teeth[2], clear[2]; /* where teeth stand on each outline, in turns, and how clear */
};

static double part(double v)
{
    return v - floor(v);
}

/* Two at once, of arrays of doubles as they lie. */
typedef double pair __attribute__((vector_size(16), aligned(8), may_alias));

/* Of two turns. Four sums, so that none waits for the one before it. */
static double dot(const double *a, const double *b)
{
    const pair *p = (const pair *)a, *q = (const pair *)b;
    pair sum[2] = {{0}};

    for (int k = 0; k < BINS / 2; k += 2)
        sum[0] += p[k] * q[k], sum[1] += p[k + 1] * q[k + 1];
    return sum[0][0] + sum[0][1] + (sum[1][0] + sum[1][1]);
}

static int turns_of(const struct gauge_thread *scale)
{
    double n = floor(scale->length_px / scale->px_per_mm / scale->pitch_mm + 0.3);

    return (int)fmin(fmax(n, FEWEST), MOST);
}

/* Adds the rows about `q` radii from the axis; false when a part of the turn is not seen in them. */
static bool fold_row(const struct gauge_strip *s, const struct gauge_thread *scale, double nearness, int hand, double q0, double *grey)
{
    double pitch = scale->pitch_mm * scale->px_per_mm, radius_mm = scale->radius_px / scale->px_per_mm, weight[BINS] = {0};
    int turns = turns_of(scale);

    memset(grey, 0, BINS * sizeof *grey);
    for (int j = 0; j < s->n_t; j++) {
        double q = (s->t0 + j * s->step_t) / scale->radius_px, period, helix;
        const float(*v)[3] = (const float(*)[3])(s->rgb + (size_t)j * (size_t)s->n_s);

        if (!s->seen[j] || fabs(q - q0) > WIDE / (ROWS - 1))
            continue;
        period = pitch * (1 + radius_mm * sqrt(1 - q * q) * nearness), helix = hand * asin(q) / (2 * PI); /* a right-hand helix climbs a pitch in a turn */
        for (int i = 0; i < s->n_s; i++) {
            double x = (s->s0 + i * s->step_s) / period, b = part(x - helix) * BINS, light;
            int k = (int)b;

            if (fabs(x) > turns / 2.0)
                continue;
            light = 0.3 * v[i][0] + 0.59 * v[i][1] + 0.11 * v[i][2];
            grey[k % BINS] += light * (1 - (b - k)), weight[k % BINS] += 1 - (b - k);
            grey[(k + 1) % BINS] += light * (b - k), weight[(k + 1) % BINS] += b - k;
        }
    }
    for (int k = 0; k < BINS; k++) {
        if (!(weight[k] > 0))
            return false;
        grey[k] /= weight[k];
    }
    return true;
}

/* Where the teeth stand against the bench on one outline, side -1 or 1: the middle of what differs from what lies beside it. */
static void teeth_find(const struct gauge_picture *p, const struct gauge_thread *scale, int side, int hand, double *at, double *clear)
{
    double pitch = scale->pitch_mm * scale->px_per_mm, radius = scale->radius_px, half = turns_of(scale) * pitch / 2, in = radius - 0.85 * DEPTH * pitch;
    double beside = radius + 0.25 * pitch, far = beside + 0.5 * pitch, metal[BINS] = {0}, weight[BINS] = {0}, re = 0, im = 0;
    struct gauge_frame f = {scale->middle, scale->ux, scale->uy};
    struct gauge_strip s;
    int reach, n_bench = 0;
    double(*bench)[3], (*sum)[3];

    *at = *clear = 0;
    if (!gauge_strip_cut(p, &f, -half, half, side < 0 ? -far : in, side < 0 ? -in : far, 0.5, 0.5, false, &s, NULL))
        return;
    sum = mem_alloc((size_t)s.n_s + 1, sizeof *sum), bench = mem_alloc((size_t)s.n_s, sizeof *bench);
    for (int j = 0; j < s.n_t; j++) {
        if (!s.seen[j] || fabs(s.t0 + j * s.step_t) < beside)
            continue;
        n_bench++;
        for (int i = 0; i < s.n_s; i++)
            for (int c = 0; c < 3; c++)
                bench[i][c] += (double)s.rgb[(size_t)j * (size_t)s.n_s + (size_t)i][c];
    }
    for (int i = 0; i < s.n_s; i++)
        for (int c = 0; c < 3; c++)
            sum[i + 1][c] = sum[i][c] + bench[i][c] / (n_bench > 0 ? n_bench : 1);
    reach = (int)(pitch / 2 / s.step_s);
    for (int i = 0; i < s.n_s; i++) { /* a turn's length of it: light changes along */
        int from = i - reach < 0 ? 0 : i - reach, to = i + reach + 1 > s.n_s ? s.n_s : i + reach + 1;

        for (int c = 0; c < 3; c++)
            bench[i][c] = (sum[to][c] - sum[from][c]) / (to - from);
    }
    for (int j = 0; j < s.n_t && n_bench > 0; j++) {
        if (!s.seen[j] || fabs(s.t0 + j * s.step_t) > 1.02 * radius)
            continue;
        for (int i = 0; i < s.n_s; i++) {
            double unlike = 0;
            int k = (int)(part((s.s0 + i * s.step_s) / pitch - 0.25 * side * hand) * BINS) % BINS;

            for (int c = 0; c < 3; c++)
                unlike += pow((double)s.rgb[(size_t)j * (size_t)s.n_s + (size_t)i][c] - bench[i][c], 2);
            metal[k] += unlike / (unlike + BENCH_GREY * BENCH_GREY), weight[k]++;
        }
    }
    for (int k = 0; k < BINS; k++) {
        double a = 2 * PI * (k + 0.5) / BINS, v = weight[k] > 0 ? metal[k] / weight[k] : 0;

        re += 2 * v * cos(a) / BINS, im += 2 * v * sin(a) / BINS;
    }
    *at = atan2(im, re) / (2 * PI), *clear = hypot(re, im);
    free(sum), free(bench);
    gauge_strip_release(&s);
}

static bool fold_make(const struct gauge_picture *p, const struct gauge_thread *scale, double nearness, int hand, struct fold *out)
{
    double pitch = scale->pitch_mm * scale->px_per_mm, radius = scale->radius_px, half = turns_of(scale) * pitch / 2 * (1 + radius / scale->px_per_mm * nearness) + 2;
    struct gauge_frame f = {scale->middle, scale->ux, scale->uy};
    struct gauge_strip s;

    memset(out, 0, sizeof *out);
    out->crest = radius / pitch, out->root = out->crest - DEPTH;
    if (!(out->root > 1) || !gauge_strip_cut(p, &f, -half, half, -radius, radius, 0.5, 1, false, &s, NULL))
        return false;
    for (int r = 0; r < ROWS; r++) {
        double q = WIDE * (2.0 * r / (ROWS - 1) - 1), mean = 0, *grey = out->grey[out->n];

        if (fabs(q) * out->crest >= WITHIN * out->root || !fold_row(&s, scale, nearness, hand, q, grey))
            continue;
        for (int k = 0; k < BINS; k++)
            mean += grey[k] / BINS;
        for (int k = 0; k < BINS; k++)
            grey[k] -= mean, out->total[out->n] += grey[k] * grey[k];
        out->across[out->n++] = q * out->crest;
    }
    gauge_strip_release(&s);
    for (int e = 0; e < 2; e++)
        teeth_find(p, scale, e ? 1 : -1, hand, &out->teeth[e], &out->clear[e]);
    return out->n >= LEAST_ROWS;
}

/* What light along one turn is made of, when the root lies at 0.5 and `narrower`, the crest at 0; the first `n` square to each other, with unit
 * length, and so is each shadow to them. */
struct shape {
    bool made;
    int n, n_shadow;
    double level[LEVELS][BINS], shadow[SHADOWS][BINS];
};

static double step(double x)
{
    return 0.5 * erfc(-x / SOFT * 0.70710678118654752);
}

/* Takes out of v what the levels tell, and gives it unit length; false when little is left. */
static bool make_square(const struct shape *s, double *v, double least)
{
    double square;

    for (int pass = 0; pass < 2; pass++)
        for (int i = 0; i < s->n; i++) {
            double told = dot(v, s->level[i]);

            for (int k = 0; k < BINS; k++)
                v[k] -= told * s->level[i][k];
        }
    square = dot(v, v);
    for (int k = 0; k < BINS && square > least; k++)
        v[k] /= sqrt(square);
    return square > least;
}

static void shape_make(double narrower, struct shape *s)
{
    double root = 0.5 + narrower, v[LEVELS][BINS];

    s->made = true, s->n = s->n_shadow = 0;
    for (int k = 0; k < BINS; k++) {
        double u = (double)k / BINS, all = 0;

        v[0][k] = 1, v[1][k] = v[2][k] = v[3][k] = v[4][k] = 0;
        for (int m = -3; m <= 3; m++) { /* flanks and their slopes, blurred */
            double w = exp(-0.5 * m * m / 2.25), x = part(u + m * SOFT / 1.5);

            all += w;
            if (x < root)
                v[1][k] += w, v[2][k] += w * (x / root - 0.5);
            else
                v[3][k] += w * ((x - root) / (1 - root) - 0.5);
        }
        v[1][k] /= all, v[2][k] /= all, v[3][k] /= all;
        for (int turn = -1; turn <= 1; turn++)
            v[4][k] += step(u + turn + FLAT / 2) - step(u + turn - FLAT / 2);
        v[5][k] = step(u - root + FLAT / 2) - step(u - root - FLAT / 2);
    }
    for (int i = 0; i < LEVELS; i++) {
        memcpy(s->level[s->n], v[i], sizeof v[i]);
        s->n += make_square(s, s->level[s->n], 1e-6);
    }
    for (int m = 0; m < SHADOWS; m++) {
        double wide = SHADOW_FIRST + SHADOW_STEP * (m / 2), from = m % 2 ? root : root - wide, *shadow = s->shadow[s->n_shadow];

        for (int k = 0; k < BINS; k++)
            shadow[k] = step((double)k / BINS - from) - step((double)k / BINS - from - wide);
        s->n_shadow += make_square(s, shadow, 0.05);
    }
}

/* What the shape leaves of a row whose crest lies at each bin, as a logarithm of a share. */
static void row_rest(const struct shape *s, const double *grey, double total, float *rest)
{
    for (int from = 0; from < BINS; from++) {
        double v[BINS], left = total, best;

        for (int k = 0; k < BINS; k++)
            v[k] = grey[(k + from) % BINS];
        for (int i = 1; i < s->n; i++) {
            double told = dot(v, s->level[i]);

            left -= told * told;
        }
        best = log(fmax(left, 0) + PLAIN * total + NOISE2);
        for (int i = 0; i < s->n_shadow; i++) {
            double told = dot(v, s->shadow[i]);

            best = fmin(best, log(fmax(left - told * told, 0) + PLAIN * total + NOISE2) + SHADOW_COST);
        }
        rest[from] = (float)(best - log(total + NOISE2));
    }
}

/* How unlikely the crest is to lie at `turn` in the plane of the axis, by the teeth on both outlines. */
static double teeth_speak(const struct fold *f, double turn, double lean)
{
    double sum = 0;

    for (int e = 0; e < 2; e++) {
        double off = part(turn + (e ? 1 : -1) * lean * f->crest - f->teeth[e] + 0.5) - 0.5, sd = TEETH_SD * fmax(1, TEETH_CLEAR / fmax(f->clear[e], 0.02));

        sum -= log((1 - TEETH_WRONG) * exp(-0.5 * off * off / (sd * sd)) + TEETH_WRONG * sd / 0.4);
    }
    return sum;
}

/* What is left at one angle, crest and lean of the axis taken as they leave least. Each row's rest stands there twice, one behind the other. */
static double angle_rest(const struct fold *f, const float (*rest)[2 * BINS + 2], double tangent)
{
    double least = 1e18;

    for (int l = 0; l < LEANS; l++) {
        double lean = (l - LEANS / 2) * LEAN_STEP, beforehand = 0.5 * lean * lean / (LEAN_SD * LEAN_SD), sum[2][BINS] = {{0}};

        for (int j = 0; j < f->n; j++) {
            double t = f->across[j], at = part(tangent * sqrt(f->crest * f->crest - t * t) + lean * t) * BINS;

            for (int half = 0; half < 2; half++) { /* a crest on a bin, and between two */
                int k = (int)(at + 0.5 * half);
                double share = at + 0.5 * half - k;
                const float *v = rest[j] + k % BINS;

                for (int u = 0; u < BINS; u++)
                    sum[half][u] += (double)v[u] * (1 - share) + (double)v[u + 1] * share;
            }
        }
        for (int half = 0; half < 2; half++)
            for (int u = 0; u < BINS; u++)
                least = fmin(least, ROW_TELLS * (beforehand + sum[half][u]) + teeth_speak(f, (u + 0.5 * half) / BINS, lean));
    }
    return least;
}

bool gauge_turns_read(const struct gauge_picture *p, const struct gauge_thread *scale, double nearness, int hand, struct gauge_turns *out)
{
    struct fold *f;
    struct shape *shape;
    float(*kept)[NARROWERS][BINS], (*rest)[2 * BINS + 2];
    double least = 1e18, sum = 0;
    bool fine;

    memset(out, 0, sizeof *out);
    if (!scale->has_body || !(scale->radius_px > 8))
        return false;
    f = mem_alloc(1, sizeof *f), shape = mem_alloc(NARROWERS, sizeof *shape);
    kept = mem_alloc(ROWS, sizeof *kept), rest = mem_alloc(ROWS, sizeof *rest);
    fine = fold_make(p, scale, nearness, hand, f);
    for (int a = 0; fine && a < GAUGE_TURNS_ANGLES; a++) {
        double tangent = tan((-GAUGE_TURNS_MOST_DEG + a * GAUGE_TURNS_STEP_DEG) * PI / 180);

        for (int j = 0; j < f->n; j++) {
            double t = f->across[j], crest = sqrt(f->crest * f->crest - t * t), root = sqrt(f->root * f->root - t * t);
            double narrower = hand * (asin(t / f->root) - asin(t / f->crest)) / (2 * PI) + tangent * (root - crest);
            int k = (int)fmin(fmax(floor(narrower / NARROWER + 0.5) + NARROWERS / 2, 0), NARROWERS - 1);

            if (!shape[k].made)
                shape_make((k - NARROWERS / 2) * NARROWER, &shape[k]);
            if (kept[j][k][0] == 0)
                row_rest(&shape[k], f->grey[j], f->total[j], kept[j][k]);
            for (int i = 0; i < 2 * BINS + 2; i++)
                rest[j][i] = kept[j][k][i % BINS];
        }
        out->likely[a] = angle_rest(f, (const float(*)[2 * BINS + 2])rest, tangent);
        least = fmin(least, out->likely[a]);
    }
    out->rest = least;
    for (int a = 0; fine && a < GAUGE_TURNS_ANGLES; a++)
        sum += out->likely[a] = exp(least - out->likely[a]);
    for (int a = 0; fine && a < GAUGE_TURNS_ANGLES; a++)
        out->likely[a] = (1 - ASTRAY) * out->likely[a] / sum + ASTRAY / GAUGE_TURNS_ANGLES;
    free(f), free(shape), free(kept), free(rest);
    return fine;
}
