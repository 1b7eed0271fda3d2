#include "gauge/gauge_cut.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/colour.h"
#include "base/mem.h"

#define PI 3.14159265358979323846
#define MOST_SAMPLES 8 /* each way for a pixel */

struct light_tables {
    float linear[3][256]; /* of each channel, corrected */
    uint8_t encoded[4097];
};

static void fill_tables(struct light_tables *t, const struct gauge_light *light)
{
    for (int i = 0; i < 256; i++)
        for (int c = 0; c < 3; c++)
            t->linear[c][i] = (float)(gauge_linear(i) * (light != NULL ? light->gain[c] : 1));
    for (int i = 0; i <= 4096; i++) /* finer near black, where the curve is steep: by the square */
        t->encoded[i] = (uint8_t)lrint(colour_encode((double)i / 4096 * ((double)i / 4096)) * 255);
}

static const uint8_t *pixel(const struct gauge_picture *p, int x, int y)
{
    x = x < 0 ? 0 : x >= p->width ? p->width - 1 : x;
    y = y < 0 ? 0 : y >= p->height ? p->height - 1 : y;
    return p->rgba + 4 * ((size_t)y * (size_t)p->width + (size_t)x);
}

static int floor_of(double v)
{
    int whole = (int)v;

    return v < whole ? whole - 1 : whole;
}

/* Between the four pixels around a place; pixel middles lie at halves. */
static void sample(const struct gauge_picture *p, const struct light_tables *t, double x, double y, float sum[3])
{
    double fx = x - 0.5, fy = y - 0.5;
    int x0 = floor_of(fx), y0 = floor_of(fy);
    float u = (float)(fx - x0), v = (float)(fy - y0);
    uint8_t upper[8], lower[8]; /* a pixel and its right neighbour, and those below */

    if (x0 >= 0 && y0 >= 0 && x0 + 1 < p->width && y0 + 1 < p->height) {
        memcpy(upper, pixel(p, x0, y0), 8), memcpy(lower, pixel(p, x0, y0 + 1), 8);
    } else { /* the outermost pixels go on */
        memcpy(upper, pixel(p, x0, y0), 4), memcpy(upper + 4, pixel(p, x0 + 1, y0), 4);
        memcpy(lower, pixel(p, x0, y0 + 1), 4), memcpy(lower + 4, pixel(p, x0 + 1, y0 + 1), 4);
    }
    for (int k = 0; k < 3; k++) {
        const float *l = t->linear[k];

        sum[k] += (l[upper[k]] * (1 - u) + l[upper[4 + k]] * u) * (1 - v) + (l[lower[k]] * (1 - u) + l[lower[4 + k]] * u) * v;
    }
}

void gauge_cut_make(const struct gauge_picture *p, const struct gauge_cut *cut, int w, int h, uint8_t *rgba)
{
    struct light_tables *t = mem_alloc(1, sizeof *t);
    double turn = cut->turn_deg * PI / 180, c = cos(turn) * cut->px, s = sin(turn) * cut->px;
    int fine = (int)fmin(fmax(ceil(cut->px - 0.25), 1), MOST_SAMPLES);
    struct gauge_point *column = mem_alloc((size_t)w * (size_t)fine, sizeof *column); /* where each column of samples begins */
    float grey;

    assert(cut->px > 0);
    fill_tables(t, cut->light);
    grey = (float)gauge_linear(cut->outside);
    for (int i = 0; i < w * fine; i++) {
        double dx = i / fine + (i % fine + 0.5) / fine - cut->ax * w; /* int / int: the pixel */

        column[i] = (struct gauge_point){cut->at.x + c * dx, cut->at.y - s * dx};
    }
    for (int y = 0; y < h; y++)
        for (int x = 0; x < w; x++) {
            uint8_t *to = rgba + 4 * ((size_t)y * (size_t)w + (size_t)x);
            float sum[3] = {0, 0, 0};

            for (int row = 0; row < fine; row++) {
                double dy = y + (row + 0.5) / fine - cut->ay * h, down_x = s * dy, down_y = c * dy;

                for (int i = x * fine; i < (x + 1) * fine; i++) {
                    double px = column[i].x + down_x, py = column[i].y + down_y;

                    if (px >= 0 && py >= 0 && px < p->width && py < p->height)
                        sample(p, t, px, py, sum);
                    else
                        sum[0] += grey, sum[1] += grey, sum[2] += grey;
                }
            }
            for (int k = 0; k < 3; k++)
                to[k] = t->encoded[(int)lrintf(sqrtf(fminf(sum[k] / (float)(fine * fine), 1)) * 4096)];
            to[3] = 255;
        }
    free(column);
    free(t);
}
