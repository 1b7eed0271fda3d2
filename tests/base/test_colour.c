/* Colour differences against the published pairs. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>

#include "../help/help.h"
#include "base/colour.h"
#include "base/text.h"

/* tests/outside/ciede2000.csv: the 34 pairs of Sharma, Wu and Dalal (2005), table 1. */
static void the_published_pairs_agree(void **state)
{
    static const char *const names[] = {"L1", "a1", "b1", "L2", "a2", "b2", "dE00", "dE00_full"};
    struct csv c = load_table("tests/outside/ciede2000.csv");

    (void)state;
    assert_int_equal(c.n_rows, 35);
    for (size_t i = 1; i < c.n_rows; i++) {
        double v[8], d, back;

        for (int k = 0; k < 8; k++)
            assert_true(text_to_double(csv_named(&c, i, names[k]), &v[k]));
        d = colour_difference(v, v + 3);
        back = colour_difference(v + 3, v);
        if (fabs(d - v[6]) > 1e-4 || fabs(d - v[7]) > 1e-9 || fabs(d - back) > 1e-9)
            fail_msg("pair %zu: %.9f, back %.9f, published %.9f", i, d, back, v[7]);
    }
    csv_release(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_published_pairs_agree)};

    return cmocka_run_group_tests(tests, NULL, NULL);
}
