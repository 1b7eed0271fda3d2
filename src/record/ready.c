#include "record/ready.h"

#include <string.h>

#include "base/text.h"

#define BIT(c) ((engine_set)1 << (c))

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

void ready_of(const struct record *r, struct ready *out)
{
    /* Liquids that end up on the piston: what stands in a well falls in when the plug is drawn. */
    static const enum sign liquid[] = {SIGN_WELL_OIL, SIGN_WELL_WATER, SIGN_WELL_FUEL, SIGN_OIL_WET, SIGN_FUEL_WET, SIGN_COOLANT};
    const struct visit *v;
    int torqued = words_find(WORDS_REFIT, "torqued");
    bool begun = false;

    memset(out, 0, sizeof *out);
    out->first_cylinder = out->first_position = -1;
    if (r->n_visits == 0)
        return;
    v = record_current(r);
    for (int i = 0; i < record_plug_count(&r->engine); i++)
        begun = begun || v->readings[i].refit != 0;
    for (int i = 0; i < record_plug_count(&r->engine); i++) {
        const struct reading *q = &v->readings[i];

        if (!q->present)
            continue;
        if (begun && q->refit != torqued) {
            if (out->n_loose++ == 0) {
                out->first_cylinder = q->cylinder;
                out->first_position = q->position;
            }
            out->loose[i] = true;
        }
        if (q->amount[SIGN_CONN_BARE] > 0)
            out->bare_connectors |= BIT(q->cylinder);
        if (q->amount[SIGN_LEAD_BARE] > 0)
            out->bare_leads |= BIT(q->cylinder);
        for (size_t k = 0; k < sizeof liquid / sizeof liquid[0]; k++)
            if (q->amount[liquid[k]] >= 2)
                out->turn_first |= BIT(q->cylinder);
    }
    out->bare_connectors &= ~replaced(v, "connector");
    out->bare_leads &= ~replaced(v, "lead");
}

bool ready_to_start(const struct ready *x)
{
    return x->n_loose == 0 && x->bare_connectors == 0 && x->bare_leads == 0;
}

static void add_bare(struct text *t, const struct engine *en, engine_set set, const char *one, const char *several)
{
    bool first = true;

    if (set == 0)
        return;
    text_addf(t, "%s%s ", t->n_bytes ? "; " : "", (set & (set - 1)) == 0 ? one : several);
    for (int c = 0; c < en->n_cylinders; c++)
        if ((set & BIT(c)) != 0) {
            text_addf(t, "%s%s", first ? "" : ", ", en->cylinders[c].label);
            first = false;
        }
    text_add(t, " bare");
}

void ready_words(const struct engine *en, const struct ready *x, char *to, size_t n_room)
{
    struct text t = {0};

    if (x->n_loose > 0)
        text_addf(&t, "%d plug%s not torqued", x->n_loose, x->n_loose == 1 ? "" : "s");
    add_bare(&t, en, x->bare_connectors, "connector", "connectors");
    add_bare(&t, en, x->bare_leads, "lead", "leads");
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}
