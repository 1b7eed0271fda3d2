/* Marks on photos: what is put comes back, undone and redone like any edit; what cannot be a mark is
 * refused or passed over. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "photo_log.h"

static bool keep(struct logbook *lb, const struct logbook_mark *m, struct err *e)
{
    if (logbook_begin(lb, "Mark", e) && logbook_put_mark(lb, m, e) && logbook_commit(lb, e))
        return true;
    logbook_rollback(lb);
    return false;
}

static size_t listed(struct logbook *lb, struct arena *a, struct logbook_mark **marks)
{
    struct err e = {0};
    size_t n;

    if (!logbook_list_marks(lb, visit, a, marks, &n, &e))
        fail_msg("%s", e.text);
    return n;
}

static void every_kind_comes_back_as_drawn(void **state)
{
    struct logbook *lb = begun(0);
    struct arena *a = arena_create();
    struct logbook_mark m[MARK_KIND_COUNT], *back;
    struct err e = {0};

    (void)state;
    for (int k = 0; k < MARK_KIND_COUNT; k++) {
        logbook_mark_init(&m[k], photo, (enum mark_kind)k);
        m[k].n_points = mark_kind_row((enum mark_kind)k)->n_most;
        for (int i = 0; i < m[k].n_points; i++) {
            m[k].x[i] = 100.25 + 7 * i;
            m[k].y[i] = 2999.75 - 3 * k - i;
        }
        m[k].colour = (enum mark_colour)(k % MARK_COLOUR_COUNT);
        m[k].width_px = 1 + k % 9;
        m[k].known = k == MARK_PATCH ? 0.9 : 0;
        text_copy(m[k].thread, sizeof m[k].thread, k == MARK_SCALE ? "M12x1.25" : "");
        text_copy(m[k].hex, sizeof m[k].hex, k == MARK_HEX ? "20.8" : "");
        text_copy(m[k].lies, sizeof m[k].lies, k == MARK_HEX ? "flats" : k == MARK_LENGTH ? "bench" : "");
        text_copy(m[k].marks, sizeof m[k].marks, k == MARK_LENGTH ? "inch16" : "");
        text_copy(m[k].text, sizeof m[k].text, k == MARK_TEXT ? "größer als “üblich”" : "");
        if (!keep(lb, &m[k], &e))
            fail_msg("%s: %s", mark_kind_row((enum mark_kind)k)->id, e.text);
    }
    assert_int_equal(listed(lb, a, &back), MARK_KIND_COUNT);
    for (int k = 0; k < MARK_KIND_COUNT; k++) {
        assert_string_equal(back[k].id, m[k].id); /* in the order drawn */
        assert_int_equal(back[k].kind, k);
        assert_int_equal(back[k].n_points, m[k].n_points);
        for (int i = 0; i < m[k].n_points; i++)
            assert_true(fabs(back[k].x[i] - m[k].x[i]) < 0.006 && fabs(back[k].y[i] - m[k].y[i]) < 0.006);
        assert_int_equal(back[k].colour, m[k].colour);
        assert_int_equal(back[k].width_px, m[k].width_px);
        assert_true(fabs(back[k].known - m[k].known) < 1e-4);
        assert_string_equal(back[k].thread, m[k].thread);
        assert_string_equal(back[k].hex, m[k].hex);
        assert_string_equal(back[k].lies, m[k].lies);
        assert_string_equal(back[k].marks, m[k].marks);
        assert_string_equal(back[k].text, m[k].text);
    }
    arena_destroy(a);
    logbook_close(lb);
}

static void a_mark_moved_is_one_step(void **state)
{
    struct logbook *lb = begun(0);
    struct arena *a = arena_create();
    struct logbook_mark m, *back;
    struct err e = {0};

    (void)state;
    logbook_mark_init(&m, photo, MARK_GAP);
    m.n_points = 2;
    m.x[1] = 50;
    assert_true(keep(lb, &m, &e));
    m.x[1] = 60;
    assert_true(keep(lb, &m, &e));
    assert_int_equal(listed(lb, a, &back), 1);
    assert_true(back[0].x[1] > 59.9);
    assert_true(logbook_undo(lb, &e));
    assert_int_equal(listed(lb, a, &back), 1);
    assert_true(back[0].x[1] < 50.1);
    assert_true(logbook_undo(lb, &e));
    assert_int_equal(listed(lb, a, &back), 0);
    assert_true(logbook_redo(lb, &e) && logbook_redo(lb, &e));
    assert_int_equal(listed(lb, a, &back), 1);
    assert_true(back[0].x[1] > 59.9);
    assert_true(logbook_begin(lb, "Gone", &e) && logbook_remove(lb, "mark", m.id, &e) && logbook_commit(lb, &e));
    assert_int_equal(listed(lb, a, &back), 0);
    arena_destroy(a);
    logbook_close(lb);
}

static void what_is_no_mark_is_refused(void **state)
{
    struct logbook *lb = begun(0);
    struct arena *a = arena_create();
    struct logbook_mark m, *back;
    struct err e = {0};

    (void)state;
    logbook_mark_init(&m, photo, MARK_NOSE);
    m.n_points = 2;
    assert_false(keep(lb, &m, &e));
    assert_string_equal(e.text, "A nose outline cannot be made of 2 points.");
    m.n_points = 3;
    m.y[2] = NAN;
    assert_false(keep(lb, &m, &e));
    assert_string_equal(e.text, "A point of the nose outline lies nowhere near the photo.");
    assert_int_equal(listed(lb, a, &back), 0);
    arena_destroy(a);
    logbook_close(lb);
}

/* Rows as a newer version or another program may have written them. */
static void what_cannot_be_read_is_left_out(void **state)
{
    static const struct {
        const char *kind, *points;
        bool there;
    } rows[] = {
        {"gap", "[[1,2],[3,4]]", true},      {"gap", "[[1,2]]", false},        {"gap", "[[1,2],[3,\"4\"]]", false},
        {"gap", "[[1,2],[3]]", false},       {"gap", "no JSON", false},        {"gap", "", false},
        {"gap", "[[1,2],[3,1e99]]", false},  {"spiral", "[[1,2],[3,4]]", false}, {"gap", "{\"x\":1}", false},
        {"gap", "[[1,2],[3,4],[5,6]]", false},
    };
    struct logbook *lb = begun(0);
    struct err e = {0};
    struct arena *a = arena_create();
    struct logbook_mark *back;

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char id[UUID_BYTES];

        assert_true(logbook_begin(lb, "x", &e) && logbook_add(lb, "mark", id, &e) && logbook_set_text(lb, "mark", id, "photo", photo, &e) &&
                    logbook_set_text(lb, "mark", id, "kind", rows[i].kind, &e) && logbook_set_text(lb, "mark", id, "points", rows[i].points, &e) &&
                    logbook_set_text(lb, "mark", id, "style", "{\"colour\":7,\"width\":\"x\",\"known\":-1}", &e) && logbook_commit(lb, &e));
        if (listed(lb, a, &back) != (rows[i].there ? 1u : 0u))
            fail_msg("%s %s", rows[i].kind, rows[i].points);
        if (rows[i].there)
            assert_true(back[0].width_px == 2 && back[0].known <= 0);
        assert_true(logbook_undo(lb, &e));
    }
    arena_destroy(a);
    logbook_close(lb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(every_kind_comes_back_as_drawn, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_mark_moved_is_one_step, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_is_no_mark_is_refused, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_cannot_be_read_is_left_out, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
