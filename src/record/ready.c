#include "record/ready.h"

#include <string.h>

#include "base/text.h"

#define BIT(c) ((engine_set)1 << (c))

/* ---- is this plug in? ---- */

static bool noted(const struct reading *q, const char *word)
{
    return q->refit != 0 && q->refit == words_find(WORDS_REFIT, word);
}

static bool torqued(const struct record *r, const struct reading *q)
{
    (void)r;
    return noted(q, "torqued");
}

static bool noted_out(const struct record *r, const struct reading *q)
{
    (void)r;
    return noted(q, "out");
}

static bool noted_hand(const struct record *r, const struct reading *q)
{
    (void)r;
    return noted(q, "hand");
}

static bool followed(const struct record *r, const struct reading *q)
{
    (void)q;
    return record_current(r)->state.followed;
}

static bool history(const struct record *r, const struct reading *q)
{
    (void)q;
    return record_current(r)->state.closed == CLOSED_AS_HISTORY;
}

static bool closed(const struct record *r, const struct reading *q)
{
    (void)q;
    return record_current(r)->state.closed != 0;
}

static bool ran(const struct record *r, const struct reading *q)
{
    (void)q;
    return record_current(r)->state.ran;
}

bool ready_was_drawn(const struct record *r, const struct reading *q)
{
    static const enum zone on_plug[] = {ZONE_FIRING_END, ZONE_THREADS, ZONE_BODY};

    if (visit_find_drawn(record_current(r), q->cylinder, q->position) >= 0)
        return true;
    if (!q->present)
        return q->drawn_by != 0;
    for (size_t z = 0; z < sizeof on_plug / sizeof on_plug[0]; z++)
        if (q->zone_seen[on_plug[z]])
            return true;
    return q->drawn_by != 0 || q->gap_mm.given || q->gap_left_mm.given || q->nose_L.given || q->dries != 0 || q->heavier_side != 0 || q->electrode != 0 ||
           q->wear_on != 0 || q->insulator != 0 || q->tightness != 0 || q->mark_clock != 0 || q->washer != 0 || q->thread_state != 0 || q->torque_nm.given ||
           /* the gauge is screwed into the plug's hole: of two plugs in a cylinder, the first */
           q->compression_kpa.given || q->compression_wet_kpa.given || q->leak_percent.given || q->differential_over_80.given;
}

static const struct ready_rule rules[] = {
    {"a later visit was begun", followed, READY_IN},
    {"the visit was taken over as history", history, READY_IN},
    {"noted as torqued", torqued, READY_IN},
    {"noted as out", noted_out, READY_OUT},
    {"noted as hand-tight", noted_hand, READY_HAND},
    {"the visit is closed", closed, READY_IN},
    {"the warm idle that ends the job is ticked: it ran", ran, READY_IN},
    {"read or drawn at this visit", ready_was_drawn, READY_DRAWN},
};
#define N_RULES ((int)(sizeof rules / sizeof rules[0]))

const struct ready_rule *ready_rules(int *n)
{
    *n = N_RULES;
    return rules;
}

/* ---- the whole engine ---- */

/* Replaced after these readings: what was bare is gone. */
static engine_set replaced(const struct visit *v, const char *part)
{
    int verb = words_find(WORDS_DONE_VERB, "replaced"), which = words_find(WORDS_DONE_PART, part);
    engine_set set = 0;

    for (int i = 0; i < v->n_done; i++)
        if (v->done[i].verb == verb && v->done[i].part == which)
            set |= v->done[i].cylinders;
    return set;
}

static void look_at(const struct record *r, const struct reading *q, int i, struct ready *out)
{
    /* Liquids that end up on the piston: what stands in a well falls in when the plug is drawn. */
    static const enum sign liquid[] = {SIGN_WELL_OIL, SIGN_WELL_WATER, SIGN_WELL_FUEL, SIGN_OIL_WET, SIGN_FUEL_WET, SIGN_COOLANT};

    for (int k = 0; k < N_RULES; k++)
        if (rules[k].holds(r, q)) {
            out->why[i] = rules[k].is;
            break;
        }
    if (out->why[i] != READY_IN && out->n_loose++ == 0) {
        out->first_cylinder = q->cylinder;
        out->first_position = q->position;
    }
    if (!q->present)
        return;
    if (q->amount[SIGN_CONN_BARE] > 0)
        out->bare_connectors |= BIT(q->cylinder);
    if (q->amount[SIGN_LEAD_BARE] > 0)
        out->bare_leads |= BIT(q->cylinder);
    if (q->unplugged)
        out->unplugged |= BIT(q->cylinder);
    /* over a plug that was never drawn it stands where it does no harm */
    for (size_t k = 0; k < sizeof liquid / sizeof liquid[0] && (q->refit != 0 || ready_was_drawn(r, q)); k++)
        if (q->amount[liquid[k]] >= 2)
            out->liquid |= BIT(q->cylinder);
}

void ready_of(const struct record *r, struct ready *out)
{
    const struct visit *v;
    bool past;

    memset(out, 0, sizeof *out);
    out->first_cylinder = out->first_position = -1;
    if (r->n_visits == 0)
        return;
    v = record_current(r);
    for (int i = 0; i < record_plug_count(&r->engine); i++)
        look_at(r, &v->readings[i], i, out);
    past = v->state.followed || v->state.closed == CLOSED_AS_HISTORY;
    out->bare_connectors = past ? 0 : out->bare_connectors & ~replaced(v, "connector");
    out->bare_leads = past ? 0 : out->bare_leads & ~replaced(v, "lead");
    out->unplugged = past ? 0 : out->unplugged;
    /* A step that asks for it stands until it is ticked; without one, closing the visit or running the engine answers. */
    if (!past && v->state.turned != TURN_DONE && (v->state.turned == TURN_OPEN || (v->state.closed == 0 && !v->state.ran)))
        out->turn_first = out->liquid;
    out->turn_left = !past && v->state.turn_left;
}

bool ready_to_start(const struct ready *x)
{
    return x->n_loose == 0 && !x->turn_left && (x->bare_connectors | x->bare_leads | x->unplugged | x->turn_first) == 0;
}

/* ---- in words ---- */

static void next_reason(struct text *t)
{
    if (t->n_bytes > 0)
        text_add(t, "; ");
}

static void add_plugs(struct text *t, const struct engine *en, const struct ready *x, enum ready_why why)
{
    static const char *const words[READY_WHY_COUNT][2] = {
        [READY_OUT] = {"is out", "are out"}, [READY_HAND] = {"is only hand-tight", "are only hand-tight"}, [READY_DRAWN] = {"was drawn and is not torqued", "were drawn and are not torqued"}};
    bool marked[ENGINE_MAX_PLUGS] = {false};
    char plugs[400];
    int n = 0;

    for (int i = 0; i < record_plug_count(en); i++) {
        marked[i] = x->why[i] == why;
        n += marked[i];
    }
    if (n == 0)
        return;
    engine_plugs_words(en, marked, plugs, sizeof plugs);
    next_reason(t);
    text_addf(t, "%s %s", plugs, words[why][n > 1]);
}

static void add_labels(struct text *t, const struct engine *en, engine_set set)
{
    int cylinders[ENGINE_MAX_CYLINDERS], n = engine_set_list(en, set, cylinders);

    for (int i = 0; i < n; i++)
        text_addf(t, "%s%s", i > 0 ? ", " : "", en->cylinders[cylinders[i]].label);
}

static void add_wiring(struct text *t, const struct engine *en, engine_set set, const char *one, const char *several, const char *state)
{
    bool single = (set & (set - 1)) == 0;

    if (set == 0)
        return;
    next_reason(t);
    text_addf(t, "%s ", single ? one : several);
    add_labels(t, en, set);
    text_addf(t, " %s %s", single ? "is" : "are", state);
}

void ready_words(const struct engine *en, const struct ready *x, char *to, size_t n_room)
{
    struct text t = {0};

    add_plugs(&t, en, x, READY_OUT);
    add_plugs(&t, en, x, READY_DRAWN);
    add_plugs(&t, en, x, READY_HAND);
    add_wiring(&t, en, x->bare_connectors, "connector", "connectors", "bare");
    add_wiring(&t, en, x->bare_leads, "lead", "leads", "bare");
    add_wiring(&t, en, x->unplugged, "the lead or connector of", "leads or connectors of", "off");
    if (x->turn_first != 0) {
        next_reason(&t);
        text_add(&t, "liquid stood at ");
        add_labels(&t, en, x->turn_first);
        text_add(&t, " and can lock the engine: turn it by hand, plugs out, before cranking");
    }
    if (x->turn_left) {
        next_reason(&t);
        text_add(&t, "an earlier visit asked for turning it by hand, plugs out, and that was not done");
    }
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

static void add_count(struct text *t, int n, const char *one, const char *several)
{
    if (n > 0)
        text_addf(t, "%s%d %s", t->n_bytes ? ", " : "", n, n == 1 ? one : several);
}

static int count(engine_set set)
{
    int n = 0;

    for (; set != 0; set &= set - 1)
        n++;
    return n;
}

void ready_brief(const struct ready *x, char *to, size_t n_room)
{
    struct text t = {0};

    add_count(&t, x->n_loose, "plug not torqued", "plugs not torqued");
    add_count(&t, count(x->bare_connectors), "connector bare", "connectors bare");
    add_count(&t, count(x->bare_leads), "lead bare", "leads bare");
    add_count(&t, count(x->unplugged), "lead or connector off", "leads or connectors off");
    if (x->turn_first != 0 || x->turn_left)
        text_addf(&t, "%snot turned by hand", t.n_bytes ? ", " : "");
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}
