#include "gauge/gauge_circle.h"

#include <assert.h>
#include <math.h>

#define N_ALONG 36
#define ON_IT   0.04 /* of the radius: a hand draws no better */
#define OUTSIDE 3    /* points that may lie outside: a slip of the hand */
#define MOST_RADIUS 0.82 /* of the outline's length from end to end: an arc of 75 degrees */

struct circle {
    struct gauge_point m;
    double r;
};

/* Points set evenly along the closed outline. */
static bool walk(const struct gauge_point *o, int n, struct gauge_point to[N_ALONG])
{
    double length = 0, gone = 0, step;
    int k = 0;

    for (int i = 0; i < n; i++)
        length += hypot(o[(i + 1) % n].x - o[i].x, o[(i + 1) % n].y - o[i].y);
    step = length / N_ALONG;
    if (!(step > 0))
        return false;
    for (int i = 0; i < n; i++) {
        const struct gauge_point a = o[i], b = o[(i + 1) % n];
        double side = hypot(b.x - a.x, b.y - a.y);

        while (k < N_ALONG && k * step <= gone + side) {
            double t = side > 0 ? (k * step - gone) / side : 0;

            to[k++] = (struct gauge_point){a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)};
        }
        gone += side;
    }
    while (k < N_ALONG) /* rounding at the very end */
        to[k++] = o[0];
    return true;
}

static bool through(struct gauge_point a, struct gauge_point b, struct gauge_point c, struct circle *out)
{
    double bx = b.x - a.x, by = b.y - a.y, cx = c.x - a.x, cy = c.y - a.y, d = 2 * (bx * cy - by * cx);
    double b2 = bx * bx + by * by, c2 = cx * cx + cy * cy, x, y;

    if (fabs(d) < 1e-6 * (b2 + c2))
        return false;
    x = (cy * b2 - by * c2) / d;
    y = (bx * c2 - cx * b2) / d;
    *out = (struct circle){{a.x + x, a.y + y}, hypot(x, y)};
    return true;
}

static bool is_on(const struct gauge_point *p, const struct circle *c)
{
    return fabs(hypot(p->x - c->m.x, p->y - c->m.y) - c->r) <= ON_IT * c->r;
}

/* How many points lie on it; 0 when it does not bound the outline. */
static int count_on(const struct gauge_point p[N_ALONG], const struct circle *c)
{
    int on = 0, outside = 0;

    for (int i = 0; i < N_ALONG; i++) {
        double d = hypot(p[i].x - c->m.x, p[i].y - c->m.y);

        if (d > (1 + 1.5 * ON_IT) * c->r && ++outside > OUTSIDE)
            return 0;
        on += fabs(d - c->r) <= ON_IT * c->r;
    }
    return on;
}

static double length_of(const struct gauge_point p[N_ALONG])
{
    double most = 0;

    for (int i = 0; i < N_ALONG; i++)
        for (int k = 0; k < i; k++)
            most = fmax(most, hypot(p[i].x - p[k].x, p[i].y - p[k].y));
    return most;
}

/* Least squares of x² + y² = 2ax + 2by + c over the points that lie on the circle. */
static void refine(const struct gauge_point p[N_ALONG], struct circle *c)
{
    const struct circle at = *c;
    double sx = 0, sy = 0, suu = 0, suv = 0, svv = 0, suz = 0, svz = 0, sz = 0, d, a, b;
    int n = 0;

    for (int i = 0; i < N_ALONG; i++)
        if (is_on(&p[i], &at)) {
            sx += p[i].x, sy += p[i].y;
            n++;
        }
    sx /= n, sy /= n;
    for (int i = 0; i < N_ALONG; i++)
        if (is_on(&p[i], &at)) {
            double u = p[i].x - sx, v = p[i].y - sy, z = u * u + v * v;

            suu += u * u, suv += u * v, svv += v * v, suz += u * z, svz += v * z, sz += z;
        }
    d = 2 * (suu * svv - suv * suv);
    if (fabs(d) < 1e-9 * suu * svv)
        return;
    a = (suz * svv - svz * suv) / d;
    b = (svz * suu - suz * suv) / d;
    *c = (struct circle){{sx + a, sy + b}, sqrt(sz / n + a * a + b * b)};
}

bool gauge_circle_fit(const struct gauge_point *outline, int n, struct gauge_point *middle, double *radius_px)
{
    struct gauge_point p[N_ALONG];
    struct circle best = {{0, 0}, 0}, c = {{0, 0}, 0};
    double largest;
    int most = 0;

    assert(n >= 3);
    if (!walk(outline, n, p))
        return false;
    largest = MOST_RADIUS * length_of(p);
    for (int i = 0; i < N_ALONG; i++)
        for (int j = i + 1; j < N_ALONG; j++)
            for (int k = j + 1; k < N_ALONG; k++) {
                int on = through(p[i], p[j], p[k], &c) && c.r <= largest ? count_on(p, &c) : 0;

                if (on > most || (on == most && on > 0 && c.r < best.r)) {
                    most = on;
                    best = c;
                }
            }
    if (most * 3 < N_ALONG)
        return false;
    refine(p, &best);
    *middle = best.m;
    *radius_px = best.r;
    return true;
}
