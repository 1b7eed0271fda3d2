#include "gauge/gauge_view.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "gauge/gauge_strip.h"

#define PI 3.14159265358979323846
#define WIDE 0.92        /* of the radius to each side: beyond it the turns run together */
#define MOST_DEG 14.0
#define STEP_DEG 0.2
#define LEANS 6
#define LEAN_STEP 0.005
#define CLEAR 0.93       /* agreement of the rows, 1 all: of 34 rendered threads one had less, and was wrong */
/* Crests shine and roots lie in the dark, a thread's depth nearer to the axis: their difference bows by more than the crests do,
 * by 1.1 to 1.3 (1.19 over our rendered threads, the same for the fourth harmonic). */
#define LEAD 1.18
#define LEAD_SD 0.08
#define SD_DEG 0.45      /* light from the side bends the bow by this much */
/* People stand 150 to 600 mm away. */
#define NEARNESS (1 / 260.0)
#define NEARNESS_SD (1 / 500.0)
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

void gauge_view_read(const struct gauge_picture *p, const struct gauge_thread *scale, double along_px, struct gauge_view *out)
{
    double mm = scale->px_per_mm, radius = scale->radius_px, half = scale->length_px / 2, total = 0, best = 0, best_deg = 0, step;
    double nearness = scale->distance_mm > 0 ? 1 / scale->distance_mm : NEARNESS, outline, far_mm = along_px / mm, sd_extra;
    struct gauge_frame f = {scale->middle, scale->ux, scale->uy};
    struct gauge_strip s;
    double *re, *im, *depth, *period, *t;
    int n = 0;

    memset(out, 0, sizeof *out);
    if (!scale->has_body || !(scale->pitch_px > 0) || !(half > 0) || !(radius > 8))
        return;
    outline = mm * scale->pitch_mm; /* the period in the plane of the axis */
    step = fmax(0.5, outline / 40);
    if (!gauge_strip_cut(p, &f, -half, half, -WIDE * radius, WIDE * radius, step, fmax(1, radius / 150), &s, NULL))
        return;
    re = mem_alloc((size_t)s.n_t, sizeof *re), im = mem_alloc((size_t)s.n_t, sizeof *im);
    depth = mem_alloc((size_t)s.n_t, sizeof *depth), period = mem_alloc((size_t)s.n_t, sizeof *period), t = mem_alloc((size_t)s.n_t, sizeof *t);
    for (int j = 0; j < s.n_t; j++) {
        double q = (s.t0 + j * s.step_t) / radius, a, c, d, keep;

        if (!s.seen[j] || fabs(q) >= 1)
            continue;
        t[n] = q * radius;
        depth[n] = sqrt(1 - q * q) * radius;
        period[n] = outline * (1 + depth[n] / mm * nearness); /* nearer to the camera */
        row_wave(&s, j, period[n], &re[n], &im[n]);
        a = 4 * PI * outline / (2 * PI) * asin(q) / period[n]; /* a right-hand helix climbs a pitch in a turn */
        c = cos(a), d = sin(a), keep = re[n];
        re[n] = keep * c - im[n] * d, im[n] = keep * d + im[n] * c;
        total += hypot(re[n], im[n]);
        n++;
    }
    for (int k = -LEANS; n > 8 && k <= LEANS; k++) /* the axis is known to a degree or so: rows slide by that */
        for (double deg = -MOST_DEG; deg <= MOST_DEG; deg += STEP_DEG) {
            double sum_re = 0, sum_im = 0, bow = tan(deg * PI / 180), prior = 1 - 0.02 * pow((double)k / LEANS, 2);

            for (int i = 0; i < n; i++) {
                double a = 4 * PI * (bow * depth[i] + LEAN_STEP * k * t[i]) / period[i], c = cos(a), d = sin(a);

                sum_re += re[i] * c - im[i] * d, sum_im += re[i] * d + im[i] * c;
            }
            if (hypot(sum_re, sum_im) * prior > best)
                best = hypot(sum_re, sum_im) * prior, best_deg = deg;
        }
    free(re), free(im), free(depth), free(period), free(t);
    gauge_strip_release(&s);
    if (n <= 8 || best < CLEAR * total || fabs(best_deg) > MOST_DEG - 1)
        return;
    sd_extra = far_mm * (scale->distance_mm > 0 ? FOCAL_SD * nearness : NEARNESS_SD);
    out->known = true;
    best_deg /= LEAD;
    out->off_deg = best_deg + atan(far_mm * nearness) * 180 / PI;
    out->sd_deg = hypot(hypot(SD_DEG, LEAD_SD * best_deg), sd_extra * 180 / PI);
}
