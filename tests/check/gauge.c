/* gauge.c - how well scale and gap are measured when lines are drawn roughly: every picture of the truth
 * set, its lines' ends jittered by ±8 px each way and the lines turned by ±4 degrees, many times over.
 *
 *     gauge SEEDS [FILE-PART]      a part of a file's name: that picture only, each reading shown
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

static double number(const struct csv *c, size_t row, const char *name)
{
    return strtod(csv_named(c, row, name), NULL);
}

static double spread(uint64_t *state, double most)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return ((double)(*state >> 11) / 9007199254740992.0 * 2 - 1) * most;
}

static void rough_line(const struct csv *c, size_t row, const char *name, uint64_t *state, struct gauge_point line[2])
{
    double turn = spread(state, 4 * 0.017453292519943295), mx, my;

    for (int i = 0; i < 2; i++) {
        char x[32], y[32];

        text_format(x, sizeof x, "%s_x%d", name, i + 1);
        text_format(y, sizeof y, "%s_y%d", name, i + 1);
        line[i].x = number(c, row, x) + spread(state, 8);
        line[i].y = number(c, row, y) + spread(state, 8);
    }
    mx = (line[0].x + line[1].x) / 2, my = (line[0].y + line[1].y) / 2;
    for (int i = 0; i < 2; i++) {
        double dx = line[i].x - mx, dy = line[i].y - my;

        line[i].x = mx + dx * cos(turn) - dy * sin(turn);
        line[i].y = my + dx * sin(turn) + dy * cos(turn);
    }
}

struct count {
    int n, pitch_read, pitch_right, pitch_wrong, gap_read, gap_right, covered;
    double worst_pitch, sum_gap, sum_uncertainty;
};

static void add(struct count *to, const struct count *c)
{
    to->n += c->n, to->pitch_read += c->pitch_read, to->pitch_right += c->pitch_right, to->pitch_wrong += c->pitch_wrong;
    to->gap_read += c->gap_read, to->gap_right += c->gap_right, to->covered += c->covered;
    to->worst_pitch = fmax(to->worst_pitch, c->worst_pitch);
    to->sum_gap += c->sum_gap, to->sum_uncertainty += c->sum_uncertainty;
}

static void show(const char *name, const struct count *c)
{
    int m = c->gap_read > 0 ? c->gap_read : 1;

    printf("%-8s %5d | read %5.1f  <=0.5%% %5.1f  >2%% %5.1f  worst %6.2f %% | read %5.1f  right %5.1f  covered %5.1f  mean off %6.3f  mean ± %.3f mm\n", name, c->n,
           100.0 * c->pitch_read / c->n, 100.0 * c->pitch_right / c->n, 100.0 * c->pitch_wrong / c->n, 100 * c->worst_pitch, 100.0 * c->gap_read / c->n,
           100.0 * c->gap_right / c->n, 100.0 * c->covered / m, c->sum_gap / m, c->sum_uncertainty / m);
}

static void measure(const struct csv *c, size_t row, const struct gauge_picture *p, double focal_px, int seeds, bool each, struct count *out)
{
    double true_gap = number(c, row, "gap_mm"), true_pitch = number(c, row, "pitch_px_outline");

    for (int seed = 0; seed < seeds; seed++) {
        uint64_t state = (uint64_t)seed * 1000003u + row * 7919u + 17u;
        struct gauge_point thread[2], across[2];
        struct gauge_thread scale;
        struct gauge_gap gap;
        struct err e = {0};
        double off;

        rough_line(c, row, "outline", &state, thread);
        rough_line(c, row, "gap", &state, across);
        out->n++;
        if (!gauge_thread_read(p, thread, number(c, row, "pitch_mm"), 0, focal_px, &scale, &e)) {
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
        out->sum_gap += gap.gap_mm - true_gap;
        out->sum_uncertainty += gap.uncertainty_mm;
        if (each)
            printf("  %d: pitch %.3f (%.2f %%) sd %.2f %% axis %.2f; gap %.3f (%+.3f) ± %.3f at %.1f,%.1f %.1f,%.1f\n", seed, scale.pitch_px, 100 * (scale.pitch_px / true_pitch - 1), 100 * scale.pitch_sd_px / true_pitch,
                   atan2(scale.uy, scale.ux) * 57.29578, gap.gap_mm, gap.gap_mm - true_gap, gap.uncertainty_mm, gap.across[0].x, gap.across[0].y, gap.across[1].x,
                   gap.across[1].y);
    }
}

int main(int argc, char **argv)
{
    int seeds = argc > 1 ? atoi(argv[1]) : 5;
    struct count sum = {0}, square = {0};
    struct csv c;
    struct err e = {0};
    char *data;
    size_t n_bytes;

    if (seeds < 1 || !files_read("tests/photos/truth.csv", 1 << 20, &data, &n_bytes, &e) || !csv_parse(data, n_bytes, ',', &c, &e)) {
        fprintf(stderr, "gauge: %s\n", seeds < 1 ? "how many seeds?" : e.text);
        return 1;
    }
    printf("picture      n | pitch, %%                                            | gap, %% of all (covered: of those read)\n");
    for (size_t row = 1; row < c.n_rows; row++) {
        const char *name = csv_named(&c, row, "file");
        struct photo_pixels pixels;
        struct photo_info info;
        struct count one = {0};
        char path[64];

        if (argc > 2 && strstr(name, argv[2]) == NULL)
            continue;
        text_format(path, sizeof path, "tests/photos/%s", name);
        if (!cli_picture_load(path, &pixels, &info, &e)) {
            fprintf(stderr, "gauge: %s\n", e.text);
            return 1;
        }
        measure(&c, row, &(struct gauge_picture){pixels.width, pixels.height, pixels.rgba}, info.focal_as_35mm_mm / 36 * pixels.width, seeds, argc > 2, &one);
        photo_pixels_release(&pixels);
        show(name, &one);
        add(&sum, &one);
        if (fabs(number(&c, row, "square_off_deg")) < 1.6)
            add(&square, &one);
    }
    show("all", &sum);
    show("square", &square);
    csv_release(&c);
    free(data);
    if (argc > 2)
        return 0;
    return sum.pitch_read >= 0.95 * sum.n && sum.pitch_right >= 0.8 * sum.n && sum.gap_read >= 0.89 * sum.n && sum.gap_right >= 0.53 * sum.n &&
           sum.covered >= 0.92 * sum.gap_read ? 0 : 1;
}
