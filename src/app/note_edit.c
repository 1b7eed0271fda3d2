#include "app/note_edit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "base/units.h"
#include "reading/pressure.h"
#include "screen/panels.h"
#include "takeover/field.h"

/* ---- words of a visit ---- */

/* "7.4 l", "7,8 US qt", "500 ml": a number and a volume; litres where none is said. */
static bool read_volume(const char *text, struct maybe *litres, char *unit, size_t n_room, struct err *e)
{
    char number[32];
    size_t n = strspn(text, "0123456789.,"), rest = n + strspn(text + n, " ");
    const struct unit *u = unit_find(text[rest] == '\0' ? "l" : strcmp(text + rest, "qt") == 0 ? "US qt" : strcmp(text + rest, "L") == 0 ? "l" : text + rest);
    double v = 0;

    text_format(number, sizeof number, "%.*s", (int)n, text);
    if (u == NULL || u->kind != UNIT_VOLUME || !text_to_double(number, &v) || !(v > 0) || v * u->factor > 200)
        return err_set(e, ERR_BADARG, "“%s” is no amount of oil: write a number and l, ml, US qt or imp pt.", TEXT_SHORT(text, 30));
    *litres = MAYBE(v * u->factor);
    text_copy(unit, n_room, u->id);
    return true;
}

bool note_visit_word(struct visit *v, const char *column, const char *text, struct err *e)
{
    struct visit_care *c = &v->care;
    const struct {
        const char *column;
        char *to;
        size_t n_room;
    } texts[] = {{"complaint_words", v->complaint_words, sizeof v->complaint_words}, {"weather", c->weather, sizeof c->weather}, {"oil_level", c->oil_level, sizeof c->oil_level}, {"oil_use", c->oil_use, sizeof c->oil_use},
                 {"oil_grade", c->oil_grade, sizeof c->oil_grade}, {"oil_filter", c->oil_filter, sizeof c->oil_filter}};
    const struct {
        const char *column;
        enum words list;
        int *to;
    } words[] = {{"last_run", WORDS_LAST_RUN, &v->last_run}, {"socket", WORDS_SOCKET, &v->socket}, {"fuel", WORDS_FUEL, &v->fuel}};
    bool empty = text[strspn(text, " ")] == '\0';

    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        if (strcmp(column, texts[i].column) == 0)
            text_copy(texts[i].to, texts[i].n_room, empty ? "" : text);
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (strcmp(column, words[i].column) == 0)
            *words[i].to = words_find(words[i].list, text);
    if (strcmp(column, "oil_in_intake") == 0)
        v->oil_in_intake = empty ? 0 : strcmp(text, "yes") == 0 ? 1 : 2;
    if (strcmp(column, "last_day") == 0) {
        c->last_day[0] = '\0';
        if (!empty && !take_typed_date(text, c->last_day, e))
            return false;
        if (c->last_day[0] != '\0' && v->date[0] != '\0' && strcmp(c->last_day, v->date) < 0)
            return err_set(e, ERR_BADARG, "The last day is before the first, %s.", v->date);
    }
    if (strcmp(column, "oil_change") == 0) {
        c->oil_change_l = (struct maybe){false, 0};
        c->oil_change_unit[0] = '\0';
        return empty || read_volume(text + strspn(text, " "), &c->oil_change_l, c->oil_change_unit, sizeof c->oil_change_unit, e);
    }
    return true;
}

/* ---- tests and covers ---- */

static bool change_visit(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    const struct engine *en = &m->record->engine;
    const struct visit *was = record_current(m->record);
    struct visit *v = mem_alloc(1, sizeof *v);
    bool fine = true;
    char label[80];

    *v = *was;
    if (a->type == ACT_SET_TEST) {
        text_format(label, sizeof label, "%s, %s", words_label(WORDS_TEST, a->sign), en->cylinders[a->cylinder].label);
        fine = visit_set_test(v, a->sign, a->cylinder, a->amount) || err_set(e, ERR_LIMIT, "This visit holds no more tests.");
    } else {
        int at = 0;

        text_copy(label, sizeof label, "Oil along the covers");
        while (at < v->n_outside && v->outside[at].bank != a->number)
            at++;
        if (a->number < 0) { /* looked at, nothing; again: not looked at */
            v->outside_seen = !was->outside_seen;
            v->n_outside = 0;
        } else if (a->amount > 0) {
            v->outside_seen = true;
            v->outside[at] = (struct visit_outside){a->number, a->amount};
            v->n_outside += at == v->n_outside;
        } else if (at < v->n_outside) {
            memmove(&v->outside[at], &v->outside[at + 1], (size_t)(v->n_outside - at - 1) * sizeof v->outside[0]);
            v->n_outside--;
        }
    }
    fine = fine && logbook_begin(lb, label, e) && logbook_change_visit(lb, m->visit_id, en, was, v, e) && logbook_commit(lb, e);
    free(v);
    return fine;
}

/* ---- pressures and leaks ---- */

static bool set_measure(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    int n;
    const struct measure_column *k = &measure_columns(&n)[a->number];
    const struct unit *unit = unit_find(m->pressure);
    char number[32], row[UUID_BYTES], label[80];
    bool empty = a->text[strspn(a->text, " ")] == '\0', fine;
    double v = 0, of;
    char *over;

    text_copy(number, sizeof number, a->text + strspn(a->text, " "));
    number[strcspn(number, " %")] = '\0';
    if (!k->pressure && (over = strchr(number, '/')) != NULL && text_to_double(over + 1, &of) &&
        of == k->most) /* "76/80", as it is written everywhere */
        *over = '\0';
    if (!empty && k->pressure && !pressure_read(a->text, unit, k->most, &unit, &v, e))
        return false;
    if (!empty && !k->pressure && (!text_to_double(number, &v) || v < 0 || v > k->most))
        return err_set(e, ERR_BADARG, "“%s” is not %s.", TEXT_SHORT(a->text, 20), k->says);
    text_format(label, sizeof label, "%s of %s", k->name, m->record->engine.cylinders[a->cylinder].label);
    if (!logbook_begin(lb, label, e) || !logbook_touch_reading(lb, m->visit_id, a->cylinder, 0, row, e))
        return false;
    if (empty)
        fine = logbook_clear(lb, "reading", row, k->column, e);
    else if (k->pressure)
        fine = logbook_set_int(lb, "reading", row, k->column, llround(v), e) && logbook_set_text(lb, "reading", row, "pressure_unit", unit->id, e);
    else
        fine = logbook_set_real(lb, "reading", row, k->column, v, e);
    return fine && logbook_commit(lb, e);
}

/* number 0: listened, nothing heard. What is heard is a list of words in one field. */
static bool toggle_heard(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    const struct reading *r = model_reading(m, a->cylinder, 0);
    uint32_t heard = r != NULL && r->leak_heard_given ? r->leak_heard : 0;
    bool given = true;
    char text[200] = "", row[UUID_BYTES], label[80];
    int n;
    const struct word *words = words_rows(WORDS_LEAK_HEARD, &n);

    if (a->number > 0) {
        heard ^= 1u << (a->number - 1);
        given = heard != 0;
    } else {
        given = !(r != NULL && r->leak_heard_given && heard == 0);
        heard = 0;
    }
    for (int i = 0; i < n; i++)
        if ((heard >> i & 1u) != 0)
            text_format(text + strlen(text), sizeof text - strlen(text), "%s%s", text[0] ? " " : "", words[i].id);
    text_format(label, sizeof label, "Air heard, %s", m->record->engine.cylinders[a->cylinder].label);
    return logbook_begin(lb, label, e) && logbook_touch_reading(lb, m->visit_id, a->cylinder, 0, row, e) &&
           (given ? logbook_set_text(lb, "reading", row, "leak_heard", text, e) : logbook_clear(lb, "reading", row, "leak_heard", e)) && logbook_commit(lb, e);
}

/* ---- a plug's particulars ---- */

static bool set_plug_distance(struct logbook *lb, const struct model *m, const char *row, const char *text, struct err *e)
{
    double v = 0;
    const char *named = text_read_grouped(text, &v);
    const struct unit *unit = named == NULL || *named == '\0' ? visit_odometer_unit(record_current(m->record)->odometer_unit) : visit_read_odometer_unit(named) > 0 ? visit_odometer_unit(visit_read_odometer_unit(named)) : NULL;

    if (named == NULL || unit == NULL || v > 1e6)
        return err_set(e, ERR_BADARG, "“%s” is no distance: write a number and mi, km or h.", TEXT_SHORT(text, 30));
    return logbook_set_int(lb, "reading", row, "plug_distance_m", llround(v * unit->factor), e);
}

static bool set_plug(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    char row[UUID_BYTES], label[80], plug[48];
    const char *text = a->text + strspn(a->text, " ");
    long clock = 0;
    bool fine;

    engine_plug_label(&m->record->engine, a->cylinder, a->position, plug, sizeof plug);
    text_format(label, sizeof label, "Particulars of %s", plug);
    if (strcmp(a->column, "mark_clock") == 0 && *text != '\0' && (!text_to_long(text, &clock) || clock < 1 || clock > 12))
        return err_set(e, ERR_BADARG, "“%s” is no hour: the mark stands at 1 to 12 o'clock, 12 towards the intake.", TEXT_SHORT(a->text, 20));
    if (!logbook_begin(lb, label, e) || !logbook_touch_reading(lb, m->visit_id, a->cylinder, a->position, row, e))
        return false;
    if (*text == '\0')
        fine = logbook_clear(lb, "reading", row, a->column, e);
    else if (strcmp(a->column, "mark_clock") == 0)
        fine = logbook_set_int(lb, "reading", row, a->column, clock, e);
    else if (strcmp(a->column, "dries") == 0 || strcmp(a->column, "as_book") == 0)
        fine = logbook_set_int(lb, "reading", row, a->column, strcmp(text, "yes") == 0, e);
    else if (strcmp(a->column, "plug_distance_m") == 0)
        fine = set_plug_distance(lb, m, row, text, e);
    else
        fine = logbook_set_text(lb, "reading", row, a->column, text, e);
    return fine && logbook_commit(lb, e);
}

bool note_edit(struct logbook *lb, const struct model *m, const struct action *a, struct err *e)
{
    switch (a->type) {
    case ACT_SET_MEASURE: return set_measure(lb, m, a, e);
    case ACT_TOGGLE_HEARD: return toggle_heard(lb, m, a, e);
    case ACT_SET_PLUG: return set_plug(lb, m, a, e);
    case ACT_SET_TEST:
    case ACT_SET_OUTSIDE: return change_visit(lb, m, a, e);
    default: return true;
    }
}
