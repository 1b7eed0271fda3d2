/* content_job.c - the job in a report: what became of repairs and swaps, steps with their cautions, parts,
 * tightening and the holes, facts for next time. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "base/err.h"
#include "base/mem.h"
#include "logbook/logbook.h"
#include "reading/cause_at.h"
#include "reading/job.h"
#include "reading/refit.h"
#include "record/steps.h"
#include "report/closing.h"
#include "report/content_work.h"

static void held_table(struct maker *m, const struct record *r)
{
    static const char *const heads[] = {"Repair or test", "Now", "What shows it"};
    static const char *const words[] = {"cannot tell", "followed", "stayed"};
    struct report_watch watches[REPORT_MOST_WATCHED];
    struct swap_verdict swaps[REPORT_MOST_WATCHED];
    size_t n = report_watches(r, m->source->verdicts, m->source->n_verdicts, watches, REPORT_MOST_WATCHED), n_swaps = report_swaps(r, swaps, REPORT_MOST_WATCHED);
    struct cells c = {0};
    char at[CAUSE_AT_BYTES];

    for (size_t i = 0; i < n; i++) {
        cause_at_words(&r->engine, watches[i].verdict->cause, watches[i].verdict->place, at);
        maker_cell(m, &c, TONE_STRONG, arena_text(m->a, at));
        maker_cell(m, &c, TONE_PLAIN, follow_words(watches[i].follow.state));
        maker_cell(m, &c, TONE_PLAIN, watches[i].follow.shown);
    }
    for (size_t i = 0; i < n_swaps; i++) {
        maker_cell(m, &c, TONE_STRONG, swaps[i].headline);
        maker_cell(m, &c, TONE_PLAIN, words[swaps[i].state]);
        maker_cell(m, &c, TONE_PLAIN, swaps[i].shown);
    }
    if (c.n > 0)
        maker_table(m, heads, 3, 0, &c);
}

/* "After 2 May 2026: valve-cover gasket replaced, bank 2" */
static void done_list(struct maker *m, const struct record *r, int from)
{
    struct cells c = {0};

    for (int i = from; i < r->n_visits; i++)
        for (int k = 0; k < r->visits[i].n_done; k++) {
            const struct visit *v = &r->visits[i];
            char date[40], work[200];

            clock_date_words(v->date[0] ? v->date : "no date", date, sizeof date);
            visit_done_words(&r->engine, &v->done[k], work, sizeof work);
            maker_cell(m, &c, TONE_PLAIN, arena_format(m->a, "After %s: %s", date, work));
        }
    if (c.n > 0) {
        struct content_block *b = maker_add(m, CONTENT_LIST);

        b->lines = c.list;
        b->n_lines = c.n;
    }
    if (record_current(r)->n_done > 0 && r->n_later == 0)
        maker_text(m, TONE_SOFT, "No plug was read since: the next visit tells whether it held.");
}

void content_repairs(struct maker *m, const struct record *r)
{
    size_t n_was;

    maker_part(m, REPORT_REPAIRS);
    n_was = m->c->n_blocks;
    held_table(m, r);
    /* of all visits, each tells its own work */
    done_list(m, r, m->source->n_visits > 1 ? r->n_visits - 1 : 0);
    if (m->c->n_blocks == n_was)
        m->c->n_blocks--; /* nothing was done: no heading either */
}

/* ---- steps and parts ---- */

static const char *state_words(const char *state)
{
    static const struct {
        const char *id, *words;
    } rows[] = {{"todo", "to do"}, {"waiting", "waiting"}, {"done", "done"}, {"later", "later"},
                {"to-order", "to order"}, {"ordered", "ordered"}, {"in-hand", "in hand"}, {"fitted", "fitted"}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (strcmp(rows[i].id, state) == 0)
            return rows[i].words;
    return state;
}

void content_steps(struct maker *m, const struct record *r, const struct report_visit *v)
{
    static const char *const heads[] = {"State", "Step", "Note"};
    struct report_watch watches[REPORT_MOST_WATCHED];
    size_t n_watches = report_watches(r, m->source->verdicts, m->source->n_verdicts, watches, REPORT_MOST_WATCHED);
    struct cells c = {0};

    for (size_t i = 0; i < v->n_steps; i++) {
        const struct logbook_step *s = &v->steps[i];
        const struct job_caution *cautions[JOB_MOST_CAUTIONS];
        struct text note = {0};
        char words[40], answer[120], words_so_far[120];
        bool moot = closing_moot(r, s, answer, sizeof answer), answered = moot || closing_answer(r, s, watches, n_watches, answer, sizeof answer), with_visit = !answered && closing_went_with_visit(r, s), done = answered || with_visit || closing_is_done(s);

        text_add(&note, s->note);
        if (with_visit)
            text_addf(&note, "%s%s", note.n_bytes ? "; " : "", step_carry_words(s->source));
        if (answered)
            text_addf(&note, "%s%s", note.n_bytes ? "; " : "", answer);
        if (s->waits_for[0] != '\0' && !done)
            text_addf(&note, "%swaits for %s", note.n_bytes ? "; " : "", s->waits_for);
        if (closing_lacks_outcome(r, s, m->source->verdicts, m->source->n_verdicts))
            text_addf(&note, "%s%s", note.n_bytes ? "; " : "", CLOSING_NO_OUTCOME);
        for (int k = 0, n = done ? 0 : job_cautions_of(s->caution, cautions); k < n; k++)
            text_addf(&note, "%s%s%s", note.n_bytes ? k > 0 ? " " : "; " : "", k > 0 ? "" : "Caution: ", cautions[k]->text);
        if (closing_so_far(r, s, watches, n_watches, words_so_far, sizeof words_so_far))
            text_addf(&note, "%s%s", note.n_bytes ? "; " : "", words_so_far);
        else if (s->after_m.given && !answered && strcmp(s->state, "later") == 0) {
            visit_format_odometer(s->after_m, job_distance_unit(record_current(r)), words, sizeof words);
            text_addf(&note, "%safter %s", note.n_bytes ? "; " : "", words);
        }
        clock_date_words(s->done_on, words, sizeof words);
        maker_cell(m, &c, TONE_PLAIN, moot || (with_visit && !job_is_over(r, s->source)) ? "over, not made" : with_visit ? "over" : answered ? "answered" : s->done_on[0] != '\0' ? arena_format(m->a, "%s %s", state_words(s->state), words) : state_words(s->state));
        maker_cell(m, &c, TONE_STRONG, s->text);
        maker_cell(m, &c, TONE_PLAIN, text_get(&note));
        text_release(&note);
    }
    if (c.n == 0)
        return;
    maker_part(m, REPORT_STEPS);
    maker_table(m, heads, 3, 1, &c);
}

void content_needs(struct maker *m, const struct report_visit *v)
{
    static const char *const heads[] = {"State", "Part", "Note"};
    struct cells c = {0};

    for (size_t i = 0; i < v->n_needs; i++) {
        const struct logbook_need *d = &v->needs[i];

        maker_cell(m, &c, TONE_PLAIN, state_words(d->state));
        maker_cell(m, &c, TONE_STRONG, d->quantity > 1 ? arena_format(m->a, "%d × %s", d->quantity, d->text) : d->text);
        maker_cell(m, &c, TONE_PLAIN, d->note);
    }
    if (c.n == 0)
        return;
    maker_part(m, REPORT_PARTS);
    maker_table(m, heads, 3, 1, &c);
}

/* ---- refitting ---- */

/* "1.10 mm as left; washer new; thread dry; torqued" of each hole of which something is noted. */
static void holes(struct maker *m, const struct record *r, const struct refit *f)
{
    const char **heads = arena_alloc(m->a, 7, sizeof *heads);
    const struct visit *v = record_current(r);
    struct content_block *b;
    struct cells c = {0};

    heads[0] = "Plug", heads[1] = arena_format(m->a, "Gap as left, %s", unit_choice_length(&m->ask->units)->label), heads[2] = "Washer", heads[3] = "Thread", heads[4] = "Refit", heads[5] = "Tightened to", heads[6] = "To be asked first";
    for (int i = 0; i < record_plug_count(&r->engine); i++) {
        const struct reading *q = &v->readings[i];
        const struct maybe left = refit_gap_left(r, q);
        char label[48], gap[24] = "", torque[100] = "", asked[300], far[400];
        enum refit_off off;

        if (q->refit == 0 && q->washer == 0 && q->thread_state == 0 && !left.given && !q->torque_nm.given)
            continue;
        refit_ask(r, q, m->ask->units.inches, asked, sizeof asked);
        if (q->torque_nm.given)
            unit_tell_torque(&m->ask->units, q->torque_nm.value, q->torque_nm.value, torque, sizeof torque);
        else if (q->refit == words_find(WORDS_REFIT, "torqued")) /* ticked, and no wrench's figure with it */
            text_copy(torque, sizeof torque, "not noted");
        off = q->torque_nm.given ? refit_warn(f, &m->ask->units, q->torque_nm.value, reading_is_greased(q), far, sizeof far) : REFIT_FINE;
        if (off != REFIT_FINE)
            text_format(torque + strlen(torque), sizeof torque - strlen(torque), ", %s %s", refit_off_words(off), refit_book_words(&r->engine));
        engine_plug_label(&r->engine, i / r->engine.n_positions, i % r->engine.n_positions, label, sizeof label);
        if (left.given)
            unit_tell_length(&m->ask->units, left.value, false, gap, sizeof gap);
        maker_cell(m, &c, TONE_STRONG, label);
        maker_cell(m, &c, TONE_PLAIN, gap);
        maker_cell(m, &c, TONE_PLAIN, words_label(WORDS_WASHER, q->washer));
        maker_cell(m, &c, TONE_PLAIN, words_label(WORDS_THREAD_STATE, q->thread_state));
        maker_cell(m, &c, TONE_PLAIN, words_label(WORDS_REFIT, q->refit));
        maker_cell(m, &c, TONE_PLAIN, torque);
        maker_cell(m, &c, TONE_PLAIN, asked);
    }
    if (c.n == 0)
        return;
    maker_heading(m, m->depth + 1, "Hole by hole");
    b = maker_table(m, heads, 7, 0, &c);
    b->numbers = 1u << 1;
    maker_drop_empty(m, b, "");
}

/* Who says it, without the remark in brackets at the end on how it was come by. */
static const char *source_for_reader(struct maker *m, const char *source)
{
    size_t n = strlen(source);

    if (n == 0 || source[n - 1] != ')')
        return source;
    for (size_t i = n; i > 1; i--)
        if (source[i - 1] == '(' && source[i - 2] == ' ')
            return arena_format(m->a, "%.*s", (int)(i - 2), source);
    return source;
}

/* Who says it, by name alone: what stands before the first comma. */
static void add_source(struct maker *m, struct text *sources, const char *source)
{
    const char *name = arena_format(m->a, "%.*s", (int)strcspn(source, ","), source);

    if (strstr(text_get(sources), name) == NULL)
        text_addf(sources, "%s%s", sources->n_bytes > 0 ? "; " : "", name);
}

/* By how much a plug is turned after it is finger-tight: a line for a new and one for a used washer, as on Job, and who says so. */
static void turns(struct maker *m, const struct refit *f)
{
    struct text special = {0}, sources = {0};
    char words[120];
    bool taper = f->n_turns > 0 && strcmp(f->turns[0].seat, "taper") == 0;

    for (int used = 0; used < (taper ? 1 : 2); used++)
        if (refit_turn_words(f, used == 1, words, sizeof words))
            maker_text(m, TONE_PLAIN, arena_format(m->a, "%s: %s.", taper ? "Taper seat" : used ? "Used washer" : "New washer", words));
    for (int i = 0; i < f->n_turns; i++) {
        const struct refit_turn *k = &f->turns[i];

        if (k->doubtful)
            continue;
        add_source(m, &sources, k->source);
        if (refit_turn_is_special(k))
            text_addf(&special, "%s%s, %s: %.3g°", special.n_bytes > 0 ? "; " : "", k->seat, k->washer, k->deg_max);
    }
    if (special.n_bytes > 0)
        maker_text(m, TONE_SOFT, arena_format(m->a, "Other washers turn less, as the plug's box says: %s.", text_get(&special)));
    if (sources.n_bytes > 0)
        maker_text(m, TONE_SOFT, arena_format(m->a, "Angles by %s.", text_get(&sources)));
    text_release(&special), text_release(&sources);
}

static void charts(struct maker *m, const struct refit *f)
{
    static const char *const heads[] = {"Chart", "Torque", "As printed", "Threads", "Source"};
    struct cells c = {0};
    struct text others = {0};
    char words[120];

    unit_tell_torque(&m->ask->units, f->maker_nm, f->maker_nm, words, sizeof words);
    maker_text(m, TONE_PLAIN, f->maker_nm > 0 ? arena_format(m->a, "The maker's figure wins: %s.", words) : "The maker's figure wins: not entered on this engine's card.");
    for (int i = 0; i < f->n_charts; i++) {
        const struct refit_chart *k = &f->charts[i];

        unit_tell_torque(&m->ask->units, k->nm_min, k->nm_max, words, sizeof words);
        if (i > 0) { /* the first is told whole, of the others who says what */
            text_addf(&others, "%s%s %s", others.n_bytes > 0 ? "; " : "Other charts: ", k->name, words);
            continue;
        }
        maker_cell(m, &c, TONE_STRONG, k->name);
        maker_cell(m, &c, TONE_PLAIN, words);
        maker_cell(m, &c, TONE_PLAIN, k->printed);
        maker_cell(m, &c, TONE_PLAIN, k->threads);
        maker_cell(m, &c, TONE_SOFT, source_for_reader(m, k->source));
    }
    if (c.n > 0)
        maker_table(m, heads, 5, 0, &c)->whole = 1u << 1 | 1u << 2;
    if (others.n_bytes > 0)
        maker_text(m, TONE_SOFT, arena_format(m->a, "%s.", text_get(&others)));
    text_release(&others);
    turns(m, f);
}

void content_torque(struct maker *m, const struct record *r)
{
    struct refit *f = mem_alloc(1, sizeof *f);

    (void)refit_for_engine(&r->engine, f, NULL); /* without charts, the maker's figure */
    for (int i = 0; i < record_plug_count(&r->engine); i++) {
        const struct reading *q = &record_current(r)->readings[i];
        char label[48], words[400];
        enum refit_off off = q->torque_nm.given ? refit_warn(f, &m->ask->units, q->torque_nm.value, reading_is_greased(q), words, sizeof words) : REFIT_FINE;

        if (off == REFIT_FINE)
            continue;
        engine_plug_label(&r->engine, q->cylinder, q->position, label, sizeof label);
        maker_alert(m, refit_stops(off) ? LEVEL_ACT : LEVEL_WATCH, arena_format(m->a, "Plug %s: %s", label, words));
    }
    free(f);
}

void content_refit(struct maker *m, const struct record *r)
{
    struct refit *f = mem_alloc(1, sizeof *f);
    struct err ignored;
    size_t n_was;

    maker_part(m, REPORT_REFIT);
    n_was = m->c->n_blocks;
    /* of all visits, the charts stand with the one shown */
    if (refit_for_engine(&r->engine, f, &ignored) && r->n_visits == m->source->record->n_visits)
        charts(m, f);
    holes(m, r, f);
    free(f);
    if (m->c->n_blocks == n_was)
        m->c->n_blocks--; /* nothing to say: no heading either */
}

/* ---- the end of the visit ---- */

void content_closing(struct maker *m, const struct record *r, const struct report_visit *v)
{
    struct closing_line *said = arena_alloc(m->a, CLOSING_MOST, sizeof *said);
    struct report_watch watches[REPORT_MOST_WATCHED];
    /* what earlier visits left open is open here too, as it stands on Job */
    struct closing_rows rows = {.record = r, .watches = watches, .n_steps = v->n_left_steps + v->n_steps, .n_needs = v->n_left_needs + v->n_needs,
                                .steps = arena_join(m->a, v->left_steps, v->n_left_steps, v->steps, v->n_steps, sizeof *v->steps),
                                .needs = arena_join(m->a, v->left_needs, v->n_left_needs, v->needs, v->n_needs, sizeof *v->needs),
                                .verdicts = m->source->verdicts, .n_verdicts = m->source->n_verdicts,
                                .past = r->n_visits < m->source->record->n_visits};
    struct content_block *b;
    struct cells c = {0};
    int n;

    rows.n_watches = report_watches(r, m->source->verdicts, m->source->n_verdicts, watches, REPORT_MOST_WATCHED);
    n = closing_of(&rows, said);
    for (int i = 0; i < n; i++) {
        maker_cell(m, &c, TONE_STRONG, i > 0 && said[i].kind == said[i - 1].kind ? "" : closing_words(said[i].kind));
        maker_cell(m, &c, TONE_PLAIN, said[i].text);
    }
    if (v->ended_with != NULL && v->ended_with[0] != '\0') {
        maker_cell(m, &c, TONE_STRONG, "In the end");
        maker_cell(m, &c, TONE_PLAIN, v->ended_with);
    }
    if (c.n == 0)
        return;
    maker_part(m, REPORT_CLOSING);
    b = maker_add(m, CONTENT_FACTS);
    b->n_columns = 2;
    b->lines = c.list;
    b->n_lines = c.n;
}

void content_next_time(struct maker *m)
{
    struct cells c = {0};

    for (size_t i = 0; i < m->source->n_facts; i++) {
        maker_cell(m, &c, TONE_STRONG, m->source->facts[i].label);
        maker_cell(m, &c, TONE_PLAIN, m->source->facts[i].value);
    }
    if (c.n == 0)
        return;
    maker_part(m, REPORT_NEXT_TIME);
    maker_table(m, NULL, 2, 0, &c);
}
