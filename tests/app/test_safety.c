/* What keeps an engine from being started too early, or broken at the refit, played in the built program. */
#include "journey.h"

#include <string.h>

#include "app/window.h"
#include "base/files.h"
#include "photo/pool.h"

static void played(const char *script)
{
    char out[4000];

    if (play(script, out, sizeof out) != 0)
        fail_msg("%s", out);
    logbook_close(open_sound(NULL));
}

static void a_new_visit_leaves_the_warning(void **state)
{
    char command[400], path[128], *html;
    size_t n;
    struct err e;

    (void)state;
    write_sample();
    played("tests/journeys/not-ready.script");
    text_format(path, sizeof path, "%s/r.html", folder);
    for (int i = 0; i < 2; i++) { /* the new visit, and one of two years before */
        text_format(command, sizeof command, "'%s' report '%s/log' --engine 'Merrow 4.2 V8' --visit %s -o '%s'", program_path(), folder, i == 0 ? "2026-06-14/2" : "2024-10-05", path);
        assert_int_equal(system(command), 0);
        assert_true(files_read(path, 1 << 24, &html, &n, &e));
        assert_non_null(strstr(html, "Do not start: since 14 Jun 2026: all 8 plugs are out."));
        assert_non_null(strstr(html, "Do not start: since 14 Jun 2026: connector 6 is bare."));
        free(html);
        assert_int_equal(remove(path), 0);
    }
}

static void a_new_engine_keeps_its_warning_too(void **state)
{
    (void)state;
    played("tests/journeys/not-ready-new.script");
}

static void another_plug_is_out_until_it_is_torqued(void **state)
{
    (void)state;
    played("tests/journeys/other-plug.script");
}

static void turning_with_the_plugs_in_is_asked_about(void **state)
{
    (void)state;
    played("tests/journeys/turned-by-hand.script");
}

/* The page of the logbook that was played in, made with these words of the command line; to be freed. */
static char *report_of(const char *options)
{
    char command[400], path[128], *html;
    size_t n;
    struct err e;

    text_format(path, sizeof path, "%s/r.html", folder);
    text_format(command, sizeof command, "'%s' report '%s/log' %s -o '%s'", program_path(), folder, options, path);
    assert_int_equal(system(command), 0);
    assert_true(files_read(path, 1 << 24, &html, &n, &e));
    return html;
}

static void a_torque_far_off_the_book_is_told_in_red(void **state)
{
    char *html;

    (void)state;
    played("tests/journeys/far-torque.script");
    html = report_of("--visit 2026-06-14/1");
    assert_non_null(strstr(html, "Plug 2: 60 N·m (44 lbf·ft) is far over the maker"));
    assert_non_null(strstr(html, "Plug 3: 18 N·m (13 lbf·ft) is far under the maker"));
    assert_non_null(strstr(html, "60 N·m (44 lbf·ft), far over the book"));
    free(html);
    html = report_of("--visit 2026-06-14/2");
    assert_non_null(strstr(html, "Do not start: since 14 Jun 2026: plug 2 was tightened far over the book and has to come out."));
    assert_non_null(strstr(html, "Take out again: plug 2, tightened far over the book"));
    free(html);
}

/* A new plug mends no thread: what its hole took stands until somebody says that it was looked at, at the next visit and in the report. */
static void a_hole_tightened_too_far_is_still_to_be_looked_at(void **state)
{
    static const char step[] = "Look at the thread in the head, hole of plug 2: the plug before took 60 N·m";
    char *html;

    (void)state;
    played("tests/journeys/head-thread.script");
    html = report_of("--visit 2026-06-14/1");
    assert_non_null(strstr(html, step));
    free(html);
    html = report_of("--visit 2026-06-14/2");
    assert_non_null(strstr(html, step));
    free(html);
}

static void a_well_draws_no_plug(void **state)
{
    (void)state;
    played("tests/journeys/wells-only.script");
}

static void the_warm_idle_asks_for_the_holes(void **state)
{
    (void)state;
    played("tests/journeys/idle-ticked.script");
}

static void no_load_while_what_it_harms_is_open(void **state)
{
    (void)state;
    played("tests/journeys/load-held.script");
}

static void a_scrap_plug_that_goes_in_again_is_told_in_red(void **state)
{
    char *html;

    (void)state;
    played("tests/journeys/scrap-torqued.script");
    html = report_of("");
    assert_non_null(strstr(html, "Do not start: plug 2 came out as scrap and is in again (insulator cracked)"));
    free(html);
}

/* What is to be done to a plug, and that it is scrap, goes along with it into another hole. */
static void what_is_asked_of_a_plug_follows_it(void **state)
{
    char *html;

    (void)state;
    played("tests/journeys/steps-follow-plug.script");
    html = report_of("");
    assert_non_null(strstr(html, "the plug from 6, which came out as scrap (insulator cracked), is in 4: a new one goes in"));
    assert_non_null(strstr(html, "the plug from 6 is in it: insulator cracked: a new plug"));
    assert_non_null(strstr(html, "A new plug in place of plug 4: insulator cracked"));
    free(html);
}

static void a_scrap_plug_stays_in_on_ones_own_word(void **state)
{
    char *html;

    (void)state;
    played("tests/journeys/scrap-kept.script");
    html = report_of("");
    assert_non_null(strstr(html, "Plug 2 (insulator cracked) is scrap and stays in on your own word"));
    assert_null(strstr(html, "Do not start"));
    free(html);
}

/* The first frame had the card without it, and the next came with the next input or two seconds later. */
static void the_first_frame_of_the_engines_has_their_warnings(void **state)
{
    char path[128];
    struct window_options o = {.folder = path, .width = 1280, .height = 720, .scale = 1, .software = true, .apart = true};
    const struct ui_widget *open;
    struct window *w;
    struct err e = {0};

    (void)state;
    write_sample();
    text_format(path, sizeof path, "%s/log", folder);
    assert_int_equal(setenv("SDL_VIDEODRIVER", "dummy", 1), 0);
    w = window_create(&o, &e);
    if (w == NULL)
        fail_msg("%s", e.text);
    window_draw(w);
    open = ui_find_widget(window_ui(w), "engines.open.0");
    assert_non_null(open);
    assert_non_null(strstr(open->value, "do not start: 8 plugs not torqued"));
    window_destroy(w);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_first_frame_of_the_engines_has_their_warnings, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_new_visit_leaves_the_warning, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_new_engine_keeps_its_warning_too, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_torque_far_off_the_book_is_told_in_red, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_hole_tightened_too_far_is_still_to_be_looked_at, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_well_draws_no_plug, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(another_plug_is_out_until_it_is_torqued, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(the_warm_idle_asks_for_the_holes, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(no_load_while_what_it_harms_is_open, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_scrap_plug_that_goes_in_again_is_told_in_red, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_is_asked_of_a_plug_follows_it, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_scrap_plug_stays_in_on_ones_own_word, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(turning_with_the_plugs_in_is_asked_about, make_folder, drop_folder),
    };
    int status;

    if (photo_helper_run(argc, argv, &status)) /* this program is its own helper */
        return status;
    return cmocka_run_group_tests(tests, NULL, NULL);
}
