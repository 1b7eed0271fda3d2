/* What is cut out of a photo: where, how turned, how large, in which light. Pictures are made here, the sRGB
 * figures are those of IEC 61966-2-1. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "gauge/gauge_cut.h"

#define W 200
#define H 160

/* Grey 100 with a white dot of 9 px about one place and a black one about another. */
static uint8_t *two_dots(int wx, int wy, int bx, int by)
{
    uint8_t *rgba = mem_alloc((size_t)W * H, 4);

    for (int y = 0; y < H; y++)
        for (int x = 0; x < W; x++) {
            int v = abs(x - wx) < 5 && abs(y - wy) < 5 ? 255 : abs(x - bx) < 5 && abs(y - by) < 5 ? 0 : 100;

            memset(rgba + 4 * (y * W + x), v, 3);
            rgba[4 * (y * W + x) + 3] = 255;
        }
    return rgba;
}

static int grey_at(const uint8_t *cut, int w, int x, int y)
{
    return cut[4 * (y * w + x) + 1];
}

/* White at the middle of the cut, black 40 px beside it in the photo: where the turn says. */
static void it_is_cut_about_its_place_turned_and_scaled(void **state)
{
    static const struct {
        double turn_deg, px;
        int bx, by; /* of the black dot from the white one in the photo */
        int x, y;   /* where it has to be in the cut of 100 x 100, from its middle */
    } rows[] = {{0, 1, 40, 0, 40, 0}, {0, 2, 40, 0, 20, 0},   {-90, 1, 40, 0, 0, -40}, {90, 1, 40, 0, 0, 40},
                {180, 1, 0, 40, 0, -40}, {-87, 2, 40, -2, 0, -20}, {0, 0.5, 20, 0, 40, 0}, {-98, 1, 0, 40, 40, -6}};
    uint8_t *cut = mem_alloc(100 * 100, 4);

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        uint8_t *rgba = two_dots(90, 80, 90 + rows[i].bx, 80 + rows[i].by);
        struct gauge_picture p = {W, H, rgba};
        struct gauge_cut c = {.at = {90.5, 80.5}, .ax = 0.5, .ay = 0.5, .turn_deg = rows[i].turn_deg, .px = rows[i].px, .outside = 100};

        gauge_cut_make(&p, &c, 100, 100, cut);
        if (grey_at(cut, 100, 50, 50) < 250 || grey_at(cut, 100, 50 + rows[i].x, 50 + rows[i].y) > 20 || abs(grey_at(cut, 100, 5, 5) - 100) > 1)
            fail_msg("row %zu: %d, %d, %d", i, grey_at(cut, 100, 50, 50), grey_at(cut, 100, 50 + rows[i].x, 50 + rows[i].y), grey_at(cut, 100, 5, 5));
        free(rgba);
    }
    free(cut);
}

static void the_place_is_shown_where_it_is_wanted_and_beyond_the_photo_is_grey(void **state)
{
    uint8_t *rgba = two_dots(10, 10, 100, 100), *cut = mem_alloc(60 * 100, 4);
    struct gauge_picture p = {W, H, rgba};
    struct gauge_cut c = {.at = {10.5, 10.5}, .ax = 0.5, .ay = 0.2, .px = 1, .outside = 138};

    (void)state;
    gauge_cut_make(&p, &c, 60, 100, cut);
    assert_true(grey_at(cut, 60, 30, 20) > 250);
    assert_int_equal(grey_at(cut, 60, 2, 2), 138);
    assert_int_equal(cut[3], 255);
    free(rgba);
    free(cut);
}

/* Half as bright in blue, twice in red: a patch of 18 % becomes sRGB 118 in all, by IEC 61966-2-1; what would be
 * brighter than white is white. */
static void light_is_corrected_in_linear_light(void **state)
{
    uint8_t *rgba = mem_alloc((size_t)W * H, 4), *cut = mem_alloc(20 * 20, 4);
    struct gauge_picture p = {W, H, rgba};
    struct gauge_cut c = {.at = {50, 50}, .ax = 0.5, .ay = 0.5, .px = 1};
    struct gauge_light light;
    struct err *none = NULL;

    (void)state;
    for (int i = 0; i < W * H; i++) { /* 0.36, 0.18, 0.09 of the light; the right half four times as bright */
        const uint8_t dim[4] = {162, 118, 85, 255}, bright[4] = {255, 219, 162, 255};

        memcpy(rgba + 4 * i, i % W < 100 ? dim : bright, 4);
    }
    assert_true(gauge_light_read(&p, &(struct gauge_box){10, 10, 40, 40}, 0.18, &light, none));
    c.light = &light;
    gauge_cut_make(&p, &c, 20, 20, cut);
    for (int k = 0; k < 3; k++)
        if (abs(cut[4 * 210 + k] - 118) > 1)
            fail_msg("channel %d is %d", k, cut[4 * 210 + k]);
    c.at.x = 150;
    gauge_cut_make(&p, &c, 20, 20, cut);
    assert_true(abs(cut[4 * 210 + 1] - 219) <= 1 && abs(cut[4 * 210 + 2] - 219) <= 2);
    c.at.x = 150;
    light.gain[1] = 9;
    gauge_cut_make(&p, &c, 20, 20, cut);
    assert_int_equal(cut[4 * 210 + 1], 255);
    free(rgba);
    free(cut);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_is_cut_about_its_place_turned_and_scaled),
        cmocka_unit_test(the_place_is_shown_where_it_is_wanted_and_beyond_the_photo_is_grey),
        cmocka_unit_test(light_is_corrected_in_linear_light),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
