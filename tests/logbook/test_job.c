/* Steps, parts and verdicts through the edit log: each edit one undo step, verify clean after each. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "record/ready.h"
#include "record/stops.h"
#include "../help/help.h"

static char engine[UUID_BYTES], visit[UUID_BYTES];
static struct engine en;

static struct logbook *fresh(void)
{
    struct err e = {0};
    struct logbook *lb;
    struct visit *v = mem_alloc(1, sizeof *v);

    if (!logbook_create(folder, &e))
        fail_msg("%s", e.text);
    lb = logbook_open(folder, LOGBOOK_WRITE, &e);
    engine_init(&en);
    assert_true(engine_parse_banks(&en, "1 2 3 4", &e) && engine_parse_firing(&en, "1 3 4 2", &e) && engine_finish(&en, &e));
    visit_init(v, &en);
    text_copy(v->date, sizeof v->date, "2026-06-14");
    for (int c = 0; c < 4; c++)
        reading_note(visit_reading(v, &en, c, 0), SIGN_NORMAL, 2);
    uuid_make(engine);
    uuid_make(visit);
    if (!logbook_begin(lb, "start", &e) || !logbook_put_engine(lb, engine, &en, &e) || !logbook_put_visit(lb, visit, engine, &en, v, &e))
        fail_msg("%s", e.text);
    for (int c = 0; c < 4; c++)
        assert_true(logbook_put_reading(lb, visit, &v->readings[c], &e));
    assert_true(logbook_commit(lb, &e));
    free(v);
    return lb;
}

static void expect_sound(struct logbook *lb)
{
    struct logbook_report report;
    struct err e = {0};

    assert_true(logbook_verify(lb, &report, &e));
    assert_string_equal(report.text, "");
}

static size_t count_steps(struct logbook *lb, char *texts, size_t n_room)
{
    struct arena *a = arena_create();
    struct logbook_step *steps;
    struct err e;
    size_t n;

    assert_true(logbook_list_steps(lb, visit, a, &steps, &n, &e));
    texts[0] = '\0';
    for (size_t i = 0; i < n; i++)
        text_format(texts + strlen(texts), n_room - strlen(texts), "%s ", steps[i].text);
    arena_destroy(a);
    return n;
}

static void add_step(struct logbook *lb, const char *text, char id[UUID_BYTES])
{
    struct logbook_step s = {.state = "todo"};
    struct err e = {0};

    uuid_make(s.id);
    text_copy(s.visit, sizeof s.visit, visit);
    text_copy(s.text, sizeof s.text, text);
    text_copy(id, UUID_BYTES, s.id);
    if (!logbook_begin(lb, "Step", &e) || !logbook_put_step(lb, &s, &e) || !logbook_commit(lb, &e))
        fail_msg("%s", e.text);
}

static void steps_are_moved_and_moved_back(void **state)
{
    struct logbook *lb = fresh();
    char a[UUID_BYTES], b[UUID_BYTES], c[UUID_BYTES], texts[200];
    struct err e = {0};

    (void)state;
    add_step(lb, "one", a);
    add_step(lb, "two", b);
    add_step(lb, "three", c);
    assert_true(logbook_begin(lb, "Step moved", &e) && logbook_move_step(lb, visit, c, -1, &e) && logbook_commit(lb, &e));
    count_steps(lb, texts, sizeof texts);
    assert_string_equal(texts, "one three two ");
    expect_sound(lb);
    assert_true(logbook_begin(lb, "Step moved", &e) && logbook_move_step(lb, visit, b, 1, &e) && logbook_commit(lb, &e));
    assert_int_equal(logbook_step(lb), 0); /* the last one stays: no edit, no undo step */
    assert_true(logbook_undo(lb, &e));
    count_steps(lb, texts, sizeof texts);
    assert_string_equal(texts, "one two three ");
    assert_true(logbook_redo(lb, &e));
    assert_true(logbook_begin(lb, "Step taken out", &e) && logbook_remove(lb, "step", a, &e) && logbook_commit(lb, &e));
    assert_int_equal(count_steps(lb, texts, sizeof texts), 2);
    expect_sound(lb);
    assert_true(logbook_undo(lb, &e));
    assert_int_equal(count_steps(lb, texts, sizeof texts), 3);
    assert_string_equal(texts, "one three two ");
    expect_sound(lb);
    logbook_close(lb);
}

static void a_cause_is_judged_in_one_row(void **state)
{
    struct logbook *lb = fresh();
    struct logbook_verdict v = {.cause = "coil-one", .place = "cylinder 3", .state = "accepted"}, *list;
    struct arena *a = arena_create();
    struct err e = {0};
    size_t n;

    (void)state;
    logbook_verdict_id(visit, v.cause, v.place, v.id);
    text_copy(v.engine, sizeof v.engine, engine);
    text_copy(v.visit, sizeof v.visit, visit);
    assert_true(logbook_begin(lb, "Accepted", &e) && logbook_put_verdict(lb, &v, &e) && logbook_commit(lb, &e));
    text_copy(v.state, sizeof v.state, "repaired");
    text_copy(v.repaired_visit, sizeof v.repaired_visit, visit);
    assert_true(logbook_begin(lb, "Repaired", &e) && logbook_put_verdict(lb, &v, &e) && logbook_commit(lb, &e));
    assert_true(logbook_list_verdicts(lb, engine, a, &list, &n, &e));
    assert_int_equal(n, 1);
    assert_string_equal(list[0].state, "repaired");
    assert_string_equal(list[0].repaired_visit, visit);
    expect_sound(lb);
    assert_true(logbook_undo(lb, &e) && logbook_list_verdicts(lb, engine, a, &list, &n, &e));
    assert_string_equal(list[0].state, "accepted");
    assert_string_equal(list[0].repaired_visit, "");
    assert_true(logbook_undo(lb, &e) && logbook_list_verdicts(lb, engine, a, &list, &n, &e));
    assert_int_equal(n, 0);
    expect_sound(lb);
    arena_destroy(a);
    logbook_close(lb);
}

/* One edit: the line of work done, the two things with their names, and where they sit. */
static void a_part_goes_from_hole_to_hole_as_one_edit(void **state)
{
    static const char *const kinds[] = {"coil", "plug"};
    struct err e = {0};

    (void)state;
    for (size_t k = 0; k < 2; k++) {
        struct logbook *lb = fresh();
        struct record r;
        int part = words_find(WORDS_DONE_PART, kinds[k]);
        char words[80];

        if (!logbook_begin(lb, "Moved", &e) || !logbook_swap_parts(lb, visit, engine, &en, part, 0, 2, &e) || !logbook_commit(lb, &e))
            fail_msg("%s", e.text);
        expect_sound(lb);
        assert_true(logbook_load_record(lb, engine, visit, &r, &e));
        assert_int_equal(r.visits[0].n_done, 1);
        visit_format_done(&en, &r.visits[0].done[0], words, sizeof words);
        assert_string_equal(words, k == 0 ? "swapped:coil:cylinders 1,3" : "swapped:plug:cylinders 1,3");
        assert_int_equal(r.visits[0].done[0].from, 0);
        assert_string_equal(r.visits[0].readings[0].plug_name, k == 0 ? "" : "plug from 1");
        record_release(&r);
        /* back again at the same visit: the same two things, no third */
        assert_true(logbook_begin(lb, "Moved", &e) && logbook_swap_parts(lb, visit, engine, &en, part, 1, 3, &e) && logbook_commit(lb, &e));
        expect_sound(lb);
        assert_true(logbook_undo(lb, &e) && logbook_undo(lb, &e));
        assert_true(logbook_load_record(lb, engine, visit, &r, &e));
        assert_int_equal(r.visits[0].n_done, 0);
        assert_string_equal(r.visits[0].readings[0].plug_name, "");
        record_release(&r);
        expect_sound(lb);
        assert_true(logbook_begin(lb, "Moved", &e));
        assert_false(logbook_swap_parts(lb, visit, engine, &en, part, 1, 1, &e));
        assert_non_null(strstr(e.text, "two different"));
        logbook_rollback(lb);
        logbook_close(lb);
        drop_folder(NULL);
        make_folder(NULL);
    }
}

static void how_a_plug_was_refitted_is_kept(void **state)
{
    struct logbook *lb = fresh();
    struct record r;
    char row[UUID_BYTES];
    struct err e = {0};

    (void)state;
    assert_true(logbook_begin(lb, "Washer", &e) && logbook_touch_reading(lb, visit, 1, 0, row, &e) &&
                logbook_set_text(lb, "reading", row, "washer", "used", &e) && logbook_set_text(lb, "reading", row, "thread_state", "greased", &e) &&
                logbook_set_int(lb, "reading", row, "torque_mnm", 24405, &e) && logbook_set_text(lb, "reading", row, "torque_unit", "lbf.ft", &e) && logbook_set_int(lb, "reading", row, "connected", 0, &e) &&
                logbook_commit(lb, &e));
    assert_true(logbook_load_record(lb, engine, visit, &r, &e));
    assert_int_equal(r.visits[0].readings[1].washer, words_find(WORDS_WASHER, "used"));
    assert_int_equal(r.visits[0].readings[1].thread_state, words_find(WORDS_THREAD_STATE, "greased"));
    assert_true(r.visits[0].readings[1].torque_nm.given && r.visits[0].readings[1].torque_nm.value == 24.405 && r.visits[0].readings[1].unplugged);
    assert_string_equal(r.visits[0].readings[1].torque_unit, "lbf.ft");
    /* written as a whole it stays */
    assert_true(logbook_begin(lb, "Reading", &e) && logbook_put_reading(lb, visit, &r.visits[0].readings[1], &e) && logbook_commit(lb, &e));
    assert_int_equal(logbook_step(lb), 0);
    record_release(&r);
    logbook_close(lb);
}

/* ---- parts as things ---- */

/* A visit of the next date; its plugs are looked at. */
static void next_visit(struct logbook *lb, const char *date, double odometer_m, char id[UUID_BYTES])
{
    struct visit *v = mem_alloc(1, sizeof *v);
    struct err e = {0};
    char row[UUID_BYTES];

    uuid_make(id);
    visit_init(v, &en);
    text_copy(v->date, sizeof v->date, date);
    v->odometer_m = MAYBE(odometer_m);
    v->odometer_unit = words_find(WORDS_ODOMETER_UNIT, "km");
    if (!logbook_begin(lb, "Visit", &e) || !logbook_put_visit(lb, id, engine, &en, v, &e))
        fail_msg("%s", e.text);
    for (int i = 0; i < record_plug_count(&en); i++)
        assert_true(logbook_touch_reading(lb, id, i / en.n_positions, i % en.n_positions, row, &e));
    assert_true(logbook_commit(lb, &e));
    free(v);
}

/* The record up to a visit (NULL: all) and the parts as they are there; record_release() it. */
static void load_parts(struct logbook *lb, const char *upto, struct arena *a, struct record *r, struct logbook_part **parts, size_t *n)
{
    struct err e = {0};

    if (!logbook_load_record(lb, engine, upto, r, &e) || !logbook_list_parts(lb, engine, r, a, parts, n, &e))
        fail_msg("%s", e.text);
}

static const struct logbook_part *part_named(const struct logbook_part *parts, size_t n, const char *name)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(parts[i].name, name) == 0)
            return &parts[i];
    fail_msg("no part “%s”", name);
    return NULL;
}

/* A plug that was fitted new and is read again before the engine ran: nobody has to say "has run 0". */
static void a_new_plug_that_stood_still_is_known(void **state)
{
    static const struct {
        double odometer_m;
        const char *last_run, *ticked; /* ticked: the step after the new plug that says it ran, NULL none */
        bool unrun;
    } rows[] = {{10e6, "", NULL, true}, {10.0005e6, "", NULL, true}, {10.002e6, "", NULL, false}, {10e6, "idle", NULL, false}, {0, "", NULL, false}, {10e6, "", "idle", false}, {10e6, "", "use", false}};

    struct logbook *lb = fresh();
    struct logbook_step idle = {.text = "Warm idle", .state = "done"};
    char v2[UUID_BYTES], v3[UUID_BYTES];
    struct err e = {0};

    (void)state;
    next_visit(lb, "2031-01-01", 10e6, v2);
    assert_true(logbook_begin(lb, "New", &e) && logbook_renew_part(lb, v2, engine, &en, "plug", 0, 0, "new one", &e) && logbook_commit(lb, &e));
    next_visit(lb, "2031-01-02", 10e6, v3);
    for (int c = 0; c < 2; c++) {
        struct reading q;

        reading_init(&q, c, 0);
        reading_note(&q, SIGN_NORMAL, 2);
        assert_true(logbook_begin(lb, "Read", &e) && logbook_put_reading(lb, v3, &q, &e) && logbook_put_reading(lb, v2, &q, &e) && logbook_commit(lb, &e));
    }
    uuid_make(idle.id);
    text_copy(idle.visit, sizeof idle.visit, v2);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct record r;

        text_copy(idle.source, sizeof idle.source, rows[i].ticked != NULL ? rows[i].ticked : "");
        assert_true(logbook_begin(lb, "Visit", &e) && (rows[i].odometer_m > 0 ? logbook_set_int(lb, "visit", v3, "odometer_m", (int64_t)rows[i].odometer_m, &e) : logbook_clear(lb, "visit", v3, "odometer_m", &e)) &&
                    logbook_set_text(lb, "visit", v3, "last_run", rows[i].last_run, &e) && (rows[i].ticked == NULL || logbook_put_step(lb, &idle, &e)) && logbook_commit(lb, &e));
        assert_true(logbook_load_record(lb, engine, NULL, &r, &e));
        assert_string_equal(r.visits[r.n_visits - 1].readings[0].plug_name, "new one");
        if (reading_has_not_run(&r.visits[r.n_visits - 1].readings[0]) != rows[i].unrun)
            fail_msg("row %zu: %d", i, r.visits[r.n_visits - 1].readings[0].unrun);
        assert_false(reading_has_not_run(&r.visits[r.n_visits - 1].readings[1])); /* one that was in before */
        assert_false(reading_has_not_run(&r.visits[r.n_visits - 2].readings[0])); /* what was read before it came */
        record_release(&r);
    }
    logbook_close(lb);
}

/* Each kilometre counts for the plug that ran it, wherever it sat. */
static void a_part_has_its_own_run(void **state)
{
    struct logbook *lb = fresh();
    struct arena *a = arena_create();
    struct logbook_part *parts;
    const struct logbook_part *p;
    struct record r;
    struct err e = {0};
    char v2[UUID_BYTES], v3[UUID_BYTES], v4[UUID_BYTES];
    size_t n;
    int plug = words_find(WORDS_DONE_PART, "plug");

    (void)state;
    next_visit(lb, "2031-01-01", 10e6, v2);
    assert_true(logbook_begin(lb, "New", &e) && logbook_renew_part(lb, v2, engine, &en, "plug", 0, 0, "new one", &e) && logbook_commit(lb, &e));
    next_visit(lb, "2031-02-01", 11e6, v3); /* 1,000 km in 1 */
    assert_true(logbook_begin(lb, "Moved", &e) && logbook_swap_parts(lb, v3, engine, &en, plug, 0, 2, &e) && logbook_commit(lb, &e));
    next_visit(lb, "2031-03-01", 11.5e6, v4); /* 500 km in 3 */
    expect_sound(lb);
    load_parts(lb, NULL, a, &r, &parts, &n);
    p = part_named(parts, n, "new one");
    assert_int_equal(p->cylinder, 2);
    assert_string_equal(p->since, "2031-02-01");
    assert_true(p->run_m.given && !p->run_at_least && !p->moved_now);
    assert_float_equal(p->run_m.value, 1.5e6, 1);
    assert_int_equal(p->n_seats, 2);
    p = part_named(parts, n, "plug from 1"); /* the old one, set aside when the new one came */
    assert_int_equal(p->cylinder, -1);
    assert_string_equal(p->state, "aside");
    p = part_named(parts, n, "plug from 3"); /* never seen new: at least what the logbook knows of */
    assert_int_equal(p->cylinder, 0);
    assert_true(p->run_m.given && p->run_at_least);
    assert_float_equal(p->run_m.value, 1.5e6, 1);
    /* the readings after a move say which plug they are of, though nobody typed it */
    assert_string_equal(r.visits[3].readings[2].plug_name, "new one");
    assert_string_equal(r.visits[2].readings[0].plug_name, "new one");
    assert_string_equal(r.visits[3].readings[0].plug_name, "plug from 3");
    record_release(&r);
    /* as it was seen at an earlier visit */
    load_parts(lb, v3, a, &r, &parts, &n);
    p = part_named(parts, n, "new one");
    assert_true(p->moved_now);
    assert_float_equal(p->run_m.value, 1e6, 1);
    record_release(&r);
    /* fitted again where the new one was: that is set aside, and both keep what they ran */
    p = part_named(parts, n, "plug from 1");
    assert_true(logbook_begin(lb, "Fitted", &e) && logbook_fit_part(lb, v4, engine, &en, p->id, 2, 0, &e) && logbook_commit(lb, &e));
    load_parts(lb, NULL, a, &r, &parts, &n);
    assert_int_equal(part_named(parts, n, "plug from 1")->cylinder, 2);
    assert_string_equal(part_named(parts, n, "new one")->state, "aside");
    assert_float_equal(part_named(parts, n, "new one")->run_m.value, 1.5e6, 1);
    record_release(&r);
    assert_true(logbook_begin(lb, "Fitted", &e));
    assert_false(logbook_fit_part(lb, v4, engine, &en, part_named(parts, n, "plug from 1")->id, 3, 0, &e));
    assert_non_null(strstr(e.text, "in a hole"));
    logbook_rollback(lb);
    expect_sound(lb);
    for (int i = 0; i < 6; i++) /* and back to where nothing was a thing */
        assert_true(logbook_undo(lb, &e));
    load_parts(lb, NULL, a, &r, &parts, &n);
    assert_int_equal(n, 0);
    record_release(&r);
    expect_sound(lb);
    arena_destroy(a);
    logbook_close(lb);
}

/* A plug that a reading names and nobody moved is in the hole it was read in, until another is named there. */
static void a_named_plug_is_where_it_was_read(void **state)
{
    struct logbook *lb = fresh();
    struct arena *a = arena_create();
    struct logbook_part *parts;
    struct record r;
    struct reading q;
    struct err e = {0};
    char v2[UUID_BYTES], v3[UUID_BYTES];
    size_t n;

    (void)state;
    next_visit(lb, "2031-01-01", 10e6, v2);
    reading_init(&q, 1, 0);
    text_copy(q.plug_name, sizeof q.plug_name, "blue dot");
    q.plug_distance_m = MAYBE(7e6);
    assert_true(logbook_begin(lb, "Named", &e) && logbook_put_reading(lb, v2, &q, &e) && logbook_commit(lb, &e));
    next_visit(lb, "2031-02-01", 10.4e6, v3);
    load_parts(lb, NULL, a, &r, &parts, &n);
    assert_int_equal(n, 1);
    assert_int_equal(parts[0].cylinder, 1);
    assert_float_equal(parts[0].run_m.value, 7.4e6f, 1);
    assert_false(parts[0].run_at_least);
    record_release(&r);
    text_copy(q.plug_name, sizeof q.plug_name, "red dot");
    q.plug_distance_m = (struct maybe){false, 0};
    assert_true(logbook_begin(lb, "Named", &e) && logbook_put_reading(lb, v3, &q, &e) && logbook_commit(lb, &e));
    load_parts(lb, NULL, a, &r, &parts, &n);
    assert_int_equal(part_named(parts, n, "blue dot")->cylinder, -1);
    assert_int_equal(part_named(parts, n, "red dot")->cylinder, 1);
    record_release(&r);
    arena_destroy(a);
    logbook_close(lb);
}

/* A rotation is one edit, and refuses to leave a hole empty or to put two plugs into one. */
static void plugs_are_rotated_as_one_edit(void **state)
{
    static const struct {
        const char *text, *says;
    } wrong[] = {{"1 > 3", "into 1"}, {"1 > 3, 2 > 3, 3 > 1", "Nothing is to go into 2"}, {"1 > 3, 2 > 3, 3 > 1, 3 > 2", "two holes"}};
    struct logbook *lb = fresh();
    struct arena *a = arena_create();
    struct plug_move moves[ENGINE_MAX_PLUGS];
    struct logbook_part *parts;
    struct record r;
    struct err e = {0};
    size_t n_parts;
    int n;

    (void)state;
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        err_clear(&e);
        assert_true(record_parse_moves(&en, wrong[i].text, moves, &n, &e) && logbook_begin(lb, "Rotated", &e));
        assert_false(logbook_move_parts(lb, visit, engine, &en, "plug", moves, n, &e));
        if (strstr(e.text, wrong[i].says) == NULL)
            fail_msg("%s: %s", wrong[i].text, e.text);
        logbook_rollback(lb);
    }
    assert_true(record_parse_moves(&en, "1 > 3 > 4 > 2 > 1", moves, &n, &e));
    assert_int_equal(n, 4);
    assert_true(logbook_begin(lb, "Rotated", &e) && logbook_move_parts(lb, visit, engine, &en, "plug", moves, n, &e) && logbook_commit(lb, &e));
    expect_sound(lb);
    load_parts(lb, NULL, a, &r, &parts, &n_parts);
    assert_int_equal(n_parts, 4);
    assert_int_equal(part_named(parts, n_parts, "plug from 1")->cylinder, 2);
    assert_int_equal(part_named(parts, n_parts, "plug from 3")->cylinder, 3);
    assert_int_equal(part_named(parts, n_parts, "plug from 4")->cylinder, 1);
    assert_int_equal(part_named(parts, n_parts, "plug from 2")->cylinder, 0);
    assert_true(part_named(parts, n_parts, "plug from 2")->moved_now);
    record_release(&r);
    assert_true(logbook_undo(lb, &e));
    load_parts(lb, NULL, a, &r, &parts, &n_parts);
    assert_int_equal(n_parts, 0);
    record_release(&r);
    expect_sound(lb);
    arena_destroy(a);
    logbook_close(lb);
}

/* Work noted as a line ends the stay of a part that is known, and gives it back when it is taken back. */
static void a_renewal_in_words_ends_a_stay(void **state)
{
    struct logbook *lb = fresh();
    struct arena *a = arena_create();
    struct logbook_part *parts;
    struct visit_done d;
    struct record r;
    struct err e = {0};
    char v2[UUID_BYTES];
    size_t n;

    (void)state;
    assert_true(logbook_begin(lb, "Moved", &e) && logbook_swap_parts(lb, visit, engine, &en, words_find(WORDS_DONE_PART, "coil"), 0, 2, &e) && logbook_commit(lb, &e));
    next_visit(lb, "2031-01-01", 10e6, v2);
    assert_true(visit_parse_done(&en, "replaced:coil:cylinder 3", &d, &e));
    for (int k = 0; k < 2; k++) {
        assert_true(logbook_begin(lb, "Renewed", &e) && logbook_note_renewed(lb, v2, engine, &en, &d, k == 0, &e) && logbook_commit(lb, &e));
        load_parts(lb, NULL, a, &r, &parts, &n);
        assert_int_equal(part_named(parts, n, "coil from 1")->cylinder, k == 0 ? -1 : 2);
        assert_int_equal(part_named(parts, n, "coil from 3")->cylinder, 0);
        record_release(&r);
        expect_sound(lb);
    }
    arena_destroy(a);
    logbook_close(lb);
}

/* What waits, is to be looked at again, repairs something or was written by hand outlives its visit; what every
 * visit begins and ends with does not. */
static void what_a_visit_leaves_open_is_found_at_the_next(void **state)
{
    static const struct {
        const char *text, *state, *source, *done_on;
        bool left;
    } rows[] = {{"by hand", "todo", "", "", true},
                {"pull", "todo", "pull", "", false},
                {"pull, socket lent", "waiting", "pull", "", true},
                {"again", "later", "again:coil-one@cylinder 3", "", true},
                {"repair", "todo", "coil-one@cylinder 3", "", true},
                {"turn by hand", "todo", "turn", "", true},
                {"set gaps", "todo", "gaps", "", true},
                {"is the miss gone?", "todo", "idle", "", true},
                {"look", "todo", "look", "", false},
                {"done before", "done", "", "2026-06-14", false},
                {"done since", "done", "", "2026-07-02", true}};
    struct logbook *lb = fresh();
    struct arena *a = arena_create();
    struct logbook_step *steps;
    struct logbook_need *needs;
    struct logbook_engine *engines;
    char later[UUID_BYTES];
    struct err e = {0};
    size_t n, n_left = 0;

    (void)state;
    assert_true(logbook_begin(lb, "Rows", &e));
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct logbook_step s = {0};

        uuid_make(s.id);
        text_copy(s.visit, sizeof s.visit, visit);
        text_copy(s.text, sizeof s.text, rows[i].text);
        text_copy(s.state, sizeof s.state, rows[i].state);
        text_copy(s.source, sizeof s.source, rows[i].source);
        text_copy(s.done_on, sizeof s.done_on, rows[i].done_on);
        assert_true(logbook_put_step(lb, &s, &e));
    }
    for (int i = 0; i < 3; i++) {
        struct logbook_need d = {.quantity = 1};

        uuid_make(d.id);
        text_copy(d.visit, sizeof d.visit, visit);
        text_copy(d.text, sizeof d.text, i == 0 ? "coil" : i == 1 ? "seals" : "washers");
        text_copy(d.state, sizeof d.state, i == 0 ? "ordered" : "fitted");
        text_copy(d.on, sizeof d.on, i == 1 ? "2026-07-03" : "2026-06-14");
        assert_true(logbook_put_need(lb, &d, &e));
    }
    assert_true(logbook_commit(lb, &e));
    next_visit(lb, "2026-07-01", 1000e3, later);
    assert_true(logbook_list_left_steps(lb, later, a, &steps, &n, &e));
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (rows[i].left)
            assert_true(n_left < n && strcmp(steps[n_left++].text, rows[i].text) == 0);
    assert_int_equal(n, n_left);
    assert_true(logbook_list_left_needs(lb, later, a, &needs, &n, &e));
    assert_int_equal(n, 2);
    assert_string_equal(needs[0].text, "coil");
    assert_string_equal(needs[1].text, "seals");
    assert_true(logbook_list_engines(lb, a, &engines, &n, &e));
    assert_int_equal(engines[0].n_open_steps, 7); /* those left but the one done since */
    assert_string_equal(engines[0].next_step, "by hand");
    arena_destroy(a);
    logbook_close(lb);
}

/* Liquid that may stand in a cylinder: turning by hand is wanted until the engine has run, however many visits
 * come between. */
static void turning_by_hand_stays_until_it_ran(void **state)
{
    static const struct {
        double odometer_m;
        const char *last_run;
        size_t left;
        const char *date; /* the same day it drove before it was opened: as in ready.h */
    } rows[] = {{990e3, "", 1, "2026-07-01"},     {990e3, "stored", 1, "2026-07-01"}, {990e3, "cranked", 1, "2026-07-01"}, {990e3, "idle", 0, "2026-07-01"},
                {990e3, "load", 0, "2026-07-01"}, {990e3, "load", 1, "2026-06-14"},   {991e3, "", 0, "2026-07-01"},        {991e3, "", 0, "2026-06-14"}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct logbook *lb = fresh();
        struct arena *a = arena_create();
        struct logbook_step s = {.state = "todo", .source = "turn", .text = "Turn the engine by hand"}, *steps;
        char later[UUID_BYTES];
        struct err e = {0};
        size_t n;

        uuid_make(s.id);
        text_copy(s.visit, sizeof s.visit, visit);
        assert_true(logbook_begin(lb, "Step", &e) && logbook_set_int(lb, "visit", visit, "odometer_m", 990000, &e) && logbook_put_step(lb, &s, &e) && logbook_commit(lb, &e));
        next_visit(lb, rows[i].date, rows[i].odometer_m, later);
        if (rows[i].last_run[0] != '\0')
            assert_true(logbook_begin(lb, "Run", &e) && logbook_set_text(lb, "visit", later, "last_run", rows[i].last_run, &e) && logbook_commit(lb, &e));
        assert_true(logbook_list_left_steps(lb, later, a, &steps, &n, &e));
        assert_int_equal(n, rows[i].left);
        arena_destroy(a);
        logbook_close(lb);
        drop_folder(state);
        make_folder(state);
    }
}

/* What "do not start" rests on comes with the record: steps, photos, closing, those of visits after which it has not run. */
static void the_state_of_a_visit_is_loaded(void **state)
{
    struct logbook *lb = fresh();
    struct logbook_step turn = {.state = "todo", .source = "turn"};
    struct logbook_photo photo = {.cylinder = 1, .zone = ZONE_FIRING_END};
    struct visit *later = mem_alloc(1, sizeof *later);
    char later_id[UUID_BYTES], id[UUID_BYTES];
    struct record r;
    struct err e = {0};

    (void)state;
    uuid_make(turn.id);
    text_copy(turn.visit, sizeof turn.visit, visit);
    text_copy(turn.text, sizeof turn.text, "Turn it by hand");
    uuid_make(photo.id);
    text_copy(photo.visit, sizeof photo.visit, visit);
    text_copy(photo.sha256, sizeof photo.sha256, "ab");
    assert_true(logbook_begin(lb, "x", &e) && logbook_put_step(lb, &turn, &e) && logbook_put_photo(lb, &photo, &e) && logbook_touch_reading(lb, visit, 2, 0, id, &e) &&
                logbook_set_int(lb, "reading", id, "connected", 0, &e) && logbook_commit(lb, &e));
    assert_true(logbook_load_record(lb, engine, NULL, &r, &e));
    assert_int_equal(r.visits[0].state.turned, TURN_OPEN);
    assert_true(r.n_later == 0 && !r.visits[0].state.ran && r.visits[0].state.closed == 0);
    assert_true(r.visits[0].readings[1].drawn_by == DRAWN_PHOTO && r.visits[0].readings[0].drawn_by == 0);
    assert_true(r.visits[0].readings[2].unplugged && !r.visits[0].readings[1].unplugged);
    record_release(&r);
    assert_true(logbook_begin(lb, "x", &e) && logbook_set_text(lb, "step", turn.id, "state", "done", &e) && logbook_set_int(lb, "visit", visit, "closed", 1, &e) && logbook_commit(lb, &e));
    visit_init(later, &en);
    text_copy(later->date, sizeof later->date, "2026-07-01");
    uuid_make(later_id);
    assert_true(logbook_begin(lb, "x", &e) && logbook_put_visit(lb, later_id, engine, &en, later, &e) && logbook_commit(lb, &e));
    assert_true(logbook_load_record(lb, engine, visit, &r, &e));
    assert_true(r.n_visits == 1 && r.n_later == 1 && r.visits[0].state.closed == CLOSED_BY_HAND && r.visits[0].state.turned == TURN_DONE);
    record_release(&r);
    assert_true(logbook_load_record(lb, engine, later_id, &r, &e));
    assert_true(r.n_visits == 2 && r.n_later == 0);
    assert_int_equal(r.visits[0].state.turned, TURN_DONE); /* the engine has not run since: that visit counts still */
    assert_true(r.visits[0].readings[1].drawn_by == DRAWN_PHOTO);
    record_release(&r);
    free(later);
    logbook_close(lb);
}

/* What is called stop ends by its step that is ticked, or by its cause that is set aside or repaired, at any visit since. */
static void what_was_looked_into_is_told(void **state)
{
    static const struct {
        const char *source, *done, *cause, *state;
        engine_set told, taken, mended; /* of metal specks; of a piston taken for the cause */
    } rows[] = {{"stop-metal-specks@cylinders 2, 3", "todo", "", "", 0, 0, 0}, {"stop-metal-specks@cylinders 2, 3", "done", "", "", 6, 0, 0},
                {"", "", "piston", "accepted", 0, 2, 0}, {"", "", "piston", "dismissed", 2, 0, 2}, {"", "", "piston", "repaired", 2, 0, 2}, {"", "", "coolant", "dismissed", 0, 0, 0},
                {"piston@cylinder 2", "todo", "piston", "accepted", 0, 2, 0}, {"piston@cylinder 2", "done", "piston", "accepted", 0, 2, 2}};
    int piston = 0;

    (void)state;
    while (strcmp(stop_row(piston)->id, "taken-piston") != 0)
        piston++;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct logbook *lb;
        struct logbook_step s = {.text = "Look into it"};
        struct logbook_verdict w = {.place = "cylinder 2"};
        struct record r;
        struct err e = {0};

        lb = fresh();
        text_copy(s.visit, sizeof s.visit, visit);
        text_copy(s.source, sizeof s.source, rows[i].source);
        text_copy(s.state, sizeof s.state, rows[i].done);
        text_copy(w.engine, sizeof w.engine, engine);
        text_copy(w.visit, sizeof w.visit, visit);
        text_copy(w.cause, sizeof w.cause, rows[i].cause);
        text_copy(w.state, sizeof w.state, rows[i].state);
        uuid_make(s.id);
        logbook_verdict_id(visit, w.cause, w.place, w.id);
        if (!logbook_begin(lb, "told", &e) || (s.source[0] != '\0' && !logbook_put_step(lb, &s, &e)) || (w.cause[0] != '\0' && !logbook_put_verdict(lb, &w, &e)) || !logbook_commit(lb, &e) ||
            !logbook_load_record(lb, engine, NULL, &r, &e))
            fail_msg("%s", e.text);
        assert_int_equal(r.visits[0].state.stops_told[0], rows[i].told);
        assert_int_equal(r.visits[0].state.stops_taken[piston], rows[i].taken);
        assert_int_equal(r.visits[0].state.stops_told[piston], rows[i].mended);
        assert_int_equal(r.visits[0].state.turned, 0);
        record_release(&r);
        logbook_close(lb);
        if (i + 1 < sizeof rows / sizeof rows[0]) {
            drop_folder(NULL);
            make_folder(NULL);
        }
    }
}

/* So is a cause with which it is not to be run: accepted at a visit it ran after it stands, until its step is ticked or it is gone. */
static void a_cause_accepted_before_it_ran_stands(void **state)
{
    static const struct {
        const char *step, *judged;
        engine_set stands;
    } rows[] = {{"todo", "accepted", 2}, {"done", "accepted", 0}, {"todo", "dismissed", 0}, {"todo", "gone", 0}};
    struct logbook *lb = fresh();
    struct logbook_verdict w = {.place = "cylinder 2", .cause = "coolant", .state = "accepted"};
    struct err e = {0};
    char later[UUID_BYTES], step[UUID_BYTES];

    (void)state;
    text_copy(w.engine, sizeof w.engine, engine);
    text_copy(w.visit, sizeof w.visit, visit);
    logbook_verdict_id(visit, w.cause, w.place, w.id);
    assert_true(logbook_begin(lb, "Coolant", &e) && logbook_put_verdict(lb, &w, &e) && logbook_set_int(lb, "visit", visit, "odometer_m", 98000000, &e) && logbook_commit(lb, &e));
    add_step(lb, "Pressure-test the cooling system", step);
    assert_true(logbook_begin(lb, "Source", &e) && logbook_set_text(lb, "step", step, "source", "coolant@cylinder 2", &e) && logbook_commit(lb, &e));
    next_visit(lb, "2026-08-14", 101000000, later);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct record r;
        struct ready ready;

        assert_true(logbook_begin(lb, "Say", &e) && logbook_set_text(lb, "step", step, "state", rows[i].step, &e) && logbook_set_text(lb, "verdict", w.id, "state", rows[i].judged, &e) && logbook_commit(lb, &e));
        assert_true(logbook_load_record(lb, engine, later, &r, &e));
        ready_of(&r, &ready);
        assert_int_equal(ready_stops_set(&ready), rows[i].stands);
        record_release(&r);
    }
    logbook_close(lb);
}

/* It was run over a melted electrode: whether somebody looked into it since is read of that visit too, which tells nothing else any
 * more. */
static void what_was_looked_into_is_told_of_a_visit_it_ran_after(void **state)
{
    struct logbook *lb = fresh();
    struct err e = {0};
    char row[UUID_BYTES], later[UUID_BYTES], step[UUID_BYTES];
    int melted = 0;

    (void)state;
    while (strcmp(stop_row(melted)->id, "melted") != 0)
        melted++;
    assert_true(logbook_begin(lb, "Melted", &e) && logbook_touch_reading(lb, visit, 1, 0, row, &e) && logbook_set_text(lb, "reading", row, "electrode", "melted", &e) &&
                logbook_set_int(lb, "visit", visit, "odometer_m", 98000000, &e) && logbook_commit(lb, &e));
    add_step(lb, "Look into the cylinder", step);
    assert_true(logbook_begin(lb, "Source", &e) && logbook_set_text(lb, "step", step, "source", "stop-melted@cylinder 2", &e) && logbook_commit(lb, &e));
    next_visit(lb, "2026-08-14", 101000000, later);
    for (int ticked = 0; ticked < 2; ticked++) {
        struct record r;
        struct ready ready;

        assert_true(logbook_begin(lb, "Tick", &e) && logbook_set_text(lb, "step", step, "state", ticked ? "done" : "todo", &e) && logbook_commit(lb, &e));
        assert_true(logbook_load_record(lb, engine, later, &r, &e));
        assert_int_equal(r.n_visits, 2);
        assert_int_equal(r.visits[0].state.stops_told[melted], ticked ? 2 : 0);
        ready_of(&r, &ready);
        assert_int_equal(ready_stops_set(&ready), ticked ? 0 : 2);
        record_release(&r);
    }
    logbook_close(lb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(steps_are_moved_and_moved_back, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_cause_is_judged_in_one_row, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_part_goes_from_hole_to_hole_as_one_edit, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(how_a_plug_was_refitted_is_kept, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_part_has_its_own_run, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_new_plug_that_stood_still_is_known, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_named_plug_is_where_it_was_read, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(plugs_are_rotated_as_one_edit, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_renewal_in_words_ends_a_stay, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(the_state_of_a_visit_is_loaded, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_a_visit_leaves_open_is_found_at_the_next, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_was_looked_into_is_told, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_was_looked_into_is_told_of_a_visit_it_ran_after, make_folder, drop_folder), cmocka_unit_test_setup_teardown(a_cause_accepted_before_it_ran_stands, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(turning_by_hand_stays_until_it_ran, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
