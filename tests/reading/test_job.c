/* What a job proposes, from its tables; whether a repair held; where trouble went after a swap. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "reading/cause_table.h"
#include "reading/cause_at.h"
#include "reading/job.h"
#include "reading/reading_work.h"
#include "reading/refit.h"
#include "record/stops.h"
#include "../help/help.h"

static struct record inline_engine(const char *banks, const char *firing)
{
    struct record r;
    struct err e = {0};

    record_init(&r);
    if (!engine_parse_banks(&r.engine, banks, &e) || !engine_parse_firing(&r.engine, firing, &e) || !engine_finish(&r.engine, &e))
        fail_msg("%s", e.text);
    r.engine.plug.gap_min_mm = 1.0;
    r.engine.plug.gap_max_mm = 1.1;
    record_add_visit(&r);
    for (int c = 0; c < r.engine.n_cylinders; c++)
        reading_note(visit_reading(&r.visits[0], &r.engine, c, 0), SIGN_NORMAL, 2);
    return r;
}

static struct reading *at(struct record *r, int visit, int c)
{
    return visit_reading(&r->visits[visit], &r->engine, c, 0);
}

static bool has_step(const struct job *j, const char *beginning)
{
    for (int i = 0; i < j->n_steps; i++)
        if (text_starts(j->steps[i].key, beginning))
            return true;
    return false;
}

/* What is called stop is looked into before the plugs go in, and nothing is proposed that it would run for until it was. */
static void what_is_called_stop_is_looked_into_first(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    static struct job j;
    int into = -1, refit = -1, idle = -1;

    (void)state;
    for (int k = 0; k < work_n_states; k++) { /* each state of that level is one */
        bool stop = false;

        for (int i = 0; i < VISIT_STOPS; i++)
            for (int n = 0; n < 2; n++)
                stop = stop || (stop_row(i)->sign < 0 && stop_row(i)->list == work_states[k].list && stop_row(i)->state[n] != NULL && strcmp(stop_row(i)->state[n], work_states[k].id) == 0);
        assert_int_equal(stop, work_states[k].level == LEVEL_STOP);
    }
    for (int k = 0; k < VISIT_STOPS; k++) {
        const struct stop_row *row = stop_row(k);
        struct reading *q = at(&r, 0, 1);
        char key[64];

        if (stop_by_cause(k))
            continue;
        visit_init(&r.visits[0], &r.engine);
        reading_note(q, SIGN_NORMAL, 2);
        if (row->sign >= 0)
            reading_note(q, (enum sign)row->sign, 2);
        else if (row->list == WORDS_ELECTRODE)
            q->electrode = words_find(row->list, row->state[0]);
        else
            q->insulator = words_find(row->list, row->state[0]);
        q->refit = words_find(WORDS_REFIT, "torqued");
        job_propose(&r, NULL, NULL, 0, NULL, &j);
        text_format(key, sizeof key, "stop-%s@cylinder 2", row->id);
        into = refit = idle = -1;
        for (int i = 0; i < j.n_steps; i++) {
            into = strcmp(j.steps[i].key, key) == 0 ? i : into;
            refit = strcmp(j.steps[i].key, "refit") == 0 ? i : refit;
            idle = strcmp(j.steps[i].key, "idle") == 0 || j.steps[i].running ? i : idle;
        }
        if (into < 0 || refit < into || idle >= 0)
            fail_msg("%s: %d %d %d", key, into, refit, idle);
        assert_non_null(strstr(j.steps[into].text, "cylinder 2"));
        r.visits[0].state.stops_told[k] = 2;
        job_propose(&r, NULL, NULL, 0, NULL, &j);
        if (has_step(&j, "idle") != (row->sign >= 0)) /* the scrap plug is still in: nothing it would have to run for */
            fail_msg("%s", row->id);
        q->plug_now = PLUG_OTHER; /* another one is */
        job_propose(&r, NULL, NULL, 0, NULL, &j);
        assert_string_equal(j.steps[j.n_steps - 1].key, "idle");
    }
    record_release(&r);
}

/* A cause with which it is not to be run, once accepted: nothing is proposed that it would run for until it is looked into. That is the step that mends it, and one of
 * its own at a later visit. Each repair that says so has one. */
static void a_cause_with_which_it_is_not_to_be_run_is_looked_into_first(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    const struct job_judged coolant = {.cause = "coolant", .place = "cylinder 2", .state = JOB_ACCEPTED};
    static struct job j;
    int n, taken = 0;
    const struct job_cause *rows = job_causes(&n);

    (void)state;
    for (int i = 0; i < n; i++) {
        bool by_cause = false;

        for (int k = 0; k < VISIT_STOPS; k++)
            by_cause = by_cause || (stop_by_cause(k) && strcmp(stop_row(k)->cause, rows[i].cause) == 0);
        if (by_cause != (strstr(rows[i].repair, "not run") != NULL || strstr(rows[i].repair, "no run") != NULL))
            fail_msg("%s", rows[i].cause);
    }
    while (strcmp(stop_row(taken)->id, "taken-coolant") != 0)
        taken++;
    for (int c = 0; c < 4; c++) {
        reading_note(at(&r, 0, c), SIGN_NORMAL, 2);
        at(&r, 0, c)->refit = words_find(WORDS_REFIT, "torqued");
    }
    r.visits[0].state.stops_taken[taken] = 2;
    job_propose(&r, NULL, &coolant, 1, NULL, &j);
    assert_true(has_step(&j, "coolant@cylinder 2") && !has_step(&j, "stop-taken-coolant@") && !has_step(&j, "idle") && has_step(&j, "turn"));
    record_add_visit(&r);
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_true(has_step(&j, "stop-taken-coolant@cylinder 2") && !has_step(&j, "idle"));
    r.visits[0].state.stops_told[taken] = 2;
    job_propose(&r, NULL, &coolant, 1, NULL, &j);
    assert_false(has_step(&j, "stop-taken-coolant@"));
    record_release(&r);
}

/* The engine was run over it, and nothing of it is there any more: nothing keeps it from being started, and it is proposed at the next visit all the same until it is said. */
static void what_it_was_run_over_is_proposed_until_it_is_said(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    static struct job j;

    (void)state;
    text_copy(r.visits[0].date, sizeof r.visits[0].date, "2026-06-14");
    r.visits[0].odometer_m = MAYBE(98000e3);
    at(&r, 0, 1)->electrode = words_find(WORDS_ELECTRODE, "melted");
    record_add_visit(&r);
    text_copy(r.visits[1].date, sizeof r.visits[1].date, "2026-08-14");
    r.visits[1].odometer_m = MAYBE(101000e3);
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_true(has_step(&j, "stop-melted@cylinder 2") && !has_step(&j, "idle"));
    at(&r, 1, 1)->present = true; /* and looked at again */
    at(&r, 1, 1)->electrode = words_find(WORDS_ELECTRODE, "sharp");
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_true(has_step(&j, "stop-melted@cylinder 2") && has_step(&j, "idle"));
    for (int k = 0; k < VISIT_STOPS; k++)
        r.visits[1].state.stops_told[k] = strcmp(stop_row(k)->id, "melted") == 0 ? 2 : 0;
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_false(has_step(&j, "stop-melted@"));
    record_release(&r);
}

/* Every cause has its row, every caution named is there, every line of work and every measure is one. */
static void the_tables_agree(void **state)
{
    const struct cause_table *t = cause_table_builtin();
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    int n, n_cautions;
    const struct job_cause *rows = job_causes(&n);
    const struct job_caution *k = job_cautions(&n_cautions);

    (void)state;
    assert_int_equal(n, t->n_causes);
    for (int i = 0; i < t->n_causes; i++)
        if (job_cause_find(t->causes[i].id) == NULL)
            fail_msg("no repair for %s", t->causes[i].id);
    for (int i = 0; i < n; i++) {
        char line[100], watch[240], name[64];

        assert_true(cause_table_find(t, rows[i].cause) >= 0 && rows[i].repair[0] && rows[i].source[0]);
        if (rows[i].caution[0] && job_caution_find(rows[i].caution) == NULL)
            fail_msg("%s names no caution: %s", rows[i].cause, rows[i].caution);
        /* the engine runs for it, and then nothing says that it is cold */
        if (rows[i].settles_running != (strstr(rows[i].settle_caution, "engine-run") != NULL))
            fail_msg("%s: a check with the engine running has its caution, no other has", rows[i].cause);
        if (rows[i].settles_running) {
            const struct job_caution *said[JOB_MOST_CAUTIONS];
            int n_said = job_cautions_of(rows[i].settle_caution, said);

            for (int c = 0; c < n_said; c++)
                assert_null(strstr(said[c]->text, "ngine cold"));
        }
        {
            bool any = false;

            for (int s = 0; s < SIGN_COUNT; s++)
                any = any || rows[i].seen[s];
            assert_true(any == (rows[i].seen_settles[0] != '\0') && any == (rows[i].seen_repair[0] != '\0'));
        }
        job_done_line(&r.engine, &rows[i], "cylinder 2", line, sizeof line);
        if (rows[i].done[0] != '\0') {
            struct visit_done d;
            struct err e = {0};

            if (!visit_parse_done(&r.engine, line, &d, &e))
                fail_msg("%s: %s", rows[i].cause, e.text);
            assert_int_equal(d.cylinders, 2);
        }
        text_copy(watch, sizeof watch, rows[i].watch);
        for (char *m = strtok(watch, "|"); m != NULL; m = strtok(NULL, "|")) {
            bool known = false;

            m += strspn(m, " ");
            m[strcspn(m, " ")] = '\0';
            known = strcmp(m, "gap") == 0 || strcmp(m, "misfire") == 0 || strcmp(m, "compression") == 0 || strcmp(m, "tightness") == 0;
            for (int s = 0; s < SIGN_COUNT; s++) {
                sign_measure((enum sign)s, name, sizeof name);
                known = known || strcmp(name, m) == 0;
            }
            if (!known)
                fail_msg("%s watches “%s”, which is no measure", rows[i].cause, m);
        }
    }
    for (int i = 0; i < n_cautions; i++)
        assert_true(k[i].text[0] && k[i].source[0]);
    record_release(&r);
}

static const struct job_step *step(const struct job *j, const char *key)
{
    for (int i = 0; i < j->n_steps; i++)
        if (strcmp(j->steps[i].key, key) == 0)
            return &j->steps[i];
    fail_msg("no step %s", key);
    return NULL;
}

/* Look, dry, pull come first; refitting and the warm idle last, whatever was found. */
static void every_job_begins_at_the_wells(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    static struct job j;

    (void)state;
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_string_equal(j.steps[0].key, "look");
    assert_string_equal(j.steps[1].key, "dry");
    assert_string_equal(j.steps[2].key, "pull");
    assert_string_equal(j.steps[2].does, "out");
    assert_string_equal(j.steps[j.n_steps - 1].key, "idle");
    assert_string_equal(step(&j, "measure@all 4 plugs")->text, "Measure the gap: all 4 plugs, not measured yet");
    assert_string_equal(step(&j, "refit")->does, "torque");
    for (int i = 0; i < j.n_steps; i++)
        assert_string_not_equal(j.steps[i].key, "turn");
    assert_int_equal(j.n_parts, 0);
    reading_note(at(&r, 0, 2), SIGN_WELL_OIL, 3);
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_string_equal(step(&j, "turn")->caution, "hydro");
    assert_non_null(strstr(step(&j, "turn")->text, " of 3"));
    record_release(&r);
}

/* What was really noted is over, and nothing else: a plug that was read says that it is out, not what its well held. */
static void what_is_over_comes_ticked(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    struct record bare;
    static struct job j;

    (void)state;
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_true(step(&j, "look")->too_late); /* with all of them out no look comes before the pulling */
    assert_string_equal(step(&j, "look")->state, "todo");
    assert_string_equal(step(&j, "dry")->state, "todo");
    assert_false(step(&j, "dry")->too_late);
    assert_string_equal(step(&j, "pull")->state, "done");
    assert_string_equal(step(&j, "coils")->state, "todo");
    assert_string_equal(step(&j, "refit")->state, "todo");
    for (int c = 0; c < 4; c++) {
        reading_note(at(&r, 0, c), SIGN_BOOT_OIL_SOAKED, 0);
        reading_note(at(&r, 0, c), SIGN_COIL_OIL_SOAKED, 0);
        reading_note(at(&r, 0, c), SIGN_LEAD_BARE, 0);
        reading_note(at(&r, 0, c), SIGN_CONN_BARE, c == 2);
    }
    assert_true(job_is_over(&r, "coils"));
    bare = inline_engine("1 2 3 4", "1 3 4 2");
    record_add_visit(&bare);
    for (int c = 0; c < 3; c++) /* one is still in */
        reading_note(at(&bare, 1, c), SIGN_NORMAL, 2);
    job_propose(&bare, NULL, NULL, 0, NULL, &j);
    assert_string_equal(step(&j, "look")->state, "todo");
    assert_string_equal(step(&j, "pull")->state, "todo");
    for (int c = 0; c < 4; c++)
        reading_note(at(&bare, 1, c), SIGN_WELL_OIL, 0);
    job_propose(&bare, NULL, NULL, 0, NULL, &j);
    assert_string_equal(step(&j, "look")->state, "done");
    assert_string_equal(step(&j, "dry")->state, "done"); /* nothing stood in them */
    assert_string_equal(step(&j, "pull")->state, "todo");
    reading_note(at(&bare, 1, 1), SIGN_WELL_OIL, 2);
    reading_note(at(&bare, 1, 2), SIGN_WELL_DIRT, 1);
    job_propose(&bare, NULL, NULL, 0, NULL, &j);
    assert_string_equal(step(&j, "look")->state, "done");
    assert_string_equal(step(&j, "dry")->state, "todo");
    reading_note(at(&bare, 1, 3), SIGN_NORMAL, 2); /* with all of them out it is as little said */
    assert_true(job_is_over(&bare, "pull") && !job_is_over(&bare, "dry"));
    for (int c = 1; c < 3; c++)
        assert_true(visit_parse_done(&bare.engine, c == 1 ? "cleaned:well:cylinder 2" : "cleaned:well:cylinder 3", &bare.visits[1].done[bare.visits[1].n_done++], NULL));
    assert_true(job_is_over(&bare, "dry"));
    bare.visits[1].n_done = 0;
    assert_false(job_is_over(&bare, "dry"));
    for (int c = 0; c < 4; c++) /* oil that is seen in a well was seen in a well, whether or not that it is all of it was said */
        at(&bare, 1, c)->zone_seen[ZONE_WELL] = c != 1;
    assert_true(job_is_over(&bare, "look"));
    bare.visits[1].state.dried = true;
    assert_true(job_is_over(&bare, "dry"));
    record_release(&bare);
    record_release(&r);
}

/* Of an engine with a coil on each plug no step, part or cause speaks of leads, whatever is accepted; of others, and where nobody
 * said, the cause at the boot does. Cross-fire is between leads, and "lead" is also in the fuel. */
static void a_coil_on_each_plug_is_told_without_leads(void **state)
{
    int n;
    const struct job_cause *rows = job_causes(&n);
    struct job *j = calloc(1, sizeof *j);

    (void)state;
    for (int ig = 0; ig < ENGINE_IGNITION_COUNT; ig++)
        for (int one = 0; one < 2; one++) {
            struct record r = one ? inline_engine("1", "1") : inline_engine("1 2 3 4", "1 3 4 2");
            bool told = false;

            r.engine.ignition = (enum engine_ignition)ig;
            record_add_visit(&r);
            for (int i = 0; i < n; i++) {
                const struct job_judged judged = {.cause = "", .place = "cylinder 1", .state = JOB_ACCEPTED};
                struct job_judged said = judged;
                char at_words[CAUSE_AT_BYTES];

                if (strcmp(rows[i].cause, "crossfire") == 0 || strcmp(rows[i].cause, "fuel-lead") == 0)
                    continue;
                text_copy(said.cause, sizeof said.cause, rows[i].cause);
                job_propose(&r, NULL, &said, 1, NULL, j);
                cause_at_words(&r.engine, rows[i].cause, "cylinder 1", at_words);
                for (int k = -1; k < j->n_steps + j->n_parts; k++) {
                    const char *words = k < 0 ? at_words : k < j->n_steps ? j->steps[k].text : j->parts[k - j->n_steps].text;
                    const bool leads = strstr(words, " lead") != NULL || text_starts(words, "Lead");

                    told = told || leads;
                    if (leads && ig == ENGINE_COIL_PER_PLUG)
                        fail_msg("%s: %s", rows[i].cause, words);
                }
            }
            assert_int_equal(told, ig != ENGINE_COIL_PER_PLUG);
            record_release(&r);
        }
    free(j);
}

/* What comes before the pulling can be done while one plug is in; done in time it is over, and not too late. */
static void what_comes_before_the_pulling_can_be_too_late(void **state)
{
    struct record four = inline_engine("1 2 3 4", "1 3 4 2"), one = inline_engine("1", "1");
    char why[80];

    (void)state;
    record_add_visit(&four);
    record_add_visit(&one);
    for (int c = 0; c < 4; c++) {
        assert_false(job_is_too_late(&four, "look", why, sizeof why));
        assert_string_equal(why, "");
        reading_note(at(&four, 1, c), SIGN_NORMAL, 2);
    }
    assert_true(job_is_too_late(&four, "look", why, sizeof why));
    assert_string_equal(why, "the plugs were pulled first");
    assert_false(job_is_too_late(&four, "dry", why, sizeof why));
    assert_false(job_is_too_late(&four, "pull", why, sizeof why));
    assert_false(job_is_too_late(&four, "settle:coil-one@cylinder 2", why, sizeof why));
    assert_false(job_is_too_late(&four, "", why, sizeof why));
    for (int c = 0; c < 4; c++)
        reading_note(at(&four, 1, c), SIGN_WELL_OIL, 0);
    assert_false(job_is_too_late(&four, "look", why, sizeof why));
    reading_note(at(&one, 1, 0), SIGN_NORMAL, 2);
    assert_true(job_is_too_late(&one, "look", why, sizeof why));
    assert_string_equal(why, "the plug was pulled first");
    record_release(&one);
    record_release(&four);
}

/* The step tells of the socket what the visit tells; of plugs that are out already, and no word of it, nothing. */
static void the_socket_is_told_as_it_was_used(void **state)
{
    static const struct {
        bool out;
        const char *socket, *text;
    } cases[] = {{false, "", "Pull the plugs in order, socket wiped between them"},
                 {false, "shared", "Pull the plugs in order, one socket, not wiped"},
                 {true, "shared", "Pull the plugs in order, one socket, not wiped"},
                 {true, "wiped", "Pull the plugs in order, socket wiped between them"},
                 {true, "", "Pull the plugs in order"}};
    static struct job j;

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct record r = inline_engine("1 2 3 4", "1 3 4 2");

        if (!cases[i].out)
            visit_init(&r.visits[0], &r.engine);
        r.visits[0].socket = cases[i].socket[0] ? words_find(WORDS_SOCKET, cases[i].socket) : 0;
        job_propose(&r, NULL, NULL, 0, NULL, &j);
        assert_string_equal(step(&j, "pull")->text, cases[i].text);
        record_release(&r);
    }
}

/* A coil is renewed with the plugs in; a plug, a gap or a figure of compression asks for them, and looking and refitting come along. */
static void a_step_says_what_it_has_to_do_with_the_plugs(void **state)
{
    static const struct {
        const char *source;
        enum job_plugs plugs;
    } rows[] = {{"look", JOB_PLUGS_WITH}, {"pull", JOB_PLUGS_WITH}, {"refit", JOB_PLUGS_WITH}, {"measure@all 4 plugs", JOB_PLUGS_WITH}, {"coils", JOB_PLUGS_NOTHING}, {"idle", JOB_PLUGS_NOTHING},
                {"", JOB_PLUGS_NOTHING}, {"coil-one@cylinder 3", JOB_PLUGS_STAY}, {"settle:coil-one@cylinder 3", JOB_PLUGS_STAY}, {"again:coil-one@cylinder 3", JOB_PLUGS_NOTHING},
                {"plug-one@cylinder 3", JOB_PLUGS_ASKS}, {"settle:rings@cylinder 3", JOB_PLUGS_ASKS}, {"gaps@plug 2", JOB_PLUGS_ASKS}, {"compression@cylinder 3", JOB_PLUGS_ASKS}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (job_plugs_of(rows[i].source) != rows[i].plugs)
            fail_msg("“%s”", rows[i].source);
}

/* A likely cause brings its check, an accepted one its repair and parts, one set aside nothing. */
static void causes_bring_steps_and_parts(void **state)
{
    struct record r = inline_engine("1 2 3 4 5 6", "1 5 3 6 2 4");
    struct cause causes[2] = {{.id = "coil-one", .label = "Weak coil or its driver", .where = "cylinder 3", .cylinders = 4, .probability = 0.8, .settles = "Swap it."},
                              {.id = "rings", .label = "Rings", .where = "cylinder 1", .cylinders = 1, .probability = 0.3}};
    struct findings f = {.n_causes = 2, .causes = causes};
    struct job_judged judged[] = {{"coil-one", "cylinder 3", JOB_ACCEPTED}, {"connector", "cylinders 2, 4", JOB_ACCEPTED}};
    static struct job j;

    (void)state;
    job_propose(&r, &f, NULL, 0, NULL, &j);
    assert_non_null(strstr(step(&j, "settle:coil-one@cylinder 3")->text, "Swap it."));
    assert_string_equal(step(&j, "settle:coil-one@cylinder 3")->caution, "high-voltage");
    assert_int_equal(j.n_parts, 0);
    job_propose(&r, &f, judged, 2, NULL, &j);
    assert_non_null(strstr(step(&j, "coil-one@cylinder 3")->text, "cylinder 3"));
    assert_string_equal(step(&j, "again:coil-one@cylinder 3")->state, "later");
    assert_true(step(&j, "again:coil-one@cylinder 3")->after_m.value == 300e3);
    r.visits[0].odometer_unit = words_find(WORDS_ODOMETER_UNIT, "mi");
    job_propose(&r, &f, judged, 2, NULL, &j);
    assert_true(fabs(step(&j, "again:coil-one@cylinder 3")->after_m.value - 200 * 1609.344) < 0.01);
    assert_int_equal(j.n_parts, 2);
    assert_string_equal(j.parts[0].text, "Ignition coil, cylinder 3");
    assert_int_equal(j.parts[0].quantity, 1);
    assert_string_equal(j.parts[0].note, "1 of 6 affected: one is enough");
    assert_int_equal(j.parts[1].quantity, 2);
    assert_string_equal(j.parts[1].note, "2 of 6 affected: one set may be cheaper");
    judged[0].state = JOB_DISMISSED;
    job_propose(&r, &f, judged, 1, NULL, &j);
    for (int i = 0; i < j.n_steps; i++)
        assert_null(strstr(j.steps[i].key, "coil-one"));
    record_release(&r);
}

static int place_of(const struct job *j, const char *key)
{
    for (int i = 0; i < j->n_steps; i++)
        if (strcmp(j->steps[i].key, key) == 0)
            return i;
    fail_msg("no step %s", key);
    return -1;
}

/* "Vacuum gauge at idle" stood before the plugs were in and the engine turned, under "engine cold". */
static void what_needs_it_running_comes_after_the_refit(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    struct cause causes[3] = {{.id = "sticking-valve", .label = "Sticking valve", .where = "cylinder 3", .cylinders = 4, .probability = 0.8, .settles = "Vacuum gauge at idle."},
                              {.id = "rings", .label = "Rings", .where = "cylinder 1", .cylinders = 1, .probability = 0.7, .settles = "Compression."},
                              {.id = "coil-one", .label = "Weak coil", .where = "cylinder 2", .cylinders = 2, .probability = 0.7, .settles = "Swap it."}};
    struct findings f = {.n_causes = 3, .causes = causes};
    struct job_judged judged = {"timing", "engine", JOB_ACCEPTED};
    static struct job j;

    (void)state;
    reading_note(at(&r, 0, 2), SIGN_WELL_OIL, 3);
    job_propose(&r, &f, &judged, 1, NULL, &j);
    assert_true(place_of(&j, "pull") < place_of(&j, "turn") && step(&j, "turn")->first); /* a compression test cranks it */
    assert_true(place_of(&j, "turn") < place_of(&j, "settle:rings@cylinder 1") && place_of(&j, "turn") < place_of(&j, "settle:coil-one@cylinder 2"));
    assert_true(place_of(&j, "settle:rings@cylinder 1") < place_of(&j, "refit") && place_of(&j, "refit") < place_of(&j, "idle"));
    assert_true(place_of(&j, "idle") < place_of(&j, "settle:sticking-valve@cylinder 3") && place_of(&j, "idle") < place_of(&j, "timing@engine"));
    assert_string_equal(step(&j, "settle:sticking-valve@cylinder 3")->caution, "engine-run");
    assert_true(step(&j, "settle:sticking-valve@cylinder 3")->running && !step(&j, "settle:rings@cylinder 1")->running);
    record_release(&r);
}

/* What shows heat or weak mixture under load, or is not to be run at all, harms it there; no other cause does. */
static bool is_said_to_harm(const struct job_cause *row)
{
    return strstr(row->watch, "firing_end.pale") != NULL || strstr(row->watch, "firing_end.blistered") != NULL || strstr(row->watch, "metal-specks") != NULL ||
           strstr(row->repair, "not run") != NULL || strstr(row->repair, "no run") != NULL;
}

static bool offers_load(const struct job *j)
{
    for (int i = 0; i < j->n_steps; i++)
        if (j->steps[i].driven && !j->steps[i].held)
            return true;
    return false;
}

/* "Warm idle, then use it under full load" stood before the check of a mixture that seizes a two-stroke driven hard. Of each cause that harms it under
 * load: while it is to be settled, accepted, or left open by an earlier visit, no load; mended or set aside, the use comes last. */
static void what_harms_it_under_load_is_settled_before_the_use(void **state)
{
    static struct job j;
    int n, n_harm = 0;
    const struct job_cause *rows = job_causes(&n);

    (void)state;
    for (int i = 0; i < n; i++) {
        struct record r = inline_engine("1 2 3 4", "1 3 4 2");
        struct cause causes[2] = {{.id = "", .label = "It", .where = "cylinder 2", .cylinders = 2, .probability = 0.8, .settles = "See."},
                                  {.id = "short-trip", .label = "Short trips", .where = "engine", .cylinders = 15, .probability = 0.6, .settles = "A motorway run."}};
        struct findings f = {.n_causes = 2, .causes = causes};
        struct job_judged judged = {.place = "cylinder 2"};
        bool harms = rows[i].harms;

        visit_toggle_complaint(&r.visits[0], words_find(WORDS_COMPLAINT, "low-power"));
        text_copy(judged.cause, sizeof judged.cause, rows[i].cause);
        judged.state = JOB_ACCEPTED;
        job_propose(&r, NULL, &judged, 1, NULL, &j);
        assert_true(offers_load(&j) != rows[i].harms); /* not without such a sign */
        for (int s = 0; s < SIGN_COUNT; s++)
            if (rows[i].harms_with[s] && s != SIGN_METAL_SPECKS) { /* with that it is not to be started at all */
                reading_note(at(&r, 0, 1), (enum sign)s, 2);
                harms = true;
            }
        if (harms != is_said_to_harm(&rows[i]) || (harms && rows[i].driven))
            fail_msg("%s: does it harm under load?", rows[i].cause);
        n_harm += harms;
        text_copy(causes[0].id, sizeof causes[0].id, rows[i].cause);
        for (int said = 0; said <= JOB_STATE_COUNT; said++) { /* the last: not likely, and not judged */
            const struct job_step *idle;
            const bool open = said == JOB_OPEN || said == JOB_ACCEPTED || said == JOB_LEFT;

            causes[0].probability = said == JOB_STATE_COUNT || said == JOB_LEFT ? 0.02 : 0.8;
            judged.state = said == JOB_STATE_COUNT ? JOB_OPEN : (enum job_state)said;
            job_propose(&r, &f, &judged, said != JOB_OPEN && said != JOB_STATE_COUNT, NULL, &j);
            idle = &j.steps[place_of(&j, "idle")];
            if (offers_load(&j) != !(harms && open) || (strstr(idle->text, "no load yet") != NULL) != (harms && open))
                fail_msg("%s, %d: %s", rows[i].cause, said, idle->text);
            for (int k = 0; k < j.n_steps; k++)
                if (strcmp(j.steps[k].state, "later") != 0 && !j.steps[k].driven && k > place_of(&j, "use"))
                    fail_msg("%s comes after the use", j.steps[k].key);
            assert_true(place_of(&j, "refit") < place_of(&j, "idle") && place_of(&j, "idle") < place_of(&j, "use"));
        }
        record_release(&r);
    }
    assert_true(n_harm >= 10);
}

/* The finding asks for it again after a run (FAA AC 43.13-1B 8-14), the job asked for compression, all plugs out. */
static void a_low_differential_is_taken_again_hot(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    struct findings f;
    static struct job j;
    const struct job_step *s;

    (void)state;
    for (int c = 0; c < 4; c++)
        at(&r, 0, c)->differential_over_80 = MAYBE(c == 0 ? 54 : 76);
    assert_true(reading_run(&r, &(struct reading_options){.first_answer = true}, &f, &(struct err){.text = ""}));
    job_propose(&r, &f, NULL, 0, NULL, &j);
    assert_false(has_step(&j, "compression"));
    s = step(&j, "differential@cylinder 1");
    assert_non_null(s);
    assert_true(s->running && strstr(s->text, "take the differential again, hot: cylinder 1") != NULL);
    assert_non_null(strstr(s->caution, "leakdown"));
    assert_true(place_of(&j, "refit") < place_of(&j, "differential@cylinder 1"));
    findings_release(&f);
    record_release(&r);
}

/* A cracked coil and a bare connector, the code another cylinder's: both are renewed and both are bought, whatever the code says. */
static void what_is_seen_broken_is_bought(void **state)
{
    const struct reading_options options = {.first_answer = true};
    struct record r = inline_engine("1 2 3 4 5 6", "1 5 3 6 2 4");
    static struct job j;
    struct findings f;
    bool coil = false, connector = false;

    (void)state;
    r.engine.ignition = ENGINE_COIL_PER_PLUG;
    assert_true(visit_add_code(&r.visits[0], "P0305", NULL));
    r.visits[0].complaints[r.visits[0].n_complaints++] = words_find(WORDS_COMPLAINT, "misfire-idle-hot");
    r.visits[0].complaints_given = true;
    reading_note(at(&r, 0, 5), SIGN_COIL_CRACKED, 2);
    reading_note(at(&r, 0, 5), SIGN_CONN_BARE, 2);
    for (int c = 0; c < 6; c++)
        for (int z = 0; z < ZONE_COUNT; z++)
            reading_see_zone(at(&r, 0, c), (enum zone)z);
    assert_true(reading_run(&r, &options, &f, NULL));
    job_propose(&r, &f, NULL, 0, NULL, &j);
    assert_string_equal(step(&j, "coil-one@cylinder 6")->text, "Renew the coil, which is damaged: cylinder 6");
    assert_false(has_step(&j, "settle:coil-one@cylinder 6"));
    for (int i = 0; i < j.n_parts; i++) {
        coil = coil || strcmp(j.parts[i].key, "coil-one@cylinder 6") == 0;
        connector = connector || strcmp(j.parts[i].key, "connector@cylinder 6") == 0;
    }
    assert_true(coil && connector);
    findings_release(&f);
    record_release(&r);
}

/* Plugs that stand in the open have no well that could be wet: no cause of one, and no step. */
static void where_there_are_no_wells_none_is_dried(void **state)
{
    const struct reading_options options = {.first_answer = true};
    static const double psi[] = {120, 118, 72, 115};
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    static struct job j;
    struct findings f;

    (void)state;
    r.engine.ignition = ENGINE_DISTRIBUTOR;
    r.engine.access = ENGINE_ACCESS_OPEN;
    for (int c = 0; c < 4; c++)
        at(&r, 0, c)->compression_kpa = MAYBE(psi[c] * 6.894757);
    reading_note(at(&r, 0, 2), SIGN_NORMAL, 0);
    reading_note(at(&r, 0, 2), SIGN_OIL_WET, 2);
    for (int c = 0; c < 2; c++) {
        reading_note(at(&r, 0, c), SIGN_NORMAL, 0);
        reading_note(at(&r, 0, c), SIGN_DRY_CARBON, 2);
    }
    r.visits[0].complaints[r.visits[0].n_complaints++] = words_find(WORDS_COMPLAINT, "misfire-load");
    r.visits[0].complaints_given = true;
    visit_set_test(&r.visits[0], words_find(WORDS_TEST, "cut-out"), 2, words_find(WORDS_TEST_RESULT, "no-change"));
    assert_true(reading_run(&r, &options, &f, NULL));
    for (int i = 0; i < f.n_causes; i++)
        if (strcmp(f.causes[i].id, "flash-well") == 0 && f.causes[i].probability > 0.001)
            fail_msg("%s %.3f", f.causes[i].where, f.causes[i].probability);
    job_propose(&r, &f, NULL, 0, NULL, &j);
    assert_false(has_step(&j, "settle:flash-well"));
    assert_true(has_step(&j, "compression@cylinder 3")); /* wet was not taken */
    /* rings as good as certain account for a cylinder that makes no difference: no spark is looked for at 0.3 % */
    assert_true(has_step(&j, "settle:rings@cylinder 3"));
    for (int i = 0; i < f.n_causes; i++)
        assert_true(!findings_to_settle(&f.causes[i]) || f.causes[i].probability >= 0.08);
    for (int c = 0; c < 4; c++)
        at(&r, 0, c)->compression_wet_kpa = MAYBE(psi[c] * 6.894757 * 1.05);
    job_propose(&r, &f, NULL, 0, NULL, &j);
    assert_false(has_step(&j, "compression@"));
    findings_release(&f);
    record_release(&r);
}

/* A cracked coil was to be swapped onto another cylinder, and driven. */
static void a_coil_that_shows_its_damage_is_not_swapped(void **state)
{
    struct record r = inline_engine("1 2 3 4 5 6", "1 5 3 6 2 4");
    struct job_judged judged = {"coil-one", "cylinder 6", JOB_ACCEPTED};
    struct findings f;
    struct err e;
    static struct job j;
    bool found = false;

    (void)state;
    r.engine.ignition = ENGINE_COIL_PER_PLUG;
    job_propose(&r, NULL, &judged, 1, NULL, &j);
    assert_non_null(strstr(step(&j, "coil-one@cylinder 6")->text, "Swap the coil"));
    reading_note(at(&r, 0, 5), SIGN_COIL_CRACKED, 2);
    job_propose(&r, NULL, &judged, 1, NULL, &j);
    assert_string_equal(step(&j, "coil-one@cylinder 6")->text, "Renew the coil, which is damaged: cylinder 6");
    assert_true(reading_run(&r, &(struct reading_options){.first_answer = true}, &f, &e));
    for (int i = 0; i < f.n_causes; i++)
        if (strcmp(f.causes[i].id, "coil-one") == 0 && f.causes[i].cylinders == 32) {
            found = true;
            assert_true(text_starts(f.causes[i].settles, "The damage is to be seen: engine and ignition off, renew the coil"));
        }
    assert_true(found);
    findings_release(&f);
    record_release(&r);
}

/* One cause at several cylinders, taken as it stands: its repair and a part for each of them. */
static void a_cause_of_several_cylinders_is_repaired_at_all(void **state)
{
    struct record r = inline_engine("1 2 3 4 5 6", "1 5 3 6 2 4");
    struct job_judged judged = {.cause = "air-one", .place = "cylinders 2, 4, 6", .state = JOB_ACCEPTED};
    struct job j;
    bool found = false;

    (void)state;
    job_propose(&r, NULL, &judged, 1, NULL, &j);
    assert_string_equal(step(&j, "air-one@cylinders 2, 4, 6")->text, "Renew the manifold gasket at the runner: cylinders 2, 4, 6");
    for (int i = 0; i < j.n_parts; i++)
        if (strcmp(j.parts[i].key, "air-one@cylinders 2, 4, 6") == 0) {
            found = true;
            assert_int_equal(j.parts[i].quantity, 3);
            assert_string_equal(j.parts[i].note, "3 of 6 affected: one set may be cheaper");
        }
    assert_true(found);
    record_release(&r);
}

/* A step for one plug stands within an open one of the same kind that is for all, and not the other way round. */
static void a_step_of_several_plugs_holds_that_of_one(void **state)
{
    static const struct {
        const char *key, *other;
        bool within;
    } rows[] = {{"gaps@plug 3", "gaps@all 4 plugs", true}, {"gaps@plugs 2, 3", "gaps@plugs 1, 2, 3", true}, {"gaps@all 4 plugs", "gaps@plug 3", false},
                {"gaps@plug 3", "measure@all 4 plugs", false}, {"gaps@plug 3", "gaps", false}, {"coil-one@cylinder 3", "coil-one@engine", false}};
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    int of;

    (void)state;
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++)
        if (job_step_within(&r.engine, rows[k].key, rows[k].other) != rows[k].within)
            fail_msg("%s in %s", rows[k].key, rows[k].other);
    r.engine.plug.gap_min_mm = 0.9;
    r.engine.plug.gap_max_mm = 1.0;
    for (int c = 0; c < 3; c++)
        at(&r, 0, c)->gap_left_mm = MAYBE(c == 0 ? 1.5 : 0.95);
    assert_int_equal(job_answered_plugs(&r, &r.visits[0], "gaps@all 4 plugs", &of), 2);
    assert_int_equal(of, 4);
    assert_int_equal(job_answered_plugs(&r, &r.visits[0], "refit", &of) + of, 0);
    record_release(&r);
}

/* Which work answers which step and part; a gap set in range answers the setting, not the renewal. */
static void work_done_answers_what_asks_for_it(void **state)
{
    static const struct {
        const char *work, *key;
        bool answered;
    } rows[] = {
        {"replaced:coil:cylinder 3", "coil-one@cylinder 3", true},
        {"replaced:coil:cylinder 3", "settle:coil-one@cylinder 3", true},
        {"replaced:coil:cylinder 3", "coil-one@cylinder 2", false},
        {"replaced:coil:cylinder 3", "coil-one@cylinders 2, 3", false},
        {"replaced:coil:all", "coil-one@cylinders 2, 3", true},
        {"replaced:coil:cylinder 3", "connector@cylinder 3", false},
        {"cleaned:coil:cylinder 3", "coil-one@cylinder 3", false},
        {"swapped:coil:cylinders 3,1", "settle:coil-one@cylinder 3", true},
        {"swapped:coil:cylinders 3,1", "coil-one@cylinder 3", true}, /* it begins with the swap */
        {"swapped:injector:cylinders 3,1", "injector@cylinder 3", false},
        {"swapped:plug:cylinders 3,1", "settle:coil-one@cylinder 3", false},
        {"replaced:plug:cylinder 2", "renew@plug 2", true},
        {"replaced:plug:cylinder 2", "renew@plugs 2, 4", false},
        {"replaced:plug:all", "renew@all 4 plugs", true},
        {"replaced:plug:cylinder 2", "gaps@plug 2", true},
        {"replaced:plug:cylinder 2", "measure@plug 2", false},
        {"replaced:plug:cylinder 2", "renew@plug 9", false},
        {"replaced:lead:cylinder 3", "lead-boot@cylinder 3", true}, /* lead, cap or boot */
        {"replaced:coil:cylinder 3", "settle:coil-pair@cylinders 3, 2", true}, /* one for both */
        {"replaced:coil:cylinder 3", "again:coil-one@cylinder 3", false},
        {"replaced:coil:cylinder 3", "look", false},
    };
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    struct job *j = calloc(1, sizeof *j);
    struct job_judged accepted = {.cause = "coil-one", .place = "cylinder 3", .state = JOB_REPAIRED};
    bool fresh[ENGINE_MAX_PLUGS] = {false, true};
    char lines[4][80];
    int n;

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct err e = {0};

        r.visits[0].n_done = 1;
        if (!visit_parse_done(&r.engine, rows[i].work, &r.visits[0].done[0], &e))
            fail_msg("%s", e.text);
        if (job_answered(&r, &r.visits[0], NULL, rows[i].key) != rows[i].answered)
            fail_msg("%s: %s", rows[i].work, rows[i].key);
    }
    r.visits[0].n_done = 1;
    assert_true(visit_parse_done(&r.engine, "swapped:coil:cylinders 3,1", &r.visits[0].done[0], NULL));
    assert_false(job_part_answered(&r, &r.visits[0], NULL, "coil-one@cylinder 3")); /* nothing new was fitted */
    record_add_visit(&r);
    r.visits[1].n_done = 1; /* the coil of 3 is in 1 since: there it is renewed */
    assert_true(visit_parse_done(&r.engine, "replaced:coil:cylinder 1", &r.visits[1].done[0], NULL));
    assert_true(job_part_answered(&r, &r.visits[1], NULL, "coil-one@cylinder 3"));
    r.n_visits = 1;
    r.visits[0].n_done = 0;
    assert_true(job_answered(&r, &r.visits[0], fresh, "renew@plug 2"));
    at(&r, 0, 1)->gap_left_mm = MAYBE(1.05);
    assert_true(job_answered(&r, &r.visits[0], NULL, "gaps@plug 2") && job_answered(&r, &r.visits[0], NULL, "measure@plug 2"));
    assert_false(job_answered(&r, &r.visits[0], NULL, "renew@plug 2"));
    at(&r, 0, 1)->gap_left_mm = MAYBE(1.3);
    assert_false(job_answered(&r, &r.visits[0], NULL, "gaps@plug 2"));
    job_ticked_lines(&r.engine, NULL, "renew@plugs 2, 4", lines, 4, &n);
    assert_int_equal(n, 2);
    assert_string_equal(lines[1], "replaced:plug:cylinder 4");
    job_ticked_lines(&r.engine, NULL, "gaps@plug 2", lines, 4, &n);
    assert_int_equal(n, 1);
    assert_string_equal(lines[0], "adjusted:plug:cylinder 2"); /* a set gap begins a new run */
    job_ticked_lines(&r.engine, NULL, "measure@plug 2", lines, 4, &n);
    assert_int_equal(n, 0);
    assert_true(job_renews("coil-one@cylinder 3") && job_renews("renew@plug 2") && !job_renews("pcv@engine") && !job_renews("look"));
    /* what is renewed is neither proposed nor bought, only looked at again */
    r.visits[0].n_done = 1;
    assert_true(visit_parse_done(&r.engine, "replaced:coil:cylinder 3", &r.visits[0].done[0], NULL));
    at(&r, 0, 1)->gap_left_mm = MAYBE(1.05);
    job_propose(&r, NULL, &accepted, 1, NULL, j);
    assert_int_equal(j->n_parts, 0);
    for (int i = 0; i < j->n_steps; i++)
        assert_string_not_equal(j->steps[i].key, "coil-one@cylinder 3");
    free(j);
    record_release(&r);
}

/* A check is over, and was not made, when the very part it was to settle is renewed; a swap that told is an answer. */
static void a_check_is_over_when_its_part_is_renewed(void **state)
{
    static const struct {
        const char *work, *key, *why; /* NULL: not over */
    } rows[] = {
        {"replaced:coil:cylinder 3", "settle:coil-one@cylinder 3", "coil of cylinder 3 renewed"},
        {"replaced:coil:cylinder 2", "settle:coil-one@cylinder 3", NULL},
        {"replaced:coil:cylinder 3", "settle:coil-pair@cylinders 2, 3", "coil of cylinders 2 and 3 renewed"},
        {"replaced:plug:cylinder 3", "settle:plug-one@cylinder 3", "plug of cylinder 3 renewed"},
        {"cleaned:plug:cylinder 3", "settle:plug-one@cylinder 3", NULL},
        {"replaced:injector:all", "settle:injector@cylinder 3", "injector of cylinder 3 renewed"},
        {"replaced:lead:cylinder 3", "settle:lead-boot@cylinder 3", "lead of cylinder 3 renewed"},
        {"replaced:boot:cylinder 3", "settle:lead-boot@cylinder 3", "boot of cylinder 3 renewed"},
        {"replaced:tube-seal:cylinder 3", "settle:tube-seal@cylinder 3", "plug-tube seal of cylinder 3 renewed"},
        {"swapped:coil:cylinders 3,1", "settle:coil-one@cylinder 3", NULL},
        {"replaced:coil:cylinder 3", "coil-one@cylinder 3", NULL}, /* that is the repair, and done */
    };
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char why[120];

        r.visits[0].n_done = 1;
        assert_true(visit_parse_done(&r.engine, rows[i].work, &r.visits[0].done[0], NULL));
        if (job_settle_is_moot(&r, &r.visits[0], rows[i].key, why, sizeof why) != (rows[i].why != NULL) || strcmp(why, rows[i].why != NULL ? rows[i].why : "") != 0)
            fail_msg("%s: %s: %s", rows[i].work, rows[i].key, why);
    }
    r.visits[0].n_done = 2;
    assert_true(visit_parse_done(&r.engine, "swapped:coil:cylinders 3,1", &r.visits[0].done[1], NULL));
    assert_false(job_settle_is_moot(&r, &r.visits[0], "settle:coil-one@cylinder 3", (char[120]){0}, 120));
    record_release(&r);
}

static void several_of_a_kind_ask_for_the_set(void **state)
{
    struct record r = inline_engine("1 2 3 4 5 6", "1 5 3 6 2 4");
    struct job_judged judged[] = {{"coil-one", "cylinder 3", JOB_ACCEPTED}, {"coil-one", "cylinder 5", JOB_ACCEPTED}};
    static struct job j;

    (void)state;
    job_propose(&r, NULL, judged, 2, NULL, &j);
    assert_int_equal(j.n_parts, 2);
    for (int i = 0; i < 2; i++)
        assert_string_equal(j.parts[i].note, "2 of 6 affected: one set may be cheaper");
    record_release(&r);
}

/* Six cylinders, two plugs each: every plug goes somewhere, and no place gets two. */
static void twin_plugs_are_rotated(void **state)
{
    bool measured = false;
    struct record r;
    struct err e = {0};
    static struct job j;

    (void)state;
    record_init(&r);
    r.engine.n_positions = 2;
    text_copy(r.engine.position_names[0], sizeof r.engine.position_names[0], "top");
    text_copy(r.engine.position_names[1], sizeof r.engine.position_names[1], "bottom");
    r.engine.ignition = ENGINE_MAGNETO;
    r.engine.layout = ENGINE_FLAT;
    if (!engine_parse_banks(&r.engine, "1 3 / 2 4", &e) || !engine_parse_firing(&r.engine, "1 3 2 4", &e) || !engine_finish(&r.engine, &e))
        fail_msg("%s", e.text);
    record_add_visit(&r);
    r.visits[0].odometer_unit = words_find(WORDS_ODOMETER_UNIT, "h");
    r.engine.plug.gap_min_mm = 0.4;
    r.engine.plug.gap_max_mm = 0.5;
    reading_note(at(&r, 0, 0), SIGN_NORMAL, 2);
    job_propose(&r, NULL, &(struct job_judged){"guides", "cylinder 2", JOB_ACCEPTED}, 1, NULL, &j);
    assert_string_equal(step(&j, "rotate")->text,
                        "Rotate the plugs: 1 top > 3 bottom > 2 top > 4 bottom > 1 top, 1 bottom > 3 top > 2 bottom > 4 top > 1 bottom");
    assert_true(step(&j, "rotate")->last);
    for (int i = 0; i < j.n_steps && strcmp(j.steps[i].key, "rotate") != 0; i++) /* gaps are measured where the plugs were */
        measured = measured || text_starts(j.steps[i].key, "measure@");
    assert_true(measured);
    assert_false(step(&j, "again:guides@cylinder 2")->after_m.given); /* hours run are no distance */
    record_release(&r);
}

static void a_repair_is_followed(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    struct follow x;

    (void)state;
    reading_note(at(&r, 0, 1), SIGN_WELL_OIL, 3);
    reading_note(at(&r, 0, 3), SIGN_WELL_OIL, 2);
    assert_false(follow_of(&r, 0, "tube-seal", "cylinders 2, 4", &x)); /* no visit since */
    record_add_visit(&r);
    assert_true(follow_of(&r, 0, "tube-seal", "cylinders 2, 4", &x));
    assert_int_equal(x.state, FOLLOW_NOT_LOOKED);
    assert_string_equal(x.shown, "oil in the well: before 2 heavy, 4 moderate; not looked at: 2, 4");
    reading_note(at(&r, 1, 1), SIGN_WELL_OIL, 0);
    follow_of(&r, 0, "tube-seal", "cylinders 2, 4", &x);
    assert_int_equal(x.state, FOLLOW_NOT_LOOKED);
    reading_note(at(&r, 1, 3), SIGN_WELL_OIL, 0);
    follow_of(&r, 0, "tube-seal", "cylinders 2, 4", &x);
    assert_int_equal(x.state, FOLLOW_GONE);
    assert_string_equal(x.shown, "oil in the well: before 2 heavy, 4 moderate; now none");
    reading_note(at(&r, 1, 3), SIGN_WELL_OIL, 1);
    follow_of(&r, 0, "tube-seal", "cylinders 2, 4", &x);
    assert_int_equal(x.state, FOLLOW_BETTER);
    reading_note(at(&r, 1, 1), SIGN_WELL_OIL, 3);
    reading_note(at(&r, 1, 3), SIGN_WELL_OIL, 2);
    follow_of(&r, 0, "tube-seal", "cylinders 2, 4", &x);
    assert_int_equal(x.state, FOLLOW_BACK);
    reading_note(at(&r, 1, 1), SIGN_WELL_OIL, 0); /* one seal holds, and the other leaks as it did */
    follow_of(&r, 0, "tube-seal", "cylinders 2, 4", &x);
    assert_int_equal(x.state, FOLLOW_PARTLY);
    assert_string_equal(follow_words(x.state), "not everywhere");
    assert_string_equal(x.shown, "gone at 2; as before at 4 · oil in the well: before 2 heavy, 4 moderate; now 4 moderate");
    /* another cylinder's oil is none of it */
    follow_of(&r, 0, "tube-seal", "cylinder 1", &x);
    assert_int_equal(x.state, FOLLOW_NOT_LOOKED);
    record_release(&r);
}

static void compression_and_complaint_show_it_too(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    struct follow x;
    int miss = words_find(WORDS_COMPLAINT, "misfire-idle-hot");

    (void)state;
    for (int c = 0; c < 4; c++)
        at(&r, 0, c)->compression_kpa = MAYBE(c == 1 ? 600 : 1200);
    r.visits[0].complaints_given = true;
    r.visits[0].complaints[r.visits[0].n_complaints++] = miss;
    record_add_visit(&r);
    follow_of(&r, 0, "valve", "cylinder 2", &x);
    assert_int_equal(x.state, FOLLOW_NOT_LOOKED);
    for (int c = 0; c < 4; c++)
        at(&r, 1, c)->compression_kpa = MAYBE(c == 1 ? 800 : 1200);
    follow_of(&r, 0, "valve", "cylinder 2", &x);
    assert_int_equal(x.state, FOLLOW_BETTER);
    assert_string_equal(x.shown, "compression: 50 % of the highest before; 67 % now");
    at(&r, 1, 1)->compression_kpa = MAYBE(1150);
    follow_of(&r, 0, "valve", "cylinder 2", &x);
    assert_int_equal(x.state, FOLLOW_GONE);
    /* a coil judged by the miss alone */
    follow_of(&r, 0, "coil-one", "cylinder 3", &x);
    assert_int_equal(x.state, FOLLOW_NOT_LOOKED);
    r.visits[1].complaints_given = true;
    follow_of(&r, 0, "coil-one", "cylinder 3", &x);
    assert_int_equal(x.state, FOLLOW_GONE);
    r.visits[1].complaints[r.visits[1].n_complaints++] = miss; /* which names no cylinder */
    follow_of(&r, 0, "coil-one", "cylinder 3", &x);
    assert_int_equal(x.state, FOLLOW_NOT_TOLD);
    assert_non_null(strstr(x.shown, "at which cylinder is not known; read the codes, or cut out one by one"));
    assert_true(x.which);
    { /* a cut-out or a code names another one: it is no longer here */
        struct visit was = r.visits[0], now = r.visits[1];

        visit_set_test(&r.visits[1], words_find(WORDS_TEST, "cut-out"), 3, words_find(WORDS_TEST_RESULT, "no-change"));
        for (int k = 0; k < 2; k++) {
            follow_of(&r, 0, "coil-one", "cylinder 3", &x);
            assert_int_equal(x.state, FOLLOW_GONE);
            assert_false(x.which);
            if (strstr(x.shown, ": at cylinder 4, no longer at cylinder 3") == NULL || strstr(x.shown, "not known") != NULL)
                fail_msg("%s", x.shown);
            r.visits[1] = now;
            assert_true(visit_add_code(&r.visits[1], "P0304", NULL));
        }
        assert_true(visit_parse_done(&r.engine, "swapped:plug:cylinders 3,4", &r.visits[0].done[r.visits[0].n_done++], NULL));
        follow_of(&r, 0, "coil-one", "cylinder 3", &x); /* the plugs of both were changed over: it may have gone along */
        assert_int_equal(x.state, FOLLOW_NOT_TOLD);
        assert_false(x.which);
        assert_non_null(strstr(x.shown, ": at cylinder 4, no longer at cylinder 3; but parts were changed over"));
        r.visits[0] = was;
        r.visits[1] = now;
    }
    assert_true(visit_add_code(&r.visits[1], "P0300", NULL)); /* nor does the code */
    follow_of(&r, 0, "coil-one", "cylinder 3", &x);
    assert_int_equal(x.state, FOLLOW_NOT_TOLD);
    assert_true(visit_add_code(&r.visits[1], "P0303", NULL));
    follow_of(&r, 0, "coil-one", "cylinder 3", &x);
    assert_int_equal(x.state, FOLLOW_BACK);
    record_release(&r);
}

/* A new coil has no crack: that tells nothing until complaint, code or cut-out do; a crack in the new one does. */
static void a_new_part_is_no_evidence(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    struct follow x;
    int miss = words_find(WORDS_COMPLAINT, "misfire-idle-hot"), cut = words_find(WORDS_TEST, "cut-out"), results[VISIT_TEST_RESULTS];
    int fine = visit_test_results(cut, results) - 1;

    (void)state;
    reading_note(at(&r, 0, 2), SIGN_COIL_CRACKED, 2);
    visit_toggle_complaint(&r.visits[0], miss);
    assert_true(visit_add_code(&r.visits[0], "P0303", NULL));
    assert_true(visit_parse_done(&r.engine, "replaced:coil:cylinder 3", &r.visits[0].done[r.visits[0].n_done++], NULL));
    record_add_visit(&r);
    reading_see_zone(at(&r, 1, 2), ZONE_COIL);
    follow_of(&r, 0, "coil-one", "cylinder 3", &x);
    assert_int_equal(x.state, FOLLOW_NOT_LOOKED);
    assert_non_null(strstr(x.shown, "cracked coil: before 3 moderate; renewed since, how the new one looks tells nothing"));
    assert_non_null(strstr(x.shown, "now not said"));
    visit_toggle_complaint(&r.visits[1], words_find(WORDS_COMPLAINT, "none"));
    follow_of(&r, 0, "coil-one", "cylinder 3", &x);
    assert_int_equal(x.state, FOLLOW_GONE);
    visit_toggle_complaint(&r.visits[1], miss);
    follow_of(&r, 0, "coil-one", "cylinder 3", &x);
    assert_int_equal(x.state, FOLLOW_NOT_TOLD);
    /* it misses still, but the code names another cylinder and cutting this one out makes a difference */
    assert_true(visit_add_code(&r.visits[1], "P0302", NULL) && visit_set_test(&r.visits[1], cut, 2, results[fine]));
    follow_of(&r, 0, "coil-one", "cylinder 3", &x);
    assert_int_equal(x.state, FOLLOW_GONE);
    assert_true(visit_add_code(&r.visits[1], "P0303", NULL));
    follow_of(&r, 0, "coil-one", "cylinder 3", &x);
    assert_int_equal(x.state, FOLLOW_BACK);
    r.visits[1].n_codes = 0;
    reading_note(at(&r, 1, 2), SIGN_COIL_CRACKED, 2);
    follow_of(&r, 0, "coil-one", "cylinder 3", &x);
    assert_int_not_equal(x.state, FOLLOW_GONE);
    record_release(&r);
}

/* A loose plug is judged by how tight it comes out the next time, whatever the complaint does. */
static void a_loose_plug_is_judged_by_how_tight_it_comes_out(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    const int loose = words_find(WORDS_TIGHTNESS, "loose"), normal = words_find(WORDS_TIGHTNESS, "normal");
    struct follow x;

    (void)state;
    at(&r, 0, 1)->tightness = loose;
    at(&r, 0, 1)->refit = words_find(WORDS_REFIT, "torqued");
    visit_toggle_complaint(&r.visits[0], words_find(WORDS_COMPLAINT, "misfire-load"));
    record_add_visit(&r);
    reading_note(at(&r, 1, 1), SIGN_NORMAL, 2);
    visit_toggle_complaint(&r.visits[1], words_find(WORDS_COMPLAINT, "none"));
    follow_of(&r, 0, "loose-plug", "cylinder 2", &x);
    assert_int_equal(x.state, FOLLOW_NOT_LOOKED);
    assert_string_equal(x.shown, "came out loose: before 2, then torqued; how tight it comes out now is not said: 2");
    at(&r, 1, 1)->tightness = normal;
    follow_of(&r, 0, "loose-plug", "cylinder 2", &x);
    assert_int_equal(x.state, FOLLOW_GONE);
    at(&r, 1, 1)->tightness = loose;
    follow_of(&r, 0, "loose-plug", "cylinder 2", &x);
    assert_int_equal(x.state, FOLLOW_BACK);
    assert_non_null(strstr(x.shown, "now 2 loose"));
    record_release(&r);
}

/* Whatever speaks for a cause at its cylinder was noted before the repair: it is never said that nothing was. */
static void what_was_noted_is_not_told_as_nothing(void **state)
{
    const struct cause_table *t = cause_table_builtin();
    int n_told = 0;

    (void)state;
    for (int i = 0; i < t->n_causes; i++)
        for (int k = t->causes[i].first_term; k < t->causes[i].first_term + t->causes[i].n_terms; k++) {
            const struct cause_term *m = &t->terms[k];
            const struct fact_atom *a = &m->fact.atoms[0];
            const int lists[] = {WORDS_ELECTRODE, WORDS_INSULATOR, WORDS_TIGHTNESS};
            struct record r = inline_engine("1 2 3 4", "1 3 4 2");
            struct reading *q = at(&r, 0, 1);
            struct follow x;
            bool noted = false;

            if (m->yes_db > 0 && (m->over == OVER_HERE || m->over == OVER_EACH || m->over == OVER_ANY || m->over == OVER_MOST)) {
                for (int s = 0; s < SIGN_COUNT && a->kind == FACT_SIGN; s++)
                    if ((a->mask >> s & 1u) != 0 && !noted) {
                        reading_note(q, (enum sign)s, 2);
                        noted = true;
                    }
                for (size_t l = 0; l < 3 && a->kind == FACT_WORD; l++)
                    if (a->list == lists[l]) {
                        *(l == 0 ? &q->electrode : l == 1 ? &q->insulator : &q->tightness) = __builtin_ctzll(a->mask);
                        noted = true;
                    }
            }
            record_add_visit(&r);
            if (noted && follow_of(&r, 0, t->causes[i].id, "cylinder 2", &x)) {
                n_told++;
                if (strstr(x.shown, "nothing that shows this cause") != NULL)
                    fail_msg("%s, line %zu: %s", t->causes[i].id, m->line, x.shown);
            }
            record_release(&r);
        }
    assert_true(n_told > 60);
}

/* After a repair the question is what the owner came with, until a visit said it is gone. */
static void the_complaint_is_asked_for_in_its_own_words(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    struct job j;
    int miss = words_find(WORDS_COMPLAINT, "misfire-idle-hot"), none = words_find(WORDS_COMPLAINT, "none");
    const char *label = words_label(WORDS_COMPLAINT, miss);
    char wanted[200];

    (void)state;
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_string_equal(j.steps[j.n_steps - 1].text, "Warm idle: does it run evenly?");
    r.visits[0].complaints_given = true;
    r.visits[0].complaints[r.visits[0].n_complaints++] = miss;
    text_copy(r.visits[0].complaint_words, sizeof r.visits[0].complaint_words, "gone above 1500");
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_string_equal(j.steps[j.n_steps - 1].text, "Warm idle: “gone above 1500”: gone?");
    r.visits[0].complaint_words[0] = '\0';
    text_format(wanted, sizeof wanted, "Warm idle: “%s”: gone?", label);
    for (int visit = 0; visit < 4; visit++) {
        job_propose(&r, NULL, NULL, 0, NULL, &j);
        assert_string_equal(j.steps[j.n_steps - 1].key, "idle");
        /* a visit that notes no complaint has answered for itself */
        assert_string_equal(j.steps[j.n_steps - 1].text, visit < 2 ? wanted : "Warm idle: does it run evenly?");
        record_add_visit(&r);
        if (visit == 1) { /* asked for at the third: it is gone */
            r.visits[2].complaints_given = true;
            r.visits[2].complaints[r.visits[2].n_complaints++] = none;
        }
    }
    record_release(&r);
}

/* Whether the causes hold the swap of the coil for settled. */
static bool says_settled(const struct record *r)
{
    struct reading_options options = {.first_answer = true};
    struct findings f;
    bool settled = false;

    assert_true(reading_run(r, &options, &f, NULL));
    for (int i = 0; i < f.n_causes; i++)
        settled = settled || f.causes[i].settled;
    findings_release(&f);
    return settled;
}

/* A single's job spoke of wells, of the plugs in order and of the set. */
static void a_single_has_words_for_one_plug(void **state)
{
    static const char *const several[] = {"wells", "plugs", "the set", "in order", "another cylinder", "neighbour", "engine.", "1 of 1"};
    static const char *const tables[] = {"assets/job-steps.csv", "assets/job-causes.csv", "assets/causes.csv"};
    struct csv words = load_table("assets/words-of-one.csv"), all[3];
    struct record r = inline_engine("1", "1");
    struct job_judged judged[] = {{"mixed-wear", "engine", JOB_ACCEPTED}, {"coil-one", "cylinder 1", JOB_ACCEPTED}, {"plug-one", "cylinder 1", JOB_ACCEPTED}};
    static struct job j;
    struct findings f;

    (void)state;
    for (size_t i = 0; i < 3; i++)
        all[i] = load_table(tables[i]);
    for (size_t k = 1; k < words.n_rows; k++) { /* none of its rows is dead */
        bool found = false;

        for (size_t i = 0; i < 3; i++)
            for (size_t row = 0; row < all[i].n_rows; row++)
                for (size_t c = 0; c < all[i].n_cells[row]; c++)
                    found = found || strstr(all[i].cells[row][c], csv_named(&words, k, "several")) != NULL;
        if (!found)
            fail_msg("no table says “%s”", csv_named(&words, k, "several"));
    }
    for (size_t i = 0; i < 3; i++)
        csv_release(&all[i]);
    csv_release(&words);
    at(&r, 0, 0)->gap_mm = MAYBE(1.3);
    at(&r, 0, 0)->electrode = words_find(WORDS_ELECTRODE, "rounded");
    assert_true(reading_run(&r, &(struct reading_options){.first_answer = true}, &f, &(struct err){.text = ""}));
    for (int n = 0; n < 4; n += 3) {
        job_propose(&r, &f, judged, n, NULL, &j);
        for (int i = 0; i < j.n_steps + j.n_parts; i++)
            for (size_t k = 0; k < sizeof several / sizeof several[0]; k++) {
                const char *text = i < j.n_steps ? j.steps[i].text : j.parts[i - j.n_steps].text;

                if (strstr(text, several[k]) != NULL)
                    fail_msg("“%s” speaks of several: %s", text, several[k]);
            }
        assert_true(n > 0 || strstr(step(&j, "settle:mixed-wear@engine")->text, "Settle whether: Plug worn out. Renew the plug;") != NULL);
    }
    findings_release(&f);
    record_release(&r);
}

static void the_check_fits_the_complaint(void **state)
{
    static const struct {
        const char *complaint, *key, *text;
    } rows[] = {
        {"misfire-idle-hot", "idle", "Warm idle: "},
        {"hard-start-cold", "idle",
         "Warm idle, then start it cold after a night: “hard to start cold”: gone?"},
        {"misfire-load", "idle", "Warm idle: does it run evenly?"},
        {"misfire-load", "use", "Use it under load: “misses under load”: gone?"},
        {"oil-use", "use", "Note the oil’s level, look again after some tanks of fuel: "}};
    struct csv table = load_table("assets/complaint-checks.csv");
    int n;
    const struct word *words = words_rows(WORDS_COMPLAINT, &n);

    (void)state;
    for (int i = 0; i < n; i++) { /* every complaint has its row, "none" needs none */
        bool has = strcmp(words[i].id, "none") == 0;

        for (size_t k = 1; k < table.n_rows; k++)
            has = has || (strcmp(csv_named(&table, k, "complaint"), words[i].id) == 0 &&
                          csv_named(&table, k, "source")[0] != '\0');
        for (size_t k = 1; k < table.n_rows; k++) { /* what is more than a start is not done at idle */
            const char *then = csv_named(&table, k, "then");

            if ((strcmp(csv_named(&table, k, "driven"), "yes") == 0) != (strstr(then, "use it") != NULL || strstr(then, "overrun") != NULL || strstr(then, "some days") != NULL || strstr(then, "some tanks") != NULL))
                fail_msg("%s", then);
        }
        if (!has)
            fail_msg("nothing says what shows “%s”", words[i].id);
    }
    csv_release(&table);
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct record r = inline_engine("1 2 3 4", "1 3 4 2");
        static struct job j;

        visit_toggle_complaint(&r.visits[0], words_find(WORDS_COMPLAINT, rows[k].complaint));
        job_propose(&r, NULL, NULL, 0, NULL, &j);
        if (!text_starts(step(&j, rows[k].key)->text, rows[k].text))
            fail_msg("%s: %s", rows[k].complaint, step(&j, rows[k].key)->text);
        record_release(&r);
    }
    {
        struct record r = inline_engine(
            "1 2 3 4", "1 3 4 2"); /* the longest that can be said keeps its question */
        static struct job j;

        for (int i = 1; i < n && r.visits[0].n_complaints < 6; i++)
            visit_toggle_complaint(&r.visits[0], i + 7);
        for (int i = 0; i < 30; i++)
            text_copy(r.visits[0].complaint_words + strlen(r.visits[0].complaint_words), 20,
                      "it coughs ");
        job_propose(&r, NULL, NULL, 0, NULL, &j);
        assert_non_null(strstr(step(&j, "idle")->text, "…”: gone?"));
        assert_non_null(strstr(step(&j, "use")->text, "…”: gone?"));
        record_release(&r);
    }
}

static void a_swap_is_judged(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    struct visit_done d;
    struct swap_verdict x;

    (void)state;
    assert_true(visit_parse_done(&r.engine, "swapped:coil:cylinders 3,1", &d, NULL));
    reading_note(at(&r, 0, 2), SIGN_FUEL_WET, 3);
    assert_true(visit_add_code(&r.visits[0], "P0303", NULL));
    record_add_visit(&r);
    swap_judge(&r, &d, &x);
    assert_int_equal(x.state, SWAP_CANNOT_TELL);
    assert_non_null(strstr(x.shown, "Read the firing ends of 3 and 1"));
    /* one read, the other not: neither the verdict nor the causes say more than the other */
    r.visits[0].done[r.visits[0].n_done++] = d;
    reading_note(at(&r, 1, 0), SIGN_FUEL_WET, 2);
    swap_judge(&r, &d, &x);
    assert_int_equal(x.state, SWAP_CANNOT_TELL);
    assert_false(says_settled(&r));
    /* a code names the cylinder the coil went to, and so not the one it came from */
    reading_init(at(&r, 1, 0), 0, 0);
    assert_true(visit_add_code(&r.visits[1], "P0301", NULL));
    swap_judge(&r, &d, &x);
    assert_int_equal(x.state, SWAP_FOLLOWED);
    assert_true(says_settled(&r));
    assert_true(visit_add_code(&r.visits[1], "P0300", NULL)); /* it may be any */
    swap_judge(&r, &d, &x);
    assert_int_equal(x.state, SWAP_CANNOT_TELL);
    assert_false(says_settled(&r));
    r.visits[1].n_codes = 0;
    for (int c = 0; c < 4; c++)
        reading_note(at(&r, 1, c), SIGN_NORMAL, 2);
    swap_judge(&r, &d, &x);
    assert_int_equal(x.state, SWAP_CANNOT_TELL);
    reading_note(at(&r, 1, 0), SIGN_FUEL_WET, 2);
    swap_judge(&r, &d, &x);
    assert_int_equal(x.state, SWAP_FOLLOWED);
    assert_string_equal(x.headline, "Trouble followed the coil from 3 to 1");
    assert_non_null(strstr(x.shown, "P0303"));
    reading_note(at(&r, 1, 0), SIGN_FUEL_WET, 0);
    reading_note(at(&r, 1, 2), SIGN_FUEL_WET, 2);
    swap_judge(&r, &d, &x);
    assert_int_equal(x.state, SWAP_STAYED);
    assert_string_equal(x.headline, "Trouble stayed at 3: it is not the coil");
    /* a code of each: one may be left over */
    assert_true(visit_add_code(&r.visits[1], "P0303", NULL) && visit_add_code(&r.visits[1], "P0301", NULL));
    swap_judge(&r, &d, &x);
    assert_int_equal(x.state, SWAP_CANNOT_TELL);
    assert_true(x.both);
    assert_non_null(strstr(x.shown, "P0303"));
    assert_non_null(strstr(x.shown, "P0301"));
    assert_non_null(strstr(x.shown, "clear the codes"));
    record_release(&r);
}

/* Nobody pulls plugs to find a lead, and of the cylinders whose idle drops nothing is written down: the test that names one
 * speaks of those it does not name. */
static void a_cut_out_test_judges_a_swap_by_itself(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 4 3 2");
    struct visit_done d;
    struct swap_verdict x;

    (void)state;
    assert_true(visit_parse_done(&r.engine, "swapped:lead:cylinders 3,4", &d, NULL));
    visit_set_test(&r.visits[0], words_find(WORDS_TEST, "cut-out"), 2, words_find(WORDS_TEST_RESULT, "no-change"));
    r.visits[0].done[r.visits[0].n_done++] = d;
    record_add_visit(&r);
    swap_judge(&r, &d, &x);
    assert_int_equal(x.state, SWAP_CANNOT_TELL);
    visit_set_test(&r.visits[1], words_find(WORDS_TEST, "cut-out"), 3, words_find(WORDS_TEST_RESULT, "no-change"));
    swap_judge(&r, &d, &x);
    assert_int_equal(x.state, SWAP_FOLLOWED);
    assert_string_equal(x.headline, "Trouble followed the lead from 3 to 4");
    visit_set_test(&r.visits[1], words_find(WORDS_TEST, "cut-out"), 3, 0);
    visit_set_test(&r.visits[1], words_find(WORDS_TEST, "cut-out"), 2, words_find(WORDS_TEST_RESULT, "no-change"));
    swap_judge(&r, &d, &x);
    assert_int_equal(x.state, SWAP_STAYED);
    /* how it runs with one cut out says nothing of the others while none makes no difference */
    visit_set_test(&r.visits[1], words_find(WORDS_TEST, "cut-out"), 2, words_find(WORDS_TEST_RESULT, "drops"));
    swap_judge(&r, &d, &x);
    assert_int_equal(x.state, SWAP_CANNOT_TELL);
    record_release(&r);
}

static const struct cause *cause_of(const struct findings *f, const char *id, const char *where)
{
    for (int i = 0; i < f->n_causes; i++)
        if (strcmp(f->causes[i].id, id) == 0 && strcmp(f->causes[i].where, where) == 0)
            return &f->causes[i];
    return NULL;
}

/* The trouble went with the coil from 3 to 1: the coil in 1 is to be renewed, not swapped again. Where both are coded
 * the swap tells nothing, and that is said. */
static void a_finished_swap_is_not_asked_for_again(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    struct reading_options options = {.first_answer = true};
    struct findings f;
    struct job *j = calloc(1, sizeof *j);
    const struct cause *c;
    bool renew = false, said = false;

    (void)state;
    r.engine.ignition = ENGINE_COIL_PER_PLUG;
    reading_note(at(&r, 0, 2), SIGN_NORMAL, 0);
    reading_note(at(&r, 0, 2), SIGN_DRY_CARBON, 2);
    assert_true(visit_add_code(&r.visits[0], "P0303", NULL));
    assert_true(visit_parse_done(&r.engine, "swapped:coil:cylinders 3,1", &r.visits[0].done[r.visits[0].n_done++], NULL));
    record_add_visit(&r);
    for (int i = 0; i < 4; i++)
        reading_note(at(&r, 1, i), i == 0 ? SIGN_DRY_CARBON : SIGN_NORMAL, 2);
    assert_true(visit_add_code(&r.visits[1], "P0301", NULL));
    assert_true(reading_run(&r, &options, &f, NULL));
    c = cause_of(&f, "coil-one", "cylinder 1");
    assert_non_null(c);
    assert_true(c->probability > 0.9 && c->settled);
    assert_string_equal(c->settles, "Renew the coil: the trouble went along with it when it was swapped.");
    for (int i = 0; i < c->missing.n; i++)
        assert_null(strstr(c->missing.text[i], "to another cylinder"));
    job_propose(&r, &f, NULL, 0, NULL, j);
    for (int i = 0; i < j->n_steps; i++) {
        assert_null(strstr(j->steps[i].text, "swap the coil"));
        renew = renew || (strcmp(j->steps[i].key, "coil-one@cylinder 1") == 0 && strstr(j->steps[i].text, "Renew the coil") != NULL);
    }
    assert_true(renew);
    assert_string_equal(j->parts[0].text, "Ignition coil, cylinder 1");
    findings_release(&f);
    /* both coded */
    assert_true(visit_add_code(&r.visits[1], "P0303", NULL));
    assert_true(reading_run(&r, &options, &f, NULL));
    c = cause_of(&f, "coil-one", "cylinder 1");
    assert_true(c == NULL || (c->probability < 0.9 && !c->settled));
    for (int i = 0; i < f.notes.n; i++)
        said = said || (strstr(f.notes.text[i], "cannot tell yet") != NULL && strstr(f.notes.text[i], "clear the codes") != NULL);
    assert_true(said);
    findings_release(&f);
    free(j);
    record_release(&r);
}

static bool holds(const struct lines *l, const char *words)
{
    for (int i = 0; i < l->n; i++)
        if (strstr(l->text[i], words) != NULL)
            return true;
    return false;
}

/* One plug is wet with fuel, or dry and sooty, it misses at hot idle, and no code is read: the injector alone was named, or the
 * valve, and the only check opened a fuel line. No spark is looked at first, in minutes: coil, boot or lead, plug; then fuel. */
static void a_wet_plug_has_its_spark_looked_at_first(void **state)
{
    static const struct {
        enum sign sign;
        enum engine_ignition ignition;
        const char *first, *check;
    } rows[] = {{SIGN_FUEL_WET, ENGINE_COIL_PER_PLUG, "coil-one", "swap the coil"},
                {SIGN_DRY_CARBON, ENGINE_COIL_PER_PLUG, "coil-one", "swap the coil"},
                {SIGN_FUEL_WET, ENGINE_DISTRIBUTOR, "lead-boot", "idle in the dark"},
                {SIGN_DRY_CARBON, ENGINE_DISTRIBUTOR, "lead-boot", "idle in the dark"}};
    static const char *const shown[] = {"plug-one", "lead-boot"};

    (void)state;
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct record r = inline_engine("1 2 3 4 5 6", "1 5 3 6 2 4");
        struct reading_options options = {.first_answer = true};
        struct findings f;
        struct job *j = calloc(1, sizeof *j);
        int n_checks = 0;

        r.engine.ignition = rows[k].ignition;
        visit_toggle_complaint(&r.visits[0], words_find(WORDS_COMPLAINT, "misfire-idle-hot"));
        for (int i = 0; i < 6; i++)
            reading_note(at(&r, 0, i), i == 2 ? rows[k].sign : SIGN_NORMAL, 2);
        assert_true(reading_run(&r, &options, &f, NULL));
        assert_string_equal(f.causes[0].id, rows[k].first);
        for (size_t i = 0; i < sizeof shown / sizeof shown[0]; i++)
            if (cause_of(&f, shown[i], "cylinder 3") == NULL || cause_of(&f, shown[i], "cylinder 3")->probability < CAUSE_LEAST_SHOWN)
                fail_msg("row %zu: %s is not shown", k, shown[i]);
        assert_true(cause_of(&f, "sticking-valve", "cylinder 3") == NULL || cause_of(&f, "sticking-valve", "cylinder 3")->probability < f.causes[0].probability / 2);
        job_propose(&r, &f, NULL, 0, NULL, j);
        for (int i = 0; i < j->n_steps; i++) {
            n_checks += text_starts(j->steps[i].text, "Settle whether") && strstr(j->steps[i].text, rows[k].check) != NULL;
            assert_null(strstr(j->steps[i].text, "njector"));
        }
        if (n_checks != 1)
            fail_msg("row %zu: no check of the spark", k);
        for (int i = 0; i < f.causes[0].pro.n; i++) /* told once */
            for (int m = 0; m < i; m++)
                assert_string_not_equal(f.causes[0].pro.text[i], f.causes[0].pro.text[m]);
        if (cause_of(&f, "injector", "cylinder 3") != NULL) {
            const char *how = cause_of(&f, "injector", "cylinder 3")->how, *once = rows[k].sign == SIGN_FUEL_WET ? "Fuel-wet firing end: 3" : "Dry soot: 3";

            assert_null(strstr(strstr(how, once) + 1, once));
        }
        findings_release(&f);
        free(j);
        record_release(&r);
    }
}

/* Two boots came out soaked with oil: nothing was proposed for them, and one went back onto a new connector. */
static void soaked_boots_are_cleaned_or_renewed(void **state)
{
    struct record r = inline_engine("1 2 3 4 5 6", "1 5 3 6 2 4");
    struct job *j = calloc(1, sizeof *j);
    char lines[4][80];
    int n;

    (void)state;
    reading_note(at(&r, 0, 3), SIGN_BOOT_OIL_SOAKED, 1);
    job_propose(&r, NULL, NULL, 0, NULL, j);
    for (int i = 0; i < j->n_steps; i++)
        assert_false(text_starts(j->steps[i].key, "soaked@")); /* a trace is wiped off in passing */
    reading_note(at(&r, 0, 4), SIGN_BOOT_OIL_SOAKED, 3);
    reading_note(at(&r, 0, 5), SIGN_BOOT_OIL_SOAKED, 2);
    job_propose(&r, NULL, NULL, 0, NULL, j);
    assert_string_equal(step(j, "soaked@cylinders 5 and 6")->text, "Oil-soaked boot, cylinders 5 and 6: clean and look over, renew where swollen, hardened or cracked");
    assert_string_equal(step(j, "soaked@cylinders 5 and 6")->caution, "high-voltage");
    assert_int_equal(j->n_parts, 1);
    assert_string_equal(j->parts[0].text, "Plug boot, if needed: cylinders 5 and 6");
    assert_string_equal(j->parts[0].note, "optional: only where swollen, hardened or cracked");
    assert_int_equal(j->parts[0].quantity, 2);
    assert_true(visit_parse_done(&r.engine, "replaced:boot:cylinder 5", &r.visits[0].done[r.visits[0].n_done++], NULL));
    job_propose(&r, NULL, NULL, 0, NULL, j);
    assert_non_null(step(j, "soaked@cylinder 6"));
    assert_false(job_answered(&r, &r.visits[0], NULL, "soaked@cylinders 5 and 6"));
    /* ticked, it is written down as cleaned where it was not renewed; only a new boot is a part that was fitted */
    job_ticked_lines(&r.engine, &r.visits[0], "soaked@cylinders 5 and 6", lines, 4, &n);
    assert_int_equal(n, 1);
    assert_string_equal(lines[0], "cleaned:boot:cylinder 6");
    assert_true(visit_parse_done(&r.engine, lines[0], &r.visits[0].done[r.visits[0].n_done++], NULL));
    assert_true(job_answered(&r, &r.visits[0], NULL, "soaked@cylinders 5 and 6") && !job_part_answered(&r, &r.visits[0], NULL, "soaked@cylinders 5 and 6"));
    job_fitted_lines(&r.engine, "soaked@cylinders 5 and 6", lines, 4, &n);
    assert_int_equal(n, 2);
    assert_string_equal(lines[1], "replaced:boot:cylinder 6");
    job_propose(&r, NULL, NULL, 0, NULL, j);
    assert_int_equal(j->n_parts, 0);
    /* a boot that an accepted cause renews is not cleaned */
    r.visits[0].n_done = 0;
    job_propose(&r, NULL, (struct job_judged[]){{.cause = "lead-boot", .place = "cylinder 5", .state = JOB_ACCEPTED}}, 1, NULL, j);
    assert_non_null(step(j, "soaked@cylinder 6"));
    free(j);
    record_release(&r);
}

/* It misses in wet weather and all plugs look well: nothing was named, nothing to be looked at. */
static void wet_weather_asks_for_leads_and_boots(void **state)
{
    static const enum engine_ignition built[] = {ENGINE_DISTRIBUTOR, ENGINE_COIL_PER_PLUG, ENGINE_SHARED_COIL};

    (void)state;
    for (size_t k = 0; k < sizeof built / sizeof built[0]; k++) {
        struct record r = inline_engine("1 2 3 4 5 6", "1 5 3 6 2 4");
        struct reading_options options = {.first_answer = true};
        struct findings f;
        struct job *j = calloc(1, sizeof *j);
        bool checked = false;

        r.engine.ignition = built[k];
        visit_toggle_complaint(&r.visits[0], words_find(WORDS_COMPLAINT, "misfire-wet-weather"));
        for (int i = 0; i < 6; i++)
            reading_note(at(&r, 0, i), SIGN_NORMAL, 2);
        assert_true(reading_run(&r, &options, &f, NULL));
        assert_true(f.n_causes > 0);
        assert_string_equal(f.causes[0].id, "lead-boot");
        assert_true(f.causes[0].probability >= CAUSE_POSSIBLE && f.causes[0].probability < CAUSE_LIKELY);
        job_propose(&r, &f, NULL, 0, NULL, j);
        for (int i = 0; i < j->n_steps; i++)
            checked = checked || strstr(j->steps[i].text, built[k] == ENGINE_COIL_PER_PLUG ? "mist boot and coil with water" : "mist boot and lead with water") != NULL;
        assert_true(checked);
        findings_release(&f);
        free(j);
        record_release(&r);
    }
}

/* It idles high now: that is no miss, and says nothing of whether that goes on. */
static void another_complaint_is_not_the_miss_going_on(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    struct follow x;

    (void)state;
    visit_toggle_complaint(&r.visits[0], words_find(WORDS_COMPLAINT, "misfire-idle-hot"));
    record_add_visit(&r);
    visit_toggle_complaint(&r.visits[1], words_find(WORDS_COMPLAINT, "idle-high"));
    assert_true(follow_of(&r, 0, "coil-one", "cylinder 2", &x));
    assert_int_equal(x.state, FOLLOW_NOT_LOOKED);
    assert_string_equal(x.shown, "miss: before misses at hot idle; now not said: complaint, codes or a cut-out test will tell");
    visit_toggle_complaint(&r.visits[1], words_find(WORDS_COMPLAINT, "misfire-load"));
    assert_true(follow_of(&r, 0, "coil-one", "cylinder 2", &x));
    assert_int_equal(x.state, FOLLOW_NOT_TOLD);
    record_release(&r);
}

static int n_verdicts(const struct record *r)
{
    const struct visit *v = &r->visits[r->n_visits - 2];
    struct swap_verdict x;
    int n = 0;

    for (int i = 0; i < v->n_done; i++) {
        swap_judge(r, &v->done[i], &x);
        n += !x.again;
    }
    return n;
}

/* Coil and plug went from 3 to 5 at once, and the trouble with them: the coil was convicted and the plug let off, though
 * nobody can tell them apart. One is put back, and that tells. */
static void parts_that_moved_together_are_not_told_apart(void **state)
{
    struct record r = inline_engine("1 2 3 4 5 6", "1 5 3 6 2 4");
    struct reading_options options = {.first_answer = true};
    struct findings f;
    struct job *j = calloc(1, sizeof *j);
    struct swap_verdict x;
    const struct cause *coil, *plug;
    int n_swaps = 0;

    (void)state;
    r.engine.ignition = ENGINE_COIL_PER_PLUG;
    for (int i = 0; i < 6; i++)
        reading_note(at(&r, 0, i), i == 2 ? SIGN_DRY_CARBON : SIGN_NORMAL, 2);
    assert_true(visit_add_code(&r.visits[0], "P0303", NULL));
    assert_true(visit_parse_done(&r.engine, "swapped:coil:cylinders 3,5", &r.visits[0].done[r.visits[0].n_done++], NULL));
    assert_true(visit_parse_done(&r.engine, "swapped:plug:cylinders 5,3", &r.visits[0].done[r.visits[0].n_done++], NULL));
    record_add_visit(&r);
    swap_judge(&r, &r.visits[0].done[0], &x);
    assert_int_equal(n_verdicts(&r), 1);
    for (int i = 0; i < 6; i++)
        reading_note(at(&r, 1, i), i == 4 ? SIGN_DRY_CARBON : SIGN_NORMAL, 2);
    assert_true(visit_add_code(&r.visits[1], "P0305", NULL));
    for (int i = 0; i < 2; i++) {
        swap_judge(&r, &r.visits[0].done[i], &x);
        assert_int_equal(x.state, SWAP_FOLLOWED);
        assert_string_equal(x.headline, "Trouble followed plug and coil from 3 to 5: one of the two");
        assert_true(text_starts(x.shown, "They moved together: swap one of them back, drive, read again · before 3: P0303"));
    }
    assert_int_equal(n_verdicts(&r), 1);
    assert_true(reading_run(&r, &options, &f, NULL));
    coil = cause_of(&f, "coil-one", "cylinder 5");
    plug = cause_of(&f, "plug-one", "cylinder 5");
    assert_true(coil != NULL && plug != NULL && !coil->settled && !plug->settled);
    assert_true(coil->probability > 0.4 && plug->probability > 0.4 && coil->probability + plug->probability < 1);
    assert_true(text_starts(plug->settles, "Plug and coil moved from 3 to 5 together, and the trouble with them: it is one of the two."));
    assert_string_equal(plug->settles, coil->settles);
    assert_true(holds(&plug->pro, "plug and coil, which moved together") && !holds(&plug->contra, "swapped coil"));
    for (int i = 2; i < f.n_causes; i++)
        assert_true(f.causes[i].probability < 0.05);
    job_propose(&r, &f, NULL, 0, NULL, j);
    for (int i = 0; i < j->n_steps; i++)
        n_swaps += strstr(j->steps[i].text, "back to 3") != NULL;
    assert_int_equal(n_swaps, 1); /* one step, nothing renewed, nothing bought */
    assert_int_equal(j->n_parts, 0);
    findings_release(&f);
    /* the trouble stays at 5 when the coil is back in 3: it is the plug */
    assert_true(visit_parse_done(&r.engine, "swapped:coil:cylinders 3,5", &r.visits[1].done[r.visits[1].n_done++], NULL));
    assert_true(job_answered(&r, &r.visits[1], NULL, "settle:coil-one@cylinder 5"));
    record_add_visit(&r);
    for (int i = 0; i < 6; i++)
        reading_note(at(&r, 2, i), i == 4 ? SIGN_DRY_CARBON : SIGN_NORMAL, 2);
    assert_true(visit_add_code(&r.visits[2], "P0305", NULL));
    assert_true(reading_run(&r, &options, &f, NULL));
    assert_string_equal(f.causes[0].id, "plug-one");
    assert_true(f.causes[0].settled && f.causes[0].probability > 0.9);
    findings_release(&f);
    /* it went back with the coil */
    for (int i = 0; i < 6; i++) {
        reading_note(at(&r, 2, i), i == 4 ? SIGN_DRY_CARBON : SIGN_NORMAL, 0);
        reading_note(at(&r, 2, i), i == 2 ? SIGN_DRY_CARBON : SIGN_NORMAL, 2);
    }
    r.visits[2].n_codes = 0;
    assert_true(visit_add_code(&r.visits[2], "P0303", NULL));
    assert_true(reading_run(&r, &options, &f, NULL));
    assert_string_equal(f.causes[0].id, "coil-one");
    assert_true(f.causes[0].settled && f.causes[0].probability > 0.9);
    findings_release(&f);
    free(j);
    record_release(&r);
}

/* Neither is it when both moved and the trouble stayed; what was put back before it ran moved nothing. */
static void a_trouble_that_stayed_lets_off_all_that_moved(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    struct swap_verdict x;

    (void)state;
    reading_note(at(&r, 0, 2), SIGN_FUEL_WET, 3);
    assert_true(visit_parse_done(&r.engine, "swapped:coil:cylinders 3,1", &r.visits[0].done[r.visits[0].n_done++], NULL));
    assert_true(visit_parse_done(&r.engine, "swapped:plug:cylinders 3,1", &r.visits[0].done[r.visits[0].n_done++], NULL));
    record_add_visit(&r);
    assert_true(visit_add_code(&r.visits[1], "P0303", NULL));
    swap_judge(&r, &r.visits[0].done[1], &x);
    assert_int_equal(x.state, SWAP_STAYED);
    assert_string_equal(x.headline, "Trouble stayed at 3: it is neither plug nor coil");
    assert_true(visit_parse_done(&r.engine, "swapped:plug:cylinders 1,3", &r.visits[0].done[r.visits[0].n_done++], NULL));
    swap_judge(&r, &r.visits[0].done[0], &x);
    assert_string_equal(x.headline, "Trouble stayed at 3: it is not the coil");
    assert_int_equal(n_verdicts(&r), 1);
    record_release(&r);
}

/* A melted electrode is the gravest thing a plug shows: too hot a plug, timing and a lean mixture are named for it, each with its check. */
static void a_melted_electrode_has_its_causes(void **state)
{
    static const char *const causes[] = {"heat-hot", "timing", "lean-mixture"};
    static const struct {
        const char *banks, *firing;
        int strokes;
    } engines[] = {{"1", "1", 2}, {"1 2 3", "1 2 3", 4}, {"1 2 3 4", "1 3 4 2", 4}};

    (void)state;
    for (size_t k = 0; k < sizeof engines / sizeof engines[0]; k++) {
        struct record r = inline_engine(engines[k].banks, engines[k].firing);
        struct reading_options options = {.first_answer = true};
        struct findings f;
        int n = record_plug_count(&r.engine) - 1;

        r.engine.strokes = engines[k].strokes;
        if (k != 2)
            r.engine.ignition = ENGINE_MAGNETO;
        reading_note(at(&r, 0, n), n == 0 ? SIGN_OIL_WET : SIGN_PALE, 2);
        at(&r, 0, n)->electrode = words_find(WORDS_ELECTRODE, "melted");
        assert_true(reading_run(&r, &options, &f, NULL));
        for (size_t c = 0; c < sizeof causes / sizeof causes[0]; c++) {
            const struct cause *is = cause_of(&f, causes[c], "engine");
            bool shown = false;

            for (int i = 0; is != NULL && i < findings_n_on_screen(&f); i++)
                shown = shown || &f.causes[i] == is;
            if (!shown || is->settles[0] == '\0')
                fail_msg("%d cylinders: %s", n + 1, causes[c]);
        }
        findings_release(&f);
        record_release(&r);
    }
}

/* Oil-wet at 3 alone, the engine stood, another complaint: weak causes are named, and one is to be settled. */
static void what_calls_for_action_has_a_cause_and_a_step(void **state)
{
    struct record r = inline_engine("1 2 3 4 5 6", "1 5 3 6 2 4");
    struct reading_options options = {.first_answer = true};
    struct findings f;
    struct job *j = calloc(1, sizeof *j);
    const struct cause *c, *stuck;
    bool settles = false;

    (void)state;
    r.engine.ignition = ENGINE_COIL_PER_PLUG;
    r.visits[0].last_run = words_find(WORDS_LAST_RUN, "stored");
    visit_toggle_complaint(&r.visits[0], words_find(WORDS_COMPLAINT, "misfire-idle-hot"));
    assert_true(visit_add_code(&r.visits[0], "P0306", NULL));
    reading_note(at(&r, 0, 2), SIGN_NORMAL, 0);
    reading_note(at(&r, 0, 2), SIGN_OIL_WET, 2);
    reading_see_zone(at(&r, 0, 2), ZONE_WELL);
    reading_note(at(&r, 0, 4), SIGN_NORMAL, 0);
    reading_note(at(&r, 0, 4), SIGN_DRY_CARBON, 2);
    assert_true(reading_run(&r, &options, &f, NULL));
    c = cause_of(&f, "rings", "cylinder 3");
    assert_non_null(c);
    assert_true(c - f.causes < findings_n_shown(&f));
    assert_true(c->asks);
    for (int i = 0; i < c->contra.n; i++)
        assert_null(strstr(c->contra.text[i], "oil")); /* nobody said that it uses none */
    job_propose(&r, &f, NULL, 0, NULL, j);
    for (int i = 0; i < j->n_steps; i++)
        settles = settles || (text_starts(j->steps[i].key, "settle:rings@cylinder 3") && strstr(j->steps[i].text, "Compression dry and with oil") != NULL);
    assert_true(settles);
    /* a code names 6: one sooty plug and storage make no likely valve at 5, and that is said against it */
    stuck = cause_of(&f, "sticking-valve", "cylinder 5");
    assert_true(stuck == NULL || (stuck->probability < CAUSE_LIKELY && stuck->contra.n > 0));
    findings_release(&f);
    free(j);
    record_release(&r);
}

/* Oil in the wells of 3, 4, 5, the plug of 3 wet too: what ran down as it was drawn is not held against the seal. */
static void one_leak_over_three_wells_is_one_cause(void **state)
{
    struct record r = inline_engine("1 2 3 4 5 6", "1 5 3 6 2 4");
    struct reading_options options = {.first_answer = true};
    const struct job_judged accepted = {.cause = "tube-seal", .place = "cylinders 3, 4, 5", .state = JOB_ACCEPTED};
    struct findings f;
    struct job *j = calloc(1, sizeof *j);
    const struct cause *c;
    bool part = false;

    (void)state;
    r.engine.ignition = ENGINE_COIL_PER_PLUG;
    for (int k = 0; k < 6; k++) {
        reading_note(at(&r, 0, k), SIGN_WELL_OIL, k >= 2 && k <= 4 ? 2 : 0);
        reading_note(at(&r, 0, k), SIGN_NORMAL, k == 2 ? 0 : 2);
    }
    reading_note(at(&r, 0, 2), SIGN_OIL_WET, 2);
    assert_true(reading_run(&r, &options, &f, NULL));
    c = cause_of(&f, "tube-seal", "cylinders 3, 4, 5");
    assert_non_null(c);
    assert_null(cause_of(&f, "tube-seal", "cylinder 3"));
    for (int i = 0; i < c->contra.n; i++)
        assert_null(strstr(c->contra.text[i], "il-wet firing end"));
    job_propose(&r, &f, &accepted, 1, NULL, j);
    for (int i = 0; i < j->n_parts; i++)
        part = part || (strcmp(j->parts[i].key, "tube-seal@cylinders 3, 4, 5") == 0 && j->parts[i].quantity == 3);
    assert_true(part);
    findings_release(&f);
    free(j);
    record_release(&r);
}

/* Dry wells and "no complaint", or a miss that was only complained of, point nowhere; a code does. */
static void nothing_noted_points_to_no_cause(void **state)
{
    struct record r = inline_engine("1 2 3 4 5 6", "1 5 3 6 2 4");
    struct reading_options options = {.first_answer = true};
    struct findings f;

    (void)state;
    r.engine.ignition = ENGINE_COIL_PER_PLUG;
    visit_toggle_complaint(&r.visits[0], words_find(WORDS_COMPLAINT, "none"));
    reading_see_zone(at(&r, 0, 2), ZONE_WELL);
    reading_see_zone(at(&r, 0, 3), ZONE_WELL);
    assert_true(reading_run(&r, &options, &f, NULL));
    assert_int_equal(f.n_causes, 0);
    findings_release(&f);
    visit_toggle_complaint(&r.visits[0], words_find(WORDS_COMPLAINT, "misfire-idle-hot"));
    assert_true(reading_run(&r, &options, &f, NULL));
    assert_int_equal(f.n_causes, 0);
    findings_release(&f);
    assert_true(visit_add_code(&r.visits[0], "P0306", NULL));
    assert_true(reading_run(&r, &options, &f, NULL));
    assert_true(f.n_causes > 0);
    findings_release(&f);
    record_release(&r);
}

/* Of two plugs a cylinder the one whose part is broken, or that alone looks bad, is named by cause, step and part. */
static void which_of_two_plugs_is_said(void **state)
{
    static const struct {
        enum sign sign;
        const char *cause, *step, *part;
    } rows[] = {{SIGN_COIL_CRACKED, "coil-one", "Renew the coil, which is damaged: cylinder 3 bottom", "Ignition coil, cylinder 3 bottom"},
                {SIGN_BODY_FLASHOVER, "lead-boot", "Renew the lead, cap or boot, which is damaged; a tracked one is not cleaned: cylinder 3 bottom", "Plug boot or lead, cylinder 3 bottom"}};

    (void)state;
    for (size_t k = 0; k < 2; k++)
        for (int both = 0; both < 2; both++) {
            struct record r = inline_engine("1 2 3 4", "1 3 4 2");
            struct reading_options options = {.first_answer = true};
            struct job_judged judged = {"", "cylinder 3", JOB_ACCEPTED};
            struct findings f;
            static struct job j;
            char key[64], at_words[CAUSE_AT_BYTES];
            bool found = false, named = false;

            text_copy(judged.cause, sizeof judged.cause, rows[k].cause);
            r.engine.n_positions = 2;
            text_copy(r.engine.position_names[0], sizeof r.engine.position_names[0], "top");
            text_copy(r.engine.position_names[1], sizeof r.engine.position_names[1], "bottom");
            r.engine.ignition = k == 0 ? ENGINE_COIL_PER_PLUG : ENGINE_DISTRIBUTOR;
            visit_init(&r.visits[0], &r.engine);
            for (int c = 0; c < 4; c++)
                for (int p = 0; p < 2; p++)
                    reading_note(visit_reading(&r.visits[0], &r.engine, c, p), SIGN_NORMAL, 1);
            for (int p = 1 - both; p < 2; p++)
                reading_note(visit_reading(&r.visits[0], &r.engine, 2, p), rows[k].sign, 3);
            reading_note(visit_reading(&r.visits[0], &r.engine, 2, 1), SIGN_NORMAL, 0);
            reading_note(visit_reading(&r.visits[0], &r.engine, 2, 1), SIGN_DRY_CARBON, 3);
            assert_true(reading_run(&r, &options, &f, NULL));
            for (int i = 0; i < f.n_causes; i++)
                if (strcmp(f.causes[i].id, rows[k].cause) == 0 && strcmp(f.causes[i].where, "cylinder 3") == 0) {
                    found = true;
                    cause_at_found(&r.engine, &f.causes[i], at_words);
                    assert_int_equal(strstr(at_words, ", cylinder 3 bottom") != NULL, !both);
                }
            assert_true(found);
            job_propose(&r, &f, &judged, 1, NULL, &j);
            text_format(key, sizeof key, "%s@cylinder 3", rows[k].cause);
            assert_int_equal(strcmp(step(&j, key)->text, rows[k].step) == 0, !both);
            for (int i = 0; i < j.n_parts; i++)
                if (strcmp(j.parts[i].text, rows[k].part) == 0) {
                    named = true;
                    assert_string_equal(j.parts[i].note, "1 of 8 affected: one is enough");
                }
            assert_int_equal(named, !both);
            findings_release(&f);
            record_release(&r);
        }
}

/* Flooded, all alike: that is nothing between two of them, and what feeds all explains it, so no weak rival has to be settled. */
static void fuel_on_all_is_no_leak_between_two(void **state)
{
    static const char *const orders[][2] = {{"1 2 3 4", "1 3 4 2"}, {"1 2 3 4 5 6", "1 5 3 6 2 4"}};

    (void)state;
    for (size_t k = 0; k < 2; k++) {
        struct record r = inline_engine(orders[k][0], orders[k][1]);
        struct reading_options options = {.first_answer = true};
        struct job_judged judged = {"spark-all", "engine", JOB_ACCEPTED};
        struct findings f;
        static struct job j;

        r.engine.ignition = ENGINE_DISTRIBUTOR;
        for (int c = 0; c < r.engine.n_cylinders; c++)
            reading_say(at(&r, 0, c), SIGN_FUEL_WET, 3);
        r.visits[0].last_run = words_find(WORDS_LAST_RUN, "cranked");
        r.visits[0].complaints[r.visits[0].n_complaints++] = words_find(WORDS_COMPLAINT, "hard-start-hot");
        r.visits[0].complaints_given = true;
        assert_true(reading_run(&r, &options, &f, NULL));
        assert_string_equal(f.causes[0].id, "spark-all");
        for (int i = 0; i < f.n_causes; i++) {
            assert_string_not_equal(f.causes[i].id, "hg-between");
            assert_true(!findings_to_settle(&f.causes[i]) || f.causes[i].probability >= CAUSE_LEAST_SHOWN);
        }
        job_propose(&r, &f, &judged, 1, NULL, &j);
        for (int i = 0; i < j.n_steps; i++)
            assert_false(text_starts(j.steps[i].key, "settle:"));
        findings_release(&f);
        record_release(&r);
    }
}

/* A leak across the gasket is between two cylinders: one low figure, the one next door not measured, is none. */
static void one_low_figure_is_no_leak_between_two(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    struct reading_options options = {.first_answer = true};
    struct findings f;
    bool found = false;

    (void)state;
    at(&r, 0, 2)->differential_over_80 = MAYBE(58);
    at(&r, 0, 2)->present = true;
    assert_true(reading_run(&r, &options, &f, NULL));
    assert_true(f.n_causes > 0);
    for (int i = 0; i < findings_n_shown(&f); i++)
        assert_string_not_equal(f.causes[i].id, "hg-between");
    findings_release(&f);
    at(&r, 0, 1)->differential_over_80 = MAYBE(57); /* both are low */
    at(&r, 0, 1)->present = true;
    for (int k = 0; k < 4; k += 3) {
        at(&r, 0, k)->differential_over_80 = MAYBE(76);
        at(&r, 0, k)->present = true;
    }
    assert_true(reading_run(&r, &options, &f, NULL));
    for (int i = 0; i < findings_n_shown(&f); i++)
        found = found || strcmp(f.causes[i].id, "hg-between") == 0;
    assert_true(found);
    findings_release(&f);
    record_release(&r);
}

/* Each step to settle something is of a cause that is on the screen, and what is cut from the list is told. */
static void a_step_is_of_a_cause_that_is_shown(void **state)
{
    struct cause list[9] = {{.id = ""}};
    struct findings f = {.causes = list, .n_causes = 9};
    char words[300];

    (void)state;
    for (int i = 0; i < 9; i++) {
        list[i].probability = 0.4 - 0.01 * i;
        text_format(list[i].label, sizeof list[i].label, "cause %d", i);
    }
    assert_int_equal(findings_n_on_screen(&f), 6);
    findings_more_words(&f, words, sizeof words);
    assert_string_equal(words, "3 more, less likely: cause 6; cause 7; cause 8");
    list[7].asks = true;
    assert_int_equal(findings_n_on_screen(&f), 8);
    findings_more_words(&f, words, sizeof words);
    assert_string_equal(words, "1 more, less likely: cause 8");
    list[8].probability = list[7].probability; /* the same cause at another cylinder */
    findings_more_words(&f, words, sizeof words);
    assert_string_equal(words, "1 more: cause 8");
    list[8].asks = true;
    findings_more_words(&f, words, sizeof words);
    assert_string_equal(words, "");
}

/* What was found there was looked at; whether it dries is asked of what is wet. */
static void what_was_noted_is_not_missing(void **state)
{
    struct record r = inline_engine("1 2 3 4 5 6", "1 5 3 6 2 4");
    struct reading_options options = {.first_answer = true};
    struct findings f;

    (void)state;
    r.engine.ignition = ENGINE_COIL_PER_PLUG;
    r.visits[0].last_run = words_find(WORDS_LAST_RUN, "stored");
    assert_true(visit_add_code(&r.visits[0], "P0303", NULL));
    at(&r, 0, 2)->present = true;
    reading_say(at(&r, 0, 2), SIGN_CONN_BARE, 2);
    reading_note(at(&r, 0, 1), SIGN_DRY_CARBON, 2);
    assert_true(reading_run(&r, &options, &f, NULL));
    assert_true(f.n_causes > 0);
    for (int i = 0; i < f.n_causes; i++)
        for (int k = 0; k < f.causes[i].missing.n; k++) {
            assert_false(strstr(f.causes[i].missing.text[k], "the connector: 3") != NULL);
            assert_null(strstr(f.causes[i].missing.text[k], "wetness"));
            if (strcmp(f.causes[i].id, "sticking-valve") == 0)
                assert_null(strstr(f.causes[i].missing.text[k], "follows the injector"));
        }
    findings_release(&f);
    record_release(&r);
}

/* "Plugs worn out" accepted with all gaps past the limit told to fit a new set and new plugs besides: twelve on the list of a six. */
static void plugs_are_bought_once(void **state)
{
    static const struct {
        const char *cause, *place;
        bool renew; /* the step that names the gap is there beside the repair, which alone might leave the plug in */
    } rows[] = {{"mixed-wear", "engine", false}, {"wrong-plug", "engine", false}, {"plug-one", "cylinder 3", true}};
    struct record r = inline_engine("1 2 3 4 5 6", "1 5 3 6 2 4");
    static struct job j;

    (void)state;
    r.engine.plug.gap_limit_mm = 1.2;
    for (int c = 0; c < 6; c++)
        at(&r, 0, c)->gap_mm = MAYBE(1.25);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct job_judged judged = {.state = JOB_ACCEPTED};
        int n_plugs = 0;
        char key[64];

        text_copy(judged.cause, sizeof judged.cause, rows[i].cause);
        text_copy(judged.place, sizeof judged.place, rows[i].place);
        job_propose(&r, NULL, &judged, 1, NULL, &j);
        for (int k = 0; k < j.n_parts; k++)
            n_plugs += text_starts(j.parts[k].text, "Spark plug") ? j.parts[k].quantity : 0;
        if (n_plugs != 6)
            fail_msg("%s: %d plugs are to be bought", rows[i].cause, n_plugs);
        text_format(key, sizeof key, "%s@", rows[i].cause);
        assert_true(has_step(&j, key));
        assert_int_equal(has_step(&j, "renew@"), rows[i].renew);
    }
    record_release(&r);
}

/* New plugs past the limit, a gauge where nobody measured, the range for those inside; fine wire is not bent. */
static void gaps_are_set_where_that_is_right(void **state)
{
    struct record r = inline_engine("1 2 3 4 5 6", "1 5 3 6 2 4");
    struct err e = {0};
    static struct job j;

    (void)state;
    r.engine.plug.gap_limit_mm = 1.2;
    at(&r, 0, 0)->gap_mm = MAYBE(1.05); /* in the range: left alone */
    at(&r, 0, 1)->gap_mm = MAYBE(1.18);
    at(&r, 0, 2)->gap_mm = MAYBE(1.31);
    at(&r, 0, 3)->gap_mm = MAYBE(0.80);
    at(&r, 0, 5)->gap_mm = MAYBE(1.21);
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_string_equal(step(&j, "gaps@plugs 2, 4")->text, "Set the gap to 1.00 mm: plugs 2, 4");
    assert_string_equal(step(&j, "renew@plugs 3, 6")->text, "Fit new plugs: plugs 3, 6, the gap is past 1.20 mm");
    assert_string_equal(step(&j, "measure@plug 5")->text, "Measure the gap: plug 5, not measured yet");
    job_propose(&r, NULL, NULL, 0, &(struct unit_choice){.inches = true}, &j);
    assert_string_equal(step(&j, "gaps@plugs 2, 4")->text, "Set the gap to 0.039 in: plugs 2, 4"); /* 1.00 / 25.4 = 0.03937, 1.20 / 25.4 = 0.04724 */
    assert_string_equal(step(&j, "renew@plugs 3, 6")->text, "Fit new plugs: plugs 3, 6, the gap is past 0.047 in");
    assert_string_equal(step(&j, "gaps@plugs 2, 4")->marked, "Set the gap to {1 mm}: plugs 2, 4"); /* so it is kept, whatever units are set */
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_true(j.n_parts == 1 && j.parts[0].quantity == 2);
    assert_string_equal(j.parts[0].text, "Spark plugs of the maker's book, plugs 3, 6");
    text_copy(r.engine.plug.type, sizeof r.engine.plug.type, "Quill 14-R"); /* what is bought is named */
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_string_equal(j.parts[0].text, "Spark plugs of the maker's book, plugs 3, 6 (Quill 14-R)");
    r.engine.plug.type[0] = '\0';
    assert_string_equal(j.parts[0].note, "2 of 6 past the limit: a whole set wears alike");
    for (int metal = ENGINE_PLATINUM; metal <= ENGINE_IRIDIUM; metal++) {
        r.engine.plug.electrode = (enum engine_electrode)metal;
        job_propose(&r, NULL, NULL, 0, NULL, &j);
        assert_false(has_step(&j, "gaps@"));
        assert_non_null(strstr(step(&j, "fine-wire@plugs 2, 4")->text, metal == ENGINE_IRIDIUM ? "Iridium is not regapped" : "Platinum is not regapped"));
        assert_string_equal(step(&j, "fine-wire@plugs 2, 4")->caution, "precious");
        assert_true(has_step(&j, "renew@plugs 3, 6"));
    }
    r.engine.plug.electrode = ENGINE_NICKEL;
    assert_true(visit_parse_done(&r.engine, "replaced:plug:cylinders 3,6", &r.visits[0].done[r.visits[0].n_done++], &e));
    at(&r, 0, 5)->gap_left_mm = MAYBE(1.05);
    at(&r, 0, 1)->gap_left_mm = MAYBE(1.0);
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_false(has_step(&j, "renew@"));
    assert_true(has_step(&j, "gaps@plug 4") && has_step(&j, "measure@plugs 3, 5")); /* a new plug out of its box, too */
    assert_int_equal(j.n_parts, 0);
    r.engine.plug.gap_limit_mm = 0; /* "renew past" is not entered: past the range to set it is set, and no plug is sold */
    at(&r, 0, 1)->gap_left_mm.given = false;
    at(&r, 0, 1)->gap_mm = MAYBE(1.45);
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_false(has_step(&j, "renew@"));
    assert_true(has_step(&j, "gaps@plugs 2, 4"));
    assert_int_equal(j.n_parts, 0);
    record_release(&r);
}

/* A track on the porcelain burns the new boot: deposits.csv, "replace plug AND boot together". */
static void a_tracked_plug_is_renewed_with_its_boot(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    struct reading *q = at(&r, 0, 1);
    struct job_judged judged = {"lead-boot", "cylinder 2", JOB_ACCEPTED};
    static struct job j;
    char words[160];
    int n_plugs = 0, n_boots = 0;

    (void)state;
    reading_note(q, SIGN_NORMAL, 2);
    reading_note(q, SIGN_BODY_FLASHOVER, 2);
    job_propose(&r, NULL, &judged, 1, NULL, &j);
    assert_string_equal(step(&j, "scrap@plug 2")->text, "A new plug in place of plug 2: flashover track on its insulator; the old one does not go in again");
    for (int i = 0; i < j.n_parts; i++) {
        n_plugs += strcmp(j.parts[i].text, "Spark plug of the maker's book, plug 2") == 0;
        n_boots += text_starts(j.parts[i].text, "Plug boot or lead");
    }
    assert_int_equal(n_plugs, 1);
    assert_int_equal(n_boots, 1);
    refit_ask(&r, q, false, words, sizeof words);
    assert_string_equal(words, "flashover track on its insulator: a new plug");
    record_release(&r);
}

/* A plug that came out broken, bent, melted or worn does not go in again: a new one is proposed and bought, and its gap is
 * neither set nor measured. */
static void a_plug_that_is_scrap_is_renewed_and_not_gapped(void **state)
{
    static const struct {
        enum words list;
        const char *is, *why, *note;
    } kinds[] = {
        {WORDS_INSULATOR, "cracked", "insulator cracked", "1 of 4 affected: one is enough"}, {WORDS_INSULATOR, "chipped", "insulator chipped", "1 of 4 affected: one is enough"},
        {WORDS_ELECTRODE, "melted", "electrode melted", "1 of 4 affected: one is enough"},   {WORDS_ELECTRODE, "bent", "electrode bent", "1 of 4 affected: one is enough"},
        {WORDS_ELECTRODE, "eroded", "electrodes worn", "1 of 4 worn: a whole set wears alike"},
    };
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    struct reading *q = at(&r, 0, 1);
    struct err e = {0};
    static struct job j;
    char words[160];

    (void)state;
    for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++)
        for (int gap = 0; gap < 3; gap++) { /* not measured, to be set, past the limit */
            visit_init(&r.visits[0], &r.engine);
            reading_note(q, SIGN_NORMAL, 2);
            *(kinds[k].list == WORDS_INSULATOR ? &q->insulator : &q->electrode) = words_find(kinds[k].list, kinds[k].is);
            q->gap_mm = gap == 0 ? (struct maybe){0} : MAYBE(gap == 1 ? 1.18 : 1.50);
            r.engine.plug.gap_limit_mm = 1.4;
            job_propose(&r, NULL, NULL, 0, NULL, &j);
            text_format(words, sizeof words, "A new plug in place of plug 2: %s; the old one does not go in again", kinds[k].why);
            assert_string_equal(step(&j, "scrap@plug 2")->text, words);
            assert_false(has_step(&j, "gaps@plug 2") || has_step(&j, "renew@") || has_step(&j, "measure@plugs 1, 2"));
            assert_int_equal(j.n_parts, 1);
            assert_string_equal(j.parts[0].key, "scrap@plug 2");
            assert_string_equal(j.parts[0].text, "Spark plug of the maker's book, plug 2");
            assert_string_equal(j.parts[0].note, kinds[k].note);
            refit_ask(&r, q, false, words, sizeof words);
            assert_true(text_starts(words, kinds[k].why) && strstr(words, "a new plug") != NULL && strstr(words, "set it") == NULL && strstr(words, "limit") == NULL);
        }
    for (int k = 0; k < work_n_states; k++) /* none that is to be renewed is left out */
        if (work_states[k].level >= LEVEL_ACT && work_states[k].list != WORDS_TIGHTNESS) {
            bool named = false;

            for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
                named = named || (kinds[i].list == work_states[k].list && strcmp(kinds[i].is, work_states[k].id) == 0);
            assert_true(named);
        }
    at(&r, 0, 3)->present = true;
    at(&r, 0, 3)->insulator = words_find(WORDS_INSULATOR, "cracked");
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_string_equal(step(&j, "scrap@plugs 2, 4")->text, "A new plug in place of plugs 2, 4: electrodes worn at 2, insulator cracked at 4; the old one does not go in again");
    { /* an accepted cause that renews it is its step and its part */
        struct job_judged judged = {"plug-one", "cylinder 4", JOB_ACCEPTED};

        job_propose(&r, NULL, &judged, 1, NULL, &j);
        assert_true(text_starts(step(&j, "plug-one@cylinder 4")->text, "Renew the plug, which is damaged")); /* and is not swapped onto another cylinder */
        assert_true(has_step(&j, "scrap@plug 2"));
        assert_int_equal(j.n_parts, 2);
    }
    { /* a likely cause that it shows adds no step of its own to look for what is seen */
        struct findings f;
        struct reading_options options = {.first_answer = true};

        assert_true(visit_add_code(&r.visits[0], "P0304", NULL));
        assert_true(reading_run(&r, &options, &f, NULL));
        assert_non_null(cause_of(&f, "plug-one", "cylinder 4"));
        job_propose(&r, &f, NULL, 0, NULL, &j);
        assert_true(has_step(&j, "scrap@plugs 2, 4"));
        assert_false(has_step(&j, "settle:plug-one@"));
        findings_release(&f);
        r.visits[0].n_codes = 0;
    }
    { /* nor are two plugs bought for one hole */
        struct job_judged judged = {"loose-plug", "cylinder 4", JOB_ACCEPTED};

        job_propose(&r, NULL, &judged, 1, NULL, &j);
        assert_true(has_step(&j, "loose-plug@cylinder 4") && has_step(&j, "scrap@plug 2"));
        assert_int_equal(j.n_parts, 2);
    }
    assert_true(visit_parse_done(&r.engine, "replaced:plug:cylinders 2,4", &r.visits[0].done[r.visits[0].n_done++], &e));
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_false(has_step(&j, "scrap@"));
    assert_true(has_step(&j, "measure@all 4 plugs")); /* the new one's, as it goes in */
    assert_int_equal(j.n_parts, 0);
    r.engine.plug.gap_min_mm = 0; /* the card names no gap */
    r.visits[0].n_done = 0;
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_true(has_step(&j, "scrap@plugs 2, 4"));
    record_release(&r);
}

/* A cause judged cylinder by cylinder that is one entry now, or the other way round, is not asked about again; a further cylinder is. */
static void a_verdict_carries_over_to_a_joined_cause(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    struct job_judged judged[3] = {{"tube-seal", "cylinder 3", JOB_ACCEPTED}, {"tube-seal", "cylinder 4", JOB_ACCEPTED}, {"air-one", "cylinders 1, 2", JOB_DISMISSED}};
    static const struct {
        int n;
        enum job_state second;
        const char *cause, *place;
        enum job_state is;
    } rows[] = {
        {1, JOB_ACCEPTED, "tube-seal", "cylinder 3", JOB_ACCEPTED},     {1, JOB_ACCEPTED, "tube-seal", "cylinders 3, 4", JOB_OPEN},
        {2, JOB_ACCEPTED, "tube-seal", "cylinders 3, 4", JOB_ACCEPTED}, {2, JOB_REPAIRED, "tube-seal", "cylinders 3, 4", JOB_ACCEPTED},
        {2, JOB_DISMISSED, "tube-seal", "cylinders 3, 4", JOB_ACCEPTED}, {2, JOB_ACCEPTED, "tube-seal", "cylinders 2, 3, 4", JOB_OPEN},
        {3, JOB_ACCEPTED, "air-one", "cylinder 2", JOB_DISMISSED},      {3, JOB_ACCEPTED, "air-one", "cylinder 3", JOB_OPEN},
        {3, JOB_ACCEPTED, "cover-gasket", "bank 1", JOB_OPEN},
    };

    (void)state;
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        judged[1].state = rows[k].second;
        if (job_judged_as(&r.engine, judged, rows[k].n, rows[k].cause, rows[k].place) != rows[k].is)
            fail_msg("row %zu", k);
    }
    record_release(&r);
}

/* A bridged plug is not simply refitted: its deposit is cleaned out, or a new plug fitted. */
static void a_bridged_plug_is_cleaned_or_renewed(void **state)
{
    struct record r = inline_engine("1 2", "1 2");
    struct reading *q = at(&r, 0, 1);
    struct err e = {0};
    static struct job j;
    char words[160];

    (void)state;
    reading_note(q, SIGN_BRIDGED, 2);
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_true(text_starts(step(&j, "bridged@plug 2")->text, "Clean the deposit out of the gap, or fit a new plug: plug 2"));
    refit_ask(&r, q, false, words, sizeof words);
    assert_string_equal(words, "its gap is bridged: cleaned, or a new plug?");
    for (int k = 0; k < 2; k++) {
        r.visits[0].n_done = 0;
        assert_true(visit_parse_done(&r.engine, k == 0 ? "cleaned:plug:cylinder 2" : "replaced:plug:cylinder 2", &r.visits[0].done[r.visits[0].n_done++], &e));
        assert_true(job_answered(&r, &r.visits[0], NULL, "bridged@plug 2"));
        job_propose(&r, NULL, NULL, 0, NULL, &j);
        assert_false(has_step(&j, "bridged@"));
        refit_ask(&r, q, false, words, sizeof words);
        assert_string_equal(words, "");
    }
    record_release(&r);
}

/* Air is a danger where it is let in; looking for a piece in the cylinder, that somebody cranks it. */
static void looking_for_a_piece_warns_of_the_crank(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    static struct job j;

    (void)state;
    at(&r, 0, 1)->present = true;
    at(&r, 0, 1)->insulator = words_find(WORDS_INSULATOR, "chipped");
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_string_equal(step(&j, "stop-broken-nose@cylinder 2")->caution, "cylinder");
    assert_non_null(strstr(job_caution_find("cylinder")->text, "nobody cranks it"));
    record_release(&r);
}

/* A propeller is treated as live wherever the engine is turned; an engine in a car is spared that. */
static void a_propeller_is_live(void **state)
{
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    const struct job_caution *list[JOB_MOST_CAUTIONS];
    static struct job j;
    struct err e = {0};

    (void)state;
    r.engine.ignition = ENGINE_COIL_PER_PLUG;
    reading_note(at(&r, 0, 2), SIGN_OIL_WET, 3);
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_false(has_step(&j, "propeller"));
    assert_string_equal(step(&j, "turn")->caution, "hydro");
    r.engine.ignition = ENGINE_MAGNETO;
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    assert_string_equal(j.steps[0].key, "propeller");
    assert_int_equal(job_cautions_of(j.steps[0].caution, list), 2);
    assert_non_null(strstr(list[0]->text, "live"));
    assert_non_null(strstr(list[1]->text, "no approval"));
    assert_string_equal(step(&j, "turn")->caution, "hydro+propeller");
    /* a tractor on a magneto has belts and a fan, and nobody said that it has no propeller */
    assert_string_equal(step(&j, "idle")->caution, "engine-run-prop+engine-run");
    assert_int_equal(job_cautions_of(step(&j, "idle")->caution, list), 2);
    assert_non_null(strstr(list[1]->text, "belts and fans"));
    for (int i = 0; i < j.n_steps; i++) /* none is lost at the end of the field */
        for (const char *id = j.steps[i].caution; *id != '\0'; id += strcspn(id, "+"), id += *id == '+') {
            char one[32];

            text_format(one, sizeof one, "%.*s", (int)strcspn(id, "+"), id);
            assert_non_null(job_caution_find(one));
        }
    assert_non_null(strstr(job_caution_find("engine-run-prop")->text, "propeller"));
    r.engine.n_positions = 2; /* two plugs, ignition unsaid */
    r.engine.ignition = ENGINE_IGNITION_UNKNOWN;
    r.engine.layout = ENGINE_INLINE;
    assert_true(engine_finish(&r.engine, &e));
    assert_false(engine_is_propeller_like(&r.engine)); /* a twin-spark car, as far as anybody said */
    r.engine.ignition = ENGINE_DISTRIBUTOR;
    assert_false(engine_is_propeller_like(&r.engine));
    r.engine.layout = ENGINE_FLAT;
    assert_true(engine_is_propeller_like(&r.engine));
    record_release(&r);
    for (int i = 0; i < 3; i++) { /* a mower, a motorcycle; a flat twin may drive one */
        static const enum engine_layout layouts[] = {ENGINE_SINGLE, ENGINE_V, ENGINE_FLAT};
        struct engine en;

        engine_init(&en);
        en.layout = layouts[i];
        en.ignition = ENGINE_MAGNETO;
        assert_true(engine_parse_banks(&en, i == 0 ? "1" : "1 / 2", &e) && engine_parse_firing(&en, i == 0 ? "1" : "1 2", &e) && engine_finish(&en, &e));
        assert_int_equal(engine_is_propeller_like(&en), i == 2);
    }
}

/* What is looked over and tried is what the engine has: no coils on a magneto, its drop where there are two of them. */
static void the_words_are_of_what_the_engine_has(void **state)
{
    static const struct {
        enum engine_ignition ignition;
        int n_positions;
        const char *look, *idle;
    } rows[] = {
        {ENGINE_IGNITION_UNKNOWN, 1, "Look over coils, boots, leads and connectors", "Warm idle: does it run evenly?"},
        {ENGINE_COIL_PER_PLUG, 1, "Look over coils, boots and connectors", "Warm idle: does it run evenly?"},
        {ENGINE_DISTRIBUTOR, 1, "Look over coil, distributor cap, rotor, points if any, leads, boots and connectors", "Warm idle: does it run evenly?"},
        {ENGINE_MAGNETO, 1, "Look over magnetos from outside, leads, their ends and caps", "Warm idle: does it run evenly?"},
        {ENGINE_MAGNETO, 2, "Look over magnetos from outside, leads, their ends and caps", "Warm idle, then the drop on each magneto by the engine's handbook: does it run evenly?"},
    };
    struct csv words = load_table("assets/words-of-engine.csv");
    static struct job j;

    (void)state;
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct record r = inline_engine("1 2 3 4", "1 3 4 2");

        r.engine.layout = ENGINE_FLAT;
        r.engine.ignition = rows[k].ignition;
        r.engine.n_positions = rows[k].n_positions;
        job_propose(&r, NULL, NULL, 0, NULL, &j);
        assert_string_equal(step(&j, "coils")->text, rows[k].look);
        assert_string_equal(step(&j, "idle")->text, rows[k].idle);
        record_release(&r);
    }
    {
        struct engine en;
        char text[200] = "Leak-down of each, listening next door; combustion-gas test of the coolant.", one[] = "Look over coil, boot, lead and connector";

        engine_init(&en);
        en.layout = ENGINE_FLAT;
        en.ignition = ENGINE_MAGNETO;
        en.n_cylinders = 4;
        job_words_of_engine(&en, text, sizeof text);
        assert_string_equal(text, "Leak-down of each, listening next door.");
        job_words_of_engine(&en, one, sizeof one);
        assert_null(strstr(one, "coil"));
    }
    for (size_t i = 1; i < words.n_rows; i++)
        assert_true(csv_named(&words, i, "source")[0] != '\0');
    csv_release(&words);
}

static bool holds_any(const char *s, const char *const words[])
{
    for (; *words != NULL; words++)
        if (strstr(s, *words) != NULL)
            return true;
    return false;
}

/* What is wrong with a text that tells somebody what to do, clause by clause: a hand on live parts while the
 * engine runs, gas or spray that burns. NULL: nothing. */
static const char *danger_in(const char *text, const char *cautions)
{
    static const char *const runs[] = {"idles", "it runs", "running", "crank", "engine on", "it idle", NULL};
    static const char *const touches[] = {"move", "wiggle", "shake", "pull", "lift ", "unplug", "touch", "swap", "tap ", "press", "hold ", "disconnect", "mist", NULL};
    static const char *const burns[] = {"propane", "butane", "starting fluid", " ether", "brake cleaner", " gas ", " gas,", "carburettor cleaner", "spray", NULL};
    static const char *const denies[] = {"not", "no ", "never", "hands off", "engine off", NULL};
    char clause[320];

    while (*text != '\0') {
        size_t n = strcspn(text, ".;");

        text_format(clause, sizeof clause, " %.*s ", (int)n, text);
        for (char *c = clause; *c != '\0'; c++)
            *c = (char)(*c >= 'A' && *c <= 'Z' ? *c + 32 : *c);
        if (holds_any(clause, runs) && holds_any(clause, touches) && !holds_any(clause, denies))
            return "a hand on a running engine";
        if (holds_any(clause, burns) && !holds_any(clause, denies) && strstr(cautions, "spray") == NULL)
            return "something that burns, without its caution";
        text += n + (text[n] != '\0');
    }
    return NULL;
}

/* The checks that settle a cause, the repairs and the steps. */
static void nothing_live_is_touched(void **state)
{
    static const char *const once[] = {"Swap the coil and read again; move the connector while it idles.", "Move the loom while it idles.", "Smoke or propane at the flange while it idles",
                                       "Spray starting fluid at the flange"};
    const struct cause_table *t = cause_table_builtin();
    struct record r = inline_engine("1 2 3 4", "1 3 4 2");
    static struct job j;
    int n;
    const struct job_cause *rows = job_causes(&n);

    (void)state;
    for (size_t i = 0; i < sizeof once / sizeof once[0]; i++)
        assert_non_null(danger_in(once[i], "high-voltage"));
    assert_null(danger_in("Nothing is touched while it runs", ""));
    for (int i = 0; i < t->n_causes; i++) {
        const char *why = danger_in(t->causes[i].settles, job_cause_find(t->causes[i].id)->caution);

        if (why != NULL)
            fail_msg("%s: %s: %s", t->causes[i].id, t->causes[i].settles, why);
    }
    for (int i = 0; i < n; i++)
        if (danger_in(rows[i].repair, rows[i].caution) != NULL)
            fail_msg("%s: %s", rows[i].cause, rows[i].repair);
    reading_note(at(&r, 0, 2), SIGN_OIL_WET, 3);
    job_propose(&r, NULL, NULL, 0, NULL, &j);
    for (int i = 0; i < j.n_steps; i++) {
        const struct job_caution *list[JOB_MOST_CAUTIONS];
        int n_ids = j.steps[i].caution[0] != '\0';

        if (danger_in(j.steps[i].text, j.steps[i].caution) != NULL)
            fail_msg("%s", j.steps[i].text);
        for (const char *s = j.steps[i].caution; *s != '\0'; s++)
            n_ids += *s == '+';
        assert_int_equal(job_cautions_of(j.steps[i].caution, list), n_ids); /* each of them is known */
    }
    record_release(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_called_stop_is_looked_into_first), cmocka_unit_test(looking_for_a_piece_warns_of_the_crank), cmocka_unit_test(what_it_was_run_over_is_proposed_until_it_is_said), cmocka_unit_test(a_cause_with_which_it_is_not_to_be_run_is_looked_into_first),
        cmocka_unit_test(the_tables_agree),
        cmocka_unit_test(every_job_begins_at_the_wells), cmocka_unit_test(what_is_over_comes_ticked),
        cmocka_unit_test(what_comes_before_the_pulling_can_be_too_late),
        cmocka_unit_test(a_coil_on_each_plug_is_told_without_leads), cmocka_unit_test(the_socket_is_told_as_it_was_used), cmocka_unit_test(a_step_says_what_it_has_to_do_with_the_plugs),
        cmocka_unit_test(plugs_are_bought_once),
        cmocka_unit_test(gaps_are_set_where_that_is_right),
        cmocka_unit_test(a_plug_that_is_scrap_is_renewed_and_not_gapped), cmocka_unit_test(a_tracked_plug_is_renewed_with_its_boot), cmocka_unit_test(a_bridged_plug_is_cleaned_or_renewed), cmocka_unit_test(a_verdict_carries_over_to_a_joined_cause), cmocka_unit_test(the_words_are_of_what_the_engine_has), cmocka_unit_test(a_propeller_is_live),
        cmocka_unit_test(nothing_live_is_touched),
        cmocka_unit_test(causes_bring_steps_and_parts),
        cmocka_unit_test(what_needs_it_running_comes_after_the_refit),
        cmocka_unit_test(what_harms_it_under_load_is_settled_before_the_use),
        cmocka_unit_test(a_low_differential_is_taken_again_hot),
        cmocka_unit_test(a_coil_that_shows_its_damage_is_not_swapped),
        cmocka_unit_test(what_is_seen_broken_is_bought),
        cmocka_unit_test(where_there_are_no_wells_none_is_dried),
        cmocka_unit_test(a_cause_of_several_cylinders_is_repaired_at_all),
        cmocka_unit_test(a_step_of_several_plugs_holds_that_of_one), cmocka_unit_test(a_melted_electrode_has_its_causes), cmocka_unit_test(work_done_answers_what_asks_for_it),
        cmocka_unit_test(several_of_a_kind_ask_for_the_set),
        cmocka_unit_test(twin_plugs_are_rotated),
        cmocka_unit_test(a_repair_is_followed),
        cmocka_unit_test(compression_and_complaint_show_it_too),
        cmocka_unit_test(a_new_part_is_no_evidence), cmocka_unit_test(a_loose_plug_is_judged_by_how_tight_it_comes_out), cmocka_unit_test(what_was_noted_is_not_told_as_nothing),
        cmocka_unit_test(one_leak_over_three_wells_is_one_cause), cmocka_unit_test(nothing_noted_points_to_no_cause),
        cmocka_unit_test(one_low_figure_is_no_leak_between_two), cmocka_unit_test(fuel_on_all_is_no_leak_between_two), cmocka_unit_test(which_of_two_plugs_is_said), cmocka_unit_test(a_step_is_of_a_cause_that_is_shown),
        cmocka_unit_test(what_was_noted_is_not_missing),
        cmocka_unit_test(the_complaint_is_asked_for_in_its_own_words),
        cmocka_unit_test(the_check_fits_the_complaint), cmocka_unit_test(a_single_has_words_for_one_plug),
        cmocka_unit_test(a_swap_is_judged),
        cmocka_unit_test(a_cut_out_test_judges_a_swap_by_itself),
        cmocka_unit_test(what_calls_for_action_has_a_cause_and_a_step),
        cmocka_unit_test(a_finished_swap_is_not_asked_for_again),
        cmocka_unit_test(a_wet_plug_has_its_spark_looked_at_first),
        cmocka_unit_test(a_check_is_over_when_its_part_is_renewed),
        cmocka_unit_test(soaked_boots_are_cleaned_or_renewed),
        cmocka_unit_test(wet_weather_asks_for_leads_and_boots),
        cmocka_unit_test(another_complaint_is_not_the_miss_going_on),
        cmocka_unit_test(parts_that_moved_together_are_not_told_apart),
        cmocka_unit_test(a_trouble_that_stayed_lets_off_all_that_moved),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
