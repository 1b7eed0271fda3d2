/* Trends: what was changed between visits is named, figures are told in the units chosen. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "reading/wear.h"
#include "report/trend.h"

static struct record r;

/* A four, three visits; new plugs after the first, the gap of 2 set and a coil renewed after the second. */
static int begin(void **state)
{
    struct err e = {0};

    (void)state;
    record_init(&r);
    engine_init(&r.engine);
    if (!engine_parse_banks(&r.engine, "1 2 3 4", &e) || !engine_parse_firing(&r.engine, "1 3 4 2", &e) || !engine_finish(&r.engine, &e))
        return -1;
    for (int v = 0; v < 3; v++) {
        struct visit *visit = record_add_visit(&r);

        snprintf(visit->date, sizeof visit->date, "202%d-06-14", 3 + v);
        visit->odometer_m = MAYBE(1e8 + 1e7 * v);
        for (int c = 0; c < 4; c++) {
            struct reading *q = visit_reading(visit, &r.engine, c, 0);

            reading_init(q, c, 0);
            q->present = true;
            q->gap_mm = MAYBE(1.0 + 0.05 * v);
            q->compression_kpa = MAYBE(1180 + 10 * c);
        }
    }
    if (!visit_parse_done(&r.engine, "replaced:plug:all", &r.visits[0].done[r.visits[0].n_done++], &e) ||
        !visit_parse_done(&r.engine, "replaced:coil:cylinder 3", &r.visits[1].done[r.visits[1].n_done++], &e) ||
        !visit_parse_done(&r.engine, "replaced:plug:cylinder 4", &r.visits[1].done[r.visits[1].n_done++], &e))
        fail_msg("%s", e.text);
    visit_reading(&r.visits[1], &r.engine, 1, 0)->gap_left_mm = MAYBE(1.0);
    return 0;
}

static int end(void **state)
{
    (void)state;
    record_release(&r);
    return 0;
}

static void changes_are_named(void **state)
{
    static const struct {
        int measure, visit;
        const char *words;
    } rows[] = {
        {0, 0, "new plugs"}, {0, 1, "new plug 4; gaps set; coil replaced, cylinder 3"}, {0, 2, ""},
        {2, 0, ""},          {2, 1, "coil replaced, cylinder 3"}, /* plugs are nothing to compression */
    };
    struct unit_choice units = {0};
    struct trend t;
    char words[200];

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        trend_init(&t, &r, rows[i].measure, false, &units);
        trend_change_words(&t, rows[i].visit, words, sizeof words);
        if (strcmp(words, rows[i].words) != 0)
            fail_msg("measure %d, visit %d: “%s”, not “%s”", rows[i].measure, rows[i].visit, words, rows[i].words);
    }
}

/* NIST SP 811: 25.4 mm an inch, 6.894757 kPa a psi. */
static void figures_follow_the_units(void **state)
{
    static const struct {
        const char *units;
        int measure;
        const char *figure, *axis;
    } rows[] = {
        {"mm,kPa", 0, "1.10 mm", "gap, mm"},       {"in", 0, "0.043 in", "gap, in"},
        {"kPa", 2, "1,180 kPa", "compression, kPa"}, {"psi", 2, "171 psi", "compression, psi"},
        {"bar", 2, "11.8 bar", "compression, bar"},  {"in,psi", 4, "", "leak-down, %"},
    };
    char words[64];

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct unit_choice units = {0};
        struct trend t;

        assert_true(unit_choice_parse(rows[i].units, &units, NULL));
        trend_init(&t, &r, rows[i].measure, false, &units);
        if (rows[i].figure[0] != '\0') {
            trend_figure(&t, trend_value(&t, 2, 0).value, words, sizeof words);
            assert_string_equal(words, rows[i].figure);
        }
        trend_axis_words(&t, false, words, sizeof words);
        assert_string_equal(words, rows[i].axis);
        trend_axis_words(&t, true, words, sizeof words);
        assert_string_equal(words, "odometer, km");
    }
}

/* Names at the ends of the lines: in the order of the lines, never nearer than asked, inside the picture. */
static void names_stand_apart(void **state)
{
    static const struct {
        const char *name;
        int n;
        double y[6];
        int strong, left;
        double at[6]; /* by hand; of those left */
    } rows[] = {
        {"far apart: beside their ends", 3, {50, 10, 90}, -1, 3, {10, 50, 90}},
        {"two at one place", 2, {40, 40}, -1, 2, {40, 56}},
        {"at the bottom: pushed up", 3, {99, 100, 98}, -1, 3, {68, 84, 100}},
        {"at the top: pushed down", 2, {-5, 1}, -1, 2, {0, 16}},
        {"none", 0, {0}, -1, 0, {0}},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct trend_end ends[6] = {{0}};

        for (int k = 0; k < rows[i].n; k++)
            ends[k] = (struct trend_end){.line = k, .y = rows[i].y[k]};
        print_message("%s\n", rows[i].name);
        assert_int_equal(trend_ends_apart(ends, rows[i].n, rows[i].strong, 0, 100, 16), rows[i].left);
        for (int k = 0; k < rows[i].left; k++) {
            assert_float_equal(ends[k].at, rows[i].at[k], 1e-9);
            assert_true(k == 0 || ends[k].y >= ends[k - 1].y);
        }
    }
}

/* Of 24 in the room of 7: two at either end and the one that is chosen. */
static void too_many_names_are_thinned(void **state)
{
    struct trend_end ends[24] = {{0}};
    bool strong = false;

    (void)state;
    for (int k = 0; k < 24; k++)
        ends[k] = (struct trend_end){.line = k, .y = 100 - 4 * k};
    assert_int_equal(trend_ends_apart(ends, 24, 11, 0, 100, 16), 5);
    for (int k = 0; k < 5; k++) {
        strong = strong || ends[k].line == 11;
        assert_true(ends[k].at >= 0 && ends[k].at <= 100);
        assert_true(k == 0 || ends[k].at - ends[k - 1].at >= 16 - 1e-9);
    }
    assert_true(strong);
    assert_int_equal(ends[0].line, 23);
    assert_int_equal(ends[4].line, 0);
}

/* Of many visits the latest are drawn; of few, all. */
static void the_latest_visits_are_drawn(void **state)
{
    struct record many = {.n_visits = TREND_VISITS_MAX + 5}, out;
    struct visit *all = calloc((size_t)many.n_visits, sizeof *all);

    (void)state;
    assert_non_null(all);
    many.visits = all;
    out = trend_latest_visits(&many);
    assert_int_equal(out.n_visits, TREND_VISITS_MAX);
    assert_ptr_equal(out.visits, all + 5);
    many.n_visits = 3;
    out = trend_latest_visits(&many);
    assert_int_equal(out.n_visits, 3);
    assert_ptr_equal(out.visits, all);
    free(all);
}

/* A plug that was in another hole before is not new. */
static void a_plug_that_changed_holes_is_not_new(void **state)
{
    struct unit_choice units = {0};
    struct trend t;
    char words[200];

    (void)state;
    r.visits[0].n_done = 0;
    for (int v = 0; v < 2; v++)
        for (int c = 0; c < 4; c++)
            snprintf(r.visits[v].readings[c].plug_id, sizeof r.visits[v].readings[c].plug_id, "plug-%d", v == 0 ? c : c == 0 ? 1 : c == 1 ? 0 : c);
    trend_init(&t, &r, 0, false, &units);
    trend_change_words(&t, 0, words, sizeof words);
    assert_string_equal(words, "plug from 2 in 1; plug from 1 in 2");
    snprintf(r.visits[1].readings[3].plug_id, sizeof r.visits[1].readings[3].plug_id, "plug-9");
    trend_change_words(&t, 0, words, sizeof words);
    assert_string_equal(words, "new plug 4; plug from 2 in 1; plug from 1 in 2");
    assert_true(visit_parse_done(&r.engine, "replaced:coil:cylinders 3,4", &r.visits[0].done[0], NULL));
    r.visits[0].n_done = 1;
    trend_change_words(&t, 0, words, sizeof words);
    assert_non_null(strstr(words, "; coil replaced, cylinders 3, 4")); /* and not "3,4" */
    r.visits[0].n_done = 0;
}

/* The Line-up told the change of a gap over a renewal, as if one plug had shrunk. */
static void what_is_in_a_hole_at_two_visits_is_one_plug_or_two(void **state)
{
    (void)state;
    for (int plug = 0; plug < 4; plug++) {
        assert_false(trend_same_plug(&r, 0, 1, plug)); /* all renewed after the first visit */
        assert_false(trend_same_plug(&r, 2, 0, plug)); /* and so over all of them, whichever is named first */
        assert_true(trend_same_plug(&r, 1, 2, plug) == (plug != 3)); /* plug 4 after the second */
        assert_true(trend_same_plug(&r, 1, 1, plug));
    }
    r.visits[0].n_done = 0;
    assert_true(trend_same_plug(&r, 0, 1, 0));
    /* by their names, also where the visit between does not tell which it was */
    text_copy(r.visits[0].readings[1].plug_id, sizeof r.visits[0].readings[1].plug_id, "plug-1");
    text_copy(r.visits[2].readings[1].plug_id, sizeof r.visits[2].readings[1].plug_id, "plug-7");
    assert_false(trend_same_plug(&r, 0, 2, 1));
    text_copy(r.visits[2].readings[1].plug_id, sizeof r.visits[2].readings[1].plug_id, "plug-1");
    assert_true(trend_same_plug(&r, 0, 2, 1));
}

static void expect_line(const struct trend *t, int line, const char *name, double first, double second, double third)
{
    const double gaps[3] = {first, second, third};
    char words[TREND_NAME_BYTES];

    trend_line_name(t, line, words, sizeof words);
    assert_string_equal(words, name);
    for (int v = 0; v < 3; v++) {
        struct maybe y = trend_value(t, v, line);

        if (y.given != (gaps[v] > 0) || (y.given && (y.value < gaps[v] - 1e-9 || y.value > gaps[v] + 1e-9)))
            fail_msg("line %d, visit %d: %.3f, not %.3f", line, v, y.given ? y.value : 0, gaps[v]);
    }
}

/* Three visits: the plugs of 1 and 2 change places after the first, a new one comes into 4 after the second. */
static void write_swap(bool named)
{
    static const double gaps[3][4] = {{1.00, 1.10, 1.20, 1.30}, {1.15, 1.05, 1.25, 1.35}, {1.20, 1.10, 1.30, 1.00}};
    static const char *const plugs[3] = {"abcd", "bacd", "bace"};
    struct err e = {0};

    for (int v = 0; v < 3; v++) {
        r.visits[v].n_done = 0;
        for (int c = 0; c < 4; c++) {
            r.visits[v].readings[c].gap_mm = MAYBE(gaps[v][c]);
            r.visits[v].readings[c].gap_left_mm.given = false;
            if (named)
                snprintf(r.visits[v].readings[c].plug_id, sizeof r.visits[v].readings[c].plug_id, "plug-%c", plugs[v][c]);
        }
    }
    if (!named && (!visit_parse_done(&r.engine, "swapped:plug:cylinders 1,2", &r.visits[0].done[r.visits[0].n_done++], &e) ||
                   !visit_parse_done(&r.engine, "replaced:plug:cylinder 4", &r.visits[1].done[r.visits[1].n_done++], &e)))
        fail_msg("%s", e.text);
}

static void a_line_follows_its_plug(void **state)
{
    (void)state;
    for (int named = 0; named < 2; named++) { /* told by their names, or by the work that was done */
        struct arena *a = arena_create();
        struct unit_choice units = {0};
        struct trend t;
        struct stats_trend fit;
        double x0, middle = 0, low = 0, high = 0;
        int n;

        write_swap(named);
        trend_init(&t, &r, 0, false, &units);
        trend_follow_plugs(&t, a);
        assert_int_equal(t.n_lines, 5);
        expect_line(&t, 0, "1, was 2", 1.10, 1.15, 1.20);
        expect_line(&t, 1, "2, was 1", 1.00, 1.05, 1.10);
        expect_line(&t, 2, "3", 1.20, 1.25, 1.30);
        expect_line(&t, 3, "4", 0, 0, 1.00); /* a new plug, a new line */
        expect_line(&t, 4, "out, was 4", 1.30, 1.35, 0);
        for (int v = 0; v < 3; v++)
            for (int i = 0; i < t.n_lines; i++) {
                assert_int_equal(trend_moved(&t, v, i), v == 1 && i < 2);
                assert_int_equal(trend_renewed_after(&t, v, i), v == 1 && i == 4);
            }
        assert_int_equal(trend_plug(&t, 4), -1);
        /* 0.05 mm in 10,000 km, through both holes */
        assert_true(trend_fit(&t, 0, &fit, &n, &x0) && n == 3);
        assert_true(fabs(fit.slope * 1e4 - 0.05) < 1e-9);
        assert_int_equal(trend_spread(&t, 2, &middle, &low, &high), 4);
        assert_true(fabs(middle - 1.15) < 1e-9);
        arena_destroy(a);
        end(NULL);
        assert_int_equal(begin(NULL), 0);
    }
}

/* What is left, what was changed and the middle are the same whichever way lines go. */
static void figures_keep_their_meaning_by_plug(void **state)
{
    struct arena *a = arena_create();
    struct wear *w = malloc(sizeof *w);
    struct unit_choice units = {0};
    struct trend by_hole, by_plug;
    int n_left = 0;

    (void)state;
    write_swap(true);
    r.engine.plug.gap_limit_mm = 1.6;
    wear_of(&r, w);
    trend_init(&by_hole, &r, 0, false, &units);
    by_plug = by_hole;
    trend_follow_plugs(&by_plug, a);
    for (int v = 0; v < 3; v++) {
        char one[200], other[200];

        trend_change_words(&by_hole, v, one, sizeof one);
        trend_change_words(&by_plug, v, other, sizeof other);
        assert_string_equal(one, other);
        assert_int_equal(trend_new_set(&by_hole, v), trend_new_set(&by_plug, v));
    }
    for (int i = 0; i < by_plug.n_lines; i++) {
        char one[96] = "", other[96];

        if (i < by_hole.n_lines)
            trend_left_words(&by_hole, w, i, one, sizeof one);
        trend_left_words(&by_plug, w, i, other, sizeof other);
        assert_string_equal(one, other);
        n_left += one[0] != '\0';
    }
    assert_int_equal(n_left, 4);
    /* a cylinder's measure has no plug to follow */
    trend_init(&by_plug, &r, 2, false, &units);
    trend_follow_plugs(&by_plug, a);
    assert_null(by_plug.holes);
    assert_int_equal(by_plug.n_lines, 4);
    free(w);
    arena_destroy(a);
}

/* One that lay aside for a visit is the same plug when it comes back. */
static void a_plug_that_lay_aside_comes_back(void **state)
{
    struct arena *a = arena_create();
    struct unit_choice units = {0};
    struct trend t;

    (void)state;
    write_swap(true);
    snprintf(r.visits[1].readings[2].plug_id, sizeof r.visits[1].readings[2].plug_id, "plug-x");
    trend_init(&t, &r, 0, false, &units);
    trend_follow_plugs(&t, a);
    assert_int_equal(t.n_lines, 6);
    expect_line(&t, 2, "3", 1.20, 0, 1.30);
    expect_line(&t, 4, "out, was 3", 0, 1.25, 0);
    expect_line(&t, 5, "out, was 4", 1.30, 1.35, 0);
    arena_destroy(a);
}

/* The gap a plug was left with is drawn too: within the picture, also when it is the only one. */
static void what_is_left_lies_within_the_picture(void **state)
{
    struct unit_choice mm = {0};
    struct trend t;

    (void)state;
    visit_reading(&r.visits[1], &r.engine, 1, 0)->gap_left_mm = MAYBE(0.7);
    trend_init(&t, &r, 0, true, &mm);
    assert_true(trend_range(&t) && t.y_low < 0.7);
    for (int v = 0; v < r.n_visits; v++)
        for (int c = 0; c < 4; c++)
            visit_reading(&r.visits[v], &r.engine, c, 0)->gap_mm.given = false;
    trend_init(&t, &r, 0, true, &mm);
    assert_true(trend_range(&t) && t.y_low < 0.7 && t.y_high > 0.7);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(what_is_left_lies_within_the_picture, begin, end), cmocka_unit_test_setup_teardown(changes_are_named, begin, end),
        cmocka_unit_test_setup_teardown(figures_follow_the_units, begin, end),
        cmocka_unit_test_setup_teardown(a_plug_that_changed_holes_is_not_new, begin, end),
        cmocka_unit_test_setup_teardown(what_is_in_a_hole_at_two_visits_is_one_plug_or_two, begin, end),
        cmocka_unit_test_setup_teardown(a_line_follows_its_plug, begin, end),
        cmocka_unit_test_setup_teardown(figures_keep_their_meaning_by_plug, begin, end),
        cmocka_unit_test_setup_teardown(a_plug_that_lay_aside_comes_back, begin, end),
        cmocka_unit_test(names_stand_apart),
        cmocka_unit_test(too_many_names_are_thinned),
        cmocka_unit_test(the_latest_visits_are_drawn),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
