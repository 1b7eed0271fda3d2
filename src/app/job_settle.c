#include "app/job_settle.h"

#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "reading/job.h"

/* ---- what belongs together ---- */

/* A part's row is named by its visit and the key it was proposed by, as the step's source is. */
static bool is_part_of(const struct logbook_need *d, const char *key)
{
    char id[UUID_BYTES];

    uuid_from_parts(id, "need", d->visit, key, "");
    return strcmp(id, d->id) == 0;
}

const struct logbook_need *job_settle_part_of(const struct model *m, const struct logbook_step *s)
{
    for (int i = 0; i < model_need_rows(m); i++) {
        const struct logbook_need *d = model_need_row(m, i);

        if (s->source[0] != '\0' && strcmp(d->visit, s->visit) == 0 && is_part_of(d, s->source))
            return d;
    }
    return NULL;
}

const struct logbook_step *job_settle_step_of(const struct model *m, const struct logbook_need *d)
{
    for (int i = 0; i < model_step_rows(m); i++) {
        const struct logbook_step *s = model_step_row(m, i);

        if (s->source[0] != '\0' && strcmp(d->visit, s->visit) == 0 && is_part_of(d, s->source))
            return s;
    }
    return NULL;
}

/* The key a part was proposed by: its step's, a judged cause's at its place, or a cause's at one cylinder or bank. */
static bool key_of(const struct model *m, const struct logbook_need *d, char key[64])
{
    const struct engine *en = &m->record->engine;
    const struct logbook_step *s = job_settle_step_of(m, d);
    int n;
    const struct job_cause *rows = job_causes(&n);

    if (s != NULL)
        return text_copy(key, 64, s->source);
    for (size_t i = 0; i < m->n_verdicts; i++) {
        text_format(key, 64, "%s@%s", m->verdicts[i].cause, m->verdicts[i].place);
        if (is_part_of(d, key))
            return true;
    }
    for (int i = 0; i < n; i++)
        for (int k = -1; k < en->n_cylinders + en->n_banks && rows[i].part[0] != '\0'; k++) {
            if (k < 0)
                text_format(key, 64, "%s@engine", rows[i].cause);
            else if (k < en->n_cylinders)
                text_format(key, 64, "%s@cylinder %s", rows[i].cause, en->cylinders[k].label);
            else
                text_format(key, 64, "%s@bank %s", rows[i].cause, en->banks[k - en->n_cylinders].name);
            if (is_part_of(d, key))
                return true;
        }
    return false;
}

/* ---- closing and opening again ---- */

bool job_settle_part_state(struct logbook *lb, const struct logbook_need *d, bool fitted, struct err *e)
{
    /* the day stays the one it was ordered or came on */
    return logbook_set_text(lb, "need", d->id, "state", fitted ? "fitted" : d->on[0] != '\0' ? "in-hand" : "to-order", e);
}

/* Plugs that came new into their holes after this visit's reading, as their own history says. */
static void new_plugs(const struct model *m, int also, bool renewed[ENGINE_MAX_PLUGS])
{
    memset(renewed, 0, ENGINE_MAX_PLUGS * sizeof renewed[0]);
    for (size_t i = 0; i < m->n_parts; i++) {
        const struct logbook_part *p = &m->parts[i];

        if (strcmp(p->kind, "plug") == 0 && p->moved_now && p->cylinder >= 0 && p->n_seats == 1 && p->before_m.given && p->before_m.value <= 0)
            renewed[record_plug_index(&m->record->engine, p->cylinder, p->position)] = true;
    }
    if (also >= 0)
        renewed[also] = true;
}

/* The work noted at v ticks the step; a check whose part was renewed instead stays unticked (closing_moot). */
static bool ticked_by(const struct record *r, const struct visit *v, const bool *renewed, const char *key)
{
    char why[120];

    return job_answered(r, v, renewed, key) && !job_settle_is_moot(r, v, key, why, sizeof why);
}

static bool put_step(struct logbook *lb, const struct model *m, const struct logbook_step *s, bool done, struct err *e)
{
    return logbook_set_text(lb, "step", s->id, "state", done ? "done" : "todo", e) &&
           (done ? logbook_set_text(lb, "step", s->id, "done_on", m->today, e) : logbook_clear(lb, "step", s->id, "done_on", e));
}

bool job_settle_cause(struct logbook *lb, const struct model *m, const char *cause, const char *place, struct err *e)
{
    const struct job_cause *row = job_cause_find(cause);
    const bool renewed = row != NULL && text_starts(row->done, "replaced:"); /* then the check is over, and was not made */
    char keys[2][128];

    text_format(keys[0], sizeof keys[0], "%s@%s", cause, place);
    text_format(keys[1], sizeof keys[1], "settle:%s@%s", cause, place);
    for (int i = 0; i < model_step_rows(m); i++) {
        const struct logbook_step *s = model_step_row(m, i);

        if ((strcmp(s->source, keys[0]) == 0 || (!renewed && strcmp(s->source, keys[1]) == 0)) && strcmp(s->state, "done") != 0 && !put_step(lb, m, s, true, e))
            return false;
    }
    return true;
}

bool job_settle(struct logbook *lb, const struct model *m, const struct visit *v, int new_plug, struct err *e)
{
    const struct visit *was = record_current(m->record);
    bool before[ENGINE_MAX_PLUGS], after[ENGINE_MAX_PLUGS];
    const char *note;
    char key[64];

    new_plugs(m, -1, before);
    new_plugs(m, new_plug, after);
    for (int i = 0; i < model_step_rows(m); i++) {
        const struct logbook_step *s = model_step_row(m, i);
        bool is = ticked_by(m->record, v, after, s->source), done = strcmp(s->state, "done") == 0;

        if (is == ticked_by(m->record, was, before, s->source) || is == done)
            continue;
        if (!put_step(lb, m, s, is, e))
            return false;
    }
    for (int i = 0; i < model_need_rows(m); i++) {
        const struct logbook_need *d = model_need_row(m, i);
        bool fitted = strcmp(d->state, "fitted") == 0, is;

        if (!key_of(m, d, key))
            continue;
        is = job_part_answered(m->record, v, after, key);
        if (!is && strcmp(d->state, "to-order") == 0 && job_part_optional(key, &note) != NULL && job_answered(m->record, v, after, key)) { /* it was not wanted */
            if (!logbook_remove(lb, "need", d->id, e))
                return false;
            continue;
        }
        if (is != job_part_answered(m->record, was, before, key) && is != fitted && !job_settle_part_state(lb, d, is, e))
            return false;
    }
    return true;
}
