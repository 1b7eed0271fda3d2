/* photo_chosen.c - beside the photo: its marks, and what can be done with the chosen one. */
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "screen/photo_bench.h"

static void chosen_part(struct bench_column *c, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_mark *mark)
{
    struct logbook_mark changed = *mark;
    struct ui_button away = {.look = UI_LOOK_QUIET, .key = "Delete"}, forward = {.key = "Shift+F"}, back = {.key = "Shift+B"};
    char typed[256];
    unsigned did;
    struct rect row = ui_cut_top(&c->r, ui_target_px(c->ui));

    if (!m->can_write)
        return;
    did = ui_text_field(c->ui, "bench.text", row, &(struct ui_field){.name = "words on the mark", .placeholder = "words beside it"}, mark->text, typed, sizeof typed);
    if ((did & UI_COMMIT) != 0 && strcmp(typed, mark->text) != 0) {
        text_copy(changed.text, sizeof changed.text, typed);
        bench_put(c->ui, out, &changed, 1, "Words on a mark");
    }
    if ((did & UI_ENTER) != 0) /* done: the next letters are commands again */
        ui_focus(c->ui, NULL);
    ui_cut_top(&c->r, 6);
    row = ui_cut_top(&c->r, ui_target_px(c->ui));
    for (int i = 0; i < MARK_COLOUR_COUNT; i++) {
        const struct mark_colour_row *k = mark_colour_row((enum mark_colour)i);
        struct rect cell = ui_cut_left(&row, ui_target_px(c->ui));
        char id[32];
        struct ui_hit hit;

        text_format(id, sizeof id, "bench.colour.%s", k->id);
        hit = ui_region(c->ui, id, cell, UI_ROLE_TOGGLE, k->id, mark->colour == (enum mark_colour)i ? "on" : "off", 6);
        ui_disc(c->ui, cell.x + cell.w / 2, cell.y + cell.h / 2, 10, ui_rgba(UI_EDGE_DARK));
        ui_disc(c->ui, cell.x + cell.w / 2, cell.y + cell.h / 2, 8.5f, (struct rgba){k->r, k->g, k->b, 255});
        if (mark->colour == (enum mark_colour)i)
            ui_select_ring(c->ui, cell.x + cell.w / 2, cell.y + cell.h / 2, 13, 2);
        if (hit.clicked) {
            changed.colour = (enum mark_colour)i;
            bench_put(c->ui, out, &changed, 1, "Colour of a mark");
        }
    }
    ui_cut_left(&row, 8);
    ui_keycap(c->ui, row.x + 48, row.y + row.h / 2, "Shift+I", false);
    ui_cut_left(&row, 56);
    if (ui_chip(c->ui, "bench.wide", ui_cut_left(&row, ui_chip_width(c->ui, "bold", NULL)), "bold", mark->width_px > 2, NULL)) {
        changed.width_px = mark->width_px > 2 ? 2 : 4;
        bench_put(c->ui, out, &changed, 1, "Line of a mark");
    }
    ui_cut_top(&c->r, 6);
    row = ui_cut_top(&c->r, fmaxf(36, ui_target_px(c->ui)));
    if (ui_button(c->ui, "bench.forward", ui_cut_left(&row, ui_button_width(c->ui, "Forward", &forward)), "Forward", &forward))
        bench_reorder(c->ui, m, out, mark, 1);
    ui_cut_left(&row, 8);
    if (ui_button(c->ui, "bench.back", ui_cut_left(&row, ui_button_width(c->ui, "Back", &back)), "Back", &back))
        bench_reorder(c->ui, m, out, mark, -1);
    ui_cut_top(&c->r, 6);
    if (bench_button(c, "bench.delete", "Take the mark away", &away)) {
        text_copy(actions_add(out, ACT_REMOVE_MARK)->id, UUID_BYTES, mark->id);
        bench_let_go(st);
    }
}

void bench_marks_part(struct bench_column *c, const struct model *m, struct screen_state *st, struct actions *out, const struct logbook_photo *p)
{
    struct ui_button save = {.key = "Ctrl+S"};
    size_t n;
    const struct logbook_mark *marks = bench_marks(m, p->id, &n);

    if (n == 0)
        return;
    bench_heading(c, "Marks");
    for (size_t i = 0; i < n; i++) {
        bool chosen = strcmp(marks[i].id, st->bench.mark) == 0;
        char words[400], id[64];

        bench_mark_words(m, &marks[i], words, sizeof words);
        text_format(id, sizeof id, "bench.mark.%.36s", marks[i].id);
        if (ui_value_row(c->ui, id, ui_cut_top(&c->r, 32), mark_kind_row(marks[i].kind)->label, words, chosen, NULL)) {
            bench_pick(st, -1);
            text_copy(st->bench.mark, sizeof st->bench.mark, marks[i].id);
        }
        if (chosen) {
            ui_cut_top(&c->r, 6);
            chosen_part(c, m, st, out, &marks[i]);
        }
    }
    ui_cut_top(&c->r, 10);
    if (bench_button(c, "bench.export", "Save a copy with marks", &save))
        text_copy(actions_add(out, ACT_EXPORT_MARKS)->id, UUID_BYTES, p->id);
}
