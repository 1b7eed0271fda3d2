#include "app/job_edit.h"

#include <stdlib.h>
#include <string.h>

#include "app/job_settle.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "base/units.h"
#include "reading/cause_at.h"
#include "record/seated.h"
#include "record/steps.h"
#include "record/stops.h"

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

void job_edit_propose(const struct model *m, struct job *out)
{
    struct job_judged *judged = mem_alloc(m->n_verdicts + 1, sizeof *judged);
    const struct unit_choice units = model_units(m);
    int n = 0, steps = 0, parts = 0;

    for (size_t i = 0; i < m->n_verdicts; i++) {
        const struct logbook_verdict *v = &m->verdicts[i];

        if (strcmp(v->visit, m->visit_id) != 0 || v->state[0] == '\0')
            continue;
        text_copy(judged[n].cause, sizeof judged[n].cause, v->cause);
        text_copy(judged[n].place, sizeof judged[n].place, v->place);
        judged[n++].state = strcmp(v->state, "dismissed") == 0 ? JOB_DISMISSED : strcmp(v->state, "accepted") == 0 ? JOB_ACCEPTED : JOB_REPAIRED;
    }
    job_propose(m->record, m->findings, judged, n, &units, out);
    free(judged);
    for (int i = 0; i < out->n_steps; i++)
        if (!taken_over(m, &out->steps[i]))
            out->steps[steps++] = out->steps[i];
    for (int i = 0; i < out->n_parts; i++)
        if (!part_taken(m, &out->parts[i]))
            out->parts[parts++] = out->parts[i];
    out->n_steps = steps;
    out->n_parts = parts;
}

/* ---- small helps ---- */

/* One change of one row of text columns. */
static bool set_one(struct logbook *lb, const char *label, const char *table, const char *id, const char *column, const char *text, struct err *e)
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

static bool put_work(struct logbook *lb, const struct model *m, const char *line, bool done, struct err *e)
{
    char lines[1][80];

    return line[0] == '\0' || (text_copy(lines[0], sizeof lines[0], line) ? put_works(lb, m, lines, 1, done, e) : err_set(e, ERR_BADARG, "“%.40s…” is too long.", line));
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
    if (state == JOB_REPAIRED ? !put_work(lb, m, line, true, e) : strcmp(before, "repaired") == 0 && !put_work(lb, m, line, false, e))
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

/* "coil-one@cylinder 3" of a step's source; false when the step repairs nothing. */
static bool repairs(const char *source, char cause[32], char place[64])
{
    size_t n = strcspn(source, "@");

    if (source[n] == '\0' || n >= 32)
        return false;
    text_format(cause, 32, "%.*s", (int)n, source);
    text_copy(place, 64, source + n + 1);
    return job_cause_find(cause) != NULL;
}

static bool note_out(struct logbook *lb, const struct model *m, struct err *e)
{
    const struct visit *v = record_current(m->record);

    for (int i = 0; i < record_plug_count(&m->record->engine); i++) {
        const struct reading *r = &v->readings[i];
        char row[UUID_BYTES];

        if ((r->present || visit_find_drawn(v, r->cylinder, r->position) >= 0) && r->refit == 0 &&
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

static bool set_step_state(struct logbook *lb, const struct model *m, const struct logbook_step *s, const char *state, struct err *e)
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
    job_ticked_lines(&m->record->engine, s->source, lines, PUT_MOST, &n);
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

        if (strcmp(s->source, "refit") == 0 && strcmp(s->state, "done") != 0 && !set_step_state(lb, m, s, "done", e))
            return false;
    }
    return true;
}

/* The warm idle is ticked. With holes of which nothing is said that is no word on them: somebody has to say that the plugs were in (a->flag). */
static bool ran(struct logbook *lb, const struct model *m, const struct logbook_step *s, const struct action *a, struct err *e)
{
    bool marked[ENGINE_MAX_PLUGS];
    char label[160], plugs[60] = "";
    int n = ready_blank(m->record, m->ready, marked);

    if (n > 0 && !a->flag)
        return err_set(e, ERR_BADARG, "%d plug%s drawn and not noted as torqued. Say so hole by hole, then tick the warm idle.", n, n == 1 ? " is" : "s are");
    if (n > 0)
        engine_plugs_words(&m->record->engine, marked, plugs, sizeof plugs);
    text_format(label, sizeof label, n > 0 ? "Done: %.60s; torqued: %s" : "Done: %.60s%s", s->text, plugs);
    return logbook_begin(lb, label, e) && (n == 0 || note_torqued(lb, m, marked, e)) && set_step_state(lb, m, s, "done", e) && logbook_commit(lb, e);
}

static bool step_state(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    const struct logbook_step *s = model_step(m, a->id);
    char label[120];

    if (s == NULL || strcmp(s->state, a->column) == 0)
        return true;
    if (strcmp(a->column, "done") == 0 && strcmp(s->source, "turn") == 0 && ready_asks_to_turn(m->ready) && !ready_can_turn(m->record, m->ready))
        return err_set(e, ERR_BADARG, "Plugs are in, and it is turned by hand with the plugs out. Was it turned before they went in? Then Ctrl+T asks for that.");
    if (strcmp(a->column, "done") == 0 && strcmp(s->source, "idle") == 0)
        return ran(lb, m, s, a, e);
    text_format(label, sizeof label, "%s: %.60s", strcmp(a->column, "done") == 0 ? "Done" : "Step", s->text);
    return logbook_begin(lb, label, e) && set_step_state(lb, m, s, a->column, e) && logbook_commit(lb, e);
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
        return err_set(e, ERR_BADARG, "“%.30s” is no distance: write a number and mi or km.", a->text);
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
    return set_one(lb, "Step", "step", a->id, a->column, a->text, e);
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
 * which the engine runs, what is looked at after a distance last of all. */
static int rank_of(const struct logbook_step *s, const struct job *all)
{
    if (strcmp(s->state, "later") == 0)
        return 4;
    for (int i = 0; i < all->n_steps; i++)
        if (strcmp(all->steps[i].key, s->source) == 0)
            return all->steps[i].first ? 0 : all->steps[i].running ? 3 : all->steps[i].last ? 2 : 1;
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

    for (int rank = 0; fine && rank < 5; rank++)
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
    struct model whole = *m;

    whole.n_steps = 0;
    job_edit_propose(&whole, all);
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
            fine = set_step_state(lb, m, s, "done", e);
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
        fine = put_proposed(lb, &latest, asks, e) && set_step_state(lb, &latest, &s, "done", e) && order_steps(lb, &latest, proposed, e);
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

    for (int i = 0; i < model_need_rows(m); i++)
        if (strcmp(model_need_row(m, i)->id, a->id) == 0) {
            step = job_settle_step_of(m, model_need_row(m, i));
            was = strcmp(model_need_row(m, i)->state, "fitted") == 0;
        }
    if (!logbook_begin(lb, "Part", e) ||
        (step != NULL && job_renews(step->source) && fitted != was && fitted != (strcmp(step->state, "done") == 0) && !set_step_state(lb, m, step, fitted ? "done" : "todo", e)))
        return false;
    return logbook_set_text(lb, "need", a->id, "state", a->column, e) && logbook_set_text(lb, "need", a->id, "on_date", m->today, e) && logbook_commit(lb, e);
}

static bool need_text(struct logbook *lb, const struct action *a, struct err *e)
{
    long n;

    if (strcmp(a->column, "quantity") != 0)
        return set_one(lb, "Part", "need", a->id, a->column, a->text, e);
    if (!text_to_long(a->text, &n) || n < 1 || n > 999)
        return err_set(e, ERR_BADARG, "“%.20s” is no number of parts: write 1 to 999.", a->text);
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

/* What was checked and what stays open; flag: the visit is finished, or open again. */
static bool close_visit(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    if (strcmp(a->column, "ended_with") == 0)
        return set_one(lb, "What was checked", "visit", m->visit_id, "ended_with", a->text, e);
    return logbook_begin(lb, a->flag ? "Visit closed" : "Visit open again", e) &&
           (a->flag ? logbook_set_int(lb, "visit", m->visit_id, "closed", 1, e) : logbook_clear(lb, "visit", m->visit_id, "closed", e)) && logbook_commit(lb, e);
}

/* ---- refitting ---- */

/* Torqued, and neither so far over the book that it has to come out again nor scrap that came out and is in again. */
static bool sits(const struct model *m, int plug, int refit, struct maybe nm)
{
    const struct reading *q = &record_current(m->record)->readings[plug];
    const struct reading *in = seated_plug(record_current(m->record), q);
    bool broken = in != NULL && stop_broken(in)[0] != '\0' && !in->kept;

    return !broken && refit == words_find(WORDS_REFIT, "torqued") && !(nm.given && refit_judge(m->book, nm.value) == REFIT_OVER);
}

/* Within a change that is begun: the word, and the step that is done with the last hole, open again when one comes out. */
static bool note_refit(struct logbook *lb, const struct model *m, const struct action *a, int word, struct maybe nm, struct err *e)
{
    char row[UUID_BYTES];
    int others = 0, at = record_plug_index(&m->record->engine, a->cylinder, a->position);

    if (!logbook_touch_reading(lb, m->visit_id, a->cylinder, a->position, row, e) ||
        !(word == 0 ? logbook_clear(lb, "reading", row, "refit", e) : logbook_set_text(lb, "reading", row, "refit", words_id(WORDS_REFIT, word), e)))
        return false;
    for (int i = 0; i < record_plug_count(&m->record->engine); i++)
        others += i != at && !sits(m, i, record_current(m->record)->readings[i].refit, record_current(m->record)->readings[i].torque_nm);
    for (int i = 0; i < model_step_rows(m); i++) {
        const struct logbook_step *s = model_step_row(m, i);
        bool done = others == 0 && sits(m, at, word, nm), was = strcmp(s->state, "done") == 0;

        if (strcmp(s->source, "refit") == 0 && done != was && !set_step_state(lb, m, s, done ? "done" : "todo", e))
            return false;
    }
    return true;
}

bool job_edit_gap_left(struct logbook *lb, const struct model *m, int cylinder, int position, int32_t um, struct err *e)
{
    const struct engine *en = &m->record->engine;
    struct visit *v = mem_alloc(1, sizeof *v);
    bool fine;
    int row;

    *v = *record_current(m->record);
    row = seated_row(v, record_plug_count(en), record_plug_index(en, cylinder, position)); /* it goes along with the plug that is in the hole */
    v->readings[row].gap_left_mm = um >= 0 ? MAYBE(um / 1000.0) : (struct maybe){0};
    fine = logbook_put_gap(lb, m->visit_id, row / en->n_positions, row % en->n_positions, true, um, m->inches ? "in" : "mm", e) && job_settle(lb, m, v, -1, e);
    free(v);
    return fine;
}

static bool refit(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    char label[80], plug[48];

    engine_plug_label(&m->record->engine, a->cylinder, a->position, plug, sizeof plug);
    text_format(label, sizeof label, "Refit of %s%s%s", plug, a->number ? ": " : "", a->number ? words_label(WORDS_REFIT, a->number) : "");
    return logbook_begin(lb, label, e) && note_refit(lb, m, a, a->number, model_reading(m, a->cylinder, a->position)->torque_nm, e) && logbook_commit(lb, e);
}

/* The torque a plug was tightened to: it is torqued with it. Emptied, the figure goes and the word stays. */
static bool set_torque(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    const char *typed = a->text + strspn(a->text, " ");
    const struct unit *plain = unit_find(m->inches ? "lbf.ft" : "Nm"), *unit;
    char row[UUID_BYTES], label[80], plug[48];
    double nm = 0;

    if (typed[0] != '\0' && !unit_parse_torque(typed, plain, &nm, &unit))
        return err_set(e, ERR_BADARG, m->inches ? "“%.20s” is no torque of a plug: write 1 to 74 lbf·ft, or a figure with its unit, 25 N·m." : "“%.20s” is no torque of a plug: write 1 to 100 N·m, or a figure with its unit, 18 lbf·ft.", typed);
    engine_plug_label(&m->record->engine, a->cylinder, a->position, plug, sizeof plug);
    text_format(label, sizeof label, "Torque of %s", plug);
    if (!logbook_begin(lb, label, e) || !logbook_touch_reading(lb, m->visit_id, a->cylinder, a->position, row, e))
        return false;
    if (typed[0] == '\0')
        return logbook_clear(lb, "reading", row, "torque_mnm", e) && logbook_clear(lb, "reading", row, "torque_unit", e) &&
               note_refit(lb, m, a, model_reading(m, a->cylinder, a->position)->refit, (struct maybe){0}, e) && logbook_commit(lb, e);
    return logbook_set_int(lb, "reading", row, "torque_mnm", (int64_t)(nm * 1000 + 0.5), e) && logbook_set_text(lb, "reading", row, "torque_unit", unit->id, e) &&
           note_refit(lb, m, a, words_find(WORDS_REFIT, "torqued"), MAYBE(nm), e) && logbook_commit(lb, e);
}

static bool refit_word(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    char row[UUID_BYTES], label[80], plug[48];
    enum words list = strcmp(a->column, "washer") == 0 ? WORDS_WASHER : WORDS_THREAD_STATE;

    engine_plug_label(&m->record->engine, a->cylinder, a->position, plug, sizeof plug);
    text_format(label, sizeof label, "%s of %s", list == WORDS_WASHER ? "Washer" : "Thread", plug);
    return logbook_begin(lb, label, e) && logbook_touch_reading(lb, m->visit_id, a->cylinder, a->position, row, e) &&
           (a->number == 0 ? logbook_clear(lb, "reading", row, a->column, e) : logbook_set_text(lb, "reading", row, a->column, words_id(list, a->number), e)) &&
           logbook_commit(lb, e);
}

/* The plug was cleaned and dried, or that is taken back. */
static bool cleaned(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    char line[80], label[80];

    text_format(line, sizeof line, "cleaned:plug:cylinder %s", m->record->engine.cylinders[a->cylinder].label);
    text_format(label, sizeof label, a->flag ? "Plug of %s cleaned" : "Plug of %s not cleaned", m->record->engine.cylinders[a->cylinder].label);
    return logbook_begin(lb, label, e) && put_work(lb, m, line, a->flag, e) && logbook_commit(lb, e);
}

/* A plug that is scrap stays in, or is to come out after all: said of the plug, in the row it was read in. */
static bool keep_scrap(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    const struct engine *en = &m->record->engine;
    const struct reading *hole = model_reading(m, a->cylinder, a->position), *plug = model_plug_reading(m, a->cylinder, a->position);
    const int at = record_plug_index(en, a->cylinder, a->position);
    char row[UUID_BYTES], label[100], of[48];
    struct model now = *m;
    struct record after;
    struct visit *v;
    bool fine;

    if (plug == NULL || (a->flag && m->ready->why[at] != READY_SCRAP))
        return true;
    engine_plug_label(en, a->cylinder, a->position, of, sizeof of);
    text_format(label, sizeof label, a->flag ? "Plug %s stays in though it is scrap" : "Plug %s is to come out", of);
    if (!logbook_begin(lb, label, e) || !logbook_touch_reading(lb, m->visit_id, plug->cylinder, plug->position, row, e) ||
        !(a->flag ? logbook_set_int(lb, "reading", row, "kept", 1, e) : logbook_clear(lb, "reading", row, "kept", e)))
        return false;
    v = mem_alloc(1, sizeof *v); /* with it the refit may be done */
    *v = *record_current(m->record);
    v->readings[record_plug_index(en, plug->cylinder, plug->position)].kept = a->flag;
    record_share(&after, m->record);
    record_renew_last(&after, v);
    now.record = &after;
    fine = note_refit(lb, &now, a, hole->refit, hole->torque_nm, e) && logbook_commit(lb, e);
    record_release(&after);
    free(v);
    return fine;
}

/* Its lead or connector is still off, or on again. */
static bool unplugged(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    char row[UUID_BYTES], label[80], plug[48];

    engine_plug_label(&m->record->engine, a->cylinder, a->position, plug, sizeof plug);
    text_format(label, sizeof label, a->flag ? "Lead or connector of %s off" : "Lead or connector of %s on", plug);
    return logbook_begin(lb, label, e) && logbook_touch_reading(lb, m->visit_id, a->cylinder, a->position, row, e) &&
           logbook_set_int(lb, "reading", row, "connected", !a->flag, e) && logbook_commit(lb, e); /* on again is said: an earlier visit may have left it off */
}

/* Another plug is in this hole now: how the one before was tightened holds no more, and it is out until that is said of it.
 * fresh: a new one, or one that was set aside; the gap as left was that of the one before. */
static bool plug_changed(struct logbook *lb, const struct model *m, int cylinder, int position, bool fresh, struct err *e)
{
    static const char *const tightened[] = {"torque_mnm", "torque_unit", "washer", "thread_state"};
    const struct engine *en = &m->record->engine;
    const struct reading *q = model_reading(m, cylinder, position);
    const struct action hole = {.cylinder = cylinder, .position = position};
    const int left = seated_row(record_current(m->record), record_plug_count(en), record_plug_index(en, cylinder, position));
    char row[UUID_BYTES];

    if (fresh && record_current(m->record)->readings[left].gap_left_mm.given && !logbook_put_gap(lb, m->visit_id, left / en->n_positions, left % en->n_positions, true, -1, "mm", e))
        return false;
    if (!q->present)
        return true; /* nothing was said of the one before */
    if (!logbook_touch_reading(lb, m->visit_id, cylinder, position, row, e))
        return false;
    for (size_t i = 0; i < sizeof tightened / sizeof tightened[0]; i++)
        if (!logbook_clear(lb, "reading", row, tightened[i], e))
            return false;
    return q->refit == 0 || note_refit(lb, m, &hole, words_find(WORDS_REFIT, "out"), (struct maybe){0}, e);
}

/* The visit as it will be when the plugs have moved so: who is in which hole. */
static void seat_moved(const struct engine *en, const struct plug_move *moves, int n, struct visit *v)
{
    const struct visit was = *v;

    for (int i = 0; i < n; i++) {
        const int from = record_plug_index(en, moves[i].from.cylinder, moves[i].from.position), to = record_plug_index(en, moves[i].to.cylinder, moves[i].to.position);
        const int16_t now = was.readings[from].plug_now != 0 ? was.readings[from].plug_now : PLUG_FROM(from);

        v->readings[to].plug_now = now == PLUG_FROM(to) ? 0 : now;
    }
}

/* The words of a place within a text, others in their place. */
static void put_words(char *text, size_t n_room, const char *words, const char *other)
{
    const char *at = strstr(text, words);
    struct text t = {0};

    if (at == NULL)
        return;
    text_addf(&t, "%.*s%s%s", (int)(at - text), text, other, at + strlen(words));
    text_copy(text, n_room, text_get(&t));
    text_release(&t);
}

/* The part a step asks for stands beside it by its key. */
static bool carry_part(struct logbook *lb, const struct model *m, const struct logbook_step *s, const char *key, const char *words, const char *other, struct err *e)
{
    const struct logbook_need *part = job_settle_part_of(m, s);
    struct logbook_need d;

    if (part == NULL)
        return true;
    d = *part;
    uuid_from_parts(d.id, "need", d.visit, key, "");
    put_words(d.text, sizeof d.text, words, other);
    return logbook_remove(lb, "need", part->id, e) && logbook_put_need(lb, &d, e);
}

/* Plugs change holes: what is still to be done to one of them, its gap to set, a new one in its place, goes along. */
static bool carry_steps(struct logbook *lb, const struct model *m, const struct plug_move *moves, int n, struct err *e)
{
    const struct engine *en = &m->record->engine;
    struct record after;
    struct visit *v = mem_alloc(1, sizeof *v);
    bool fine = true;

    *v = *record_current(m->record);
    seat_moved(en, moves, n, v);
    record_share(&after, m->record);
    record_renew_last(&after, v);
    for (int i = 0; fine && i < model_step_rows(m); i++) {
        struct logbook_step s = *model_step_row(m, i);
        const struct logbook_step was = s;
        char text[sizeof s.text];
        const char *place = strchr(s.source, '@'), *words = place != NULL ? place + 1 : "";

        if (strcmp(s.state, "done") == 0 || !job_key_moved(en, was.source, moves, n, s.source, sizeof s.source))
            continue;
        job_key_text(m->record, was.source, text, sizeof text);
        if (strcmp(text, was.text) == 0)
            job_key_text(&after, s.source, s.text, sizeof s.text);
        else /* in the person's own words */
            put_words(s.text, sizeof s.text, &was.source[words - s.source], strchr(s.source, '@') + 1);
        fine = logbook_put_step(lb, &s, e) && carry_part(lb, m, &was, s.source, strchr(was.source, '@') + 1, strchr(s.source, '@') + 1, e);
    }
    record_release(&after);
    free(v);
    return fine;
}

static bool swap_parts(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    const struct engine *en = &m->record->engine;
    struct plug_move moves[2 * ENGINE_MAX_POSITIONS];
    char label[100];
    bool fine;
    int n = 0;

    for (int p = 0; p < en->n_positions; p++) {
        moves[n++] = (struct plug_move){{a->cylinder, p}, {a->number, p}};
        moves[n++] = (struct plug_move){{a->number, p}, {a->cylinder, p}};
    }
    text_format(label, sizeof label, "%s of %s and %s change places", a->column, en->cylinders[a->cylinder].label, en->cylinders[a->number].label);
    fine = logbook_begin(lb, label, e) && logbook_swap_parts(lb, m->visit_id, m->engine_id, en, words_find(WORDS_DONE_PART, a->column), a->cylinder, a->number, e);
    for (int p = 0; fine && strcmp(a->column, "plug") == 0 && p < en->n_positions; p++)
        fine = plug_changed(lb, m, a->cylinder, p, false, e) && plug_changed(lb, m, a->number, p, false, e);
    return fine && (strcmp(a->column, "plug") != 0 || carry_steps(lb, m, moves, n, e)) && logbook_commit(lb, e);
}

/* What was renewed is the repair of a cause that asks for just that, likely or accepted: it is watched from now on. */
static bool note_repaired(struct logbook *lb, const struct model *m, const char *wanted, struct err *e)
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
    return logbook_begin(lb, a->flag ? "Work done" : "Work taken back", e) && put_work(lb, m, a->text, a->flag, e) &&
           (!a->flag || note_repaired(lb, m, a->text, e)) && logbook_commit(lb, e);
}

/* "coil of 3, new 14 Jun 2026": a name that tells it from others. */
static bool part_new(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    const struct engine *en = &m->record->engine;
    const struct visit *v = record_current(m->record);
    char name[80], label[120], hole[48], date[32] = "", line[160];

    logbook_part_place(en, a->column, a->cylinder, a->position, hole, sizeof hole);
    clock_date_words(v->care.last_day[0] ? v->care.last_day : v->date[0] ? v->date : m->today, date, sizeof date);
    text_format(name, sizeof name, "%s of %s, new %s", a->column, hole, date);
    text_format(label, sizeof label, "New %s in %s", a->column, hole);
    text_format(line, sizeof line, "replaced:%s:cylinder %s", a->column, en->cylinders[a->cylinder].label);
    return logbook_begin(lb, label, e) && logbook_renew_part(lb, m->visit_id, m->engine_id, en, a->column, a->cylinder, a->position, name, e) &&
           (strcmp(a->column, "plug") != 0 || plug_changed(lb, m, a->cylinder, a->position, true, e)) &&
           (logbook_part_positions(en, a->column) > 1 ? job_settle(lb, m, v, record_plug_index(en, a->cylinder, a->position), e)
                                                      : put_work(lb, m, line, true, e) && note_repaired(lb, m, line, e)) &&
           logbook_commit(lb, e);
}

static bool part_fit(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    char kind[16] = "";

    (void)logbook_get_text(lb, "part", a->id, "kind", kind, sizeof kind);
    return logbook_begin(lb, "Part fitted", e) && logbook_fit_part(lb, m->visit_id, m->engine_id, &m->record->engine, a->id, a->cylinder, a->position, e) &&
           (strcmp(kind, "plug") != 0 || plug_changed(lb, m, a->cylinder, a->position, true, e)) && logbook_commit(lb, e);
}

static bool part_text(struct logbook *lb, const struct action *a, struct err *e)
{
    if (strcmp(a->column, "name") == 0 && a->text[strspn(a->text, " ")] == '\0')
        return err_set(e, ERR_BADARG, "A part needs a name: it is how it is told from the others.");
    return set_one(lb, "Part", "part", a->id, a->column, a->text, e);
}

/* A scheme of the person's own is a fact of the engine: it is there again next time. */
static bool keep_scheme(struct logbook *lb, const struct model *m, const char *text, struct err *e)
{
    struct logbook_fact f = {.label = JOB_ROTATION};
    struct plug_move moves[ENGINE_MAX_PLUGS];
    int n;

    if (strlen(text) >= sizeof f.value)
        return err_set(e, ERR_LIMIT, "The scheme is too long; write plugs by their letters, 1T > 3B.");
    if (!record_parse_moves(&m->record->engine, text, moves, &n, e))
        return false;
    uuid_from_parts(f.id, "fact", m->engine_id, JOB_ROTATION, "");
    if (n == 0)
        return !logbook_is_there(lb, "fact", f.id) || (logbook_begin(lb, JOB_ROTATION, e) && logbook_remove(lb, "fact", f.id, e) && logbook_commit(lb, e));
    text_copy(f.engine, sizeof f.engine, m->engine_id);
    text_copy(f.value, sizeof f.value, text);
    return logbook_begin(lb, JOB_ROTATION, e) && logbook_put_fact(lb, &f, e) && logbook_commit(lb, e);
}

static bool rotate(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    struct plug_move moves[ENGINE_MAX_PLUGS];
    int n;

    if (!record_parse_moves(&m->record->engine, a->text, moves, &n, e))
        return false;
    if (n == 0)
        return err_set(e, ERR_BADARG, "Write first which plug goes where.");
    if (!logbook_begin(lb, "Plugs rotated", e) || !logbook_move_parts(lb, m->visit_id, m->engine_id, &m->record->engine, "plug", moves, n, e))
        return false;
    for (int i = 0; i < n; i++)
        if (!plug_changed(lb, m, moves[i].to.cylinder, moves[i].to.position, false, e))
            return false;
    if (!carry_steps(lb, m, moves, n, e))
        return false;
    for (size_t i = 0; i < m->n_steps; i++)
        if (strcmp(m->steps[i].source, "rotate") == 0 && strcmp(m->steps[i].state, "done") != 0 && !set_step_state(lb, m, &m->steps[i], "done", e))
            return false;
    return logbook_commit(lb, e);
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
    case ACT_FACT_TEXT: return set_one(lb, "For next time", "fact", a->id, a->column, a->text, e);
    case ACT_SET_WORK: return set_work(lb, m, a, e);
    case ACT_CLOSE_VISIT: return close_visit(lb, m, a, e);
    case ACT_TAKE_OUT:
        return logbook_begin(lb, strcmp(a->column, "step") == 0 ? "Step taken out" : strcmp(a->column, "need") == 0 ? "Part taken out" : "Note taken out", e) && logbook_remove(lb, a->column, a->id, e) && logbook_commit(lb, e);
    case ACT_REFIT: return refit(lb, m, a, e);
    case ACT_REFIT_WORD: return refit_word(lb, m, a, e);
    case ACT_SWAP_PARTS: return swap_parts(lb, m, a, e);
    case ACT_PART_NEW: return part_new(lb, m, a, e);
    case ACT_PART_FIT: return part_fit(lb, m, a, e);
    case ACT_PART_TEXT: return part_text(lb, a, e);
    case ACT_TURNED: return turned(lb, m, e);
    case ACT_SET_TORQUE: return set_torque(lb, m, a, e);
    case ACT_CLEANED: return cleaned(lb, m, a, e);
    case ACT_UNPLUGGED: return unplugged(lb, m, a, e);
    case ACT_KEEP_SCRAP: return keep_scrap(lb, m, a, e);
    case ACT_SCHEME: return keep_scheme(lb, m, a->text, e);
    case ACT_ROTATE: return rotate(lb, m, a, e);
    default: return true;
    }
}
