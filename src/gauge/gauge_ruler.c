#include "gauge/gauge_ruler.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "gauge/gauge_rows.h"

#define PI 3.14159265358979323846
#define LEAST_PX 40.0
#define LEAST_MARKS 8.0
#define MOST_MARKS 220.0
#define FINEST_PX 3.6     /* from mark to mark: finer ones run into each other */
#define SAMPLES 1000.0    /* along a line: longer ones are sampled coarser */
#define STEP_TURNS 0.25   /* of periods tried */
#define LEAST_SHARE 0.4   /* of a row's variance; grain and brushed steel explain a tenth */
#define AS_GOOD 0.92      /* of two periods that explain a row as well the shorter is meant */
#define SAME 0.025        /* relative: one period */
#define FEWEST_ROWS 5     /* that keep to a period */
#define RIVAL 0.3         /* of as many rows as the marks have: a scale of its own */
#define ROWS_AS_ONE 6.0   /* neighbours see the same marks */

/* The shortest period that explains a row about as well as any. */
static void periods_find(const struct gauge_rows *r, double length, double *period, double *share)
{
    double most_turns = fmin(length / FINEST_PX, MOST_MARKS);
    int n = (int)((most_turns - LEAST_MARKS / 2) / STEP_TURNS) + 1;
    double *all = mem_alloc((size_t)n * (size_t)r->n, sizeof *all);

    for (int k = 0; k < n; k++)
        gauge_rows_explain(r, length / (LEAST_MARKS / 2 + k * STEP_TURNS), all + (size_t)k * (size_t)r->n);
    for (int j = 0; j < r->n; j++) {
        double most = 0;

        for (int k = 0; k < n; k++)
            most = fmax(most, all[(size_t)k * (size_t)r->n + (size_t)j]);
        period[j] = share[j] = 0;
        for (int k = n - 2; k > 0 && most >= LEAST_SHARE; k--) {
            double here = all[(size_t)k * (size_t)r->n + (size_t)j];

            if (here >= AS_GOOD * most && here >= all[(size_t)(k - 1) * (size_t)r->n + (size_t)j] && here >= all[(size_t)(k + 1) * (size_t)r->n + (size_t)j]) {
                period[j] = length / (LEAST_MARKS / 2 + k * STEP_TURNS), share[j] = here;
                break;
            }
        }
    }
    free(all);
}

static int rows_near(const double *period, int n, double p)
{
    int m = 0;

    for (int j = 0; j < n; j++)
        m += period[j] > 0 && fabs(period[j] / p - 1) < SAME;
    return m;
}

/* The shortest period kept to by enough rows, and the one kept to by most of those that do not fit it; 0 none. */
static double shortest(const double *period, int n, double *rival)
{
    double best = 0;
    int most = 0;

    *rival = 0;
    for (int j = 0; j < n; j++)
        if (period[j] > 0 && rows_near(period, n, period[j]) >= FEWEST_ROWS && (best <= 0 || period[j] < best))
            best = period[j];
    for (int j = 0; j < n && best > 0; j++) {
        double ratio = period[j] / best;
        int m;

        if (period[j] <= 0 || fabs(ratio - round(ratio)) < 1.5 * SAME * ratio)
            continue;
        m = rows_near(period, n, period[j]);
        if (m > most && m >= FEWEST_ROWS && m >= RIVAL * rows_near(period, n, best))
            most = m, *rival = period[j];
    }
    return best;
}

/* Phase of a row's wave, at the row's middle. */
static double phase_of(const struct gauge_rows *r, int j, double period)
{
    const float *v = r->v + (size_t)j * (size_t)r->n_s;
    double c = 0, s = 0;

    for (int i = 0; i < r->n_s; i++) {
        double a = 2 * PI * (i - (r->n_s - 1) / 2.0) * r->step / period;

        c += (double)v[i] * cos(a), s += (double)v[i] * sin(a);
    }
    return atan2(-s, c);
}

static bool in_group(double period, double p, double share)
{
    return period > 0 && share >= LEAST_SHARE && fabs(period / p - 1) < SAME;
}

/* Period, its doubt and how the marks lean (tangent), from the rows that keep to it; where the nearest mark stands at row 0. */
static void refine(const struct gauge_rows *r, double about, struct gauge_ruler *out, double *lean, double *mark_at)
{
    double *best = mem_alloc((size_t)r->n, sizeof *best), *share = mem_alloc((size_t)r->n, sizeof *share), *kept = mem_alloc((size_t)r->n, sizeof *kept);
    double st = 0, stt = 0, sp = 0, stp = 0, last = 0, skew = 0, first = 0, deviation, slope, phase;
    int n = 0;

    gauge_rows_periods(r, about, best, share);
    for (int j = 0; j < r->n; j++)
        if (in_group(best[j], about, share[j]))
            kept[n++] = best[j];
    out->mark_px = n > 0 ? gauge_median(kept, n) : about;
    for (int i = 0; i < n; i++)
        kept[i] = fabs(kept[i] - out->mark_px);
    deviation = n > 0 ? 1.4826 * gauge_median(kept, n) : 0.01 * about;
    out->mark_sd_px = fmax(deviation / sqrt(fmax(n / ROWS_AS_ONE, 1)), 0.0003 * out->mark_px);
    n = 0;
    for (int j = 0; j < r->n; j++) {
        double t = r->t0 + j * r->step_t, p;

        if (!in_group(best[j], about, share[j]))
            continue;
        p = phase_of(r, j, out->mark_px);
        if (n > 0)
            p += 2 * PI * round((last - p) / (2 * PI));
        else
            first = p;
        last = p;
        st += t, stt += t * t, sp += p, stp += t * p, n++;
        for (int i = 0; i < r->n_s; i++)
            skew += pow((double)r->v[(size_t)j * (size_t)r->n_s + (size_t)i], 3);
    }
    slope = n > 2 && n * stt - st * st > 1e-9 ? (n * stp - st * sp) / (n * stt - st * st) : 0;
    phase = n > 0 ? (sp - slope * st) / n : first;
    *lean = slope * out->mark_px / (2 * PI);
    *mark_at = (skew < 0 ? PI - phase : -phase) * out->mark_px / (2 * PI); /* marks are the lesser part: dark on light or light on dark */
    *mark_at -= out->mark_px * round(*mark_at / out->mark_px);
    free(best), free(share), free(kept);
}

bool gauge_ruler_read(const struct gauge_picture *p, const struct gauge_point line[2], struct gauge_ruler *out, struct err *e)
{
    double length = hypot(line[1].x - line[0].x, line[1].y - line[0].y), reach = fmin(fmax(0.05 * length, 12), 40), step = fmax(1, length / SAMPLES), about, rival, lean = 0, at = 0, a, b, turn;
    double *period, *share;
    struct gauge_frame f;
    struct gauge_rows r;

    memset(out, 0, sizeof *out);
    if (!(length >= LEAST_PX))
        return err_set(e, ERR_BADARG, "The line along the ruler is %.0f px long. Draw it over eight of its marks or more.", length);
    f = (struct gauge_frame){{(line[0].x + line[1].x) / 2, (line[0].y + line[1].y) / 2}, (line[1].x - line[0].x) / length, (line[1].y - line[0].y) / length};
    if (!gauge_rows_cut(p, &f, length / 2, -reach, reach, step, 1, &r, e))
        return false;
    period = mem_alloc((size_t)r.n, sizeof *period), share = mem_alloc((size_t)r.n, sizeof *share);
    periods_find(&r, length, period, share);
    about = shortest(period, r.n, &rival);
    if (about > 0 && rival <= 0)
        refine(&r, about, out, &lean, &at);
    free(period), free(share);
    gauge_rows_release(&r);
    if (about <= 0)
        return err_set(e, ERR_MEASURE, "No marks repeat along this line. Draw it along the ruler's edge, across the shortest marks, or type how long it is.");
    if (rival > 0)
        return err_set(e, ERR_MEASURE, "Two scales run along this line, one with a mark every %.1f px, one every %.1f px. Draw it across the marks of one of them.", about, rival);
    /* the ruler's own direction: along the line a mark's distance is longer than along the ruler */
    turn = atan(lean);
    out->mark_px *= cos(turn), out->mark_sd_px *= cos(turn);
    f = (struct gauge_frame){f.origin, f.ux * cos(turn) - f.uy * sin(turn), f.uy * cos(turn) + f.ux * sin(turn)};
    at *= cos(turn);
    a = floor((at + length / 2) / out->mark_px), b = floor((length / 2 - at) / out->mark_px);
    out->n = a + b;
    if (out->n < LEAST_MARKS)
        return err_set(e, ERR_MEASURE, "Only %.0f of the ruler's marks lie along this line. Draw it over eight or more.", out->n);
    for (int k = 0; k < 2; k++) {
        double s = at + (k ? b : -a) * out->mark_px;

        out->ends[k] = (struct gauge_point){f.origin.x + s * f.ux, f.origin.y + s * f.uy};
    }
    return true;
}
