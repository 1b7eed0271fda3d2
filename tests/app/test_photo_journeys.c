/* What is done with photos in the window, played from the scripts of tests/journeys in the built program. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "../help/help.h"
#include "journey.h"

/* Plays it on the sample logbook, which is sound afterwards. */
static void plays_on_sample(const char *script)
{
    write_sample();
    plays(script);
    logbook_close(open_sound(NULL));
}

/* What holds for one photo alone: the thread in it, what its patch reflects. */
static void a_photo_has_its_own_thread_and_grey(void **state)
{
    (void)state;
    plays_on_sample("tests/journeys/thread-and-grey.script");
}

/* From the dropped side view to the accepted gap in so many inputs, behind the one that opened the engine. What is noted is
 * the gap the scene was made with. */
static void gap_is_taken(const char *script, int most_inputs)
{
    char out[4000], path[128];
    const char *counted;
    struct csv t = load_table("tests/photos/truth.csv");
    struct arena *a = arena_create();
    struct logbook_engine *engines;
    struct logbook_mark *marks;
    struct logbook *lb;
    struct record r;
    struct err e = {0};
    size_t n, n_marks, row = 1, lines = 0;
    double truth = 0;
    const struct reading *q;

    write_sample();
    if (play(script, out, sizeof out) != 0)
        fail_msg("%s", out);
    print_message("%s", out);
    counted = strstr(out, "inputs: ");
    assert_non_null(counted);
    assert_true(atoi(counted + 8) - 1 <= most_inputs);
    while (row < t.n_rows && strcmp(csv_named(&t, row, "file"), "p10.jpg") != 0)
        row++;
    assert_true(text_to_double(csv_named(&t, row, "gap_mm"), &truth));
    text_format(path, sizeof path, "%s/log", folder);
    lb = logbook_open(path, LOGBOOK_READ, &e);
    assert_non_null(lb);
    assert_true(logbook_list_engines(lb, a, &engines, &n, &e));
    for (size_t i = 0; i < n; i++)
        if (strcmp(engines[i].name, "Merrow 4.2 V8") == 0) {
            assert_true(logbook_load_record(lb, engines[i].id, NULL, &r, &e));
            q = visit_reading_const(record_current(&r), &r.engine, 0, 0);
            assert_true(q->gap_photo_mm.given && q->gap_photo_mm.value > truth - 0.06 && q->gap_photo_mm.value < truth + 0.06);
            assert_true(q->gap_mm.given && !q->gap_from_photo); /* the feeler gauge's still counts */
            record_release(&r);
            assert_true(logbook_list_marks(lb, engines[i].last_visit, a, &marks, &n_marks, &e));
            for (size_t k = 0; k < n_marks; k++) /* and what it was measured by is kept */
                lines += marks[k].kind == MARK_SCALE || marks[k].kind == MARK_GAP;
            assert_int_equal(lines, 2);
            row = 0;
        }
    assert_int_equal(row, 0);
    logbook_close(lb);
    arena_destroy(a);
    csv_release(&t);
}

static void a_gap_is_taken_from_a_dropped_photo(void **state)
{
    (void)state;
    gap_is_taken("tests/journeys/gap-from-photo.script", 6);
}

static void a_gap_is_taken_by_lines_nobody_drew(void **state)
{
    (void)state;
    gap_is_taken("tests/journeys/gap-offered.script", 4);
}

static void the_magnified_gap_is_put_away(void **state)
{
    (void)state;
    plays_on_sample("tests/journeys/gap-corner.script");
}

static void a_thread_the_card_does_not_name_is_asked_for(void **state)
{
    (void)state;
    plays_on_sample("tests/journeys/which-thread.script");
}

static void lines_offered_are_turned_down(void **state)
{
    (void)state;
    plays_on_sample("tests/journeys/gap-offer-turned-down.script");
}

static void a_gap_from_a_photo_stands_beside_the_gauges(void **state)
{
    (void)state;
    plays_on_sample("tests/journeys/two-gaps.script");
}

static void three_scales_are_compared(void **state)
{
    (void)state;
    plays_on_sample("tests/journeys/scales.script");
}

static void marks_change_their_order(void **state)
{
    (void)state;
    plays_on_sample("tests/journeys/marks-in-order.script");
}

static void marks_are_drawn_by_pointer_and_by_keys(void **state)
{
    char path[128], command[500], *html;
    struct err e = {0};
    size_t n;

    (void)state;
    write_sample();
    plays("tests/journeys/marks-by-hand.script");
    text_format(path, sizeof path, "%s/log/copies/v8-well-4-marked.svg", folder);
    assert_true(files_exists(path));
    /* the page says what is written on a photo */
    text_format(command, sizeof command, "'%s' report '%s/log' --engine 'Merrow 4.2 V8' -o '%s/page.html'", program_path(), folder, folder);
    assert_int_equal(system(command), 0);
    text_format(path, sizeof path, "%s/page.html", folder);
    assert_true(files_read(path, 1 << 24, &html, &n, &e));
    assert_non_null(strstr(html, "Plug 4, Well: worn here; oil"));
    free(html);
}

static void an_outline_is_drawn_or_clicked(void **state)
{
    (void)state;
    plays_on_sample("tests/journeys/outline-corners.script");
}

static void only_what_measures_goes_to_the_next_photo(void **state)
{
    (void)state;
    plays_on_sample("tests/journeys/marks-on.script");
}

static void a_ruler_of_the_photo_beside_reads_millimetres(void **state)
{
    (void)state;
    plays_on_sample("tests/journeys/ruler-of-the-other.script");
}

/* Begun beside the picture, dragged over its edge, taken hold of and moved beyond it, nudged there by keys. */
static void marks_stay_within_their_photo(void **state)
{
    static const char words[] = "offers off\nsize 1440 900\nwait\nkey Enter\nwait\nkey F3\nwait\nclick strip.*\nwait\n"
                                "key a\nstroke photo.view 0.004 0.3 0.5 0.4\nwait\nkey a\nstroke photo.view 0.5 0.6 0.996 0.602\nwait\n"
                                "key b\nstroke photo.view 0.3 0.3 0.4 0.4\nwait\nstroke photo.view 0.35 0.35 0.002 0.002\nwait\n"
                                "key Shift+Left\nkey Shift+Left\nkey Shift+Up\nwait\nkey d\nstroke photo.view 0.002 0.9 0.5 0.998\nwait\n";
    char path[128], engine[UUID_BYTES], visit[UUID_BYTES];
    struct arena *a = arena_create();
    struct logbook_photo *photos;
    struct logbook_mark *marks;
    struct logbook *lb;
    size_t n, n_photos, n_arrows = 0;
    struct err e = {0};

    (void)state;
    write_sample();
    text_format(path, sizeof path, "%s/edge.script", folder);
    assert_true(files_write(path, words, sizeof words - 1, &e));
    plays(path);
    lb = open_sound(NULL);
    assert_true(logbook_find_engine(lb, "Merrow 4.2 V8", engine, &e) && logbook_find_visit(lb, engine, "", visit, &e));
    assert_true(logbook_list_photos(lb, visit, a, &photos, &n_photos, &e) && logbook_list_marks(lb, visit, a, &marks, &n, &e));
    for (size_t i = 0; i < n; i++) {
        const struct logbook_photo *p = NULL;

        for (size_t k = 0; k < n_photos; k++)
            p = strcmp(photos[k].id, marks[i].photo) == 0 ? &photos[k] : p;
        assert_non_null(p);
        n_arrows += marks[i].kind == MARK_ARROW;
        for (int k = 0; k < marks[i].n_points; k++)
            if (marks[i].x[k] < 0 || marks[i].y[k] < 0 || marks[i].x[k] > p->width || marks[i].y[k] > p->height)
                fail_msg("%s: point %d at %.1f, %.1f of %d × %d", mark_kind_row(marks[i].kind)->label, k, marks[i].x[k], marks[i].y[k], p->width, p->height);
    }
    assert_int_equal(n_arrows, 2);
    logbook_close(lb);
    arena_destroy(a);
}

static void a_photo_is_zoomed_turned_and_compared(void **state)
{
    (void)state;
    plays_on_sample("tests/journeys/view-a-photo.script");
}

static void plugs_stand_side_by_side_and_visits_over_each_other(void **state)
{
    char path[200], *png;
    struct err e = {0};
    size_t n;

    (void)state;
    write_sample();
    plays("tests/journeys/line-up.script");
    text_format(path, sizeof path, "%s/log/line-up-merrow-4-2-v8-2026-06-14.png", folder);
    assert_true(files_read(path, 1 << 25, &png, &n, &e) && n > 24);
    /* heads and foot 168, four rows of 174 (two visits over each other, three apart), two pixels for each */
    assert_int_equal((png[22] & 255) << 8 | (png[23] & 255), 2 * (168 + 4 * 174));
    free(png);
    logbook_close(open_sound(NULL));
}

static int count_photos(void)
{
    int n;

    logbook_close(open_sound(&n));
    return n;
}

/* What a file manager hands over is an address, not a path. */
static void a_dropped_address_becomes_a_photo(void **state)
{
    char path[128], here[800], script[1200];
    struct err e;
    int before;

    (void)state;
    write_sample();
    before = count_photos();
    assert_non_null(getcwd(here, sizeof here));
    text_format(path, sizeof path, "%s/drop.script", folder);
    text_format(script, sizeof script, "size 1280 720\nkey Enter\nwait\ndrop \"file://%s/tests/photos/p%%30%%31.jpg\"\nwait\n", here);
    assert_true(files_write(path, script, strlen(script), &e));
    plays(path);
    assert_int_equal(count_photos(), before + 1);
}

/* A folder of old photos: proposed, taken over with one key, taken back with one. */
static void a_folder_of_old_photos_is_taken_over(void **state)
{
    static const char words[] = "size 1280 720\nwait\ndrop %s/old\nwait\nexpect toast there\nexpect panel.old absent\nkey Enter\nwait\ndrop %s/old\nwait\nexpect old.words value \"3 photos of 2 visits (2 new), 2 onto their "
                                "plugs\"\nexpect old.visit.1 value \"11 May 2022 · a new visit · 2 photos, 1 onto plugs\"\ncontrast\nkey Ctrl+Enter\nwait\nexpect panel.old absent\nkey Ctrl+Z\nwait\nkey Ctrl+Y\n"
                                "wait\ndrop %s/old\nwait\nexpect old.words value \"~(0 new)\"\nkey Escape\nwait\nexpect panel.old absent\n";
    char path[160], script[1200], command[900];
    struct err e = {0};
    int n_photos;

    (void)state;
    write_sample();
    text_format(command, sizeof command, "cd '%s' && mkdir -p old/2022-05-11 && d=\"$OLDPWD/samples/photos\" && cp $d/six-1-end.jpg old/2022-05-11/zyl1.jpg && cp $d/six-2-end.jpg old/2022-05-11/IMG_1.jpg && "
                                         "cp $d/six-3-end.jpg 'old/2023-01-02 cyl 3.jpg'", folder);
    assert_int_equal(system(command), 0);
    text_format(script, sizeof script, words, folder, folder, folder);
    text_format(path, sizeof path, "%s/one.script", folder);
    assert_true(files_write(path, script, strlen(script), &e));
    plays(path);
    logbook_close(open_sound(&n_photos));
}

static void a_photo_is_offered_for_the_plug_in_hand(void **state)
{
    (void)state;
    write_sample();
    plays("tests/journeys/photo-in-hand.script");
}

static void photos_that_came_together_are_offered_from_the_first(void **state)
{
    static const char *const at[] = {"v8-extra-a.jpg", "", "v8-extra-c.jpg"}; /* of plugs 1, 2, 3; the second was left to wait */
    struct arena *a = arena_create();
    char engine[UUID_BYTES];
    struct logbook_visit *visits;
    struct logbook_photo *photos;
    struct err e = {0};
    struct logbook *lb;
    size_t n, n_visits;
    int n_placed = 0;

    (void)state;
    write_sample();
    plays("tests/journeys/photos-together.script");
    lb = open_sound(NULL);
    assert_true(logbook_find_engine(lb, "Gannet six", engine, &e) && logbook_list_visits(lb, engine, a, &visits, &n_visits, &e));
    assert_true(logbook_list_photos(lb, visits[0].id, a, &photos, &n, &e));
    assert_int_equal(n, 3);
    for (size_t i = 0; i < n; i++)
        for (int k = 0; k < 3; k++)
            if (photos[i].cylinder == k) {
                assert_string_equal(photos[i].name, at[k]);
                n_placed++;
            }
    assert_int_equal(n_placed, 2);
    arena_destroy(a);
    logbook_close(lb);
}

/* While it is asked where a photo of another day belongs, one of the day is offered for the plug in hand; in a low window too it
 * is said that it is one of several. */
static void a_photo_of_another_day_is_not_offered_first(void **state)
{
    struct arena *a = arena_create();
    char engine[UUID_BYTES], path[128], script[1400], command[300];
    struct logbook_visit *visits;
    struct logbook_photo *photos;
    struct err e = {0};
    struct logbook *lb;
    size_t n, n_visits;

    (void)state;
    write_sample();
    text_format(command, sizeof command, "cp samples/photos/flat-1-end.jpg '%s/lid.jpg'", folder);
    assert_int_equal(system(command), 0);
    text_format(path, sizeof path, "%s/days.script", folder);
    text_format(script, sizeof script,
                "size 1280 720\nwait\nkey n\nwait\ntype Gannet six\nclick new.shape.inline\nwait\nclick new.preset.i6\nclick new.add-open\nwait\nkey Escape\nwait\nkey F4\nwait\n"
                "drop %s/lid.jpg samples/photos/v8-extra-a.jpg\nwait\nexpect pulling.photo value \"is it this one, of 2?\"\nfits\ncontrast\nkey Ctrl+Enter\nwait\n",
                folder);
    assert_true(files_write(path, script, strlen(script), &e));
    plays(path);
    lb = open_sound(NULL);
    assert_true(logbook_find_engine(lb, "Gannet six", engine, &e) && logbook_list_visits(lb, engine, a, &visits, &n_visits, &e));
    assert_true(logbook_list_photos(lb, visits[0].id, a, &photos, &n, &e));
    assert_int_equal(n, 2);
    for (size_t i = 0; i < n; i++)
        assert_int_equal(photos[i].cylinder, strcmp(photos[i].name, "v8-extra-a.jpg") == 0 ? 0 : -1);
    arena_destroy(a);
    logbook_close(lb);
}

/* Photos that come when others have their places: none of them takes a place in a bore that is taken. */
static void photos_that_come_later_leave_the_bores_alone(void **state)
{
    static const char *const at[][2] = {{"v8-2-side.jpg", "2"}, {"v8-6-side.jpg", "6"}, {"v8-8-side.jpg", "8"}, {"v8-3-side.jpg", "3"}, {"v8-well-4.jpg", "4"}, {"v8-well-1.jpg", "1"}, {"v8-extra-c.jpg", ""}};
    struct arena *a = arena_create();
    char engine[UUID_BYTES];
    struct logbook_visit *visits;
    struct logbook_photo *photos;
    struct err e = {0};
    struct logbook *lb;
    struct record r;
    size_t n, n_visits;

    (void)state;
    write_sample();
    plays("tests/journeys/photos-later.script");
    lb = open_sound(NULL);
    assert_true(logbook_find_engine(lb, "Merrow 4.2 V8", engine, &e) && logbook_list_visits(lb, engine, a, &visits, &n_visits, &e));
    assert_true(logbook_list_photos(lb, visits[n_visits - 1].id, a, &photos, &n, &e) && logbook_load_record(lb, engine, visits[n_visits - 1].id, &r, &e));
    assert_int_equal(n, 19);
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k < sizeof at / sizeof at[0]; k++)
            if (strcmp(photos[i].name, at[k][0]) == 0) {
                assert_string_equal(photos[i].cylinder >= 0 ? r.engine.cylinders[photos[i].cylinder].label : "", at[k][1]);
                assert_int_equal(photos[i].zone, strstr(photos[i].name, "well") != NULL ? ZONE_WELL : -1);
            }
        if (strstr(photos[i].name, "-end") != NULL) {
            assert_int_equal(photos[i].zone, ZONE_FIRING_END);
            assert_ptr_equal(logbook_bore_photo(photos, n, photos[i].cylinder, 0), &photos[i]);
        }
    }
    record_release(&r);
    arena_destroy(a);
    logbook_close(lb);
}

/* A photo's zone is what somebody said of it: by a letter before the number or plug by plug, by the question that was answered. */
static void a_photo_placed_by_number_says_what_it_shows(void **state)
{
    static const struct {
        const char *name;
        int cylinder, zone;
    } rows[] = {{"v8-extra-a.jpg", 3, ZONE_WELL}, {"v8-extra-b.jpg", 1, -1}, {"v8-extra-c.jpg", 0, ZONE_COIL}, {"made-o1-le.jpg", 0, ZONE_FIRING_END}};
    struct arena *a = arena_create();
    struct logbook_engine *engines;
    struct logbook_photo *photos;
    struct logbook *lb;
    char path[128];
    struct err e = {0};
    size_t n, n_found = 0;

    (void)state;
    plays("tests/journeys/photo-shows.script");
    text_format(path, sizeof path, "%s/log", folder);
    lb = logbook_open(path, LOGBOOK_READ, &e);
    assert_non_null(lb);
    assert_true(logbook_list_engines(lb, a, &engines, &n, &e) && n == 1 && logbook_list_photos(lb, engines[0].last_visit, a, &photos, &n, &e));
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++)
            if (strcmp(photos[i].name, rows[k].name) == 0) {
                assert_int_equal(photos[i].cylinder, rows[k].cylinder);
                assert_int_equal(photos[i].zone, rows[k].zone);
                n_found++;
            }
    assert_int_equal(n_found, sizeof rows / sizeof rows[0]);
    arena_destroy(a);
    logbook_close(lb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_thread_the_card_does_not_name_is_asked_for, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_photo_has_its_own_thread_and_grey, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_gap_is_taken_from_a_dropped_photo, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_gap_is_taken_by_lines_nobody_drew, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(lines_offered_are_turned_down, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_gap_from_a_photo_stands_beside_the_gauges, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(three_scales_are_compared, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(marks_change_their_order, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(marks_are_drawn_by_pointer_and_by_keys, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(an_outline_is_drawn_or_clicked, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(the_magnified_gap_is_put_away, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(only_what_measures_goes_to_the_next_photo, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_ruler_of_the_photo_beside_reads_millimetres, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(marks_stay_within_their_photo, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_photo_is_zoomed_turned_and_compared, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(plugs_stand_side_by_side_and_visits_over_each_other, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_dropped_address_becomes_a_photo, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_photo_placed_by_number_says_what_it_shows, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_photo_is_offered_for_the_plug_in_hand, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_photo_of_another_day_is_not_offered_first, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(photos_that_came_together_are_offered_from_the_first, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(photos_that_come_later_leave_the_bores_alone, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_folder_of_old_photos_is_taken_over, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
