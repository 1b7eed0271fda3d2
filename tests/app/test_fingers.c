/* Two fingers as a pinch. Expected values by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>

#include "app/fingers.h"

static void two_fingers_pinch(void **state)
{
    struct fingers f = {0};
    struct fingers_pinch p;
    float by = 0, dx = 0, dy = 0;

    (void)state;
    assert_false(fingers_down(&f, 11, 100, 100));
    assert_false(fingers_move(&f, 11, 90, 100, &p)); /* one alone is the pointer's */
    assert_true(fingers_down(&f, 22, 110, 100));
    assert_false(fingers_down(&f, 33, 500, 500)); /* a third is not looked at */
    assert_false(fingers_move(&f, 33, 600, 600, &p));
    assert_true(fingers_move(&f, 22, 130, 100, &p)); /* 20 px apart, then 40 */
    assert_float_equal(p.by, logf(2), 1e-6);
    assert_float_equal(p.x, 110, 1e-4);
    assert_float_equal(p.dx, 10, 1e-4);
    by += p.by, dx += p.dx, dy += p.dy;
    assert_true(fingers_move(&f, 11, 90, 130, &p)); /* 3, 4, 5: 50 px apart */
    by += p.by, dx += p.dx, dy += p.dy;
    assert_float_equal(expf(by), 2.5, 1e-5); /* in all, whatever the steps */
    assert_float_equal(dx, 10, 1e-4);
    assert_float_equal(dy, 15, 1e-4);
}

static void it_ends_with_the_last_finger(void **state)
{
    struct fingers f = {0};
    struct fingers_pinch p;

    (void)state;
    fingers_down(&f, 1, 0, 0);
    fingers_down(&f, 2, 10, 0);
    assert_true(f.pinching);
    fingers_up(&f, 1);
    assert_true(f.pinching && f.n == 1); /* what is left must not begin to draw */
    assert_false(fingers_move(&f, 2, 50, 0, &p));
    assert_true(fingers_down(&f, 3, 50, 100)); /* and may be joined again */
    assert_true(fingers_move(&f, 3, 50, 50, &p));
    assert_float_equal(p.by, logf(0.5f), 1e-6);
    fingers_up(&f, 9);
    fingers_up(&f, 3);
    fingers_up(&f, 2);
    assert_true(!f.pinching && f.n == 0);
    fingers_down(&f, 1, 5, 5);
    fingers_down(&f, 2, 5, 5); /* on one spot: no size, and none is made up */
    assert_true(fingers_move(&f, 2, 6, 5, &p));
    assert_float_equal(p.by, 0, 1e-6);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_fingers_pinch),
        cmocka_unit_test(it_ends_with_the_last_finger),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
