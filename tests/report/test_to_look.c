/* A visit is told what earlier ones ask it to look at, until it has answered. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "report/to_look.h"

static const struct logbook_verdict verdicts[] = {{.cause = "tube-seal", .place = "cylinders 3, 4", .state = "accepted", .repaired_visit = "first", .visit = "first"},
                                                  {.cause = "coil-one", .place = "cylinder 2", .state = "accepted", .repaired_visit = "first", .visit = "first"}};

/* Oil in the wells of 3 and 4, a miss at 2; both were seen to. The visit after it, of which nothing is noted. */
static void two_repairs(struct record *r)
{
    struct err e = {0};
    struct visit *v;

    record_init(r);
    if (!engine_parse_banks(&r->engine, "1 2 3 4", &e) || !engine_parse_firing(&r->engine, "1 3 4 2", &e) || !engine_finish(&r->engine, &e))
        fail_msg("%s", e.text);
    v = record_add_visit(r);
    text_copy(v->id, sizeof v->id, "first");
    reading_note(visit_reading(v, &r->engine, 2, 0), SIGN_WELL_OIL, 3);
    reading_note(visit_reading(v, &r->engine, 3, 0), SIGN_WELL_OIL, 2);
    visit_toggle_complaint(v, words_find(WORDS_COMPLAINT, "misfire-idle-hot"));
    record_add_visit(r);
}

static int look(const struct record *r, const struct logbook_step *left, size_t n_left, struct to_look out[TO_LOOK_MOST])
{
    struct report_watch watches[REPORT_MOST_WATCHED];

    return to_look_of(r, watches, report_watches(r, verdicts, 2, watches, REPORT_MOST_WATCHED), left, n_left, out);
}

static void what_is_not_looked_at_yet_is_asked_for(void **state)
{
    struct to_look out[TO_LOOK_MOST];
    struct record r;
    int n;

    (void)state;
    two_repairs(&r);
    n = look(&r, NULL, 0, out);
    assert_int_equal(n, 2);
    assert_int_equal(out[0].kind, TO_LOOK_COMPLAINT);
    assert_non_null(strstr(out[0].words, "gone?"));
    assert_int_equal(out[1].kind, TO_LOOK_ZONE);
    assert_int_equal(out[1].zone, ZONE_WELL);
    assert_int_equal(out[1].cylinders, 0xc);
    assert_string_equal(out[1].words, "Wells of cylinders 3 and 4");
    assert_string_equal(out[1].why, "Did it hold? Plug-tube seal leaking, cylinders 3, 4");
    record_release(&r);
}

static void what_was_answered_is_not_asked_again(void **state)
{
    struct to_look out[TO_LOOK_MOST];
    struct record r;
    struct visit *v;

    (void)state;
    two_repairs(&r);
    v = &r.visits[1];
    reading_see_zone(visit_reading(v, &r.engine, 2, 0), ZONE_WELL);
    assert_int_equal(look(&r, NULL, 0, out), 2);
    assert_string_equal(out[1].words, "Well of cylinder 4");
    visit_toggle_complaint(v, words_find(WORDS_COMPLAINT, "misfire-idle-hot")); /* it still does, and nobody knows where */
    assert_int_equal(look(&r, NULL, 0, out), 2);
    assert_int_equal(out[0].kind, TO_LOOK_MISS);
    assert_string_equal(out[0].why, "Did it hold? Weak coil or its driver, cylinder 2");
    visit_toggle_complaint(v, words_find(WORDS_COMPLAINT, "none"));
    assert_int_equal(look(&r, NULL, 0, out), 1);
    reading_see_zone(visit_reading(v, &r.engine, 3, 0), ZONE_WELL);
    assert_int_equal(look(&r, NULL, 0, out), 0);
    record_release(&r);
}

/* The look again and the warm idle stand in the rows above it. */
static void what_else_was_left_open_comes_last(void **state)
{
    const struct logbook_step left[] = {{.text = "Look again whether it held", .source = "again:tube-seal@cylinders 3, 4", .state = "later"},
                                        {.text = "Warm idle: gone?", .source = "idle", .state = "todo"},
                                        {.text = "Use it under load: gone?", .source = "use", .state = "todo"},
                                        {.text = "Set the gap to 1.00 mm: plug 4", .source = "gaps@plug 4", .state = "todo"},
                                        {.text = "Ring the dealer", .state = "waiting"},
                                        {.text = "Renew connector 5", .source = "connector@cylinder 5", .state = "done"}};
    struct to_look out[TO_LOOK_MOST];
    struct record r;
    int n;

    (void)state;
    two_repairs(&r);
    n = look(&r, left, sizeof left / sizeof left[0], out);
    assert_int_equal(n, 3);
    assert_int_equal(out[2].kind, TO_LOOK_STEPS);
    assert_string_equal(out[2].words, "2 steps left open");
    assert_string_equal(out[2].why, "Set the gap to 1.00 mm: plug 4; Ring the dealer");
    for (int i = 1; i < n; i++)
        assert_true(out[i].row > out[i - 1].row);
    record_release(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_not_looked_at_yet_is_asked_for),
        cmocka_unit_test(what_was_answered_is_not_asked_again),
        cmocka_unit_test(what_else_was_left_open_comes_last),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
