#include "record/ready.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "record/refit_book.h"
#include "record/seated.h"
#include "record/stops.h"

#define BIT(c) ((engine_set)1 << (c))

/* ---- is this plug in? ---- */

static bool noted(const struct reading *q, const char *word)
{
    return q->refit != 0 && q->refit == words_find(WORDS_REFIT, word);
}

static bool torqued(const struct ready_at *at, const struct reading *q)
{
    (void)at;
    return noted(q, "torqued");
}

static bool apart(const struct ready_at *at, const struct reading *q)
{
    (void)at;
    return q->apart.in && !noted(q, "out") && !noted(q, "hand");
}

static bool noted_out(const struct ready_at *at, const struct reading *q)
{
    (void)at;
    return noted(q, "out");
}

static bool noted_hand(const struct ready_at *at, const struct reading *q)
{
    (void)at;
    return noted(q, "hand");
}

static bool is_history(const struct visit *v)
{
    return v->state.closed == CLOSED_AS_HISTORY;
}

static bool history(const struct ready_at *at, const struct reading *q)
{
    (void)q;
    return is_history(at->visit);
}

static bool ran_since(const struct ready_at *at, const struct reading *q)
{
    (void)q;
    return at->ran_since;
}

static bool drawn(const struct ready_at *at, const struct reading *q)
{
    return ready_was_drawn(at->visit, q);
}

/* What the cylinder gave stands with its first plug. Pressure is taken with all plugs out; leakage through one hole, and of
 * a cylinder with several plugs the figure does not say through which. */
static bool measured_out(const struct visit *v, const struct reading *q)
{
    const struct reading *first = q - q->position; /* as in visit.readings */
    bool alone = q->position == 0 && (q + 1 == v->readings + ENGINE_MAX_PLUGS || q[1].position == 0);

    return first->compression_kpa.given || first->compression_wet_kpa.given || (alone && (q->leak_percent.given || q->differential_over_80.given));
}

static bool seen_out(const struct visit *v, const struct reading *q)
{
    return q->drawn_by != 0 || measured_out(v, q) || reading_tells_plug(q) ||
           (q->present && (q->gap_left_mm.given || q->tightness != 0 || q->mark_clock != 0 || q->washer != 0 || q->thread_state != 0));
}

/* The order alone may be a plan: it is a record of what came out as far as the last plug in it that was seen out. */
bool ready_was_drawn(const struct visit *v, const struct reading *q)
{
    int at = visit_find_drawn(v, q->cylinder, q->position);

    if (seen_out(v, q))
        return true;
    for (int i = v->n_removal - 1; at >= 0 && i > at; i--) {
        struct plug_place behind = visit_drawn(v, i);

        for (int k = 0; k < ENGINE_MAX_PLUGS; k++)
            if (v->readings[k].cylinder == behind.cylinder && v->readings[k].position == behind.position && (seen_out(v, &v->readings[k]) || noted(&v->readings[k], "out") || noted(&v->readings[k], "hand")))
                return true;
    }
    return false;
}

static const struct ready_rule rules[] = {
    {"the visit was taken over as history", history, READY_UNSAID},
    {"the engine has run since", ran_since, READY_IN},
    {"a merged copy says that it is not torqued, and what stands does not", apart, READY_APART},
    {"noted as torqued", torqued, READY_IN},
    {"noted as out", noted_out, READY_OUT},
    {"noted as hand-tight", noted_hand, READY_HAND},
    {"read or drawn at this visit", drawn, READY_DRAWN},
};
#define N_RULES ((int)(sizeof rules / sizeof rules[0]))

const struct ready_rule *ready_rules(int *n)
{
    *n = N_RULES;
    return rules;
}

static enum ready_why says(const struct ready_at *at, const struct reading *q)
{
    for (int k = 0; k < N_RULES; k++)
        if (rules[k].holds(at, q))
            return rules[k].is;
    return READY_UNSAID;
}

/* ---- liquid ---- */

/* What stands in a well falls in when the plug is drawn; what is on the firing end came out of the cylinder. */
static const struct ready_liquid_row liquids[] = {
    {SIGN_WELL_OIL, "oil stood in the well of", "oil stood in the wells of", "", ""},
    {SIGN_WELL_WATER, "water stood in the well of", "water stood in the wells of", "", ""},
    {SIGN_WELL_FUEL, "fuel stood in the well of", "fuel stood in the wells of", "", ""},
    {SIGN_OIL_WET, "the plug of", "the plugs of", " came out wet with oil", ""},
    {SIGN_FUEL_WET, "the plug of", "the plugs of", " came out wet with fuel", ""},
    {SIGN_COOLANT, "the plug of", "the plugs of", " came out wet with coolant", ""},
    {-1, "coolant may have run into", "coolant may have run into", "", "coolant"},
};
_Static_assert(sizeof liquids / sizeof liquids[0] == READY_LIQUIDS, "one set for each");

const struct ready_liquid_row *ready_liquid_row(int k)
{
    assert(k >= 0 && k < READY_LIQUIDS);
    return &liquids[k];
}

void ready_liquid_of(const struct visit *v, const struct engine *en, struct ready_liquid *to)
{
    int n_plugs = record_plug_count(en);

    for (int i = 0; i < n_plugs; i++) {
        const struct reading *q = &v->readings[i];

        /* over a plug that was never drawn it stands where it does no harm */
        for (int k = 0; q->present && k < READY_LIQUIDS; k++)
            if (liquids[k].sign >= 0 && q->amount[liquids[k].sign] >=
                    (liquids[k].sign == SIGN_OIL_WET && en->strokes == 2 ? 3 : 2) &&
                (q->refit != 0 || ready_was_drawn(v, q)))
                to->of[k] |= BIT(q->cylinder);
    }
    for (int k = 0; k < READY_LIQUIDS; k++) /* it comes from within: whether the plug was drawn is all the same */
        for (int stop = 0; liquids[k].sign < 0 && stop < VISIT_STOPS; stop++)
            if (stop_by_cause(stop) && strcmp(stop_row(stop)->cause, liquids[k].cause) == 0)
                to->of[k] |= v->state.stops_taken[stop] & ~to->of[k - 1]; /* the same seen on the plug is told once */
}

engine_set ready_liquid_set(const struct ready_liquid *l)
{
    engine_set all = 0;

    for (int k = 0; k < READY_LIQUIDS; k++)
        all |= l->of[k];
    return all;
}

/* ---- the whole engine ---- */

/* Looked at, and nothing found: what was bare before was mended without a word. With something else noted there, its
 * insulation may not have been looked at. */
static bool found_whole(const struct reading *q, enum zone z)
{
    if (!q->zone_seen[z])
        return false;
    for (int s = 0; s < SIGN_COUNT; s++)
        if (sign_row((enum sign)s)->zone == z && q->amount[s] > 0)
            return false;
    return true;
}

/* Bare insulation, of connectors or of leads: the latest word counts, for each plug. */
static void wiring_of(const struct visit *v, int at, int n_plugs, enum zone z, enum sign bare, const char *part, bool told[], engine_set *set, engine_set *set_apart, int16_t since[])
{
    engine_set renewed = visit_worked_at(v, "replaced", part);

    for (int i = 0; i < n_plugs; i++) {
        const struct reading *q = &v->readings[i];

        if (told[i])
            continue;
        told[i] = (renewed & BIT(q->cylinder)) != 0;
        if (told[i] || !q->present)
            continue;
        const bool differ = q->amount[bare] <= 0 && (z == ZONE_LEAD ? q->apart.bare_lead : q->apart.bare_connector);

        told[i] = q->amount[bare] > 0 || differ || found_whole(q, z);
        if (q->amount[bare] > 0 || differ) {
            *set |= BIT(q->cylinder);
            *set_apart |= differ ? BIT(q->cylinder) : 0;
            since[q->cylinder] = (int16_t)at;
        }
    }
}

static void leads_of(const struct visit *v, int at, int n_plugs, bool told[], struct ready *out)
{
    for (int i = 0; i < n_plugs; i++) {
        const struct reading *q = &v->readings[i];

        if (told[i] || !q->present || !(q->unplugged || q->plugged || q->apart.on))
            continue;
        told[i] = true;
        if (q->unplugged || q->apart.on) {
            out->unplugged |= BIT(q->cylinder);
            out->unplugged_apart |= q->unplugged ? 0 : BIT(q->cylinder);
            out->unplugged_at[q->cylinder] = (int16_t)at;
        }
    }
}

/* What later visits show of the engine's running; to be asked from the latest to the oldest. */
struct running {
    double most_m[2];   /* the highest odometer of later visits, by distance and by hours; -1 none */
    char date[11];      /* of the latest that idled or drove before its plugs came out */
    bool has_run;
};

static void running_init(struct running *x)
{
    *x = (struct running){.most_m = {-1, -1}};
}

/* Whether the engine has run after visit `at`, which is taken note of for those before it. An odometer with a digit too many shows nothing. */
static bool ran_after(struct running *x, const struct record *r, int at)
{
    const struct visit *v = &r->visits[at];
    bool hours = v->odometer_unit != 0 && v->odometer_unit == words_find(WORDS_ODOMETER_UNIT, "h");
    double *most = &x->most_m[hours];

    x->has_run = x->has_run || (v->odometer_m.given && *most >= v->odometer_m.value + (hours ? READY_RUN_S : READY_RUN_M)) || (v->date[0] != '\0' && strcmp(v->date, x->date) < 0);
    if (v->odometer_m.given && v->odometer_m.value > *most && record_odometer_leapt(r, at) < 0)
        *most = v->odometer_m.value;
    if ((v->last_run == words_find(WORDS_LAST_RUN, "idle") || v->last_run == words_find(WORDS_LAST_RUN, "load")) && strcmp(v->date, x->date) > 0)
        text_copy(x->date, sizeof x->date, v->date);
    return x->has_run;
}

/* ---- tightened far off the book ---- */

/* READY_OVER, READY_LOOSE or READY_IN. That it has run since, or is noted as in, mends no thread and tightens nothing: it stands until
 * the plug comes out; a loose one until it is noted as torqued. */
static enum ready_why tightened_off(const struct refit *book, const struct visit *v, const struct reading *q)
{
    const struct maybe said[] = {q->torque_nm, q->apart.torque_nm}; /* the graver of the two, where merged copies differ */
    enum refit_off off = REFIT_FINE;

    for (size_t k = 0; k < sizeof said / sizeof said[0] && !refit_stops(off); k++)
        if (said[k].given && !is_history(v) && !noted(q, "out") && !noted(q, "hand"))
            off = refit_judge(book, said[k].value, reading_is_greased(q));
    return !refit_stops(off) ? READY_IN : off == REFIT_OVER ? READY_OVER : READY_LOOSE;
}

/* NULL: no torque was noted, or none that is so far off. To be freed. */
static struct refit *book_that_was_missed(const struct record *r)
{
    struct refit *book = NULL;
    bool off = false;

    for (int at = 0; at < r->n_visits + r->n_later + r->n_ahead && !off; at++)
        for (int i = 0; i < record_plug_count(&r->engine) && !off; i++) {
            if (!r->visits[at].readings[i].torque_nm.given && !r->visits[at].readings[i].apart.torque_nm.given)
                continue;
            if (book == NULL) {
                book = mem_alloc(1, sizeof *book);
                (void)refit_for_engine(&r->engine, book, NULL); /* without charts, the maker's figure */
            }
            off = tightened_off(book, &r->visits[at], &r->visits[at].readings[i]) != READY_IN;
        }
    if (!off) {
        free(book);
        book = NULL;
    }
    return book;
}

static void off_book_of(const struct record *r, struct ready *out)
{
    struct refit *book = book_that_was_missed(r);

    for (int i = 0; book != NULL && i < record_plug_count(&r->engine); i++)
        for (int at = r->n_visits + r->n_later + r->n_ahead - 1, tightened = false; at >= 0 && out->why[i] == READY_IN; at--) {
            const struct visit *v = &r->visits[at];
            const struct reading *q = &v->readings[i];
            const enum ready_why why = tightened_off(book, v, q);

            if (why != READY_IN && !(why == READY_LOOSE && tightened)) {
                out->why[i] = why;
                out->plug_at[i] = (int16_t)at;
            }
            tightened = tightened || (why == READY_IN && noted(q, "torqued"));
            if (ready_was_drawn(v, q) || noted(q, "out") || noted(q, "hand") || (visit_worked_at(v, "replaced", "plug") & BIT(q->cylinder)) != 0)
                break;
        }
    free(book);
}

/* ---- scrap, and in again ---- */

/* Back through the visits with the plug that is in the hole now, until one tells of it. n_back: the first visit that the engine has not run since. */
static void scrap_at(const struct record *r, int hole, int n_back, struct ready *out)
{
    bool kept = false;
    int row = hole;

    for (int at = r->n_visits + r->n_later - 1; at >= 0; at--) {
        const struct visit *v = &r->visits[at];
        const struct reading *q = seated_plug(v, &v->readings[row]);

        if (q == NULL) /* a new or another one */
            return;
        row = (int)(q - v->readings);
        kept = kept || (q->kept && !q->apart.kept);
        if (stop_broken(q)[0] != '\0') {
            if (!kept && at < n_back) /* driven so, and nobody said a word on it */
                return;
            if (kept)
                out->kept[hole] = true;
            else
                out->why[hole] = READY_SCRAP;
            out->scrap[hole] = stop_broken(q);
            out->scrap_from[hole] = (int16_t)row;
            out->plug_at[hole] = (int16_t)at;
            return;
        }
        if (reading_tells_plug(q))
            return;
    }
}

static void scrap_of(const struct record *r, struct ready *out)
{
    struct running running;
    int at = r->n_visits + r->n_later;

    running_init(&running);
    while (at > 0 && !ran_after(&running, r, at - 1) && !is_history(&r->visits[at - 1]))
        at--;
    for (int i = 0; i < record_plug_count(&r->engine); i++)
        if (out->why[i] == READY_IN)
            scrap_at(r, i, at, out);
}

int ready_oldest(const struct record *r)
{
    struct refit *book = book_that_was_missed(r);
    struct running running;
    int at = r->n_visits + r->n_later; /* one still to come shows nothing of its having run */
    int oldest;

    running_init(&running);
    while (at > 0 && !ran_after(&running, r, at - 1))
        at--;
    oldest = at;
    for (at = 0; book != NULL && at < oldest; at++)
        for (int i = 0; i < record_plug_count(&r->engine); i++)
            if (tightened_off(book, &r->visits[at], &r->visits[at].readings[i]) != READY_IN)
                oldest = at;
    free(book);
    return oldest;
}

static bool step_stands_open(const struct visit *v, int n_plugs)
{
    (void)n_plugs;
    return v->state.turned == TURN_OPEN;
}

static bool taken_over(const struct visit *v, int n_plugs)
{
    (void)n_plugs;
    return is_history(v);
}

/* An older logbook has the tick and not for which: then it answers all. */
static bool said_for_which(const struct visit *v, int n_plugs)
{
    bool any = false;

    for (int i = 0; i < n_plugs; i++)
        any = any || v->readings[i].turned_out;
    return v->state.turned == TURN_DONE && any;
}

static bool was_turned(const struct visit *v, int n_plugs)
{
    (void)n_plugs;
    return v->state.turned == TURN_DONE;
}

static bool nothing_said(const struct visit *v, int n_plugs)
{
    (void)v;
    (void)n_plugs;
    return true;
}

static const struct ready_turn_rule turn_rules[] = {
    {"the step that asks for it stands open", step_stands_open, READY_TURN_ALL},
    {"the visit was taken over as history", taken_over, READY_TURN_NONE},
    {"it was turned, and noted where liquid stood then", said_for_which, READY_TURN_SINCE},
    {"it was turned", was_turned, READY_TURN_NONE},
    {"nothing said", nothing_said, READY_TURN_ALL},
};
#define N_TURN_RULES ((int)(sizeof turn_rules / sizeof turn_rules[0]))

const struct ready_turn_rule *ready_turn_rules(int *n)
{
    *n = N_TURN_RULES;
    return turn_rules;
}

/* Turning by hand, as one visit asks for it. */
static void turning_of(const struct visit *v, int at, const struct engine *en, struct ready *out)
{
    int n_plugs = record_plug_count(en);
    struct ready_liquid found = {0};
    engine_set answered = 0;
    int rule = 0;

    while (!turn_rules[rule].holds(v, n_plugs))
        rule++;
    if (turn_rules[rule].asks == READY_TURN_NONE)
        return;
    ready_liquid_of(v, en, &found);
    for (int i = 0; i < n_plugs && turn_rules[rule].asks == READY_TURN_SINCE; i++)
        if (v->readings[i].turned_out && !v->readings[i].apart.turned)
            answered |= BIT(v->readings[i].cylinder);
    for (int k = 0; k < READY_LIQUIDS; k++)
        found.of[k] &= ~answered;
    if (turn_rules[rule].asks == READY_TURN_SINCE)
        out->turn_again |= ready_liquid_set(&found);
    for (int k = 0; k < READY_LIQUIDS; k++)
        for (int c = 0; c < ENGINE_MAX_CYLINDERS; c++)
            if ((found.of[k] & ~out->turn_first.of[k] & BIT(c)) != 0)
                out->turn_at[k][c] = (int16_t)at;
    for (int k = 0; k < READY_LIQUIDS; k++)
        out->turn_first.of[k] |= found.of[k];
    if (v->state.turned == TURN_OPEN && ready_liquid_set(&found) == 0 && !out->turn_left) {
        out->turn_left = true;
        out->turn_left_at = (int16_t)at;
    }
}

/* What the visits looked at so far say of the stops: that they were looked into, and, seen again, nothing of them. */
struct stops_answered {
    engine_set told[VISIT_STOPS], gone[VISIT_STOPS];
};

/* What this visit saw that must be looked into, but for what it or a later one says of it. ran: the engine has run since. That alone mends nothing; only where
 * the place was looked at again, and nothing is there, is it in the way no more. */
static void stops_of(const struct visit *v, int at, int n_plugs, bool ran, struct stops_answered *answered, struct ready *out)
{
    for (int k = 0; k < VISIT_STOPS; k++) {
        engine_set *told = answered->told, *gone = &answered->gone[k], gone_here = 0;

        told[k] |= v->state.stops_told[k] | (stop_row(k)->part[0] != '\0' ? visit_worked_at(v, "replaced", stop_row(k)->part) : 0);
        for (int i = 0; i < n_plugs; i++) {
            int c = v->readings[i].cylinder;
            engine_set *stops = ran && (*gone & BIT(c)) != 0 ? out->stops_run : out->stops;

            gone_here |= stop_seen_gone(k, &v->readings[i]) ? BIT(c) : 0;
            if (((v->state.stops_taken[k] & BIT(c)) == 0 && !stop_shown(k, &v->readings[i])) || ((told[k] | out->stops[k] | out->stops_run[k]) & BIT(c)) != 0)
                continue;
            stops[k] |= BIT(c);
            out->stop_at[k][c] = (int16_t)at;
        }
        *gone |= gone_here; /* of the visits before this one */
    }
}

/* A visit still to come, perhaps a date that was mistyped: what it saw in the way of starting stands, and what it says
 * is in order again answers nothing of before. */
static void ahead_of(const struct record *r, int at, struct ready *out)
{
    const struct visit *v = &r->visits[at];
    const struct ready_at as = {v, false};
    bool connector[ENGINE_MAX_PLUGS] = {false}, lead[ENGINE_MAX_PLUGS] = {false}, plugged[ENGINE_MAX_PLUGS] = {false};
    int n_plugs = record_plug_count(&r->engine);

    for (int i = 0; i < n_plugs; i++) {
        enum ready_why why = says(&as, &v->readings[i]);

        if (why == READY_UNSAID || why == READY_IN)
            continue;
        out->why[i] = why;
        out->plug_at[i] = (int16_t)at;
    }
    if (is_history(v))
        return;
    wiring_of(v, at, n_plugs, ZONE_CONNECTOR, SIGN_CONN_BARE, "connector", connector, &out->bare_connectors, &out->bare_connectors_apart, out->connector_at);
    wiring_of(v, at, n_plugs, ZONE_LEAD, SIGN_LEAD_BARE, "lead", lead, &out->bare_leads, &out->bare_leads_apart, out->lead_at);
    leads_of(v, at, n_plugs, plugged, out);
    stops_of(v, at, n_plugs, false, &(struct stops_answered){{0}, {0}}, out);
    if (v->state.turned != TURN_DONE)
        turning_of(v, at, &r->engine, out);
}

/* Whether each plug is in: of those that are not, why and since when. */
static void plugs_of(const struct record *r, struct ready *out)
{
    bool told[ENGINE_MAX_PLUGS] = {false};
    int n_plugs = record_plug_count(&r->engine);
    struct running running;

    for (int i = 0; i < n_plugs; i++)
        told[i] = out->why[i] != READY_IN;
    running_init(&running);
    for (int at = r->n_visits + r->n_later - 1; at >= 0; at--) {
        const struct ready_at as = {&r->visits[at], ran_after(&running, r, at)};

        for (int i = 0; i < n_plugs; i++) {
            enum ready_why why = told[i] ? READY_UNSAID : says(&as, &as.visit->readings[i]);

            if (why == READY_UNSAID)
                continue;
            told[i] = true;
            out->why[i] = why;
            out->plug_at[i] = (int16_t)at;
        }
    }
}

bool ready_ran_by_tick(const struct record *r, const struct ready *x, int at)
{
    for (int i = 0; i < record_plug_count(&r->engine); i++)
        if (x->why[i] != READY_IN && x->plug_at[i] <= at)
            return false;
    return r->visits[at].state.ran;
}

int ready_blank(const struct record *r, const struct ready *x, bool marked[ENGINE_MAX_PLUGS])
{
    int n = 0;

    for (int i = 0; i < ENGINE_MAX_PLUGS; i++) {
        marked[i] = i < record_plug_count(&r->engine) && x->why[i] == READY_DRAWN && x->plug_at[i] < r->n_visits;
        n += marked[i];
    }
    return n;
}

void ready_of(const struct record *r, struct ready *out)
{
    bool connector[ENGINE_MAX_PLUGS] = {false}, lead[ENGINE_MAX_PLUGS] = {false}, plugged[ENGINE_MAX_PLUGS] = {false};
    bool has_run = false, turned = false;
    struct stops_answered answered = {{0}, {0}};
    int n_plugs = record_plug_count(&r->engine);
    struct running running;

    memset(out, 0, sizeof *out);
    out->first_cylinder = out->first_position = -1;
    running_init(&running);
    for (int at = r->n_visits + r->n_later + r->n_ahead - 1; at >= r->n_visits + r->n_later; at--)
        ahead_of(r, at, out);
    plugs_of(r, out);
    for (int at = r->n_visits + r->n_later - 1; at >= 0; at--) {
        const struct visit *v = &r->visits[at];
        const struct ready_at as = {v, ran_after(&running, r, at)};

        if (at == r->n_visits - 1)
            ready_liquid_of(v, &r->engine, &out->liquid);
        has_run = has_run || as.ran_since;
        if (is_history(v))
            continue;
        wiring_of(v, at, n_plugs, ZONE_CONNECTOR, SIGN_CONN_BARE, "connector", connector, &out->bare_connectors, &out->bare_connectors_apart, out->connector_at);
        wiring_of(v, at, n_plugs, ZONE_LEAD, SIGN_LEAD_BARE, "lead", lead, &out->bare_leads, &out->bare_leads_apart, out->lead_at);
        stops_of(v, at, n_plugs, has_run, &answered, out); /* that it was run all the same says nothing at that visit */
        if (has_run)
            continue;
        leads_of(v, at, n_plugs, plugged, out);
        has_run = ready_ran_by_tick(r, out, at);
        if (!turned && (!has_run || v->state.turned == TURN_OPEN)) {
            turning_of(v, at, &r->engine, out);
            if (v->state.turned_apart && !out->turn_apart) {
                out->turn_apart = true;
                out->turn_apart_at = (int16_t)at;
            }
        }
        turned = turned || v->state.turned == TURN_DONE;
    }
    off_book_of(r, out);
    scrap_of(r, out);
    for (int i = n_plugs - 1; i >= 0; i--)
        if (out->why[i] != READY_IN) {
            out->n_loose++;
            out->first_cylinder = i / r->engine.n_positions;
            out->first_position = i % r->engine.n_positions;
        }
}

bool ready_asks_to_turn(const struct ready *x)
{
    return x->turn_left || ready_liquid_set(&x->turn_first) != 0;
}

engine_set ready_stops_set(const struct ready *x)
{
    engine_set all = 0;

    for (int k = 0; k < VISIT_STOPS; k++)
        all |= x->stops[k];
    return all;
}

bool ready_to_start(const struct ready *x)
{
    return x->n_loose == 0 && ready_stops_set(x) == 0 && (x->bare_connectors | x->bare_leads | x->unplugged) == 0 && !ready_asks_to_turn(x);
}

bool ready_can_turn(const struct record *r, const struct ready *x)
{
    engine_set asked = x->turn_left ? 0 : ready_liquid_set(&x->turn_first);

    for (int i = 0; i < record_plug_count(&r->engine); i++)
        if ((asked == 0 || (asked & BIT(i / r->engine.n_positions)) != 0) && x->why[i] != READY_OUT && x->why[i] != READY_DRAWN)
            return false;
    return true;
}

bool ready_comes_out(enum ready_why why)
{
    return why == READY_OVER || why == READY_SCRAP;
}
