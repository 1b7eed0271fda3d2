/* screen_bar.c - the dark bars: name and tabs, visits, what must not be forgotten. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "record/ready.h"
#include "screen/commands.h"

void screen_more_button(struct ui *ui, struct screen_state *st, struct rect r)
{
    if (ui_button(ui, "bar.more", r, "More", &(struct ui_button){.look = UI_LOOK_BAR}))
        st->menu = true;
    st->menu_x = r.x + r.w;
    st->menu_y = r.y + r.h + 4;
}

struct rect screen_bar(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r, float *name_px)
{
    static const struct {
        enum screen_id screen;
        const char *id, *label, *command;
    } tabs[] = {{SCREEN_PLAN, "tab.plan", "Plan", "plan"}, {SCREEN_PHOTOS, "tab.photos", "Photos", "photos"}, {SCREEN_LINEUP, "tab.lineup", "Line-up", "lineup"}, {SCREEN_TRENDS, "tab.trends", "Trends", "trends"}, {SCREEN_JOB, "tab.job", "Job", "job"}, {SCREEN_REPORT, "tab.report", "Report", "report"}};
    struct ui_style name = {.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_BAR_TEXT};
    struct ui_style quiet = {.colour = UI_BAR_QUIET};
    struct ui_button back = {.look = UI_LOOK_BAR, .key = command_key("engines")};
    const struct engine *en = &m->record->engine;
    struct rect spare = r;
    struct text t = {0};
    char subtitle[sizeof en->subtitle + 8];
    float w, tabs_px = 14; /* not hard against the name */

    ui_fill(ui, r, UI_BAR);
    r = ui_inset(r, 16, m->large_targets ? 4 : 8);
    if (ui_button(ui, "bar.engines", ui_cut_left(&r, ui_button_width(ui, "Engines", &back)), "Engines", &back))
        actions_add(out, ACT_CLOSE_ENGINE);
    ui_cut_left(&r, 18);
    spare.x = r.x;
    for (size_t i = 0; i < sizeof tabs / sizeof tabs[0]; i++)
        tabs_px += ui_tab_width(ui, tabs[i].label, command_key(tabs[i].command)) + 4;
    w = ui_text_width(ui, en->name, &name) + 20;
    w = fminf(w, fminf(r.w * 0.4f, r.w - tabs_px)); /* the tabs are how one gets about: a long name is cut before they are */
    *name_px = fmaxf(w, 0);
    ui_text(ui, ui_cut_left(&r, *name_px), en->name, &name);
    ui_note(ui, "bar.name", r, "engine", en->name);
    for (size_t i = sizeof tabs / sizeof tabs[0]; i-- > 0;) {
        const char *key = command_key(tabs[i].command);
        struct rect tab = ui_cut_right(&r, ui_tab_width(ui, tabs[i].label, key));

        ui_cut_right(&r, 4);
        if (ui_tab(ui, tabs[i].id, tab, tabs[i].label, st->screen == tabs[i].screen, key)) {
            if (tabs[i].screen != SCREEN_PHOTOS || !screen_to_photos(m, st))
                st->screen = tabs[i].screen;
            st->pulling = false;
        }
    }
    text_add(&t, text_apart(en->subtitle, subtitle, sizeof subtitle));
    if (en->ignition != ENGINE_IGNITION_UNKNOWN)
        text_addf(&t, "%s%s", t.n_bytes ? " · " : "", screen_ignitions[en->ignition]);
    if (en->plug.type[0] != '\0')
        text_addf(&t, "%s%s", t.n_bytes ? " · " : "", en->plug.type);
    if (en->plug.gap_max_mm > 0) {
        char low[16], high[16];

        model_format_gap(m, en->plug.gap_min_mm, low, sizeof low);
        model_format_gap(m, en->plug.gap_max_mm, high, sizeof high);
        text_addf(&t, "%sgap %s–%s %s", t.n_bytes ? " · " : "", low, high, m->inches ? "in" : "mm");
    }
    if (r.w > 60 && !ui_toast_is_up(ui)) /* less tells nothing; not hard against the tabs; what is said in passing stands there */
        ui_text(ui, (struct rect){r.x, r.y, r.w - 14, r.h}, text_get(&t), &quiet);
    text_release(&t);
    spare.w = r.x + r.w - spare.x;
    return spare;
}

#define TAB_GAP 8
#define MORE_W 64 /* tab that leads on to visits that do not fit */

static float tab_px(struct ui *ui, const struct model *m, size_t visit, const struct ui_style *style)
{
    char words[80];

    model_visit_words(m, visit, words, sizeof words);
    return ui_text_width(ui, words, style) + 24 + TAB_GAP;
}

/* How many visits lie beyond; opens the next of them. */
static void more_tab(struct ui *ui, const struct model *m, struct actions *out, const char *id, struct rect chip, const char *label, size_t visit)
{
    struct ui_hit hit = ui_region(ui, id, chip, UI_ROLE_TAB, label, "off", 6);

    ui_round(ui, chip, 6, hit.hover ? UI_BAR_FIELD : UI_BAR);
    ui_text(ui, chip, label, &(struct ui_style){.weight = UI_MEDIUM, .colour = UI_BAR_TEXT, .align = UI_CENTRE});
    if (hit.clicked)
        text_copy(actions_add(out, ACT_OPEN_VISIT)->id, UUID_BYTES, m->visits[visit].id);
}

/* The visit shown and those around it that fit, later ones first; how many there are beside them. */
static void visit_tabs(struct ui *ui, const struct model *m, struct actions *out, struct rect *r)
{
    const struct ui_style on = {.weight = UI_SEMIBOLD, .colour = UI_TEXT, .align = UI_CENTRE}, off = {.weight = UI_MEDIUM, .colour = UI_BAR_TEXT, .align = UI_CENTRE};
    const float room = r->w - ui_button_width(ui, "New visit", &(struct ui_button){.key = command_key("new-visit")}) - TAB_GAP;
    float used;
    const int index = model_visit_index(m, m->visit_id);
    const size_t shown = (size_t)index;
    size_t first, last;
    char words[80], id[64];

    if (index < 0)
        return;
    first = last = shown;
    used = tab_px(ui, m, shown, &on);
    for (bool grown = true; grown && (last + 1 < m->n_visits || first > 0);) {
        bool later = last + 1 < m->n_visits;
        float w = tab_px(ui, m, later ? last + 1 : first - 1, &off);
        int n_more = (later ? last + 2 < m->n_visits : false) + (later ? first > 0 : first > 1); /* tabs that lead on, then */

        grown = used + w + (float)n_more * (MORE_W + TAB_GAP) <= room;
        if (grown) {
            used += w;
            last += later;
            first -= !later;
        }
    }
    if (first > 0) {
        text_format(words, sizeof words, "‹ %zu", first);
        more_tab(ui, m, out, "visits.earlier", ui_cut_left(r, MORE_W), words, first - 1);
        ui_cut_left(r, TAB_GAP);
    }
    for (size_t i = first; i <= last; i++) {
        bool here = i == shown;
        struct rect chip;
        struct ui_hit hit;

        model_visit_words(m, i, words, sizeof words);
        text_format(id, sizeof id, "visit.%.36s", m->visits[i].id);
        chip = ui_cut_left(r, ui_text_width(ui, words, here ? &on : &off) + 24);
        ui_cut_left(r, TAB_GAP);
        hit = ui_region(ui, id, chip, UI_ROLE_TAB, words, here ? "on" : "off", 6);
        ui_round(ui, chip, 6, here ? UI_PANEL : hit.hover ? UI_BAR_FIELD : UI_BAR);
        ui_text(ui, chip, words, here ? &on : &off);
        if (hit.clicked && !here)
            text_copy(actions_add(out, ACT_OPEN_VISIT)->id, UUID_BYTES, m->visits[i].id);
    }
    if (last + 1 < m->n_visits) {
        text_format(words, sizeof words, "%zu ›", m->n_visits - 1 - last);
        more_tab(ui, m, out, "visits.later", ui_cut_left(r, MORE_W), words, last + 1);
        ui_cut_left(r, TAB_GAP);
    }
}

void screen_visits(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    struct ui_style quiet = {.colour = UI_BAR_QUIET};
    struct ui_button dashed = {.look = UI_LOOK_DASHED, .key = command_key("new-visit")}, warn = {.look = UI_LOOK_ACT};
    static const char label[] = "Do not start";

    ui_fill(ui, r, UI_BAR_RAISED);
    r = ui_inset(r, 16, m->large_targets ? 4 : 6);
    if (r.w > 1000) /* in a narrow window the visits need the room */
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
        struct ui_button redo = {.look = UI_LOOK_BAR, .key = command_key("redo"), .disabled = m->redo_label[0] ? NULL : "nothing to redo"};
        struct ui_button undo = {.look = UI_LOOK_BAR, .key = command_key("undo"), .disabled = m->undo_label[0] ? NULL : "nothing to undo"};

        if (ui_button(ui, "bar.redo", ui_cut_right(&r, ui_button_width(ui, "Redo", &redo)), "Redo", &redo))
            actions_add(out, ACT_REDO);
        ui_cut_right(&r, 6);
        if (ui_button(ui, "bar.undo", ui_cut_right(&r, ui_button_width(ui, "Undo", &undo)), "Undo", &undo))
            actions_add(out, ACT_UNDO);
        ui_cut_right(&r, 10);
        if (r.w > 1200) {
            ui_text(ui, ui_cut_right(&r, 112), ui_unsaved(ui) ? "Typing …" : "All changes kept", &quiet);
            ui_cut_right(&r, 12);
        }
    }
    if (!ready_to_start(m->ready) && st->screen != SCREEN_JOB && st->screen != SCREEN_PLAN) { /* there it stands with its reasons */
        struct rect w = ui_cut_right(&r, ui_button_width(ui, label, &warn) + 18);

        ui_cut_right(&r, 8);
        if (ui_button(ui, "bar.do-not-start", w, label, &warn))
            st->screen = SCREEN_PLAN; /* which says why */
        ui_triangle(ui, w.x + 14, w.y + w.h / 2, 12, ui_rgba(UI_ACT_TEXT));
    }
    {
        struct rect more = ui_cut_right(&r, 76);

        ui_cut_right(&r, 8);
        screen_more_button(ui, st, more);
    }
    if (model_visit(m) != NULL) {
        struct rect e = ui_cut_right(&r, ui_button_width(ui, "Visit…", &(struct ui_button){.look = UI_LOOK_BAR, .key = command_key("visit")}));

        ui_cut_right(&r, 10);
        if (ui_button(ui, "visit.edit", e, "Visit…", &(struct ui_button){.look = UI_LOOK_BAR, .key = command_key("visit")}))
            st->panel = PANEL_VISIT;
    }
    visit_tabs(ui, m, out, &r);
    if (r.w < ui_button_width(ui, "New visit", &dashed))
        dashed.key = NULL; /* F9 has it */
    if (m->can_write && ui_button(ui, "visit.new", ui_cut_left(&r, ui_button_width(ui, "New visit", &dashed)), "New visit", &dashed))
        actions_add(out, ACT_NEW_VISIT);
}
