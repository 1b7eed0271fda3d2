#include "gauge/gauge_edge.h"
#include "gauge/gauge_strip.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

#define PER_PX 2 /* samples along: strips are cut so, of pixels as fine as the picture resolves; across it is one */
#define NEAR_PX 1.25    /* blur: what lies nearer to an edge tells neither side's colour */
#define FAR_PX 4.0      /* and farther something else may begin */
#define BLOCK_MM 0.12   /* rows joined: soot is patchy at this size, an edge is not */
#define NOISE2 1.5      /* grey levels squared left in a block's mean by JPEG */
#define MOST 6.0        /* what one block can say for an edge */
#define SIGMA_PX 5.0    /* of a drawn end */
#define SHARE 0.6       /* of theirs: what is fainter is weave */
#define HAND_PX 9.0      /* 8 px each way at most, mostly not along the gap */
#define ENOUGH 6.0       /* evidence past which more says little */
#define INNER 1.5       /* an edge between the two speaks against them */
#define FOREIGN 2.0     /* and so does what is not the bench that is seen beside it */
#define ABOUT_MM 1.0 /* rows that a centre electrode fills but for a fine wire, */
#define ABOUT 0.9     /*   what they say against that */
#define BENCH_MM 0.2    /* of the bench looked at, at either end of the strip's width */
#define BENCH_NOISE 6.0 /* grey levels the bench may differ from itself by, */
#define BENCH_UNEVEN 0.7 /*   or of what its two sides do: a shadow falls across */
#define BARE 5.0        /* against an end outside of which lies the bench */
#define BARE_FROM_PX 1.5 /* looked at outside of an end, in px */
#define BARE_TO_PX 5.0
#define METAL 1.5       /* so many times the bench's own differences metal differs from it by */
#define GOES_ON 2.5     /* against a centre electrode's end that goes on past its sides */
#define FACE 3.0        /* against an end before which lies a stripe as narrow as a face */
#define LEAN_PX 3.0     /* so far along may it have gone there */
#define CLEAR_STEP 20.0 /* grey levels of a step of which half is counted */
#define DARK 0.75       /* of the grey beside it, a stripe has at the most */
#define UNLIKELY 1.5    /* an end against which more speaks is none */
#define STRIPE_MM 0.95  /* the widest asked about: a whole side electrode is thicker */

/* Lightness and, for JPEG halves its sharpness, a little less of two colours. */
static void opponent(const float rgb[3], double out[3])
{
    double y = 0.3 * rgb[0] + 0.59 * rgb[1] + 0.11 * rgb[2];

    out[0] = y, out[1] = 0.5 * (rgb[0] - y), out[2] = 0.5 * (rgb[2] - y);
}

/* Means of `rows` rows from j, for each sample. */
static void block_mean(const struct gauge_strip *s, int from, int to, double (*out)[3])
{
    int n = 0;

    memset(out, 0, (size_t)s->n_s * sizeof *out);
    for (int j = from; j < to; j++) {
        if (!s->seen[j])
            continue;
        n++;
        for (int i = 0; i < s->n_s; i++) {
            double v[3];

            opponent(s->rgb[(size_t)j * (size_t)s->n_s + (size_t)i], v);
            for (int c = 0; c < 3; c++)
                out[i][c] += v[c];
        }
    }
    for (int i = 0; i < s->n_s && n > 0; i++)
        for (int c = 0; c < 3; c++)
            out[i][c] /= n;
}

/* How much likelier two levels with a step at sample i are than one ramp, as a logarithm. */
static double step_evidence_at(const double (*v)[3], int n_v, int i, double per_px, double scale)
{
    int a = (int)lround(NEAR_PX * scale * per_px), b = (int)lround(FAR_PX * scale * per_px), n = b - a + 1;
    double ramp = 0, step = 0, independent = 2 * (FAR_PX - NEAR_PX) * 1.5 * sqrt(scale);

    if (i - b < 0 || i + b >= n_v)
        return 0;
    for (int c = 0; c < 3; c++) {
        double sum1 = 0, sum2 = 0, squares = 0, sx = 0, sxx = 0, mean;

        for (int m = a; m <= b; m++) {
            double lo = v[i - m][c], hi = v[i + m][c];

            sum1 += lo, sum2 += hi, squares += lo * lo + hi * hi;
            sx += m * (hi - lo), sxx += 2.0 * m * m;
        }
        mean = (sum1 + sum2) / (2 * n);
        ramp += squares - 2 * n * mean * mean - sx * sx / sxx;
        step += squares - (sum1 * sum1 + sum2 * sum2) / n;
    }
    ramp = fmax(ramp, 0) / (2 * n) + NOISE2, step = fmax(step, 0) / (2 * n) + NOISE2;
    return fmin(fmax(0.5 * independent * log(ramp / step), -MOST), MOST);
}

/* Out of focus an edge is wide. */
static double step_evidence(const double (*v)[3], int n_v, int i, double per_px)
{
    return fmax(step_evidence_at(v, n_v, i, per_px, 1), 0.8 * step_evidence_at(v, n_v, i, per_px, 2));
}

/* Evidence along the strip: mean of a block within `narrow` of the middle, and half as much of those farther out. */
static void evidence_make(const struct gauge_strip *s, double mm, double narrow, double *out)
{
    int rows = (int)fmax(2, round(BLOCK_MM * mm / s->step_t)), n_in = 0, n_out = 0;
    double(*v)[3] = mem_alloc((size_t)s->n_s, sizeof *v), *inner = mem_alloc((size_t)s->n_s, sizeof *inner), *outer = mem_alloc((size_t)s->n_s, sizeof *outer);

    for (int j = 0; j + rows <= s->n_t; j += rows) {
        double t = s->t0 + (j + rows / 2.0) * s->step_t;
        bool in = fabs(t) <= narrow, seen = true;

        for (int k = j; k < j + rows; k++)
            seen &= s->seen[k];
        if (!seen)
            continue;
        block_mean(s, j, j + rows, v);
        for (int i = 0; i < s->n_s; i++)
            (in ? inner : outer)[i] += step_evidence((const double(*)[3])v, s->n_s, i, PER_PX);
        n_in += in, n_out += !in;
    }
    for (int i = 0; i < s->n_s; i++)
        out[i] = (n_in ? inner[i] / n_in : 0) + (n_out ? 0.5 * outer[i] / n_out : 0);
    for (int k = 0; k < 2; k++) { /* rows joined over the whole width: grain and weave go, an edge stays */
        double reach = k ? fmin(0.9 * mm, -s->t0) : narrow;
        int from = (int)fmax(0, ceil((-reach - s->t0) / s->step_t)), to = (int)fmin(s->n_t, floor((reach - s->t0) / s->step_t) + 1);

        block_mean(s, from, to, v);
        for (int i = 0; i < s->n_s; i++)
            out[i] += (k ? 0.3 : 0.6) * step_evidence((const double(*)[3])v, s->n_s, i, PER_PX);
    }
    free(v), free(inner), free(outer);
}

static bool is_top(const double *v, int i)
{
    return v[i] > 0 && v[i] >= v[i - 1] && v[i] > v[i + 1];
}

/* An edge that is there is there: how much more it stands out says nothing of whose it is. */
static double enough(double evidence)
{
    return ENOUGH * (1 - exp(-evidence / ENOUGH));
}

/* How unlikely a hand is to be so far off. */
static double hand(double off)
{
    double far = fmax(0, fabs(off) - HAND_PX);

    return 0.5 * off * off / (SIGMA_PX * SIGMA_PX) + 0.5 * far * far;
}

/* Plugs are set to 0.5 to 1.5 mm and wear. */
static double unusual(double gap_mm)
{
    double narrow = fmax(0, 0.45 - gap_mm) / 0.08, wide = fmax(0, gap_mm - 1.7) / 0.25;

    return 0.5 * (narrow * narrow + wide * wide);
}

/* Mean colour of rows t0..t1 at each sample. */
static void rows_colour(const struct gauge_strip *s, double t0, double t1, double (*out)[3])
{
    block_mean(s, (int)fmax(0, ceil((t0 - s->t0) / s->step_t)), (int)fmin(s->n_t, floor((t1 - s->t0) / s->step_t) + 1), out);
}

static double unlike(const double a[3], const double b[3])
{
    double y = a[0] - b[0], r = 2 * (a[1] - b[1]), l = 2 * (a[2] - b[2]);

    return sqrt(y * y + r * r + l * l);
}

/* Colours along the strip: of rows in its middle and of those about it, where an electrode that looks like the bench in the middle may
 * show, and past the electrodes' sides where the bench shows beside a gap. */
struct colours {
    double (*middle)[3], (*about[2])[3], (*side[2])[3];
};

/* How unlike the bench on either side a colour is: a logarithm, 0 alike. */
static double foreign(const double v[3], double (*bench)[3], double noise)
{
    return 0.5 * log1p(pow(fmin(unlike(v, bench[0]), unlike(v, bench[1])) / noise, 2));
}

/* The same of what lies between samples i and k, as a mean. Where rows about the middle show more than it does, the electrode looks like
 * the bench in the middle; a shadow falls on all of them. */
static double foreign_between(const struct colours *c, int i, int k, double per_px, double *about)
{
    int near = (int)lround(2 * per_px), from = i + near, to = k - near;
    double bench[2][3] = {{0}}, noise, sum = 0;

    *about = 0;
    if (from > to)
        from = to = (i + k) / 2;
    for (int side = 0; side < 2; side++)
        for (int m = from; m <= to; m++)
            for (int ch = 0; ch < 3; ch++)
                bench[side][ch] += c->side[side][m][ch] / (to - from + 1);
    noise = fmax(BENCH_NOISE, BENCH_UNEVEN * unlike(bench[0], bench[1]));
    for (int m = from; m <= to; m++) {
        double middle = foreign(c->middle[m], bench, noise);

        sum += middle;
        for (int side = 0; side < 2; side++)
            *about += ABOUT * fmax(foreign(c->about[side][m], bench, noise) - middle, 0) / (to - from + 1);
    }
    return sum / (to - from + 1);
}

/* Mean of samples from..to, of an electrode's rows or those beside. */
static void stretch(double (*rows)[3], int from, int to, double out[3])
{
    memset(out, 0, 3 * sizeof *out);
    for (int m = from; m <= to; m++)
        for (int ch = 0; ch < 3; ch++)
            out[ch] += rows[m][ch] / (to - from + 1);
}

/* How little what lies outside of an end at sample i looks like an electrode: 1 like the bench beside it, as where a shadow or a face begins in
 * the open gap, 0 like metal. A side electrode's leg lies beside it: there the side that is less alike tells. */
static double bare(const struct colours *c, double (*beside[2])[3], int from, int to, bool leg)
{
    double v[3], bench[2][3], most = 0, noise;
    double(*rows[3])[3] = {c->middle, c->about[0], c->about[1]};

    for (int k = 0; k < 2; k++)
        stretch(beside[k], from, to, bench[k]);
    noise = leg ? BENCH_NOISE : fmax(BENCH_NOISE, BENCH_UNEVEN * unlike(bench[0], bench[1]));
    for (int k = 0; k < 3; k++) { /* a fine wire shows in the middle, a sooty end about it */
        double x, y;

        stretch(rows[k], from, to, v);
        x = unlike(v, bench[0]), y = unlike(v, bench[1]);
        most = fmax(most, (leg ? fmax(x, y) : fmin(x, y)) / noise);
    }
    return fmax(0, 1 - most / METAL);
}

/* How much of the step at sample i goes on beside, on the side that shows more: 0 none, 1 all of it. */
static double goes_on(const struct colours *c, double (*beside[2])[3], int n_s, int i)
{
    int a = (int)lround(NEAR_PX * PER_PX), b = (int)lround(FAR_PX * PER_PX), lean = (int)lround(LEAN_PX * PER_PX);
    double before[3], behind[3], most = 0, norm;

    stretch(c->middle, i - b, i - a, before), stretch(c->middle, i + a, i + b, behind);
    norm = unlike(before, behind);
    for (int side = 0; side < 2; side++)
        for (int k = i - lean < b ? b : i - lean; k <= i + lean && k + b < n_s; k++) {
            double from[3], to[3], step[3];

            stretch(beside[side], k - b, k - a, from), stretch(beside[side], k + a, k + b, to);
            for (int ch = 0; ch < 3; ch++)
                step[ch] = to[ch] - from[ch] + before[ch];
            most = fmax(most, 1 - unlike(step, behind) / norm);
        }
    return most * norm / (norm + CLEAR_STEP);
}

/* Whether what lies between two edges is darker over an electrode's whole width than what lies on both its sides. */
static bool dark_stripe(const struct colours *c, int n_s, int from, int to)
{
    int near = (int)lround(NEAR_PX * PER_PX), far = (int)lround(FAR_PX * PER_PX);
    double(*rows[3])[3] = {c->middle, c->about[0], c->about[1]};
    bool dark = from - far >= 0 && to + far < n_s && to - from >= 4 * near;

    for (int k = 0; k < 3 && dark; k++) {
        double stripe[3], before[3], behind[3];

        stretch(rows[k], from + near, to - near, stripe), stretch(rows[k], from - far, from - near, before), stretch(rows[k], to + near, to + far, behind);
        dark = stripe[0] < DARK * fmin(before[0], behind[0]);
    }
    return dark;
}

/* Whether a dark stripe no wider than a face lies on the gap's side of an edge: it is the electrode's, which ends before it. */
static bool behind_face(const struct gauge_pair_of *of, const struct colours *c, const double *v, int end, int i)
{
    int most = (int)(of->face_px[end] / of->strip->step_s);

    for (int wide = 1; wide <= most; wide++) {
        int k = end ? i - wide : i + wide;

        if (k > 0 && k < of->strip->n_s - 1 && is_top(v, k) && enough(v[k]) > SHARE * enough(v[i]) && dark_stripe(c, of->strip->n_s, k < i ? k : i, k < i ? i : k))
            return true;
    }
    return false;
}

/* What speaks against each edge being the metal's at an end: from what lies outside of it, within, and beside. */
static double *no_electrode(const struct gauge_pair_of *of, const struct colours *c, const double *v, int end)
{
    const struct gauge_strip *s = of->strip;
    double *out = mem_alloc((size_t)s->n_s, sizeof *out), (*beside[2])[3] = {NULL};
    int a = (int)lround(BARE_FROM_PX * PER_PX), b = (int)lround(BARE_TO_PX * PER_PX);

    if (of->beside[0] == NULL || of->beside[1] == NULL)
        return out;
    for (int side = 0; side < 2; side++) {
        beside[side] = mem_alloc((size_t)s->n_s, sizeof *beside[side]);
        block_mean(of->beside[side], 0, of->beside[side]->n_t, beside[side]);
    }
    for (int i = b; i + b < s->n_s; i++)
        if (is_top(v, i)) {
            int from = end ? i + a : i - b, to = end ? i + b : i - a;

            out[i] = BARE * bare(c, beside, from, to, end != of->tip);
            if (behind_face(of, c, v, end, i))
                out[i] += FACE;
            if (end == of->tip)
                out[i] += GOES_ON * goes_on(c, beside, s->n_s, i);
        }
    free(beside[0]), free(beside[1]);
    return out;
}

/* How wide a dark stripe is outside of one end of the pair a, b, in px, where it is wider than a face can be and the metal may end behind it: then
 * it may be a shadow in the gap. 0 none. One inside of the pair is a shadow. */
static double stripe_beside(const struct gauge_pair_of *of, const struct colours *c, const double *v, double *const wrong[2], int a, int b, int end)
{
    const struct gauge_strip *s = of->strip;
    int at = end ? b : a;
    double found = 0;

    for (int k = 1; k < s->n_s - 1; k++) {
        double wide = abs(k - at) * s->step_s;

        if (!is_top(v, k) || (end ? k < b : k > a) || wide <= of->face_px[end] || wide > STRIPE_MM * of->mm)
            continue;
        if (wrong[end][k] < UNLIKELY && enough(v[k]) > SHARE * enough(fmin(v[a], v[b])) && dark_stripe(c, s->n_s, k < at ? k : at, k < at ? at : k))
            found = fmax(found, wide);
    }
    return found;
}

bool gauge_edge_pair(const struct gauge_pair_of *of, struct gauge_pair *out)
{
    const struct gauge_strip *s = of->strip;
    double length = of->length, reach = of->reach, mm = of->mm, narrow = of->narrow;
    double *v = mem_alloc((size_t)s->n_s, sizeof *v), *wrong[2] = {NULL}, best = -1e9, best_foreign = 0, best_about = 0;
    struct colours c = {.middle = mem_alloc((size_t)s->n_s, sizeof *c.middle)};
    int a = -1, b = -1, least = (int)(fmax(4, 0.22 * mm) / s->step_s);

    memset(out, 0, sizeof *out);
    evidence_make(s, mm, narrow, v);
    rows_colour(s, -narrow, narrow, c.middle);
    for (int side = 0; side < 2; side++) {
        c.side[side] = mem_alloc((size_t)s->n_s, sizeof *c.side[side]);
        c.about[side] = mem_alloc((size_t)s->n_s, sizeof *c.about[side]);
        rows_colour(s, side ? narrow : -ABOUT_MM * mm, side ? ABOUT_MM * mm : -narrow, c.about[side]);
        rows_colour(s, side ? -s->t0 - BENCH_MM * mm : s->t0, side ? -s->t0 : s->t0 + BENCH_MM * mm, c.side[side]);
    }
    for (int end = 0; end < 2; end++)
        wrong[end] = no_electrode(of, &c, v, end);
    for (int pass = 0; pass < 2; pass++) /* the best pair, then how far its rivals are from it */
        for (int i = 1; i < s->n_s - 1; i++) {
            double oi = s->s0 + i * s->step_s + length / 2;

            if (!is_top(v, i) || fabs(oi) > reach)
                continue;
            for (int k = i + least; k < s->n_s - 1; k++) {
                double ok = s->s0 + k * s->step_s - length / 2, inner = 0, score, foreign, about;

                if (!is_top(v, k) || fabs(ok) > reach)
                    continue;
                for (int m = i + (int)(2 / s->step_s); m <= k - (int)(2 / s->step_s); m++)
                    inner = fmax(inner, v[m]);
                score = enough(v[i]) + enough(v[k]) - INNER * fmax(0, enough(inner) - SHARE * enough(fmin(v[i], v[k]))) - hand(oi) - hand(ok) - wrong[0][i] - wrong[1][k] - unusual((k - i) * s->step_s / mm);
                foreign = FOREIGN * foreign_between(&c, i, k, 1 / s->step_s, &about);
                if (pass == 0 && score - foreign - FOREIGN * about > best)
                    best = score - foreign - FOREIGN * about, best_foreign = foreign, best_about = FOREIGN * about, a = i, b = k;
                /* of two pairs side by side, one has metal where the other has bench: colours may mislead as to which, edges do not */
                score -= i < b && k > a ? foreign : best_foreign;
                /* the rows about the middle choose; how sure the choice is they do not tell */
                if (pass == 1 && score > best + best_about - 2)
                    out->rival_px = fmax(out->rival_px, abs(k - i - b + a) * s->step_s * (1 - fmax(best + best_about - score, 0) / 2));
            }
        }
    if (a >= 0) {
        out->at[0] = s->s0 + a * s->step_s, out->at[1] = s->s0 + b * s->step_s;
        out->evidence = fmin(v[a], v[b]);
        out->stripe_px = fmax(stripe_beside(of, &c, v, wrong, a, b, 0), stripe_beside(of, &c, v, wrong, a, b, 1));
    }
    free(v), free(wrong[0]), free(wrong[1]), free(c.middle), free(c.about[0]), free(c.about[1]), free(c.side[0]), free(c.side[1]);
    return a >= 0;
}

double gauge_edge_near(const struct gauge_strip *s, double near, double reach, double mm, double narrow, double *at)
{
    double *v = mem_alloc((size_t)s->n_s, sizeof *v), best = -1e9, evidence = 0;

    *at = near;
    evidence_make(s, mm, narrow, v);
    for (int i = 1; i < s->n_s - 1; i++) {
        double x = s->s0 + i * s->step_s, score = enough(v[i]) - hand(x - near);

        if (is_top(v, i) && fabs(x - near) <= reach && score > best)
            best = score, *at = x, evidence = v[i];
    }
    free(v);
    return evidence;
}

/* Where a block's colour passes half of its step within 3 px of `at`; false when it has none. */
static bool block_crossing(const struct gauge_strip *s, const double (*v)[3], double at, int side, double *out)
{
    double metal[3] = {0}, gap[3] = {0}, norm = 0, before = 0, nearest = 1e9;
    int i = (int)lround((at - s->s0) / s->step_s), a = (int)lround(2 / s->step_s), b = (int)lround(4.5 / s->step_s), n = 0;

    if (i - b < 0 || i + b >= s->n_s)
        return false;
    for (int m = a; m <= b; m++, n++)
        for (int c = 0; c < 3; c++)
            metal[c] += v[i + side * m][c], gap[c] += v[i - side * m][c];
    for (int c = 0; c < 3; c++)
        metal[c] /= n, gap[c] /= n, norm += (metal[c] - gap[c]) * (metal[c] - gap[c]);
    if (norm < 25)
        return false;
    for (int m = -b; m <= b; m++) { /* from the gap into the metal */
        double share = 0;

        for (int c = 0; c < 3; c++)
            share += (v[i + side * m][c] - gap[c]) * (metal[c] - gap[c]) / norm;
        if (m > -b && before < 0.5 && share >= 0.5) {
            double x = m - (share - 0.5) / (share - before);

            if (fabs(x) < nearest)
                nearest = fabs(x), *out = s->s0 + (i + side * x) * s->step_s;
        }
        before = share;
    }
    return nearest * s->step_s <= 3.5;
}

/* Straight line through n points, those far off it losing their weight. */
static void fit_line(const double *t, const double *x, int n, double square_sd, struct gauge_line *out)
{
    /* neighbouring blocks err together: four count as one */
    double *off = mem_alloc((size_t)n, sizeof *off), limit = 0, stt = 0, square = 4 * 0.4 * 0.4 / (square_sd * square_sd);
    int kept = 0;

    memcpy(off, x, (size_t)n * sizeof *off);
    out->at = gauge_median(off, n), out->slope = 0;
    for (int pass = 0; pass < 8; pass++) {
        double w = 0, wt = 0, wx = 0, tt = 0, tx = 0;

        for (int i = 0; i < n; i++)
            off[i] = fabs(x[i] - out->at - out->slope * t[i]);
        limit = fmax(4.5 * gauge_median(off, n), 0.6); /* sorts off */
        for (int i = 0; i < n; i++) {
            double u = (x[i] - out->at - out->slope * t[i]) / limit, k = fabs(u) < 1 ? (1 - u * u) * (1 - u * u) : 0;

            w += k, wt += k * t[i], wx += k * x[i];
        }
        if (w < 1e-9)
            break;
        wt /= w, wx /= w;
        for (int i = 0; i < n; i++) {
            double u = (x[i] - out->at - out->slope * t[i]) / limit, k = fabs(u) < 1 ? (1 - u * u) * (1 - u * u) : 0;

            tt += k * (t[i] - wt) * (t[i] - wt), tx += k * (t[i] - wt) * (x[i] - wx);
        }
        out->slope = tt > 1e-9 ? fmin(fmax(tx / (tt + square), -0.3), 0.3) : 0;
        out->at = wx - out->slope * wt;
        stt = tt + square;
    }
    out->scatter = 0;
    for (int i = 0; i < n; i++) {
        double d = x[i] - out->at - out->slope * t[i];

        if (fabs(d) < limit)
            out->scatter += d * d, kept++;
    }
    out->scatter = kept > 2 ? sqrt(out->scatter / (kept - 2)) : 1;
    out->slope_sd = stt > 1e-9 ? 2 * fmax(out->scatter, 0.2) / sqrt(stt) : 1;
    free(off);
}

bool gauge_edge_follow(const struct gauge_strip *s, double at, int side, double mm, double narrow, double square_sd, struct gauge_line *out)
{
    int rows = (int)fmax(2, round(BLOCK_MM / 2 * mm / s->step_t)), n_blocks = s->n_t / rows, n = 0;
    double(*v)[3] = mem_alloc((size_t)s->n_s, sizeof *v), *t = mem_alloc((size_t)n_blocks + 1, sizeof *t), *x = mem_alloc((size_t)n_blocks + 1, sizeof *x);
    double *t_in = mem_alloc((size_t)n_blocks + 1, sizeof *t), *x_in = mem_alloc((size_t)n_blocks + 1, sizeof *x), reach = narrow;
    bool fine = false;

    memset(out, 0, sizeof *out);
    for (int b = 0; b < n_blocks; b++) {
        double cross = 0;

        block_mean(s, b * rows, (b + 1) * rows, v);
        if (!block_crossing(s, (const double(*)[3])v, at, side, &cross))
            continue;
        t[n] = s->t0 + ((b + 0.5) * rows - 0.5) * s->step_t, x[n++] = cross;
    }
    for (int pass = 0; pass < 4; pass++) { /* from the middle outwards, as far as the line is kept to */
        int m = 0;

        for (int i = 0; i < n; i++)
            if (fabs(t[i]) <= reach)
                t_in[m] = t[i], x_in[m++] = x[i];
        fine = m >= 4;
        if (!fine)
            break;
        fit_line(t_in, x_in, m, square_sd, out);
        out->t0 = -narrow, out->t1 = narrow;
        for (int way = -1; way <= 1; way += 2) {
            double last = 0, missed = 0;

            for (int i = way < 0 ? n - 1 : 0; i >= 0 && i < n; i += way) {
                if (way * t[i] <= 0)
                    continue;
                if (fabs(x[i] - out->at - out->slope * t[i]) < fmax(1.0, 3 * out->scatter))
                    last = t[i], missed = 0;
                else
                    missed++;
                if (missed > 2 || fabs(t[i] - last) > 0.35 * mm)
                    break;
            }
            if (way < 0)
                out->t0 = fmin(last - rows / 2.0, out->t0);
            else
                out->t1 = fmax(last + rows / 2.0, out->t1);
        }
        reach = fmax(narrow, 0.8 * fmin(-out->t0, out->t1));
    }
    free(v), free(t), free(x), free(t_in), free(x_in);
    return fine && out->scatter < 1.5;
}

/* Mean over samples from..to of a row. */
static void row_mean(const struct gauge_strip *s, int j, int from, int to, double out[3])
{
    memset(out, 0, 3 * sizeof *out);
    for (int i = from < 0 ? 0 : from; i <= to && i < s->n_s; i++) {
        double c[3];

        opponent(s->rgb[(size_t)j * (size_t)s->n_s + (size_t)i], c);
        for (int k = 0; k < 3; k++)
            out[k] += c[k] / (to - from + 1);
    }
}

/* Evidence for an edge within 2 px of sample i in rows between two distances from the middle, on the side that shows more. */
static double evidence_beside(const struct gauge_strip *s, int i, double from, double to)
{
    double(*v)[3] = mem_alloc((size_t)s->n_s, sizeof *v), best = 0;

    for (int way = -1; way <= 1; way += 2) {
        double t0 = way < 0 ? -to : from;
        int a = (int)((t0 - s->t0) / s->step_t), b = (int)((t0 + to - from - s->t0) / s->step_t);

        block_mean(s, a < 0 ? 0 : a, b > s->n_t ? s->n_t : b, v);
        for (int k = i - 2 * PER_PX; k <= i + 2 * PER_PX; k++)
            best = fmax(best, step_evidence((const double(*)[3])v, s->n_s, k, PER_PX));
    }
    free(v);
    return best;
}

double gauge_edge_wire(const struct gauge_strip *s, double at, int side, double mm)
{
    double(*v)[3], best = 0, score, wide = 0;
    int near = (int)((at - s->s0) / s->step_s), a = (int)(0.1 * mm / s->step_s), b = (int)(0.45 * mm / s->step_s), middle = (int)(-s->t0 / s->step_t);

    if (evidence_beside(s, near, 0.65 * mm, 0.95 * mm) > 0.55 * evidence_beside(s, near, 0, 0.25 * mm))
        return 0; /* as wide as that is no wire */
    v = mem_alloc((size_t)s->n_t, sizeof *v);
    for (int j = 0; j < s->n_t; j++)
        row_mean(s, j, side < 0 ? near - b : near + a, side < 0 ? near - a : near + b, v[j]);
    for (int pass = 0; pass < 2; pass++) /* the widest that stands out: within it are streaks of light */
        for (int half = (int)(0.15 * mm / s->step_t); half <= 0.65 * mm / s->step_t; half++)
            for (int off = (int)(-0.2 * mm / s->step_t); off <= 0.2 * mm / s->step_t; off++) { /* the axis is not known to a pixel */
                int lo = middle + off - half, hi = middle + off + half;

                if (lo < 0 || hi >= s->n_t)
                    continue;
                score = fmin(step_evidence((const double(*)[3])v, s->n_t, lo, 1), step_evidence((const double(*)[3])v, s->n_t, hi, 1));
                if (pass == 0)
                    best = fmax(best, score);
                else if (score > 0.6 * best)
                    wide = half * s->step_t;
            }
    free(v);
    return best > 1 ? wide : 0;
}
