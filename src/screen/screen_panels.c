/* screen_panels.c - what opens over a screen: the visit, the signs of one zone, the keys. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "screen/model.h"

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

static void text_row(struct ui *ui, const struct model *m, struct actions *out, const char *id, const char *label, const char *column, const char *value, const char *hint, struct rect r, bool multiline)
{
    struct ui_field f = {.name = label, .placeholder = hint, .multiline = multiline};
    char typed[4096];

    ui_heading(ui, ui_cut_top(&r, 22), label);
    if ((ui_text_field(ui, id, r, &f, value, typed, sizeof typed) & UI_COMMIT) != 0 && m->can_write) {
        struct action *a = actions_add(out, ACT_SET_VISIT_TEXT);

        text_copy(a->column, sizeof a->column, column);
        text_copy(a->text, sizeof a->text, typed);
    }
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

static void visit_panel(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    const struct visit *v = model_visit(m);
    struct rect outer, r, row, content;
    char value[512], hint[256] = "", codes[256] = "";
    float start, third;
    int n;
    const struct word *complaints = words_rows(WORDS_COMPLAINT, &n);

    outer = panel_begin(ui, "panel.visit", middle(ui, 860, 720), "This visit", st);
    content = ui_scroll_begin(ui, "visit", outer);
    r = (struct rect){content.x + 4, content.y, content.w - 24, 4000};
    start = r.y;
    third = (r.w - 32) / 3;
    row = ui_cut_top(&r, 76);
    text_row(ui, m, out, "visit.date", "Date", "date", v->date, "2026-06-14", (struct rect){row.x, row.y, third, 64}, false);
    visit_format_odometer(v->odometer_m, v->odometer_unit, value, sizeof value);
    text_row(ui, m, out, "visit.odometer", "Odometer", "odometer", value, "97655 mi", (struct rect){row.x + third + 16, row.y, third, 64}, false);
    for (int i = 0; i < v->n_codes; i++)
        text_format(codes + strlen(codes), sizeof codes - strlen(codes), "%s%s", i ? " " : "", v->codes[i]);
    text_row(ui, m, out, "visit.codes", "Trouble codes", "codes", codes, "P0306", (struct rect){row.x + 2 * (third + 16), row.y, third, 64}, false);
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
    visit_format_removal(&m->record->engine, v, value, sizeof value);
    for (int c = 0; c < m->record->engine.n_cylinders; c++) /* the labels to write, as they stand */
        text_format(hint + strlen(hint), sizeof hint - strlen(hint), "%s%s", c ? " " : "", m->record->engine.cylinders[c].label);
    text_row(ui, m, out, "visit.removal", "Order the plugs come out", "removal", value, hint, (struct rect){row.x, row.y, row.w - 190, 64}, false);
    if (m->can_write && ui_button(ui, "visit.tap-order", (struct rect){row.x + row.w - 176, row.y + 24, 176, 38}, "Tap them on the plan", NULL)) {
        st->panel = PANEL_NONE;
        st->editing_order = true;
        text_copy(actions_add(out, ACT_SET_VISIT_TEXT)->column, 32, "removal");
    }
    text_row(ui, m, out, "visit.notes", "Notes", "notes", v->notes, "what you saw, heard, smelled", ui_cut_top(&r, 150), true);
    ui_scroll_end(ui, r.y - start + 20);
    ui_modal_end(ui);
}

/* ---- keys ---- */

const struct screen_key *screen_keys(int *n)
{
    static const struct screen_key keys[] = {
        {"F1", "back to all engines", "everywhere"},
        {"F2", "Plan", "an engine"},
        {"F3", "Photos", "an engine"},
        {"F4", "plug by plug, in the order drawn", "Plan"},
        {"F5", "this visit: date, odometer, complaint, order", "an engine"},
        {"F6", "add photos", "an engine"},
        {"F7", "gap of the selected plug", "Plan"},
        {"F8", "inch or millimetre", "everywhere"},
        {"F9", "this list", "everywhere"},
        {"F10", "large targets, for gloves", "everywhere"},
        {"Ctrl+N", "new engine, new visit", "everywhere"},
        {"Ctrl+R", "write the report", "an engine"},
        {"Ctrl+PageUp", "the visit before; Ctrl+PageDown the one after", "an engine"},
        {"Ctrl+Z", "undo", "everywhere"},
        {"Ctrl+Y", "redo", "everywhere"},
        {"Ctrl+V", "take in photos from the clipboard", "an engine"},
        {"Ctrl+Q", "leave; everything is kept", "everywhere"},
        {"1 … 9", "pick a cylinder (two digits where there are more)", "Plan"},
        {".", "next plug", "Plan, Photos"},
        {",", "the one before", "plug by plug, Photos"},
        {"n c o f …", "note a deposit: the letter on its chip", "Plan"},
        {"x", "well dry", "plug by plug"},
        {"y", "oil in the well: heavy, a trace, moderate, dry", "plug by plug"},
        {"Shift+W", "well; Shift and T B O C L N for threads, body, boot, coil, lead, connector", "Plan"},
        {"Enter", "open; accept where the photos go; onward", "everywhere"},
        {"Escape", "back, close", "everywhere"},
        {"Tab", "next control; arrows move too", "everywhere"},
        {"+ -", "zoom; 1 is 100 %, F fits, T turns", "Photos"},
    };

    *n = (int)(sizeof keys / sizeof keys[0]);
    return keys;
}

static void help_panel(struct ui *ui, struct screen_state *st)
{
    int n;
    const struct screen_key *keys = screen_keys(&n);
    struct rect r = panel_begin(ui, "panel.help", middle(ui, 900, 100 + 30 * (float)((n + 1) / 2) + 40), "Keys", st);
    float half = (r.w - 24) / 2;

    for (int i = 0; i < n; i++) {
        bool second = i >= (n + 1) / 2;
        struct rect row = {r.x + (second ? half + 24 : 0), r.y + 30 * (float)(second ? i - (n + 1) / 2 : i), half, 28};

        ui_text(ui, (struct rect){row.x, row.y, 96, 28}, keys[i].key, &(struct ui_style){.weight = UI_SEMIBOLD, .colour = UI_TEXT});
        ui_text(ui, (struct rect){row.x + 100, row.y, row.w - 100, 28}, keys[i].what, &(struct ui_style){.colour = UI_TEXT_SOFT});
    }
    ui_modal_end(ui);
}

void screen_panels(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    if (st->panel == PANEL_NONE)
        return;
    if (!ui_typing(ui) && ui_key(ui, "Escape")) {
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
        break;
    case PANEL_HELP: help_panel(ui, st); break;
    case PANEL_FILES: screen_files(ui, m, st, out); break;
    case PANEL_NONE: break;
    }
}

/* What has a key but no place of its own on the screen. */
static void more_menu(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    static const struct ui_menu_item items[] = {{"Write the report", "Ctrl+R"}, {"Add photos…", "F6"}, {"Inch or millimetre", "F8"}, {"Large targets", "F10"}, {"All keys", "F9"}};

    switch (ui_menu(ui, "menu", st->menu_x, st->menu_y, items, (int)(sizeof items / sizeof items[0]))) {
    case UI_MENU_OPEN: return;
    case 0: actions_add(out, ACT_WRITE_REPORT); break;
    case 1:
        if (m->can_write && model_visit(m) != NULL)
            st->panel = PANEL_FILES;
        break;
    case 2: actions_add(out, ACT_SET_UNITS); break;
    case 3: actions_add(out, ACT_SET_TARGETS); break;
    case 4: st->panel = PANEL_HELP; break;
    default: break;
    }
    st->menu = false;
}

void screen_all(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    struct rect r = ui_screen(ui);

    ui_set_large_targets(ui, m->large_targets);
    ui_fill(ui, r, UI_DESK);
    if (ui_key(ui, "Ctrl+Q"))
        actions_add(out, ACT_QUIT);
    if (ui_key(ui, "F9"))
        st->panel = st->panel == PANEL_HELP ? PANEL_NONE : PANEL_HELP;
    if (ui_key(ui, "F8"))
        actions_add(out, ACT_SET_UNITS);
    if (ui_key(ui, "F10"))
        actions_add(out, ACT_SET_TARGETS);
    if (m->record == NULL)
        st->screen = SCREEN_ENGINES;
    else if (st->screen == SCREEN_ENGINES)
        st->screen = SCREEN_PLAN;
    if (st->screen == SCREEN_ENGINES) {
        screen_engines(ui, m, st, out, r);
    } else {
        struct rect bar = ui_cut_top(&r, 52), visits = ui_cut_top(&r, m->large_targets ? 52 : 44);

        if (ui_key(ui, "F1"))
            actions_add(out, ACT_CLOSE_ENGINE);
        if (ui_key(ui, "F2"))
            st->screen = SCREEN_PLAN, st->pulling = false;
        if (ui_key(ui, "F3"))
            st->screen = SCREEN_PHOTOS;
        if (st->panel == PANEL_NONE && ui_key(ui, "Ctrl+N") && m->can_write)
            actions_add(out, ACT_NEW_VISIT);
        if (ui_key(ui, "Ctrl+R"))
            actions_add(out, ACT_WRITE_REPORT);
        if (st->panel == PANEL_NONE && !ui_typing(ui)) {
            int step = ui_key(ui, "Ctrl+PageUp") ? -1 : ui_key(ui, "Ctrl+PageDown") ? 1 : 0, to = -1;

            for (size_t i = 0; step != 0 && i < m->n_visits; i++)
                if (strcmp(m->visits[i].id, m->visit_id) == 0)
                    to = (int)i + step;
            if (to >= 0 && to < (int)m->n_visits)
                text_copy(actions_add(out, ACT_OPEN_VISIT)->id, UUID_BYTES, m->visits[to].id);
        }
        if (st->screen == SCREEN_PHOTOS && st->panel == PANEL_NONE && !ui_typing(ui)) {
            if (ui_key(ui, "F5"))
                st->panel = PANEL_VISIT;
            if (ui_key(ui, "F6"))
                st->panel = PANEL_FILES;
        }
        if (st->screen == SCREEN_PLAN && !st->menu)
            plan_keys(ui, m, st, out);
        screen_bar(ui, m, st, out, bar);
        screen_visits(ui, m, st, out, visits);
        if (st->screen == SCREEN_PLAN)
            screen_plan(ui, m, st, out, r);
        else
            screen_photos(ui, m, st, out, r);
    }
    if (m->can_write && !ui_typing(ui)) {
        if (ui_key(ui, "Ctrl+Z"))
            actions_add(out, ACT_UNDO);
        if (ui_key(ui, "Ctrl+Y") || ui_key(ui, "Ctrl+Shift+Z"))
            actions_add(out, ACT_REDO);
    }
    screen_panels(ui, m, st, out);
    if (st->menu && m->record != NULL)
        more_menu(ui, m, st, out);
    if (ui_toasts(ui))
        actions_add(out, ACT_UNDO);
}
