/* Every screen in the smallest window, in a usual one with large targets, and at 200 %: no text is cut without an
 * ellipsis, covered or written over, and all that takes the focus can be brought into view. */
#include "journey.h"

#include <string.h>

#include "app/fits.h"
#include "base/files.h"
#include "screen/model.h"
#include "../help/measure.h"

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

/* The check itself: what it must find, and what it must let pass. */
static void what_does_not_fit_is_named(void **state)
{
    static const char *const found[] = {NULL, "cut without an ellipsis", "another text is written over it", "it is covered", "nothing is left of it"};
    const struct ui_style style = {.colour = UI_TEXT};

    (void)state;
    for (size_t i = 0; i < sizeof found / sizeof found[0]; i++) {
        struct ui *ui = ui_create_without_fonts();
        struct text why = {0};

        ui_begin(ui, 400, 300, 1);
        ui_fill(ui, ui_screen(ui), UI_PANEL);
        if (i == 1)
            ui_clip_push(ui, (struct rect){0, 0, 60, 300});
        ui_text(ui, (struct rect){20, 20, i == 4 ? 2 : 200, 24}, "Valve-cover gasket", &style);
        if (i == 1)
            ui_clip_pop(ui);
        if (i == 2)
            ui_text(ui, (struct rect){40, 22, 200, 24}, "Coil", &style);
        if (i == 3)
            ui_fill(ui, (struct rect){40, 0, 100, 100}, UI_CARD);
        ui_end(ui);
        assert_int_equal(fits_read(ui, &why), found[i] == NULL);
        if (found[i] != NULL && strstr(text_get(&why), found[i]) == NULL)
            fail_msg("“%s” is not said, but “%s”", found[i], text_get(&why));
        text_release(&why);
        ui_destroy(ui);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_does_not_fit_is_named),
        cmocka_unit_test_setup_teardown(the_smallest_window_shows_all, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_small_window_shows_all_with_large_targets, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(twice_the_size_shows_all, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
