#include "gauge/gauge_axis.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"

#define DEGREE 0.017453292519943295
#define COARSE (0.5 * DEGREE)
#define FINE (0.1 * DEGREE)
#define HAND 0.5    /* radians: a hand keeps within 8 degrees or so, and within those this says little */
#define ASIDE 0.25   /* of the radius, that the axis may lie off where it is thought to be */
#define BAND 1.36    /* of the radius to each side that is looked at */
#define OUTLINE 0.96 /* of the radius: between crests and roots */
#define WIDE 0.07    /* of the radius to each side of that: a thread's depth */
#define SOFT 0.006   /* of the radius: grain is smoothed by this */

enum { HALVES = 2 };

typedef double pair __attribute__((vector_size(16))); /* of two channels, worked on at once */

/* Which half a sample along falls to. Grain is each half's own, an outline both show: what is steep in one of them alone is steepest where the rows are
 * not turned, since nothing is interpolated there. Dealt so (Thue and Morse) that no period, a thread's least, falls to one of them. */
static int half_of(int i)
{
    int parity = 0;

    for (i /= 2; i > 0; i /= 2)
        parity ^= i & 1;
    return parity;
}

/* Means along lines of the strip turned by a tangent, of both halves of its samples: 0 where less than six tenths is seen. */
static void profile_make(const struct gauge_strip *s, double tangent, float (*mean)[HALVES][3], bool *seen)
{
    double *off = mem_alloc((size_t)s->n_s, sizeof *off); /* of each sample along, rows */

    for (int i = 0; i < s->n_s; i++)
        off[i] = (s->s0 + i * s->step_s) * tangent / s->step_t;
    for (int j = 0; j < s->n_t; j++) {
        pair sum[HALVES] = {{0}};
        double last[HALVES] = {0};
        int n[HALVES] = {0};

        for (int i = 0; i < s->n_s; i++) {
            double at = j + off[i], q;
            int k = (int)floor(at), h = half_of(i);
            const float *a, *b;

            if (k < 0 || k + 1 >= s->n_t)
                continue;
            q = at - k;
            a = s->rgb[(size_t)k * (size_t)s->n_s + (size_t)i], b = s->rgb[(size_t)(k + 1) * (size_t)s->n_s + (size_t)i];
            if (a[0] < 0 || b[0] < 0)
                continue;
            sum[h] += (1 - q) * (pair){(double)a[0], (double)a[1]} + q * (pair){(double)b[0], (double)b[1]};
            last[h] += (1 - q) * (double)a[2] + q * (double)b[2];
            n[h]++;
        }
        seen[j] = n[0] + n[1] > 0.6 * s->n_s && n[0] > 0 && n[1] > 0;
        for (int h = 0; h < HALVES; h++)
            for (int c = 0; c < 3; c++)
                mean[j][h][c] = n[h] ? (float)((c < 2 ? sum[h][c] : last[h]) / n[h]) : 0;
    }
    free(off);
}

/* How steep the profile is about each place, as a square. */
static void steepness(const float (*mean)[HALVES][3], const bool *seen, int n, int soft, int wide, double *sum, double *out)
{
    sum[0] = 0;
    for (int j = 0; j < n; j++) { /* a difference of means over `soft` samples each side */
        double square = 0;
        bool whole = j - soft >= 0 && j + soft <= n;

        for (int m = -soft; m < soft && whole; m++)
            whole = seen[j + m];
        for (int c = 0; c < 3 && whole; c++) {
            double d[HALVES] = {0};

            for (int m = 0; m < soft; m++)
                for (int h = 0; h < HALVES; h++)
                    d[h] += (double)mean[j + m][h][c] - (double)mean[j - 1 - m][h][c];
            square += d[0] * d[1] / soft / soft;
        }
        sum[j + 1] = sum[j] + square;
    }
    for (int j = 0; j < n; j++) {
        int a = j - wide < 0 ? 0 : j - wide, b = j + wide > n ? n : j + wide;

        out[j] = fmax(sum[b] - sum[a], 0);
    }
}

struct search {
    const struct gauge_strip *strip;
    double radius, middle, turned;
    int soft, wide;
    float (*mean)[HALVES][3];
    bool *seen;
    double *sum, *steep;
};

/* Best place of the axis at one turn. */
static double try_turn(struct search *w, double turn, double *middle)
{
    const struct gauge_strip *s = w->strip;
    int k = (int)lround(OUTLINE * w->radius / s->step_t);
    double best = 0;

    profile_make(s, tan(turn), w->mean, w->seen);
    steepness((const float(*)[HALVES][3])w->mean, w->seen, s->n_t, w->soft, w->wide, w->sum, w->steep);
    for (int m = k; m + k < s->n_t; m++) {
        double t = s->t0 + m * s->step_t, sharp;

        if (fabs(t - w->middle) > ASIDE * w->radius)
            continue;
        sharp = sqrt(w->steep[m - k]) + sqrt(w->steep[m + k]);
        if (sharp > best)
            best = sharp, *middle = t;
    }
    return best * exp(-0.5 * pow((w->turned + turn) / HAND, 2));
}

bool gauge_axis_find(const struct gauge_picture *p, const struct gauge_frame *f, double half_px, double radius_px, double middle_px, double reach,
                     double turned, struct gauge_axis *out)
{
    struct gauge_strip s;
    struct search w = {.radius = radius_px, .middle = middle_px, .turned = turned};
    double t = (BAND + ASIDE) * radius_px + half_px * tan(reach), step = fmax(1, radius_px / 200), near[3] = {0}, middle = middle_px;
    int steps = (int)ceil(reach / COARSE), best = 0;

    *out = (struct gauge_axis){.middle = middle_px};
    if (!gauge_strip_cut(p, f, -half_px, half_px, middle_px - t, middle_px + t, fmax(2, half_px / 80), step, false, &s, NULL))
        return false;
    for (int j = 0; j < s.n_t; j++)
        for (int i = 0; i < s.n_s; i++) {
            float *v = s.rgb[(size_t)j * (size_t)s.n_s + (size_t)i];
            double along = s.s0 + i * s.step_s, across = s.t0 + j * s.step_t, x = f->origin.x + along * f->ux - across * f->uy, y = f->origin.y + along * f->uy + across * f->ux;
            bool inside = x > 2 && y > 2 && x < p->width - 2 && y < p->height - 2;

            for (int c = 0; c < 3; c++) /* highlights count for less */
                v[c] = inside ? sqrtf(v[c]) : -1;
        }
    w.strip = &s;
    w.soft = (int)fmax(1, round(2 * SOFT * radius_px / step)), w.wide = (int)fmax(2, round(WIDE * radius_px / step));
    w.mean = mem_alloc((size_t)s.n_t, sizeof *w.mean), w.seen = mem_alloc((size_t)s.n_t, sizeof *w.seen);
    w.sum = mem_alloc((size_t)s.n_t + 1, sizeof *w.sum), w.steep = mem_alloc((size_t)s.n_t, sizeof *w.steep);
    for (int k = -steps; k <= steps; k++) {
        double sharp = try_turn(&w, k * COARSE, &middle);

        if (sharp > out->sharp)
            out->sharp = sharp, best = k;
    }
    out->turn = best * COARSE, out->sharp = 0;
    for (int k = -5; k <= 5; k++) {
        double sharp = try_turn(&w, best * COARSE + k * FINE, &middle);

        if (sharp > out->sharp)
            out->sharp = sharp, out->turn = best * COARSE + k * FINE, out->middle = middle * cos(out->turn);
    }
    for (int k = -1; k <= 1; k++) /* between the steps: the top of a parabola */
        near[k + 1] = try_turn(&w, out->turn + 2 * k * FINE, &middle);
    if (near[0] - 2 * near[1] + near[2] < 0)
        out->turn += 2 * FINE * fmin(fmax(0.5 * (near[0] - near[2]) / (near[0] - 2 * near[1] + near[2]), -0.5), 0.5);
    free(w.mean), free(w.seen), free(w.sum), free(w.steep);
    gauge_strip_release(&s);
    return out->sharp > 0;
}
