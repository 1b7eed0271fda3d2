#include "gauge/gauge_find.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "gauge/gauge_beside.h"

#define DEGREE 0.017453292519943295
#define MAX_PITCHES 8
/* What makes it sure. Without these, on 34 rendered plugs and 30 of another scene, 57 lines were right and two wrong, which scored 0.46. */
#define LEAST_SCORE 0.5
#define LEAST_LEAD 0.04  /* before what stands elsewhere */
#define ENOUGH 0.72      /* no need to look at the bands that repeat less well: chance has not come near it */
#define ELSEWHERE_MM 0.3 /* along the axis */
#define ASIDE_MM 2.0     /* across it, where a gap is as wide */
#define MOST_DOUBT_MM 0.15 /* of the gap read: an end known less well may lie anywhere near; */
#define WEAK 0.6          /* with a score below this what lies beside both ends must tell: a thread without a side electrode, or a shadow's stripe, scores as much */
#define WEAK_TELLS 0.5
/* Each end as read at its edge must lie where it is found otherwise: by what lies beside it, where enough of it tells, and by its shape.
 * On 34 rendered plugs and 110 of another scene the ends that were right lay within 0.08 mm of the first but for one in twelve, those that
 * were wrong did not but for one in four. */
#define BESIDE_MM 0.09
#define SIDE_MM 0.45    /* of its sides looked at */
#define NARROWEST_TIP_MM 0.4
#define WIDEST_TIP_MM 3.2
#define MOST_ASIDE_MM 1.3
#define LEAST_ASIDE_MM 0.5 /* the axis is known better than to that, mostly; else it is moved and looked from again */
#define LEAST_SIDE 6.0  /* grey levels */
#define FARTHER 0.25    /* of an end's width, that reaches farther out: it is in patches, and may end anywhere */
#define STRONG 0.65     /* with such a score, such a doubt and an edge where the shape has it, what lies beside is overruled: */
#define STRONG_DOUBT_MM 0.1 /* a soft shadow, or a bench that changes there, puts it off */
#define STRONG_MM 0.05
#define TELLS 0.3       /* share of an end's width */
#define SHAPE_MM 0.25
#define ALONE_MM 0.12   /* where only the shape tells */
#define MOST_HIDDEN_MM 0.1 /* more of a gap is seldom hidden: then how much is not known well */
#define SAME_SCALE 0.04  /* of two lines along one thread: on its middle it is nearer to the camera */

/* One way to see a plug in the picture. */
struct guess {
    struct gauge_thread scale;
    struct gauge_point end; /* of the thread, on the axis */
    double ux, uy;          /* from the thread to the firing end */
    double length_px;       /* of the thread */
    struct gauge_tip tip;
};

static struct gauge_point ahead(struct gauge_point from, double ux, double uy, double by)
{
    return (struct gauge_point){from.x + by * ux, from.y + by * uy};
}

static struct gauge_point on_axis(const struct guess *g, double along_mm)
{
    return ahead(g->end, g->ux, g->uy, along_mm * g->scale.px_per_mm);
}

/* The pitches threads have, each once. */
static int pitches(double out[MAX_PITCHES])
{
    struct csv t;
    int n = 0;

    if (!asset_table("threads.csv", &t, NULL))
        return 0;
    for (size_t row = 1; row < t.n_rows && n < MAX_PITCHES; row++) {
        double pitch;
        bool known = !text_to_double(csv_named(&t, row, "pitch_mm"), &pitch);

        for (int k = 0; k < n; k++)
            known = known || fabs(out[k] - pitch) < 1e-9;
        if (!known)
            out[n++] = pitch;
    }
    csv_release(&t);
    return n;
}

/* How clear something ends at each place across a thread, 0..1, turn by turn. */
enum { PER_TURN = 16, HALF_STEP = 6 };
struct outline {
    int n_turns, n_t;
    float *clear; /* n_turns rows of n_t */
};

static void outline_fill(const struct gauge_strip *strip, struct outline *out)
{
    int n = strip->n_s / PER_TURN, w = strip->n_t;
    size_t all = (size_t)n * (size_t)w;
    float (*sum)[3] = mem_alloc((size_t)w + 1, sizeof *sum);

    *out = (struct outline){n, w, mem_alloc(all, sizeof *out->clear)};
    for (int k = 0; k < n; k++) {
        for (int t = 0; t < w; t++)
            for (int c = 0; c < 3; c++) {
                sum[t + 1][c] = sum[t][c];
                for (int s = k * PER_TURN; s < (k + 1) * PER_TURN; s++)
                    sum[t + 1][c] += strip->rgb[(size_t)t * (size_t)strip->n_s + (size_t)s][c] / PER_TURN;
            }
        for (int t = HALF_STEP; t + HALF_STEP <= w; t++) {
            float d2 = 0;

            for (int c = 0; c < 3; c++) {
                float d = (sum[t + HALF_STEP][c] - 2 * sum[t][c] + sum[t - HALF_STEP][c]) / HALF_STEP;

                d2 += d * d;
            }
            out->clear[(size_t)k * (size_t)w + (size_t)t] = sqrtf(d2);
        }
    }
    gauge_clearness(out->clear, all, 3, 6);
    free(sum);
}

/* The axis again, from both outlines of the thread, which lie a known distance apart. */
static void square_up(const struct gauge_picture *p, double length_px, struct gauge_thread *scale)
{
    double step = scale->pitch_px / PER_TURN, half = fmax(length_px, 5 * scale->pitch_px) / 2, reach = 1.35 * scale->radius_px, best = 0, turn = 0, aside = 0, ux, uy;
    struct gauge_frame f = {scale->middle, scale->ux, scale->uy};
    struct gauge_strip strip;
    struct outline o;
    struct err e = {0};

    if (!gauge_strip_cut(p, &f, -half, half, -reach, reach, step, step, &strip, &e))
        return;
    outline_fill(&strip, &o);
    for (double deg = -6; deg <= 6.01; deg += 0.25)
        for (double wide = 0.94; wide <= 1.061; wide += 0.02)
            for (int off = -28; off <= 28; off++) {
                double sum = 0, radius = wide * scale->radius_px / step;

                for (int k = 0; k < o.n_turns; k++)
                    for (int side = -1; side <= 1; side += 2) {
                        double s = (k + 0.5) * PER_TURN - strip.n_s / 2.0, t = o.n_t / 2.0 + off + tan(deg * DEGREE) * s + side * radius;
                        int at = (int)lround(t);

                        sum += at >= 0 && at < o.n_t ? (double)o.clear[(size_t)k * (size_t)o.n_t + (size_t)at] : 0;
                    }
                sum *= 1 - 0.003 * abs(off) - 0.01 * fabs(deg); /* of equals the nearest */
                if (sum > best)
                    best = sum, turn = deg * DEGREE, aside = off * step;
            }
    ux = scale->ux * cos(turn) - scale->uy * sin(turn), uy = scale->uy * cos(turn) + scale->ux * sin(turn);
    scale->middle.x -= aside * scale->uy, scale->middle.y += aside * scale->ux;
    scale->ux = ux, scale->uy = uy;
    free(o.clear);
    gauge_strip_release(&strip);
}

/* Guesses, the best and the best of those that stand elsewhere. */
struct ranking {
    struct guess best;
    double second;
};

static bool elsewhere(const struct guess *a, const struct guess *b)
{
    for (int k = 0; k < 2; k++) {
        struct gauge_point p = on_axis(a, k ? a->tip.strap_mm : a->tip.tip_mm), q = on_axis(b, k ? b->tip.strap_mm : b->tip.tip_mm);
        double dx = q.x - p.x, dy = q.y - p.y, mm = a->scale.px_per_mm;

        if (fabs(dx * a->ux + dy * a->uy) > ELSEWHERE_MM * mm || fabs(dy * a->ux - dx * a->uy) > ASIDE_MM * mm)
            return true;
    }
    return false;
}

static void rank(struct ranking *r, const struct guess *g)
{
    bool other = r->best.tip.score > 0 && elsewhere(g, &r->best);

    if (g->tip.score <= r->best.tip.score) {
        r->second = other ? fmax(r->second, g->tip.score) : r->second;
        return;
    }
    if (other)
        r->second = r->best.tip.score;
    r->best = *g;
}

/* Looks for a firing end at both ends of a band, were it a thread of this pitch. */
static void look(const struct gauge_picture *p, const struct gauge_band *b, double pitch_mm, double focal_px, struct ranking *r)
{
    struct gauge_point line[2] = {ahead(b->middle, b->ux, b->uy, -b->length_px / 2), ahead(b->middle, b->ux, b->uy, b->length_px / 2)};
    struct gauge_thread scale;
    struct err e = {0};

    if (!gauge_thread_read(p, line, pitch_mm, 0, focal_px, &scale, &e) || !scale.has_body)
        return;
    for (int squared = 0; squared < 2; squared++) { /* neither axis is always the better; the firing end tells */
        if (squared)
            square_up(p, b->length_px, &scale);
        for (int way = -1; way <= 1; way += 2) {
            struct guess g = {.scale = scale, .ux = way * scale.ux, .uy = way * scale.uy, .length_px = b->length_px};
            struct gauge_frame f;

            g.end = ahead(scale.middle, g.ux, g.uy, b->length_px / 2);
            f = (struct gauge_frame){g.end, g.ux, g.uy};
            if (gauge_tip_find(p, &f, scale.px_per_mm, scale.radius_px / scale.px_per_mm, &g.tip))
                rank(r, &g);
        }
    }
}

/* The same place seen twice. */
static bool same(const struct gauge_band *a, const struct gauge_band *b)
{
    return hypot(a->middle.x - b->middle.x, a->middle.y - b->middle.y) < 0.1 * a->width_px && fabs(a->ux * b->uy - a->uy * b->ux) < 0.018 &&
           fabs(a->period_px / b->period_px - 1) < 0.04;
}

/* The two ends of a gap, mm along the axis, by shape and by what lies beside them. */
struct ends {
    double shape_mm[2];
    struct gauge_beside beside[2];
};

static void ends_find(const struct gauge_picture *p, const struct guess *g, struct ends *out)
{
    const struct gauge_tip *tip = &g->tip;
    struct gauge_frame f = {g->end, g->ux, g->uy};
    double gap = tip->strap_mm - tip->tip_mm, half = 0.85 * tip->wide_mm, from = 0.12 - tip->past_mm, to = fmax(1, from + 0.5);
    bool up = tip->leg_side > 0; /* the bench is seen past the side electrode's free end */
    struct gauge_beside_end ends[2] = {{tip->tip_mm, 1, gap, -half, half, true, true}, {tip->strap_mm, -1, gap, up ? from : -to, up ? to : -from, up, !up}};

    for (int k = 0; k < 2; k++) {
        out->shape_mm[k] = ends[k].at_mm;
        gauge_beside_read(p, &f, g->scale.px_per_mm, &ends[k], &out->beside[k]);
    }
}

/* How sure the rest is: the score, and the reading's own doubt. */
static bool end_agrees(const struct ends *e, int k, double read_mm, double score, double doubt_mm)
{
    double off = fabs(read_mm - e->shape_mm[k]);

    if (e->beside[k].farther > FARTHER)
        return false;
    if (score < WEAK && e->beside[k].share < WEAK_TELLS)
        return false;
    if (e->beside[k].share < TELLS)
        return off < ALONE_MM;
    return off < SHAPE_MM && (fabs(read_mm - e->beside[k].at_mm) < BESIDE_MM || (score >= STRONG && doubt_mm <= STRONG_DOUBT_MM && off < STRONG_MM));
}

/* Where across the axis the centre electrode's middle lies, mm: by its two sides just behind its end, the one from bench to metal and
 * the other back. 0 where they do not show. */
static double aside_mm(const struct gauge_picture *p, const struct guess *g)
{
    enum { PER_MM = 20, HALF = 3, REACH = 56, ROWS = 2 * REACH + 1 }; /* samples; 2.8 mm each way */
    struct gauge_point behind = on_axis(g, g->tip.tip_mm - 0.15);
    struct gauge_frame f = {behind, -g->ux, -g->uy};
    double mm = g->scale.px_per_mm, best = 0, at = 0, step[ROWS][3] = {{0}}, sum[ROWS + 1][3] = {{0}};
    struct gauge_strip s;
    struct err e = {0};

    if (!gauge_strip_cut(p, &f, 0, SIDE_MM * mm, -REACH * mm / PER_MM, (REACH + 0.5) * mm / PER_MM, mm / PER_MM, mm / PER_MM, &s, &e))
        return 0;
    for (int t = 0; t < ROWS && t < s.n_t; t++)
        for (int c = 0; c < 3; c++) {
            sum[t + 1][c] = sum[t][c];
            for (int i = 0; i < s.n_s; i++)
                sum[t + 1][c] += (double)s.rgb[(size_t)t * (size_t)s.n_s + (size_t)i][c] / s.n_s;
        }
    gauge_strip_release(&s);
    for (int t = HALF; t + HALF <= ROWS; t++)
        for (int c = 0; c < 3; c++)
            step[t][c] = (sum[t + HALF][c] - 2 * sum[t][c] + sum[t - HALF][c]) / HALF;
    for (int l = HALF; l + HALF <= ROWS; l++)
        for (int r = l + (int)(NARROWEST_TIP_MM * PER_MM); r + HALF <= ROWS && r <= l + (int)(WIDEST_TIP_MM * PER_MM); r++) {
            double middle = (l + r) / 2.0 - ROWS / 2.0, dot = 0, left = 0, right = 0, score;

            for (int c = 0; c < 3; c++)
                dot -= step[l][c] * step[r][c], left += step[l][c] * step[l][c], right += step[r][c] * step[r][c];
            if (fabs(middle) > MOST_ASIDE_MM * PER_MM || dot < 0.5 * sqrt(left * right)) /* not there and back */
                continue;
            score = fmin(left, right);
            if (score > best && fmin(left, right) > LEAST_SIDE * LEAST_SIDE)
                best = score, at = middle / PER_MM;
        }
    return -at; /* turned round, across is turned round too */
}

/* To the eye a gap is short by what the camera's angle hides of it, at either end: the line becomes as long as the gap it tells. */
static void as_long_as_told(struct gauge_find *f)
{
    double dx = f->across[1].x - f->across[0].x, dy = f->across[1].y - f->across[0].y, seen = hypot(dx, dy), more = fmin(f->gap.gap_mm * f->scale.px_per_mm - seen, MOST_HIDDEN_MM * f->scale.px_per_mm);

    if (!(seen > 0 && more > 0))
        return;
    for (int k = 0; k < 2; k++)
        f->across[k] = ahead(f->across[k], dx / seen, dy / seen, (k ? 0.5 : -0.5) * more);
}

/* Reads scale and gap from lines as a person would draw them: along either outline, or over the body. Keeps the one whose gap is
 * least in doubt and agrees with the ends found otherwise. */
static bool read_lines(const struct gauge_picture *p, const struct guess *g, double focal_px, struct gauge_find *out)
{
    struct gauge_point shape[2] = {on_axis(g, g->tip.tip_mm), on_axis(g, g->tip.strap_mm)};
    double half = fmax(0.85 * g->length_px, 4.5 * g->scale.pitch_px) / 2, least = MOST_DOUBT_MM;
    bool found = false;
    struct ends ends;

    ends_find(p, g, &ends);
    for (int turn = 0; turn < 3; turn++) { /* the body last, with a handicap: it lies nearer to the camera than the gap */
        int where = turn == 0 ? 1 : turn == 1 ? -1 : 0;
        double t = where * 0.97 * g->scale.radius_px;
        struct gauge_point middle = ahead(g->scale.middle, -g->uy, g->ux, t), line[2] = {ahead(middle, g->ux, g->uy, -half), ahead(middle, g->ux, g->uy, half)};
        struct gauge_thread scale;
        struct gauge_gap gap;
        struct err e = {0};
        bool agree = true;

        if (!gauge_thread_read(p, line, g->scale.pitch_mm, 0, focal_px, &scale, &e) || fabs(scale.px_per_mm / g->scale.px_per_mm - 1) > SAME_SCALE ||
            !gauge_gap_read(p, shape, &scale, &gap, &e))
            continue;
        for (int k = 0; k < 2; k++)
            agree &= end_agrees(&ends, k, ((gap.across[k].x - g->end.x) * g->ux + (gap.across[k].y - g->end.y) * g->uy) / g->scale.px_per_mm, g->tip.score, gap.uncertainty_mm);
        if (!agree || gap.uncertainty_mm * (where == 0 ? 1.3 : 1) > least)
            continue;
        found = true;
        least = gap.uncertainty_mm;
        out->scale = scale, out->gap = gap;
        memcpy(out->thread, line, sizeof line);
        memcpy(out->across, gap.across, sizeof out->across);
    }
    if (found)
        as_long_as_told(out);
    return found;
}

/* The axis told by a short thread may run beside the electrodes: they are looked for again from the middle of the centre electrode,
 * and kept where they look as good from there. */
static void recentre(const struct gauge_picture *p, struct guess *g)
{
    double aside = aside_mm(p, g), mm = g->scale.px_per_mm;
    struct guess moved = *g;
    struct gauge_frame f;

    if (fabs(aside) < LEAST_ASIDE_MM)
        return;
    moved.end = ahead(g->end, -g->uy, g->ux, aside * mm);
    f = (struct gauge_frame){moved.end, moved.ux, moved.uy};
    if (gauge_tip_find(p, &f, mm, moved.scale.radius_px / mm, &moved.tip) && moved.tip.score >= g->tip.score && !elsewhere(&moved, g))
        *g = moved;
}

bool gauge_find(const struct gauge_picture *p, double pitch_mm, double focal_px, const struct gauge_stop *stop, struct gauge_find *out, struct err *e)
{
    struct gauge_band bands[GAUGE_MAX_BANDS];
    double tried[MAX_PITCHES] = {pitch_mm};
    int n_bands = gauge_band_find(p, stop, bands), n_pitches = pitch_mm > 0 ? 1 : pitches(tried);
    struct ranking r = {0};

    memset(out, 0, sizeof *out);
    for (int k = 0; k < n_bands && r.best.tip.score < ENOUGH; k++) {
        bool seen = false;

        for (int i = 0; i < k; i++)
            seen |= same(&bands[i], &bands[k]);
        for (int i = 0; i < n_pitches && !seen && !gauge_stopped(stop); i++)
            look(p, &bands[k], tried[i], focal_px, &r);
    }
    if (gauge_stopped(stop))
        return err_set(e, ERR_CANCEL, "Looking for the plug was stopped.");
    if (n_bands == 0 || !(r.best.tip.score > 0))
        return err_set(e, ERR_MEASURE, "No thread stands out in this picture. Draw the line along the thread yourself.");
    if (r.best.tip.score < LEAST_SCORE || r.best.tip.score - r.second < LEAST_LEAD)
        return err_set(e, ERR_MEASURE, "No firing end with its gap to the side stands out beside a thread. Draw both lines yourself.");
    recentre(p, &r.best);
    if (!read_lines(p, &r.best, focal_px, out))
        return err_set(e, ERR_MEASURE, "A firing end seems to be there, but the edges of its electrodes are too faint to be sure of the gap. Draw both lines yourself.");
    out->tip = r.best.tip;
    out->axis[0] = ahead(r.best.end, r.best.ux, r.best.uy, -r.best.length_px);
    out->axis[1] = on_axis(&r.best, r.best.tip.strap_mm + r.best.tip.thick_mm);
    return true;
}
