/* Where photos show their plugs: what is set comes back, is undone and redone, follows its photo to another
 * cylinder and through a renumbering; an older logbook gets the table. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/files.h"
#include "base/mem.h"
#include "logbook/logbook_db.h"
#include "photo_log.h"

static struct logbook_crop crop_of(enum crop_view view)
{
    struct logbook_crop c = {.view = view, .x = 1234.5, .y = 987.25, .turn_deg = view == CROP_SIDE ? -87 : 0, .px_per_mm = 24.772, .by_eye = view == CROP_TIP};

    text_copy(c.photo, sizeof c.photo, photo);
    return c;
}

static bool keep(struct logbook *lb, const struct logbook_crop *c, struct err *e)
{
    if (logbook_begin(lb, "Crop", e) && logbook_put_crop(lb, c, e) && logbook_commit(lb, e))
        return true;
    logbook_rollback(lb);
    return false;
}

static size_t listed(struct logbook *lb, struct arena *a, struct logbook_crop **crops)
{
    struct err e = {0};
    size_t n;

    if (!logbook_list_crops(lb, visit, a, crops, &n, &e))
        fail_msg("%s", e.text);
    return n;
}

static void expect_same(const struct logbook_crop *a, const struct logbook_crop *b)
{
    assert_string_equal(a->photo, b->photo);
    assert_int_equal(a->view, b->view);
    assert_true(fabs(a->x - b->x) < 1e-9 && fabs(a->y - b->y) < 1e-9 && fabs(a->turn_deg - b->turn_deg) < 1e-9 && fabs(a->px_per_mm - b->px_per_mm) < 1e-9);
    assert_int_equal(a->by_eye, b->by_eye);
}

static void both_views_come_back_as_set(void **state)
{
    struct logbook *lb = begun(1);
    struct arena *a = arena_create();
    struct logbook_crop side = crop_of(CROP_SIDE), tip = crop_of(CROP_TIP), *back;
    struct logbook_report report;
    struct err e = {0};

    (void)state;
    assert_true(keep(lb, &side, &e) && keep(lb, &tip, &e));
    assert_int_equal(listed(lb, a, &back), 2);
    expect_same(&back[0], &side);
    expect_same(&back[1], &tip);
    assert_true(logbook_verify(lb, &report, &e));
    logbook_close(lb);
    arena_destroy(a);
}

static void a_crop_set_again_is_the_same_one_and_undone(void **state)
{
    struct logbook *lb = begun(1);
    struct arena *a = arena_create();
    struct logbook_crop first = crop_of(CROP_TIP), second = first, *back;
    char id[UUID_BYTES];
    struct err e = {0};

    (void)state;
    second.x += 50;
    second.px_per_mm = 30;
    assert_true(keep(lb, &first, &e) && keep(lb, &second, &e));
    assert_int_equal(listed(lb, a, &back), 1);
    expect_same(&back[0], &second);
    logbook_crop_id(photo, CROP_TIP, id);
    assert_string_equal(back[0].id, id);
    assert_true(logbook_undo(lb, &e));
    assert_int_equal(listed(lb, a, &back), 1);
    expect_same(&back[0], &first);
    assert_true(logbook_undo(lb, &e));
    assert_int_equal(listed(lb, a, &back), 0);
    assert_true(logbook_redo(lb, &e));
    assert_int_equal(listed(lb, a, &back), 1);
    assert_true(logbook_begin(lb, "As found", &e) && logbook_remove(lb, "crop", id, &e) && logbook_commit(lb, &e));
    assert_int_equal(listed(lb, a, &back), 0);
    assert_true(keep(lb, &second, &e)); /* taken away, set again */
    assert_int_equal(listed(lb, a, &back), 1);
    logbook_close(lb);
    arena_destroy(a);
}

static void what_cannot_be_is_refused(void **state)
{
    static const struct {
        double x, turn_deg, px_per_mm;
    } rows[] = {{NAN, 0, 20}, {INFINITY, 0, 20}, {2e6, 0, 20}, {10, 181, 20}, {10, NAN, 20}, {10, 0, 0}, {10, 0, -3}, {10, 0, NAN}, {10, 0, 1e6}};
    struct logbook *lb = begun(1);
    struct arena *a = arena_create();
    struct logbook_crop *back;

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct logbook_crop c = crop_of(CROP_TIP);
        struct err e = {0};

        c.x = rows[i].x, c.turn_deg = rows[i].turn_deg, c.px_per_mm = rows[i].px_per_mm;
        assert_false(keep(lb, &c, &e));
        assert_int_equal(e.code, ERR_BADARG);
        assert_non_null(strstr(e.text, "tip view"));
    }
    assert_int_equal(listed(lb, a, &back), 0);
    logbook_close(lb);
    arena_destroy(a);
}

/* Of a newer version, or written by somebody else. */
static void what_is_not_whole_is_passed_over(void **state)
{
    struct logbook *lb = begun(1);
    struct arena *a = arena_create();
    struct logbook_crop tip = crop_of(CROP_TIP), *back;
    char id[UUID_BYTES];
    struct err e = {0};

    (void)state;
    assert_true(keep(lb, &tip, &e));
    assert_true(logbook_begin(lb, "Other", &e) && logbook_add(lb, "crop", id, &e) && logbook_set_text(lb, "crop", id, "photo", photo, &e) &&
                logbook_set_text(lb, "crop", id, "view", "below", &e) && logbook_set_real(lb, "crop", id, "x", 1, &e) && logbook_commit(lb, &e));
    assert_true(logbook_begin(lb, "Half", &e) && logbook_add(lb, "crop", id, &e) && logbook_set_text(lb, "crop", id, "photo", photo, &e) &&
                logbook_set_text(lb, "crop", id, "view", "side", &e) && logbook_set_real(lb, "crop", id, "px_per_mm", 20, &e) && logbook_commit(lb, &e));
    assert_int_equal(listed(lb, a, &back), 1);
    expect_same(&back[0], &tip);
    logbook_close(lb);
    arena_destroy(a);
}

/* The photo's plug is "2", whatever place that has in the engine. */
static void a_crop_stays_with_its_photo_when_cylinders_are_renumbered(void **state)
{
    struct logbook *lb = begun(1);
    struct arena *a = arena_create();
    struct logbook_crop side = crop_of(CROP_SIDE), *back;
    struct logbook_photo *photos;
    struct engine en;
    size_t n;
    struct err e = {0};

    (void)state;
    assert_true(keep(lb, &side, &e));
    assert_true(four(&en, "4 3 2 1", "1 3 4 2"));
    assert_true(logbook_begin(lb, "Renumbered", &e) && logbook_put_engine(lb, engine, &en, &e) && logbook_commit(lb, &e));
    assert_int_equal(listed(lb, a, &back), 1);
    expect_same(&back[0], &side);
    assert_true(logbook_list_photos(lb, visit, a, &photos, &n, &e));
    assert_int_equal(n, 1);
    assert_string_equal(back[0].photo, photos[0].id);
    assert_string_equal(en.cylinders[photos[0].cylinder].label, "2");
    logbook_close(lb);
    arena_destroy(a);
}

static void sql_of(struct logbook *lb, const char *name, char *to, size_t n_room)
{
    sqlite3_stmt *q;

    assert_int_equal(sqlite3_prepare_v2(lb->db, "SELECT coalesce(group_concat(name || ' ' || type || ' ' || \"notnull\" || coalesce(dflt_value, ''), ','), '') FROM pragma_table_info(?1)", -1, &q, NULL), SQLITE_OK);
    sqlite3_bind_text(q, 1, name, -1, SQLITE_STATIC);
    assert_int_equal(sqlite3_step(q), SQLITE_ROW);
    text_copy(to, n_room, (const char *)sqlite3_column_text(q, 0));
    sqlite3_finalize(q);
}

/* A kept logbook of version 3 gets the table as a new one has it. */
static void an_older_logbook_gets_the_table(void **state)
{
    char path[128], fresh[600], grown[600];
    struct logbook *lb = begun(1);
    struct err e = {0};

    (void)state;
    sql_of(lb, "crop", fresh, sizeof fresh);
    assert_non_null(strstr(fresh, "px_per_mm REAL"));
    logbook_close(lb);
    text_format(path, sizeof path, "%s/old", folder);
    assert_true(files_make_folder(path, &e));
    text_format(path, sizeof path, "%s/old/logbook.db", folder);
    assert_true(files_copy("tests/logbook/schema-3/logbook.db", path, &e));
    text_format(path, sizeof path, "%s/old", folder);
    lb = logbook_open(path, LOGBOOK_WRITE, &e);
    if (lb == NULL)
        fail_msg("%s", e.text);
    assert_int_equal(logbook_db_pragma(lb, "PRAGMA user_version"), LOGBOOK_VERSION);
    sql_of(lb, "crop", grown, sizeof grown);
    assert_string_equal(grown, fresh);
    assert_int_equal(logbook_db_pragma(lb, "SELECT count(*) FROM sqlite_schema WHERE name = 'crop_photo'"), 1);
    assert_int_equal(logbook_db_pragma(lb, "SELECT count(*) FROM pragma_foreign_key_list('crop') WHERE \"table\" = 'photo'"), 1);
    logbook_close(lb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(both_views_come_back_as_set, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_crop_set_again_is_the_same_one_and_undone, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_cannot_be_is_refused, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_is_not_whole_is_passed_over, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_crop_stays_with_its_photo_when_cylinders_are_renumbered, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(an_older_logbook_gets_the_table, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
