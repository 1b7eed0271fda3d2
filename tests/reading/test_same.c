/* A property: renumbering the cylinders, looking at the engine from the other side or from the rear, and
 * entering figures in other units change no conclusion. Many random records over many layouts. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "base/units.h"
#include "reading/findings.h"

static uint64_t state;

static int dice(int n) /* 0 .. n-1 */
{
    state = state * 6364136223846793005u + 1442695040888963407u;
    return (int)((state >> 33) % (uint64_t)n);
}

static void look(struct reading *r, int plug)
{
    static const enum sign signs[] = {SIGN_WELL_OIL, SIGN_DRY_CARBON, SIGN_THREADS_OIL, SIGN_BOOT_OIL_SOAKED};

    for (size_t k = 0; k < sizeof signs / sizeof signs[0]; k++)
        if (dice(8) != 0) /* now and then nobody looked */
            reading_note(r, signs[k], dice(3) != 0 ? 0 : 1 + dice(3));
    if (dice(10) != 0)
        r->gap_mm = MAYBE((105 + dice(9) + (plug == 2 ? dice(2) * 20 : 0)) / 100.0);
    if (r->position == 0)
        r->compression_kpa = MAYBE(unit_convert(150 + dice(30) - dice(2) * dice(60), unit_find("psi"), unit_find("kPa")));
    if (dice(4) != 0)
        r->nose_L = MAYBE(60 + dice(20)), r->nose_a = MAYBE(3), r->nose_b = MAYBE(12);
}

static struct record random_record(const struct engine *en)
{
    struct record r;
    struct visit *v;

    record_init(&r);
    r.engine = *en;
    r.engine.plug.gap_min_mm = 1.0;
    r.engine.plug.gap_max_mm = 1.2;
    v = record_add_visit(&r);
    for (int i = 0; i < record_plug_count(en); i++)
        look(&v->readings[i], i);
    if (dice(2) != 0) {
        v->n_removal = record_plug_count(en);
        for (int i = 0; i < v->n_removal; i++)
            v->removal[i] = (int16_t)(i / en->n_positions * ENGINE_MAX_POSITIONS + i % en->n_positions);
        for (int i = v->n_removal - 1; i > 0; i--) {
            int k = dice(i + 1);
            int16_t t = v->removal[i];

            v->removal[i] = v->removal[k];
            v->removal[k] = t;
        }
        v->socket = dice(3);
    }
    return r;
}

static engine_set moved(engine_set set, const int *to)
{
    engine_set m = 0;

    for (int i = 0; i < ENGINE_MAX_CYLINDERS; i++)
        if ((set >> i & 1u) != 0)
            m |= (engine_set)1 << to[i];
    return m;
}

/* The same engine with its banks in another order and each bank from its other end: to[] says where
 * each cylinder went, labels[] what it is called now. */
static struct record rebuilt(const struct record *r, bool swap_banks, bool from_rear, bool renumber, int *to)
{
    const struct engine *en = &r->engine;
    struct record n;
    struct engine *out;
    struct err e = {0};
    int at = 0, number[ENGINE_MAX_CYLINDERS];
    struct visit *v;
    const struct visit *old = record_current(r);

    record_init(&n);
    out = &n.engine;
    for (int i = 0; i < en->n_cylinders; i++)
        number[i] = i;
    for (int i = en->n_cylinders - 1; i > 0 && renumber; i--) {
        int k = dice(i + 1), t = number[i];

        number[i] = number[k];
        number[k] = t;
    }
    engine_init(out);
    out->layout = en->layout;
    out->strokes = en->strokes;
    out->n_positions = en->n_positions;
    memcpy(out->position_names, en->position_names, sizeof out->position_names);
    for (int k = 0; k < en->n_banks; k++) {
        const struct engine_bank *bank = &en->banks[swap_banks ? en->n_banks - 1 - k : k];
        char text[ENGINE_MAX_CYLINDERS][ENGINE_LABEL_BYTES];
        const char *labels[ENGINE_MAX_CYLINDERS];

        for (int i = 0; i < bank->n_cylinders; i++) {
            int c = bank->first + (from_rear ? bank->n_cylinders - 1 - i : i);

            to[c] = at++;
            if (renumber)
                text_format(text[i], sizeof text[i], "%d", 1 + number[c]);
            else
                text_copy(text[i], sizeof text[i], en->cylinders[c].label);
            labels[i] = text[i];
        }
        assert_true(engine_add_bank(out, bank->name, labels, bank->n_cylinders, &e));
    }
    for (int i = 0; i < en->n_cylinders; i++) {
        out->firing[i] = to[en->firing[i]];
        out->interval_deg[i] = en->interval_deg[i];
    }
    out->intervals_given = en->intervals_given;
    out->ignition = en->ignition;
    out->n_coil_groups = en->n_coil_groups;
    out->coil_groups_given = en->coil_groups_given;
    out->n_mixture_groups = en->n_mixture_groups;
    for (int i = 0; i < en->n_coil_groups; i++)
        out->coil_groups[i] = moved(en->coil_groups[i], to);
    for (int i = 0; i < en->n_mixture_groups; i++)
        out->mixture_groups[i] = moved(en->mixture_groups[i], to);
    out->plug = en->plug;
    if (!engine_finish(out, &e))
        fail_msg("%s", e.text);
    v = record_add_visit(&n);
    for (int i = 0; i < record_plug_count(en); i++) {
        struct reading *x = visit_reading(v, out, to[i / en->n_positions], i % en->n_positions);
        int cylinder = x->cylinder;

        *x = old->readings[i];
        x->cylinder = cylinder;
    }
    v->socket = old->socket;
    v->n_removal = old->n_removal;
    for (int i = 0; i < v->n_removal; i++)
        v->removal[i] = (int16_t)(to[old->removal[i] / ENGINE_MAX_POSITIONS] * ENGINE_MAX_POSITIONS + old->removal[i] % ENGINE_MAX_POSITIONS);
    return n;
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

/* Two samples of one thing: farther apart than six of their standard errors happens once in 500 million. */
static bool near(double a, double b, const struct pattern *p, const struct pattern *q)
{
    return fabs(a - b) <= (p->exact ? 1e-9 : 6 * sqrt(p->error * p->error + q->error * q->error + 2 / p->arrangements / p->arrangements));
}

static void same_patterns(const struct findings *a, const struct findings *b, const int *to, const char *what)
{
    assert_int_equal(a->n_patterns, b->n_patterns);
    for (int i = 0; i < a->n_patterns; i++) {
        const struct pattern *p = &a->patterns[i], *q = NULL;

        for (int k = 0; k < b->n_patterns; k++)
            if (b->patterns[k].shape == p->shape && strcmp(b->patterns[k].measure, p->measure) == 0)
                q = &b->patterns[k];
        if (q == NULL)
            fail_msg("%s: no %s of %s", what, pattern_shape_id(p->shape), p->measure);
        if (p->exact != q->exact || !near(p->chance, q->chance, p, q) || fabs(p->strength - q->strength) > 1e-9 ||
            (p->exact && fabs(p->chance_any - q->chance_any) > 1e-9))
            fail_msg("%s: %s of %s: chance %.12g against %.12g, any %.12g against %.12g, strength %.12g against %.12g", what,
                     pattern_shape_id(p->shape), p->measure, p->chance, q->chance, p->chance_any, q->chance_any, p->strength, q->strength);
        /* of several places that are equally strong any may be named; what is rare has but one */
        if (p->chance_any <= 0.02 && moved(p->cylinders, to) != q->cylinders)
            fail_msg("%s: %s of %s lies elsewhere: %s against %s", what, pattern_shape_id(p->shape), p->measure, p->where, q->where);
    }
}

static void same_stand_outs(const struct findings *a, const struct findings *b, const int *to, const char *what)
{
    bool taken[400] = {false};

    if (a->n_stand_outs != b->n_stand_outs || a->n_stand_outs > 400)
        fail_msg("%s: %d stand out, %d there", what, a->n_stand_outs, b->n_stand_outs);
    for (int i = 0; i < a->n_stand_outs; i++) {
        const struct stand_out *s = &a->stand_outs[i];
        bool found = false;

        for (int k = 0; k < b->n_stand_outs && !found; k++) {
            const struct stand_out *o = &b->stand_outs[k];

            found = !taken[k] && s->kind == o->kind && s->level == o->level && s->position == o->position &&
                    strcmp(s->measure, o->measure) == 0 && moved(s->cylinders, to) == o->cylinders;
            taken[k] = taken[k] || found;
        }
        if (!found)
            fail_msg("%s: \"%s\" is not found again", what, s->headline);
    }
}

static void compare(const struct findings *a, const struct record *other, const int *to, const char *what)
{
    struct findings b = run(other);

    same_patterns(a, &b, to, what);
    same_stand_outs(a, &b, to, what);
    findings_release(&b);
}

/* Through inches, pounds and back, which is not the same number to the last bit. */
static void through_other_units(struct record *r)
{
    struct visit *v = &r->visits[0];

    for (int i = 0; i < record_plug_count(&r->engine); i++) {
        struct reading *x = &v->readings[i];

        x->gap_mm.value = unit_convert(unit_convert(x->gap_mm.value, unit_find("mm"), unit_find("in")), unit_find("in"), unit_find("mm"));
        x->compression_kpa.value =
            unit_convert(unit_convert(x->compression_kpa.value, unit_find("kPa"), unit_find("psi")), unit_find("psi"), unit_find("kPa"));
    }
}

static void try_engine(const struct engine *en, int n_records, const char *name)
{
    for (int k = 0; k < n_records; k++) {
        struct record r = random_record(en), other;
        struct findings as_it_is = run(&r);
        int to[ENGINE_MAX_CYLINDERS];
        char what[96];

        text_format(what, sizeof what, "%s %d renumbered", name, k);
        other = rebuilt(&r, false, false, true, to);
        compare(&as_it_is, &other, to, what);
        record_release(&other);
        text_format(what, sizeof what, "%s %d from the other side", name, k);
        other = rebuilt(&r, true, false, false, to);
        compare(&as_it_is, &other, to, what);
        record_release(&other);
        if (en->layout != ENGINE_RADIAL) {
            text_format(what, sizeof what, "%s %d from the rear", name, k);
            other = rebuilt(&r, true, true, true, to);
            compare(&as_it_is, &other, to, what);
            record_release(&other);
        }
        text_format(what, sizeof what, "%s %d in other units", name, k);
        other = rebuilt(&r, false, false, false, to);
        through_other_units(&other);
        compare(&as_it_is, &other, to, what);
        record_release(&other);
        findings_release(&as_it_is);
        record_release(&r);
    }
}

static void nothing_changes_on_the_layouts(void **unused)
{
    size_t n;
    const struct engine_preset *presets = engine_presets(&n);
    int tried = 0;

    (void)unused;
    state = 20260614;
    for (size_t i = 0; i < n; i++)
        if (presets[i].n_cylinders <= 7 && presets[i].engine.n_positions == 1) {
            try_engine(&presets[i].engine, 2, presets[i].id);
            tried++;
        }
    assert_true(tried >= 10);
}

static void nothing_changes_where_samples_are_drawn(void **unused)
{
    struct engine en;
    struct err e = {0};

    (void)unused;
    state = 7;
    engine_init(&en);
    en.layout = ENGINE_FLAT;
    en.n_positions = 2;
    text_copy(en.position_names[0], sizeof en.position_names[0], "top");
    text_copy(en.position_names[1], sizeof en.position_names[1], "bottom");
    assert_true(engine_parse_banks(&en, "1 3 5 / 2 4 6", &e) && engine_parse_firing(&en, "1 4 5 2 3 6", &e) &&
                engine_parse_groups(&en, "1 3 5 / 2 4 6", en.mixture_groups, &en.n_mixture_groups, &e) && engine_finish(&en, &e));
    try_engine(&en, 1, "flat six, two plugs each"); /* five times all samples are drawn */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_changes_on_the_layouts),
        cmocka_unit_test(nothing_changes_where_samples_are_drawn),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
