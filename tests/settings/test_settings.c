/* test_settings.c - settings are kept in a file people can edit, and a bad line changes nothing. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "settings/settings.h"
#include "base/files.h"
#include "base/text.h"

static char dir[64] = "/tmp/sootbook-settings-XXXXXX";

/* What was said of a visit's photos of another day holds for the next time as well; only the oldest make room. */
static void photos_that_belong_stay_said(void **state)
{
    static const char first[] = "0190aaaa-0000-7000-8000-000000000000";
    struct settings s, back;
    char id[40];

    (void)state;
    settings_load(&s);
    settings_photos_here(&s, first, true);
    settings_photos_here(&s, first, true);
    assert_string_equal(s.photos_here, first);
    settings_photos_here(&s, "0190bbbb-0000-7000-8000-000000000000", true);
    settings_save(&s);
    settings_load(&back);
    assert_string_equal(back.photos_here, "0190bbbb-0000-7000-8000-000000000000 0190aaaa-0000-7000-8000-000000000000");
    settings_photos_here(&back, first, false);
    assert_string_equal(back.photos_here, "0190bbbb-0000-7000-8000-000000000000");
    for (int i = 0; i < 60; i++) {
        text_format(id, sizeof id, "0190cccc-0000-7000-8000-0000000000%02d", i);
        settings_photos_here(&back, id, true);
        assert_true(strncmp(back.photos_here, id, strlen(id)) == 0);
        assert_true((strlen(back.photos_here) + 1) % 37 == 0); /* whole ids */
    }
    assert_null(strstr(back.photos_here, "0190bbbb"));
    settings_photos_here(&s, first, false);
    settings_photos_here(&s, "0190bbbb-0000-7000-8000-000000000000", false);
    assert_string_equal(s.photos_here, "");
    settings_save(&s);
}

static void they_come_back(void **state)
{
    struct settings s, back;

    (void)state;
    settings_load(&s);
    assert_false(s.inches || s.large_targets);
    s.inches = s.large_targets = true;
    text_copy(s.watched, sizeof s.watched, "/a folder/with = in it");
    assert_string_equal(s.compression_rule, "ratio-75");
    text_copy(s.compression_rule, sizeof s.compression_rule, "mean-20");
    assert_int_equal(settings_scale_percent(&s), 0);
    settings_set_scale(&s, 175);
    settings_save(&s);
    settings_load(&back);
    assert_int_equal(settings_scale_percent(&back), 175);
    settings_set_scale(&back, 0);
    settings_save(&back);
    settings_load(&back);
    assert_string_equal(back.scale, "screen");
    assert_string_equal(back.compression_rule, "mean-20");
    assert_true(back.inches && back.large_targets);
    assert_string_equal(back.watched, s.watched);
}

static void a_scale_is_100_to_300_per_cent(void **state)
{
    static const struct {
        const char *line;
        int percent;
    } rows[] = {{"scale=100\n", 100}, {"scale=300\n", 300}, {"scale=99\n", 0}, {"scale=301\n", 0}, {"scale=screen\n", 0}, {"scale=large\n", 0}};
    char path[128];
    struct settings s;

    (void)state;
    assert_true(files_join(path, sizeof path, dir, "sootbook/settings"));
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_true(files_write(path, rows[i].line, strlen(rows[i].line), NULL));
        settings_load(&s);
        assert_int_equal(settings_scale_percent(&s), rows[i].percent);
    }
}

static void bad_lines_keep_the_default(void **state)
{
    static const char *const bad[] = {"7", "-1", "yes", "", "nan", "1e400"};
    char path[128], line[128];
    struct settings s;
    int n;
    const struct setting_row *rows = setting_rows(&n);

    (void)state;
    assert_true(files_join(path, sizeof path, dir, "sootbook/settings"));
    for (int i = 0; i < n; i++)
        for (size_t k = 0; k < sizeof bad / sizeof bad[0]; k++) {
            struct text t = {0};

            text_addf(&t, "rubbish\n%s=%s\n=\n", rows[i].key, bad[k]);
            assert_true(text_copy(line, sizeof line, text_get(&t)));
            assert_true(files_write(path, line, t.n_bytes, NULL));
            text_release(&t);
            settings_load(&s);
            assert_false(s.inches || s.large_targets);
            assert_string_equal(s.compression_rule, "ratio-75");
            assert_int_equal(settings_scale_percent(&s), 0);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(photos_that_belong_stay_said),
        cmocka_unit_test(they_come_back), cmocka_unit_test(a_scale_is_100_to_300_per_cent), cmocka_unit_test(bad_lines_keep_the_default)};

    if (mkdtemp(dir) == NULL || setenv("XDG_CONFIG_HOME", dir, 1) != 0)
        return 1;
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    char path[128];

    if (files_join(path, sizeof path, dir, "sootbook/settings"))
        unlink(path);
    if (files_join(path, sizeof path, dir, "sootbook"))
        rmdir(path);
    rmdir(dir);
    return failed;
}
