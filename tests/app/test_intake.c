/* Photos dropped into a visit: one undo step, whatever is typed meanwhile; what is refused and what is
 * kept damaged; stopping. check-with: threads */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "app/intake.h"
#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "photo/pool.h"
#include "../help/help.h"

static struct logbook *lb;
static struct intake *in;
static char log_folder[128], visit[UUID_BYTES];

static int begin(void **state)
{
    struct err e = {0};
    char engine[UUID_BYTES];

    if (make_folder(state) != 0)
        return -1;
    text_format(log_folder, sizeof log_folder, "%s/log", folder);
    if (!logbook_create(log_folder, &e) || (lb = logbook_open(log_folder, LOGBOOK_WINDOW, &e)) == NULL || !logbook_begin(lb, "Visit", &e) ||
        !logbook_add(lb, "engine", engine, &e) || !logbook_add(lb, "visit", visit, &e) ||
        !logbook_set_text(lb, "visit", visit, "engine", engine, &e) || !logbook_commit(lb, &e) || !logbook_keep_last(lb, &e)) {
        print_error("%s\n", e.text);
        return -1;
    }
    in = intake_create(log_folder, NULL, NULL);
    return in == NULL;
}

static int end(void **state)
{
    intake_destroy(in);
    logbook_close(lb);
    return drop_folder(state);
}

/* Files of different content: bytes behind the end of a picture are no trouble. */
static void add_copies(struct text *files, int n)
{
    char *data, path[200];
    size_t n_bytes;
    struct err e = {0};

    assert_true(files_read("tests/outside/exif/made-o1-le.jpg", 1 << 20, &data, &n_bytes, &e));
    for (int i = 0; i < n; i++) {
        text_format(path, sizeof path, "%s/p%02d.jpg", folder, i);
        data = mem_resize(data, n_bytes + 1, 1);
        data[n_bytes] = (char)i;
        if (!files_write(path, data, n_bytes + 1, &e))
            fail_msg("%s", e.text);
        text_addf(files, "%s\n", path);
    }
    free(data);
}

static size_t count_photos(int *n_damaged)
{
    struct arena *a = arena_create();
    struct logbook_photo *photos;
    size_t n;
    struct err e = {0};

    assert_true(logbook_list_photos(lb, visit, a, &photos, &n, &e));
    for (size_t i = 0; n_damaged != NULL && i < n; i++)
        *n_damaged += photos[i].trouble[0] != '\0';
    arena_destroy(a);
    return n;
}

static bool poll_once(struct err *e)
{
    bool recorded = intake_poll(in, lb, e);

    nanosleep(&(struct timespec){.tv_nsec = 2000000}, NULL);
    return recorded;
}

static void check_sound(int n_photos)
{
    struct logbook_report report;
    struct err e = {0};

    assert_true(logbook_verify(lb, &report, &e));
    if (!report.sound || report.n_missing > 0 || report.n_damaged > 0)
        fail_msg("%s", report.text);
    assert_int_equal(report.n_photos, n_photos);
}

static void a_drop_is_one_step(void **state)
{
    struct text files = {0};
    struct err e = {0};
    bool typed = false;

    (void)state;
    add_copies(&files, 40);
    intake_add(in, visit, "", text_get(&files));
    text_release(&files);
    while (intake_busy(in))
        if (poll_once(&e) && !typed) {
            assert_in_range(count_photos(NULL), 1, 39);
            assert_true(logbook_begin(lb, "Typed", &e) && logbook_set_text(lb, "visit", visit, "notes", "oily", &e) && logbook_commit(lb, &e));
            typed = true;
        }
    assert_string_equal(e.text, "");
    assert_true(typed);
    assert_int_equal(count_photos(NULL), 40);
    assert_string_equal(logbook_undo_label(lb), "Typed");
    assert_true(logbook_undo(lb, &e));
    assert_int_equal(count_photos(NULL), 40);
    assert_true(logbook_undo(lb, &e));
    assert_int_equal(count_photos(NULL), 0);
    assert_string_equal(logbook_undo_label(lb), "");
    assert_true(logbook_redo(lb, &e));
    assert_int_equal(count_photos(NULL), 40);
    assert_true(logbook_redo(lb, &e));
    assert_string_equal(logbook_redo_label(lb), "");
    check_sound(40);
}

static void drop(const char *file, struct err *e)
{
    char path[200];

    text_format(path, sizeof path, "%s%s", *file == '/' ? "" : "tests/outside/broken/", file);
    err_clear(e);
    intake_add(in, visit, "", path);
    while (intake_busy(in))
        poll_once(e);
}

static void what_is_no_photo_is_not_kept(void **state)
{
    static const struct {
        const char *file, *words;
    } rows[] = {
        {"text.jpg", "text file"}, {"pdf.jpg", "PDF"}, {"empty.jpg", "empty"}, {"bomb-30000x30000-8bit.png", "smaller copy"},
    };
    char path[200];
    struct err e = {0};
    int n_damaged = 0;

    (void)state;
    text_format(path, sizeof path, "%s/text.jpg", folder);
    assert_true(files_write(path, "Bring milk.\n", 12, &e));
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char own[200];

        text_format(own, sizeof own, "%s/%s", folder, rows[i].file);
        if (i == 1)
            assert_true(files_write(own, "%PDF-1.4\n\1\2\3", 12, &e));
        drop(i < 2 ? own : rows[i].file, &e);
        if (strstr(e.text, rows[i].words) == NULL || strstr(e.text, rows[i].file) == NULL)
            fail_msg("%s: \"%s\", want \"%s\"", rows[i].file, e.text, rows[i].words);
    }
    drop(folder, &e);
    assert_non_null(strstr(e.text, "folder"));
    assert_int_equal(count_photos(NULL), 0);
    assert_string_equal(logbook_undo_label(lb), "");
    drop("trunc-scan-50.jpg", &e);
    assert_string_equal(e.text, ""); /* its tile tells */
    assert_int_equal(count_photos(&n_damaged), 1);
    assert_int_equal(n_damaged, 1);
    check_sound(1); /* and nothing lies in photos/ that is not named */
}

/* Two that are refused among others are told in one sentence, when all are through. */
static void refusals_are_told_once(void **state)
{
    struct text files = {0};
    struct err e = {0};
    int n_told = 0;

    (void)state;
    text_add(&files, "/no/such.jpg\ntests/outside/broken/empty.jpg\n");
    add_copies(&files, 8);
    intake_add(in, visit, "", text_get(&files));
    text_release(&files);
    while (intake_busy(in)) {
        err_clear(&e);
        poll_once(&e);
        if (e.text[0] != '\0') {
            n_told++;
            assert_non_null(strstr(e.text, "2 files were not taken in"));
        }
    }
    assert_int_equal(n_told, 1);
    assert_int_equal(count_photos(NULL), 8);
}

/* The first few of forty are in when it is stopped. */
static size_t stop_early(void)
{
    struct text files = {0};
    struct err e = {0};
    int done = 0, all = 0;

    add_copies(&files, 40);
    intake_add(in, visit, "", text_get(&files));
    text_release(&files);
    assert_true(intake_progress(in, &done, &all));
    assert_int_equal(all, 40);
    while (!poll_once(&e))
        ;
    intake_cancel(in, 0);
    assert_true(intake_progress(in, &done, &all));
    assert_int_equal(all, 0);
    while (intake_busy(in))
        poll_once(&e);
    assert_string_equal(e.text, "");
    return count_photos(NULL);
}

static void stopping_keeps_what_is_in(void **state)
{
    struct err e = {0};
    size_t n;

    (void)state;
    while ((n = stop_early()) == 40) { /* on a busy machine the helpers may have done all by then: once more */
        assert_true(logbook_undo(lb, &e));
        assert_int_equal(count_photos(NULL), 0);
    }
    assert_in_range(n, 1, 39);
    check_sound((int)n);
    assert_true(logbook_undo(lb, &e));
    assert_int_equal(count_photos(NULL), 0);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_drop_is_one_step, begin, end),
        cmocka_unit_test_setup_teardown(what_is_no_photo_is_not_kept, begin, end),
        cmocka_unit_test_setup_teardown(refusals_are_told_once, begin, end),
        cmocka_unit_test_setup_teardown(stopping_keeps_what_is_in, begin, end),
    };
    int status;

    if (photo_helper_run(argc, argv, &status)) /* this program is its own helper */
        return status;
    return cmocka_run_group_tests(tests, NULL, NULL);
}
