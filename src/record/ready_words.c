/* ready_words.c - what stands in the way of a start, as it is told: in full by visit, and in brief. */
#include "record/ready.h"

#include <string.h>

#include "base/clock.h"
#include "base/text.h"
#include "record/refit_book.h"
#include "record/stops.h"

#define BIT(c) ((engine_set)1 << (c))

static void next_reason(struct text *t)
{
    if (t->n_bytes > 0)
        text_add(t, "; ");
}

static void add_plugs(struct text *t, const struct engine *en, const struct ready *x, enum ready_why why, int at)
{
    static const char *const words[READY_WHY_COUNT][2] = {
        [READY_OUT] = {"is out", "are out"}, [READY_HAND] = {"is only hand-tight", "are only hand-tight"}, [READY_DRAWN] = {"was drawn and is not torqued", "were drawn and are not torqued"},
        [READY_APART] = {"is not torqued by one of the merged copies, and another says otherwise: look at it, and choose one", "are not torqued by one of the merged copies, and another says otherwise: look at them, and choose one"},
        [READY_OVER] = {"was tightened far over", "were tightened far over"}, [READY_LOOSE] = {"was tightened to less than half of", "were tightened to less than half of"}};
    bool marked[ENGINE_MAX_PLUGS] = {false};
    char plugs[400];
    int n = 0;

    for (int i = 0; i < record_plug_count(en); i++) {
        marked[i] = x->why[i] == why && x->plug_at[i] == at;
        n += marked[i];
    }
    if (n == 0)
        return;
    engine_plugs_words(en, marked, plugs, sizeof plugs);
    next_reason(t);
    text_addf(t, "%s %s", plugs, words[why][n > 1]);
    if (why == READY_OVER)
        text_addf(t, n > 1 ? " %s and have to come out" : " %s and has to come out", refit_book_words(en));
    if (why == READY_LOOSE)
        text_addf(t, " %s", refit_book_words(en));
}

/* "the plug from 2, which came out as scrap (insulator cracked), is in 4: a new one goes in" */
static void add_moved_scrap(struct text *t, const struct engine *en, const struct ready *x, int i)
{
    char from[48], in[48];

    engine_plug_label(en, x->scrap_from[i] / en->n_positions, x->scrap_from[i] % en->n_positions, from, sizeof from);
    engine_plug_label(en, i / en->n_positions, i % en->n_positions, in, sizeof in);
    next_reason(t);
    text_addf(t, "the plug from %s, which came out as scrap (%s), is in %s: a new one goes in", from, x->scrap[i], in);
}

static void add_scrap(struct text *t, const struct engine *en, const struct ready *x, int at)
{
    bool marked[ENGINE_MAX_PLUGS] = {false};
    const char *why = NULL;
    char plugs[400];
    bool alike = true;
    int n = 0;

    for (int i = 0; i < record_plug_count(en); i++) {
        marked[i] = x->why[i] == READY_SCRAP && x->plug_at[i] == at && x->scrap_from[i] == i;
        if (x->why[i] == READY_SCRAP && x->plug_at[i] == at && x->scrap_from[i] != i)
            add_moved_scrap(t, en, x, i);
        if (!marked[i])
            continue;
        n++;
        alike = alike && (why == NULL || strcmp(why, x->scrap[i]) == 0);
        why = x->scrap[i];
    }
    if (n == 0)
        return;
    engine_plugs_words(en, marked, plugs, sizeof plugs);
    next_reason(t);
    text_addf(t, n == 1 ? "%s came out as scrap and is in again" : "%s came out as scrap and are in again", plugs);
    if (alike)
        text_addf(t, " (%s)", why);
    text_add(t, n == 1 ? ": a new one goes in" : ": new ones go in");
}

/* Those of a set that stem from this visit. */
static engine_set only_at(engine_set set, const int16_t since[], int at)
{
    for (int c = 0; c < ENGINE_MAX_CYLINDERS; c++)
        if (since[c] != at)
            set &= ~BIT(c);
    return set;
}

static void add_wiring(struct text *t, const struct engine *en, engine_set set, const char *one, const char *several, const char *state)
{
    bool single = (set & (set - 1)) == 0;

    if (set == 0)
        return;
    next_reason(t);
    text_addf(t, "%s ", single ? one : several);
    engine_set_labels(en, set, t);
    text_addf(t, " %s %s", single ? "is" : "are", state);
}

static void add_liquid(struct text *t, const struct engine *en, const struct ready_liquid *l)
{
    for (int k = 0; k < READY_LIQUIDS; k++) {
        const struct ready_liquid_row *row = ready_liquid_row(k);

        if (l->of[k] == 0)
            continue;
        next_reason(t);
        text_addf(t, "%s ", (l->of[k] & (l->of[k] - 1)) == 0 ? row->at_one : row->at_several);
        engine_set_labels(en, l->of[k], t);
        text_add(t, row->seen);
    }
}

void ready_liquid_words(const struct engine *en, const struct ready_liquid *l, char *to, size_t n_room)
{
    struct text t = {0};

    add_liquid(&t, en, l);
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

/* "metal specks at 2, a melted electrode at 3: to be looked into before it runs" */
static void add_stops(struct text *t, const struct engine *en, const struct ready *x, int at)
{
    bool any = false;

    for (int k = 0; k < VISIT_STOPS; k++) {
        engine_set set = only_at(x->stops[k], x->stop_at[k], at);

        if (set == 0)
            continue;
        if (any)
            text_add(t, ", ");
        else
            next_reason(t);
        any = true;
        text_add(t, stop_row(k)->what);
        if (stop_by_cause(k) && set == record_place(en, "engine"))
            continue;
        text_add(t, " at ");
        engine_set_labels(en, set, t);
    }
    if (any)
        text_add(t, ": to be looked into before it runs");
}

#define ONE_COPY " in one of the merged copies and not in another"

/* What stems from one visit. */
static void add_reasons(struct text *t, const struct engine *en, const struct ready *x, int at)
{
    static const enum ready_why whys[] = {READY_OUT, READY_DRAWN, READY_HAND, READY_APART, READY_LOOSE, READY_OVER};
    struct ready_liquid turn;

    add_stops(t, en, x, at);
    for (size_t k = 0; k < sizeof whys / sizeof whys[0]; k++)
        add_plugs(t, en, x, whys[k], at);
    add_scrap(t, en, x, at);
    for (int apart_too = 0; apart_too < 2; apart_too++) {
        const engine_set c = apart_too ? x->bare_connectors_apart : ~x->bare_connectors_apart, l = apart_too ? x->bare_leads_apart : ~x->bare_leads_apart,
                         u = apart_too ? x->unplugged_apart : ~x->unplugged_apart;

        add_wiring(t, en, only_at(x->bare_connectors & c, x->connector_at, at), "connector", "connectors", apart_too ? "bare" ONE_COPY : "bare");
        add_wiring(t, en, only_at(x->bare_leads & l, x->lead_at, at), "lead", "leads", apart_too ? "bare" ONE_COPY : "bare");
        add_wiring(t, en, only_at(x->unplugged & u, x->unplugged_at, at), "the lead or connector of", "leads or connectors of", apart_too ? "off" ONE_COPY : "off");
    }
    for (int k = 0; k < READY_LIQUIDS; k++)
        turn.of[k] = only_at(x->turn_first.of[k], x->turn_at[k], at);
    if (ready_liquid_set(&turn) != 0) {
        add_liquid(t, en, &turn);
        text_addf(t, ": liquid that lies in a cylinder locks the engine, so turn it %s, plugs out, before cranking",
                  (x->turn_again & ready_liquid_set(&turn)) != 0 ? "again by hand (this was noted after it was turned)" : "by hand");
    }
    if (x->turn_left && x->turn_left_at == at) {
        next_reason(t);
        text_add(t, "turning it by hand, plugs out, was asked for and is not done");
    }
    if (x->turn_apart && x->turn_apart_at == at && ready_asks_to_turn(x)) {
        next_reason(t);
        text_add(t, "merged copies differ whether it was turned by hand");
    }
}

void ready_words(const struct record *r, const struct ready *x, char *to, size_t n_room)
{
    struct text t = {0};

    int n_all = r->n_visits + r->n_later + r->n_ahead, shown = r->n_visits - 1;

    for (int k = -1; k < n_all; k++) { /* the visit that is looked at first, then from the latest back */
        int at = k < 0 ? shown : n_all - 1 - k;
        struct text of_visit = {0};

        if (at < 0 || (k >= 0 && at == shown))
            continue;
        add_reasons(&of_visit, &r->engine, x, at);
        if (of_visit.n_bytes > 0) {
            char date[32];

            clock_date_words(r->visits[at].date, date, sizeof date);
            next_reason(&t);
            if (at != shown)
                text_addf(&t, "since %s: ", date[0] != '\0' ? date : "a visit without a date");
            text_add(&t, text_get(&of_visit));
        }
        text_release(&of_visit);
    }
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

bool ready_kept_words(const struct engine *en, const struct ready *x, char *to, size_t n_room)
{
    struct text t = {0};
    int n = 0;

    for (int i = 0; i < record_plug_count(en); i++) {
        char label[48], from[48];

        if (!x->kept[i])
            continue;
        engine_plug_label(en, i / en->n_positions, i % en->n_positions, label, sizeof label);
        engine_plug_label(en, x->scrap_from[i] / en->n_positions, x->scrap_from[i] % en->n_positions, from, sizeof from);
        if (x->scrap_from[i] == i)
            text_addf(&t, "%splug %s (%s)", n++ > 0 ? ", " : "", label, x->scrap[i]);
        else
            text_addf(&t, "%splug %s (from %s, %s)", n++ > 0 ? ", " : "", label, from, x->scrap[i]);
    }
    if (n > 0)
        text_add(&t, n == 1 ? " is scrap and stays in on your own word: what breaks off it falls into the cylinder. Run it as little as can be, without load, and fit a new one"
                            : " are scrap and stay in on your own word: what breaks off them falls into the cylinder. Run it as little as can be, without load, and fit new ones");
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
    return n > 0;
}

static bool plugs_words(const struct engine *en, const struct ready *x, enum ready_why why, char *to, size_t n_room)
{
    bool marked[ENGINE_MAX_PLUGS] = {false}, any = false;

    for (int i = 0; i < record_plug_count(en); i++) {
        marked[i] = x->why[i] == why;
        any = any || marked[i];
    }
    to[0] = '\0';
    if (any)
        engine_plugs_words(en, marked, to, n_room);
    return any;
}

bool ready_over_words(const struct engine *en, const struct ready *x, char *to, size_t n_room)
{
    return plugs_words(en, x, READY_OVER, to, n_room);
}

bool ready_scrap_words(const struct engine *en, const struct ready *x, char *to, size_t n_room)
{
    return plugs_words(en, x, READY_SCRAP, to, n_room);
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
    int n_over = 0, n_scrap = 0;

    for (int i = 0; i < ENGINE_MAX_PLUGS; i++) {
        n_over += x->why[i] == READY_OVER;
        n_scrap += x->why[i] == READY_SCRAP;
    }
    add_count(&t, count(ready_stops_set(x)), "cylinder to look into", "cylinders to look into");
    add_count(&t, x->n_loose - n_over - n_scrap, "plug not torqued", "plugs not torqued");
    add_count(&t, n_over, "plug far over its torque", "plugs far over their torque");
    add_count(&t, n_scrap, "scrap plug in", "scrap plugs in");
    add_count(&t, count(x->bare_connectors), "connector bare", "connectors bare");
    add_count(&t, count(x->bare_leads), "lead bare", "leads bare");
    add_count(&t, count(x->unplugged), "lead or connector off", "leads or connectors off");
    if (ready_asks_to_turn(x))
        text_addf(&t, "%snot turned by hand", t.n_bytes ? ", " : "");
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}
