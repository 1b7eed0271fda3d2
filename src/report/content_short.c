/* content_short.c - a report's first words, for who gets it by mail and reads no further: what is wrong and how sure
 * that is, what became of the last repair, what to do next, what to buy, what to mind. All of it stands below once more,
 * with its evidence. */
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "reading/cause_at.h"
#include "record/ready.h"
#include "record/refit_book.h"
#include "record/stops.h"
#include "report/closing.h"
#include "report/content_work.h"

#define MOST_CAUSES 3
#define MOST_SEEN 4
#define MOST_STEPS 3
#define MOST_PARTS 6
#define MOST_REPAIRS 4

/* Each line under the same label. */
static void row(struct maker *m, struct cells *c, const char *label, struct text *lines)
{
    for (const char *at = text_get(lines); *at != '\0';) {
        size_t n = strcspn(at, "\n");

        maker_cell(m, c, TONE_STRONG, at == text_get(lines) ? label : "");
        maker_cell(m, c, TONE_PLAIN, arena_format(m->a, "%.*s", (int)n, at));
        at += n + (at[n] != '\0');
    }
    text_clear(lines);
}

static void line(struct text *t, const char *s)
{
    text_addf(t, "%s%s", t->n_bytes > 0 ? "\n" : "", s);
}

static void more(struct text *t, int n, const char *where)
{
    if (n > 0)
        text_addf(t, "\nand %d more, see %s", n, where);
}

static void complaint(const struct visit *v, struct text *t)
{
    char said[1200];

    visit_format_complaint(v, said, sizeof said);
    text_add(t, said);
    for (int i = 0; i < v->n_codes; i++) {
        if (i == 0)
            text_addf(t, "%strouble code%s ", t->n_bytes == 0 ? "" : "; ", v->n_codes > 1 ? "s" : "");
        text_addf(t, "%s%s", i > 0 ? ", " : "", v->codes[i]);
    }
}

static void most_likely(struct maker *m, const struct record *r, const struct findings *f, struct text *t)
{
    char at[CAUSE_AT_BYTES];
    int n = 0;

    for (int i = 0; i < findings_n_shown(f); i++)
        if (n++ < MOST_CAUSES) {
            cause_at_found(&m->source->record->engine, &f->causes[i], at);
            line(t, arena_format(m->a, "%s: %s, %.0f\u00a0%%%s", at, cause_likelihood_words(f->causes[i].probability), f->causes[i].probability * 100, content_judged(m, r, &f->causes[i])));
        }
    more(t, n - MOST_CAUSES, "Likely causes");
    if (n == 0)
        line(t, "Nothing that was noted points to a cause.");
}

/* The gravest only; notes are for who reads on. */
static void seen(struct maker *m, const struct record *r, const struct findings *f, struct text *t)
{
    int n = 0;

    for (int i = 0; i < f->n_stand_outs; i++)
        if (f->stand_outs[i].level >= LEVEL_WATCH && n++ < MOST_SEEN)
            line(t, arena_format(m->a, "%s: %s", content_is_renewed(r, &f->stand_outs[i]) ? "Renewed since" : content_level_word(f->stand_outs[i].level), f->stand_outs[i].headline));
    more(t, n - MOST_SEEN, "What stands out");
    if (n == 0)
        line(t, f->n_stand_outs == 0 ? "Nothing stands out among what was looked at." : "Nothing that calls for action.");
}

static void repairs(struct maker *m, const struct record *r, struct text *t)
{
    struct report_watch watches[REPORT_MOST_WATCHED];
    struct swap_verdict swaps[MOST_REPAIRS];
    char at[CAUSE_AT_BYTES], words[80];
    int n_said = 0;
    size_t n = report_watches(r, m->source->verdicts, m->source->n_verdicts, watches, REPORT_MOST_WATCHED), n_swaps = report_swaps(r, swaps, MOST_REPAIRS);

    for (size_t i = 0; i < n; i++) {
        if (watches[i].follow.state == FOLLOW_NOT_DONE || n_said++ >= MOST_REPAIRS)
            continue;
        cause_at_words(&r->engine, watches[i].verdict->cause, watches[i].verdict->place, at);
        report_watch_words(r, &watches[i], words, sizeof words);
        line(t, arena_format(m->a, "%s: %s", at, words));
    }
    for (size_t i = 0; i < n_swaps; i++)
        line(t, swaps[i].headline);
}

/* Accepted at an earlier visit, and nothing was done about it: it stays a cause, though this visit did not look at it. */
static void accepted_before(struct maker *m, const struct record *r, struct text *t)
{
    struct report_watch watches[REPORT_MOST_WATCHED];
    size_t n = report_watches(r, m->source->verdicts, m->source->n_verdicts, watches, REPORT_MOST_WATCHED);
    char at[CAUSE_AT_BYTES];
    int n_said = 0;

    for (size_t i = 0; i < n; i++) {
        if (watches[i].follow.state != FOLLOW_NOT_DONE || n_said == MOST_REPAIRS)
            continue;
        cause_at_words(&r->engine, watches[i].verdict->cause, watches[i].verdict->place, at);
        line(t, arena_format(m->a, "%s: not done yet, %s", at, watches[i].follow.shown));
        n_said++;
    }
}

/* Steps an earlier visit left open come first. */
static const struct logbook_step *step_at(const struct report_visit *v, size_t i)
{
    return i < v->n_left_steps ? &v->left_steps[i] : &v->steps[i - v->n_left_steps];
}

/* What was decided is done with the plugs in, and nothing else asks for them. */
static bool plugs_stay_in(const struct record *r, const struct report_visit *v)
{
    struct ready ready;
    bool stay = false;

    ready_of(r, &ready);
    if (ready.n_loose > 0)
        return false;
    for (size_t i = 0; i < v->n_left_steps + v->n_steps; i++) {
        const struct logbook_step *s = step_at(v, i);
        enum job_plugs plugs = strcmp(s->state, "done") == 0 ? JOB_PLUGS_NOTHING : job_plugs_of(s->source);

        if (plugs == JOB_PLUGS_ASKS)
            return false;
        stay = stay || plugs == JOB_PLUGS_STAY;
    }
    return stay;
}

/* The repair of a cause: somebody accepted it, or a swap has told. What keeps the engine from being started, and a plug that
 * cannot go in again. A repair for which it runs keeps its place behind the refit. */
static bool is_decided(const struct logbook_step *s)
{
    char what[32];

    text_format(what, sizeof what, "%.*s", (int)strcspn(s->source, "@"), s->source);
    return (job_cause_find(what) != NULL && strstr(s->caution, "engine-run") == NULL) || strcmp(what, "scrap") == 0 || text_starts(what, "stop-");
}

static bool has_step(const struct report_visit *v, const char *key)
{
    for (size_t i = 0; i < v->n_left_steps + v->n_steps; i++)
        if (text_starts(step_at(v, i)->source, key) && strcmp(step_at(v, i)->state, "done") != 0)
            return true;
    return false;
}

/* What keeps the engine from being started comes first, also where nobody wrote a step for it. */
static void refit_first(struct maker *m, const struct record *r, const struct report_visit *v, struct text *t)
{
    bool loose[ENGINE_MAX_PLUGS] = {false}, any = false;
    struct ready ready;
    char where[200], key[40];

    ready_of(r, &ready);
    for (int k = 0; k < VISIT_STOPS; k++) {
        text_format(key, sizeof key, "stop-%s@", stop_row(k)->id);
        if (ready.stops[k] == 0 || has_step(v, key))
            continue;
        text_format(key, sizeof key, "%s@", stop_row(k)->cause);
        if (stop_by_cause(k) && has_step(v, key))
            continue;
        engine_set_words(&r->engine, ready.stops[k], where, sizeof where);
        line(t, arena_format(m->a, "Look into it before it runs: %s, %s", where, stop_row(k)->what));
    }
    if (ready_over_words(&r->engine, &ready, where, sizeof where) && !has_step(v, "over-torque@"))
        line(t, arena_format(m->a, "Take out again: %s, tightened far over %s", where, refit_book_words(&r->engine)));
    if (ready_scrap_words(&r->engine, &ready, where, sizeof where) && !has_step(v, "scrap@"))
        line(t, arena_format(m->a, "A new plug in place of %s, which came out as scrap and is in again", where));
    for (int i = 0; i < record_plug_count(&r->engine); i++) {
        loose[i] = ready.why[i] != READY_IN && !ready_comes_out(ready.why[i]);
        any = any || loose[i];
    }
    if (!any || has_step(v, "refit"))
        return;
    engine_plugs_words(&r->engine, loose, where, sizeof where);
    line(t, arena_format(m->a, "Refit to torque: %s", where));
}

/* What was decided first, then what is open in the order it is to be done in; where nobody wrote steps down, the checks that settle the likely causes. */
static void next(struct maker *m, const struct record *r, const struct report_visit *v, struct text *t)
{
    struct report_watch watches[REPORT_MOST_WATCHED];
    size_t n_watches = report_watches(r, m->source->verdicts, m->source->n_verdicts, watches, REPORT_MOST_WATCHED), n_steps = v->n_left_steps + v->n_steps;
    bool stay = plugs_stay_in(r, v);
    char at[CAUSE_AT_BYTES];
    int n = 0;

    refit_first(m, r, v, t);
    for (size_t k = 0; k < 2 * n_steps; k++) {
        const struct logbook_step *s = step_at(v, k % n_steps);
        bool waits = strcmp(s->state, "waiting") == 0;

        if ((!waits && strcmp(s->state, "todo") != 0) || is_decided(s) != (k < n_steps) || (stay && job_plugs_of(s->source) == JOB_PLUGS_WITH) ||
            !closing_is_open(r, s, watches, n_watches) || n++ >= MOST_STEPS)
            continue;
        char own[sizeof s->text + 8], part[sizeof s->waits_for + 8];
        const char *step = text_apart(s->text, own, sizeof own);

        line(t, waits && s->waits_for[0] != '\0' ? arena_format(m->a, "%s (waits for %s)", step, text_apart(s->waits_for, part, sizeof part)) : waits ? arena_format(m->a, "%s (waiting)", step) : s->text);
    }
    more(t, n - MOST_STEPS, "Steps");
    /* what calls for action first */
    for (int pass = 0; pass < 2; pass++)
        for (int i = 0; i < v->findings->n_causes && v->n_steps + v->n_left_steps == 0 && n < MOST_STEPS; i++) {
            const struct cause *c = &v->findings->causes[i];

            if (c->ordinary || c->asks != (pass == 0) || (!c->asks && c->probability < CAUSE_LIKELY))
                continue;
            cause_at_found(&m->source->record->engine, c, at);
            line(t, arena_format(m->a, "%s: %s", at, c->settles));
            n++;
        }
}

static void buy(struct maker *m, const struct report_visit *v, const char *state, struct text *t)
{
    int n = 0;

    for (size_t i = 0; i < v->n_left_needs + v->n_needs; i++) {
        const struct logbook_need *d = i < v->n_left_needs ? &v->left_needs[i] : &v->needs[i - v->n_left_needs];

        if (strcmp(d->state, state) == 0 && n++ < MOST_PARTS)
            line(t, d->quantity > 1 ? arena_format(m->a, "%d × %s", d->quantity, d->text) : d->text);
    }
    more(t, n - MOST_PARTS, "Parts");
}

/* The caution of what is to be done next, and what the findings warn of. */
static void mind(const struct record *r, const struct report_visit *v, struct text *t)
{
    for (size_t i = 0; i < v->n_steps; i++)
        if (strcmp(v->steps[i].state, "todo") == 0 && closing_is_open(r, &v->steps[i], NULL, 0) && job_caution_find(v->steps[i].caution) != NULL) {
            line(t, job_caution_find(v->steps[i].caution)->text);
            break;
        }
    for (int i = 0; i < v->findings->advice.n && i < 2; i++)
        line(t, v->findings->advice.text[i]);
}

void content_short(struct maker *m, const struct record *r, const struct report_visit *v)
{
    struct cells c = {0};
    struct text t = {0};
    struct content_block *b;

    complaint(record_current(r), &t);
    row(m, &c, "Complaint", &t);
    most_likely(m, r, v->findings, &t);
    row(m, &c, "Most likely", &t);
    accepted_before(m, r, &t);
    row(m, &c, "Accepted before", &t);
    seen(m, r, v->findings, &t);
    row(m, &c, "Seen", &t);
    repairs(m, r, &t);
    row(m, &c, "Last repairs", &t);
    next(m, r, v, &t);
    row(m, &c, "Do next", &t);
    if (v->ended_with != NULL)
        text_add(&t, v->ended_with);
    row(m, &c, "In the end", &t);
    buy(m, v, "to-order", &t);
    row(m, &c, "Buy", &t);
    buy(m, v, "ordered", &t);
    row(m, &c, "Ordered", &t);
    mind(r, v, &t);
    row(m, &c, "Mind", &t);
    text_release(&t);
    maker_part(m, REPORT_SHORT);
    b = maker_add(m, CONTENT_FACTS);
    b->n_columns = 2;
    b->lines = c.list;
    b->n_lines = c.n;
}
