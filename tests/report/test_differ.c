/* What merged copies say differently stands in every report with both values until one is chosen; a table with it is taken
 * back like any other. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "base/csv.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "report/report.h"
#include "../help/help.h"

static char engine[UUID_BYTES], visit[UUID_BYTES];

static void set_gap(const char *place, int um)
{
    struct err e = {0};
    struct logbook *lb = logbook_open(place, LOGBOOK_WRITE, &e);

    assert_true(logbook_begin(lb, "Gap", &e) && logbook_put_gap(lb, visit, 2, 0, false, um, "mm", &e) && logbook_commit(lb, &e));
    logbook_close(lb);
}

static void make_two(const char *a, const char *b)
{
    char command[700];
    struct arena *arena = arena_create();
    struct logbook_visit *list;
    struct logbook_merged merged;
    struct record r;
    struct err e = {0};
    struct logbook *lb;
    size_t n;

    record_init(&r);
    r.engine = engine_find_preset("i4")->engine;
    text_copy(r.engine.name, sizeof r.engine.name, "Moth");
    text_copy(record_add_visit(&r)->date, sizeof r.visits[0].date, "2024-01-05");
    for (int c = 0; c < 4; c++)
        reading_note(visit_reading(&r.visits[0], &r.engine, c, 0), SIGN_WELL_OIL, 2);
    assert_true(logbook_create(a, &e));
    lb = logbook_open(a, LOGBOOK_WRITE, &e);
    assert_true(logbook_begin(lb, "All", &e) && logbook_import_record(lb, &r, engine, &e) && logbook_commit(lb, &e));
    assert_true(logbook_list_visits(lb, engine, arena, &list, &n, &e) && n == 1);
    text_copy(visit, sizeof visit, list[0].id);
    logbook_close(lb);
    text_format(command, sizeof command, "cp -r '%s' '%s'", a, b);
    assert_int_equal(system(command), 0);
    set_gap(a, 600);
    set_gap(b, 950);
    lb = logbook_open(a, LOGBOOK_WRITE, &e);
    assert_true(logbook_merge(lb, b, NULL, &merged, &e));
    assert_int_equal(merged.n_conflicts, 1);
    logbook_close(lb);
    record_release(&r);
    arena_destroy(arena);
}

static void both_values_are_told(void **state)
{
    const struct report_options o = {.compression_rule = ""};
    struct report_beside beside = {0};
    struct report_loaded loaded;
    struct content content;
    struct text t = {0};
    struct err e = {0};
    struct arena *arena = arena_create();
    struct logbook_conflict *list;
    struct logbook *lb;
    struct csv c;
    char a[200], b[200];
    size_t n;

    (void)state;
    text_format(a, sizeof a, "%s/a", folder);
    text_format(b, sizeof b, "%s/b", folder);
    make_two(a, b);
    lb = logbook_open(a, LOGBOOK_WRITE, &e);
    for (int chosen = 0; chosen < 2; chosen++) {
        text_clear(&t);
        assert_true(report_load(lb, engine, visit, &o, &loaded, &e));
        content_make(&loaded.source, &o.ask, loaded.memory, &content);
        report_html(&content, &t);
        assert_int_equal(strstr(text_get(&t), "merged say 1 thing differently, and nobody has chosen yet") != NULL, !chosen);
        assert_int_equal(strstr(text_get(&t), "gap as found of 3, 5 Jan 2024: 0.60 mm or 0.95 mm") != NULL || strstr(text_get(&t), "gap as found of 3, 5 Jan 2024: 0.95 mm or 0.60 mm") != NULL, !chosen);
        assert_null(strstr(text_get(&t), "written ")); /* where a copy lies, and on whose machine, is not told */
        text_clear(&t);
        assert_true(report_load_differ(lb, engine, &loaded.record, 1, arena, &beside.differ, &beside.n_differ, &e));
        report_csv(&loaded.record, 1, &beside, &t);
        assert_true(csv_parse(text_get(&t), t.n_bytes, ',', &c, &e));
        for (size_t i = 1; i < c.n_rows; i++)
            assert_int_equal(text_starts(csv_named(&c, i, "copies_differ"), "gap as found of 3: 0."), !chosen && strcmp(csv_named(&c, i, "cylinder"), "3") == 0);
        csv_release(&c);
        report_loaded_release(&loaded);
        if (!chosen)
            assert_true(logbook_list_conflicts(lb, arena, &list, &n, &e) && n == 1 && logbook_settle(lb, &list[0], 0, &e));
    }
    logbook_close(lb);
    text_release(&t);
    arena_destroy(arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test_setup_teardown(both_values_are_told, make_folder, drop_folder)};

    return cmocka_run_group_tests(tests, NULL, NULL);
}
