/* Tightening: every chart as published, none merged; conversions as printed elsewhere. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/assets.h"
#include "base/csv.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "base/units.h"
#include "engine/engine.h"
#include "reading/refit.h"
#include "../help/help.h"

/* tests/outside/torque.csv: the charts as gathered from their publishers' pages, named row by row. */
static void every_published_row_is_found_unmerged(void **state)
{
    struct err e = {.code = ERR_NONE};
    struct csv c = load_table("tests/outside/torque.csv");
    struct refit *r = mem_alloc(1, sizeof *r);

    (void)state;
    assert_true(c.n_rows > 60);
    for (size_t i = 1; i < c.n_rows; i++) {
        const char *thread = csv_cell(&c, i, csv_column(&c, "thread"));
        const char *head = csv_cell(&c, i, csv_column(&c, "head"));
        double low = 0, high = 0;
        int n_found = 0;

        assert_true(text_to_double(csv_cell(&c, i, csv_column(&c, "nm_min")), &low));
        assert_true(text_to_double(csv_cell(&c, i, csv_column(&c, "nm_max")), &high));
        assert_true(low > 0 && low <= high && high < 80);
        assert_true(csv_cell(&c, i, csv_column(&c, "source"))[0] != '\0');
        if (strcmp(thread, "all taper") == 0)
            thread = "M14x1.25";
        assert_true(refit_find(thread, csv_cell(&c, i, csv_column(&c, "seat")), strcmp(head, "not stated") == 0 ? "" : head, r, &e));
        assert_true(r->n_charts < REFIT_MAX && r->n_turns < REFIT_MAX);
        for (int k = 0; k < r->n_charts; k++)
            n_found += strcmp(r->charts[k].chart, csv_cell(&c, i, csv_column(&c, "chart_id"))) == 0 &&
                       fabs(r->charts[k].nm_min - low) < 1e-9 && fabs(r->charts[k].nm_max - high) < 1e-9;
        assert_true(n_found >= 1);
    }
    csv_release(&c);
    free(r);
}

/* The figure in N·m agrees with the chart's own unit, to the rounding of the printed figure. */
static void figures_agree_with_the_printed_unit(void **state)
{
    struct err e = {.code = ERR_NONE};
    struct csv c;

    (void)state;
    assert_true(asset_table("torque.csv", &c, &e));
    for (size_t i = 1; i < c.n_rows; i++) {
        const char *unit = csv_cell(&c, i, csv_column(&c, "orig_unit"));
        double factor = strcmp(unit, "lbf·ft") == 0 ? 1.3558179483314 : strcmp(unit, "lbf·in") == 0 ? 0.1129848290276 : 1, nm = 0, printed = 0;

        assert_true(factor != 1 || strcmp(unit, "N·m") == 0);
        text_to_double(csv_cell(&c, i, csv_column(&c, "nm_max")), &nm);
        text_to_double(csv_cell(&c, i, csv_column(&c, "orig_max")), &printed);
        assert_true(fabs(printed * factor - nm) < 0.006);
    }
    csv_release(&c);
}

/* Owner's manuals and a maintenance page print both units: 18 N·m as 13 lb ft, 15 N·m as 11 lb ft,
 * 360-420 lbf·in as 30-35 lbf·ft; 3.5 kgf·m is 34.32 N·m is 25.3 lbf·ft. */
static void conversions_are_as_printed(void **state)
{
    const struct unit *nm = unit_find("Nm"), *ft = unit_find("lbf.ft"), *in = unit_find("lbf.in");

    (void)state;
    assert_non_null(in);
    assert_int_equal(lround(unit_convert(18, nm, ft)), 13);
    assert_int_equal(lround(unit_convert(15, nm, ft)), 11);
    assert_int_equal(lround(unit_convert(360, in, ft)), 30);
    assert_int_equal(lround(unit_convert(420, in, ft)), 35);
    assert_int_equal(lround(unit_convert(420, in, nm) * 100), 4745);
    assert_int_equal(lround(unit_convert(34.32, nm, ft) * 10), 253);
}

static bool has_angle(const struct refit *r, const char *seat, const char *washer, double deg)
{
    for (int i = 0; i < r->n_turns; i++)
        if (strcmp(r->turns[i].seat, seat) == 0 && strcmp(r->turns[i].washer, washer) == 0 && !r->turns[i].doubtful &&
            r->turns[i].deg_min <= deg && deg <= r->turns[i].deg_max)
            return true;
    return false;
}

static void angles_tell_new_from_used_washers(void **state)
{
    struct err e = {.code = ERR_NONE};
    struct refit *r = mem_alloc(1, sizeof *r);
    bool doubtful = false;

    (void)state;
    assert_true(refit_find("M14x1.25", "gasket", "aluminium", r, &e));
    assert_true(has_angle(r, "gasket", "new", 180));
    assert_true(has_angle(r, "gasket", "reused", 30));
    assert_false(has_angle(r, "gasket", "reused", 180));
    assert_false(has_angle(r, "gasket", "reused", 45)); /* of a motorcycle's 10 mm plug */
    assert_true(refit_find("M10x1.0", "gasket", "aluminium", r, &e));
    assert_true(has_angle(r, "gasket", "reused", 45));
    assert_true(refit_find("M8x1.0", "gasket", "aluminium", r, &e));
    assert_false(has_angle(r, "gasket", "new", 270)); /* that page speaks of 10, 12 and 14 mm only */
    assert_true(refit_find("M14x1.25", "taper", "", r, &e));
    assert_true(has_angle(r, "taper", "reused", 22.5));
    for (int i = 0; i < r->n_turns; i++)
        doubtful = doubtful || r->turns[i].doubtful;
    assert_true(doubtful);
    free(r);
}

/* Solid copper and special washers, and the angle every other source contradicts, widen nothing. */
static void angles_are_told_in_a_line(void **state)
{
    struct err e = {.code = ERR_NONE};
    struct refit *r = mem_alloc(1, sizeof *r);
    char words[120];

    (void)state;
    assert_true(refit_find("M14x1.25", "gasket", "aluminium", r, &e));
    assert_true(refit_turn_words(r, false, words, sizeof words));
    assert_string_equal(words, "finger-tight, then 180–270° (5 sources)");
    assert_true(refit_turn_words(r, true, words, sizeof words));
    assert_string_equal(words, "finger-tight, then 30°");
    assert_true(refit_find("M14x1.25", "taper", "", r, &e));
    assert_true(refit_turn_words(r, false, words, sizeof words));
    assert_string_equal(words, "finger-tight, then 22.5°");
    r->n_turns = 0;
    assert_false(refit_turn_words(r, false, words, sizeof words));
    free(r);
}

static void mistakes_are_named(void **state)
{
    struct err e = {.code = ERR_NONE};
    struct refit *r = mem_alloc(1, sizeof *r);

    (void)state;
    assert_false(refit_find("M13x1", "gasket", "", r, &e));
    assert_int_equal(e.code, ERR_NOTFOUND);
    assert_non_null(strstr(e.text, "M13x1"));
    assert_non_null(strstr(e.text, "M14x1.25"));
    assert_false(refit_find("M14x1.25", "cone", "", r, &e));
    assert_non_null(strstr(e.text, "gasket or taper"));
    assert_false(refit_find("M14x1.25", "taper", "wood", r, &e));
    assert_non_null(strstr(e.text, "wood"));
    free(r);
}

/* Every chart has a name a person knows it by, and none is a code. */
static void every_chart_has_a_name(void **state)
{
    struct err e = {.code = ERR_NONE};
    struct csv charts, names;

    (void)state;
    assert_true(asset_table("torque.csv", &charts, &e) && asset_table("torque-charts.csv", &names, &e));
    for (size_t i = 1; i < charts.n_rows; i++) {
        int n_named = 0;

        for (size_t k = 1; k < names.n_rows; k++)
            n_named += strcmp(csv_named(&names, k, "chart_id"), csv_named(&charts, i, "chart_id")) == 0 && strlen(csv_named(&names, k, "name")) < sizeof ((struct refit_chart *)0)->name;
        assert_int_equal(n_named, 1);
    }
    csv_release(&charts);
    csv_release(&names);
}

static void a_thread_may_be_written_in_many_ways(void **state)
{
    static const char *const ways[] = {"M14x1.25", "M14x1,25", "m14 x 1.25", "M14\xC3\x97" "1.25", "M14 * 1,25"};
    struct err e = {.code = ERR_NONE};
    struct refit *r = mem_alloc(1, sizeof *r), *one = mem_alloc(1, sizeof *one);

    (void)state;
    assert_true(refit_find(ways[0], "gasket", "", one, &e));
    assert_true(one->n_charts > 3 && one->n_turns > 1);
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        if (!refit_find(ways[i], "gasket", "", r, &e))
            fail_msg("%s: %s", ways[i], e.text);
        assert_int_equal(r->n_charts, one->n_charts);
        assert_int_equal(r->n_turns, one->n_turns);
    }
    assert_true(refit_find("M10x1", "gasket", "", r, &e) && r->n_charts > 0);
    assert_false(refit_find("M14", "gasket", "", r, &e));
    free(r);
    free(one);
}

/* Computed from the published figures: M14 gasket in cast iron 25 to 34.3 (or 25 to 35) against 35.25 to 39.32. */
static void charts_that_do_not_overlap_are_named(void **state)
{
    struct err e = {.code = ERR_NONE};
    struct refit *r = mem_alloc(1, sizeof *r);
    int n = 0;

    (void)state;
    assert_true(refit_find("M14x1.25", "gasket", "cast-iron", r, &e));
    for (int i = 0; i < r->n_apart; i++)
        n += strstr(r->apart[i], "Louisiana State University (35.2 to 39.3 N·m)") != NULL && strstr(r->apart[i], "NGK") != NULL;
    assert_true(n >= 1);
    assert_true(refit_find("M12x1.25", "gasket", "aluminium", r, &e));
    assert_int_equal(r->n_apart, 0);
    free(r);
}

/* Charts say whether their threads are oiled; a maker's figure on the card is given first. */
static void threads_and_the_makers_figure(void **state)
{
    struct err e = {.code = ERR_NONE};
    struct refit *r = mem_alloc(1, sizeof *r);
    struct engine en;
    int n_oiled = 0;

    (void)state;
    engine_init(&en);
    assert_false(refit_for_engine(&en, r, &e));
    assert_non_null(strstr(e.text, "thread and seat"));
    text_copy(en.plug.thread, sizeof en.plug.thread, "M14x1.25");
    en.plug.seat = ENGINE_SEAT_GASKET;
    en.head = ENGINE_HEAD_ALUMINIUM;
    en.plug.maker_torque_nm = 18; /* Chevrolet Traverse 2012: far below every general chart */
    assert_true(refit_for_engine(&en, r, &e));
    assert_true(fabs(r->maker_nm - 18) < 1e-9);
    for (int i = 0; i < r->n_charts; i++) {
        assert_true(r->charts[i].nm_min > 18);
        assert_true(r->charts[i].printed[0] != '\0' && r->charts[i].threads[0] != '\0');
        n_oiled += strcmp(r->charts[i].threads, "oiled") == 0;
        assert_true(strcmp(r->charts[i].threads, "oiled") != 0 || strcmp(r->charts[i].chart, "de-garage") == 0);
    }
    assert_int_equal(n_oiled, 1);
    free(r);
}

/* What must be asked before a plug goes back in, and what answers it. */
static void a_plug_that_should_not_go_in_is_asked_about(void **state)
{
    struct record r;
    struct reading *q;
    struct visit *v;
    struct err e = {0};
    char words[300];

    (void)state;
    record_init(&r);
    assert_true(engine_parse_banks(&r.engine, "1 2 3 4", &e) && engine_parse_firing(&r.engine, "1 3 4 2", &e) && engine_finish(&r.engine, &e));
    r.engine.plug.gap_max_mm = 1.1;
    r.engine.plug.gap_limit_mm = 1.4;
    v = record_add_visit(&r);
    q = &v->readings[2];
    refit_ask(&r, q, false, words, sizeof words);
    assert_string_equal(words, "");
    reading_note(q, SIGN_NORMAL, 2);
    q->present = true;
    q->gap_mm = MAYBE(1.40);
    refit_ask(&r, q, false, words, sizeof words);
    assert_string_equal(words, "");
    reading_note(q, SIGN_OIL_WET, 2);
    reading_note(q, SIGN_WELL_WATER, 3);
    q->gap_mm = MAYBE(1.45);
    q->insulator = words_find(WORDS_INSULATOR, "cracked");
    q->refit = words_find(WORDS_REFIT, "torqued"); /* torqued all the same: it is still said */
    refit_ask(&r, q, false, words, sizeof words);
    assert_string_equal(words, "came out wet with oil: cleaned and dry? · water stood in its well: dry? · insulator cracked: a new plug");
    q->insulator = 0;
    refit_ask(&r, q, true, words, sizeof words);
    assert_non_null(strstr(words, "gap 0.057, limit 0.055 in: a new plug?"));
    q->insulator = words_find(WORDS_INSULATOR, "cracked"); /* its gap is nobody's matter */
    assert_true(visit_parse_done(&r.engine, "cleaned:well:cylinder 3", &v->done[v->n_done++], &e));
    assert_true(visit_parse_done(&r.engine, "cleaned:plug:cylinder 3", &v->done[v->n_done++], &e));
    refit_ask(&r, q, false, words, sizeof words);
    assert_string_equal(words, "insulator cracked: a new plug");
    assert_true(visit_parse_done(&r.engine, "replaced:plug:cylinder 3", &v->done[v->n_done++], &e));
    refit_ask(&r, q, false, words, sizeof words);
    assert_string_equal(words, "");
    v->n_done = 0; /* the plug of 3 now in 1: what is on it goes along, what stood in the wells stays */
    q->insulator = 0;
    reading_note(&v->readings[0], SIGN_WELL_OIL, 2);
    v->readings[0].plug_now = PLUG_FROM(2);
    q->plug_now = PLUG_FROM(0);
    refit_ask(&r, &v->readings[0], false, words, sizeof words);
    assert_string_equal(words, "the plug from 3 is in it: came out wet with oil: cleaned and dry? · oil stood in its well: dry? · gap 1.45, limit 1.40 mm: a new plug?");
    refit_ask(&r, q, false, words, sizeof words);
    assert_string_equal(words, "the plug from 1 is in it: water stood in its well: dry?");
    q->gap_left_mm = MAYBE(1.00); /* set since: it goes along with the plug */
    assert_true(visit_parse_done(&r.engine, "cleaned:plug:cylinder 3", &v->done[v->n_done++], &e));
    assert_true(refit_is_cleaned(&r, &v->readings[0]) && !refit_is_cleaned(&r, q));
    refit_ask(&r, &v->readings[0], false, words, sizeof words);
    assert_string_equal(words, "the plug from 3 is in it: oil stood in its well: dry?");
    assert_false(refit_gap_left(&r, q).given);
    q->insulator = words_find(WORDS_INSULATOR, "cracked"); /* scrap goes along, too */
    assert_string_equal(refit_scrap(&r, &v->readings[0]), "insulator cracked");
    assert_string_equal(refit_scrap(&r, q), "");
    q->plug_now = PLUG_OTHER; /* a new one in 3: nothing is to be asked of it, and nothing is cleaned */
    reading_note(&v->readings[0], SIGN_FUEL_WET, 3);
    refit_ask(&r, q, false, words, sizeof words);
    assert_string_equal(words, "water stood in its well: dry?");
    v->readings[0].gap_left_mm = MAYBE(0.90); /* that one's row: the plug that was in 1 is set aside */
    assert_true(fabs(refit_gap_left(&r, q).value - 0.90) < 1e-9 && fabs(refit_gap_left(&r, &v->readings[0]).value - 1.00) < 1e-9);
    record_release(&r);
}

/* Charts of assets/torque.csv, M14x1.25, gasket, aluminium: ngk-us 24.4 to 29.3, ngk-eu 25 to 30, lsu 20.3 to 29.8, iskra by one figure. */
static void an_applied_torque_lies_somewhere(void **state)
{
    struct refit *f = mem_alloc(1, sizeof *f);
    struct err e;
    char words[500];

    (void)state;
    assert_true(refit_find("M14x1.25", "gasket", "aluminium", f, &e));
    refit_compare(f, &(struct unit_choice){0}, 22, words, sizeof words);
    assert_string_equal(words, "under NGK, USA · NGK, Europe 2016/17 · NGK, Japan · Iskra Kielce; within Louisiana State University · German garage page");
    f->maker_nm = 20;
    refit_compare(f, &(struct unit_choice){0}, 22, words, sizeof words);
    assert_true(strstr(words, "over the maker's 20 N·m (15 lbf·ft); under NGK, USA") == words);
    refit_compare(f, &(struct unit_choice){0}, 20.9, words, sizeof words);
    assert_true(strstr(words, "as the maker's 20 N·m") == words);
    refit_compare(f, &(struct unit_choice){.inches = true}, 20.9, words, sizeof words);
    assert_true(strstr(words, "as the maker's 15 lbf·ft (20 N·m)") == words);
    refit_compare(f, &(struct unit_choice){0}, 60, words, sizeof words);
    assert_null(strstr(words, "within"));
    /* no head said: a chart stands once, and with its head where its rows differ */
    assert_true(refit_find("M14x1.25", "gasket", "", f, &e));
    refit_compare(f, &(struct unit_choice){0}, 60, words, sizeof words);
    assert_string_equal(words, "over NGK, USA · NGK, Europe 2016/17 · NGK, Japan · Louisiana State University · German garage page · Iskra Kielce");
    refit_compare(f, &(struct unit_choice){0}, 33, words, sizeof words);
    assert_string_equal(words, "under Louisiana State University for cast-iron · Iskra Kielce for cast-iron; within NGK, USA for cast-iron · NGK, Europe 2016/17 for cast-iron · German garage page for cast-iron; "
                               "over NGK, USA for aluminium · NGK, Europe 2016/17 for aluminium · NGK, Japan · Louisiana State University for aluminium · German garage page for aluminium · Iskra Kielce for aluminium");
    free(f);
}

/* 60 N·m for a plug whose maker says 27 was one small grey line. */
static void a_torque_far_off_the_book_is_warned_of(void **state)
{
    static const struct {
        double maker_nm, nm;
        enum refit_off off;
        const char *says;
        bool greased;
    } rows[] = {{24, 29, REFIT_ABOVE, "29 N·m (21 lbf·ft) is more than a fifth over the maker's 24 N·m (18 lbf·ft), though a chart for this thread goes up to 30 N·m (22 lbf·ft) (NGK, Europe 2016/17). The maker's figure wins: slacken it", false},
                {24, 30.4, REFIT_ABOVE, "The maker's figure wins", false},
                {24, 30.6, REFIT_OVER, "may be stretched", false},
                {24, 24, REFIT_GREASED, "24 N·m (18 lbf·ft) on a greased thread pulls as hard as some 30–36 N·m (22–27 lbf·ft) on a dry one, and the maker's 24 N·m (18 lbf·ft) is for dry threads unless the book says otherwise: about 16–19 N·m", true},
                {24, 20, REFIT_FINE, "", true},
                {24, 17, REFIT_FINE, "", true}, /* what is wanted of a greased one */
                {24, 17, REFIT_UNDER, "far under", false},
                {24, 14, REFIT_UNDER, "far under", true},
                {24, 11.9, REFIT_LOOSE, "less than half", true}, /* never put down to grease */
                {24, 31, REFIT_OVER, "may be stretched", true},
                {0, 28, REFIT_GREASED, "the highest chart's 30 N·m", true},
                {0, 24, REFIT_FINE, "", true},
                {27, 60, REFIT_OVER, "60 N·m (44 lbf·ft) is far over the maker's 27 N·m (20 lbf·ft): the head's thread or the plug's shell may be stretched. Do not run it: take the plug out", false},
                {27, 32.5, REFIT_OVER, "far over the maker's", false},
                {27, 32.3, REFIT_FINE, "", false},
                {27, 20.3, REFIT_FINE, "", false},
                {27, 20.1, REFIT_UNDER, "far under the maker's 27 N·m (20 lbf·ft): the plug runs hot and works loose", false},
                {27, 13.5, REFIT_UNDER, "far under the maker's", false},
                {27, 13.4, REFIT_LOOSE, "13 N·m (10 lbf·ft) is less than half of the maker's 27 N·m (20 lbf·ft), no better than by hand", false},
                {0, 60, REFIT_OVER, "far over the highest chart's 30 N·m (22 lbf·ft) (NGK, Europe 2016/17)", false},
                {0, 35, REFIT_FINE, "", false},
                {0, 14, REFIT_UNDER, "far under the lowest chart's 20 N·m (15 lbf·ft) (German garage page)", false}};
    const struct unit_choice units = {.inches = false};
    struct refit *f = mem_alloc(1, sizeof *f);
    struct engine en;
    struct err e;
    char words[400];

    (void)state;
    assert_true(refit_find("M14x1.25", "gasket", "aluminium", f, &e));
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        f->maker_nm = rows[i].maker_nm;
        assert_int_equal(refit_warn(f, &units, rows[i].nm, rows[i].greased, words, sizeof words), rows[i].off);
        assert_int_equal(refit_judge(f, rows[i].nm, rows[i].greased), rows[i].off);
        if (strstr(words, rows[i].says) == NULL || (words[0] == '\0') != (rows[i].off == REFIT_FINE))
            fail_msg("%.1f: %s", rows[i].nm, words);
        assert_int_equal(refit_stops(rows[i].off), rows[i].off == REFIT_OVER || rows[i].off == REFIT_LOOSE);
    }
    /* charts of both heads: the softer one's limit counts */
    assert_true(refit_find("M14x1.25", "gasket", "", f, &e));
    f->maker_nm = 27;
    assert_int_equal(refit_judge(f, 34, false), REFIT_OVER);
    assert_true(refit_find("M14x1.25", "gasket", "cast-iron", f, &e));
    f->maker_nm = 24;
    assert_int_equal(refit_judge(f, 60, false), REFIT_OVER);
    /* thread and seat are not assumed; the maker's figure counts without them, and without any there is nothing to hold it against */
    engine_init(&en);
    assert_false(refit_for_engine(&en, f, &e));
    assert_non_null(strstr(e.text, "does not name the plug's thread and seat. Measure the thread and look at the seat first"));
    assert_non_null(strstr(e.text, "a taper seat takes far less than a gasket (M14x1.25 in aluminium, NGK, USA: 10–20 N·m (7–15 lbf·ft) against 24–29 N·m (18–22 lbf·ft))"));
    assert_int_equal(refit_warn(f, &units, 60, false, words, sizeof words), REFIT_FINE);
    en.plug.maker_torque_nm = 27;
    assert_false(refit_for_engine(&en, f, &e));
    assert_int_equal(refit_warn(f, &units, 60, false, words, sizeof words), REFIT_OVER);
    text_copy(en.plug.thread, sizeof en.plug.thread, "M18x1.5");
    assert_false(refit_for_engine(&en, f, &e));
    assert_non_null(strstr(e.text, "does not name the plug's seat."));
    assert_non_null(strstr(e.text, "(M18x1.5 in aluminium, NGK, USA: "));
    free(f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_published_row_is_found_unmerged),
        cmocka_unit_test(figures_agree_with_the_printed_unit),
        cmocka_unit_test(conversions_are_as_printed),
        cmocka_unit_test(angles_tell_new_from_used_washers),
        cmocka_unit_test(angles_are_told_in_a_line),
        cmocka_unit_test(mistakes_are_named),
        cmocka_unit_test(every_chart_has_a_name),
        cmocka_unit_test(a_thread_may_be_written_in_many_ways),
        cmocka_unit_test(charts_that_do_not_overlap_are_named),
        cmocka_unit_test(threads_and_the_makers_figure),
        cmocka_unit_test(a_torque_far_off_the_book_is_warned_of),
        cmocka_unit_test(a_plug_that_should_not_go_in_is_asked_about),
        cmocka_unit_test(an_applied_torque_lies_somewhere),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
