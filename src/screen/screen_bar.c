/* screen_bar.c - the dark bars: name and tabs, visits, what must not be forgotten. */
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "record/ready.h"
#include "screen/model.h"

void screen_bar(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    static const struct {
        enum screen_id screen;
        const char *id, *label, *key;
    } tabs[] = {{SCREEN_PLAN, "tab.plan", "Plan", "F2"}, {SCREEN_PHOTOS, "tab.photos", "Photos", "F3"}, {SCREEN_LINEUP, "tab.lineup", "Line-up", "F12"}, {SCREEN_TRENDS, "tab.trends", "Trends", "F11"}, {SCREEN_JOB, "tab.job", "Job", "Ctrl+J"}};
    struct ui_style name = {.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_BAR_TEXT};
    struct ui_style quiet = {.colour = UI_BAR_QUIET};
    struct ui_button back = {.look = UI_LOOK_BAR, .key = "F1"};
    const struct engine *en = &m->record->engine;
    struct text t = {0};
    float w;

    ui_fill(ui, r, UI_BAR);
    r = ui_inset(r, 16, m->large_targets ? 4 : 8);
    if (ui_button(ui, "bar.engines", ui_cut_left(&r, ui_button_width(ui, "Engines", &back)), "Engines", &back))
        actions_add(out, ACT_CLOSE_ENGINE);
    ui_cut_left(&r, 18);
    w = ui_text_width(ui, en->name, &name) + 20;
    ui_text(ui, ui_cut_left(&r, w < r.w * 0.4f ? w : r.w * 0.4f), en->name, &name);
    ui_note(ui, "bar.name", r, "engine", en->name);
    for (size_t i = sizeof tabs / sizeof tabs[0]; i-- > 0;) {
        struct rect tab = ui_cut_right(&r, 84);

        ui_cut_right(&r, 4);
        if (ui_tab(ui, tabs[i].id, tab, tabs[i].label, st->screen == tabs[i].screen, tabs[i].key)) {
            st->screen = tabs[i].screen;
            st->pulling = false;
        }
    }
    text_addf(&t, "%s", en->subtitle);
    if (en->ignition != ENGINE_IGNITION_UNKNOWN)
        text_addf(&t, "%s%s", t.n_bytes ? " · " : "", screen_ignitions[en->ignition]);
    if (en->plug.gap_max_mm > 0) {
        char low[16], high[16];

        model_format_gap(m, en->plug.gap_min_mm, low, sizeof low);
        model_format_gap(m, en->plug.gap_max_mm, high, sizeof high);
        text_addf(&t, "%sgap %s–%s %s", t.n_bytes ? " · " : "", low, high, m->inches ? "in" : "mm");
    }
    ui_text(ui, r, text_get(&t), &quiet);
    text_release(&t);
}

void screen_visits(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    struct ui_style quiet = {.colour = UI_BAR_QUIET}, on = {.weight = UI_SEMIBOLD, .colour = UI_TEXT, .align = UI_CENTRE};
    struct ui_style off = {.weight = UI_MEDIUM, .colour = UI_BAR_TEXT, .align = UI_CENTRE};
    struct ui_button dashed = {.look = UI_LOOK_DASHED, .key = "Ctrl+N"}, warn = {.look = UI_LOOK_WATCH};
    char label[300], words[240], id[64];
    struct ready ready;
    size_t first;

    ready_of(m->record, &ready);
    ui_fill(ui, r, UI_BAR_RAISED);
    r = ui_inset(r, 16, m->large_targets ? 4 : 6);
    ui_text(ui, ui_cut_left(&r, 48), "Visits", &quiet);
    if (m->jobs_all > m->jobs_done) {
        char progress[64];
        struct ui_button plain = {.look = UI_LOOK_BAR};
        struct rect p;

        if (ui_button(ui, "bar.cancel-photos", ui_cut_right(&r, ui_button_width(ui, "Cancel", &plain)), "Cancel", &plain))
            actions_add(out, ACT_CANCEL_JOBS);
        ui_cut_right(&r, 10);
        p = ui_cut_right(&r, 190);

        text_format(progress, sizeof progress, "Taking in photos: %d of %d", m->jobs_done, m->jobs_all);
        ui_text(ui, p, progress, &quiet);
        ui_fill(ui, (struct rect){p.x, p.y + p.h - 2, p.w * (float)m->jobs_done / (float)m->jobs_all, 2}, UI_BAR_TEXT);
        ui_cut_right(&r, 12);
    }
    if (!m->can_write) {
        struct rect p = ui_cut_right(&r, ui_text_width(ui, m->why_read_only, &quiet) + 8);

        ui_text(ui, p, m->why_read_only, &quiet);
        ui_note(ui, "bar.read-only", p, "read only", m->why_read_only);
    } else {
        if (ui_button(ui, "bar.redo", ui_cut_right(&r, 64), "Redo",
                      &(struct ui_button){.look = UI_LOOK_BAR, .disabled = m->redo_label[0] ? NULL : "nothing to redo"}))
            actions_add(out, ACT_REDO);
        ui_cut_right(&r, 6);
        if (ui_button(ui, "bar.undo", ui_cut_right(&r, 64), "Undo",
                      &(struct ui_button){.look = UI_LOOK_BAR, .disabled = m->undo_label[0] ? NULL : "nothing to undo"}))
            actions_add(out, ACT_UNDO);
        ui_cut_right(&r, 10);
        if (r.w > 1200) { /* in a narrow window the visits need the room */
            ui_text(ui, ui_cut_right(&r, 112), ui_unsaved(ui) ? "Typing …" : "All changes kept", &quiet);
            ui_cut_right(&r, 12);
        }
    }
    if (!ready_to_start(&ready) && st->screen != SCREEN_JOB) { /* there it stands over the steps */
        struct rect w;

        ready_words(&m->record->engine, &ready, words, sizeof words);
        text_format(label, sizeof label, "Do not start: %s", words);
        if (ui_button_width(ui, label, &warn) > (r.w < 1100 ? 0.25f : 0.4f) * r.w) /* the visits need the room; the card and the report say why */
            text_copy(label, sizeof label, "Do not start");
        w = ui_cut_right(&r, ui_button_width(ui, label, &warn) + 18);
        ui_cut_right(&r, 8);
        if (ui_button(ui, "bar.do-not-start", w, label, &warn) && ready.n_loose > 0) { /* shows the first that is not */
            st->cylinder = ready.first_cylinder;
            st->position = ready.first_position;
        }
        ui_diamond(ui, w.x + 14, w.y + w.h / 2, 11, ui_rgba(UI_WATCH_TEXT));
    }
    {
        struct rect more = ui_cut_right(&r, 76);

        ui_cut_right(&r, 8);
        if (ui_button(ui, "bar.more", more, "More", &(struct ui_button){.look = UI_LOOK_BAR}))
            st->menu = true;
        st->menu_x = more.x + more.w;
        st->menu_y = more.y + more.h + 4;
    }
    if (model_visit(m) != NULL) {
        struct rect e = ui_cut_right(&r, ui_button_width(ui, "Visit…", &(struct ui_button){.look = UI_LOOK_BAR, .key = "F5"}));

        ui_cut_right(&r, 10);
        if (ui_button(ui, "visit.edit", e, "Visit…", &(struct ui_button){.look = UI_LOOK_BAR, .key = "F5"}))
            st->panel = PANEL_VISIT;
    }
    /* the latest visits that fit, oldest of them first */
    float room = r.w - 150, each = 176;

    first = m->n_visits > (size_t)(room / each) ? m->n_visits - (size_t)(room / each > 0 ? room / each : 0) : 0;
    for (size_t i = first; i < m->n_visits && r.w > 150; i++) {
        const struct logbook_visit *v = &m->visits[i];
        bool here = strcmp(v->id, m->visit_id) == 0;
        char date[32], odometer[32];
        struct rect chip;
        struct ui_hit hit;

        clock_date_words(v->date[0] ? v->date : "no date", date, sizeof date);
        visit_format_odometer(v->odometer_m, v->odometer_unit, odometer, sizeof odometer);
        text_format(label, sizeof label, "%s%s%s", date, odometer[0] ? " · " : "", odometer);
        text_format(id, sizeof id, "visit.%.36s", v->id);
        chip = ui_cut_left(&r, ui_text_width(ui, label, here ? &on : &off) + 24);
        ui_cut_left(&r, 8);
        hit = ui_region(ui, id, chip, UI_ROLE_TAB, label, here ? "on" : "off", 6);
        ui_round(ui, chip, 6, here ? UI_PANEL : hit.hover ? UI_BAR_FIELD : UI_BAR);
        ui_text(ui, chip, label, here ? &on : &off);
        if (hit.clicked && !here)
            text_copy(actions_add(out, ACT_OPEN_VISIT)->id, UUID_BYTES, v->id);
    }
    if (m->can_write && ui_button(ui, "visit.new", ui_cut_left(&r, ui_button_width(ui, "New visit", &dashed)), "New visit", &dashed))
        actions_add(out, ACT_NEW_VISIT);
}
