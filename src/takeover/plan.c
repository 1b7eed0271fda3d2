#include "takeover/plan.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/clock.h"
#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "base/units.h"
#include "logbook/logbook.h"
#include "reading/pressure.h"
#include "takeover/plan_work.h"
#include "takeover/plug_type.h"
#include "record/record.h"

#define DATES 4096 /* chains visits of the table are kept in, by date */
#define PLUGS 65536 /* chains its values are kept in, by visit and plug */

__attribute__((format(printf, 3, 0))) static struct take_trouble *add_trouble(struct take_making *m, int column, const char *fmt, va_list args)
{
    void *items = m->p->troubles;
    struct take_trouble *x = arena_push(m->a, &items, &m->p->n_troubles, &m->p->troubles_room, sizeof *x);
    char words[ERR_TEXT_BYTES + 100];

    vsnprintf(words, sizeof words, fmt, args);
    text_sanitize(words, sizeof words); /* a cell may have been cut within a character */
    m->p->troubles = items;
    *x = (struct take_trouble){.line = m->t->csv.line[m->row], .column = column, .text = arena_text(m->a, words)};
    return x;
}

void take_tell_trouble(struct take_making *m, int column, bool only_said, const char *fmt, ...)
{
    va_list args;

    va_start(args, fmt);
    add_trouble(m, column, fmt, args)->only_said = only_said;
    va_end(args);
    m->bad = m->bad || !only_said;
}

/* Of a cell that does not tell where the row belongs: it alone stays out. */
__attribute__((format(printf, 3, 4))) static void cell_out(struct take_making *m, int column, const char *fmt, ...)
{
    struct take_trouble *x;
    va_list args;

    va_start(args, fmt);
    x = add_trouble(m, column, fmt, args);
    va_end(args);
    x->only_said = x->cell_out = true;
    m->n_cells_out++;
}

static struct take_value *add_value(struct take_making *m, int column, int visit, int cylinder, int position)
{
    void *items = m->p->values;
    struct take_value *v = arena_push(m->a, &items, &m->p->n_values, &m->p->values_room, sizeof *v);

    m->p->values = items;
    *v = (struct take_value){.row = m->row, .column = column, .visit = visit, .cylinder = cylinder, .position = position, .field = m->t->columns[column].field, .sign = -1};
    return v;
}

static const char *cell(const struct take_making *m, int column)
{
    const char *s = csv_cell(&m->t->csv, m->row, column);

    s += strspn(s, " \t\n");
    return take_is_unsaid(s) ? "" : s;
}

/* A figure without a unit of its own has its column's. */
static void assume(struct take_making *m, int column)
{
    m->p->assumed[column] = m->p->assumed[column] || m->t->columns[column].unit_guessed;
}

/* ---- where a row belongs ---- */

static void read_date(struct take_making *m, char iso[11])
{
    const char *s = cell(m, m->date);
    int a, b, y;

    iso[0] = '\0';
    if (m->date < 0)
        return;
    switch (take_read_date(s, iso, &a, &b, &y)) {
    case TAKE_DATE_SURE: return;
    case TAKE_DATE_SLASH:
        if (m->t->dates == TAKE_MONTH_FIRST ? take_make_date(y, a, b, iso) : take_make_date(y, b, a, iso))
            return;
        take_tell_trouble(m, m->date, false, "“%s” is no date with the %s first.", TEXT_SHORT(s, 30), m->t->dates == TAKE_MONTH_FIRST ? "month" : "day");
        return;
    case TAKE_DATE_NONE: break;
    }
    take_tell_trouble(m, m->date, false, s[0] ? "“%s” is no date: write 2026-06-14 or 14.06.2026." : "%sThere is no date in this row: write one.", TEXT_SHORT(s, 30));
}

static void read_odometer(struct take_making *m, bool *given, int64_t *metres, const char **unit_id)
{
    const struct take_field *f = take_field(TAKE_ODOMETER);
    const char *s = m->odometer >= 0 ? cell(m, m->odometer) : "";
    const struct unit *unit;
    double v;

    *given = s[0] != '\0';
    if (!*given)
        return;
    if (!take_read_number(f, s, m->t->columns[m->odometer].grouped, &v, &unit) || v < 0) {
        take_tell_trouble(m, m->odometer, false, "“%s” is no odometer: write figures, as in 97655 or 97655 km.", TEXT_SHORT(s, 30));
        *given = false;
        return;
    }
    if (unit == NULL) {
        unit = unit_find(m->t->columns[m->odometer].unit);
        assume(m, m->odometer);
    }
    if (v * unit->factor > f->most) {
        take_tell_trouble(m, m->odometer, false, "“%s” %s is more than any engine runs.", TEXT_SHORT(s, 30), unit->label);
        *given = false;
        return;
    }
    *metres = llround(v * unit->factor);
    *unit_id = unit->id;
}

static unsigned chain_of(const char *iso)
{
    unsigned h = 0;

    for (; *iso != '\0'; iso++)
        h = h * 31 + (unsigned char)*iso;
    return h % DATES;
}

/* The visit of this date, among those of the table or of the logbook; -1 when it cannot be told. */
static int find_visit(struct take_making *m, const char *iso, bool odometer_given, int64_t odometer_m, const char *unit)
{
    struct take_plan *p = m->p;
    const struct logbook_visit *found = NULL;
    int n_found = 0;
    struct take_visit *v;
    void *items = p->visits;
    int *chain = &m->by_date[chain_of(iso)];

    for (int i = *chain - 1; i >= 0; i = p->visits[i].before) {
        v = &p->visits[i];
        if (strcmp(v->date, iso) != 0 || (odometer_given && v->odometer_given && llabs(v->odometer_m - odometer_m) > 1000))
            continue;
        if (odometer_given && !v->odometer_given) {
            v->odometer_given = v->sets_odometer = true;
            v->odometer_m = odometer_m;
            v->odometer_unit = unit;
        }
        return i;
    }
    for (size_t i = 0; i < m->n_visits; i++) {
        const struct logbook_visit *x = &m->visits[i];

        if (m->date < 0 ? strcmp(x->id, m->target->visit_id) != 0 : strcmp(x->date, iso) != 0)
            continue;
        if (odometer_given && x->odometer_m.given && fabs(x->odometer_m.value - (double)odometer_m) > 1000)
            continue; /* another visit of that day; a kilometre is no other */
        if (found == NULL || strcmp(x->id, m->target->visit_id) == 0)
            found = x;
        n_found++;
    }
    if (n_found > 1 && strcmp(found->id, m->target->visit_id) != 0) {
        take_tell_trouble(m, m->date, false, "%d visits are of this date. Open the one that is meant, or add the odometer.", n_found);
        return -1;
    }
    v = arena_push(m->a, &items, &p->n_visits, &p->visits_room, sizeof *v);
    p->visits = items;
    v->before = *chain - 1;
    v->row = m->row;
    *chain = (int)p->n_visits;
    text_copy(v->date, sizeof v->date, iso);
    if (found != NULL) {
        text_copy(v->id, sizeof v->id, found->id);
        text_copy(v->date, sizeof v->date, found->date);
        v->odometer_given = found->odometer_m.given;
        v->odometer_m = (int64_t)found->odometer_m.value;
    } else {
        p->n_new_visits++;
    }
    if (odometer_given && !v->odometer_given) {
        v->odometer_given = v->sets_odometer = true;
        v->odometer_m = odometer_m;
        v->odometer_unit = unit;
    }
    return (int)p->n_visits - 1;
}

static int find_position(const struct engine *en, const char *name)
{
    int found = -1;

    for (int p = 0; p < en->n_positions; p++)
        if (strcasecmp(en->position_names[p], name) == 0)
            return p;
    for (int p = 0; p < en->n_positions; p++) /* its first letter, where that tells them apart */
        if (strlen(name) == 1 && strncasecmp(en->position_names[p], name, 1) == 0)
            found = found < 0 ? p : -2;
    return found < 0 ? -1 : found;
}

/* "3", "Cyl 3", "#3", "3 top"; *position -1: of several plugs it does not say which */
static bool find_plug(struct take_making *m, const char *words, const char *position_words, int column, int *cylinder, int *position)
{
    const struct engine *en = &m->target->engine;
    static const char *const before[] = {"cylinder", "cyl.", "cyl", "zylinder", "zyl.", "zyl", "no.", "nr.", "#"};
    const char *s = words;
    int plug;

    for (size_t i = 0; i < sizeof before / sizeof before[0]; i++)
        if (strncasecmp(s, before[i], strlen(before[i])) == 0 && engine_find_cylinder(en, s) < 0) {
            s += strlen(before[i]);
            s += strspn(s, " ");
            break;
        }
    *position = 0;
    *cylinder = engine_find_cylinder(en, s);
    if (*cylinder < 0) {
        plug = record_find_plug(en, s);
        if (plug < 0) {
            char banks[200];

            engine_format_banks(en, banks, sizeof banks);
            take_tell_trouble(m, column, false, "The engine has no cylinder “%s”; it has %s.", TEXT_SHORT(words, 20), banks);
            return false;
        }
        *cylinder = plug / ENGINE_MAX_POSITIONS;
        *position = plug % ENGINE_MAX_POSITIONS;
        return true;
    }
    if (en->n_positions > 1 && position_words[0] != '\0') {
        *position = find_position(en, position_words);
        if (*position < 0) {
            take_tell_trouble(m, m->position, false, "Cylinder %s has no plug “%s”; its plugs are %s and %s.", en->cylinders[*cylinder].label, TEXT_SHORT(position_words, 20), en->position_names[0],
                    en->position_names[1]);
            return false;
        }
    } else if (en->n_positions > 1) {
        *position = -1;
    }
    return true;
}

static void ask_which_plug(struct take_making *m, int column, int cylinder)
{
    const struct engine *en = &m->target->engine;
    char first[48], second[48];

    if (m->position >= 0 && m->t->columns[column].plug[0] == '\0') {
        take_tell_trouble(m, m->position, false, "Which plug of cylinder %s? Write %s or %s.", en->cylinders[cylinder].label, en->position_names[0], en->position_names[1]);
        return;
    }
    engine_plug_label(en, cylinder, 0, first, sizeof first);
    engine_plug_label(en, cylinder, 1, second, sizeof second);
    take_tell_trouble(m, column, false, "Which plug of cylinder %s is “%s” of? Write “%s” or “%s”, or a column “plug position”.", en->cylinders[cylinder].label, TEXT_SHORT(cell(m, column), 30), first, second);
}

/* ---- cells to values ---- */

static void read_signs(struct take_making *m, int column, int visit, int cylinder, int position, const struct take_field *f)
{
    int amounts[SIGN_COUNT];
    struct err e;

    if (!take_read_signs((enum zone)f->list, m->t->columns[column].sign, cell(m, column), amounts, &e)) {
        cell_out(m, column, "%s", e.text);
        return;
    }
    add_value(m, column, visit, cylinder, position)->whole = 1; /* looked at */
    for (int s = 0; s < SIGN_COUNT; s++)
        if (amounts[s] != AMOUNT_UNSEEN) {
            struct take_value *v = add_value(m, column, visit, cylinder, position);

            v->sign = s;
            v->whole = amounts[s];
        }
}

static bool read_quantity(struct take_making *m, int column, const struct take_field *f, double *kept)
{
    const struct take_column *c = &m->t->columns[column];
    const char *s = cell(m, column);
    const struct unit *unit;
    bool named;
    double v;

    if (!take_read_number(f, s, c->grouped, &v, &unit)) {
        cell_out(m, column, "“%s” is no figure: write only a number%s%s.", TEXT_SHORT(s, 30), f->units[0] ? ", or with its unit, as in 12 " : "", f->units[0] ? f->units[0] : "");
        return false;
    }
    named = unit != NULL;
    if (unit == NULL && c->unit[0] != '\0') {
        unit = unit_find(c->unit);
        assume(m, column);
    }
    v *= unit != NULL ? unit->factor * f->factor : f->factor;
    if (v < f->least || v > f->most) {
        cell_out(m, column, "%s %s%s%s cannot be. Is the column something else, or in another unit?", f->label, TEXT_SHORT(s, 30), unit ? " " : "", unit ? unit->label : "");
        return false;
    }
    if (unit != NULL && !named && unit->kind == UNIT_PRESSURE) { /* a cell that names its unit is taken as it stands */
        char doubt[200];

        pressure_doubt(v / (unit->factor * f->factor), unit, doubt, sizeof doubt);
        if (doubt[0] != '\0' && c->unit_guessed) {
            cell_out(m, column, "%s Write the unit into the heading or the cell: what names it is taken as it stands.", doubt);
            return false;
        }
        if (doubt[0] != '\0') /* a dead cylinder shows so little: the column's unit was named */
            take_tell_trouble(m, column, true, "%s It is taken as it stands.", doubt);
    }
    *kept = v;
    return true;
}

static void read_cell(struct take_making *m, int column, int visit, int cylinder, int position)
{
    const struct take_column *c = &m->t->columns[column];
    const struct take_field *f = take_field(c->field);
    struct take_value *v;
    struct err e = {0};
    int32_t um;
    int word;
    bool yes;
    double kept;

    if (f->once)
        position = 0;
    switch (f->kind) {
    case TAKE_IS_SIGNS: read_signs(m, column, visit, cylinder, position, f); return;
    case TAKE_IS_GAP:
        if (c->field == TAKE_GAP && m->gap_from >= 0 && strcasecmp(cell(m, m->gap_from), "photo") == 0)
            return; /* the photo's own column has it */
        if (record_read_gap(cell(m, column), strcmp(c->unit, "in") == 0, &um, &e))
            add_value(m, column, visit, cylinder, position)->whole = um;
        if (strpbrk(cell(m, column), "mit\"") == NULL) /* mm, in, inch, thou, " */
            assume(m, column);
        break;
    case TAKE_IS_WHOLE:
        if (read_quantity(m, column, f, &kept))
            add_value(m, column, visit, cylinder, position)->whole = llround(kept);
        return;
    case TAKE_IS_REAL:
        if (read_quantity(m, column, f, &kept))
            add_value(m, column, visit, cylinder, position)->real = kept;
        return;
    case TAKE_IS_WORD:
        if (take_read_word((enum words)f->list, cell(m, column), &word, &e))
            add_value(m, column, visit, cylinder, position)->whole = word;
        break;
    case TAKE_IS_YES_NO:
        if (take_read_yes_no(cell(m, column), &yes, &e))
            add_value(m, column, visit, cylinder, position)->whole = yes;
        break;
    case TAKE_IS_PART:
        if (strlen(cell(m, column)) < sizeof ((struct reading *)0)->plug_name) {
            v = add_value(m, column, visit, cylinder, position);
            v->text = arena_text(m->a, cell(m, column));
        } else {
            err_set(&e, ERR_LIMIT, "The name of the plug is too long; %zu bytes have room.", sizeof ((struct reading *)0)->plug_name - 1);
        }
        break;
    case TAKE_IS_NOTHING:
    case TAKE_IS_PLACE:
    case TAKE_IS_VISIT: return;
    }
    if (e.text[0] != '\0')
        cell_out(m, column, "%s", e.text);
}

/* Words of the list each by itself; what is none of them is the person's own. */
static void read_complaint(struct take_making *m, int column, int visit, const char *s)
{
    while (*s != '\0') {
        size_t n;
        char piece[sizeof((struct visit *)0)->complaint_words];
        struct take_value *v;
        int word = 0;

        s += strspn(s, " ");
        n = strcspn(s, ";\n");
        if (!text_format(piece, sizeof piece, "%.*s", (int)n, s)) {
            cell_out(m, column, "A complaint has room for %zu bytes; this one is longer.", sizeof piece - 1);
            piece[0] = '\0';
        }
        s += n + (s[n] != '\0');
        for (size_t end = strlen(piece); end > 0 && piece[end - 1] == ' '; end--)
            piece[end - 1] = '\0';
        if (piece[0] == '\0')
            continue;
        v = add_value(m, column, visit, -1, 0);
        v->whole = take_read_word(WORDS_COMPLAINT, piece, &word, NULL) ? word : 0;
        v->text = arena_text(m->a, word > 0 ? words_id(WORDS_COMPLAINT, word) : piece);
    }
}

static void read_visit_cell(struct take_making *m, int column, int visit, int cylinder)
{
    const char *s = cell(m, column);
    const size_t before = m->n_cells_out;
    struct take_value *v;

    if (m->t->columns[column].field == TAKE_CODES) {
        struct visit *trial = mem_alloc(1, sizeof *trial);
        char code[40];

        for (const char *at = s; visit_next_code(&at, code, sizeof code);) {
            struct err e;

            if (!visit_add_code(trial, code, &e))
                cell_out(m, column, "%s", e.text);
        }
        free(trial);
        if (m->n_cells_out > before)
            return;
    }
    if (m->t->columns[column].field == TAKE_COMPLAINT) {
        read_complaint(m, column, visit, s);
        return;
    }
    v = add_value(m, column, visit, cylinder, 0);
    /* a remark about a plug keeps its plug's name; in our own table, which alone has what is counted, the notes are the visit's */
    v->text = cylinder >= 0 && m->t->columns[column].field == TAKE_NOTES && take_table_find(m->t, TAKE_PLUG_COUNTED) < 0 ? arena_format(m->a, "%s: %s", m->target->engine.cylinders[cylinder].label, s) : arena_text(m->a, s);
}

/* ---- rows ---- */

static bool is_empty(const struct take_making *m)
{
    for (int i = 0; i < m->t->n_columns; i++)
        if (m->t->columns[i].field != TAKE_NOTHING && take_field(m->t->columns[i].field)->kind != TAKE_IS_PLACE && cell(m, i)[0] != '\0')
            return false;
    return true;
}

static void read_own_cell(struct take_making *m, int column, int visit, int cylinder, int position)
{
    const struct take_column *c = &m->t->columns[column];
    const struct take_field *f = take_field(c->field);

    if (f->kind == TAKE_IS_NOTHING || f->kind == TAKE_IS_PLACE || cell(m, column)[0] == '\0')
        return;
    if (f->kind == TAKE_IS_VISIT) {
        read_visit_cell(m, column, visit, cylinder);
        return;
    }
    if (c->plug[0] != '\0' && !find_plug(m, c->plug, "", column, &cylinder, &position))
        return;
    if (cylinder < 0 && !m->plugless) {
        take_tell_trouble(m, m->cylinder, false, "Whose figure is “%s”? There is no cylinder in this row.", TEXT_SHORT(cell(m, column), 30));
        m->plugless = true; /* said once */
    }
    if (position < 0 && cylinder >= 0 && !f->once) {
        if (!m->which_asked)
            ask_which_plug(m, column, cylinder);
        m->which_asked = true;
        return;
    }
    read_cell(m, column, visit, cylinder, position);
}

/* Blank cells and dashes mean nothing by themselves; other words that count as nothing, and cells that are not there, are
 * told: they may have been meant. */
static void tell_unsaid(struct take_making *m)
{
    const size_t n = m->t->csv.n_cells[m->row];
    struct text words = {0};
    int first = -1, missing = -1;

    for (int i = 0; i < m->t->n_columns; i++) {
        const char *s = csv_cell(&m->t->csv, m->row, i);
        char heading[80];

        s += strspn(s, " \t\n");
        if (m->t->columns[i].field == TAKE_NOTHING)
            continue;
        if ((size_t)i >= n) {
            missing = missing < 0 ? i : missing;
        } else if (strpbrk(s, "?abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ") != NULL && take_is_unsaid(s)) {
            text_addf(&words, "%s“%s” (%s)", first < 0 ? "" : ", ", TEXT_SHORT(s, 20), take_table_heading(m->t, i, heading, sizeof heading));
            first = first < 0 ? i : first;
        }
    }
    if (first >= 0)
        take_tell_trouble(m, first, true, "%s: taken as not noted.", TEXT_SHORT(text_get(&words), 300));
    if (missing >= 0)
        take_tell_trouble(m, missing, true, "The row ends after %zu of %d cells: the rest is taken as not noted.", n, m->t->n_columns);
    text_release(&words);
}

static int *chain_of_plug(const struct take_making *m, const struct take_value *v)
{
    return &m->by_plug[((unsigned)v->visit * ENGINE_MAX_PLUGS + (unsigned)v->cylinder * ENGINE_MAX_POSITIONS + (unsigned)v->position) % PLUGS];
}

/* Two rows cannot both be right: another figure or word of the same thing, or normal wear and a fault on one firing end. */
static bool contradict(const struct take_value *a, const struct take_value *b)
{
    const struct take_field *f = take_field(a->field);

    if (a->row == b->row || a->visit != b->visit || a->cylinder != b->cylinder || a->position != b->position || a->field != b->field)
        return false;
    switch (f->kind) {
    case TAKE_IS_SIGNS:
        return a->sign >= 0 && b->sign >= 0 && (a->sign == b->sign ? a->whole != b->whole : a->whole > 0 && b->whole > 0 && (a->sign == SIGN_NORMAL || b->sign == SIGN_NORMAL));
    case TAKE_IS_PART: return strcmp(a->text, b->text) != 0;
    case TAKE_IS_REAL: return fabs(a->real - b->real) > 1e-9;
    case TAKE_IS_VISIT: return false; /* of the visit as a whole: both are taken */
    default: return a->whole != b->whole;
    }
}

/* The commonest slip in a table of plugs is a cylinder written twice: what a row before says otherwise of the plug is told, and the row
 * stays out. */
static void look_before(struct take_making *m, size_t first)
{
    for (size_t i = first; i < m->p->n_values; i++) {
        const struct take_value *v = &m->p->values[i];
        char plug[48], date[32], heading[80];

        for (int k = *chain_of_plug(m, v) - 1; take_field(v->field)->kind != TAKE_IS_VISIT && k >= 0; k = m->p->values[k].before) {
            const struct take_value *w = &m->p->values[k];

            if (!contradict(v, w))
                continue;
            engine_plug_label(&m->target->engine, v->cylinder, v->position, plug, sizeof plug);
            clock_date_words(m->p->visits[v->visit].date, date, sizeof date);
            take_tell_trouble(m, v->column, false, "Line %zu says otherwise of plug %s%s%s already (%s: “%s” there, “%s” here). Is one of them another cylinder? Correct it, or take one out.",
                              m->t->csv.line[w->row], plug, date[0] ? " on " : "", date, take_table_heading(m->t, v->column, heading, sizeof heading),
                              TEXT_SHORT(csv_cell(&m->t->csv, w->row, w->column), 40), TEXT_SHORT(csv_cell(&m->t->csv, v->row, v->column), 40));
            return;
        }
    }
}

static void keep_by_plug(struct take_making *m, size_t first)
{
    for (size_t i = first; i < m->p->n_values; i++) {
        struct take_value *v = &m->p->values[i];
        int *chain;

        v->before = -1;
        if (take_field(v->field)->kind == TAKE_IS_VISIT)
            continue;
        chain = chain_of_plug(m, v);
        v->before = *chain - 1;
        *chain = (int)i + 1;
    }
}

static void read_row(struct take_making *m)
{
    struct take_plan *p = m->p;
    const size_t n_values = p->n_values, n_troubles = p->n_troubles;
    char iso[11];
    bool odometer_given, same_engine;
    int64_t odometer_m = 0;
    const char *unit = "km";
    int visit, cylinder = -1, position = 0;

    if (is_empty(m)) {
        if (m->t->csv.n_cells[m->row] > 1) /* no blank line */
            tell_unsaid(m);
        return;
    }
    p->n_rows++;
    m->bad = m->plugless = m->which_asked = false;
    m->n_cells_out = 0;
    same_engine = m->engine < 0 || cell(m, m->engine)[0] == '\0' || strcasecmp(cell(m, m->engine), csv_cell(&m->t->csv, take_table_first(m->t), m->engine)) == 0;
    if (!same_engine)
        take_tell_trouble(m, m->engine, false, "This row is of “%s”, the table begins with another engine. Take each engine over by a table of its own.", TEXT_SHORT(cell(m, m->engine), 40));
    if (m->cylinder >= 0 && cell(m, m->cylinder)[0] != '\0')
        m->plugless = !find_plug(m, cell(m, m->cylinder), m->position >= 0 ? cell(m, m->position) : "", m->cylinder, &cylinder, &position);
    read_date(m, iso);
    read_odometer(m, &odometer_given, &odometer_m, &unit);
    visit = m->bad ? -1 : find_visit(m, iso, odometer_given, odometer_m, unit);
    for (int i = 0; i < m->t->n_columns; i++) /* also of a row that stays out: all that is wrong with it is told at once */
        read_own_cell(m, i, visit, cylinder, position);
    tell_unsaid(m);
    if (!m->bad)
        look_before(m, n_values);
    m->bad = m->bad || (m->n_cells_out > 0 && p->n_values == n_values); /* nothing of it is left */
    p->n_bad_cells += m->bad ? 0 : m->n_cells_out;
    for (size_t i = n_troubles; m->bad && i < p->n_troubles; i++) /* with the row */
        if (p->troubles[i].cell_out)
            p->troubles[i].only_said = p->troubles[i].cell_out = false;
    if (m->bad) {
        p->n_bad_rows++;
        p->n_values = n_values; /* all of the row stays out */
    }
    keep_by_plug(m, n_values);
}

static void count_readings(struct take_plan *p, struct arena *a)
{
    enum { SEEN = 1, CHANGED = 2 };
    unsigned char *seen = arena_alloc(a, (p->n_visits + 1) * ENGINE_MAX_PLUGS, sizeof *seen);

    for (size_t i = 0; i < p->n_values; i++) {
        const struct take_value *v = &p->values[i];
        unsigned char *at;

        if (take_field(v->field)->kind == TAKE_IS_VISIT)
            continue;
        at = &seen[v->visit * ENGINE_MAX_PLUGS + v->cylinder * ENGINE_MAX_POSITIONS + v->position];
        p->n_readings += (*at & SEEN) == 0;
        p->n_changed += !v->there && (*at & CHANGED) == 0;
        *at = (unsigned char)(*at | SEEN | (v->there ? 0 : CHANGED));
    }
}

/* Visits all of whose rows were left out are not made. */
static void drop_empty_visits(struct take_plan *p, struct arena *a)
{
    int *to = arena_alloc(a, p->n_visits + 1, sizeof *to);
    size_t n = 0;

    for (size_t i = 0; i < p->n_values; i++)
        to[p->values[i].visit] = 1;
    for (size_t i = 0; i < p->n_visits; i++) {
        if (to[i] == 0) {
            p->n_new_visits -= p->visits[i].id[0] == '\0';
            continue;
        }
        to[i] = (int)n;
        p->visits[n++] = p->visits[i];
    }
    p->n_visits = n;
    for (size_t i = 0; i < p->n_values; i++)
        p->values[i].visit = to[p->values[i].visit];
}

static bool any_own_plug(const struct take_table *t)
{
    for (int i = 0; i < t->n_columns; i++)
        if (t->columns[i].plug[0] != '\0')
            return true;
    return false;
}

static bool any_reading(const struct take_table *t)
{
    for (int i = 0; i < t->n_columns; i++)
        if (t->columns[i].field != TAKE_NOTHING && take_field(t->columns[i].field)->kind != TAKE_IS_PLACE)
            return true;
    return false;
}

bool take_plan_asks_distance(const struct take_table *t)
{
    const int column = take_table_find(t, TAKE_ODOMETER);
    const struct unit *unit;
    double value;

    if (column < 0 || !t->columns[column].unit_guessed)
        return false;
    for (size_t row = take_table_first(t); row < t->csv.n_rows; row++)
        if (take_read_number(take_field(TAKE_ODOMETER), csv_cell(&t->csv, row, column), t->columns[column].grouped, &value, &unit) && unit == NULL)
            return true;
    return false;
}

static void ask(struct take_making *m)
{
    const struct take_table *t = m->t;
    char *q = m->p->question;
    size_t n_room = sizeof m->p->question;
    char heading[80];

    if (!any_reading(t))
        text_copy(q, n_room, "No column is matched to a reading yet: say what the columns hold.");
    else if (m->cylinder < 0 && !any_own_plug(t))
        text_copy(q, n_room, "Which column names the cylinder? Or name it in the headings, as in “gap 1”, “gap 2”.");
    else if (take_table_oil_somewhere(t) >= 0)
        text_format(q, n_room, "Where was the oil of “%s” seen: in the well, on the firing end, on the threads? Neither the heading nor another column says it.",
                    TEXT_SHORT(take_table_heading(t, take_table_oil_somewhere(t), heading, sizeof heading), 40));
    else if (t->dates == TAKE_DATES_UNSURE)
        text_format(q, n_room, "Is “%s” written with the day or the month first? Nothing in the column tells.", TEXT_SHORT(csv_cell(&t->csv, take_table_first(t), m->date), 20));
    else if (take_plan_asks_distance(t))
        text_format(q, n_room, "Is “%s” in miles, kilometres or hours? Neither the heading nor its figures say it.", TEXT_SHORT(take_table_heading(t, m->odometer, heading, sizeof heading), 40));
    else if (!m->target->known)
        text_copy(q, n_room, m->target->why);
    else if (m->date < 0 && m->target->visit_id[0] == '\0')
        text_copy(q, n_room, "Which column holds the date? Without one, open the visit the readings belong to first.");
}

/* ---- odometers that do not go on ---- */

struct stood {
    const char *date;
    int64_t metres; /* or seconds */
    int unit;       /* WORDS_ODOMETER_UNIT */
    bool comes_in;  /* the table writes it */
    size_t row;
};

static int by_date(const void *a, const void *b)
{
    const struct stood *x = a, *y = b;
    int order = strcmp(x->date, y->date);

    return order != 0 ? order : (x->metres > y->metres) - (x->metres < y->metres);
}

static void tell_stood(struct take_making *m, const struct stood *now, const struct stood *other)
{
    char a[48], b[48], date[32];

    visit_format_odometer(MAYBE((double)now->metres), now->unit, a, sizeof a);
    visit_format_odometer(MAYBE((double)other->metres), other->unit, b, sizeof b);
    clock_date_words(other->date, date, sizeof date);
    m->row = now->row;
    if (strcmp(now->date, other->date) == 0)
        take_tell_trouble(m, m->odometer, true, "The odometer shows %s, and %s on the same day: they are taken for two visits. One of both may be a slip.", a, b);
    else
        take_tell_trouble(m, m->odometer, true, "The odometer shows %s, less than the %s of %s before it. One of both may be a slip.", a, b, date);
}

/* Said of each visit whose odometer comes in, runs back, or stands beside another of its day; it is taken all the same. */
static void tell_odometers(struct take_making *m)
{
    const int hours = words_find(WORDS_ODOMETER_UNIT, "h");
    struct take_plan *p = m->p;
    struct stood *all = arena_alloc(m->a, p->n_visits + m->n_visits + 1, sizeof *all);
    size_t n = 0;

    for (size_t i = 0; i < p->n_visits; i++) {
        const struct take_visit *v = &p->visits[i];

        if (v->odometer_given && v->sets_odometer && v->date[0] != '\0')
            all[n++] = (struct stood){v->date, v->odometer_m, words_find(WORDS_ODOMETER_UNIT, v->odometer_unit), true, v->row};
    }
    for (size_t i = 0; i < m->n_visits; i++)
        if (m->visits[i].odometer_m.given && m->visits[i].date[0] != '\0')
            all[n++] = (struct stood){m->visits[i].date, (int64_t)m->visits[i].odometer_m.value, m->visits[i].odometer_unit, false, 0};
    if (n > 1)
        qsort(all, n, sizeof *all, by_date);
    for (int by_hours = 0; by_hours < 2; by_hours++) {
        const struct stood *most = NULL, *last = NULL;

        for (size_t i = 0; i < n; i++) {
            struct stood *now = &all[i];

            if ((now->unit == hours) != (by_hours == 1))
                continue;
            if (last != NULL && strcmp(last->date, now->date) == 0) {
                if (now->comes_in || last->comes_in)
                    tell_stood(m, now->comes_in ? now : last, now->comes_in ? last : now);
            } else if (now->comes_in && most != NULL && most->metres > now->metres) {
                tell_stood(m, now, most);
            }
            most = most == NULL || now->metres > most->metres ? now : most;
            last = now;
        }
    }
}

bool take_plan_make(struct logbook *lb, const struct take_table *t, const struct take_target *target, const struct logbook_watch *watch, struct arena *a, struct take_plan *out, struct err *e)
{
    struct take_making m = {.lb = lb, .t = t, .target = target, .a = a, .p = out, .date = take_table_find(t, TAKE_DATE), .odometer = take_table_find(t, TAKE_ODOMETER),
                       .cylinder = take_table_find(t, TAKE_CYLINDER), .position = take_table_find(t, TAKE_POSITION), .engine = take_table_find(t, TAKE_ENGINE), .gap_from = take_table_find(t, TAKE_GAP_FROM)};

    char plug_why[PLUG_TYPE_WORDS_BYTES];
    bool fine = true;

    memset(out, 0, sizeof *out);
    if (target->engine_id[0] != '\0' && !logbook_list_visits(lb, target->engine_id, a, &m.visits, &m.n_visits, e))
        return false;
    ask(&m);
    if (out->question[0] != '\0')
        return true;
    m.by_date = arena_alloc(a, DATES, sizeof *m.by_date);
    m.by_plug = arena_alloc(a, PLUGS, sizeof *m.by_plug);
    for (m.row = take_table_first(t); m.row < t->csv.n_rows; m.row++) {
        if (m.row % TAKE_OFTEN == 0 && !take_go_on(watch, "rows", m.row, 2 * t->csv.n_rows, e))
            return false;
        read_row(&m);
    }
    drop_empty_visits(out, a);
    tell_odometers(&m);
    plug_type_of(t, target->engine.plug.type, out->plug_type, plug_why, &m.row);
    if (plug_why[0] != '\0')
        take_tell_trouble(&m, take_table_find(t, TAKE_PLUG_TYPE), true, "%s", plug_why);
    for (size_t i = 0; i < out->n_values && fine; i++) {
        fine = i % TAKE_OFTEN != 0 || take_go_on(watch, "rows", out->n_values + i, 2 * out->n_values, e);
        if (fine)
            take_compare(&m, &out->values[i]);
    }
    if (m.known != NULL) {
        record_release(m.known);
        free(m.known);
    }
    if (fine)
        count_readings(out, a);
    return fine;
}
