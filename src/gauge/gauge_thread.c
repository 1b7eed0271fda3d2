#include "gauge/gauge_thread.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/err.h"
#include "base/mem.h"
#include "gauge/gauge_strip.h"

#define PI 3.14159265358979323846
#define HARMONICS 3
#define TREND 4 /* a cubic */
#define TERMS (TREND + 2 * HARMONICS)
#define MIN_TURNS 2.8
#define MIN_SHARE 0.20 /* of a row's variance that a period must explain; noise explains about 6/n */
#define MIN_SCORE 0.35 /* mean share over the body, less where its width fits the thread badly */

/* Rows of grey with their trend taken away, windowed. */
struct rows {
    int n, n_s;
    double step, t0, step_t;
    float *v;
    double *total; /* what is left of each row, squared; 0: row not wholly seen */
};

/* Orthonormal trend and harmonics over n_s samples; window falls to 0 at the ends so that a turn cut
 * through weighs little. */
static void make_basis(int n_s, double step, double period, double (*q)[TERMS])
{
    for (int i = 0; i < n_s; i++) {
        double x = 2.0 * i / (n_s - 1) - 1, w = 0.15 + 0.85 * cos(x * PI / 2) * cos(x * PI / 2), a = 2 * PI * i * step / period;

        q[i][0] = w, q[i][1] = w * x, q[i][2] = w * x * x, q[i][3] = w * x * x * x;
        for (int k = 0; period > 0 && k < HARMONICS; k++)
            q[i][TREND + 2 * k] = w * cos((k + 1) * a), q[i][TREND + 2 * k + 1] = w * sin((k + 1) * a);
    }
    for (int k = 0; k < (period > 0 ? TERMS : TREND); k++) {
        double norm = 0;

        for (int pass = 0; pass < 2; pass++)
            for (int m = 0; m < k; m++) {
                double dot = 0;

                for (int i = 0; i < n_s; i++)
                    dot += q[i][k] * q[i][m];
                for (int i = 0; i < n_s; i++)
                    q[i][k] -= dot * q[i][m];
            }
        for (int i = 0; i < n_s; i++)
            norm += q[i][k] * q[i][k];
        norm = norm > 1e-9 ? 1 / sqrt(norm) : 0;
        for (int i = 0; i < n_s; i++)
            q[i][k] *= norm;
    }
}

static bool rows_cut(const struct gauge_picture *p, const struct gauge_frame *f, double half_s, double t0, double t1, double step, double step_t,
                     struct rows *out, struct err *e)
{
    struct gauge_strip strip;
    double (*q)[TERMS];

    memset(out, 0, sizeof *out);
    if (!gauge_strip_cut(p, f, -half_s, half_s, t0, t1, step, step_t, &strip, e))
        return false;
    *out = (struct rows){strip.n_t, strip.n_s, step, t0, step_t, mem_alloc((size_t)strip.n_t * (size_t)strip.n_s, sizeof(float)),
                         mem_alloc((size_t)strip.n_t, sizeof(double))};
    q = mem_alloc((size_t)strip.n_s, sizeof *q);
    make_basis(strip.n_s, step, 0, q);
    for (int j = 0; j < strip.n_t; j++) {
        float *v = out->v + (size_t)j * (size_t)strip.n_s;
        double dot[TREND] = {0}, left = 0;

        if (!strip.seen[j])
            continue;
        for (int i = 0; i < strip.n_s; i++) {
            const float *c = strip.rgb[(size_t)j * (size_t)strip.n_s + (size_t)i];
            double x = 2.0 * i / (strip.n_s - 1) - 1, w = 0.15 + 0.85 * cos(x * PI / 2) * cos(x * PI / 2);

            v[i] = (float)(w * (0.3 * c[0] + 0.59 * c[1] + 0.11 * c[2]));
            for (int k = 0; k < TREND; k++)
                dot[k] += q[i][k] * v[i];
        }
        for (int i = 0; i < strip.n_s; i++) {
            for (int k = 0; k < TREND; k++)
                v[i] -= (float)(dot[k] * q[i][k]);
            left += (double)v[i] * v[i];
        }
        out->total[j] = left + 0.1 * strip.n_s; /* under a third of a grey level is no pattern */
    }
    free(q);
    gauge_strip_release(&strip);
    return true;
}

static void rows_release(struct rows *r)
{
    free(r->v);
    free(r->total);
}

/* Share of each row explained by the period; phase of its fundamental when wanted. */
static void explain(const struct rows *r, double period, double *share, double *phase)
{
    double (*q)[TERMS] = mem_alloc((size_t)r->n_s, sizeof *q);

    make_basis(r->n_s, r->step, period, q);
    for (int j = 0; j < r->n; j++) {
        const float *v = r->v + (size_t)j * (size_t)r->n_s;
        double dot[TERMS] = {0}, sum = 0;

        share[j] = 0;
        if (phase)
            phase[j] = 0;
        if (r->total[j] <= 0)
            continue;
        for (int i = 0; i < r->n_s; i++)
            for (int k = TREND; k < TERMS; k++)
                dot[k] += q[i][k] * v[i];
        for (int k = TREND; k < TERMS; k++)
            sum += dot[k] * dot[k];
        share[j] = sum / r->total[j];
        if (phase)
            phase[j] = atan2(dot[TREND + 1], dot[TREND]);
    }
    free(q);
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

/* Rows around the line that carry the period: the body. Gaps of an eighth of the width so far (glare, a
 * shadow) are bridged. */
static bool find_body(const struct rows *r, const double *share, int *first, int *last)
{
    int middle = (int)((0 - r->t0) / r->step_t), start = -1, n_near = 0;
    double *near = mem_alloc((size_t)r->n, sizeof *near), least;

    for (int j = 0; j < r->n; j++)
        if (share[j] > MIN_SHARE)
            near[n_near++] = share[j];
    qsort(near, (size_t)n_near, sizeof *near, by_value);
    least = n_near > 0 ? fmax(MIN_SHARE, 0.5 * near[n_near * 3 / 4]) : MIN_SHARE; /* a cloth's weave repeats too, but less truly */
    free(near);

    for (int d = 0; d < r->n && d * r->step_t <= 60 && start < 0; d++)
        for (int sign = -1; sign <= 1; sign += 2) {
            int j = middle + sign * d;

            if (j >= 0 && j < r->n && share[j] > least && start < 0)
                start = j;
        }
    if (start < 0)
        return false;
    *first = *last = start;
    for (int pass = 0; pass < 4; pass++) {
        int bridge = 4 + (*last - *first) / 8;

        for (int j = *last + 1; j < r->n && j - *last <= bridge; j++)
            if (share[j] > least)
                *last = j;
        for (int j = *first - 1; j >= 0 && *first - j <= bridge; j--)
            if (share[j] > least)
                *first = j;
    }
    return true;
}

struct choice {
    double period, score, major;
    int first, last;
};

/* The period among those scanned: explains the rows near the line, and makes the body as wide as a thread of
 * this pitch is. */
static bool choose_period(const struct rows *r, double length, double pitch_mm, struct choice *out)
{
    enum { MOST = 700, BEST = 8 };
    double *share = mem_alloc((size_t)r->n, sizeof *share), period[MOST], score[MOST], best = 0;
    int n = 0;
    struct csv threads;

    *out = (struct choice){0};
    for (double f = MIN_TURNS / length; n < MOST && 1 / f > fmax(4, 3 * r->step); f += 0.2 / length, n++) {
        double sum = 0, weight = 0;

        period[n] = 1 / f;
        explain(r, period[n], share, NULL);
        for (int j = 0; j < r->n; j++) {
            double t = r->t0 + j * r->step_t, w = fabs(t) < 30 ? 1 : 0.25;

            if (r->total[j] > 0)
                sum += w * share[j], weight += w;
        }
        score[n] = weight > 0 ? sum / weight : 0;
        best = fmax(best, score[n]);
    }
    if (!asset_table("threads.csv", &threads, NULL)) {
        free(share);
        return false;
    }
    for (int i = 1; i + 1 < n; i++) {
        struct choice c = {.period = period[i]};
        double near = 0, width;
        int rows = 0;

        if (score[i] < 0.5 * best || score[i] < score[i - 1] || score[i] < score[i + 1])
            continue;
        explain(r, period[i], share, NULL);
        if (!find_body(r, share, &c.first, &c.last))
            continue;
        for (int j = c.first; j <= c.last; j++)
            near += share[j], rows++;
        width = rows * r->step_t / period[i];
        c.score = near / rows;
        if (rows * r->step_t < 8)
            continue;
        c.score *= 0.15;
        for (size_t k = 1; k < threads.n_rows; k++) {
            double major = strtod(csv_named(&threads, k, "major_mm"), NULL), fit;

            if (fabs(strtod(csv_named(&threads, k, "pitch_mm"), NULL) - pitch_mm) > 0.01)
                continue;
            fit = width / (major / pitch_mm) - 1;
            fit = near / rows * (0.15 + 0.85 * exp(-0.5 * fit * fit / 0.0081));
            if (fit > c.score)
                c.score = fit, c.major = width / (major / pitch_mm) > 0.8 && width / (major / pitch_mm) < 1.2 ? major : 0;
        }
        /* a multiple explains what the period does, and a little noise more: the smaller one wins */
        if (c.score > out->score * (out->period > 0 && c.period < out->period ? 0.93 : 1.0))
            *out = c;
    }
    csv_release(&threads);
    free(share);
    return out->score > 0;
}

/* How much the rows lean: px along for each px across, from the fundamental's phase of neighbouring rows. */
static double find_lean(const struct rows *r, double period, int first, int last)
{
    double *share = mem_alloc((size_t)r->n, sizeof *share), *phase = mem_alloc((size_t)r->n, sizeof *phase), x = 0, y = 0;
    int d = (int)fmax(1, 1.5 / r->step_t), inner = (last - first) / 5;

    explain(r, period, share, phase);
    for (int j = first + inner; j + d <= last - inner; j++) {
        double w = sqrt(share[j] * share[j + d]), a = phase[j + d] - phase[j];

        x += w * cos(a), y += w * sin(a);
    }
    free(share);
    free(phase);
    return x == 0 && y == 0 ? 0 : atan2(y, x) / (2 * PI) * period / (d * r->step_t);
}

/* Best period of each row within 6 %, to a small part of the scan's step by a parabola. */
static void row_periods(const struct rows *r, double period, double *best, double *share)
{
    enum { STEPS = 61 };
    double *all = mem_alloc((size_t)r->n * STEPS, sizeof *all), *one = mem_alloc((size_t)r->n, sizeof *one);

    for (int k = 0; k < STEPS; k++) {
        explain(r, period * (1 + 0.002 * (k - STEPS / 2)), one, NULL);
        for (int j = 0; j < r->n; j++)
            all[(size_t)j * STEPS + (size_t)k] = one[j];
    }
    for (int j = 0; j < r->n; j++) {
        const double *a = all + (size_t)j * STEPS;
        int top = 0;

        for (int k = 1; k < STEPS; k++)
            if (a[k] > a[top])
                top = k;
        share[j] = a[top];
        best[j] = 0;
        if (top > 0 && top < STEPS - 1) {
            double bend = a[top - 1] - 2 * a[top] + a[top + 1], off = bend < 0 ? 0.5 * (a[top - 1] - a[top + 1]) / bend : 0;

            best[j] = period * (1 + 0.002 * (top + off - STEPS / 2));
        }
    }
    free(all);
    free(one);
}

bool gauge_thread_read(const struct gauge_picture *p, const struct gauge_point line[2], double pitch_mm, double focal_px,
                       struct gauge_thread *out, struct err *e)
{
    double dx = line[1].x - line[0].x, dy = line[1].y - line[0].y, length = hypot(dx, dy), step, across, *best, *share, *at_axis, *local, sd, depth;
    struct gauge_frame f = {{(line[0].x + line[1].x) / 2, (line[0].y + line[1].y) / 2}, dx / length, dy / length};
    struct gauge_frame start = f;
    struct rows r;
    struct choice c = {0};
    double clearest = 0;
    int n = 0, n_local = 0;
    double t_line = 0, t_mid = 0;

    memset(out, 0, sizeof *out);
    if (!(pitch_mm >= 0.2 && pitch_mm <= 5))
        return err_set(e, ERR_BADARG, "A plug's thread has a pitch of 1 to 1.5 mm; %g mm cannot be one.", pitch_mm);
    if (!(length >= 24))
        return err_set(e, ERR_BADARG, "The line along the threads is %.0f px long. Draw it over at least four turns.", length);
    step = fmax(1, length / 500);
    across = fmax(1.5 * length, fmin(3.4 * length, 420 * step)); /* four turns of an M18 are a third of its width */
    /* a line drawn askew crosses the outline: the direction in which the turns are clearest is tried first */
    for (int k = -1; k <= 1; k++) {
        double a = 0.08 * k;
        struct gauge_frame turned = {f.origin, f.ux * cos(a) - f.uy * sin(a), f.ux * sin(a) + f.uy * cos(a)};

        if (!rows_cut(p, &turned, length / 2, -across, across, step, step, &r, e))
            return false;
        if (choose_period(&r, length, pitch_mm, &c) && c.score > clearest)
            clearest = c.score, start = turned;
        rows_release(&r);
    }
    f = start;
    for (int pass = 0; pass < 3; pass++) {
        double turn;

        if (!rows_cut(p, &f, length / 2, -across, across, step, step, &r, e))
            return false;
        if (!choose_period(&r, length, pitch_mm, &c)) {
            rows_release(&r);
            return err_set(e, ERR_MEASURE, "No thread can be found along this line: nothing repeats there. Draw it along the outline of the thread, over "
                           "at least four turns, where the turns are sharp.");
        }
        turn = pass < 2 ? -atan(find_lean(&r, c.period, c.first, c.last)) : 0;
        rows_release(&r);
        if (fabs(turn) < 0.35) {
            double ux = f.ux * cos(turn) - f.uy * sin(turn);

            f.uy = f.ux * sin(turn) + f.uy * cos(turn);
            f.ux = ux;
        }
    }
    if (c.major <= 0)
        return err_set(e, ERR_MEASURE, "What repeats along this line is not as wide as a thread of %g mm pitch is. Check the pitch, draw the line along the "
                       "outline of the thread, and keep both outlines in the picture.", pitch_mm);
    if (c.score < MIN_SCORE)
        return err_set(e, ERR_MEASURE, "The turns along this line are too faint to measure their pitch. Draw the line along the thread's outline, or take the "
                       "photo with light from the side.");
    t_mid = -across + (c.first + c.last) / 2.0 * step;
    out->radius_px = (c.last - c.first + 1) / 2.0 * step;
    out->major_mm = c.major;
    out->has_body = c.major > 0;
    if (out->has_body) /* the known diameter is better than the outline's soft end */
        out->radius_px = c.major / 2 / pitch_mm * c.period;
    out->ux = f.ux, out->uy = f.uy;
    out->middle = (struct gauge_point){f.origin.x - t_mid * f.uy, f.origin.y + t_mid * f.ux};
    out->distance_mm = focal_px > 0 ? focal_px * pitch_mm / c.period : 0;

    /* each row's own period, brought to the plane of the axis */
    step = fmax(step, c.period / 24);
    if (!rows_cut(p, &f, length / 2, t_mid - out->radius_px, t_mid + out->radius_px, step, fmax(step, 0.08 * c.period), &r, e))
        return false;
    best = mem_alloc((size_t)r.n, sizeof *best), share = mem_alloc((size_t)r.n, sizeof *share);
    at_axis = mem_alloc((size_t)r.n, sizeof *at_axis), local = mem_alloc((size_t)r.n, sizeof *local);
    row_periods(&r, c.period, best, share);
    for (int j = 0; j < r.n; j++) {
        double t = (r.t0 + j * r.step_t - t_mid) / out->radius_px, z = sqrt(fmax(0, 0.92 * 0.92 - t * t)) * out->radius_px / c.period * pitch_mm;

        if (share[j] < MIN_SHARE || best[j] <= 0)
            continue;
        at_axis[n++] = out->has_body && out->distance_mm > 0 ? best[j] * (1 - z / out->distance_mm) : best[j];
        if (fabs(r.t0 + j * r.step_t) < fmax(16, 0.7 * c.period))
            local[n_local++] = best[j];
    }
    t_line = -t_mid;
    out->on_outline = out->has_body && fabs(t_line) > out->radius_px - fmax(0.8 * c.period, 10);
    rows_release(&r);
    free(best), free(share);
    if (n < 4) {
        free(at_axis), free(local);
        return err_set(e, ERR_MEASURE, "The thread along this line is too unclear: only %d rows of it repeat. Draw the line where the turns are sharp.", n);
    }
    if (out->has_body && out->distance_mm > 0) {
        double m = median(at_axis, n), mm = out->radius_px / c.period * pitch_mm, q = t_line / out->radius_px;

        depth = out->on_outline ? mm * mm / out->distance_mm : mm * sqrt(fmax(0, 1 - q * q));
        out->pitch_px = m * (1 + depth / out->distance_mm);
        out->px_per_mm = m / pitch_mm;
    } else {
        out->pitch_px = n_local >= 4 ? median(local, n_local) : median(at_axis, n);
        out->px_per_mm = out->pitch_px / pitch_mm;
    }
    for (int j = 0; j < n; j++)
        at_axis[j] = fabs(at_axis[j] - out->px_per_mm * pitch_mm);
    sd = 1.4826 * median(at_axis, n) / sqrt(fmax(1, n / 6.0)); /* neighbouring rows see the same turns */
    free(at_axis), free(local);
    out->pitch_sd_px = fmax(sd, 0.0008 * out->pitch_px);
    out->px_per_mm_sd = out->pitch_sd_px / pitch_mm;
    if (out->distance_mm <= 0) /* a line on the middle lies up to a radius nearer: 5 % at 150 mm, held to be half that at most */
        out->px_per_mm_sd = hypot(out->px_per_mm_sd, (out->on_outline ? 0.004 : 0.012) * out->px_per_mm);
    return true;
}
