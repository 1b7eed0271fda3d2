/* Keeping what was noted: through renumbering, against harm done beside the program, through random
 * edits, undos and restarts, through a stop in the middle, and on a full disk. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/cache.h"
#include "logbook/logbook.h"
#include "../help/help.h"

static struct logbook *again(void)
{
    struct err e = {0};
    struct logbook *lb = logbook_open(folder, LOGBOOK_WRITE, &e);

    if (lb == NULL)
        fail_msg("%s", e.text);
    return lb;
}

static struct logbook *fresh(void)
{
    struct err e = {0};

    if (!logbook_create(folder, &e))
        fail_msg("%s", e.text);
    return again();
}

static struct engine v8(const char *banks, const char *firing)
{
    struct engine en;
    struct err e = {0};

    engine_init(&en);
    en.layout = ENGINE_V;
    text_copy(en.name, sizeof en.name, "Merrow 4.2 V8");
    if (!engine_parse_banks(&en, banks, &e) || !engine_parse_firing(&en, firing, &e) || !engine_finish(&en, &e))
        fail_msg("%s", e.text);
    return en;
}

#define IN_ROW "1 2 3 4 / 5 6 7 8", "1 5 4 2 6 3 7 8"
#define ODD_EVEN "1 3 5 7 / 2 4 6 8", "1 8 4 3 6 5 7 2"
#define LETTERED "A1 A2 A3 A4 / B1 B2 B3 B4", "A1 B1 A4 A2 B2 A3 B3 B4"

static void commit(struct logbook *lb)
{
    struct err e = {0};

    if (!logbook_commit(lb, &e))
        fail_msg("%s", e.text);
}

/* An engine, a visit, and on cylinder 5: a gap with its unit and note, oil in the well and no water there, a photo. */
static void note_five(struct logbook *lb, const struct engine *en, char engine_id[UUID_BYTES], char visit_id[UUID_BYTES])
{
    struct visit *v = mem_alloc(1, sizeof *v);
    struct logbook_photo p = {.width = 4, .height = 3, .zone = -1};
    int five = engine_find_cylinder(en, "5");
    char reading[UUID_BYTES];
    struct err e = {0};

    uuid_make(engine_id);
    uuid_make(visit_id);
    visit_init(v, en);
    text_copy(v->date, sizeof v->date, "2026-06-14");
    assert_true(visit_parse_removal(en, v, "5 1 2 3", &e));
    v->tests[v->n_tests++] = (struct visit_test){1, five, 1};
    assert_true(visit_parse_done(en, "replaced:coil:cylinder 5", &v->done[v->n_done++], &e));
    text_copy(p.visit, sizeof p.visit, visit_id);
    memset(p.sha256, 'a', 64);
    logbook_photo_id(visit_id, p.sha256, p.id);
    p.cylinder = five;
    assert_true(logbook_begin(lb, "All of it", &e));
    assert_true(logbook_put_engine(lb, engine_id, en, &e) && logbook_put_visit(lb, visit_id, engine_id, en, v, &e));
    assert_true(logbook_put_gap(lb, visit_id, five, 0, false, 1234, "in", &e));
    assert_true(logbook_note_sign(lb, visit_id, five, 0, SIGN_WELL_OIL, 3, &e));
    assert_true(logbook_note_sign(lb, visit_id, five, 0, SIGN_WELL_WATER, 0, &e));
    assert_true(logbook_touch_reading(lb, visit_id, five, 0, reading, &e));
    assert_true(logbook_set_text(lb, "reading", reading, "note", "washer missing", &e));
    assert_true(logbook_put_photo(lb, &p, &e));
    commit(lb);
    free(v);
}

static bool renumber(struct logbook *lb, const char *engine_id, const struct engine *en, struct err *e)
{
    return logbook_begin(lb, "Engine changed", e) && (logbook_put_engine(lb, engine_id, en, e), logbook_commit(lb, e));
}

/* Everything of note_five() stands on the cylinder called `label` and on no other. */
static void expect_on(struct logbook *lb, const char *engine_id, const char *visit_id, const char *label)
{
    struct arena *a = arena_create();
    struct logbook_photo *photos;
    struct record r;
    struct err e = {0};
    char reading[UUID_BYTES], text[64], order[200];
    size_t n;
    int at;

    if (!logbook_load_record(lb, engine_id, NULL, &r, &e))
        fail_msg("%s", e.text);
    at = engine_find_cylinder(&r.engine, label);
    assert_true(at >= 0);
    for (int c = 0; c < r.engine.n_cylinders; c++) {
        const struct reading *q = &r.visits[0].readings[c];

        assert_int_equal(q->present, c == at);
        assert_int_equal(q->gap_mm.given, c == at);
        assert_int_equal(q->amount[SIGN_WELL_OIL], c == at ? 3 : AMOUNT_UNSEEN);
        assert_int_equal(q->amount[SIGN_WELL_WATER], c == at ? 0 : AMOUNT_UNSEEN);
        assert_int_equal(q->amount[SIGN_WELL_FUEL], AMOUNT_UNSEEN);
    }
    assert_true(logbook_find_reading(lb, visit_id, at, 0, reading, &e));
    assert_true(logbook_get_text(lb, "reading", reading, "note", text, sizeof text));
    assert_string_equal(text, "washer missing");
    assert_true(logbook_get_text(lb, "reading", reading, "gap_unit", text, sizeof text));
    assert_string_equal(text, "in");
    assert_int_equal(r.visits[0].n_tests, 1);
    assert_int_equal(r.visits[0].tests[0].cylinder, at);
    assert_int_equal(r.visits[0].n_done, 1);
    assert_int_equal(r.visits[0].done[0].cylinders, (engine_set)1 << at);
    visit_format_removal(&r.engine, &r.visits[0], order, sizeof order);
    assert_true(text_starts(order, label));
    assert_int_equal(r.visits[0].n_removal, 4);
    assert_true(logbook_list_photos(lb, visit_id, a, &photos, &n, &e));
    assert_int_equal(n, 1);
    assert_int_equal(photos[0].cylinder, at);
    record_release(&r);
    arena_destroy(a);
}

static void what_was_noted_follows_its_label(void **state)
{
    struct logbook *lb = fresh();
    struct engine row = v8(IN_ROW), odd = v8(ODD_EVEN), lettered = v8(LETTERED);
    char engine_id[UUID_BYTES], visit_id[UUID_BYTES];
    struct logbook_report report;
    struct err e = {0};

    (void)state;
    note_five(lb, &row, engine_id, visit_id);
    expect_on(lb, engine_id, visit_id, "5");
    if (!renumber(lb, engine_id, &odd, &e)) /* 5 moves from the front of bank 2 into bank 1 */
        fail_msg("%s", e.text);
    expect_on(lb, engine_id, visit_id, "5");
    assert_true(logbook_undo(lb, &e));
    expect_on(lb, engine_id, visit_id, "5");
    if (!renumber(lb, engine_id, &lettered, &e)) /* no label is left: the place decides */
        fail_msg("%s", e.text);
    expect_on(lb, engine_id, visit_id, "B1");
    if (!renumber(lb, engine_id, &row, &e))
        fail_msg("%s", e.text);
    expect_on(lb, engine_id, visit_id, "5");
    assert_true(logbook_verify(lb, &report, &e));
    assert_string_equal(report.text, "The photo  is missing.\n"); /* the picture was only named */
    logbook_close(lb);
}

/* Two plugs a cylinder: the notes follow the position's name, too; what stays behind is blank. */
static void positions_follow_their_name(void **state)
{
    struct logbook *lb = fresh();
    struct engine en = v8(IN_ROW), turned;
    struct visit *v = mem_alloc(1, sizeof *v);
    char engine_id[UUID_BYTES], visit_id[UUID_BYTES], reading[UUID_BYTES], order[64];
    struct record r;
    struct logbook_report report;
    struct err e = {0};

    (void)state;
    en.n_positions = 2;
    assert_true(engine_finish(&en, &e));
    turned = en;
    text_copy(turned.position_names[0], sizeof turned.position_names[0], "bottom");
    text_copy(turned.position_names[1], sizeof turned.position_names[1], "top");
    uuid_make(engine_id);
    uuid_make(visit_id);
    visit_init(v, &en);
    assert_true(visit_parse_removal(&en, v, "3 top, 3 bottom", &e));
    assert_true(logbook_begin(lb, "All", &e) && logbook_put_engine(lb, engine_id, &en, &e) && logbook_put_visit(lb, visit_id, engine_id, &en, v, &e));
    assert_true(logbook_put_gap(lb, visit_id, 2, 0, false, 1111, "mm", &e));
    commit(lb);
    if (!renumber(lb, engine_id, &turned, &e))
        fail_msg("%s", e.text);
    assert_true(logbook_load_record(lb, engine_id, NULL, &r, &e));
    assert_true(visit_reading(&r.visits[0], &r.engine, 2, 1)->gap_mm.given); /* "top" */
    assert_false(visit_reading(&r.visits[0], &r.engine, 2, 0)->present);
    visit_format_removal(&r.engine, &r.visits[0], order, sizeof order);
    assert_string_equal(order, "3 top, 3 bottom");
    record_release(&r);
    assert_true(logbook_begin(lb, "Touched", &e) && logbook_touch_reading(lb, visit_id, 2, 0, reading, &e));
    commit(lb);
    assert_true(logbook_load_record(lb, engine_id, NULL, &r, &e));
    assert_false(visit_reading(&r.visits[0], &r.engine, 2, 0)->gap_mm.given); /* not what once stood there */
    record_release(&r);
    turned.n_positions = 1;
    assert_false(renumber(lb, engine_id, &turned, &e));
    assert_non_null(strstr(e.text, "Plug 3 top would vanish"));
    assert_true(logbook_undo(lb, &e) && logbook_undo(lb, &e));
    assert_true(logbook_load_record(lb, engine_id, NULL, &r, &e));
    assert_true(visit_reading(&r.visits[0], &r.engine, 2, 0)->gap_mm.given);
    assert_false(visit_reading(&r.visits[0], &r.engine, 2, 1)->present);
    record_release(&r);
    assert_true(logbook_verify(lb, &report, &e));
    assert_string_equal(report.text, "");
    free(v);
    logbook_close(lb);
}

static void two_positions_of_one_name_are_refused(void **state)
{
    struct logbook *lb = fresh();
    struct engine en = v8(IN_ROW);
    char engine_id[UUID_BYTES];
    struct err e = {0};

    (void)state;
    en.n_positions = 2;
    text_copy(en.position_names[0], sizeof en.position_names[0], "top");
    text_copy(en.position_names[1], sizeof en.position_names[1], "top");
    uuid_make(engine_id);
    assert_false(renumber(lb, engine_id, &en, &e));
    assert_string_equal(e.text, "Two plugs of a cylinder are called “top”. Give each a name of its own.");
    logbook_close(lb);
}

static void no_cylinder_vanishes_with_its_notes(void **state)
{
    struct logbook *lb = fresh();
    struct engine row = v8(IN_ROW), small = v8("1 2 / 6 7", "1 6 2 7"), six = v8("1 2 3 / 6 7 5", "1 6 2 7 3 5");
    char engine_id[UUID_BYTES], visit_id[UUID_BYTES];
    struct err e = {0};

    (void)state;
    note_five(lb, &row, engine_id, visit_id);
    assert_false(renumber(lb, engine_id, &small, &e));
    assert_string_equal(e.text, "Plug 5 would vanish, and there are readings of it. Take that out first, or write a new engine.");
    expect_on(lb, engine_id, visit_id, "5"); /* nothing was changed */
    e = (struct err){0};
    if (logbook_begin(lb, "Photo off", &e)) {
        char photo[UUID_BYTES], sha[65] = "";

        memset(sha, 'a', 64);
        logbook_photo_id(visit_id, sha, photo);
        assert_true(logbook_set_int(lb, "photo", photo, "cylinder", engine_find_cylinder(&row, "4"), &e));
        commit(lb);
    }
    assert_false(renumber(lb, engine_id, &six, &e)); /* 4 and 8 go; the photo is on 4 */
    assert_non_null(strstr(e.text, "Plug 4 would vanish, and there are photos of it."));
    logbook_close(lb);
}

static void done_lines_can_be_taken_back(void **state)
{
    struct logbook *lb = fresh();
    struct engine row = v8(IN_ROW);
    char engine_id[UUID_BYTES], visit_id[UUID_BYTES];
    struct record r;
    struct err e = {0};

    (void)state;
    note_five(lb, &row, engine_id, visit_id);
    assert_true(logbook_load_record(lb, engine_id, NULL, &r, &e));
    r.visits[0].n_done = 0;
    assert_true(logbook_begin(lb, "Taken back", &e));
    assert_true(logbook_put_visit(lb, visit_id, engine_id, &r.engine, &r.visits[0], &e));
    commit(lb);
    record_release(&r);
    assert_true(logbook_load_record(lb, engine_id, NULL, &r, &e));
    assert_int_equal(r.visits[0].n_done, 0);
    record_release(&r);
    assert_true(logbook_undo(lb, &e));
    assert_true(logbook_load_record(lb, engine_id, NULL, &r, &e));
    assert_int_equal(r.visits[0].n_done, 1);
    record_release(&r);
    logbook_close(lb);
}

/* ---- random edits against a model of them ---- */

#define N_ROWS 5
#define N_STEPS 1200

static void random_edits_undo_as_they_should(void **state)
{
    unsigned seed = 20260614;
    static int64_t past[N_STEPS + 2][N_ROWS];
    int64_t now[N_ROWS] = {0};
    int top = 0, high = 0;
    char id[N_ROWS][UUID_BYTES];
    struct logbook_report report;
    struct err e = {0};
    struct logbook *lb = fresh();

    (void)state;
    print_message("seed %u\n", seed);
    assert_true(logbook_begin(lb, "Start", &e));
    for (int i = 0; i < N_ROWS; i++)
        assert_true(logbook_add(lb, "need", id[i], &e) && logbook_set_int(lb, "need", id[i], "quantity", 0, &e));
    commit(lb);
    for (int step = 0; step < N_STEPS; step++) {
        int what = rand_r(&seed) % 10;

        if (what < 5) {
            bool differs = false;

            assert_true(logbook_begin(lb, "Edit", &e));
            for (int k = rand_r(&seed) % 3; k >= 0; k--) {
                int i = rand_r(&seed) % N_ROWS;
                int64_t v = rand_r(&seed) % 4;

                differs = differs || v != now[i]; /* there and back again is a step, the same value is none */
                now[i] = v;
                assert_true(logbook_set_int(lb, "need", id[i], "quantity", v, &e));
            }
            commit(lb);
            if (differs)
                memcpy(past[high = ++top], now, sizeof now);
        } else if (what < 8 && top > 0) {
            assert_true(logbook_undo(lb, &e));
            memcpy(now, past[--top], sizeof now);
        } else if (what == 8) {
            assert_int_equal(logbook_redo(lb, &e), high > top);
            if (high > top)
                memcpy(now, past[++top], sizeof now);
        } else if (what == 9 && step % 4 == 0) {
            logbook_close(lb);
            lb = again();
        }
        for (int i = 0; i < N_ROWS; i++) {
            int64_t v = -1;

            assert_true(logbook_get_int(lb, "need", id[i], "quantity", &v));
            if (v != now[i])
                fail_msg("seed 20260614, step %d, row %d: %ld instead of %ld", step, i, (long)v, (long)now[i]);
        }
    }
    while (logbook_undo_label(lb)[0] != '\0')
        assert_true(logbook_undo(lb, &e));
    for (int i = 0; i < N_ROWS; i++)
        assert_false(logbook_is_there(lb, "need", id[i]));
    assert_true(logbook_verify(lb, &report, &e));
    assert_string_equal(report.text, "");
    logbook_close(lb);
}

/* ---- stops, full disks, damage ---- */

/* No file may grow beyond: the nearest thing to a full disk that needs no rights. */
static struct rlimit limit_files(rlim_t n_bytes)
{
    struct rlimit before, small;

    signal(SIGXFSZ, SIG_IGN);
    getrlimit(RLIMIT_FSIZE, &before);
    small = before;
    small.rlim_cur = n_bytes;
    setrlimit(RLIMIT_FSIZE, &small);
    return before;
}

static void a_full_disk_refuses_photos_copies_and_logbooks(void **state)
{
    char engine_id[UUID_BYTES], visit_id[UUID_BYTES], path[128], copy[128], other[128], *picture = mem_alloc(1, 90000);
    struct engine row = v8(IN_ROW);
    struct logbook_photo photo = {.cylinder = -1};
    struct logbook_report report;
    struct files_list kept = {0};
    struct rlimit before;
    struct err e = {0};
    struct logbook *lb = fresh();

    (void)state;
    note_five(lb, &row, engine_id, visit_id);
    text_format(path, sizeof path, "%s/picture.jpg", folder);
    text_format(copy, sizeof copy, "%s/copy.db", folder);
    text_format(other, sizeof other, "%s/other", folder);
    assert_true(files_write(path, picture, 90000, &e));
    before = limit_files(60000);
    assert_false(logbook_keep_original(folder, path, &photo, &e));
    assert_int_equal(e.code, ERR_IO);
    assert_true(strlen(e.text) > 20);
    assert_false(logbook_backup(lb, copy, &e));
    assert_non_null(strstr(e.text, "cannot be written"));
    assert_false(logbook_create(other, &e));
    assert_int_equal(e.code, ERR_IO);
    setrlimit(RLIMIT_FSIZE, &before);
    assert_false(files_exists(copy));
    text_format(path, sizeof path, "%s/photos", folder);
    assert_true(files_list_load(path, &kept, &e));
    assert_int_equal(kept.n_entries, 0); /* no half picture under a whole one's name */
    files_list_release(&kept);
    assert_true(logbook_verify(lb, &report, &e));
    assert_string_equal(report.text, "The photo  is missing.\n");
    expect_on(lb, engine_id, visit_id, "5");
    if (!logbook_create(other, &e)) /* with room again, it goes */
        fail_msg("%s", e.text);
    logbook_close(lb);
    free(picture);
}

static void a_full_disk_keeps_what_was_acknowledged(void **state)
{
    char engine_id[UUID_BYTES], visit_id[UUID_BYTES], value[1901];
    struct engine row = v8(IN_ROW);
    struct rlimit before;
    struct arena *a = arena_create();
    struct logbook_fact *facts;
    struct err e = {0};
    struct logbook *lb = fresh();
    size_t n = 0, n_kept;

    (void)state;
    note_five(lb, &row, engine_id, visit_id);
    memset(value, 'x', sizeof value - 1);
    value[sizeof value - 1] = '\0';
    before = limit_files(900000);
    while (n < 5000) {
        char id[UUID_BYTES];
        bool fine = logbook_begin(lb, "Fact", &e);

        fine = fine && logbook_add(lb, "fact", id, &e) && logbook_set_text(lb, "fact", id, "engine", engine_id, &e) &&
               logbook_set_text(lb, "fact", id, "value", value, &e);
        if (logbook_in_change(lb))
            fine = logbook_commit(lb, &e) && fine;
        if (!fine)
            break;
        n++;
    }
    setrlimit(RLIMIT_FSIZE, &before);
    assert_true(n > 0 && n < 5000);
    assert_int_equal(e.code, ERR_IO);
    assert_non_null(strstr(e.text, "what was noted before is kept"));
    logbook_close(lb);
    lb = again();
    assert_true(logbook_list_facts(lb, engine_id, a, &facts, &n_kept, &e));
    assert_int_equal(n_kept, n);
    expect_on(lb, engine_id, visit_id, "5");
    arena_destroy(a);
    logbook_close(lb);
}

static void a_stop_while_it_is_made_leaves_no_half_logbook(void **state)
{
    char command[128];

    (void)state;
    for (int i = 0; i < 40; i++) {
        struct logbook *lb;
        struct err e = {0};
        pid_t child = fork();

        if (child == 0) {
            logbook_create(folder, NULL);
            _exit(0);
        }
        usleep((useconds_t)(i * 400));
        kill(child, SIGKILL);
        waitpid(child, NULL, 0);
        lb = logbook_open(folder, LOGBOOK_WRITE, &e);
        if (lb == NULL) {
            if (!logbook_create(folder, &e))
                fail_msg("stopped after %d us: %s", i * 400, e.text);
            lb = again();
        }
        logbook_close(lb);
        text_format(command, sizeof command, "rm -rf '%s'", folder);
        assert_int_equal(system(command), 0);
    }
}

static void a_cache_damaged_inside_starts_afresh(void **state)
{
    enum { N_BYTES = 20000, N = 40 };
    unsigned char *picture = mem_alloc(N_BYTES, 1), *jpeg;
    struct cache *c = cache_open(folder);
    char path[128], name[65];
    size_t n;
    FILE *f;
    int n_kept = 0;

    (void)state;
    for (int i = 0; i < N; i++) {
        text_format(name, sizeof name, "%064d", i);
        cache_put(c, name, CACHE_THUMB, 1, picture, N_BYTES);
    }
    cache_close(c);
    text_format(path, sizeof path, "%s/cache.db", folder);
    f = fopen(path, "r+b");
    assert_non_null(f);
    for (long at = 4096; at < 400000; at += 4096) { /* the header page stays whole: opening goes well */
        fseek(f, at, SEEK_SET);
        fwrite("rubbish rubbish rubbish rubbish ", 1, 32, f);
    }
    fclose(f);
    c = cache_open(folder);
    for (int i = 100; i < 110; i++) {
        text_format(name, sizeof name, "%064d", i);
        cache_put(c, name, CACHE_THUMB, 1, picture, N_BYTES);
        if (cache_get(c, name, CACHE_THUMB, 1, &jpeg, &n)) {
            n_kept++;
            free(jpeg);
        }
    }
    assert_int_equal(n_kept, 10);
    cache_close(c);
    c = cache_open(folder); /* and they are on the disk, not in memory */
    assert_true(cache_get(c, name, CACHE_THUMB, 1, &jpeg, &n));
    free(jpeg);
    cache_close(c);
    free(picture);
}

/* The window holds a visit in memory while a command writes beside it. */
static void a_stale_copy_writes_only_what_it_changed(void **state)
{
    struct logbook *lb = fresh();
    struct engine row = v8(IN_ROW);
    char engine_id[UUID_BYTES], visit_id[UUID_BYTES];
    struct record window, command;
    struct visit *now = mem_alloc(1, sizeof *now);
    struct err e = {0};

    (void)state;
    note_five(lb, &row, engine_id, visit_id);
    assert_true(logbook_load_record(lb, engine_id, NULL, &window, &e) && logbook_load_record(lb, engine_id, NULL, &command, &e));
    text_copy(command.visits[0].notes, sizeof command.visits[0].notes, "coil pack looks new");
    assert_true(visit_parse_done(&row, "replaced:plug:all", &command.visits[0].done[1], &e));
    command.visits[0].n_done = 2;
    assert_true(logbook_begin(lb, "Command", &e) && logbook_put_visit(lb, visit_id, engine_id, &row, &command.visits[0], &e));
    commit(lb);
    *now = window.visits[0];
    text_copy(now->date, sizeof now->date, "2026-06-15");
    now->n_done = 0;
    assert_true(logbook_begin(lb, "Window", &e) && logbook_change_visit(lb, visit_id, &row, &window.visits[0], now, &e));
    commit(lb);
    record_release(&command);
    assert_true(logbook_load_record(lb, engine_id, NULL, &command, &e));
    assert_string_equal(command.visits[0].date, "2026-06-15");
    assert_string_equal(command.visits[0].notes, "coil pack looks new");
    assert_int_equal(command.visits[0].n_done, 1); /* the window took back its own line only */
    assert_true(command.visits[0].done[0].all);
    assert_true(logbook_begin(lb, "Taken out", &e) && logbook_remove(lb, "visit", visit_id, &e));
    commit(lb);
    assert_true(logbook_begin(lb, "Window", &e));
    assert_false(logbook_change_visit(lb, visit_id, &row, &window.visits[0], now, &e));
    assert_false(logbook_commit(lb, &e));
    assert_string_equal(e.text, "This visit was taken out meanwhile; nothing was changed.");
    free(now);
    record_release(&command);
    record_release(&window);
    logbook_close(lb);
}

static void a_reading_does_not_rename_its_plug(void **state)
{
    struct logbook *lb = fresh();
    struct engine row = v8(IN_ROW);
    char engine_id[UUID_BYTES], visit_id[UUID_BYTES], other_engine[UUID_BYTES], other_visit[UUID_BYTES], name[64], plug[UUID_BYTES];
    struct reading r;
    struct err e = {0};

    (void)state;
    note_five(lb, &row, engine_id, visit_id);
    note_five(lb, &row, other_engine, other_visit);
    reading_init(&r, 0, 0);
    uuid_make(r.plug_id);
    text_copy(r.plug_name, sizeof r.plug_name, "D1");
    assert_true(logbook_begin(lb, "First", &e) && logbook_put_reading(lb, visit_id, &r, &e));
    text_copy(r.plug_name, sizeof r.plug_name, "another");
    assert_true(logbook_put_reading(lb, visit_id, &r, &e) && logbook_put_reading(lb, other_visit, &r, &e));
    commit(lb);
    assert_true(logbook_get_text(lb, "part", r.plug_id, "name", name, sizeof name));
    assert_string_equal(name, "D1");
    assert_true(logbook_get_text(lb, "part", r.plug_id, "engine", plug, sizeof plug));
    assert_string_equal(plug, engine_id); /* the other engine has a plug of its own */
    logbook_reading_id(other_visit, 0, 0, plug);
    assert_true(logbook_get_text(lb, "reading", plug, "plug", name, sizeof name));
    assert_string_not_equal(name, r.plug_id);
    logbook_close(lb);
}

/* Harm is done with SQLite itself, beside the program. */
static void verify_finds_what_was_done_beside_the_log(void **state)
{
    static const char *const harm[] = {"UPDATE reading SET gap_um = 7",
                                       "UPDATE reading SET gap_um = NULL",
                                       "UPDATE reading SET nose_L = 71.5",
                                       "DELETE FROM observation",
                                       "UPDATE reading SET gone = 1",
                                       "PRAGMA foreign_keys = OFF; DELETE FROM visit",
                                       "DELETE FROM edit WHERE col = 'note'",
                                       "INSERT INTO fact (id, gone, label) VALUES ('x', 0, 'sump')"};
    char path[128], copy[140], engine_id[UUID_BYTES], visit_id[UUID_BYTES];
    struct engine row = v8(IN_ROW);
    struct logbook_report report;
    struct err e = {0};
    struct logbook *lb = fresh();

    (void)state;
    note_five(lb, &row, engine_id, visit_id);
    assert_true(logbook_begin(lb, "No photo", &e)); /* so that nothing but the harm is told */
    {
        char photo[UUID_BYTES], sha[65] = "";

        memset(sha, 'a', 64);
        logbook_photo_id(visit_id, sha, photo);
        assert_true(logbook_remove(lb, "photo", photo, &e));
    }
    commit(lb);
    assert_true(logbook_verify(lb, &report, &e));
    assert_true(report.sound);
    logbook_close(lb);
    text_format(path, sizeof path, "%s/logbook.db", folder);
    text_format(copy, sizeof copy, "%s/whole.db", folder);
    assert_true(files_copy(path, copy, &e));
    for (size_t i = 0; i < sizeof harm / sizeof harm[0]; i++) {
        sqlite3 *db;

        assert_true(files_copy(copy, path, &e));
        assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
        if (sqlite3_exec(db, harm[i], NULL, NULL, NULL) != SQLITE_OK)
            fail_msg("%s: %s", harm[i], sqlite3_errmsg(db));
        sqlite3_close(db);
        lb = logbook_open(folder, LOGBOOK_READ, &e);
        assert_non_null(lb);
        assert_true(logbook_verify(lb, &report, &e));
        if (report.sound)
            fail_msg("not found: %s", harm[i]);
        logbook_close(lb);
    }
}

/* ---- no permission ---- */

/* In a child, as a user who may not write (root drops to another one): 0, or the line that failed. */
static int without_permission(void)
{
    struct logbook_report report;
    struct err e = {0};
    struct logbook *lb;
    char other[128], copy[128], engine[UUID_BYTES];

    if (geteuid() == 0 && (setgid(65534) != 0 || setuid(65534) != 0))
        return __LINE__;
    lb = logbook_open(folder, LOGBOOK_READ, &e);
    if (lb == NULL || !logbook_find_engine(lb, "", engine, &e) || !logbook_verify(lb, &report, &e) || strcmp(report.text, "The photo  is missing.\n") != 0)
        return __LINE__;
    text_format(copy, sizeof copy, "%s/copy.db", folder);
    if (logbook_backup(lb, copy, &e) || strstr(e.text, "cannot be written") == NULL)
        return __LINE__;
    if (logbook_begin(lb, "Edit", &e) || strstr(e.text, "Nothing was changed.") == NULL)
        return __LINE__;
    logbook_close(lb);
    if (logbook_open(folder, LOGBOOK_WRITE, &e) != NULL || e.code != ERR_READONLY || strstr(e.text, "no permission") == NULL)
        return __LINE__;
    lb = logbook_open(folder, LOGBOOK_WINDOW, &e);
    if (lb == NULL || logbook_can_write(lb) || strcmp(logbook_why_read_only(lb), "Reading only: no permission to write the logbook.") != 0)
        return __LINE__;
    logbook_close(lb);
    text_format(other, sizeof other, "%s/other", folder);
    if (logbook_create(other, &e) || strstr(e.text, "ermission") == NULL)
        return __LINE__;
    return 0;
}

static void a_folder_one_may_not_write_is_read_and_said(void **state)
{
    char engine_id[UUID_BYTES], visit_id[UUID_BYTES], path[128];
    struct engine row = v8(IN_ROW);
    struct logbook *lb = fresh();
    pid_t child;
    int status;

    (void)state;
    note_five(lb, &row, engine_id, visit_id);
    logbook_close(lb);
    text_format(path, sizeof path, "%s/logbook.db", folder);
    assert_int_equal(chmod(path, 0444), 0);
    assert_int_equal(chmod(folder, 0555), 0);
    child = fork();
    if (child == 0) {
        int line = without_permission();

        if (line != 0)
            fprintf(stderr, "tests/logbook/test_keeping.c:%d\n", line);
        _exit(line != 0);
    }
    waitpid(child, &status, 0);
    chmod(folder, 0755);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    assert_int_equal(chmod(path, 0644), 0);
    lb = again();
    expect_on(lb, engine_id, visit_id, "5");
    logbook_close(lb);
}

static void the_latest_visit_is_the_same_everywhere(void **state)
{
    struct engine row = v8(IN_ROW);
    struct visit *v = mem_alloc(1, sizeof *v);
    char engine_id[UUID_BYTES], visit_id[UUID_BYTES], undated[UUID_BYTES], found[UUID_BYTES];
    struct arena *a = arena_create();
    struct logbook_engine *engines;
    struct logbook *lb = fresh();
    struct err e = {0};
    size_t n;

    (void)state;
    note_five(lb, &row, engine_id, visit_id);
    uuid_make(undated);
    visit_init(v, &row);
    assert_true(logbook_begin(lb, "No date", &e));
    assert_true(logbook_put_visit(lb, undated, engine_id, &row, v, &e));
    commit(lb);
    assert_true(logbook_find_visit(lb, engine_id, "", found, &e));
    assert_true(logbook_list_engines(lb, a, &engines, &n, &e));
    assert_string_equal(found, undated);
    assert_string_equal(engines[0].last_visit, undated);
    free(v);
    arena_destroy(a);
    logbook_close(lb);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, make_folder, drop_folder)
    const struct CMUnitTest tests[] = {
        TEST(what_was_noted_follows_its_label),
        TEST(positions_follow_their_name),
        TEST(two_positions_of_one_name_are_refused),
        TEST(no_cylinder_vanishes_with_its_notes),
        TEST(done_lines_can_be_taken_back),
        TEST(random_edits_undo_as_they_should),
        TEST(a_full_disk_refuses_photos_copies_and_logbooks),
        TEST(a_full_disk_keeps_what_was_acknowledged),
        TEST(a_stop_while_it_is_made_leaves_no_half_logbook),
        TEST(a_folder_one_may_not_write_is_read_and_said),
        TEST(a_cache_damaged_inside_starts_afresh),
        TEST(a_stale_copy_writes_only_what_it_changed),
        TEST(a_reading_does_not_rename_its_plug),
        TEST(verify_finds_what_was_done_beside_the_log),
        TEST(the_latest_visit_is_the_same_everywhere),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
