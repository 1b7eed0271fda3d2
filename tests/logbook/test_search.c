/* Search: what is noted is found by its words, what is taken away or undone is not. */
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
#include "base/units.h"
#include "logbook/logbook_db.h"
#include "../help/help.h"

static size_t found(struct logbook *lb, const char *words, int most, char *first, size_t n_room)
{
    struct arena *a = arena_create();
    struct logbook_hit *hits;
    struct err e = {0};
    size_t n;

    if (!logbook_search(lb, words, most, a, &hits, &n, &e))
        fail_msg("%s: %s", words, e.text);
    text_format(first, n_room, "%s|%s|%s|", n > 0 ? hits[0].table : "", n > 0 ? hits[0].engine_name : "", n > 0 ? hits[0].date : "");
    for (size_t at = 0; n > 0 && at <= strlen(hits[0].text); at++) { /* places in brackets */
        char sign[2] = {hits[0].text[at], '\0'};

        assert_true(sign[0] != 2 && sign[0] != 3);
        for (int i = 0; i < hits[0].n_places; i++) {
            strncat(first, hits[0].places[i].to == at ? "]" : "", n_room - strlen(first) - 1);
            strncat(first, hits[0].places[i].from == at ? "[" : "", n_room - strlen(first) - 1);
        }
        strncat(first, sign, n_room - strlen(first) - 1);
    }
    arena_destroy(a);
    return n;
}

static void words_are_found_where_they_stand(void **state)
{
    static const struct {
        const char *words;
        size_t n;
        const char *first;
    } cases[] = {
        {"barn", 1, "visit|Ember|2026-06-14|2026-06-14 stood four years in a [barn] P0306"},
        {"BAR four", 0, ""}, /* only the last word may be a beginning */
        {"four bar", 1, "visit|Ember|2026-06-14|2026-06-14 stood [four] years in a [barn] P0306"},
        {"slight miss", 1, "visit|Ember|2026-06-14|2026-06-14 stood four years in a barn P0306 [slight] [miss]"},
        {"p0306", 1, "visit|Ember|2026-06-14|2026-06-14 stood four years in a barn [P0306]"},
        {"ember", 1, "engine|Ember||[Ember] straight four"},
        {"resume", 1, "fact|Ember||sump [résumé] 4.2 l"},
        {"coil", 0, ""},
        {"\"", 0, ""}, {"*", 0, ""}, {"AND OR NOT (", 0, ""}, {"four\" OR \"barn", 0, ""},
        {"  ", 0, ""}, {"", 0, ""},
    };
    struct logbook *lb;
    struct engine en;
    struct visit *v = mem_alloc(1, sizeof *v);
    struct logbook_fact fact = {.label = "sump", .value = "résumé 4.2 l"};
    char engine[UUID_BYTES], visit[UUID_BYTES], first[512];
    struct err e = {0};

    (void)state;
    assert_true(logbook_create(folder, &e));
    lb = logbook_open(folder, LOGBOOK_WRITE, &e);
    assert_non_null(lb);
    engine_init(&en);
    text_copy(en.name, sizeof en.name, "Ember");
    text_copy(en.subtitle, sizeof en.subtitle, "straight four");
    assert_true(engine_parse_banks(&en, "1 2 3 4", &e) && engine_parse_firing(&en, "1 3 4 2", &e) && engine_finish(&en, &e));
    uuid_make(engine);
    uuid_make(visit);
    uuid_make(fact.id);
    text_copy(fact.engine, sizeof fact.engine, engine);
    text_copy(en.plug.type, sizeof en.plug.type, "Quill 14-R");
    visit_init(v, &en);
    text_copy(v->date, sizeof v->date, "2026-06-14");
    text_copy(v->notes, sizeof v->notes, "stood four years in a barn");
    text_copy(v->codes[v->n_codes++], 8, "P0306");
    text_copy(v->complaint_words, sizeof v->complaint_words, "slight miss at hot idle, gone above 1500");
    assert_true(logbook_begin(lb, "All", &e) && logbook_put_engine(lb, engine, &en, &e) && logbook_put_visit(lb, visit, engine, &en, v, &e) &&
                logbook_put_fact(lb, &fact, &e) && logbook_commit(lb, &e));
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        size_t n = found(lb, cases[i].words, 50, first, sizeof first);

        if (n != cases[i].n || (n > 0 && strncmp(first, cases[i].first, strlen(cases[i].first)) != 0))
            fail_msg("“%s”: %zu, %s", cases[i].words, n, first);
    }
    assert_int_equal(found(lb, "quill", 50, first, sizeof first), 1); /* the plug its book names */
    assert_int_equal(found(lb, "four", 50, first, sizeof first), 2);
    assert_int_equal(found(lb, "four", 1, first, sizeof first), 1);
    text_copy(v->notes, sizeof v->notes, "dry shed");
    assert_true(logbook_begin(lb, "Notes", &e) && logbook_put_visit(lb, visit, engine, &en, v, &e) && logbook_commit(lb, &e));
    assert_int_equal(found(lb, "barn", 50, first, sizeof first), 0);
    assert_int_equal(found(lb, "shed", 50, first, sizeof first), 1);
    assert_true(logbook_undo(lb, &e));
    assert_int_equal(found(lb, "barn", 50, first, sizeof first), 1);
    assert_true(logbook_begin(lb, "Engine taken out", &e) && logbook_remove(lb, "engine", engine, &e) && logbook_commit(lb, &e));
    assert_int_equal(found(lb, "barn", 50, first, sizeof first), 0); /* nor what belonged to it */
    free(v);
    logbook_close(lb);
}

/* A step that was proposed keeps its figure, not the words it was proposed in: it is told in the units that are set. */
static void a_steps_figure_is_told_in_the_units_set(void **state)
{
    static const struct {
        bool inches;
        const char *words, *hit, *step;
    } rows[] = {{false, "set", "[Set] the gap to 0.90 mm: plug 3", "Set the gap to 0.90 mm: plug 3"},
                {true, "set", "[Set] the gap to 0.035 in: plug 3", "Set the gap to 0.035 in: plug 3"},
                {true, "mm", "Set the gap to [0.035 in]: plug 3", "Set the gap to 0.035 in: plug 3"}};
    struct logbook *lb;
    struct engine en;
    struct visit *v = mem_alloc(1, sizeof *v);
    struct logbook_step step = {.text = "Set the gap to {0.9 mm}: plug 3", .state = "todo"}, *steps;
    struct logbook_engine *engines;
    struct arena *a = arena_create();
    char engine[UUID_BYTES], first[512];
    struct err e = {0};
    size_t n;

    (void)state;
    assert_true(logbook_create(folder, &e));
    lb = logbook_open(folder, LOGBOOK_WRITE, &e);
    assert_non_null(lb);
    engine_init(&en);
    text_copy(en.name, sizeof en.name, "Ember");
    assert_true(engine_parse_banks(&en, "1 2 3 4", &e) && engine_parse_firing(&en, "1 3 4 2", &e) && engine_finish(&en, &e));
    uuid_make(engine);
    uuid_make(step.visit);
    uuid_make(step.id);
    visit_init(v, &en);
    text_copy(v->date, sizeof v->date, "2026-06-14");
    assert_true(logbook_begin(lb, "All", &e) && logbook_put_engine(lb, engine, &en, &e) && logbook_put_visit(lb, step.visit, engine, &en, v, &e) &&
                logbook_put_step(lb, &step, &e) && logbook_commit(lb, &e));
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        logbook_tell_in(lb, &(struct unit_choice){.inches = rows[i].inches});
        assert_int_equal(found(lb, rows[i].words, 50, first, sizeof first), 1);
        assert_string_equal(strrchr(first, '|') + 1, rows[i].hit);
        assert_true(logbook_list_steps(lb, step.visit, a, &steps, &n, &e) && n == 1);
        assert_string_equal(steps[0].text, rows[i].step);
        assert_true(logbook_list_engines(lb, a, &engines, &n, &e) && n == 1);
        assert_string_equal(engines[0].next_step, rows[i].step);
    }
    arena_destroy(a);
    free(v);
    logbook_close(lb);
}

/* A complaint is found and shown by the words the window has for it, not by its id; also in a logbook that was indexed by ids. */
static void complaints_are_found_by_their_words(void **state)
{
    struct logbook *lb;
    struct engine en;
    struct visit *v = mem_alloc(1, sizeof *v);
    char engine[UUID_BYTES], visit[UUID_BYTES], first[512];
    struct err e = {0};

    (void)state;
    assert_true(logbook_create(folder, &e));
    lb = logbook_open(folder, LOGBOOK_WRITE, &e);
    assert_non_null(lb);
    engine_init(&en);
    text_copy(en.name, sizeof en.name, "Ember");
    assert_true(engine_parse_banks(&en, "1 2 3 4", &e) && engine_parse_firing(&en, "1 3 4 2", &e) && engine_finish(&en, &e));
    uuid_make(engine);
    uuid_make(visit);
    visit_init(v, &en);
    text_copy(v->date, sizeof v->date, "2026-06-14");
    v->complaints[v->n_complaints++] = words_find(WORDS_COMPLAINT, "misfire-idle-hot");
    v->complaints[v->n_complaints++] = words_find(WORDS_COMPLAINT, "burnt-oil-smell");
    v->complaints_given = true;
    assert_true(logbook_begin(lb, "All", &e) && logbook_put_engine(lb, engine, &en, &e) && logbook_put_visit(lb, visit, engine, &en, v, &e) && logbook_commit(lb, &e));
    for (int old = 0; old < 2; old++) {
        assert_int_equal(found(lb, "misses hot idle", 50, first, sizeof first), 1);
        assert_string_equal(first, "visit|Ember|2026-06-14|2026-06-14 [misses] at [hot] [idle], smells of burnt oil");
        assert_int_equal(found(lb, "misfire", 50, first, sizeof first), 0);
        assert_true(logbook_db_exec(lb, "UPDATE words SET text = '2026-06-14 misfire-idle-hot burnt-oil-smell' WHERE text LIKE '2026%'; DELETE FROM meta WHERE key = 'words'", "Test", &e));
        logbook_close(lb);
        lb = logbook_open(folder, LOGBOOK_WRITE, &e);
        assert_non_null(lb);
    }
    free(v);
    logbook_close(lb);
}

/* The shorter text that holds the word comes first; what is taken out takes nobody's place among the few asked for. */
static void the_best_come_first_and_only_what_is_there(void **state)
{
    static const char *const values[] = {"kettle", "kettle, kettle, kettle", "behind the bulkhead beside the kettle somebody left there", "kettle on the bench"};
    struct logbook *lb;
    struct engine en;
    struct logbook_fact facts[4] = {{.label = ""}};
    char engines[2][UUID_BYTES], first[512];
    struct err e = {0};

    (void)state;
    assert_true(logbook_create(folder, &e));
    lb = logbook_open(folder, LOGBOOK_WRITE, &e);
    assert_non_null(lb);
    engine_init(&en);
    text_copy(en.name, sizeof en.name, "Ember");
    assert_true(engine_parse_banks(&en, "1 2 3 4", &e) && engine_parse_firing(&en, "1 3 4 2", &e) && engine_finish(&en, &e));
    assert_true(logbook_begin(lb, "All", &e));
    for (int i = 0; i < 2; i++) {
        uuid_make(engines[i]);
        assert_true(logbook_put_engine(lb, engines[i], &en, &e));
    }
    for (int i = 0; i < 4; i++) { /* the two that rank best are of the first engine */
        uuid_make(facts[i].id);
        text_copy(facts[i].engine, sizeof facts[i].engine, engines[i / 2]);
        text_copy(facts[i].value, sizeof facts[i].value, values[i]);
        assert_true(logbook_put_fact(lb, &facts[i], &e));
    }
    assert_true(logbook_commit(lb, &e));
    assert_int_equal(found(lb, "kettle", 50, first, sizeof first), 4);
    assert_int_equal(found(lb, "k", 2, first, sizeof first), 2);
    assert_null(strstr(first, "bulkhead"));
    assert_true(logbook_begin(lb, "Engine taken out", &e) && logbook_remove(lb, "engine", engines[0], &e) && logbook_commit(lb, &e));
    assert_int_equal(found(lb, "kettle", 1, first, sizeof first), 1);
    assert_non_null(strstr(first, "on the bench"));
    assert_int_equal(found(lb, "kettle", 50, first, sizeof first), 2);
    logbook_close(lb);
}

/* Findings are no edits: kept beside the log, replaced when they change, gone with their visit. */
static void findings_are_found_as_they_were_last_seen(void **state)
{
    struct logbook *lb;
    struct logbook_report report;
    char engine[UUID_BYTES], visit[UUID_BYTES], first[512];
    struct err e = {0};

    (void)state;
    assert_true(logbook_create(folder, &e));
    lb = logbook_open(folder, LOGBOOK_WRITE, &e);
    assert_non_null(lb);
    assert_true(logbook_begin(lb, "Visit", &e) && logbook_add(lb, "engine", engine, &e) && logbook_set_text(lb, "engine", engine, "name", "Ember", &e) && logbook_add(lb, "visit", visit, &e) &&
                logbook_set_text(lb, "visit", visit, "engine", engine, &e) && logbook_set_text(lb, "visit", visit, "date", "2026-06-14", &e) && logbook_commit(lb, &e));
    logbook_keep_findings(lb, engine, visit, "Gap at 3 is unlike its neighbours. Valve-cover gasket, bank 2.");
    assert_int_equal(found(lb, "gasket unlike", 9, first, sizeof first), 1);
    assert_string_equal(first, "finding|Ember|2026-06-14|Gap at 3 is [unlike] its neighbours. Valve-cover [gasket], bank 2.");
    logbook_keep_findings(lb, engine, visit, "Oil in the well of 4.");
    assert_int_equal(found(lb, "gasket", 9, first, sizeof first), 0);
    assert_int_equal(found(lb, "oil wel", 9, first, sizeof first), 1);
    assert_true(logbook_verify(lb, &report, &e));
    assert_string_equal(report.text, "");
    assert_int_equal(report.n_edits, 5);
    assert_true(logbook_begin(lb, "Out", &e) && logbook_remove(lb, "visit", visit, &e) && logbook_commit(lb, &e));
    assert_int_equal(found(lb, "oil", 9, first, sizeof first), 0);
    assert_true(logbook_undo(lb, &e));
    assert_int_equal(found(lb, "oil", 9, first, sizeof first), 1);
    logbook_keep_findings(lb, engine, visit, "");
    assert_int_equal(found(lb, "oil", 9, first, sizeof first), 0);
    logbook_close(lb);
}

/* A first letter stands in nearly all that was noted: engines of that name come first, then what was noted last; what is taken out
 * takes nobody's place. As soon as few hold what was typed, the best come first again. */
static void of_very_many_engines_come_first_then_the_latest(void **state)
{
    enum { FACTS = 1100, LATE = 20, GONE = 50 }; /* the latest are of an engine that is taken out */
    static const char *const names[] = {"Kestrel", "Ember", "Kettle"};
    struct logbook *lb;
    struct engine en;
    struct logbook_fact fact = {.label = ""};
    struct logbook_hit *hits;
    struct arena *a = arena_create();
    char engines[3][UUID_BYTES];
    struct err e = {0};
    size_t n;

    (void)state;
    assert_true(logbook_create(folder, &e));
    lb = logbook_open(folder, LOGBOOK_WRITE, &e);
    assert_non_null(lb);
    assert_true(logbook_begin(lb, "All", &e));
    for (int i = 0; i < 3; i++) {
        engine_init(&en);
        text_copy(en.name, sizeof en.name, names[i]);
        assert_true(engine_parse_banks(&en, "1 2 3 4", &e) && engine_parse_firing(&en, "1 3 4 2", &e) && engine_finish(&en, &e));
        uuid_make(engines[i]);
        assert_true(logbook_put_engine(lb, engines[i], &en, &e));
    }
    for (int i = 0; i < FACTS + LATE + GONE; i++) {
        if (i == FACTS || i == FACTS + LATE)
            assert_true(logbook_commit(lb, &e) && logbook_begin(lb, "Later", &e));
        uuid_make(fact.id);
        text_copy(fact.engine, sizeof fact.engine, engines[i < FACTS + LATE ? 1 : 2]);
        text_format(fact.value, sizeof fact.value, i < FACTS ? "kept %d%s" : "kept late %d", i, i == 7 ? " in the kiln" : "");
        assert_true(logbook_put_fact(lb, &fact, &e));
    }
    assert_true(logbook_commit(lb, &e) && logbook_begin(lb, "Engine taken out", &e) && logbook_remove(lb, "engine", engines[2], &e) && logbook_commit(lb, &e));
    assert_true(logbook_search(lb, "k", 1 + LATE, a, &hits, &n, &e));
    assert_int_equal(n, 1 + LATE);
    assert_string_equal(hits[0].table, "engine");
    assert_string_equal(hits[0].engine_name, "Kestrel");
    for (int i = 1; i <= LATE; i++)
        assert_non_null(strstr(hits[i].text, "late"));
    assert_true(logbook_search(lb, "ki", 20, a, &hits, &n, &e));
    assert_int_equal(n, 1);
    assert_true(logbook_search(lb, "kept 7", 2000, a, &hits, &n, &e)); /* 7, 70 to 79, 700 to 799: the longest last */
    assert_int_equal(n, 111);
    assert_string_equal(hits[110].text, "kept 7 in the kiln");
    assert_true(logbook_search(lb, "kept", 2000, a, &hits, &n, &e)); /* all that are there */
    assert_int_equal(n, FACTS + LATE);
    arena_destroy(a);
    logbook_close(lb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(of_very_many_engines_come_first_then_the_latest, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(the_best_come_first_and_only_what_is_there, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(complaints_are_found_by_their_words, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_steps_figure_is_told_in_the_units_set, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(findings_are_found_as_they_were_last_seen, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(words_are_found_where_they_stand, make_folder, drop_folder),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
