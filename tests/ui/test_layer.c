/* Pictures turned by any angle: each pixel against the formula of a turn about a middle (screen axes, y
 * down, clockwise), on pictures whose colour is a linear function of the place, which a bilinear reading
 * gives back exactly but for rounding. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "ui/ui_layer.h"

enum { W = 120, H = 84, SIDE = 200 };

/* Red tells x, green y, of a picture of which this is a part from (x0, y0). */
static uint8_t *ramp(int x0, int y0, int w, int h, int blue)
{
    uint8_t *bgra = malloc((size_t)w * (size_t)h * 4);

    for (int y = 0; y < h; y++)
        for (int x = 0; x < w; x++) {
            uint8_t *to = bgra + (y * w + x) * 4;

            to[0] = (uint8_t)blue;
            to[1] = (uint8_t)(3 * (y0 + y));
            to[2] = (uint8_t)(2 * (x0 + x));
            to[3] = 255;
        }
    return bgra;
}

static void expect_pixel(const uint8_t *px, double u, double v, double margin)
{
    if (u > margin && u < W - margin && v > margin && v < H - margin) {
        assert_int_equal(px[3], 255);
        assert_true(fabs(px[2] - 2 * (u - 0.5)) <= 2 && fabs(px[1] - 3 * (v - 0.5)) <= 3);
    } else if (u < -0.001 || u > W + 0.001 || v < -0.001 || v > H + 0.001) {
        assert_int_equal(px[3], 0);
    }
}

static void every_pixel_shows_the_place_turned_to_it(void **state)
{
    static const double angles[] = {0, 0.1, 1, -7.3, 30, 45, 89.9, 90, 133, 180, 270, -90.1};
    uint8_t *bgra = ramp(0, 0, W, H, 77), *to = malloc(SIDE * SIDE * 4);

    (void)state;
    for (size_t i = 0; i < sizeof angles / sizeof *angles; i++)
        for (double k = 0.5; k < 3; k *= 2) {
            struct layer_part part = {bgra, W, H, 97.5, 103.25, k, k, angles[i]};
            double a = angles[i] * acos(-1) / 180;

            memset(to, 99, SIDE * SIDE * 4);
            layer_compose(to, SIDE * 4, SIDE, SIDE, &part, 1, 255);
            for (int y = 0; y < SIDE; y++)
                for (int x = 0; x < SIDE; x++) {
                    double dx = x + 0.5 - 97.5, dy = y + 0.5 - 103.25;

                    expect_pixel(to + (y * SIDE + x) * 4, W / 2.0 + (cos(a) * dx + sin(a) * dy) / k, H / 2.0 + (cos(a) * dy - sin(a) * dx) / k, 0.6);
                }
        }
    free(bgra);
    free(to);
}

/* A noisy picture, wide and not turned (or so little that no pixel moves): each pixel against the bilinear formula. */
static void every_scale_shows_the_bilinear_mean(void **state)
{
    enum { WIDE = 1300, HIGH = 9, ROW = 1600 };
    static const double scales[] = {0.2, 0.37, 0.5, 0.77, 1, 1.0000001, 1.37, 2, 3.2}, turns[] = {0, 1e-9};
    uint8_t *bgra = malloc((size_t)WIDE * HIGH * 4), *to = malloc((size_t)ROW * 40 * 4);
    unsigned seed = 1;

    (void)state;
    for (int i = 0; i < WIDE * HIGH * 4; i++) {
        seed = seed * 1103515245u + 12345u;
        bgra[i] = i % 4 == 3 ? 255 : (uint8_t)(seed >> 16);
    }
    for (size_t s = 0; s < 2 * sizeof scales / sizeof *scales; s++) {
        const double k = scales[s / 2], cx = ROW / 2 + 0.3, cy = 20.4;
        const struct layer_part part = {bgra, WIDE, HIGH, cx, cy, k, k, turns[s % 2]};
        int n = 0;

        layer_compose(to, ROW * 4, ROW, 40, &part, 1, 200);
        for (int y = 0; y < 40; y++)
            for (int x = 0; x < ROW; x++) {
                const double u = WIDE / 2.0 + (x + 0.5 - cx) / k - 0.5, v = HIGH / 2.0 + (y + 0.5 - cy) / k - 0.5;
                const int x0 = (int)floor(u), y0 = (int)floor(v);
                const uint8_t *at = bgra + (y0 * WIDE + x0) * 4, *px = to + (y * ROW + x) * 4;

                if (u < 0.01 || v < 0.01 || u > WIDE - 1.01 || v > HIGH - 1.01)
                    continue;
                n++;
                assert_int_equal(px[3], 200);
                for (int c = 0; c < 3; c++) {
                    const double upper = at[c] + (u - x0) * (at[4 + c] - at[c]), lower = at[WIDE * 4 + c] + (u - x0) * (at[WIDE * 4 + 4 + c] - at[WIDE * 4 + c]);

                    assert_true(fabs(px[c] - (upper + (v - y0) * (lower - upper))) <= 3); /* weights of 256ths, rounded twice */
                }
            }
        assert_true(n > 200);
    }
    free(bgra);
    free(to);
}

/* Four tiles of a picture make the picture, without seams: none of the one that lies below them shows. */
static void tiles_join_without_seams(void **state)
{
    uint8_t *below = ramp(0, 0, W, H, 0), *tile[4], *to = malloc(SIDE * SIDE * 4);
    struct layer_part parts[5] = {{below, W, H, 100, 100, 1.3, 1.3, 0}};

    (void)state;
    for (int i = 0; i < 4; i++)
        tile[i] = ramp(i % 2 * 60, i / 2 * 42, 60, 42, 200);
    for (double deg = -60; deg <= 200; deg += 6.5) {
        double a = deg * acos(-1) / 180;
        int n_blue = 0, n_below = 0;

        parts[0].turn_deg = deg;
        for (int i = 0; i < 4; i++) {
            double dx = (i % 2 * 60 + 30 - W / 2.0) * 1.3, dy = (i / 2 * 42 + 21 - H / 2.0) * 1.3;

            parts[1 + i] = (struct layer_part){tile[i], 60, 42, 100 + cos(a) * dx - sin(a) * dy, 100 + sin(a) * dx + cos(a) * dy, 1.3, 1.3, deg};
        }
        assert_false(layer_compose(to, SIDE * 4, SIDE, SIDE, parts, 5, 255));
        for (int y = 0; y < SIDE; y++)
            for (int x = 0; x < SIDE; x++) {
                double dx = (x + 0.5 - 100) / 1.3, dy = (y + 0.5 - 100) / 1.3;
                const uint8_t *px = to + (y * SIDE + x) * 4;

                expect_pixel(px, W / 2.0 + cos(a) * dx + sin(a) * dy, H / 2.0 + cos(a) * dy - sin(a) * dx, 0.6);
                n_blue += px[3] == 255 && px[0] == 200;
                n_below += px[3] == 255 && px[0] == 0;
            }
        assert_true(n_blue > 16000 && n_below == 0);
    }
    for (int i = 0; i < 4; i++)
        free(tile[i]);
    free(below);
    free(to);
}

static void a_part_that_covers_all_says_so(void **state)
{
    uint8_t *bgra = ramp(0, 0, W, H, 1), *to = malloc(40 * 40 * 4);
    struct layer_part part = {bgra, W, H, 20, 20, 1, 1, 33};

    (void)state;
    assert_true(layer_compose(to, 40 * 4, 40, 40, &part, 1, 255));
    layer_compose(to, 40 * 4, 40, 40, &part, 1, 99);
    assert_int_equal(to[3], 99);
    part.cx = -500;
    assert_false(layer_compose(to, 40 * 4, 40, 40, &part, 1, 255));
    for (int i = 0; i < 40 * 40 * 4; i++)
        assert_int_equal(to[i], 0);
    assert_false(layer_compose(to, 40 * 4, 40, 40, NULL, 0, 255));
    free(bgra);
    free(to);
}

static void one_layer_lies_over_another(void **state)
{
    uint8_t lower[4][4] = {{10, 20, 30, 255}, {10, 20, 30, 255}, {0, 0, 0, 0}, {200, 0, 100, 255}};
    const uint8_t upper[4][4] = {{200, 100, 50, 255}, {0, 0, 0, 0}, {200, 100, 50, 128}, {0, 200, 100, 64}};
    const uint8_t wanted[4][4] = {{200, 100, 50, 255}, {10, 20, 30, 255}, {200, 100, 50, 128}, {150, 50, 100, 255}};

    (void)state;
    layer_lay_over(lower[0], 16, upper[0], 16, 4, 1);
    for (int i = 0; i < 4; i++)
        for (int k = 0; k < 4; k++)
            assert_in_range(lower[i][k] + 1, wanted[i][k], wanted[i][k] + 2); /* to one level */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_pixel_shows_the_place_turned_to_it),
        cmocka_unit_test(every_scale_shows_the_bilinear_mean),
        cmocka_unit_test(tiles_join_without_seams),
        cmocka_unit_test(one_layer_lies_over_another),
        cmocka_unit_test(a_part_that_covers_all_says_so),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
