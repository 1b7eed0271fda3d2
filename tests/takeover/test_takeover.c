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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(every_case_comes_back_equal, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_is_no_case_changes_nothing, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(one_undo_takes_it_back, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
