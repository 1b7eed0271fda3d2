#include "app/job_edit.h"

#include <stdlib.h>
#include <string.h>

#include "app/job_edit_work.h"
#include "app/job_settle.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "base/units.h"
#include "reading/cause_at.h"
#include "record/steps.h"

/* ---- what is proposed ---- */

/* It stands among the visit's steps, or an earlier visit left the same one open until it is done. */
static bool taken_over(const struct model *m, const struct job_step *p)
{
    for (int i = 0; i < model_step_rows(m); i++) {
        const struct logbook_step *s = model_step_row(m, i);

        if (strcmp(s->state, "done") != 0 && job_step_within(&m->record->engine, p->key, s->source)) /* an open one is for these plugs already */
            return true;
        if (strcmp(s->source, p->key) == 0 &&
            (i >= (int)m->n_left_steps || (step_carry(s->source) == STEP_STAYS && strcmp(s->state, "done") != 0 && (strchr(s->source, '@') != NULL || strcmp(s->text, p->text) == 0))))
            return true;
    }
    return false;
}

/* A part's row is named by visit and key, so that it is not proposed twice, also in a copy. */
static void part_id(const struct model *m, const char *key, char id[UUID_BYTES])
{
    uuid_from_parts(id, "need", m->visit_id, key, "");
}

static bool part_taken(const struct model *m, const struct job_part *p)
{
    char id[UUID_BYTES];

    part_id(m, p->key, id);
    for (size_t i = 0; i < m->n_needs; i++)
        if (strcmp(m->needs[i].id, id) == 0 || strcmp(m->needs[i].text, p->text) == 0)
            return true;
    return false;
}

/* "coil-one@cylinder 3" of a step's source; false when the step repairs nothing. */
static bool repairs(const char *source, char cause[32], char place[64])
{
    const char *at = job_key_split(source, cause);

    if (at == NULL)
        return false;
    text_copy(place, 64, at);
    return job_cause_find(cause) != NULL;
}

/* Each step with its place among the others, also what was taken over, is held back or is too late. */
static void propose(const struct model *m, struct job *out)
{
    struct job_judged *judged = mem_alloc(m->n_verdicts + m->n_left_steps + 1, sizeof *judged);
    const struct unit_choice units = model_units(m);
    int n = 0;

    for (size_t i = 0; i < m->n_verdicts; i++) {
        const struct logbook_verdict *v = &m->verdicts[i];

        if (strcmp(v->visit, m->visit_id) != 0 || v->state[0] == '\0')
            continue;
        text_copy(judged[n].cause, sizeof judged[n].cause, v->cause);
        text_copy(judged[n].place, sizeof judged[n].place, v->place);
        judged[n++].state = strcmp(v->state, "dismissed") == 0 ? JOB_DISMISSED : strcmp(v->state, "accepted") == 0 ? JOB_ACCEPTED : JOB_REPAIRED;
    }
    for (size_t i = 0; i < m->n_left_steps; i++) {
        const struct logbook_step *s = model_step_row(m, (int)i);
        const bool settles = text_starts(s->source, "settle:");

        judged[n].state = JOB_LEFT;
        if (strcmp(s->state, "done") != 0 && repairs(s->source + (settles ? strlen("settle:") : 0), judged[n].cause, judged[n].place))
            n++;
    }
    job_propose(m->record, m->findings, judged, n, &units, out);
    free(judged);
}

void job_edit_propose(const struct model *m, struct job *out)
{
    int steps = 0, parts = 0;

    propose(m, out);
    for (int i = 0; i < out->n_steps; i++)
        if (!out->steps[i].too_late && !out->steps[i].held && !taken_over(m, &out->steps[i]))
            out->steps[steps++] = out->steps[i];
    for (int i = 0; i < out->n_parts; i++)
        if (!part_taken(m, &out->parts[i]))
            out->parts[parts++] = out->parts[i];
    out->n_steps = steps;
    out->n_parts = parts;
}

/* ---- small helps ---- */

/* One change of one row of text columns. */
bool job_edit_set_one(struct logbook *lb, const char *label, const char *table, const char *id, const char *column, const char *text, struct err *e)
{
    return logbook_begin(lb, label, e) &&
           (text[0] ? logbook_set_text(lb, table, id, column, text, e) : logbook_clear(lb, table, id, column, e)) && logbook_commit(lb, e);
}

/* Adds or takes away lines of work done after this visit's readings, at most PUT_MOST; the steps and parts they answer go along. */
#define PUT_MOST ENGINE_MAX_CYLINDERS
static bool put_works(struct logbook *lb, const struct model *m, char lines[][80], int n_lines, bool done, struct err *e)
{
    struct visit *v = mem_alloc(1, sizeof *v);
    struct visit_done put[PUT_MOST];
    int n_put = 0;
    bool fine = true;

    *v = *record_current(m->record);
    for (int k = 0; fine && k < n_lines && n_put < PUT_MOST; k++) {
        struct visit_done d;
        int at = -1;

        fine = visit_parse_done(&m->record->engine, lines[k], &d, e);
        for (int i = 0; fine && i < v->n_done; i++)
            if (v->done[i].verb == d.verb && v->done[i].part == d.part && v->done[i].cylinders == d.cylinders)
                at = i;
        if (!fine)
            break;
        put[n_put++] = d;
        if (done && at < 0 && v->n_done < VISIT_MAX_DONE) {
            v->done[v->n_done++] = d;
        } else if (!done && at >= 0) {
            memmove(&v->done[at], &v->done[at + 1], (size_t)(v->n_done - at - 1) * sizeof v->done[0]);
            v->n_done--;
        }
    }
    fine = fine && logbook_change_visit(lb, m->visit_id, &m->record->engine, record_current(m->record), v, e);
    for (int k = 0; fine && k < n_put; k++)
        fine = logbook_note_renewed(lb, m->visit_id, m->engine_id, &m->record->engine, &put[k], done, e);
    fine = fine && job_settle(lb, m, v, -1, e);
    free(v);
    return fine;
}

bool job_edit_put_work(struct logbook *lb, const struct model *m, const char *line, bool done, struct err *e)
{
    char lines[1][80];

    return line[0] == '\0' || (text_copy(lines[0], sizeof lines[0], line) ? put_works(lb, m, lines, 1, done, e) : err_set(e, ERR_BADARG, "“%s” is too long.", TEXT_SHORT(line, 40)));
}

static bool put_verdict(struct logbook *lb, const struct model *m, const char *cause, const char *place, enum job_state state, struct err *e)
{
    static const char *const words[] = {NULL, "accepted", "dismissed", "repaired"};
    const struct job_cause *row = job_cause_find(cause);
    struct logbook_verdict v = {.note = ""};
    char line[160] = "", id[UUID_BYTES], before[16] = "";

    logbook_verdict_id(m->visit_id, cause, place, id);
    (void)logbook_get_text(lb, "verdict", id, "state", before, sizeof before);
    if (row != NULL)
        job_done_line(&m->record->engine, row, place, line, sizeof line);
    if (state == JOB_REPAIRED ? !job_edit_put_work(lb, m, line, true, e) : strcmp(before, "repaired") == 0 && !job_edit_put_work(lb, m, line, false, e))
        return false;
    if (state == JOB_OPEN)
        return logbook_remove(lb, "verdict", id, e);
    text_copy(v.id, sizeof v.id, id);
    text_copy(v.engine, sizeof v.engine, m->engine_id);
    text_copy(v.visit, sizeof v.visit, m->visit_id);
    text_copy(v.cause, sizeof v.cause, cause);
    text_copy(v.place, sizeof v.place, place);
    text_copy(v.state, sizeof v.state, words[state]);
    if (state == JOB_REPAIRED)
        text_copy(v.repaired_visit, sizeof v.repaired_visit, m->visit_id);
    return logbook_put_verdict(lb, &v, e) && (state != JOB_REPAIRED || job_settle_cause(lb, m, cause, place, e));
}

/* ---- steps ---- */

static bool was_drawn(const struct visit *v, const struct reading *r)
{
    return r->present || visit_find_drawn(v, r->cylinder, r->position) >= 0;
}

/* The plugs are pulled: those of which something is said, or all where nothing is. An open hole nobody told of is worse than one told too many. */
static bool note_out(struct logbook *lb, const struct model *m, struct err *e)
{
    const struct visit *v = record_current(m->record);
    bool some = false;

    for (int i = 0; i < record_plug_count(&m->record->engine); i++)
        some |= was_drawn(v, &v->readings[i]);
    for (int i = 0; i < record_plug_count(&m->record->engine); i++) {
        const struct reading *r = &v->readings[i];
        char row[UUID_BYTES];

        if ((!some || was_drawn(v, r)) && r->refit == 0 &&
            (!logbook_touch_reading(lb, m->visit_id, r->cylinder, r->position, row, e) || !logbook_set_text(lb, "reading", row, "refit", "out", e)))
            return false;
    }
    return true;
}

static int visit_at(const struct model *m, const char *id)
{
    int at = m->record->n_visits + m->record->n_later + m->record->n_ahead - 1;

    while (at >= 0 && strcmp(m->record->visits[at].id, id) != 0)
        at--;
    return at;
}

/* Where liquid stood when it was turned is kept with the visit's readings: what is noted later asks for it again. */
static bool note_turned(struct logbook *lb, const struct model *m, int at, bool done, struct err *e)
{
    int n = record_plug_count(&m->record->engine);
    struct ready_liquid liquid = {0};
    const struct visit *v;

    if (at < 0) /* of a visit that is not among those loaded */
        return true;
    v = &m->record->visits[at];
    ready_liquid_of(v, &m->record->engine, &liquid);
    for (int i = 0; i < n; i++) {
        const struct reading *r = &v->readings[i];
        bool now = done && (ready_liquid_set(&liquid) >> r->cylinder & 1) != 0;
        char row[UUID_BYTES];

        if (!r->present || now == r->turned_out)
            continue;
        if (!logbook_touch_reading(lb, v->id, r->cylinder, r->position, row, e) ||
            !(now ? logbook_set_int(lb, "reading", row, "turned_out", 1, e) : logbook_clear(lb, "reading", row, "turned_out", e)))
            return false;
    }
    return true;
}

bool job_edit_set_step_state(struct logbook *lb, const struct model *m, const struct logbook_step *s, const char *state, struct err *e)
{
    bool done = strcmp(state, "done") == 0;
    const struct logbook_need *part;
    char cause[32], place[64], lines[PUT_MOST][80];
    int n;

    if (!logbook_set_text(lb, "step", s->id, "state", state, e) ||
        !(done ? logbook_set_text(lb, "step", s->id, "done_on", m->today, e) : logbook_clear(lb, "step", s->id, "done_on", e)))
        return false;
    if (done && strcmp(s->source, "pull") == 0)
        return note_out(lb, m, e);
    if (strcmp(s->source, "turn") == 0)
        return note_turned(lb, m, visit_at(m, s->visit), done, e);
    if (done == (strcmp(s->state, "done") == 0))
        return true;
    part = job_settle_part_of(m, s);
    if (part != NULL && done != (strcmp(part->state, "fitted") == 0) && job_renews(s->source) && !job_settle_part_state(lb, part, done, e))
        return false;
    if (repairs(s->source, cause, place))
        return put_verdict(lb, m, cause, place, done ? JOB_REPAIRED : JOB_ACCEPTED, e);
    job_ticked_lines(&m->record->engine, done ? record_current(m->record) : NULL, s->source, lines, PUT_MOST, &n);
    return n == 0 || put_works(lb, m, lines, n, done, e);
}

/* Every plug of which nothing is said is torqued, as somebody said; with them the refit is done. */
static bool note_torqued(struct logbook *lb, const struct model *m, const bool marked[ENGINE_MAX_PLUGS], struct err *e)
{
    int n_positions = m->record->engine.n_positions, n_out = 0;
    char row[UUID_BYTES];

    for (int i = 0; i < record_plug_count(&m->record->engine); i++) {
        n_out += !marked[i] && m->ready->why[i] != READY_IN;
        if (marked[i] && (!logbook_touch_reading(lb, m->visit_id, i / n_positions, i % n_positions, row, e) || !logbook_set_text(lb, "reading", row, "refit", "torqued", e)))
            return false;
    }
    for (int i = 0; i < model_step_rows(m) && n_out == 0; i++) {
        const struct logbook_step *s = model_step_row(m, i);

        if (strcmp(s->source, "refit") == 0 && strcmp(s->state, "done") != 0 && !job_edit_set_step_state(lb, m, s, "done", e))
            return false;
    }
    return true;
}

/* The warm idle is ticked, or the use behind it. With holes of which nothing is said that is no word on them: somebody has to say that the plugs were in (a->flag). */
static bool ran(struct logbook *lb, const struct model *m, const struct logbook_step *s, const struct action *a, struct err *e)
{
    bool marked[ENGINE_MAX_PLUGS];
    char label[160], plugs[60] = "";
    int n = ready_blank(m->record, m->ready, marked);

    if (n > 0 && !a->flag)
        return err_set(e, ERR_BADARG, "%d plug%s drawn and not noted as torqued. Say so hole by hole, then tick that it ran.", n, n == 1 ? " is" : "s are");
    if (n > 0)
        engine_plugs_words(&m->record->engine, marked, plugs, sizeof plugs);
    text_format(label, sizeof label, n > 0 ? "Done: %s; torqued: %s" : "Done: %s%s", TEXT_SHORT(s->text, 60), plugs);
    return logbook_begin(lb, label, e) && (n == 0 || note_torqued(lb, m, marked, e)) && job_edit_set_step_state(lb, m, s, "done", e) && logbook_commit(lb, e);
}

static bool step_state(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    const struct logbook_step *s = model_step(m, a->id);
    char label[300];

    if (s == NULL || strcmp(s->state, a->column) == 0)
        return true;
    if (strcmp(a->column, "done") == 0 && strcmp(s->source, "turn") == 0 && ready_asks_to_turn(m->ready) && !ready_can_turn(m->record, m->ready))
        return err_set(e, ERR_BADARG, "Plugs are in, and it is turned by hand with the plugs out. Was it turned before they went in? Then Ctrl+T asks for that.");
    if (strcmp(a->column, "done") == 0 && step_runs(s->source))
        return ran(lb, m, s, a, e);
    text_format(label, sizeof label, "%s: %s", strcmp(a->column, "done") == 0 ? "Done" : "Step", TEXT_SHORT(s->text, 60));
    return logbook_begin(lb, label, e) && job_edit_set_step_state(lb, m, s, a->column, e) && logbook_commit(lb, e);
}

/* "500 mi", "800 km", "" of a distance. */
static bool step_after(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    const struct visit *v = record_current(m->record);
    const char *usual = job_distance_unit(v) > 0 ? words_id(WORDS_ODOMETER_UNIT, job_distance_unit(v)) : "km", *unit;
    double x = 0;

    if (a->text[strspn(a->text, " ")] == '\0')
        return logbook_begin(lb, "Look again", e) && logbook_clear(lb, "step", a->id, "after_m", e) && logbook_commit(lb, e);
    unit = text_read_grouped(a->text, &x);
    if (unit != NULL)
        unit = *unit == '\0' ? usual : words_id(WORDS_ODOMETER_UNIT, visit_read_odometer_unit(unit));
    if (unit == NULL || (strcmp(unit, "mi") != 0 && strcmp(unit, "km") != 0) || x <= 0 || x > 1e6)
        return err_set(e, ERR_BADARG, "“%s” is no distance: write a number and mi or km.", TEXT_SHORT(a->text, 30));
    return logbook_begin(lb, "Look again", e) && logbook_set_int(lb, "step", a->id, "after_m", (int64_t)(x * unit_find(unit)->factor + 0.5), e) &&
           logbook_set_text(lb, "step", a->id, "state", "later", e) && logbook_commit(lb, e);
}

static bool step_text(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    if (strcmp(a->column, "after_m") == 0)
        return step_after(lb, m, a, e);
    if (strcmp(a->column, "text") == 0 && a->text[strspn(a->text, " ")] == '\0')
        return err_set(e, ERR_BADARG, "A step needs words. Take it out with Delete if it is not wanted.");
    if (strcmp(a->column, "waits_for") == 0 && a->text[0] != '\0')
        return logbook_begin(lb, "Waits for", e) && logbook_set_text(lb, "step", a->id, "waits_for", a->text, e) &&
               logbook_set_text(lb, "step", a->id, "state", "waiting", e) && logbook_commit(lb, e);
    return job_edit_set_one(lb, "Step", "step", a->id, a->column, a->text, e);
}

static bool new_step(struct logbook *lb, const struct model *m, const char *text, struct err *e)
{
    struct logbook_step s = {.state = "todo"};

    uuid_make(s.id);
    text_copy(s.visit, sizeof s.visit, m->visit_id);
    text_copy(s.text, sizeof s.text, text);
    return logbook_begin(lb, "New step", e) && logbook_put_step(lb, &s, e) && logbook_commit(lb, e);
}

/* Where a step belongs among those that are there: first ones before, last ones behind, behind them those for
 * which the engine runs, then those it is used under load for, what is looked at after a distance last of all. */
static int rank_of(const struct logbook_step *s, const struct job *all)
{
    if (strcmp(s->state, "later") == 0)
        return 5;
    for (int i = 0; i < all->n_steps; i++)
        if (strcmp(all->steps[i].key, s->source) == 0)
            return all->steps[i].first ? 0 : all->steps[i].driven ? 4 : all->steps[i].running ? 3 : all->steps[i].last ? 2 : 1;
    return 1; /* a step of the person's own */
}

static bool put_proposed(struct logbook *lb, const struct model *m, const struct job_step *p, struct err *e)
{
    struct logbook_step s = {.sort = 0};

    uuid_from_parts(s.id, "step", m->visit_id, p->key, "");
    if (model_step(m, s.id) != NULL) /* that one went along with its plug */
        uuid_make(s.id);
    text_copy(s.visit, sizeof s.visit, m->visit_id);
    text_copy(s.text, sizeof s.text, p->marked);
    text_copy(s.state, sizeof s.state, p->state);
    text_copy(s.caution, sizeof s.caution, p->caution);
    text_copy(s.source, sizeof s.source, p->key);
    s.after_m = p->after_m;
    if (strcmp(p->state, "done") == 0)
        text_copy(s.done_on, sizeof s.done_on, m->today);
    return logbook_put_step(lb, &s, e);
}

/* All steps of the visit by rank, in the order they had within it. */
static bool order_steps(struct logbook *lb, const struct model *m, const struct job *all, struct err *e)
{
    struct arena *a = arena_create();
    struct logbook_step *steps;
    size_t n;
    int64_t sort = 1;
    bool fine = logbook_list_steps(lb, m->visit_id, a, &steps, &n, e);

    for (int rank = 0; fine && rank < 6; rank++)
        for (size_t i = 0; fine && i < n; i++)
            if (rank_of(&steps[i], all) == rank)
                fine = logbook_set_int(lb, "step", steps[i].id, "sort", sort++, e);
    arena_destroy(a);
    return fine;
}

static bool put_part(struct logbook *lb, const struct model *m, const struct job_part *p, struct err *e)
{
    struct logbook_need d = {.state = "to-order", .quantity = p->quantity};

    part_id(m, p->key, d.id);
    text_copy(d.visit, sizeof d.visit, m->visit_id);
    text_copy(d.text, sizeof d.text, p->text);
    text_copy(d.note, sizeof d.note, p->note);
    return logbook_put_need(lb, &d, e);
}

/* As if nothing were taken over: every key with its rank. The caller frees it. */
static struct job *all_proposed(const struct model *m)
{
    struct job *all = mem_alloc(1, sizeof *all);

    propose(m, all);
    return all;
}

static bool take_proposed(struct logbook *lb, const struct model *m, int which, struct err *e)
{
    const struct job *j = m->job;
    struct job *all = all_proposed(m);
    bool fine = logbook_begin(lb, which < 0 ? "Proposed steps taken over" : "Proposed step taken over", e);

    for (int i = 0; fine && i < j->n_steps; i++)
        if (which < 0 || which == i) /* what comes ticked does what its tick does */
            fine = put_proposed(lb, m, &j->steps[i], e) && (strcmp(j->steps[i].does, "out") != 0 || strcmp(j->steps[i].state, "done") != 0 || note_out(lb, m, e));
    for (int i = 0; fine && i < j->n_parts; i++)
        if (which < 0 || which == i + j->n_steps)
            fine = put_part(lb, m, &j->parts[i], e);
    fine = fine && order_steps(lb, m, all, e) && logbook_commit(lb, e);
    free(all);
    return fine;
}

/* The engine as it stands after its last visit, whichever is looked at. */
static struct record after_all(const struct model *m)
{
    return record_until(m->record, m->record->n_visits + m->record->n_later);
}

static bool asks_at(const struct ready *ready, int visit)
{
    for (int k = 0; k < READY_LIQUIDS; k++)
        for (int c = 0; c < ENGINE_MAX_CYLINDERS; c++)
            if ((ready->turn_first.of[k] >> c & 1) != 0 && ready->turn_at[k][c] == visit)
                return true;
    return false;
}

/* Every step that asks for it is ticked, whichever visit it is of; where nobody took one over, the latest visit's is
 * written first. */
static bool turned(struct logbook *lb, const struct model *m, struct err *e)
{
    const struct record all = after_all(m);
    struct model latest = *m;
    struct arena *a = arena_create();
    struct logbook_step *lists[2];
    const struct job_step *asks = NULL;
    struct job *proposed;
    size_t n[2] = {0, 0};
    bool there = false, fine = logbook_begin(lb, "Turned by hand", e) && logbook_list_steps(lb, m->visit_id, a, &lists[0], &n[0], e) &&
                               logbook_list_left_steps(lb, m->visit_id, a, &lists[1], &n[1], e);

    for (int k = 0; k < 2; k++)
        for (size_t i = 0; fine && i < n[k]; i++) {
            const struct logbook_step *s = &lists[k][i];

            if (strcmp(s->source, "turn") != 0 || strcmp(s->state, "done") == 0)
                continue;
            there = true;
            fine = job_edit_set_step_state(lb, m, s, "done", e);
        }
    arena_destroy(a);
    for (int at = 0; fine && at < all.n_visits + all.n_ahead; at++) /* ticked before, and liquid was noted since */
        if (all.visits[at].state.turned == TURN_DONE && asks_at(m->ready, at)) {
            there = true;
            fine = note_turned(lb, m, at, true, e);
        }
    if (!fine || there)
        return fine && logbook_commit(lb, e);
    latest.record = &all;
    latest.visit_id = all.visits[all.n_visits - 1].id;
    latest.n_steps = latest.n_left_steps = 0;
    proposed = all_proposed(&latest);
    for (int i = 0; i < proposed->n_steps; i++)
        if (strcmp(proposed->steps[i].key, "turn") == 0)
            asks = &proposed->steps[i];
    if (asks != NULL) {
        struct logbook_step s = {.source = "turn"};

        text_copy(s.visit, sizeof s.visit, latest.visit_id);
        uuid_from_parts(s.id, "step", latest.visit_id, asks->key, "");
        fine = put_proposed(lb, &latest, asks, e) && job_edit_set_step_state(lb, &latest, &s, "done", e) && order_steps(lb, &latest, proposed, e);
    }
    free(proposed);
    return fine && logbook_commit(lb, e);
}

/* ---- parts and facts ---- */

/* A part that is fitted was renewed: its step is done with it, and open again when it comes out. */
static bool need_state(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    const struct logbook_step *step = NULL;
    bool fitted = strcmp(a->column, "fitted") == 0, was = false;
    char lines[PUT_MOST][80];
    int n = 0;

    for (int i = 0; i < model_need_rows(m); i++)
        if (strcmp(model_need_row(m, i)->id, a->id) == 0) {
            step = job_settle_step_of(m, model_need_row(m, i));
            was = strcmp(model_need_row(m, i)->state, "fitted") == 0;
        }
    if (step != NULL && fitted != was) /* one that was only perhaps wanted */
        job_fitted_lines(&m->record->engine, step->source, lines, PUT_MOST, &n);
    if (!logbook_begin(lb, "Part", e) || (n > 0 && !put_works(lb, m, lines, n, fitted, e)) ||
        (step != NULL && job_renews(step->source) && fitted != was && fitted != (strcmp(step->state, "done") == 0) && !job_edit_set_step_state(lb, m, step, fitted ? "done" : "todo", e)))
        return false;
    return logbook_set_text(lb, "need", a->id, "state", a->column, e) && logbook_set_text(lb, "need", a->id, "on_date", m->today, e) && logbook_commit(lb, e);
}

static bool need_text(struct logbook *lb, const struct action *a, struct err *e)
{
    long n;

    if (strcmp(a->column, "quantity") != 0)
        return job_edit_set_one(lb, "Part", "need", a->id, a->column, a->text, e);
    if (!text_to_long(a->text, &n) || n < 1 || n > 999)
        return err_set(e, ERR_BADARG, "“%s” is no number of parts: write 1 to 999.", TEXT_SHORT(a->text, 20));
    return logbook_begin(lb, "How many", e) && logbook_set_int(lb, "need", a->id, "quantity", n, e) && logbook_commit(lb, e);
}

static bool new_need(struct logbook *lb, const struct model *m, const char *text, struct err *e)
{
    struct logbook_need d = {.state = "to-order", .quantity = 1};

    uuid_make(d.id);
    text_copy(d.visit, sizeof d.visit, m->visit_id);
    text_copy(d.text, sizeof d.text, text);
    return logbook_begin(lb, "New part", e) && logbook_put_need(lb, &d, e) && logbook_commit(lb, e);
}

/* "Plug socket: 16 mm": what stands before the colon is its name. */
static bool new_fact(struct logbook *lb, const struct model *m, const char *text, struct err *e)
{
    struct logbook_fact f = {.sort = 0};
    size_t n = strcspn(text, ":");

    uuid_make(f.id);
    text_copy(f.engine, sizeof f.engine, m->engine_id);
    if (text[n] == '\0') {
        text_copy(f.label, sizeof f.label, "Note");
        text_copy(f.value, sizeof f.value, text);
    } else {
        text_format(f.label, sizeof f.label, "%.*s", (int)n, text);
        text_copy(f.value, sizeof f.value, text + n + 1 + strspn(text + n + 1, " "));
    }
    return logbook_begin(lb, "For next time", e) && logbook_put_fact(lb, &f, e) && logbook_commit(lb, e);
}

/* What was done and what stays open; flag: the visit is finished, or open again. */
static bool close_visit(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    if (strcmp(a->column, "ended_with") == 0)
        return job_edit_set_one(lb, "End of the visit", "visit", m->visit_id, "ended_with", a->text, e);
    return logbook_begin(lb, a->flag ? "Visit closed" : "Visit open again", e) &&
           (a->flag ? logbook_set_int(lb, "visit", m->visit_id, "closed", 1, e) : logbook_clear(lb, "visit", m->visit_id, "closed", e)) && logbook_commit(lb, e);
}

/* ---- work ---- */

/* What was renewed is the repair of a cause that asks for just that, likely or accepted: it is watched from now on. */
bool job_edit_note_repaired(struct logbook *lb, const struct model *m, const char *wanted, struct err *e)
{
    char line[160];
    bool fine = true;

    for (size_t i = 0; fine && i < m->n_verdicts; i++) {
        const struct logbook_verdict *v = &m->verdicts[i];
        const struct job_cause *row = job_cause_find(v->cause);

        if (row == NULL || strcmp(v->visit, m->visit_id) != 0 || strcmp(v->state, "accepted") != 0)
            continue;
        job_done_line(&m->record->engine, row, v->place, line, sizeof line);
        if (strcmp(line, wanted) == 0)
            fine = put_verdict(lb, m, v->cause, v->place, JOB_REPAIRED, e);
    }
    for (int i = 0; fine && m->findings != NULL && i < m->findings->n_causes; i++) {
        const struct cause *c = &m->findings->causes[i];
        const struct job_cause *row = job_cause_find(c->id);

        if (row == NULL || c->probability < CAUSE_LIKELY || strncmp(row->done, "replaced:", 9) != 0)
            continue;
        job_done_line(&m->record->engine, row, c->where, line, sizeof line);
        if (strcmp(line, wanted) == 0)
            fine = put_verdict(lb, m, c->id, c->where, JOB_REPAIRED, e);
    }
    return fine;
}

/* Work that was done without a cause or a part of the list, also what somebody tells of before. */
static bool set_work(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    if (a->flag && record_current(m->record)->n_done >= VISIT_MAX_DONE)
        return err_set(e, ERR_LIMIT, "A visit holds %d pieces of work done. Take one back, or write this one into the notes.", VISIT_MAX_DONE);
    return logbook_begin(lb, a->flag ? "Work done" : "Work taken back", e) && job_edit_put_work(lb, m, a->text, a->flag, e) &&
           (!a->flag || job_edit_note_repaired(lb, m, a->text, e)) && logbook_commit(lb, e);
}

static bool judge(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    static const char *const words[] = {"judged no more", "accepted", "set aside", "repaired"};
    char label[160], at[CAUSE_AT_BYTES];

    cause_at_words(&m->record->engine, a->column, a->text, at);
    text_format(label, sizeof label, "%s: %s", at, words[a->number]);
    return logbook_begin(lb, label, e) && put_verdict(lb, m, a->column, a->text, (enum job_state)a->number, e) && logbook_commit(lb, e);
}

bool job_edit(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    switch (a->type) {
    case ACT_JUDGE: return judge(lb, m, a, e);
    case ACT_STEP_STATE: return step_state(lb, m, a, e);
    case ACT_STEP_TEXT: return step_text(lb, m, a, e);
    case ACT_STEP_ADD: return new_step(lb, m, a->text, e);
    case ACT_STEP_MOVE:
        return logbook_begin(lb, "Step moved", e) && logbook_move_step(lb, m->visit_id, a->id, a->number, e) && logbook_commit(lb, e);
    case ACT_TAKE_PROPOSED: return take_proposed(lb, m, a->number, e);
    case ACT_NEED_STATE: return need_state(lb, m, a, e);
    case ACT_NEED_TEXT: return need_text(lb, a, e);
    case ACT_NEED_ADD: return new_need(lb, m, a->text, e);
    case ACT_FACT_ADD: return new_fact(lb, m, a->text, e);
    case ACT_FACT_TEXT: return job_edit_set_one(lb, "For next time", "fact", a->id, a->column, a->text, e);
    case ACT_SET_WORK: return set_work(lb, m, a, e);
    case ACT_CLOSE_VISIT: return close_visit(lb, m, a, e);
    case ACT_TAKE_OUT:
        return logbook_begin(lb, strcmp(a->column, "step") == 0 ? "Step taken out" : strcmp(a->column, "need") == 0 ? "Part taken out" : "Note taken out", e) && logbook_remove(lb, a->column, a->id, e) && logbook_commit(lb, e);
    case ACT_REFIT: return job_edit_refit(lb, m, a, e);
    case ACT_REFIT_WORD: return job_edit_refit_word(lb, m, a, e);
    case ACT_SWAP_PARTS: return job_edit_swap_parts(lb, m, a, e);
    case ACT_PART_NEW: return job_edit_part_new(lb, m, a, e);
    case ACT_PART_FIT: return job_edit_part_fit(lb, m, a, e);
    case ACT_PART_TEXT: return job_edit_part_text(lb, a, e);
    case ACT_TURNED: return turned(lb, m, e);
    case ACT_SET_TORQUE: return job_edit_set_torque(lb, m, a, e);
    case ACT_CLEANED: return job_edit_cleaned(lb, m, a, e);
    case ACT_UNPLUGGED: return job_edit_unplugged(lb, m, a, e);
    case ACT_KEEP_SCRAP: return job_edit_keep_scrap(lb, m, a, e);
    case ACT_SCHEME: return job_edit_keep_scheme(lb, m, a->text, e);
    case ACT_ROTATE: return job_edit_rotate(lb, m, a, e);
    default: return true;
    }
}
