/* plug_scene.h - pictures of a plain plug by a small ray marcher, for tests: thread, centre and side electrode and bench are
 * given as distances, so that what is seen of a gap from any angle comes from the shapes alone and from nothing in the program.
 * Lengths mm: s along the axis from the tip towards the side electrode, t across it, d towards the camera. */
#ifndef PLUG_SCENE_H
#define PLUG_SCENE_H

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define SCENE_PI 3.14159265358979323846

struct scene {
    /* plug */
    double major, pitch, gap, tip_r, strap_half, strap_thick, lean_deg, corner;
    double thread_from, thread_to; /* s */
    int strap_side;                /* -1, 1: which way it is bent from */
    /* looks: what share of the light is thrown back */
    double steel[3], tip[3], strap[3], nose[3], bench[3];
    double shine, weave, soot; /* 0..1 */
    uint32_t seed;
    /* light and camera */
    double light[3], ambient, distance, off_deg, px_per_mm, turn_deg, blur_px, noise;
    int width, height;
    double centre_x, centre_y; /* where the gap's middle shows */
};

struct scene_at {
    double s, t, d;
};

/* Of numbers that are numbers: those of math.h are calls, a quarter of the time. */
static double scene_most(double a, double b)
{
    return a > b ? a : b;
}

static double scene_least(double a, double b)
{
    return a < b ? a : b;
}

static double scene_hash(uint32_t a, uint32_t b, uint32_t c)
{
    uint32_t h = a * 374761393u + b * 668265263u + c * 2246822519u;

    h = (h ^ (h >> 13)) * 1274126177u;
    return ((h ^ (h >> 16)) & 0xffffff) / 16777215.0;
}

/* Smooth noise of about 0..1. */
static double scene_cloud(double x, double y, uint32_t seed)
{
    int ix = (int)floor(x), iy = (int)floor(y);
    double fx = x - ix, fy = y - iy, v[4];

    for (int k = 0; k < 4; k++)
        v[k] = scene_hash((uint32_t)(ix + (k & 1)), (uint32_t)(iy + (k >> 1)), seed);
    fx = fx * fx * (3 - 2 * fx), fy = fy * fy * (3 - 2 * fy);
    return (v[0] * (1 - fx) + v[1] * fx) * (1 - fy) + (v[2] * (1 - fx) + v[3] * fx) * fy;
}

static double scene_box(double x, double y, double z, double hx, double hy, double hz, double round)
{
    double ax = fabs(x) - hx + round, ay = fabs(y) - hy + round, az = fabs(z) - hz + round;
    double bx = scene_most(ax, 0), by = scene_most(ay, 0), bz = scene_most(az, 0);

    return sqrt(bx * bx + by * by + bz * bz) + scene_least(scene_most(ax, scene_most(ay, az)), 0) - round;
}

static double scene_rod(double r, double s, double radius, double from, double to, double round)
{
    double a = r - radius + round, b = fabs(s - (from + to) / 2) - (to - from) / 2 + round, p = scene_most(a, 0), q = scene_most(b, 0);

    return sqrt(p * p + q * q) + scene_least(scene_most(a, b), 0) - round;
}

/* Distance to the nearest part, and which: 0 steel, 1 tip, 2 strap, 3 nose, 4 bench. */
static double scene_distance(const struct scene *c, struct scene_at p, int *part)
{
    double r = sqrt(p.t * p.t + p.d * p.d), best = p.d + c->major / 2 + 1.5, v, lean = c->lean_deg * SCENE_PI / 180, mid = -c->strap_side * (c->major / 2 - 1.3);

    *part = 4;
    if (r < c->major / 2 + 1 && p.s < c->thread_to + 1) { /* a 60 degree thread, an eighth flat on top */
        double beyond = scene_most(c->thread_from - p.s, p.s - c->thread_to), f, depth;

        if (scene_most(0.5 * (r - c->major / 2), beyond) < best) { /* else not even a crest would be the nearest */
            f = p.s / c->pitch - atan2(p.t, p.d) / (2 * SCENE_PI);
            f = fabs(f - floor(f) - 0.5) * 2; /* 1 on the crest's middle */
            depth = scene_least(scene_most(0.875 - f, 0) / 0.875, 1) * 0.6134 * c->pitch;
            v = scene_most(0.5 * (r - c->major / 2 + depth), beyond);
            if (v < best)
                best = v, *part = 0;
        }
    } else {
        v = scene_rod(r, p.s, c->major / 2, c->thread_from, c->thread_to, 0.01);
        if (v < best)
            best = scene_most(v, 0.02), *part = 0;
    }
    v = scene_rod(r, p.s, c->tip_r, -4, 0, c->corner);
    if (v < best)
        best = v, *part = 1;
    v = scene_rod(r, p.s, scene_most(1.9, c->tip_r + 0.6), -6, -1.2, 0.3);
    if (v < best)
        best = v, *part = 3;
    { /* the side electrode: a bar over the tip, leaning about the axis, and its leg */
        double s = p.s - c->gap, t = p.t, from = mid - 0.7 * -c->strap_side, half, a;

        a = s * cos(lean) - t * sin(lean), t = s * sin(lean) + t * cos(lean), s = a;
        half = (fabs(from) + c->tip_r + 0.3) / 2;
        v = scene_box(s - c->strap_thick / 2, t - c->strap_side * -(half - c->tip_r - 0.3), p.d, c->strap_thick / 2, half, c->strap_half, c->corner);
        v = scene_least(v, scene_box(p.s - (c->gap + c->strap_thick - 3) / 2, p.t - from, p.d, (c->gap + c->strap_thick + 3) / 2 - 0.2, 0.7, c->strap_half, c->corner));
        if (v < best)
            best = v, *part = 2;
    }
    return best;
}

/* Light thrown to the eye from along a ray. */
static void scene_ray(const struct scene *c, struct scene_at eye, struct scene_at way, double out[3])
{
    const double *looks[] = {c->steel, c->tip, c->strap, c->nose, c->bench};
    double along = (eye.d - c->major / 2 - 1.2) / -way.d, n[3], length, lit, dark = 1, shine, open, l = sqrt(c->light[0] * c->light[0] + c->light[1] * c->light[1] + c->light[2] * c->light[2]);
    double light[3] = {c->light[0] / l, c->light[1] / l, c->light[2] / l}, texture = 1;
    struct scene_at p = eye;
    int part = 4, other;

    for (int k = 0; k < 1500; k++) {
        double v;

        p = (struct scene_at){eye.s + along * way.s, eye.t + along * way.t, eye.d + along * way.d};
        v = scene_distance(c, p, &part);
        if (v < 0.002)
            break;
        along += v;
    }
    for (int k = 0; k < 3; k++) {
        struct scene_at a = p, b = p;
        double h = 0.004;

        *(k == 0 ? &a.s : k == 1 ? &a.t : &a.d) += h, *(k == 0 ? &b.s : k == 1 ? &b.t : &b.d) -= h;
        n[k] = scene_distance(c, a, &other) - scene_distance(c, b, &other);
    }
    length = sqrt(n[0] * n[0] + n[1] * n[1] + n[2] * n[2]) + 1e-12;
    n[0] /= length, n[1] /= length, n[2] /= length;
    for (double far = 0.03; far < 6;) { /* a soft shadow */
        double v = scene_distance(c, (struct scene_at){p.s + far * light[0], p.t + far * light[1], p.d + far * light[2]}, &other);

        dark = scene_least(dark, scene_most(0, 4 * v / far));
        if (dark < 0.02)
            break;
        far += scene_most(v, 0.05);
    }
    open = scene_least(1, scene_most(0.05, scene_distance(c, (struct scene_at){p.s + 0.6 * n[0], p.t + 0.6 * n[1], p.d + 0.6 * n[2]}, &other) / 0.6));
    lit = scene_most(0, n[0] * light[0] + n[1] * light[1] + n[2] * light[2]) * dark;
    {
        double h[3] = {light[0], light[1], light[2] + 1}, hl = sqrt(h[0] * h[0] + h[1] * h[1] + h[2] * h[2]);

        shine = part == 4 || part == 3 ? 0 : c->shine * pow(scene_most(0, (n[0] * h[0] + n[1] * h[1] + n[2] * h[2]) / hl), 25) * dark;
    }
    if (part == 4)
        texture = 1 + c->weave * (scene_cloud(p.s * 1.3, p.t * 1.3, c->seed) - 0.5) + 0.4 * c->weave * (scene_cloud(p.s * 6, p.t * 6, c->seed + 1) - 0.5);
    else if ((part == 1 || part == 2) && c->soot > 0)
        texture = scene_cloud(p.s * 1.7 + 9 * part, p.t * 1.7, c->seed + 2) < c->soot ? 0.15 : 1;
    else if (part == 0)
        texture = 0.5 + 0.5 * scene_least(1, scene_most(0, 1 - (c->major / 2 - sqrt(p.t * p.t + p.d * p.d)) / (0.6 * c->pitch))); /* dirt stays in the roots */
    for (int k = 0; k < 3; k++)
        out[k] += looks[part][k] * texture * (c->ambient * (0.4 + 0.6 * (0.5 + 0.5 * n[2])) * open + (1 - c->ambient) * lit) + shine * 0.5;
}

/* Where a point of the plug shows. */
static void scene_shows(const struct scene *c, double s, double t, double d, double *x, double *y)
{
    double off = c->off_deg * SCENE_PI / 180, depth = c->distance * cos(off), turn = c->turn_deg * SCENE_PI / 180, f = c->px_per_mm * depth, a, b;

    s -= c->gap / 2 - c->distance * sin(off);
    a = f * s / (depth - d) - c->px_per_mm * c->distance * sin(off), b = f * t / (depth - d);
    *x = c->centre_x + a * cos(turn) - b * sin(turn), *y = c->centre_y + a * sin(turn) + b * cos(turn);
}

static double scene_gauss(uint32_t *state)
{
    double sum = 0;

    for (int k = 0; k < 12; k++)
        *state = *state * 1664525u + 1013904223u, sum += (*state >> 8) / 16777216.0;
    return sum - 6;
}

/* RGBA of width * height, to be freed. */
static uint8_t *scene_paint(const struct scene *c)
{
    size_t n = (size_t)c->width * (size_t)c->height;
    float *light = calloc(n * 3, sizeof *light), *line = calloc((size_t)(c->width > c->height ? c->width : c->height) * 3, sizeof *line);
    uint8_t *rgba = calloc(n, 4);
    double off = c->off_deg * SCENE_PI / 180, depth = c->distance * cos(off), turn = c->turn_deg * SCENE_PI / 180;
    struct scene_at eye = {c->gap / 2 - c->distance * sin(off), 0, depth};
    uint32_t state = c->seed * 2654435761u + 1;
    int reach = (int)ceil(3 * c->blur_px);

    for (int y = 0; y < c->height; y++)
        for (int x = 0; x < c->width; x++) {
            double sum[3] = {0}, far = hypot(x - c->centre_x, y - c->centre_y) / c->px_per_mm;
            int rays = far < 2.5 + c->gap ? 4 : 1; /* fine about the gap, plain elsewhere */

            for (int k = 0; k < rays; k++) {
                double fine = rays > 1 ? 0.25 : 0.5, u = x + fine + 0.5 * (k & 1) - c->centre_x, v = y + fine + 0.5 * (k >> 1) - c->centre_y, a, b;
                struct scene_at way;

                a = (u * cos(turn) + v * sin(turn)) / c->px_per_mm + c->distance * sin(off), b = (v * cos(turn) - u * sin(turn)) / c->px_per_mm;
                way = (struct scene_at){a, b, -depth};
                double l = sqrt(a * a + b * b + depth * depth);

                way.s /= l, way.t /= l, way.d /= l;
                scene_ray(c, eye, way, sum);
            }
            for (int k = 0; k < 3; k++)
                light[((size_t)y * (size_t)c->width + (size_t)x) * 3 + (size_t)k] = (float)(sum[k] / rays);
        }
    for (int axis = 0; axis < 2 && reach > 0; axis++)
        for (int j = 0; j < (axis ? c->width : c->height); j++) {
            int m = axis ? c->height : c->width;
            size_t stride = axis ? (size_t)c->width : 1, from = axis ? (size_t)j : (size_t)j * (size_t)c->width;

            for (int i = 0; i < m; i++)
                for (int k = 0; k < 3; k++) {
                    double sum = 0, weight = 0;

                    for (int r = -reach; r <= reach; r++)
                        if (i + r >= 0 && i + r < m) {
                            double w = exp(-0.5 * r * r / (c->blur_px * c->blur_px));

                            sum += w * (double)light[(from + (size_t)(i + r) * stride) * 3 + (size_t)k], weight += w;
                        }
                    line[3 * i + k] = (float)(sum / weight);
                }
            for (int i = 0; i < m; i++)
                memcpy(light + (from + (size_t)i * stride) * 3, line + 3 * i, 3 * sizeof *line);
        }
    for (size_t i = 0; i < n; i++) {
        for (int k = 0; k < 3; k++) {
            double v = (double)light[3 * i + (size_t)k];

            v += c->noise * scene_gauss(&state) * sqrt(fmax(v, 0) * 8 + 0.25);
            v = fmin(fmax(v, 0), 1);
            v = v <= 0.0031308 ? 12.92 * v : 1.055 * pow(v, 1 / 2.4) - 0.055;
            rgba[4 * i + (size_t)k] = (uint8_t)(v * 255 + 0.5);
        }
        rgba[4 * i + 3] = 255;
    }
    free(light), free(line);
    return rgba;
}

/* Smallest clearance, as a feeler finds it. */
static inline double scene_gap_mm(const struct scene *c)
{
    double lean = fabs(c->lean_deg) * SCENE_PI / 180;

    return (c->gap - (c->tip_r - c->corner) * tan(lean) + c->corner) * cos(lean) - c->corner;
}

#endif
