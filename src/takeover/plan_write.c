/* A plan into the logbook, as one change. */
#include "takeover/plan_work.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "logbook/logbook.h"
#include "record/record.h"

bool take_go_on(const struct logbook_watch *watch, const char *what, size_t n_done, size_t n_all, struct err *e)
{
    if (watch == NULL || watch->go_on(watch->ctx, what, n_done, n_all))
        return true;
    return err_set(e, ERR_CANCEL, "Stopped; nothing was written.");
}

/* Another line of the notes, unless it is among them; another code, another complaint. */
static bool add_words(struct logbook *lb, const char *visit, const char *column, const char *words, const char *between, size_t n_room, struct err *e)
{
    char was[4200];
    struct text t = {0};
    bool fine = true;

    if (!logbook_get_text(lb, "visit", visit, column, was, sizeof was))
        was[0] = '\0';
    if (strstr(was, words) == NULL) {
        text_addf(&t, "%s%s%s", was, was[0] ? between : "", words);
        fine = t.n_bytes < n_room ? logbook_set_text(lb, "visit", visit, column, text_get(&t), e)
                                  : err_set(e, ERR_LIMIT, "The %s of one visit are longer than its room of %zu bytes. Leave the column of them out, or shorten it.",
                                            strcmp(column, "notes") == 0 ? "notes" : "words of complaint", n_room - 1);
    }
    text_release(&t);
    return fine;
}

static bool add_codes(struct logbook *lb, const char *visit, const char *codes, struct err *e)
{
    char code[12];
    bool fine = true;

    while (fine && visit_next_code(&codes, code, sizeof code)) {
        for (char *c = code; *c != '\0'; c++)
            *c = (char)(*c >= 'a' && *c <= 'z' ? *c - 'a' + 'A' : *c);
        fine = add_words(lb, visit, "codes", code, " ", sizeof((struct visit *)0)->notes, e);
    }
    return fine;
}

/* That there is none stands alone. */
static bool add_complaint(struct logbook *lb, const char *visit, int word, struct err *e)
{
    const char *id = words_id(WORDS_COMPLAINT, word);
    char was[1000] = "";
    bool some = logbook_get_text(lb, "visit", visit, "complaints", was, sizeof was) && was[0] != '\0', none = strcmp(id, "none") == 0;

    if (some && strcmp(was, "none") == 0)
        return none || logbook_set_text(lb, "visit", visit, "complaints", id, e);
    return (some && none) || add_words(lb, visit, "complaints", id, " ", sizeof was, e);
}

static bool write_value(struct logbook *lb, const struct take_table *t, const char *visit, const struct take_value *v, struct err *e)
{
    const struct take_field *f = take_field(v->field);
    const char *unit = t->columns[v->column].unit;
    char row[UUID_BYTES], column[32];

    switch (f->kind) {
    case TAKE_IS_VISIT:
        if (v->field == TAKE_CODES)
            return add_codes(lb, visit, v->text, e);
        if (v->field == TAKE_COMPLAINT)
            return v->whole > 0 ? add_complaint(lb, visit, (int)v->whole, e) : add_words(lb, visit, take_kept_in(v), v->text, "; ", sizeof((struct visit *)0)->complaint_words, e);
        return add_words(lb, visit, take_kept_in(v), v->text, "\n", sizeof((struct visit *)0)->notes, e);
    case TAKE_IS_GAP:
        if (v->field != TAKE_GAP_PHOTO)
            return logbook_put_gap(lb, visit, v->cylinder, v->position, v->field == TAKE_GAP_LEFT, v->whole, unit, e);
        break;
    case TAKE_IS_PART: return logbook_name_plug(lb, visit, v->cylinder, v->position, v->text, e);
    case TAKE_IS_SIGNS:
        if (v->sign >= 0)
            return logbook_note_sign(lb, visit, v->cylinder, v->position, (enum sign)v->sign, (int)v->whole, e);
        text_format(column, sizeof column, "seen_%s", zone_row((enum zone)f->list)->id);
        return logbook_touch_reading(lb, visit, v->cylinder, v->position, row, e) && logbook_set_int(lb, "reading", row, column, 1, e);
    default: break;
    }
    if (!logbook_touch_reading(lb, visit, v->cylinder, v->position, row, e))
        return false;
    if (f->kind == TAKE_IS_WORD)
        return logbook_set_text(lb, "reading", row, f->column, words_id((enum words)f->list, (int)v->whole), e);
    if (f->kind == TAKE_IS_REAL)
        return logbook_set_real(lb, "reading", row, f->column, v->real, e);
    if (!logbook_set_int(lb, "reading", row, f->column, v->whole, e))
        return false;
    if (v->field == TAKE_COMPRESSION || v->field == TAKE_COMPRESSION_WET)
        return logbook_set_text(lb, "reading", row, "pressure_unit", unit, e);
    return v->field != TAKE_TORQUE || logbook_set_text(lb, "reading", row, "torque_unit", unit, e);
}

static bool write_visit(struct logbook *lb, const char *engine_id, const struct take_visit *v, const char *id, struct err *e)
{
    if (v->id[0] == '\0' && (!logbook_set_int(lb, "visit", id, "gone", 0, e) || !logbook_set_text(lb, "visit", id, "engine", engine_id, e) ||
                             !logbook_set_int(lb, "visit", id, "closed", CLOSED_AS_HISTORY, e) || (v->date[0] != '\0' && !logbook_set_text(lb, "visit", id, "date", v->date, e))))
        return false;
    return !v->sets_odometer || (logbook_set_int(lb, "visit", id, "odometer_m", v->odometer_m, e) && logbook_set_text(lb, "visit", id, "odometer_unit", v->odometer_unit, e));
}

bool take_plan_write(struct logbook *lb, const struct take_table *t, const struct take_plan *p, const struct take_target *target, const struct logbook_watch *watch,
                     char engine_id[UUID_BYTES], char visit_id[UUID_BYTES], struct err *e)
{
    char(*ids)[UUID_BYTES] = mem_alloc(p->n_visits + 1, sizeof *ids), label[90];
    bool fine;

    assert(p->question[0] == '\0' && target->known);
    text_copy(engine_id, UUID_BYTES, target->engine_id);
    visit_id[0] = '\0';
    text_format(label, sizeof label, "Taken over: %s", TEXT_SHORT(t->name, 60));
    fine = logbook_begin(lb, label, e);
    if (fine && (engine_id[0] == '\0' || p->plug_type[0] != '\0')) {
        struct engine en = target->engine;

        if (engine_id[0] == '\0')
            uuid_make(engine_id);
        if (p->plug_type[0] != '\0')
            text_copy(en.plug.type, sizeof en.plug.type, p->plug_type);
        fine = logbook_put_engine(lb, engine_id, &en, e);
    }
    for (size_t i = 0; fine && i < p->n_visits; i++) {
        text_copy(ids[i], sizeof ids[i], p->visits[i].id);
        if (ids[i][0] == '\0')
            uuid_make(ids[i]);
        fine = write_visit(lb, engine_id, &p->visits[i], ids[i], e);
        text_copy(visit_id, UUID_BYTES, ids[i]);
    }
    for (size_t i = 0; fine && i < p->n_values; i++)
        fine = (i % TAKE_OFTEN != 0 || take_go_on(watch, "values", i, p->n_values, e)) && (p->values[i].there || write_value(lb, t, ids[p->values[i].visit], &p->values[i], e));
    fine = fine && logbook_commit(lb, e);
    if (!fine && logbook_in_change(lb))
        logbook_rollback(lb);
    free(ids);
    return fine;
}
