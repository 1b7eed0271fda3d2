/* The end of a visit names what was checked, what stays open and what is over with it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "report/closing.h"

static void record_of_four(struct record *r)
{
    struct err e = {0};
    struct visit *v;

    record_init(r);
    if (!engine_parse_banks(&r->engine, "1 2 3 4", &e) || !engine_parse_firing(&r->engine, "1 3 4 2", &e) || !engine_finish(&r->engine, &e))
        fail_msg("%s", e.text);
    v = record_add_visit(r);
    for (int c = 0; c < 4; c++)
        reading_note(visit_reading(v, &r->engine, c, 0), SIGN_NORMAL, 2);
    visit_reading(v, &r->engine, 1, 0)->gap_mm = MAYBE(1.0);
    visit_reading(v, &r->engine, 0, 0)->refit = words_find(WORDS_REFIT, "torqued");
    visit_set_test(v, words_find(WORDS_TEST, "cut-out"), 2, words_find(WORDS_TEST_RESULT, "no-change"));
}

static void a_visit_ends_with_three_lists(void **state)
{
    const struct logbook_step steps[] = {
        {.text = "Renew the seals", .source = "tube-seal@cylinder 3", .state = "waiting", .waits_for = "seals"},
        {.text = "Look into the wells", .source = "look", .state = "done"},
        {.text = "Dry the wells", .source = "dry", .state = "todo"},
        {.text = "Set 4 gaps to 0.80 mm", .source = "gaps", .state = "todo"},
        {.text = "Turn the engine by hand", .source = "turn", .state = "todo"},
        {.text = "Warm idle: “miss”: gone?", .source = "idle", .state = "todo"},
        {.text = "Look again whether it held", .source = "again:tube-seal@cylinder 3", .state = "later", .after_m = {true, 800e3}},
    };
    const struct logbook_need needs[] = {{.text = "seals", .quantity = 2, .state = "ordered"}, {.text = "coil", .quantity = 1, .state = "fitted"}};
    static const struct {
        enum closing_kind kind;
        const char *text;
    } wanted[] = {
        {CLOSING_CHECKED, "4 of 4 firing ends read, 1 gap"},
        {CLOSING_CHECKED, "Cut out: 3 no change"},
        {CLOSING_CHECKED, "Look into the wells"},
        {CLOSING_OPEN, "Do not start: plugs 2, 3, 4 were drawn and are not torqued"},
        {CLOSING_OPEN, "Renew the seals (waits for seals)"},
        {CLOSING_OPEN, "Set 4 gaps to 0.80 mm"},
        {CLOSING_OPEN, "Turn the engine by hand (open until it has run)"},
        {CLOSING_OPEN, "Warm idle: “miss”: gone?"},
        {CLOSING_OPEN, "Look again whether it held (after 800 km)"},
        {CLOSING_OPEN, "Part: 2 × seals, ordered"},
        {CLOSING_OVER, "Dry the wells (each visit begins with it)"},
    };
    struct closing_line said[CLOSING_MOST];
    struct closing_rows rows = {.steps = steps, .needs = needs, .n_steps = sizeof steps / sizeof steps[0], .n_needs = 2};
    struct record r;
    int n;

    (void)state;
    record_of_four(&r);
    r.visits[0].odometer_unit = words_find(WORDS_ODOMETER_UNIT, "km");
    rows.record = &r;
    n = closing_of(&rows, said);
    for (int i = 0; i < n && i < (int)(sizeof wanted / sizeof wanted[0]); i++) {
        assert_string_equal(said[i].text, wanted[i].text);
        assert_int_equal(said[i].kind, wanted[i].kind);
    }
    assert_int_equal(n, sizeof wanted / sizeof wanted[0]);
    rows.past = true; /* a later visit says whether it may be started */
    assert_int_equal(closing_of(&rows, said), n - 1);
    for (int i = 0; i < n - 1; i++)
        assert_null(strstr(said[i].text, "Do not start"));
    record_release(&r);
}

/* What was looked at around the plugs is checked too, and a step of several plugs says for how many it is done. */
static void wells_coils_and_plugs_are_counted(void **state)
{
    const struct logbook_step steps[] = {{.text = "Set the gap: all 4 plugs", .source = "gaps@all 4 plugs", .state = "todo"}, {.text = "Set the gap: plug 4", .source = "gaps@plug 4", .state = "todo"}};
    struct closing_line said[CLOSING_MOST];
    struct closing_rows rows = {.steps = steps, .n_steps = 2};
    struct record r;
    bool looked = false, counted = false, plain = false;

    (void)state;
    record_of_four(&r);
    r.engine.plug.gap_min_mm = 0.9;
    r.engine.plug.gap_max_mm = 1.0;
    for (int c = 0; c < 4; c++) {
        reading_note(&r.visits[0].readings[c], SIGN_WELL_OIL, c < 2 ? 2 : 0);
        if (c < 3)
            r.visits[0].readings[c].gap_left_mm = MAYBE(0.95);
    }
    r.visits[0].readings[2].amount[SIGN_CONN_BARE] = 2;
    rows.record = &r;
    for (int i = closing_of(&rows, said) - 1; i >= 0; i--) {
        looked = looked || (said[i].kind == CLOSING_CHECKED && strcmp(said[i].text, "Looked at: 4 of 4 wells, 1 of 4 connectors") == 0);
        counted = counted || (said[i].kind == CLOSING_OPEN && strcmp(said[i].text, "Set the gap: all 4 plugs (3 of 4 done)") == 0);
        plain = plain || strcmp(said[i].text, "Set the gap: plug 4") == 0;
    }
    assert_true(looked && counted && plain);
    record_release(&r);
}

/* A caution at the end of a long step is not cut off. */
static void the_longest_step_stands_whole(void **state)
{
    struct logbook_step step = {.state = "waiting", .waits_for = "a part with a name as long as it may be, of fifty-nine signs."};
    struct closing_line said[CLOSING_MOST];
    struct closing_rows rows = {.steps = &step, .n_steps = 1};
    struct record r;
    bool found = false;
    int n;

    (void)state;
    record_of_four(&r);
    rows.record = &r;
    memset(step.text, 'x', sizeof step.text - 1);
    n = closing_of(&rows, said);
    for (int i = 0; i < n; i++)
        found = found || (strncmp(said[i].text, step.text, sizeof step.text - 1) == 0 && strchr(said[i].text, ')') != NULL);
    assert_true(found);
    record_release(&r);
}

/* A cause that was accepted, its part still to be ordered, was asked whether its repair had held. */
static void what_was_never_done_is_not_asked_whether_it_held(void **state)
{
    const struct logbook_verdict coil = {.cause = "coil-one", .place = "cylinder 3", .state = "accepted", .visit = "first"};
    struct report_watch watch[4];
    struct record r;
    struct err e = {0};

    (void)state;
    record_of_four(&r);
    text_copy(r.visits[0].id, sizeof r.visits[0].id, "first");
    text_copy(r.visits[0].date, sizeof r.visits[0].date, "2026-06-14");
    while (r.n_visits < 2)
        record_add_visit(&r);
    assert_int_equal(report_watches(&r, &coil, 1, watch, 4), 1);
    assert_int_equal(watch[0].follow.state, FOLLOW_NOT_DONE);
    assert_non_null(strstr(watch[0].follow.shown, "accepted on 14 Jun 2026"));
    assert_true(visit_parse_done(&r.engine, "replaced:coil:cylinder 3", &r.visits[0].done[r.visits[0].n_done++], &e));
    assert_int_equal(report_watches(&r, &coil, 1, watch, 4), 1);
    assert_int_not_equal(watch[0].follow.state, FOLLOW_NOT_DONE);
    record_release(&r);
}

static struct visit *next_visit(struct record *r, const char *id, const char *date)
{
    struct visit *v = record_add_visit(r);

    text_copy(v->id, sizeof v->id, id);
    text_copy(v->date, sizeof v->date, date);
    return v;
}

/* One visit found the seal tight, the next did not look: that it is gone, and since when, is told and not asked again, until the
 * well is wet again. */
static void what_one_visit_found_out_is_not_asked_by_the_next(void **state)
{
    const struct logbook_verdict seal = {.cause = "tube-seal", .place = "cylinder 3", .state = "repaired", .visit = "first", .repaired_visit = "first"};
    struct logbook_step left[3] = {{.text = "Look again whether it held", .source = "again:tube-seal@cylinder 3", .state = "later", .visit = "first"},
                                   {.text = "Warm idle: gone?", .source = "idle", .state = "todo", .visit = "first"},
                                   {.text = "Set the gap", .source = "gaps@plug 2", .state = "todo", .visit = "first"}};
    struct closing_line said[CLOSING_MOST];
    struct report_watch watch[4];
    struct closing_rows rows = {.watches = watch, .n_watches = 1};
    struct record r;
    char words[80];

    (void)state;
    record_of_four(&r);
    r.engine.plug.gap_min_mm = 1.0;
    r.engine.plug.gap_max_mm = 1.1;
    text_copy(r.visits[0].id, sizeof r.visits[0].id, "first");
    text_copy(r.visits[0].date, sizeof r.visits[0].date, "2026-06-14");
    reading_note(visit_reading(&r.visits[0], &r.engine, 2, 0), SIGN_WELL_OIL, 3);
    reading_see_zone(visit_reading(next_visit(&r, "second", "2026-07-20"), &r.engine, 2, 0), ZONE_WELL);
    visit_toggle_complaint(&r.visits[1], words_find(WORDS_COMPLAINT, "none"));
    assert_int_equal(report_watches(&r, &seal, 1, watch, 4), 1);
    assert_int_equal(watch[0].follow.state, FOLLOW_GONE);
    report_watch_words(&r, &watch[0], words, sizeof words);
    assert_string_equal(words, "gone");
    assert_int_equal(closing_still_left(&r, left, 3, watch, 1), 3); /* this visit's own answers are shown at the steps */
    next_visit(&r, "third", "2026-07-26");
    report_watches(&r, &seal, 1, watch, 4);
    assert_int_equal(watch[0].follow.state, FOLLOW_GONE);
    report_watch_words(&r, &watch[0], words, sizeof words);
    assert_string_equal(words, "gone on 20 Jul 2026");
    assert_true(text_starts(watch[0].follow.shown, "gone on 20 Jul 2026: oil in the well: before 3 heavy; now none"));
    rows.record = &r;
    for (int i = closing_of(&rows, said) - 1; i >= 0; i--) /* this visit did not check it, and leaves nothing of it open */
        assert_null(strstr(said[i].text, "seal"));
    assert_int_equal(closing_still_left(&r, left, 3, watch, 1), 1);
    assert_string_equal(left[2].source, "gaps@plug 2");
    visit_reading(&r.visits[1], &r.engine, 1, 0)->gap_mm = MAYBE(1.05); /* found in range meanwhile */
    assert_int_equal(closing_still_left(&r, left + 2, 1, watch, 1), 0);
    reading_note(visit_reading(&r.visits[2], &r.engine, 2, 0), SIGN_WELL_OIL, 1); /* a trace is less than in June, and more than in July */
    report_watches(&r, &seal, 1, watch, 4);
    assert_int_equal(watch[0].follow.state, FOLLOW_BACK);
    assert_true(text_starts(watch[0].follow.shown, "gone on 20 Jul 2026; oil in the well: before 3 heavy; now 3 a trace"));
    record_release(&r);
}

static void a_repair_that_nobody_looked_at_stays_open(void **state)
{
    const struct logbook_verdict coil = {.cause = "coil-one", .place = "cylinder 3"};
    struct report_watch watch = {.verdict = &coil};
    struct closing_line said[CLOSING_MOST];
    struct closing_rows rows = {.watches = &watch, .n_watches = 1};
    struct record r;

    (void)state;
    record_of_four(&r);
    rows.record = &r;
    for (int s = FOLLOW_NOT_LOOKED; s <= FOLLOW_BACK; s++) {
        bool checked = false, open = false;
        int n;

        watch.follow.state = (enum follow_state)s;
        n = closing_of(&rows, said);
        for (int i = 0; i < n; i++)
            if (strstr(said[i].text, "cylinder 3:") != NULL) {
                checked = checked || said[i].kind == CLOSING_CHECKED;
                open = open || said[i].kind == CLOSING_OPEN;
            }
        assert_int_equal(checked, s != FOLLOW_NOT_LOOKED);
        assert_int_equal(open, s != FOLLOW_GONE);
    }
    record_release(&r);
}

/* Its step to look again is ticked: the readings' verdict says it, once; where no reading shows it, that is said. */
static void a_repair_looked_at_is_told_once(void **state)
{
    const struct logbook_verdict coil = {.cause = "coil-one", .place = "cylinder 3"};
    const struct logbook_step steps[] = {
        {.text = "Look again at cylinder 3: did it hold?", .source = "again:coil-one@cylinder 3", .state = "done"},
        {.text = "Look again at cylinder 4: did it hold?", .source = "again:coil-one@cylinder 4", .state = "done"},
    };
    struct report_watch watch = {.verdict = &coil};
    struct closing_line said[CLOSING_MOST];
    struct closing_rows rows = {.watches = &watch, .n_watches = 1, .steps = steps, .n_steps = 2};
    struct record r;

    (void)state;
    record_of_four(&r);
    rows.record = &r;
    for (int s = FOLLOW_NOT_LOOKED; s <= FOLLOW_BACK; s++) {
        int n, n_checked = 0, n_open = 0;

        watch.follow.state = (enum follow_state)s;
        n = closing_of(&rows, said);
        for (int i = 0; i < n; i++)
            if (strstr(said[i].text, "cylinder 3") != NULL) {
                n_checked += said[i].kind == CLOSING_CHECKED;
                n_open += said[i].kind == CLOSING_OPEN;
                if (s == FOLLOW_NOT_LOOKED && said[i].kind == CLOSING_OPEN)
                    assert_non_null(strstr(said[i].text, "no reading shows"));
            }
        assert_int_equal(n_checked, 1);
        assert_int_equal(n_open, s != FOLLOW_GONE);
        for (int i = 0; i < n; i++) /* the step of another repair stands */
            n_checked += strstr(said[i].text, "cylinder 4") != NULL;
        assert_int_equal(n_checked, 2);
    }
    record_release(&r);
}

/* A long list says that there is more. */
static void what_does_not_fit_is_said(void **state)
{
    static struct logbook_step many[CLOSING_MOST + 5];
    struct closing_line said[CLOSING_MOST];
    struct closing_rows rows = {.steps = many, .n_steps = CLOSING_MOST + 5};
    struct record r;

    (void)state;
    record_of_four(&r);
    rows.record = &r;
    for (size_t i = 0; i < CLOSING_MOST + 5; i++)
        many[i] = (struct logbook_step){.text = "a step", .state = "todo"};
    assert_int_equal(closing_of(&rows, said), CLOSING_MOST);
    assert_string_equal(said[CLOSING_MOST - 1].text, "… and more");
    record_release(&r);
}

/* The idle of the visit before asked whether the miss is gone: "no complaint" now answers it, a complaint leaves it open. */
static void no_complaint_answers_the_idle_before(void **state)
{
    struct logbook_step step = {.text = "Warm idle: gone?", .source = "idle", .state = "todo", .visit = "before"};
    struct closing_line said[CLOSING_MOST];
    struct record r;
    struct closing_rows rows = {.record = &r, .steps = &step, .n_steps = 1};

    (void)state;
    record_of_four(&r);
    for (int n = 0; n < 4; n++) {
        const int i = n % 2;
        bool open = false, answered = false;

        text_copy(step.source, sizeof step.source, n < 2 ? "idle" : "use"); /* the use behind it asks the same */
        visit_toggle_complaint(&r.visits[r.n_visits - 1], words_find(WORDS_COMPLAINT, i == 0 ? "misfire-idle-hot" : "none"));
        for (int k = closing_of(&rows, said) - 1; k >= 0; k--) {
            open = open || (said[k].kind == CLOSING_OPEN && text_starts(said[k].text, "Warm idle"));
            answered = answered || (said[k].kind == CLOSING_CHECKED && strcmp(said[k].text, "Warm idle: gone? (no complaint at this visit)") == 0);
        }
        assert_int_equal(open, i == 0);
        assert_int_equal(answered, i == 1);
    }
    record_release(&r);
}

/* To look again at a repair is answered by what this visit's readings say of it: told once, and not left open. */
static void a_reading_answers_the_look_again_before(void **state)
{
    const struct logbook_verdict seal = {.cause = "tube-seal", .place = "cylinder 3", .state = "repaired"};
    const struct logbook_step step = {.text = "Look again whether it held", .source = "again:tube-seal@cylinder 3", .state = "later", .visit = "before"};
    struct report_watch watch = {.verdict = &seal};
    struct closing_line said[CLOSING_MOST];
    struct record r;
    struct closing_rows rows = {.record = &r, .steps = &step, .watches = &watch, .n_steps = 1, .n_watches = 1};
    static const enum follow_state states[] = {FOLLOW_NOT_LOOKED, FOLLOW_NOT_TOLD, FOLLOW_GONE, FOLLOW_BETTER, FOLLOW_BACK, FOLLOW_NOT_DONE};
    char answer[80];

    (void)state;
    record_of_four(&r);
    for (size_t i = 0; i < sizeof states / sizeof states[0]; i++) {
        bool is = states[i] == FOLLOW_GONE || states[i] == FOLLOW_BETTER || states[i] == FOLLOW_BACK;
        int n_said = 0;

        watch.follow.state = states[i];
        assert_true(closing_answer(&r, &step, &watch, 1, answer, sizeof answer) == is);
        assert_true(is == (answer[0] != '\0'));
        for (int k = closing_of(&rows, said) - 1; k >= 0; k--)
            n_said += text_starts(said[k].text, "Look again");
        assert_int_equal(n_said, !is);
    }
    watch.follow.state = FOLLOW_GONE;
    assert_true(closing_answer(&r, &step, &watch, 1, answer, sizeof answer));
    assert_string_equal(answer, "looked at: gone");
    record_release(&r);
}

/* A check that was ticked says what it settled, or that no figure was noted. */
static void a_check_without_an_outcome_says_so(void **state)
{
    struct logbook_verdict rings = {.cause = "rings", .place = "cylinder 3", .state = "dismissed"};
    struct logbook_step step = {.text = "Settle whether: rings, cylinder 3", .source = "settle:rings@cylinder 3", .state = "done"};
    struct closing_line said[CLOSING_MOST];
    struct record r;
    struct closing_rows rows = {.record = &r, .steps = &step, .n_steps = 1};

    (void)state;
    record_of_four(&r);
    assert_true(closing_lacks_outcome(&r, &step, NULL, 0));
    for (int i = closing_of(&rows, said) - 1; i >= 0; i--)
        if (text_starts(said[i].text, "Settle whether"))
            assert_string_equal(said[i].text, "Settle whether: rings, cylinder 3 (done, no figure noted)");
    assert_false(closing_lacks_outcome(&r, &step, &rings, 1));
    text_copy(step.note, sizeof step.note, "dry 980, wet 1010");
    assert_false(closing_lacks_outcome(&r, &step, NULL, 0));
    step.note[0] = '\0';
    visit_reading(&r.visits[r.n_visits - 1], &r.engine, 2, 0)->compression_kpa = MAYBE(980);
    assert_false(closing_lacks_outcome(&r, &step, NULL, 0));
    text_copy(step.source, sizeof step.source, "pull"); /* a thing that is done, not found out */
    visit_reading(&r.visits[r.n_visits - 1], &r.engine, 2, 0)->compression_kpa = (struct maybe){0};
    assert_false(closing_lacks_outcome(&r, &step, NULL, 0));
    record_release(&r);
}

/* Nobody made the check, and the part it was to settle was renewed: over, with the reason, and no step of the next visit. */
static void a_check_is_over_with_its_part(void **state)
{
    struct logbook_step steps[1] = {{.text = "Settle whether: weak coil, cylinder 3", .source = "settle:coil-one@cylinder 3", .state = "todo"}};
    struct closing_line said[CLOSING_MOST];
    struct record r;
    struct closing_rows rows = {.record = &r, .steps = steps, .n_steps = 1};
    struct visit *v;
    char why[120];
    int n, n_over = 0;

    (void)state;
    record_of_four(&r);
    v = &r.visits[r.n_visits - 1];
    text_copy(v->id, sizeof v->id, "00000000-0000-4000-8000-00000000000a");
    text_copy(steps[0].visit, sizeof steps[0].visit, v->id);
    assert_false(closing_moot(&r, &steps[0], why, sizeof why));
    assert_true(visit_parse_done(&r.engine, "replaced:coil:cylinder 3", &v->done[v->n_done++], NULL));
    assert_true(closing_moot(&r, &steps[0], why, sizeof why));
    n = closing_of(&rows, said);
    for (int i = 0; i < n; i++)
        if (text_starts(said[i].text, "Settle whether")) {
            n_over++;
            assert_int_equal(said[i].kind, CLOSING_OVER);
            assert_string_equal(said[i].text, "Settle whether: weak coil, cylinder 3 (not made: coil of cylinder 3 renewed)");
        }
    assert_int_equal(n_over, 1);
    record_add_visit(&r);
    assert_int_equal(closing_still_left(&r, steps, 1, NULL, 0), 0);
    record_release(&r);
}

/* What was to come before the pulling is no step any more with all plugs out; done already without its tick, it is not open either. */
static void what_comes_too_late_is_over(void **state)
{
    const struct logbook_step look = {.text = "Look into the wells", .source = "look", .state = "todo"}, pull = {.text = "Pull the plugs", .source = "pull", .state = "todo"},
                              dry = {.text = "Dry the wells", .source = "dry", .state = "todo"}, ticked = {.text = "Look into the wells", .source = "look", .state = "done"};
    struct closing_line said[CLOSING_MOST];
    struct record r;
    struct closing_rows rows = {.record = &r, .steps = &look, .n_steps = 1};
    char why[120];
    bool found = false;

    (void)state;
    record_of_four(&r);
    assert_true(closing_moot(&r, &look, why, sizeof why));
    for (int i = closing_of(&rows, said) - 1; i >= 0; i--)
        found = found || (said[i].kind == CLOSING_OVER && strcmp(said[i].text, "Look into the wells (not made: the plugs were pulled first)") == 0);
    assert_true(found);
    assert_false(closing_moot(&r, &ticked, why, sizeof why));
    assert_false(closing_is_open(&r, &look, NULL, 0));
    assert_false(closing_is_open(&r, &pull, NULL, 0));
    assert_true(closing_is_open(&r, &dry, NULL, 0));
    memset(&r.visits[0].readings[3], 0, sizeof r.visits[0].readings[3]); /* one is still in */
    assert_true(closing_is_open(&r, &look, NULL, 0) && closing_is_open(&r, &pull, NULL, 0));
    r.visits[0].state.closed = 1;
    assert_false(closing_is_open(&r, &look, NULL, 0));
    record_release(&r);
}

/* "Look again after 800 km" was over at 700 km: what was found then is an answer so far, and the look stays asked until it has run so far. */
static void a_look_before_its_distance_is_an_answer_so_far(void **state)
{
    static const struct {
        double run_km; /* 0: no odometer at the later visit */
        enum follow_state is;
        bool answers;
        const char *so_far;
    } rows[] = {
        {700, FOLLOW_GONE, false, "gone so far, after 700 km; look again after 800 km"},
        {700, FOLLOW_BETTER, false, "better so far, after 700 km; look again after 800 km"},
        {700, FOLLOW_BACK, true, ""}, /* nothing is to be waited for */
        {800, FOLLOW_GONE, true, ""},
        {0, FOLLOW_GONE, true, ""},
    };
    struct logbook_verdict seal = {.cause = "tube-seal", .place = "cylinder 3", .state = "repaired"};
    struct report_watch watch = {.verdict = &seal};
    struct logbook_step step = {.text = "Look again whether it held: seal", .source = "again:tube-seal@cylinder 3", .state = "later", .after_m = MAYBE(800000)};
    struct record r;

    (void)state;
    record_of_four(&r);
    record_add_visit(&r);
    text_copy(r.visits[0].id, sizeof r.visits[0].id, "00000000-0000-4000-8000-00000000000a");
    text_copy(r.visits[1].id, sizeof r.visits[1].id, "00000000-0000-4000-8000-00000000000b");
    text_copy(step.visit, sizeof step.visit, r.visits[0].id);
    r.visits[0].odometer_m = MAYBE(88200000);
    watch.told_at = 1;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct closing_line said[CLOSING_MOST];
        struct closing_rows c = {.record = &r, .steps = &step, .n_steps = 1, .watches = &watch, .n_watches = 1};
        char answer[120], so_far[120];
        int n_open = 0;

        r.visits[1].odometer_m = rows[i].run_km > 0 ? MAYBE(88200000 + rows[i].run_km * 1000) : (struct maybe){false, 0};
        r.visits[0].odometer_unit = r.visits[1].odometer_unit = words_find(WORDS_ODOMETER_UNIT, "km");
        watch.follow.state = rows[i].is;
        assert_int_equal(closing_answer(&r, &step, &watch, 1, answer, sizeof answer), rows[i].answers);
        assert_int_equal(closing_so_far(&r, &step, &watch, 1, so_far, sizeof so_far), !rows[i].answers);
        assert_string_equal(so_far, rows[i].so_far);
        for (int k = closing_of(&c, said) - 1; k >= 0; k--)
            n_open += said[k].kind == CLOSING_OPEN && text_starts(said[k].text, step.text);
        assert_int_equal(n_open, !rows[i].answers);
        record_add_visit(&r);
        assert_int_equal(closing_still_left(&r, &step, 1, &watch, 1), !rows[i].answers);
        r.n_visits--;
    }
    record_release(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_visit_ends_with_three_lists),
        cmocka_unit_test(a_check_is_over_with_its_part),
        cmocka_unit_test(what_comes_too_late_is_over),
        cmocka_unit_test(a_look_before_its_distance_is_an_answer_so_far),
        cmocka_unit_test(wells_coils_and_plugs_are_counted),
        cmocka_unit_test(the_longest_step_stands_whole),
        cmocka_unit_test(what_was_never_done_is_not_asked_whether_it_held), cmocka_unit_test(a_repair_that_nobody_looked_at_stays_open), cmocka_unit_test(what_one_visit_found_out_is_not_asked_by_the_next),
        cmocka_unit_test(a_check_without_an_outcome_says_so), cmocka_unit_test(no_complaint_answers_the_idle_before),
        cmocka_unit_test(a_repair_looked_at_is_told_once), cmocka_unit_test(a_reading_answers_the_look_again_before),
        cmocka_unit_test(what_does_not_fit_is_said),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
