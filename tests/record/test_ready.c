/* Whether the engine may be started: while plugs are ticked hole by hole, and with bare wiring. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <string.h>

#include "base/err.h"
#include "record/ready.h"

static struct record four(void)
{
    struct record r;
    struct err e = {0};
    struct visit *v;

    record_init(&r);
    if (!engine_parse_banks(&r.engine, "1 2 3 4", &e) || !engine_parse_firing(&r.engine, "1 3 4 2", &e) || !engine_finish(&r.engine, &e))
        fail_msg("%s", e.text);
    v = record_add_visit(&r);
    for (int c = 0; c < 4; c++)
        reading_note(visit_reading(v, &r.engine, c, 0), SIGN_NORMAL, 2);
    return r;
}

static void nothing_noted_stands_in_no_way(void **state)
{
    struct record r = four();
    struct ready x;
    char words[200];

    (void)state;
    ready_of(&r, &x);
    assert_true(ready_to_start(&x));
    ready_words(&r.engine, &x, words, sizeof words);
    assert_string_equal(words, "");
    record_release(&r);
}

/* The first one torqued leaves three out, though nobody said so. */
static void plugs_are_ticked_hole_by_hole(void **state)
{
    struct record r = four();
    struct visit *v = &r.visits[0];
    int torqued = words_find(WORDS_REFIT, "torqued");
    struct ready x;
    char words[200];

    (void)state;
    for (int c = 0; c < 4; c++) {
        visit_reading(v, &r.engine, c, 0)->refit = torqued;
        ready_of(&r, &x);
        assert_int_equal(x.n_loose, 3 - c);
        assert_int_equal(x.first_cylinder, c < 3 ? c + 1 : -1);
    }
    assert_true(ready_to_start(&x));
    visit_reading(v, &r.engine, 2, 0)->refit = words_find(WORDS_REFIT, "hand");
    ready_of(&r, &x);
    assert_true(x.loose[2] && !ready_to_start(&x));
    ready_words(&r.engine, &x, words, sizeof words);
    assert_string_equal(words, "1 plug not torqued");
    record_release(&r);
}

static void bare_wiring_stands_in_the_way_until_it_is_replaced(void **state)
{
    struct record r = four();
    struct visit *v = &r.visits[0];
    struct ready x;
    struct err e = {0};
    char words[200];

    (void)state;
    reading_note(visit_reading(v, &r.engine, 1, 0), SIGN_CONN_BARE, 1);
    reading_note(visit_reading(v, &r.engine, 0, 0), SIGN_LEAD_BARE, 2);
    reading_note(visit_reading(v, &r.engine, 3, 0), SIGN_LEAD_BARE, 2);
    ready_of(&r, &x);
    ready_words(&r.engine, &x, words, sizeof words);
    assert_string_equal(words, "connector 2 bare; leads 1, 4 bare");
    assert_true(visit_parse_done(&r.engine, "replaced:lead:all", &v->done[v->n_done++], &e));
    assert_true(visit_parse_done(&r.engine, "cleaned:connector:cylinder 2", &v->done[v->n_done++], &e));
    ready_of(&r, &x);
    assert_true(x.bare_leads == 0 && x.bare_connectors == 2 && !ready_to_start(&x));
    record_release(&r);
}

static void liquid_is_turned_out_by_hand(void **state)
{
    struct record r = four();
    struct ready x;

    (void)state;
    reading_note(visit_reading(&r.visits[0], &r.engine, 1, 0), SIGN_WELL_OIL, 3);
    reading_note(visit_reading(&r.visits[0], &r.engine, 2, 0), SIGN_WELL_OIL, 1);
    ready_of(&r, &x);
    assert_int_equal(x.turn_first, 2);
    record_release(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_noted_stands_in_no_way),
        cmocka_unit_test(plugs_are_ticked_hole_by_hole),
        cmocka_unit_test(bare_wiring_stands_in_the_way_until_it_is_replaced),
        cmocka_unit_test(liquid_is_turned_out_by_hand),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
