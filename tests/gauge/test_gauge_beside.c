/* Where an electrode ends by what lies beside it, in small pictures of a gap by the tests' own ray marcher: near to where it does, wherever it
 * is thought to end; and nothing said where nothing tells. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "gauge/gauge_beside.h"
#include "plug_scene.h"

#define WITHIN_MM 0.07 /* a rounded edge is soft, a picture of 18 px a millimetre tells 0.05 mm */

static const struct scene gap = {
    .major = 14, .pitch = 1.25, .gap = 0.9, .tip_r = 1.25, .strap_half = 1.3, .strap_thick = 1.4, .corner = 0.03, .thread_from = -16, .thread_to = -9, .strap_side = 1,
    .steel = {0.45, 0.44, 0.42}, .tip = {0.3, 0.29, 0.27}, .strap = {0.34, 0.33, 0.3}, .nose = {0.75, 0.73, 0.7}, .bench = {0.1, 0.14, 0.22},
    .shine = 0.3, .weave = 0.2, .seed = 3, .light = {-0.3, -0.6, 1}, .ambient = 0.4, .distance = 300, .px_per_mm = 18, .turn_deg = 20, .blur_px = 0.8, .noise = 0.004,
    .width = 140, .height = 130, .centre_x = 70, .centre_y = 65};

/* Reads one end, 0 the centre electrode's or 1 the side electrode's, as if it had been found `off` mm along from where it is. */
static void read_end(const struct scene *c, const uint8_t *rgba, int end, double off, struct gauge_beside *out)
{
    double turn = c->turn_deg * SCENE_PI / 180, x, y, half = 0.85 * c->tip_r;
    struct gauge_frame f = {{0, 0}, cos(turn), sin(turn)};
    struct gauge_beside_end e = {.at_mm = (end ? c->gap : 0) + off, .way = end ? -1 : 1, .gap_mm = c->gap + (end ? off : -off), .bench_below = true, .bench_above = true};

    scene_shows(c, 0, 0, 0, &x, &y);
    f.origin = (struct gauge_point){x, y};
    e.t0_mm = end ? -c->tip_r - 0.1 : -half, e.t1_mm = end ? 1 : half;
    if (end) { /* its free end lies at t > 0 when strap_side is 1 */
        double t = e.t0_mm;

        e.t0_mm = -e.t1_mm, e.t1_mm = -t;
        e.bench_below = false;
    }
    gauge_beside_read(&(struct gauge_picture){c->width, c->height, rgba}, &f, c->px_per_mm, &e, out);
}

static void both_ends_are_near(const struct scene *c, size_t n_offs)
{
    static const double offs[] = {0, 0.15, -0.15, 0.25, -0.25};
    uint8_t *rgba = scene_paint(c);

    for (int end = 0; end < 2; end++)
        for (size_t i = 0; i < n_offs; i++) {
            struct gauge_beside b;

            read_end(c, rgba, end, offs[i], &b);
            if (b.share < 0.5 || fabs(b.at_mm - (end ? c->gap : 0)) > WITHIN_MM)
                fail_msg("end %d, thought %+.2f mm off: said to lie %+.3f mm off by %.2f of its width", end, offs[i], b.at_mm - (end ? c->gap : 0), b.share);
        }
    free(rgba);
}

static void ends_are_near_where_they_are(void **state)
{
    struct scene c = gap;

    (void)state;
    both_ends_are_near(&c, 5);
    c.turn_deg = 200, c.gap = 1.3, c.bench[0] = 0.6, c.bench[1] = 0.5, c.bench[2] = 0.35;
    both_ends_are_near(&c, 5);
}

static void soot_in_patches_does_not_put_them_off(void **state)
{
    struct scene c = gap;

    (void)state;
    c.soot = 0.5, c.bench[0] = 0.5, c.bench[1] = 0.45, c.bench[2] = 0.6;
    both_ends_are_near(&c, 3);
}

static void metal_like_the_bench_tells_nothing(void **state)
{
    struct scene c = gap;
    uint8_t *rgba;

    (void)state;
    memcpy(c.tip, c.bench, sizeof c.tip), memcpy(c.strap, c.bench, sizeof c.strap);
    c.shine = 0, c.ambient = 1, c.weave = 0, c.noise = 0.02;
    rgba = scene_paint(&c);
    for (int end = 0; end < 2; end++) {
        struct gauge_beside b;

        read_end(&c, rgba, end, 0, &b);
        assert_true(b.share < 0.3 || fabs(b.at_mm - (end ? c.gap : 0)) < 2 * WITHIN_MM);
    }
    memset(rgba, 128, 4 * (size_t)c.width * (size_t)c.height); /* no plug at all */
    for (int end = 0; end < 2; end++) {
        struct gauge_beside b;

        read_end(&c, rgba, end, 0, &b);
        assert_true(b.share <= 0);
    }
    free(rgba);
}

/* Most of an electrode's end is painted over with bench, 0.3 mm deep, as soot of its colour would: either may be the end. */
static void an_end_in_patches_is_told_as_such(void **state)
{
    struct scene c = gap;
    uint8_t *rgba;
    struct gauge_beside whole, patched;

    (void)state;
    c.turn_deg = 0, c.weave = 0, c.noise = 0;
    rgba = scene_paint(&c);
    read_end(&c, rgba, 0, 0, &whole);
    assert_true(whole.farther <= 0);
    {
        double x, y;

        scene_shows(&c, 0, 0, 0, &x, &y);
        for (int row = (int)(y - 0.33 * c.tip_r * c.px_per_mm); row < (int)(y + c.tip_r * c.px_per_mm) + 2; row++) /* seven tenths of its width */
            for (int col = (int)(x - 0.3 * c.px_per_mm); col < (int)x + 3; col++)
                memcpy(rgba + ((size_t)row * (size_t)c.width + (size_t)col) * 4, rgba + ((size_t)row * (size_t)c.width + (size_t)(x + 0.45 * c.px_per_mm)) * 4, 4);
    }
    read_end(&c, rgba, 0, -0.3, &patched);
    assert_true(patched.farther > 0.2 && patched.farther < 0.4);
    free(rgba);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ends_are_near_where_they_are),
        cmocka_unit_test(soot_in_patches_does_not_put_them_off),
        cmocka_unit_test(metal_like_the_bench_tells_nothing),
        cmocka_unit_test(an_end_in_patches_is_told_as_such),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
