/* The helper processes: import, a damaged picture, a helper that is killed. check-with: threads */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/err.h"
#include "base/files.h"
#include "base/text.h"
#include "photo/pool.h"
#include "../help/help.h"

static void an_import_is_whole(void **state)
{
    static const char *const files[] = {"tests/outside/exif/made-subsec-offset.jpg", "tests/outside/exif/portrait-o6.jpg",
                                        "tests/outside/exif/made-plain.heic", "tests/outside/broken/trunc-50.png", "/no/such/file.jpg",
                                        "tests/outside/broken/empty.jpg"};
    struct err e = {0};
    struct photo_pool *p = photo_pool_create(NULL, &e);
    struct photo_result r;
    int fine = 0, refused = 0;

    (void)state;
    if (p == NULL)
        fail_msg("%s", e.text);
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++)
        photo_pool_submit(p, &(struct photo_job){.work = PHOTO_WORK_IMPORT, .path = files[i], .keep_folder = folder, .tag = i});
    while (photo_pool_wait(p, &r)) {
        char hex[65];

        if (r.ok) {
            fine++;
            assert_true(r.tag <= 2);
            assert_true(files_sha256(files[r.tag], hex, &e));
            assert_string_equal(hex, r.sha256);
            assert_true(files_sha256(r.kept_path, hex, &e)); /* copied unchanged */
            assert_string_equal(hex, r.sha256);
            assert_true(r.width <= PHOTO_THUMB_PX && r.height <= PHOTO_THUMB_PX && r.rgba != NULL);
            assert_true(r.n_thumb_jpeg > 100 && r.n_preview_jpeg > 100);
            if (r.tag == 0)
                assert_true(r.info.taken[0] != '\0' && r.info.offset_given);
            if (r.tag == 1)
                assert_true(r.height > r.width); /* shown upright */
        } else {
            refused++;
            assert_true(r.tag >= 3);
            assert_true(strlen(r.err.text) > 15);
        }
        photo_result_release(&r);
    }
    assert_int_equal(fine, 3);
    assert_int_equal(refused, 3);
    photo_pool_destroy(p);
}

static void a_killed_helper_is_replaced(void **state)
{
    struct err e = {0};
    struct photo_pool *p = photo_pool_create(&(struct photo_pool_options){.n_helpers = 1}, &e);
    struct photo_pool_counts c;
    struct photo_result r;
    int n = 0, fine = 0;

    (void)state;
    assert_non_null(p);
    for (int i = 0; i < 6; i++) {
        photo_pool_submit(p, &(struct photo_job){.work = PHOTO_WORK_DECODE, .path = "tests/outside/exif/landscape-o1.jpg", .max_px = 0});
        if (i == 2) {
            int pid = photo_pool_helper_pid(p, 0);

            if (pid > 0)
                kill(pid, SIGKILL);
        }
    }
    while (photo_pool_wait(p, &r)) {
        n++;
        fine += r.ok;
        if (!r.ok)
            assert_true(strlen(r.err.text) > 15);
        photo_result_release(&r);
    }
    assert_int_equal(n, 6);
    assert_true(fine >= 4);
    photo_pool_count(p, &c);
    assert_int_equal(c.n_helpers, 1);
    photo_pool_destroy(p);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(an_import_is_whole, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_killed_helper_is_replaced, make_folder, drop_folder),
    };
    int status;

    if (photo_helper_run(argc, argv, &status)) /* this program is its own helper */
        return status;
    return cmocka_run_group_tests(tests, NULL, NULL);
}
