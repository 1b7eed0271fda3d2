/* panel_visit.c - all that is said of a visit as a whole (F5). */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "screen/panels.h"
#include "screen/refused.h"

/* Room kept under the first fields for two lines: what is said of them pushes nothing away. */
#define SAID_PX 44.0f

struct visit_field {
    const char *id, *label, *column, *hint;
    bool multiline;
};

static void text_box(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct visit_field *f, const char *value, struct rect r)
{
    struct ui_field o = {.name = f->label, .placeholder = f->hint, .multiline = f->multiline};
    char typed[4096];
    unsigned result;

    result = refused_text_field(ui, st, f->id, f->id, r, o, value, typed, sizeof typed);
    if ((result & UI_COMMIT) != 0 && m->can_write) {
        struct action *a = actions_add(out, ACT_SET_VISIT_TEXT);

        text_copy(a->column, sizeof a->column, f->column);
        refused_typed(a, f->id, typed, result);
    }
}

static void text_row(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct visit_field *f, const char *value, struct rect r)
{
    ui_heading(ui, ui_cut_top(&r, 22), f->label);
    text_box(ui, m, st, out, f, value, r);
}

/* A date still to come is said, and taken all the same: it may be the clock that is wrong. */
static float date_to_come(struct ui *ui, const struct model *m, const struct visit *v, struct rect r)
{
    char today[32], said[200];
    struct ui_style s = {.colour = UI_WATCH_INK, .weight = UI_MEDIUM, .max_lines = 3, .top = true};

    if (v->date[0] == '\0' || strcmp(v->date, m->today) <= 0)
        return 0;
    clock_date_words(m->today, today, sizeof today);
    text_format(said, sizeof said, "This date is still to come: today is %s. Until then this visit does not count as how the engine is now.", today);
    r.h = ui_text(ui, r, said, &s);
    ui_note(ui, "visit.date.to-come", r, said, "");
    return r.h + 8;
}

/* One that shows less than before, or more than can have been run since, is said, and taken all the same: it may be another instrument. */
static float went_back(struct ui *ui, const struct model *m, struct rect r)
{
    int visit = m->record->n_visits - 1, before = record_odometer_breaks(m->record, visit);
    char was[40], on[32], said[320];
    struct ui_style s = {.colour = UI_WATCH_INK, .weight = UI_MEDIUM, .max_lines = 4, .top = true};

    if (before < 0)
        return 0;
    visit_format_odometer(m->record->visits[before].odometer_m, m->record->visits[before].odometer_unit, was, sizeof was);
    clock_date_words(m->record->visits[before].date, on, sizeof on);
    if (record_odometer_back(m->record, visit) >= 0)
        text_format(said, sizeof said, "Less than before: %s%s%s. If that is right, growth is not computed across it.", was, on[0] ? " on " : "", on);
    else
        text_format(said, sizeof said, "A digit too many? It was %s on %s, and no engine runs so far in those days. As it stands nothing is computed across it, and it does not show that the engine has run.", was, on);
    r.h = ui_text(ui, r, said, &s);
    ui_note(ui, "visit.odometer.went-back", r, said, "");
    return r.h + 8;
}

static void word_chips(struct ui *ui, const struct model *m, struct actions *out, enum words list, const char *column, int now, struct rect *r)
{
    int n;
    const struct word *rows = words_rows(list, &n);
    struct ui_flow flow = ui_flow_begin(*r, 34);

    for (int i = 0; i < n; i++) {
        char id[64];

        text_format(id, sizeof id, "visit.%s.%s", column, rows[i].id);
        if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, rows[i].label, NULL)), rows[i].label, now == i + 1, NULL) && m->can_write) {
            struct action *a = actions_add(out, ACT_SET_VISIT_TEXT);

            text_copy(a->column, sizeof a->column, column);
            text_copy(a->text, sizeof a->text, now == i + 1 ? "" : rows[i].id);
        }
    }
    ui_cut_top(r, ui_flow_height(&flow) + 12);
}

static bool typed_in(enum panel_id panel, const char *field)
{
    return panel == PANEL_VISIT      ? text_starts(field, "visit.")
           : panel == PANEL_MEASURES ? measure_is_field(field)
           : panel == PANEL_PLUG     ? text_starts(field, "mark_clock ") || text_starts(field, "plug_distance_m ")
                                     : false;
}

void panel_tell_what_waits(struct ui *ui, const struct screen_state *st, enum panel_id panel)
{
    const char *where = panel == PANEL_VISIT ? "Visit, F5" : panel == PANEL_MEASURES ? "Compression and leak-down, Shift+M" : "Particulars, Shift+D";

    for (int i = st->n_refused - 1; i >= 0; i--) /* the latest */
        if (typed_in(panel, st->refused[i].field)) {
            char said[400];

            text_format(said, sizeof said, "Not taken yet (it waits in %s): %s", where, st->refused[i].words);
            ui_toast(ui, said, NULL);
            return;
        }
}

void panel_show_what_waits(struct screen_state *st)
{
    st->to_show[0] = '\0';
    for (int i = 0; i < st->n_refused && st->panel == PANEL_VISIT; i++)
        if (typed_in(PANEL_VISIT, st->refused[i].field))
            text_copy(st->to_show, sizeof st->to_show, st->refused[i].field);
}

/* ---- tests made, covers looked at ---- */

static void set_test(struct actions *out, int test, int cylinder, int result)
{
    struct action *a = actions_add(out, ACT_SET_TEST);

    a->sign = test;
    a->cylinder = cylinder;
    a->amount = result;
}

/* As wide as its widest result: what is tapped moves none of the others. */
static float test_chip_px(struct ui *ui, const char *cylinder, const int *results, int n_results)
{
    float w = ui_chip_width(ui, cylinder, NULL);
    char label[64];

    for (int i = 0; i < n_results; i++) {
        text_format(label, sizeof label, "%s %s", cylinder, words_label(WORDS_TEST_RESULT, results[i]));
        w = fmaxf(w, ui_chip_width(ui, label, NULL));
    }
    return w;
}

/* A chip for each cylinder; each press is the next result: not made, what speaks of a fault and where, nothing found. */
static void tests(struct ui *ui, const struct model *m, struct actions *out, struct rect *r)
{
    static const char *const asks[] = {"Cut out one by one: where does the idle not change?", "Sprayed damp: where does it miss?", "Looked at in the dark: where are sparks seen?"};
    const struct visit *v = model_visit(m);
    const struct engine *en = &m->record->engine;
    int n;
    const struct word *rows = words_rows(WORDS_TEST, &n);

    for (int t = 1; t <= n; t++) {
        struct ui_flow flow;
        int results[VISIT_TEST_RESULTS], n_results = visit_test_results(t, results);

        ui_heading(ui, ui_cut_top(r, 22), asks[t - 1]);
        flow = ui_flow_begin(*r, 34);
        for (int c = 0; c < en->n_cylinders; c++) {
            int now = visit_find_test(v, t, c);
            char id[64], label[64];

            text_format(id, sizeof id, "visit.test.%s.%s", rows[t - 1].id, en->cylinders[c].label);
            text_format(label, sizeof label, "%s%s%s", en->cylinders[c].label, now ? " " : "", now ? words_label(WORDS_TEST_RESULT, now) : "");
            if (ui_chip(ui, id, ui_flow_next(&flow, test_chip_px(ui, en->cylinders[c].label, results, n_results)), label, visit_test_tells_fault(t, now), NULL) && m->can_write) {
                int next = 0;

                while (next < n_results && now != 0 && results[next] != now)
                    next++;
                next += now != 0;
                if (next < n_results && strcmp(words_id(WORDS_TEST_RESULT, results[next]), "sparks-lead") == 0 && !engine_may_have_leads(en))
                    next++;
                set_test(out, t, c, next < n_results ? results[next] : 0);
            }
        }
        ui_cut_top(r, ui_flow_height(&flow) + 12);
    }
}

static void yes_no(struct ui *ui, const struct model *m, struct actions *out, const char *column, int now, struct rect *r)
{
    static const char *const words[] = {"yes", "no"};
    struct ui_flow flow = ui_flow_begin(*r, 34);

    for (int i = 0; i < 2; i++) {
        char id[64];

        text_format(id, sizeof id, "visit.%s.%s", column, words[i]);
        if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, words[i], NULL)), words[i], now == i + 1, NULL) && m->can_write) {
            struct action *a = actions_add(out, ACT_SET_VISIT_TEXT);

            text_copy(a->column, sizeof a->column, column);
            text_copy(a->text, sizeof a->text, now == i + 1 ? "" : words[i]);
        }
    }
    ui_cut_top(r, ui_flow_height(&flow) + 12);
}

/* Noted of a bank's cover; 0 nothing. */
static int outside_amount(const struct visit *v, int bank)
{
    for (int i = 0; i < v->n_outside; i++)
        if (v->outside[i].bank == bank)
            return v->outside[i].amount;
    return 0;
}

static void covers(struct ui *ui, const struct model *m, struct actions *out, struct rect *r)
{
    const struct visit *v = model_visit(m);
    const struct engine *en = &m->record->engine;
    struct ui_flow flow;
    int pressed = -2, less = -2;

    ui_heading(ui, ui_cut_top(r, 22), "Oil along the covers' outer edges, looked at from outside");
    flow = ui_flow_begin(*r, 34);
    if (ui_chip(ui, "visit.outside.none", ui_flow_next(&flow, ui_chip_width(ui, "looked: nothing", NULL)), "looked: nothing", v->outside_seen && v->n_outside == 0, NULL))
        pressed = -1;
    for (int b = 0; b < en->n_banks; b++) {
        int amount = outside_amount(v, b);
        char id[64], label[80];

        text_format(id, sizeof id, "visit.outside.%d", b);
        text_format(label, sizeof label, en->n_banks > 1 ? "bank %s%s%s" : "%.0sthe cover%s%s", en->banks[b].name, amount ? ": " : "", amount ? amount_words(amount) : "");
        if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, label, NULL)), label, amount > 0, NULL))
            pressed = b;
        text_format(id, sizeof id, "visit.outside.%d.less", b);
        if (amount > 0 && ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, "less", NULL)), "less", false, NULL))
            less = b;
    }
    ui_cut_top(r, ui_flow_height(&flow) + 12);
    if ((pressed >= -1 || less >= 0) && m->can_write) {
        struct action *a = actions_add(out, ACT_SET_OUTSIDE);

        a->number = less >= 0 ? less : pressed;
        a->amount = less >= 0 ? outside_amount(v, less) - 1 : amount_next(outside_amount(v, pressed));
    }
    ui_heading(ui, ui_cut_top(r, 22), "Oil in the intake");
    yes_no(ui, m, out, "oil_in_intake", v->oil_in_intake, r);
}

/* ---- weather, oil, further days ---- */

static void care(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect *r)
{
    static const struct visit_field fields[] = {{"visit.last-day", "Until, when it took several days", "last_day", "2026-06-16", false},
                                                {"visit.weather", "Weather", "weather", "14 °C, damp", false},
                                                {"visit.oil-level", "Oil level as found", "oil_level", "at MIN", false},
                                                {"visit.oil-use", "Oil use", "oil_use", "1 l in 2,000 km", false},
                                                {"visit.oil-change", "Oil changed, amount", "oil_change", "7.4 l", false},
                                                {"visit.oil-grade", "Oil grade", "oil_grade", "5W-30", false},
                                                {"visit.oil-filter", "Oil filter", "oil_filter", "part number, how tight", false}};
    const struct visit_care *c = &model_visit(m)->care;
    char amount[48];
    const char *const values[] = {c->last_day, c->weather, c->oil_level, c->oil_use, amount, c->oil_grade, c->oil_filter};
    float third = (r->w - 32) / 3;

    visit_format_oil_change(c, amount, sizeof amount);
    for (int i = 0; i < 7; i += 3) {
        struct rect row = ui_cut_top(r, 76);
        float below = 0;

        for (int k = 0; k < 3 && i + k < 7; k++) {
            struct rect at = {row.x + (float)k * (third + 16), row.y, third, 64};

            text_row(ui, m, st, out, &fields[i + k], values[i + k], at);
            below = fmaxf(below, refused_words(ui, st, fields[i + k].id, fields[i + k].id, (struct rect){at.x, at.y + 68, third, 80}, true));
        }
        ui_cut_top(r, below);
    }
}

/* "Complaint · “misfire, hot idle”: gone?" where an earlier visit had one and this one was not asked yet. */
static void asked_before(const struct model *m, char *to, size_t n_room)
{
    char asked[200] = "";

    if (!model_visit(m)->complaints_given && !visit_complains(model_visit(m))) /* its own words are no earlier ones */
        job_complaint_asked(m->record, asked, sizeof asked);
    text_format(to, n_room, "Complaint%s%s", asked[0] ? " · earlier " : "", asked);
}

/* What it read last, "182,400 km before"; where nothing is known, an example in the unit it may count in. */
static const char *odometer_example(const struct model *m, char *to, size_t n_room)
{
    const struct record *r = m->record;
    int unit = 0;

    for (int i = r->n_visits - 1; i >= 0 && unit == 0; i--)
        if (r->visits[i].odometer_m.given) {
            unit = r->visits[i].odometer_unit;
            visit_format_odometer(r->visits[i].odometer_m, unit, to, n_room);
            if (i < r->n_visits - 1 && text_format(to + strlen(to), n_room - strlen(to), " before"))
                return to;
        }
    if (unit != 0 ? unit == words_find(WORDS_ODOMETER_UNIT, "h") : engine_is_propeller_like(&r->engine))
        return "1240 h";
    return unit != 0 ? unit == words_find(WORDS_ODOMETER_UNIT, "mi") ? "97655 mi" : "97655 km" : m->inches ? "97655 mi" : "97655 km";
}

/* ---- the panel ---- */

void panel_visit(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    const struct visit *v = model_visit(m);
    char last[48];
    const struct visit_field fields[] = {{"visit.date", "Date", "date", "2026-06-14", false},
                                                {"visit.odometer", "Odometer", "odometer", odometer_example(m, last, sizeof last), false},
                                                {"visit.codes", "Trouble codes", "codes", "P0306", false},
                                                {"visit.removal", "Order the plugs come out", "removal", "", false},
                                                {"visit.notes", "Notes", "notes", "what you saw, heard, smelled", true},
                                                {"visit.complaint-words", "Complaint in your own words", "complaint_words", "in your own words: slight miss at hot idle, gone above 1500", false}};
    const struct engine *en = &m->record->engine;
    struct visit_field order = fields[3];
    struct ui_button gone = {.look = UI_LOOK_QUIET}, tap = {.key = "Shift+R"};
    const float tap_w = ui_button_width(ui, "Tap them on the plan", &tap);
    struct rect outer, r, row, content;
    char hint[256] = "", values[3][256] = {{0}}, removal[1024], scroll[64], last_time[280];
    float start, third, below = SAID_PX;
    int n;
    const struct word *complaints = words_rows(WORDS_COMPLAINT, &n);

    outer = panel_begin(ui, "panel.visit", panel_tall(ui, VISIT_W, VISIT_H), VISIT_TITLE, st);
    text_format(scroll, sizeof scroll, "visit.of.%s", m->visit_id); /* each visit from its top */
    content = ui_scroll_begin(ui, scroll, outer);
    r = (struct rect){content.x + 4, content.y, content.w - 24, 4000};
    start = r.y;
    third = (r.w - 32) / 3;
    row = ui_cut_top(&r, 76);
    text_copy(values[0], sizeof values[0], v->date);
    visit_format_odometer(v->odometer_m, v->odometer_unit, values[1], sizeof values[1]);
    for (int i = 0; i < v->n_codes; i++)
        text_format(values[2] + strlen(values[2]), sizeof values[2] - strlen(values[2]), "%s%s", i ? " " : "", v->codes[i]);
    for (int i = 0; i < 3; i++) {
        struct rect at = {row.x + (float)i * (third + 16), row.y, third, 64}, said = {at.x, at.y + 68, third, 80};
        float h;

        text_row(ui, m, st, out, &fields[i], values[i], at);
        conflicts_mark(ui, m, "visit", i == 1 ? "odometer_m" : fields[i].column, (struct rect){at.x + 80, at.y, at.w - 80, 20});
        h = refused_words(ui, st, fields[i].id, fields[i].id, said, true);
        if (i == 0 && h <= 0)
            h = date_to_come(ui, m, v, said);
        else if (i == 1 && h <= 0)
            h = went_back(ui, m, said);
        below = fmaxf(below, h);
    }
    ui_cut_top(&r, below);
    asked_before(m, last_time, sizeof last_time);
    row = ui_cut_top(&r, 22);
    ui_heading(ui, row, last_time);
    conflicts_mark(ui, m, "visit", fields[5].column, (struct rect){row.x + row.w * 0.4f, row.y, row.w * 0.6f, 20});
    {
        struct ui_flow flow = ui_flow_begin(r, 34);

        for (int i = 0; i < n; i++) {
            bool on = false;
            char id[64];

            for (int k = 0; k < v->n_complaints; k++)
                on = on || v->complaints[k] == i + 1;
            text_format(id, sizeof id, "visit.complaint.%s", complaints[i].id);
            if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, complaints[i].label, NULL)), complaints[i].label, on, NULL) && m->can_write)
                actions_add(out, ACT_TOGGLE_COMPLAINT)->number = i + 1;
        }
        ui_cut_top(&r, ui_flow_height(&flow) + 12);
    }
    row = ui_cut_top(&r, 54);
    text_box(ui, m, st, out, &fields[5], v->complaint_words, (struct rect){row.x, row.y, row.w, 42});
    ui_heading(ui, ui_cut_top(&r, 22), "How it last ran before the plugs came out");
    word_chips(ui, m, out, WORDS_LAST_RUN, "last_run", v->last_run, &r);
    ui_heading(ui, ui_cut_top(&r, 22), "Socket between plugs");
    word_chips(ui, m, out, WORDS_SOCKET, "socket", v->socket, &r);
    ui_heading(ui, ui_cut_top(&r, 22), "Fuel");
    word_chips(ui, m, out, WORDS_FUEL, "fuel", v->fuel, &r);
    row = ui_cut_top(&r, 76);
    visit_format_removal(en, v, removal, sizeof removal);
    if (en->n_positions > 1) /* how a plug is named; of the others the labels as they stand */
        text_format(hint, sizeof hint, "%s %s, %s %s …", en->cylinders[0].label, en->position_names[0], en->cylinders[0].label, en->position_names[1]);
    for (int c = 0; c < en->n_cylinders && en->n_positions == 1; c++)
        text_format(hint + strlen(hint), sizeof hint - strlen(hint), "%s%s", c ? " " : "", en->cylinders[c].label);
    order.hint = hint;
    text_row(ui, m, st, out, &order, removal, (struct rect){row.x, row.y, row.w - tap_w - 14, 64});
    ui_cut_top(&r, fmaxf(SAID_PX / 2, refused_words(ui, st, order.id, order.id, (struct rect){row.x, row.y + 68, row.w - tap_w - 14, 80}, true)));
    if (m->can_write && ui_button(ui, "visit.tap-order", (struct rect){row.x + row.w - tap_w, row.y + 24, tap_w, 38}, "Tap them on the plan", &tap))
        plan_order_begin(m, st);
    row = ui_cut_top(&r, 150);
    text_row(ui, m, st, out, &fields[4], v->notes, row);
    conflicts_mark(ui, m, "visit", "notes", (struct rect){row.x + 80, row.y, row.w - 80, 20});
    ui_cut_top(&r, 12);
    tests(ui, m, out, &r);
    covers(ui, m, out, &r);
    care(ui, m, st, out, &r);
    panel_work(ui, m, st, out, &r);
    row = ui_cut_top(&r, ui_target_px(ui));
    if (m->can_write && ui_button(ui, "visit.take-out", ui_cut_left(&row, ui_button_width(ui, "Take this visit out…", &gone)), "Take this visit out…", &gone))
        st->panel = PANEL_REMOVE_VISIT;
    ui_scroll_end(ui, r.y - start + 20);
    ui_modal_end(ui);
}
