/* ui_raster.c - coverage from signed distance: a pixel whose middle lies d inside the edge is covered
 * by d + 1/2, held to 0..1. Exact for straight edges along the axes, and within 2 % for the radii
 * used here (tests/ui/test_raster.c compares areas). */
#include "ui/ui_raster.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"

#define PI 3.14159265358979f

static void cover(uint8_t *p, float c)
{
    int v;

    if (c <= 0)
        return;
    v = *p + (int)(fminf(c, 1) * 255 + 0.5f);
    *p = (uint8_t)(v > 255 ? 255 : v);
}

/* Distance to the edge of a rounded box of half sizes bx, by around 0,0; negative inside. */
static float round_distance(float x, float y, float bx, float by, float r)
{
    float qx = fabsf(x) - bx + r, qy = fabsf(y) - by + r;
    float ox = fmaxf(qx, 0), oy = fmaxf(qy, 0);

    return fminf(fmaxf(qx, qy), 0) + sqrtf(ox * ox + oy * oy) - r;
}

static float held(float radius, int w, int h)
{
    float most = (float)(w < h ? w : h) / 2;

    return radius < most ? radius : most;
}

void raster_round(uint8_t *alpha, int w, int h, float radius)
{
    float bx = (float)w / 2, by = (float)h / 2, r = held(radius, w, h);

    for (int y = 0; y < h; y++)
        for (int x = 0; x < w; x++)
            cover(&alpha[y * w + x],
                  0.5f - round_distance((float)x + 0.5f - bx, (float)y + 0.5f - by, bx, by, r));
}

/* How far along the outline the point nearest to x, y lies, from the top left corner's end clockwise. */
static float along_outline(float x, float y, float bx, float by, float r)
{
    float sx = 2 * (bx - r), sy = 2 * (by - r), arc = PI / 2 * r;

    if (fabsf(x) <= bx - r && fabsf(y) >= by - r) /* top or bottom side */
        return y < 0 ? x + bx - r : sx + arc + sy + arc + (bx - r - x);
    if (fabsf(y) <= by - r)
        return x > 0 ? sx + arc + y + by - r : 2 * sx + 3 * arc + sy + (by - r - y);
    float angle;

    if (x > 0 && y < 0) {
        angle = atan2f(x - (bx - r), -(y + by - r));
        return sx + angle * r;
    }
    if (x > 0) {
        angle = atan2f(y - (by - r), x - (bx - r));
        return sx + arc + sy + angle * r;
    }
    if (y > 0) {
        angle = atan2f(-(x + bx - r), y - (by - r));
        return 2 * sx + 2 * arc + sy + angle * r;
    }
    angle = atan2f(-(y + by - r), -(x + bx - r));
    return 2 * sx + 3 * arc + 2 * sy + angle * r;
}

/* 1 in a dash, 0 in a gap, soft at its ends. */
static float dash_at(float along, float dash, float gap)
{
    float t;

    if (dash <= 0)
        return 1;
    t = fmodf(along, dash + gap);
    return fminf(fmaxf(fminf(t + 0.5f, dash - t + 0.5f), 0), 1);
}

void raster_round_line(uint8_t *alpha, int w, int h, float radius, float width, float dash, float gap)
{
    float bx = (float)w / 2, by = (float)h / 2, r = held(radius, w, h);
    int edge = (int)ceilf(r > width ? r : width) + 1;

    if (dash > 0) { /* a whole number of dashes, so that the outline closes */
        float length = 4 * (bx + by) - 8 * r + 2 * PI * r;
        float n = floorf(length / (dash + gap));

        if (n >= 1)
            gap = length / n - dash;
    }
    for (int y = 0; y < h; y++)
        for (int x = 0; x < w; x++) {
            float px, py, d;

            if (x > edge && x < w - 1 - edge && y > edge && y < h - 1 - edge) {
                x = w - 2 - edge; /* nothing of the border in the middle */
                continue;
            }
            px = (float)x + 0.5f - bx;
            py = (float)y + 0.5f - by;
            d = round_distance(px, py, bx, by, r);
            float c = fminf(fminf(0.5f - d, 1), fmaxf(0, d + width + 0.5f));

            if (c > 0)
                cover(&alpha[y * w + x], c * dash_at(along_outline(px, py, bx, by, r), dash, gap));
        }
}

void raster_disc(uint8_t *alpha, int w, int h, float cx, float cy, float r)
{
    for (int y = 0; y < h; y++)
        for (int x = 0; x < w; x++)
            cover(&alpha[y * w + x],
                  0.5f + r - hypotf((float)x + 0.5f - cx, (float)y + 0.5f - cy));
}

void raster_ring(uint8_t *alpha, int w, int h, float r, float width, float from_deg, float to_deg)
{
    float cx = (float)w / 2, cy = (float)h / 2;
    float span = fmodf(to_deg - from_deg + 720, 360);
    int whole = from_deg >= to_deg && from_deg <= to_deg;

    for (int y = 0; y < h; y++)
        for (int x = 0; x < w; x++) {
            float px = (float)x + 0.5f - cx, py = (float)y + 0.5f - cy, d = hypotf(px, py);
            float c = fminf(fminf(0.5f + r - d, 1), fmaxf(0, d - (r - width) + 0.5f));

            if (c <= 0)
                continue;
            if (!whole) {
                float angle = fmodf(atan2f(px, -py) * 180 / PI - from_deg + 720, 360);
                float in = angle <= span ? fminf(angle, span - angle) : -fminf(angle - span, 360 - angle);

                c *= fminf(fmaxf(in * PI / 180 * d + 0.5f, 0), 1);
            }
            cover(&alpha[y * w + x], c);
        }
}

void raster_line(uint8_t *alpha, int w, int h, float x0, float y0, float x1, float y1, float width,
                 float dash, float gap)
{
    float dx = x1 - x0, dy = y1 - y0, length = hypotf(dx, dy);

    if (length <= 0)
        return;
    dx /= length;
    dy /= length;
    for (int y = 0; y < h; y++)
        for (int x = 0; x < w; x++) {
            float px = (float)x + 0.5f - x0, py = (float)y + 0.5f - y0;
            float along = px * dx + py * dy, aside = fabsf(py * dx - px * dy), c;

            if (width / 2 - aside + 0.5f <= 0) /* most of the box around a slanted line */
                continue;
            c = fminf(width / 2 - aside + 0.5f, 1) * fminf(fmaxf(fminf(along, length - along) + 0.5f, 0), 1);
            if (width < 1)
                c = fminf(c, width);
            if (c > 0)
                cover(&alpha[y * w + x], c * dash_at(along, dash, gap));
        }
}

#define SUB 16

struct crossing {
    float x;
    int wind;
};

static int by_x(const void *a, const void *b)
{
    float d = ((const struct crossing *)a)->x - ((const struct crossing *)b)->x;

    return d < 0 ? -1 : d > 0;
}

/* Adds a stretch of one sixteenth of a line, exact across. */
static void add_span(float *row, int w, float from, float to)
{
    if (from < 0)
        from = 0;
    if (to > (float)w)
        to = (float)w;
    if (from >= to)
        return;
    int first = (int)from, last = (int)to;

    if (first == last) {
        row[first] += to - from;
        return;
    }
    row[first] += (float)(first + 1) - from;
    for (int x = first + 1; x < last && x < w; x++)
        row[x] += 1;
    if (last < w)
        row[last] += to - (float)last;
}

void raster_polygon(uint8_t *alpha, int w, int h, const float *points, int n_points)
{
    struct crossing *cross = mem_alloc((size_t)n_points, sizeof *cross);
    float *row = mem_alloc((size_t)w + 1, sizeof *row);

    for (int y = 0; y < h; y++) {
        for (int x = 0; x < w; x++)
            row[x] = 0;
        for (int s = 0; s < SUB; s++) {
            float at = (float)y + ((float)s + 0.5f) / SUB;
            int n = 0, wind = 0;

            for (int i = 0; i < n_points; i++) {
                const float *a = points + 2 * i, *b = points + 2 * ((i + 1) % n_points);

                if ((a[1] <= at) != (b[1] <= at)) {
                    cross[n].x = a[0] + (at - a[1]) / (b[1] - a[1]) * (b[0] - a[0]);
                    cross[n++].wind = a[1] <= at ? 1 : -1;
                }
            }
            qsort(cross, (size_t)n, sizeof *cross, by_x);
            for (int i = 0; i + 1 < n; i++) {
                wind += cross[i].wind;
                if (wind != 0)
                    add_span(row, w, cross[i].x, cross[i + 1].x);
            }
        }
        for (int x = 0; x < w; x++)
            cover(&alpha[y * w + x], row[x] / SUB);
    }
    free(cross);
    free(row);
}
