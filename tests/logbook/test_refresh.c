/* After an edit the record's last visit alone is read anew where that is enough: what comes of it is what a whole
 * reading gives, whatever was edited, taken back or done again. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook_db.h"
#include "../help/help.h"

#define N_VISITS 6

static struct engine en;
static char engine[UUID_BYTES], other[UUID_BYTES], visits[N_VISITS][UUID_BYTES];
static unsigned seed;

static int any(int n)
{
    return rand_r(&seed) % n;
}

static void must(bool fine, const struct err *e)
{
    if (!fine)
        fail_msg("%s", e->text);
}

/* Something in every table, at each visit. */
static void fill_visit(struct logbook *lb, const char *visit, int at)
{
    struct visit *v = mem_alloc(1, sizeof *v);
    struct logbook_photo p = {.name = "a.jpg", .format = "jpg", .cylinder = at % 4, .zone = ZONE_FIRING_END, .width = 40, .height = 30};
    struct logbook_step s = {.text = "Turn it by hand", .state = "todo", .source = "turn"};
    struct logbook_need n = {.text = "Washers", .state = "to-order", .quantity = 4};
    struct logbook_verdict w = {.cause = "coil", .place = "3", .state = "accepted"};
    struct logbook_mark m = {.kind = MARK_PIN, .n_points = 1, .x = {4}, .y = {5}, .width_px = 2};
    struct logbook_crop c = {.view = CROP_TIP, .x = 3, .y = 4, .px_per_mm = 9};
    struct err e = {0};

    visit_init(v, &en);
    text_format(v->date, sizeof v->date, "2026-0%d-03", at + 1);
    v->odometer_m = MAYBE(1e6 * at);
    v->odometer_unit = words_find(WORDS_ODOMETER_UNIT, "km");
    v->last_run = words_find(WORDS_LAST_RUN, at % 2 ? "idle" : "load");
    must(visit_parse_removal(&en, v, "3 1 4", &e) && visit_parse_done(&en, "replaced:coil:cylinder 3", &v->done[0], &e), &e);
    v->n_done = 1;
    memset(p.sha256, 'a' + at, 64);
    logbook_photo_id(visit, p.sha256, p.id);
    text_copy(m.photo, sizeof m.photo, p.id);
    text_copy(c.photo, sizeof c.photo, p.id);
    text_copy(p.visit, sizeof p.visit, visit);
    text_copy(s.visit, sizeof s.visit, visit);
    text_copy(n.visit, sizeof n.visit, visit);
    text_copy(w.visit, sizeof w.visit, visit);
    text_copy(w.engine, sizeof w.engine, engine);
    uuid_make(s.id);
    uuid_make(n.id);
    uuid_make(m.id);
    logbook_verdict_id(visit, w.cause, w.place, w.id);
    must(logbook_put_visit(lb, visit, engine, &en, v, &e) && logbook_put_photo(lb, &p, &e) && logbook_put_step(lb, &s, &e) && logbook_put_need(lb, &n, &e) &&
             logbook_put_verdict(lb, &w, &e) && logbook_put_mark(lb, &m, &e) && logbook_put_crop(lb, &c, &e),
         &e);
    for (int i = 0; i < 4; i++)
        must(logbook_note_sign(lb, visit, i, 0, i % 2 ? SIGN_NORMAL : SIGN_WELL_OIL, 2, &e) && logbook_put_gap(lb, visit, i, 0, i == 3, 900 + 50 * i, "mm", &e) &&
                 logbook_put_gap_photo(lb, visit, i, 0, 940, 20, &e),
             &e);
    must(logbook_name_plug(lb, visit, at % 4, 0, "A1", &e), &e);
    free(v);
}

static struct logbook *begun(void)
{
    char path[128];
    struct err e = {0};
    struct logbook *lb;
    struct logbook_fact f = {.label = "Sump", .value = "4 l"};

    text_format(path, sizeof path, "%s/log", folder);
    setenv("SOOTBOOK_TODAY", "2026-05-14", 1); /* the last of them is still to come */
    must(logbook_create(path, &e), &e);
    lb = logbook_open(path, LOGBOOK_WRITE, &e);
    must(lb != NULL, &e);
    engine_init(&en);
    text_copy(en.name, sizeof en.name, "Harrow");
    text_copy(en.plug.thread, sizeof en.plug.thread, "M14x1.25");
    must(engine_parse_banks(&en, "1 2 3 4", &e) && engine_parse_firing(&en, "1 3 4 2", &e) && engine_finish(&en, &e), &e);
    uuid_make(engine);
    uuid_make(other);
    uuid_make(f.id);
    text_copy(f.engine, sizeof f.engine, engine);
    must(logbook_begin(lb, "All", &e) && logbook_put_engine(lb, engine, &en, &e) && logbook_put_engine(lb, other, &en, &e) && logbook_put_fact(lb, &f, &e), &e);
    for (int i = 0; i < N_VISITS; i++) {
        uuid_make(visits[i]);
        fill_visit(lb, visits[i], i);
    }
    must(logbook_swap_parts(lb, visits[1], engine, &en, words_find(WORDS_DONE_PART, "plug"), 0, 2, &e) && logbook_commit(lb, &e), &e);
    return lb;
}

static bool same(const struct record *a, const struct record *b)
{
    const int n_all = a->n_visits + a->n_later + a->n_ahead;

    if (a->n_visits != b->n_visits || a->n_later != b->n_later || a->n_ahead != b->n_ahead || memcmp(&a->engine, &b->engine, sizeof a->engine) != 0)
        return false;
    for (int i = 0; i < n_all; i++) /* every field, each beginning as zero */
        if (memcmp(&a->visits[i], &b->visits[i], offsetof(struct visit, readings) + (size_t)record_plug_count(&a->engine) * sizeof(struct reading)) != 0)
            return false;
    return true;
}

/* Follows what was edited behind `since`, holds it against a whole reading and gives whether the last visit alone was read. */
static bool follow(struct logbook *lb, const char *visit, int64_t since, struct record *r, const char *what)
{
    struct record whole, held;
    struct visit *before = mem_alloc(1, sizeof *before);
    struct err e = {0};
    bool done;

    record_share(&held, r); /* as the thread that reads it holds it */
    memcpy(before, record_current(&held), offsetof(struct visit, readings));
    must(logbook_refresh_record(lb, engine, since, r, &done, &e), &e);
    if (memcmp(before, record_current(&held), offsetof(struct visit, readings)) != 0)
        fail_msg("%s: what another thread holds was written to", what);
    record_release(&held);
    free(before);
    if (!logbook_load_record(lb, engine, visit, &whole, &e)) { /* the engine or the visit is gone */
        if (done)
            fail_msg("%s: read anew, but gone", what);
        return false;
    }
    if (done && !same(r, &whole))
        fail_msg("%s: the visit read anew is not what the logbook has", what);
    record_release(r);
    *r = whole;
    return done;
}

static void what_a_person_does_most_reads_one_visit(void **state)
{
    struct logbook *lb = begun();
    struct record r;
    struct err e = {0};
    const char *visit = visits[3];

    (void)state;
    must(logbook_load_record(lb, engine, visit, &r, &e), &e);
    for (int i = 0; i < 9; i++) {
        const char *const kinds[] = {"a sign", "a gap", "a note", "a zone", "a step", "a photo placed", "undo", "redo", "a gap left"};
        int64_t since = logbook_last_change(lb);
        struct logbook_step s = {.text = "Dry the wells", .state = "done", .source = "dry"};
        char photo[UUID_BYTES], sha[65] = "";

        memset(sha, 'd', 64);
        logbook_photo_id(visit, sha, photo);
        text_copy(s.visit, sizeof s.visit, visit);
        uuid_make(s.id);
        if (i == 6 || i == 7) {
            must(i == 6 ? logbook_undo(lb, &e) : logbook_redo(lb, &e), &e);
        } else {
            must(logbook_begin(lb, "x", &e), &e);
            must(i == 0   ? logbook_note_sign(lb, visit, 1, 0, SIGN_DRY_CARBON, 3, &e)
                 : i == 1 ? logbook_put_gap(lb, visit, 1, 0, false, 1234, "mm", &e)
                 : i == 2 ? logbook_set_text(lb, "visit", visit, "notes", "hums", &e)
                 : i == 3 ? logbook_see_zone(lb, visit, 2, 0, ZONE_COIL, true, &e)
                 : i == 4 ? logbook_put_step(lb, &s, &e)
                 : i == 5 ? logbook_set_int(lb, "photo", photo, "cylinder", 2, &e)
                          : logbook_put_gap(lb, visit, 2, 0, true, 1000, "mm", &e),
                 &e);
            must(logbook_commit(lb, &e), &e);
        }
        if (!follow(lb, visit, since, &r, kinds[i]))
            fail_msg("%s: all visits were read", kinds[i]);
    }
    record_release(&r);
    logbook_close(lb);
}

/* The column of any row; NULL when the table has none. */
static sqlite3_value *any_value(struct logbook *lb, const char *table, const char *column)
{
    char sql[200];
    sqlite3_stmt *q;
    sqlite3_value *v = NULL;

    text_format(sql, sizeof sql, "SELECT %s FROM %s ORDER BY rowid LIMIT 1 OFFSET %d %% max(1, (SELECT count(*) FROM %s))", column, table, any(1000), table);
    assert_int_equal(sqlite3_prepare_v2(lb->db, sql, -1, &q, NULL), SQLITE_OK);
    if (sqlite3_step(q) == SQLITE_ROW)
        v = sqlite3_value_dup(sqlite3_column_value(q, 0));
    sqlite3_finalize(q);
    return v;
}

static void edit_any_column(struct logbook *lb, char *what, size_t n_room)
{
    size_t n_columns;
    const struct logbook_column *all = logbook_columns(&n_columns);
    const int at = any((int)n_columns);
    const struct logbook_column *c = &all[at];
    struct err e = {0};
    char row[UUID_BYTES];
    sqlite3_value *id, *v; /* what stands in another row */

    text_format(what, n_room, "%s.%s", c->table, c->column);
    if (strcmp(c->table, "engine") == 0 && strcmp(c->column, "notes") != 0 && strcmp(c->column, "gap_max_um") != 0) /* they hold together */
        return;
    if (strcmp(c->column, "gone") == 0 && any(4) != 0) /* else all would soon be gone */
        return;
    id = any_value(lb, c->table, "id");
    if (id == NULL)
        return;
    text_copy(row, sizeof row, (const char *)sqlite3_value_text(id));
    sqlite3_value_free(id);
    v = c->refers != NULL ? any_value(lb, c->refers, "id") : any_value(lb, c->table, c->column);
    if (any(3) == 0 && c->type == LOGBOOK_INT && c->refers == NULL && strcmp(c->column, "gone") != 0)
        must(logbook_set_int(lb, c->table, row, c->column, any(3), &e), &e);
    else if (v != NULL && sqlite3_value_type(v) != SQLITE_NULL)
        must(logbook_db_put(lb, at, row, v, false, &e), &e);
    else if (c->refers == NULL)
        must(logbook_clear(lb, c->table, row, c->column, &e), &e);
    sqlite3_value_free(v);
}

static void any_edit_gives_what_a_whole_reading_gives(void **state)
{
    struct logbook *lb = begun();
    struct record r;
    struct err e = {0};
    int n_one = 0, n_all = 0;

    (void)state;
    seed = 20260614;
    print_message("seed %u\n", seed);
    must(logbook_load_record(lb, engine, visits[3], &r, &e), &e);
    for (int i = 0; i < 800; i++) {
        const char *visit = visits[any(10) == 0 ? any(N_VISITS) : 3];
        int64_t since;
        char what[120] = "";
        const int kind = any(12);
        struct record now;

        if (!logbook_load_record(lb, engine, visit, &now, NULL)) { /* taken out */
            must(logbook_begin(lb, "x", &e) && logbook_set_int(lb, "visit", visit, "gone", 0, &e) && logbook_set_text(lb, "visit", visit, "engine", engine, &e) &&
                     logbook_set_int(lb, "engine", engine, "gone", 0, &e) && logbook_commit(lb, &e),
                 &e);
            must(logbook_load_record(lb, engine, visit, &now, &e), &e);
        }
        record_release(&r);
        r = now;
        since = logbook_last_change(lb);
        if (kind == 0 && logbook_undo_label(lb)[0] != '\0') {
            text_copy(what, sizeof what, "undo");
            must(logbook_undo(lb, &e), &e);
        } else if (kind == 1 && logbook_redo_label(lb)[0] != '\0') {
            text_copy(what, sizeof what, "redo");
            must(logbook_redo(lb, &e), &e);
        } else {
            must(logbook_begin(lb, "x", &e), &e);
            if (kind < 6) {
                edit_any_column(lb, what, sizeof what);
            } else if (kind < 8) {
                text_copy(what, sizeof what, "sign");
                must(logbook_note_sign(lb, any(4) ? visit : visits[any(N_VISITS)], any(4), 0, (enum sign)any(SIGN_COUNT), any(4), &e), &e);
            } else if (kind == 8) {
                text_copy(what, sizeof what, "gap");
                must(logbook_put_gap(lb, visit, any(4), 0, any(2), any(3) ? 700 + any(600) : -1, "mm", &e), &e);
            } else if (kind == 9) {
                text_copy(what, sizeof what, "plug named");
                must(logbook_name_plug(lb, visit, any(4), 0, any(2) ? "A1" : "B2", &e), &e);
            } else if (kind == 10) {
                text_copy(what, sizeof what, "swap");
                if (!logbook_swap_parts(lb, visit, engine, &en, words_find(WORDS_DONE_PART, any(2) ? "plug" : "coil"), any(2), 2 + any(2), &e)) {
                    logbook_rollback(lb);
                    continue;
                }
            } else {
                char row[UUID_BYTES];

                text_copy(what, sizeof what, "torque");
                must(logbook_touch_reading(lb, visit, any(4), 0, row, &e) && logbook_set_int(lb, "reading", row, "torque_mnm", any(2) ? 25000 : 90000, &e), &e);
            }
            must(logbook_commit(lb, &e), &e);
        }
        if (follow(lb, visit, since, &r, what))
            n_one++;
        else
            n_all++;
    }
    print_message("%d times one visit was read, %d times all\n", n_one, n_all);
    assert_true(n_one > 300 && n_all > 100); /* else the test would not tell of both */
    record_release(&r);
    logbook_close(lb);
}

/* That the engine has run since rests on this visit: without it the one before counts again, with all that stood there. */
static void what_lets_older_visits_count_reads_them(void **state)
{
    struct logbook *lb = begun();
    const char *visit = visits[N_VISITS - 2];
    struct record r;
    struct err e = {0};
    int64_t since;

    (void)state;
    must(logbook_load_record(lb, engine, visit, &r, &e), &e);
    assert_int_equal(r.visits[r.n_visits - 2].state.turned, 0);
    since = logbook_last_change(lb);
    must(logbook_begin(lb, "x", &e) && logbook_clear(lb, "visit", visit, "odometer_m", &e) && logbook_clear(lb, "visit", visit, "last_run", &e) && logbook_commit(lb, &e), &e);
    assert_false(follow(lb, visit, since, &r, "has not run"));
    assert_int_equal(r.visits[r.n_visits - 2].state.turned, TURN_OPEN);
    record_release(&r);
    logbook_close(lb);
}

static void another_day_reads_all(void **state)
{
    struct logbook *lb = begun();
    struct record r;
    struct err e = {0};
    bool done;

    (void)state;
    must(logbook_load_record(lb, engine, visits[3], &r, &e), &e);
    setenv("SOOTBOOK_TODAY", "2026-06-14", 1);
    must(logbook_refresh_record(lb, engine, logbook_last_change(lb), &r, &done, &e), &e);
    assert_false(done);
    record_release(&r);
    logbook_close(lb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(what_a_person_does_most_reads_one_visit, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(any_edit_gives_what_a_whole_reading_gives, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_lets_older_visits_count_reads_them, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(another_day_reads_all, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
