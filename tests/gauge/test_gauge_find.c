/* A plug found without lines, in pictures by the tests' own ray marcher; and nothing found where there is none. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "base/err.h"
#include "gauge/gauge_find.h"
#include "plug_scene.h"

static const struct scene plain = {
    .major = 14, .pitch = 1.25, .gap = 0.9, .tip_r = 1.25, .strap_half = 1.3, .strap_thick = 1.4, .corner = 0.03, .thread_from = -16, .thread_to = -2.5, .strap_side = 1,
    .steel = {0.45, 0.44, 0.42}, .tip = {0.3, 0.29, 0.27}, .strap = {0.34, 0.33, 0.3}, .nose = {0.75, 0.73, 0.7}, .bench = {0.1, 0.14, 0.22},
    .shine = 0.3, .weave = 0.2, .seed = 3, .light = {-0.3, -0.6, 1}, .ambient = 0.4, .distance = 300, .px_per_mm = 13, .turn_deg = 8, .blur_px = 0.8, .noise = 0.004,
    .width = 340, .height = 280, .centre_x = 255, .centre_y = 150};

static bool find(const struct scene *c, double pitch_mm, const struct gauge_stop *stop, struct gauge_find *out, struct err *e)
{
    uint8_t *rgba = scene_paint(c);
    bool fine = gauge_find(&(struct gauge_picture){c->width, c->height, rgba}, pitch_mm, 0, stop, out, e);

    free(rgba);
    return fine;
}

static void finds(const struct scene *c, double pitch_mm)
{
    double turn = c->turn_deg * SCENE_PI / 180, ux = cos(turn), uy = sin(turn);
    struct gauge_find f;
    struct err e = {0};

    if (!find(c, pitch_mm, NULL, &f, &e))
        fail_msg("%s", e.text);
    for (int k = 0; k < 2; k++) {
        double x, y, off, aside;

        scene_shows(c, k ? c->gap : 0, 0, 0, &x, &y);
        off = ((f.across[k].x - x) * ux + (f.across[k].y - y) * uy) / c->px_per_mm;
        aside = ((f.across[k].y - y) * ux - (f.across[k].x - x) * uy) / c->px_per_mm;
        if (fabs(off) > 0.1 || fabs(aside) > 0.7)
            fail_msg("end %d of the gap's line is %.2f mm off along the axis, %.2f mm beside it", k, off, aside);
    }
    if (pitch_mm > 0)
        assert_true(fabs(f.gap.gap_mm - scene_gap_mm(c)) < 0.1);
    assert_true((f.axis[1].x - f.axis[0].x) * ux + (f.axis[1].y - f.axis[0].y) * uy > 10 * c->px_per_mm);
    /* the thread's line lies along the axis, and beside the body or on it */
    assert_true(fabs((f.thread[1].x - f.thread[0].x) * uy - (f.thread[1].y - f.thread[0].y) * ux) < 0.05 * hypot(f.thread[1].x - f.thread[0].x, f.thread[1].y - f.thread[0].y));
}

static void plug_is_found(void **state)
{
    (void)state;
    finds(&plain, 1.25);
}

static void plug_upside_down_of_another_thread_is_found_without_its_pitch(void **state)
{
    struct scene c = plain;

    (void)state;
    c.major = 10, c.pitch = 1.0, c.thread_from = -15, c.gap = 1.3, c.turn_deg = 197, c.strap_side = -1, c.tip_r = 0.35, c.px_per_mm = 14, c.weave = 0.1;
    c.bench[0] = 0.6, c.bench[1] = 0.5, c.bench[2] = 0.35, c.width = 330, c.height = 260, c.centre_x = 80, c.centre_y = 125;
    finds(&c, 0);
}

/* A short thread whose shadow lies along its outline: the axis it tells runs a millimetre beside the electrodes. */
static void shadow_beside_the_thread_does_not_draw_the_axis_aside(void **state)
{
    struct scene c = plain;

    (void)state;
    c.thread_from = -10, c.gap = 1.2, c.light[0] = 0.8, c.light[1] = -0.9, c.ambient = 0.3;
    for (int k = 0; k < 3; k++)
        c.bench[k] = 0.6 - 0.06 * k, c.tip[k] = c.strap[k] = 0.4 - 0.02 * k;
    finds(&c, 1.25);
    c.thread_from = -12, c.gap = 1, c.light[0] = -0.5;
    for (int k = 0; k < 3; k++)
        c.bench[k] = 0.17 - 0.015 * k, c.tip[k] = c.strap[k] = 0.5 - 0.025 * k;
    finds(&c, 1.25);
}

static void nothing_is(const struct scene *c, const char *says)
{
    struct gauge_find f;
    struct err e = {0};

    assert_false(find(c, 1.25, NULL, &f, &e));
    assert_int_equal(e.code, ERR_MEASURE);
    assert_non_null(strstr(e.text, says));
}

static void bench_without_a_plug_gives_nothing(void **state)
{
    struct scene c = plain;

    (void)state;
    c.centre_x = -600, c.weave = 0.5, c.width = 260, c.height = 200;
    nothing_is(&c, "No thread");
}

static void thread_without_a_side_electrode_gives_nothing(void **state)
{
    struct scene c = plain;

    (void)state;
    c.gap = 9; /* out of the picture, as far as a gap goes */
    c.px_per_mm = 12, c.width = 300, c.height = 250, c.centre_x = 240, c.centre_y = 135;
    nothing_is(&c, "Draw both lines");
}

static bool always(void *ctx)
{
    (void)ctx;
    return true;
}

static void stopped_it_says_so(void **state)
{
    struct scene c = plain;
    struct gauge_find f;
    struct err e = {0};

    (void)state;
    c.width = 200, c.height = 150;
    assert_false(find(&c, 1.25, &(struct gauge_stop){always, NULL}, &f, &e));
    assert_int_equal(e.code, ERR_CANCEL);
}

static void a_picture_too_small_gives_nothing(void **state)
{
    struct scene c = plain;

    (void)state;
    c.width = 40, c.height = 30;
    nothing_is(&c, "No thread");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plug_is_found),
        cmocka_unit_test(plug_upside_down_of_another_thread_is_found_without_its_pitch),
        cmocka_unit_test(shadow_beside_the_thread_does_not_draw_the_axis_aside),
        cmocka_unit_test(bench_without_a_plug_gives_nothing),
        cmocka_unit_test(thread_without_a_side_electrode_gives_nothing),
        cmocka_unit_test(stopped_it_says_so),
        cmocka_unit_test(a_picture_too_small_gives_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
