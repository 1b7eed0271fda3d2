/* A photo's marks drawn into a copy at full size, with the SVG and JSON beside it: process for process against
 * ImageMagick's `convert IN -auto-orient OUT`, which turns and writes the same picture without marks (aim: a ratio
 * below 1). Photos of 12 and 48 megapixels, as JPEG that is to be turned a quarter and as PNG; a sample photo enlarged,
 * with grain, by ImageMagick. Medians of pairs run in turn. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/clock.h"
#include "base/err.h"
#include "base/files.h"
#include "base/text.h"
#include "photo/photo.h"
#include "report/report_marks.h"

enum { PAIRS = 7, MARKS = 12 };

/* A line, an outline and a label wherever they fall: as many as a busy photo has. */
static void make_marks(struct report_mark *marks, int width, int height)
{
    static const enum mark_kind kinds[] = {MARK_RULER, MARK_ARROW, MARK_BOX, MARK_ELLIPSE};

    for (int i = 0; i < MARKS; i++) {
        struct logbook_mark *m = &marks[i].mark;

        memset(&marks[i], 0, sizeof marks[i]);
        logbook_mark_init(m, "", kinds[i % 4]);
        m->n_points = 2;
        m->x[0] = width * (0.1 + 0.06 * i);
        m->y[0] = height * (0.2 + 0.05 * (i % 5));
        m->x[1] = m->x[0] + width * 0.12;
        m->y[1] = m->y[0] + height * 0.15;
        text_format(marks[i].words, sizeof marks[i].words, "mark %d, 1.%02d mm", i + 1, i);
    }
}

static int export(const char *in, const char *folder)
{
    struct report_mark marks[MARKS];
    struct logbook_photo photo = {0};
    struct photo_pixels px = {0};
    struct photo_info info;
    struct err e = {0};
    char path[1400], *data = NULL;
    size_t n_bytes;
    bool fine = files_read(in, PHOTO_MAX_FILE_BYTES, &data, &n_bytes, &e) && photo_decode((const uint8_t *)data, n_bytes, 0, NULL, &px, &info, &e);

    free(data);
    if (fine) {
        text_copy(photo.name, sizeof photo.name, files_name(in));
        text_copy(photo.format, sizeof photo.format, files_extension(in));
        make_marks(marks, px.width, px.height);
        fine = report_marks_write(folder, &photo, &px, marks, MARKS, path, sizeof path, &e);
    }
    photo_pixels_release(&px);
    if (!fine)
        fprintf(stderr, "%s\n", e.text);
    return fine ? 0 : 1;
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

static double run_s(const char *command)
{
    double from = clock_monotonic_s();

    return system(command) == 0 ? clock_monotonic_s() - from : NAN;
}

static void compare(const char *self, const char *folder, const char *name)
{
    char ours[400], theirs[400];
    double a[PAIRS], b[PAIRS], ratio[PAIRS];

    text_format(ours, sizeof ours, "'%s' export '%s/%s' '%s/out'", self, folder, name, folder);
    text_format(theirs, sizeof theirs, "convert '%s/%s' -auto-orient '%s/theirs-%s'", folder, name, folder, name);
    for (int i = -1; i < PAIRS; i++) { /* one to warm up */
        double x = run_s(ours), y = run_s(theirs);

        if (i >= 0) {
            a[i] = x;
            b[i] = y;
            ratio[i] = x / y;
        }
    }
    qsort(a, PAIRS, sizeof a[0], ascending);
    qsort(b, PAIRS, sizeof b[0], ascending);
    qsort(ratio, PAIRS, sizeof ratio[0], ascending);
    printf("%s with %d marks: %.0f ms, convert -auto-orient %.0f ms, ratio %.2f (%.2f to %.2f)\n", name, MARKS, a[PAIRS / 2] * 1e3, b[PAIRS / 2] * 1e3, ratio[PAIRS / 2], ratio[0],
           ratio[PAIRS - 1]);
    fflush(stdout);
}

int main(int argc, char **argv)
{
    char folder[] = "/tmp/sootbook-marks-XXXXXX", command[600];
    int status;

    if (argc == 4 && strcmp(argv[1], "export") == 0)
        return export(argv[2], argv[3]);
    if (mkdtemp(folder) == NULL)
        return 1;
    text_format(command, sizeof command,
                "cd '%s' && convert \"$OLDPWD/samples/photos/six-1-end.jpg\" -resize '4000x3000!' -attenuate 0.3 +noise Gaussian -quality 92 -sampling-factor 2x2 12-MP.jpg && "
                "convert 12-MP.jpg 12-MP.png && vips replicate 12-MP.jpg '48-MP.jpg[Q=89]' 2 2 && exiftool -q -n -overwrite_original -Orientation=6 12-MP.jpg 48-MP.jpg",
                folder);
    status = system(command);
    if (status != 0) {
        fprintf(stderr, "The photos could not be made; are imagemagick, libvips-tools and exiftool installed?\n");
    } else {
        compare(argv[0], folder, "12-MP.jpg");
        compare(argv[0], folder, "48-MP.jpg");
        compare(argv[0], folder, "12-MP.png");
    }
    text_format(command, sizeof command, "rm -rf '%s'", folder);
    return system(command) != 0 || status != 0;
}
