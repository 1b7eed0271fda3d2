/* Every screen in the smallest window, in a usual one with large targets, and at 200 %: no text is cut without an
 * ellipsis, covered or written over, and all that takes the focus can be brought into view. */
#include "journey.h"

#include <string.h>

#include "base/files.h"
#include "screen/model.h"

static const struct {
    const char *key, *screen;
} screens[] = {{"F2", "Plan"}, {"F4", "plug by plug"}, {"F3", "Photos"}, {"F12", "Line-up"}, {"F11", "Trends"}, {"Ctrl+J", "Job"}, {"Ctrl+R", "Report"}},
  panels[] = {{"F5", "visit"}, {"Shift+M", "compression"}, {"Shift+D", "particulars"}, {"F9", "keys"}, {"Ctrl+F", "search"}, {"F6", "files"}};

/* down: which engine of the sample. */
static void walks(int w, int h, int scale, bool large, int down)
{
    struct text t = {0};
    char path[128], out[4000];
    struct err e = {0};

    text_addf(&t, "scale %d\nsize %d %d\nwait\n%sfits\n", scale, w, h, large ? "key F10\nwait\n" : "");
    for (int i = 0; i < down; i++)
        text_add(&t, "key Down\n");
    text_add(&t, "key Enter\nwait\n");
    for (size_t i = 0; i < sizeof screens / sizeof screens[0]; i++)
        text_addf(&t, "# %s\nkey %s\nwait\nfits\n", screens[i].screen, screens[i].key);
    for (size_t i = 0; i < sizeof panels / sizeof panels[0]; i++)
        text_addf(&t, "# %s\nkey F2\nwait\nkey %s\nwait\nfits\nkey Escape\n", panels[i].screen, panels[i].key);
    text_add(&t, "key F1\nwait\nkey n\nwait\nfits\n");
    text_format(path, sizeof path, "%s/walk.script", folder);
    assert_true(files_write(path, text_get(&t), t.n_bytes, &e));
    write_sample();
    if (play(path, out, sizeof out) != 0)
        fail_msg("%d × %d%s, engine %d: %s%s", w, h, large ? ", large targets" : "", down + 1, out, text_get(&t));
    text_release(&t);
}

static void the_smallest_window_shows_all(void **state)
{
    (void)state;
    walks(LEAST_WIDTH, LEAST_HEIGHT, 1, false, 0);
}

static void a_small_window_shows_all_with_large_targets(void **state)
{
    (void)state;
    walks(1280, 720, 1, true, 1);
}

static void twice_the_size_shows_all(void **state)
{
    (void)state;
    walks(LEAST_WIDTH, LEAST_HEIGHT, 2, false, 2);
}

/* The check itself: what it must find. */
static void what_does_not_fit_is_named(void **state)
{
    char path[128], out[4000];
    struct err e = {0};
    static const char words[] = "size 500 400\nwait\nfits\n";

    (void)state;
    write_sample();
    text_format(path, sizeof path, "%s/small.script", folder);
    assert_true(files_write(path, words, sizeof words - 1, &e));
    assert_int_not_equal(play(path, out, sizeof out), 0);
    if (strstr(out, "line 3") == NULL)
        fail_msg("%s", out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_smallest_window_shows_all, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_small_window_shows_all_with_large_targets, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(twice_the_size_shows_all, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_does_not_fit_is_named, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
