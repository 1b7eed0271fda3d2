/* The refit, hole by hole, as edits of the logbook. */
#include "app/job_edit.h"

#include <stdlib.h>
#include <string.h>

#include "app/job_edit_work.h"
#include "app/job_settle.h"
#include "base/clock.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "base/units.h"
#include "reading/job.h"
#include "reading/refit.h"
#include "record/ready.h"
#include "record/seated.h"
#include "record/stops.h"

/* Torqued, and neither so far off the book that it has to come out again or be tightened, nor scrap that came out and is in again. */
static bool sits(const struct model *m, int plug, int refit, struct maybe nm)
{
    const struct reading *q = &record_current(m->record)->readings[plug];
    const struct reading *in = seated_plug(record_current(m->record), q);
    bool broken = in != NULL && stop_broken(in)[0] != '\0' && !in->kept;
    enum refit_off off = nm.given ? refit_judge(m->book, nm.value, reading_is_greased(q)) : REFIT_FINE;

    return !broken && refit == words_find(WORDS_REFIT, "torqued") && !refit_stops(off);
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

        if (strcmp(s->source, "refit") == 0 && done != was && !job_edit_set_step_state(lb, m, s, done ? "done" : "todo", e))
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

bool job_edit_refit(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    char label[80], plug[48];

    engine_plug_label(&m->record->engine, a->cylinder, a->position, plug, sizeof plug);
    text_format(label, sizeof label, "Refit of %s%s%s", plug, a->number ? ": " : "", a->number ? words_label(WORDS_REFIT, a->number) : "");
    return logbook_begin(lb, label, e) && note_refit(lb, m, a, a->number, model_reading(m, a->cylinder, a->position)->torque_nm, e) && logbook_commit(lb, e);
}

/* The torque a plug was tightened to: it is torqued with it. Emptied, the figure goes and the word stays. */
bool job_edit_set_torque(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    const char *typed = a->text + strspn(a->text, " ");
    const struct unit *plain = unit_find(m->inches ? "lbf.ft" : "Nm"), *unit;
    char row[UUID_BYTES], label[80], plug[48];
    double nm = 0;

    if (typed[0] != '\0' && !unit_parse_torque(typed, plain, &nm, &unit))
        return err_set(e, ERR_BADARG, m->inches ? "“%s” is no torque of a plug: write 1 to 74 lbf·ft, or a figure with its unit, 25 N·m." : "“%s” is no torque of a plug: write 1 to 100 N·m, or a figure with its unit, 18 lbf·ft.", TEXT_SHORT(typed, 20));
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

bool job_edit_refit_word(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
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
bool job_edit_cleaned(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    char line[80], label[80];

    text_format(line, sizeof line, "cleaned:plug:cylinder %s", m->record->engine.cylinders[a->cylinder].label);
    text_format(label, sizeof label, a->flag ? "Plug of %s cleaned" : "Plug of %s not cleaned", m->record->engine.cylinders[a->cylinder].label);
    return logbook_begin(lb, label, e) && job_edit_put_work(lb, m, line, a->flag, e) && logbook_commit(lb, e);
}

/* A plug that is scrap stays in, or is to come out after all: said of the plug, in the row it was read in. */
bool job_edit_keep_scrap(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
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
bool job_edit_unplugged(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    char row[UUID_BYTES], label[80], plug[48];

    engine_plug_label(&m->record->engine, a->cylinder, a->position, plug, sizeof plug);
    text_format(label, sizeof label, a->flag ? "Lead or connector of %s off" : "Lead or connector of %s on", plug);
    return logbook_begin(lb, label, e) && logbook_touch_reading(lb, m->visit_id, a->cylinder, a->position, row, e) &&
           logbook_set_int(lb, "reading", row, "connected", !a->flag, e) && logbook_commit(lb, e); /* on again is said: an earlier visit may have left it off */
}

/* What the plug before took, the thread in the head took with it: a step of the hole, until somebody says that it was looked at. */
static bool ask_for_thread(struct logbook *lb, const struct model *m, int hole, struct err *e)
{
    const struct engine *en = &m->record->engine;
    const struct visit *v = &m->record->visits[m->ready->plug_at[hole]];
    bool marked[ENGINE_MAX_PLUGS] = {false};
    struct logbook_step s = {.sort = 0};
    struct job_step asks;
    char where[64], took[48];

    if (m->ready->why[hole] != READY_OVER || !v->readings[hole].torque_nm.given)
        return true;
    marked[hole] = true;
    engine_plugs_words(en, marked, where, sizeof where);
    unit_tell_torque(&(struct unit_choice){0}, v->readings[hole].torque_nm.value, v->readings[hole].torque_nm.value, took, sizeof took);
    job_head_thread(m->record, where, took, &asks);
    uuid_from_parts(s.id, "step", m->visit_id, asks.key, took);
    text_copy(s.visit, sizeof s.visit, m->visit_id);
    text_copy(s.text, sizeof s.text, asks.text);
    text_copy(s.state, sizeof s.state, "todo");
    text_copy(s.caution, sizeof s.caution, asks.caution);
    text_copy(s.source, sizeof s.source, asks.key);
    return logbook_put_step(lb, &s, e);
}

/* Another plug is in this hole now: how the one before was tightened holds no more, and it is out until that is said of it.
 * fresh: a new one, or one that was set aside; the gap as left was that of the one before. */
bool job_edit_plug_changed(struct logbook *lb, const struct model *m, int cylinder, int position, bool fresh, struct err *e)
{
    static const char *const tightened[] = {"torque_mnm", "torque_unit", "washer", "thread_state"};
    const struct engine *en = &m->record->engine;
    const struct reading *q = model_reading(m, cylinder, position);
    const struct action hole = {.cylinder = cylinder, .position = position};
    const int left = seated_row(record_current(m->record), record_plug_count(en), record_plug_index(en, cylinder, position));
    char row[UUID_BYTES];

    if (fresh && record_current(m->record)->readings[left].gap_left_mm.given && !logbook_put_gap(lb, m->visit_id, left / en->n_positions, left % en->n_positions, true, -1, "mm", e))
        return false;
    if (!ask_for_thread(lb, m, record_plug_index(en, cylinder, position), e))
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
