/* The logbook on disk: what goes in comes out, undo and redo hold through a restart, what is
 * acknowledged survives a kill, and every refusal is a sentence. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/cache.h"
#include "logbook/logbook.h"
#include "record/ready.h"
#include "../help/help.h"

static struct logbook *fresh(void)
{
    struct err e = {0};
    struct logbook *lb;

    if (!logbook_create(folder, &e))
        fail_msg("%s", e.text);
    lb = logbook_open(folder, LOGBOOK_WRITE, &e);
    if (lb == NULL)
        fail_msg("%s", e.text);
    return lb;
}

static struct record v8(void)
{
    struct record r;
    struct err e = {0};
    struct visit *v;

    record_init(&r);
    text_copy(r.engine.name, sizeof r.engine.name, "Merrow 4.2 V8");
    r.engine.layout = ENGINE_V;
    r.engine.ignition = ENGINE_COIL_PER_PLUG;
    r.engine.plug.gap_min_mm = 1.0;
    r.engine.plug.gap_max_mm = 1.3;
    text_copy(r.engine.plug.thread, sizeof r.engine.plug.thread, "M14x1.25");
    text_copy(r.engine.plug.type, sizeof r.engine.plug.type, "Quill 14-R");
    r.engine.fuel = ENGINE_SINGLE_POINT;
    if (!engine_parse_banks(&r.engine, "left: 1 3 5 7 / 2 4 6 8", &e) || !engine_parse_firing(&r.engine, "1 8 4 3 6 5 7 2", &e) ||
        !engine_parse_groups(&r.engine, "1 2 / 3 4", r.engine.mixture_groups, &r.engine.n_mixture_groups, &e) || !engine_finish(&r.engine, &e))
        fail_msg("%s", e.text);
    record_add_visit(&r);
    v = record_add_visit(&r);
    text_copy(r.visits[0].date, 11, "2024-10-05");
    text_copy(v->date, 11, "2026-06-14");
    v->odometer_m = MAYBE(157160486);
    v->odometer_unit = words_find(WORDS_ODOMETER_UNIT, "mi");
    assert_true(visit_parse_removal(&r.engine, v, "2 4 6 8 1 3 5 7", &e));
    v->complaints_given = true;
    v->complaints[v->n_complaints++] = words_find(WORDS_COMPLAINT, "misfire-idle-hot");
    text_copy(v->codes[v->n_codes++], 8, "P0306");
    v->tests[v->n_tests++] = (struct visit_test){1, engine_find_cylinder(&r.engine, "6"), 1};
    v->outside_seen = true;
    v->outside[v->n_outside++] = (struct visit_outside){1, 2};
    text_copy(v->complaint_words, sizeof v->complaint_words, "slight miss at hot idle, gone above 1500");
    text_copy(v->notes, sizeof v->notes, "stood four years in a barn");
    assert_true(visit_parse_done(&r.engine, "replaced:plug:all", &r.visits[0].done[r.visits[0].n_done++], &e));
    for (int i = 0; i < 8; i++) {
        struct reading *q = &v->readings[i];

        reading_note(q, SIGN_NORMAL, 2);
        reading_note(q, SIGN_WELL_OIL, i >= 4 ? 3 : 0);
        q->gap_mm = i == 5 ? (struct maybe){0} : MAYBE(1.1 + 0.01 * i);
        if (i > 4) { /* of 6 a photo alone, of 7 both, of 8 the photo trusted */
            q->gap_photo_mm = MAYBE(1.2 + 0.01 * i);
            q->gap_photo_pm_mm = 0.04;
            q->gap_trust_photo = i == 7;
            reading_choose_gap(q);
        }
        q->nose_L = MAYBE(71.25), q->nose_a = MAYBE(4), q->nose_b = MAYBE(15.5);
        q->compression_kpa = MAYBE(1120);
        q->leak_heard_given = true;
        q->leak_heard = 4;
        q->mark_clock = 6;
        q->dries = 2;
        q->refit = 1;
        q->turned_out = i == 3;
        text_format(q->plug_name, sizeof q->plug_name, "D%d", i + 1);
    }
    return r;
}

static void same_reading(const struct reading *a, const struct reading *b)
{
    assert_int_equal(a->present, b->present);
    assert_memory_equal(a->zone_seen, b->zone_seen, sizeof a->zone_seen);
    assert_memory_equal(a->amount, b->amount, sizeof a->amount);
    assert_int_equal(a->gap_mm.given, b->gap_mm.given);
    assert_true(a->gap_mm.value - b->gap_mm.value < 1e-9 && b->gap_mm.value - a->gap_mm.value < 1e-9);
    assert_int_equal(a->gap_from_photo, b->gap_from_photo);
    assert_int_equal(a->gap_trust_photo, b->gap_trust_photo);
    assert_int_equal(a->gap_gauge_mm.given, b->gap_gauge_mm.given);
    assert_true(a->gap_gauge_mm.value - b->gap_gauge_mm.value < 1e-9 && b->gap_gauge_mm.value - a->gap_gauge_mm.value < 1e-9);
    assert_int_equal(a->gap_photo_mm.given, b->gap_photo_mm.given);
    assert_true(a->gap_photo_mm.value - b->gap_photo_mm.value < 1e-9 && b->gap_photo_mm.value - a->gap_photo_mm.value < 1e-9);
    assert_true(a->gap_photo_pm_mm - b->gap_photo_pm_mm < 1e-9 && b->gap_photo_pm_mm - a->gap_photo_pm_mm < 1e-9);
    assert_true(a->nose_L.value <= b->nose_L.value && a->nose_L.value >= b->nose_L.value);
    assert_int_equal(a->leak_heard, b->leak_heard);
    assert_int_equal(a->mark_clock, b->mark_clock);
    assert_int_equal(a->dries, b->dries);
    assert_int_equal(a->refit, b->refit);
    assert_int_equal(a->turned_out, b->turned_out);
    assert_string_equal(a->plug_name, b->plug_name);
}

static void a_record_comes_back_as_it_went_in(void **state)
{
    struct logbook *lb = fresh();
    struct record in = v8(), out;
    struct err e = {0};
    char engine[UUID_BYTES];
    struct logbook_report report;

    (void)state;
    assert_true(logbook_begin(lb, "Import", &e));
    if (!logbook_import_record(lb, &in, engine, &e) || !logbook_commit(lb, &e))
        fail_msg("%s", e.text);
    logbook_close(lb);
    lb = logbook_open(folder, LOGBOOK_READ, &e);
    assert_non_null(lb);
    if (!logbook_load_record(lb, engine, NULL, &out, &e))
        fail_msg("%s", e.text);
    assert_int_equal(out.n_visits, 2);
    assert_string_equal(out.engine.name, in.engine.name);
    assert_string_equal(out.engine.banks[0].name, "left");
    assert_string_equal(out.engine.plug.type, "Quill 14-R");
    assert_int_equal(out.engine.fuel, ENGINE_SINGLE_POINT);
    assert_memory_equal(out.engine.firing, in.engine.firing, sizeof in.engine.firing);
    assert_int_equal(out.engine.n_mixture_groups, 2);
    assert_int_equal(out.visits[0].n_done, 1);
    assert_int_equal(out.visits[1].n_removal, 8);
    assert_int_equal(out.visits[1].n_complaints, 1);
    assert_string_equal(out.visits[1].codes[0], "P0306");
    assert_int_equal(out.visits[1].tests[0].cylinder, in.visits[1].tests[0].cylinder);
    assert_int_equal(out.visits[1].outside[0].amount, 2);
    assert_string_equal(out.visits[1].notes, in.visits[1].notes);
    assert_string_equal(out.visits[1].complaint_words, in.visits[1].complaint_words);
    for (int i = 0; i < 8; i++) {
        same_reading(&out.visits[1].readings[i], &in.visits[1].readings[i]);
        assert_false(out.visits[0].readings[i].present);
    }
    if (!logbook_verify(lb, &report, &e))
        fail_msg("%s", e.text);
    if (!report.sound)
        fail_msg("%s", report.text);
    assert_true(report.n_edits > 100);
    record_release(&in);
    record_release(&out);
    logbook_close(lb);
}

/* What Engines tells of a visit is the same, whether its history is read with it or not. */
static void the_latest_visit_is_the_last_of_the_record(void **state)
{
    struct logbook *lb = fresh();
    struct record in = v8(), whole, latest;
    struct err e = {0};
    char engine[UUID_BYTES];

    (void)state;
    text_copy(record_add_visit(&in)->date, 11, "2025-03-01"); /* not written in the order of their dates */
    assert_true(logbook_begin(lb, "Import", &e) && logbook_import_record(lb, &in, engine, &e) && logbook_commit(lb, &e));
    assert_true(logbook_load_record(lb, engine, NULL, &whole, &e) && logbook_load_latest(lb, engine, &latest, &e));
    assert_int_equal(whole.n_visits, 3);
    assert_int_equal(latest.n_visits, 3); /* nothing tells that it ran in between */
    record_release(&latest);
    assert_true(logbook_begin(lb, "Odometer", &e) && logbook_set_int(lb, "visit", whole.visits[0].id, "odometer_m", 990000, &e) &&
                logbook_set_int(lb, "visit", whole.visits[1].id, "odometer_m", 990000, &e) && logbook_commit(lb, &e) && logbook_load_latest(lb, engine, &latest, &e));
    assert_int_equal(latest.n_visits, 1);
    assert_string_equal(latest.visits[0].date, "2026-06-14");
    assert_memory_equal(&latest.visits[0], &whole.visits[2], offsetof(struct visit, readings) + 8 * sizeof(struct reading));
    for (int i = 0; i < 8; i++)
        same_reading(&latest.visits[0].readings[i], &in.visits[1].readings[i]);
    record_release(&latest);
    assert_true(logbook_begin(lb, "Take out", &e));
    for (int i = 0; i < 3; i++)
        assert_true(logbook_remove(lb, "visit", whole.visits[i].id, &e));
    assert_true(logbook_commit(lb, &e) && logbook_load_latest(lb, engine, &latest, &e));
    assert_int_equal(latest.n_visits, 0);
    assert_int_equal(latest.engine.n_cylinders, 8);
    record_release(&latest);
    assert_false(logbook_load_latest(lb, whole.visits[0].id, &latest, &e)); /* no engine of that name */
    assert_int_equal(e.code, ERR_NOTFOUND);
    record_release(&whole);
    record_release(&in);
    logbook_close(lb);
}

static bool set_visit(struct logbook *lb, const char *id, const char *column, const char *value, struct err *e)
{
    long number;

    return text_to_long(value, &number) ? logbook_set_int(lb, "visit", id, column, number, e) : logbook_set_text(lb, "visit", id, column, value, e);
}

/* Whether the engine may be started rests on older visits too: Engines, which reads few of them, tells the same. */
static void the_latest_visits_tell_what_all_tell(void **state)
{
    static const char *const edits[][3] = {/* visit counted from the oldest, column, value */
                                           {"0", "odometer_m", "90000"}, {"1", "odometer_m", "91000"}, {"4", "last_run", "load"}, {"1", "odometer_unit", "h"}, {"2", "odometer_m", "92000"},
                                           {"5", "odometer_m", "999000000"}, {"4", "last_run", ""},       {"3", "closed", "2"},         {"4", "odometer_m", "92000"}, {"5", "last_run", "idle"},  {"0", "date", "2026-02-01"}};
    struct logbook *lb = fresh();
    struct record in, r[2];
    struct err e = {0};
    char engine[UUID_BYTES], words[2][READY_WORDS_BYTES];
    int n_differ = 0;

    (void)state;
    record_init(&in);
    assert_true(engine_parse_banks(&in.engine, "1 2 3 4 5 6", &e) && engine_parse_firing(&in.engine, "1 5 3 6 2 4", &e) && engine_finish(&in.engine, &e));
    for (int i = 0; i < 6; i++) { /* each draws one plug that no other does */
        struct visit *v = record_add_visit(&in);

        text_format(v->date, sizeof v->date, "2026-0%d-01", i + 1);
        reading_note(&v->readings[i], SIGN_NORMAL, 2);
        v->readings[i].present = true;
        if (i == 2)
            reading_note(&v->readings[i], SIGN_CONN_BARE, 2);
        if (i == 1)
            reading_note(&v->readings[i], SIGN_WELL_OIL, 2);
    }
    assert_true(logbook_begin(lb, "Import", &e) && logbook_import_record(lb, &in, engine, &e) && logbook_commit(lb, &e));
    for (size_t k = 0; k <= sizeof edits / sizeof edits[0]; k++) {
        for (int i = 0; i < 2; i++) {
            struct ready x;

            assert_true(i == 0 ? logbook_load_record(lb, engine, NULL, &r[i], &e) : logbook_load_latest(lb, engine, &r[i], &e));
            ready_of(&r[i], &x);
            ready_words(&r[i], &x, words[i], sizeof words[i]);
        }
        assert_string_equal(words[0], words[1]);
        n_differ += r[1].n_visits < r[0].n_visits;
        if (k < sizeof edits / sizeof edits[0])
            assert_true(logbook_begin(lb, "Edit", &e) && set_visit(lb, r[0].visits[edits[k][0][0] - '0'].id, edits[k][1], edits[k][2], &e) && logbook_commit(lb, &e));
        record_release(&r[0]);
        record_release(&r[1]);
    }
    assert_true(n_differ > 3);
    record_release(&in);
    logbook_close(lb);
}

/* Random edits, undone and redone across restarts: the dump of all tables must be the same. */
static char *dump(struct logbook *lb)
{
    sqlite3 *db;
    char path[128];
    struct text t = {0};
    size_t n;
    const struct logbook_column *c = logbook_columns(&n);

    (void)lb;
    text_format(path, sizeof path, "%s/logbook.db", folder);
    assert_int_equal(sqlite3_open_v2(path, &db, SQLITE_OPEN_READONLY, NULL), SQLITE_OK);
    for (size_t i = 0; i < n; i++) {
        char sql[256];
        sqlite3_stmt *q;

        text_format(sql, sizeof sql, "SELECT id, %s FROM %s WHERE gone = 0 AND %s IS NOT NULL ORDER BY id", c[i].column, c[i].table, c[i].column);
        assert_int_equal(sqlite3_prepare_v2(db, sql, -1, &q, NULL), SQLITE_OK);
        while (sqlite3_step(q) == SQLITE_ROW)
            text_addf(&t, "%s.%s %s=%s\n", c[i].table, c[i].column, (const char *)sqlite3_column_text(q, 0), (const char *)sqlite3_column_text(q, 1));
        sqlite3_finalize(q);
    }
    sqlite3_close(db);
    return t.s != NULL ? t.s : mem_copy_text("");
}

/* A cracked coil says nothing of oil, tracks, swelling on it, until somebody says that nothing else is there; undo takes
 * back just that. A firing end is one look: its deposit names it. */
static void only_what_is_said_is_noted(void **state)
{
    struct logbook *lb = fresh();
    struct record r = v8(), out;
    struct err e = {0};
    char engine[UUID_BYTES], visit[UUID_BYTES];

    (void)state;
    uuid_make(engine);
    uuid_make(visit);
    visit_init(&r.visits[1], &r.engine);
    assert_true(logbook_begin(lb, "x", &e) && logbook_put_engine(lb, engine, &r.engine, &e) && logbook_put_visit(lb, visit, engine, &r.engine, &r.visits[1], &e) &&
                logbook_note_sign(lb, visit, 2, 0, SIGN_COIL_CRACKED, 2, &e) && logbook_note_sign(lb, visit, 2, 0, SIGN_COIL_TRACKED, 0, &e) &&
                logbook_note_sign(lb, visit, 2, 0, SIGN_DRY_CARBON, 2, &e) && logbook_commit(lb, &e));
    for (int step = 0; step < 3; step++) {
        const struct reading *q;

        if (step == 1)
            assert_true(logbook_begin(lb, "Looked at", &e) && logbook_see_rest(lb, visit, 2, 0, ZONE_COIL, &e) && logbook_commit(lb, &e));
        if (step == 2)
            assert_true(logbook_undo(lb, &e));
        assert_true(logbook_load_record(lb, engine, NULL, &out, &e));
        q = visit_reading_const(record_current(&out), &out.engine, 2, 0);
        assert_int_equal(q->amount[SIGN_COIL_CRACKED], 2);
        assert_int_equal(q->amount[SIGN_COIL_TRACKED], 0);
        assert_int_equal(q->amount[SIGN_COIL_OIL_SOAKED], step == 1 ? 0 : AMOUNT_UNSEEN);
        assert_true(q->zone_seen[ZONE_COIL] == (step == 1) && q->zone_seen[ZONE_FIRING_END]);
        record_release(&out);
    }
    record_release(&r);
    logbook_close(lb);
}

static void undo_and_redo_hold_through_a_restart(void **state)
{
    struct logbook *lb = fresh();
    struct record r = v8();
    struct err e = {0};
    char engine[UUID_BYTES], visit[UUID_BYTES], *states[41];
    unsigned seed = 12345;
    int n = 40;

    (void)state;
    uuid_make(engine);
    uuid_make(visit);
    assert_true(logbook_begin(lb, "Engine", &e) && logbook_put_engine(lb, engine, &r.engine, &e) &&
                logbook_put_visit(lb, visit, engine, &r.engine, &r.visits[1], &e) && logbook_commit(lb, &e));
    states[0] = dump(lb);
    for (int i = 1; i <= n; i++) {
        seed = seed * 1103515245u + 12345u;
        int cylinder = (int)(seed >> 16) % 8, what = (int)(seed >> 20) % 5, amount = (int)(seed >> 24) % 4;

        assert_true(logbook_begin(lb, "Edit", &e));
        if (what == 0)
            assert_true(logbook_note_sign(lb, visit, cylinder, 0, SIGN_WELL_OIL, amount, &e));
        else if (what == 1)
            assert_true(logbook_put_gap(lb, visit, cylinder, 0, false, 900 + i, "mm", &e));
        else if (what == 2)
            assert_true(logbook_put_gap_photo(lb, visit, cylinder, 0, amount > 0 ? 900 + i : -1, 40, &e));
        else if (what == 3)
            assert_true(logbook_trust_gap(lb, visit, cylinder, 0, amount > 1, &e));
        else
            assert_true(logbook_see_zone(lb, visit, cylinder, 0, ZONE_THREADS, amount > 1, &e));
        assert_true(logbook_commit(lb, &e));
        states[i] = dump(lb);
        if (strcmp(states[i], states[i - 1]) == 0) { /* nothing changed: no step of undo either */
            free(states[i]);
            i--;
            n--;
        }
    }
    for (int i = n; i > 0; i--) {
        char *now;

        if (i % 7 == 0) {
            logbook_close(lb);
            lb = logbook_open(folder, LOGBOOK_WRITE, &e);
            assert_non_null(lb);
        }
        if (!logbook_undo(lb, &e))
            fail_msg("%s", e.text);
        now = dump(lb);
        assert_string_equal(now, states[i - 1]);
        free(now);
    }
    for (int i = 1; i <= n; i++) {
        char *now;

        if (i % 5 == 0) {
            logbook_close(lb);
            lb = logbook_open(folder, LOGBOOK_WRITE, &e);
        }
        if (!logbook_redo(lb, &e))
            fail_msg("%s", e.text);
        now = dump(lb);
        assert_string_equal(now, states[i]);
        free(now);
    }
    assert_false(logbook_redo(lb, &e));
    for (int i = 0; i <= n; i++)
        free(states[i]);
    struct logbook_report report;

    assert_true(logbook_verify(lb, &report, &e));
    if (!report.sound)
        fail_msg("%s", report.text);
    record_release(&r);
    logbook_close(lb);
}

/* A child edits and says each acknowledged figure; it is killed at a random moment; every figure it
 * said must be there. 20 times here; SOOTBOOK_KILLS sets more. */
static void write_fact(struct logbook *lb, const char *label, const char *row, int64_t step)
{
    struct err e = {0};

    if (!logbook_begin(lb, label, &e))
        fail_msg("%s", e.text);
    logbook_join(lb, step);
    if (!logbook_set_int(lb, "fact", row, "gone", 0, &e) || !logbook_set_text(lb, "fact", row, "value", label, &e) || !logbook_commit(lb, &e))
        fail_msg("%s", e.text);
}

static void check_facts(struct logbook *lb, const char *there)
{
    static const char *const rows[] = {"a", "b", "c", "t"};

    for (size_t i = 0; i < 4; i++)
        if (logbook_is_there(lb, "fact", rows[i]) != (strchr(there, rows[i][0]) != NULL))
            fail_msg("%s should %sbe there", rows[i], strchr(there, rows[i][0]) ? "" : "not ");
}

/* Three changes are one step, what came between is another; also after a restart. */
static void changes_that_join_are_one_step(void **state)
{
    struct logbook *lb = fresh();
    struct logbook_report report;
    struct err e = {0};
    int64_t step;

    (void)state;
    write_fact(lb, "Dropped", "a", 0);
    step = logbook_step(lb);
    assert_true(step > 0);
    write_fact(lb, "Dropped", "b", step);
    write_fact(lb, "Typed", "t", 0);
    write_fact(lb, "Dropped", "c", step);
    assert_int_equal(logbook_step(lb), step);
    logbook_close(lb);
    lb = logbook_open(folder, LOGBOOK_WRITE, &e);
    assert_non_null(lb);
    assert_string_equal(logbook_undo_label(lb), "Typed");
    assert_true(logbook_undo(lb, &e));
    check_facts(lb, "abc");
    assert_int_equal(logbook_undo_step(lb), step);
    assert_true(logbook_undo(lb, &e));
    check_facts(lb, "");
    assert_string_equal(logbook_undo_label(lb), "");
    assert_true(logbook_redo(lb, &e));
    check_facts(lb, "abc");
    assert_true(logbook_redo(lb, &e));
    check_facts(lb, "abct");
    assert_string_equal(logbook_redo_label(lb), "");
    assert_true(logbook_undo(lb, &e) && logbook_undo(lb, &e));
    write_fact(lb, "Dropped", "c", step); /* the rest of a step that was undone meanwhile */
    assert_string_equal(logbook_redo_label(lb), "");
    check_facts(lb, "c");
    assert_true(logbook_undo(lb, &e));
    check_facts(lb, "");
    assert_true(logbook_verify(lb, &report, &e) && report.sound);
    logbook_close(lb);
}

/* A row made in this change is not asked for what it cannot hold: what is set, set again, cleared and set in
 * another row meanwhile must stand all the same, in the log too. */
static void a_row_is_made_and_changed_in_one_change(void **state)
{
    struct logbook *lb = fresh();
    struct logbook_report report;
    struct err e = {0};
    char a[UUID_BYTES], b[UUID_BYTES], text[40];
    int64_t sort;

    (void)state;
    assert_true(logbook_begin(lb, "Facts", &e) && logbook_add(lb, "fact", a, &e));
    assert_true(logbook_clear(lb, "fact", a, "value", &e));
    assert_true(logbook_set_text(lb, "fact", a, "label", "sump", &e) && logbook_set_text(lb, "fact", a, "label", "sump plug", &e));
    assert_true(logbook_set_int(lb, "fact", a, "sort", 4, &e) && logbook_clear(lb, "fact", a, "sort", &e));
    assert_true(logbook_add(lb, "fact", b, &e) && logbook_set_text(lb, "fact", b, "label", "socket", &e));
    assert_true(logbook_set_text(lb, "fact", a, "value", "60 N·m", &e) && logbook_clear(lb, "fact", b, "label", &e));
    assert_true(logbook_remove(lb, "fact", b, &e) && logbook_commit(lb, &e));
    assert_true(logbook_get_text(lb, "fact", a, "label", text, sizeof text));
    assert_string_equal(text, "sump plug");
    assert_true(logbook_get_text(lb, "fact", a, "value", text, sizeof text));
    assert_false(logbook_get_int(lb, "fact", a, "sort", &sort));
    assert_false(logbook_get_text(lb, "fact", b, "label", text, sizeof text));
    assert_false(logbook_is_there(lb, "fact", b));
    assert_true(logbook_verify(lb, &report, &e));
    assert_string_equal(report.text, "");
    assert_int_equal(report.n_edits, 10);
    assert_true(logbook_undo(lb, &e));
    assert_false(logbook_get_text(lb, "fact", a, "label", text, sizeof text));
    assert_false(logbook_is_there(lb, "fact", a));
    /* rolled back: the row is not remembered as made */
    assert_true(logbook_begin(lb, "Fact", &e) && logbook_set_text(lb, "fact", a, "label", "gone again", &e));
    logbook_rollback(lb);
    assert_true(logbook_begin(lb, "Fact", &e) && logbook_set_text(lb, "fact", a, "label", "kept", &e) && logbook_commit(lb, &e));
    assert_true(logbook_verify(lb, &report, &e));
    assert_string_equal(report.text, "");
    logbook_close(lb);
}

static void what_is_acknowledged_survives_a_kill(void **state)
{
    const char *wish = getenv("SOOTBOOK_KILLS");
    int kills = wish != NULL ? atoi(wish) : 20, reached = 0;
    struct record r = v8();
    struct err e = {0};
    char engine[UUID_BYTES], visit[UUID_BYTES];
    struct logbook *lb = fresh();

    (void)state;
    uuid_make(engine);
    uuid_make(visit);
    assert_true(logbook_begin(lb, "Engine", &e) && logbook_put_engine(lb, engine, &r.engine, &e) &&
                logbook_put_visit(lb, visit, engine, &r.engine, &r.visits[1], &e) && logbook_commit(lb, &e));
    logbook_close(lb);
    srand(7);
    for (int k = 0; k < kills; k++) {
        int said[2], last = 0, got;
        pid_t child;
        int64_t um;
        char id[UUID_BYTES];
        struct logbook_report report;

        assert_int_equal(pipe(said), 0);
        child = fork();
        if (child == 0) {
            struct err why;
            struct logbook *mine = logbook_open(folder, LOGBOOK_WRITE, &why);

            close(said[0]);
            for (int i = 1; mine != NULL; i++) {
                if (!logbook_begin(mine, "Gap", &why) || !logbook_put_gap(mine, visit, k % 8, 0, false, 1000 + i, "mm", &why) ||
                    !logbook_note_sign(mine, visit, k % 8, 0, SIGN_WELL_OIL, 1 + i % 3, &why) || !logbook_commit(mine, &why))
                    break;
                if (write(said[1], &i, sizeof i) != (ssize_t)sizeof i)
                    break;
            }
            _exit(0);
        }
        close(said[1]);
        if (k % 2 == 1 && read(said[0], &got, sizeof got) == (ssize_t)sizeof got) /* however slow the machine: some behind an edit */
            last = got;
        usleep((useconds_t)(2000 + rand() % 60000));
        kill(child, SIGKILL);
        waitpid(child, NULL, 0);
        while (read(said[0], &got, sizeof got) == (ssize_t)sizeof got)
            last = got;
        close(said[0]);
        lb = logbook_open(folder, LOGBOOK_WRITE, &e);
        if (lb == NULL)
            fail_msg("%s", e.text);
        logbook_reading_id(visit, k % 8, 0, id);
        if (last > 0) {
            assert_true(logbook_get_int(lb, "reading", id, "gap_um", &um));
            assert_true(um >= 1000 + last);
            reached++;
        }
        assert_true(logbook_verify(lb, &report, &e));
        if (!report.sound)
            fail_msg("after kill %d: %s", k, report.text);
        logbook_close(lb);
    }
    assert_true(reached > 0);
    print_message("%d kills, %d after an acknowledged edit\n", kills, reached);
    record_release(&r);
}

static void a_second_window_only_reads(void **state)
{
    struct logbook *lb = fresh(), *window, *second;
    struct err e = {0};

    (void)state;
    logbook_close(lb);
    window = logbook_open(folder, LOGBOOK_WINDOW, &e);
    second = logbook_open(folder, LOGBOOK_WINDOW, &e);
    assert_true(window != NULL && second != NULL);
    assert_true(logbook_can_write(window));
    assert_false(logbook_can_write(second));
    assert_string_equal(logbook_why_read_only(second), "Reading only until the other window of this logbook is closed.");
    assert_false(logbook_begin(second, "x", &e));
    assert_false(logbook_comes_first(second));
    /* a command writes beside the window, which notices */
    lb = logbook_open(folder, LOGBOOK_WRITE, &e);
    assert_non_null(lb);
    char id[UUID_BYTES];

    assert_false(logbook_changed_outside(window));
    assert_true(logbook_begin(lb, "Fact", &e) && logbook_add(lb, "part", id, &e) && logbook_commit(lb, &e));
    assert_true(logbook_changed_outside(window));
    assert_false(logbook_changed_outside(window));
    logbook_close(lb);
    /* it read only for as long as it lived, also with the first one long gone */
    logbook_close(window);
    assert_true(logbook_comes_first(second));
    assert_true(logbook_can_write(second));
    assert_string_equal(logbook_why_read_only(second), "");
    assert_false(logbook_comes_first(second)); /* once */
    assert_true(logbook_begin(second, "Fact", &e) && logbook_add(second, "part", id, &e) && logbook_commit(second, &e));
    window = logbook_open(folder, LOGBOOK_WINDOW, &e); /* and now it is the first */
    assert_false(logbook_can_write(window));
    logbook_close(window);
    logbook_close(second);
}

static void refusals_are_sentences(void **state)
{
    struct err e = {0};
    char path[128];
    sqlite3 *db;
    struct logbook *lb;

    (void)state;
    assert_null(logbook_open("/tmp/no/such/folder", LOGBOOK_READ, &e));
    assert_non_null(strstr(e.text, "There is no folder"));
    assert_null(logbook_open(folder, LOGBOOK_READ, &e));
    assert_non_null(strstr(e.text, "holds no logbook"));
    assert_null(logbook_open("/etc/passwd", LOGBOOK_READ, &e));
    assert_non_null(strstr(e.text, "is a file"));
    text_format(path, sizeof path, "%s/logbook.db", folder);
    assert_true(files_write(path, "this is no database, but long enough to look at for SQLite, which reads a header of a hundred bytes first ....", 110, &e));
    assert_null(logbook_open(folder, LOGBOOK_READ, &e));
    assert_non_null(strstr(e.text, "no SQLite database"));
    unlink(path);
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    sqlite3_exec(db, "CREATE TABLE t (a)", NULL, NULL, NULL);
    sqlite3_close(db);
    assert_null(logbook_open(folder, LOGBOOK_READ, &e));
    assert_non_null(strstr(e.text, "not a Sootbook logbook"));
    unlink(path);
    lb = fresh();
    logbook_close(lb);
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    sqlite3_exec(db, "PRAGMA user_version=99", NULL, NULL, NULL);
    sqlite3_close(db);
    assert_null(logbook_open(folder, LOGBOOK_WRITE, &e));
    assert_int_equal(e.code, ERR_VERSION);
    assert_non_null(strstr(e.text, "newer Sootbook"));
    assert_false(logbook_create(folder, &e));
    assert_non_null(strstr(e.text, "holds a logbook already"));
}

static void a_copy_is_whole_while_others_write(void **state)
{
    struct logbook *lb = fresh(), *copy;
    struct record r = v8(), out;
    struct err e = {0};
    char engine[UUID_BYTES], file[128], other[128];
    struct logbook_report report;

    (void)state;
    assert_true(logbook_begin(lb, "Import", &e) && logbook_import_record(lb, &r, engine, &e) && logbook_commit(lb, &e));
    text_format(other, sizeof other, "%s/copy", folder);
    mkdir(other, 0777);
    text_format(file, sizeof file, "%s/logbook.db", other);
    if (!logbook_backup(lb, file, &e))
        fail_msg("%s", e.text);
    assert_false(logbook_backup(lb, file, &e)); /* never over an existing file */
    copy = logbook_open(other, LOGBOOK_READ, &e);
    assert_non_null(copy);
    assert_true(logbook_load_record(copy, engine, NULL, &out, &e));
    assert_true(logbook_verify(copy, &report, &e));
    assert_true(report.sound);
    record_release(&r);
    record_release(&out);
    logbook_close(copy);
    logbook_close(lb);
}

/* A logbook of every schema version is kept from the first one on; each opens and reads. */
static void every_old_version_opens(void **state)
{
    static const char *const versions[] = {"tests/logbook/schema-1/logbook.db", "tests/logbook/schema-2/logbook.db", "tests/logbook/schema-3/logbook.db",
                                           "tests/logbook/schema-4/logbook.db", "tests/logbook/schema-5/logbook.db", "tests/logbook/schema-6/logbook.db",
                                           "tests/logbook/schema-7/logbook.db", "tests/logbook/schema-8/logbook.db", "tests/logbook/schema-9/logbook.db",
                                           "tests/logbook/schema-10/logbook.db"};
    struct err e = {0};

    (void)state;
    for (size_t i = 0; i < sizeof versions / sizeof versions[0]; i++) {
        char path[128], engine[UUID_BYTES];
        struct logbook *lb;
        struct record r;

        text_format(path, sizeof path, "%s/logbook.db", folder);
        assert_true(files_copy(versions[i], path, &e));
        lb = logbook_open(folder, LOGBOOK_WRITE, &e);
        if (lb == NULL)
            fail_msg("%s", e.text);
        assert_true(logbook_find_engine(lb, "", engine, &e) && logbook_load_record(lb, engine, NULL, &r, &e));
        assert_string_equal(r.engine.name, "Ember");
        assert_true(r.visits[0].readings[0].gap_mm.given && r.visits[0].readings[0].amount[SIGN_WELL_OIL] == 3);
        assert_true(logbook_undo_label(lb)[0] != '\0');
        record_release(&r);
        logbook_close(lb);
    }
}

static void the_cache_may_be_broken_at_will(void **state)
{
    char path[128];
    struct cache *c = cache_open(folder);
    unsigned char *jpeg;
    size_t n;
    struct err e;

    (void)state;
    cache_put(c, "abc", CACHE_THUMB, 1, (const unsigned char *)"JPEG", 4);
    assert_true(cache_get(c, "abc", CACHE_THUMB, 1, &jpeg, &n));
    assert_int_equal(n, 4);
    free(jpeg);
    assert_false(cache_get(c, "abc", CACHE_THUMB, 2, &jpeg, &n)); /* another way of making them */
    cache_close(c);
    text_format(path, sizeof path, "%s/cache.db", folder);
    assert_true(files_write(path, "rubbish rubbish rubbish rubbish rubbish rubbish rubbish rubbish rubbish rubbish rubbish rubbish rubbish", 102, &e));
    c = cache_open(folder);
    assert_false(cache_get(c, "abc", CACHE_THUMB, 1, &jpeg, &n));
    cache_put(c, "abc", CACHE_THUMB, 1, (const unsigned char *)"again", 5);
    assert_true(cache_get(c, "abc", CACHE_THUMB, 1, &jpeg, &n));
    free(jpeg);
    cache_close(c);
}

/* Every column an edit may name has a table row of its own kind. */
static void the_table_of_columns_is_sound(void **state)
{
    size_t n;
    const struct logbook_column *c = logbook_columns(&n);

    (void)state;
    for (size_t i = 0; i < n; i++) {
        bool found = c[i].refers == NULL;

        for (size_t k = 0; k < n; k++) {
            if (k < i)
                assert_false(strcmp(c[i].table, c[k].table) == 0 && strcmp(c[i].column, c[k].column) == 0);
            found = found || strcmp(c[k].table, c[i].refers ? c[i].refers : "") == 0;
        }
        assert_true(found);
        assert_non_null(c[i].about);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_latest_visit_is_the_last_of_the_record, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(the_latest_visits_tell_what_all_tell, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_record_comes_back_as_it_went_in, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(only_what_is_said_is_noted, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(undo_and_redo_hold_through_a_restart, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(changes_that_join_are_one_step, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_row_is_made_and_changed_in_one_change, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_is_acknowledged_survives_a_kill, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_second_window_only_reads, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(refusals_are_sentences, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_copy_is_whole_while_others_write, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(every_old_version_opens, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(the_cache_may_be_broken_at_will, make_folder, drop_folder),
        cmocka_unit_test(the_table_of_columns_is_sound),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
