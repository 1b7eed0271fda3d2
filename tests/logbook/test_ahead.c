/* A visit whose date is still to come is kept and shown, and does not stand for how the engine is now. */
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
#include "logbook/logbook.h"
#include "record/ready.h"
#include "../help/help.h"

static char engine[UUID_BYTES];
static struct engine en;

static struct logbook *fresh(void)
{
    char path[128];
    struct err e = {0};
    struct logbook *lb;

    text_format(path, sizeof path, "%s/log", folder);
    assert_true(logbook_create(path, &e));
    lb = logbook_open(path, LOGBOOK_WRITE, &e);
    assert_non_null(lb);
    engine_init(&en);
    text_copy(en.name, sizeof en.name, "Harrow");
    assert_true(engine_parse_banks(&en, "1 2 3 4", &e) && engine_parse_firing(&en, "1 3 4 2", &e) && engine_finish(&en, &e));
    uuid_make(engine);
    assert_true(logbook_begin(lb, "x", &e) && logbook_put_engine(lb, engine, &en, &e) && logbook_commit(lb, &e));
    return lb;
}

/* Plug 1 is as `refit` says, the others were not touched. */
static void add(struct logbook *lb, const char *date, const char *refit, char id[UUID_BYTES])
{
    struct visit *v = mem_alloc(1, sizeof *v);
    struct err e = {0};

    visit_init(v, &en);
    text_copy(v->date, sizeof v->date, date);
    visit_reading(v, &en, 0, 0)->present = true;
    visit_reading(v, &en, 0, 0)->refit = refit[0] != '\0' ? words_find(WORDS_REFIT, refit) : 0;
    uuid_make(id);
    assert_true(logbook_begin(lb, "x", &e) && logbook_put_visit(lb, id, engine, &en, v, &e) &&
                logbook_put_reading(lb, id, visit_reading(v, &en, 0, 0), &e) && logbook_commit(lb, &e));
    free(v);
}

static int loose(struct logbook *lb, const char *visit)
{
    struct record r;
    struct ready ready;
    struct err e = {0};

    assert_true(visit[0] != '\0' ? logbook_load_record(lb, engine, visit, &r, &e) : logbook_load_latest(lb, engine, &r, &e));
    ready_of(&r, &ready);
    record_release(&r);
    return ready.n_loose;
}

static void today_is_not_what_lies_ahead(void **state)
{
    struct logbook *lb = fresh();
    struct arena *a = arena_create();
    char past[UUID_BYTES], now[UUID_BYTES], bare[UUID_BYTES], to_come[UUID_BYTES], found[UUID_BYTES];
    struct logbook_engine *engines;
    struct logbook_visit *visits;
    struct record r;
    struct err e = {0};
    size_t n;

    (void)state;
    setenv("SOOTBOOK_TODAY", "2026-06-14", 1);
    add(lb, "2027-06-14", "torqued", to_come);
    add(lb, "2026-06-14", "out", now);
    add(lb, "2025-01-01", "torqued", past);
    add(lb, "", "", bare);
    assert_true(logbook_list_visits(lb, engine, a, &visits, &n, &e));
    assert_int_equal(n, 4);
    assert_string_equal(visits[0].id, past);
    assert_string_equal(visits[1].id, now);
    assert_string_equal(visits[2].id, bare); /* just being written */
    assert_string_equal(visits[3].id, to_come);
    assert_true(visits[3].ahead && !visits[2].ahead && !visits[1].ahead);
    assert_int_equal(logbook_latest_visit(visits, n), 2);
    assert_true(logbook_find_visit(lb, engine, "", found, &e));
    assert_string_equal(found, bare);
    assert_true(logbook_list_engines(lb, a, &engines, &n, &e));
    assert_string_equal(engines[0].last_visit, bare);
    assert_true(logbook_load_record(lb, engine, now, &r, &e));
    assert_true(r.n_visits == 2 && r.n_later == 1 && r.n_ahead == 1);
    record_release(&r);
    assert_true(logbook_load_record(lb, engine, to_come, &r, &e));
    assert_true(r.n_visits == 4 && r.n_later == 0 && r.n_ahead == 0);
    record_release(&r);
    /* torqued in a year: the plug is out today, whichever of today's visits is looked at */
    assert_int_equal(loose(lb, now), 1);
    assert_int_equal(loose(lb, past), 1);
    assert_int_equal(loose(lb, ""), 1);
    arena_destroy(a);
    logbook_close(lb);
    unsetenv("SOOTBOOK_TODAY");
}

/* The date may be mistyped: what stands in the way of starting is kept from it. */
static void what_lies_ahead_may_warn(void **state)
{
    struct logbook *lb = fresh();
    char past[UUID_BYTES], to_come[UUID_BYTES];

    (void)state;
    setenv("SOOTBOOK_TODAY", "2026-06-14", 1);
    add(lb, "2025-01-01", "torqued", past);
    assert_int_equal(loose(lb, past), 0);
    add(lb, "2027-06-14", "out", to_come);
    assert_int_equal(loose(lb, past), 1);
    assert_int_equal(loose(lb, ""), 1);
    assert_int_equal(loose(lb, to_come), 1);
    logbook_close(lb);
    unsetenv("SOOTBOOK_TODAY");
}

/* Where all lie ahead it is the clock that is wrong: the latest counts as before. */
static void a_wrong_clock_changes_nothing(void **state)
{
    struct logbook *lb = fresh();
    char first[UUID_BYTES], second[UUID_BYTES], found[UUID_BYTES];
    struct record r;
    struct err e = {0};

    (void)state;
    setenv("SOOTBOOK_TODAY", "2015-01-01", 1);
    add(lb, "2025-01-01", "out", first);
    add(lb, "2026-01-01", "torqued", second);
    assert_true(logbook_find_visit(lb, engine, "", found, &e));
    assert_string_equal(found, second);
    assert_true(logbook_load_record(lb, engine, first, &r, &e));
    assert_true(r.n_visits == 1 && r.n_later == 1 && r.n_ahead == 0);
    record_release(&r);
    assert_int_equal(loose(lb, ""), 0);
    assert_int_equal(loose(lb, first), 0);
    logbook_close(lb);
    unsetenv("SOOTBOOK_TODAY");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(today_is_not_what_lies_ahead, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_lies_ahead_may_warn, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_wrong_clock_changes_nothing, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
