/* The case format: round trips, and the sentence each mistake gets. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "casefile/casefile.h"

static const char *const cases[] = {"tests/fuzz/corpus/case/v8.json", "tests/fuzz/corpus/case/twin-plug.json",
                                    "tests/fuzz/corpus/case/least.json"};

static void a_case_survives_the_round_trip(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct record a, b;
        struct err e = {0};
        char *data, *json, where[200];
        size_t n;

        assert_true(files_read(cases[i], 1 << 20, &data, &n, &e));
        if (!casefile_parse(data, n, &a, &e))
            fail_msg("%s: %s", cases[i], e.text);
        json = casefile_format(&a);
        if (!casefile_parse(json, strlen(json), &b, &e))
            fail_msg("%s again: %s", cases[i], e.text);
        if (!casefile_equal(&a, &b, where, sizeof where))
            fail_msg("%s: %s", cases[i], where);
        free(json);
        free(data);
        record_release(&a);
        record_release(&b);
    }
}

static void what_is_written_arrives(void **state)
{
    struct record r;
    struct err e = {0};
    char *data;
    size_t n;
    const struct visit *v;
    const struct reading *six;

    (void)state;
    assert_true(files_read(cases[0], 1 << 20, &data, &n, &e));
    assert_true(casefile_parse(data, n, &r, &e));
    v = record_current(&r);
    six = visit_reading_const(v, &r.engine, engine_find_cylinder(&r.engine, "6"), 0);
    assert_int_equal(r.n_visits, 2);
    assert_int_equal(six->amount[SIGN_WELL_OIL], 3);
    assert_int_equal(six->amount[SIGN_WELL_WATER], 0);
    assert_int_equal(six->amount[SIGN_THREADS_OIL], AMOUNT_UNSEEN); /* nobody said */
    assert_true(six->compression_kpa.given && six->compression_kpa.value > 1119.9);
    assert_true(v->odometer_m.value > 97655 * 1609.34 && v->odometer_m.value < 97655 * 1609.35);
    assert_int_equal(v->n_removal, 8);
    assert_string_equal(v->complaint_words, "slight miss at hot idle, gone above 1500");
    assert_int_equal(r.visits[0].n_done, 3);
    assert_int_equal(r.visits[0].done[2].to, engine_find_cylinder(&r.engine, "5"));
    free(data);
    record_release(&r);
}

/* Of a zone of which only one sign was said the others stay unknown, also written and read again. */
static void what_was_not_said_stays_unsaid(void **state)
{
    static const char text[] = "{\"engine\":{\"layout\":\"inline\",\"banks\":[{\"name\":\"1\",\"cylinders\":[1,2,3,4]}],\"firing_order\":[1,3,4,2]},"
                               "\"visit\":{},\"readings\":[{\"cylinder\":1,\"partly\":[\"coil\"],\"coil\":[{\"sign\":\"cracked\",\"amount\":2},{\"sign\":\"tracked\",\"amount\":0}]}]}";
    struct record r;
    struct err e = {0};
    char *json = NULL;

    (void)state;
    for (int again = 0; again < 2; again++) {
        const struct reading *q;

        if (!casefile_parse(again ? json : text, strlen(again ? json : text), &r, &e))
            fail_msg("%s", e.text);
        q = &record_current(&r)->readings[0];
        assert_false(q->zone_seen[ZONE_COIL]);
        assert_true(reading_zone_looked(q, ZONE_COIL) && !reading_zone_looked(q, ZONE_BOOT));
        assert_int_equal(q->amount[SIGN_COIL_CRACKED], 2);
        assert_int_equal(q->amount[SIGN_COIL_TRACKED], 0);
        assert_int_equal(q->amount[SIGN_COIL_SWOLLEN], AMOUNT_UNSEEN);
        if (again == 0)
            json = casefile_format(&r);
        record_release(&r);
    }
    free(json);
}

#define ENGINE "\"engine\":{\"layout\":\"inline\",\"banks\":[{\"name\":\"1\",\"cylinders\":[1,2,3,4]}],\"firing_order\":[1,3,4,2]}"

static void mistakes_are_named(void **state)
{
    static const struct {
        const char *json, *said;
    } rows[] = {
        {"", "The case is empty."},
        {"{", "The case is no valid JSON; the trouble starts in line 1."},
        {"{} {}", "The case is no valid JSON; the trouble starts in line 1."},
        {"{}", "The case has no engine."},
        {"[]", "the case must be an object"},
        {"{" ENGINE "}", "The case has no visit."},
        {"{" ENGINE ",\"visit\":{},\"colour\":1}", "the case: unknown key “colour”. Known here: format, engine"},
        {"{" ENGINE ",\"visit\":{\"mood\":1}}", "visit: unknown key “mood”."},
        {"{" ENGINE ",\"visit\":{\"date\":\"14.6.2026\"}}", "visit.date: “14.6.2026” is no date like 2026-06-14."},
        {"{" ENGINE ",\"visit\":{\"socket\":\"dirty\"}}", "visit.socket: unknown word “dirty”. Known: shared, wiped."},
        {"{" ENGINE ",\"visit\":{\"codes\":[\"0306\"]}}", "visit.codes[0]: “0306” is no trouble code like P0306."},
        {"{" ENGINE ",\"visit\":{},\"readings\":[{\"gap_mm\":1}]}", "readings[0].cylinder is missing."},
        {"{" ENGINE ",\"visit\":{},\"readings\":[{\"cylinder\":5}]}", "readings[0].cylinder: the engine has no cylinder 5."},
        {"{" ENGINE ",\"visit\":{},\"readings\":[{\"cylinder\":1},{\"cylinder\":1}]}", "readings[1]: cylinder 1 is read twice."},
        {"{" ENGINE ",\"visit\":{},\"readings\":[{\"cylinder\":1,\"gap_mm\":-1}]}", "readings[0].gap_mm is -1; it must lie between 0 and 25."},
        {"{" ENGINE ",\"visit\":{},\"readings\":[{\"cylinder\":1,\"gap_mm\":\"1\"}]}", "readings[0].gap_mm must be a number."},
        {"{" ENGINE ",\"visit\":{},\"readings\":[{\"cylinder\":1,\"well\":[{\"sign\":\"beer\"}]}]}",
         "readings[0].well[0].sign: unknown word “beer”. Known: oil, water, rust, dirt, fuel."},
        {"{" ENGINE ",\"visit\":{},\"readings\":[{\"cylinder\":1,\"well\":[{\"sign\":\"oil\",\"amount\":4}]}]}",
         "readings[0].well[0].amount is 4; it must lie between 0 and 3."},
        {"{" ENGINE ",\"visit\":{},\"readings\":[{\"cylinder\":1,\"nose_lab\":[1,2]}]}", "readings[0].nose_lab must hold three numbers"},
        {"{" ENGINE ",\"visit\":{},\"visit\":{}}", "the case: the key “visit” comes twice."},
        {"{\"format\":2," ENGINE ",\"visit\":{}}", "The case has format 2"},
        {"{\"engine\":{\"layout\":\"inline\",\"banks\":[{\"cylinders\":[1,2]}],\"firing_order\":[1,1]},\"visit\":{}}",
         "engine.firing_order: Firing order: 1 appears twice, 2 is missing."},
        {"{" ENGINE ",\"visit\":{},\"earlier\":[{\"visit\":{},\"done\":[\"replaced:plug:cylinder 7\"]}]}",
         "earlier[0].done[0]: There is no cylinder 7."},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct record r;
        struct err e = {0};

        assert_false(casefile_parse(rows[i].json, strlen(rows[i].json), &r, &e));
        if (strncmp(e.text, rows[i].said, strlen(rows[i].said)) != 0)
            fail_msg("%s\n  said: %s\n  want: %s", rows[i].json, e.text, rows[i].said);
        assert_null(r.visits);
    }
}

/* A person who hands a case on hears what of the engine's card does not go along. */
static void what_a_case_leaves_out_is_named(void **state)
{
    struct engine en;
    char words[160], small[12];

    (void)state;
    engine_init(&en);
    assert_false(casefile_left_out(&en, words, sizeof words));
    assert_string_equal(words, "steps, parts, repairs");
    en.fuel = ENGINE_CARBURETTOR;
    en.plug.maker_torque_nm = 28;
    en.plug.hex_mm = 16;
    assert_true(casefile_left_out(&en, words, sizeof words));
    assert_string_equal(words, "steps, parts, repairs, how the fuel comes in, the maker's torque, the plug's hex");
    (void)casefile_left_out(&en, small, sizeof small);
    assert_true(strlen(small) < sizeof small);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_case_survives_the_round_trip),
        cmocka_unit_test(what_was_not_said_stays_unsaid),
        cmocka_unit_test(what_is_written_arrives),
        cmocka_unit_test(mistakes_are_named),
        cmocka_unit_test(what_a_case_leaves_out_is_named),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
