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

static const char *words_of(const struct record *r)
{
    static char words[READY_WORDS_BYTES];
    struct ready x;

    ready_of(r, &x);
    ready_words(&r->engine, &x, words, sizeof words);
    assert_true(ready_to_start(&x) == (words[0] == '\0'));
    return words;
}

/* Read plugs are out, though nobody took over or ticked a step; a look into the wells draws none. */
static void plugs_that_were_read_are_out(void **state)
{
    struct record r = four();
    struct visit *v = &r.visits[0];
    struct err e;

    (void)state;
    assert_string_equal(words_of(&r), "all 4 plugs were drawn and are not torqued");
    visit_init(v, &r.engine);
    assert_string_equal(words_of(&r), "");
    for (int c = 0; c < 4; c++) {
        v->readings[c].present = true;
        reading_note(&v->readings[c], SIGN_WELL_OIL, 3);
        reading_see_zone(&v->readings[c], ZONE_CONNECTOR);
    }
    assert_string_equal(words_of(&r), "");
    v->readings[1].gap_mm = MAYBE(1.0);
    v->readings[2].nose_L = MAYBE(70);
    assert_string_equal(words_of(&r), "plugs 2, 3 were drawn and are not torqued; liquid stood at 2, 3 and can lock the engine: turn it by hand, plugs out, before cranking");
    visit_init(v, &r.engine);
    assert_true(visit_parse_removal(&r.engine, v, "4", &e));
    assert_string_equal(words_of(&r), "plug 4 was drawn and is not torqued");
    record_release(&r);
}

/* What each rule says of a plug that was read: the first that holds decides. */
static void each_rule_decides_in_its_turn(void **state)
{
    static const struct {
        const char *name;
        const char *refit;
        struct visit_state at;
        enum ready_why is;
    } cases[] = {
        {"read, nothing said", "", {0}, READY_DRAWN},
        {"torqued", "torqued", {0}, READY_IN},
        {"noted as out", "out", {0}, READY_OUT},
        {"hand-tight", "hand", {0}, READY_HAND},
        {"closed by hand, nothing said", "", {.closed = CLOSED_BY_HAND}, READY_IN},
        {"closed by hand, still noted as out", "out", {.closed = CLOSED_BY_HAND}, READY_OUT},
        {"closed by hand, hand-tight", "hand", {.closed = CLOSED_BY_HAND}, READY_HAND},
        {"it ran", "", {.ran = true}, READY_IN},
        {"it ran, and one came out again", "out", {.ran = true}, READY_OUT},
        {"from a table", "", {.closed = CLOSED_AS_HISTORY}, READY_IN},
        {"from a table that says out", "out", {.closed = CLOSED_AS_HISTORY}, READY_IN},
        {"an older visit", "", {.followed = true}, READY_IN},
        {"an older visit, left out", "out", {.followed = true}, READY_IN},
    };
    bool decided[32] = {false};
    const struct ready_rule *rules;
    int n;

    (void)state;
    rules = ready_rules(&n);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct record r = four();
        struct ready x;
        struct reading *q = &r.visits[0].readings[2];

        r.visits[0].state = cases[i].at;
        q->refit = cases[i].refit[0] ? words_find(WORDS_REFIT, cases[i].refit) : 0;
        ready_of(&r, &x);
        if (x.why[2] != cases[i].is)
            fail_msg("%s: %d", cases[i].name, (int)x.why[2]);
        for (int k = 0; k < n; k++)
            if (rules[k].holds(&r, q)) {
                decided[k] = true;
                break;
            }
        record_release(&r);
    }
    for (int k = 0; k < n; k++) {
        assert_true(rules[k].when[0] != '\0' && rules[k].is < READY_WHY_COUNT);
        if (!decided[k])
            fail_msg("no case for: %s", rules[k].when);
    }
}

/* Torqued hole by hole, the others stay out until theirs are. */
static void plugs_are_ticked_hole_by_hole(void **state)
{
    struct record r = four();
    struct visit *v = &r.visits[0];
    int torqued = words_find(WORDS_REFIT, "torqued");
    struct ready x;

    (void)state;
    for (int c = 0; c < 4; c++) {
        visit_reading(v, &r.engine, c, 0)->refit = torqued;
        ready_of(&r, &x);
        assert_int_equal(x.n_loose, 3 - c);
        assert_int_equal(x.first_cylinder, c < 3 ? c + 1 : -1);
    }
    assert_true(ready_to_start(&x));
    visit_reading(v, &r.engine, 2, 0)->refit = words_find(WORDS_REFIT, "hand");
    assert_string_equal(words_of(&r), "plug 3 is only hand-tight");
    visit_reading(v, &r.engine, 1, 0)->refit = words_find(WORDS_REFIT, "out");
    visit_reading(v, &r.engine, 3, 0)->refit = 0;
    assert_string_equal(words_of(&r), "plug 2 is out; plug 4 was drawn and is not torqued; plug 3 is only hand-tight");
    record_release(&r);
}

static void all_in(struct record *r)
{
    for (int c = 0; c < 4; c++)
        r->visits[0].readings[c].refit = words_find(WORDS_REFIT, "torqued");
}

static void bare_wiring_stands_in_the_way_until_it_is_replaced(void **state)
{
    struct record r = four();
    struct visit *v = &r.visits[0];
    struct ready x;
    struct err e = {0};

    (void)state;
    all_in(&r);
    reading_note(visit_reading(v, &r.engine, 1, 0), SIGN_CONN_BARE, 1);
    reading_note(visit_reading(v, &r.engine, 0, 0), SIGN_LEAD_BARE, 2);
    reading_note(visit_reading(v, &r.engine, 3, 0), SIGN_LEAD_BARE, 2);
    assert_string_equal(words_of(&r), "connector 2 is bare; leads 1, 4 are bare");
    assert_true(visit_parse_done(&r.engine, "replaced:lead:all", &v->done[v->n_done++], &e));
    assert_true(visit_parse_done(&r.engine, "cleaned:connector:cylinder 2", &v->done[v->n_done++], &e));
    ready_of(&r, &x);
    assert_true(x.bare_leads == 0 && x.bare_connectors == 2 && !ready_to_start(&x));
    v->state.closed = CLOSED_AS_HISTORY;
    assert_string_equal(words_of(&r), "");
    record_release(&r);
}

static void a_lead_that_is_off_stands_in_the_way(void **state)
{
    struct record r = four();

    (void)state;
    all_in(&r);
    r.visits[0].readings[2].unplugged = true;
    assert_string_equal(words_of(&r), "the lead or connector of 3 is off");
    record_release(&r);
}

/* The warning stays while the engine is not turned, also when every plug is torqued. */
static void liquid_is_turned_out_by_hand(void **state)
{
    struct record r = four();
    struct visit_state *at = &r.visits[0].state;
    struct ready x;
    char brief[100];

    (void)state;
    all_in(&r);
    reading_note(visit_reading(&r.visits[0], &r.engine, 1, 0), SIGN_WELL_OIL, 3);
    reading_note(visit_reading(&r.visits[0], &r.engine, 2, 0), SIGN_WELL_OIL, 1);
    ready_of(&r, &x);
    assert_true(x.liquid == 2 && x.turn_first == 2 && x.n_loose == 0 && !ready_to_start(&x));
    assert_non_null(strstr(words_of(&r), "liquid stood at 2 and can lock the engine: turn it by hand"));
    x.n_loose = 1;
    x.bare_leads = 5;
    ready_brief(&x, brief, sizeof brief);
    assert_string_equal(brief, "1 plug not torqued, 2 leads bare, not turned by hand");
    at->turned = TURN_OPEN;
    at->closed = CLOSED_BY_HAND; /* a step that stands open is not answered by closing */
    assert_non_null(strstr(words_of(&r), "turn it by hand"));
    at->turned = TURN_DONE;
    at->closed = 0;
    assert_string_equal(words_of(&r), "");
    at->turn_left = true;
    assert_string_equal(words_of(&r), "an earlier visit asked for turning it by hand, plugs out, and that was not done");
    at->turn_left = false;
    at->turned = 0;
    at->ran = true;
    assert_string_equal(words_of(&r), "");
    record_release(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plugs_that_were_read_are_out),
        cmocka_unit_test(each_rule_decides_in_its_turn),
        cmocka_unit_test(plugs_are_ticked_hole_by_hole),
        cmocka_unit_test(bare_wiring_stands_in_the_way_until_it_is_replaced),
        cmocka_unit_test(a_lead_that_is_off_stands_in_the_way),
        cmocka_unit_test(liquid_is_turned_out_by_hand),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
