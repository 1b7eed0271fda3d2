/* Parts that change holes, are renewed or fitted again, as edits of the logbook. */
#include "app/job_edit.h"

#include <stdlib.h>
#include <string.h>

#include "app/job_edit_work.h"
#include "app/job_settle.h"
#include "base/clock.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "record/seated.h"

/* The visit as it will be when the plugs have moved so: who is in which hole. */
static void seat_moved(const struct engine *en, const struct plug_move *moves, int n, struct visit *v)
{
    const struct visit was = *v;

    for (int i = 0; i < n; i++) {
        const int from = record_plug_index(en, moves[i].from.cylinder, moves[i].from.position), to = record_plug_index(en, moves[i].to.cylinder, moves[i].to.position);
        const int16_t now = was.readings[from].plug_now != 0 ? was.readings[from].plug_now : PLUG_FROM(from);

        v->readings[to].plug_now = now == PLUG_FROM(to) ? 0 : now;
    }
}

/* The part a step asks for stands beside it by its key. */
static bool carry_part(struct logbook *lb, const struct model *m, const struct logbook_step *s, const char *key, const char *words, const char *other, struct err *e)
{
    const struct logbook_need *part = job_settle_part_of(m, s);
    struct logbook_need d;

    if (part == NULL)
        return true;
    d = *part;
    uuid_from_parts(d.id, "need", d.visit, key, "");
    text_put_for(d.text, sizeof d.text, words, other);
    return logbook_remove(lb, "need", part->id, e) && logbook_put_need(lb, &d, e);
}

/* Plugs change holes: what is still to be done to one of them, its gap to set, a new one in its place, goes along. */
static bool carry_steps(struct logbook *lb, const struct model *m, const struct plug_move *moves, int n, struct err *e)
{
    const struct engine *en = &m->record->engine;
    struct record after;
    struct visit *v = mem_alloc(1, sizeof *v);
    bool fine = true;

    *v = *record_current(m->record);
    seat_moved(en, moves, n, v);
    record_share(&after, m->record);
    record_renew_last(&after, v);
    for (int i = 0; fine && i < model_step_rows(m); i++) {
        struct logbook_step s = *model_step_row(m, i);
        const struct logbook_step was = s;
        char text[sizeof s.text];
        const char *place = strchr(s.source, '@'), *words = place != NULL ? place + 1 : "";

        if (strcmp(s.state, "done") == 0 || !job_key_moved(en, was.source, moves, n, s.source, sizeof s.source))
            continue;
        job_key_text(m->record, was.source, text, sizeof text);
        if (strcmp(text, was.text) == 0)
            job_key_text(&after, s.source, s.text, sizeof s.text);
        else /* in the person's own words */
            text_put_for(s.text, sizeof s.text, &was.source[words - s.source], strchr(s.source, '@') + 1);
        fine = logbook_put_step(lb, &s, e) && carry_part(lb, m, &was, s.source, strchr(was.source, '@') + 1, strchr(s.source, '@') + 1, e);
    }
    record_release(&after);
    free(v);
    return fine;
}

bool job_edit_swap_parts(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    const struct engine *en = &m->record->engine;
    struct plug_move moves[2 * ENGINE_MAX_POSITIONS];
    char label[100];
    bool fine;
    int n = 0;

    for (int p = 0; p < en->n_positions; p++) {
        moves[n++] = (struct plug_move){{a->cylinder, p}, {a->number, p}};
        moves[n++] = (struct plug_move){{a->number, p}, {a->cylinder, p}};
    }
    text_format(label, sizeof label, "%s of %s and %s change places", a->column, en->cylinders[a->cylinder].label, en->cylinders[a->number].label);
    fine = logbook_begin(lb, label, e) && logbook_swap_parts(lb, m->visit_id, m->engine_id, en, words_find(WORDS_DONE_PART, a->column), a->cylinder, a->number, e);
    for (int p = 0; fine && strcmp(a->column, "plug") == 0 && p < en->n_positions; p++)
        fine = job_edit_plug_changed(lb, m, a->cylinder, p, false, e) && job_edit_plug_changed(lb, m, a->number, p, false, e);
    return fine && (strcmp(a->column, "plug") != 0 || carry_steps(lb, m, moves, n, e)) && logbook_commit(lb, e);
}

#define JOB_DAYS 31 /* a job may take so long (common practice, no source): what is written later is written from memory */

static int64_t day_of(const char *iso)
{
    int year, month, day;

    return clock_parse_date(iso, &year, &month, &day) ? clock_days(year, month, day) : INT64_MIN;
}

/* The day a part was fitted on: today, while this visit's job goes on; of a visit told afterwards its last day. */
static const char *fitted_on(const struct model *m)
{
    const struct visit *v = record_current(m->record);
    const char *last = v->care.last_day[0] != '\0' ? v->care.last_day : v->date;
    const int64_t today = day_of(m->today), from = day_of(v->date);

    if (last[0] == '\0')
        return m->today;
    return m->record->n_later == 0 && v->state.closed == 0 && from != INT64_MIN && today > day_of(last) && today - from <= JOB_DAYS ? m->today : last;
}

/* "coil of 3, new 14 Jun 2026": a name that tells it from others. */
bool job_edit_part_new(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    const struct engine *en = &m->record->engine;
    const struct visit *v = record_current(m->record);
    char name[80], label[120], hole[48], date[32] = "", line[160];

    logbook_part_place(en, a->column, a->cylinder, a->position, hole, sizeof hole);
    clock_date_words(fitted_on(m), date, sizeof date);
    text_format(name, sizeof name, "%s of %s, new %s", a->column, hole, date);
    text_format(label, sizeof label, "New %s in %s", a->column, hole);
    text_format(line, sizeof line, "replaced:%s:cylinder %s", a->column, en->cylinders[a->cylinder].label);
    return logbook_begin(lb, label, e) && logbook_renew_part(lb, m->visit_id, m->engine_id, en, a->column, a->cylinder, a->position, name, e) &&
           (strcmp(a->column, "plug") != 0 || job_edit_plug_changed(lb, m, a->cylinder, a->position, true, e)) &&
           (logbook_part_positions(en, a->column) > 1 ? job_settle(lb, m, v, record_plug_index(en, a->cylinder, a->position), e)
                                                      : job_edit_put_work(lb, m, line, true, e) && job_edit_note_repaired(lb, m, line, e)) &&
           logbook_commit(lb, e);
}

bool job_edit_part_fit(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    char kind[16] = "";

    (void)logbook_get_text(lb, "part", a->id, "kind", kind, sizeof kind);
    return logbook_begin(lb, "Part fitted", e) && logbook_fit_part(lb, m->visit_id, m->engine_id, &m->record->engine, a->id, a->cylinder, a->position, e) &&
           (strcmp(kind, "plug") != 0 || job_edit_plug_changed(lb, m, a->cylinder, a->position, true, e)) && logbook_commit(lb, e);
}

bool job_edit_part_text(struct logbook *lb, const struct action *a, struct err *e)
{
    if (strcmp(a->column, "name") == 0 && a->text[strspn(a->text, " ")] == '\0')
        return err_set(e, ERR_BADARG, "A part needs a name: it is how it is told from the others.");
    return job_edit_set_one(lb, "Part", "part", a->id, a->column, a->text, e);
}

/* A scheme of the person's own is a fact of the engine: it is there again next time. */
bool job_edit_keep_scheme(struct logbook *lb, const struct model *m, const char *text, struct err *e)
{
    struct logbook_fact f = {.label = JOB_ROTATION};
    struct plug_move moves[ENGINE_MAX_PLUGS];
    int n;

    if (strlen(text) >= sizeof f.value)
        return err_set(e, ERR_LIMIT, "The scheme is too long; write plugs by their letters, 1T > 3B.");
    if (!record_parse_moves(&m->record->engine, text, moves, &n, e))
        return false;
    uuid_from_parts(f.id, "fact", m->engine_id, JOB_ROTATION, "");
    if (n == 0)
        return !logbook_is_there(lb, "fact", f.id) || (logbook_begin(lb, JOB_ROTATION, e) && logbook_remove(lb, "fact", f.id, e) && logbook_commit(lb, e));
    text_copy(f.engine, sizeof f.engine, m->engine_id);
    text_copy(f.value, sizeof f.value, text);
    return logbook_begin(lb, JOB_ROTATION, e) && logbook_put_fact(lb, &f, e) && logbook_commit(lb, e);
}

bool job_edit_rotate(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    struct plug_move moves[ENGINE_MAX_PLUGS];
    int n;

    if (!record_parse_moves(&m->record->engine, a->text, moves, &n, e))
        return false;
    if (n == 0)
        return err_set(e, ERR_BADARG, "Write first which plug goes where.");
    if (!logbook_begin(lb, "Plugs rotated", e) || !logbook_move_parts(lb, m->visit_id, m->engine_id, &m->record->engine, "plug", moves, n, e))
        return false;
    for (int i = 0; i < n; i++)
        if (!job_edit_plug_changed(lb, m, moves[i].to.cylinder, moves[i].to.position, false, e))
            return false;
    if (!carry_steps(lb, m, moves, n, e))
        return false;
    for (size_t i = 0; i < m->n_steps; i++)
        if (strcmp(m->steps[i].source, "rotate") == 0 && strcmp(m->steps[i].state, "done") != 0 && !job_edit_set_step_state(lb, m, &m->steps[i], "done", e))
            return false;
    return logbook_commit(lb, e);
}
