/* Simulated sets of plugs, seeded: how often a healthy engine is called odd, and how surely one wide gap and
 * one oily bank are found. `make test` runs a few hundred sets; SOOTBOOK_SETS=4000 the full number
 * (tests/check/check_simulations.sh).
 *
 * The noise: a feeler gauge within +-0.03 mm, uniform; the nose's colour normal with standard deviations
 * 4 (L*), 1.5 (a*) and 2 (b*); compression 2.5 % of its mean; traces at the rates of the table below (common
 * practice, no source: nobody publishes how often a sound engine's plugs show them; signs of
 * damage, as on leads and coils, are none a sound engine shows). Every second set of a layout has a visit before. */
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
#include "base/text.h"
#include "reading/findings.h"

/* splitmix64 (Steele, Lea and Flood, OOPSLA 2014): the same numbers on every machine */
static uint64_t state_of_chance;

static uint64_t next(void)
{
    uint64_t z = state_of_chance += 0x9e3779b97f4a7c15u;

    z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9u;
    z = (z ^ z >> 27) * 0x94d049bb133111ebu;
    return z ^ z >> 31;
}

static double uniform(void) /* 0 to 1 */
{
    return (double)(next() >> 11) / 9007199254740992.0;
}

static double gauss(void) /* Box and Muller 1958 */
{
    double u = 1 - uniform(), v = uniform();

    return sqrt(-2 * log(u)) * cos(2 * 3.14159265358979323846 * v);
}

static const struct {
    const char *name;
    enum engine_layout layout;
    const char *banks, *order;
} layouts[] = {
    {"I4", ENGINE_INLINE, "1 2 3 4", "1 3 4 2"},
    {"I6", ENGINE_INLINE, "1 2 3 4 5 6", "1 5 3 6 2 4"},
    {"V6", ENGINE_V, "1 3 5 / 2 4 6", "1 2 3 4 5 6"},
    {"V8", ENGINE_V, "1 3 5 7 / 2 4 6 8", "1 8 4 3 6 5 7 2"},
    {"flat-4", ENGINE_FLAT, "1 3 / 2 4", "1 3 2 4"},
    {"V12", ENGINE_V, "1 2 3 4 5 6 / 7 8 9 10 11 12", "1 7 5 11 3 9 6 12 2 8 4 10"},
};
#define N_LAYOUTS ((int)(sizeof layouts / sizeof layouts[0]))

static const struct {
    enum sign sign;
    double rate; /* share of plugs that show a trace */
} traces[] = {
    {SIGN_DRY_CARBON, 0.15},     {SIGN_OIL_ASH, 0.05},       {SIGN_FUEL_ASH, 0.10},   {SIGN_THREADS_CARBON, 0.05},
    {SIGN_THREADS_OIL, 0.04},    {SIGN_THREADS_RUST, 0.05},  {SIGN_BODY_CORONA, 0.3}, {SIGN_BODY_RUST, 0.08},
    {SIGN_WELL_OIL, 0.03},       {SIGN_WELL_DIRT, 0.15},     {SIGN_WELL_RUST, 0.03},  {SIGN_BOOT_HARDENED, 0.05},
};

static struct record healthy(int layout)
{
    struct record r;
    struct err e = {.code = ERR_NONE};
    struct visit *v;

    record_init(&r);
    r.engine.layout = layouts[layout].layout;
    r.engine.plug.gap_min_mm = 1.0;
    r.engine.plug.gap_max_mm = 1.1;
    r.engine.plug.gap_limit_mm = 1.3;
    if (!engine_parse_banks(&r.engine, layouts[layout].banks, &e) || !engine_parse_firing(&r.engine, layouts[layout].order, &e) ||
        !engine_finish(&r.engine, &e))
        fail_msg("%s", e.text);
    v = record_add_visit(&r);
    v->last_run = words_find(WORDS_LAST_RUN, "load");
    v->socket = words_find(WORDS_SOCKET, "wiped");
    v->complaints_given = true;
    for (int i = 0; i < r.engine.n_cylinders; i++) {
        struct reading *x = &v->readings[i];

        for (int z = 0; z < ZONE_COUNT; z++)
            reading_see_zone(x, (enum zone)z);
        reading_note(x, SIGN_NORMAL, 2);
        for (size_t k = 0; k < sizeof traces / sizeof traces[0]; k++)
            if (uniform() < traces[k].rate)
                reading_note(x, traces[k].sign, 1);
        x->gap_mm = MAYBE(1.05 + 0.03 * (2 * uniform() - 1));
        x->nose_L = MAYBE(70 + 4 * gauss());
        x->nose_a = MAYBE(5 + 1.5 * gauss());
        x->nose_b = MAYBE(14 + 2 * gauss());
        x->compression_kpa = MAYBE(1150 * (1 + 0.025 * gauss()));
    }
    return r;
}

/* A visit of 8,000 km before, its gaps grown by 0.010 mm per 1,000 km since and read with the same gauge. */
static void add_history(struct record *r)
{
    struct visit now = r->visits[0], *v;

    v = record_add_visit(r);
    *v = now;
    for (int i = 0; i < r->engine.n_cylinders; i++) {
        r->visits[0].readings[i].gap_mm = MAYBE(1.05 + 0.03 * (2 * uniform() - 1));
        v->readings[i].gap_mm.value += 0.08;
    }
    for (int k = 0; k < 2; k++) {
        r->visits[k].odometer_m = MAYBE((90000 + 8000 * k) * 1e3);
        r->visits[k].odometer_unit = words_find(WORDS_ODOMETER_UNIT, "km");
    }
    r->engine.plug.electrode = ENGINE_NICKEL;
}

static struct findings read_it(const struct record *r)
{
    struct reading_options o = {.first_answer = true};
    struct findings f;
    struct err e = {.code = ERR_NONE};

    if (!reading_run(r, &o, &f, &e))
        fail_msg("%s", e.text);
    return f;
}

static int n_sets(int few, int full)
{
    const char *asked = getenv("SOOTBOOK_SETS");

    return asked != NULL && atoi(asked) > 0 ? full : few;
}

static bool rests_on_others(const struct stand_out *s)
{
    /* what wear is told of the whole engine has no reference: it rests on no difference */
    return s->level >= LEVEL_WATCH && (s->kind == STAND_UNLIKE_NEIGHBOURS || (s->kind == STAND_WEAR && s->reference.given) || s->pattern >= 0);
}

static void healthy_engines_are_left_alone(void **state)
{
    int n = n_sets(120, 4000), n_of[N_LAYOUTS] = {0}, n_odd[N_LAYOUTS] = {0}, n_fault[N_LAYOUTS] = {0}, odd = 0, fault = 0;
    bool tell = getenv("SOOTBOOK_TELL") != NULL;

    (void)state;
    state_of_chance = 20261125;
    for (int k = 0; k < n; k++) {
        int layout = k % N_LAYOUTS;
        struct record r = healthy(layout);
        bool is_odd = false, is_fault = false;
        struct findings f;

        if (k / N_LAYOUTS % 2 == 1)
            add_history(&r);
        f = read_it(&r);

        for (int i = 0; i < f.n_stand_outs; i++) {
            is_odd = is_odd || rests_on_others(&f.stand_outs[i]);
            if (tell && rests_on_others(&f.stand_outs[i]))
                printf("%s: %s: %s\n", layouts[layout].name, f.stand_outs[i].headline, f.stand_outs[i].text);
        }
        for (int i = 0; i < f.n_causes; i++) {
            is_fault = is_fault || (!f.causes[i].ordinary && f.causes[i].probability >= 0.5);
            if (tell && !f.causes[i].ordinary && f.causes[i].probability >= 0.5)
                printf("%s: cause %s %s %.2f\n", layouts[layout].name, f.causes[i].id, f.causes[i].where, f.causes[i].probability);
        }
        n_of[layout]++;
        n_odd[layout] += is_odd;
        n_fault[layout] += is_fault;
        findings_release(&f);
        record_release(&r);
    }
    printf("healthy sets      n   odd at watch or above   fault at 0.5 or above\n");
    for (int i = 0; i < N_LAYOUTS; i++) {
        printf("%-12s %6d   %10.2f %%            %6d\n", layouts[i].name, n_of[i], 100.0 * n_odd[i] / n_of[i], n_fault[i]);
        odd += n_odd[i];
        fault += n_fault[i];
    }
    printf("%-12s %6d   %10.2f %%            %6d\n", "all", n, 100.0 * odd / n, fault);
    assert_true(odd * 20 <= n); /* at most 5 % */
    assert_int_equal(fault, 0);
}

static void one_wide_gap_is_found(void **state)
{
    int n = n_sets(300, 2000), found = 0;

    (void)state;
    state_of_chance = 4711;
    for (int k = 0; k < n; k++) {
        struct record r = healthy(1);
        int wide = (int)(uniform() * 6);
        struct findings f;

        r.visits[0].readings[wide].gap_mm.value += 0.15;
        f = read_it(&r);
        for (int i = 0; i < f.n_stand_outs; i++)
            if (f.stand_outs[i].kind == STAND_UNLIKE_NEIGHBOURS && strcmp(f.stand_outs[i].measure, "gap") == 0 &&
                f.stand_outs[i].cylinders == (engine_set)1 << wide) {
                found++;
                break;
            }
        findings_release(&f);
        record_release(&r);
    }
    printf("one of six 0.15 mm wider: flagged in %d of %d, %.2f %%\n", found, n, 100.0 * found / n);
    assert_true(found * 100 >= n * 99);
}

/* Oil in three of the four wells of one bank of a V8, in a noisy set: the first pattern of them all. */
static void an_oily_bank_is_the_first_pattern(void **state)
{
    int n = n_sets(100, 2000), first = 0;

    (void)state;
    state_of_chance = 815;
    for (int k = 0; k < n; k++) {
        struct record r = healthy(3);
        int bank = (int)(uniform() * 2), dry = (int)(uniform() * 4);
        struct findings f;

        for (int i = 0; i < 8; i++)
            reading_note(&r.visits[0].readings[i], SIGN_WELL_OIL, i / 4 == bank && i % 4 != dry ? 2 + (int)(uniform() * 2) : 0);
        f = read_it(&r);
        for (int i = 0; i < f.n_patterns; i++)
            if (strcmp(f.patterns[i].measure, "well.oil") == 0) { /* the first of its measure */
                first += f.patterns[i].shape == SHAPE_ONE_BANK && strcmp(f.patterns[i].where, bank == 0 ? "bank 1" : "bank 2") == 0;
                break;
            }
        findings_release(&f);
        record_release(&r);
    }
    printf("three of four wells of a bank oily: first pattern in %d of %d\n", first, n);
    assert_int_equal(first, n);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(healthy_engines_are_left_alone),
        cmocka_unit_test(one_wide_gap_is_found),
        cmocka_unit_test(an_oily_bank_is_the_first_pattern),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
