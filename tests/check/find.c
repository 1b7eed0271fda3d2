/* find.c - how often a plug found without lines is offered right, wrong or not at all: every picture of the truth set, with the thread
 * known as from an engine's card, and pictures that show no side view.
 *
 *     find
 *
 * Also five pictures of tests/photos/hard, each of which once got a wrong line: a shadow's edge beside the gap, soot the colour of the bench.
 * Right: both ends of the line within 0.1 mm of where the electrodes end, along the axis, and on the electrodes across it. Exit 1
 * when fewer than 60 of 100 are right, more than 3 wrong, one of the hard ones is wrong, or a picture without a side view gets an offer. */
#include <dirent.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/csv.h"
#include "base/err.h"
#include "base/files.h"
#include "base/text.h"
#include "cli/picture.h"
#include "gauge/gauge_find.h"

static double number(const struct csv *c, size_t row, const char *name)
{
    return strtod(csv_named(c, row, name), NULL);
}

static bool look(const char *path, double pitch_mm, struct gauge_find *out, struct err *e)
{
    struct photo_pixels pixels;
    struct photo_info info;
    double longest;
    bool fine;

    if (!cli_picture_load(path, &pixels, &info, e)) {
        fprintf(stderr, "find: %s\n", e->text);
        exit(1);
    }
    longest = pixels.width > pixels.height ? pixels.width : pixels.height;
    fine = gauge_find(&(struct gauge_picture){pixels.width, pixels.height, pixels.rgba}, pitch_mm, info.focal_as_35mm_mm / 36 * longest, NULL, out, e);
    photo_pixels_release(&pixels);
    return fine;
}

static bool is_right(const struct csv *c, size_t row, const struct gauge_find *f, double off[2])
{
    double axis = number(c, row, "axis_deg") * 0.017453292519943295, mm = number(c, row, "px_per_mm_gap");
    bool right = true;

    for (int k = 0; k < 2; k++) {
        double dx = f->across[k].x - number(c, row, k ? "gap_x2" : "gap_x1"), dy = f->across[k].y - number(c, row, k ? "gap_y2" : "gap_y1");

        off[k] = (dx * cos(axis) + dy * sin(axis)) / mm;
        right &= fabs(off[k]) <= 0.1 && fabs(dy * cos(axis) - dx * sin(axis)) / mm < 1;
    }
    return right;
}

struct counts {
    int n, right, wrong;
};

/* Every picture of a folder with its truth.csv. */
static void look_at_all(const char *folder, struct counts *out)
{
    struct csv c;
    struct err e = {0};
    char *data, path[320];
    size_t n_bytes;

    *out = (struct counts){0};
    text_format(path, sizeof path, "%s/truth.csv", folder);
    if (!files_read(path, 1 << 20, &data, &n_bytes, &e) || !csv_parse(data, n_bytes, ',', &c, &e)) {
        fprintf(stderr, "find: %s\n", e.text);
        exit(1);
    }
    for (size_t row = 1; row < c.n_rows; row++) {
        struct gauge_find f;
        double off[2];

        text_format(path, sizeof path, "%s/%s", folder, csv_named(&c, row, "file"));
        out->n++;
        if (!look(path, number(&c, row, "pitch_mm"), &f, &e)) {
            printf("%-8s none: %s\n", csv_named(&c, row, "file"), e.text);
        } else if (is_right(&c, row, &f, off)) {
            out->right++;
        } else {
            out->wrong++;
            printf("%-8s wrong: ends %+.2f and %+.2f mm off\n", csv_named(&c, row, "file"), off[0], off[1]);
        }
    }
    csv_release(&c);
    free(data);
}

int main(void)
{
    struct counts all, hard;
    int n_none = 0, offered = 0;
    struct err e = {0};
    char path[320];
    struct dirent *entry;
    DIR *folder;

    look_at_all("tests/photos", &all);
    look_at_all("tests/photos/hard", &hard);
    folder = opendir("samples/photos");
    while (folder != NULL && (entry = readdir(folder)) != NULL) {
        struct gauge_find f;
        size_t length = strlen(entry->d_name);

        /* end views, wells, a coil and a connector; extra-b is a side view too */
        if (length < 4 || strcmp(entry->d_name + length - 4, ".jpg") != 0 || strstr(entry->d_name, "-side") != NULL || strstr(entry->d_name, "extra-b") != NULL)
            continue;
        text_format(path, sizeof path, "samples/photos/%s", entry->d_name);
        n_none++;
        if (look(path, 0, &f, &e)) {
            offered++;
            printf("%s: a plug is offered where no side view is\n", path);
        }
    }
    if (folder != NULL)
        closedir(folder);
    printf("found without lines: %d side views, right %.1f %%, wrong %.1f %%, nothing offered %.1f %%; %d hard ones, right %d, wrong %d; %d pictures without a side view, %d offers\n",
           all.n, 100.0 * all.right / all.n, 100.0 * all.wrong / all.n, 100.0 * (all.n - all.right - all.wrong) / all.n, hard.n, hard.right, hard.wrong, n_none, offered);
    return all.right >= 0.6 * all.n && all.wrong <= 0.03 * all.n && hard.n > 4 && hard.wrong == 0 && n_none > 10 && offered == 0 ? 0 : 1;
}
