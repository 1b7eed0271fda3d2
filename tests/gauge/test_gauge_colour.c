/* Colours by a neutral patch: against outside figures, and on the truth set's rendered plugs. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "gauge/gauge_colour.h"
#include "../help/help.h"

static double number(const struct csv *c, size_t row, const char *name)
{
    return strtod(csv_named(c, row, name), NULL);
}

static void srgb_to_lab_agrees_with_the_table(void **state)
{
    struct csv c = load_table("tests/outside/srgb-lab.csv");

    (void)state;
    assert_int_equal(c.n_rows, 66);
    for (size_t i = 1; i < c.n_rows; i++) {
        double linear[3] = {gauge_linear(number(&c, i, "R")), gauge_linear(number(&c, i, "G")), gauge_linear(number(&c, i, "B"))}, lab[3];

        gauge_lab(linear, lab);
        assert_true(fabs(lab[0] - number(&c, i, "L_D65")) < 1e-4);
        assert_true(fabs(lab[1] - number(&c, i, "a_D65")) < 1e-4);
        assert_true(fabs(lab[2] - number(&c, i, "b_D65")) < 1e-4);
    }
    csv_release(&c);
}

/* 20 x 40 px: the upper half of one colour, the lower half of another. */
static uint8_t two[20 * 40 * 4];
static const struct gauge_picture picture = {20, 40, two};
static const struct gauge_box upper = {2, 2, 16, 16};
static const struct gauge_point lower[4] = {{1, 21}, {19, 21}, {19, 39}, {1, 39}};

static void paint(int y0, int y1, int r, int g, int b)
{
    for (int i = y0 * 20; i < y1 * 20; i++) {
        two[4 * i] = (uint8_t)r, two[4 * i + 1] = (uint8_t)g, two[4 * i + 2] = (uint8_t)b;
        two[4 * i + 3] = 255;
    }
}

static void a_patch_corrects_the_light_as_in_the_table(void **state)
{
    struct csv c = load_table("tests/outside/white-patch.csv");
    int n = 0;

    (void)state;
    for (size_t i = 1; i < c.n_rows; i++) {
        struct gauge_light light;
        struct gauge_colour colour;
        double most = fmax(number(&c, i, "patch_R"), fmax(number(&c, i, "patch_G"), number(&c, i, "patch_B")));
        struct err e = {0};

        paint(0, 20, (int)number(&c, i, "patch_R"), (int)number(&c, i, "patch_G"), (int)number(&c, i, "patch_B"));
        paint(20, 40, (int)number(&c, i, "sample_R"), (int)number(&c, i, "sample_G"), (int)number(&c, i, "sample_B"));
        if (most >= 250) { /* the table's sums hold, but a camera's patch is clipped there */
            assert_false(gauge_light_read(&picture, &upper, number(&c, i, "patch_Y_ref"), &light, &e));
            assert_int_equal(e.code, ERR_MEASURE);
            assert_non_null(strstr(e.text, "clipped"));
            continue;
        }
        assert_true(gauge_light_read(&picture, &upper, number(&c, i, "patch_Y_ref"), &light, &e));
        if (!gauge_colour_read(&picture, lower, 4, &light, &colour, &e))
            fail_msg("row %zu: %s", i, e.text);
        assert_true(fabs(colour.lab[0] - number(&c, i, "L_gain")) < 1e-4);
        assert_true(fabs(colour.lab[1] - number(&c, i, "a_gain")) < 1e-4);
        assert_true(fabs(colour.lab[2] - number(&c, i, "b_gain")) < 1e-4);
        n++;
    }
    assert_int_equal(n, 10);
    csv_release(&c);
}

static void a_patch_that_cannot_tell_the_light_is_refused(void **state)
{
    struct gauge_light light;
    struct err e;

    (void)state;
    paint(0, 20, 120, 5, 120);
    assert_false(gauge_light_read(&picture, &upper, 0.18, &light, &e));
    assert_non_null(strstr(e.text, "too dark"));
    paint(0, 10, 40, 40, 40);
    paint(10, 20, 230, 230, 230);
    assert_false(gauge_light_read(&picture, &upper, 0.18, &light, &e));
    assert_non_null(strstr(e.text, "not even"));
    assert_false(gauge_light_read(&picture, &(struct gauge_box){2, 30, 16, 16}, 0.18, &light, &e));
    assert_non_null(strstr(e.text, "outside the picture"));
    assert_false(gauge_light_read(&picture, &(struct gauge_box){2, 2, 4, 16}, 0.18, &light, &e));
    assert_non_null(strstr(e.text, "6 × 6"));
    assert_false(gauge_light_read(&picture, &upper, 1.5, &light, &e));
    assert_int_equal(e.code, ERR_BADARG);
}

static void highlights_stay_out_of_the_median_and_are_counted(void **state)
{
    struct gauge_light light;
    struct gauge_colour plain, shining;

    (void)state;
    paint(0, 20, 118, 118, 118);
    paint(20, 40, 60, 45, 40);
    assert_true(gauge_light_read(&picture, &upper, 0.18, &light, NULL));
    assert_true(gauge_colour_read(&picture, lower, 4, &light, &plain, NULL));
    assert_true(plain.gloss_share == 0);
    for (int y = 28; y < 34; y++)
        for (int x = 3; x < 17; x++) /* over a quarter of it */
            memcpy(two + 4 * (y * 20 + x), (const uint8_t[4]){245, 240, 238, 255}, 4);
    assert_true(gauge_colour_read(&picture, lower, 4, &light, &shining, NULL));
    for (int i = 0; i < 3; i++)
        assert_true(shining.lab[i] == plain.lab[i]);
    assert_true(fabs(shining.gloss_share - 84.0 / 324) < 0.001);
    assert_int_equal(shining.n_suggested, 1);
    assert_string_equal(shining.suggested[0].id, "wet-oil");
    paint(20, 40, 30, 29, 28);
    assert_true(gauge_colour_read(&picture, lower, 4, &light, &plain, NULL));
    assert_true(plain.dark_share == 1);
    assert_string_equal(plain.suggested[0].id, "carbon");
}

/* The card lies deeper or farther from the lamp than the nose: seen as L* 109 without a word. */
static void a_nose_lighter_than_white_is_refused_as_in_other_light_than_the_patch(void **state)
{
    static const struct {
        const char *name;
        int nose;
        double reflectance;
        bool given;
    } rows[] = {
        {"clean porcelain", 236, 0.8, true},      /* by hand, IEC 61966-2-1: 0.8 * 0.839 / 0.730 = 0.919 of white, L* 96.8 */
        {"as light as white", 245, 0.8, true},    /* 0.8 * 0.913 / 0.730 = 1.000: L* 100.0 */
        {"lighter than white", 247, 0.8, false},  /* 0.8 * 0.930 / 0.730 = 1.019: L* 100.7 */
        {"much lighter", 248, 0.9, false},        /* 0.9 * 0.939 / 0.730 = 1.156: L* 105.8 */
        {"the patch itself", 222, 1, true},       /* L* 100, which rounding must not refuse */
    };
    struct gauge_light light;
    struct gauge_colour colour;

    (void)state;
    paint(0, 20, 222, 222, 222);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct err e = {0};

        paint(20, 40, rows[i].nose, rows[i].nose, rows[i].nose);
        assert_true(gauge_light_read(&picture, &upper, rows[i].reflectance, &light, &e));
        if (gauge_colour_read(&picture, lower, 4, &light, &colour, &e) != rows[i].given)
            fail_msg("%s: L* %.1f %s", rows[i].name, colour.lab[0], e.text);
        if (rows[i].given)
            continue;
        assert_int_equal(e.code, ERR_MEASURE);
        assert_non_null(strstr(e.text, "lighter than white"));
        assert_non_null(strstr(e.text, "at its height"));
    }
}

/* 200 x 200 px: a grey patch above, dry tan below, into which a bright strap may lie or a sparkle. */
static uint8_t tip[200 * 200 * 4];
static const struct gauge_picture tip_picture = {200, 200, tip};
static const struct gauge_box tip_patch = {2, 2, 30, 30};
static const struct gauge_point tip_nose[4] = {{50, 70}, {150, 70}, {150, 170}, {50, 170}};

static void tip_paint(int x0, int y0, int x1, int y1, int r, int g, int b)
{
    for (int y = y0; y < y1; y++)
        for (int x = x0; x < x1; x++) {
            uint8_t *q = tip + 4 * (y * 200 + x);

            q[0] = (uint8_t)r, q[1] = (uint8_t)g, q[2] = (uint8_t)b, q[3] = 255;
        }
}

static void gloss_is_told_of_the_nose_not_of_the_strap_across_it(void **state)
{
    static const struct {
        const char *name;
        int x0, y0, x1, y1, step; /* bright, every step-th pixel in both directions */
        double share;
    } rows[] = {
        {"dry", 0, 0, 0, 0, 1, 0},
        {"a strap along the outline's rim", 20, 40, 190, 74, 1, 0},
        {"a strap across half of the nose", 90, 0, 115, 130, 1, 0},
        {"clean steel's grain", 60, 80, 140, 160, 4, 0},
        {"a film's spot", 80, 100, 100, 120, 1, 0.04},
        {"a film's spot that runs over the rim a little", 130, 100, 160, 120, 1, 0.04},
    };
    struct gauge_light light;

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct gauge_colour c;
        struct err e = {0};

        tip_paint(0, 0, 200, 200, 80, 62, 44);
        tip_paint(0, 0, 34, 34, 118, 118, 118);
        assert_true(gauge_light_read(&tip_picture, &tip_patch, 0.18, &light, &e));
        for (int y = rows[i].y0; y < rows[i].y1; y += rows[i].step)
            for (int x = rows[i].x0; x < rows[i].x1; x += rows[i].step)
                tip_paint(x, y, x + 1, y + 1, 235, 232, 230);
        if (!gauge_colour_read(&tip_picture, tip_nose, 4, &light, &c, &e))
            fail_msg("%s: %s", rows[i].name, e.text);
        if (fabs(c.gloss_share - rows[i].share) > 1e-9)
            fail_msg("%s: gloss on %.4f, not %.4f", rows[i].name, c.gloss_share, rows[i].share);
        assert_int_equal(c.n_suggested, rows[i].share > 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(srgb_to_lab_agrees_with_the_table),
        cmocka_unit_test(a_patch_corrects_the_light_as_in_the_table),
        cmocka_unit_test(a_patch_that_cannot_tell_the_light_is_refused),
        cmocka_unit_test(highlights_stay_out_of_the_median_and_are_counted),
        cmocka_unit_test(a_nose_lighter_than_white_is_refused_as_in_other_light_than_the_patch),
        cmocka_unit_test(gloss_is_told_of_the_nose_not_of_the_strap_across_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
