/* Visits nobody opened are read for the search; a window beside it is not told, but of edits it is. */
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
#include "report/backlog.h"
#include "../help/help.h"

#define VISITS 3

/* Three visits; a gap unlike the others at the second only. */
static struct logbook *taken_over(void)
{
    struct logbook *lb;
    struct record r;
    struct err e = {0};
    char engine[UUID_BYTES];

    record_init(&r);
    if (!engine_parse_banks(&r.engine, "1 2 3 4", &e) || !engine_parse_firing(&r.engine, "1 3 4 2", &e) || !engine_finish(&r.engine, &e))
        fail_msg("%s", e.text);
    text_copy(r.engine.name, sizeof r.engine.name, "Ember");
    r.engine.plug.gap_min_mm = 0.8;
    r.engine.plug.gap_max_mm = 0.9;
    for (int k = 0; k < VISITS; k++) {
        struct visit *v = record_add_visit(&r);

        text_format(v->date, sizeof v->date, "2026-0%d-14", k + 1);
        for (int c = 0; c < 4; c++) {
            reading_note(visit_reading(v, &r.engine, c, 0), SIGN_NORMAL, 2);
            visit_reading(v, &r.engine, c, 0)->gap_mm = MAYBE(k == 1 && c == 2 ? 1.2 : 0.85);
        }
    }
    if (!logbook_create(folder, &e))
        fail_msg("%s", e.text);
    lb = logbook_open(folder, LOGBOOK_WRITE, &e);
    assert_non_null(lb);
    assert_true(logbook_begin(lb, "Taken over", &e) && logbook_import_record(lb, &r, engine, &e) && logbook_commit(lb, &e));
    record_release(&r);
    return lb;
}

static size_t found(struct logbook *lb, const char *words, char date[11])
{
    struct arena *a = arena_create();
    struct logbook_hit *hits;
    struct err e = {0};
    size_t n;

    assert_true(logbook_search(lb, words, 50, a, &hits, &n, &e));
    text_copy(date, 11, n > 0 ? hits[0].date : "");
    arena_destroy(a);
    return n;
}

static void visits_nobody_opened_are_found(void **state)
{
    struct logbook *lb = taken_over(), *window;
    struct reading_options o = {0};
    atomic_bool cancel = true;
    struct err e = {0};
    char date[11];
    size_t n;

    (void)state;
    window = logbook_open(folder, LOGBOOK_WRITE, &e);
    assert_non_null(window);
    assert_false(logbook_changed_outside(window));
    assert_int_equal(found(window, "gap unlike", date), 0);
    assert_true(backlog_read(lb, &o, &cancel, &n, &e) && n == 0); /* given up before it began */
    assert_true(backlog_read(lb, &o, NULL, &n, &e));
    assert_int_equal(n, VISITS);
    assert_int_equal(found(window, "gap at 3", date), 1);
    assert_string_equal(date, "2026-02-14");
    assert_false(logbook_changed_outside(window)); /* nothing to load anew */
    assert_true(backlog_read(lb, &o, NULL, &n, &e));
    assert_int_equal(n, 0); /* each is read once, also one of which nothing is to be said */
    logbook_close(window);
    logbook_close(lb);
}

/* An edit beside the window is told once, whichever of both wrote last. */
static void edits_are_told_beside_kept_words(void **state)
{
    struct logbook *lb = taken_over(), *window;
    struct err e = {0};
    char id[UUID_BYTES];

    (void)state;
    window = logbook_open(folder, LOGBOOK_WRITE, &e);
    assert_non_null(window);
    for (int first = 0; first < 2; first++) {
        struct logbook *order[2] = {first ? window : lb, first ? lb : window};

        for (int i = 0; i < 2; i++)
            assert_true(logbook_begin(order[i], "Engine", &e) && logbook_add(order[i], "engine", id, &e) && logbook_set_text(order[i], "engine", id, "name", "Other", &e) &&
                        logbook_commit(order[i], &e));
        assert_true(logbook_changed_outside(window));
        assert_false(logbook_changed_outside(window));
    }
    assert_true(logbook_begin(window, "Engine", &e) && logbook_add(window, "engine", id, &e) && logbook_set_text(window, "engine", id, "name", "Own", &e) && logbook_commit(window, &e));
    logbook_keep_findings(lb, id, id, "words");
    assert_false(logbook_changed_outside(window));
    logbook_close(window);
    logbook_close(lb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(visits_nobody_opened_are_found, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(edits_are_told_beside_kept_words, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
