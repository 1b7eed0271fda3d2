/* content_make.c - which blocks a report has, in which order: what must be known before the engine is started
 * first, then all of it in short, the plan, what is wrong and what to do about it, and behind that what it rests on; what
 * lasts longer than a visit at the end. */
#include <stdio.h>
#include <string.h>

#include "base/clock.h"
#include "base/mem.h"
#include "reading/cause_at.h"
#include "logbook/logbook.h"
#include "record/ready.h"
#include "report/content_work.h"

void maker_alert(struct maker *m, enum level level, const char *text)
{
    struct content_block *b = maker_add(m, CONTENT_ALERT);

    b->level = level;
    b->text = arena_text(m->a, text);
}

static void not_ready_for(struct maker *m, const struct record *r, const struct ready *some)
{
    char words[READY_WORDS_BYTES];

    ready_words(r, some, words, sizeof words);
    if (words[0] != '\0')
        maker_alert(m, LEVEL_ACT, arena_format(m->a, "Do not start: %s.", words));
}

/* What stands in the way of starting, all of it: what must be looked into, plugs, wiring, liquid, each on a line of its own. */
static void not_ready(struct maker *m, const struct record *r)
{
    static const struct ready_liquid none = {{0}};
    struct ready all, bare, stops, plugs, wiring, liquid;
    char kept[READY_WORDS_BYTES];

    ready_of(r, &all);
    bare = all; /* no reason of its own: each gets one back */
    memset(bare.why, 0, sizeof bare.why);
    memset(bare.stops, 0, sizeof bare.stops);
    bare.bare_connectors = bare.bare_leads = bare.unplugged = 0;
    bare.turn_first = none;
    bare.turn_left = bare.turn_apart = false;
    stops = plugs = wiring = liquid = bare;
    memcpy(stops.stops, all.stops, sizeof all.stops);
    memcpy(plugs.why, all.why, sizeof all.why);
    wiring.bare_connectors = all.bare_connectors, wiring.bare_leads = all.bare_leads, wiring.unplugged = all.unplugged;
    liquid.turn_first = all.turn_first, liquid.turn_left = all.turn_left, liquid.turn_apart = all.turn_apart;
    not_ready_for(m, r, &stops);
    not_ready_for(m, r, &plugs);
    not_ready_for(m, r, &wiring);
    not_ready_for(m, r, &liquid);
    if (ready_kept_words(&r->engine, &all, kept, sizeof kept))
        maker_alert(m, LEVEL_WATCH, arena_format(m->a, "%c%s.", kept[0] >= 'a' && kept[0] <= 'z' ? kept[0] - 'a' + 'A' : kept[0], kept + 1));
}

#define MOST_DIFFER 12

/* Never without a word: one of two values would be handed on as the truth. */
static void differ(struct maker *m, const struct record *r)
{
    const size_t n = m->source->n_differ, n_shown = n < MOST_DIFFER ? n : MOST_DIFFER;
    struct cells c = {0};
    struct content_block *b;

    if (n == 0)
        return;
    maker_alert(m, LEVEL_WATCH, arena_format(m->a, "Copies of this logbook that were merged say %zu %s differently, and nobody has chosen yet. What this report goes by stands first:", n, n == 1 ? "thing" : "things"));
    for (size_t i = 0; i < n_shown; i++) {
        const struct report_differ *d = &m->source->differ[i];
        char date[32] = "";

        if (d->visit >= 0)
            clock_date_words(r->visits[d->visit].date[0] ? r->visits[d->visit].date : "no date", date, sizeof date);
        maker_cell(m, &c, TONE_PLAIN, arena_format(m->a, "%s%s%s: %s", d->what, date[0] ? ", " : "", date, d->values));
    }
    if (n > n_shown)
        maker_cell(m, &c, TONE_PLAIN, arena_format(m->a, "and %zu more", n - n_shown));
    b = maker_add(m, CONTENT_LIST);
    b->lines = c.list;
    b->n_lines = c.n;
}

bool content_is_renewed(const struct record *r, const struct stand_out *s)
{
    static const struct {
        enum zone zone;
        const char *work; /* with the part what was seen on it is gone */
    } rows[] = {{ZONE_COIL, "replaced:coil"}, {ZONE_CONNECTOR, "replaced:connector"}, {ZONE_LEAD, "replaced:lead"}, {ZONE_BOOT, "replaced:boot"}};

    if (strcmp(s->measure, "gap") == 0 && s->cylinders != 0 && r->engine.n_positions == 1) /* of two plugs of a cylinder it may be the other */
        return (s->cylinders & ~job_worked_at(record_current(r), "replaced:plug")) == 0;

    for (size_t i = 0; s->sign >= 0 && s->cylinders != 0 && i < sizeof rows / sizeof rows[0]; i++)
        if (sign_row((enum sign)s->sign)->zone == rows[i].zone)
            return (s->cylinders & ~job_worked_at(record_current(r), rows[i].work)) == 0;
    return false;
}

static void stands_out(struct maker *m, const struct record *r, const struct findings *f)
{
    maker_part(m, REPORT_STANDS_OUT);
    if (f->n_stand_outs == 0)
        maker_text(m, TONE_PLAIN, "Nothing stands out among what was looked at.");
    for (int i = 0; i < f->n_stand_outs; i++) {
        const struct stand_out *s = &f->stand_outs[i];
        struct content_block *b = maker_add(m, CONTENT_CARD);
        struct cells lines = {0};

        b->depth = m->depth + 1;
        b->level = s->level;
        b->text = arena_text(m->a, s->headline);
        maker_cell(m, &lines, TONE_PLAIN, s->text);
        if (content_is_renewed(r, s)) {
            b->level = LEVEL_NOTE;
            maker_cell(m, &lines, TONE_STRONG, "Renewed after this reading.");
        }
        if (s->odds[0] != '\0')
            maker_cell(m, &lines, TONE_SOFT, s->odds);
        b->lines = lines.list;
        b->n_lines = lines.n;
        b->how = arena_text(m->a, s->how);
    }
}

const char *content_judged(const struct maker *m, const struct record *r, const struct cause *c)
{
    static const char *const words[JOB_STATE_COUNT] = {[JOB_OPEN] = "", [JOB_ACCEPTED] = ", accepted", [JOB_DISMISSED] = ", set aside", [JOB_REPAIRED] = ", repaired"};

    return words[report_judged(r, m->source->verdicts, m->source->n_verdicts, c->id, c->where)];
}

static void cause_card(struct maker *m, const struct record *r, const struct cause *c)
{
    struct content_block *b = maker_add(m, CONTENT_CARD);
    struct cells lines = {0};
    struct text t = {0};
    char at[CAUSE_AT_BYTES];

    cause_at_found(&m->source->record->engine, c, at);
    b->depth = m->depth + 1;
    b->text = arena_format(m->a, "%s · %s, %.0f\u00a0%%%s", at, cause_likelihood_words(c->probability), c->probability * 100, content_judged(m, r, c));
    for (int i = 0; i < c->pro.n; i++)
        maker_cell(m, &lines, TONE_PLAIN, arena_format(m->a, "+ %s", c->pro.text[i]));
    for (int i = 0; i < c->contra.n; i++)
        maker_cell(m, &lines, TONE_PLAIN, arena_format(m->a, "− %s", c->contra.text[i]));
    maker_cell(m, &lines, TONE_PLAIN, arena_format(m->a, "%s %s", c->ordinary ? "Nothing is broken." : "Settles it:", c->settles));
    for (int k = 0; k < c->missing.n; k++)
        text_addf(&t, "%s%s", k == 0 ? "Not looked at: " : "; ", c->missing.text[k]);
    if (t.n_bytes > 0)
        maker_cell(m, &lines, TONE_SOFT, text_get(&t));
    text_release(&t);
    b->lines = lines.list;
    b->n_lines = lines.n;
    b->how = c->how != NULL ? arena_text(m->a, c->how) : "";
}

static void causes(struct maker *m, const struct record *r, const struct findings *f)
{
    for (int i = 0; i < findings_n_shown(f); i++) {
        if (i == 0)
            maker_part(m, REPORT_CAUSES);
        cause_card(m, r, &f->causes[i]);
    }
}

static void notes(struct maker *m, const struct record *r)
{
    if (record_current(r)->notes[0] == '\0')
        return;
    maker_part(m, REPORT_NOTES);
    maker_text(m, TONE_PLAIN, record_current(r)->notes);
}

static void cautions(struct maker *m, const struct findings *f)
{
    maker_part(m, REPORT_CAUTIONS);
    for (int i = 0; i < f->advice.n; i++)
        maker_text(m, TONE_PLAIN, f->advice.text[i]);
    for (int i = 0; i < f->notes.n; i++)
        maker_text(m, TONE_SOFT, f->notes.text[i]);
    maker_text(m, TONE_PLAIN, "Work on a cold engine, ignition off. Start every plug by hand. The engine maker's own torque comes before any general chart.");
}

/* One visit: the record up to it. */
static void told_visit(struct maker *m, const struct report_visit *v, bool only)
{
    struct record r = record_until(m->source->record, v->at + 1);

    if (maker_wants(m, REPORT_PLAN))
        content_plan(m, &r, v);
    if (maker_wants(m, REPORT_CAUSES))
        causes(m, &r, v->findings);
    if (maker_wants(m, REPORT_STANDS_OUT))
        stands_out(m, &r, v->findings);
    if (maker_wants(m, REPORT_REPAIRS))
        content_repairs(m, &r);
    if (maker_wants(m, REPORT_STEPS))
        content_steps(m, &r, v);
    if (maker_wants(m, REPORT_PARTS))
        content_needs(m, v);
    if (maker_wants(m, REPORT_REFIT))
        content_refit(m, &r);
    if (maker_wants(m, REPORT_CLOSING))
        content_closing(m, &r, v);
    if (maker_wants(m, REPORT_VISIT))
        content_visit(m, &r);
    if (maker_wants(m, REPORT_READINGS))
        content_readings(m, &r);
    if (only && maker_wants(m, REPORT_LINEUP))
        content_lineup(m, &r);
    if (only && maker_wants(m, REPORT_TRENDS))
        content_trends(m, &r);
    if (maker_wants(m, REPORT_PHOTOS))
        content_photos(m, &r, v);
    if (maker_wants(m, REPORT_NOTES))
        notes(m, &r);
}

static void visit_words(const struct visit *v, char *to, size_t n_room)
{
    char date[32], odometer[48];

    clock_date_words(v->date[0] ? v->date : "no date", date, sizeof date);
    visit_format_odometer(v->odometer_m, v->odometer_unit, odometer, sizeof odometer);
    text_format(to, n_room, "%s%s%s", date, odometer[0] ? " · " : "", odometer);
}

/* Where the visits are that are not told in full. */
static const char *before_words(const struct maker *m)
{
    size_t n_told = m->source->n_visits, n_before = (size_t)m->source->record->n_visits - n_told;
    bool lineup = maker_wants(m, REPORT_LINEUP), trends = maker_wants(m, REPORT_TRENDS);
    const char *where = lineup && trends ? "in the line-up and the trends" : lineup ? "in the line-up" : trends ? "in the trends" : "not in this report";

    return arena_format(m->a, "The %s before %s %s %s; a report of all visits tells %s in full.", n_before == 1 ? "visit" : arena_format(m->a, "%zu visits", n_before), n_told == 1 ? "this one" : "these",
                        n_before == 1 ? "is" : "are", where, n_before == 1 ? "it" : "them");
}

void content_make(const struct report_source *source, const struct report_ask *ask, struct arena *a, struct content *out)
{
    struct maker m = {.c = out, .a = a, .source = source, .ask = ask, .depth = 2};
    const struct record *r = source->record;
    const struct engine *en = &r->engine;
    const char *name = en->name[0] ? en->name : "Engine";
    char visit[96], told[200], firing[400], own[sizeof en->name + 8], vehicle[sizeof en->subtitle + 8];

    memset(out, 0, sizeof *out);
    visit_words(record_current(r), visit, sizeof visit);
    out->title = arena_format(a, "%s: spark plugs read", text_apart(name, own, sizeof own));
    maker_heading(&m, 1, name);
    engine_format_firing(en, firing, sizeof firing);
    if (source->n_visits > 1 && source->n_visits < (size_t)r->n_visits)
        text_format(told, sizeof told, "%d visits, the latest %zu of them told in full, the last on %s", r->n_visits, source->n_visits, visit);
    else if (source->n_visits > 1)
        text_format(told, sizeof told, "%d visits, the last on %s", r->n_visits, visit);
    else
        text_copy(told, sizeof told, visit);
    maker_text(&m, TONE_SOFT, arena_format(a, "%s%s%s%s%s", text_apart(en->subtitle, vehicle, sizeof vehicle), en->subtitle[0] ? " · " : "", told, en->n_cylinders > 1 ? " · fires " : "", en->n_cylinders > 1 ? firing : ""));
    not_ready(&m, r);
    differ(&m, r);
    content_torque(&m, r);
    if (maker_wants(&m, REPORT_SHORT))
        content_short(&m, r, &source->visits[0]);
    if (source->n_visits < (size_t)r->n_visits)
        maker_text(&m, TONE_SOFT, before_words(&m));
    if (source->n_visits == 1) {
        told_visit(&m, &source->visits[0], true);
    } else {
        if (maker_wants(&m, REPORT_LINEUP))
            content_lineup(&m, r);
        if (maker_wants(&m, REPORT_TRENDS))
            content_trends(&m, r);
        for (size_t i = 0; i < source->n_visits; i++) {
            visit_words(&r->visits[source->visits[i].at], visit, sizeof visit);
            maker_heading(&m, 2, arena_format(a, "Visit of %s", visit));
            m.depth = 3;
            told_visit(&m, &source->visits[i], false);
            m.depth = 2;
        }
    }
    if (maker_wants(&m, REPORT_ENGINE))
        content_engine(&m, r);
    if (maker_wants(&m, REPORT_NEXT_TIME))
        content_next_time(&m);
    if (maker_wants(&m, REPORT_CAUTIONS))
        cautions(&m, source->visits[0].findings);
}
