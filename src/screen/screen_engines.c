/* screen_engines.c - all engines, with their last visit and what is still open. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/files.h"
#include "base/text.h"
#include "screen/commands.h"
#include "screen/model.h"

static void still_open(const struct logbook_engine *e, const struct engine_levels *levels, char *to, size_t n_room, bool *urgent)
{
    const int answered = levels != NULL ? levels->n_answered : 0, n_open = e->n_open_steps - answered;
    const char *next = answered > 0 ? levels->next_step : e->next_step;
    struct text t = {0};

    *urgent = false;
    if (e->n_visits == 0) {
        text_copy(to, n_room, engine_may_have_wells(&e->engine) ? "start: look into the wells, pull the plugs, note the order" : "start: pull the plugs, note the order");
        return;
    }
    if (levels != NULL && levels->not_ready[0] != '\0')
        text_addf(&t, "do not start: %s", levels->not_ready);
    if (e->n_parts_to_order > 0)
        text_addf(&t, "%s%d part%s to order", t.n_bytes ? " · " : "", e->n_parts_to_order, e->n_parts_to_order == 1 ? "" : "s");
    if (e->n_parts_ordered > 0)
        text_addf(&t, "%s%d part%s ordered", t.n_bytes ? " · " : "", e->n_parts_ordered, e->n_parts_ordered == 1 ? "" : "s");
    if (n_open > 0)
        text_addf(&t, "%s%d step%s open", t.n_bytes ? " · " : "", n_open, n_open == 1 ? "" : "s");
    *urgent = t.n_bytes > 0;
    if (next[0] != '\0')
        text_addf(&t, "%snext: %s", t.n_bytes ? " · " : "", next);
    if (t.n_bytes == 0 && e->last_note[0])
        text_add(&t, e->last_note);
    text_copy(to, n_room, text_get(&t));
    text_release(&t);
}

/* From the home folder on where it lies there: what stands before that tells nobody anything. */
static void where_it_lies(const char *folder, char *to, size_t n_room)
{
    char home[1024];
    const size_t n = files_home_dir(home, sizeof home) ? strlen(home) : 0;

    if (n > 1 && strncmp(folder, home, n) == 0 && folder[n] == '/')
        text_format(to, n_room, "This logbook lies in your home folder: %s", folder + n + 1);
    else
        text_format(to, n_room, "This logbook lies in %s", folder);
}

/* True when the chosen row changed. */
static bool keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    int row = st->engine_row;

    if (ui_typing(ui) || st->panel != PANEL_NONE || st->menu)
        return false;
    if (m->n_engines > 0 && !st->new_open) {
        if (ui_key(ui, "Down"))
            st->engine_row = st->engine_row + 1 < (int)m->n_engines ? st->engine_row + 1 : st->engine_row;
        else if (ui_key(ui, "Up"))
            st->engine_row = st->engine_row > 0 ? st->engine_row - 1 : 0;
        else if (ui_key(ui, "Enter"))
            text_copy(actions_add(out, ACT_OPEN_ENGINE)->id, UUID_BYTES, m->engines[st->engine_row].id);
        else if (m->can_write && ui_key(ui, "e"))
            form_open(m, st, m->engines[st->engine_row].id);
        else if (m->can_write && ui_key(ui, "Delete"))
            st->panel = PANEL_REMOVE_ENGINE;
    }
    if (ui_key(ui, "n") || ui_key(ui, "Ctrl+N")) {
        form_open(m, st, "");
        ui_focus(ui, "new.name");
    }
    if (st->new_open && ui_key(ui, "Escape"))
        form_leave(m, st);
    return st->engine_row != row;
}

struct rect screen_engines(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    struct ui_style name = {.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_TEXT}, soft = {.colour = UI_TEXT_SOFT}, quiet = {.colour = UI_BAR_QUIET};
    struct ui_style title = {.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_BAR_TEXT}, mid = {.size_px = 14, .colour = UI_TEXT};
    struct rect bar = ui_cut_top(&r, 52), spare = bar, panel, list, content;
    bool panel_open = st->new_open || m->n_engines == 0, moved;
    char line[256];
    float y;

    moved = keys(ui, m, st, out);
    ui_fill(ui, bar, UI_BAR);
    bar = ui_inset(bar, 18, m->large_targets ? 4 : 8);
    spare.x = bar.x;
    ui_text(ui, ui_cut_left(&bar, 96), "Engines", &title);
    text_format(line, sizeof line, "%d engine%s · %d visit%s · logbook “%s”", (int)m->n_engines, m->n_engines == 1 ? "" : "s", (int)m->n_all_visits, m->n_all_visits == 1 ? "" : "s", m->logbook_name);
    screen_more_button(ui, st, ui_cut_right(&bar, 76));
    ui_cut_right(&bar, 8);
    {
        struct ui_button find = {.look = UI_LOOK_BAR, .key = "Ctrl+F"};

        if (ui_button(ui, "bar.search", ui_cut_right(&bar, ui_button_width(ui, "Search", &find)), "Search", &find)) {
            st->panel = PANEL_SEARCH;
            st->search_opened = true;
        }
        ui_cut_right(&bar, 10);
        if (m->n_conflicts > 0) {
            struct ui_button differ = {.look = UI_LOOK_WATCH, .key = "Ctrl+M"};
            char words[60];

            text_format(words, sizeof words, "%zu to choose after merging", m->n_conflicts);
            if (ui_button(ui, "bar.conflicts", ui_cut_right(&bar, ui_button_width(ui, words, &differ)), words, &differ))
                st->panel = PANEL_CONFLICTS;
            ui_cut_right(&bar, 10);
        }
    }
    if (!m->can_write) {
        struct rect ro = ui_cut_right(&bar, ui_text_width(ui, m->why_read_only, &quiet) + 8);

        ui_text(ui, ro, m->why_read_only, &quiet);
    } else {
        const struct {
            const char *id, *word, *label;
            enum action_type does;
        } steps[] = {{"redo", "Redo", m->redo_label, ACT_REDO}, {"undo", "Undo", m->undo_label, ACT_UNDO}};

        for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
            const struct ui_button b = {.look = UI_LOOK_BAR, .key = command_key(steps[i].id)};
            char words[300], id[24];

            if (steps[i].label[0] == '\0')
                continue;
            text_format(words, sizeof words, "%s: %s", steps[i].word, (m->undo_label[0] && m->redo_label[0]) || bar.w < 800 ? TEXT_SHORT(steps[i].label, 32) : TEXT_SHORT(steps[i].label, 60));
            text_format(id, sizeof id, "bar.%s", steps[i].id);
            if (ui_button(ui, id, ui_cut_right(&bar, ui_button_width(ui, words, &b)), words, &b))
                actions_add(out, steps[i].does);
            ui_cut_right(&bar, 6);
        }
    }
    ui_text(ui, bar, line, &quiet);
    spare.w = bar.x + bar.w - spare.x - 6;
    panel = ui_cut_right(&r, fminf(576, r.w * 0.42f));
    if (!panel_open) {
        /* room for what one can do here */
        struct ui_button dark = {.look = UI_LOOK_DARK, .key = "N"}, plain = {.key = "Enter"}, edit = {.key = command_key("change-engine")}, gone = {.look = UI_LOOK_QUIET, .key = command_key("remove-engine")};
        struct rect in;

        ui_fill(ui, panel, UI_PANEL);
        in = ui_inset(panel, 26, 22);
        ui_text(ui, ui_cut_top(&in, 28), "A logbook for reading spark plugs", &name);
        ui_text(ui, ui_cut_top(&in, 70), "Pull the plugs, photograph them as they come out, note what is on them and around them. Sootbook says which cylinder is not like the others, whether there is a pattern, and with what odds.", &(struct ui_style){.colour = UI_TEXT_SOFT, .max_lines = 4, .top = true});
        ui_cut_top(&in, 12);
        if (ui_button(ui, "engine.open", ui_cut_top(&in, 44), "Open the chosen engine", &plain))
            text_copy(actions_add(out, ACT_OPEN_ENGINE)->id, UUID_BYTES, m->engines[st->engine_row].id);
        ui_cut_top(&in, 10);
        if (m->can_write && ui_button(ui, "engine.new", ui_cut_top(&in, 44), "New engine", &dark)) {
            form_open(m, st, "");
            ui_focus(ui, "new.name");
        }
        ui_cut_top(&in, 10);
        if (m->can_write && ui_button(ui, "engine.edit", ui_cut_top(&in, 44), "Change the chosen engine", &edit))
            form_open(m, st, m->engines[st->engine_row].id);
        ui_cut_top(&in, 10);
        if (m->can_write && ui_button(ui, "engine.remove", ui_cut_top(&in, 44), "Take the chosen engine out…", &gone))
            st->panel = PANEL_REMOVE_ENGINE;
        ui_cut_top(&in, 14);
        if (m->can_write) {
            const struct ui_button take = {.look = UI_LOOK_QUIET, .key = command_key("take-file")}, merge = {.look = UI_LOOK_QUIET, .key = command_key("merge")};

            ui_heading(ui, ui_cut_top(&in, 22), "From elsewhere");
            if (ui_button(ui, "engines.take", ui_cut_top(&in, 36), "Take over a table or a case…", &take))
                screen_files_open(st, FILES_TAKE);
            if (ui_button(ui, "engines.merge", ui_cut_top(&in, 36), "Merge another copy of this logbook…", &merge))
                screen_files_open(st, FILES_MERGE);
            ui_cut_top(&in, 10);
        }
        if (in.h >= 84) { /* where all this lies */
            const struct ui_button copy = {.look = UI_LOOK_QUIET, .key = command_key("copy-logbook")};
            char where[4200];

            where_it_lies(m->logbook_folder, where, sizeof where);
            ui_heading(ui, ui_cut_top(&in, 22), "This logbook");
            ui_text(ui, ui_cut_top(&in, 20), where, &(struct ui_style){.colour = UI_TEXT_SOFT});
            ui_note(ui, "engines.folder", in, where, m->logbook_folder);
            if (ui_button(ui, "engines.copy", ui_cut_top(&in, 36), "Copy of this logbook…", &copy))
                screen_files_open(st, FILES_COPY);
            ui_cut_top(&in, 6);
        }
        static const struct {
            const char *id, *what, *key;
        } keys[] = {{"keys.all", "All keys", "F9"}, {"keys.choose", "Choose", "Up, Down"}, {"keys.open", "Open", "Enter"}, {"keys.undo", "Undo, redo", "Ctrl+Z, Ctrl+Y"}};

        if (in.h >= 56)
            ui_heading(ui, ui_cut_top(&in, 22), "Keys");
        for (size_t i = 0; i < sizeof keys / sizeof keys[0] && in.h >= 34; i++) /* those that there is room for */
            if (ui_value_row(ui, keys[i].id, ui_cut_top(&in, 34), keys[i].what, keys[i].key, false, NULL) && i == 0)
                st->panel = PANEL_HELP;
    } else {
        if (m->n_engines == 0 && !st->fresh.touched && st->panel == PANEL_NONE && ui_focused(ui)[0] == '\0')
            ui_focus(ui, "new.name"); /* an empty logbook: one may type at once */
        screen_new_engine(ui, m, st, out, panel);
    }
    ui_fill(ui, r, UI_DESK);
    list = ui_inset(r, 24, 0);
    if (panel_open) { /* what is written down there, to be checked by eye */
        engine_sketch_sheet(ui, &st->fresh, m->n_engines == 0 ? "No engine yet" : "New engine", r);
        return spare;
    }
    if (st->engine_row >= (int)m->n_engines)
        st->engine_row = (int)m->n_engines - 1;
    content = ui_scroll_begin(ui, "engines", (struct rect){r.x, r.y, r.w, r.h});
    y = content.y + 22;
    st->engines_from = (int)fmaxf(0, (r.y - y) / 194);
    st->engines_to = (int)((r.y + r.h - y) / 194) + 1;
    for (size_t i = 0; i < m->n_engines; i++, y += 194) {
        const struct logbook_engine *e = &m->engines[i];
        struct rect card = {list.x, y, list.w - 4, 178}, in, plan;
        bool chosen = st->engine_row == (int)i, urgent;
        char id[64], date[32], odometer[32], why[600];
        struct ui_style reasons = {.weight = UI_SEMIBOLD, .max_lines = 9, .top = true};
        struct ui_hit hit;

        if (chosen && moved)
            ui_scroll_show(ui, (struct rect){card.x, card.y - 6, card.w, card.h + 12});
        if (y > r.y + r.h + 194 || y + 194 + 178 < r.y) /* out of view, and so is the one beside it that Tab goes to */
            continue;
        text_format(id, sizeof id, "engine.%.36s", e->id);
        hit = ui_region(ui, id, card, UI_ROLE_ROW, e->name, chosen ? "selected" : "", 12);
        ui_round(ui, card, 12, chosen ? UI_PANEL : UI_CARD_DIM);
        if (chosen)
            ui_select_line(ui, card, 12, 4);
        else if (hit.hover)
            ui_round_line(ui, card, 12, 2, UI_DESK_DARK);
        if (hit.clicked) {
            if (chosen || hit.twice)
                text_copy(actions_add(out, ACT_OPEN_ENGINE)->id, UUID_BYTES, e->id);
            st->engine_row = (int)i;
        }
        if (m->engine_levels != NULL && !m->engine_levels[i].known)
            ui_wake_at_s(ui, ui_now_s(ui) + 0.05); /* its warning is looked up behind this frame, not at the next input */
        in = ui_inset(card, 24, 20);
        still_open(e, m->engine_levels != NULL ? &m->engine_levels[i] : NULL, why, sizeof why, &urgent);
        /* where the reasons need more than three lines of half the card the drawing gives way */
        plan = ui_cut_right(&in, in.w * (ui_text_height(ui, in.w * 0.48f, why, &reasons) > 58 ? 0.3f : 0.52f));
        ui_text(ui, ui_cut_top(&in, 28), e->name, &name);
        ui_text(ui, ui_cut_top(&in, 22), e->subtitle, &soft);
        ui_cut_top(&in, 20);
        if (e->n_visits > 0) {
            clock_date_words(e->last_date[0] ? e->last_date : "no date", date, sizeof date);
            visit_format_odometer(e->last_odometer_m, e->last_odometer_unit, odometer, sizeof odometer);
            text_format(line, sizeof line, "%s%s%s", date, odometer[0] ? " · " : "", odometer);
        } else {
            text_copy(line, sizeof line, "no visit yet");
        }
        ui_text(ui, ui_cut_top(&in, 24), line, &mid);
        text_format(id, sizeof id, "engines.open.%zu", i);
        ui_note(ui, id, (struct rect){in.x, in.y, in.w, 58}, "still open", why);
        reasons.max_lines = 3;
        reasons.colour = urgent ? UI_ACT_INK : UI_TEXT_SOFT;
        ui_text(ui, (struct rect){in.x, in.y, in.w, 58}, why, &reasons);
        engine_sketch(ui, &e->engine, m->engine_levels != NULL ? &m->engine_levels[i] : NULL, 54, plan);
    }
    ui_scroll_end(ui, 22 + 194 * (float)m->n_engines);
    return spare;
}
