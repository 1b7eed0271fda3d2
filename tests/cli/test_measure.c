/* sootbook gap on rendered plugs of known gap, and on pictures it must refuse. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../help/help.h"
#include "base/err.h"
#include "base/text.h"
#include "cli/cli.h"
#include "cli/picture.h"
#include "gauge/gauge_gap.h"

#define PHOTOS "tests/photos"

static double number(const struct csv *c, size_t row, const char *name)
{
    return strtod(csv_named(c, row, name), NULL);
}

static void line_of(const struct csv *c, size_t row, const char *name, struct gauge_point line[2])
{
    for (int i = 0; i < 2; i++) {
        char x[32], y[32];

        text_format(x, sizeof x, "%s_x%d", name, i + 1);
        text_format(y, sizeof y, "%s_y%d", name, i + 1);
        line[i] = (struct gauge_point){number(c, row, x), number(c, row, y)};
    }
}

struct measured {
    bool thread_read, gap_read;
    struct gauge_thread scale;
    struct gauge_gap gap;
};
/* One picture, lines drawn where they should be. What is refused is refused as something that can't be measured. Each is read once: the tests
 * look at what some of them have in common. */
static struct measured measure(const char *where, const struct csv *c, size_t row)
{
    enum { MOST = 80 };
    static struct {
        char path[64];
        struct measured m;
    } read[MOST];
    static size_t n_read;
    struct measured m = {0};
    struct gauge_point thread[2], across[2];
    struct photo_pixels pixels;
    struct photo_info info;
    struct gauge_picture p;
    struct err e = {0};
    char path[64];

    text_format(path, sizeof path, "%s/%s", where, csv_named(c, row, "file"));
    for (size_t k = 0; k < n_read; k++)
        if (strcmp(read[k].path, path) == 0)
            return read[k].m;
    if (!cli_picture_load(path, &pixels, &info, &e))
        fail_msg("%s", e.text);
    line_of(c, row, "outline", thread);
    line_of(c, row, "gap", across);
    p = (struct gauge_picture){pixels.width, pixels.height, pixels.rgba};
    m.thread_read = gauge_thread_read(&p, thread, number(c, row, "pitch_mm"), 0, info.focal_as_35mm_mm / 36 * fmax(pixels.width, pixels.height), &m.scale, &e);
    m.gap_read = m.thread_read && gauge_gap_read(&p, across, &m.scale, &m.gap, &e);
    if (e.code != ERR_NONE)
        assert_int_equal(e.code, ERR_MEASURE);
    photo_pixels_release(&pixels);
    assert_true(n_read < MOST);
    text_copy(read[n_read].path, sizeof read[n_read].path, path);
    read[n_read++].m = m;
    return m;
}

/* Every third picture of the truth set, lines drawn where they should be: nothing far off may come without
 * its ± saying so, and most pictures must give a figure. */
static void gaps_of_rendered_plugs_are_found(void **state)
{
    struct csv c = load_table(PHOTOS "/truth.csv");
    int n = 0, n_read = 0, n_right = 0, n_pitch = 0;

    (void)state;
    for (size_t i = 1; i < c.n_rows; i += 3, n++) {
        struct measured m = measure(PHOTOS, &c, i);

        n_pitch += m.thread_read && fabs(m.scale.pitch_px / number(&c, i, "pitch_px_outline") - 1) < 0.01;
        n_read += m.gap_read;
        n_right += m.gap_read && fabs(m.gap.gap_mm - number(&c, i, "gap_mm")) < m.gap.uncertainty_mm;
        if (m.gap_read) /* a quarter of a mm, and more only where rims could be there unseen */
            assert_true(m.gap.uncertainty_mm <= 0.6);
    }
    print_message("%d pictures: pitch within 1 %% in %d, gap read in %d, truth within its ± in %d\n", n, n_pitch, n_read, n_right);
    assert_true(n_pitch * 10 >= n * 5);
    assert_true(n_read * 10 >= n * 7);
    assert_true(n_right * 10 >= n_read * 8);
    csv_release(&c);
}

struct askew {
    const char *file;
    double most; /* off, relative */
};

#define AXIS_DEG 1.5

static void askew_lines_tell_the_scale(const char *from, const struct askew *rows, size_t n_rows, double by_deg)
{
    const double turns[] = {-by_deg, 0, by_deg};
    struct csv c;
    char table[64];

    text_format(table, sizeof table, "%s/truth.csv", from);
    c = load_table(table);
    for (size_t k = 0; k < n_rows; k++) {
        struct photo_pixels pixels;
        struct photo_info info;
        struct err e = {0};
        char path[64];
        size_t row = 1;

        while (strncmp(csv_named(&c, row, "file"), rows[k].file, 3) != 0)
            row++;
        text_format(path, sizeof path, "%s/%s.jpg", from, rows[k].file);
        if (!cli_picture_load(path, &pixels, &info, &e))
            fail_msg("%s", e.text);
        for (size_t m = 0; m < sizeof turns / sizeof *turns; m++) {
            struct gauge_picture p = {pixels.width, pixels.height, pixels.rgba};
            double a = turns[m] * 0.017453292519943295, x, y, off, askew;
            struct gauge_point line[2];
            struct gauge_thread scale;

            line_of(&c, row, "outline", line);
            x = (line[1].x - line[0].x) / 2, y = (line[1].y - line[0].y) / 2;
            line[0] = (struct gauge_point){line[0].x + x - x * cos(a) + y * sin(a), line[0].y + y - x * sin(a) - y * cos(a)};
            line[1] = (struct gauge_point){line[0].x + 2 * (x * cos(a) - y * sin(a)), line[0].y + 2 * (x * sin(a) + y * cos(a))};
            if (!gauge_thread_read(&p, line, number(&c, row, "pitch_mm"), 0, info.focal_as_35mm_mm / 36 * fmax(pixels.width, pixels.height), &scale, &e))
                fail_msg("%s, %g degrees: %s", rows[k].file, turns[m], e.text);
            off = scale.px_per_mm * scale.pitch_mm / number(&c, row, "pitch_px_outline") - 1;
            askew = remainder(atan2(scale.uy, scale.ux) / 0.017453292519943295 - number(&c, row, "axis_deg"), 360);
            print_message("%s, %+g degrees: %+.2f %%, M%g, axis %+.1f degrees off\n", rows[k].file, turns[m], 100 * off, scale.major_mm, askew);
            assert_true(fabs(off) <= rows[k].most && fabs(askew) <= AXIS_DEG);
            assert_true(fabs(scale.major_mm - number(&c, row, "major_mm")) < 0.1);
        }
        photo_pixels_release(&pixels);
    }
    csv_release(&c);
}

/* A camera 150 mm away sees the middle of an M14 a twentieth larger than its outlines, and four turns tell a period to some hundredths at
 * first sight. The body's width came from that period once, and was too large: on p25, whose far outline oil hides, an M12's fitted as
 * well, on p15 the axis went astray. The period of the outline, from lines drawn askew. */
static void near_plugs_and_short_threads_tell_the_scale(void **state)
{
    static const struct askew rows[] = {{"p01", 0.004}, {"p09", 0.004}, {"p17", 0.004}, {"p33", 0.004}, {"p25", 0.005}, {"p15", 0.005}};

    (void)state;
    askew_lines_tell_the_scale(PHOTOS, rows, sizeof rows / sizeof *rows, 3);
}

/* Outlines as dark as their bench left the axis where the line was drawn, by grain that is steepest along rows which are not turned. Turns of a right-hand
 * thread about such an axis were then taken for a mirrored one's, which put it four degrees off. */
static void faint_outlines_leave_the_axis_told(void **state)
{
    static const struct askew rows[] = {{"p07", 0.005}, {"p13", 0.005}, {"p24", 0.005}, {"p29", 0.005}};

    (void)state;
    askew_lines_tell_the_scale(PHOTOS, rows, sizeof rows / sizeof *rows, 3);
}

/* Over four turns of an M18, 8 px at either end and four degrees make eight: so little repeats along its rows then that a body was found half on the bench beside
 * it, and an edge of the grey card taken for its outline, with a scale 2 per cent off. */
static void a_line_far_askew_tells_the_scale(void **state)
{
    static const struct askew rows[] = {{"p15", 0.005}};

    (void)state;
    askew_lines_tell_the_scale(PHOTOS, rows, sizeof rows / sizeof *rows, 5.5);
}

/* A period that is a tenth off at first has the outlines looked for a tenth nearer to each other, where an axis two degrees off was found and kept though the
 * period came right. */
static void a_period_told_better_has_the_axis_looked_for_again(void **state)
{
    static const struct askew rows[] = {{"p31", 0.0075}};

    (void)state;
    askew_lines_tell_the_scale(PHOTOS "/large", rows, sizeof rows / sizeof *rows, 2);
}

/* Four turns of an M18 that fills its picture: its far outline lies farther from the line than was looked, on a bench as dotted as it has
 * turns, and two lines of three were refused. */
static void a_plug_that_fills_its_picture_tells_the_scale(void **state)
{
    static const struct askew rows[] = {{"p23", 0.005}};

    (void)state;
    askew_lines_tell_the_scale(PHOTOS "/large", rows, sizeof rows / sizeof *rows, 3);
}

/* A side electrode that leans, its near side faint against the bench: how it runs was not believed, and the gap told 0.085 mm too wide. Its
 * far side tells it as well, which leaves less than 0.06. */
static void a_lean_is_told_by_both_sides(void **state)
{
    struct csv c = load_table(PHOTOS "/truth.csv");
    size_t row = 1;
    struct measured m;

    (void)state;
    while (strcmp(csv_named(&c, row, "file"), "p07.jpg") != 0)
        row++;
    m = measure(PHOTOS, &c, row);
    assert_true(m.gap_read);
    print_message("%.3f ± %.3f of %s mm\n", m.gap.gap_mm, m.gap.uncertainty_mm, csv_named(&c, row, "gap_mm"));
    assert_true(fabs(m.gap.gap_mm - number(&c, row, "gap_mm")) <= 0.06);
    csv_release(&c);
}

/* A centre electrode in patches, the middle of its end of the bench's colour, black at both sides: from a line drawn some px too long, an edge of
 * soot was taken for the end once, 0.3 mm behind it. */
static void an_end_that_shows_at_its_sides_only_is_found(void **state)
{
    struct csv c = load_table(PHOTOS "/truth.csv");
    struct photo_pixels pixels;
    struct photo_info info;
    struct gauge_picture p;
    struct gauge_thread scale;
    struct err e = {0};
    size_t row = 1;

    (void)state;
    while (strcmp(csv_named(&c, row, "file"), "p22.jpg") != 0)
        row++;
    if (!cli_picture_load(PHOTOS "/p22.jpg", &pixels, &info, &e))
        fail_msg("%s", e.text);
    p = (struct gauge_picture){pixels.width, pixels.height, pixels.rgba};
    {
        struct gauge_point thread[2];

        line_of(&c, row, "outline", thread);
        if (!gauge_thread_read(&p, thread, number(&c, row, "pitch_mm"), 0, info.focal_as_35mm_mm / 36 * fmax(pixels.width, pixels.height), &scale, &e))
            fail_msg("%s", e.text);
    }
    for (int off = -6; off <= 0; off += 3) {
        struct gauge_point across[2];
        struct gauge_gap gap;

        line_of(&c, row, "gap", across);
        across[0].x += off * scale.ux, across[0].y += off * scale.uy;
        across[1].x -= off * scale.ux, across[1].y -= off * scale.uy;
        if (!gauge_gap_read(&p, across, &scale, &gap, &e))
            fail_msg("%s", e.text);
        print_message("line %+d px: %.3f ± %.3f mm\n", off, gap.gap_mm, gap.uncertainty_mm);
        assert_true(fabs(gap.gap_mm - number(&c, row, "gap_mm")) <= 0.05);
    }
    photo_pixels_release(&pixels);
    csv_release(&c);
}

/* A side view with the lines a person would draw on it, as the scene tells them (samples/scene, lines in samples/photos/marks.csv). */
struct side_view {
    const char *file;
    struct gauge_point thread[2], across[2];
    double gap_mm;
};

static struct gauge_gap read_side(const char *from, const struct side_view *v)
{
    struct photo_pixels pixels;
    struct photo_info info;
    struct gauge_thread scale;
    struct gauge_gap gap;
    struct err e = {0};
    char path[100];

    text_format(path, sizeof path, "%s/%s", from, v->file);
    if (!cli_picture_load(path, &pixels, &info, &e))
        fail_msg("%s", e.text);
    {
        struct gauge_picture p = {pixels.width, pixels.height, pixels.rgba};

        if (!gauge_thread_read(&p, v->thread, 1.25, 14, info.focal_as_35mm_mm / 36 * fmax(pixels.width, pixels.height), &scale, &e) ||
            !gauge_gap_read(&p, v->across, &scale, &gap, &e))
            fail_msg("%s: %s", v->file, e.text);
    }
    photo_pixels_release(&pixels);
    print_message("%s: %.3f ± %.3f of %.2f\n", v->file, gap.gap_mm, gap.uncertainty_mm, v->gap_mm);
    return gap;
}

/* Corners rounded by two tenths on a bench as dark as their rims: read 0.15 to 0.28 mm too wide and told to 0.06 mm once. */
static void rims_that_look_like_the_bench_are_doubted(void **state)
{
    static const struct side_view rows[] = {{"rounded-v8-2.jpg", {{708.3, 320.5}, {1017.1, 304.0}}, {{1138.1, 471.2}, {1165.1, 469.7}}, 1.09},
                                            {"rounded-v8-3.jpg", {{765.9, 305.3}, {1072.2, 348.1}}, {{1159.1, 535.2}, {1191.5, 539.8}}, 1.32},
                                            {"rounded-v8-6.jpg", {{698.2, 324.5}, {1006.2, 297.2}}, {{1133.0, 460.0}, {1160.2, 457.6}}, 1.10}};

    (void)state;
    for (size_t k = 0; k < sizeof rows / sizeof *rows; k++) {
        struct gauge_gap gap = read_side(PHOTOS "/hard", &rows[k]);

        assert_true(fabs(gap.gap_mm - rows[k].gap_mm) <= gap.uncertainty_mm);
    }
}

/* What the sample logbook shows is true: its photos tell the gaps its feeler gauge told, the worn one (3) within its ±. */
static void the_sample_s_side_views_tell_its_gaps(void **state)
{
    static const struct side_view rows[] = {{"v8-2-side.jpg", {{708.3, 320.5}, {1017.1, 304.0}}, {{1138.1, 471.2}, {1165.1, 469.7}}, 1.09},
                                            {"v8-3-side.jpg", {{765.9, 305.3}, {1072.2, 348.1}}, {{1159.1, 535.2}, {1191.5, 539.8}}, 1.32},
                                            {"v8-6-side.jpg", {{698.2, 324.5}, {1006.2, 297.2}}, {{1133.0, 460.0}, {1160.2, 457.6}}, 1.10},
                                            {"v8-8-side.jpg", {{739.4, 310.9}, {1048.2, 326.7}}, {{1151.1, 505.6}, {1177.6, 507.0}}, 1.07}};

    (void)state;
    for (size_t k = 0; k < sizeof rows / sizeof *rows; k++) {
        struct gauge_gap gap = read_side("samples/photos", &rows[k]);

        assert_true(fabs(gap.gap_mm - rows[k].gap_mm) <= (k == 1 ? gap.uncertainty_mm : fmax(0.03, 0.03 * rows[k].gap_mm)));
        assert_true(gap.uncertainty_mm <= 0.2); /* of 8 the rims may be as wide as its bench is dark */
    }
}

/* Somebody cuts the plug out and the editor keeps the EXIF: the focal length is then that of a picture twice as wide, and tells a camera half as
 * far away. Read so, the scale was 0.7 to 3 % too small and five of these six gaps lay outside their ±. */
static void pictures_cut_out_about_the_plug_are_not_taken_from_nearer(void **state)
{
    static const char *const files[] = {"p02.jpg", "p03.jpg", "p04.jpg", "p07.jpg", "p09.jpg", "p12.jpg"};
    struct csv c = load_table(PHOTOS "/truth.csv");

    (void)state;
    for (size_t k = 0; k < sizeof files / sizeof *files; k++) {
        struct photo_pixels pixels;
        struct photo_info info;
        struct gauge_point at[6]; /* both outlines and the gap */
        struct gauge_thread scale;
        struct gauge_gap gap;
        struct err e = {0};
        double x0 = 1e9, y0 = 1e9, x1 = 0, y1 = 0;
        int left, top, width, height;
        uint8_t *cut;
        char path[64];
        size_t row = 1;

        while (strcmp(csv_named(&c, row, "file"), files[k]) != 0)
            row++;
        text_format(path, sizeof path, PHOTOS "/%s", files[k]);
        if (!cli_picture_load(path, &pixels, &info, &e))
            fail_msg("%s", e.text);
        line_of(&c, row, "outline", at), line_of(&c, row, "outline2", at + 2), line_of(&c, row, "gap", at + 4);
        for (int i = 0; i < 6; i++)
            x0 = fmin(x0, at[i].x), x1 = fmax(x1, at[i].x), y0 = fmin(y0, at[i].y), y1 = fmax(y1, at[i].y);
        left = (int)fmax(0, x0 - 90), top = (int)fmax(0, y0 - 90);
        width = (int)fmin(pixels.width, x1 + 90) - left, height = (int)fmin(pixels.height, y1 + 90) - top;
        cut = malloc((size_t)width * (size_t)height * 4);
        assert_non_null(cut);
        for (int y = 0; y < height; y++)
            memcpy(cut + (size_t)y * (size_t)width * 4, pixels.rgba + ((size_t)(top + y) * (size_t)pixels.width + (size_t)left) * 4, (size_t)width * 4);
        for (int i = 0; i < 6; i++)
            at[i].x -= left, at[i].y -= top;
        {
            struct gauge_picture p = {width, height, cut};

            if (!gauge_thread_read(&p, at, number(&c, row, "pitch_mm"), number(&c, row, "major_mm"), info.focal_as_35mm_mm / 36 * fmax(width, height), &scale, &e) ||
                !gauge_gap_read(&p, at + 4, &scale, &gap, &e))
                fail_msg("%s: %s", files[k], e.text);
        }
        print_message("%s cut to %d x %d: scale %+.2f %%, %.3f ± %.3f of %.3f\n", files[k], width, height, 100 * (scale.px_per_mm / number(&c, row, "px_per_mm_gap") - 1), gap.gap_mm,
                      gap.uncertainty_mm, number(&c, row, "gap_mm"));
        assert_true(fabs(scale.px_per_mm / number(&c, row, "px_per_mm_gap") - 1) < 0.006);
        assert_true(fabs(gap.gap_mm - number(&c, row, "gap_mm")) <= gap.uncertainty_mm);
        free(cut);
        photo_pixels_release(&pixels);
    }
    csv_release(&c);
}

/* As large as a phone shows a plug that fills its picture. On p07 half the period was found: oil shines on crest and root alike, which a
 * small picture blurs together. */
static void large_pictures_are_read_as_well(void **state)
{
    struct csv c = load_table(PHOTOS "/large/truth.csv");
    int n = 0, n_right = 0;

    (void)state;
    for (size_t i = 1; i < c.n_rows; i += 4, n++) {
        struct measured m = measure(PHOTOS "/large", &c, i);
        double pitch = number(&c, i, "pitch_px_outline"), gap = number(&c, i, "gap_mm");

        assert_true(m.thread_read && m.gap_read);
        print_message("%s: pitch %.3f of %.3f px, gap %.3f ± %.3f of %.3f mm\n", csv_named(&c, i, "file"), m.scale.pitch_px, pitch, m.gap.gap_mm, m.gap.uncertainty_mm, gap);
        assert_true(fabs(m.scale.pitch_px / pitch - 1) < 0.007);
        n_right += fabs(m.gap.gap_mm - gap) <= m.gap.uncertainty_mm;
    }
    assert_true(n >= 6 && n_right * 8 >= n * 6);
    csv_release(&c);
}

/* A round tip two degrees off square: between the bench and its bright side lies its face, which is narrower towards the sides, 13 grey
 * levels darker than a bench as smooth as one. It was taken for bench, and the gap read 0.07 mm too wide to ± 0.06. */
static void a_dark_face_before_a_bright_tip_is_seen(void **state)
{
    static const char *const files[] = {"p10.jpg", "p18.jpg"};
    struct csv c = load_table(PHOTOS "/large/truth.csv");

    (void)state;
    for (size_t k = 0; k < sizeof files / sizeof *files; k++) {
        size_t row = 1;
        struct measured m;
        double gap;

        while (strcmp(csv_named(&c, row, "file"), files[k]) != 0)
            row++;
        m = measure(PHOTOS "/large", &c, row), gap = number(&c, row, "gap_mm");
        assert_true(m.gap_read);
        print_message("%s: %.3f ± %.3f of %.3f mm\n", files[k], m.gap.gap_mm, m.gap.uncertainty_mm, gap);
        assert_true(fabs(m.gap.gap_mm - gap) <= 0.03 * gap);
    }
    csv_release(&c);
}

/* Worn tips: their rounding lies in the shade, on a dark bench as dark as that, and no picture tells how wide it is. On p18 the gap
 * was 0.09 mm off and said to be good to 0.087. */
static void the_doubt_of_worn_edges_is_owned(void **state)
{
    struct csv c = load_table(PHOTOS "/truth.csv");
    int n = 0;

    (void)state;
    for (size_t i = 1; i < c.n_rows; i++) {
        struct measured m;

        if (strcmp(csv_named(&c, i, "electrode"), "rounded") != 0)
            continue;
        m = measure(PHOTOS, &c, i);
        if (!m.gap_read)
            continue;
        n++;
        print_message("%s: %.3f ± %.3f of %.3f\n", csv_named(&c, i, "file"), m.gap.gap_mm, m.gap.uncertainty_mm, number(&c, i, "gap_mm"));
        assert_true(fabs(m.gap.gap_mm - number(&c, i, "gap_mm")) <= m.gap.uncertainty_mm);
    }
    csv_release(&c);
    assert_true(n >= 7);
}

static void where_nothing_repeats_there_is_no_scale(void **state)
{
    enum { W = 320, H = 240 };
    uint8_t *rgba = malloc((size_t)W * H * 4);
    struct gauge_picture p = {W, H, rgba};
    struct gauge_thread scale;
    struct err e = {0};
    uint32_t seed = 12345;

    (void)state;
    for (int i = 0; i < W * H; i++) {
        seed = seed * 1664525u + 1013904223u;
        memset(rgba + 4 * i, (int)(100 + (seed >> 24) / 6), 4);
    }
    assert_false(gauge_thread_read(&p, (struct gauge_point[2]){{40, 120}, {280, 124}}, 1.25, 0, 0, &scale, &e));
    assert_int_equal(e.code, ERR_MEASURE);
    assert_false(gauge_thread_read(&p, (struct gauge_point[2]){{40, 120}, {50, 120}}, 1.25, 0, 0, &scale, &e));
    assert_int_equal(e.code, ERR_BADARG);
    free(rgba);
}

/* Coordinates with points or with decimal commas, as long as they can be read in one way. */
static void lists_of_numbers_as_people_type_them(void **state)
{
    static const struct cli_list line = {4, 4, 1, false}, patch = {4, 5, 1, true}, area = {6, 12, 2, false};
    static const struct {
        const char *typed;
        const struct cli_list *list;
        int n;
        double first, last;
    } rows[] = {
        {"1,2,3,4", &line, 4, 1, 4}, {"1.5,2,3,4.5", &line, 4, 1.5, 4.5}, {" 1, 2, 3, 4 ", &line, 4, 1, 4}, {"1;2;3;4", &line, 4, 1, 4}, {"1 2 3 4", &line, 4, 1, 4},
        {"1,5 2 3,5 4", &line, 4, 1.5, 4}, {"1,5;2;3,5;4", &line, 4, 1.5, 4}, {"1,5; 2; 3,5; 4,25", &line, 4, 1.5, 4.25}, {"1,5,2,0,3,5,4,0", &line, 4, 1.5, 4.0},
        {"1,2,3", &line, -1, 0, 0}, {"1,2,3,4,5", &line, -1, 0, 0}, {"1,5,2,3,4", &line, -1, 0, 0}, {"1,2,3,", &line, -1, 0, 0}, {"1,2,,4", &line, -1, 0, 0}, {"1,2,3,x", &line, -1, 0, 0}, {"", &line, -1, 0, 0},
        {"10,20,30,40", &patch, 4, 10, 40}, {"10,20,30,40,0.9", &patch, 5, 10, 0.9}, {"10,20,30,40,0,9", &patch, 5, 10, 0.9}, {"10 20 30 40 0,18", &patch, 5, 10, 0.18}, {"10;20;30;40;0,18", &patch, 5, 10, 0.18},
        {"10,20,30,40,5,9", &patch, -1, 0, 0},
        {"1,2;3,4;5,6", &area, 6, 1, 6}, {"1,2; 3,4; 5,6", &area, 6, 1, 6}, {"1,5 2;3,5 4;5 6,5", &area, 6, 1.5, 6.5}, {"1,2;3,4", &area, -1, 0, 0},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double out[12];
        int n = cli_numbers(rows[i].typed, rows[i].list, out);

        if (n != rows[i].n || (n > 0 && (out[0] != rows[i].first || out[n - 1] != rows[i].last)))
            fail_msg("“%s”: %d numbers", rows[i].typed, n);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lists_of_numbers_as_people_type_them),
        cmocka_unit_test(gaps_of_rendered_plugs_are_found),
        cmocka_unit_test(near_plugs_and_short_threads_tell_the_scale),
        cmocka_unit_test(faint_outlines_leave_the_axis_told),
        cmocka_unit_test(a_line_far_askew_tells_the_scale),
        cmocka_unit_test(a_period_told_better_has_the_axis_looked_for_again),
        cmocka_unit_test(a_plug_that_fills_its_picture_tells_the_scale),
        cmocka_unit_test(a_lean_is_told_by_both_sides),
        cmocka_unit_test(an_end_that_shows_at_its_sides_only_is_found),
        cmocka_unit_test(rims_that_look_like_the_bench_are_doubted), cmocka_unit_test(the_sample_s_side_views_tell_its_gaps),
        cmocka_unit_test(large_pictures_are_read_as_well),
        cmocka_unit_test(pictures_cut_out_about_the_plug_are_not_taken_from_nearer),
        cmocka_unit_test(a_dark_face_before_a_bright_tip_is_seen),
        cmocka_unit_test(the_doubt_of_worn_edges_is_owned),
        cmocka_unit_test(where_nothing_repeats_there_is_no_scale),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
