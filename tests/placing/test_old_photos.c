/* Folders of old photos: what their names tell, and which visit each goes to. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "photo/pool.h"
#include "placing/old_photos.h"
#include "record/ready.h"
#include "../help/help.h"

static void dates_in_names(void **state)
{
    static const struct {
        const char *name, *iso;
    } rows[] = {{"2024-05-11 zyl3.jpg", "2024-05-11"}, {"IMG_20240511_101122.jpg", "2024-05-11"}, {"11.08.2023 service", "2023-08-11"}, {"plugs_2019_12_31_end.jpg", "2019-12-31"},
                {"IMG_4711.jpg", ""}, {"2024-13-11.jpg", ""}, {"31.02.2024.jpg", ""}, {"12024-05-11.jpg", ""}, {"2024-05-111.jpg", ""}, {"99999999.jpg", ""}, {"", ""}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char iso[11] = "";
        size_t at, n;
        bool found = old_photos_date(rows[i].name, iso, &at, &n);

        if (found != (rows[i].iso[0] != '\0') || (found && strcmp(iso, rows[i].iso) != 0))
            fail_msg("“%s” gave “%s”", rows[i].name, found ? iso : "");
    }
}

static void plugs_in_names(void **state)
{
    static const struct {
        const char *preset, *name, *label; /* "" none */
        int position, zone;
    } rows[] = {{"i4", "2024-05-11 zyl3.jpg", "3", 0, -1}, {"i4", "plug 4 side.jpg", "4", 0, ZONE_FIRING_END}, {"i4", "3 well.jpg", "3", 0, ZONE_WELL}, {"i4", "Cylinder_2.JPG", "2", 0, -1},
                {"i4", "2.jpg", "2", 0, -1}, {"i4", "IMG_4711.jpg", "", 0, 0}, {"i4", "zyl 7.jpg", "", 0, 0}, {"i4", "3 of us at the lake.jpg", "", 0, 0}, {"i4", "20240511_101122.jpg", "", 0, 0},
                {"v12-60-b", "A3.jpg", "A3", 0, -1}, {"v12-60-b", "plug b2 coil.jpg", "B2", 0, ZONE_COIL}, {"i12", "cyl12.jpg", "12", 0, -1}, {"i12", "cyl 1.jpg", "1", 0, -1},
                /* a word before the number, as they are named for a folder */
                {"i6", "six-3-end.jpg", "3", 0, ZONE_FIRING_END}, {"i6", "moth 2 well.jpg", "2", 0, ZONE_WELL}, {"v8-odd-left", "v8-coil-6.jpg", "6", 0, ZONE_COIL}, {"i4", "v8-coil-6.jpg", "", 0, 0},
                {"i4", "side 2.jpg", "", 0, 0}, {"i4", "the end 3.jpg", "", 0, 0}, {"i4", "IMG 2 of 3.jpg", "", 0, 0}, {"i4", "v8-extra-a.jpg", "", 0, 0}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct engine *en = &engine_find_preset(rows[i].preset)->engine;
        int cylinder = -1, position = 0, zone = -1;
        bool found = old_photos_plug(en, rows[i].name, &cylinder, &position, &zone);
        const char *label = found ? en->cylinders[cylinder].label : "";

        if (strcmp(label, rows[i].label) != 0 || (found && (position != rows[i].position || zone != rows[i].zone)))
            fail_msg("“%s” gave “%s”, %d, zone %d", rows[i].name, label, position, zone);
    }
}

static void of_two_plugs_the_name_says_which(void **state)
{
    struct engine en = engine_find_preset("f4-air")->engine;
    int cylinder, position, zone;

    (void)state;
    en.n_positions = 2;
    text_copy(en.position_names[0], sizeof en.position_names[0], "top");
    text_copy(en.position_names[1], sizeof en.position_names[1], "bottom");
    assert_true(old_photos_plug(&en, "3 bottom.jpg", &cylinder, &position, &zone));
    assert_int_equal(position, 1);
    assert_true(old_photos_plug(&en, "2020-01-02 cyl 2 top end.jpg", &cylinder, &position, &zone));
    assert_int_equal(position, 0);
    assert_int_equal(zone, ZONE_FIRING_END);
    assert_true(old_photos_plug(&en, "tarn 4 bottom end.jpg", &cylinder, &position, &zone));
    assert_int_equal(position, 1);
    assert_int_equal(zone, ZONE_FIRING_END);
    assert_false(old_photos_plug(&en, "3.jpg", &cylinder, &position, &zone));
    assert_false(old_photos_plug(&en, "tarn 4 end.jpg", &cylinder, &position, &zone));
}

static void put(const char *photo, const char *as)
{
    char path[300], dir[300], *slash;
    struct err e = {0};

    text_format(path, sizeof path, "%s/old/%s", folder, as);
    text_copy(dir, sizeof dir, path);
    slash = strrchr(dir, '/');
    *slash = '\0';
    if (!files_make_folder(dir, &e) || !(photo != NULL ? files_copy(photo, path, &e) : files_write(path, "no picture", 10, &e)))
        fail_msg("%s", e.text);
}

static void each_photo_goes_to_its_day(void **state)
{
    struct arena *a = arena_create();
    struct engine en = engine_find_preset("v8-odd-left")->engine;
    struct logbook *lb;
    struct old_photos p;
    struct err e = {0};
    char engine[UUID_BYTES], visit[UUID_BYTES], path[128], words[200];

    (void)state;
    text_copy(en.name, sizeof en.name, "Moth");
    uuid_make(engine);
    assert_true(logbook_create(folder, &e));
    lb = logbook_open(folder, LOGBOOK_WRITE, &e);
    assert_non_null(lb);
    assert_true(logbook_begin(lb, "Engine", &e) && logbook_put_engine(lb, engine, &en, &e) && logbook_add(lb, "visit", visit, &e) && logbook_set_text(lb, "visit", visit, "engine", engine, &e) &&
                logbook_set_text(lb, "visit", visit, "date", "2022-05-10", &e) && logbook_set_text(lb, "visit", visit, "last_day", "2022-05-12", &e) && logbook_commit(lb, &e));
    put("samples/photos/v8-1-end.jpg", "2022-05-11/zyl1.jpg");
    put("samples/photos/v8-2-end.jpg", "2022-05-11/IMG_4711.jpg");
    put("samples/photos/v8-3-end.jpg", "11.08.2023 service/plug 4 side.jpg");
    put("samples/photos/v8-4-end.jpg", "loose/cyl 3/a.jpg"); /* by the camera: 14 June 2026, as samples/photos/places.csv has it */
    put("tests/outside/exif/made-plain.heic", "loose/phone.heic"); /* 4 March 2014 in tests/outside/exif.csv */
    put(NULL, "loose/undated.png");
    put(NULL, "notes.txt");
    text_format(path, sizeof path, "%s/old", folder);
    if (!old_photos_find(lb, engine, &en, path, NULL, a, &p, &e))
        fail_msg("%s", e.text);
    assert_int_equal(p.n, 6);
    assert_int_equal(p.n_others, 1);
    assert_int_equal(p.n_undated, 1);
    assert_int_equal(p.n_visits, 4);
    assert_int_equal(p.n_new_visits, 3);
    assert_string_equal(p.visits[0].date, "2014-03-04");
    assert_string_equal(p.visits[1].id, visit); /* a visit of three days has it in its middle */
    assert_string_equal(p.visits[2].date, "2023-08-11");
    assert_string_equal(p.visits[3].date, "2026-06-14");
    for (size_t i = 0; i < p.n; i++) {
        const struct old_photo *x = &p.photos[i];

        if (strcmp(x->shown, "loose/cyl 3/a.jpg") == 0) {
            assert_int_equal(x->by, OLD_DATE_CAMERA);
            assert_string_equal(en.cylinders[x->cylinder].label, "3");
        }
        if (strcmp(x->shown, "2022-05-11/IMG_4711.jpg") == 0)
            assert_int_equal(x->cylinder, -1);
    }
    old_photos_words(&p, words, sizeof words);
    assert_string_equal(words, "5 photos of 4 visits (3 new), 3 onto their plugs; 1 without a date stays out");
    text_format(path, sizeof path, "%s/photos", folder); /* empty */
    assert_false(old_photos_find(lb, engine, &en, path, NULL, a, &p, &e));
    assert_non_null(strstr(e.text, "no photos"));
    arena_destroy(a);
    logbook_close(lb);
}

/* Firing ends of years ago: their plugs were out of their holes then, which says nothing of starting it today. The visit that
 * was there before, whoever works at it, is left as it is. */
static void visits_of_old_photos_are_history(void **state)
{
    struct arena *a = arena_create();
    struct engine en = engine_find_preset("i4")->engine;
    struct logbook *lb;
    struct old_photos p;
    struct record r;
    struct ready ready;
    struct err e = {0};
    char engine[UUID_BYTES], open[UUID_BYTES], path[128];
    int n_history = 0;

    (void)state;
    text_copy(en.name, sizeof en.name, "Moth");
    uuid_make(engine);
    assert_true(logbook_create(folder, &e));
    lb = logbook_open(folder, LOGBOOK_WRITE, &e);
    assert_non_null(lb);
    assert_true(logbook_begin(lb, "Engine", &e) && logbook_put_engine(lb, engine, &en, &e) && logbook_add(lb, "visit", open, &e) && logbook_set_text(lb, "visit", open, "engine", engine, &e) &&
                logbook_set_text(lb, "visit", open, "date", "2018-05-10", &e) && logbook_commit(lb, &e));
    put("samples/photos/v8-1-end.jpg", "2018-05-10/zyl1.jpg");
    put("samples/photos/v8-2-end.jpg", "2019-05-11/zyl2 end.jpg");
    put("samples/photos/v8-3-end.jpg", "2021-08-11/plug 3.jpg");
    text_format(path, sizeof path, "%s/old", folder);
    if (!old_photos_find(lb, engine, &en, path, NULL, a, &p, &e))
        fail_msg("%s", e.text);
    assert_int_equal(p.n, 3);
    assert_true(logbook_begin(lb, "Old photos", &e));
    for (size_t i = 0; i < p.n; i++) {
        struct photo_result result = {.ok = true, .info = {.width = 40, .height = 30}};
        bool taken;

        text_format(result.sha256, sizeof result.sha256, "%064zu", i + 1);
        if (!old_photos_record(lb, engine, &p, &p.photos[i], &result, (int64_t)i, &taken, &e) || !taken)
            fail_msg("%s", e.text);
    }
    assert_true(logbook_commit(lb, &e));
    assert_true(logbook_load_record(lb, engine, NULL, &r, &e));
    assert_int_equal(r.n_visits, 3);
    for (int i = 0; i < r.n_visits; i++)
        n_history += r.visits[i].state.closed == CLOSED_AS_HISTORY;
    assert_int_equal(n_history, 2);
    assert_int_equal(r.visits[0].state.closed, 0);
    ready_of(&r, &ready);
    for (int c = 1; c <= 2; c++)
        assert_int_equal(ready.why[c], READY_IN); /* of 2 and 3 nothing but those photos speaks */
    assert_int_equal(ready.why[0], READY_DRAWN);  /* the open visit's own */
    record_release(&r);
    arena_destroy(a);
    logbook_close(lb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(dates_in_names),
        cmocka_unit_test(plugs_in_names),
        cmocka_unit_test(of_two_plugs_the_name_says_which),
        cmocka_unit_test_setup_teardown(each_photo_goes_to_its_day, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(visits_of_old_photos_are_history, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
