/* report_csv.c - one row a plug: RFC 4180, figures with a point, cells harmless to spreadsheets. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/csv.h"
#include "base/units.h"
#include "report/report.h"

static void put_number(struct text *t, const struct maybe *m, int n_decimals)
{
    char s[48] = "";

    if (m->given)
        text_from_double(s, sizeof s, m->value, n_decimals);
    csv_add_cell(t, s, true, false);
}

/* "oil 3; dirt 1"; empty when not looked at, "none" when nothing was there. */
static void put_zone(struct text *t, const struct reading *r, enum zone z)
{
    struct text cell = {0};

    if (reading_zone_looked(r, z)) {
        for (int s = 0; s < SIGN_COUNT; s++)
            if (sign_row((enum sign)s)->zone == z && r->amount[s] > 0)
                text_addf(&cell, "%s%s %d", cell.n_bytes ? "; " : "", sign_row((enum sign)s)->id, r->amount[s]);
        if (cell.n_bytes == 0)
            text_add(&cell, "none");
    }
    csv_add_cell(t, text_get(&cell), true, false);
    text_release(&cell);
}

/* "yes", "no", "" not said. */
static const char *yes_no(int v)
{
    return v == 1 ? "yes" : v == 2 ? "no" : "";
}

static void put_words(struct text *t, enum words list, int value)
{
    csv_add_cell(t, words_id(list, value), true, false);
}

static void put_count(struct text *t, int n)
{
    char s[16] = "";

    if (n > 0)
        text_format(s, sizeof s, "%d", n);
    csv_add_cell(t, s, true, false);
}

static void put_distance(struct text *t, struct maybe metres, const struct unit *unit)
{
    metres.value /= unit->factor;
    put_number(t, &metres, unit->kind == UNIT_TIME && fabs(metres.value - round(metres.value)) > 0.05 ? 1 : 0); /* engine hours have tenths */
}

static void put_place(struct text *t, const struct engine *en, const struct reading *q)
{
    csv_add_cell(t, q != NULL ? en->cylinders[q->cylinder].label : "", true, false);
    csv_add_cell(t, q != NULL && en->n_positions > 1 ? en->position_names[q->position] : "", true, false);
    csv_add_cell(t, q != NULL ? en->banks[en->cylinders[q->cylinder].bank].name : "", true, false);
}

/* type: the plug of the engine's card; counted: the plug's run as the logbook counts it, told where nobody said it */
static void put_reading(struct text *t, const struct reading *q, const char *type, const struct unit *unit, const struct maybe *counted, const char *marks)
{
    for (int z = 0; z < ZONE_COUNT; z++)
        put_zone(t, q, (enum zone)z);
    put_number(t, &q->gap_mm, 2);
    csv_add_cell(t, !q->gap_mm.given ? "" : q->gap_from_photo ? "photo" : "gauge", true, false);
    put_number(t, &q->gap_photo_mm, 2);
    put_number(t, &(struct maybe){q->gap_photo_mm.given, q->gap_photo_pm_mm}, 2);
    put_number(t, &q->gap_left_mm, 2);
    put_words(t, WORDS_ELECTRODE, q->electrode);
    put_words(t, WORDS_WEAR_ON, q->wear_on);
    put_words(t, WORDS_INSULATOR, q->insulator);
    put_words(t, WORDS_TIGHTNESS, q->tightness);
    put_words(t, WORDS_TURNS, q->threads_turns);
    csv_add_cell(t, yes_no(q->dries), true, false);
    put_words(t, WORDS_SIDE, q->heavier_side);
    csv_add_cell(t, yes_no(q->as_book), true, false);
    put_count(t, q->mark_clock);
    put_number(t, &q->nose_L, 1);
    put_number(t, &q->nose_a, 1);
    put_number(t, &q->nose_b, 1);
    put_number(t, &q->compression_kpa, 0);
    put_number(t, &q->compression_wet_kpa, 0);
    put_number(t, &q->leak_percent, 1);
    put_number(t, &q->differential_over_80, 0);
    csv_add_cell(t, q->plug_name, true, false);
    csv_add_cell(t, type, true, false);
    put_distance(t, q->plug_distance_m, unit);
    put_words(t, WORDS_REFIT, q->refit);
    put_words(t, WORDS_WASHER, q->washer);
    put_words(t, WORDS_THREAD_STATE, q->thread_state);
    put_number(t, &q->torque_nm, 1);
    csv_add_cell(t, marks, true, false);
    put_distance(t, q->plug_distance_m.given ? (struct maybe){false, 0} : *counted, unit);
}

/* Columns that takeover knows by these headings come back; %s is the unit of the odometer at the last visit. */
static const char *const head[] = {"engine", "date", "odometer_%s", "codes", "complaint", "notes", "cylinder", "position", "bank", "firing_end", "threads", "body", "well", "boot",
                                   "coil", "lead", "connector", "gap_mm", "gap_from", "gap_photo_mm", "gap_photo_pm_mm", "gap_left_mm", "electrode", "wear_on", "insulator",
                                   "tightness", "threads_turns", "dries", "heavier_side", "as_book", "mark_clock", "nose_L", "nose_a", "nose_b", "compression_kpa",
                                   "compression_wet_kpa", "leak_percent", "differential_over_80", "plug", "plug_type", "plug_run_%s", "refit", "washer", "thread_state", "torque_Nm",
                                   "photo_marks", "plug_run_counted_%s", "copies_differ"};
#define N_HEAD (sizeof head / sizeof head[0])
#define N_OF_VISIT 6 /* the first ones */

static void put_head(struct text *t, const struct unit *unit)
{
    for (size_t i = 0; i < N_HEAD; i++) {
        const char *at = strstr(head[i], "%s");
        char words[48];

        if (at != NULL)
            text_format(words, sizeof words, "%.*s%s", (int)(at - head[i]), head[i], unit->id);
        csv_add_cell(t, at != NULL ? words : head[i], false, i == 0);
    }
    csv_end_row(t);
}

/* "misses at hot idle; gone above 1500": words of the list, then the person's own. */
static void put_complaint(struct text *t, const struct visit *v)
{
    struct text cell = {0};

    for (int i = 0; i < v->n_complaints; i++)
        text_addf(&cell, "%s%s", i > 0 ? "; " : "", words_label(WORDS_COMPLAINT, v->complaints[i]));
    if (v->complaint_words[0] != '\0')
        text_addf(&cell, "%s%s", cell.n_bytes > 0 ? "; " : "", v->complaint_words);
    csv_add_cell(t, text_get(&cell), true, false);
    text_release(&cell);
}

/* The first cells of a row say of which visit it is; its codes, complaint and notes stand in the visit's first row. */
static void put_row(struct text *t, const struct record *r, const struct visit *v, const struct reading *q, const struct unit *unit, const struct maybe *counted, const char *marks, const struct text *differ, bool first)
{
    struct text codes = {0};

    csv_add_cell(t, r->engine.name, true, true);
    csv_add_cell(t, v->date, true, false);
    put_distance(t, v->odometer_m, unit);
    for (int i = 0; i < v->n_codes && first; i++)
        text_addf(&codes, "%s%s", i ? " " : "", v->codes[i]);
    csv_add_cell(t, text_get(&codes), true, false);
    text_release(&codes);
    if (first)
        put_complaint(t, v);
    else
        csv_add_cell(t, "", false, false);
    csv_add_cell(t, first ? v->notes : "", true, false);
    put_place(t, &r->engine, q);
    if (q != NULL)
        put_reading(t, q, r->engine.plug.type, unit, counted, marks);
    else
        for (size_t i = N_OF_VISIT + 3; i < N_HEAD - 1; i++)
            csv_add_cell(t, "", false, false);
    csv_add_cell(t, text_get(differ), true, false);
    csv_end_row(t);
}

/* "gap as found of 3: 0.60 mm or 0.95 mm" of a plug at a visit; of the visit and the engine in the visit's first row. */
static void differ_of(const struct report_beside *b, int visit, bool latest, const struct reading *q, bool first, struct text *t)
{
    text_clear(t);
    for (size_t i = 0; i < b->n_differ; i++) {
        const struct report_differ *d = &b->differ[i];
        bool here = d->cylinder >= 0 && d->visit >= 0 ? d->visit == visit && q != NULL && d->cylinder == q->cylinder && d->position == q->position
                                                      : first && (d->visit == visit || (d->visit < 0 && latest));

        if (here)
            text_addf(t, "%s%s: %s", t->n_bytes > 0 ? "; " : "", d->what, d->values);
    }
}

void report_csv(const struct record *r, int n_visits, const struct report_beside *b, struct text *t)
{
    static const struct report_beside nothing;
    const struct unit *unit = visit_odometer_unit(record_current(r)->odometer_unit);
    struct text differ = {0};
    size_t run = 0;

    b = b != NULL ? b : &nothing;
    put_head(t, unit);
    for (int at = report_first_told(r, n_visits); at < r->n_visits; at++) {
        const struct visit *v = &r->visits[at];
        bool first = true;

        for (int i = 0; i < record_plug_count(&r->engine); i++) {
            struct maybe counted = {false, 0};
            const char *marks = "";

            if (!v->readings[i].present)
                continue;
            for (size_t k = 0; k < b->n_said; k++)
                if (b->said[k].visit == at && record_plug_index(&r->engine, b->said[k].cylinder, b->said[k].position) == i)
                    marks = b->said[k].text;
            if (run < b->n_runs && b->runs[run].visit == at && record_plug_index(&r->engine, b->runs[run].cylinder, b->runs[run].position) == i)
                counted = MAYBE(b->runs[run++].run_m);
            differ_of(b, at, at == r->n_visits - 1, &v->readings[i], first, &differ);
            put_row(t, r, v, &v->readings[i], unit, &counted, marks, &differ, first);
            first = false;
        }
        if (first) { /* nothing was read: what was noted is not lost */
            differ_of(b, at, at == r->n_visits - 1, NULL, true, &differ);
            put_row(t, r, v, NULL, unit, NULL, "", &differ, true);
        }
    }
    text_release(&differ);
}
