/* The sample logbook: whole, sound, and never written over anything. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/csv.h"
#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "cli/sample.h"
#include "logbook/logbook.h"
#include "photo/photo.h"

struct fixture {
    char root[64], folder[96];
    struct arena *arena;
};

static int set_up(void **state)
{
    struct fixture *f = mem_alloc(1, sizeof *f);

    text_copy(f->root, sizeof f->root, "/tmp/sootbook-sample-XXXXXX");
    if (mkdtemp(f->root) == NULL)
        return -1;
    text_format(f->folder, sizeof f->folder, "%s/book", f->root);
    f->arena = arena_create();
    *state = f;
    return 0;
}

static int tear_down(void **state)
{
    struct fixture *f = *state;
    char command[128];

    arena_destroy(f->arena);
    text_format(command, sizeof command, "rm -rf '%s'", f->root);
    if (system(command) != 0)
        return -1;
    free(f);
    return 0;
}

static struct logbook *write_and_open(const struct fixture *f)
{
    struct err e = {.code = ERR_NONE};
    struct logbook *lb;

    if (!sample_write(f->folder, &e))
        fail_msg("%s", e.text);
    lb = logbook_open(f->folder, LOGBOOK_READ, &e);
    if (lb == NULL)
        fail_msg("%s", e.text);
    return lb;
}

/* Everything the tables and places.csv promise is there, and the care taker finds nothing amiss. */
static void is_whole_and_sound(void **state)
{
    struct fixture *f = *state;
    struct logbook *lb = write_and_open(f);
    struct err e = {.code = ERR_NONE};
    struct logbook_report report;
    struct logbook_engine *engines;
    size_t n, n_photos = 0, n_unplaced = 0, n_noses = 0;

    assert_true(logbook_verify(lb, &report, &e));
    if (!report.sound)
        fail_msg("%s", report.text);
    assert_int_equal(report.n_missing, 0);
    assert_int_equal(report.n_stray, 0);
    assert_int_equal(report.n_photos, 29);
    assert_true(logbook_list_engines(lb, f->arena, &engines, &n, &e));
    assert_int_equal(n, 4);
    for (size_t i = 0; i < n; i++) {
        struct logbook_photo *photos;
        struct logbook_fact *facts;
        struct logbook_visit *visits;
        struct logbook_mark *marks;
        size_t n_here, n_facts, n_visits, n_marks;

        assert_true(logbook_list_facts(lb, engines[i].id, f->arena, &facts, &n_facts, &e));
        assert_true(n_facts > 0);
        if (strcmp(engines[i].name, "Merrow 4.2 V8") == 0) {
            assert_string_equal(engines[i].subtitle, "1998 saloon");
            assert_int_equal(engines[i].n_visits, 3);
            assert_string_equal(engines[i].last_date, "2026-06-14");
            assert_int_equal(engines[i].n_parts_ordered, 1);
            assert_int_equal(n_facts, 4);
        }
        if (strcmp(engines[i].name, "Kittiwake 45° twin") == 0) {
            assert_int_equal(engines[i].n_visits, 0);
            continue;
        }
        assert_true(logbook_list_visits(lb, engines[i].id, f->arena, &visits, &n_visits, &e));
        for (size_t v = 0; v < n_visits; v++) {
            assert_true(logbook_list_photos(lb, visits[v].id, f->arena, &photos, &n_here, &e));
            n_photos += n_here;
            assert_true(logbook_list_marks(lb, visits[v].id, f->arena, &marks, &n_marks, &e));
            n_noses += n_marks;
            for (size_t k = 0; k < n_marks; k++)
                assert_true(marks[k].kind == MARK_NOSE || marks[k].kind == MARK_PATCH);
            for (size_t k = 0; k < n_here; k++) {
                n_unplaced += photos[k].cylinder < 0;
                assert_true(photos[k].taken[0] != '\0');
            }
        }
    }
    assert_int_equal(n_photos, 29);
    assert_int_equal(n_unplaced, 3);
    assert_int_equal(n_noses, 36); /* areas and patches of marks.csv, but for the three that are not placed */
    logbook_close(lb);
}

/* What is read back of the V8's last visit is what its story says. */
static void reads_back_as_written(void **state)
{
    struct logbook *lb = write_and_open(*state);
    struct err e = {.code = ERR_NONE};
    char engine[UUID_BYTES], shown[64];
    struct record r;
    const struct visit *now;

    assert_true(logbook_find_engine(lb, "Merrow 4.2 V8", engine, &e));
    assert_true(logbook_load_record(lb, engine, NULL, &r, &e));
    assert_int_equal(r.n_visits, 3);
    now = record_current(&r);
    visit_format_removal(&r.engine, now, shown, sizeof shown);
    assert_string_equal(shown, "2 4 6 8 1 3 5 7");
    for (int i = 0; i < r.engine.n_cylinders; i++) {
        const struct reading *p = visit_reading_const(now, &r.engine, i, 0);
        const char *label = r.engine.cylinders[i].label;
        bool wet = strcmp(label, "2") == 0 || strcmp(label, "4") == 0 || strcmp(label, "6") == 0;

        assert_int_equal(p->amount[SIGN_WELL_OIL] > 0, wet);
        assert_int_equal(p->amount[SIGN_CONN_BARE] > 0, strcmp(label, "6") == 0);
        assert_int_equal(p->amount[SIGN_THREADS_OIL] > 0, wet || strcmp(label, "8") == 0);
        assert_int_equal(p->gap_mm.value > 1.30, strcmp(label, "3") == 0);
    }
    record_release(&r);
    logbook_close(lb);
}

static void leaves_what_is_there(void **state)
{
    struct fixture *f = *state;
    struct err e = {.code = ERR_NONE};
    char db[128], before[65], after[65], other[96], letter[128];

    logbook_close(write_and_open(f));
    text_format(db, sizeof db, "%s/logbook.db", f->folder);
    assert_true(files_sha256(db, before, &e));
    assert_false(sample_write(f->folder, &e));
    assert_non_null(strstr(e.text, "holds a logbook already"));
    assert_true(files_sha256(db, after, &e));
    assert_string_equal(before, after);

    text_format(other, sizeof other, "%s/other", f->root);
    text_format(letter, sizeof letter, "%s/letter.txt", other);
    assert_true(files_make_folder(other, &e));
    assert_true(files_write(letter, "dear", 4, &e));
    assert_false(sample_write(other, &e));
    assert_non_null(strstr(e.text, "not empty"));
    assert_true(files_exists(letter));
    assert_false(sample_write(letter, &e));
    assert_non_null(strstr(e.text, "is a file"));
}

/* A missing photo is named, and nothing half-written stays behind. */
static void fails_whole(void **state)
{
    struct fixture *f = *state;
    struct err e = {.code = ERR_NONE};
    struct files_list list;
    char photos[96], table[128], from[1024], places[1100];

    assert_true(sample_find_photos(from, sizeof from, &e));
    text_format(places, sizeof places, "%s/places.csv", from);
    text_format(photos, sizeof photos, "%s/photos", f->root);
    text_format(table, sizeof table, "%s/places.csv", photos);
    assert_true(files_make_folder(photos, &e));
    setenv("SOOTBOOK_SAMPLES", photos, 1);
    assert_false(sample_write(f->folder, &e));
    assert_non_null(strstr(e.text, photos));
    assert_true(files_copy(places, table, &e));
    assert_false(sample_write(f->folder, &e));
    assert_non_null(strstr(e.text, "v8-well-4.jpg"));
    unsetenv("SOOTBOOK_SAMPLES");
    assert_true(files_list_load(f->root, &list, &e));
    assert_int_equal(list.n_entries, 1); /* only photos/ */
    files_list_release(&list);
}

/* places.csv and the files agree on time, offset from UTC and size as displayed. */
static void places_agree_with_the_files(void **state)
{
    struct err e = {.code = ERR_NONE};
    char folder[1024], path[1300], *table, offset[16];
    size_t n_bytes;
    struct csv c;

    (void)state;
    assert_true(sample_find_photos(folder, sizeof folder, &e));
    text_format(path, sizeof path, "%s/places.csv", folder);
    assert_true(files_read(path, 1u << 20, &table, &n_bytes, &e));
    assert_true(csv_parse(table, n_bytes, ',', &c, &e));
    free(table);
    assert_int_equal(c.n_rows, 30);
    for (size_t i = 1; i < c.n_rows; i++) {
        struct photo_info info;
        long width, height;
        char *data;

        text_format(path, sizeof path, "%s/%s", folder, csv_cell(&c, i, csv_column(&c, "file")));
        assert_true(files_read(path, 8u << 20, &data, &n_bytes, &e));
        assert_true(photo_parse_info((const uint8_t *)data, n_bytes, &info, &e));
        free(data);
        assert_true(text_to_long(csv_cell(&c, i, csv_column(&c, "width")), &width));
        assert_true(text_to_long(csv_cell(&c, i, csv_column(&c, "height")), &height));
        assert_int_equal(info.width, width);
        assert_int_equal(info.height, height);
        assert_string_equal(info.taken, csv_cell(&c, i, csv_column(&c, "taken")));
        offset[0] = '\0';
        if (info.offset_given)
            text_format(offset, sizeof offset, "%d", info.offset_min);
        assert_string_equal(offset, csv_cell(&c, i, csv_column(&c, "offset_min")));
    }
    csv_release(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(is_whole_and_sound, set_up, tear_down),
        cmocka_unit_test_setup_teardown(reads_back_as_written, set_up, tear_down),
        cmocka_unit_test_setup_teardown(leaves_what_is_there, set_up, tear_down),
        cmocka_unit_test_setup_teardown(fails_whole, set_up, tear_down),
        cmocka_unit_test(places_agree_with_the_files),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
