/* What stands out: thresholds, neighbours of every kind, oil that is not the cylinder's own, states. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "../help/help.h"
#include "base/assets.h"
#include "base/err.h"
#include "base/text.h"
#include "reading/findings.h"
#include "reading/reading_work.h"
#include "reading/threshold.h"

static struct record make(enum engine_layout layout, const char *banks, const char *order, int n_positions)
{
    struct record r;
    struct err e = {.code = ERR_NONE};

    record_init(&r);
    r.engine.layout = layout;
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

static void put(struct record *r, int visit, const double *gap, const double *L)
{
    for (int i = 0; i < record_plug_count(&r->engine); i++) {
        struct reading *x = &r->visits[visit].readings[i];

        x->present = true;
        if (gap != NULL && gap[i] > 0)
            x->gap_mm = MAYBE(gap[i]);
        if (L != NULL && L[i] > 0) {
            x->nose_L = MAYBE(L[i]);
            x->nose_a = MAYBE(4);
            x->nose_b = MAYBE(12);
        }
    }
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

static const struct stand_out *find(const struct findings *f, enum stand_out_kind kind, const char *measure)
{
    for (int i = 0; i < f->n_stand_outs; i++)
        if (f->stand_outs[i].kind == kind && strcmp(f->stand_outs[i].measure, measure) == 0)
            return &f->stand_outs[i];
    return NULL;
}

static bool has_line(const struct lines *lines, const char *words)
{
    for (int i = 0; i < lines->n; i++)
        if (strstr(lines->text[i], words) != NULL)
            return true;
    return false;
}

/* ---- plugs that have not run ---- */

/* Of a V8 with pale noses all round and dry wells; said of each plug: how far it has run, none where negative. */
static struct record pale_v8(const double *run_km, enum sign also)
{
    struct record r = make(ENGINE_V, "1 3 5 7 / 2 4 6 8", "1 8 4 3 6 5 7 2", 1);

    for (int i = 0; i < 8; i++) {
        struct reading *q = &r.visits[0].readings[i];

        reading_note(q, SIGN_PALE, 1);
        if (also != SIGN_PALE)
            reading_note(q, also, 2);
        reading_see_zone(q, ZONE_WELL);
        q->nose_L = MAYBE(88);
        q->nose_a = MAYBE(0);
        q->nose_b = MAYBE(4);
        q->gap_mm = MAYBE(1.0);
        if (run_km[i] >= 0)
            q->plug_distance_m = MAYBE(run_km[i] * 1000);
    }
    return r;
}

static bool suspects(const struct findings *f, const char *cause)
{
    for (int i = 0; i < f->n_causes; i++)
        if (strcmp(f->causes[i].id, cause) == 0 && f->causes[i].probability >= CAUSE_LEAST_SHOWN)
            return true;
    return false;
}

/* New plugs are pale and clean by themselves: that is no lean mixture, and no sound one. What they show that a new one does
 * not was there all the same, and so were the wells. */
static void a_plug_that_has_not_run_does_not_speak_for_the_mixture(void **state)
{
    static const double none[8] = {0}, unsaid[8] = {-1, -1, -1, -1, -1, -1, -1, -1}, ran[8] = {40, 40, 40, 40, 40, 40, 40, 40}, half[8] = {40, 0, 40, 0, 40, 0, 40, 0};
    static const struct {
        const double *run_km;
        enum sign also;
        const char *measure; /* stands out */
        int n;               /* on so many cylinders; 0: not at all */
        bool air;
    } rows[] = {
        {none, SIGN_PALE, "firing_end.pale", 0, false},
        {unsaid, SIGN_PALE, "firing_end.pale", 8, true}, /* drawn and read as they came out */
        {ran, SIGN_PALE, "firing_end.pale", 8, true},
        {half, SIGN_PALE, "firing_end.pale", 4, true},
        {none, SIGN_OIL_WET, "firing_end.oil-wet", 8, false}, /* somebody has run them */
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct record r = pale_v8(rows[i].run_km, rows[i].also);
        struct findings f = run(&r);
        engine_set on = 0;

        for (int k = 0; k < f.n_stand_outs; k++)
            if (strcmp(f.stand_outs[k].measure, rows[i].measure) == 0)
                on |= f.stand_outs[k].cylinders;
        if (__builtin_popcount(on) != rows[i].n || suspects(&f, "air-all") != rows[i].air)
            fail_msg("row %zu: %s on %d cylinders, air leak %d", i, rows[i].measure, __builtin_popcount(on), suspects(&f, "air-all"));
        assert_int_equal(has_line(&f.notes, "have not run since they were fitted"), rows[i].run_km == none || rows[i].run_km == half);
        findings_release(&f);
        record_release(&r);
    }
}

/* ---- thresholds ---- */

static void every_threshold_has_reason_and_source(void **state)
{
    static const char *const needed[] = {"amount", "gap", "nose.L", "nose.a", "nose.b", "nose.dE", "compression", "compression_wet",
                                         "leak_percent", "differential_over_80", "gap_growth", "gap_growth_hours"};
    int n;
    const struct threshold *t = threshold_rows(&n);

    (void)state;
    for (size_t i = 0; i < sizeof needed / sizeof needed[0]; i++)
        assert_string_equal(threshold_find(needed[i])->id, needed[i]);
    assert_string_equal(threshold_find("well.oil")->id, "amount");
    for (int i = 0; i < n; i++) {
        assert_true(t[i].reason[0] != '\0' && t[i].source[0] != '\0');
        if (!t[i].compared)
            continue;
        assert_true(t[i].resolution > 0 && t[i].resolution < t[i].counts_from && t[i].counts_from <= t[i].always_from);
        assert_true(!t[i].relative || t[i].always_from < 1);
    }
}

static void a_wrong_threshold_is_named_by_its_line(void **state)
{
    static const struct {
        const char *row, *said;
    } rows[] = {
        {"gap,gap,mm,2,either,0.1,0.08,0.03,no,keep,why,whence", "Line 2: resolution"},
        {"gap,gap,mm,2,sideways,0.08,0.1,0.03,no,keep,why,whence", "Line 2: “sideways” is no worse"},
        {"gap,gap,mm,2,either,-1,0.1,0.03,no,keep,why,whence", "Line 2: counts_from"},
        {"gap,gap,mm,2,either,0.08,0.1,0.03,no,keep,,whence", "Line 2: reason or source"},
        {"gap,gap,mm,9,either,0.08,0.1,0.03,no,keep,why,whence", "Line 2: decimals"},
        {"gap,gap,mm,2,either,0.08,0.1,0.03,no,keep,why,whence\ngap,gap,mm,2,either,0.08,0.1,0.03,no,keep,why,whence", "Line 3: “gap” comes twice"},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct threshold *t = calloc(THRESHOLD_MAX, sizeof *t);
        struct text text = {0};
        struct csv c;
        struct err e = {.code = ERR_NONE};
        int n;

        text_addf(&text, "id,label,unit,decimals,worse,counts_from,always_from,resolution,relative,lasting,reason,source\n%s\n", rows[i].row);
        assert_true(csv_parse(text.s, text.n_bytes, ',', &c, &e));
        assert_false(threshold_parse(&c, t, &n, &e));
        if (strstr(e.text, rows[i].said) == NULL)
            fail_msg("said “%s”, not “%s”", e.text, rows[i].said);
        csv_release(&c);
        text_release(&text);
        free(t);
    }
}

/* ---- one against the others ---- */

/* Gaps read in steps of 0.05 have a MAD of 0: one step more is no finding, two are. */
static void steps_of_the_gauge_are_no_difference(void **state)
{
    static const double one_step[] = {1.05, 1.05, 1.10, 1.05, 1.05, 1.05}, two_steps[] = {1.05, 1.05, 1.15, 1.05, 1.05, 1.05};
    struct record r = make(ENGINE_INLINE, "1 2 3 4 5 6", "1 5 3 6 2 4", 1);
    struct findings f;
    const struct stand_out *s;

    (void)state;
    put(&r, 0, one_step, NULL);
    f = run(&r);
    assert_int_equal(f.n_stand_outs, 0);
    findings_release(&f);
    put(&r, 0, two_steps, NULL);
    f = run(&r);
    s = find(&f, STAND_UNLIKE_NEIGHBOURS, "gap");
    assert_non_null(s);
    assert_int_equal(s->cylinders, 4);
    assert_true(fabs(s->value.value - 1.15) < 1e-9 && fabs(s->reference.value - 1.05) < 1e-9);
    assert_string_equal(s->text, "1.15 mm; the other 5 all read 1.05 mm.");
    assert_non_null(strstr(s->how, "Median of all others (5): a difference of 0.10 mm"));
    assert_non_null(strstr(s->how, "its neighbours along the bank (2): +0.10"));
    assert_true(has_line(&s->missing, "how far this plug has run"));
    findings_release(&f);
    record_release(&r);
}

/* Bank 2 is wider as a whole: a pattern, no odd plugs; the one that is like the other bank is odd. */
static void a_plug_is_compared_with_its_bank_first(void **state)
{
    static const double gap[] = {1.05, 1.04, 1.06, 1.05, 1.05, 1.06, 1.20, 1.21, 1.19, 1.05, 1.20, 1.20};
    struct record r = make(ENGINE_V, "1 2 3 4 5 6 / 7 8 9 10 11 12", "1 7 5 11 3 9 6 12 2 8 4 10", 1);
    struct findings f;
    int n = 0, n_banks = 0;

    (void)state;
    put(&r, 0, gap, NULL);
    f = run(&r);
    for (int i = 0; i < f.n_stand_outs; i++)
        if (f.stand_outs[i].pattern >= 0) { /* the bank as a whole, told as the pattern it is */
            assert_int_equal(f.stand_outs[i].cylinders, 0xfc0);
            n_banks++;
        } else if (f.stand_outs[i].kind == STAND_UNLIKE_NEIGHBOURS) {
            assert_int_equal(f.stand_outs[i].cylinders, 1 << 9);
            assert_non_null(strstr(f.stand_outs[i].text, "(bank 2); the other 5 of its bank lie at 1.19–1.21 mm"));
            n++;
        }
    assert_int_equal(n, 1);
    assert_int_equal(n_banks, 1);
    findings_release(&f);
    record_release(&r);
}

/* Not looked at is not clean: the plugs nobody measured are no neighbours and are asked for. */
static void what_was_not_measured_is_left_out(void **state)
{
    static const double gap[] = {1.05, 0, 1.25, 1.05, 0, 1.06};
    struct record r = make(ENGINE_INLINE, "1 2 3 4 5 6", "1 5 3 6 2 4", 1);
    struct findings f;
    const struct stand_out *s;

    (void)state;
    put(&r, 0, gap, NULL);
    reading_note(&r.visits[0].readings[0], SIGN_WELL_DIRT, 3);
    f = run(&r);
    s = find(&f, STAND_UNLIKE_NEIGHBOURS, "gap");
    assert_non_null(s);
    assert_string_equal(s->text, "1.25 mm; the other 3 lie at 1.05–1.06 mm, the middle one at 1.05.");
    assert_true(has_line(&s->missing, "gap of cylinders 2 and 5"));
    s = find(&f, STAND_CONDITION, "well.dirt");
    assert_non_null(s);
    assert_null(strstr(s->text, "none")); /* the other wells were not looked into */
    assert_true(has_line(&s->missing, "cylinders 2, 3, 4, 5 and 6: nobody looked for dirt in the well there"));
    findings_release(&f);
    record_release(&r);
}

/* A maker of a twin expects the right plug darker (Meriden Triumph manual): what stays is no finding. */
static void a_difference_that_stays_is_the_engine(void **state)
{
    static const double L[] = {74, 45}, gap[] = {0.60, 0.60};
    struct record r = make(ENGINE_TWIN, "1 2", "1 2", 1);
    struct findings f;

    (void)state;
    put(&r, 0, gap, L);
    f = run(&r);
    assert_int_equal(find(&f, STAND_UNLIKE_NEIGHBOURS, "nose.L")->level, LEVEL_NOTE); /* two alone: which is odd? */
    findings_release(&f);
    text_copy(r.visits[0].date, sizeof r.visits[0].date, "2025-05-01");
    record_add_visit(&r);
    put(&r, 1, gap, L);
    f = run(&r);
    assert_null(find(&f, STAND_UNLIKE_NEIGHBOURS, "nose.L"));
    assert_true(has_line(&f.notes, "as it did on 2025-05-01"));
    findings_release(&f);
    for (int again = 0; again < 2; again++) { /* a repair that did not cure it, a complaint: no manner of a sound engine */
        if (again)
            r.visits[0].n_done = 0, visit_toggle_complaint(&r.visits[1], words_find(WORDS_COMPLAINT, "rough-running"));
        else
            assert_true(visit_parse_done(&r.engine, "replaced:coil:cylinder 2", &r.visits[0].done[r.visits[0].n_done++], NULL));
        f = run(&r);
        assert_non_null(find(&f, STAND_UNLIKE_NEIGHBOURS, "nose.L"));
        assert_false(has_line(&f.notes, "manner"));
        findings_release(&f);
    }
    record_release(&r);
}

static void the_place_of_a_plug_is_named(void **state)
{
    static const double gap[] = {0.45, 0.46, 0.45, 0.44, 0.45, 0.60, 0.45, 0.45};
    struct record r = make(ENGINE_FLAT, "1 3 / 2 4", "1 3 2 4", 2);
    struct findings f;
    const struct stand_out *s;

    (void)state;
    put(&r, 0, gap, NULL);
    f = run(&r);
    s = find(&f, STAND_UNLIKE_NEIGHBOURS, "gap");
    assert_non_null(s);
    assert_int_equal(s->position, 1);
    assert_string_equal(s->headline, "Gap at 2 bottom is unlike its neighbours");
    assert_string_equal(s->where, "plug 2 bottom");
    assert_non_null(strstr(s->how, "the same position of the other cylinders (3): +0.15"));
    findings_release(&f);
    record_release(&r);
}

/* A sign that is harmless by itself is odd on one plug alone. */
static void one_odd_amount_is_told(void **state)
{
    struct record r = make(ENGINE_INLINE, "1 2 3 4 5 6", "1 5 3 6 2 4", 1);
    struct findings f;
    const struct stand_out *s;

    (void)state;
    for (int i = 0; i < 6; i++)
        reading_note(&r.visits[0].readings[i], SIGN_ADDITIVE_RED, i == 3 ? 3 : 0);
    f = run(&r);
    s = find(&f, STAND_UNLIKE_NEIGHBOURS, "firing_end.additive-red");
    assert_non_null(s);
    assert_int_equal(s->cylinders, 8);
    assert_string_equal(s->text, "Heavy; the other 5 all read none.");
    findings_release(&f);
    record_release(&r);
}

/* ---- oil that is not the cylinder's own ---- */

/* Drawn 1 to 4 with one socket: 1 oily from its well, less at each that follows. */
static void carried_oil_fades_along_the_order(void **state)
{
    struct record r = make(ENGINE_INLINE, "1 2 3 4", "1 3 4 2", 1);
    struct visit *v = &r.visits[0];
    struct findings f;
    struct err e;
    int n = 0;

    (void)state;
    assert_true(visit_parse_removal(&r.engine, v, "1 2 3 4", &e));
    v->socket = words_find(WORDS_SOCKET, "shared");
    for (int i = 0; i < 4; i++) {
        reading_note(&v->readings[i], SIGN_WELL_OIL, i == 0 ? 3 : 0);
        reading_note(&v->readings[i], SIGN_THREADS_OIL, 3 - i);
        reading_note(&v->readings[i], SIGN_NORMAL, 2);
    }
    f = run(&r);
    for (int i = 0; i < f.n_stand_outs; i++)
        if (f.stand_outs[i].kind == STAND_CARRY_OVER)
            n++;
    assert_int_equal(n, 2);
    assert_true(find(&f, STAND_CARRY_OVER, "threads.oil")->level == LEVEL_NOTE);
    for (int i = 0; i < f.n_patterns; i++) /* nothing left of it */
        assert_string_not_equal(f.patterns[i].measure, "threads.oil");
    findings_release(&f);
    reading_note(&v->readings[3], SIGN_THREADS_OIL, 3); /* more than the socket could bring: its own */
    f = run(&r);
    n = 0;
    for (int i = 0; i < f.n_stand_outs; i++) {
        const struct stand_out *s = &f.stand_outs[i];

        if (s->kind == STAND_CONDITION && strcmp(s->measure, "threads.oil") == 0 && s->cylinders == 8) {
            assert_non_null(strstr(s->text, "do not tell inside from outside"));
            n++;
        }
    }
    assert_int_equal(n, 1);
    findings_release(&f);
    record_release(&r);
}

static void run_down_needs_a_clean_end(void **state)
{
    struct record r = make(ENGINE_INLINE, "1 2 3 4", "1 3 4 2", 1);
    struct visit *v = &r.visits[0];
    struct findings f;

    (void)state;
    reading_note(&v->readings[1], SIGN_WELL_OIL, 3);
    reading_note(&v->readings[1], SIGN_THREADS_OIL, 2);
    f = run(&r);
    assert_true(has_line(&find(&f, STAND_CONDITION, "threads.oil")->missing, "whether the firing end is oily"));
    findings_release(&f);
    reading_note(&v->readings[1], SIGN_NORMAL, 2);
    f = run(&r);
    assert_non_null(strstr(find(&f, STAND_CONDITION, "threads.oil")->headline, "ran down from the well"));
    assert_int_equal(find(&f, STAND_CONDITION, "threads.oil")->missing.n, 0);
    findings_release(&f);
    reading_note(&v->readings[1], SIGN_OIL_WET, 2); /* oil inside too: the threads may be from there */
    f = run(&r);
    assert_null(strstr(find(&f, STAND_CONDITION, "threads.oil")->headline, "ran down"));
    findings_release(&f);
    record_release(&r);
}

/* ---- states ---- */

/* The level of a state is the urgency of the row it rests on. */
static void states_follow_the_table(void **state)
{
    struct csv c;
    struct err e;

    (void)state;
    assert_true(asset_table("deposits.csv", &c, &e));
    for (int k = 0; k < work_n_states; k++) {
        bool found = work_states[k].fact[0] == '\0';

        assert_true(words_find(work_states[k].list, work_states[k].id) > 0);
        for (size_t i = 1; i < c.n_rows && work_states[k].fact[0] != '\0'; i++)
            if (strcmp(csv_named(&c, i, "id"), work_states[k].fact) == 0) {
                assert_string_equal(level_id(work_states[k].level), csv_named(&c, i, "urgency"));
                found = true;
            }
        assert_true(found);
    }
    csv_release(&c);
    struct record r = make(ENGINE_V, "1 3 5 7 / 2 4 6 8", "1 8 4 3 6 5 7 2", 1);

    r.visits[0].readings[5].electrode = words_find(WORDS_ELECTRODE, "melted");
    struct findings f = run(&r);

    assert_string_equal(f.stand_outs[0].headline, "Cylinder 4: melted electrode");
    assert_int_equal(f.stand_outs[0].level, LEVEL_STOP);
    assert_non_null(strstr(f.stand_outs[0].text, "(bank 2)"));
    findings_release(&f);
    record_release(&r);
}

/* A reddish nose among tan ones: one finding, in words. */
static void a_nose_is_told_once_and_in_words(void **state)
{
    static const double L[] = {70, 72, 69, 71, 40, 70};
    struct record r = make(ENGINE_INLINE, "1 2 3 4 5 6", "1 5 3 6 2 4", 1);
    struct findings f;
    int n = 0;

    (void)state;
    put(&r, 0, NULL, L);
    r.visits[0].readings[4].nose_b = MAYBE(1);
    r.visits[0].readings[1].nose_a = MAYBE(24);
    f = run(&r);
    for (int i = 0; i < f.n_stand_outs; i++) {
        const struct stand_out *s = &f.stand_outs[i];

        n++;
        if (s->cylinders == 16) {
            assert_string_equal(s->measure, "nose.L");
            assert_non_null(strstr(s->text, "It is darker, greyer or bluer."));
        } else {
            assert_int_equal(s->cylinders, 2);
            assert_string_equal(s->measure, "nose.dE");
            assert_non_null(strstr(s->text, "It is redder."));
        }
    }
    assert_int_equal(n, 2);
    findings_release(&f);
    record_release(&r);
}

/* SAE J2012: P0300 + number is that cylinder's misfire; the number is a label, not a place. */
static void a_code_names_its_cylinder(void **state)
{
    struct record r = make(ENGINE_V, "4 5 6 / 1 2 3", "1 4 2 5 3 6", 1);
    struct findings f;
    const struct stand_out *s;

    (void)state;
    text_copy(r.visits[0].codes[0], sizeof r.visits[0].codes[0], "P0304");
    text_copy(r.visits[0].codes[1], sizeof r.visits[0].codes[1], "P0308");
    r.visits[0].n_codes = 2;
    f = run(&r);
    s = find(&f, STAND_CONDITION, "code.P0304");
    assert_non_null(s);
    assert_int_equal(s->cylinders, 1); /* 4 is the front one of the first bank */
    assert_string_equal(s->where, "cylinder 4");
    assert_null(find(&f, STAND_CONDITION, "code.P0308"));
    assert_true(has_line(&f.notes, "P0308"));
    findings_release(&f);
    record_release(&r);
}

/* A strap that touches is for action, whether or not the card has a range, and is told once. */
/* A gap that is as the book wants it, and a blade's step from others like it, is nobody's matter; one that none of the others comes near is still told. */
static void a_blade_step_within_the_book_is_no_finding(void **state)
{
    static const struct {
        double low, high, gap[8];
        int n, odd; /* -1: none is told */
    } rows[] = {
        {0.40, 0.53, {0.45, 0.50, 0.50, 0.40}, 4, -1},
        {0.40, 0.53, {0.50, 0.50, 0.60, 0.45, 0.50, 0.50, 0.45, 0.40}, 8, -1}, /* two others read 0.45; 0.60 is over the range, and told by that */
        {0.40, 0.53, {0.50, 0.50, 0.50, 0.40}, 4, 3},                          /* two steps from every other */
        {0.45, 0.53, {0.45, 0.50, 0.50, 0.40}, 4, 3},                          /* not in the book */
        {0, 0, {0.45, 0.50, 0.50, 0.40}, 4, 3},                                /* which is not said */
        {1.00, 1.30, {1.25, 1.25, 1.26, 1.25, 1.05, 1.25, 1.25, 1.25}, 8, 4},
        {1.00, 1.30, {1.25, 1.25, 1.26, 1.25, 1.05, 1.05, 1.25, 1.25}, 8, 4},  /* one that is as odd makes none usual */
    };

    (void)state;
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct record r = make(ENGINE_INLINE, rows[k].n == 4 ? "1 2 3 4" : "1 2 3 4 5 6 7 8", rows[k].n == 4 ? "1 3 4 2" : "1 6 2 5 8 3 7 4", 1);
        struct findings f;
        int odd = -1;

        r.engine.plug.gap_min_mm = rows[k].low;
        r.engine.plug.gap_max_mm = rows[k].high;
        put(&r, 0, rows[k].gap, NULL);
        f = run(&r);
        for (int i = 0; i < f.n_stand_outs; i++)
            if (f.stand_outs[i].kind == STAND_UNLIKE_NEIGHBOURS && strcmp(f.stand_outs[i].measure, "gap") == 0 && odd < 0 && f.stand_outs[i].value.value < 0.55 + (rows[k].high > 1))
                odd = __builtin_ctz(f.stand_outs[i].cylinders);
        if (odd != rows[k].odd)
            fail_msg("row %zu: %d", k, odd);
        findings_release(&f);
        record_release(&r);
    }
}

static void a_closed_gap_asks_for_action(void **state)
{
    static const double gaps[] = {0.85, 0.85, 0.85, 0.85};
    struct record r = make(ENGINE_INLINE, "1 2 3 4", "1 3 4 2", 1);

    (void)state;
    put(&r, 0, gaps, NULL);
    r.visits[0].readings[2].gap_mm = MAYBE(0);
    for (int with_range = 0; with_range < 2; with_range++) {
        struct findings f = run(&r);
        int n = 0;

        for (int i = 0; i < f.n_stand_outs; i++)
            if (strcmp(f.stand_outs[i].measure, "gap") == 0) {
                assert_string_equal(f.stand_outs[i].headline, "Gap closed: plug 3");
                assert_int_equal(f.stand_outs[i].level, LEVEL_ACT);
                n++;
            }
        assert_int_equal(n, 1);
        findings_release(&f);
        r.engine.plug.gap_min_mm = 0.8;
        r.engine.plug.gap_max_mm = 0.9;
    }
    record_release(&r);
}

/* Sentences in inches and psi for whoever set them, figures as ever. 25.4 mm to the inch; 1,000 kPa are 145.04 psi
 * (NIST SP 811, appendix B). Growth by the mile where the odometer counts them: 1,609.344 m. */
static void sentences_speak_the_units_that_were_set(void **state)
{
    static const double gaps[] = {1.02, 1.02, 1.45, 1.02, 1.02, 1.02}, before[] = {0.92, 0.92, 0.92, 0.92, 0.92, 0.92};
    struct record r = make(ENGINE_INLINE, "1 2 3 4 5 6", "1 5 3 6 2 4", 1);
    struct reading_options o = {.units = {true, unit_find("psi")}};
    struct findings f;
    struct err e = {.code = ERR_NONE};
    int n_gap = 0, n_pressure = 0, n_growth = 0;

    (void)state;
    record_add_visit(&r);
    put(&r, 0, before, NULL);
    put(&r, 1, gaps, NULL);
    r.engine.plug.gap_min_mm = 0.9;
    r.engine.plug.gap_max_mm = 1.1;
    r.engine.plug.gap_limit_mm = 1.4;
    for (int k = 0; k < 2; k++) {
        r.visits[k].odometer_m = MAYBE((50000 + 10000 * k) * 1609.344);
        r.visits[k].odometer_unit = words_find(WORDS_ODOMETER_UNIT, "mi");
    }
    for (int c = 0; c < 6; c++)
        r.visits[1].readings[c].compression_kpa = MAYBE(c == 4 ? 600 : 1000);
    if (!reading_run(&r, &o, &f, &e))
        fail_msg("%s", e.text);
    for (int i = 0; i < f.n_stand_outs; i++) {
        const struct stand_out *s = &f.stand_outs[i];

        assert_null(strstr(s->text, " mm"));
        assert_null(strstr(s->text, "kPa"));
        if (strcmp(s->measure, "gap") == 0 && strstr(s->text, "0.057 in") != NULL) {
            assert_non_null(strstr(s->text, "0.0"));
            assert_float_equal(s->value.value, 1.45, 1e-9);
            n_gap++;
        }
        if (strcmp(s->measure, "compression") == 0) {
            assert_non_null(strstr(s->text, "87 psi")); /* 600 kPa */
            assert_float_equal(s->value.value, 600, 1e-9);
            n_pressure++;
        }
        if (strstr(s->headline, "Gaps grow by 0.0004 in per 1,000 mi") != NULL) /* 0.1 mm in 10,000 mi: 0.01 mm, 0.0004 in */
            n_growth++;
    }
    assert_true(n_gap > 0 && n_pressure > 0 && n_growth == 1);
    findings_release(&f);
    record_release(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_plug_that_has_not_run_does_not_speak_for_the_mixture),
        cmocka_unit_test(every_threshold_has_reason_and_source), cmocka_unit_test(a_wrong_threshold_is_named_by_its_line),
        cmocka_unit_test(steps_of_the_gauge_are_no_difference),  cmocka_unit_test(a_plug_is_compared_with_its_bank_first),
        cmocka_unit_test(what_was_not_measured_is_left_out),     cmocka_unit_test(a_difference_that_stays_is_the_engine),
        cmocka_unit_test(the_place_of_a_plug_is_named),          cmocka_unit_test(one_odd_amount_is_told),
        cmocka_unit_test(carried_oil_fades_along_the_order),     cmocka_unit_test(run_down_needs_a_clean_end),
        cmocka_unit_test(states_follow_the_table),               cmocka_unit_test(a_nose_is_told_once_and_in_words),
        cmocka_unit_test(a_code_names_its_cylinder),
        cmocka_unit_test(a_closed_gap_asks_for_action), cmocka_unit_test(a_blade_step_within_the_book_is_no_finding),
        cmocka_unit_test(sentences_speak_the_units_that_were_set),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
