/* screen_panels.c - what opens over a screen: the visit, the signs of one zone, the keys. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "reading/compression.h"
#include "screen/commands.h"
#include "screen/refused.h"

static struct rect middle(struct ui *ui, float w, float h)
{
    struct rect s = ui_screen(ui);

    w = fminf(w, s.w - 32);
    h = fminf(h, s.h - 32);
    return (struct rect){(s.w - w) / 2, (s.h - h) / 2, w, h};
}

struct rect panel_begin(struct ui *ui, const char *id, struct rect r, const char *title, struct screen_state *st)
{
    struct rect head;
    struct ui_button leave = {.look = UI_LOOK_QUIET, .key = "Esc"};

    ui_modal_begin(ui, id, r, title);
    ui_round(ui, r, 12, UI_PANEL);
    r = ui_inset(r, 24, 18);
    head = ui_cut_top(&r, 40);
    if (ui_button(ui, "panel.close", ui_cut_right(&head, 110), "Close", &leave))
        st->panel = PANEL_NONE;
    ui_text(ui, head, title, &(struct ui_style){.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_TEXT});
    ui_cut_top(&r, 8);
    return r;
}

/* ---- signs of one zone: a letter or an arrow notes, the same again takes it away ---- */

static void signs_panel(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    static const char *const amounts[] = {"none", "trace", "moderate", "heavy"};
    const struct reading *reading = model_reading(m, st->cylinder, st->position);
    int first = (int)sign_first(st->signs_zone), n = sign_count(st->signs_zone);
    char title[80], label[48], id[64];
    struct rect r;
    bool seen = reading != NULL && reading->zone_seen[st->signs_zone];

    engine_plug_label(&m->record->engine, st->cylinder, st->position, label, sizeof label);
    text_format(title, sizeof title, "%s of %s", zone_row(st->signs_zone)->label, label);
    r = panel_begin(ui, "panel.signs", middle(ui, 640, 150 + 44 * (float)n), title, st);
    for (int s = first; s < first + n; s++) {
        struct rect row = ui_cut_top(&r, 44);
        const struct sign_row *sr = sign_row((enum sign)s);
        char key[2] = {(char)(sr->key - 'a' + 'A'), '\0'};
        int now = reading != NULL && reading->amount[s] > 0 ? reading->amount[s] : 0;
        float x = row.x + row.w;

        ui_text(ui, (struct rect){row.x, row.y, 220, 40}, sr->label, &(struct ui_style){.size_px = 14, .weight = now ? UI_SEMIBOLD : UI_REGULAR, .colour = UI_TEXT});
        ui_keycap(ui, row.x + 250, row.y + 20, key, false);
        for (int a = 3; a >= 0; a--) {
            float w = ui_chip_width(ui, amounts[a], NULL);

            x -= w;
            text_format(id, sizeof id, "sign.%s.%s", sr->id, amounts[a]);
            if (ui_chip(ui, id, (struct rect){x, row.y + 2, w, 36}, amounts[a], seen && now == a, NULL) && m->can_write)
                actions_note_sign(out, st, s, a);
            x -= 6;
        }
        char lower[2] = {sr->key, '\0'};

        if (m->can_write && ui_key(ui, lower)) /* heavy, moderate, a trace, none */
            actions_note_sign(out, st, s, now > 0 ? now - 1 : 3);
    }
    ui_cut_top(&r, 10);
    {
        struct rect row = ui_cut_top(&r, 40);
        struct ui_button clean = {.key = "X"}, unseen = {.look = UI_LOOK_QUIET};

        if (m->can_write && (ui_button(ui, "signs.clean", ui_cut_left(&row, 220), st->signs_zone == ZONE_WELL ? "Dry and clean" : "Looked at: nothing", &clean) || ui_key(ui, "x"))) {
            actions_see_zone(out, st, st->signs_zone, true);
            st->panel = PANEL_NONE;
        }
        ui_cut_left(&row, 10);
        if (m->can_write && seen && ui_button(ui, "signs.unseen", ui_cut_left(&row, 160), "Not looked at", &unseen)) {
            actions_see_zone(out, st, st->signs_zone, false);
            st->panel = PANEL_NONE;
        }
    }
    if (ui_key(ui, "Enter"))
        st->panel = PANEL_NONE;
    ui_modal_end(ui);
}

/* ---- the visit ---- */

struct visit_field {
    const char *id, *label, *column, *hint;
    bool multiline;
};

static void text_row(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, const struct visit_field *f, const char *value, struct rect r)
{
    struct ui_field o = {.name = f->label, .placeholder = f->hint, .multiline = f->multiline};
    char typed[4096];
    unsigned result;

    ui_heading(ui, ui_cut_top(&r, 22), f->label);
    result = refused_text_field(ui, st, f->id, f->id, r, o, value, typed, sizeof typed);
    if ((result & UI_COMMIT) != 0 && m->can_write) {
        struct action *a = actions_add(out, ACT_SET_VISIT_TEXT);

        text_copy(a->column, sizeof a->column, f->column);
        refused_typed(a, f->id, typed, result);
    }
}

/* A date still to come is said, and taken all the same: it may be the clock that is wrong. */
static float date_to_come(struct ui *ui, const struct model *m, const struct visit *v, struct rect r)
{
    char today[32], said[120];
    struct ui_style s = {.colour = UI_WATCH_INK, .weight = UI_MEDIUM, .max_lines = 2, .top = true};

    if (v->date[0] == '\0' || strcmp(v->date, m->today) <= 0)
        return 0;
    clock_date_words(m->today, today, sizeof today);
    text_format(said, sizeof said, "This date is still to come: today is %s.", today);
    r.h = ui_text(ui, r, said, &s);
    ui_note(ui, "visit.date.to-come", r, said, "");
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

/* The panel goes while something typed in it was not taken: nobody should think that it was. */
static void tell_what_waits(struct ui *ui, const struct screen_state *st)
{
    for (int i = 0; i < st->n_refused; i++)
        if (text_starts(st->refused[i].field, "visit.")) {
            char said[400];

            text_format(said, sizeof said, "Not taken yet (it waits in Visit, F5): %s", st->refused[i].words);
            ui_toast(ui, said, NULL);
            return;
        }
}

static void visit_panel(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    const struct visit *v = model_visit(m);
    static const struct visit_field fields[] = {{"visit.date", "Date", "date", "2026-06-14", false},
                                                {"visit.odometer", "Odometer", "odometer", "97655 mi", false},
                                                {"visit.codes", "Trouble codes", "codes", "P0306", false},
                                                {"visit.removal", "Order the plugs come out", "removal", "", false},
                                                {"visit.notes", "Notes", "notes", "what you saw, heard, smelled", true}};
    const struct engine *en = &m->record->engine;
    struct visit_field order = fields[3];
    struct rect outer, r, row, content;
    char hint[256] = "", values[3][256] = {{0}}, removal[1024];
    float start, third, below = 0;
    int n;
    const struct word *complaints = words_rows(WORDS_COMPLAINT, &n);

    outer = panel_begin(ui, "panel.visit", middle(ui, 860, 720), "This visit", st);
    content = ui_scroll_begin(ui, "visit", outer);
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
        h = refused_words(ui, st, fields[i].id, fields[i].id, said, true);
        if (i == 0 && h <= 0)
            h = date_to_come(ui, m, v, said);
        below = fmaxf(below, h);
    }
    ui_cut_top(&r, below);
    ui_heading(ui, ui_cut_top(&r, 22), "Complaint");
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
    text_row(ui, m, st, out, &order, removal, (struct rect){row.x, row.y, row.w - 190, 64});
    ui_cut_top(&r, refused_words(ui, st, order.id, order.id, (struct rect){row.x, row.y + 68, row.w - 190, 80}, true));
    if (m->can_write && ui_button(ui, "visit.tap-order", (struct rect){row.x + row.w - 176, row.y + 24, 176, 38}, "Tap them on the plan", NULL)) {
        st->panel = PANEL_NONE;
        st->editing_order = true;
        text_copy(actions_add(out, ACT_SET_VISIT_TEXT)->column, 32, "removal");
    }
    text_row(ui, m, st, out, &fields[4], v->notes, ui_cut_top(&r, 150));
    ui_scroll_end(ui, r.y - start + 20);
    ui_modal_end(ui);
}

/* ---- keys ---- */

static void help_panel(struct ui *ui, struct screen_state *st)
{
    struct ui_style key = {.weight = UI_SEMIBOLD, .colour = UI_TEXT, .max_lines = 2, .top = true}, what = {.colour = UI_TEXT_SOFT, .max_lines = 3, .top = true};
    struct ui_style where = {.size_px = 11, .colour = UI_TEXT_QUIET, .max_lines = 2, .top = true};
    int n;
    const struct command *c = commands(&n);
    struct rect r = panel_begin(ui, "panel.help", middle(ui, 1080, 700), "Keys", st), content;
    float column = (r.w - 40) / 2, y[2];

    content = ui_scroll_begin(ui, "help", r);
    y[0] = y[1] = content.y;
    for (int i = 0; i < n; i++) {
        int side = i >= (n + 1) / 2;
        float x = content.x + (side ? column + 24 : 0), h;
        char places[80], id[64];

        commands_places(c[i].places, places, sizeof places);
        h = fmaxf(20, ui_text_height(ui, column - 216, c[i].words, &what));
        ui_text(ui, (struct rect){x, y[side], 112, 36}, c[i].shown, &key);
        ui_text(ui, (struct rect){x + 116, y[side], column - 216, 60}, c[i].words, &what);
        ui_text(ui, (struct rect){x + column - 94, y[side] + 2, 94, 30}, places, &where);
        text_format(id, sizeof id, "help.%s", c[i].id);
        ui_note(ui, id, (struct rect){x, y[side], column, h}, c[i].words, c[i].shown);
        y[side] += fmaxf(h, ui_text_height(ui, 94, places, &where) + 2) + 9;
    }
    ui_scroll_end(ui, fmaxf(y[0], y[1]) - content.y);
    ui_modal_end(ui);
}

/* Names what goes before it goes. */
static void remove_panel(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    const struct logbook_engine *e = &m->engines[st->engine_row];
    char title[ENGINE_NAME_BYTES + 32], said[400];
    struct rect r, row;
    struct ui_button yes = {.look = UI_LOOK_DARK}, no = {.key = "Esc"};

    text_format(title, sizeof title, "Take out “%s”?", e->name);
    r = panel_begin(ui, "panel.remove", middle(ui, 560, 230), title, st);
    if (e->n_visits > 0)
        text_format(said, sizeof said, "With it go its %d visit%s, with all readings, notes and steps. The photos stay as files in the logbook's folder. Undo brings everything back, also tomorrow.", e->n_visits, e->n_visits == 1 ? "" : "s");
    else
        text_copy(said, sizeof said, "It has no visit yet. Undo brings it back.");
    ui_text(ui, ui_cut_top(&r, 84), said, &(struct ui_style){.size_px = 14, .colour = UI_TEXT, .max_lines = 4, .top = true});
    ui_note(ui, "remove.what", r, "what goes", said);
    row = ui_cut_bottom(&r, 44);
    if (ui_button(ui, "remove.yes", ui_cut_left(&row, ui_button_width(ui, "Take it out", &yes)), "Take it out", &yes)) {
        text_copy(actions_add(out, ACT_REMOVE_ENGINE)->id, UUID_BYTES, e->id);
        st->panel = PANEL_NONE;
    }
    ui_cut_left(&row, 10);
    if (ui_button(ui, "remove.no", ui_cut_left(&row, ui_button_width(ui, "Leave it", &no)), "Leave it", &no))
        st->panel = PANEL_NONE;
    ui_modal_end(ui);
}

/* Makers differ: each published rule with where it is printed. */
static void rules_panel(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    int n;
    const struct compression_rule *rules = compression_rules(&n);
    struct rect r = panel_begin(ui, "panel.rules", middle(ui, 720, 150 + 58 * (float)n), "Compression is judged by", st);
    char id[48], words[sizeof rules[0].words];

    ui_text(ui, ui_cut_top(&r, 30), "Published rules differ. The engine maker's own comes first, where you have it.", &(struct ui_style){.colour = UI_TEXT_SOFT});
    for (int i = 0; i < n; i++) {
        struct rect row = ui_cut_top(&r, 58), line = ui_inset(row, 14, 6);
        bool on = strcmp(rules[i].id, m->compression_rule) == 0;
        struct ui_hit hit;

        text_format(id, sizeof id, "rule.%s", rules[i].id);
        hit = ui_region(ui, id, row, UI_ROLE_TOGGLE, rules[i].words, on ? "on" : "", 8);
        if (on)
            ui_select_line(ui, ui_inset(row, 0, 2), 8, 2);
        text_copy(words, sizeof words, rules[i].words);
        if (words[0] >= 'a' && words[0] <= 'z')
            words[0] = (char)(words[0] - 'a' + 'A');
        ui_text(ui, ui_cut_top(&line, 24), words, &(struct ui_style){.size_px = 14, .weight = UI_SEMIBOLD});
        ui_text(ui, ui_cut_top(&line, 20), rules[i].source, &(struct ui_style){.colour = UI_TEXT_SOFT});
        if (hit.clicked) {
            text_copy(actions_add(out, ACT_SET_RULE)->text, sizeof out->list[0].text, rules[i].id);
            st->panel = PANEL_NONE;
        }
    }
    ui_modal_end(ui);
}

void screen_panels(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    if (st->panel == PANEL_NONE)
        return;
    if (!ui_typing(ui) && ui_key(ui, "Escape")) {
        if (st->panel == PANEL_VISIT)
            tell_what_waits(ui, st);
        st->panel = PANEL_NONE;
        return;
    }
    switch (st->panel) {
    case PANEL_SIGNS:
        if (m->record != NULL && st->cylinder >= 0)
            signs_panel(ui, m, st, out);
        else
            st->panel = PANEL_NONE;
        break;
    case PANEL_VISIT:
        if (model_visit(m) != NULL)
            visit_panel(ui, m, st, out);
        else
            st->panel = PANEL_NONE;
        if (st->panel == PANEL_NONE)
            tell_what_waits(ui, st);
        break;
    case PANEL_HELP: help_panel(ui, st); break;
    case PANEL_FILES: screen_files(ui, m, st, out); break;
    case PANEL_REMOVE_ENGINE:
        if (m->record == NULL && st->engine_row < (int)m->n_engines && m->can_write)
            remove_panel(ui, m, st, out);
        else
            st->panel = PANEL_NONE;
        break;
    case PANEL_SEARCH: screen_search(ui, m, st, out); break;
    case PANEL_RULES: rules_panel(ui, m, st, out); break;
    case PANEL_NONE: break;
    }
}

void screen_all(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    struct rect r = ui_screen(ui);

    ui_set_large_targets(ui, m->large_targets);
    ui_fill(ui, r, UI_DESK);
    if (m->record == NULL)
        st->screen = SCREEN_ENGINES;
    else if (st->screen == SCREEN_ENGINES)
        st->screen = SCREEN_PLAN;
    if (m->record != NULL)
        plan_settle_digits(ui, m, st, out);
    if (!st->menu)
        commands_keys(ui, m, st, out);
    if (st->screen == SCREEN_ENGINES) {
        screen_engines(ui, m, st, out, r);
    } else {
        struct rect bar = ui_cut_top(&r, 52), visits = ui_cut_top(&r, m->large_targets ? 52 : 44);

        if (st->screen == SCREEN_PLAN && !st->menu)
            plan_keys(ui, m, st, out);
        screen_bar(ui, m, st, out, bar);
        screen_visits(ui, m, st, out, visits);
        if (st->screen == SCREEN_PLAN)
            screen_plan(ui, m, st, out, r);
        else if (st->screen == SCREEN_LINEUP)
            screen_lineup(ui, m, st, out, r);
        else if (st->screen == SCREEN_JOB && model_visit(m) != NULL)
            screen_job(ui, m, st, out, r);
        else if (st->screen == SCREEN_TRENDS)
            screen_trends(ui, m, st, r);
        else
            screen_photos(ui, m, st, out, r);
    }
    screen_panels(ui, m, st, out);
    if (st->menu && m->record != NULL)
        commands_menu(ui, m, st, out);
    /* over the name of what is open: what is needed next stands everywhere else */
    if (ui_toasts(ui, (struct rect){134, 2, ui_screen(ui).w - 134 - 460, 48}))
        actions_add(out, ACT_UNDO);
}
