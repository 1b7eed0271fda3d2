/* A case taken over and given out again is the same case, in everything the format holds. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "casefile/casefile.h"
#include "logbook/logbook.h"
#include "takeover/plan.h"
#include "takeover/takeover.h"
#include "../help/help.h"

static struct logbook *fresh(void)
{
    struct err e = {0};
    struct logbook *lb;

    if (!logbook_create(folder, &e))
        fail_msg("%s", e.text);
    lb = logbook_open(folder, LOGBOOK_WRITE, &e);
    assert_non_null(lb);
    return lb;
}

static void read_case(const char *path, struct record *r)
{
    struct err e = {0};
    char *data;
    size_t n;

    if (!files_read(path, CASEFILE_MAX_BYTES, &data, &n, &e) || !casefile_parse(data, n, r, &e))
        fail_msg("%s: %s", path, e.text);
    free(data);
}

static void every_case_comes_back_equal(void **state)
{
    DIR *d = opendir("tests/cases");
    struct logbook *lb = fresh();
    struct err e = {0};
    int n_cases = 0;

    (void)state;
    assert_non_null(d);
    for (struct dirent *f = readdir(d); f != NULL; f = readdir(d)) {
        char path[300], engine[UUID_BYTES], name[ENGINE_NAME_BYTES], where[200];
        struct record before, after;
        int n_visits;

        text_format(path, sizeof path, "tests/cases/%s", f->d_name);
        if (!takeover_is_case(path))
            continue;
        read_case(path, &before);
        if (!takeover_case(lb, path, engine, name, sizeof name, &n_visits, &e))
            fail_msg("%s: %s", path, e.text);
        assert_int_equal(n_visits, before.n_visits);
        assert_true(logbook_load_record(lb, engine, NULL, &after, &e));
        if (before.engine.name[0] == '\0')
            text_copy(before.engine.name, sizeof before.engine.name, name);
        if (!casefile_equal(&before, &after, where, sizeof where))
            fail_msg("%s: %s differs", path, where);
        record_release(&before);
        record_release(&after);
        n_cases++;
    }
    closedir(d);
    assert_true(n_cases > 150);
    logbook_close(lb);
}

static void what_is_no_case_changes_nothing(void **state)
{
    struct logbook *lb = fresh();
    struct arena *a = arena_create();
    struct logbook_engine *engines;
    struct err e = {0};
    char engine[UUID_BYTES], name[ENGINE_NAME_BYTES], path[300];
    int n_visits;
    size_t n;

    (void)state;
    text_format(path, sizeof path, "%s/Moth.json", folder);
    assert_true(files_write(path, "{\"engine\": 7}", 13, &e));
    assert_false(takeover_case(lb, path, engine, name, sizeof name, &n_visits, &e));
    assert_non_null(strstr(e.text, "Moth.json"));
    err_clear(&e);
    assert_false(takeover_case(lb, "/nowhere/at-all.json", engine, name, sizeof name, &n_visits, &e));
    assert_true(logbook_list_engines(lb, a, &engines, &n, &e));
    assert_int_equal(n, 0);
    assert_false(takeover_is_case("photo.jpg"));
    assert_true(takeover_is_case("A.JSON"));
    arena_destroy(a);
    logbook_close(lb);
}

static void one_undo_takes_it_back(void **state)
{
    struct logbook *lb = fresh();
    struct arena *a = arena_create();
    struct logbook_engine *engines;
    struct err e = {0};
    char engine[UUID_BYTES], name[ENGINE_NAME_BYTES];
    int n_visits;
    size_t n;

    (void)state;
    assert_true(takeover_case(lb, "tests/cases/i4-boot-split.json", engine, name, sizeof name, &n_visits, &e));
    assert_true(logbook_list_engines(lb, a, &engines, &n, &e) && n == 1);
    assert_true(logbook_undo(lb, &e) && logbook_list_engines(lb, a, &engines, &n, &e));
    assert_int_equal(n, 0);
    arena_destroy(a);
    logbook_close(lb);
}

/* A cylinder alone does not say which of its two plugs: asked, but for what is the cylinder's. */
static void of_two_plugs_it_is_asked_which(void **state)
{
    static const struct {
        const char *table, *trouble; /* NULL none */
        size_t n_values;
    } rows[] = {
        {"date,cyl,gap\n2026-11-26,1,0.7\n2026-11-26,2,0.71\n", "Which plug of cylinder 1 is “0.7” of? Write “1 top” or “1 bottom”, or a column “plug position”.", 0},
        {"date,cyl,gap\n2026-11-26,1 bottom,0.7\n", NULL, 1},
        {"date,cyl,compression kPa\n2026-11-26,1,1100\n", NULL, 1},
        {"date,cyl,compression kPa,gap\n2026-11-26,1,1100,0.7\n", "Which plug of cylinder 1 is “0.7” of? Write “1 top” or “1 bottom”, or a column “plug position”.", 0},
        {"date,cyl,plug position,gap\n2026-11-26,1,,0.7\n", "Which plug of cylinder 1? Write top or bottom.", 0},
        {"date,cyl,plug position,gap\n2026-11-26,1,bottom,0.7\n", NULL, 1},
        {"date,gap 1,gap 2\n2026-11-26,0.7,0.71\n", "Which plug of cylinder 1 is “0.7” of? Write “1 top” or “1 bottom”, or a column “plug position”.", 0},
        {"date,gap 1 bottom,gap 2 top\n2026-11-26,0.7,0.71\n", NULL, 2},
    };
    struct logbook *lb = fresh();
    struct arena *a = arena_create();
    struct engine en;
    struct err e = {0};
    char id[UUID_BYTES];

    (void)state;
    engine_init(&en);
    text_copy(en.name, sizeof en.name, "Moth");
    en.layout = ENGINE_INLINE;
    en.n_positions = 2;
    text_copy(en.position_names[0], sizeof en.position_names[0], "top");
    text_copy(en.position_names[1], sizeof en.position_names[1], "bottom");
    uuid_make(id);
    assert_true(engine_parse_banks(&en, "1 2", &e) && engine_parse_firing(&en, "1 2", &e) && engine_finish(&en, &e));
    assert_true(logbook_begin(lb, "Engine", &e) && logbook_put_engine(lb, id, &en, &e) && logbook_commit(lb, &e));
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct take_target target;
        struct take_table t;
        struct take_plan p;

        if (!take_table_parse(rows[i].table, strlen(rows[i].table), "t.csv", &t, &e))
            fail_msg("%s", e.text);
        take_table_match(&t, NULL);
        assert_true(take_target_find(lb, &t, NULL, NULL, "Moth", "", &target, &e) && target.known);
        take_table_match(&t, &target.engine);
        assert_true(take_plan_make(lb, &t, &target, NULL, a, &p, &e));
        if (p.n_values != rows[i].n_values || (p.n_troubles > 0) != (rows[i].trouble != NULL) || (rows[i].trouble != NULL && strcmp(p.troubles[0].text, rows[i].trouble) != 0))
            fail_msg("row %zu: %zu values, %s", i, p.n_values, p.n_troubles > 0 ? p.troubles[0].text : "no trouble");
        take_table_release(&t);
    }
    arena_destroy(a);
    logbook_close(lb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(every_case_comes_back_equal, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_is_no_case_changes_nothing, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(one_undo_takes_it_back, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(of_two_plugs_it_is_asked_which, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
