/* test_settings.c - settings are kept in a file people can edit, and a bad line changes nothing. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <unistd.h>

#include <cmocka.h>

#include "settings/settings.h"
#include "base/files.h"
#include "base/text.h"

static char dir[64] = "/tmp/sootbook-settings-XXXXXX";

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
    settings_save(&s);
    settings_load(&back);
    assert_string_equal(back.compression_rule, "mean-20");
    assert_true(back.inches && back.large_targets);
    assert_string_equal(back.watched, s.watched);
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
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(they_come_back), cmocka_unit_test(bad_lines_keep_the_default)};

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
