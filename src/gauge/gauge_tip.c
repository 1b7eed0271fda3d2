#include "gauge/gauge_tip.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"

#define PER_MM 16        /* samples */
#define FROM_MM (-3.0)   /* along: the thread's end is known roughly */
#define TO_MM 16.0       /* a nose, a gap and a side electrode end before */
#define BESIDE_MM 3.0    /* past the thread's radius */
#define HALF_EDGE 3      /* samples each side of an edge: less than a shadow is soft */
#define HALF_ALONG 2     /* samples an edge is averaged along */
#define LOOSE 2          /* samples an edge may lie off its line: a strap leans by some degrees */
#define COARSE_S 2      /* samples from one place of a side electrode to the next, and of one thickness: edges are loose enough */
#define COARSE_THICK 3
#define CLEAR 3.0F       /* times the bench's own edges: half sure */
#define LEAST_CONTRAST 3.0F /* grey levels */
#define NARROWEST_MM 0.35 /* gaps looked for: new ones are 0.4 to 1.6, worn ones wider */
#define WIDEST_MM 2.6
#define WIDEST_TIP_MM 1.5 /* half of a centre electrode */
#define INNER_MM 0.4     /* from a side electrode's edge: rounding, a rim of light */
#define OWN_EDGE 0.6     /* times as clear as its own edges a seam or a highlight may be */
#define LEAST_BAR 0.3
#define ASIDE_MM 1.5     /* that the axis may lie off where the thread tells it */
#define ASIDE_STEP 8     /* samples from one try to the next */
#define ASIDE_COSTS 0.06 /* of a score, times its square in mm: of equals the nearest */
#define NARROW_MM 0.6    /* half of an electrode below which chance meets it more often; */
#define NARROW_COSTS 0.42 /*   of a score, each mm less */
#define SHORT_COSTS 0.25 /* of a score, when the side electrode does not reach over the centre one, as every plug's does */
#define USUAL_MM 1.7     /* of a gap, worn ones too; */
#define WIDE_COSTS 0.15  /*   of a score, each mm more */

/* How clear an edge runs, at each place: 0 none, 1 sure. */
struct edges {
    int n_s, n_t;
    float *across; /* edges that run across the axis, summed over t: n_s rows of n_t + 1 */
    float *along;  /* edges along it, summed over s: n_t rows of n_s + 1 */
    float *exact;  /* as across, but where they are and not beside */
};

static float colour_step(const float a[3], const float b[3])
{
    float r = a[0] - b[0], g = a[1] - b[1], l = a[2] - b[2];

    return sqrtf(0.3f * r * r + 0.5f * g * g + 0.2f * l * l);
}

/* Sums of colour over s and t, so that any rectangle's mean is at hand. */
struct sums {
    int n_s, n_t;
    double (*v)[3];
};

static void sums_fill(const struct gauge_strip *s, struct sums *out)
{
    out->n_s = s->n_s, out->n_t = s->n_t;
    out->v = mem_alloc((size_t)(s->n_s + 1) * (size_t)(s->n_t + 1), sizeof *out->v);
    for (int t = 0; t < s->n_t; t++) {
        double row[3] = {0};

        for (int i = 0; i < s->n_s; i++) {
            size_t at = (size_t)(t + 1) * (size_t)(s->n_s + 1) + (size_t)i + 1;

            for (int c = 0; c < 3; c++) {
                row[c] += (double)s->rgb[(size_t)t * (size_t)s->n_s + (size_t)i][c];
                out->v[at][c] = out->v[at - (size_t)(s->n_s + 1)][c] + row[c];
            }
        }
    }
}

static void box(const struct sums *m, int s0, int s1, int t0, int t1, float out[3])
{
    double n;
    size_t w = (size_t)(m->n_s + 1);

    s0 = s0 < 0 ? 0 : s0, t0 = t0 < 0 ? 0 : t0, s1 = s1 > m->n_s ? m->n_s : s1, t1 = t1 > m->n_t ? m->n_t : t1;
    n = (double)(s1 - s0) * (t1 - t0);
    for (int c = 0; c < 3; c++)
        out[c] = n > 0 ? (float)((m->v[(size_t)t1 * w + (size_t)s1][c] - m->v[(size_t)t1 * w + (size_t)s0][c] - m->v[(size_t)t0 * w + (size_t)s1][c] +
                                  m->v[(size_t)t0 * w + (size_t)s0][c]) / n) : 0;
}

static void edges_fill(const struct gauge_strip *strip, const struct sums *m, struct edges *out)
{
    int n_s = strip->n_s, n_t = strip->n_t;
    size_t n = (size_t)n_s * (size_t)n_t;
    float *raw[2];

    out->n_s = n_s, out->n_t = n_t;
    out->across = mem_alloc((size_t)n_s * (size_t)(n_t + 1), sizeof *out->across);
    out->along = mem_alloc((size_t)n_t * (size_t)(n_s + 1), sizeof *out->along);
    out->exact = mem_alloc((size_t)n_s * (size_t)(n_t + 1), sizeof *out->exact);
    for (int way = 0; way < 2; way++) {
        raw[way] = mem_alloc(n, sizeof **raw);
        for (int t = 0; t < n_t; t++)
            for (int s = 0; s < n_s; s++) {
                float a[3], b[3];

                if (way == 0) {
                    if (s < HALF_EDGE || s > n_s - HALF_EDGE)
                        continue;
                    box(m, s - HALF_EDGE, s, t - HALF_ALONG, t + HALF_ALONG + 1, a), box(m, s, s + HALF_EDGE, t - HALF_ALONG, t + HALF_ALONG + 1, b);
                } else {
                    if (t < HALF_EDGE || t > n_t - HALF_EDGE)
                        continue;
                    box(m, s - HALF_ALONG, s + HALF_ALONG + 1, t - HALF_EDGE, t, a), box(m, s - HALF_ALONG, s + HALF_ALONG + 1, t, t + HALF_EDGE, b);
                }
                raw[way][(size_t)t * (size_t)n_s + (size_t)s] = colour_step(a, b);
            }
        gauge_clearness(raw[way], n, CLEAR, CLEAR * LEAST_CONTRAST);
    }
    for (int s = 0; s < n_s; s++)
        for (int t = 0; t < n_t; t++) {
            size_t at = (size_t)s * (size_t)(n_t + 1) + (size_t)t;
            float most = 0;

            out->exact[at + 1] = out->exact[at] + raw[0][(size_t)t * (size_t)n_s + (size_t)s];
            for (int k = -LOOSE; k <= LOOSE; k++)
                if (s + k >= 0 && s + k < n_s)
                    most = fmaxf(most, raw[0][(size_t)t * (size_t)n_s + (size_t)(s + k)] * (1 - 0.1f * (float)abs(k)));
            out->across[at + 1] = out->across[at] + most;
        }
    for (int t = 0; t < n_t; t++)
        for (int s = 0; s < n_s; s++) {
            float most = 0;

            for (int k = -LOOSE; k <= LOOSE; k++)
                if (t + k >= 0 && t + k < n_t)
                    most = fmaxf(most, raw[1][(size_t)(t + k) * (size_t)n_s + (size_t)s] * (1 - 0.1f * (float)abs(k)));
            out->along[(size_t)t * (size_t)(n_s + 1) + (size_t)s + 1] = out->along[(size_t)t * (size_t)(n_s + 1) + (size_t)s] + most;
        }
    free(raw[0]), free(raw[1]);
}

/* Mean clearness of an edge across the axis at s, from t0 to t1; and along it at t, from s0 to s1. */
static double across(const struct edges *e, int s, int t0, int t1)
{
    const float *row;

    t0 = t0 < 0 ? 0 : t0, t1 = t1 > e->n_t ? e->n_t : t1;
    if (s < 0 || s >= e->n_s || t1 <= t0)
        return 0;
    row = e->across + (size_t)s * (size_t)(e->n_t + 1);
    return (double)(row[t1] - row[t0]) / (t1 - t0);
}

static double along(const struct edges *e, int t, int s0, int s1)
{
    const float *row;

    s0 = s0 < 0 ? 0 : s0, s1 = s1 > e->n_s ? e->n_s : s1;
    if (t < 0 || t >= e->n_t || s1 <= s0)
        return 0;
    row = e->along + (size_t)t * (size_t)(e->n_s + 1);
    return (double)(row[s1] - row[s0]) / (s1 - s0);
}

static int samples(double mm)
{
    return (int)lround(mm * PER_MM);
}

/* What is left of an edge that ought to stop when it goes on as clearly. */
static double stops(double here, double beyond)
{
    double left = here - 0.7 * beyond;

    return left > 0 ? left : 0;
}

/* The end of a centre electrode at s: its face and the last of its sides. */
struct end {
    double score;
    int half;  /* width */
    int aside; /* samples from where the axis was thought to be to its middle */
};

static struct end end_at(const struct edges *e, int axis, int s)
{
    struct end best = {0};

    for (int half = samples(0.25); half <= samples(WIDEST_TIP_MM); half++) {
        double face = across(e, s, axis - half + 1, axis + half), side[2], on, score;
        int next = half + samples(0.3);

        on = fmax(across(e, s, axis + next, axis + next + samples(1)), across(e, s, axis - next - samples(1), axis - next));
        for (int k = 0; k < 2; k++)
            side[k] = stops(along(e, axis + (k ? half : -half), s - samples(0.6), s - 1), along(e, axis + (k ? half : -half), s + samples(0.15), s + samples(0.4)));
        score = 0.5 * stops(face, on) + 0.25 * (side[0] + side[1]);
        if (score > best.score)
            best = (struct end){score, half, 0};
    }
    if (best.half == samples(WIDEST_TIP_MM)) /* best as wide as is looked for: something wider, the insulator or a shadow */
        best.score *= 0.5;
    return best;
}

static double aside_likely(int aside)
{
    double mm = (double)aside / PER_MM;

    return 1 - ASIDE_COSTS * mm * mm;
}

/* The same with the axis known to half a step. */
static struct end end_near(const struct edges *e, int axis, int s)
{
    struct end best = {0};

    for (int aside = -ASIDE_STEP / 2; aside <= ASIDE_STEP / 2; aside += ASIDE_STEP / 2) {
        struct end end = end_at(e, axis + aside, s);

        end.aside = aside;
        if (end.score > best.score)
            best = end;
    }
    return best;
}

/* A side electrode from s to s + thick, its leg on one side. */
struct bar {
    double score;
    int past; /* samples past the axis */
    int leg;  /* outer side of the leg, from the axis */
};

static double bar_edge(const struct edges *e, int axis, int side, int s, int from, int to)
{
    return side > 0 ? across(e, s, axis + from, axis + to) : across(e, s, axis - to, axis - from);
}

/* What is seen of a side electrode's free end, for every way past the axis it may go: the same wherever its leg stands. */
enum { STEP = 3, PASTS = 16 }; /* 2.6 mm past at most */
struct free_end {
    int past;
    double close, near_on, far_on; /* the end itself; edges that go on past it, before and behind the electrode */
};

static void free_ends(const struct edges *e, int axis, int side, int s, int thick, struct free_end out[PASTS])
{
    for (int i = 0; i < PASTS; i++) {
        int past = -samples(0.25) + i * STEP, from = -past - samples(0.3);

        out[i] = (struct free_end){past, 0, bar_edge(e, axis, side, s, from - samples(1), from), bar_edge(e, axis, side, s + thick, from - samples(1), from)};
        for (int k = -1; k <= 1; k++)
            out[i].close = fmax(out[i].close, along(e, axis - side * (past + k), s + 1, s + thick - 1));
    }
}

static struct bar bar_at(const struct edges *e, int axis, int side, int s, int thick, int radius)
{
    struct free_end ends[PASTS];
    struct bar best = {0};

    free_ends(e, axis, side, s, thick, ends);
    for (int leg = samples(2.6); leg <= radius + samples(0.5); leg += STEP) {
        double outer = 0, inner = 0, legs, behind = bar_edge(e, axis, side, s + thick, leg + samples(0.3), leg + samples(1.3));

        for (int k = -1; k <= 1; k++) {
            outer = fmax(outer, stops(along(e, axis + side * (leg + k), s - samples(1.6), s + thick / 2 - samples(0.5)),
                                      along(e, axis + side * (leg + k), s + thick + samples(0.3), s + thick + samples(1.3))));
            for (int m = -3; m <= 3; m += 3)
                inner = fmax(inner, along(e, axis + side * (leg - thick + k + m), s - samples(1.6), s - samples(0.5)));
        }
        legs = 0.125 * (outer + inner);
        for (int i = 0; i < PASTS; i++) {
            double near = stops(bar_edge(e, axis, side, s, -ends[i].past, leg - thick - samples(0.6)), ends[i].near_on);
            double far = stops(bar_edge(e, axis, side, s + thick, -ends[i].past, leg - samples(1.2)), (ends[i].far_on + behind) / 2);
            double score = 0.3 * near + 0.3 * far + 0.15 * ends[i].close + legs;

            if (score > best.score)
                best = (struct bar){score, ends[i].past, leg};
        }
    }
    return best;
}

/* No edge runs along a side electrode between its own two as clearly as they do: there a shadow beside it was taken for metal. 1 none. */
static double solid(const struct edges *e, int axis, int side, int s, int thick, const struct bar *bar)
{
    int to = bar->leg - thick - samples(0.6);
    double own = fmin(bar_edge(e, axis, side, s, -bar->past, to), bar_edge(e, axis, side, s + thick, -bar->past, to)), most = 0;

    for (int q = s + samples(INNER_MM); q <= s + thick - samples(INNER_MM); q++)
        most = fmax(most, bar_edge(e, axis, side, q, -bar->past, to));
    return 1 - fmax(most - OWN_EDGE * own, 0);
}

/* How much what lies in the gap is the bench, seen past the side electrode or beside the gap where the leg is not: 1 wholly. */
static double open_to_bench(const struct sums *m, int axis, int side, int tip, int strap, int thick, int half, const struct bar *bar)
{
    int third = (strap - tip) / 4 > 1 ? (strap - tip) / 4 : 1, wide = half < samples(0.7) ? half : samples(0.7), free_from = (bar->past > half ? bar->past : half) + samples(0.4);
    float gap[3], beyond[3], beside[3], metal[2][3], contrast, away;

    box(m, tip + third, strap - third + 1, axis - wide, axis + wide + 1, gap);
    box(m, strap + thick + samples(0.4), strap + thick + samples(1.4), axis - samples(0.7), axis + samples(0.7), beyond);
    if (side > 0)
        box(m, tip + third, strap - third + 1, axis - free_from - samples(1), axis - free_from, beside);
    else
        box(m, tip + third, strap - third + 1, axis + free_from, axis + free_from + samples(1), beside);
    box(m, tip - samples(0.5), tip - samples(0.15), axis - wide, axis + wide + 1, metal[0]);
    box(m, strap + samples(0.2), strap + thick - samples(0.2), axis - wide, axis + wide + 1, metal[1]);
    contrast = fminf(colour_step(gap, metal[0]), colour_step(gap, metal[1]));
    away = fminf(colour_step(gap, beyond), colour_step(gap, beside));
    return (double)(contrast * contrast / (contrast * contrast + away * away + LEAST_CONTRAST * LEAST_CONTRAST));
}

/* How little is in a gap, 1 nothing: edges along the axis on both sides of it, as of the electrode that lies before a nose, or across it. */
static double empty(const struct edges *e, int axis, int tip, int strap)
{
    double most = 0;
    int middle = (tip + strap + 1) / 2, from = middle - 2 < tip + 3 ? middle - 2 : tip + 3, to = middle + 2 > strap - 2 ? middle + 2 : strap - 2;
    int window = to - from < samples(0.4) ? to - from : samples(0.4);

    for (int t = samples(0.2); t <= samples(1.6); t++)
        for (int s = from; s + window <= to; s += 2)
            most = fmax(most, fmin(along(e, axis - t, s, s + window), along(e, axis + t, s, s + window)));
    for (int s = tip + samples(0.45); s <= strap - samples(0.45); s++)
        most = fmax(most, across(e, s, axis - samples(0.3), axis + samples(0.3)));
    return 1 - most;
}

/* Where near s the edge is, to a part of a sample: mm along. */
static double place(const struct edges *e, int axis, int s, int half)
{
    double v[2 * LOOSE + 3] = {0}, off;
    int top = 1;

    for (int k = 0; k < 2 * LOOSE + 3; k++) {
        const float *row = e->exact + (size_t)(s + k - LOOSE - 1) * (size_t)(e->n_t + 1);

        if (s + k - LOOSE - 1 >= 0 && s + k - LOOSE - 1 < e->n_s)
            v[k] = (double)(row[axis + half + 1] - row[axis - half]);
    }
    for (int k = 1; k < 2 * LOOSE + 2; k++)
        if (v[k] > v[top])
            top = k;
    off = v[top - 1] + v[top + 1] - 2 * v[top];
    off = off < 0 ? fmin(fmax(0.5 * (v[top - 1] - v[top + 1]) / off, -0.5), 0.5) : 0;
    return FROM_MM + (s + top - LOOSE - 1 + off) / PER_MM;
}

/* The best electrodes with a side electrode from s to s + thick, kept where they are better than what there is. */
struct search {
    const struct edges *e;
    const struct sums *m;
    const struct end *ends;
    int axis, radius;
    double prior;   /* of this axis */
    int tip, strap; /* of the best so far */
};

/* How well a gap, a centre electrode's width and a side electrode's reach past the axis fit what plugs have: 1 well. */
static double likely(int gap, int half, int past)
{
    double shy = fmin(fmax((double)(half - past) / (half + samples(0.25)), 0), 1), wide = fmax((double)gap / PER_MM - USUAL_MM, 0);

    return (1 - SHORT_COSTS * shy) * (1 - WIDE_COSTS * wide) * (1 - NARROW_COSTS * fmax(NARROW_MM - (double)half / PER_MM, 0));
}

static void try_bar(struct search *f, int side, int s, int thick, struct gauge_tip *best)
{
    struct bar bar = bar_at(f->e, f->axis, side, s, thick, f->radius);
    double whole = -1;

    for (int tip = s - samples(WIDEST_MM); tip <= s - samples(NARROWEST_MM) && bar.score > LEAST_BAR; tip++) {
        double score;

        if (tip < 0)
            continue;
        score = f->prior * (0.4 * f->ends[tip].score + 0.6 * bar.score);
        if (score <= best->score) /* what follows only takes from it */
            continue;
        score *= likely(s - tip, f->ends[tip].half, bar.past + side * f->ends[tip].aside);
        if (score <= best->score)
            continue;
        if (whole < 0)
            whole = solid(f->e, f->axis, side, s, thick, &bar);
        score *= (0.5 + 0.5 * whole) * (0.5 + 0.5 * open_to_bench(f->m, f->axis, side, tip, s, thick, f->ends[tip].half, &bar)) * (0.5 + 0.5 * empty(f->e, f->axis, tip, s));
        if (score > best->score) {
            *best = (struct gauge_tip){0, 0, (double)thick / PER_MM, (double)f->ends[tip].half / PER_MM, (double)bar.past / PER_MM, 0, side, score};
            f->tip = tip, f->strap = s;
        }
    }
}

/* The best of all about one axis, kept where it is better than what there is. */
static bool search_all(struct search *f, struct gauge_tip *best)
{
    int thinnest = samples(0.9), thickest = samples(2.0), s0, thick0;
    double before = best->score;

    for (int side = -1; side <= 1; side += 2) /* edges are as loose as these steps; then all that lies about the best */
        for (int s = samples(1.5); s + thickest < f->e->n_s; s += COARSE_S)
            for (int thick = thinnest; thick <= thickest; thick += COARSE_THICK)
                try_bar(f, side, s, thick, best);
    s0 = f->strap, thick0 = samples(best->thick_mm);
    for (int s = s0 - COARSE_S; s <= s0 + COARSE_S && best->score > before; s++)
        for (int thick = thick0 - COARSE_THICK; thick <= thick0 + COARSE_THICK; thick++)
            if (s + thick < f->e->n_s && thick >= thinnest && thick <= thickest)
                try_bar(f, best->leg_side, s, thick, best);
    return best->score > before;
}

bool gauge_tip_find(const struct gauge_picture *p, const struct gauge_frame *f, double mm, double radius_mm, struct gauge_tip *out)
{
    struct gauge_strip strip;
    struct sums m;
    struct edges e;
    struct end *ends;
    struct err err = {0};
    struct search find;
    int aside = 0;

    memset(out, 0, sizeof *out);
    /* what lies outside the picture is black, without edges but its own */
    if (!gauge_strip_cut(p, f, FROM_MM * mm, TO_MM * mm, -(radius_mm + BESIDE_MM) * mm, (radius_mm + BESIDE_MM) * mm, mm / PER_MM, mm / PER_MM, false, &strip, &err))
        return false;
    sums_fill(&strip, &m);
    edges_fill(&strip, &m, &e);
    ends = mem_alloc((size_t)e.n_s, sizeof *ends);
    find = (struct search){&e, &m, ends, strip.n_t / 2, samples(radius_mm), 1, 0, 0};
    for (int off = -samples(ASIDE_MM); off <= samples(ASIDE_MM); off += ASIDE_STEP) {
        find.axis = strip.n_t / 2 + off, find.prior = aside_likely(off);
        for (int s = 0; s < e.n_s; s++)
            ends[s] = end_near(&e, find.axis, s);
        if (search_all(&find, out))
            aside = off + ends[find.tip].aside;
    }
    find.axis = strip.n_t / 2 + aside, find.prior = aside_likely(aside);
    for (int s = 0; s < e.n_s; s++)
        ends[s] = end_at(&e, find.axis, s);
    out->score = 0; /* once more, all about the axis the centre electrode tells */
    search_all(&find, out);
    if (out->score > 0) {
        int half = samples(fmin(out->wide_mm, 0.6));

        out->aside_mm = (double)aside / PER_MM;
        out->tip_mm = place(&e, find.axis, find.tip, half), out->strap_mm = place(&e, find.axis, find.strap, half);
    }
    free(ends), free(e.across), free(e.along), free(e.exact), free(m.v);
    gauge_strip_release(&strip);
    return out->score > 0;
}
