/* panel_noted.c - pressures and leaks of all cylinders (Shift+M), and the particulars of one plug (Shift+D). */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "base/units.h"
#include "reading/job.h"
#include "reading/pressure.h"
#include "screen/panels.h"
#include "screen/refused.h"

/* ---- compression and leak-down ---- */

static const struct measure_column columns[] = {
    {"dry", "dry", "compression_pa", "compression", true, offsetof(struct reading, compression_kpa), 5000, "compression pressure"},
    {"wet", "wet", "compression_wet_pa", "wet compression", true, offsetof(struct reading, compression_wet_kpa), 5000, "compression pressure"},
    {"leak", "leak-down %", "leak_percent", "leak-down", false, offsetof(struct reading, leak_percent), 100, "a leak-down: write per cent, 0 to 100"},
    {"differential", "over 80 psi", "differential_over_80", "differential", false, offsetof(struct reading, differential_over_80), 80,
     "a differential reading: write what the second gauge shows with 80 psi on the first, 0 to 80"},
};
#define N_COLUMNS ((int)(sizeof columns / sizeof columns[0]))

const struct measure_column *measure_columns(int *n)
{
    *n = N_COLUMNS;
    return columns;
}

static void pressure_words(const struct model *m, double kpa, char *to, size_t n_room)
{
    const struct unit *unit = unit_find(m->pressure);

    text_from_double(to, n_room, kpa * 1000 / unit->factor, strcmp(unit->id, "bar") == 0 ? 1 : 0);
}

bool measure_field(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, int cylinder, int column, const char *id, struct rect r)
{
    const struct measure_column *k = &columns[column];
    const struct reading *q = model_reading(m, cylinder, 0);
    struct ui_field field = {.name = k->label, .select_all = true, .placeholder = k->pressure ? unit_find(m->pressure)->label : ""};
    char now[24] = "", typed[64], name[64];
    struct maybe value = q != NULL ? *(const struct maybe *)((const char *)q + k->at) : (struct maybe){false, 0};
    unsigned result;

    if (value.given && k->pressure)
        pressure_words(m, value.value, now, sizeof now);
    else if (value.given)
        text_from_double(now, sizeof now, value.value, value.value == floor(value.value) ? 0 : 1);
    measure_field_name(cylinder, column, name);
    result = refused_text_field(ui, st, id, name, r, field, now, typed, sizeof typed);
    if ((result & UI_COMMIT) != 0 && m->can_write && strcmp(typed, now) != 0) {
        struct action *a = actions_add(out, ACT_SET_MEASURE);

        a->cylinder = cylinder;
        a->number = column;
        refused_typed(a, name, typed, result);
        st->measure_row = cylinder; /* the air is listened for where a figure was just taken */
    }
    return (result & UI_ENTER) != 0;
}

void measure_field_name(int cylinder, int column, char to[64])
{
    text_format(to, 64, "%s %d", columns[column].column, cylinder);
}

bool measure_is_field(const char *name)
{
    for (int k = 0; k < N_COLUMNS; k++)
        if (text_starts(name, columns[k].column) && name[strlen(columns[k].column)] == ' ')
            return true;
    return false;
}

static const char *heard_label(const struct word *words, int i)
{
    return i == 0 ? "listened: nothing" : words[i - 1].label;
}

/* An engine that is cooled by air shows no bubbles; what was noted stays to be taken back. */
static bool heard_fits(const struct engine *en, const struct word *word, bool on)
{
    return on || strcmp(word->id, "coolant") != 0 || !engine_is_propeller_like(en);
}

static float heard_height(struct ui *ui, float width)
{
    struct ui_flow flow = ui_flow_begin((struct rect){0, 0, width, 0}, ui_target_px(ui));
    int n;
    const struct word *words = words_rows(WORDS_LEAK_HEARD, &n);

    for (int i = 0; i <= n; i++)
        ui_flow_next(&flow, ui_chip_width(ui, heard_label(words, i), NULL));
    return 24 + ui_flow_height(&flow);
}

static void heard(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect *r)
{
    const struct engine *en = &m->record->engine;
    int c = st->measure_row < en->n_cylinders ? st->measure_row : 0, n;
    const struct reading *q = model_reading(m, c, 0);
    const struct word *words = words_rows(WORDS_LEAK_HEARD, &n);
    bool given = q != NULL && q->leak_heard_given;
    struct ui_flow flow;
    char line[80];

    text_format(line, sizeof line, "Where the air is heard at %s", en->cylinders[c].label);
    ui_heading(ui, ui_cut_top(r, 24), line);
    flow = ui_flow_begin(*r, ui_target_px(ui));
    for (int i = 0; i <= n; i++) {
        const char *label = heard_label(words, i);
        bool on = given && (i == 0 ? q->leak_heard == 0 : (q->leak_heard >> (i - 1) & 1u) != 0);
        char id[64];

        if (i > 0 && !heard_fits(en, &words[i - 1], on))
            continue;
        text_format(id, sizeof id, "measure.heard.%s", i == 0 ? "nothing" : words[i - 1].id);
        if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, label, NULL)), label, on, NULL) && m->can_write) {
            struct action *a = actions_add(out, ACT_TOGGLE_HEARD);

            a->cylinder = c;
            a->number = i;
        }
    }
    ui_cut_top(r, ui_flow_height(&flow) + 8);
}

/* A test by air is what is being typed, not one by a gauge. */
static bool by_air(struct ui *ui)
{
    static const char *const fields[] = {"measure.leak.", "measure.differential.", "measure.heard."};
    bool air = false;

    for (size_t i = 0; i < sizeof fields / sizeof fields[0]; i++)
        air = air || text_starts(ui_focused(ui), fields[i]);
    return air;
}

/* What can hurt at the test: a gauge is cranked on, air turns the crank; where there may be a propeller, that too. Gives the
 * ids of assets/cautions.csv, + between them. */
static const char *test_cautions(bool air, const struct engine *en)
{
    if (engine_is_propeller_like(en))
        return air ? "leakdown+propeller" : "compression+propeller";
    return air ? "leakdown" : "compression";
}

static float put_cautions(struct ui *ui, const char *ids, struct rect r, bool draws)
{
    static const struct ui_style style = {.colour = UI_WATCH_INK, .max_lines = 3, .top = true};
    const struct job_caution *list[JOB_MOST_CAUTIONS];
    int n = job_cautions_of(ids, list);
    float y = r.y;

    for (int i = 0; i < n; i++) {
        float h = ui_text_height(ui, r.w - 18, list[i]->text, &style);
        char id[48];

        text_format(id, sizeof id, "measure.caution.%s", list[i]->id);
        if (draws) {
            ui_diamond(ui, r.x + 5, y + 9, 9, ui_rgba(UI_WATCH_INK));
            ui_text(ui, (struct rect){r.x + 18, y, r.w - 18, h}, list[i]->text, &style);
            ui_note(ui, id, (struct rect){r.x, y, r.w, h}, "caution", list[i]->text);
        }
        y += h + 4;
    }
    return y - r.y + 4;
}

/* Why figures of a row were not taken, below it; gives the height. draw false: only measured. */
static float row_refusals(struct ui *ui, const struct model *m, struct screen_state *st, int cylinder, struct rect r, bool draw)
{
    float top = r.y;
    char name[64], id[64];

    for (int k = 0; k < N_COLUMNS; k++) {
        measure_field_name(cylinder, k, name);
        text_format(id, sizeof id, "measure.%s.%s", columns[k].id, m->record->engine.cylinders[cylinder].label);
        r.y += refused_words(ui, st, id, name, r, draw);
    }
    return r.y - top;
}

static float refusals_px(struct ui *ui, const struct model *m, struct screen_state *st)
{
    float sum = 0;

    for (int c = 0; c < m->record->engine.n_cylinders; c++)
        sum += row_refusals(ui, m, st, c, (struct rect){0, 0, 672 - 82, 0}, false);
    return sum;
}

void panel_measures(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    static const char *const units[] = {"kPa", "bar", "psi"};
    const struct engine *en = &m->record->engine;
    struct ui_style soft = {.colour = UI_TEXT_SOFT, .align = UI_CENTRE}, number = {.size_px = 14, .weight = UI_SEMIBOLD, .colour = UI_TEXT};
    float row_px = ui_target_px(ui) + 8;
    /* room for either test's caution: no row moves when the other is turned to, nor one above a figure that is refused */
    const struct rect wide = {0, 0, 672, 0};
    float cautions_px = fmaxf(put_cautions(ui, test_cautions(false, en), wide, false), put_cautions(ui, test_cautions(true, en), wide, false));
    float whole_px = 194 + cautions_px + heard_height(ui, 672) + row_px * (float)en->n_cylinders;
    struct rect r = panel_begin(ui, "panel.measures", panel_grown(ui, 720, whole_px, refusals_px(ui, m, st)), "Compression and leak-down", st), head, content, low;
    float w = (r.w - 90) / (float)N_COLUMNS, y;
    int next_cylinder = -1, next_column = 0;
    char id[64];

    low = ui_cut_bottom(&r, 32 + heard_height(ui, r.w));
    head = ui_cut_top(&r, 40);
    for (int i = 0; i < 3; i++) {
        float chip = ui_chip_width(ui, units[i], NULL);

        text_format(id, sizeof id, "measure.unit.%s", units[i]);
        if (ui_chip(ui, id, ui_cut_left(&head, chip), units[i], strcmp(m->pressure, units[i]) == 0, NULL))
            text_copy(actions_add(out, ACT_SET_PRESSURE)->text, 8, units[i]);
        ui_cut_left(&head, 6);
    }
    ui_text(ui, head, "engine warm", &(struct ui_style){.colour = UI_TEXT_SOFT, .align = UI_RIGHT});
    ui_cut_top(&r, 4);
    put_cautions(ui, test_cautions(by_air(ui), en), ui_cut_top(&r, cautions_px), true);
    head = ui_cut_top(&r, 30);
    for (int k = 0; k < N_COLUMNS; k++) {
        char label[48];

        text_format(label, sizeof label, "%s%s%s", columns[k].label, columns[k].pressure ? ", " : "", columns[k].pressure ? m->pressure : "");
        ui_text(ui, (struct rect){head.x + 70 + (float)k * w, head.y, w, 28}, label, &soft);
    }
    content = ui_scroll_begin(ui, "measures", r);
    y = content.y;
    for (int c = 0; c < en->n_cylinders; c++) {
        struct rect row = {content.x, y, content.w, row_px};

        text_format(id, sizeof id, "measure.row.%s", en->cylinders[c].label);
        if (ui_region(ui, id, (struct rect){row.x, row.y, 62, row_px}, UI_ROLE_ROW, en->cylinders[c].label, st->measure_row == c ? "on" : "", 4).clicked)
            st->measure_row = c;
        if (st->measure_row == c)
            ui_fill_rgba(ui, (struct rect){row.x, row.y + 2, 4, row_px - 6}, ui_rgba(UI_SELECT));
        ui_text(ui, (struct rect){row.x + 12, row.y, 50, row_px}, en->cylinders[c].label, &number);
        for (int k = 0; k < N_COLUMNS; k++) {
            text_format(id, sizeof id, "measure.%s.%s", columns[k].id, en->cylinders[c].label);
            if (measure_field(ui, m, st, out, c, k, id, (struct rect){row.x + 70 + (float)k * w, row.y + 2, w - 12, row_px - 6})) {
                next_cylinder = c + 1; /* down the column, as they are taken */
                next_column = k;
            }
        }
        y += row_px + row_refusals(ui, m, st, c, (struct rect){row.x + 70, y + row_px, row.w - 82, 0}, true);
    }
    ui_scroll_end(ui, y - content.y + 4);
    if (next_cylinder >= 0 && next_cylinder < en->n_cylinders) {
        text_format(id, sizeof id, "measure.%s.%s", columns[next_column].id, en->cylinders[next_cylinder].label);
        ui_focus(ui, id);
    }
    {
        const struct reading *q = model_reading(m, st->measure_row, 0);
        char doubt[200] = "";
        struct rect said = ui_cut_top(&low, 32);

        if (q != NULL && q->compression_kpa.given && q->compression_wet_kpa.given)
            pressure_wet_doubt(q->compression_kpa.value, q->compression_wet_kpa.value, unit_find(m->pressure), doubt, sizeof doubt);
        if (doubt[0] != '\0') {
            ui_diamond(ui, said.x + 5, said.y + 9, 9, ui_rgba(UI_WATCH_INK));
            ui_text(ui, (struct rect){said.x + 18, said.y, said.w - 18, said.h}, doubt, &(struct ui_style){.colour = UI_WATCH_INK, .max_lines = 2, .top = true});
            ui_note(ui, "measure.doubt", said, "doubt", doubt);
        }
    }
    heard(ui, m, st, out, &low);
    ui_modal_end(ui);
}

/* ---- one plug ---- */

static void plug_text(struct actions *out, const struct screen_state *st, const char *column, const char *text)
{
    struct action *a = actions_add(out, ACT_SET_PLUG);

    a->cylinder = st->cylinder;
    a->position = st->position;
    text_copy(a->column, sizeof a->column, column);
    text_copy(a->text, sizeof a->text, text);
}

/* A row of chips, the word chosen again is taken back. Its letter goes from word to word, and behind the last to none. */
static void plug_words(struct ui *ui, const struct model *m, const struct screen_state *st, struct actions *out, const char *label, const char *key, const char *column, const struct word *words, int n, int now, struct rect *r)
{
    const char lower[2] = {(char)(key[0] - 'A' + 'a'), '\0'};
    const int next = now >= n ? 0 : (now > 0 ? now : 0) + 1;
    struct rect row = ui_cut_top(r, ui_target_px(ui) + 8);
    struct ui_flow flow;

    ui_text(ui, (struct rect){row.x, row.y, 124, row.h - 8}, label, &(struct ui_style){.colour = UI_TEXT_SOFT});
    ui_keycap(ui, row.x + 148, row.y + (row.h - 8) / 2, key, false);
    if (m->can_write && !ui_typing(ui) && ui_key(ui, lower))
        plug_text(out, st, column, next > 0 ? words[next - 1].id : "");
    row.x += 156;
    row.w -= 156;
    flow = ui_flow_begin(row, ui_target_px(ui));
    for (int i = 0; i < n; i++) {
        char id[64];

        text_format(id, sizeof id, "plug.%s.%s", column, words[i].id);
        if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, words[i].label, NULL)), words[i].label, now == i + 1, NULL) && m->can_write)
            plug_text(out, st, column, now == i + 1 ? "" : words[i].id);
    }
}

/* "This plug has run; counted: at least 100 h": what the logbook knows the plug to have run by this reading. */
static void counted_words(const struct model *m, const struct reading *q, char *to, size_t n_room)
{
    char run[48];

    text_copy(to, n_room, "This plug has run");
    for (size_t i = 0; i < m->n_parts && q->plug_id[0] != '\0'; i++)
        if (strcmp(m->parts[i].id, q->plug_id) == 0 && m->parts[i].run_m.given) {
            visit_format_odometer(m->parts[i].run_m, model_visit(m)->odometer_unit, run, sizeof run);
            text_format(to, n_room, "This plug has run; counted: %s%s", m->parts[i].run_at_least ? "at least " : "", run);
        }
}

void panel_plug(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    static const struct word yes_no[] = {{"yes", "yes"}, {"no", "no"}};
    static const struct reading nothing;
    const struct reading *q = model_reading(m, st->cylinder, st->position);
    char title[80], label[48], clock[16] = "", run[64] = "", counted[64], name[64], typed[64];
    struct rect r, content;

    if (q == NULL)
        q = &nothing;
    engine_plug_label(&m->record->engine, st->cylinder, st->position, label, sizeof label);
    text_format(title, sizeof title, "Particulars of %s", label);
    r = panel_begin(ui, "panel.plug", panel_middle(ui, 720, 260 + 8 * (ui_target_px(ui) + 8)), title, st);
    content = ui_scroll_begin(ui, "plug", r);
    r = (struct rect){content.x, content.y, r.w - 12, 4000}; /* beside its bar */
    {
        const struct {
            const char *label, *key, *column;
            enum words list;
            int now;
        } lists[] = {{"In its hole it was", "T", "tightness", WORDS_TIGHTNESS, q->tightness}, {"Insulator", "I", "insulator", WORDS_INSULATOR, q->insulator},
                     {"Electrodes", "E", "electrode", WORDS_ELECTRODE, q->electrode},         {"Wear is on", "W", "wear_on", WORDS_WEAR_ON, q->wear_on},
                     {"Heavier on the", "H", "heavier_side", WORDS_SIDE, q->heavier_side},    {"Oil on the threads", "O", "threads_turns", WORDS_TURNS, q->threads_turns}};

        for (size_t i = 0; i < sizeof lists / sizeof lists[0]; i++) {
            int n;
            const struct word *words = words_rows(lists[i].list, &n);

            plug_words(ui, m, st, out, lists[i].label, lists[i].key, lists[i].column, words, n, lists[i].now, &r);
        }
    }
    plug_words(ui, m, st, out, "Wetness dries off", "D", "dries", yes_no, 2, q->dries, &r);
    plug_words(ui, m, st, out, "Plug as in the book", "B", "as_book", yes_no, 2, q->as_book, &r);
    ui_text(ui, ui_cut_top(&r, 24), "A letter notes the first word of its row; again: the next, behind the last none.", &(struct ui_style){.colour = UI_TEXT_SOFT});
    ui_cut_top(&r, 8);
    if (q->mark_clock > 0)
        text_from_count(clock, sizeof clock, q->mark_clock);
    visit_format_odometer(q->plug_distance_m, model_visit(m)->odometer_unit, run, sizeof run);
    counted_words(m, q, counted, sizeof counted);
    {
        const struct {
            const char *id, *label, *hint, *column, *value;
        } fields[] = {{"plug.clock", "Mark on the body points to, o'clock", "12 is the intake", "mark_clock", clock}, {"plug.run", counted, "12,000 mi", "plug_distance_m", run}};
        float half = (r.w - 16) / 2, below = 0;

        for (int i = 0; i < 2; i++) {
            struct rect at = {r.x + (float)i * (half + 16), r.y, half, 64};
            struct ui_field o = {.name = fields[i].label, .placeholder = fields[i].hint};
            unsigned result;

            ui_heading(ui, ui_cut_top(&at, 22), fields[i].label);
            text_format(name, sizeof name, "%s %d.%d", fields[i].column, st->cylinder, st->position);
            result = refused_text_field(ui, st, fields[i].id, name, (struct rect){at.x, at.y, half, 40}, o, fields[i].value, typed, sizeof typed);
            if ((result & UI_COMMIT) != 0 && m->can_write && strcmp(typed, fields[i].value) != 0) {
                plug_text(out, st, fields[i].column, typed);
                refused_typed(&out->list[out->n - 1], name, typed, result);
            }
            below = fmaxf(below, refused_words(ui, st, fields[i].id, name, (struct rect){at.x, at.y + 44, half, 60}, true));
        }
        ui_cut_top(&r, 70 + below);
    }
    if (q->plug_name[0] != '\0') {
        char line[120];

        text_format(line, sizeof line, "It is “%s”. Renew or move it on the Job screen, Ctrl+J.", q->plug_name);
        ui_text(ui, ui_cut_top(&r, 24), line, &(struct ui_style){.colour = UI_TEXT_SOFT});
    }
    ui_scroll_end(ui, r.y - content.y);
    ui_modal_end(ui);
}
