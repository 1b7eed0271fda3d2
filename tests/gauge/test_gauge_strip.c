/* A strip of a picture whose values rise evenly, so that what is read between its pixels is known; also where it leaves the picture. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>

#include "base/err.h"
#include "gauge/gauge_strip.h"

enum { W = 80, H = 60 };

static uint8_t rgba[W * H * 4];

/* Red tells x, green y. */
static struct gauge_picture ramp(void)
{
    for (int y = 0; y < H; y++)
        for (int x = 0; x < W; x++) {
            uint8_t *c = rgba + 4 * (y * W + x);

            c[0] = (uint8_t)(3 * x), c[1] = (uint8_t)(4 * y), c[2] = 7, c[3] = 255;
        }
    return (struct gauge_picture){W, H, rgba};
}

static void every_sample_is_the_mean_of_its_place(void **state)
{
    static const double steps[][2] = {{0.5, 1}, {1, 1}, {1, 2.1}, {2, 0.7}, {3.3, 4}, {7.5, 6}};
    struct gauge_picture p = ramp();

    (void)state;
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++)
        for (double deg = 0; deg < 360; deg += 40) {
            double a = deg * 0.017453292519943295;
            struct gauge_frame f = {{41.25, 30.5}, cos(a), sin(a)};
            struct gauge_strip s;

            assert_true(gauge_strip_cut(&p, &f, -15, 15, -12, 12, steps[i][0], steps[i][1], false, &s, NULL));
            for (int j = 0; j < s.n_t; j++)
                for (int k = 0; k < s.n_s && s.seen[j]; k++) {
                    double along = s.s0 + k * s.step_s, across = s.t0 + j * s.step_t, x = f.origin.x + along * f.ux - across * f.uy, y = f.origin.y + along * f.uy + across * f.ux;
                    const float *v = s.rgb[j * s.n_s + k];

                    assert_true(fabs((double)v[0] - 3 * (x - 0.5)) < 0.01 && fabs((double)v[1] - 4 * (y - 0.5)) < 0.01 && fabs((double)v[2] - 7) < 0.01);
                }
            gauge_strip_release(&s);
        }
}

/* A row is seen when all its samples are; the others are read as far as they go, or left out when only whole ones are wanted. */
static void rows_that_leave_the_picture_say_so(void **state)
{
    struct gauge_picture p = ramp();
    struct gauge_frame f = {{40, 3.5}, cos(0.3), sin(0.3)};
    struct gauge_strip part, whole;
    int n_seen = 0, n_cut = 0;

    (void)state;
    assert_true(gauge_strip_cut(&p, &f, -10, 10, -12, 30, 1.5, 1, false, &part, NULL) && gauge_strip_cut(&p, &f, -10, 10, -12, 30, 1.5, 1, true, &whole, NULL));
    for (int j = 0; j < part.n_t; j++) {
        bool inside = true;
        double some = 0, left = 0;

        for (int k = 0; k < part.n_s; k++) {
            for (int m = 0; m < 4; m++) { /* two samples each way for a step of 1.5 */
                double along = part.s0 + (k + (m % 2 ? 0.25 : -0.25)) * 1.5, across = part.t0 + j + (m / 2 ? 0.25 : -0.25); /* int / int: which row */
                double x = f.origin.x + along * f.ux - across * f.uy, y = f.origin.y + along * f.uy + across * f.ux;

                inside = inside && x >= 0.5 && y >= 0.5 && x < W - 0.5 && y < H - 0.5;
            }
            some += (double)part.rgb[j * part.n_s + k][2], left += (double)whole.rgb[j * part.n_s + k][2];
        }
        assert_int_equal(part.seen[j], inside);
        assert_int_equal(whole.seen[j], inside);
        assert_true(inside ? fabs(some - left) < 1e-6 : left < 1e-6);
        n_seen += inside, n_cut += !inside && some > 1;
    }
    assert_true(n_seen > 3 && n_cut > 3);
    gauge_strip_release(&part);
    gauge_strip_release(&whole);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_sample_is_the_mean_of_its_place),
        cmocka_unit_test(rows_that_leave_the_picture_say_so),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
