/* Patterns of small engines whose odds can be counted by hand, every shape, and what cannot be said. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdatomic.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "reading/findings.h"

static struct record make(enum engine_layout layout, const char *banks, const char *order, int n_positions)
{
    struct record r;
    struct err e = {0};

    record_init(&r);
    r.engine.layout = layout;
    r.engine.n_positions = n_positions;
    if (n_positions == 2) {
        text_copy(r.engine.position_names[0], sizeof r.engine.position_names[0], "top");
        text_copy(r.engine.position_names[1], sizeof r.engine.position_names[1], "bottom");
    }
    if (!engine_parse_banks(&r.engine, banks, &e) || !engine_parse_firing(&r.engine, order, &e) || !engine_finish(&r.engine, &e))
        fail_msg("%s", e.text);
    record_add_visit(&r);
    return r;
}

/* One digit for each plug in place order: its amount of the sign; "-": nobody looked. */
static void see(struct record *r, enum sign s, const char *amounts)
{
    for (int i = 0; i < record_plug_count(&r->engine); i++)
        if (amounts[i] != '-')
            reading_note(&r->visits[0].readings[i], s, amounts[i] - '0');
}

static struct findings run_as(const struct record *r, struct reading_options o)
{
    struct findings f;
    struct err e = {0};

    if (!reading_run(r, &o, &f, &e))
        fail_msg("%s", e.text);
    return f;
}

static struct findings run(const struct record *r)
{
    return run_as(r, (struct reading_options){.first_answer = false});
}

static const struct pattern *find(const struct findings *f, const char *measure, enum pattern_shape shape)
{
    for (int i = 0; i < f->n_patterns; i++)
        if (f->patterns[i].shape == shape && strcmp(f->patterns[i].measure, measure) == 0)
            return &f->patterns[i];
    return NULL;
}

static bool noted(const struct findings *f, const char *part)
{
    for (int i = 0; i < f->notes.n; i++)
        if (strstr(f->notes.text[i], part) != NULL)
            return true;
    return false;
}

static void one_case(enum engine_layout layout, const char *banks, const char *order, const char *coils, const char *mixture, int n_positions,
                     const char *amounts, enum pattern_shape shape, const char *where, double chance)
{
    struct record r = make(layout, banks, order, n_positions);
    struct engine *en = &r.engine;
    struct findings f;
    const struct pattern *p;
    struct err e;

    assert_true(engine_parse_groups(en, coils, en->coil_groups, &en->n_coil_groups, &e));
    assert_true(engine_parse_groups(en, mixture, en->mixture_groups, &en->n_mixture_groups, &e));
    see(&r, SIGN_DRY_CARBON, amounts);
    f = run(&r);
    p = find(&f, "firing_end.dry-carbon", shape);
    if (p == NULL)
        fail_msg("%s: no %s", amounts, pattern_shape_id(shape));
    assert_string_equal(p->where, where);
    if (!p->exact || fabs(p->chance - chance) > 1e-12)
        fail_msg("%s %s: %.9g, want %.9g", amounts, pattern_shape_id(shape), p->chance, chance);
    assert_true(p->chance_any >= p->chance - 1e-12 || shape == SHAPE_SCATTERED || shape == SHAPE_ALL);
    assert_true(strlen(p->how) > 20);
    findings_release(&f);
    record_release(&r);
}

#define FOUR ENGINE_INLINE, "1 2 3 4", "1 3 4 2"
#define SIX ENGINE_INLINE, "1 2 3 4 5 6", "1 5 3 6 2 4"
#define V8 ENGINE_V, "1 3 5 7 / 2 4 6 8", "1 8 4 3 6 5 7 2"
#define FLAT_TWINS ENGINE_FLAT, "1 3 / 2 4", "1 3 2 4"

static void odds_counted_by_hand(void **state)
{
    (void)state;
    /* any one of six is one of six */
    one_case(SIX, "", "", 1, "002000", SHAPE_ONE_CYLINDER, "cylinder 3", 1);
    /* a 3 and a 1 among six: 30 ways; always one cylinder is as heavy */
    one_case(SIX, "", "", 1, "300100", SHAPE_ONE_CYLINDER, "cylinder 1", 1);
    /* two of six side by side: 5 of 15; at the companions 1+6 2+5 3+4: 3 of 15; one after the other in
     * the firing order, a ring of six: 6 of 15 */
    one_case(SIX, "", "", 1, "022000", SHAPE_ADJACENT_PAIR, "cylinders 2, 3", 5.0 / 15);
    one_case(SIX, "", "", 1, "200002", SHAPE_COMPANION_PAIR, "cylinders 1, 6", 3.0 / 15);
    one_case(SIX, "", "", 1, "200020", SHAPE_FIRING_NEIGHBOURS, "cylinders 1, 5", 6.0 / 15);
    /* on a shared coil, of two coils named; in one of two carburettors' threes: 2 of C(6,3) */
    one_case(SIX, "1 2 / 5 6", "", 1, "220000", SHAPE_COIL_GROUP, "cylinders 1, 2", 2.0 / 15);
    one_case(SIX, "", "1 2 3 / 4 5 6", 1, "222000", SHAPE_MIXTURE_GROUP, "cylinders 1, 2, 3", 2.0 / 20);
    /* amounts 3 2 1 falling along four: rising and falling are the two straightest of 24 */
    one_case(FOUR, "", "", 1, "3210", SHAPE_FRONT_REAR, "engine", 2.0 / 24);
    /* three wet of eight under one of two covers: 2 C(4,3) of C(8,3); with one plug not looked at, four
     * against three: C(4,3) + C(3,3) of C(7,3), the odd three being the stronger */
    one_case(V8, "", "", 1, "22200000", SHAPE_ONE_BANK, "bank 1", 8.0 / 56);
    one_case(V8, "", "", 1, "0000222-", SHAPE_ONE_BANK, "bank 2", 1.0 / 35);
    /* two of eight that look like nothing; every one of eight */
    one_case(V8, "", "", 1, "22222222", SHAPE_ALL, "engine", 1);
    /* four cylinders, two plugs each: all the bottom ones are one of two rows: 2 of C(8,4) */
    one_case(FLAT_TWINS, "", "", 2, "02020202", SHAPE_COIL_GROUP, "bottom plugs", 2.0 / 70);
    /* both plugs of one cylinder: 4 of C(8,2) */
    one_case(FLAT_TWINS, "", "", 2, "00220000", SHAPE_ONE_CYLINDER, "cylinder 3", 4.0 / 28);
}

/* Removal order 6 … 1, oil fading along it. */
static void fading_along_the_order_drawn(void **state)
{
    struct record r = make(SIX, 1);
    struct findings f;
    const struct pattern *p;
    struct err e;

    (void)state;
    assert_true(visit_parse_removal(&r.engine, &r.visits[0], "6 5 4 3 2 1", &e));
    r.visits[0].socket = words_find(WORDS_SOCKET, "wiped");
    see(&r, SIGN_BODY_OIL, "000123");
    f = run(&r);
    p = find(&f, "body.oil", SHAPE_REMOVAL_ORDER);
    assert_non_null(p);
    assert_true(fabs(p->chance - 1.0 / 120) < 1e-12); /* the straightest of 6!/3! */
    assert_non_null(strstr(p->how, "Kendall"));
    findings_release(&f);
    assert_true(visit_parse_removal(&r.engine, &r.visits[0], "1 2 3 4 5 6", &e));
    f = run(&r);
    assert_null(find(&f, "body.oil", SHAPE_REMOVAL_ORDER)); /* a rise is no carry-over */
    findings_release(&f);
    record_release(&r);
}

static void scattered_is_said_with_its_odds(void **state)
{
    struct record r = make(V8, 1);
    struct findings f;
    const struct pattern *p;

    (void)state;
    see(&r, SIGN_DRY_CARBON, "10000100"); /* 1 and 4: no bank, no pair of any kind */
    f = run(&r);
    p = find(&f, "firing_end.dry-carbon", SHAPE_SCATTERED);
    assert_non_null(p);
    assert_true(p->exact && p->chance > 0 && p->chance < 1);
    assert_int_equal(p->cylinders, 1 | 32);
    assert_true(p == &f.patterns[f.n_patterns - 1]); /* behind the shapes it is measured by */
    findings_release(&f);
    record_release(&r);
}

static void limits_are_said(void **state)
{
    struct record r = make(V8, 1);
    struct findings f;

    (void)state;
    see(&r, SIGN_WELL_OIL, "2200----");
    see(&r, SIGN_DRY_CARBON, "2----0--");
    f = run(&r);
    assert_true(noted(&f, "only bank 1 was looked at"));
    assert_true(noted(&f, "fewer than three plugs"));
    assert_null(find(&f, "well.oil", SHAPE_ONE_BANK));
    findings_release(&f);
    record_release(&r);
    r = make(ENGINE_TWIN, "1 2", "1 2", 1);
    see(&r, SIGN_DRY_CARBON, "20");
    f = run(&r);
    assert_true(noted(&f, "1 in 2"));
    assert_true(find(&f, "firing_end.dry-carbon", SHAPE_ONE_CYLINDER)->chance > 0.999);
    findings_release(&f);
    record_release(&r);
    r = make(ENGINE_SINGLE, "1", "1", 1);
    see(&r, SIGN_DRY_CARBON, "2");
    f = run(&r);
    assert_int_equal(f.n_patterns, 0);
    assert_true(noted(&f, "no neighbours"));
    findings_release(&f);
    record_release(&r);
}

/* Fourteen cylinders in two rows, two plugs each: more places than any other engine here, none dropped. */
static void no_place_is_dropped(void **state)
{
    struct record r = make(ENGINE_RADIAL, "1 3 5 7 9 11 13 15 17 19 21 23 25 27 / 2 4 6 8 10 12 14 16 18 20 22 24 26 28",
                           "1 3 5 7 9 11 13 15 17 19 21 23 25 27 2 4 6 8 10 12 14 16 18 20 22 24 26 28", 2);
    char amounts[57];
    struct findings f;
    const struct pattern *p;

    (void)state;
    memset(amounts, '0', 56);
    amounts[56] = '\0';
    amounts[54] = amounts[55] = '3'; /* both plugs of the very last cylinder */
    see(&r, SIGN_DRY_CARBON, amounts);
    f = run(&r);
    p = find(&f, "firing_end.dry-carbon", SHAPE_ONE_CYLINDER);
    assert_non_null(p);
    assert_string_equal(p->where, "cylinder 28");
    assert_true(fabs(p->chance - 28.0 / (56 * 55 / 2)) < 1e-12);
    findings_release(&f);
    record_release(&r);
}

static void the_first_answer_is_near_the_last(void **state)
{
    struct record r = make(ENGINE_V, "1 2 3 4 5 6 / 7 8 9 10 11 12", "1 7 5 11 3 9 6 12 2 8 4 10", 2);
    struct findings first, last;
    const struct pattern *p, *q;
    atomic_bool cancel = true;
    struct err e = {0};

    (void)state;
    see(&r, SIGN_WELL_OIL, "222222200000000000000000");
    first = run_as(&r, (struct reading_options){.first_answer = true});
    last = run(&r);
    assert_true(first.provisional && !last.provisional);
    p = find(&first, "well.oil", SHAPE_ONE_BANK);
    q = find(&last, "well.oil", SHAPE_ONE_BANK);
    assert_non_null(p);
    assert_non_null(q);
    assert_true(!p->exact && p->error > 0 && q->exact && !(q->error > 0));
    assert_true(fabs(q->chance - 2 * 792.0 / 346104) < 1e-12); /* 2 C(12,7) of C(24,7) */
    assert_true(fabs(p->chance - q->chance) < 6 * sqrt(q->chance / p->arrangements) + 2 / p->arrangements);
    assert_true(noted(&first, "first estimate"));
    for (int i = 0; i < first.n_stand_outs; i++) /* seven of twelve under one cover */
        if (first.stand_outs[i].pattern >= 0)
            assert_non_null(strstr(first.stand_outs[i].odds, "standard error"));
    for (int i = 0; i < last.n_stand_outs; i++)
        if (last.stand_outs[i].pattern >= 0)
            assert_string_equal(last.stand_outs[i].odds, "1 in 219 by luck");
    findings_release(&first);
    findings_release(&last);
    assert_false(reading_run(&r, &(struct reading_options){.cancel = &cancel}, &last, &e));
    assert_int_equal(e.code, ERR_CANCEL);
    record_release(&r);
}

/* Bank 2 of a V8 is wider by 0.11 mm, then by 0.04, which nobody would act on. */
static void a_bank_of_figures_stands_out(void **state)
{
    static const double gaps[2][8] = {{1.10, 1.10, 1.12, 1.09, 1.22, 1.21, 1.20, 1.23}, {1.10, 1.10, 1.12, 1.09, 1.15, 1.14, 1.13, 1.16}};

    (void)state;
    for (int k = 0; k < 2; k++) {
        struct record r = make(V8, 1);
        struct findings f;
        const struct stand_out *s = NULL;
        const struct pattern *p;

        for (int i = 0; i < 8; i++) {
            r.visits[0].readings[i].present = true;
            r.visits[0].readings[i].gap_mm = MAYBE(gaps[k][i]);
        }
        f = run(&r);
        p = find(&f, "gap", SHAPE_ONE_BANK);
        assert_string_equal(p->where, "bank 2");
        assert_true(fabs(p->chance - 2.0 / 70) < 1e-12);
        for (int i = 0; i < f.n_stand_outs; i++)
            s = f.stand_outs[i].kind == STAND_UNLIKE_NEIGHBOURS ? &f.stand_outs[i] : s;
        if (k == 0) {
            assert_non_null(s);
            assert_string_equal(s->headline, "Gap: bank 2 unlike the rest");
            assert_string_equal(s->odds, "1 in 35 by luck");
            assert_true(s->pattern >= 0 && f.patterns[s->pattern].shape == SHAPE_ONE_BANK);
        } else {
            assert_null(s);
        }
        findings_release(&f);
        record_release(&r);
    }
}

/* The seed settles what is drawn; another one differs by no more than the stated errors. */
static void sampling_repeats_with_its_seed(void **state)
{
    struct record r = make(ENGINE_V, "1 2 3 4 5 6 / 7 8 9 10 11 12", "1 7 5 11 3 9 6 12 2 8 4 10", 1);
    struct findings a, b, c;

    (void)state;
    for (int i = 0; i < 12; i++)
        r.visits[0].readings[i].present = true, r.visits[0].readings[i].gap_mm = MAYBE(1 + (7 * i % 12) / 100.0);
    a = run_as(&r, (struct reading_options){.seed = 5});
    b = run_as(&r, (struct reading_options){.seed = 5});
    c = run_as(&r, (struct reading_options){.seed = 6});
    assert_true(a.n_patterns > 3 && a.n_patterns == b.n_patterns && a.n_patterns == c.n_patterns);
    for (int i = 0; i < a.n_patterns; i++) {
        const struct pattern *p = &a.patterns[i], *q = find(&c, "gap", p->shape);

        assert_false(p->exact);
        assert_true(p->chance <= b.patterns[i].chance && p->chance >= b.patterns[i].chance);
        assert_true(fabs(p->chance - q->chance) <= 6 * sqrt(p->error * p->error + q->error * q->error) + 1e-4);
    }
    findings_release(&a);
    findings_release(&b);
    findings_release(&c);
    record_release(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(odds_counted_by_hand),            cmocka_unit_test(fading_along_the_order_drawn),
        cmocka_unit_test(scattered_is_said_with_its_odds), cmocka_unit_test(limits_are_said),
        cmocka_unit_test(no_place_is_dropped),             cmocka_unit_test(the_first_answer_is_near_the_last),
        cmocka_unit_test(a_bank_of_figures_stands_out),    cmocka_unit_test(sampling_repeats_with_its_seed),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
