/* plan_found.c - what stands out, gravest first. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "screen/model.h"
#include "screen/plan_causes.h"
#include "screen/plan_look.h"

static void edge(struct ui *ui, struct rect r, enum level level)
{
    ui_fill_rgba(ui, (struct rect){r.x, r.y, 5, r.h}, level_colour(level));
}

void plan_found(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    struct ui_style title = {.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_TEXT}, quiet = {.colour = UI_TEXT_SOFT};
    struct ui_style head = {.size_px = 14, .weight = UI_SEMIBOLD, .colour = UI_TEXT, .max_lines = 3, .top = true};
    struct ui_style body = {.colour = UI_TEXT, .max_lines = 6, .top = true}, foot = {.colour = UI_TEXT_QUIET, .max_lines = 3, .top = true};
    const struct findings *f = m->findings;
    const struct visit *v = model_visit(m);
    int n_plugs = record_plug_count(&m->record->engine), n_said = 0;
    int n_read = v != NULL ? visit_plugs_read(v, n_plugs) : 0, n_wells = v != NULL ? visit_wells_read(v, n_plugs) : 0;
    char line[160], complaint[600];
    float y;
    struct rect top, content;

    (void)out;
    for (int i = 0; v != NULL && i < n_plugs; i++)
        n_said += v->readings[i].present;
    ui_fill(ui, r, UI_PANEL);
    top = ui_cut_top(&r, 68);
    ui_text(ui, (struct rect){top.x + 16, top.y + 12, top.w - 32, 28}, "What stands out", &title);
    if (n_plugs == 1)
        text_copy(line, sizeof line, n_read ? "the plug is read" : "not read yet");
    else
        text_format(line, sizeof line, "%d of %d plugs read", n_read, n_plugs);
    if (n_wells > n_read)
        text_format(line + strlen(line), sizeof line - strlen(line), ", %d well%s", n_wells, n_wells == 1 ? "" : "s");
    text_format(line + strlen(line), sizeof line - strlen(line), " · %d photo%s%s", (int)m->n_photos, m->n_photos == 1 ? "" : "s", f != NULL && f->provisional ? " · provisional" : "");
    ui_text(ui, (struct rect){top.x + 16, top.y + 40, top.w - 32, 20}, line, &quiet);
    ui_note(ui, "found.read", (struct rect){top.x + 16, top.y + 40, top.w - 32, 20}, line, "");
    visit_format_complaint(v, complaint, sizeof complaint);
    if (complaint[0] != '\0') { /* what the owner came with, beside what was found */
        const struct ui_style asked = {.colour = UI_TEXT_SOFT, .max_lines = 3, .top = true};
        float h = ui_text_height(ui, r.w - 32, complaint, &asked);

        top = ui_cut_top(&r, h + 10);
        ui_text(ui, (struct rect){top.x + 16, top.y - 4, top.w - 32, h}, complaint, &asked);
        ui_note(ui, "found.complaint", (struct rect){top.x + 16, top.y - 4, top.w - 32, h}, "complaint", complaint);
    }
    plan_first_suspect(ui, m, st, &r);
    ui_fill(ui, (struct rect){r.x, r.y - 1, r.w, 1}, UI_LINE);
    content = ui_scroll_begin(ui, "found", r);
    y = plan_look(ui, m, st, r, content.y);
    if (f == NULL) {
        ui_text(ui, (struct rect){r.x + 16, y + 12, r.w - 32, 20}, "Reading …", &quiet);
        y += 40;
    } else if (f->n_stand_outs == 0) {
        struct ui_style wrap = quiet;

        wrap.max_lines = 6;
        wrap.top = true;
        y += 12;
        y += ui_text(ui, (struct rect){r.x + 16, y, r.w - 32, 100},
                     n_said > 0                                          ? "Nothing stands out among what was looked at."
                     : engine_may_have_wells(&m->record->engine) ? "Nothing is read yet. Pick a cylinder by its number and note its deposit, gap and well; press F4 to go plug by plug."
                                                                 : "Nothing is read yet. Pick a cylinder by its number and note its deposit and gap; press F4 to go plug by plug.", &wrap);
    }
    for (int i = 0; f != NULL && i < f->n_stand_outs; i++) {
        const struct stand_out *s = &f->stand_outs[i];
        float w = r.w - 38, h = 12;
        char id[32];
        struct rect row;
        struct ui_hit hit;

        h += ui_text_height(ui, w - 20, s->headline, &head) + 4;
        h += ui_text_height(ui, w, s->text, &body);
        if (s->odds[0])
            h += 4 + ui_text_height(ui, w, s->odds, &foot);
        h += 12;
        row = (struct rect){r.x, y, r.w, h};
        snprintf(id, sizeof id, "found.%d", i);
        hit = ui_region(ui, id, row, UI_ROLE_ROW, s->headline, s->text, 0);
        if (st->found == i)
            ui_fill(ui, row, UI_CARD);
        else if (hit.hover)
            ui_fill(ui, row, UI_CARD_DIM);
        edge(ui, row, s->level);
        if (hit.clicked) {
            st->found = st->found == i ? -1 : i;
            if (s->cylinders != 0) /* its first cylinder comes to the card */
                for (int c = 0; c < m->record->engine.n_cylinders; c++)
                    if ((s->cylinders >> c & 1u) != 0) {
                        st->cylinder = c;
                        st->position = s->position > 0 ? s->position : 0;
                        break;
                    }
        }
        float ty = y + 12;

        level_mark(ui, r.x + r.w - 26, ty + 10, 11, s->level); /* the level by its shape too */
        ty += ui_text(ui, (struct rect){r.x + 18, ty, w - 20, h}, s->headline, &head) + 4;
        ty += ui_text(ui, (struct rect){r.x + 18, ty, w, h}, s->text, &body);
        if (s->odds[0])
            ui_text(ui, (struct rect){r.x + 18, ty + 4, w, h}, s->odds, &foot);
        ui_fill(ui, (struct rect){r.x, y + h - 1, r.w, 1}, UI_LINE);
        y += h;
        if (st->found == i && s->how[0]) { /* how this came about */
            float hh = ui_text_height(ui, w, s->how, &(struct ui_style){.max_lines = 12}) + 20;
            struct ui_style how = {.colour = UI_TEXT_SOFT, .max_lines = 12, .top = true};

            ui_fill(ui, (struct rect){r.x + 5, y, r.w - 5, hh}, UI_CARD);
            ui_text(ui, (struct rect){r.x + 18, y + 8, w, hh}, s->how, &how);
            ui_note(ui, "found.how", (struct rect){r.x, y, r.w, hh}, "how this was computed", s->how);
            ui_fill(ui, (struct rect){r.x, y + hh - 1, r.w, 1}, UI_LINE);
            y += hh;
        }
    }
    if (f != NULL)
        y = plan_causes(ui, m, st, r, y);
    if (f != NULL && n_said > 0 && (f->notes.n > 0 || f->advice.n > 0)) {
        struct ui_style note = {.colour = UI_TEXT_QUIET, .max_lines = 5, .top = true};

        y += 12;
        for (int i = 0; i < f->notes.n; i++)
            y += ui_text(ui, (struct rect){r.x + 16, y, r.w - 32, 80}, f->notes.text[i], &note) + 6;
        for (int i = 0; i < f->advice.n; i++)
            y += ui_text(ui, (struct rect){r.x + 16, y, r.w - 32, 80}, f->advice.text[i], &note) + 6;
    }
    ui_scroll_end(ui, y - content.y + 8);
}
