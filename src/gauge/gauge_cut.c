#include "gauge/gauge_cut.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

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
    for (int i = 0; i <= 4096; i++) { /* IEC 61966-2-1; finer near black, where the curve is steep: by the square */
        double v = (double)i / 4096 * ((double)i / 4096);
        double s = v <= 0.0031308 ? 12.92 * v : 1.055 * pow(v, 1 / 2.4) - 0.055;

        t->encoded[i] = (uint8_t)lrint(s * 255);
    }
}

static const uint8_t *pixel(const struct gauge_picture *p, int x, int y)
{
    x = x < 0 ? 0 : x >= p->width ? p->width - 1 : x;
    y = y < 0 ? 0 : y >= p->height ? p->height - 1 : y;
    return p->rgba + 4 * ((size_t)y * (size_t)p->width + (size_t)x);
}

/* Between the four pixels around a place; pixel middles lie at halves. */
static void sample(const struct gauge_picture *p, const struct light_tables *t, double x, double y, float sum[3])
{
    double fx = x - 0.5, fy = y - 0.5;
    int x0 = (int)floor(fx), y0 = (int)floor(fy);
    float u = (float)(fx - x0), v = (float)(fy - y0);
    const uint8_t *a = pixel(p, x0, y0), *b = pixel(p, x0 + 1, y0), *c = pixel(p, x0, y0 + 1), *d = pixel(p, x0 + 1, y0 + 1);

    for (int k = 0; k < 3; k++)
        sum[k] += (t->linear[k][a[k]] * (1 - u) + t->linear[k][b[k]] * u) * (1 - v) + (t->linear[k][c[k]] * (1 - u) + t->linear[k][d[k]] * u) * v;
}

void gauge_cut_make(const struct gauge_picture *p, const struct gauge_cut *cut, int w, int h, uint8_t *rgba)
{
    struct light_tables *t = mem_alloc(1, sizeof *t);
    double turn = cut->turn_deg * PI / 180, c = cos(turn) * cut->px, s = sin(turn) * cut->px;
    int fine = (int)fmin(fmax(ceil(cut->px - 0.25), 1), MOST_SAMPLES);
    float grey;

    assert(cut->px > 0);
    fill_tables(t, cut->light);
    grey = (float)gauge_linear(cut->outside);
    for (int y = 0; y < h; y++)
        for (int x = 0; x < w; x++) {
            uint8_t *to = rgba + 4 * ((size_t)y * (size_t)w + (size_t)x);
            float sum[3] = {0, 0, 0};

            for (int q = 0; q < fine * fine; q++) {
                double dx = x + (q % fine + 0.5) / fine - cut->ax * w, dy = y + (q / fine + 0.5) / fine - cut->ay * h; /* int / int: the row */
                double px = cut->at.x + c * dx + s * dy, py = cut->at.y - s * dx + c * dy;

                if (px >= 0 && py >= 0 && px < p->width && py < p->height)
                    sample(p, t, px, py, sum);
                else
                    sum[0] += grey, sum[1] += grey, sum[2] += grey;
            }
            for (int k = 0; k < 3; k++)
                to[k] = t->encoded[(int)lrintf(sqrtf(fminf(sum[k] / (float)(fine * fine), 1)) * 4096)];
            to[3] = 255;
        }
    free(t);
}
