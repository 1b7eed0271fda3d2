/* The angle of threads seen in hard light from one side, where the wave along them does not tell it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "gauge/gauge_view.h"
#include "plug_scene.h"

static const struct scene plain = {
    .major = 14, .pitch = 1.25, .gap = 0.9, .tip_r = 1.25, .strap_half = 1.3, .strap_thick = 1.4, .corner = 0.03, .thread_from = -16, .thread_to = -2.5, .strap_side = 1,
    .steel = {0.45, 0.44, 0.42}, .tip = {0.3, 0.29, 0.27}, .strap = {0.34, 0.33, 0.3}, .nose = {0.75, 0.73, 0.7}, .bench = {0.1, 0.14, 0.22},
    .shine = 0.3, .weave = 0.2, .seed = 3, .light = {-0.3, -0.6, 1}, .ambient = 0.4, .distance = 300, .px_per_mm = 20, .turn_deg = 8, .blur_px = 0.8, .noise = 0.004,
    .width = 440, .height = 320, .centre_x = 370, .centre_y = 180};

static struct gauge_thread scale_of(const struct scene *c)
{
    struct gauge_point a, b;
    double length;

    scene_shows(c, c->thread_from + 1, 0, 0, &a.x, &a.y), scene_shows(c, c->thread_to - 1, 0, 0, &b.x, &b.y);
    length = hypot(b.x - a.x, b.y - a.y);
    return (struct gauge_thread){.pitch_mm = c->pitch, .length_px = length, .pitch_px = c->pitch * c->px_per_mm, .ux = (b.x - a.x) / length, .uy = (b.y - a.y) / length,
                                 .has_body = true, .middle = {(a.x + b.x) / 2, (a.y + b.y) / 2}, .radius_px = c->major / 2 * c->px_per_mm, .major_mm = c->major,
                                 .distance_mm = c->distance * cos(c->off_deg * SCENE_PI / 180), .px_per_mm = c->px_per_mm};
}

/* Which angle has most of it, and how much within a degree of one. */
static double most_likely(const struct gauge_turns *t, double near, double *about)
{
    int best = 0;

    *about = 0;
    for (int a = 0; a < GAUGE_TURNS_ANGLES; a++) {
        if (t->likely[a] > t->likely[best])
            best = a;
        if (fabs(-GAUGE_TURNS_MOST_DEG + a * GAUGE_TURNS_STEP_DEG - near) <= 1)
            *about += t->likely[a];
    }
    return -GAUGE_TURNS_MOST_DEG + best * GAUGE_TURNS_STEP_DEG;
}

static void hard_light_from_one_side_leaves_the_angle_told(void **state)
{
    static const double lights[][3] = {{-0.9, -0.3, 0.8}, {0.8, 0.5, 0.9}, {-0.8, 0.7, 0.7}, {0.2, -0.9, 0.8}};
    int n_waves = 0;

    (void)state;
    for (int k = 0; k < 4; k++) {
        struct scene c = plain;
        struct gauge_thread scale;
        struct gauge_view view;
        double here, about, most;
        uint8_t *rgba;
        struct gauge_picture p;

        memcpy(c.light, lights[k], sizeof c.light);
        c.off_deg = k % 2 ? 4 : -3, c.distance = k < 2 ? 200 : 450, c.bench[0] = k < 3 ? 0.1 : 0.6;
        scale = scale_of(&c), rgba = scene_paint(&c);
        p = (struct gauge_picture){c.width, c.height, rgba};
        /* at the thread's middle the camera stands less far behind than at the gap */
        here = c.off_deg + atan(((c.thread_from + c.thread_to) / 2 - c.gap / 2) / scale.distance_mm) * 180 / SCENE_PI;
        gauge_view_read(&p, &scale, hypot(c.centre_x - scale.middle.x, c.centre_y - scale.middle.y), &view);
        free(rgba);
        assert_true(view.turns_known);
        n_waves += view.bow_known;
        most = most_likely(&view.turns, here, &about);
        print_message("light %d, %.1f degrees, %.1f at the thread: %.1f, %.2f of it within a degree; at the gap %.2f ± %.2f\n", k, c.off_deg, here, most, about, view.off_deg, view.sd_deg);
        assert_true(fabs(most - here) < 1.6);
        assert_true(about > 0.2); /* 0.1 were nothing known */
        assert_true(fabs(view.off_deg - c.off_deg) < 1.2 && fabs(view.off_deg - c.off_deg) < 2 * view.sd_deg && view.sd_deg < 1.2);
    }
    assert_true(n_waves < 4); /* else the light is not hard */
}

/* As the camera on a screen's side takes it: the same angle. */
static void a_mirrored_picture_tells_the_same_angle(void **state)
{
    (void)state;
    for (int k = 0; k < 2; k++) {
        struct scene c = plain;
        struct gauge_thread scale;
        struct gauge_view view, straight;
        uint8_t *rgba, *row = malloc((size_t)c.width * 4);
        size_t stride = (size_t)c.width * 4;

        c.off_deg = k ? 3 : 0, c.ambient = k ? 0.4 : 0.92;
        scale = scale_of(&c), rgba = scene_paint(&c);
        gauge_view_read(&(struct gauge_picture){c.width, c.height, rgba}, &scale, hypot(c.centre_x - scale.middle.x, c.centre_y - scale.middle.y), &straight);
        for (int y = 0; y < c.height / 2; y++) {
            uint8_t *a = rgba + (size_t)y * stride, *b = rgba + (size_t)(c.height - 1 - y) * stride;

            memcpy(row, a, stride), memcpy(a, b, stride), memcpy(b, row, stride);
        }
        scale.middle.y = c.height - 1 - scale.middle.y, scale.uy = -scale.uy;
        gauge_view_read(&(struct gauge_picture){c.width, c.height, rgba}, &scale, hypot(c.centre_x - scale.middle.x, c.height - 1 - c.centre_y - scale.middle.y), &view);
        free(rgba), free(row);
        print_message("%.1f degrees: %.2f ± %.2f, mirrored %.2f ± %.2f\n", c.off_deg, straight.off_deg, straight.sd_deg, view.off_deg, view.sd_deg);
        assert_true(view.known && fabs(view.off_deg - straight.off_deg) < 0.2 && fabs(view.sd_deg / straight.sd_deg - 1) < 0.2);
        assert_true(fabs(view.off_deg - c.off_deg) < 1.2);
    }
}

static void what_shows_no_turns_tells_nothing(void **state)
{
    struct scene c = plain;
    struct gauge_thread scale = scale_of(&c);
    uint8_t *rgba = calloc((size_t)c.width * (size_t)c.height, 4);
    struct gauge_picture p = {c.width, c.height, rgba};
    struct gauge_turns turns;

    (void)state;
    memset(rgba, 128, (size_t)c.width * (size_t)c.height * 4);
    assert_true(gauge_turns_read(&p, &scale, 1 / 300.0, 1, &turns)); /* an even grey */
    for (int a = 1; a < GAUGE_TURNS_ANGLES; a++)
        assert_true(turns.likely[a] < 1.2 * turns.likely[0] && turns.likely[a] > turns.likely[0] / 1.2);
    scale.middle.y = -400; /* outside the picture */
    assert_false(gauge_turns_read(&p, &scale, 1 / 300.0, 1, &turns));
    scale = scale_of(&c), scale.has_body = false;
    assert_false(gauge_turns_read(&p, &scale, 1 / 300.0, 1, &turns));
    free(rgba);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hard_light_from_one_side_leaves_the_angle_told),
        cmocka_unit_test(a_mirrored_picture_tells_the_same_angle),
        cmocka_unit_test(what_shows_no_turns_tells_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
