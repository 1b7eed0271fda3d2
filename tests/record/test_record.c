/* The tables of words against the rows they rest on, and the texts of a visit both ways. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/csv.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "base/units.h"
#include "record/record.h"
#include "../help/help.h"

static struct engine v8(int n_positions)
{
    struct engine en;
    struct err e = {0};

    engine_init(&en);
    en.layout = ENGINE_V;
    en.n_positions = n_positions;
    if (!engine_parse_banks(&en, "1 3 5 7 / 2 4 6 8", &e) || !engine_parse_firing(&en, "1 8 4 3 6 5 7 2", &e) ||
        !engine_finish(&en, &e))
        fail_msg("%s", e.text);
    return en;
}

static bool row_exists(const char *file, const char *id)
{
    struct csv c = load_table(file);
    bool found = false;

    for (size_t i = 1; i < c.n_rows; i++)
        found = found || strcmp(csv_cell(&c, i, 0), id) == 0;
    csv_release(&c);
    return found;
}

static void every_sign_rests_on_a_row(void **state)
{
    (void)state;
    for (int s = 0; s < SIGN_COUNT; s++) {
        const struct sign_row *r = sign_row((enum sign)s);

        assert_int_equal(sign_find(r->zone, r->id), s); /* ids unique within the zone */
        assert_true(r->label[0] != '\0' && r->sentence[0] != '\0');
        if (r->fact[0] != '\0' && !row_exists("assets/deposits.csv", r->fact) &&
            !row_exists("assets/wells-and-ignition.csv", r->fact))
            fail_msg("%s rests on %s, which is in no table", r->id, r->fact);
        for (int k = 0; k < s; k++)
            if (sign_row((enum sign)k)->zone == r->zone && r->key != 0)
                assert_int_not_equal(sign_row((enum sign)k)->key, r->key);
    }
    for (int z = 0; z < ZONE_COUNT; z++) {
        assert_int_equal(zone_find(zone_row((enum zone)z)->id), z);
        assert_true(sign_count((enum zone)z) > 0);
    }
}

static void every_word_is_found_again(void **state)
{
    (void)state;
    for (int list = 0; list < WORDS_COUNT; list++) {
        int n;
        const struct word *rows = words_rows((enum words)list, &n);

        assert_true(n > 0);
        for (int i = 0; i < n; i++) {
            assert_int_equal(words_find((enum words)list, rows[i].id), i + 1);
            assert_string_equal(words_id((enum words)list, i + 1), rows[i].id);
            assert_true(rows[i].label[0] != '\0');
        }
        assert_int_equal(words_find((enum words)list, ""), 0);
        assert_int_equal(words_find((enum words)list, "no-such-word"), -1);
    }
}

static void what_was_done_reads_both_ways(void **state)
{
    static const char *const lines[] = {"replaced:valve-cover-seal:bank 2", "swapped:coil:cylinders 3,5",
                                        "cleaned:plug:all", "tightened:plug:cylinder 6"};
    static const struct {
        const char *line, *said;
    } bad[] = {{"replaced:plug", "“replaced:plug” is not of the form verb:part:place."},
               {"mended:plug:all",
                "“mended” is no known verb; there are replaced, swapped, cleaned, refitted, tightened, adjusted."},
               {"replaced:plug:cylinder 9", "There is no cylinder 9."},
               {"replaced:plug:bank 3", "There is no bank “3”."},
               {"replaced:plug:there", "“there” is no place: use all, bank NAME, cylinder N or cylinders N,M."}};
    struct engine en = v8(1);

    (void)state;
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        struct visit_done d;
        struct err e;
        char back[100];

        assert_true(visit_parse_done(&en, lines[i], &d, &e));
        visit_format_done(&en, &d, back, sizeof back);
        assert_string_equal(back, lines[i]);
    }
    static const struct {
        const char *line;
        int from, to; /* index of the cylinder in 1 3 5 7 / 2 4 6 8 */
        const char *back;
    } ends[] = {{"swapped:coil:cylinders 8,3", 7, 1, "swapped:coil:cylinders 8,3"},
                {"swapped:coil:cylinders 3,3", -1, -1, "swapped:coil:cylinder 3"},
                {"swapped:coil:cylinders 8,3,5", -1, -1, "swapped:coil:cylinders 3,5,8"},
                {"replaced:plug:cylinders 8,3", -1, -1, "replaced:plug:cylinders 3,8"}};
    for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
        struct visit_done d;
        struct err e;
        char back[100];

        assert_true(visit_parse_done(&en, ends[i].line, &d, &e));
        assert_int_equal(d.from, ends[i].from);
        assert_int_equal(d.to, ends[i].to);
        visit_format_done(&en, &d, back, sizeof back);
        assert_string_equal(back, ends[i].back);
    }
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct visit_done d;
        struct err e;

        assert_false(visit_parse_done(&en, bad[i].line, &d, &e));
        assert_string_equal(e.text, bad[i].said);
    }
}

/* What is typed in the wrong unit is asked about, with the reading that makes sense; a named unit stands. */
static void a_gap_no_plug_has_is_asked_about(void **state)
{
    static const struct {
        const char *typed;
        bool inches;
        int32_t um;         /* -1 refused */
        const char *offers; /* in the sentence */
    } rows[] = {
        {"1.1", false, 1100, ""},   {"110", false, 1100, ""},     {"0", false, 0, ""},       {"0.00", false, 0, ""},
        {"0.2", false, 200, ""},    {"2.5", false, 2500, ""},     {"0.043", false, -1, "“0.043 in” (1.09 mm)"}, {".035", false, -1, "“.035 in” (0.89 mm)"},
        {"0.043 in", false, 1092, ""}, {"4.3", false, -1, "“4.3 mm”"}, {"3", false, -1, "“3 mm”"}, {"3 mm", false, 3000, ""},
        {"0.1 mm", false, 100, ""}, {"43", true, 1092, ""},       {"0.9", true, -1, "“0.9 mm” (0.035 in)"}, {"1.1", true, -1, "“1.1 mm” (0.043 in)"},
        {"1.1 mm", true, 1100, ""}, {"wide", false, -1, "is no gap"}, {"-1", false, -1, "is no gap"}, {"0", true, 0, ""},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct err e = {0};
        int32_t um = -1;
        bool fine = record_read_gap(rows[i].typed, rows[i].inches, &um, &e);

        if (fine != (rows[i].um >= 0) || (fine && um != rows[i].um) || strstr(e.text, rows[i].offers) == NULL)
            fail_msg("“%s” gave %d, %d µm: %s", rows[i].typed, fine, (int)um, e.text);
    }
}

static void removal_order_reads_both_ways(void **state)
{
    struct engine en = v8(1), twin = v8(2);
    static struct visit v;
    struct err e;
    char back[200];

    (void)state;
    visit_init(&v, &en);
    assert_true(visit_parse_removal(&en, &v, "2,4 6-8 1 3", &e));
    visit_format_removal(&en, &v, back, sizeof back);
    assert_string_equal(back, "2 4 6 8 1 3");
    assert_false(visit_parse_removal(&en, &v, "2 4 2", &e));
    assert_string_equal(e.text, "Removal order: 2 comes twice.");
    assert_int_equal(v.n_removal, 6); /* unchanged */
    assert_true(visit_parse_removal(&en, &v, "3-6", &e)); /* a row and nothing else */
    visit_format_removal(&en, &v, back, sizeof back);
    assert_string_equal(back, "3 4 5 6");
    assert_true(visit_parse_removal(&en, &v, " 4 - 1 ", &e));
    visit_format_removal(&en, &v, back, sizeof back);
    assert_string_equal(back, "4 3 2 1");
    assert_true(visit_parse_removal(&en, &v, "1-5-3", &e));
    visit_format_removal(&en, &v, back, sizeof back);
    assert_string_equal(back, "1 5 3");
    assert_false(visit_parse_removal(&en, &v, "1-99", &e));
    assert_string_equal(e.text, "Removal order: there is no plug “99”.");
    visit_init(&v, &twin);
    assert_true(visit_parse_removal(&twin, &v, "3 top, 3 bottom,1 top", &e));
    visit_format_removal(&twin, &v, back, sizeof back);
    assert_string_equal(back, "3 top, 3 bottom, 1 top");
    assert_true(visit_parse_removal(&twin, &v, "1T 1B 3 Top 3b,2  bottom", &e));
    visit_format_removal(&twin, &v, back, sizeof back);
    assert_string_equal(back, "1 top, 1 bottom, 3 top, 3 bottom, 2 bottom");
    assert_true(visit_parse_removal(&twin, &v, "1 top 1 bottom", &e));
    assert_int_equal(v.n_removal, 2);
    assert_false(visit_parse_removal(&twin, &v, "1 middle", &e));
    assert_false(visit_parse_removal(&twin, &v, "1 3 2 4", &e));
    assert_non_null(strstr(e.text, "1 top, 1 bottom"));
    assert_false(visit_parse_removal(&twin, &v, "1T 1 top", &e));
    assert_false(visit_parse_removal(&twin, &v, "3", &e));
}

static void not_looked_at_is_not_nothing(void **state)
{
    struct reading r;

    (void)state;
    reading_init(&r, 0, 0);
    assert_int_equal(r.amount[SIGN_WELL_OIL], AMOUNT_UNSEEN);
    assert_int_equal(reading_main_deposit(&r), -1);
    reading_note(&r, SIGN_WELL_WATER, 2);
    assert_int_equal(r.amount[SIGN_WELL_OIL], 0);
    assert_int_equal(r.amount[SIGN_THREADS_OIL], AMOUNT_UNSEEN);
    reading_note(&r, SIGN_NORMAL, 2);
    reading_note(&r, SIGN_OIL_WET, 2);
    assert_int_equal(reading_main_deposit(&r), SIGN_OIL_WET); /* the graver of two alike */
}

/* Both may stand, but not without a word; an amount and signs that are no fault beside normal wear are no contradiction. */
static void normal_wear_and_a_fault_are_asked_about(void **state)
{
    struct reading r;
    char words[240];

    (void)state;
    reading_init(&r, 0, 0);
    reading_note(&r, SIGN_NORMAL, 2);
    reading_note(&r, SIGN_ADDITIVE_RED, 2);
    reading_note(&r, SIGN_THREADS_GAS_LEAK, 2);
    assert_false(reading_contradicts(&r, words, sizeof words));
    assert_string_equal(words, "");
    reading_note(&r, SIGN_DRY_CARBON, 2);
    reading_note(&r, SIGN_BRIDGED, 1);
    assert_true(reading_contradicts(&r, words, sizeof words));
    assert_string_equal(words, "normal wear together with dry carbon, bridged gap: which?");
    reading_note(&r, SIGN_NORMAL, 0);
    assert_false(reading_contradicts(&r, words, sizeof words));
}

static void the_gravest_sign_is_told_wherever_it_is(void **state)
{
    struct reading r;
    int n;

    (void)state;
    reading_init(&r, 0, 0);
    assert_int_equal(reading_gravest_sign(&r, &n), -1);
    reading_note(&r, SIGN_NORMAL, 3); /* as it should be */
    assert_int_equal(reading_gravest_sign(&r, &n), -1);
    assert_int_equal(n, 0);
    reading_note(&r, SIGN_PALE, 1);
    reading_note(&r, SIGN_COIL_CRACKED, 1);
    reading_note(&r, SIGN_WELL_WATER, 0);
    assert_int_equal(reading_gravest_sign(&r, &n), SIGN_COIL_CRACKED);
    assert_int_equal(n, 2);
}

/* One check for the window and the case file: what one takes the other reads back. */
static void codes_are_checked(void **state)
{
    static const char *const bad[] = {"", "P030", "P03066", "P0ZZZ", "X0306", "P4306", "P03 6", "0306P"};
    struct visit *v = mem_alloc(1, sizeof *v);
    struct err e = {0};

    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_false(visit_add_code(v, bad[i], &e));
        assert_non_null(strstr(e.text, "is no trouble code like P0306"));
    }
    assert_int_equal(v->n_codes, 0);
    assert_true(visit_add_code(v, "p03a6", &e) && visit_add_code(v, "U3FFF", &e));
    assert_string_equal(v->codes[0], "P03A6");
    while (v->n_codes < VISIT_MAX_CODES)
        assert_true(visit_add_code(v, "P0300", &e));
    assert_false(visit_add_code(v, "P0300", &e));
    assert_int_equal(e.code, ERR_LIMIT);
    free(v);
}

static void codes_are_set_apart_by_any_sign(void **state)
{
    static const struct {
        const char *typed, *words;
    } rows[] = {
        {"P0306, P0171 / U0100", "P0306|P0171|U0100|"}, {"P0306/p0171", "P0306|p0171|"}, {" P0306;P0171\nP0300 ", "P0306|P0171|P0300|"},
        {"P0306 – P0171 + P0300 & P0301", "P0306|P0171|P0300|P0301|"}, {"(P0306)", "P0306|"}, {"P0306 und Größe", "P0306|und|Größe|"}, {" ,/ ", ""}, {"", ""},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const char *at = rows[i].typed;
        char code[24], all[120] = "";

        while (visit_next_code(&at, code, sizeof code))
            text_format(all + strlen(all), sizeof all - strlen(all), "%s|", code);
        assert_string_equal(all, rows[i].words);
    }
}

static void two_gaps_are_compared_and_one_counts(void **state)
{
    static const struct {
        struct maybe gauge, photo;
        double pm;
        bool trust, from_photo, agree;
        double counts;
        const char *mm, *inch;
    } rows[] = {
        {{0}, {0}, 0, false, false, true, 0, "", ""},
        {{true, 0.90}, {0}, 0, false, false, true, 0.90, "feeler gauge", "feeler gauge"},
        {{true, 0.90}, {0}, 0, true, false, true, 0.90, "feeler gauge", "feeler gauge"}, /* trusted, but there is none */
        {{0}, {true, 0.93}, 0.04, false, true, true, 0.93, "photo ± 0.04", "photo ± 0.002"},
        {{true, 0.90}, {true, 0.93}, 0.04, false, false, true, 0.90, "feeler 0.90, photo 0.93 ± 0.04: agree", "feeler 0.035, photo 0.037 ± 0.002: agree"},
        {{true, 0.90}, {true, 0.95}, 0.04, true, true, true, 0.95, "feeler 0.90, photo 0.95 ± 0.04: agree; photo counts", "feeler 0.035, photo 0.037 ± 0.002: agree; photo counts"},
        {{true, 0.90}, {true, 0.951}, 0.04, false, false, false, 0.90, "feeler 0.90, photo 0.95 ± 0.04: apart", "feeler 0.035, photo 0.037 ± 0.002: apart"}, /* 0.05 = hypot(0.04, 0.03) */
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct reading r;
        char words[120];

        reading_init(&r, 0, 0);
        r.gap_mm = rows[i].gauge;
        r.gap_photo_mm = rows[i].photo;
        r.gap_photo_pm_mm = rows[i].pm;
        r.gap_trust_photo = rows[i].trust;
        reading_choose_gap(&r);
        assert_int_equal(r.gap_from_photo, rows[i].from_photo);
        assert_int_equal(reading_gaps_agree(&r), rows[i].agree);
        assert_int_equal(reading_gauge_gap(&r).given, rows[i].gauge.given);
        assert_int_equal((int)(r.gap_mm.value * 1000 + 0.5), (int)(rows[i].counts * 1000 + 0.5));
        reading_format_gap_source(&r, false, words, sizeof words);
        assert_string_equal(words, rows[i].mm);
        reading_format_gap_source(&r, true, words, sizeof words);
        assert_string_equal(words, rows[i].inch);
    }
}

/* 40 thousandths are 1.02 mm (25.4 mm an inch): in an engine of 1.00 to 1.30 mm nobody means 0.40. */
static void a_gap_far_off_the_engines_own_is_asked_about(void **state)
{
    static const struct {
        const char *typed;
        int32_t um; /* 0: asked */
    } rows[] = {{"40", 0}, {"1.1", 1100}, {"110", 1100}, {"40 thou", 1016}, {"0.40 mm", 400}, {"0.7", 700}, {"0", -1}};
    struct engine en;
    struct err e;
    int32_t um = 0;

    (void)state;
    engine_init(&en);
    en.plug.gap_min_mm = 1.0;
    en.plug.gap_max_mm = 1.3;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bool fine = record_read_gap_of(&en, rows[i].typed, false, &um, &e);

        assert_int_equal(fine, rows[i].um != 0);
        if (rows[i].um > 0)
            assert_int_equal(um, rows[i].um);
        else if (rows[i].um == 0)
            assert_non_null(strstr(e.text, "Inches? Then type “0.040 in” (1.02 mm)"));
    }
    en.plug.gap_min_mm = en.plug.gap_max_mm = 0; /* the card says nothing: as it stands */
    assert_true(record_read_gap_of(&en, "40", false, &um, &e) && um == 400);
}

/* One press says that something is there, not how much: it is noted in the middle. More presses mean more, and past the
 * most nothing; less is said by its own key. */
static void more_presses_mean_more(void **state)
{
    static const struct {
        int from;
        const char *next;
    } rows[] = {{AMOUNT_UNSEEN, "moderate"}, {0, "moderate"}, {1, "moderate"}, {2, "heavy"}, {3, "heavy"}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_string_equal(amount_words(amount_next(rows[i].from)), rows[i].next);
}

/* Every gap from 0.1 to 3 mm, also half way between two figures: shown, kept and shown again it is the same. */
static void what_is_shown_of_a_gap_is_kept(void **state)
{
    (void)state;
    for (int inches = 0; inches < 2; inches++)
        for (int k = 1000; k <= 30000; k++) {
            char before[24], after[24];
            double mm = k / 10000.0, unit = inches ? 25.4 : 1;

            text_from_double(before, sizeof before, mm / unit, inches ? 3 : 2);
            text_from_double(after, sizeof after, record_gap_as_shown_um(mm, inches) / 1000.0 / unit, inches ? 3 : 2);
            if (strcmp(before, after) != 0)
                fail_msg("%.4f mm is shown as %s and kept as %s", mm, before, after);
        }
}

/* Two records of the same visits: what is added to either is its own, and the one that goes leaves the other whole. */
static void shared_visits_stay_as_they_are(void **state)
{
    struct record a, b;
    struct visit *v;

    (void)state;
    record_init(&a);
    a.engine = v8(1);
    record_share(&b, &a); /* none yet */
    assert_int_equal(b.n_visits, 0);
    record_release(&b);
    for (int i = 0; i < 3; i++) {
        v = record_add_visit(&a);
        text_format(v->notes, sizeof v->notes, "visit %d", i);
        reading_note(&v->readings[7], SIGN_DRY_CARBON, i + 1);
    }
    record_reserve(&a, 8); /* room behind the last one is nobody's yet */
    record_share(&b, &a);
    assert_ptr_equal(a.visits, b.visits);
    text_copy(record_add_visit(&b)->notes, 8, "b's own");
    text_copy(record_add_visit(&a)->notes, 8, "a's own");
    assert_int_equal(a.n_visits, 4);
    assert_int_equal(b.n_visits, 4);
    assert_string_equal(a.visits[3].notes, "a's own");
    assert_string_equal(b.visits[3].notes, "b's own");
    record_release(&a);
    for (int i = 0; i < 3; i++) {
        assert_int_equal(b.visits[i].notes[6], '0' + i);
        assert_int_equal(b.visits[i].readings[7].amount[SIGN_DRY_CARBON], i + 1);
    }
    b.n_visits = 2; /* a place used before is begun anew */
    v = record_add_visit(&b);
    assert_string_equal(v->notes, "");
    assert_int_equal(v->readings[7].amount[SIGN_DRY_CARBON], AMOUNT_UNSEEN);
    record_release(&b);
    assert_null(b.visits);
}

/* By words of the list, in own words, or both; that there is none stands alone. */
static void a_complaint_is_said_in_both_ways(void **state)
{
    struct visit *v = mem_alloc(1, sizeof *v);
    int miss = words_find(WORDS_COMPLAINT, "misfire-idle-hot"), oil = words_find(WORDS_COMPLAINT, "oil-use"), none = words_find(WORDS_COMPLAINT, "none");
    char said[300];

    (void)state;
    visit_format_complaint(v, said, sizeof said);
    assert_string_equal(said, "");
    assert_false(visit_complains(v) || visit_complaint_asked(v));
    text_copy(v->complaint_words, sizeof v->complaint_words, "gone above 1500");
    assert_true(visit_complains(v) && visit_complaint_asked(v));
    visit_format_complaint(v, said, sizeof said);
    assert_string_equal(said, "“gone above 1500”");
    visit_toggle_complaint(v, miss);
    visit_toggle_complaint(v, oil);
    visit_format_complaint(v, said, sizeof said);
    assert_string_equal(said, "misses at hot idle, uses oil: “gone above 1500”");
    v->complaint_words[0] = '\0';
    visit_toggle_complaint(v, none);
    assert_int_equal(v->n_complaints, 1);
    assert_true(!visit_complains(v) && visit_complaint_asked(v));
    visit_toggle_complaint(v, oil);
    assert_int_equal(v->n_complaints, 1);
    assert_int_equal(v->complaints[0], oil);
    visit_toggle_complaint(v, oil);
    assert_true(v->n_complaints == 0 && v->complaints_given && !visit_complains(v));
    free(v);
}

/* Engine hours are read off an instrument with tenths; a kilometre has none. */
static void odometers_are_told_as_they_are_read(void **state)
{
    static const struct {
        double value;
        const char *unit, *words;
    } rows[] = {{1234.5, "h", "1,234.5 h"}, {1234, "h", "1,234 h"}, {0.3, "h", "0.3 h"}, {999.97, "h", "1,000 h"}, {97655, "mi", "97,655 mi"}, {97655.5, "km", "97,656 km"}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char words[40];

        visit_format_odometer(MAYBE(round(rows[i].value * unit_find(rows[i].unit)->factor)), words_find(WORDS_ODOMETER_UNIT, rows[i].unit), words, sizeof words);
        assert_string_equal(words, rows[i].words);
    }
}

static void work_in_short_names_each_kind_once(void **state)
{
    static const char *const lines[] = {"replaced:plug:cylinder 1", "cleaned:plug:cylinder 3", "replaced:plug:cylinder 5", "replaced:valve-cover-seal:bank 2"};
    struct engine en = v8(1);
    struct visit *v = calloc(1, sizeof *v);
    char words[200], small[8];

    (void)state;
    assert_non_null(v);
    visit_done_short(v, words, sizeof words);
    assert_string_equal(words, "");
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        struct err e;

        assert_true(visit_parse_done(&en, lines[i], &v->done[v->n_done++], &e));
    }
    visit_done_short(v, words, sizeof words);
    assert_string_equal(words, "plug, valve-cover gasket replaced; plug cleaned");
    visit_done_short(v, small, sizeof small);
    assert_true(strlen(small) < sizeof small);
    free(v);
}

/* A name that was written is cut at a character, and shown as cut. */
static void a_long_name_is_cut_at_a_character(void **state)
{
    static const char *const rows[] = {"aäöüßéèçñøåőűčžščřłśźżćńęąäöüßéèçñøåőűčžščřłśźżćńęą:plug:all", "replaced:äöüßéèçñøåőűčžščřłśźżćńęąäöüßéèçñøåőűčžščřłśźżćńęą:all",
                                       "replaced:plug:bank aäöüßéèçñøåőűčžščřłśźżćńęąäöüßéèçñøåőűčžščřłśźżćńęą"};
    struct record r;
    struct visit_done d;

    (void)state;
    record_init(&r);
    assert_true(engine_parse_banks(&r.engine, "1 2 3 4", NULL));
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct err e = {0};

        assert_false(visit_parse_done(&r.engine, rows[i], &d, &e));
        if (!text_is_utf8(e.text, strlen(e.text)) || strstr(e.text, "…”") == NULL)
            fail_msg("%s", e.text);
    }
    record_release(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_long_name_is_cut_at_a_character),
        cmocka_unit_test(codes_are_set_apart_by_any_sign),
        cmocka_unit_test(odometers_are_told_as_they_are_read),
        cmocka_unit_test(every_sign_rests_on_a_row),     cmocka_unit_test(every_word_is_found_again),
        cmocka_unit_test(what_was_done_reads_both_ways), cmocka_unit_test(removal_order_reads_both_ways), cmocka_unit_test(a_gap_no_plug_has_is_asked_about),
        cmocka_unit_test(not_looked_at_is_not_nothing),  cmocka_unit_test(codes_are_checked), cmocka_unit_test(two_gaps_are_compared_and_one_counts),
        cmocka_unit_test(more_presses_mean_more),
        cmocka_unit_test(a_gap_far_off_the_engines_own_is_asked_about), cmocka_unit_test(a_complaint_is_said_in_both_ways),
        cmocka_unit_test(what_is_shown_of_a_gap_is_kept),
        cmocka_unit_test(normal_wear_and_a_fault_are_asked_about), cmocka_unit_test(the_gravest_sign_is_told_wherever_it_is), cmocka_unit_test(shared_visits_stay_as_they_are),
        cmocka_unit_test(work_in_short_names_each_kind_once),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
