/* What the window tells, keeps and leads to, played in the built program. */
#include "journey.h"

#include <string.h>

#include "base/files.h"

static void a_second_visit_is_told_what_to_look_at(void **state)
{
    (void)state;
    plays("tests/journeys/second-visit.script");
    logbook_close(open_sound(NULL));
}

/* A script that names a place which only this run has. */
static void plays_text(const char *lines)
{
    char path[128];
    struct err e = {0};

    text_format(path, sizeof path, "%s/made.script", folder);
    assert_true(files_write(path, lines, strlen(lines), &e));
    plays(path);
}

static void a_copy_is_made_and_merged_back(void **state)
{
    char path[128], lines[2000];
    struct err e = {0};

    (void)state;
    write_sample();
    text_format(path, sizeof path, "%s/stick", folder);
    assert_true(files_make_folder(path, &e));
    text_format(lines, sizeof lines,
                "size 1280 720\nwait\nexpect engines.folder value ~%s/log\nkey Ctrl+B\nwait\nexpect files.purpose name \"~This logbook lies in %s/log.\"\n"
                "type %s/stick\nkey Enter\nwait\nexpect files.copy-name name \"as “log 2026-06-14”\"\nfits\ncontrast\nkey Ctrl+Enter\nwait\nexpect toast name ~%s/stick/log\n"
                "key Shift+M\nwait\ntype %s/stick\nkey Enter\nwait\nexpect file.* value \"a logbook\"\nfits\nkey Enter\nwait\nkey Enter\nwait\nexpect panel.merge there\n",
                folder, folder, folder, folder, folder);
    plays_text(lines);
    text_format(path, sizeof path, "%s/stick/log 2026-06-14/logbook.db", folder);
    assert_true(files_exists(path));
    logbook_close(open_sound(NULL));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_second_visit_is_told_what_to_look_at, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_copy_is_made_and_merged_back, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
