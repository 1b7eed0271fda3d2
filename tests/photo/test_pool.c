/* The helper processes: import, a damaged picture, a helper that is killed. check-with: threads */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <dirent.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/clock.h"
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

static int count_files(const char *path)
{
    DIR *d = opendir(path);
    int n = 0;

    assert_non_null(d);
    while (readdir(d))
        n++;
    closedir(d);
    return n - 2;
}

/* One picture, in a pool of its own. */
static struct photo_result take_one(const struct photo_job *job)
{
    struct err e = {0};
    struct photo_pool *p = photo_pool_create(&(struct photo_pool_options){.n_helpers = 1}, &e);
    struct photo_result r = {0};

    if (!p)
        fail_msg("%s", e.text);
    photo_pool_submit(p, job);
    assert_true(photo_pool_wait(p, &r));
    photo_pool_destroy(p); /* what it handed out stays */
    return r;
}

static void the_same_file_twice_is_one(void **state)
{
    struct photo_job job = {.work = PHOTO_WORK_IMPORT, .path = "tests/outside/exif/made-o1-le.jpg", .keep_folder = folder};
    struct photo_result r = take_one(&job);
    char path[1200], hex[65];

    (void)state;
    assert_true(r.ok && !r.was_kept);
    text_copy(path, sizeof path, r.kept_path);
    photo_result_release(&r);
    r = take_one(&job);
    assert_true(r.ok && r.was_kept);
    assert_string_equal(r.kept_path, path);
    photo_result_release(&r);
    assert_int_equal(truncate(path, 100), 0); /* as a crash of another program might leave it */
    r = take_one(&job);
    assert_true(r.ok && !r.was_kept);
    assert_true(files_sha256(path, hex, NULL));
    assert_string_equal(hex, r.sha256);
    photo_result_release(&r);
    assert_int_equal(count_files(folder), 1);
}

static void what_is_no_file_gets_a_sentence(void **state)
{
    char ring[100], fifo[100], locked[100];
    const struct {
        const char *path, *words;
    } rows[] = {
        {folder, "folder"},          {"/no/such.jpg", "not there"}, {ring, "circle"},
        {fifo, "no ordinary file"}, {"tests/outside/broken/empty.jpg", "empty"}, {"tests/outside/broken/trunc-scan-50.jpg", "ends in the middle"},
    };
    struct photo_result r;

    (void)state;
    text_format(ring, sizeof ring, "%s/ring.jpg", folder);
    text_format(fifo, sizeof fifo, "%s/fifo.jpg", folder);
    text_format(locked, sizeof locked, "%s/locked.jpg", folder);
    assert_int_equal(symlink(ring, ring), 0);
    assert_int_equal(mkfifo(fifo, 0600), 0);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        r = take_one(&(struct photo_job){.work = PHOTO_WORK_IMPORT, .path = rows[i].path, .keep_folder = folder});
        if (r.damaged != (strstr(rows[i].path, "trunc") != NULL))
            fail_msg("%s: damaged %d", rows[i].path, r.damaged);
        if (r.damaged) { /* a picture all the same: kept as it is */
            char hex[65];

            assert_true(files_sha256(r.kept_path, hex, NULL));
            assert_string_equal(hex, r.sha256);
            assert_non_null(strstr(r.kept_path, ".jpg"));
            assert_int_equal(unlink(r.kept_path), 0);
        }
        if (r.ok || !strstr(r.err.text, rows[i].words))
            fail_msg("%s: %s, want \"%s\"", rows[i].path, r.ok ? "taken" : r.err.text, rows[i].words);
        photo_result_release(&r);
    }
    assert_true(files_copy("tests/outside/exif/made-o1-le.jpg", locked, NULL));
    assert_int_equal(chmod(locked, 0), 0);
    r = take_one(&(struct photo_job){.work = PHOTO_WORK_IMPORT, .path = locked});
    if (geteuid() == 0) /* may read anything */
        assert_true(r.ok);
    else
        assert_non_null(strstr(r.err.text, "permission"));
    photo_result_release(&r);
    r = take_one(&(struct photo_job){.work = PHOTO_WORK_IMPORT, .path = "tests/outside/exif/made-o1-le.jpg", .keep_folder = "/no/such"});
    assert_non_null(strstr(r.err.text, "/no/such"));
    photo_result_release(&r);
    assert_int_equal(count_files(folder), 3);
}

static void a_full_disk_leaves_no_half_file(void **state)
{
    char command[200];
    struct photo_result r;

    (void)state;
    text_format(command, sizeof command, "mount -t tmpfs -o size=64k none '%s' 2>/dev/null", folder);
    if (system(command) != 0)
        skip(); /* needs root */
    r = take_one(&(struct photo_job){.work = PHOTO_WORK_IMPORT, .path = "tests/outside/exif/landscape-o1.jpg", .keep_folder = folder});
    assert_false(r.ok);
    assert_non_null(strstr(r.err.text, "disk is full"));
    photo_result_release(&r);
    assert_int_equal(count_files(folder), 0);
    r = take_one(&(struct photo_job){.work = PHOTO_WORK_IMPORT, .path = "tests/outside/exif/made-o1-le.jpg", .keep_folder = folder});
    assert_true(r.ok); /* a small one still goes in: nothing of the other is left behind */
    photo_result_release(&r);
    text_format(command, sizeof command, "umount '%s'", folder);
    assert_int_equal(system(command), 0);
}

static void a_hanging_helper_is_replaced(void **state)
{
    struct err e = {0};
    struct photo_pool *p = photo_pool_create(&(struct photo_pool_options){.n_helpers = 1, .time_limit_s = 5}, &e);
    struct photo_pool_counts c;
    struct photo_result r;
    double began_s = clock_monotonic_s();

    (void)state;
    assert_non_null(p);
    assert_int_equal(kill(photo_pool_helper_pid(p, 0), SIGSTOP), 0);
    photo_pool_submit(p, &(struct photo_job){.work = PHOTO_WORK_DECODE, .path = "tests/outside/exif/made-o1-le.jpg"});
    assert_true(photo_pool_wait(p, &r));
    assert_false(r.ok);
    assert_non_null(strstr(r.err.text, "took longer"));
    assert_true(clock_monotonic_s() - began_s >= 5); /* the next, in a new one, has as long to begin on a busy machine */
    photo_pool_submit(p, &(struct photo_job){.work = PHOTO_WORK_DECODE, .path = "tests/outside/exif/made-o1-le.jpg"});
    assert_true(photo_pool_wait(p, &r));
    assert_true(r.ok);
    photo_result_release(&r);
    photo_pool_count(p, &c);
    assert_int_equal(c.n_replaced, 1);
    photo_pool_destroy(p);
}

static void a_cancelled_import_leaves_nothing(void **state)
{
    struct err e = {0};
    struct photo_pool *p = photo_pool_create(&(struct photo_pool_options){.n_helpers = 1}, &e);
    struct photo_pool_counts c;
    struct photo_result r;
    int n_done = 0, n_cancelled = 0, pid;

    (void)state;
    assert_non_null(p);
    pid = photo_pool_helper_pid(p, 0);
    assert_int_equal(kill(pid, SIGSTOP), 0); /* so that the first is surely under way */
    for (int i = 0; i < 10; i++)
        photo_pool_submit(p, &(struct photo_job){.work = PHOTO_WORK_IMPORT, .path = "tests/outside/exif/landscape-o1.jpg",
                                                 .keep_folder = folder, .generation = 7});
    photo_pool_submit(p, &(struct photo_job){.work = PHOTO_WORK_DECODE, .path = "tests/outside/exif/made-o1-le.jpg", .generation = 8});
    do
        photo_pool_count(p, &c);
    while (c.n_running == 0);
    assert_int_equal(c.n_imports_left, 10);
    photo_pool_cancel_generation(p, 7);
    assert_int_equal(kill(pid, SIGCONT), 0);
    while (photo_pool_wait(p, &r)) {
        n_cancelled += r.err.code == ERR_CANCEL;
        if (r.ok) {
            assert_int_equal(r.generation, 8);
            n_done++;
        }
        photo_result_release(&r);
    }
    assert_int_equal(n_cancelled, 10);
    assert_int_equal(n_done, 1);
    assert_int_equal(count_files(folder), 0);
    photo_pool_count(p, &c);
    assert_true(c.n_imports_left == 0 && c.n_waiting == 0 && c.n_running == 0);
    photo_pool_destroy(p);
}

/* What is on the screen does not wait behind forty imports; bytes work like files. */
static void urgent_work_goes_first(void **state)
{
    struct err e = {0};
    struct photo_pool *p = photo_pool_create(&(struct photo_pool_options){.n_helpers = 1}, &e);
    struct photo_result r;
    char *bytes;
    size_t n_bytes;
    int before = 0;
    bool came = false;

    (void)state;
    assert_non_null(p);
    assert_true(files_read("tests/outside/exif/made-o6-be.jpg", 1 << 20, &bytes, &n_bytes, &e));
    for (int i = 0; i < 6; i++)
        photo_pool_submit(p, &(struct photo_job){.work = PHOTO_WORK_IMPORT, .path = "tests/outside/exif/landscape-o1.jpg"});
    photo_pool_submit(p, &(struct photo_job){.work = PHOTO_WORK_REGION, .bytes = (uint8_t *)bytes, .n_bytes = n_bytes,
                                             .region = {10, 5, 20, 30}, .urgent = true, .tag = 99});
    memset(bytes, 0, n_bytes); /* copied at once */
    free(bytes);
    while (photo_pool_wait(p, &r)) {
        assert_true(r.ok);
        if (r.tag == 99) {
            came = true;
            assert_int_equal(r.width, 20);
            assert_int_equal(r.height, 30);
            assert_true(r.rgba[0] > 150 && r.rgba[1] < 100); /* red is top left, as displayed */
        } else if (!came) {
            before++;
        }
        photo_result_release(&r);
    }
    assert_true(came);
    assert_true(before <= 2);
    photo_pool_destroy(p);
}

/* What is looked at does not wait behind a dozen others, of which half are on the screen too. */
static void what_is_looked_at_goes_before_what_is_urgent(void **state)
{
    struct err e = {0};
    struct photo_pool *p = photo_pool_create(&(struct photo_pool_options){.n_helpers = 1}, &e);
    struct photo_result r;
    int before = 0;
    uint64_t n_first = 0;

    (void)state;
    assert_non_null(p);
    for (int i = 0; i < 12; i++)
        photo_pool_submit(p, &(struct photo_job){.work = i % 2 ? PHOTO_WORK_DECODE : PHOTO_WORK_IMPORT, .path = "tests/outside/exif/landscape-o1.jpg", .max_px = 100, .urgent = i % 2 == 1});
    photo_pool_submit(p, &(struct photo_job){.work = PHOTO_WORK_DECODE, .path = "tests/outside/exif/landscape-o1.jpg", .max_px = 300, .urgent = true, .first = true, .tag = 98});
    photo_pool_submit(p, &(struct photo_job){.work = PHOTO_WORK_REGION, .path = "tests/outside/exif/landscape-o1.jpg", .region = {0, 0, 20, 20}, .urgent = true, .first = true, .tag = 99});
    while (photo_pool_wait(p, &r)) {
        assert_true(r.ok);
        if (r.tag >= 98)
            assert_int_equal(r.tag, 98 + n_first++); /* in the order they were asked for */
        else if (n_first < 2)
            before++;
        photo_result_release(&r);
    }
    assert_int_equal(n_first, 2);
    assert_true(before <= 2); /* those that were on their way */
    photo_pool_destroy(p);
}

/* Tiles of one picture after another, through a pool of several: right pixels, each picture's own. */
static void parts_come_from_their_own_picture(void **state)
{
    static const char *const names[] = {"tests/outside/exif/made-o6-be.jpg", "tests/outside/exif/made-exif.png"};
    struct err e = {0};
    struct photo_pixels whole[2];
    struct photo_result r;

    (void)state;
    for (int i = 0; i < 2; i++) {
        char *bytes;
        size_t n_bytes;

        assert_true(files_read(names[i], 1 << 20, &bytes, &n_bytes, &e));
        assert_true(photo_decode((uint8_t *)bytes, n_bytes, 0, NULL, &whole[i], NULL, &e));
        free(bytes);
    }
    for (int n_helpers = 1; n_helpers <= 3; n_helpers++) { /* two lanes; one helper alone does both */
        struct photo_pool *p = photo_pool_create(&(struct photo_pool_options){.n_helpers = n_helpers}, &e);
        int n = 0;

        assert_non_null(p);
        for (int i = 0; i < 12; i++)
            photo_pool_submit(p, &(struct photo_job){.work = PHOTO_WORK_REGION, .path = names[i / 3 % 2], .urgent = i % 2 == 0,
                                                     .region = {i, 2 * i, 40, 30}, .lane = i / 3 % 2, .tag = (uint64_t)i});
        photo_pool_submit(p, &(struct photo_job){.work = PHOTO_WORK_REGION, .path = names[0], .region = {90, 0, 10, 10}, .tag = 99});
        while (photo_pool_wait(p, &r)) {
            const struct photo_pixels *from = &whole[r.tag / 3 % 2];

            n++;
            if (r.tag == 99) {
                assert_false(r.ok);
                assert_non_null(strstr(r.err.text, "not inside"));
                continue;
            }
            if (!r.ok)
                fail_msg("%s", r.err.text);
            for (int y = 0; y < 30; y++)
                assert_memory_equal(r.rgba + y * 160, from->rgba + ((2 * r.tag + (uint64_t)y) * (uint64_t)from->width + r.tag) * 4, 160);
            photo_result_release(&r);
        }
        assert_int_equal(n, 13);
        photo_pool_destroy(p);
    }
    photo_pixels_release(&whole[0]);
    photo_pixels_release(&whole[1]);
}

/* Memory of a helper that meets 30000 x 30000 pixels: the headers are enough to refuse it. */
static void a_huge_picture_is_refused_by_its_headers(void **state)
{
    static const char *const names[] = {"bomb-30000x30000-8bit.png", "bomb-30000x30000-1bit.png", "huge-2147483647.png", "huge.bmp",
                                        "huge-65535x65535.jpg"};
    struct err e = {0};
    struct photo_pool *p = photo_pool_create(&(struct photo_pool_options){.n_helpers = 1}, &e);
    struct photo_result r;
    long most_kb = 0;

    (void)state;
    assert_non_null(p);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char path[200];

        text_format(path, sizeof path, "tests/outside/broken/%s", names[i]);
        photo_pool_submit(p, &(struct photo_job){.work = PHOTO_WORK_IMPORT, .path = path, .keep_folder = folder});
        assert_true(photo_pool_wait(p, &r));
        if (r.ok || r.err.code != ERR_LIMIT)
            fail_msg("%s: %s", names[i], r.ok ? "taken" : r.err.text);
    }
    {
        char path[64], line[200];
        FILE *f;

        text_format(path, sizeof path, "/proc/%d/status", photo_pool_helper_pid(p, 0));
        f = fopen(path, "r");
        assert_non_null(f);
        while (fgets(line, sizeof line, f))
            if (text_starts(line, "VmHWM:"))
                most_kb = atol(line + 6);
        fclose(f);
    }
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
    assert_true(most_kb > 1000); /* their own memory is counted in */
#else
    assert_in_range(most_kb, 1000, 100000);
#endif
    assert_int_equal(count_files(folder), 0);
    photo_pool_destroy(p);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_same_file_twice_is_one, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_is_no_file_gets_a_sentence, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_full_disk_leaves_no_half_file, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_hanging_helper_is_replaced, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_cancelled_import_leaves_nothing, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_is_looked_at_goes_before_what_is_urgent, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(urgent_work_goes_first, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_huge_picture_is_refused_by_its_headers, make_folder, drop_folder),
        cmocka_unit_test(parts_come_from_their_own_picture),
        cmocka_unit_test_setup_teardown(an_import_is_whole, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_killed_helper_is_replaced, make_folder, drop_folder),
    };
    int status;

    if (photo_helper_run(argc, argv, &status)) /* this program is its own helper */
        return status;
    return cmocka_run_group_tests(tests, NULL, NULL);
}
