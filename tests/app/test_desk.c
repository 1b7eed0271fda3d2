/* What the window tells, keeps and leads to, played in the built program. */
#include "journey.h"

#include <cjson/cJSON.h>
#include <string.h>
#include <time.h>

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

/* Where the logbook lies is told from the home folder on, as who works at the machine knows it. */
static void a_logbook_at_home_is_told_from_there(void **state)
{
    const char *home = getenv("HOME");
    char was[1024];

    (void)state;
    text_copy(was, sizeof was, home != NULL ? home : "");
    write_sample();
    assert_int_equal(setenv("HOME", folder, 1), 0);
    plays_text("size 1280 720\nwait\nexpect engines.folder name \"This logbook lies in your home folder: log\"\nfits\n");
    if (home != NULL)
        setenv("HOME", was, 1);
    else
        unsetenv("HOME");
}

/* A window that was opened second read only for as long as it lived, also when the first one was long gone. The script says by a
 * picture that it has seen it so; then the first is closed. */
static void the_second_window_writes_when_the_first_is_closed(void **state)
{
    char path[160], seen[160], lines[600], command[700], out[4000];
    struct err e = {0};
    struct logbook *first;
    FILE *f;
    size_t n;

    (void)state;
    write_sample();
    text_format(path, sizeof path, "%s/log", folder);
    first = logbook_open(path, LOGBOOK_WINDOW, &e);
    assert_non_null(first);
    text_format(seen, sizeof seen, "%s/seen.png", folder);
    text_format(lines, sizeof lines, "size 1280 720\nwait\nexpect engine.open there\nexpect engine.new absent\npicture %s\npause 4\nkey Down\nwait\nexpect toast name ~can be noted here now\nexpect engine.new there\n"
                                     "key Enter\nwait\nkey Ctrl+J\nwait\nkey t\nwait\nexpect job.step.0 there\n", seen);
    text_format(path, sizeof path, "%s/made.script", folder);
    assert_true(files_write(path, lines, strlen(lines), &e));
    text_format(command, sizeof command, "SDL_VIDEODRIVER=dummy SOOTBOOK_TODAY=2026-06-14 XDG_CONFIG_HOME=%s/config XDG_DATA_HOME=%s/data '%s' drive '%s/log' --script '%s' 2>&1", folder, folder, program_path(), folder, path);
    f = popen(command, "r");
    assert_non_null(f);
    for (int i = 0; i < 600 && !files_exists(seen); i++)
        nanosleep(&(struct timespec){0, 100000000}, NULL);
    logbook_close(first);
    n = fread(out, 1, sizeof out - 1, f);
    out[n] = '\0';
    if (pclose(f) != 0)
        fail_msg("%s", out);
    logbook_close(open_sound(NULL));
}

/* Figures pick a hole on Job as they pick a cylinder on Plan, and H puts its plug in by hand, or out again: a refit needs
 * neither the mouse nor a walk through causes, steps and parts. */
static void a_refit_goes_by_the_numbers_of_the_holes(void **state)
{
    (void)state;
    write_sample();
    plays_text("size 1280 720\nwait\nkey Enter\nwait\nkey Ctrl+J\nwait\nkey 5\nwait\nkey h\nwait\nexpect job.plug.2 value hand-tight\nkey h\nwait\nexpect job.plug.2 value out\n"
               "key 6\nwait\nkey h\nwait\nkey d\nwait\nexpect job.plug.6 value torqued\nexpect job.plug.2 value out\nexpect job.plug.6 seen yes\nfits\ncontrast\n"
               "key F2\nwait\nkey 3\nwait\nexpect job.hole.0 absent\n");
    logbook_close(open_sound(NULL));
}

/* A path as it was typed when the window was started tells nobody where the file lies. */
static void a_report_tells_its_whole_path(void **state)
{
    char lines[300], command[900], here[400];

    (void)state;
    write_sample();
    assert_non_null(realpath(program_path(), here));
    text_format(lines, sizeof lines, "wait\nkey Enter\nwait\nkey Ctrl+R\nwait\nkey 3\nwait\nexpect report.written value \"~Report written: %s/log/report-\"\n", folder);
    text_format(command, sizeof command, "cd '%s' && printf '%%s' '%s' > made.script && SDL_VIDEODRIVER=dummy SOOTBOOK_TODAY=2026-06-14 XDG_CONFIG_HOME=$PWD/config XDG_DATA_HOME=$PWD/data '%s' drive ./log --script made.script", folder, lines, here);
    assert_int_equal(system(command), 0);
}

/* Of the widget's x, y, width and height one, as it was in the outline that the script wrote. */
static int bound_in(const char *outline, const char *id, int which)
{
    char path[128], *json;
    size_t n;
    struct err e = {0};
    cJSON *all;
    const cJSON *w;
    int bound = -1;

    text_format(path, sizeof path, "%s/%s.json", folder, outline);
    assert_true(files_read(path, 1 << 24, &json, &n, &e));
    all = cJSON_Parse(json);
    assert_non_null(all);
    cJSON_ArrayForEach(w, all)
        if (strcmp(cJSON_GetStringValue(cJSON_GetObjectItem(w, "id")), id) == 0)
            bound = (int)cJSON_GetArrayItem(cJSON_GetObjectItem(w, "bounds"), which)->valuedouble;
    cJSON_Delete(all);
    free(json);
    if (bound < 0)
        fail_msg("%s is not in %s", id, outline);
    return bound;
}

static int top_in(const char *outline, const char *id)
{
    return bound_in(outline, id, 1);
}

/* Two banks stood further apart than the mark between them needs, while the bores were small. */
static void bores_of_two_banks_use_the_height(void **state)
{
    char lines[400];

    (void)state;
    write_sample();
    text_format(lines, sizeof lines, "size 1280 720\nkey Enter\nwait\noutline %s/v8.json\n", folder);
    plays_text(lines);
    assert_in_range(bound_in("v8", "plan.cylinder.1", 2), 112, 140); /* 107 before */
    assert_true(top_in("v8", "plan.cylinder.1") >= top_in("v8", "plan.cylinder.2") + bound_in("v8", "plan.cylinder.2", 3) + 24); /* the front's mark lies between */
}

/* The bar with the reasons not to start came with the first plug, and everything moved down under the hand; on Job the
 * rows jumped when its words grew shorter, and at the last plug torqued. */
static void nothing_moves_under_the_hand(void **state)
{
    static const char *const pulling[] = {"pulling.dry", "pulling.oil", "pulling.deposit", "pulling.next"};
    char lines[2000];

    (void)state;
    text_format(lines, sizeof lines,
                "size 1280 720\nclick new.name\ntype Teal 2.0 four\nclick new.preset.i4\nclick new.add-open\nwait\nkey Escape\nwait\nkey F4\nwait\noutline %s/before.json\n"
                "key n\nkey y\nwait\nexpect bar.do-not-start there\noutline %s/after.json\nkey Ctrl+J\nwait\nclick job.do-not-start\nwait\noutline %s/job-before.json\n"
                "key Ctrl+T\nwait\nkey d\nwait\nexpect job.do-not-start absent\nexpect ready.none-left there\noutline %s/job-after.json\n",
                folder, folder, folder, folder);
    plays_text(lines);
    for (size_t i = 0; i < sizeof pulling / sizeof pulling[0]; i++)
        assert_int_equal(top_in("before", pulling[i]), top_in("after", pulling[i]));
    assert_int_equal(top_in("job-before", "job.cause.0"), top_in("job-after", "job.cause.0"));
    assert_int_equal(top_in("job-before", "job.steps"), top_in("job-after", "job.steps"));
}

/* On Job a ticked step lost its cautions, was chosen in place of another and brought in the bar: a second click hit another row.
 * By key the next open step is the one chosen. */
static void ticking_steps_moves_no_row(void **state)
{
    static const char *const rows[] = {"job.step.0", "job.step.1", "job.step.2", "job.step.3"};
    static const struct {
        const char *before, *after;
    } pairs[] = {{"chosen", "other"}, {"bar", "pulled"}, {"bar", "unticked"}};
    char lines[2600];

    (void)state;
    text_format(lines, sizeof lines,
                "size 1280 720\nclick new.name\ntype Teal 2.0 four\nclick new.preset.i4\nclick new.add-open\nwait\nkey Escape\nwait\nkey Ctrl+J\nwait\nkey t\nwait\n"
                "click job.step.0\nwait\noutline %s/chosen.json\nclick job.tick.1\nwait\nexpect job.step.1 value done\noutline %s/other.json\n"
                "click job.refit.1.torqued\nwait\nexpect job.do-not-start absent\noutline %s/hole.json\nclick job.refit.1.out\nwait\nexpect job.do-not-start there\noutline %s/bar.json\n"
                "click job.tick.2\nwait\nexpect job.step.2 value done\noutline %s/pulled.json\nclick job.tick.1\nwait\nexpect job.step.1 value todo\noutline %s/unticked.json\n"
                /* left and opened anew, each is as tall as its words */
                "key F2\nwait\nkey Ctrl+J\nwait\noutline %s/anew.json\n",
                folder, folder, folder, folder, folder, folder, folder);
    plays_text(lines);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        for (size_t k = 0; k < sizeof pairs / sizeof pairs[0]; k++)
            if (top_in(pairs[k].before, rows[i]) != top_in(pairs[k].after, rows[i]))
                fail_msg("%s stood at %d, and at %d with “%s”", rows[i], top_in(pairs[k].before, rows[i]), top_in(pairs[k].after, rows[i]), pairs[k].after);
    assert_int_equal(top_in("hole", "job.refit.3.out"), top_in("bar", "job.refit.3.out")); /* the list the pointer is in */
    assert_true(bound_in("anew", "job.step.2", 3) < bound_in("unticked", "job.step.2", 3));
}

/* What was wrong with a new engine in two lines stood hard on the button below it. */
static void what_is_wrong_stands_clear_of_the_ways_on(void **state)
{
    char lines[800];

    (void)state;
    text_format(lines, sizeof lines,
                "size 1280 720\nclick new.name\ntype Teal 2.0 four\nclick new.preset.i4\nwheel new.preset.i4 -30\nclick new.gap-min\ntype 0.8\nkey Tab\ntype 0.7\nkey Tab\nwait\n"
                "expect new.message value ~The gap range runs\noutline %s/form.json\nfits\n",
                folder);
    plays_text(lines);
    assert_true(bound_in("form", "new.message", 3) >= 36); /* both lines */
    assert_true(top_in("form", "new.message") + bound_in("form", "new.message", 3) + 6 <= top_in("form", "new.add-open"));
}

/* In each later outline the widgets stand as high as in the first. */
static void expect_unmoved(const char *first, const char *const ids[], size_t n_ids, const char *const later[], size_t n_later)
{
    for (size_t i = 0; i < n_ids; i++)
        for (size_t k = 0; k < n_later; k++)
            if (top_in(first, ids[i]) != top_in(later[k], ids[i]))
                fail_msg("%s stood at %d, and at %d (%s)", ids[i], top_in(first, ids[i]), top_in(later[k], ids[i]), later[k]);
}

/* The panel of pressures was centred anew when a figure was refused, and when the air was turned to, whose caution is longer: all
 * rows jumped. */
static void a_refused_pressure_moves_no_row_above(void **state)
{
    static const char *const stay[] = {"panel.measures", "panel.close", "measure.dry.1", "measure.dry.3", "measure.leak.2"};
    static const char *const later[] = {"wrong", "air"};
    char lines[800];

    (void)state;
    text_format(lines, sizeof lines,
                "size 1280 720\nclick new.name\ntype Teal 2.0 four\nclick new.preset.i4\nclick new.add-open\nwait\nkey Escape\nwait\nkey Shift+M\nwait\nclick measure.dry.3\nwait\noutline %s/before.json\n"
                "type 9000\nkey Tab\nwait\nexpect measure.dry.3.refused there\noutline %s/wrong.json\nclick measure.leak.1\nwait\nexpect measure.caution.leakdown there\noutline %s/air.json\n",
                folder, folder, folder);
    plays_text(lines);
    expect_unmoved("before", stay, sizeof stay / sizeof stay[0], later, sizeof later / sizeof later[0]);
}

/* To which plug a photo belongs stood below what was looked for in it, and moved when that ended: a tap on a number met nothing,
 * or "No, I draw them myself"; once placed, it went to the foot of the column from under the hand. */
static void the_plug_of_a_photo_keeps_its_place(void **state)
{
    static const char *const chips[] = {"photo.plug.1", "photo.plug.2", "photo.zone.well"};
    static const char *const later[] = {"found", "placed"};
    char lines[800];

    (void)state;
    write_sample();
    text_format(lines, sizeof lines,
                "size 1280 720\noffers off\nkey Enter\nwait\ndrop tests/photos/p10.jpg\nwait\nkey F3\nwait\noutline %s/looked-for.json\noffers on\nwait\nexpect bench.offer there\nexpect bench.offer-no seen yes\noutline %s/found.json\n"
                "click photo.plug.2\nwait\nexpect photo.plug.2 value on\noutline %s/placed.json\n",
                folder, folder, folder);
    plays_text(lines);
    expect_unmoved("looked-for", chips, sizeof chips / sizeof chips[0], later, sizeof later / sizeof later[0]);
}

/* A cylinder that is tapped among those of a test grew by the result's words, and the next tap hit another one. */
static void a_test_is_tapped_cylinder_by_cylinder(void **state)
{
    static const char *const chips[] = {"visit.test.cut-out.2", "visit.test.cut-out.3", "visit.test.cut-out.4", "visit.test.damp.1"};
    char lines[1200];

    (void)state;
    text_format(lines, sizeof lines,
                "size 1440 900\nclick new.name\ntype Teal 2.0 four\nclick new.preset.i4\nclick new.add-open\nwait\nkey Escape\nwait\nkey F5\nwait\nkey PageDown\nwait\n"
                "outline %s/test-before.json\nclick visit.test.cut-out.1\nwait\nexpect visit.test.cut-out.1 name \"1 no change\"\noutline %s/test-after.json\n",
                folder, folder);
    plays_text(lines);
    for (size_t i = 0; i < sizeof chips / sizeof chips[0]; i++)
        for (int k = 0; k < 2; k++)
            assert_int_equal(bound_in("test-before", chips[i], k), bound_in("test-after", chips[i], k));
}

/* On Plan too, where the first sign, here one that asks for turning by hand, brought the bar in above the plug's card. */
static void the_first_sign_moves_nothing_on_the_plan(void **state)
{
    static const char *const stay[] = {"plan.cylinder.1", "card.picture", "sign.oil-wet"};
    char lines[800];

    (void)state;
    text_format(lines, sizeof lines,
                "size 1280 720\nclick new.name\ntype Teal 2.0 four\nclick new.preset.i4\nclick new.add-open\nwait\nkey Escape\nwait\nexpect ready.to-come there\noutline %s/plan-before.json\n"
                "key o\nwait\nexpect bar.do-not-start there\noutline %s/plan-after.json\n",
                folder, folder);
    plays_text(lines);
    for (size_t i = 0; i < sizeof stay / sizeof stay[0]; i++)
        assert_int_equal(top_in("plan-before", stay[i]), top_in("plan-after", stay[i]));
}

static void photos_of_another_day_are_asked_about(void **state)
{
    int n_photos = 0;

    (void)state;
    plays("tests/journeys/photo-days.script");
    logbook_close(open_sound(&n_photos));
    assert_int_equal(n_photos, 7);
}

static void the_tray_leads_to_the_order(void **state)
{
    (void)state;
    plays("tests/journeys/order-by-tray.script");
}

static void particulars_go_by_letters(void **state)
{
    (void)state;
    plays("tests/journeys/particulars-by-key.script");
}

static void a_box_is_taken_by_its_inside(void **state)
{
    (void)state;
    plays("tests/journeys/bench-hands.script");
}

static void the_last_plug_does_not_lead_out_of_the_engine(void **state)
{
    (void)state;
    plays("tests/journeys/last-plug.script");
}

static void a_gap_is_marked_at_its_own_plug(void **state)
{
    (void)state;
    plays("tests/journeys/two-plug-gaps.script");
}

static void what_is_asked_goes_along_with_a_plug(void **state)
{
    (void)state;
    plays("tests/journeys/plug-swapped.script");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_second_visit_is_told_what_to_look_at, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_copy_is_made_and_merged_back, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(the_first_sign_moves_nothing_on_the_plan, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(nothing_moves_under_the_hand, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(ticking_steps_moves_no_row, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_is_wrong_stands_clear_of_the_ways_on, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_refused_pressure_moves_no_row_above, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(the_plug_of_a_photo_keeps_its_place, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_logbook_at_home_is_told_from_there, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(the_second_window_writes_when_the_first_is_closed, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_test_is_tapped_cylinder_by_cylinder, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(photos_of_another_day_are_asked_about, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(the_tray_leads_to_the_order, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(particulars_go_by_letters, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_box_is_taken_by_its_inside, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(the_last_plug_does_not_lead_out_of_the_engine, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_gap_is_marked_at_its_own_plug, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_is_asked_goes_along_with_a_plug, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_report_tells_its_whole_path, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_refit_goes_by_the_numbers_of_the_holes, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(bores_of_two_banks_use_the_height, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
