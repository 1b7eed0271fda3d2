/* gauge.c - how well scale and gap are measured when lines are drawn roughly: every picture of the truth
 * set, its lines' ends jittered by ±8 px each way and the lines turned by ±4 degrees, many times over.
 *
 *     gauge SEEDS [FILE-PART]      a part of a file's name: that picture only, each reading shown
 *
 * Even and odd pictures are summed apart: what is fitted to one half must hold for the other. After them the same rendered as
 * large as a phone shows a plug ("large", half the seeds), and plugs by a second scene, painted here, with a fifth of the seeds, others of it that the reading was hardly fitted to ("later"),
 * and some as sharp as a phone shows one that fills its picture ("near").
 *
 * Prints a row for each picture and the sums ("square": camera within 1.6 degrees); exit 1 when the sums fall below the figures at the end of
 * main(), which are what is reached, not what is wished for. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/csv.h"
#include "base/err.h"
#include "base/files.h"
#include "base/text.h"
#include "cli/picture.h"
#include "gauge/gauge_gap.h"
#include "../gauge/plug_scene.h"

#define OTHERS 20 /* pictures of the second scene */
#define LATER_FROM 40 /* of it that were painted when the reading was made */
#define LATERS 30
#define NEAR_FROM 24 /* and those after as many that are painted from near */
#define NEARS 6
#define NEAR 2.6

static double number(const struct csv *c, size_t row, const char *name)
{
    return strtod(csv_named(c, row, name), NULL);
}

static double spread(uint64_t *state, double most)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return ((double)(*state >> 11) / 9007199254740992.0 * 2 - 1) * most;
}

/* What is known of a picture. */
struct truth {
    double gap_mm, pitch_mm, pitch_px, focal_px, off_deg;
    struct gauge_point outline[2], gap[2];
    uint64_t seed;
};

static void rough_line(const struct gauge_point from[2], uint64_t *state, struct gauge_point line[2])
{
    double turn = spread(state, 4 * 0.017453292519943295), mx, my;

    for (int i = 0; i < 2; i++) {
        line[i].x = from[i].x + spread(state, 8);
        line[i].y = from[i].y + spread(state, 8);
    }
    mx = (line[0].x + line[1].x) / 2, my = (line[0].y + line[1].y) / 2;
    for (int i = 0; i < 2; i++) {
        double dx = line[i].x - mx, dy = line[i].y - my;

        line[i].x = mx + dx * cos(turn) - dy * sin(turn);
        line[i].y = my + dx * sin(turn) + dy * cos(turn);
    }
}

struct count {
    int n, pitch_read, pitch_right, pitch_wrong, gap_read, gap_right, covered, angle_right;
    double worst_pitch, sum_gap, sum_uncertainty;
};

static void add(struct count *to, const struct count *c)
{
    to->n += c->n, to->pitch_read += c->pitch_read, to->pitch_right += c->pitch_right, to->pitch_wrong += c->pitch_wrong;
    to->gap_read += c->gap_read, to->gap_right += c->gap_right, to->covered += c->covered, to->angle_right += c->angle_right;
    to->worst_pitch = fmax(to->worst_pitch, c->worst_pitch);
    to->sum_gap += c->sum_gap, to->sum_uncertainty += c->sum_uncertainty;
}

static void show(const char *name, const struct count *c)
{
    int m = c->gap_read > 0 ? c->gap_read : 1;

    printf("%-8s %5d | read %5.1f  <=0.5%% %5.1f  >2%% %5.1f  worst %6.2f %% | read %5.1f  right %5.1f  covered %5.1f  mean off %6.3f  mean ± %.3f mm | angle <=1° %5.1f\n", name, c->n,
           100.0 * c->pitch_read / c->n, 100.0 * c->pitch_right / c->n, 100.0 * c->pitch_wrong / c->n, 100 * c->worst_pitch, 100.0 * c->gap_read / c->n,
           100.0 * c->gap_right / c->n, 100.0 * c->covered / m, c->sum_gap / m, c->sum_uncertainty / m, 100.0 * c->angle_right / m);
}

static void measure(const struct truth *t, const struct gauge_picture *p, int seeds, bool each, struct count *out)
{
    double true_gap = t->gap_mm, true_pitch = t->pitch_px;

    for (int seed = 0; seed < seeds; seed++) {
        uint64_t state = (uint64_t)seed * 1000003u + t->seed * 7919u + 17u;
        struct gauge_point thread[2], across[2];
        struct gauge_thread scale;
        struct gauge_gap gap;
        struct err e = {0};
        double off;

        rough_line(t->outline, &state, thread);
        rough_line(t->gap, &state, across);
        out->n++;
        if (!gauge_thread_read(p, thread, t->pitch_mm, 0, t->focal_px, &scale, &e)) {
            if (each)
                printf("  %d: %s\n", seed, e.text);
            continue;
        }
        off = fabs(scale.pitch_px / true_pitch - 1);
        out->pitch_read++;
        out->pitch_right += off <= 0.005;
        out->pitch_wrong += off > 0.02;
        out->worst_pitch = fmax(out->worst_pitch, off);
        if (!gauge_gap_read(p, across, &scale, &gap, &e)) {
            if (each)
                printf("  %d: pitch %.3f (%.2f %%) sd %.2f axis %.2f; %s\n", seed, scale.pitch_px, 100 * (scale.pitch_px / true_pitch - 1), 100 * scale.pitch_sd_px / true_pitch,
                       atan2(scale.uy, scale.ux) * 57.29578, e.text);
            continue;
        }
        off = fabs(gap.gap_mm - true_gap);
        out->gap_read++;
        out->gap_right += off <= fmax(0.03, 0.03 * true_gap);
        out->covered += off <= gap.uncertainty_mm;
        out->angle_right += fabs(gap.off_deg - fabs(t->off_deg)) <= 1;
        out->sum_gap += gap.gap_mm - true_gap;
        out->sum_uncertainty += gap.uncertainty_mm;
        if (each)
            printf("  %d: pitch %.3f (%.2f %%) sd %.2f %% axis %.2f; gap %.3f (%+.3f) ± %.3f at %.1f,%.1f %.1f,%.1f\n", seed, scale.pitch_px, 100 * (scale.pitch_px / true_pitch - 1), 100 * scale.pitch_sd_px / true_pitch,
                   atan2(scale.uy, scale.ux) * 57.29578, gap.gap_mm, gap.gap_mm - true_gap, gap.uncertainty_mm, gap.across[0].x, gap.across[0].y, gap.across[1].x,
                   gap.across[1].y);
    }
}

static struct truth truth_of(const struct csv *c, size_t row, double focal_px)
{
    struct truth t = {.gap_mm = number(c, row, "gap_mm"), .pitch_mm = number(c, row, "pitch_mm"), .pitch_px = number(c, row, "pitch_px_outline"), .focal_px = focal_px, .off_deg = number(c, row, "square_off_deg"), .seed = row};

    for (int i = 0; i < 4; i++) {
        struct gauge_point *to = i < 2 ? &t.outline[i] : &t.gap[i - 2];
        char x[32], y[32];

        text_format(x, sizeof x, "%s_x%d", i < 2 ? "outline" : "gap", i % 2 + 1);
        text_format(y, sizeof y, "%s_y%d", i < 2 ? "outline" : "gap", i % 2 + 1);
        *to = (struct gauge_point){number(c, row, x), number(c, row, y)};
    }
    return t;
}

static double between(uint64_t *state, double least, double most)
{
    return (least + most) / 2 + spread(state, (most - least) / 2);
}

/* A plug by the tests' own ray marcher: other shapes, lights and looks than the truth set's. Six in ten are taken within a degree
 * of square, the others within five. */
static struct scene other_scene(int k, double zoom)
{
    static const double threads[][2] = {{10, 1}, {12, 1.25}, {14, 1.25}, {14, 1.25}};
    uint64_t state = (uint64_t)k * 2654435761u + 5;
    const double *size = threads[k % 4];
    bool fine = between(&state, 0, 1) < 0.2;
    double dull = between(&state, 0.08, 0.7), bench = between(&state, 0.05, 0.7);
    struct scene s = {.seed = (uint32_t)k * 77u + 5, .major = size[0], .pitch = size[1], .strap_side = k % 2 ? 1 : -1, .width = (int)(620 * zoom), .height = (int)(620 * zoom)};

    s.gap = between(&state, 0.45, 1.6), s.tip_r = fine ? between(&state, 0.25, 0.4) : between(&state, 1, 1.35);
    s.strap_half = between(&state, 1, 1.45), s.strap_thick = between(&state, 1.1, 1.6), s.lean_deg = k % 5 == 4 ? between(&state, -3.5, 3.5) : 0;
    s.corner = fine ? 0.02 : between(&state, 0.01, 0.1), s.thread_to = between(&state, -4, -2.2), s.thread_from = s.thread_to - 13;
    for (int c = 0; c < 3; c++) {
        s.bench[c] = bench * between(&state, 0.8, 1.2);
        s.tip[c] = dull * (c == 2 ? 0.93 : 1), s.strap[c] = 0.8 * dull + 0.05, s.steel[c] = 0.45, s.nose[c] = 0.75;
        s.light[c] = c == 2 ? between(&state, 0.7, 1.6) : between(&state, -1, 1);
    }
    s.shine = between(&state, 0, 0.9), s.weave = between(&state, 0, 0.5), s.soot = k % 3 == 2 ? between(&state, 0.2, 0.6) : 0;
    s.ambient = between(&state, 0.25, 0.9), s.distance = between(&state, 150, 600), s.off_deg = k % 5 < 3 ? between(&state, -1, 1) : between(&state, -5, 5);
    s.px_per_mm = zoom * between(&state, 16, 21), s.turn_deg = 90 * (k % 4) + between(&state, -25, 25), s.blur_px = (zoom > 1 ? 1.5 : 1) * between(&state, 0.4, 1.2), s.noise = between(&state, 0.002, 0.012);
    s.centre_x = s.width / 2.0 + 7.5 * s.px_per_mm * cos(s.turn_deg * SCENE_PI / 180), s.centre_y = s.height / 2.0 + 7.5 * s.px_per_mm * sin(s.turn_deg * SCENE_PI / 180);
    return s;
}

static void measure_other(int k, double zoom, int seeds, struct count *out)
{
    struct scene s = other_scene(k, zoom);
    uint8_t *rgba = scene_paint(&s);
    double to = s.thread_to - 1.2 * s.pitch, from = to - floor((to - s.thread_from - s.pitch) / s.pitch) * s.pitch, depth = s.distance * cos(s.off_deg * SCENE_PI / 180);
    struct truth t = {.gap_mm = scene_gap_mm(&s), .pitch_mm = s.pitch, .pitch_px = s.pitch * s.px_per_mm, .focal_px = s.px_per_mm * depth, .off_deg = s.off_deg, .seed = (uint64_t)k};

    scene_shows(&s, from, s.major / 2, 0, &t.outline[0].x, &t.outline[0].y);
    scene_shows(&s, to, s.major / 2, 0, &t.outline[1].x, &t.outline[1].y);
    scene_shows(&s, 0, 0, 0, &t.gap[0].x, &t.gap[0].y);
    scene_shows(&s, s.gap, 0, 0, &t.gap[1].x, &t.gap[1].y);
    measure(&t, &(struct gauge_picture){s.width, s.height, rgba}, seeds, false, out);
    free(rgba);
}

/* Sums over a table of pictures; those of even and odd rows apart as well, and those taken within 1.6 degrees of square. */
struct sums {
    struct count all, square, half[2];
};

/* Every picture of the table in a folder, or those whose name has a part, whose readings are shown then. */
static bool measure_table(const char *folder, int seeds, const char *part, struct sums *to)
{
    char path[96], *data;
    struct csv c;
    struct err e = {0};
    size_t n_bytes;

    text_format(path, sizeof path, "%s/truth.csv", folder);
    if (!files_read(path, 1 << 20, &data, &n_bytes, &e) || !csv_parse(data, n_bytes, ',', &c, &e)) {
        fprintf(stderr, "gauge: %s\n", e.text);
        return false;
    }
    for (size_t row = 1; row < c.n_rows; row++) {
        const char *name = csv_named(&c, row, "file");
        struct photo_pixels pixels;
        struct photo_info info;
        struct count one = {0};
        struct truth t;

        if (part != NULL && strstr(name, part) == NULL)
            continue;
        text_format(path, sizeof path, "%s/%s", folder, name);
        if (!cli_picture_load(path, &pixels, &info, &e)) {
            fprintf(stderr, "gauge: %s\n", e.text);
            return false;
        }
        t = truth_of(&c, row, info.focal_as_35mm_mm / 36 * fmax(pixels.width, pixels.height));
        measure(&t, &(struct gauge_picture){pixels.width, pixels.height, pixels.rgba}, seeds, part != NULL, &one);
        photo_pixels_release(&pixels);
        show(name, &one);
        add(&to->all, &one), add(&to->half[row % 2], &one);
        if (fabs(number(&c, row, "square_off_deg")) < 1.6)
            add(&to->square, &one);
    }
    csv_release(&c);
    free(data);
    return true;
}

static bool pitch_reaches(const struct count *c, double read, double right)
{
    return c->pitch_read >= read * c->n && c->pitch_right >= right * c->n;
}

static bool gap_reaches(const struct count *c, double read, double right, double covered, double angle)
{
    return c->gap_read >= read * c->n && c->gap_right >= right * c->n && c->covered >= covered * c->gap_read && c->angle_right >= angle * c->gap_read;
}

int main(int argc, char **argv)
{
    int seeds = argc > 1 ? atoi(argv[1]) : 5;
    struct sums own = {0}, large = {0};
    struct count other = {0}, later = {0}, near = {0};

    if (seeds < 1) {
        fprintf(stderr, "gauge: how many seeds?\n");
        return 1;
    }
    printf("picture      n | pitch, %%                                            | gap, %% of all (covered, angle: of those read)\n");
    if (!measure_table("tests/photos", seeds, argc > 2 ? argv[2] : NULL, &own) || !measure_table("tests/photos/large", (seeds + 1) / 2, argc > 2 ? argv[2] : NULL, &large))
        return 1;
    if (argc > 2)
        return 0;
    show("all", &own.all), show("square", &own.square);
    show("even", &own.half[0]), show("odd", &own.half[1]);
    show("large", &large.all), show("square", &large.square);
    for (int k = 0; k < OTHERS; k++)
        measure_other(k, 1, (seeds + 4) / 5, &other);
    show("another", &other);
    for (int k = LATER_FROM; k < LATER_FROM + LATERS; k++)
        measure_other(k, 1, (seeds + 4) / 5, &later);
    show("later", &later);
    for (int k = NEAR_FROM; k < NEAR_FROM + NEARS; k++)
        measure_other(k, NEAR, (seeds + 4) / 5, &near);
    show("near", &near);
    return pitch_reaches(&own.all, 0.95, 0.94) && pitch_reaches(&own.square, 0.95, 0.94) && gap_reaches(&own.all, 0.95, 0.8, 0.93, 0.9) &&
                   gap_reaches(&own.half[0], 0.9, 0.68, 0.9, 0.85) && gap_reaches(&own.half[1], 0.9, 0.68, 0.9, 0.85) && pitch_reaches(&large.all, 0.95, 0.95) &&
                   gap_reaches(&large.all, 0.95, 0.92, 0.95, 0.95) && gap_reaches(&other, 0.85, 0.65, 0.9, 0.8) && gap_reaches(&later, 0.8, 0.6, 0.85, 0.8) && gap_reaches(&near, 0.95, 0.7, 0.9, 0.4)
               ? 0
               : 1;
}
