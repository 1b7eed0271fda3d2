/* Layouts against tests/outside/firing-orders.csv (orders and numberings with their sources in that
 * file), neighbours by hand count, and messages for what people get wrong. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/csv.h"
#include "base/err.h"
#include "base/text.h"
#include "engine/engine.h"
#include "../help/help.h"

#define BIT(i) ((engine_set)1 << (i))

static struct engine make(enum engine_layout layout, const char *banks, const char *order, const char *intervals)
{
    struct engine en;
    struct err e = {0};

    engine_init(&en);
    en.layout = layout;
    if (!engine_parse_banks(&en, banks, &e) || !engine_parse_firing(&en, order, &e) ||
        !engine_parse_intervals(&en, intervals, &e) || !engine_finish(&en, &e))
        fail_msg("%s", e.text);
    return en;
}

static engine_set set_of(const struct engine *en, const char *labels)
{
    engine_set groups[ENGINE_MAX_CYLINDERS], all = 0;
    int n;
    struct err e;

    assert_true(engine_parse_groups(en, labels, groups, &n, &e));
    for (int i = 0; i < n; i++)
        all |= groups[i];
    return all;
}

/* "90,150" stands for the whole row of that pattern. */
static void same_intervals(const struct engine *en, const char *id, const char *reference)
{
    double deg[ENGINE_MAX_CYLINDERS];
    int n = 0;

    for (const char *s = reference; *s != '\0' && n < ENGINE_MAX_CYLINDERS; n++) {
        char *end;

        deg[n] = strtod(s, &end);
        assert_true(end > s);
        s = *end == ',' ? end + 1 : end;
    }
    assert_true(n > 0);
    for (int i = 0; i < en->n_cylinders; i++)
        if (fabs(en->interval_deg[i] - deg[i % n]) > 0.01)
            fail_msg("%s: interval %d is %g, reference %g", id, i, en->interval_deg[i], deg[i % n]);
}

static void same_banks(const struct engine *en, const char *id, const char *first, const char *second)
{
    const char *want[] = {first, second};

    assert_int_equal(en->n_banks, second[0] != '\0' ? 2 : 1);
    for (int b = 0; b < en->n_banks; b++) {
        char labels[200] = "";

        for (int i = 0; i < en->banks[b].n_cylinders; i++) {
            size_t at = strlen(labels);

            text_format(labels + at, sizeof labels - at, "%s%s", i ? " " : "",
                        en->cylinders[en->banks[b].first + i].label);
        }
        if (strcmp(labels, want[b]) != 0)
            fail_msg("%s: bank %d is %s, reference %s", id, b + 1, labels, want[b]);
    }
}

/* "L1-R4-R2": which bank and which place fires, whatever the banks are called. */
static bool same_sequence(const struct engine *en, const char *id, const char *reference)
{
    char name[2][16] = {"", ""}, part[16];
    const char *s = reference;

    if (*s == '\0')
        return false;
    for (int i = 0; i < en->n_cylinders; i++) {
        const struct engine_cylinder *c = &en->cylinders[en->firing[i]];
        size_t n = strcspn(s, "-");

        assert_true(n >= 2 && n < sizeof part);
        memcpy(part, s, n);
        part[n] = '\0';
        if (part[n - 1] - '1' != c->place)
            fail_msg("%s: %s fires at %d, reference %s", id, c->label, i + 1, part);
        part[n - 1] = '\0';
        if (name[c->bank][0] == '\0')
            text_copy(name[c->bank], sizeof name[0], part);
        assert_string_equal(name[c->bank], part);
        s += s[n] == '-' ? n + 1 : n;
    }
    assert_true(*s == '\0');
    assert_string_not_equal(name[0], name[1]);
    return true;
}

static void presets_agree_with_the_reference(void **state)
{
    struct csv c = load_table("tests/outside/firing-orders.csv");
    char companion_text[400], want[400];
    int with_companions = 0, with_sequence = 0;

    (void)state;
    assert_int_equal(c.n_rows, 48);
    for (size_t i = 1; i < c.n_rows; i++) {
        const char *id = csv_cell(&c, i, 0);
        const struct engine_preset *p = engine_find_preset(id);
        char order[256];
        double sum = 0;

        if (p == NULL)
            fail_msg("no layout %s", id);
        engine_format_firing(&p->engine, order, sizeof order);
        for (char *s = order; *s; s++)
            if (*s == ' ')
                *s = '-';
        assert_string_equal(order, csv_cell(&c, i, csv_column(&c, "firing_order")));
        for (int k = 0; k < p->engine.n_cylinders; k++)
            sum += p->engine.interval_deg[k];
        assert_true(fabs(sum - engine_cycle_deg(&p->engine)) < 0.1);
        same_intervals(&p->engine, id, csv_cell(&c, i, csv_column(&c, "intervals_deg")));
        same_banks(&p->engine, id, csv_cell(&c, i, csv_column(&c, "bank_1_front_to_rear")),
                   csv_cell(&c, i, csv_column(&c, "bank_2_front_to_rear")));
        with_sequence += same_sequence(&p->engine, id, csv_cell(&c, i, csv_column(&c, "bank_sequence")));
        /* companion pairs, in firing order as the reference writes them */
        companion_text[0] = '\0';
        engine_set done = 0;
        for (int k = 0; k < p->engine.n_cylinders; k++) {
            int a = p->engine.firing[k];
            engine_set kin = engine_kin(&p->engine, a, ENGINE_KIN_COMPANION);

            if (kin == 0 || (done & BIT(a)) != 0)
                continue;
            for (int b = 0; b < p->engine.n_cylinders; b++)
                if ((kin & BIT(b)) != 0) {
                    size_t at = strlen(companion_text);

                    text_format(companion_text + at, sizeof companion_text - at, "%s%s/%s", at ? " " : "",
                                p->engine.cylinders[a].label, p->engine.cylinders[b].label);
                    done |= BIT(b);
                }
            done |= BIT(a);
        }
        text_copy(want, sizeof want, csv_cell(&c, i, csv_column(&c, "companion_pairs")));
        if (strcmp(companion_text, want) != 0)
            fail_msg("%s: companions %s, reference %s", id, companion_text, want);
        with_companions += want[0] != '\0';
        /* pairs that fire one after the other on one bank: "8>4; 5>7 adjacent" */
        const char *pairs = csv_cell(&c, i, csv_column(&c, "consecutive_same_bank"));
        if (pairs[0] != '\0') {
            char found[200] = "", listed[200] = "";

            for (int k = 0; k < p->engine.n_cylinders; k++) {
                int a = p->engine.firing[k], b = p->engine.firing[(k + 1) % p->engine.n_cylinders];
                size_t at = strlen(found);

                if (p->engine.cylinders[a].bank == p->engine.cylinders[b].bank &&
                    (engine_kin(&p->engine, a, ENGINE_KIN_ADJACENT) & BIT(b)) != 0)
                    text_format(found + at, sizeof found - at, "%s>%s;", p->engine.cylinders[a].label,
                                p->engine.cylinders[b].label);
            }
            for (const char *s = pairs; *s;) { /* the reference marks the adjacent ones behind each pair */
                char pair[24], note[24] = "";
                int n = 0;

                if (sscanf(s, " %20[^; ] %20[^;]%n", pair, note, &n) >= 1 && strcmp(note, "adjacent") == 0) {
                    size_t at = strlen(listed);

                    text_format(listed + at, sizeof listed - at, "%s;", pair);
                }
                s = strchr(s, ';') ? strchr(s, ';') + 1 : s + strlen(s);
            }
            if (strcmp(found, listed) != 0)
                fail_msg("%s: adjacent in succession %s, reference %s", id, found, listed);
        }
    }
    assert_true(with_companions >= 25);
    assert_int_equal(with_sequence, 30);
    csv_release(&c);
}

static void every_preset_is_whole(void **state)
{
    size_t n;
    const struct engine_preset *p = engine_presets(&n);
    struct csv c = load_table("assets/layouts.csv");

    (void)state;
    assert_int_equal(n, c.n_rows - 1); /* no row was refused */
    for (size_t i = 0; i < n; i++) {
        struct engine again = p[i].engine;
        char text[400];
        struct err e;

        assert_ptr_equal(engine_find_preset(p[i].id), &p[i]); /* ids unique */
        assert_true(csv_cell(&c, i + 1, csv_column(&c, "source"))[0] != '\0');
        engine_format_banks(&p[i].engine, text, sizeof text);
        assert_true(engine_parse_banks(&again, text, &e));
        engine_format_firing(&p[i].engine, text, sizeof text);
        assert_true(engine_parse_firing(&again, text, &e));
        engine_format_intervals(&p[i].engine, text, sizeof text);
        assert_true(engine_parse_intervals(&again, text, &e));
        assert_true(engine_finish(&again, &e));
        assert_memory_equal(again.firing, p[i].engine.firing, sizeof again.firing);
        for (int a = 0; a < again.n_cylinders; a++) {
            struct engine_spot s = engine_spot(&again, a), size = engine_extent(&again);

            assert_true(s.x >= 0.49 && s.y >= 0.49 && s.x <= size.x - 0.49 && s.y <= size.y - 0.49);
            for (int b = 0; b < a; b++) { /* bores do not lie on each other */
                struct engine_spot o = engine_spot(&again, b);

                if (hypot(s.x - o.x, s.y - o.y) < 0.95)
                    fail_msg("%s: bores %d and %d overlap", p[i].id, a, b);
            }
            for (int kind = 0; kind < ENGINE_KIN_COUNT; kind++) { /* kinship is mutual */
                engine_set kin = engine_kin(&again, a, (enum engine_kin)kind);

                assert_true((kin & BIT(a)) == 0);
                for (int b = 0; b < again.n_cylinders; b++)
                    if ((kin & BIT(b)) != 0)
                        assert_true((engine_kin(&again, b, (enum engine_kin)kind) & BIT(a)) != 0);
            }
        }
    }
    csv_release(&c);
}

static void neighbours_of_a_v8(void **state)
{
    struct engine en = make(ENGINE_V, "1 3 5 7 / 2 4 6 8", "1-8-4-3-6-5-7-2", "");
    int six = engine_find_cylinder(&en, "6");
    char words[128];

    (void)state;
    assert_int_equal(engine_kin(&en, six, ENGINE_KIN_BANK), set_of(&en, "2 4 8"));
    assert_int_equal(engine_kin(&en, six, ENGINE_KIN_ADJACENT), set_of(&en, "4 8"));
    assert_int_equal(engine_kin(&en, six, ENGINE_KIN_ACROSS), set_of(&en, "5"));
    assert_int_equal(engine_kin(&en, six, ENGINE_KIN_FIRING), set_of(&en, "3 5"));
    assert_int_equal(engine_kin(&en, six, ENGINE_KIN_COMPANION), set_of(&en, "1"));
    engine_describe_cylinder(&en, six, words, sizeof words);
    assert_string_equal(words, "bank 2, third from front · fires 5th, after 3, before 5");
    assert_true(fabs(engine_firing_angle_deg(&en, six) - 360) < 1e-9);
    engine_set_words(&en, set_of(&en, "2 4 6"), words, sizeof words);
    assert_string_equal(words, "cylinders 2, 4 and 6");
}

static void odd_fire_has_no_companions_by_halves(void **state)
{
    /* V-twin of 45° on one pin: 315 and 405, so nothing stands 360 apart. */
    struct engine en = make(ENGINE_V, "1 / 2", "1 2", "315 405");

    (void)state;
    assert_int_equal(engine_kin(&en, 0, ENGINE_KIN_COMPANION), 0);
    assert_true(engine_is_odd_fire(&en));
    en = make(ENGINE_V, "1 3 5 / 2 4 6", "1 6 5 4 3 2", "90 150"); /* a repeating group written once */
    assert_true(engine_is_odd_fire(&en));
    assert_int_equal(engine_kin(&en, 0, ENGINE_KIN_COMPANION), 0);
}

static void a_ring_closes(void **state)
{
    struct engine en = make(ENGINE_RADIAL, "1 2 3 4 5 6 7", "1 3 5 7 2 4 6", "");

    (void)state;
    assert_int_equal(engine_kin(&en, 0, ENGINE_KIN_ADJACENT), BIT(1) | BIT(6));
    assert_int_equal(engine_kin(&en, 6, ENGINE_KIN_ADJACENT), BIT(5) | BIT(0));
}

static void shared_coils_pair_the_companions(void **state)
{
    struct engine en = make(ENGINE_INLINE, "1 2 3 4 5 6", "1 5 3 6 2 4", "");
    struct err e;
    char text[80];

    (void)state;
    en.ignition = ENGINE_SHARED_COIL;
    assert_true(engine_finish(&en, &e));
    engine_format_groups(&en, en.coil_groups, en.n_coil_groups, text, sizeof text);
    assert_string_equal(text, "1 6 / 2 5 / 3 4"); /* coils 1+6, 2+5, 3+4: see the reference row i6 */
    assert_int_equal(engine_kin(&en, 0, ENGINE_KIN_COIL), BIT(5));
}

static void mistakes_are_named(void **state)
{
    static const struct {
        const char *banks, *order, *intervals;
        enum engine_layout layout;
        const char *said;
    } rows[] = {
        {"1 3 5 7 / 2 4 6 8", "1 8 4 3 5 5 7 2", "", ENGINE_V, "Firing order: 5 appears twice, 6 is missing."},
        {"1 3 5 7 / 2 4 6 8", "1 8 4 3 6 5 7", "", ENGINE_V, "Firing order: 2 is missing."},
        {"1 3 5 7 / 2 4 6 8", "1 8 4 3 6 5", "", ENGINE_V, "Firing order: 7 and 2 are missing."},
        {"1 3 5 7 / 2 4 6 8", "1", "", ENGINE_V, "Firing order: 3, 5, 7 and 4 more are missing."},
        {"1 3 5 7 / 2 4 6 8", "1 8 4 3 6 5 7 9", "", ENGINE_V, "Firing order: no bank has a cylinder 9."},
        {"1 3 5 7 / 2 4 6 7", "", "", ENGINE_V, "Bank 2 lists 7, which bank 1 has already."},
        {"1 2 2", "", "", ENGINE_INLINE, "Bank 1 lists 2 twice."},
        {"1 2 3 4", "1 3 4 2", "180 180 180 160", ENGINE_INLINE,
         "The intervals add up to 700°; a four-stroke engine turns 720° for one cycle."},
        {"1 2 3 4", "1 3 4 2", "", ENGINE_V,
         "A V engine has two banks; 1 is written. Separate them with a slash: 1 3 5 7 / 2 4 6 8."},
        {"1 2 / 3 4", "1 3 4 2", "", ENGINE_INLINE,
         "An inline engine has one bank (one cover); 2 are written. Put all cylinders in one row, front to rear."},
        {"", "", "", ENGINE_INLINE, "Write the cylinders of each bank, front to rear: 1 3 5 7 / 2 4 6 8."},
        {"1 2 3 x#", "", "", ENGINE_INLINE,
         "“x#” cannot be a cylinder: use numbers, or letters and numbers like A1 (at most 7 signs)."},
        {"1 2 / 3 4 / 5 6 / 7 8 / 9 10", "1 2 3 4 5 6 7 8 9 10", "", ENGINE_W,
         "A W engine has two to four banks; 5 are written."},
        {"left\x01: 1 2", "", "", ENGINE_INLINE,
         "The name of bank 1 has signs that cannot be shown: use letters, numbers and blanks."},
        {"1 2 3", "1 2 3", "240 240", ENGINE_INLINE, "Intervals: 2 are written for 3 cylinders."},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct engine en;
        struct err e = {0};
        bool fine;

        engine_init(&en);
        en.layout = rows[i].layout;
        fine = engine_parse_banks(&en, rows[i].banks, &e) && engine_parse_firing(&en, rows[i].order, &e) &&
               engine_parse_intervals(&en, rows[i].intervals, &e) && engine_finish(&en, &e);
        assert_false(fine);
        assert_string_equal(e.text, rows[i].said);
    }
}

static void numbering_is_read_in_every_way_people_write_it(void **state)
{
    static const char *const ways[] = {"1 3 5 7 / 2 4 6 8", "1,3,5,7|2,4,6,8", "bank 1: 1 3 5 7 · bank 2: 2 4 6 8",
                                       "1 3 5 7\n2 4 6 8", "1-3-5-7 ; 2-4-6-8"};
    char back[80];

    (void)state;
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        struct engine en = make(ENGINE_V, ways[i], "1 8 4 3 6 5 7 2", "");

        engine_format_banks(&en, back, sizeof back);
        assert_string_equal(back, "1 3 5 7 / 2 4 6 8");
    }
    struct engine en = make(ENGINE_V, "left: A1 A2 / right: B1 B2", "A1 B1 A2 B2", "");
    engine_format_banks(&en, back, sizeof back);
    assert_string_equal(back, "left: A1 A2 / right: B1 B2");
}

/* Kinship goes by place: other labels on the same places leave every set as it was. */
static void renumbering_moves_nobody(void **state)
{
    size_t n;
    const struct engine_preset *p = engine_presets(&n);

    (void)state;
    for (size_t i = 0; i < n; i++) {
        struct engine en = p[i].engine;
        char banks[400], order[300];
        struct err e = {0};
        struct engine again;

        for (int c = 0; c < en.n_cylinders; c++) /* numbers from the rear, with a letter in front */
            text_format(en.cylinders[c].label, sizeof en.cylinders[c].label, "X%d", en.n_cylinders - c);
        engine_format_banks(&en, banks, sizeof banks);
        engine_format_firing(&en, order, sizeof order);
        again = en;
        memset(again.firing, 0, sizeof again.firing);
        if (!engine_parse_banks(&again, banks, &e) || !engine_parse_firing(&again, order, &e) ||
            !engine_finish(&again, &e))
            fail_msg("%s: %s", p[i].id, e.text);
        for (int c = 0; c < en.n_cylinders; c++) {
            for (int kind = 0; kind < ENGINE_KIN_COUNT; kind++)
                assert_int_equal(engine_kin(&again, c, (enum engine_kin)kind),
                                 engine_kin(&p[i].engine, c, (enum engine_kin)kind));
            assert_int_equal(engine_firing_position(&again, c), engine_firing_position(&p[i].engine, c));
        }
    }
}

static void long_rows_count_in_words(void **state)
{
    struct engine en = make(ENGINE_INLINE, "1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20 21 22",
                            "1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20 21 22", "");
    char words[128];

    (void)state;
    engine_describe_cylinder(&en, 20, words, sizeof words);
    assert_string_equal(words, "21st from front · fires 21st, after 20, before 22");
    engine_describe_cylinder(&en, 11, words, sizeof words);
    assert_string_equal(words, "12th from front · fires 12th, after 11, before 13");
}

static void names_of_banks_come_back(void **state)
{
    static const struct {
        const char *written, *back;
    } rows[] = {{"bank  left: 1 3 / bank right : 2 4", "left: 1 3 / right: 2 4"},
                {"bank bank 2: 1 3 / upper, rear: 2 4", "2: 1 3 / upper, rear: 2 4"},
                {"2: 1 3 / 1: 2 4", "2: 1 3 / 1: 2 4"}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct engine en = make(ENGINE_V, rows[i].written, "1 2 3 4", ""), again = en;
        char back[80];
        struct err e = {0};

        engine_format_banks(&en, back, sizeof back);
        assert_string_equal(back, rows[i].back);
        assert_true(engine_parse_banks(&again, back, &e));
        assert_memory_equal(again.banks, en.banks, sizeof en.banks);
    }
}

/* ISO 261 writes the diameter over the crests behind the M and the pitch behind the x. */
static void a_thread_tells_its_size(void **state)
{
    static const struct {
        const char *thread;
        double major_mm, pitch_mm;
    } rows[] = {{"M14x1.25", 14, 1.25}, {"M10x1.0", 10, 1}, {"M12x1.25", 12, 1.25}, {"M18x1.5", 18, 1.5}, {"", 14, 1.25}, {"7/8in-18", 22.225, 25.4 / 18} /* eighteen turns an inch, which is 25.4 mm */, {"7/8-18", 14, 1.25}, {"M900x1", 14, 1}, {"Mx", 14, 1.25}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double major_mm, pitch_mm;

        engine_thread_size(rows[i].thread, &major_mm, &pitch_mm);
        if (fabs(major_mm - rows[i].major_mm) > 1e-9 || fabs(pitch_mm - rows[i].pitch_mm) > 1e-9)
            fail_msg("%s: %g x %g", rows[i].thread, major_mm, pitch_mm);
    }
}

/* Where nobody said how the sparks come there may be leads. */
static void a_coil_on_each_plug_has_no_leads(void **state)
{
    (void)state;
    for (int ig = 0; ig < ENGINE_IGNITION_COUNT; ig++) {
        struct engine en = {.ignition = (enum engine_ignition)ig};

        assert_int_equal(engine_may_have_leads(&en), ig != ENGINE_COIL_PER_PLUG);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_thread_tells_its_size),
        cmocka_unit_test(a_coil_on_each_plug_has_no_leads),
        cmocka_unit_test(presets_agree_with_the_reference),
        cmocka_unit_test(every_preset_is_whole),
        cmocka_unit_test(neighbours_of_a_v8),
        cmocka_unit_test(odd_fire_has_no_companions_by_halves),
        cmocka_unit_test(a_ring_closes),
        cmocka_unit_test(shared_coils_pair_the_companions),
        cmocka_unit_test(mistakes_are_named),
        cmocka_unit_test(numbering_is_read_in_every_way_people_write_it),
        cmocka_unit_test(renumbering_moves_nobody),
        cmocka_unit_test(long_rows_count_in_words),
        cmocka_unit_test(names_of_banks_come_back),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
