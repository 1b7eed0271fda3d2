#include "report/closing.h"

#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "logbook/logbook.h"
#include "reading/cause_at.h"
#include "record/ready.h"
#include "record/steps.h"

const char *closing_words(enum closing_kind k)
{
    static const char *const words[] = {"What was done", "What stays open", "Over with this visit"};

    _Static_assert(sizeof words / sizeof words[0] == CLOSING_KIND_COUNT, "one heading for each");
    return words[k];
}

struct list {
    struct closing_line *out;
    int n;
};

static char *line(struct list *l, enum closing_kind kind)
{
    static char nowhere[sizeof l->out->text]; /* past the last line nothing is kept */

    if (l->n == CLOSING_MOST) {
        text_copy(l->out[CLOSING_MOST - 1].text, sizeof l->out->text, "… and more");
        return nowhere;
    }
    l->out[l->n].kind = kind;
    l->out[l->n].text[0] = '\0';
    return l->out[l->n++].text;
}
#define ROOM sizeof((struct closing_line *)0)->text

/* ---- what was checked ---- */

/* "6 of 6 firing ends read, 5 gaps, compression of 4 cylinders" */
static void readings(struct list *l, const struct record *r)
{
    const struct visit *v = record_current(r);
    int n = record_plug_count(&r->engine), read = 0, gaps = 0, kpa = 0, leaks = 0;
    char *to;

    for (int i = 0; i < n; i++) {
        const struct reading *x = &v->readings[i];

        read += x->zone_seen[ZONE_FIRING_END];
        gaps += x->gap_mm.given;
        kpa += x->compression_kpa.given;
        leaks += x->leak_percent.given || x->differential_over_80.given;
    }
    if (read + gaps + kpa + leaks == 0)
        return;
    to = line(l, CLOSING_CHECKED);
    text_format(to, ROOM, "%d of %d firing ends read", read, n);
    if (gaps > 0)
        text_format(to + strlen(to), ROOM - strlen(to), ", %d gap%s", gaps, gaps == 1 ? "" : "s");
    if (kpa > 0)
        text_format(to + strlen(to), ROOM - strlen(to), ", compression of %d cylinder%s", kpa, kpa == 1 ? "" : "s");
    if (leaks > 0)
        text_format(to + strlen(to), ROOM - strlen(to), ", leakage of %d", leaks);
}

/* "Looked at: 6 of 6 wells, 2 of 6 coils" */
static void around(struct list *l, const struct record *r)
{
    static const struct {
        enum zone zone;
        const char *one, *several;
    } zones[] = {{ZONE_WELL, "well", "wells"}, {ZONE_BOOT, "boot", "boots"}, {ZONE_COIL, "coil", "coils"}, {ZONE_LEAD, "lead", "leads"}, {ZONE_CONNECTOR, "connector", "connectors"}};
    int n = record_plug_count(&r->engine);
    char *to = NULL;

    for (size_t k = 0; k < sizeof zones / sizeof zones[0]; k++) {
        int seen = 0;

        for (int i = 0; i < n; i++)
            seen += record_current(r)->readings[i].present && reading_zone_looked(&record_current(r)->readings[i], zones[k].zone);
        if (seen == 0)
            continue;
        if (to == NULL)
            text_copy(to = line(l, CLOSING_CHECKED), ROOM, "Looked at:");
        else
            text_format(to + strlen(to), ROOM - strlen(to), ",");
        text_format(to + strlen(to), ROOM - strlen(to), " %d of %d %s", seen, n, n == 1 ? zones[k].one : zones[k].several);
    }
}

static void tests(struct list *l, const struct record *r)
{
    const struct visit *v = record_current(r);
    int n_words;
    const struct word *rows = words_rows(WORDS_TEST, &n_words);

    for (int t = 1; t <= n_words; t++) {
        char *to = NULL;

        for (int i = 0; i < v->n_tests; i++) {
            if (v->tests[i].test != t)
                continue;
            if (to == NULL) {
                to = line(l, CLOSING_CHECKED);
                text_format(to, ROOM, "%s:", rows[t - 1].label);
                to[0] = (char)(to[0] >= 'a' && to[0] <= 'z' ? to[0] - 'a' + 'A' : to[0]);
            } else {
                text_format(to + strlen(to), ROOM - strlen(to), ";");
            }
            text_format(to + strlen(to), ROOM - strlen(to), " %s %s", r->engine.cylinders[v->tests[i].cylinder].label, words_label(WORDS_TEST_RESULT, v->tests[i].result));
        }
    }
}

bool closing_is_done(const struct logbook_step *s)
{
    return strcmp(s->state, "done") == 0;
}

/* A step to look again at that very repair, ticked or not. */
static bool looks_at(const struct logbook_step *s, const struct report_watch *w)
{
    char source[112];

    text_format(source, sizeof source, "again:%s@%s", w->verdict->cause, w->verdict->place);
    return strcmp(s->source, source) == 0;
}

/* An open step is the repair itself. */
static bool repairs_it(const struct closing_rows *c, const struct report_watch *w)
{
    char source[112];

    text_format(source, sizeof source, "%s@%s", w->verdict->cause, w->verdict->place);
    for (size_t i = 0; i < c->n_steps; i++)
        if (strcmp(c->steps[i].source, source) == 0 && !closing_is_done(&c->steps[i]))
            return true;
    return false;
}

static bool has_step(const struct closing_rows *c, const struct report_watch *w, bool done)
{
    for (size_t i = 0; i < c->n_steps; i++)
        if (looks_at(&c->steps[i], w) && closing_is_done(&c->steps[i]) == done)
            return true;
    return false;
}

/* What the readings say of the repair is said once: not again by the step that was ticked. */
static bool told_by_a_watch(const struct closing_rows *c, const struct logbook_step *s)
{
    for (size_t i = 0; i < c->n_watches; i++)
        if (c->watches[i].follow.state != FOLLOW_NOT_LOOKED && c->watches[i].follow.state != FOLLOW_NOT_DONE && looks_at(s, &c->watches[i]))
            return true;
    return false;
}

static void watches(struct list *l, const struct closing_rows *c, enum closing_kind kind)
{
    for (size_t i = 0; i < c->n_watches; i++) {
        const struct report_watch *w = &c->watches[i];
        bool looked = w->follow.state != FOLLOW_NOT_LOOKED, now = w->told_at == c->record->n_visits - 1;
        char at[CAUSE_AT_BYTES];

        cause_at_words(&c->record->engine, w->verdict->cause, w->verdict->place, at);
        if (w->follow.state == FOLLOW_NOT_DONE) { /* its own step says it, where there is one */
            if (kind == CLOSING_OPEN && !repairs_it(c, w))
                text_format(line(l, kind), ROOM, "%s: %s", at, follow_words(w->follow.state));
            continue;
        }
        if (looked && now && kind == CLOSING_CHECKED)
            text_format(line(l, kind), ROOM, "%s: %s", at, follow_words(w->follow.state));
        else if (w->follow.state != FOLLOW_GONE && now && kind == CLOSING_OPEN && (looked || !has_step(c, w, false)))
            text_format(line(l, kind), ROOM, "%s: %s", at,
                        looked                 ? follow_words(w->follow.state)
                        : has_step(c, w, true) ? "ticked as looked at, but no reading shows whether the repair held"
                                               : "whether the repair held was not looked at");
    }
}

/* ---- steps and parts ---- */

/* A step that waits is not over, whatever kind it is. */
static enum step_carry carried(const struct logbook_step *s)
{
    return strcmp(s->state, "waiting") == 0 || strcmp(s->state, "later") == 0 ? STEP_STAYS : step_carry(s->source);
}

/* Each of the plugs whose gap was to be set or measured was found in its range. */
static bool gaps_are_fine(const struct record *r, const struct visit *v, const char *source)
{
    bool marked[ENGINE_MAX_PLUGS];
    const char *at = strchr(source, '@');

    if (at == NULL || !(text_starts(source, "gaps@") || text_starts(source, "measure@") || text_starts(source, "fine-wire@")) || !engine_plugs_parse(&r->engine, at + 1, marked))
        return false;
    for (int i = 0; i < record_plug_count(&r->engine); i++) {
        const struct maybe *gap = v->readings[i].gap_left_mm.given ? &v->readings[i].gap_left_mm : &v->readings[i].gap_mm;

        if (marked[i] && (!gap->given || (gap_against(&r->engine.plug, gap->value) != GAP_IN_RANGE && gap_against(&r->engine.plug, gap->value) != GAP_HAIR_OVER)))
            return false;
    }
    return true;
}

struct maybe closing_run_m(const struct record *r, int at, const struct logbook_step *s)
{
    const struct maybe *now = &r->visits[at].odometer_m;

    for (int i = 0; i <= at; i++)
        if (strcmp(r->visits[i].id, s->visit) == 0 && r->visits[i].odometer_m.given && now->given)
            return MAYBE(now->value - r->visits[i].odometer_m.value);
    return (struct maybe){false, 0};
}

/* Looked at, and all is well, before it had run as far as the look was promised for: an answer so far. */
static bool too_early(const struct record *r, int at, const struct logbook_step *s, enum follow_state is)
{
    struct maybe run = closing_run_m(r, at, s);

    return is != FOLLOW_BACK && s->after_m.given && run.given && run.value < s->after_m.value;
}

static const struct report_watch *watch_of(const struct logbook_step *s, const struct report_watch *watches, size_t n_watches)
{
    for (size_t i = 0; i < n_watches; i++) {
        enum follow_state is = watches[i].follow.state;

        if ((is == FOLLOW_GONE || is == FOLLOW_BETTER || is == FOLLOW_BACK) && looks_at(s, &watches[i]))
            return &watches[i];
    }
    return NULL;
}

bool closing_so_far(const struct record *r, const struct logbook_step *s, const struct report_watch *watches, size_t n_watches, char *to, size_t n_room)
{
    const struct report_watch *w = watch_of(s, watches, n_watches);
    const int unit = job_distance_unit(record_current(r));
    char run[40], promised[40];

    to[0] = '\0';
    if (closing_is_done(s) || w == NULL || strcmp(s->visit, r->visits[w->told_at].id) == 0 || !too_early(r, w->told_at, s, w->follow.state))
        return false;
    visit_format_odometer(closing_run_m(r, w->told_at, s), unit, run, sizeof run);
    visit_format_odometer(s->after_m, unit, promised, sizeof promised);
    text_format(to, n_room, "%s so far, after %s; look again after %s", follow_words(w->follow.state), run, promised);
    return true;
}

static bool answered_at(const struct record *r, int at, const struct logbook_step *s, const struct report_watch *watches, size_t n_watches, char *to, size_t n_room)
{
    const struct visit *v = &r->visits[at];
    const struct report_watch *w = watch_of(s, watches, n_watches);

    to[0] = '\0';
    if (closing_is_done(s) || s->visit[0] == '\0' || strcmp(s->visit, v->id) == 0)
        return false;
    if (step_runs(s->source) && visit_complaint_asked(v) && !visit_complains(v))
        text_copy(to, n_room, "no complaint at this visit");
    if (gaps_are_fine(r, v, s->source))
        text_copy(to, n_room, "measured: in range");
    if (w != NULL && w->told_at == at && !too_early(r, at, s, w->follow.state))
        text_format(to, n_room, "looked at: %s", follow_words(w->follow.state));
    return to[0] != '\0';
}

bool closing_answer(const struct record *r, const struct logbook_step *s, const struct report_watch *watches, size_t n_watches, char *to, size_t n_room)
{
    return answered_at(r, r->n_visits - 1, s, watches, n_watches, to, n_room);
}

/* Of the first n visits. */
static bool moot_by(const struct record *r, int n, const struct logbook_step *s, char *why, size_t n_room)
{
    why[0] = '\0';
    if (closing_is_done(s))
        return false;
    for (int i = n - 1; i >= 0; i--) {
        if (job_settle_is_moot(r, &r->visits[i], s->source, why, n_room))
            return true;
        if (strcmp(r->visits[i].id, s->visit) == 0)
            break;
    }
    return false;
}

bool closing_moot(const struct record *r, const struct logbook_step *s, char *why, size_t n_room)
{
    return moot_by(r, r->n_visits, s, why, n_room) || (!closing_is_done(s) && job_is_too_late(r, s->source, why, n_room));
}

bool closing_went_with_visit(const struct record *r, const struct logbook_step *s)
{
    return record_current(r)->state.closed != 0 && strcmp(s->state, "todo") == 0 && step_carry(s->source) == STEP_OVER;
}

bool closing_is_open(const struct record *r, const struct logbook_step *s, const struct report_watch *watches, size_t n_watches)
{
    char how[120];

    return !closing_is_done(s) && !closing_went_with_visit(r, s) && !job_is_over(r, s->source) && !closing_moot(r, s, how, sizeof how) &&
           !closing_answer(r, s, watches, n_watches, how, sizeof how);
}

size_t closing_still_left(const struct record *r, struct logbook_step *left, size_t n, const struct report_watch *watches, size_t n_watches)
{
    size_t kept = 0;

    for (size_t i = n; i-- > 0;) {
        char how[120];
        bool answered = moot_by(r, r->n_visits - 1, &left[i], how, sizeof how);

        for (int at = r->n_visits - 2; at >= 0 && !answered && strcmp(r->visits[at].id, left[i].visit) != 0; at--)
            answered = answered_at(r, at, &left[i], watches, n_watches, how, sizeof how);
        if (!answered)
            left[n - ++kept] = left[i];
    }
    return kept;
}

bool closing_lacks_outcome(const struct record *r, const struct logbook_step *s, const struct logbook_verdict *verdicts, size_t n)
{
    const char *at = strchr(s->source, '@');
    engine_set set;

    if (!closing_is_done(s) || at == NULL || s->note[0] != '\0' || !(text_starts(s->source, "settle:") || text_starts(s->source, "settle@") || text_starts(s->source, "compression@")))
        return false;
    for (size_t i = 0; i < n; i++) {
        char source[112];

        text_format(source, sizeof source, "settle:%s@%s", verdicts[i].cause, verdicts[i].place);
        if (strcmp(source, s->source) == 0 && verdicts[i].state[0] != '\0')
            return false;
    }
    set = job_place(&r->engine, at + 1);
    for (int i = 0; i < record_plug_count(&r->engine); i++) {
        const struct reading *q = &record_current(r)->readings[i];

        if ((set == 0 || (set >> q->cylinder & 1u) != 0) && (q->compression_kpa.given || q->compression_wet_kpa.given || q->leak_percent.given || q->differential_over_80.given))
            return false;
    }
    return true;
}

static void steps(struct list *l, const struct closing_rows *c, enum closing_kind kind)
{
    for (size_t i = 0; i < c->n_steps; i++) {
        const struct logbook_step *s = &c->steps[i];
        char answer[120];
        bool moot = closing_moot(c->record, s, answer, sizeof answer), answered = !moot && closing_answer(c->record, s, c->watches, c->n_watches, answer, sizeof answer);
        enum closing_kind is = closing_is_done(s) || answered ? CLOSING_CHECKED : moot || carried(s) == STEP_OVER ? CLOSING_OVER : CLOSING_OPEN;
        int plugs, of;
        char *to;

        if (is != kind || ((closing_is_done(s) || answered) && told_by_a_watch(c, s)))
            continue;
        to = line(l, kind);
        text_format(to, ROOM, "%s", s->text);
        if (is == CLOSING_CHECKED) {
            if (answered)
                text_format(to + strlen(to), ROOM - strlen(to), " (%s)", answer);
            else if (closing_lacks_outcome(c->record, s, c->verdicts, c->n_verdicts))
                text_format(to + strlen(to), ROOM - strlen(to), " (%s)", CLOSING_NO_OUTCOME);
            continue;
        }
        if (moot) {
            text_format(to + strlen(to), ROOM - strlen(to), " (not made: %s)", answer);
            continue;
        }
        plugs = job_answered_plugs(c->record, record_current(c->record), s->source, &of);
        if (plugs > 0 && plugs < of)
            text_format(to + strlen(to), ROOM - strlen(to), " (%d of %d done)", plugs, of);
        if (strcmp(s->state, "waiting") == 0)
            text_format(to + strlen(to), ROOM - strlen(to), s->waits_for[0] ? " (waits for %s)" : " (waits%s)", TEXT_SHORT(s->waits_for, 60));
        else if (carried(s) != STEP_STAYS)
            text_format(to + strlen(to), ROOM - strlen(to), " (%s)", step_carry_words(s->source));
        else if (closing_so_far(c->record, s, c->watches, c->n_watches, answer, sizeof answer))
            text_format(to + strlen(to), ROOM - strlen(to), " (%s)", answer);
        else if (s->after_m.given) {
            char after[40];

            visit_format_odometer(s->after_m, job_distance_unit(record_current(c->record)), after, sizeof after);
            text_format(to + strlen(to), ROOM - strlen(to), " (after %s)", after);
        }
    }
}

static void parts(struct list *l, const struct closing_rows *c)
{
    static const char *const words[][2] = {{"to-order", "to order"}, {"ordered", "ordered"}, {"in-hand", "in hand, not fitted"}};

    for (size_t i = 0; i < c->n_needs; i++)
        for (size_t k = 0; k < sizeof words / sizeof words[0]; k++)
            if (strcmp(c->needs[i].state, words[k][0]) == 0)
                text_format(line(l, CLOSING_OPEN), ROOM, "Part: %d × %s, %s", c->needs[i].quantity, TEXT_SHORT(c->needs[i].text, 160), words[k][1]);
}

int closing_of(const struct closing_rows *c, struct closing_line out[CLOSING_MOST])
{
    struct list l = {out, 0};
    struct ready ready;
    char said[READY_WORDS_BYTES];

    readings(&l, c->record);
    around(&l, c->record);
    tests(&l, c->record);
    watches(&l, c, CLOSING_CHECKED);
    steps(&l, c, CLOSING_CHECKED);
    ready_of(c->record, &ready);
    if (!c->past && !ready_to_start(&ready)) {
        ready_words(c->record, &ready, said, sizeof said);
        text_format(line(&l, CLOSING_OPEN), ROOM, "Do not start: %s", said);
    }
    if (!c->past && ready_kept_words(&c->record->engine, &ready, said, sizeof said))
        text_format(line(&l, CLOSING_OPEN), ROOM, "%s", said);
    watches(&l, c, CLOSING_OPEN);
    steps(&l, c, CLOSING_OPEN);
    parts(&l, c);
    steps(&l, c, CLOSING_OVER);
    return l.n;
}
