/* The work on an engine, over days and visits, played from the scripts of tests/journeys in the built program. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "../help/help.h"
#include "journey.h"

static void what_was_typed_is_kept_before_the_screen_changes(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/left-by-key.script");
}

static void escape_keeps_what_was_typed(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/escape-keeps.script");
}

/* In the window R in a note drew the removal order, M in a name opened the merge; the script player typed no capitals as keys. */
static void capitals_are_text(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/capitals.script");
}

static void the_first_visit_of_one_who_works_in_inches(void **state)
{
    (void)state;
    plays("tests/journeys/first-visit.script");
}

static void a_panel_goes_by_the_key_of_any_screen(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/panel-keys.script");
}

static void what_is_refused_keeps_the_focus(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/refused-keeps-focus.script");
}

static void a_swap_is_answered_by_a_press_on_the_row(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/swap-by-mouse.script");
}

static void a_form_says_what_is_wrong_in_each_field(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/form-wrong.script");
}

static void arrows_go_from_shape_to_shape(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/form-tiles.script");
}

static void a_name_from_right_to_left_stands_apart_in_the_search(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/search-right-to-left.script");
}

static void what_is_pasted_in_vain_is_told(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/pasted.script");
}

static void the_least_window_has_room_for_all(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/narrow-bar.script");
}

static void a_narrower_gap_has_not_grown(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/trend-narrower.script");
}

static void what_waits_in_visit_is_in_sight(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/waits-in-sight.script");
}

static void a_v8_from_nothing_to_its_report(void **state)
{
    char out[4000], path[128], *html;
    size_t n;
    struct err e;
    struct logbook *lb;
    int n_photos;

    (void)state;
    if (play("tests/journeys/v8-from-nothing.script", out, sizeof out) != 0)
        fail_msg("%s", out);
    print_message("%s", out);
    text_format(path, sizeof path, "%s/log/report-ember-4-2-v8-2026-06-14.html", folder);
    assert_true(files_read(path, 1 << 22, &html, &n, &e));
    assert_non_null(strstr(html, "Oil in the wells keeps to bank 2"));
    assert_non_null(strstr(html, "1 in 7 by luck"));
    assert_non_null(strstr(html, "data:image/jpeg"));
    assert_null(strstr(html, "cannot be shown"));
    assert_null(strstr(html, "http")); /* asks the network for nothing */
    free(html);
    lb = open_sound(&n_photos);
    assert_int_equal(n_photos, 8);
    logbook_close(lb);
}

/* The aim is 40 inputs for six plugs with photo, deposit, gap and well; 60 is the limit. */
static void six_plugs_take_few_inputs(void **state)
{
    char out[4000], path[128], engine[UUID_BYTES], visit[UUID_BYTES];
    struct engine en;
    struct visit *v = calloc(1, sizeof *v);
    struct err e = {0};
    struct logbook *lb;
    struct record r;
    const char *counted;

    (void)state;
    text_format(path, sizeof path, "%s/log", folder);
    assert_true(logbook_create(path, &e));
    lb = logbook_open(path, LOGBOOK_WRITE, &e);
    engine_init(&en);
    text_copy(en.name, sizeof en.name, "Harrow");
    assert_true(engine_parse_banks(&en, "1 2 3 4 5 6", &e) && engine_parse_firing(&en, "1 5 3 6 2 4", &e) && engine_finish(&en, &e));
    visit_init(v, &en);
    text_copy(v->date, sizeof v->date, "2026-06-14");
    assert_true(visit_parse_removal(&en, v, "1 2 3 4 5 6", &e));
    uuid_make(engine);
    uuid_make(visit);
    assert_true(logbook_begin(lb, "x", &e) && logbook_put_engine(lb, engine, &en, &e) && logbook_put_visit(lb, visit, engine, &en, v, &e) && logbook_commit(lb, &e));
    logbook_close(lb);
    free(v);
    if (play("tests/journeys/six-counted.script", out, sizeof out) != 0)
        fail_msg("%s", out);
    print_message("%s", out);
    counted = strstr(out, "inputs: ");
    assert_non_null(counted);
    assert_true(atoi(counted + 8) <= 45);
    lb = logbook_open(path, LOGBOOK_READ, &e);
    assert_true(logbook_load_record(lb, engine, NULL, &r, &e));
    for (int i = 0; i < 6; i++) {
        const struct reading *q = &r.visits[0].readings[i];

        assert_true(q->present && q->gap_mm.given && reading_zone_looked(q, ZONE_WELL));
        assert_true(reading_main_deposit(q) >= 0);
    }
    assert_true(r.visits[0].readings[2].amount[SIGN_DRY_CARBON] == 2 && r.visits[0].readings[3].amount[SIGN_WELL_OIL] == 2);
    record_release(&r);
    logbook_close(lb);
}

/* A straight six with a cracked coil on 4, as it was read. */
static void write_missing_six(char engine[UUID_BYTES])
{
    char path[128], visit[UUID_BYTES];
    struct engine en;
    struct visit *v = calloc(1, sizeof *v);
    struct err e = {0};
    struct logbook *lb;

    text_format(path, sizeof path, "%s/log", folder);
    assert_true(logbook_create(path, &e));
    lb = logbook_open(path, LOGBOOK_WRITE, &e);
    engine_init(&en);
    text_copy(en.name, sizeof en.name, "Harrow");
    text_copy(en.plug.thread, sizeof en.plug.thread, "M14x1.25");
    en.plug.seat = ENGINE_SEAT_GASKET;
    en.ignition = ENGINE_COIL_PER_PLUG;
    assert_true(engine_parse_banks(&en, "1 2 3 4 5 6", &e) && engine_parse_firing(&en, "1 5 3 6 2 4", &e) && engine_finish(&en, &e));
    visit_init(v, &en);
    text_copy(v->date, sizeof v->date, "2026-06-02");
    assert_true(visit_add_code(v, "P0304", &e));
    for (int c = 0; c < 6; c++) {
        reading_note(visit_reading(v, &en, c, 0), c == 3 ? SIGN_FUEL_WET : SIGN_NORMAL, 2);
        reading_note(visit_reading(v, &en, c, 0), SIGN_COIL_CRACKED, c == 3 ? 3 : 0);
        reading_see_zone(visit_reading(v, &en, c, 0), ZONE_WELL);
    }
    uuid_make(engine);
    uuid_make(visit);
    assert_true(logbook_begin(lb, "x", &e) && logbook_put_engine(lb, engine, &en, &e) && logbook_put_visit(lb, visit, engine, &en, v, &e));
    for (int c = 0; c < 6; c++)
        assert_true(logbook_put_reading(lb, visit, visit_reading(v, &en, c, 0), &e));
    assert_true(logbook_commit(lb, &e));
    logbook_close(lb);
    free(v);
}

/* Cause accepted, part ordered and fitted, plugs refitted; the next visit says that it held, in at most 12 inputs. */
static void a_repair_is_made_and_confirmed(void **state)
{
    char out[4000], path[128], engine[UUID_BYTES], *html;
    struct err e = {0};
    struct logbook *lb;
    struct record r;
    const char *counted;
    size_t n;

    (void)state;
    write_missing_six(engine);
    if (play("tests/journeys/job-repair.script", out, sizeof out) != 0)
        fail_msg("%s", out);
    print_message("repair: %s", out);
    text_format(path, sizeof path, "%s/log/report-harrow-2026-06-02.html", folder);
    assert_true(files_read(path, 1 << 22, &html, &n, &e));
    assert_non_null(strstr(html, "Ignition coil, cylinder 4"));
    assert_non_null(strstr(html, "Borrow the thin socket"));
    assert_non_null(strstr(html, "Hole by hole"));
    assert_non_null(strstr(html, "Caution: "));
    assert_null(strstr(html, "Do not start"));
    free(html);
    if (play("tests/journeys/job-confirm.script", out, sizeof out) != 0)
        fail_msg("%s", out);
    print_message("confirm: %s", out);
    counted = strstr(out, "inputs: ");
    assert_non_null(counted);
    assert_true(atoi(counted + 8) <= 12);
    lb = open_sound(NULL);
    assert_true(logbook_load_record(lb, engine, NULL, &r, &e));
    assert_int_equal(r.visits[0].n_done, 2); /* what was repaired is work done, for the causes of later visits; so is the plug cleaned */
    assert_int_equal(r.visits[0].done[0].part, words_find(WORDS_DONE_PART, "plug"));
    assert_int_equal(r.visits[0].done[1].part, words_find(WORDS_DONE_PART, "coil"));
    record_release(&r);
    logbook_close(lb);
}

/* A straight six with a bare connector at 3, oil in the well of 5, a cracked coil at 6, a plug past its limit in 2. */
static void write_worn_six(char engine[UUID_BYTES])
{
    char path[128], visit[UUID_BYTES];
    struct engine en;
    struct visit *v = calloc(1, sizeof *v);
    struct err e = {0};
    struct logbook *lb;

    text_format(path, sizeof path, "%s/log", folder);
    assert_true(logbook_create(path, &e));
    lb = logbook_open(path, LOGBOOK_WRITE, &e);
    engine_init(&en);
    text_copy(en.name, sizeof en.name, "Wold");
    en.plug.gap_min_mm = 0.8;
    en.plug.gap_max_mm = 0.9;
    en.plug.gap_limit_mm = 1.3;
    en.ignition = ENGINE_COIL_PER_PLUG;
    assert_true(engine_parse_banks(&en, "1 2 3 4 5 6", &e) && engine_parse_firing(&en, "1 5 3 6 2 4", &e) && engine_finish(&en, &e));
    visit_init(v, &en);
    text_copy(v->date, sizeof v->date, "2026-06-02");
    visit_toggle_complaint(v, words_find(WORDS_COMPLAINT, "misfire-idle-hot"));
    assert_true(visit_add_code(v, "P0306", &e));
    for (int c = 0; c < 6; c++) {
        struct reading *q = visit_reading(v, &en, c, 0);

        reading_note(q, c == 5 ? SIGN_FUEL_WET : SIGN_NORMAL, 2);
        reading_note(q, SIGN_COIL_CRACKED, c == 5 ? 2 : 0);
        reading_note(q, SIGN_WELL_OIL, c == 4 ? 3 : 0);
        reading_note(q, SIGN_BOOT_OIL_SOAKED, c == 4 ? 2 : 0);
        reading_note(q, SIGN_CONN_BARE, c == 2 ? 2 : 0);
        q->gap_mm = MAYBE(c == 1 ? 1.42 : c == 3 ? 1.10 : 0.85);
    }
    uuid_make(engine);
    uuid_make(visit);
    assert_true(logbook_begin(lb, "x", &e) && logbook_put_engine(lb, engine, &en, &e) && logbook_put_visit(lb, visit, engine, &en, v, &e));
    for (int c = 0; c < 6; c++)
        assert_true(logbook_put_reading(lb, visit, visit_reading(v, &en, c, 0), &e));
    assert_true(logbook_commit(lb, &e));
    logbook_close(lb);
    free(v);
}

/* What was renewed, ticked or fitted is not to be done or bought any more, then and at the next visit. */
static void what_was_renewed_is_not_asked_for(void **state)
{
    char path[128], engine[UUID_BYTES], *html, *short_end;
    struct err e = {0};
    struct logbook *lb;
    struct arena *a = arena_create();
    struct logbook_step *steps;
    struct logbook_need *needs;
    struct record r;
    size_t n, n_steps, n_needs;

    (void)state;
    write_worn_six(engine);
    plays("tests/journeys/renewed.script");
    lb = open_sound(NULL);
    assert_true(logbook_load_record(lb, engine, NULL, &r, &e));
    assert_int_equal(r.n_visits, 2);
    assert_true(logbook_list_steps(lb, r.visits[0].id, a, &steps, &n_steps, &e) && logbook_list_needs(lb, r.visits[0].id, a, &needs, &n_needs, &e));
    for (size_t i = 0; i < n_steps; i++)
        if (strchr(steps[i].source, '@') != NULL && !text_starts(steps[i].source, "again:"))
            assert_string_equal(steps[i].state, "done");
    assert_int_equal(n_needs, 5);
    for (size_t i = 0; i < n_needs; i++)
        assert_string_equal(needs[i].state, "fitted");
    record_release(&r);
    arena_destroy(a);
    logbook_close(lb);
    text_format(path, sizeof path, "%s/log/report-wold-2026-06-14.html", folder);
    assert_true(files_read(path, 1 << 22, &html, &n, &e));
    assert_non_null(strstr(html, "Last repairs"));
    short_end = strstr(strstr(html, "Last repairs"), "<h"); /* the part behind "In short" */
    assert_non_null(short_end);
    *short_end = '\0';
    assert_null(strstr(html, "Swap the coil"));
    assert_null(strstr(html, "Fit new plugs"));
    assert_null(strstr(html, "Buy"));
    free(html);
}

/* Coils of 4 and 1 change places; the next visit finds the miss at 1. */
static void a_swapped_coil_is_convicted(void **state)
{
    char out[4000], engine[UUID_BYTES];

    (void)state;
    write_missing_six(engine);
    if (play("tests/journeys/job-swap.script", out, sizeof out) != 0)
        fail_msg("%s", out);
    print_message("swap: %s", out);
    logbook_close(open_sound(NULL));
}

/* Work that no cause or part asked for is noted, and the next visit is judged by it. */
static void work_done_is_told(void **state)
{
    char engine[UUID_BYTES], line[120], *html;
    size_t n;
    struct logbook *lb;
    struct record r;
    struct err e = {0};

    (void)state;
    write_missing_six(engine);
    plays("tests/journeys/work-done.script");
    lb = open_sound(NULL);
    assert_true(logbook_load_record(lb, engine, NULL, &r, &e));
    assert_int_equal(r.visits[0].n_done, 1);
    visit_format_done(&r.engine, &r.visits[0].done[0], line, sizeof line);
    assert_string_equal(line, "replaced:plug:cylinder 4");
    record_release(&r);
    logbook_close(lb);
    text_format(line, sizeof line, "%s/log/report-harrow-2026-06-14-all.html", folder);
    assert_true(files_read(line, 1 << 22, &html, &n, &e));
    assert_non_null(strstr(html, "Trouble is still there with a new plug"));
    assert_non_null(strstr(html, "plug replaced, cylinder 4"));
    free(html);
}

/* The engine of the played logbook with all its visits, and its parts; the caller releases both. */
static void load_played(struct logbook *lb, struct arena *a, struct record *r, struct logbook_part **parts, size_t *n_parts)
{
    struct logbook_engine *engines;
    struct err e = {0};
    size_t n;

    if (!logbook_list_engines(lb, a, &engines, &n, &e) || n != 1 || !logbook_load_record(lb, engines[0].id, NULL, r, &e) ||
        !logbook_list_parts(lb, engines[0].id, r, a, parts, n_parts, &e))
        fail_msg("%s", e.text);
}

/* Three visits: a miss moves with its coil, the coil is renewed, all is well. */
static void a_v8_convicts_its_coil_over_three_visits(void **state)
{
    struct arena *a = arena_create();
    struct logbook_part *parts;
    struct logbook *lb;
    struct record r;
    size_t n;
    int n_found = 0;

    (void)state;
    plays("tests/journeys/v8-coil.script");
    lb = open_sound(NULL);
    load_played(lb, a, &r, &parts, &n);
    assert_int_equal(r.n_visits, 3);
    for (size_t i = 0; i < n; i++) {
        if (strcmp(parts[i].name, "coil of 1, new 21 Jun 2026") == 0) {
            assert_int_equal(parts[i].cylinder, 0);
            assert_float_equal(parts[i].run_m.value, 3000 * 1609.344f, 1); /* 91,200 less 88,200 mi */
            assert_false(parts[i].run_at_least);
            n_found++;
        }
        if (strcmp(parts[i].name, "coil from 4") == 0) {
            assert_string_equal(parts[i].state, "aside");
            assert_true(parts[i].run_at_least); /* nobody knows what it ran before the first visit */
            assert_float_equal(parts[i].run_m.value, 200 * 1609.344f, 1);
            n_found++;
        }
    }
    assert_int_equal(n_found, 2);
    record_release(&r);
    arena_destroy(a);
    logbook_close(lb);
}

/* Every plug sits where the rotation put it, and its hundred hours went with it. */
static void twin_plugs_are_rotated_and_followed(void **state)
{
    static const struct {
        const char *name;
        int cylinder, position;
    } where[] = {{"plug from 1 top", 1, 1}, {"plug from 1 bottom", 1, 0}, {"plug from 4 top", 0, 1}, {"plug from 2 bottom", 3, 0}}; /* labels 1 3 2 4 */
    struct arena *a = arena_create();
    struct logbook_part *parts;
    struct logbook *lb;
    struct record r;
    size_t n;

    (void)state;
    plays("tests/journeys/twin-rotation.script");
    lb = open_sound(NULL);
    load_played(lb, a, &r, &parts, &n);
    assert_int_equal(n, 8);
    for (size_t i = 0; i < n; i++) {
        assert_true(parts[i].hours);
        assert_float_equal(parts[i].run_m.value, 100 * 3600.0f, 1);
        for (size_t k = 0; k < sizeof where / sizeof where[0]; k++)
            if (strcmp(parts[i].name, where[k].name) == 0) {
                assert_int_equal(parts[i].cylinder, where[k].cylinder);
                assert_int_equal(parts[i].position, where[k].position);
            }
    }
    assert_float_equal(r.visits[0].readings[2 * 3].differential_over_80.value, 52, 0.01);
    assert_int_equal(r.visits[0].fuel, words_find(WORDS_FUEL, "avgas"));
    record_release(&r);
    arena_destroy(a);
    logbook_close(lb);
}

/* Two days of work on one visit, parts waited for, then the visit that says that both repairs held. */
static void a_six_is_mended_over_two_days(void **state)
{
    char out[4000], path[128], *html;
    struct arena *a = arena_create();
    struct logbook_part *parts;
    struct logbook_engine *engines;
    struct logbook_step *steps;
    struct logbook *lb;
    struct record r;
    struct err e = {0};
    struct logbook_photo *photos;
    size_t n, n_engines, n_steps, n_found;
    int n_photos, n_second_day = 0;

    (void)state;
    if (play("tests/journeys/six-two-days.script", out, sizeof out) != 0)
        fail_msg("%s", out);
    print_message("%s", out);
    lb = open_sound(&n_photos);
    assert_int_equal(n_photos, 8);
    load_played(lb, a, &r, &parts, &n);
    assert_int_equal(r.n_visits, 2);
    assert_true(logbook_list_photos(lb, r.visits[0].id, a, &photos, &n_found, &e) && logbook_list_steps(lb, r.visits[0].id, a, &steps, &n_steps, &e));
    for (size_t i = 0; i < n_found; i++)
        if (photos[i].cylinder < 0) {
            assert_string_equal(photos[i].name, "v8-coil-6.jpg");
            assert_string_equal(photos[i].step, steps[5].id);
        }
    assert_true(logbook_list_photos(lb, r.visits[1].id, a, &photos, &n_found, &e) && n_found == 1);
    assert_string_equal(photos[0].caption, "drain plug, new washer");
    assert_false(logbook_photo_waits(&photos[0]));
    assert_string_equal(r.visits[0].care.last_day, "2026-06-16");
    assert_int_equal(r.visits[0].n_removal, 6);
    assert_int_equal(r.visits[0].readings[3].amount[SIGN_COIL_CRACKED], 2);
    assert_int_equal(r.visits[0].readings[2].amount[SIGN_WELL_OIL], 2);
    assert_int_equal(r.visits[0].readings[0].washer, words_find(WORDS_WASHER, "used"));
    for (int i = 0; i < 6; i++)
        assert_int_equal(r.visits[0].readings[i].refit, words_find(WORDS_REFIT, "torqued"));
    assert_int_equal(r.visits[0].n_done, 2); /* coil and seals, each once */
    for (size_t i = 0; i < n; i++)
        if (strcmp(parts[i].name, "coil of 4, new 16 Jun 2026") == 0)
            assert_float_equal(parts[i].run_m.value, 640e3f, 1); /* 187,040 less 186,400 km */
    /* nothing stays open, and what was done is dated by its day */
    assert_true(logbook_list_engines(lb, a, &engines, &n_engines, &e));
    assert_int_equal(engines[0].n_open_steps, 0);
    assert_true(logbook_list_steps(lb, r.visits[0].id, a, &steps, &n_steps, &e));
    for (size_t i = 0; i < n_steps; i++) {
        assert_string_equal(steps[i].state, "done");
        n_second_day += strcmp(steps[i].done_on, "2026-06-16") == 0;
    }
    assert_int_equal(n_second_day, 4);
    record_release(&r);
    arena_destroy(a);
    logbook_close(lb);
    text_format(path, sizeof path, "%s/log/report-teal-3-0-six-2026-07-08.html", folder);
    assert_true(files_read(path, 1 << 22, &html, &n, &e));
    assert_non_null(strstr(html, "cracked coil: before 4 moderate; renewed since"));
    assert_non_null(strstr(html, "drain plug, new washer"));
    assert_null(strstr(html, "Not placed yet"));
    assert_null(strstr(html, "Do not start"));
    free(html);
}

/* Names with letters, timed picks, and a refused gap: what was recorded is what was meant. */
static void lettered_cylinders_are_named_by_keys(void **state)
{
    char path[128];
    struct err e = {0};
    struct logbook *lb;
    struct logbook_report report;

    (void)state;
    plays("tests/journeys/lettered-v12.script");
    text_format(path, sizeof path, "%s/log", folder);
    lb = logbook_open(path, LOGBOOK_READ, &e);
    assert_non_null(lb);
    assert_true(logbook_verify(lb, &report, &e) && report.sound);
    logbook_close(lb);
}

/* What cannot be taken waits in its field; the rest of it is recorded. */
static void what_is_refused_stays_where_it_was_typed(void **state)
{
    char path[128];
    struct err e = {0};
    struct logbook *lb;
    struct arena *a = arena_create();
    struct logbook_engine *engines;
    struct record r;
    size_t n;

    (void)state;
    plays("tests/journeys/refused.script");
    text_format(path, sizeof path, "%s/log", folder);
    lb = logbook_open(path, LOGBOOK_READ, &e);
    assert_non_null(lb);
    assert_true(logbook_list_engines(lb, a, &engines, &n, &e) && n == 1 && logbook_load_record(lb, engines[0].id, NULL, &r, &e));
    assert_int_equal(r.visits[0].n_codes, 1);
    assert_string_equal(r.visits[0].codes[0], "P0306");
    assert_int_equal(r.visits[0].n_removal, 4);
    assert_true(r.visits[0].odometer_m.given && !r.visits[0].readings[0].gap_mm.given);
    record_release(&r);
    arena_destroy(a);
    logbook_close(lb);
}

static void a_steps_figure_follows_the_units(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/steps-in-units.script");
}

static void a_refused_figure_says_why_beside_its_cell(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/refused-compression.script");
}

static void what_is_taken_out_is_asked_with_a_key_for_each_answer(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/take-out.script");
}

static void what_is_typed_means_what_the_person_means(void **state)
{
    (void)state;
    plays("tests/journeys/entry.script");
}

/* Paths are typed at once, the keys on the buttons are those that work, and a copy of the logbook is found and merged. */
static void the_file_browser_goes_by_its_keys(void **state)
{
    static const char words[] = "size 1280 720\nkey Enter\nwait\nkey F6\nwait\n"
                                "type %s/empty\nkey Enter\nwait\nexpect files.empty there\nexpect files.path focus no\n"
                                "type nowhere\nkey Enter\nwait\nexpect toast name ~There is no folder or file\nkey Escape\nexpect panel.files absent\nkey F6\nwait\n"
                                "type %s/pics\nkey Enter\nwait\nexpect file.a.jpg focus yes\nexpect files.shown name a.jpg\nkey Down\nexpect file.b.jpg focus yes\nexpect files.shown name b.jpg\nkey Space\n"
                                "wait\nexpect file.b.jpg value chosen\nexpect files.take name \"Take in 1 photo\"\nkey Space\nkey Up\nkey Enter\nwait\nexpect file.a.jpg value chosen\nkey Escape\n"
                                "key F6\nwait\nexpect file.a.jpg focus yes\nkey Ctrl+A\nwait\nexpect files.take name \"Take in 3 photos\"\n"
                                "click file.b.jpg\nwait\nexpect files.take name \"Take in 2 photos\"\nkey Down\nwait\nexpect file.c.jpg focus yes\n"
                                "key Enter\nwait\nexpect panel.files absent\nexpect found.read name ~21 photos\n"
                                "key F1\nwait\nexpect engines.merge seen yes\nexpect engines.take seen yes\nkey Shift+M\nwait\n"
                                "expect panel.files name \"Merge another copy of this logbook\"\nexpect files.merge enabled no\ncontrast\n"
                                "type %s/other\nkey Enter\nwait\nexpect files.merge enabled yes\nkey Enter\nwait\nexpect panel.merge there\n";
    char command[800], script[3600], path[160];
    struct err e = {0};

    (void)state;
    write_sample();
    text_format(command, sizeof command, "cd '%s' && cp -r log other && mkdir empty pics", folder);
    assert_int_equal(system(command), 0);
    text_format(command, sizeof command, "cp samples/photos/six-1-end.jpg '%s/pics/a.jpg' && cp samples/photos/six-2-end.jpg '%s/pics/b.jpg' && cp samples/photos/six-3-end.jpg '%s/pics/c.jpg'", folder, folder, folder);
    assert_int_equal(system(command), 0);
    text_format(script, sizeof script, words, folder, folder, folder);
    text_format(path, sizeof path, "%s/one.script", folder);
    assert_true(files_write(path, script, strlen(script), &e));
    plays(path);
}

/* The notes of the only visit, as another process finds them in the logbook by now. */
static bool notes_are_kept(const char *path, const char *wanted)
{
    struct arena *a;
    struct logbook_engine *engines;
    struct record r;
    struct err e;
    size_t n;
    struct logbook *lb = logbook_open(path, LOGBOOK_READ, &e);
    bool kept = false;

    if (lb == NULL)
        return false;
    a = arena_create();
    if (logbook_list_engines(lb, a, &engines, &n, &e) && n == 1 && logbook_load_record(lb, engines[0].id, NULL, &r, &e)) {
        kept = r.n_visits == 1 && strcmp(record_current(&r)->notes, wanted) == 0;
        record_release(&r);
    }
    arena_destroy(a);
    logbook_close(lb);
    return kept;
}

/* Typed, then nothing more is done: half a second later it is on the disk, without another event. */
static void typing_is_kept_when_it_pauses(void **state)
{
    static const char script[] = "size 1440 900\nclick new.name\ntype Reed\nclick new.shape.inline\nclick new.preset.i6\n"
                                 "click new.add-open\nclick visit.notes\ntype misses when hot\npause 60\npause 60\npause 60\npause 60\npause 60\n";
    char path[128], log[128];
    struct err e;
    bool kept = false;
    pid_t child;

    (void)state;
    text_format(path, sizeof path, "%s/one.script", folder);
    text_format(log, sizeof log, "%s/log", folder);
    assert_true(files_write(path, script, sizeof script - 1, &e));
    child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        char out[4000];

        setpgid(0, 0);
        play(path, out, sizeof out);
        _exit(1);
    }
    for (int i = 0; i < 2500 && !kept; i++) { /* before the pause is over: leaving would keep it as well */
        usleep(100000);
        kept = notes_are_kept(log, "misses when hot");
    }
    kill(-child, SIGKILL);
    waitpid(child, NULL, 0);
    assert_true(kept);
}

static void the_sample_is_got_around_in(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/getting-around.script");
}

static void what_copies_say_of_an_engine_is_chosen_in_its_form(void **state)
{
    static const char *const names[] = {"Ours", "Theirs"};
    char path[160], command[400], engine[UUID_BYTES];
    struct logbook_merged merged;
    struct logbook *lb;
    struct err e = {0};

    (void)state;
    write_sample();
    text_format(command, sizeof command, "cp -r '%s/log' '%s/other'", folder, folder);
    assert_int_equal(system(command), 0);
    for (int i = 0; i < 2; i++) {
        text_format(path, sizeof path, "%s/%s", folder, i == 0 ? "log" : "other");
        lb = logbook_open(path, LOGBOOK_WRITE, &e);
        assert_non_null(lb);
        assert_true(logbook_find_engine(lb, "Merrow 4.2 V8", engine, &e));
        for (int k = 0; k <= i; k++) /* the other's is the later one */
            assert_true(logbook_begin(lb, "Engine", &e) && logbook_set_text(lb, "engine", engine, "name", k < i ? "Once" : names[i], &e) &&
                        logbook_set_int(lb, "engine", engine, "gap_max_um", i == 0 ? 1200 : 1249 + k, &e) && logbook_commit(lb, &e));
        logbook_close(lb);
    }
    text_format(path, sizeof path, "%s/log", folder);
    lb = logbook_open(path, LOGBOOK_WRITE, &e);
    text_format(path, sizeof path, "%s/other", folder);
    assert_true(logbook_merge(lb, path, NULL, &merged, &e));
    assert_int_equal(merged.n_conflicts, 2);
    logbook_close(lb);
    plays("tests/journeys/card-differs.script");
}

static void opened_fields_are_in_view(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/fields-in-view.script");
}

static void liquid_noted_after_turning_is_asked_about(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/turned-again.script");
}

/* Parts taken in and left out are so in what is written; all four files are there. */
static void a_report_is_chosen_and_written(void **state)
{
    static const struct {
        const char *ext, *begins;
    } files[] = {{"-all.pdf", "%PDF-"}, {"-all.csv", "engine,"}, {".json", "{"}};
    char out[4000], path[160], *data;
    size_t n;
    struct err e = {0};

    (void)state;
    write_sample();
    if (play("tests/journeys/report.script", out, sizeof out) != 0)
        fail_msg("%s", out);
    print_message("%s", out);
    text_format(path, sizeof path, "%s/log/report-merrow-4-2-v8-2026-06-14.html", folder);
    assert_true(files_read(path, 1 << 22, &data, &n, &e));
    assert_non_null(strstr(data, "<h2>Engine</h2>"));
    assert_non_null(strstr(data, "<h2>Notes</h2>"));
    assert_null(strstr(data, "<h2>Photos</h2>"));
    free(data);
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        text_format(path, sizeof path, "%s/log/report-merrow-4-2-v8-2026-06-14%s", folder, files[i].ext);
        if (!files_read(path, 1 << 22, &data, &n, &e))
            fail_msg("%s", e.text);
        assert_memory_equal(data, files[i].begins, strlen(files[i].begins));
        free(data);
    }
}

static void a_failed_expectation_names_its_line(void **state)
{
    char out[4000], path[128];
    struct err e;

    (void)state;
    text_format(path, sizeof path, "%s/bad.script", folder);
    assert_true(files_write(path, "size 1280 720\nexpect new.name value nobody\n", 43, &e));
    assert_int_not_equal(play(path, out, sizeof out), 0);
    assert_non_null(strstr(out, "line 2: new.name value is “”, not “nobody”"));
}

static void a_table_is_taken_over(void **state)
{
    char engine[UUID_BYTES];
    struct record r;
    struct err e = {0};
    struct logbook *lb;
    int n_photos;

    (void)state;
    plays("tests/journeys/take-table.script");
    lb = open_sound(&n_photos);
    assert_true(logbook_find_engine(lb, "take-table", engine, &e) && logbook_load_record(lb, engine, NULL, &r, &e));
    assert_int_equal(r.n_visits, 2);
    assert_string_equal(r.visits[0].date, "2024-04-03");
    assert_true(r.visits[0].odometer_m.value == 97655000 && fabs(r.visits[0].readings[3].gap_mm.value - 1.13) < 1e-9);
    assert_non_null(strstr(r.visits[0].notes, "4: marmalade"));
    record_release(&r);
    logbook_close(lb);
}

/* Two copies that wrote one gap differently. The other one is dropped on the window: what it would bring is shown, then it
 * comes in; the value is chosen among all by a figure, open again by undo, and chosen at the field by a key. */
static void a_copy_is_merged_and_what_differs_is_chosen(void **state)
{
    static const char words[] = "size 1280 720\nwait\ndrop %s/other\nwait\nexpect panel.merge there\nexpect merge.engines value \"none new\"\nexpect merge.conflicts value 1\n"
                                "expect merge.conflict.1.1 value \"~stands\"\ncontrast\nkey Escape\nwait\nexpect panel.merge absent\nexpect bar.conflicts absent\n"
                                "drop %s/other\nwait\nkey Ctrl+Enter\nwait\nexpect panel.merge absent\nexpect bar.conflicts name \"1 to choose after merging\"\n"
                                "key Ctrl+M\nwait\nexpect conflict.1.1 name \"~in this copy (log\"\nexpect conflict.1.2 name \"~in other on\"\ncontrast\nkey 2\nwait\n"
                                "expect conflict.1.1 absent\nkey Escape\nwait\nexpect bar.conflicts absent\nkey Ctrl+Z\nwait\nexpect bar.conflicts there\n"
                                /* what was chosen and is open again does not hold the merge */
                                "expect bar.undo name \"~merge of “other”\"\nkey Ctrl+M\nwait\nexpect conflicts.take-back there\nkey Escape\nkey Ctrl+Z\nwait\nexpect bar.conflicts absent\n"
                                "expect bar.redo name \"~merge of “other”\"\nkey Ctrl+Y\nwait\nexpect bar.conflicts there\n"
                                "click bar.conflicts\nwait\nclick conflict.1.1\nwait\nexpect conflict.1.1 absent\nkey Escape\nwait\nkey Ctrl+Z\nwait\n"
                                "key Enter\nwait\nkey 1\nwait\nexpect card.copies-differ value \"~gap as found of 1\"\nexpect card.conflict.1.2 there\ncontrast\n"
                                "key Ctrl+2\nwait\nexpect card.copies-differ absent\nexpect gap.found value 1.20\n"
                                "key F1\nwait\ndrop %s/other\nwait\nexpect merge.edits value none\nexpect merge.accept enabled no\nkey Escape\nwait\n"
                                /* what was changed since would be lost */
                                "key Ctrl+M\nexpect conflicts.last-merge value \"~It cannot be taken back any more\"\nexpect conflicts.take-back absent\ncontrast\nkey Escape\n"
                                /* the last thing done: it goes whole */
                                "drop %s/third\nwait\nexpect merge.engines value 1\nkey Ctrl+Enter\nwait\nexpect bar.undo name \"~merge of “third”\"\nkey Ctrl+M\ncontrast\n"
                                "expect conflicts.take-back name \"Take the merge back\"\nkey Escape\nkey Ctrl+Z\nwait\nexpect bar.undo name \"~Chosen\"\n"
                                /* and comes in again as a whole */
                                "expect bar.redo name \"~merge of “third”\"\nkey Ctrl+Y\nwait\nexpect bar.undo name \"~merge of “third”\"\nexpect bar.redo absent\nkey Ctrl+Z\nwait\nexpect bar.undo name \"~Chosen\"\n"
                                "drop %s/third\nwait\nexpect merge.engines value 1\nkey Ctrl+Enter\nwait\nkey Ctrl+M\nclick conflicts.take-back\nwait\nkey Ctrl+M\nexpect conflicts.last-merge value \"~“other”\"\n";
    char path[160], script[4000], command[400], engine[UUID_BYTES], visit[UUID_BYTES];
    struct logbook *lb;
    struct err e = {0};

    (void)state;
    write_sample();
    text_format(command, sizeof command, "cp -r '%s/log' '%s/other'", folder, folder);
    assert_int_equal(system(command), 0);
    for (int i = 0; i < 2; i++) { /* this copy writes last: its value stands */
        text_format(path, sizeof path, "%s/%s", folder, i == 0 ? "other" : "log");
        lb = logbook_open(path, LOGBOOK_WRITE, &e);
        assert_non_null(lb);
        assert_true(logbook_find_engine(lb, "Merrow 4.2 V8", engine, &e) && logbook_find_visit(lb, engine, "", visit, &e));
        for (int k = 0; k <= i; k++) /* the higher clock is the later one */
            assert_true(logbook_begin(lb, "Gap", &e) && logbook_put_gap(lb, visit, 0, 0, false, 1200 + 50 * i + k, "mm", &e) && logbook_commit(lb, &e));
        logbook_close(lb);
    }
    text_format(path, sizeof path, "%s/third", folder);
    assert_true(logbook_create(path, &e));
    lb = logbook_open(path, LOGBOOK_WRITE, &e);
    assert_non_null(lb);
    uuid_make(engine);
    assert_true(logbook_begin(lb, "Engine", &e) && logbook_put_engine(lb, engine, &engine_find_preset("i4")->engine, &e) && logbook_commit(lb, &e));
    logbook_close(lb);
    text_format(script, sizeof script, words, folder, folder, folder, folder, folder);
    text_format(path, sizeof path, "%s/one.script", folder);
    assert_true(files_write(path, script, strlen(script), &e));
    plays(path);
}

/* The form of an empty logbook has the focus from the start, and redo is not its own. */
static void all_that_was_undone_is_redone(void **state)
{
    (void)state;
    plays("tests/journeys/redo-from-nothing.script");
}

static void plugs_in_the_open_have_no_wells(void **state)
{
    (void)state;
    plays("tests/journeys/no-wells.script");
}

static void one_coil_feeds_all(void **state)
{
    (void)state;
    plays("tests/journeys/one-coil.script");
}

static void a_coil_on_each_plug_has_no_leads(void **state)
{
    (void)state;
    plays("tests/journeys/no-leads.script");
}

static void an_engine_opened_again_is_as_it_stands_now(void **state)
{
    (void)state;
    plays("tests/journeys/opened-again.script");
}

static void what_is_too_late_is_not_what_comes_next(void **state)
{
    (void)state;
    plays("tests/journeys/too-late.script");
}

static void pulled_plugs_are_out_before_they_are_read(void **state)
{
    (void)state;
    plays("tests/journeys/pulled-unseen.script");
}

static void a_date_to_come_is_not_today(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/date-ahead.script");
}

/* Each script is a window of its own, and the form was not added when the one before it ended. */
static void an_engine_half_written_is_kept(void **state)
{
    struct logbook *lb;
    char draft[100];

    (void)state;
    plays("tests/journeys/draft-begun.script");
    plays("tests/journeys/draft-taken-up.script");
    plays("tests/journeys/draft-gone.script");
    plays("tests/journeys/draft-left.script");
    lb = open_sound(NULL);
    assert_true(logbook_read_draft(lb, draft, sizeof draft));
    assert_string_equal(draft, "");
    logbook_close(lb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_swap_is_answered_by_a_press_on_the_row, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(escape_keeps_what_was_typed, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(capitals_are_text, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(the_first_visit_of_one_who_works_in_inches, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_panel_goes_by_the_key_of_any_screen, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_is_refused_keeps_the_focus, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_was_typed_is_kept_before_the_screen_changes, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(all_that_was_undone_is_redone, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_form_says_what_is_wrong_in_each_field, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(arrows_go_from_shape_to_shape, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_name_from_right_to_left_stands_apart_in_the_search, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_is_pasted_in_vain_is_told, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(the_least_window_has_room_for_all, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_narrower_gap_has_not_grown, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_waits_in_visit_is_in_sight, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_v8_from_nothing_to_its_report, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(six_plugs_take_few_inputs, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_repair_is_made_and_confirmed, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(work_done_is_told, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_was_renewed_is_not_asked_for, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_swapped_coil_is_convicted, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_six_is_mended_over_two_days, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_v8_convicts_its_coil_over_three_visits, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(twin_plugs_are_rotated_and_followed, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(lettered_cylinders_are_named_by_keys, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_is_refused_stays_where_it_was_typed, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(the_file_browser_goes_by_its_keys, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_steps_figure_follows_the_units, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_is_taken_out_is_asked_with_a_key_for_each_answer, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_refused_figure_says_why_beside_its_cell, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_is_typed_means_what_the_person_means, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(typing_is_kept_when_it_pauses, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(the_sample_is_got_around_in, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_copies_say_of_an_engine_is_chosen_in_its_form, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(opened_fields_are_in_view, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(liquid_noted_after_turning_is_asked_about, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(plugs_in_the_open_have_no_wells, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_coil_on_each_plug_has_no_leads, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(an_engine_opened_again_is_as_it_stands_now, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_is_too_late_is_not_what_comes_next, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(one_coil_feeds_all, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(pulled_plugs_are_out_before_they_are_read, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_date_to_come_is_not_today, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(an_engine_half_written_is_kept, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_report_is_chosen_and_written, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_failed_expectation_names_its_line, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_table_is_taken_over, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_copy_is_merged_and_what_differs_is_chosen, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
