/* Where a photo lies when it is turned: from the photo to the screen and back, the fit, and levelling by a
 * line. Expected values by hand: a turn clockwise on a screen whose y points down. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <string.h>

#include "screen/photo_bench.h"

static void a_turned_photo_lies_where_it_should(void **state)
{
    struct logbook_photo p = {.width = 400, .height = 300};
    struct photo_place at;
    float x, y;

    (void)state;
    at = photo_fit(&p, (struct rect){100, 50, 800, 600});
    assert_true(fabs((double)at.zoom - 2) < 1e-6);
    photo_to_screen(&at, 0, 0, &x, &y);
    assert_true(fabsf(x - 100) < 1e-3f && fabsf(y - 50) < 1e-3f);
    /* 30° clockwise: the right middle goes down, (200, 0) to 200 (cos 30°, sin 30°) */
    p.lean_mdeg = 30000;
    at = photo_fit(&p, (struct rect){-500, -500, 1000, 1000});
    assert_true(fabs((double)at.zoom - (1000 / (400 * 0.8660254 + 300 * 0.5))) < 1e-4); /* 496.4 wide, 459.8 high */
    photo_to_screen(&at, 400, 150, &x, &y);
    assert_true(fabs((double)x - (200 * 0.8660254 * (double)at.zoom)) < 1e-3);
    assert_true(fabs((double)y - (200 * 0.5 * (double)at.zoom)) < 1e-3);
    /* and a quarter more: straight down, then 30° on to the left */
    p.turn = 1;
    at = photo_fit(&p, (struct rect){-500, -500, 1000, 1000});
    photo_to_screen(&at, 400, 150, &x, &y);
    assert_true(fabs((double)x - (-200 * 0.5 * (double)at.zoom)) < 1e-3);
    assert_true(fabs((double)y - (200 * 0.8660254 * (double)at.zoom)) < 1e-3);
}

static void the_pointer_finds_what_it_is_on(void **state)
{
    struct logbook_photo p = {.width = 4000, .height = 3000};

    (void)state;
    for (p.turn = 0; p.turn < 4; p.turn++)
        for (p.lean_mdeg = -45000; p.lean_mdeg <= 45000; p.lean_mdeg += 7300) {
            struct photo_place at = photo_fit(&p, (struct rect){196, 96, 744, 588});
            struct rect all = photo_bounds(&at);

            assert_true(all.x > 195.9f && all.y > 95.9f && all.x + all.w < 940.1f && all.y + all.h < 684.1f); /* all of it is seen */
            assert_true(all.w > 743.8f || all.h > 587.8f);                                                    /* as large as it can be */
            for (int i = 0; i < 9; i++) {
                double px = i % 3 * 2000, py = i / 3 * 1500, bx, by;
                float x, y;

                photo_to_screen(&at, px, py, &x, &y);
                photo_from_screen(&at, x, y, &bx, &by);
                assert_true(fabs(bx - px) < 0.01 && fabs(by - py) < 0.01);
            }
        }
}

/* Whatever way the line lies and the photo is turned: then it is level or upright, by the nearer way. */
static void a_line_levels_the_photo(void **state)
{
    (void)state;
    for (int turn = 0; turn < 4; turn++)
        for (int lean = -45000; lean <= 45000; lean += 15000)
            for (int deg = 0; deg < 360; deg += 7) {
                struct logbook_photo p = {.id = "p", .width = 400, .height = 300, .turn = turn, .lean_mdeg = lean};
                double dx = 100 * cos(deg * acos(-1) / 180), dy = 100 * sin(deg * acos(-1) / 180), by;
                struct actions out = {.n = 0};
                struct photo_place at;
                float x0, y0, x1, y1;

                bench_turn_by_line(&out, &p, 200, 150, 200 + dx, 150 + dy);
                assert_true(out.n == 1 && out.list[0].type == ACT_TURN_PHOTO);
                by = out.list[0].number * 90 + out.list[0].amount / 1000.0 - (turn * 90 + lean / 1000.0);
                assert_true(fabs(remainder(by, 360)) < 45.001);
                p.turn = out.list[0].number;
                p.lean_mdeg = out.list[0].amount;
                assert_true(p.turn >= 0 && p.turn < 4 && p.lean_mdeg >= -45000 && p.lean_mdeg <= 45000);
                at = photo_fit(&p, (struct rect){0, 0, 400, 400});
                photo_to_screen(&at, 200, 150, &x0, &y0);
                photo_to_screen(&at, 200 + dx, 150 + dy, &x1, &y1);
                assert_true(fminf(fabsf(x1 - x0), fabsf(y1 - y0)) < 0.01f);
            }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_turned_photo_lies_where_it_should),
        cmocka_unit_test(the_pointer_finds_what_it_is_on),
        cmocka_unit_test(a_line_levels_the_photo),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
