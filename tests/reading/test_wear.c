/* Growth of the gap: published examples, and plugs followed through names, swaps and new sets. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "reading/findings.h"
#include "reading/wear.h"
#include "record/ready.h"

static struct record make(void)
{
    struct record r;
    struct err e = {.code = ERR_NONE};

    record_init(&r);
    r.engine.layout = ENGINE_INLINE;
    r.engine.plug.electrode = ENGINE_NICKEL;
    r.engine.plug.gap_min_mm = 1.0;
    r.engine.plug.gap_max_mm = 1.1;
    r.engine.plug.gap_limit_mm = 1.4;
    assert_true(engine_parse_banks(&r.engine, "1 2 3 4", &e) && engine_parse_firing(&r.engine, "1 3 4 2", &e) && engine_finish(&r.engine, &e));
    return r;
}

static struct visit *visit_at(struct record *r, const char *date, double km, const double *gap)
{
    struct visit *v = record_add_visit(r);

    text_copy(v->date, sizeof v->date, date);
    v->odometer_m = MAYBE(km * 1000);
    v->odometer_unit = words_find(WORDS_ODOMETER_UNIT, "km");
    for (int i = 0; i < 4; i++) {
        v->readings[i].present = true;
        if (gap[i] > 0)
            v->readings[i].gap_mm = MAYBE(gap[i]);
    }
    return v;
}

static void done(struct record *r, struct visit *v, const char *text)
{
    struct err e = {.code = ERR_NONE};

    if (!visit_parse_done(&r->engine, text, &v->done[v->n_done], &e))
        fail_msg("%s", e.text);
    v->n_done++;
}

static struct findings run(const struct record *r)
{
    struct findings f;
    struct reading_options o = {0};
    struct err e = {.code = ERR_NONE};

    if (!reading_run(r, &o, &f, &e))
        fail_msg("%s", e.text);
    return f;
}

static const struct stand_out *find(const struct findings *f, const char *headline)
{
    for (int i = 0; i < f->n_stand_outs; i++)
        if (f->stand_outs[i].kind == STAND_WEAR && strstr(f->stand_outs[i].headline, headline) != NULL)
            return &f->stand_outs[i];
    return NULL;
}

static bool near(double x, double want)
{
    return fabs(x - want) < 1e-6 * (1 + fabs(want));
}

/* DENSO, service life: 0.10 to 0.15 mm per 10 000 km, so 1.1 mm becomes 1.3 to 1.4 in 20 000 km. */
static void the_published_example_holds(void **state)
{
    static const double new_gap[] = {1.1, 1.1, 1.1, 1.1}, worn[] = {1.3, 1.35, 1.4, 1.3};
    struct record r = make();
    struct wear *w = calloc(1, sizeof *w);
    struct findings f;

    (void)state;
    visit_at(&r, "2024-01-01", 50000, new_gap);
    visit_at(&r, "2026-01-01", 70000, worn);
    wear_of(&r, w);
    assert_true(w->known && w->n_known == 4);
    assert_true(near(w->plugs[0].rate, 0.010) && near(w->plugs[2].rate, 0.015));
    assert_true(near(w->rate, (0.010 + 0.0125) / 2));
    assert_true(near(w->plugs[0].rate_high - w->plugs[0].rate, 2 * WEAR_GAUGE_MM / 20)); /* two points: the gauge rules */
    assert_true(near(w->plugs[0].left.value, 10e6));  /* (1.40 - 1.30) / 0.010 thousand km */
    assert_true(near(w->plugs[2].left.value, 0));
    f = run(&r);
    assert_non_null(find(&f, "Gaps grow by 0.011 mm per 1,000 km"));
    assert_null(find(&f, "Gap grows fast")); /* within the bound of 0.0158 */
    findings_release(&f);
    free(w);
    record_release(&r);
}

/* 0.040 in after 30 000 mi at the bound of 0.001 in per 1000 mi is 0.070 in (Dodge, Jeep): not more than that. */
static void the_bound_is_no_alarm_and_beyond_it_is(void **state)
{
    static const double new_gap[] = {1.016, 1.016, 1.016, 1.016}, bound[] = {1.778, 1.70, 1.60, 1.65}, beyond[] = {1.95, 1.70, 1.60, 1.65};
    double km = 30000 * 1.609344;

    (void)state;
    for (int k = 0; k < 2; k++) {
        struct record r = make();
        struct findings f;

        visit_at(&r, "2020-01-01", 1000, new_gap);
        visit_at(&r, "2026-01-01", 1000 + km, k == 0 ? bound : beyond);
        f = run(&r);
        if (k == 0) {
            assert_null(find(&f, "Gap grows fast"));
        } else {
            assert_non_null(find(&f, "Gap grows fast: cylinder 1"));
            assert_int_equal(find(&f, "Gap grows fast")->cylinders, 1);
        }
        findings_release(&f);
        record_release(&r);
    }
}

/* What ends a run and what carries it on. */
static void plugs_are_followed(void **state)
{
    static const double first[] = {1.00, 1.01, 1.02, 1.03}, second[] = {1.10, 1.11, 1.12, 1.13}, third[] = {1.20, 1.21, 1.22, 1.23};
    struct wear *w = calloc(1, sizeof *w);
    struct record r = make();
    struct visit *a, *b;

    (void)state;
    visit_at(&r, "2022-01-01", 10000, first);
    visit_at(&r, "2023-01-01", 20000, second);
    visit_at(&r, "2024-01-01", 30000, third);
    a = &r.visits[0];
    b = &r.visits[1];
    done(&r, b, "replaced:plug:cylinder 1");
    done(&r, a, "swapped:plug:cylinders 2,3");
    b->readings[3].gap_left_mm = MAYBE(1.05); /* set back from 1.13 */
    wear_of(&r, w);
    assert_int_equal(w->plugs[0].n_points, 1); /* new: nothing known of it */
    assert_false(w->plugs[0].known);
    assert_true(w->plugs[0].left.given);       /* by the engine's rate */
    assert_int_equal(w->plugs[1].n_points, 3);
    assert_true(near(w->plugs[1].gap_mm[0], 1.02)); /* it was in 3 then */
    assert_int_equal(w->plugs[3].n_points, 2);
    assert_true(near(w->plugs[3].gap_mm[0], 1.05));
    assert_true(near(w->plugs[3].rate, 0.018));

    /* names win over holes: the plug now in 4 was in 1 all the time, the one now in 1 is new */
    text_copy(a->readings[0].plug_id, 40, "red");
    text_copy(b->readings[0].plug_id, 40, "red");
    text_copy(r.visits[2].readings[3].plug_id, 40, "red");
    text_copy(r.visits[2].readings[0].plug_id, 40, "blue");
    wear_of(&r, w);
    assert_int_equal(w->plugs[3].n_points, 3);
    assert_true(near(w->plugs[3].gap_mm[0], 1.00) && near(w->plugs[3].gap_mm[2], 1.23));
    assert_int_equal(w->plugs[0].n_points, 1);

    /* a plug that has run 12 000 km was not there 20 000 km ago */
    r.visits[2].readings[2].plug_distance_m = MAYBE(12e6);
    wear_of(&r, w);
    assert_int_equal(w->plugs[2].n_points, 2);
    free(w);
    record_release(&r);
}

static void one_that_wears_faster_is_unlike(void **state)
{
    static const double first[] = {1.00, 1.00, 1.00, 1.00}, last[] = {1.10, 1.11, 1.35, 1.10};
    struct record r = make();
    struct findings f;
    const struct stand_out *s;

    (void)state;
    visit_at(&r, "2022-01-01", 10000, first);
    visit_at(&r, "2024-01-01", 30000, last);
    f = run(&r);
    s = find(&f, "Growth of the gap at 3 is unlike its neighbours");
    assert_non_null(s);
    assert_int_equal(s->cylinders, 4);
    assert_string_equal(s->measure, "gap_growth");
    assert_true(near(s->value.value, 0.0175));
    s = find(&f, "Gaps grow by"); /* 1.40 is reached within less than the 20 000 km of last time */
    assert_int_equal(s->level, LEVEL_WATCH);
    assert_non_null(strstr(s->text, "Nearest to 1.40 mm is 3 at 1.35 mm: about 2,900 km left."));
    /* in lists, the same in short */
    struct wear *w = malloc(sizeof *w);
    char words[64];

    wear_of(&r, w);
    wear_format_left_range(&w->plugs[2], r.visits[1].odometer_unit, words, sizeof words);
    assert_string_equal(words, "2,900 km left"); /* two readings have no bounds */
    w->plugs[2].left_low = MAYBE(2.4e6);
    w->plugs[2].left_high = MAYBE(3.4e6);
    wear_format_left_range(&w->plugs[2], r.visits[1].odometer_unit, words, sizeof words);
    assert_string_equal(words, "2,900 km left (2,400–3,400)");
    w->plugs[2].left_high.given = false;
    wear_format_left_range(&w->plugs[2], r.visits[1].odometer_unit, words, sizeof words);
    assert_string_equal(words, "2,900 km left (at least 2,400)");
    free(w);
    findings_release(&f);
    record_release(&r);
}

static void without_distance_nothing_is_claimed(void **state)
{
    static const double first[] = {1.00, 1.00, 1.00, 1.00}, last[] = {1.10, 1.11, 1.35, 1.10};
    struct record r = make();
    struct findings f;
    bool told = false;

    (void)state;
    visit_at(&r, "2022-01-01", 10000, first);
    visit_at(&r, "2024-01-01", 30000, last)->odometer_m.given = false;
    f = run(&r);
    assert_null(find(&f, ""));
    for (int i = 0; i < f.notes.n; i++)
        told = told || strstr(f.notes.text[i], "odometer of this visit is not noted") != NULL;
    assert_true(told);
    findings_release(&f);
    record_release(&r);
}

/* An odometer that went back is said, and nothing is computed across it. */
/* Readings that moved by no more than two are off together tell no growth, no distance left; a smaller gap is none. */
static void within_the_gauge_nothing_grows(void **state)
{
    static const double gaps[2][4] = {{0.84, 0.85, 0.89, 1.10}, {0.86, 0.86, 0.86, 0.86}};
    struct record r = make();
    struct findings f;
    struct wear w;
    int said = 0;

    (void)state;
    r.engine.plug.gap_limit_mm = 1.3;
    visit_at(&r, "2026-01-01", 98500, gaps[0]);
    visit_at(&r, "2026-02-01", 99732, gaps[1]);
    wear_of(&r, &w);
    assert_false(w.known);
    assert_true(w.within && w.plugs[3].shrunk && !w.plugs[3].known);
    for (int i = 0; i < 4; i++)
        assert_false(w.plugs[i].known || w.plugs[i].left.given);
    f = run(&r);
    for (int i = 0; i < f.n_stand_outs; i++)
        assert_null(strstr(f.stand_outs[i].headline, "Gaps grow"));
    for (int i = 0; i < f.notes.n; i++)
        said += strstr(f.notes.text[i], "How fast the gaps grow cannot be told yet") != NULL;
    assert_int_equal(said, 1);
    findings_release(&f);
    record_release(&r);
}

static void the_odometer_went_back(void **state)
{
    static const double gaps[4][4] = {{1.00, 1.00, 1.00, 1.00}, {1.05, 1.05, 1.05, 1.05}, {1.10, 1.10, 1.10, 1.10}, {1.15, 1.15, 1.15, 1.15}};
    struct record r = make();
    struct findings f;
    struct wear w;
    int told = 0;

    (void)state;
    visit_at(&r, "2023-01-01", 1000, gaps[0]);
    visit_at(&r, "2023-06-01", 20000, gaps[1]);
    assert_int_equal(record_odometer_back(&r, 1), -1);
    visit_at(&r, "2024-01-01", 5000, gaps[2]);
    assert_int_equal(record_odometer_back(&r, 2), 1);
    wear_of(&r, &w);
    assert_int_equal(w.plugs[0].n_points, 1); /* 1,000 km lies before it went back */
    assert_false(w.known);
    visit_at(&r, "2024-06-01", 15000, gaps[3]);
    assert_int_equal(record_odometer_back(&r, 3), -1);
    wear_of(&r, &w);
    assert_int_equal(w.plugs[0].n_points, 2);
    assert_float_equal(w.plugs[0].rate, 0.005, 1e-9); /* 0.05 mm in 10,000 km */
    f = run(&r);
    for (int i = 0; i < f.notes.n; i++)
        told += strstr(f.notes.text[i], "The odometer went back, from 20,000 km (1 Jun 2023) to 5,000 km") != NULL;
    assert_int_equal(told, 1);
    findings_release(&f);
    assert_int_equal(record_odometer_leapt(&r, 3), -1);
    /* hours are another count */
    r.visits[1].odometer_unit = words_find(WORDS_ODOMETER_UNIT, "h");
    assert_int_equal(record_odometer_back(&r, 2), -1);
    record_release(&r);
}

/* Hours before and kilometres now cannot be set against each other: said, where growth was left out without a word. */
static void hours_before_and_distance_now(void **state)
{
    static const double gaps[2][4] = {{1.00, 1.00, 1.00, 1.00}, {1.20, 1.20, 1.20, 1.20}};
    struct record r = make();
    struct findings f;
    int told = 0;

    (void)state;
    visit_at(&r, "2023-01-01", 0, gaps[0]);
    r.visits[0].odometer_m = MAYBE(812 * 3600.0);
    r.visits[0].odometer_unit = words_find(WORDS_ODOMETER_UNIT, "h");
    visit_at(&r, "2024-01-01", 20000, gaps[1]);
    f = run(&r);
    for (int i = 0; i < f.notes.n; i++)
        told += strstr(f.notes.text[i], "shows 20,000 km, and showed 812 h (1 Jan 2023): hours and distance") != NULL;
    assert_int_equal(told, 1);
    findings_release(&f);
    /* one that is not noted says nothing of it; nor do two of a kind */
    r.visits[1].odometer_m.given = false;
    f = run(&r);
    for (int i = 0; i < f.notes.n; i++)
        assert_null(strstr(f.notes.text[i], "hours and distance"));
    findings_release(&f);
    r.visits[1].odometer_m = MAYBE(1000 * 3600.0);
    r.visits[1].odometer_unit = r.visits[0].odometer_unit;
    f = run(&r);
    for (int i = 0; i < f.notes.n; i++)
        assert_null(strstr(f.notes.text[i], "hours and distance"));
    findings_release(&f);
    record_release(&r);
}

/* 98,000 km and eleven days later 980,100: a digit too many. */
static void the_odometer_leapt(void **state)
{
    static const double gaps[3][4] = {{1.00, 1.00, 1.00, 1.00}, {1.05, 1.05, 1.05, 1.05}, {1.06, 1.06, 1.06, 1.06}};
    struct record r = make();
    struct findings f;
    struct wear w;
    struct ready x;
    int told = 0;

    (void)state;
    visit_at(&r, "2026-01-02", 90000, gaps[0]);
    visit_at(&r, "2026-06-14", 98000, gaps[1]);
    assert_int_equal(record_odometer_leapt(&r, 1), -1);
    visit_at(&r, "2026-06-25", 980100, gaps[2]);
    assert_int_equal(record_odometer_back(&r, 2), -1);
    assert_int_equal(record_odometer_leapt(&r, 2), 1);
    wear_of(&r, &w);
    assert_int_equal(w.plugs[0].n_points, 1);
    f = run(&r);
    for (int i = 0; i < f.notes.n; i++)
        told += strstr(f.notes.text[i], "The odometer went on by more than it can have run in the days between, from 98,000 km (14 Jun 2026) to 980,100 km") != NULL;
    assert_int_equal(told, 1);
    findings_release(&f);
    /* nor does it show that the engine has run: what was drawn before stays drawn */
    for (int i = 0; i < 4; i++)
        r.visits[2].readings[i] = (struct reading){.cylinder = i};
    ready_of(&r, &x);
    assert_int_equal(x.n_loose, 4);
    r.visits[2].odometer_m = MAYBE(98100e3);
    ready_of(&r, &x);
    assert_int_equal(x.n_loose, 0);
    r.visits[2].date[0] = '\0'; /* of no date nothing can be told */
    r.visits[2].odometer_m = MAYBE(980100e3);
    assert_int_equal(record_odometer_leapt(&r, 2), -1);
    record_release(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_published_example_holds),     cmocka_unit_test(the_bound_is_no_alarm_and_beyond_it_is),
        cmocka_unit_test(plugs_are_followed),              cmocka_unit_test(one_that_wears_faster_is_unlike),
        cmocka_unit_test(within_the_gauge_nothing_grows),
        cmocka_unit_test(the_odometer_went_back),
        cmocka_unit_test(the_odometer_leapt), cmocka_unit_test(hours_before_and_distance_now), cmocka_unit_test(without_distance_nothing_is_claimed),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
