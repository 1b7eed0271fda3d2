/* panel_take.c - a table on its way in: its columns on the left, what the chosen one holds and what would be written
 * on the right; what is wrong is told by its cell. Nothing is written before it is accepted. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/files.h"
#include "base/text.h"
#include "screen/panels.h"
#include "takeover/plan.h"

#define ROW 44
#define LOOKED_AT 500 /* rows in which a column's first cells are looked for */

static struct action *change_column(struct actions *out, int column, enum take_field_id field, const char *unit)
{
    struct action *a = actions_add(out, ACT_TAKE_COLUMN);

    a->number = column;
    a->sign = (int)field;
    text_copy(a->text, sizeof a->text, unit);
    return a;
}

/* "Gap as found of 3, in · guessed" */
static void column_words(const struct take_column *c, char *to, size_t n_room)
{
    const struct unit *unit = c->unit[0] ? unit_find(c->unit) : NULL;

    text_format(to, n_room, "%s%s%s%s%s%s%s%s", take_field(c->field)->label, c->sign >= 0 ? ", " : "", c->sign >= 0 ? sign_row((enum sign)c->sign)->label : "", c->plug[0] ? " of " : "", c->plug, unit ? ", " : "", unit ? unit->label : "",
                c->field != TAKE_NOTHING && (c->unit_guessed || c->how == TAKE_BY_FIGURES || c->how == TAKE_BY_PARTS) ? " · guessed" : "");
}

/* The first cells of a column that hold something. */
static void sample_words(const struct take_table *t, int column, char *to, size_t n_room)
{
    struct text s = {0};
    int n = 0;

    for (size_t r = take_table_first(t); r < t->csv.n_rows && r < LOOKED_AT && n < 4; r++) {
        const char *cell = csv_cell(&t->csv, r, column);

        if (cell[0] == '\0')
            continue;
        text_addf(&s, "%s%s", n++ ? ", " : "", TEXT_SHORT(cell, 30));
    }
    text_copy(to, n_room, n ? text_get(&s) : "empty");
    text_sanitize(to, n_room);
    text_release(&s);
}

static void columns(struct ui *ui, const struct take_table *t, struct screen_state *st, struct rect r)
{
    struct rect content = ui_scroll_begin(ui, "take.columns", r);

    for (int i = 0; i < t->n_columns; i++) {
        struct rect row = {content.x, content.y + (float)(i * ROW), content.w - 14, ROW - 4}, in = ui_inset(row, 10, 3);
        char id[40], heading[80], words[120], sample[160];
        struct ui_hit hit;

        snprintf(id, sizeof id, "take.column.%d", i + 1);
        column_words(&t->columns[i], words, sizeof words);
        take_table_heading(t, i, heading, sizeof heading);
        sample_words(t, i, sample, sizeof sample);
        hit = ui_region(ui, id, row, UI_ROLE_ROW, heading, words, 6);
        ui_round(ui, row, 6, hit.hover ? UI_CARD_DIM : UI_CARD);
        if (st->take_column == i)
            ui_select_line(ui, row, 6, 2);
        {
            struct rect top = ui_cut_top(&in, 18), right = ui_cut_right(&top, top.w * 0.55f);

            ui_text(ui, top, heading, &(struct ui_style){.weight = UI_SEMIBOLD});
            ui_text(ui, right, words, &(struct ui_style){.align = UI_RIGHT, .colour = t->columns[i].field == TAKE_NOTHING ? UI_TEXT_QUIET : UI_TEXT});
            ui_text(ui, in, sample, &(struct ui_style){.size_px = 11, .colour = UI_TEXT_SOFT});
        }
        if (hit.clicked)
            st->take_column = i;
    }
    ui_scroll_end(ui, (float)(t->n_columns * ROW));
}

/* What the chosen column holds: every field as a chip, its units below. */
static void fields(struct ui *ui, const struct take_table *t, const struct screen_state *st, struct actions *out, struct rect *r)
{
    const struct take_column *c = &t->columns[st->take_column];
    const struct take_field *f = take_field(c->field);
    struct ui_flow flow;
    char heading[80], line[160], id[48];

    text_format(line, sizeof line, "“%s” holds", TEXT_SHORT(take_table_heading(t, st->take_column, heading, sizeof heading), 60));
    ui_text(ui, ui_cut_top(r, 24), line, &(struct ui_style){.weight = UI_SEMIBOLD});
    flow = ui_flow_begin(*r, 28);
    for (int i = 0; i < TAKE_FIELD_COUNT; i++) {
        const char *label = take_field((enum take_field_id)i)->label;

        text_format(id, sizeof id, "take.field.%s", take_field((enum take_field_id)i)->id);
        if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, label, NULL)), label, (int)c->field == i, NULL))
            change_column(out, st->take_column, (enum take_field_id)i, "");
    }
    ui_cut_top(r, ui_flow_height(&flow) + 8);
    if (f->units[0] != NULL) {
        flow = ui_flow_begin(*r, 28);
        ui_text(ui, ui_flow_next(&flow, 70), "Unit  U", &(struct ui_style){.colour = UI_TEXT_SOFT});
        for (int i = 0; i < 5 && f->units[i] != NULL; i++) {
            const char *label = unit_find(f->units[i])->label;

            text_format(id, sizeof id, "take.unit.%d", i);
            if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, label, NULL)), label, strcmp(c->unit, f->units[i]) == 0, NULL))
                change_column(out, st->take_column, c->field, f->units[i]);
        }
        ui_cut_top(r, ui_flow_height(&flow) + 8);
    }
}

/* The first doubtful date, read both ways. */
static void date_answers(const struct take_table *t, char day[60], char month[60])
{
    int column = take_table_find(t, TAKE_DATE), a, b, y;
    char iso[11], words[32];

    text_copy(day, 60, "Day first");
    text_copy(month, 60, "Month first");
    for (size_t r = take_table_first(t); r < t->csv.n_rows; r++) {
        if (take_read_date(csv_cell(&t->csv, r, column), iso, &a, &b, &y) != TAKE_DATE_SLASH)
            continue;
        if (take_make_date(y, b, a, iso)) {
            clock_date_words(iso, words, sizeof words);
            text_format(day, 60, "Day first: %s", words);
        }
        if (take_make_date(y, a, b, iso)) {
            clock_date_words(iso, words, sizeof words);
            text_format(month, 60, "Month first: %s", words);
        }
        return;
    }
}

static const struct {
    const char *unit, *label, *key, *pressed;
} distance_units[] = {{"mi", "miles", "M", "m"}, {"km", "kilometres", "K", "k"}, {"h", "hours run", "H", "h"}};

/* What has to be answered, with the answers. */
static void question(struct ui *ui, const struct model *m, struct actions *out, struct rect *r)
{
    const struct take_table *t = m->take;
    struct ui_flow flow;
    struct rect mark = ui_cut_top(r, ui_text_height(ui, r->w - 26, m->take_plan->question, &(struct ui_style){.weight = UI_SEMIBOLD, .max_lines = 3}) + 8);
    char id[64];

    level_mark(ui, mark.x + 8, mark.y + 10, 14, LEVEL_WATCH);
    ui_cut_left(&mark, 26);
    ui_text(ui, mark, m->take_plan->question, &(struct ui_style){.weight = UI_SEMIBOLD, .max_lines = 3, .top = true});
    ui_note(ui, "take.question", mark, "question", m->take_plan->question);
    flow = ui_flow_begin(*r, 32);
    if (t->dates == TAKE_DATES_UNSURE) {
        char day[60], month[60];

        date_answers(t, day, month);
        if (ui_chip(ui, "take.dates.day", ui_flow_next(&flow, ui_chip_width(ui, day, "D")), day, false, "D"))
            actions_add(out, ACT_TAKE_DATES)->flag = true;
        if (ui_chip(ui, "take.dates.month", ui_flow_next(&flow, ui_chip_width(ui, month, "M")), month, false, "M"))
            actions_add(out, ACT_TAKE_DATES)->flag = false;
    } else if (take_plan_asks_distance(t)) {
        for (int i = 0; i < 3; i++) {
            text_format(id, sizeof id, "take.distance.%s", distance_units[i].unit);
            if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, distance_units[i].label, distance_units[i].key)), distance_units[i].label, false, distance_units[i].key))
                (void)change_column(out, take_table_find(t, TAKE_ODOMETER), TAKE_ODOMETER, distance_units[i].unit);
        }
    } else if (!m->take_target->known) {
        size_t n;
        const struct engine_preset *presets = engine_presets(&n);
        bool nearly = true;

        for (size_t i = 0; i < n; i++)
            nearly = nearly && !take_target_fits(t, &presets[i].engine, false);

        for (size_t i = 0; i < m->n_engines && i < 12; i++) {
            char label[60];

            text_format(label, sizeof label, "%s", TEXT_SHORT(m->engines[i].name, 50));
            text_format(id, sizeof id, "take.engine.%zu", i + 1);
            if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, label, NULL)), label, false, NULL))
                text_copy(actions_add(out, ACT_TAKE_ENGINE)->id, UUID_BYTES, m->engines[i].id);
        }
        for (size_t i = 0; i < n; i++) {
            char label[80];

            if (!take_target_fits(t, &presets[i].engine, nearly))
                continue;
            text_format(label, sizeof label, "New: %s", presets[i].label);
            text_format(id, sizeof id, "take.layout.%s", presets[i].id);
            if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, label, NULL)), label, false, NULL))
                text_copy(actions_add(out, ACT_TAKE_ENGINE)->text, sizeof presets[i].id, presets[i].id);
        }
    }
    ui_cut_top(r, ui_flow_height(&flow) + 8);
}

static const struct ui_style trouble_style = {.colour = UI_TEXT_SOFT, .max_lines = 12, .top = true};

/* Measured once for a plan and a width: setting hundreds of sentences in each frame would take as long as the frame. */
static void measure_troubles(struct ui *ui, const struct model *m, struct trouble_heights *at, size_t n, float w)
{
    if (at->made == m->take_made && fabsf(at->w - w) < 0.5f)
        return;
    at->made = m->take_made;
    at->w = w;
    at->y[0] = 0;
    for (size_t i = 0; i < n; i++)
        at->y[i + 1] = at->y[i] + ui_text_height(ui, w - 60, m->take_plan->troubles[i].text, &trouble_style) + 32;
}

static void troubles(struct ui *ui, const struct model *m, struct screen_state *st, struct rect r)
{
    const struct take_plan *p = m->take_plan;
    size_t n = p->n_troubles < TAKE_TROUBLES_SHOWN ? p->n_troubles : TAKE_TROUBLES_SHOWN;
    struct rect content = ui_scroll_begin(ui, "take.troubles", r);
    const float *at = st->trouble_heights.y;
    char line[160], id[40];

    measure_troubles(ui, m, &st->trouble_heights, n, content.w);
    for (size_t i = 0; i < n; i++) {
        const struct take_trouble *x = &p->troubles[i];
        float y = content.y + at[i], h = at[i + 1] - at[i] - 32;
        char heading[80];

        if (y + h + 32 < r.y || y > r.y + r.h)
            continue;
        text_format(line, sizeof line, "Line %zu%s%s%s", x->line, x->column >= 0 ? ", " : "", TEXT_SHORT(x->column >= 0 ? take_table_heading(m->take, x->column, heading, sizeof heading) : "", 60),
                    x->cell_out ? ": this cell is left out" : x->only_said ? "" : ": the row is left out");
        level_mark(ui, content.x + 10, y + 12, 13, x->only_said ? LEVEL_WATCH : LEVEL_ACT);
        ui_text(ui, (struct rect){content.x + 28, y, content.w - 50, 22}, line, &(struct ui_style){.weight = UI_SEMIBOLD});
        ui_text(ui, (struct rect){content.x + 28, y + 22, content.w - 60, h}, x->text, &trouble_style);
        text_format(id, sizeof id, "take.trouble.%zu", i + 1);
        ui_note(ui, id, (struct rect){content.x, y, content.w, h + 24}, line, x->text);
    }
    if (p->n_troubles > n) {
        text_format(line, sizeof line, "and %zu more: sootbook take --check prints them all.", p->n_troubles - n);
        ui_text(ui, (struct rect){content.x + 28, content.y + at[n], content.w - 50, 24}, line, &(struct ui_style){.weight = UI_SEMIBOLD});
    }
    ui_scroll_end(ui, at[n] + (p->n_troubles > n ? 28 : 0));
}

static void keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    const struct take_table *t = m->take;
    const struct take_column *c = &t->columns[st->take_column];
    const struct take_field *f = take_field(c->field);
    int n_units = 0, at = 0;

    while (n_units < 5 && f->units[n_units] != NULL)
        n_units++;
    for (int i = 0; i < n_units; i++)
        if (strcmp(f->units[i], c->unit) == 0)
            at = i;
    if (ui_key(ui, "Down"))
        st->take_column = (st->take_column + 1) % t->n_columns;
    else if (ui_key(ui, "Up"))
        st->take_column = (st->take_column + t->n_columns - 1) % t->n_columns;
    else if (ui_key(ui, "Right"))
        change_column(out, st->take_column, (enum take_field_id)((c->field + 1) % TAKE_FIELD_COUNT), "");
    else if (ui_key(ui, "Left"))
        change_column(out, st->take_column, (enum take_field_id)((c->field + TAKE_FIELD_COUNT - 1) % TAKE_FIELD_COUNT), "");
    else if (n_units > 1 && ui_key(ui, "u"))
        change_column(out, st->take_column, c->field, f->units[(at + 1) % n_units]);
    else if (t->dates == TAKE_DATES_UNSURE && ui_key(ui, "d"))
        actions_add(out, ACT_TAKE_DATES)->flag = true;
    else if (t->dates == TAKE_DATES_UNSURE && ui_key(ui, "m"))
        actions_add(out, ACT_TAKE_DATES)->flag = false;
    else if (t->dates != TAKE_DATES_UNSURE && take_plan_asks_distance(t))
        for (int i = 0; i < 3; i++)
            if (ui_key(ui, distance_units[i].pressed))
                (void)change_column(out, take_table_find(t, TAKE_ODOMETER), TAKE_ODOMETER, distance_units[i].unit);
}

/* Text over the lines it needs. */
static void paragraph(struct ui *ui, struct rect *r, const char *words, const struct ui_style *style)
{
    ui_text(ui, ui_cut_top(r, ui_text_height(ui, r->w, words, style) + 4), words, style);
}

void panel_take(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    char left_out[80];
    const struct take_plan *p = m->take_plan;
    struct ui_button take = {.look = UI_LOOK_DARK, .key = "Ctrl+Enter"}; /* Enter is the focused column's or chip's */
    struct rect r, left, foot;
    char title[200], words[300], line[600];

    if (st->take_column >= m->take->n_columns)
        st->take_column = 0;
    text_format(title, sizeof title, "Take over: %s", TEXT_SHORT(m->take->name, 100));
    r = panel_begin(ui, "panel.take", panel_middle(ui, 1240, 860), title, st);
    foot = ui_cut_bottom(&r, 46);
    left = ui_cut_left(&r, fminf(430, r.w * 0.38f));
    ui_cut_left(&r, 20);
    ui_text(ui, ui_cut_top(&left, 22), "Columns  ↑ ↓   what they hold  ← →", &(struct ui_style){.colour = UI_TEXT_SOFT});
    columns(ui, m->take, st, left);
    if (m->can_write && !ui_typing(ui))
        keys(ui, m, st, out);
    fields(ui, m->take, st, out, &r);
    ui_cut_top(&r, 6);
    ui_fill(ui, ui_cut_top(&r, 1), UI_LINE);
    ui_cut_top(&r, 8);
    if (p->question[0] != '\0') {
        question(ui, m, out, &r);
    } else {
        struct text assumed = {0};

        take_plan_words(p, words, sizeof words);
        text_format(line, sizeof line, "%s · %s", m->take_target->why, words);
        paragraph(ui, &r, line, &(struct ui_style){.weight = UI_SEMIBOLD, .max_lines = 4, .top = true});
        ui_note(ui, "take.plan", r, "plan", line);
        take_plan_assumed(m->take, p, true, &assumed);
        if (assumed.n_bytes > 0) {
            paragraph(ui, &r, text_get(&assumed), &(struct ui_style){.max_lines = 6, .top = true});
            ui_note(ui, "take.assumed", r, "units", text_get(&assumed));
        }
        text_release(&assumed);
        text_format(line, sizeof line, "%s, “%s” between cells", m->take->encoding, m->take->separator == '\t' ? "tab" : (char[]){m->take->separator, '\0'});
        ui_text(ui, ui_cut_top(&r, 22), line, &(struct ui_style){.colour = UI_TEXT_SOFT});
        ui_cut_top(&r, 6);
        if (p->n_troubles == 0)
            ui_text(ui, ui_cut_top(&r, 24), "Every cell can be read.", &(struct ui_style){.colour = UI_TEXT_SOFT});
        else
            troubles(ui, m, st, r);
    }
    ui_cut_top(&foot, 8);
    if (take_plan_left_out(p, left_out, sizeof left_out))
        text_format(line, sizeof line, "Take over, leave %s out", left_out);
    else
        text_copy(line, sizeof line, "Take over");
    take.disabled = !m->can_write ? m->why_read_only : m->take_planning ? "working it out …" : p->question[0] != '\0' ? "answer the question first" : p->n_values == 0 ? "there is nothing to take over" : p->n_new + p->n_replaced == 0 && p->plug_type[0] == '\0' ? "all of it is in the logbook already" : NULL;
    if ((ui_button(ui, "take.accept", ui_cut_left(&foot, ui_button_width(ui, line, &take)), line, &take) || (!ui_typing(ui) && ui_key(ui, "Ctrl+Enter"))) && take.disabled == NULL)
        actions_add(out, ACT_TAKE_ACCEPT);
    ui_cut_left(&foot, 14);
    ui_text(ui, foot, take.disabled != NULL ? take.disabled : "One step of undo takes all of it back.", &(struct ui_style){.colour = UI_TEXT_SOFT});
    ui_modal_end(ui);
    if (st->panel == PANEL_NONE)
        actions_add(out, ACT_TAKE_STOP);
}
