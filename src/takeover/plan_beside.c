/* A table's values beside those the logbook has: the same, others, or none. */
#include "takeover/plan_work.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "base/units.h"
#include "logbook/logbook.h"
#include "record/record.h"

const char *take_kept_in(const struct take_value *v)
{
    return v->field == TAKE_CODES ? "codes" : v->field == TAKE_NOTES ? "notes" : v->whole > 0 ? "complaints" : "complaint_words";
}

/* What the logbook has in place of the value, in words; whether there is something, and whether it is the same. */
struct beside {
    bool there, same;
    char was[200];
};

static void beside_sign(struct take_making *m, const struct take_value *v, const char *row, struct beside *b)
{
    enum zone z = (enum zone)take_field(v->field)->list;
    char id[UUID_BYTES], column[32];
    int64_t whole = 0;

    if (v->sign < 0) {
        text_format(column, sizeof column, "seen_%s", zone_row(z)->id);
        b->there = b->same = logbook_get_int(m->lb, "reading", row, column, &whole) && whole == 1;
        return;
    }
    uuid_from_parts(id, "observation", row, zone_row(z)->id, sign_row((enum sign)v->sign)->id);
    b->there = logbook_is_there(m->lb, "observation", id) && logbook_get_int(m->lb, "observation", id, "amount", &whole);
    b->same = b->there && whole == v->whole;
    text_copy(b->was, sizeof b->was, amount_words((int)whole));
}

static void beside_number(struct take_making *m, const struct take_value *v, const char *row, struct beside *b)
{
    const struct take_field *f = take_field(v->field);
    const struct unit *unit = m->t->columns[v->column].unit[0] ? unit_find(m->t->columns[v->column].unit) : NULL;
    double step = f->kind != TAKE_IS_WHOLE || unit == NULL ? 1 : unit->factor * f->factor;
    int64_t whole = 0;

    b->there = logbook_get_int(m->lb, "reading", row, f->column, &whole);
    /* a figure written to whole kPa is the one of the Pa behind it; lengths are written to hundredths of a mm */
    b->same = b->there && (whole == v->whole || (f->units[0] != NULL && strcmp(f->units[0], "mm") == 0
                                                     ? llabs(whole - v->whole) <= 5
                                                     : f->kind == TAKE_IS_WHOLE && fabs((double)(whole - v->whole)) < 0.5 * step));
    if (f->kind == TAKE_IS_GAP)
        unit_tell_length(&(struct unit_choice){.inches = unit == unit_find("in")}, (double)whole / 1000, true, b->was, sizeof b->was);
    else
        text_format(b->was, sizeof b->was, "%g%s%s", (double)whole / step, unit ? " " : "", unit ? unit->label : "");
}

/* The plug a reading names, or, where it names none, the one that sat in its hole: in the report both stand alike. */
static void beside_part(struct take_making *m, const struct take_value *v, const char *row, struct beside *b)
{
    char part[UUID_BYTES];

    if (logbook_get_text(m->lb, "reading", row, take_field(v->field)->column, part, sizeof part)) {
        b->there = logbook_get_text(m->lb, "part", part, "name", b->was, sizeof b->was);
    } else {
        if (m->known == NULL) {
            m->known = mem_alloc(1, sizeof *m->known);
            if (!logbook_load_record(m->lb, m->target->engine_id, NULL, m->known, NULL))
                record_init(m->known);
        }
        for (int i = 0; i < m->known->n_visits; i++)
            if (strcmp(m->known->visits[i].id, m->p->visits[v->visit].id) == 0)
                text_copy(b->was, sizeof b->was, visit_reading(&m->known->visits[i], &m->known->engine, v->cylinder, v->position)->plug_name);
        b->there = b->was[0] != '\0';
    }
    b->same = b->there && strcmp(b->was, v->text) == 0;
}

static void look_beside(struct take_making *m, const struct take_value *v, const char *row, struct beside *b)
{
    const struct take_field *f = take_field(v->field);
    char text[UUID_BYTES];
    double real = 0;

    switch (f->kind) {
    case TAKE_IS_SIGNS: beside_sign(m, v, row, b); break;
    case TAKE_IS_WORD:
        b->there = logbook_get_text(m->lb, "reading", row, f->column, b->was, sizeof b->was);
        b->same = b->there && strcmp(b->was, words_id((enum words)f->list, (int)v->whole)) == 0;
        break;
    case TAKE_IS_REAL:
        b->there = logbook_get_text(m->lb, "reading", row, f->column, text, sizeof text) && text_to_double(text, &real);
        b->same = b->there && fabs(real - v->real) <= 0.0501; /* such figures are written to tenths */
        text_format(b->was, sizeof b->was, "%.1f", real);
        break;
    case TAKE_IS_PART: beside_part(m, v, row, b); break;
    default: beside_number(m, v, row, b); break;
    }
}

void take_compare(struct take_making *m, struct take_value *v)
{
    const struct take_visit *visit = &m->p->visits[v->visit];
    char row[UUID_BYTES], plug[48];
    struct beside b = {.was = ""};

    if (visit->id[0] != '\0' && take_field(v->field)->kind == TAKE_IS_VISIT) {
        char *was = mem_alloc(4200, 1);

        b.same = b.there = logbook_get_text(m->lb, "visit", visit->id, take_kept_in(v), was, 4200) && strstr(was, v->text) != NULL;
        free(was);
    } else if (visit->id[0] != '\0') {
        if (logbook_find_reading(m->lb, visit->id, v->cylinder, v->position, row, NULL) && logbook_is_there(m->lb, "reading", row))
            look_beside(m, v, row, &b);
    }
    v->there = b.same;
    m->p->n_new += !b.there;
    m->p->n_same += b.same;
    if (b.there && !b.same) {
        m->p->n_replaced++;
        m->row = v->row;
        engine_plug_label(&m->target->engine, v->cylinder, v->position, plug, sizeof plug);
        take_tell_trouble(m, v->column, true, "The logbook has %s (%s, %s); the table's value takes its place.", b.was, plug, visit->date[0] ? visit->date : "no date");
    }
}
