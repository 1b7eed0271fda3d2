/* Two copies of a logbook that went apart: merged either way round they are one logbook, nothing is lost, what
 * contradicts is kept and shown, and a merge that is killed leaves what was there. */
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
#include <sys/wait.h>
#include <unistd.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "base/units.h"
#include "logbook/logbook.h"
#include "record/ready.h"
#include "../help/help.h"

#define N_VISITS 3

static char engine[UUID_BYTES], visits[N_VISITS][UUID_BYTES];

static const char *at(const char *name)
{
    static char paths[4][200];
    static int i;

    i = (i + 1) % 4;
    text_format(paths[i], sizeof paths[i], "%s/%s", folder, name);
    return paths[i];
}

static struct logbook *open_it(const char *name)
{
    struct err e = {0};
    struct logbook *lb = logbook_open(at(name), LOGBOOK_WRITE, &e);

    if (lb == NULL)
        fail_msg("%s", e.text);
    return lb;
}

/* A straight four with three visits, gaps on all plugs. */
static void make_base(const char *name)
{
    struct record r;
    struct err e = {0};
    struct logbook *lb;
    struct arena *a = arena_create();
    struct logbook_visit *list;
    size_t n;

    record_init(&r);
    r.engine = engine_find_preset("i4")->engine;
    text_copy(r.engine.name, sizeof r.engine.name, "Moth");
    for (int i = 0; i < N_VISITS; i++) {
        struct visit *v = record_add_visit(&r);

        text_format(v->date, sizeof v->date, "2024-0%d-05", i + 1);
        for (int c = 0; c < 4; c++) {
            visit_reading(v, &r.engine, c, 0)->gap_mm = MAYBE(1.0 + 0.01 * c);
            reading_note(visit_reading(v, &r.engine, c, 0), SIGN_WELL_OIL, 2);
        }
    }
    if (!logbook_create(at(name), &e))
        fail_msg("%s", e.text);
    lb = open_it(name);
    assert_true(logbook_begin(lb, "Import", &e) && logbook_import_record(lb, &r, engine, &e) && logbook_commit(lb, &e) && logbook_keep_last(lb, &e));
    assert_true(logbook_list_visits(lb, engine, a, &list, &n, &e) && n == N_VISITS);
    for (int i = 0; i < N_VISITS; i++)
        text_copy(visits[i], UUID_BYTES, list[i].id);
    arena_destroy(a);
    record_release(&r);
    logbook_close(lb);
}

static void copy_it(const char *from, const char *to)
{
    char command[600];

    text_format(command, sizeof command, "cp -r '%s' '%s'", at(from), at(to));
    assert_int_equal(system(command), 0);
}

/* Everything of a logbook that does not belong to one copy alone. */
static char *dump(const char *name)
{
    struct text t = {0};
    char path[260];
    size_t n;
    const struct logbook_column *c = logbook_columns(&n);
    sqlite3 *db;
    sqlite3_stmt *q;

    text_format(path, sizeof path, "%s/logbook.db", at(name));
    assert_int_equal(sqlite3_open_v2(path, &db, SQLITE_OPEN_READWRITE, NULL), SQLITE_OK);
    for (size_t i = 0; i < n + 2; i++) {
        char sql[300];

        if (i < n)
            text_format(sql, sizeof sql, "SELECT id, quote(%s) FROM %s ORDER BY id", c[i].column, c[i].table);
        else if (i == n)
            text_copy(sql, sizeof sql, "SELECT c.id || c.device || c.counter || c.clock || c.seen || c.at_ms || c.kind || ifnull(c.reverses, '') || c.label,"
                                       " e.tbl || e.row || e.col || quote(e.old) || quote(e.new) FROM change c JOIN edit e ON e.change = c.seq ORDER BY c.id, e.seq");
        else
            text_copy(sql, sizeof sql, "SELECT tbl || row, col FROM conflict ORDER BY 1, 2");
        if (sqlite3_prepare_v2(db, sql, -1, &q, NULL) != SQLITE_OK)
            fail_msg("%s: %s", sql, sqlite3_errmsg(db));
        while (sqlite3_step(q) == SQLITE_ROW)
            text_addf(&t, "%s %s\n", (const char *)sqlite3_column_text(q, 0), (const char *)sqlite3_column_text(q, 1));
        sqlite3_finalize(q);
    }
    sqlite3_close(db);
    char *s = mem_copy_text(text_get(&t));

    text_release(&t);
    return s;
}

static void expect_sound(const char *name)
{
    struct logbook *lb = open_it(name);
    struct logbook_report report;
    struct err e = {0};

    assert_true(logbook_verify(lb, &report, &e));
    if (!report.sound)
        fail_msg("%s: %s", name, report.text);
    logbook_close(lb);
}

static struct logbook_merged merge(const char *to, const char *from)
{
    struct logbook *lb = open_it(to);
    struct logbook_merged m;
    struct err e = {0};

    if (!logbook_merge(lb, at(from), NULL, &m, &e))
        fail_msg("%s", e.text);
    logbook_close(lb);
    return m;
}

static void expect_same(const char *a, const char *b, unsigned seed)
{
    char *x = dump(a), *y = dump(b);

    if (strcmp(x, y) != 0) {
        size_t i = 0;

        while (x[i] == y[i])
            i++;
        fail_msg("seed %u: “%.160s” is not “%.160s”", seed, x + (i > 80 ? i - 80 : 0), y + (i > 80 ? i - 80 : 0));
    }
    free(x);
    free(y);
}

/* ---- what a person does ---- */

static void set_gap(struct logbook *lb, int visit, int cylinder, int um)
{
    struct err e = {0};

    if (!logbook_begin(lb, "Gap", &e) || !logbook_put_gap(lb, visits[visit], cylinder, 0, false, um, "mm", &e) || !logbook_commit(lb, &e))
        fail_msg("%s", e.text);
}

/* Two copies of one logbook, "a" and "b", in each of which a gap of the first visit was changed. */
static void make_two(int cylinder_a, int um_a, int cylinder_b, int um_b)
{
    struct logbook *lb;

    make_base("a");
    copy_it("a", "b");
    lb = open_it("a");
    set_gap(lb, 0, cylinder_a, um_a);
    logbook_close(lb);
    lb = open_it("b");
    set_gap(lb, 0, cylinder_b, um_b);
    logbook_close(lb);
}

static int gap(struct logbook *lb, int visit, int cylinder)
{
    char row[UUID_BYTES];
    int64_t um = -1;

    logbook_reading_id(visits[visit], cylinder, 0, row);
    return logbook_get_int(lb, "reading", row, "gap_um", &um) ? (int)um : -1;
}

static void do_something(struct logbook *lb)
{
    struct err e = {0};
    char id[UUID_BYTES], words[40];
    int visit = rand() % N_VISITS, cylinder = rand() % 4;
    bool fine = true;

    static const enum sign said[] = {SIGN_WELL_OIL, SIGN_NORMAL, SIGN_OIL_WET};

    switch (rand() % 9) {
    case 0:
    case 1: set_gap(lb, visit, cylinder, rand() % 20 == 0 ? -1 : 900 + 10 * (rand() % 6)); break;
    case 2:
        fine = logbook_begin(lb, "Sign", &e) && logbook_note_sign(lb, visits[visit], cylinder, 0, said[rand() % 3], rand() % 4, &e) && logbook_commit(lb, &e);
        break;
    case 3:
        text_format(words, sizeof words, "note %d", rand() % 5);
        fine = logbook_begin(lb, "Notes", &e) && logbook_set_text(lb, "visit", visits[visit], "notes", words, &e) && logbook_commit(lb, &e);
        break;
    case 4:
        fine = logbook_begin(lb, "Fact", &e) && logbook_add(lb, "fact", id, &e) && logbook_set_text(lb, "fact", id, "engine", engine, &e) &&
               logbook_set_text(lb, "fact", id, "label", "sump", &e) && logbook_commit(lb, &e);
        break;
    case 5:
        fine = logbook_begin(lb, "Out", &e) && logbook_set_int(lb, "visit", visits[visit], "gone", rand() % 2, &e) && logbook_commit(lb, &e);
        break;
    case 6:
    case 7:
        if (logbook_undo_label(lb)[0] != '\0')
            fine = logbook_undo(lb, &e) || strstr(e.text, "another value stands") != NULL;
        break;
    default:
        if (logbook_redo_label(lb)[0] != '\0')
            fine = logbook_redo(lb, &e) || strstr(e.text, "another value stands") != NULL;
        break;
    }
    if (!fine)
        fail_msg("%s", e.text);
}

static void do_much(const char *name, int n)
{
    struct logbook *lb = open_it(name);

    for (int i = 0; i < n; i++)
        do_something(lb);
    logbook_close(lb);
}

/* Whether this value is one of those the conflict of a gap keeps. */
static bool is_kept(struct logbook *lb, int visit, int cylinder, int um)
{
    struct arena *a = arena_create();
    struct logbook_conflict *list;
    struct err e = {0};
    char row[UUID_BYTES], words[40], number[32];
    size_t n;
    bool found = false;

    logbook_reading_id(visits[visit], cylinder, 0, row);
    text_from_double(number, sizeof number, um / 1000.0, 2);
    text_format(words, sizeof words, um < 0 ? "nothing%.0s" : "%s mm", number);
    assert_true(logbook_list_conflicts(lb, a, &list, &n, &e));
    for (size_t i = 0; i < n; i++)
        for (int k = 0; k < list[i].n && strcmp(list[i].row, row) == 0 && strcmp(list[i].column, "gap_um") == 0; k++)
            found = found || strcmp(list[i].values[k], words) == 0 || list[i].n == LOGBOOK_MOST_VALUES;
    arena_destroy(a);
    return found;
}

static void read_gaps(const char *name, int out[N_VISITS][4])
{
    struct logbook *lb = open_it(name);

    for (int v = 0; v < N_VISITS; v++)
        for (int c = 0; c < 4; c++)
            out[v][c] = gap(lb, v, c);
    logbook_close(lb);
}

/* ---- tests ---- */

static void whichever_way_round_it_is_one_logbook(void **state)
{
    (void)state;
    for (unsigned seed = 1; seed <= 12; seed++) {
        int base[N_VISITS][4], a[N_VISITS][4], b[N_VISITS][4];
        struct logbook_merged m;
        struct logbook *lb;
        char command[200], *before, *after;

        srand(seed);
        make_base("a");
        read_gaps("a", base);
        copy_it("a", "b");
        do_much("a", 4 + rand() % 14);
        do_much("b", 4 + rand() % 14);
        read_gaps("a", a);
        read_gaps("b", b);
        copy_it("a", "a2");
        copy_it("b", "b2");
        m = merge("a", "b");
        merge("b2", "a2");
        expect_same("a", "b2", seed);
        expect_sound("a");
        expect_sound("b2");
        before = dump("a"); /* again, and from the other side: nothing */
        m = merge("a", "b");
        assert_int_equal(m.n_changes, 0);
        m = merge("a", "b2");
        assert_int_equal(m.n_changes, 0);
        after = dump("a");
        assert_string_equal(before, after);
        free(before);
        free(after);
        lb = open_it("a"); /* what either of them noted stands, or is kept beside what stands */
        for (int v = 0; v < N_VISITS; v++)
            for (int c = 0; c < 4; c++) {
                int now = gap(lb, v, c);

                if (a[v][c] != base[v][c] && now != a[v][c] && !is_kept(lb, v, c, a[v][c]))
                    fail_msg("seed %u: visit %d, plug %d: %d of a is lost, %d stands", seed, v, c, a[v][c], now);
                if (b[v][c] != base[v][c] && now != b[v][c] && !is_kept(lb, v, c, b[v][c]))
                    fail_msg("seed %u: visit %d, plug %d: %d of b is lost, %d stands", seed, v, c, b[v][c], now);
                if (now != a[v][c] && now != b[v][c])
                    fail_msg("seed %u: visit %d, plug %d: %d was in neither", seed, v, c, now);
            }
        logbook_close(lb);
        do_much("a", 6); /* both go on, and meet again */
        do_much("b2", 6);
        copy_it("a", "a3");
        copy_it("b2", "b3");
        merge("a", "b2");
        merge("b3", "a3");
        expect_same("a", "b3", seed);
        expect_sound("a");
        text_format(command, sizeof command, "rm -r '%s'/*", folder);
        assert_int_equal(system(command), 0);
    }
}

static void three_copies_meet_in_any_order(void **state)
{
    (void)state;
    srand(77);
    make_base("a");
    copy_it("a", "b");
    copy_it("a", "c");
    do_much("a", 12);
    do_much("b", 12);
    do_much("c", 12);
    copy_it("a", "x");
    copy_it("b", "y");
    copy_it("c", "z");
    merge("a", "b");
    merge("a", "c");
    merge("z", "y");
    merge("x", "z");
    expect_same("a", "x", 77);
    expect_sound("x");
}

static void what_contradicts_is_kept_until_one_is_chosen(void **state)
{
    struct logbook *lb;
    struct arena *arena = arena_create();
    struct logbook_conflict *list;
    struct err e = {0};
    size_t n;

    (void)state;
    make_base("a");
    copy_it("a", "b");
    lb = open_it("a");
    set_gap(lb, 0, 2, 1100);
    set_gap(lb, 1, 1, 1200); /* both alike */
    set_gap(lb, 2, 0, 1300); /* only here */
    logbook_close(lb);
    lb = open_it("b");
    set_gap(lb, 0, 2, 1150);
    set_gap(lb, 1, 1, 1200);
    logbook_close(lb);
    assert_int_equal(merge("a", "b").n_conflicts, 1);
    lb = open_it("a");
    assert_int_equal(gap(lb, 2, 0), 1300);
    assert_true(logbook_list_conflicts(lb, arena, &list, &n, &e));
    assert_int_equal(n, 1);
    assert_string_equal(list[0].what, "gap as found of 3");
    assert_string_equal(list[0].engine_name, "Moth");
    assert_string_equal(list[0].date, "2024-01-05");
    assert_string_equal(list[0].visit, visits[0]);
    assert_int_equal(list[0].n, 2);
    assert_true(is_kept(lb, 0, 2, 1100) && is_kept(lb, 0, 2, 1150));
    /* the value that stands is chosen, which writes no other value: undone it is open again, redone chosen */
    assert_true(logbook_settle(lb, &list[0], 0, &e));
    assert_int_equal(logbook_count_conflicts(lb), 0);
    assert_true(logbook_undo(lb, &e));
    assert_int_equal(logbook_count_conflicts(lb), 1);
    assert_true(logbook_redo(lb, &e));
    assert_int_equal(logbook_count_conflicts(lb), 0);
    assert_true(logbook_undo(lb, &e));
    { /* told in the units that are set: 1.10 / 25.4 = 0.0433, 1.15 / 25.4 = 0.0453 */
        const struct unit_choice inches = {.inches = true}, mm = {0};

        logbook_tell_in(lb, &inches);
        assert_true(logbook_list_conflicts(lb, arena, &list, &n, &e));
        assert_string_equal(list[0].values[strcmp(list[0].values[0], "0.043 in") == 0 ? 1 : 0], "0.045 in");
        logbook_tell_in(lb, &mm);
        assert_true(logbook_list_conflicts(lb, arena, &list, &n, &e));
    }
    /* the other one */
    n = strcmp(list[0].values[0], "1.10 mm") == 0 ? 1150 : 1100;
    assert_true(logbook_settle(lb, &list[0], 1, &e));
    assert_int_equal(gap(lb, 0, 2), n);
    assert_int_equal(logbook_count_conflicts(lb), 0);
    logbook_close(lb);
    /* the choice goes along */
    assert_int_equal(merge("b", "a").n_conflicts, 0);
    lb = open_it("b");
    assert_int_equal(gap(lb, 0, 2), n);
    logbook_close(lb);
    expect_same("a", "b", 0);
    arena_destroy(arena);
}

static void note_end(const char *name, int cylinder, enum sign s, int amount)
{
    struct logbook *lb = open_it(name);
    struct err e = {0};

    assert_true(logbook_begin(lb, "Firing end", &e) && logbook_note_sign(lb, visits[0], cylinder, 0, s, amount, &e) && logbook_commit(lb, &e));
    logbook_close(lb);
}

static int amount_of(struct logbook *lb, int cylinder, enum sign s)
{
    struct record r;
    struct err e = {0};
    int amount;

    assert_true(logbook_load_record(lb, engine, visits[0], &r, &e));
    amount = visit_reading_const(record_current(&r), &r.engine, cylinder, 0)->amount[s];
    record_release(&r);
    return amount;
}

/* One copy noted normal wear, the other an oil-wet nose at the same plug: a difference to choose from, whichever way round it is
 * merged. What may lie on a sound plug too, and what one copy noted knowing of the other, is none. */
static void a_firing_end_said_to_be_sound_and_at_fault_is_a_difference(void **state)
{
    struct arena *arena = arena_create();
    struct logbook_conflict *list;
    struct err e = {0};
    char words[300];
    size_t n;

    (void)state;
    make_base("a");
    copy_it("a", "b");
    note_end("a", 0, SIGN_NORMAL, 2);
    note_end("b", 0, SIGN_OIL_WET, 2);
    note_end("a", 1, SIGN_NORMAL, 2);
    note_end("b", 1, SIGN_FUEL_ASH, 2); /* white ash is on sound plugs as well */
    note_end("a", 2, SIGN_DRY_CARBON, 2);
    note_end("b", 2, SIGN_OIL_WET, 2); /* both may be seen */
    copy_it("a", "c");
    copy_it("b", "d");
    assert_int_equal(merge("a", "b").n_conflicts, 1);
    assert_int_equal(merge("d", "c").n_conflicts, 1);
    expect_same("a", "d", 0);
    for (int value = 0; value < 2; value++) {
        struct logbook *lb = open_it("a");

        assert_true(logbook_list_conflicts(lb, arena, &list, &n, &e) && n == 1 && list[0].n == 2);
        assert_string_equal(list[0].what, "firing end of 1");
        assert_true(list[0].cylinder == 0 && strcmp(list[0].visit, visits[0]) == 0);
        assert_string_equal(list[0].values[0], "normal wear");
        assert_string_equal(list[0].values[1], "oil-wet, moderate");
        assert_true(list[0].here[0] != list[0].here[1]);
        logbook_conflict_words(&list[0], 1, words, sizeof words);
        assert_non_null(strstr(words, "stands beside the other"));
        assert_true(amount_of(lb, 0, SIGN_NORMAL) == 2 && amount_of(lb, 0, SIGN_OIL_WET) == 2);
        assert_true(logbook_settle(lb, &list[0], value, &e));
        assert_int_equal(logbook_count_conflicts(lb), 0);
        assert_int_equal(amount_of(lb, 0, SIGN_NORMAL), value == 0 ? 2 : 0);
        assert_int_equal(amount_of(lb, 0, SIGN_OIL_WET), value == 0 ? 0 : 2);
        assert_true(logbook_undo(lb, &e));
        assert_int_equal(logbook_count_conflicts(lb), 1);
        assert_true(logbook_redo(lb, &e));
        assert_int_equal(logbook_count_conflicts(lb), 0);
        if (value == 0)
            assert_true(logbook_undo(lb, &e));
        logbook_close(lb);
    }
    assert_int_equal(merge("d", "a").n_conflicts, 0); /* the choice goes along */
    expect_same("a", "d", 0);
    note_end("d", 0, SIGN_NORMAL, 1); /* noted again by one who knows of the other */
    assert_int_equal(merge("a", "d").n_conflicts, 0);
    arena_destroy(arena);
}

/* Taking one of the two away by hand chooses as well. */
static void a_deposit_taken_away_chooses(void **state)
{
    (void)state;
    make_base("a");
    copy_it("a", "b");
    note_end("a", 0, SIGN_NORMAL, 2);
    note_end("b", 0, SIGN_BLISTERED, 2);
    assert_int_equal(merge("a", "b").n_conflicts, 1);
    note_end("a", 0, SIGN_BLISTERED, 0);
    {
        struct logbook *lb = open_it("a");

        assert_int_equal(logbook_count_conflicts(lb), 0);
        assert_true(logbook_undo(lb, NULL));
        assert_int_equal(logbook_count_conflicts(lb), 1);
        assert_true(logbook_redo(lb, NULL));
        assert_int_equal(logbook_count_conflicts(lb), 0);
        logbook_close(lb);
    }
}

/* Whose value is whose is told as before when a choice is taken back: undoing wrote it again, and is nobody's opinion. */
static void a_choice_taken_back_leaves_each_its_own(void **state)
{
    struct arena *arena = arena_create();
    struct logbook_conflict *list;
    struct logbook *lb;
    struct err e = {0};
    bool of_here[2];
    int64_t at[2];
    size_t n;

    (void)state;
    make_two(2, 1100, 2, 1150);
    merge("a", "b");
    lb = open_it("a");
    assert_true(logbook_list_conflicts(lb, arena, &list, &n, &e) && n == 1 && list[0].n == 2);
    for (int chosen = 0; chosen < 2; chosen++) {
        for (int i = 0; i < 2; i++)
            of_here[i] = list[0].here[i], at[i] = list[0].at_ms[i];
        assert_true(of_here[0] != of_here[1]);
        assert_true(logbook_settle(lb, &list[0], chosen, &e));
        assert_true(logbook_undo(lb, &e));
        assert_true(logbook_list_conflicts(lb, arena, &list, &n, &e) && n == 1 && list[0].n == 2);
        for (int i = 0; i < 2; i++)
            assert_true(list[0].here[i] == of_here[i] && list[0].at_ms[i] == at[i]);
    }
    logbook_close(lb);
    arena_destroy(arena);
}

static void distances_are_told_as_the_odometer_tells_them(void **state)
{
    static const struct {
        const char *unit;
        int64_t metres;
        const char *words;
    } rows[] = {{"mi", 160934, "100 mi"}, {"km", 160934, "161 km"}, {"h", 5400, "1.5 h"}, {NULL, 160934, "161 km"}}; /* a mile is 1609.344 m by definition */

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct arena *arena = arena_create();
        struct logbook_conflict *list;
        struct err e = {0};
        struct logbook *lb;
        size_t n;

        make_base("a");
        if (rows[i].unit != NULL) {
            lb = open_it("a");
            assert_true(logbook_begin(lb, "Unit", &e) && logbook_set_text(lb, "visit", visits[0], "odometer_unit", rows[i].unit, &e) && logbook_commit(lb, &e));
            logbook_close(lb);
        }
        copy_it("a", "b");
        for (int k = 0; k < 2; k++) {
            lb = open_it(k ? "b" : "a");
            assert_true(logbook_begin(lb, "Odometer", &e) && logbook_set_int(lb, "visit", visits[0], "odometer_m", rows[i].metres * (k + 1), &e) && logbook_commit(lb, &e));
            logbook_close(lb);
        }
        merge("a", "b");
        lb = open_it("a");
        assert_true(logbook_list_conflicts(lb, arena, &list, &n, &e));
        assert_int_equal(n, 1);
        assert_string_equal(list[0].values[strcmp(list[0].values[0], rows[i].words) == 0 ? 0 : 1], rows[i].words);
        logbook_close(lb);
        arena_destroy(arena);
        drop_folder(state);
        make_folder(state);
    }
}

static void typing_over_a_conflict_chooses(void **state)
{
    struct logbook *lb;
    struct err e = {0};

    (void)state;
    make_two(2, 1100, 2, 1150);
    merge("a", "b");
    lb = open_it("a");
    set_gap(lb, 0, 2, 1120);
    assert_int_equal(logbook_count_conflicts(lb), 0);
    assert_true(logbook_undo(lb, &e));
    assert_int_equal(logbook_count_conflicts(lb), 1);
    assert_true(is_kept(lb, 0, 2, 1100) && is_kept(lb, 0, 2, 1150));
    logbook_close(lb);
    merge("b", "a");
    expect_same("a", "b", 0);
}

/* ---- whether it may be started ---- */

/* The last visit: refitted, or lead on (0 off, 1 on), or torqued to. */
static void set_reading(const char *name, int cylinder, const char *column, const char *word, int whole)
{
    struct logbook *lb = open_it(name);
    struct err e = {0};
    char row[UUID_BYTES];

    assert_true(logbook_begin(lb, column, &e) && logbook_touch_reading(lb, visits[N_VISITS - 1], cylinder, 0, row, &e) &&
                (word != NULL ? logbook_set_text(lb, "reading", row, column, word, &e) : logbook_set_int(lb, "reading", row, column, whole, &e)) && logbook_commit(lb, &e));
    logbook_close(lb);
}

static void note_lead(const char *name, int cylinder, int amount)
{
    struct logbook *lb = open_it(name);
    struct err e = {0};

    assert_true(logbook_begin(lb, "Lead", &e) && logbook_note_sign(lb, visits[N_VISITS - 1], cylinder, 0, SIGN_LEAD_BARE, amount, &e) && logbook_commit(lb, &e));
    logbook_close(lb);
}

static void set_turned(const char *name, const char *state)
{
    struct logbook_step step = {.id = "7a6f2c1e-58b4-4c1d-9d0e-1f2a3b4c5d6e", .text = "Turn it by hand", .source = "turn", .sort = 1};
    struct logbook *lb = open_it(name);
    struct err e = {0};

    text_copy(step.visit, sizeof step.visit, visits[N_VISITS - 1]);
    text_copy(step.state, sizeof step.state, state);
    assert_true(logbook_begin(lb, "Turned", &e) && logbook_put_step(lb, &step, &e) && logbook_commit(lb, &e));
    logbook_close(lb);
}

static void what_stands_in_the_way_is_the_careful_of_two(void **state)
{
    struct arena *arena = arena_create();
    struct logbook_conflict *list;
    struct ready *ready = mem_alloc(1, sizeof *ready);
    struct logbook *lb;
    struct record r;
    struct err e = {0};
    char words[READY_WORDS_BYTES];
    size_t n;

    (void)state;
    make_base("a");
    for (int c = 0; c < 4; c++)
        set_reading("a", c, "refit", "hand", 0);
    note_lead("a", 3, 1);
    set_turned("a", "todo");
    set_reading("a", 1, "connected", NULL, 0);
    copy_it("a", "b");
    /* in both orders of writing, so that each stands once: the copy with more edits is the later one by the clock */
    set_reading("b", 2, "refit", "out", 0);
    set_reading("b", 1, "connected", NULL, 1);
    set_reading("b", 0, "refit", "torqued", 0);
    note_lead("b", 3, 0);
    set_turned("b", "later");
    for (int c = 1; c < 4; c++)
        set_reading("a", c, "refit", "torqued", 0);
    set_reading("a", 0, "refit", "out", 0);
    set_reading("b", 1, "refit", "torqued", 0);
    set_reading("b", 3, "refit", "torqued", 0);
    set_reading("a", 1, "connected", NULL, 1);
    set_reading("a", 1, "connected", NULL, 0);
    note_lead("a", 3, 3);
    set_turned("a", "done");
    merge("a", "b");
    for (int k = 0; k < 2; k++) {
        lb = open_it("a");
        assert_true(logbook_load_record(lb, engine, NULL, &r, &e));
        ready_of(&r, ready);
        ready_words(&r, ready, words, sizeof words);
        assert_int_equal(ready_to_start(ready), k == 1);
        if (k == 1)
            assert_string_equal(words, "");
        if (k == 0) {
            assert_true(ready->why[2] == READY_OUT || ready->why[2] == READY_APART);
            assert_true(ready->why[0] == READY_OUT || ready->why[0] == READY_APART);
            assert_true(ready->why[1] == READY_IN && ready->why[3] == READY_IN);
            assert_true(ready->why[0] == READY_APART || ready->why[2] == READY_APART);
            assert_non_null(strstr(words, "not torqued by one of the merged copies, and another says otherwise"));
            assert_int_equal(ready->unplugged, 1 << 1);
            assert_int_equal(ready->bare_leads, 1 << 3);
            assert_true(ready_asks_to_turn(ready));
            assert_non_null(strstr(words, "merged copies differ whether it was turned by hand"));
        }
        record_release(&r);
        /* all that say it is in order are chosen */
        for (;;) {
            static const char *const fine[] = {"torqued", "1", "done", "taken out"};
            size_t i = 0;
            int at = -1;

            arena_reset(arena);
            assert_true(logbook_list_conflicts(lb, arena, &list, &n, &e));
            if (n == 0)
                break;
            while (i < n && at < 0) {
                for (int v = 0; v < list[i].n; v++)
                    for (size_t f = 0; f < sizeof fine / sizeof fine[0]; f++)
                        at = strcmp(list[i].values[v], fine[f]) == 0 ? v : at;
                i += at < 0;
            }
            if (i == n)
                fail_msg("%s: %s / %s", list[0].what, list[0].values[0], list[0].values[1]);
            assert_true(logbook_settle(lb, &list[i], at, &e));
        }
        logbook_close(lb);
    }
    free(ready);
    arena_destroy(arena);
}

/* ---- two plugs in one hole ---- */

static int plugs_in(struct logbook *lb, int cylinder, char name[80])
{
    struct arena *a = arena_create();
    struct logbook_part *parts;
    struct record r;
    struct err e = {0};
    size_t n;
    int n_in = 0;

    assert_true(logbook_load_record(lb, engine, NULL, &r, &e) && logbook_list_parts(lb, engine, &r, a, &parts, &n, &e));
    for (size_t i = 0; i < n; i++)
        if (parts[i].cylinder == cylinder && strcmp(parts[i].kind, "plug") == 0) {
            text_copy(name, 80, parts[i].name);
            n_in++;
        }
    record_release(&r);
    arena_destroy(a);
    return n_in;
}

static void two_plugs_in_one_hole_are_a_difference(void **state)
{
    struct arena *arena = arena_create();
    struct logbook_conflict *list;
    struct engine en;
    struct logbook *lb;
    struct err e = {0};
    char name[80], chosen[120];
    size_t n, at;

    (void)state;
    make_base("a");
    copy_it("a", "b");
    lb = open_it("a");
    assert_true(logbook_load_engine(lb, engine, &en, &e));
    assert_true(logbook_begin(lb, "Swapped", &e) && logbook_swap_parts(lb, visits[2], engine, &en, words_find(WORDS_DONE_PART, "plug"), 0, 1, &e) && logbook_commit(lb, &e));
    logbook_close(lb);
    lb = open_it("b");
    assert_true(logbook_begin(lb, "New", &e) && logbook_renew_part(lb, visits[2], engine, &en, "plug", 0, 0, "Fresh", &e) && logbook_commit(lb, &e));
    logbook_close(lb);
    copy_it("a", "a0");
    merge("a", "b");
    merge("b", "a0");
    expect_same("a", "b", 0);
    lb = open_it("a");
    for (int value = 0; value < 2; value++) {
        assert_int_equal(plugs_in(lb, 0, name), 2);
        assert_true(logbook_list_conflicts(lb, arena, &list, &n, &e));
        for (at = 0; at < n && strcmp(list[at].what, "plug in 1") != 0;)
            at++;
        assert_true(at < n && list[at].n == 2 && list[at].cylinder == 0);
        assert_string_equal(list[at].visit, visits[2]);
        assert_true(strcmp(list[at].values[0], "Fresh") == 0 || strcmp(list[at].values[1], "Fresh") == 0);
        assert_true(strcmp(list[at].values[0], "plug from 2") == 0 || strcmp(list[at].values[1], "plug from 2") == 0);
        text_copy(chosen, sizeof chosen, list[at].values[value]);
        assert_true(logbook_settle(lb, &list[at], value, &e));
        assert_int_equal(plugs_in(lb, 0, name), 1);
        assert_string_equal(name, chosen);
        assert_true(logbook_list_conflicts(lb, arena, &list, &at, &e));
        assert_int_equal(at, n - 1);
        if (value == 0)
            assert_true(logbook_undo(lb, &e)); /* open again */
    }
    logbook_close(lb);
    merge("b", "a");
    lb = open_it("b");
    assert_int_equal(plugs_in(lb, 0, name), 1);
    assert_string_equal(name, chosen);
    logbook_close(lb);
    expect_same("a", "b", 0);
    expect_sound("a");
    arena_destroy(arena);
}

/* ---- numbered anew in one copy ---- */

static void number_anew(const char *name, const char *order)
{
    struct logbook *lb = open_it(name);
    struct engine en;
    struct err e = {0};

    assert_true(logbook_load_engine(lb, engine, &en, &e));
    assert_true(engine_parse_banks(&en, order, &e) && engine_parse_firing(&en, "1 3 4 2", &e) && engine_finish(&en, &e));
    if (!logbook_begin(lb, "Numbered anew", &e) || !logbook_put_engine(lb, engine, &en, &e) || !logbook_commit(lb, &e))
        fail_msg("%s", e.text);
    logbook_close(lb);
}

static const struct reading *of_label(const struct record *r, int visit, const char *label)
{
    return &r->visits[visit].readings[engine_find_cylinder(&r->engine, label)];
}

/* What b noted of plug 1 before it knew of the new numbers, and a of plug 1 behind them, stands at plug 1. */
static void expect_on_one(const char *name)
{
    struct logbook *lb = open_it(name);
    struct arena *a = arena_create();
    struct logbook_photo *photos;
    struct logbook_part *parts;
    struct record r;
    struct err e = {0};
    size_t n;

    assert_true(logbook_load_record(lb, engine, NULL, &r, &e));
    assert_int_equal(r.n_visits, N_VISITS + 1);
    assert_int_equal(of_label(&r, 0, "1")->amount[SIGN_LEAD_BARE], 3);
    assert_int_equal(of_label(&r, 0, "4")->amount[SIGN_LEAD_BARE], AMOUNT_UNSEEN);
    assert_true(of_label(&r, 0, "1")->gap_mm.value > 0.799 && of_label(&r, 0, "1")->gap_mm.value < 0.801);
    assert_true(of_label(&r, 0, "4")->gap_mm.value > 1.029 && of_label(&r, 0, "4")->gap_mm.value < 1.031);
    assert_true(of_label(&r, 1, "1")->gap_left_mm.value > 0.899 && of_label(&r, 1, "1")->gap_left_mm.value < 0.901);
    assert_true(of_label(&r, 3, "1")->gap_mm.given);
    assert_false(of_label(&r, 3, "4")->present);
    assert_true(logbook_list_photos(lb, r.visits[0].id, a, &photos, &n, &e) && n == 1);
    assert_int_equal(photos[0].cylinder, engine_find_cylinder(&r.engine, "1"));
    assert_true(logbook_list_parts(lb, engine, &r, a, &parts, &n, &e));
    for (size_t i = 0; i < n; i++)
        if (strcmp(parts[i].name, "Fresh") == 0)
            assert_int_equal(parts[i].cylinder, engine_find_cylinder(&r.engine, "1"));
    record_release(&r);
    arena_destroy(a);
    logbook_close(lb);
}

static void what_was_noted_before_the_new_numbers_came_stays_at_its_plug(void **state)
{
    struct logbook_photo p = {.position = 0, .zone = ZONE_FIRING_END, .width = 4, .height = 3};
    char late[UUID_BYTES];
    struct engine en;
    struct visit *v = mem_alloc(1, sizeof *v);
    struct logbook *lb;
    struct err e = {0};

    (void)state;
    make_base("a");
    copy_it("a", "b");
    number_anew("a", "4 3 2 1");
    lb = open_it("a");
    assert_true(logbook_begin(lb, "Left", &e) && logbook_put_gap(lb, visits[1], 3, 0, true, 900, "mm", &e) && logbook_commit(lb, &e)); /* 1 is the rearmost */
    logbook_close(lb);
    lb = open_it("b");
    assert_true(logbook_load_engine(lb, engine, &en, &e));
    visit_init(v, &en);
    text_copy(v->date, sizeof v->date, "2024-09-05");
    uuid_make(late);
    memset(p.sha256, 'a', 64);
    text_copy(p.format, sizeof p.format, "jpg");
    text_copy(p.visit, sizeof p.visit, visits[0]);
    logbook_photo_id(visits[0], p.sha256, p.id);
    assert_true(logbook_begin(lb, "Plug 1", &e) && logbook_put_gap(lb, visits[0], 0, 0, false, 800, "mm", &e) &&
                logbook_note_sign(lb, visits[0], 0, 0, SIGN_LEAD_BARE, 3, &e) && logbook_put_photo(lb, &p, &e) &&
                logbook_renew_part(lb, visits[2], engine, &en, "plug", 0, 0, "Fresh", &e) &&
                logbook_put_visit(lb, late, engine, &en, v, &e) && logbook_put_gap(lb, late, 0, 0, false, 1000, "mm", &e) && logbook_commit(lb, &e));
    logbook_close(lb);
    copy_it("a", "a0");
    assert_int_equal(merge("a", "b").n_conflicts, 0);
    assert_int_equal(merge("b", "a0").n_conflicts, 0);
    expect_on_one("a");
    expect_on_one("b");
    expect_same("a", "b", 0);
    lb = open_it("a"); /* the numbers taken back, and put again, its plug keeps it */
    assert_true(logbook_undo(lb, &e) && logbook_undo(lb, &e));
    logbook_close(lb);
    lb = open_it("a");
    assert_true(logbook_load_engine(lb, engine, &en, &e));
    assert_int_equal(engine_find_cylinder(&en, "1"), 0);
    assert_int_equal(gap(lb, 0, 0), 800);
    assert_true(logbook_redo(lb, &e) && logbook_redo(lb, &e));
    logbook_close(lb);
    expect_on_one("a");
    free(v);
}

static void a_difference_goes_along_with_its_plug(void **state)
{
    struct arena *arena = arena_create();
    struct logbook_conflict *list;
    struct logbook *lb;
    struct record r;
    struct err e = {0};
    size_t n;

    (void)state;
    make_two(0, 600, 0, 950);
    assert_int_equal(merge("a", "b").n_conflicts, 1);
    number_anew("a", "4 3 2 1");
    lb = open_it("a");
    assert_true(logbook_list_conflicts(lb, arena, &list, &n, &e));
    assert_int_equal(n, 1);
    assert_string_equal(list[0].what, "gap as found of 1");
    assert_int_equal(list[0].cylinder, 3);
    n = strcmp(list[0].values[0], "0.60 mm") == 0 ? 950 : 600;
    assert_true(logbook_settle(lb, &list[0], 1, &e));
    assert_true(logbook_load_record(lb, engine, NULL, &r, &e));
    assert_true(of_label(&r, 0, "1")->gap_mm.value * 1000 > (double)n - 1 && of_label(&r, 0, "1")->gap_mm.value * 1000 < (double)n + 1);
    record_release(&r);
    logbook_close(lb);
    arena_destroy(arena);
}

/* Whichever numbering stands, and whichever is chosen, each label keeps what was noted under it. */
static void two_numberings_are_one_difference(void **state)
{
    struct arena *arena = arena_create();
    struct logbook_conflict *list;
    struct logbook *lb;
    struct record r;
    struct err e = {0};
    size_t n, at;

    (void)state;
    make_base("a");
    copy_it("a", "b");
    number_anew("a", "4 3 2 1");
    number_anew("b", "2 1 4 3");
    lb = open_it("b");
    assert_true(logbook_begin(lb, "Gap", &e) && logbook_put_gap(lb, visits[0], 1, 0, false, 800, "mm", &e) && logbook_commit(lb, &e)); /* of 1 */
    logbook_close(lb);
    merge("a", "b");
    for (int k = 0; k < 2; k++) {
        lb = open_it("a");
        assert_true(logbook_load_record(lb, engine, NULL, &r, &e));
        for (int c = 0; c < 4; c++) {
            char label[2] = {(char)('1' + c), '\0'};
            double mm = c == 0 ? 0.8 : 1.0 + 0.01 * c; /* make_base() */

            assert_true(of_label(&r, 0, label)->gap_mm.value > mm - 0.001 && of_label(&r, 0, label)->gap_mm.value < mm + 0.001);
        }
        record_release(&r);
        assert_true(logbook_list_conflicts(lb, arena, &list, &n, &e));
        for (at = 0; at < n && strstr(list[at].what, "numbering") == NULL;)
            at++;
        assert_int_equal(at < n, k == 0);
        if (k == 0) {
            assert_string_equal(list[at].values[strcmp(list[at].values[0], "4 3 2 1") == 0], "2 1 4 3");
            assert_true(logbook_settle(lb, &list[at], 1, &e));
        }
        logbook_close(lb);
    }
    arena_destroy(arena);
}

/* ---- what one copy notes of a plug that the other copy's card no longer has ---- */

/* The card written anew, so many plugs in each cylinder. */
static void write_card(const char *name, const char *order, const char *firing, int n_plugs)
{
    struct logbook *lb = open_it(name);
    struct engine en;
    struct err e = {0};

    assert_true(logbook_load_engine(lb, engine, &en, &e));
    en.n_mixture_groups = en.n_coil_groups = 0;
    en.coil_groups_given = false;
    en.n_positions = n_plugs;
    text_copy(en.position_names[0], sizeof en.position_names[0], n_plugs > 1 ? "top" : "");
    text_copy(en.position_names[1], sizeof en.position_names[1], n_plugs > 1 ? "bottom" : "");
    if (!engine_parse_banks(&en, order, &e) || !engine_parse_firing(&en, firing, &e) || !engine_finish(&en, &e) ||
        !logbook_begin(lb, "Card", &e) || !logbook_put_engine(lb, engine, &en, &e) || !logbook_commit(lb, &e))
        fail_msg("%s", e.text);
    logbook_close(lb);
}

/* Nothing is noted of that plug any more. */
static void take_plug_out(const char *name, int cylinder)
{
    struct logbook *lb = open_it(name);
    char row[UUID_BYTES];
    struct err e = {0};

    assert_true(logbook_begin(lb, "Out", &e));
    for (int i = 0; i < N_VISITS; i++) {
        logbook_reading_id(visits[i], cylinder, 0, row);
        assert_true(logbook_remove(lb, "reading", row, &e));
    }
    assert_true(logbook_commit(lb, &e));
    logbook_close(lb);
}

/* Coolant at a plug: it keeps the engine from being started. */
static void note_coolant(const char *name, int cylinder, int position)
{
    struct logbook *lb = open_it(name);
    struct err e = {0};

    if (!logbook_begin(lb, "Coolant", &e) || !logbook_note_sign(lb, visits[2], cylinder, position, SIGN_COOLANT, 2, &e) || !logbook_commit(lb, &e))
        fail_msg("%s", e.text);
    logbook_close(lb);
}

static int coolant_at(const char *name, const char *label, int position)
{
    struct logbook *lb = open_it(name);
    struct record r;
    struct err e = {0};
    int c, amount;

    if (!logbook_load_record(lb, engine, NULL, &r, &e))
        fail_msg("%s", e.text);
    c = engine_find_cylinder(&r.engine, label);
    amount = c < 0 || position >= r.engine.n_positions ? -1 : reading_shows(visit_reading(&r.visits[2], &r.engine, c, position), SIGN_COOLANT);
    record_release(&r);
    logbook_close(lb);
    return amount;
}

/* Neither way round, nor looked at first; the words name what would be lost. Nothing is changed. */
static void expect_refused(const char *to, const char *from, const char *words)
{
    struct arena *a = arena_create();
    struct logbook_conflict *list;
    struct logbook_merged m;
    struct err e = {0};
    size_t n;

    for (int k = 0; k < 4; k++) {
        const char *into = k % 2 == 0 ? to : from, *other = k % 2 == 0 ? from : to;
        char *was = dump(into), *now;
        struct logbook *lb = open_it(into);

        assert_false(k < 2 ? logbook_merge(lb, at(other), NULL, &m, &e) : logbook_merge_preview(lb, at(other), NULL, a, &m, &list, &n, &e));
        if (strstr(e.text, words) == NULL || strstr(e.text, "Nothing was changed.") == NULL)
            fail_msg("%s", e.text);
        logbook_close(lb);
        now = dump(into);
        assert_string_equal(now, was);
        free(was);
        free(now);
    }
    arena_destroy(a);
}

static void a_plug_that_the_other_card_no_longer_has_is_not_lost(void **state)
{
    static const struct {
        const char *label, *order, *firing, *firing_again;
        int cylinder;
    } rows[] = {{"4", "1 2 3", "1 3 2", "1 3 4 2", 3}, {"2", "1 3 4", "1 3 4", "1 3 4 2", 1}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char words[80];
        char name[4][8];

        for (int k = 0; k < 4; k++)
            text_format(name[k], sizeof name[k], "%c%zu", "abcd"[k], i);
        make_base(name[0]);
        take_plug_out(name[0], rows[i].cylinder);
        copy_it(name[0], name[1]);
        write_card(name[0], rows[i].order, rows[i].firing, 1);
        note_coolant(name[1], rows[i].cylinder, 0);
        text_format(words, sizeof words, "Plug %s of “Moth” would vanish, and there are readings of it ", rows[i].label);
        expect_refused(name[0], name[1], words);
        write_card(name[0], "1 2 3 4", rows[i].firing_again, 1); /* as the refusal says: the plug it had comes back */
        copy_it(name[0], name[2]);
        copy_it(name[1], name[3]);
        merge(name[0], name[1]);
        merge(name[3], name[2]);
        assert_int_equal(coolant_at(name[0], rows[i].label, 0), 2);
        expect_same(name[0], name[3], 0);
        expect_sound(name[0]);
    }
}

static void another_cylinder_does_not_take_what_was_noted_of_one_that_went(void **state)
{
    (void)state;
    make_base("a");
    take_plug_out("a", 3);
    copy_it("a", "b");
    write_card("a", "1 2 3", "1 3 2", 1);
    write_card("a", "1 2 3 5", "1 3 5 2", 1);
    note_coolant("b", 3, 0);
    expect_refused("a", "b", "Plug 4 of “Moth” would vanish");
    write_card("a", "1 2 3 5 4", "1 3 5 4 2", 1);
    merge("a", "b");
    assert_int_equal(coolant_at("a", "4", 0), 2);
    assert_int_equal(coolant_at("a", "5", 0), AMOUNT_UNSEEN);
}

/* As a merge could leave it before it was refused: found by verify, and back with the plug. */
static void what_stands_off_the_card_is_found(void **state)
{
    struct logbook_report report;
    struct logbook *lb;
    struct err e = {0};

    (void)state;
    make_base("a");
    take_plug_out("a", 3);
    note_coolant("a", 3, 0);
    lb = open_it("a");
    assert_true(logbook_begin(lb, "Card", &e) && logbook_set_text(lb, "engine", engine, "banks", "1\t1 2 3", &e) && logbook_set_text(lb, "engine", engine, "firing", "1 3 2", &e) &&
                logbook_clear(lb, "engine", engine, "mixture_groups", &e) && logbook_clear(lb, "engine", engine, "coil_groups", &e) && logbook_commit(lb, &e));
    assert_true(logbook_verify(lb, &report, &e));
    assert_string_equal(report.text, "Something is noted of plug 4 of “Moth”, which its card no longer has: it is not shown. Give the card that plug again (E on Engines).\n");
    logbook_close(lb);
    write_card("a", "1 2 3 4", "1 3 4 2", 1);
    assert_int_equal(coolant_at("a", "4", 0), 2);
    expect_sound("a");
}

static void the_second_plug_of_a_cylinder_is_not_lost(void **state)
{
    (void)state;
    make_base("a");
    write_card("a", "1 2 3 4", "1 3 4 2", 2);
    copy_it("a", "b");
    write_card("a", "1 2 3 4", "1 3 4 2", 1);
    note_coolant("b", 0, 1);
    expect_refused("a", "b", "Plug 1 bottom of “Moth” would vanish, and there are readings of it ");
    write_card("a", "1 2 3 4", "1 3 4 2", 2);
    merge("a", "b");
    assert_int_equal(coolant_at("a", "1", 1), 2);
}

static void what_a_visit_names_is_not_lost(void **state)
{
    struct engine en;
    struct visit *v = mem_alloc(1, sizeof *v);
    struct logbook *lb;
    struct err e = {0};
    char late[UUID_BYTES];

    (void)state;
    make_base("a");
    copy_it("a", "b");
    write_card("a", "1 2 3 9", "1 3 9 2", 1);
    lb = open_it("b");
    assert_true(logbook_load_engine(lb, engine, &en, &e));
    visit_init(v, &en);
    text_copy(v->date, sizeof v->date, "2024-09-05");
    v->tests[v->n_tests++] = (struct visit_test){1, 3, 1};
    uuid_make(late);
    assert_true(logbook_begin(lb, "Test", &e) && logbook_put_visit(lb, late, engine, &en, v, &e) && logbook_commit(lb, &e));
    logbook_close(lb);
    expect_refused("a", "b", "A test of “Moth” would vanish");
    write_card("b", "1 2 3 9", "1 3 9 2", 1);
    assert_int_equal(merge("a", "b").n_conflicts, 0);
    free(v);
}

static void two_cards_that_do_not_go_together_are_not_merged(void **state)
{
    struct logbook *lb;
    struct engine en;
    struct err e = {0};

    (void)state;
    make_base("a");
    take_plug_out("a", 3);
    copy_it("a", "b");
    write_card("a", "1 2 3", "1 3 2", 1);
    for (int i = 0; i < 6; i++) /* the later one: its firing order would stand */
        write_card("b", "1 2 3 4", i % 2 ? "1 3 4 2" : "1 2 4 3", 1);
    write_card("b", "1 2 3 4", "1 2 4 3", 1);
    expect_refused("a", "b", "The card of “Moth” would not hold together");
    write_card("b", "1 2 3", "1 3 2", 1);
    merge("a", "b");
    lb = open_it("a");
    assert_true(logbook_load_engine(lb, engine, &en, &e));
    assert_int_equal(en.n_cylinders, 3);
    logbook_close(lb);
}

/* The other copy noted something at a plug that this one's undo would take from the card. */
static void undo_does_not_take_the_plug_from_under_what_was_merged(void **state)
{
    struct logbook *lb;
    struct err e = {0};

    (void)state;
    make_base("a");
    write_card("a", "1 2 3 4 5", "1 2 4 5 3", 1);
    copy_it("a", "b");
    note_coolant("b", 4, 0);
    merge("a", "b");
    lb = open_it("a");
    assert_false(logbook_undo(lb, &e));
    assert_string_equal(e.text, "“Card” cannot be undone: Plug 5 of “Moth” would vanish, and there are readings of it. Nothing was changed; the next undo takes what was done before it.");
    assert_string_equal(logbook_undo_label(lb), "");
    logbook_close(lb);
    assert_int_equal(coolant_at("a", "5", 0), 2);
}

static void a_card_without_a_plug_that_was_read_cannot_be_chosen(void **state)
{
    struct arena *arena = arena_create();
    struct logbook_conflict *list;
    struct logbook *lb;
    struct err e = {0};
    size_t n, at = 0;
    int fewer;

    (void)state;
    make_base("a");
    take_plug_out("a", 3);
    copy_it("a", "b");
    write_card("a", "1 2 3", "1 3 2", 1);
    write_card("a", "1 2 3", "1 2 3", 1);
    for (int i = 0; i < 6; i++)
        write_card("b", i % 2 ? "1 2 3 4" : "4 3 2 1", i % 2 ? "1 2 4 3" : "1 3 4 2", 1);
    note_coolant("b", 3, 0);
    merge("a", "b"); /* b's card, the later one, stands */
    lb = open_it("a");
    assert_true(logbook_list_conflicts(lb, arena, &list, &n, &e));
    while (at < n && strstr(list[at].what, "numbering") == NULL)
        at++;
    assert_true(at < n);
    fewer = strcmp(list[at].values[1], "1 2 3") == 0 ? 1 : 0;
    assert_int_equal(fewer, 1);
    assert_false(logbook_settle(lb, &list[at], fewer, &e));
    assert_non_null(strstr(e.text, "“1 2 3” cannot be chosen: "));
    logbook_close(lb);
    assert_int_equal(coolant_at("a", "4", 0), 2);
    arena_destroy(arena);
}

static void what_one_took_out_while_the_other_wrote_in_it_is_shown(void **state)
{
    struct logbook *lb;
    struct arena *arena = arena_create();
    struct logbook_conflict *list;
    struct err e = {0};
    size_t n;

    (void)state;
    make_base("a");
    copy_it("a", "b");
    lb = open_it("a");
    assert_true(logbook_begin(lb, "Out", &e) && logbook_remove(lb, "engine", engine, &e) && logbook_commit(lb, &e));
    logbook_close(lb);
    lb = open_it("b");
    set_gap(lb, 1, 3, 1400);
    logbook_close(lb);
    copy_it("a", "a2");
    copy_it("b", "b2");
    assert_int_equal(merge("a", "b").n_conflicts, 1);
    merge("b2", "a2");
    expect_same("a", "b2", 0);
    lb = open_it("a");
    assert_true(logbook_list_conflicts(lb, arena, &list, &n, &e));
    assert_string_equal(list[0].what, "engine: taken out or kept");
    assert_string_equal(list[0].values[0], "taken out");
    assert_string_equal(list[0].values[1], "kept");
    assert_true(logbook_settle(lb, &list[0], 1, &e));
    assert_true(logbook_is_there(lb, "engine", engine));
    assert_int_equal(logbook_count_conflicts(lb), 0);
    assert_true(logbook_undo(lb, &e));
    assert_false(logbook_is_there(lb, "engine", engine));
    assert_int_equal(logbook_count_conflicts(lb), 1);
    logbook_close(lb);
    arena_destroy(arena);
}

static void photos_come_by_their_hash(void **state)
{
    struct logbook *lb;
    struct logbook_photo p = {.cylinder = 0, .zone = -1};
    struct logbook_merged m;
    struct err e = {0};
    char path[300];

    (void)state;
    make_base("a");
    copy_it("a", "b");
    text_copy(path, sizeof path, at("x.jpg"));
    assert_true(files_write(path, "photo", 5, &e));
    assert_true(logbook_keep_original(at("b"), path, &p, &e));
    lb = open_it("b");
    text_copy(p.visit, sizeof p.visit, visits[0]);
    logbook_photo_id(visits[0], p.sha256, p.id);
    assert_true(logbook_begin(lb, "Photo", &e) && logbook_put_photo(lb, &p, &e) && logbook_commit(lb, &e));
    logbook_close(lb);
    m = merge("a", "b");
    assert_int_equal(m.n_photos, 1);
    expect_sound("a"); /* it is there, and is what it was */
    assert_int_equal(merge("a", "b").n_photos, 0);
    /* one that is damaged there is not taken for it */
    text_format(path, sizeof path, "%s/photos/%s.jpg", at("b"), p.sha256);
    unlink(path);
    assert_true(files_write(path, "other", 5, &e));
    text_format(path, sizeof path, "%s/photos/%s.jpg", at("a"), p.sha256);
    unlink(path);
    m = merge("a", "b");
    assert_int_equal(m.n_photos_missing, 1);
    assert_false(files_exists(path));
}

static void undo_after_a_merge_takes_back_ones_own(void **state)
{
    struct logbook *lb;
    struct err e = {0};

    (void)state;
    make_two(0, 1500, 1, 1600);
    merge("a", "b");
    lb = open_it("a");
    assert_string_equal(logbook_undo_label(lb), "Gap");
    assert_true(logbook_undo(lb, &e));
    assert_int_equal(gap(lb, 0, 0), 1000);
    assert_int_equal(gap(lb, 0, 1), 1600); /* the other's stays */
    assert_string_equal(logbook_undo_label(lb), "");
    logbook_close(lb);
    expect_sound("a");
}

static void a_killed_merge_loses_nothing(void **state)
{
    (void)state;
    srand(5);
    make_base("a");
    copy_it("a", "b");
    do_much("a", 10);
    do_much("b", 120);
    copy_it("a", "whole");
    merge("whole", "b");
    for (int i = 0; i < 12; i++) {
        int status;
        char *before = dump("a"), *after, *whole = dump("whole");
        pid_t child = fork();

        if (child == 0) {
            struct logbook_merged m;
            struct logbook *lb = logbook_open(at("a"), LOGBOOK_WRITE, NULL);

            _exit(lb != NULL && logbook_merge(lb, at("b"), NULL, &m, NULL) ? 0 : 1);
        }
        usleep((useconds_t)(1000 + i * 2500));
        kill(child, SIGKILL);
        waitpid(child, &status, 0);
        expect_sound("a");
        after = dump("a");
        assert_true(strcmp(after, before) == 0 || strcmp(after, whole) == 0); /* all or nothing */
        free(before);
        free(after);
        free(whole);
    }
    merge("a", "b");
    expect_same("a", "whole", 5);
}

static struct logbook *merge_keeping(const char *to, const char *from)
{
    struct logbook *lb = open_it(to);
    struct logbook_merged m;
    char kept[LOGBOOK_KEPT_BYTES];
    struct err e = {0};

    if (!logbook_merge_keeping(lb, at(from), "2026-06-14", NULL, &m, kept, &e))
        fail_msg("%s", e.text);
    return lb;
}

/* Taken back, nothing of the merge is left: neither in the fields, the log, nor among what is in conflict; what is done
 * then and merged anew is as if it had never been. */
static void a_merge_taken_back_was_never_made(void **state)
{
    (void)state;
    for (unsigned seed = 1; seed <= 4; seed++) {
        struct logbook_last_merge last;
        struct logbook *lb;
        struct err e = {0};
        char command[700], again[FILES_PATH_BYTES];

        srand(seed);
        make_base("a");
        copy_it("a", "b");
        do_much("a", 25);
        do_much("b", 40);
        copy_it("a", "was");
        lb = merge_keeping("a", "b");
        assert_true(logbook_last_merge(lb, &last));
        assert_string_equal(last.other, "b");
        assert_string_equal(last.kept, "before-merge-2026-06-14.db");
        assert_string_equal(last.why_not, "");
        if (!logbook_take_merge_back(lb, &e))
            fail_msg("%s", e.text);
        assert_false(logbook_last_merge(lb, &last));
        assert_false(logbook_take_merge_back(lb, &e));
        assert_true(logbook_merge_to_redo(lb, again, sizeof again)); /* until something else is done */
        assert_string_equal(files_name(again), "b");
        logbook_close(lb);
        expect_sound("a");
        expect_same("a", "was", seed);
        do_much("a", 10); /* goes on */
        lb = open_it("a");
        assert_false(logbook_merge_to_redo(lb, again, sizeof again));
        logbook_close(lb);
        lb = merge_keeping("a", "b");
        logbook_close(lb);
        expect_sound("a");
        merge("b", "a"); /* the other copy has lost nothing */
        expect_same("a", "b", seed);
        text_format(command, sizeof command, "rm -r '%s' '%s' '%s'", at("a"), at("b"), at("was"));
        assert_int_equal(system(command), 0);
    }
}

static void a_merge_with_edits_behind_it_stays(void **state)
{
    struct logbook_last_merge last;
    struct logbook *lb, *beside;
    struct err e = {0};
    char path[300];

    (void)state;
    make_two(0, 1500, 1, 1600);
    lb = merge_keeping("a", "b");
    beside = open_it("a"); /* a command beside the window */
    set_gap(beside, 1, 2, 1700);
    logbook_close(beside);
    assert_true(logbook_last_merge(lb, &last));
    assert_int_equal(last.n_since, 1);
    assert_non_null(strstr(last.why_not, "1 change was made since"));
    assert_false(logbook_take_merge_back(lb, &e));
    assert_string_equal(e.text, last.why_not);
    assert_int_equal(gap(lb, 0, 1), 1600);
    assert_int_equal(gap(lb, 1, 2), 1700);
    /* nothing new came in: the merge before it is still the last */
    logbook_close(lb);
    lb = merge_keeping("a", "b");
    assert_true(logbook_last_merge(lb, &last) && last.n_since == 1);
    text_format(path, sizeof path, "%s/before-merge-2026-06-14-2.db", at("a"));
    assert_false(files_exists(path));
    /* what was done before the merge and is undone behind it is a change, too */
    assert_true(logbook_undo(lb, &e) && logbook_last_merge(lb, &last) && last.n_since == 0);
    assert_true(logbook_undo(lb, &e) && gap(lb, 0, 0) == 1000);
    assert_true(logbook_last_merge(lb, &last) && last.n_since == 1);
    assert_true(logbook_redo(lb, &e) && logbook_last_merge(lb, &last) && last.n_since == 0);
    logbook_close(lb);
    expect_sound("a");
}

/* What was done since and is undone, over and over, leaves the logbook as the merge made it. */
static void a_merge_goes_back_once_what_followed_is_undone(void **state)
{
    struct logbook_conflict *list;
    struct logbook_last_merge last;
    struct arena *arena = arena_create();
    struct logbook *lb;
    struct err e = {0};
    size_t n;

    (void)state;
    make_two(0, 1500, 0, 1600);
    copy_it("a", "was");
    lb = merge_keeping("a", "b");
    for (size_t value = 0; value < 2; value++) { /* the value that stands, which writes no other; the other one */
        assert_true(logbook_list_conflicts(lb, arena, &list, &n, &e) && n == 1);
        assert_true(logbook_settle(lb, &list[0], (int)value, &e));
        assert_true(logbook_last_merge(lb, &last) && last.n_since == 1);
        assert_false(logbook_take_merge_back(lb, &e));
        assert_true(logbook_undo(lb, &e));
        assert_true(logbook_last_merge(lb, &last) && last.n_since == 0);
        assert_string_equal(last.why_not, "");
    }
    set_gap(lb, 1, 1, 1700);
    set_gap(lb, 1, 2, 1800);
    assert_true(logbook_undo(lb, &e) && logbook_last_merge(lb, &last) && last.n_since == 1);
    assert_true(logbook_undo(lb, &e) && logbook_redo(lb, &e) && logbook_last_merge(lb, &last) && last.n_since == 1);
    assert_true(logbook_undo(lb, &e) && logbook_last_merge(lb, &last) && last.n_since == 0);
    merge("b", "a"); /* the other copy takes in all of it meanwhile */
    if (!logbook_take_merge_back(lb, &e))
        fail_msg("%s", e.text);
    logbook_close(lb);
    expect_same("a", "was", 0);
    expect_sound("a");
    lb = open_it("a"); /* goes on, under a name that the other copy does not take for the old one */
    set_gap(lb, 2, 2, 1900);
    logbook_close(lb);
    merge("a", "b");
    merge("b", "a");
    expect_same("a", "b", 0);
    expect_sound("b");
    lb = open_it("a");
    assert_int_equal(gap(lb, 2, 2), 1900);
    assert_true(logbook_list_conflicts(lb, arena, &list, &n, &e) && n == 1);
    assert_true(list[0].here[0] != list[0].here[1]); /* it is the same copy all the same */
    logbook_close(lb);
    arena_destroy(arena);
}

/* A step of which the first part came before the merge is undone with it: that part would be back. */
static void a_step_begun_before_a_merge_counts_undone(void **state)
{
    struct logbook_last_merge last;
    struct logbook *lb;
    struct err e = {0};
    int64_t step;

    (void)state;
    make_two(0, 1500, 1, 1600);
    lb = open_it("a");
    step = logbook_undo_step(lb);
    logbook_close(lb);
    lb = merge_keeping("a", "b");
    assert_true(logbook_begin(lb, "Gap", &e));
    logbook_join(lb, step);
    assert_true(logbook_put_gap(lb, visits[1], 0, 0, false, 1550, "mm", &e) && logbook_commit(lb, &e));
    assert_true(logbook_undo(lb, &e) && gap(lb, 0, 0) == 1000 && gap(lb, 1, 0) == 1000);
    assert_true(logbook_last_merge(lb, &last) && last.n_since > 0);
    assert_true(logbook_redo(lb, &e) && gap(lb, 0, 0) == 1500);
    assert_true(logbook_last_merge(lb, &last) && last.n_since == 1);
    logbook_close(lb);
}

/* Where another value stands nothing is undone, and that is what is said; undo then goes on with what was before it. */
static void undo_says_where_it_undoes_nothing(void **state)
{
    struct logbook *lb;
    struct err e = {0};
    char row[UUID_BYTES], unit[8];

    (void)state;
    make_base("a");
    copy_it("a", "b");
    lb = open_it("a");
    set_gap(lb, 1, 1, 1400);
    set_gap(lb, 0, 0, 1500);
    logbook_close(lb);
    lb = open_it("b");
    set_gap(lb, 0, 0, 1590);
    set_gap(lb, 0, 0, 1595);
    set_gap(lb, 0, 0, 1600); /* the higher clock is the later one */
    logbook_close(lb);
    merge("a", "b");
    lb = open_it("a");
    assert_int_equal(gap(lb, 0, 0), 1600);
    assert_false(logbook_undo(lb, &e));
    assert_non_null(strstr(e.text, "“Gap” cannot be undone"));
    assert_int_equal(gap(lb, 0, 0), 1600);
    logbook_reading_id(visits[0], 0, 0, row);
    assert_true(logbook_get_text(lb, "reading", row, "gap_unit", unit, sizeof unit)); /* both wrote it; it is the figure's that stands */
    assert_string_equal(unit, "mm");
    assert_string_equal(logbook_redo_label(lb), "");
    assert_true(logbook_undo(lb, &e));
    assert_int_equal(gap(lb, 1, 1), 1010);
    assert_string_equal(logbook_undo_label(lb), "");
    assert_true(logbook_redo(lb, &e));
    assert_int_equal(gap(lb, 1, 1), 1400);
    logbook_close(lb);
    expect_sound("a");
}

/* The copy that was kept is looked at before it takes the logbook's place. */
static void only_the_logbook_as_it_was_comes_back(void **state)
{
    static const struct {
        const char *command, *said;
    } cases[] = {{"printf 'no database at all, whatever it is called' >$F", "cannot be read|is not the logbook"},
                 {"sqlite3 $F 'PRAGMA user_version=1'", "is not the logbook as it was before the merge"},
                 {"sqlite3 $F 'DELETE FROM edit; DELETE FROM undo; DELETE FROM change'", "is not the logbook as it was before the merge"},
                 {"dd if=/dev/urandom of=$F bs=4096 seek=6 count=3 conv=notrunc 2>/dev/null", "is not the logbook as it was before the merge"},
                 {"rm $F", "is not in its folder any more"}};

    (void)state;
    make_two(0, 1500, 1, 1600);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct logbook *lb;
        struct err e = {0};
        char name[20], path[300], command[500];
        char *before, *after;

        text_format(name, sizeof name, "c%zu", i);
        copy_it("a", name);
        lb = merge_keeping(name, "b");
        text_format(path, sizeof path, "%s/before-merge-2026-06-14.db", at(name));
        text_format(command, sizeof command, "F='%s'; %s", path, cases[i].command);
        assert_int_equal(system(command), 0);
        before = dump(name);
        assert_false(logbook_take_merge_back(lb, &e));
        if (strstr(e.text, cases[i].said) == NULL && (i > 0 || strstr(e.text, "is not the logbook") == NULL))
            fail_msg("%zu: %s", i, e.text);
        after = dump(name);
        assert_string_equal(before, after);
        free(before);
        free(after);
        logbook_close(lb);
        expect_sound(name);
    }
}

/* All of it or none of it is back. */
static void a_killed_way_back_loses_nothing(void **state)
{
    char *was, *merged;

    (void)state;
    srand(7);
    make_base("a");
    copy_it("a", "b");
    do_much("a", 10);
    do_much("b", 120);
    was = dump("a");
    logbook_close(merge_keeping("a", "b"));
    merged = dump("a");
    for (int i = 0; i < 12; i++) {
        int status;
        char *after;
        pid_t child = fork();

        if (child == 0) {
            struct logbook *lb = logbook_open(at("a"), LOGBOOK_WRITE, NULL);

            _exit(lb != NULL && logbook_take_merge_back(lb, NULL) ? 0 : 1);
        }
        usleep((useconds_t)(500 + i * 700));
        kill(child, SIGKILL);
        waitpid(child, &status, 0);
        expect_sound("a");
        after = dump("a");
        assert_true(strcmp(after, merged) == 0 || strcmp(after, was) == 0);
        free(after);
    }
    free(was);
    free(merged);
}

/* What can be read of a damaged copy comes in, and that it is damaged is said. */
static void a_damaged_copy_is_told(void **state)
{
    struct logbook_merged m;
    char path[260], words[500];
    sqlite3 *db;
    sqlite3_stmt *q;
    long from, n_page;
    FILE *f;

    (void)state;
    make_two(0, 1100, 1, 1200);
    copy_it("a", "c");
    m = merge("c", "b");
    assert_false(m.damaged);
    text_format(path, sizeof path, "%s/logbook.db", at("b"));
    assert_int_equal(sqlite3_open_v2(path, &db, SQLITE_OPEN_READWRITE, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, "PRAGMA wal_checkpoint(TRUNCATE)", NULL, NULL, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_prepare_v2(db, "SELECT rootpage, (SELECT page_size FROM pragma_page_size) FROM sqlite_schema WHERE name = 'crop_photo'", -1, &q, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_step(q), SQLITE_ROW);
    n_page = (long)sqlite3_column_int(q, 1);
    from = (sqlite3_column_int(q, 0) - 1) * n_page;
    sqlite3_finalize(q);
    sqlite3_close(db);
    f = fopen(path, "r+b");
    assert_non_null(f);
    assert_int_equal(fseek(f, from, SEEK_SET), 0);
    for (long i = 0; i < n_page; i++)
        assert_int_equal(fputc(0xFF, f), 0xFF);
    assert_int_equal(fclose(f), 0);
    m = merge("a", "b");
    assert_true(m.damaged && m.n_changes == 1);
    logbook_merged_words(&m, words, sizeof words);
    assert_non_null(strstr(words, "the database of that copy is damaged"));
    expect_sound("a");
}

static void refusals_are_sentences(void **state)
{
    struct logbook *lb;
    struct logbook_merged m;
    struct err e = {0};
    char path[300];
    sqlite3 *db;

    (void)state;
    make_base("a");
    copy_it("a", "b");
    lb = open_it("a");
    assert_false(logbook_merge(lb, at("a"), NULL, &m, &e));
    assert_non_null(strstr(e.text, "this logbook itself"));
    assert_false(logbook_merge(lb, at("nowhere"), NULL, &m, &e));
    assert_non_null(strstr(e.text, "There is no folder"));
    /* one was put back from a backup and went on under the same name */
    set_gap(lb, 0, 0, 1500);
    text_format(path, sizeof path, "%s/logbook.db", at("b"));
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, "UPDATE change SET id = '01900000-0000-7000-8000-000000000000' WHERE seq = 1", NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
    assert_false(logbook_merge(lb, at("b"), NULL, &m, &e));
    assert_non_null(strstr(e.text, "put back from a backup"));
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, "UPDATE change SET id = '01900000-0000-7000-8000-000000000000', device = 'x' WHERE seq = 1; UPDATE edit SET col = 'shoe' WHERE seq = 1", NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
    assert_false(logbook_merge(lb, at("b"), NULL, &m, &e));
    assert_non_null(strstr(e.text, "shoe"));
    logbook_close(lb);
    text_format(path, sizeof path, "%s/logbook.db", at("b"));
    assert_true(files_copy("tests/logbook/schema-1/logbook.db", path, &e));
    lb = open_it("a");
    assert_false(logbook_merge(lb, at("b"), NULL, &m, &e));
    assert_non_null(strstr(e.text, "open it in the window once"));
    logbook_close(lb);
    expect_sound("a");
}

/* A merge is looked at before it is made: it changes nothing, and says what the merge then does. */
static void a_merge_is_looked_at_first(void **state)
{
    struct logbook *lb;
    struct arena *arena = arena_create();
    struct logbook_conflict *before, *after;
    struct logbook_merged would, did;
    struct err e = {0};
    char words[300], id[UUID_BYTES], *as_it_was, *as_it_is;
    size_t n, n_after;

    (void)state;
    make_base("a");
    copy_it("a", "b");
    lb = open_it("a");
    set_gap(lb, 0, 2, 1100);
    logbook_close(lb);
    lb = open_it("b");
    set_gap(lb, 0, 2, 1150);
    uuid_make(id);
    assert_true(logbook_begin(lb, "Visit added", &e) && logbook_set_int(lb, "visit", id, "gone", 0, &e) && logbook_set_text(lb, "visit", id, "engine", engine, &e) &&
                logbook_set_text(lb, "visit", id, "date", "2025-01-01", &e) && logbook_commit(lb, &e));
    assert_true(logbook_begin(lb, "Gap", &e) && logbook_put_gap(lb, id, 0, 0, false, 1000, "mm", &e) && logbook_commit(lb, &e));
    assert_true(logbook_begin(lb, "Firing end", &e) && logbook_note_sign(lb, visits[0], 3, 0, SIGN_OIL_WET, 2, &e) && logbook_commit(lb, &e)); /* of a plug that is known here: the reading is not new, what it says is */
    logbook_close(lb);
    as_it_was = dump("a");
    lb = open_it("a");
    if (!logbook_merge_preview(lb, at("b"), NULL, arena, &would, &before, &n, &e))
        fail_msg("%s", e.text);
    as_it_is = dump("a");
    assert_string_equal(as_it_was, as_it_is);
    assert_int_equal(logbook_count_conflicts(lb), 0);
    assert_true(logbook_merge(lb, at("b"), NULL, &did, &e));
    assert_memory_equal(&would, &did, sizeof did);
    assert_int_equal(did.n_engines, 0);
    assert_int_equal(did.n_visits, 1);
    assert_int_equal(did.n_readings, 1);
    assert_int_equal(did.n_readings_more, 2);
    assert_int_equal(did.n_conflicts, 1);
    logbook_merged_words(&did, words, sizeof words);
    assert_string_equal(words, "1 visit, 1 reading come in, 2 readings say more or otherwise; 17 entries written there are taken over; 1 is said differently by both copies");
    /* both say which copy wrote what, and when */
    assert_true(logbook_list_conflicts(lb, arena, &after, &n_after, &e));
    assert_int_equal(n, 1);
    assert_int_equal(n_after, 1);
    for (int k = 0; k < 2; k++) {
        bool ours = strcmp(after[0].values[k], "1.10 mm") == 0;

        assert_string_equal(before[0].values[k], after[0].values[k]);
        assert_int_equal(after[0].here[k], ours);
        assert_int_equal(before[0].here[k], ours);
        assert_true(strncmp(after[0].by[k], ours ? "a" : "b", 1) == 0 && after[0].by[k][1] != 'n'); /* "b on bench", not "another copy" */
        assert_string_equal(before[0].by[k], after[0].by[k]);
        assert_true(after[0].at_ms[k] > 0);
        logbook_conflict_words(&after[0], k, words, sizeof words);
        assert_non_null(strstr(words, ours ? "in this copy (a" : "in b"));
    }
    free(as_it_was);
    free(as_it_is);
    logbook_close(lb);
    arena_destroy(arena);
}

static bool stop_it(void *ctx, const char *what, size_t n_done, size_t n_all)
{
    assert_true(what[0] != '\0' && n_done <= n_all);
    return ++*(int *)ctx < 2;
}

static void a_merge_can_be_stopped(void **state)
{
    int n = 0;
    struct logbook_watch watch = {stop_it, &n};
    struct logbook_merged m;
    struct err e = {0};
    struct logbook *lb;
    char *as_it_was, *as_it_is;

    (void)state;
    make_base("a");
    copy_it("a", "b");
    lb = open_it("b");
    set_gap(lb, 0, 2, 1150);
    logbook_close(lb);
    as_it_was = dump("a");
    lb = open_it("a");
    assert_false(logbook_merge(lb, at("b"), &watch, &m, &e));
    assert_int_equal(e.code, ERR_CANCEL);
    as_it_is = dump("a");
    assert_string_equal(as_it_was, as_it_is);
    assert_true(logbook_merge(lb, at("b"), NULL, &m, &e)); /* and made all the same afterwards */
    assert_int_equal(m.n_edits > 0, true);
    free(as_it_was);
    free(as_it_is);
    logbook_close(lb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(whichever_way_round_it_is_one_logbook, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(three_copies_meet_in_any_order, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_contradicts_is_kept_until_one_is_chosen, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_merge_is_looked_at_first, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_merge_can_be_stopped, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_firing_end_said_to_be_sound_and_at_fault_is_a_difference, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_deposit_taken_away_chooses, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_choice_taken_back_leaves_each_its_own, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(distances_are_told_as_the_odometer_tells_them, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(typing_over_a_conflict_chooses, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_stands_in_the_way_is_the_careful_of_two, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(two_plugs_in_one_hole_are_a_difference, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_was_noted_before_the_new_numbers_came_stays_at_its_plug, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_difference_goes_along_with_its_plug, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(two_numberings_are_one_difference, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_plug_that_the_other_card_no_longer_has_is_not_lost, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(another_cylinder_does_not_take_what_was_noted_of_one_that_went, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_stands_off_the_card_is_found, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(the_second_plug_of_a_cylinder_is_not_lost, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_a_visit_names_is_not_lost, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(two_cards_that_do_not_go_together_are_not_merged, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(undo_does_not_take_the_plug_from_under_what_was_merged, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_card_without_a_plug_that_was_read_cannot_be_chosen, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_one_took_out_while_the_other_wrote_in_it_is_shown, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(photos_come_by_their_hash, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(undo_after_a_merge_takes_back_ones_own, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_killed_merge_loses_nothing, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_merge_taken_back_was_never_made, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_merge_with_edits_behind_it_stays, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_merge_goes_back_once_what_followed_is_undone, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_step_begun_before_a_merge_counts_undone, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(undo_says_where_it_undoes_nothing, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(only_the_logbook_as_it_was_comes_back, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_killed_way_back_loses_nothing, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_damaged_copy_is_told, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(refusals_are_sentences, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
