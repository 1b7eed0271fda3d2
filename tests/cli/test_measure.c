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

/* Every third picture of the truth set, lines drawn where they should be: nothing far off may come without
 * its ± saying so, and most pictures must give a figure. */
static void gaps_of_rendered_plugs_are_found(void **state)
{
    struct csv c = load_table("tests/photos/truth.csv");
    int n = 0, n_read = 0, n_right = 0, n_pitch = 0;

    (void)state;
    for (size_t i = 1; i < c.n_rows; i += 3, n++) {
        struct gauge_point thread[2], across[2];
        struct photo_pixels pixels;
        struct photo_info info;
        struct gauge_picture p;
        struct gauge_thread scale;
        struct gauge_gap gap;
        struct err e = {0};
        char path[64];

        text_format(path, sizeof path, "tests/photos/%s", csv_named(&c, i, "file"));
        if (!cli_picture_load(path, &pixels, &info, &e))
            fail_msg("%s", e.text);
        line_of(&c, i, "outline", thread);
        line_of(&c, i, "gap", across);
        p = (struct gauge_picture){pixels.width, pixels.height, pixels.rgba};
        if (gauge_thread_read(&p, thread, number(&c, i, "pitch_mm"), 0, info.focal_as_35mm_mm / 36 * pixels.width, &scale, &e)) {
            n_pitch += fabs(scale.pitch_px / number(&c, i, "pitch_px_outline") - 1) < 0.01;
            if (gauge_gap_read(&p, across, &scale, &gap, &e)) {
                n_read++;
                n_right += fabs(gap.gap_mm - number(&c, i, "gap_mm")) < gap.uncertainty_mm;
                assert_true(gap.uncertainty_mm <= 0.25);
            }
        }
        if (e.code != ERR_NONE)
            assert_int_equal(e.code, ERR_MEASURE);
        photo_pixels_release(&pixels);
    }
    print_message("%d pictures: pitch within 1 %% in %d, gap read in %d, truth within its ± in %d\n", n, n_pitch, n_read, n_right);
    assert_true(n_pitch * 10 >= n * 5);
    assert_true(n_read * 10 >= n * 7);
    assert_true(n_right * 10 >= n_read * 8);
    csv_release(&c);
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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(gaps_of_rendered_plugs_are_found),
        cmocka_unit_test(where_nothing_repeats_there_is_no_scale),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
