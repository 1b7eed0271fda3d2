/* The axis of threads whose direction is known, from a frame that is some degrees askew and beside it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "gauge/gauge_axis.h"
#include "plug_scene.h"

static const struct scene plain = {
    .major = 14, .pitch = 1.25, .gap = 0.9, .tip_r = 1.25, .strap_half = 1.3, .strap_thick = 1.4, .corner = 0.03, .thread_from = -16, .thread_to = -2.5, .strap_side = 1,
    .steel = {0.45, 0.44, 0.42}, .tip = {0.3, 0.29, 0.27}, .strap = {0.34, 0.33, 0.3}, .nose = {0.75, 0.73, 0.7}, .bench = {0.1, 0.14, 0.22},
    .shine = 0.3, .weave = 0.4, .seed = 5, .light = {-0.3, -0.6, 1}, .ambient = 0.4, .distance = 250, .px_per_mm = 12, .turn_deg = 8, .blur_px = 0.8, .noise = 0.006,
    .width = 300, .height = 260, .centre_x = 260, .centre_y = 140};

static void axis_is(const struct scene *c, double askew_deg, double aside_px)
{
    uint8_t *rgba = scene_paint(c);
    struct gauge_picture p = {c->width, c->height, rgba};
    struct gauge_frame f;
    struct gauge_axis axis;
    double askew = (c->turn_deg + askew_deg) * SCENE_PI / 180, middle = (c->thread_from + c->thread_to) / 2, half = 4.5 * c->pitch * c->px_per_mm;

    scene_shows(c, middle, 0, 0, &f.origin.x, &f.origin.y);
    f.ux = cos(askew), f.uy = sin(askew);
    f.origin.x += aside_px * f.uy, f.origin.y -= aside_px * f.ux;
    assert_true(gauge_axis_find(&p, &f, half, c->major / 2 * c->px_per_mm, aside_px + 5, 8 * SCENE_PI / 180, 0, &axis));
    free(rgba);
    print_message("askew %.1f: turn %.2f degrees, middle %.1f of %.1f px\n", askew_deg, axis.turn * 180 / SCENE_PI, axis.middle, aside_px);
    assert_true(fabs(axis.turn * 180 / SCENE_PI + askew_deg) < 0.5);
    assert_true(fabs(axis.middle - aside_px) < 0.25 * c->px_per_mm);
}

static void a_line_askew_is_turned_to_the_axis(void **state)
{
    struct scene c = plain;

    (void)state;
    axis_is(&c, 4, 0);
    axis_is(&c, -5.5, 60); /* drawn along the outline */
    c.off_deg = 3, c.turn_deg = 170, c.centre_x = 40, c.light[0] = 1, c.light[1] = 0.6;
    axis_is(&c, 3, -50);
    for (int k = 0; k < 3; k++) /* dull metal on white paper */
        c.bench[k] = 0.7, c.steel[k] = 0.2;
    axis_is(&c, -3, 0);
}

static void outside_the_picture_there_is_no_axis(void **state)
{
    uint8_t rgba[32 * 32 * 4] = {0};
    struct gauge_picture p = {32, 32, rgba};
    struct gauge_frame f = {{16, 16}, 1, 0};
    struct gauge_axis axis;

    (void)state;
    assert_false(gauge_axis_find(&p, &f, 300, 100, 0, 0.1, 0, &axis));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_line_askew_is_turned_to_the_axis),
        cmocka_unit_test(outside_the_picture_there_is_no_axis),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
