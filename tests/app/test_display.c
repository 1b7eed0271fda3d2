/* test_display.c - how large the desktop wants things: dots per inch as the common settings have them (96 is 100 %, 120
 * is 125 %, 144 is 150 %, 192 is 200 %), the toolkit's whole factor, and rubbish. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "app/display.h"

static void the_desktop_says_how_large(void **state)
{
    static const struct {
        const char *dots, *factor;
        double scale;
    } rows[] = {
        {NULL, NULL, 1}, {"96", NULL, 1}, {"120", NULL, 1.25}, {"144", "", 1.5}, {"192", NULL, 2}, {"192", "2", 2}, {"96", "2", 2}, {NULL, "3", 3},
        {"100", NULL, 1}, {"72", NULL, 1}, {"960", NULL, 3}, {"dpi", "large", 1}, {"-192", "-2", 1}, {"nan", "inf", 1}, {"192 ", NULL, 2},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_float_equal(display_scale_of(rows[i].dots, rows[i].factor), rows[i].scale, 1e-6);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_desktop_says_how_large)};

    return cmocka_run_group_tests(tests, NULL, NULL);
}
