/* report_csv.c - one row a plug: RFC 4180, figures with a point, cells harmless to spreadsheets. */
#include <stdio.h>
#include <string.h>

#include "base/csv.h"
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

    if (r->zone_seen[z]) {
        for (int s = 0; s < SIGN_COUNT; s++)
            if (sign_row((enum sign)s)->zone == z && r->amount[s] > 0)
                text_addf(&cell, "%s%s %d", cell.n_bytes ? "; " : "", sign_row((enum sign)s)->id, r->amount[s]);
        if (cell.n_bytes == 0)
            text_add(&cell, "none");
    }
    csv_add_cell(t, text_get(&cell), true, false);
    text_release(&cell);
}

void report_csv(const struct record *r, struct text *t)
{
    static const char *const head[] = {"engine", "date", "cylinder", "position", "bank", "firing_end", "threads", "body", "well", "boot",
                                       "coil", "lead", "connector", "gap_mm", "gap_from", "gap_photo_mm", "gap_photo_pm_mm", "gap_left_mm", "electrode", "insulator", "nose_L",
                                       "nose_a", "nose_b", "compression_kpa", "compression_wet_kpa", "leak_percent", "plug", "refit"};
    const struct engine *en = &r->engine;
    const struct visit *v = record_current(r);

    for (size_t i = 0; i < sizeof head / sizeof head[0]; i++)
        csv_add_cell(t, head[i], false, i == 0);
    csv_end_row(t);
    for (int i = 0; i < record_plug_count(en); i++) {
        const struct reading *q = &v->readings[i];

        if (!q->present)
            continue;
        csv_add_cell(t, en->name, true, true);
        csv_add_cell(t, v->date, true, false);
        csv_add_cell(t, en->cylinders[q->cylinder].label, true, false);
        csv_add_cell(t, en->n_positions > 1 ? en->position_names[q->position] : "", true, false);
        csv_add_cell(t, en->banks[en->cylinders[q->cylinder].bank].name, true, false);
        for (int z = 0; z < ZONE_COUNT; z++)
            put_zone(t, q, (enum zone)z);
        put_number(t, &q->gap_mm, 2);
        csv_add_cell(t, !q->gap_mm.given ? "" : q->gap_from_photo ? "photo" : "gauge", true, false);
        put_number(t, &q->gap_photo_mm, 2);
        put_number(t, &(struct maybe){q->gap_photo_mm.given, q->gap_photo_pm_mm}, 2);
        put_number(t, &q->gap_left_mm, 2);
        csv_add_cell(t, words_id(WORDS_ELECTRODE, q->electrode), true, false);
        csv_add_cell(t, words_id(WORDS_INSULATOR, q->insulator), true, false);
        put_number(t, &q->nose_L, 1);
        put_number(t, &q->nose_a, 1);
        put_number(t, &q->nose_b, 1);
        put_number(t, &q->compression_kpa, 0);
        put_number(t, &q->compression_wet_kpa, 0);
        put_number(t, &q->leak_percent, 1);
        csv_add_cell(t, q->plug_name, true, false);
        csv_add_cell(t, words_id(WORDS_REFIT, q->refit), true, false);
        csv_end_row(t);
    }
}
