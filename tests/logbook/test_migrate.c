/* Bringing an older logbook up to date: a copy first, each step whole or not at all. The steps tried
 * here are made up, from this program's version on; the kept logbook of version 1 takes the real ones. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <string.h>

#include "base/files.h"
#include "logbook/logbook_db.h"
#include "../help/help.h"

static struct logbook *fresh(void)
{
    char id[UUID_BYTES];
    struct err e = {0};
    struct logbook *lb = logbook_create(folder, &e) ? logbook_open(folder, LOGBOOK_WRITE, &e) : NULL;

    if (lb == NULL)
        fail_msg("%s", e.text);
    assert_true(logbook_begin(lb, "Fact", &e) && logbook_add(lb, "fact", id, &e) && logbook_set_text(lb, "fact", id, "label", "sump", &e) &&
                logbook_commit(lb, &e));
    return lb;
}

/* The copy made before is whole and of that version. */
static void expect_copy(int version)
{
    char path[128];
    struct logbook copy = {.lock_fd = -1};

    text_format(path, sizeof path, "%s/logbook-version-%d.db", folder, version);
    assert_int_equal(sqlite3_open_v2(path, &copy.db, SQLITE_OPEN_READONLY, NULL), SQLITE_OK);
    assert_int_equal(logbook_db_pragma(&copy, "PRAGMA user_version"), version);
    assert_int_equal(logbook_db_pragma(&copy, "SELECT count(*) FROM pragma_integrity_check WHERE integrity_check = 'ok'"), 1);
    assert_true(logbook_db_pragma(&copy, "SELECT count(*) FROM edit") > 0);
    sqlite3_close(copy.db);
}

static void expect_sound(struct logbook *lb, int version)
{
    struct logbook_report report;
    struct err e = {0};

    assert_int_equal(logbook_db_pragma(lb, "PRAGMA user_version"), version);
    assert_true(logbook_verify(lb, &report, &e));
    assert_string_equal(report.text, "");
}

/* As logbook_db_migrate() takes them: the step from version 1 first. Earlier ones are not asked for. */
#define STEPS(first, second) {[LOGBOOK_VERSION - 1] = (first), [LOGBOOK_VERSION] = (second)}
#define N_STEPS (LOGBOOK_VERSION + 1)

static void the_first_version_is_brought_up_to_date(void **state)
{
    char path[128];
    struct err e = {0};
    struct logbook *lb;

    (void)state;
    text_format(path, sizeof path, "%s/logbook.db", folder);
    assert_true(files_copy("tests/logbook/schema-1/logbook.db", path, &e));
    lb = logbook_open(folder, LOGBOOK_WRITE, &e);
    if (lb == NULL)
        fail_msg("%s", e.text);
    expect_sound(lb, LOGBOOK_VERSION);
    expect_copy(1);
    logbook_close(lb);
}

static void steps_are_taken_after_a_copy(void **state)
{
    static const char *const steps[] = STEPS("ALTER TABLE fact ADD COLUMN shade TEXT", "CREATE TABLE later (a)");
    struct logbook *lb = fresh();
    struct err e = {0};

    (void)state;
    if (!logbook_db_migrate(lb, steps, N_STEPS, &e))
        fail_msg("%s", e.text);
    assert_int_equal(logbook_db_pragma(lb, "SELECT count(*) FROM later"), 0);
    assert_int_equal(logbook_db_pragma(lb, "SELECT count(*) FROM fact WHERE shade IS NULL"), 1);
    expect_sound(lb, LOGBOOK_VERSION + 2);
    expect_copy(LOGBOOK_VERSION);
    assert_true(logbook_db_migrate(lb, steps, N_STEPS, &e)); /* nothing left to do */
    logbook_close(lb);
    assert_null(logbook_open(folder, LOGBOOK_WRITE, &e)); /* for this program it is a newer one now */
    assert_int_equal(e.code, ERR_VERSION);
}

static void a_step_that_fails_leaves_the_version_before_it(void **state)
{
    static const char *const steps[] = STEPS("CREATE TABLE first (a)", "CREATE TABLE second (a); INSERT INTO nowhere VALUES (1)");
    static const char *const mended[] = STEPS("CREATE TABLE first (a)", "CREATE TABLE second (a)");
    struct logbook *lb = fresh();
    struct err e = {0};

    (void)state;
    assert_false(logbook_db_migrate(lb, steps, N_STEPS, &e));
    assert_non_null(strstr(e.text, "Bringing the logbook up to date"));
    assert_int_equal(logbook_db_pragma(lb, "SELECT count(*) FROM sqlite_schema WHERE name = 'second'"), 0);
    expect_sound(lb, LOGBOOK_VERSION + 1);
    expect_copy(LOGBOOK_VERSION);
    if (!logbook_db_migrate(lb, mended, N_STEPS, &e)) /* a mended program goes on from there */
        fail_msg("%s", e.text);
    expect_sound(lb, LOGBOOK_VERSION + 2);
    logbook_close(lb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_first_version_is_brought_up_to_date, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(steps_are_taken_after_a_copy, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_step_that_fails_leaves_the_version_before_it, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
