/* Conversions against tests/outside/units.csv (exact fractions; agrees with GNU Units 2.22 and the
 * figures of NIST SP 811 appendix B), and gaps as people type them. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <string.h>

#include "base/csv.h"
#include "base/err.h"
#include "base/text.h"
#include "base/units.h"
#include "../help/help.h"

/* Names of the table -> ids of ours. */
static const struct {
    const char *theirs, *ours;
} names[] = {
    {"N.m", "Nm"},          {"L", "l"},          {"mL", "ml"},      {"US_qt", "US qt"},
    {"US_gal", "US gal"},   {"imp_gal", "imp gal"}, {"imp_pt", "imp pt"}, {"mile", "mi"},
};

static const struct unit *find(const char *theirs)
{
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (strcmp(names[i].theirs, theirs) == 0)
            return unit_find(names[i].ours);
    return unit_find(theirs);
}

static void conversions_agree_with_the_table(void **state)
{
    struct csv c = load_table("tests/outside/units.csv");
    size_t checked = 0;

    (void)state;
    for (size_t i = 1; i < c.n_rows; i++) {
        const struct unit *from = find(csv_cell(&c, i, csv_column(&c, "from")));
        const struct unit *to = find(csv_cell(&c, i, csv_column(&c, "to")));
        double in, out, got;

        if (from == NULL || to == NULL || from->kind != to->kind)
            continue;
        assert_true(text_to_double(csv_cell(&c, i, csv_column(&c, "sample_in")), &in));
        assert_true(text_to_double(csv_cell(&c, i, csv_column(&c, "sample_out")), &out));
        got = unit_convert(in, from, to);
        if (fabs(got - out) > 1e-14 * fabs(out) * 2)
            fail_msg("%g %s: %.17g, want %.17g %s", in, from->id, got, out, to->id);
        checked++;
    }
    assert_true(checked >= 160);
    csv_release(&c);
}

static void gaps_are_read_as_people_type_them(void **state)
{
    static const struct {
        const char *typed;
        bool inches, fine;
        int32_t um;
    } rows[] = {
        {"1.1", false, true, 1100},   {"1,1", false, true, 1100},  {" 1.10 mm", false, true, 1100},
        {"43", true, true, 1092},     {".043", true, true, 1092},  {"0.043 in", false, true, 1092},
        {"0.043\"", false, true, 1092}, {"1.1mm", true, true, 1100}, {"0", false, true, 0},
        {"25 mm", false, true, 25000}, {"110", false, true, 1100}, {"95", false, true, 950},
        {"19", false, true, 19000},   {"25.1", false, false, 0},   {"-1", false, false, 0},
        {"", false, false, 0},        {"wide", false, false, 0},   {"1.1.1", false, false, 0},
        {"9", true, false, 0},        {"nan", false, false, 0},    {"0x1", false, false, 0},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        int32_t um = -1;
        bool fine = unit_parse_gap(rows[i].typed, rows[i].inches, &um);

        if (fine != rows[i].fine || (fine && um != rows[i].um))
            fail_msg("\"%s\" gave %d, %d µm", rows[i].typed, fine, (int)um);
    }
}

/* NIST SP 811: 25.4 mm an inch, 6.894757 kPa a psi, 1.355818 N·m a lbf·ft. */
static void figures_are_told_in_the_units_chosen(void **state)
{
    static const struct {
        const char *units, *gap, *pressure, *torque, *one;
    } rows[] = {
        {"", "1.10 mm", "1,180 kPa", "25–34 N·m (18–25 lbf·ft)", "28 N·m (21 lbf·ft)"},
        {"in,psi", "0.043 in", "171 psi", "18–25 lbf·ft (25–34 N·m)", "21 lbf·ft (28 N·m)"},
        {"bar", "1.10 mm", "11.8 bar", "25–34 N·m (18–25 lbf·ft)", "28 N·m (21 lbf·ft)"},
        {"kPa, mm", "1.10 mm", "1,180 kPa", "25–34 N·m (18–25 lbf·ft)", "28 N·m (21 lbf·ft)"},
    };
    struct unit_choice c = {0};
    char words[64], again[64];
    struct err e = {0};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        c = (struct unit_choice){0};
        assert_true(unit_choice_parse(rows[i].units, &c, &e));
        unit_tell_length(&c, 1.1, true, words, sizeof words);
        assert_string_equal(words, rows[i].gap);
        unit_tell_pressure(&c, 1180, true, words, sizeof words);
        assert_string_equal(words, rows[i].pressure);
        unit_tell_torque(&c, 25, 34, words, sizeof words);
        assert_string_equal(words, rows[i].torque);
        unit_tell_torque(&c, 28, 28, words, sizeof words);
        assert_string_equal(words, rows[i].one);
        unit_choice_format(&c, words, sizeof words);
        assert_true(unit_choice_parse(words, &c, &e));
        unit_choice_format(&c, again, sizeof again);
        assert_string_equal(words, again);
    }
    c = (struct unit_choice){true, NULL};
    assert_false(unit_choice_parse("mm,furlong", &c, &e));
    assert_true(c.inches && strstr(e.text, "“furlong”") != NULL);
}

static void table_is_sound(void **state)
{
    size_t n;
    const struct unit *u = unit_rows(&n);

    (void)state;
    for (size_t i = 0; i < n; i++) {
        assert_true(u[i].factor > 0 && u[i].label[0] != '\0' && u[i].kind < UNIT_KIND_COUNT);
        assert_ptr_equal(unit_find(u[i].id), &u[i]); /* ids unique */
        assert_true(text_is_utf8(u[i].label, strlen(u[i].label)));
    }
}

/* 1 lbf·ft is 1.3558179483 N·m, 1 lbf·in 0.1129848290, 1 kgf·m 9.80665: NIST SP 811, table B.8. */
static void torque_as_people_write_it(void **state)
{
    static const struct {
        const char *typed, *unit;
        double nm;
    } rows[] = {{"25", "Nm", 25}, {" 25 Nm", "Nm", 25}, {"25 N·m", "Nm", 25}, {"18 lbf·ft", "lbf.ft", 24.4047230694}, {"18 ft-lb", "lbf.ft", 24.4047230694}, {"18 lb.ft", "lbf.ft", 24.4047230694},
                {"18,5 ft lbs", "lbf.ft", 25.0826320436}, {"150 in-lb", "lbf.in", 16.94772435}, {"2.5 kgf m", "kgf.m", 24.516625}};
    static const char *const none[] = {"", "tight", "25 bar", "0.5", "101", "25 Nm 3", "80 lbf ft", "-3", "18'", "18\"", "25 Nm of dry thread and then some"};
    const struct unit *unit;
    double nm;

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (!unit_parse_torque(rows[i].typed, unit_find("Nm"), &nm, &unit))
            fail_msg("%s is not understood", rows[i].typed);
        assert_string_equal(unit->id, rows[i].unit);
        assert_true(fabs(nm - rows[i].nm) < 1e-6);
    }
    assert_true(unit_parse_torque("18", unit_find("lbf.ft"), &nm, &unit) && fabs(nm - 24.4047230694) < 1e-6);
    for (size_t i = 0; i < sizeof none / sizeof none[0]; i++)
        if (unit_parse_torque(none[i], unit_find("Nm"), &nm, &unit))
            fail_msg("%s is taken for %g N·m", none[i], nm);
}

/* Figures by hand: 0.03 / 25.4 = 0.00118; 1.1 / 25.4 = 0.0433; 690 / 6.894757 = 100.1 (NIST SP 811). */
static void figures_in_words_are_told_as_the_person_counts(void **state)
{
    static const struct {
        const char *words, *mm_kpa, *in_psi;
    } cases[] = {
        {"read to about {0.03 mm}, so {1.1 mm}", "read to about 0.03 mm, so 1.10 mm", "read to about 0.0012 in, so 0.043 in"},
        {"each at least {690 kPa}", "each at least 690 kPa", "each at least 100 psi"},
        {"{100 psi}", "689 kPa", "100 psi"},
        {"no figure {}, {mm}, {3}, {3 stone}, {1 km}, {open", "no figure {}, {mm}, {3}, {3 stone}, {1 km}, {open", "no figure {}, {mm}, {3}, {3 stone}, {1 km}, {open"},
        {"", "", ""},
    };
    const struct unit_choice here = {false, unit_find("kPa")}, there = {true, unit_find("psi")};
    char words[120];

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        unit_tell_words(&here, cases[i].words, words, sizeof words);
        assert_string_equal(words, cases[i].mm_kpa);
        unit_tell_words(&there, cases[i].words, words, sizeof words);
        assert_string_equal(words, cases[i].in_psi);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(figures_in_words_are_told_as_the_person_counts),
        cmocka_unit_test(conversions_agree_with_the_table),
        cmocka_unit_test(gaps_are_read_as_people_type_them),
        cmocka_unit_test(figures_are_told_in_the_units_chosen),
        cmocka_unit_test(table_is_sound),
        cmocka_unit_test(torque_as_people_write_it),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
