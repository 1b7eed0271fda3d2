#include "gauge/gauge_gap.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "gauge/gauge_strip.h"

#define STEP 0.5        /* px along */
#define REACH_PX 13.0   /* edges are looked for this near to the drawn ends: a hand's 8 px each way and a lean */
#define MAX_UNCERTAINTY_MM 0.2 /* wider is no use for setting a gap */
#define SIGMA_PX 7.0
#define BAND_MM 0.8   /* each way: within a 2.5 mm electrode when the line is 8 px off its middle */
#define FIT_MM 0.5    /* each way: the rims of a worn electrode are round, its middle is what a feeler finds */
#define BLOCK_ROWS 5
#define RIVAL0 0.5 /* a pair of edges that scores this much of the best is no rival */
/* Not seen squarely, thick electrodes hide 0.045 mm a degree; people hold a camera within a degree or two. */
#define ANGLE_MM 0.042

/* Colour step at sample i of a row: the mean of 2 px behind less the mean of 2 px before. */
static void edge_at(const struct gauge_strip *s, int j, int i, float step[3])
{
    int k = (int)(2 / STEP), from = i - k, to = i + k;

    memset(step, 0, 3 * sizeof *step);
    if (from < 0 || to >= s->n_s)
        return;
    for (int c = 0; c < 3; c++)
        for (int m = 1; m <= k; m++)
            step[c] += (s->rgb[(size_t)j * (size_t)s->n_s + (size_t)(i + m)][c] - s->rgb[(size_t)j * (size_t)s->n_s + (size_t)(i - m)][c]) / (float)k;
}

/* Mean over the band of the colour step, for each sample along. Steps of neighbouring rows are joined as
 * colours, which noise does not survive; those far apart by their size, for soot may cover half an edge. */
static void edge_profile(const struct gauge_strip *s, int first, int last, double *out)
{
    int n_blocks = (last - first + 1) / BLOCK_ROWS > 1 ? (last - first + 1) / BLOCK_ROWS : 1;

    for (int i = 0; i < s->n_s; i++) {
        double sum = 0;

        for (int b = 0; b < n_blocks; b++) {
            int from = first + (last - first + 1) * b / n_blocks, to = first + (last - first + 1) * (b + 1) / n_blocks;
            double joined[3] = {0};

            for (int j = from; j < to; j++) {
                float step[3];

                edge_at(s, j, i, step);
                for (int c = 0; c < 3; c++)
                    joined[c] += (double)step[c] / (to - from);
            }
            sum += sqrt(joined[0] * joined[0] + joined[1] * joined[1] + joined[2] * joined[2]);
        }
        out[i] = sum / n_blocks;
    }
}

/* Where one row's colour passes half of its step, within 3 px of sample i; false when it has none. The
 * step is between the gap's colour and the metal's just behind its edge; half of it lies where the edge
 * was before blur. */
static bool row_edge(const struct gauge_strip *s, int j, double i, int metal_side, const double gap[3], double *at)
{
    const float(*v)[3] = (const float(*)[3])(s->rgb + (size_t)j * (size_t)s->n_s);
    double metal[3] = {0}, norm = 0, before = 0, best = 1e9;
    int from = (int)(i + metal_side * 2.5 / STEP), n = (int)(2 / STEP), span = (int)(3.5 / STEP);
    bool found = false;

    for (int m = 0; m < n; m++)
        for (int c = 0; c < 3; c++) {
            int k = from + metal_side * m;

            if (k < 0 || k >= s->n_s)
                return false;
            metal[c] += (double)v[k][c] / n;
        }
    for (int c = 0; c < 3; c++)
        norm += (metal[c] - gap[c]) * (metal[c] - gap[c]);
    if (norm < 36)
        return false;
    for (int m = -span; m <= span; m++) {
        int k = (int)i - metal_side * m;
        double share = 0;

        if (k < 0 || k >= s->n_s)
            return false;
        for (int c = 0; c < 3; c++)
            share += (v[k][c] - gap[c]) * (metal[c] - gap[c]) / norm;
        if (m > -span && before > 0.5 && share <= 0.5) {
            double x = k + metal_side * (0.5 - share) / (before - share);

            if (fabs(x - i) < best)
                best = fabs(x - i), *at = x, found = true;
        }
        before = share;
    }
    return found;
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

static double median(double *v, int n)
{
    qsort(v, (size_t)n, sizeof *v, by_value);
    return n % 2 ? v[n / 2] : (v[n / 2 - 1] + v[n / 2]) / 2;
}

/* Straight line through the rows' edges, those far off it left out; position at t = 0, its slope, and
 * the scatter of what was kept. */
static bool fit_edge(const double *t, const double *s, int n, double *at, double *slope, double *scatter)
{
    double *off = mem_alloc((size_t)n, sizeof *off), *copy = mem_alloc((size_t)n, sizeof *copy), limit = 1e9;
    int kept = 0;

    memcpy(copy, s, (size_t)n * sizeof *copy);
    *at = median(copy, n), *slope = 0;
    for (int pass = 0; pass < 6; pass++) {
        double st = 0, ss = 0, tt = 0, ts = 0;

        kept = 0;
        for (int i = 0; i < n; i++)
            off[i] = fabs(s[i] - *at - *slope * t[i]);
        memcpy(copy, off, (size_t)n * sizeof *copy);
        limit = fmax(3.0 * 1.4826 * median(copy, n), 0.35);
        for (int i = 0; i < n; i++)
            if (off[i] <= limit)
                st += t[i], ss += s[i], kept++;
        if (kept < 4)
            break;
        st /= kept, ss /= kept;
        for (int i = 0; i < n; i++)
            if (off[i] <= limit)
                tt += (t[i] - st) * (t[i] - st), ts += (t[i] - st) * (s[i] - ss);
        *slope = tt > 0 ? ts / tt : 0;
        *slope = fmin(fmax(*slope, -0.3), 0.3);
        *at = ss - *slope * st;
    }
    *scatter = 0;
    for (int i = 0; i < n; i++)
        if (off[i] <= limit)
            *scatter += off[i] * off[i];
    *scatter = kept > 2 ? sqrt(*scatter / (kept - 2)) : 1;
    free(off), free(copy);
    return kept >= 5;
}

/* Edges of one look along a frame: where they cross its middle, their slopes and scatter. */
struct edges {
    double at1, at2, k1, k2, r1, r2;
    double rival_px; /* by how much another pair of edges, nearly as good, would differ */
};

/* How well samples i and k of the profile stand out as the two edges near the line's ends. */
static double pair_score(const struct gauge_strip *s, const double *profile, int i, int k, double length, double noise)
{
    double oi = s->s0 + i * STEP + length / 2, ok = s->s0 + k * STEP - length / 2, inner = noise;

    if (fabs(oi) > REACH_PX || fabs(ok) > REACH_PX)
        return 0;
    for (int m = i + (int)(2.5 / STEP); m <= k - (int)(2.5 / STEP); m++)
        inner = fmax(inner, profile[m]);
    return (fmin(sqrt(profile[i] * profile[k]), 2 * fmin(profile[i], profile[k])) - inner) * exp(-0.25 * (oi * oi + ok * ok) / (SIGMA_PX * SIGMA_PX));
}

static bool find_edges(const struct gauge_picture *p, const struct gauge_frame *f, double length, double mm, struct edges *out, struct err *e)
{
    double half, best = 0, *profile, gap[3], *t1, *s1, *t2, *s2, noise;
    struct gauge_strip s;
    int n1 = 0, n2 = 0, first, last, a = -1, b = -1;

    half = length / 2 + REACH_PX + 8;
    if (!gauge_strip_cut(p, f, -half, half, -BAND_MM * mm, BAND_MM * mm, STEP, 1, &s, e))
        return false;
    first = s.n_t / 4, last = s.n_t - 1 - s.n_t / 4;
    for (int j = 0; j < s.n_t; j++)
        if (!s.seen[j]) {
            gauge_strip_release(&s);
            return err_set(e, ERR_MEASURE, "The gap lies too near to the picture's edge to be measured.");
        }
    profile = mem_alloc((size_t)s.n_s, sizeof *profile);
    edge_profile(&s, first, last, profile);
    t1 = mem_alloc((size_t)s.n_s, sizeof *t1);
    memcpy(t1, profile, (size_t)s.n_s * sizeof *t1);
    noise = fmax(median(t1, s.n_s), 2);
    free(t1);
    out->rival_px = 0;
    for (int pass = 0; pass < 2; pass++) /* the best pair, then how far its rivals are from it */
        for (int i = 2; i < s.n_s - 2; i++)
            for (int k = i + (int)fmax(5 / STEP, 0.25 * mm / STEP); k < s.n_s - 2; k++) {
                double score = profile[i] < profile[i - 1] || profile[i] < profile[i + 1] || profile[k] < profile[k - 1] || profile[k] < profile[k + 1]
                                   ? 0 : pair_score(&s, profile, i, k, length, noise);

                if (pass == 0 && score > best)
                    best = score, a = i, b = k;
                if (pass == 1 && score > 0.5 * best)
                    out->rival_px = fmax(out->rival_px, abs(k - i - b + a) * STEP * (score / best - RIVAL0) / (1 - RIVAL0));
            }
    free(profile);
    if (a < 0 || best < 0.25 * noise) {
        gauge_strip_release(&s);
        return err_set(e, ERR_MEASURE, "No two edges of metal stand out near the ends of this line. The gap may be bridged, out of focus or of the bench's "
                       "colour: draw the line again, from the centre electrode's tip to the side electrode, or use a feeler gauge.");
    }
    t1 = mem_alloc((size_t)s.n_t, sizeof *t1), s1 = mem_alloc((size_t)s.n_t, sizeof *s1);
    t2 = mem_alloc((size_t)s.n_t, sizeof *t2), s2 = mem_alloc((size_t)s.n_t, sizeof *s2);
    for (int j = 0; j < s.n_t; j++) {
        double t = s.t0 + j, at;
        int from = a + (int)((b - a) * 0.3), to = b - (int)((b - a) * 0.3);

        if (fabs(t) > FIT_MM * mm)
            continue;
        memset(gap, 0, sizeof gap);
        for (int i = from; i <= to; i++)
            for (int c = 0; c < 3; c++)
                gap[c] += s.rgb[(size_t)j * (size_t)s.n_s + (size_t)i][c] / (double)(to - from + 1);
        if (row_edge(&s, j, a, -1, gap, &at))
            t1[n1] = t, s1[n1++] = s.s0 + at * STEP;
        if (row_edge(&s, j, b, 1, gap, &at))
            t2[n2] = t, s2[n2++] = s.s0 + at * STEP;
    }
    gauge_strip_release(&s);
    if (n1 < 6 || n2 < 6 || !fit_edge(t1, s1, n1, &out->at1, &out->k1, &out->r1) || !fit_edge(t2, s2, n2, &out->at2, &out->k2, &out->r2) || fmax(out->r1, out->r2) > 1.2) {
        free(t1), free(s1), free(t2), free(s2);
        return err_set(e, ERR_MEASURE, "An electrode's edge at this line is too soft or too ragged to be measured. Take the photo nearer and sharper, with the "
                       "bench well lit behind the gap.");
    }
    free(t1), free(s1), free(t2), free(s2);
    return true;
}

bool gauge_gap_read(const struct gauge_picture *p, const struct gauge_point line[2], const struct gauge_thread *scale, struct gauge_gap *out,
                    struct err *e)
{
    double dx = line[1].x - line[0].x, dy = line[1].y - line[0].y, length = hypot(dx, dy), mm = scale->px_per_mm, side = 0;
    struct gauge_frame f = {{(line[0].x + line[1].x) / 2, (line[0].y + line[1].y) / 2}, dx / length, dy / length};
    double along = f.ux * scale->ux + f.uy * scale->uy, clear, edges_px;
    struct edges g;

    memset(out, 0, sizeof *out);
    if (!(length >= 2))
        return err_set(e, ERR_BADARG, "The line across the gap is %.0f px long. Draw it from one electrode to the other.", length);
    /* a short line turns a good deal when its ends are some px off */
    if (acos(fmin(1, fabs(along))) < 15 * 0.017453 + atan(16 / length)) { /* the axis is known better than the line is drawn */
        f.ux = scale->ux * (along > 0 ? 1 : -1), f.uy = scale->uy * (along > 0 ? 1 : -1);
        length *= fabs(along);
        if (scale->has_body) {
            side = (scale->middle.x - f.origin.x) * -f.uy + (scale->middle.y - f.origin.y) * f.ux;
            if (fabs(side) > 14) /* the line was drawn elsewhere on purpose */
                side = 0;
            f.origin.x -= side * f.uy, f.origin.y += side * f.ux;
        }
    }
    for (int pass = 0; pass < 3; pass++) {
        double k;

        if (!find_edges(p, &f, length, mm, &g, e))
            return false;
        /* the edges lie square to the gap: the smoother one tells its direction best */
        k = atan((g.k1 / (g.r1 * g.r1 + 0.04) + g.k2 / (g.r2 * g.r2 + 0.04)) / (1 / (g.r1 * g.r1 + 0.04) + 1 / (g.r2 * g.r2 + 0.04)));
        if (pass < 2) {
            double ux = f.ux * cos(k) + f.uy * sin(k);

            f.uy = f.uy * cos(k) - f.ux * sin(k);
            f.ux = ux;
        }
    }
    clear = (g.at2 - g.at1) - (fabs(g.k2 - g.k1) > 0.033 ? fabs(g.k2 - g.k1) * 1.15 * mm : 0); /* a feeler meets the nearer side of a 2.5 mm electrode */
    edges_px = hypot(fmax(g.r1, 0.2), fmax(g.r2, 0.2)) * 0.45; /* neighbouring rows err together: scatter is no standard error */
    out->gap_mm = clear / mm;
    out->uncertainty_mm = 2 * sqrt(pow(edges_px / mm, 2) + pow(0.75 * g.rival_px / mm, 2) + pow(out->gap_mm * scale->px_per_mm_sd / mm, 2) + ANGLE_MM * ANGLE_MM);
    if (!(out->gap_mm > 0.1 && out->gap_mm < 4))
        return err_set(e, ERR_MEASURE, "What lies between the edges at this line would be %.2f mm wide, which no plug's gap is. Check the line and the pitch.",
                       out->gap_mm);
    if (out->uncertainty_mm > MAX_UNCERTAINTY_MM)
        return err_set(e, ERR_MEASURE, "Several edges near this line could be the electrodes', %.2f mm apart in what they make of the gap. Draw the line again with its "
                       "ends on the edges, or use a feeler gauge.", g.rival_px / mm);
    out->across[0] = (struct gauge_point){f.origin.x + g.at1 * f.ux, f.origin.y + g.at1 * f.uy};
    out->across[1] = (struct gauge_point){f.origin.x + g.at2 * f.ux, f.origin.y + g.at2 * f.uy};
    return true;
}
