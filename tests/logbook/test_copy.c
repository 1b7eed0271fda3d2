/* A copy of a logbook is a whole one, with its photos: it opens by itself, is written on and merged back; one that was
 * stopped leaves nothing behind. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdio.h>

#include "base/files.h"
#include "logbook/logbook_copy.h"
#include "photo_log.h"

static char into[200]; /* a folder beside it */


/* The photo's original, of so many bytes. */
static void lay_photo(const char *name, size_t n_bytes)
{
    char path[300];
    char *bytes = mem_alloc(n_bytes, 1);
    struct err e = {0};

    text_format(path, sizeof path, "%s/photos", folder);
    assert_true(files_make_folder(path, &e));
    text_format(path, sizeof path, "%s/photos/%s", folder, name);
    if (!files_write(path, bytes, n_bytes, &e))
        fail_msg("%s", e.text);
    free(bytes);
}

static int make_both(void **state)
{
    struct err e = {0};

    if (make_folder(state) != 0)
        return -1;
    text_format(into, sizeof into, "%s-stick", folder);
    return files_make_folder(into, &e) ? 0 : -1;
}

static int drop_both(void **state)
{
    char command[300];

    text_format(command, sizeof command, "rm -rf '%s'", into);
    return system(command) == 0 ? drop_folder(state) : -1;
}

static void a_copy_is_a_whole_logbook(void **state)
{
    struct logbook *lb = begun(2), *copy;
    struct logbook_copied done;
    struct logbook_merged merged;
    struct err e = {0};
    char path[FILES_PATH_BYTES], words[80], name[300];
    size_t n;
    int64_t n_bytes;

    (void)state;
    lay_photo("a.jpg", 3000);
    lay_photo("b.jpg", 2000);
    lay_photo("c.jpg.part", 9000); /* one that is just being written */
    logbook_copy_size(folder, &n, &n_bytes);
    assert_int_equal(n, 2);
    assert_true(n_bytes > 5000);
    if (!logbook_copy(lb, into, "2026-06-14", NULL, &done, &e))
        fail_msg("%s", e.text);
    assert_int_equal(done.n_photos, 2);
    assert_true(text_ends(done.folder, " 2026-06-14") && text_starts(done.folder, into));
    assert_true(files_join(path, sizeof path, done.folder, "photos/b.jpg") && files_exists(path));
    logbook_copy_words(2, 45600000, words, sizeof words);
    assert_string_equal(words, "2 photos, 45.6 MB");
    /* written on there, it comes back by a merge */
    copy = logbook_open(done.folder, LOGBOOK_WRITE, &e);
    assert_non_null(copy);
    assert_true(logbook_begin(copy, "Gap of 1", &e) && logbook_put_gap(copy, visit, 0, 0, false, 1100, "mm", &e) && logbook_commit(copy, &e));
    logbook_close(copy);
    assert_true(logbook_begin(lb, "Gap of 2", &e) && logbook_put_gap(lb, visit, 1, 0, false, 1050, "mm", &e) && logbook_commit(lb, &e));
    if (!logbook_merge(lb, done.folder, NULL, &merged, &e))
        fail_msg("%s", e.text);
    assert_int_equal(merged.n_changes, 1);
    /* another one of the same day has a name of its own */
    logbook_copy_name(folder, into, "2026-06-14", name, sizeof name);
    assert_true(text_ends(name, " 2026-06-14 (2)"));
    assert_true(logbook_copy(lb, into, "2026-06-14", NULL, &done, &e));
    assert_true(text_ends(done.folder, " 2026-06-14 (2)"));
    logbook_close(lb);
}

static bool stop_at_the_second(void *ctx, const char *what, size_t n_done, size_t n_all)
{
    (void)ctx, (void)what, (void)n_all;
    return n_done < 1;
}

static void a_copy_that_was_stopped_leaves_nothing(void **state)
{
    const struct logbook_watch watch = {stop_at_the_second, NULL};
    struct logbook *lb = begun(2);
    struct logbook_copied done;
    struct files_list list;
    struct err e = {0};

    (void)state;
    lay_photo("a.jpg", 3000);
    lay_photo("b.jpg", 2000);
    assert_false(logbook_copy(lb, into, "2026-06-14", &watch, &done, &e));
    assert_int_equal(e.code, ERR_CANCEL);
    assert_true(files_list_load(into, &list, &e));
    assert_int_equal(list.n_entries, 0);
    files_list_release(&list);
    logbook_close(lb);
}

static void a_copy_does_not_go_into_the_logbook_itself(void **state)
{
    struct logbook *lb = begun(2);
    struct logbook_copied done;
    struct err e = {0};
    char path[300];

    (void)state;
    text_format(path, sizeof path, "%s/photos", folder);
    assert_true(files_make_folder(path, &e));
    assert_false(logbook_copy(lb, folder, "2026-06-14", NULL, &done, &e));
    assert_non_null(strstr(e.text, "outside"));
    assert_false(logbook_copy(lb, path, "2026-06-14", NULL, &done, &e));
    text_format(path, sizeof path, "%s/nowhere", into);
    assert_false(logbook_copy(lb, path, "2026-06-14", NULL, &done, &e)); /* a stick that is not there is not made */
    logbook_close(lb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_copy_is_a_whole_logbook, make_both, drop_both),
        cmocka_unit_test_setup_teardown(a_copy_that_was_stopped_leaves_nothing, make_both, drop_both),
        cmocka_unit_test_setup_teardown(a_copy_does_not_go_into_the_logbook_itself, make_both, drop_both),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
