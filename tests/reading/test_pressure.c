/* A compression that cannot be is asked back with the unit that was probably meant, and kept when one insists.
 * Conversions: 1 psi = 6.894757 kPa (NIST SP 811), 1 bar = 100 kPa. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <string.h>

#include "base/err.h"
#include "base/units.h"
#include "reading/pressure.h"

static void what_is_typed(void **state)
{
    static const struct {
        const char *usual, *typed;
        double kpa; /* < 0: asked back */
        const char *says;
    } rows[] = {{"kPa", "1150", 1150, ""},
                {"kPa", " 480 ", 480, ""},
                {"kPa", "0", 0, ""},
                {"kPa", "75", -1, "Did you mean 75 psi (517 kPa)? Then type “75 psi”. If it is so, “75 kPa”."},
                {"kPa", "12", -1, "Did you mean 12 bar (1200 kPa)?"},
                {"kPa", "11.5", -1, "11.5 bar"},
                {"kPa", "75 psi", 517.107, ""},
                {"kPa", "75psi", 517.107, ""},
                {"kPa", "75 kPa", 75, ""},
                {"kPa", "12 bar", 1200, ""},
                {"kPa", "2", -1, "If it is so, type “2 kPa”"},
                {"kPa", "2 kPa", 2, ""},
                {"psi", "165", 1137.635, ""},
                {"psi", "1150", -1, "Did you mean 1150 kPa (167 psi)?"},
                {"psi", "11,5", -1, "11.5 bar (167 psi)"},
                {"psi", "12 psi", 82.737, ""},
                {"bar", "12", 1200, ""},
                {"bar", "165", -1, "165 psi (11.4 bar)"},
                {"bar", "1150", -1, "1150 kPa (11.5 bar)"},
                {"kPa", "300", 300, ""},
                {"kPa", "299", -1, "299 psi"},
                {"kPa", "2500", 2500, ""},
                {"kPa", "2501", -1, "hardly"},
                {"kPa", "9000 kPa", -1, "more than any compression"},
                {"kPa", "dry", -1, "no compression pressure"},
                {"kPa", "", -1, "no compression pressure"},
                {"kPa", "-5", -1, "no compression pressure"},
                {"kPa", "75 mm", -1, "no compression pressure"}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct unit *unit;
        struct err e = {0};
        double pa = 0;
        bool fine = pressure_read(rows[i].typed, unit_find(rows[i].usual), 5000, &unit, &pa, &e);

        if (fine != (rows[i].kpa >= 0) || (fine && fabs(pa / 1000 - rows[i].kpa) > 0.01))
            fail_msg("%s in %s: %s %g (%s)", rows[i].typed, rows[i].usual, fine ? "taken as" : "refused", pa / 1000, e.text);
        if (!fine && strstr(e.text, rows[i].says) == NULL)
            fail_msg("%s in %s: “%s”, not “%s”", rows[i].typed, rows[i].usual, e.text, rows[i].says);
    }
}

static void what_was_kept_is_doubted(void **state)
{
    char said[200];

    (void)state;
    pressure_doubt(75, unit_find("kPa"), said, sizeof said);
    assert_string_equal(said, "75 kPa is hardly a compression; 75 psi would be 517 kPa.");
    pressure_doubt(12, unit_find("kPa"), said, sizeof said);
    assert_string_equal(said, "12 kPa is hardly a compression; 12 bar would be 1200 kPa.");
    pressure_doubt(1150, unit_find("kPa"), said, sizeof said);
    assert_string_equal(said, "");
    pressure_doubt(0, unit_find("kPa"), said, sizeof said);
    assert_string_equal(said, "");
}

static void oil_takes_no_pressure_away(void **state)
{
    char said[200];

    (void)state;
    pressure_wet_doubt(1200, 500, unit_find("kPa"), said, sizeof said);
    assert_string_equal(said, "Wet 500 lies below dry 1200 kPa, and oil takes no pressure away: see whether they changed places or a digit is wrong, or take both again.");
    pressure_wet_doubt(1200, 1025, unit_find("kPa"), said, sizeof said); /* as gauges differ */
    assert_string_equal(said, "");
    pressure_wet_doubt(0, 0, unit_find("kPa"), said, sizeof said);
    assert_string_equal(said, "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(what_is_typed), cmocka_unit_test(what_was_kept_is_doubted), cmocka_unit_test(oil_takes_no_pressure_away)};

    return cmocka_run_group_tests(tests, NULL, NULL);
}
