/* What is said of the plugs that show a sign and of those that do not: counted by hand from the readings. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdio.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "reading/findings.h"

static struct record make(enum engine_layout layout, int n_positions, const char *banks, const char *order)
{
    struct record r;
    struct err e = {0};

    record_init(&r);
    r.engine.layout = layout;
    r.engine.plug.gap_min_mm = 0.8;
    r.engine.plug.gap_max_mm = 0.9;
    r.engine.plug.gap_limit_mm = 1.2;
    r.engine.n_positions = n_positions;
    if (n_positions > 1) {
        text_copy(r.engine.position_names[0], sizeof r.engine.position_names[0], "top");
        text_copy(r.engine.position_names[1], sizeof r.engine.position_names[1], "bottom");
    }
    if (!engine_parse_banks(&r.engine, banks, &e) || !engine_parse_firing(&r.engine, order, &e) || !engine_finish(&r.engine, &e))
        fail_msg("%s", e.text);
    record_add_visit(&r);
    return r;
}

static struct record eight(void)
{
    return make(ENGINE_V, 1, "1 3 5 7 / 2 4 6 8", "1 8 4 3 6 5 7 2");
}

static struct reading *plug(struct record *r, const char *label, int position)
{
    struct reading *found = visit_reading(&r->visits[r->n_visits - 1], &r->engine, engine_find_cylinder(&r->engine, label), position);

    found->present = true;
    return found;
}

static struct reading *at(struct record *r, int number)
{
    char label[8];

    text_format(label, sizeof label, "%d", number);
    return plug(r, label, 0);
}

static struct findings run(const struct record *r)
{
    struct findings f;
    struct reading_options o = {0};
    struct err e = {0};

    if (!reading_run(r, &o, &f, &e))
        fail_msg("%s", e.text);
    return f;
}

/* The finding whose headline begins so. */
static const struct stand_out *told(const struct findings *f, const char *headline)
{
    for (int i = 0; i < f->n_stand_outs; i++)
        if (text_starts(f->stand_outs[i].headline, headline))
            return &f->stand_outs[i];
    for (int i = 0; i < f->n_stand_outs; i++)
        fprintf(stderr, "there is: %s | %s\n", f->stand_outs[i].headline, f->stand_outs[i].text);
    fail_msg("nothing begins “%s”", headline);
    return NULL;
}

static bool line_with(const struct lines *l, const char *part)
{
    for (int i = 0; i < l->n; i++)
        if (strstr(l->text[i], part) != NULL)
            return true;
    return false;
}

/* Boots of 2 and 4 moderately soaked, 5 a trace, five clean. */
static void the_others_are_told_as_they_are(void **state)
{
    static const int soaked[] = {0, 2, 0, 2, 1, 0, 0, 0};
    struct record r = eight();
    struct findings f;

    (void)state;
    for (int i = 0; i < 8; i++)
        reading_note(at(&r, i + 1), SIGN_BOOT_OIL_SOAKED, soaked[i]);
    f = run(&r);
    assert_string_equal(told(&f, "Cylinders 2 and 4: oil-soaked boot")->text, "2 of the 8 looked at, moderate (bank 2); 6 others looked at: 1 a trace, 5 none.");
    assert_string_equal(told(&f, "Cylinder 5: oil-soaked boot")->text, "A trace (bank 1); 7 others looked at: 2 moderate, 5 none.");
    findings_release(&f);
    record_release(&r);
}

/* Seven sound plugs and the bottom one of 3: oily, with a gap past the limit. */
static void one_of_two_plugs_is_named(void **state)
{
    struct record r = make(ENGINE_FLAT, 2, "1 3 / 2 4", "1 3 2 4");
    struct findings f;

    (void)state;
    for (int i = 0; i < 8; i++) {
        struct reading *x = &r.visits[0].readings[i];
        bool odd = x == plug(&r, "3", 1);

        x->present = true;
        x->gap_mm = MAYBE(odd ? 1.30 : 0.85);
        reading_note(x, SIGN_OIL_WET, odd ? 2 : 0);
    }
    f = run(&r);
    assert_string_equal(told(&f, "Plug 3 bottom: oil-wet firing end")->text, "Moderate (bank 1); 7 others looked at: none.");
    assert_string_equal(told(&f, "Gap past the limit")->headline, "Gap past the limit: plug 3 bottom");
    findings_release(&f);

    for (int i = 0; i < 8; i++)
        reading_note(&r.visits[0].readings[i], SIGN_LEADED, i % 2 == 1 ? 2 : 0);
    f = run(&r);
    assert_string_equal(told(&f, "Bottom plugs of cylinders 1, 2, 3 and 4: lead deposit")->text, "4 of the 8 looked at, moderate; 4 others looked at: none.");
    findings_release(&f);
    record_release(&r);
}

static void the_normal_deposit_keeps_to_no_bank(void **state)
{
    struct record r = eight();
    struct findings f;

    (void)state;
    for (int i = 1; i <= 8; i++)
        reading_note(at(&r, i), i % 2 == 1 ? SIGN_NORMAL : SIGN_DRY_CARBON, 2);
    f = run(&r);
    for (int i = 0; i < f.n_stand_outs; i++) {
        assert_int_not_equal(f.stand_outs[i].level, LEVEL_NONE);
        assert_null(strstr(f.stand_outs[i].headline, "Normal"));
    }
    told(&f, "Dry soot keeps to bank 2");
    findings_release(&f);
    record_release(&r);
}

/* Both plugs of one cylinder are that cylinder, and no pattern of its bank whose other cylinder is clean. */
static void two_plugs_of_a_cylinder_are_no_bank(void **state)
{
    struct record r = make(ENGINE_FLAT, 2, "1 3 / 2 4", "1 3 2 4");
    struct findings f;

    (void)state;
    for (int i = 0; i < 8; i++) {
        r.visits[0].readings[i].present = true;
        reading_note(&r.visits[0].readings[i], SIGN_NORMAL, 2);
    }
    for (int p = 0; p < 2; p++)
        reading_note(plug(&r, "3", p), SIGN_DRY_CARBON, 3);
    f = run(&r);
    for (int i = 0; i < f.n_stand_outs; i++)
        assert_null(strstr(f.stand_outs[i].headline, "keeps to bank"));
    assert_string_equal(told(&f, "Cylinder 3: dry soot")->headline, "Cylinder 3: dry soot");
    findings_release(&f);
    /* of both its cylinders it is one */
    for (int p = 0; p < 2; p++)
        reading_note(plug(&r, "1", p), SIGN_DRY_CARBON, 3);
    f = run(&r);
    told(&f, "Dry soot keeps to bank 1");
    findings_release(&f);
    record_release(&r);
}

static void codes_name_what_they_name(void **state)
{
    struct record r = eight();
    struct findings f;
    struct err e;

    (void)state;
    assert_true(visit_add_code(&r.visits[0], "P0171", &e) && visit_add_code(&r.visits[0], "P0174", &e) && visit_add_code(&r.visits[0], "P0306", &e));
    reading_note(at(&r, 1), SIGN_NORMAL, 2);
    f = run(&r);
    assert_string_equal(told(&f, "P0171")->headline, "P0171 names bank 1");
    assert_string_equal(told(&f, "P0174")->headline, "P0174 names bank 2");
    assert_string_equal(told(&f, "P0306")->headline, "P0306 names cylinder 6");
    assert_true(line_with(&told(&f, "P0306")->missing, "the firing end of cylinder 6"));
    findings_release(&f);
    reading_note(at(&r, 6), SIGN_NORMAL, 2);
    f = run(&r);
    assert_false(line_with(&told(&f, "P0306")->missing, "the firing end of cylinder 6"));
    findings_release(&f);
    record_release(&r);

    r = make(ENGINE_INLINE, 1, "1 2 3 4 5 6", "1 5 3 6 2 4");
    assert_true(visit_add_code(&r.visits[0], "P0171", &e));
    f = run(&r);
    assert_string_equal(told(&f, "P0171")->headline, "P0171 names the only bank");
    findings_release(&f);
    record_release(&r);
}

/* A set is renewed when the set is worn. */
static void one_worn_plug_is_no_worn_set(void **state)
{
    struct record r = eight();
    struct findings f;

    (void)state;
    for (int i = 1; i <= 8; i++)
        at(&r, i)->electrode = words_find(WORDS_ELECTRODE, i == 3 ? "eroded" : "sharp");
    assert_true(words_find(WORDS_ELECTRODE, "sharp") > 0 && words_find(WORDS_ELECTRODE, "eroded") > 0);
    f = run(&r);
    assert_null(strstr(told(&f, "Cylinder 3: worn electrodes")->text, "Renew the set"));
    assert_true(text_starts(told(&f, "Cylinder 3: worn electrodes")->text, "Only this one of the 8 looked at"));
    findings_release(&f);
    for (int i = 1; i <= 5; i++)
        at(&r, i)->electrode = words_find(WORDS_ELECTRODE, "eroded");
    f = run(&r);
    assert_non_null(strstr(told(&f, "Cylinders 1, 2, 3, 4 and 5: worn electrodes")->text, "Renew the set"));
    findings_release(&f);
    record_release(&r);
}

/* Liquid in a cylinder breaks rods when the engine is cranked: said from a moderate amount of oil, fuel or coolant on, where
 * "do not start" says it, and for the bottom of a radial (places 4 to 7 of 9) that stood. */
static void liquid_is_turned_out_by_hand(void **state)
{
    static const struct {
        enum sign sign;
        int amount;
        bool warned;
    } rows[] = {{SIGN_OIL_WET, 3, true}, {SIGN_FUEL_WET, 3, true}, {SIGN_COOLANT, 2, true}, {SIGN_OIL_WET, 2, true}, {SIGN_FUEL_WET, 2, true}, {SIGN_WELL_OIL, 2, true},
                {SIGN_OIL_WET, 1, false}, {SIGN_FUEL_WET, 1, false}, {SIGN_WELL_OIL, 1, false}, {SIGN_DRY_CARBON, 3, false}};
    struct record r;
    struct findings f;

    (void)state;
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        r = eight();
        reading_note(at(&r, 4), rows[k].sign, rows[k].amount);
        reading_see_zone(at(&r, 4), ZONE_FIRING_END); /* it was drawn */
        f = run(&r);
        assert_int_equal(line_with(&f.advice, "by hand with the plugs out: cylinder 4 may hold liquid"), rows[k].warned);
        findings_release(&f);
        record_release(&r);
    }
    for (int stored = 0; stored <= 1; stored++) {
        r = make(ENGINE_RADIAL, 1, "1 2 3 4 5 6 7 8 9", "1 3 5 7 9 2 4 6 8");
        r.visits[0].last_run = stored ? words_find(WORDS_LAST_RUN, "stored") : 0;
        reading_note(at(&r, 1), SIGN_NORMAL, 2);
        f = run(&r);
        assert_int_equal(line_with(&f.advice, "cylinders 4, 5, 6 and 7 may hold liquid"), stored == 1);
        findings_release(&f);
        reading_note(at(&r, 5), SIGN_OIL_WET, 2);
        f = run(&r);
        assert_true(line_with(&f.advice, "may hold liquid"));
        assert_non_null(strstr(told(&f, "Cylinder 5: oil-wet firing end")->text, "drains to the bottom cylinders"));
        findings_release(&f);
        r.visits[0].state.ran = true; /* the warm idle is ticked, and nobody said that the plugs were in */
        f = run(&r);
        assert_true(line_with(&f.advice, "may hold liquid"));
        findings_release(&f);
        for (int c = 1; c <= 9; c++)
            at(&r, c)->refit = words_find(WORDS_REFIT, "torqued");
        f = run(&r);
        assert_false(line_with(&f.advice, "may hold liquid"));
        findings_release(&f);
        record_release(&r);
    }
}

/* Wherever an engine is shown it bears the level of the list on Plan: much soot is to act on, a gap unlike the others to watch. */
static void one_finding_has_one_level(void **state)
{
    static const enum level wanted[6] = {LEVEL_WATCH, LEVEL_ACT, LEVEL_ACT, LEVEL_NONE, LEVEL_ACT, LEVEL_WATCH};
    struct record r = make(ENGINE_INLINE, 1, "1 2 3 4 5 6", "1 5 3 6 2 4");
    enum level at_once[ENGINE_MAX_CYLINDERS];
    struct findings f;

    (void)state;
    r.engine.plug.gap_min_mm = r.engine.plug.gap_max_mm = r.engine.plug.gap_limit_mm = 0; /* no range is entered */
    for (int i = 1; i <= 6; i++) {
        at(&r, i)->gap_mm = MAYBE(i == 1 ? 0.6 : 0.9);
        reading_say(at(&r, i), i == 2 || i == 3 || i == 5 ? SIGN_DRY_CARBON : SIGN_NORMAL, i == 2 || i == 3 || i == 5 ? 3 : 2);
    }
    reading_say(at(&r, 6), SIGN_WELL_OIL, 1); /* a trace: a step less than its row */
    f = run(&r);
    reading_levels(&r, at_once);
    for (int c = 0; c < 6; c++) {
        assert_int_equal(at_once[c], findings_level(&f, c));
        assert_int_equal(at_once[c], wanted[c]);
    }
    assert_int_equal(findings_plug_level(&r.engine, at(&r, 2)), LEVEL_ACT);
    assert_int_equal(findings_plug_level(&r.engine, at(&r, 6)), findings_sign_level(&r.engine, SIGN_WELL_OIL, 1));
    findings_release(&f);
    record_release(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_finding_has_one_level),
        cmocka_unit_test(the_others_are_told_as_they_are),     cmocka_unit_test(one_of_two_plugs_is_named),
        cmocka_unit_test(the_normal_deposit_keeps_to_no_bank), cmocka_unit_test(two_plugs_of_a_cylinder_are_no_bank), cmocka_unit_test(codes_name_what_they_name),
        cmocka_unit_test(one_worn_plug_is_no_worn_set),        cmocka_unit_test(liquid_is_turned_out_by_hand),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
