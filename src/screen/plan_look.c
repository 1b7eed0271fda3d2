/* plan_look.c - what last time asks this visit to look at, above what stands out: each leads to the place where it is noted. */
#include "screen/plan_look.h"

#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "report/to_look.h"
#include "screen/commands.h"
#include "screen/screen_job.h"

/* Of the latest visit only, and while it is open: an older one is history. */
static int asked(const struct model *m, struct to_look out[TO_LOOK_MOST])
{
    if (model_visit(m) == NULL || m->record->n_later > 0 || m->closed || !m->can_write)
        return 0;
    return to_look_of(m->record, m->watches, m->n_watches, m->n_left_steps > 0 ? m->steps - m->n_left_steps : NULL, m->n_left_steps, out);
}

/* The first plug behind `from` at which it is still to be looked at, -1: none. */
static int plug_of(const struct model *m, const struct to_look *l, int from)
{
    const struct engine *en = &m->record->engine;

    for (int i = from + 1; i < record_plug_count(en); i++)
        if ((l->cylinders >> (i / en->n_positions) & 1u) != 0 && (l->kind != TO_LOOK_ZONE || !model_visit(m)->readings[i].zone_seen[l->zone]) &&
            (l->kind != TO_LOOK_COMPRESSION || i % en->n_positions == 0))
            return i;
    return -1;
}

static void to_steps(const struct model *m, struct screen_state *st)
{
    int row = 0;

    while (row + 1 < (int)m->n_left_steps && !to_look_is_left(model_step_row(m, row)))
        row++;
    st->screen = SCREEN_JOB;
    text_copy(st->job_visit, sizeof st->job_visit, m->visit_id);
    job_choose(st, JOB_STEPS, row);
    st->job_show = 3;
}

static void go(struct ui *ui, const struct model *m, struct screen_state *st, const struct to_look *l, int plug)
{
    const struct engine *en = &m->record->engine;
    char id[64];

    st->panel = PANEL_NONE;
    st->screen = SCREEN_PLAN;
    st->pulling = false;
    if (plug >= 0) {
        st->cylinder = plug / en->n_positions;
        st->position = plug % en->n_positions;
        st->by_default = false;
        st->newest[0] = '\0';
    }
    switch (l->kind) {
    case TO_LOOK_COMPLAINT:
    case TO_LOOK_MISS: st->panel = PANEL_VISIT; break;
    case TO_LOOK_ZONE:
        if (l->zone == ZONE_FIRING_END) /* noted on the plan itself, by its letters */
            break;
        st->panel = PANEL_SIGNS;
        st->signs_zone = l->zone;
        break;
    case TO_LOOK_GAP: ui_focus(ui, "gap.found"); break;
    case TO_LOOK_COMPRESSION:
        st->panel = PANEL_MEASURES;
        st->measure_row = st->cylinder;
        text_format(id, sizeof id, "measure.dry.%s", en->cylinders[st->cylinder].label);
        ui_focus(ui, id);
        break;
    case TO_LOOK_STEPS: to_steps(m, st); break;
    }
}

void plan_look_next(struct ui *ui, const struct model *m, struct screen_state *st)
{
    struct to_look list[TO_LOOK_MOST];
    const int n = asked(m, list);

    if (strcmp(st->look_visit, m->visit_id) != 0) {
        text_copy(st->look_visit, sizeof st->look_visit, m->visit_id);
        st->look_row = 0;
    }
    if (n == 0) {
        ui_toast(ui, "Last time left nothing to look at that is not looked at yet.", NULL);
        return;
    }
    /* onward from where it led last: the next plug of the same row, the next row, and round again */
    for (int pass = 0; pass < 2; pass++)
        for (int i = 0; i < n; i++) {
            const bool same = pass == 0 && list[i].row == st->look_row;
            const int plug = plug_of(m, &list[i], same ? st->look_plug : -1);

            if ((pass == 0 && list[i].row < st->look_row) || (list[i].cylinders != 0 ? plug < 0 : same))
                continue;
            st->look_row = list[i].row;
            st->look_plug = plug;
            go(ui, m, st, &list[i], plug);
            return;
        }
}

#define KEY_PX 76 /* the key at the title's end */

float plan_look(struct ui *ui, const struct model *m, struct screen_state *st, struct rect r, float y)
{
    static const struct ui_style title = {.size_px = 14, .weight = UI_SEMIBOLD, .colour = UI_TEXT}, quiet = {.colour = UI_TEXT_QUIET, .max_lines = 3, .top = true};
    static const struct ui_style body = {.weight = UI_MEDIUM, .colour = UI_TEXT, .max_lines = 3, .top = true};
    static const char whole[] = "To look at, from last time";
    const float w = r.w - 38, beside_key = r.w - 16 - KEY_PX;
    struct to_look list[TO_LOOK_MOST];
    int n = asked(m, list);

    if (n == 0)
        return y;
    ui_text(ui, (struct rect){r.x + 16, y + 8, beside_key, 24}, ui_text_width(ui, whole, &title) > beside_key ? "To look at" : whole, &title);
    ui_keycap(ui, r.x + r.w - 12, y + 20, command_key("look-next"), false);
    y += 38;
    for (int i = 0; i < n; i++) {
        const float words_h = ui_text_height(ui, w, list[i].words, &body), why_h = list[i].why[0] ? ui_text_height(ui, w, list[i].why, &quiet) + 2 : 0;
        struct rect row = {r.x, y, r.w, words_h + why_h + 14};
        char id[32];
        struct ui_hit hit;

        snprintf(id, sizeof id, "look.%d", i);
        hit = ui_region(ui, id, row, UI_ROLE_ROW, list[i].words, list[i].why, 0);
        if (hit.hover)
            ui_fill(ui, row, UI_CARD_DIM);
        ui_fill(ui, (struct rect){r.x, y, 5, row.h}, UI_NOTE);
        ui_text(ui, (struct rect){r.x + 18, y + 6, w, words_h}, list[i].words, &body);
        if (why_h > 0)
            ui_text(ui, (struct rect){r.x + 18, y + 8 + words_h, w, why_h}, list[i].why, &quiet);
        y += row.h;
        ui_fill(ui, (struct rect){r.x, y - 1, r.w, 1}, UI_LINE);
        if (hit.clicked) {
            text_copy(st->look_visit, sizeof st->look_visit, m->visit_id);
            st->look_row = list[i].row;
            st->look_plug = plug_of(m, &list[i], -1);
            go(ui, m, st, &list[i], st->look_plug);
        }
    }
    return y;
}
