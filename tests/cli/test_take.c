/* Our own table, written by the report, comes back without a question: into the logbook it is from it changes
 * nothing, and into one that has the engine only it brings everything the table holds. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <dirent.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "casefile/casefile.h"
#include "logbook/logbook.h"
#include "report/report.h"
#include "takeover/plan.h"
#include "takeover/takeover.h"
#include "../help/help.h"

/* What of a visit stands in the table, and nothing else. */
static void strip_to_engine(struct record *r)
{
    for (int i = 0; i < r->n_visits; i++)
        visit_init(&r->visits[i], &r->engine);
    r->n_visits = 0;
}

/* Without the rows of plugs of which the table holds nothing (a differential test alone): there is nothing to take. */
static void drop_empty_rows(struct text *t)
{
    struct text out = {0};

    for (const char *line = text_get(t); *line != '\0'; line += strcspn(line, "\n") + 1) {
        size_t n = strcspn(line, "\n") + 1;
        const char *cell = line;

        for (int i = 0; i < 5; i++)
            cell += strcspn(cell, ",") + 1;
        if (strspn(cell, ",\r") < n - 1 - (size_t)(cell - line))
            text_add_bytes(&out, line, n);
    }
    text_release(t);
    *t = out;
}

static void take_back(struct logbook *lb, const struct text *table, const char *path, bool nothing_new, char engine[UUID_BYTES])
{
    struct arena *a = arena_create();
    struct take_target target;
    struct take_table t;
    struct take_plan p;
    struct err e = {0};
    char visit[UUID_BYTES];

    if (!take_table_parse(text_get(table), table->n_bytes, path, &t, &e))
        fail_msg("%s: %s", path, e.text);
    take_table_match(&t, NULL);
    if (!take_target_find(lb, &t, NULL, NULL, "", "", &target, &e))
        fail_msg("%s: %s", path, e.text);
    if (!target.known)
        fail_msg("%s: %s", path, target.why);
    take_table_match(&t, &target.engine);
    for (int i = 0; i < t.n_columns; i++)
        if (t.columns[i].how != TAKE_BY_HEADING)
            fail_msg("%s: column %s is not known", path, csv_cell(&t.csv, 0, i));
    if (!take_plan_make(lb, &t, &target, NULL, a, &p, &e) || p.question[0] != '\0')
        fail_msg("%s: %s%s", path, e.text, p.question);
    if (p.n_troubles > 0)
        fail_msg("%s, line %zu: %s", path, p.troubles[0].line, p.troubles[0].text);
    if (nothing_new && p.n_new > 0)
        fail_msg("%s: %zu values new", path, p.n_new);
    if (!take_plan_write(lb, &t, &p, &target, NULL, engine, visit, &e))
        fail_msg("%s: %s", path, e.text);
    take_table_release(&t);
    arena_destroy(a);
}

static void our_own_table_comes_back(void **state)
{
    DIR *d = opendir("tests/cases");
    struct err e = {0};
    struct logbook *lb;
    int n = 0;

    (void)state;
    assert_true(logbook_create(folder, &e));
    lb = logbook_open(folder, LOGBOOK_WRITE, &e);
    assert_non_null(lb);
    for (struct dirent *f = readdir(d); f != NULL; f = readdir(d)) {
        char path[300], engine[UUID_BYTES], bare[UUID_BYTES], undo[200], *json;
        struct record r, back;
        struct text before = {0}, after = {0};
        size_t n_bytes;

        text_format(path, sizeof path, "tests/cases/%s", f->d_name);
        if (!takeover_is_case(path) || n == 40)
            continue;
        if (!files_read(path, CASEFILE_MAX_BYTES, &json, &n_bytes, &e) || !casefile_parse(json, n_bytes, &r, &e))
            fail_msg("%s: %s", path, e.text);
        free(json);
        for (int i = 0; i < r.n_visits; i++) /* most cases need none */
            if (r.visits[i].date[0] == '\0')
                text_format(r.visits[i].date, sizeof r.visits[i].date, "2026-01-%02d", i + 1);
        text_format(r.visits[r.n_visits - 1].complaint_words, sizeof r.visits[0].complaint_words, "worse since the %s; gone above 1500", f->d_name);
        if (r.engine.name[0] == '\0')
            text_copy(r.engine.name, sizeof r.engine.name, f->d_name);
        assert_true(logbook_begin(lb, "Case", &e) && logbook_import_record(lb, &r, engine, &e) && logbook_commit(lb, &e));
        record_release(&r);
        assert_true(logbook_load_record(lb, engine, NULL, &r, &e));
        n++;
        report_csv(&r, 1, NULL, &before);
        text_copy(undo, sizeof undo, logbook_undo_label(lb));
        take_back(lb, &before, path, true, engine);
        assert_string_equal(logbook_undo_label(lb), undo); /* nothing was written */
        /* the engine without its visits, under a name of its own */
        text_format(r.engine.name, sizeof r.engine.name, "Bare %s", f->d_name);
        text_clear(&before);
        report_csv(&r, 1, NULL, &before);
        strip_to_engine(&r);
        assert_true(logbook_begin(lb, "Engine", &e) && logbook_import_record(lb, &r, bare, &e) && logbook_commit(lb, &e));
        record_release(&r);
        take_back(lb, &before, path, false, bare);
        drop_empty_rows(&before);
        if (strchr(text_get(&before), '\n')[1] == '\0') {
            text_release(&before);
            continue;
        }
        assert_true(logbook_load_record(lb, bare, NULL, &back, &e));
        assert_int_equal(back.n_visits, 1);
        report_csv(&back, 1, NULL, &after);
        assert_string_equal(text_get(&before), text_get(&after));
        record_release(&back);
        text_release(&before);
        text_release(&after);
    }
    closedir(d);
    assert_true(n > 20);
    logbook_close(lb);
}

static int count_plugs(struct logbook *lb, const char *engine)
{
    struct arena *a = arena_create();
    struct logbook_part *parts;
    struct record r;
    struct err e = {0};
    size_t n;

    assert_true(logbook_load_record(lb, engine, NULL, &r, &e) && logbook_list_parts(lb, engine, &r, a, &parts, &n, &e));
    record_release(&r);
    arena_destroy(a);
    return (int)n;
}

/* A plug that is known by its seat alone, and a note of the visit: both are in the table, both are there already; and into
 * another logbook the note comes as the visit's, and one name is one plug. */
static void a_renewed_plug_and_a_note_come_back_as_they_are(void **state)
{
    char engine[UUID_BYTES], bare[UUID_BYTES], undo[200];
    struct arena *a = arena_create();
    struct logbook_visit *visits;
    struct text table = {0};
    struct record r, back;
    struct err e = {0};
    struct logbook *lb;
    size_t n;

    (void)state;
    assert_true(logbook_create(folder, &e));
    lb = logbook_open(folder, LOGBOOK_WRITE, &e);
    record_init(&r);
    r.engine = engine_find_preset("i4")->engine;
    text_copy(r.engine.name, sizeof r.engine.name, "Moth");
    for (int i = 0; i < 2; i++) {
        struct visit *v = record_add_visit(&r);

        text_format(v->date, sizeof v->date, "2024-0%d-05", i + 1);
        text_copy(v->notes, sizeof v->notes, "plain note");
        for (int c = 0; c < 4; c++) {
            visit_reading(v, &r.engine, c, 0)->gap_mm = MAYBE(1.0 + 0.01 * c);
            reading_note(visit_reading(v, &r.engine, c, 0), SIGN_WELL_OIL, 2);
        }
    }
    assert_true(logbook_begin(lb, "Moth", &e) && logbook_import_record(lb, &r, engine, &e) && logbook_commit(lb, &e));
    record_release(&r);
    assert_true(logbook_list_visits(lb, engine, a, &visits, &n, &e) && n == 2);
    assert_true(logbook_load_record(lb, engine, NULL, &r, &e));
    n = strcmp(visits[0].date, "2024-01-05") == 0 ? 0 : 1;
    assert_true(logbook_begin(lb, "New plug", &e) && logbook_renew_part(lb, visits[n].id, engine, &r.engine, "plug", 1, 0, "plug of 2, new", &e) && logbook_commit(lb, &e));
    record_release(&r);
    assert_true(logbook_load_record(lb, engine, NULL, &r, &e));
    assert_string_equal(visit_reading(&r.visits[1], &r.engine, 1, 0)->plug_name, "plug of 2, new");
    report_csv(&r, 2, NULL, &table);
    n = (size_t)count_plugs(lb, engine);
    text_copy(undo, sizeof undo, logbook_undo_label(lb));
    take_back(lb, &table, "own.csv", true, engine);
    assert_string_equal(logbook_undo_label(lb), undo);
    assert_int_equal(count_plugs(lb, engine), n);
    /* a reading named by hand after a plug that is there is that plug's */
    assert_true(logbook_begin(lb, "Named", &e) && logbook_name_plug(lb, r.visits[1].id, 1, 0, "plug of 2, new", &e) && logbook_commit(lb, &e));
    assert_int_equal(count_plugs(lb, engine), n);
    text_clear(&table);
    text_copy(r.engine.name, sizeof r.engine.name, "Bare");
    report_csv(&r, 2, NULL, &table);
    strip_to_engine(&r);
    assert_true(logbook_begin(lb, "Bare", &e) && logbook_import_record(lb, &r, bare, &e) && logbook_commit(lb, &e));
    take_back(lb, &table, "own.csv", false, bare);
    assert_true(logbook_load_record(lb, bare, NULL, &back, &e));
    assert_int_equal(back.n_visits, 2);
    assert_string_equal(back.visits[0].notes, "plain note");
    record_release(&back);
    record_release(&r);
    text_release(&table);
    arena_destroy(a);
    logbook_close(lb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test_setup_teardown(our_own_table_comes_back, make_folder, drop_folder),
                                       cmocka_unit_test_setup_teardown(a_renewed_plug_and_a_note_come_back_as_they_are, make_folder, drop_folder)};

    return cmocka_run_group_tests(tests, NULL, NULL);
}
