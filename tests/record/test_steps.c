/* What becomes of open steps at the next visit is said by a table: every row of it says one of three things, and
 * why where a step does not simply stay open. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/err.h"
#include "record/steps.h"

static void every_row_says_what_becomes_of_it(void **state)
{
    struct csv c;
    struct err e = {0};

    (void)state;
    assert_true(asset_table("job-steps.csv", &c, &e));
    for (size_t i = 1; i < c.n_rows; i++) {
        const char *key = csv_named(&c, i, "key"), *says = csv_named(&c, i, "carry");
        int known = -1;

        for (int k = 0; k < STEP_CARRY_COUNT; k++)
            if (strcmp(says, step_carry_id((enum step_carry)k)) == 0)
                known = k;
        if (known < 0)
            fail_msg("%s: “%s” is no way to carry a step", key, says);
        assert_int_equal(step_carry(key), known);
        assert_int_equal(step_runs(key), strcmp(csv_named(&c, i, "does"), "run") == 0);
        assert_int_equal(step_carry_words(key)[0] == '\0', known == STEP_STAYS);
    }
    csv_release(&c);
}

static void places_and_own_steps_are_told_apart(void **state)
{
    (void)state;
    assert_int_equal(step_carry("turn@cylinder 3"), STEP_UNTIL_RUN);
    assert_int_equal(step_carry("turning"), STEP_STAYS);
    assert_int_equal(step_carry(""), STEP_STAYS);
    assert_int_equal(step_carry("coil-one@cylinder 3"), STEP_STAYS);
    assert_int_equal(step_carry("gaps"), STEP_STAYS);
    assert_int_equal(step_carry("pull"), STEP_OVER);
    assert_string_equal(step_carry_words("coil-one@cylinder 3"), "");
    assert_true(step_runs("idle") && step_runs("use") && !step_runs("refit") && !step_runs(""));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_row_says_what_becomes_of_it),
        cmocka_unit_test(places_and_own_steps_are_told_apart),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
