/* plan_order.c - the order the plugs come out, drawn on the plan: tapped, or by their numbers, one after the other. The
 * order noted so far stays until the new one is taken; Escape leaves it as it was. */
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "screen/model.h"

void plan_order_begin(const struct model *m, struct screen_state *st)
{
    if (!m->can_write || model_visit(m) == NULL)
        return;
    st->panel = PANEL_NONE;
    st->screen = SCREEN_PLAN;
    st->pulling = false;
    st->editing_order = true;
    st->n_order = 0;
    text_copy(st->order_visit, sizeof st->order_visit, m->visit_id);
    st->photo = -1; /* figures are of the order now */
}

int plan_order_place(const struct screen_state *st, int cylinder, int position)
{
    for (int i = 0; i < st->n_order; i++)
        if (st->order[i] == cylinder * ENGINE_MAX_POSITIONS + position)
            return i;
    return -1;
}

void plan_order_tap(struct screen_state *st, int cylinder, int position)
{
    int at = plan_order_place(st, cylinder, position);

    st->cylinder = cylinder;
    st->position = position;
    if (at < 0) {
        st->order[st->n_order++] = (int16_t)(cylinder * ENGINE_MAX_POSITIONS + position);
        return;
    }
    memmove(&st->order[at], &st->order[at + 1], (size_t)(st->n_order - at - 1) * sizeof st->order[0]);
    st->n_order--;
}

void plan_order_number(const struct model *m, struct screen_state *st, int cylinder)
{
    for (int p = 0; p < m->record->engine.n_positions; p++)
        if (plan_order_place(st, cylinder, p) < 0) {
            plan_order_tap(st, cylinder, p);
            return;
        }
}

/* Another visit is shown than it is drawn for, or the engine was changed or taken back meanwhile and has not these plugs. */
static bool fits(const struct model *m, const struct screen_state *st)
{
    const struct engine *en = &m->record->engine;

    for (int i = 0; i < st->n_order; i++)
        if (st->order[i] / ENGINE_MAX_POSITIONS >= en->n_cylinders || st->order[i] % ENGINE_MAX_POSITIONS >= en->n_positions)
            return false;
    return strcmp(st->order_visit, m->visit_id) == 0;
}

static void back(struct screen_state *st)
{
    if (st->n_order > 0)
        st->n_order--;
}

static void take(const struct model *m, struct screen_state *st, struct actions *out)
{
    struct action *a;

    if (st->n_order == 0)
        return;
    a = actions_add(out, ACT_SET_VISIT_TEXT);
    text_copy(a->column, sizeof a->column, "removal");
    for (int i = 0; i < st->n_order; i++) {
        char label[48];

        engine_plug_label(&m->record->engine, st->order[i] / ENGINE_MAX_POSITIONS, st->order[i] % ENGINE_MAX_POSITIONS, label, sizeof label);
        text_format(a->text + strlen(a->text), sizeof a->text - strlen(a->text), "%s%s", i ? ", " : "", label);
    }
    st->editing_order = false;
}

bool plan_order_keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    if (!fits(m, st) || ui_key(ui, "Escape"))
        st->editing_order = false;
    else if (ui_key(ui, "Backspace"))
        back(st);
    else if (ui_key(ui, "Enter"))
        take(m, st, out);
    else
        return false;
    return true;
}

void plan_order_band(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    struct ui_button done = {.look = UI_LOOK_PLAIN, .key = "Enter", .disabled = st->n_order > 0 ? NULL : "no plug is in the order yet"}, undo = {.look = UI_LOOK_PLAIN, .key = "Backspace", .disabled = done.disabled};
    struct ui_button leave = {.look = UI_LOOK_PLAIN, .key = "Esc"};
    struct ui_style head = {.weight = UI_SEMIBOLD, .colour = UI_SELECT_TEXT};
    const bool old = model_visit(m)->n_removal > 0;
    const int all = record_plug_count(&m->record->engine);
    const char *keep = old ? "Keep the old one" : "Leave it";
    char line[120];
    struct rect text, row;

    if (!fits(m, st))
        st->editing_order = false;
    ui_fill(ui, r, UI_SELECT);
    r = ui_inset(r, 18, 8);
    text = ui_cut_top(&r, 20);
    text_format(line, sizeof line, st->n_order < all ? "%d of %d. Tap the plugs in the order they come out, or press their numbers." : "%d of %d: all of them.", st->n_order, all);
    ui_text(ui, text, line, &head);
    ui_note(ui, "order.progress", text, "removal order", line);
    ui_cut_top(&r, 6);
    row = ui_cut_top(&r, ui_target_px(ui));
    if (ui_button(ui, "order.done", ui_cut_left(&row, ui_button_width(ui, "Take this order", &done)), "Take this order", &done))
        take(m, st, out);
    ui_cut_left(&row, 8);
    if (ui_button(ui, "order.back", ui_cut_left(&row, ui_button_width(ui, "Last one back", &undo)), "Last one back", &undo))
        back(st);
    ui_cut_left(&row, 8);
    if (ui_button(ui, "order.leave", ui_cut_left(&row, ui_button_width(ui, keep, &leave)), keep, &leave))
        st->editing_order = false;
}
