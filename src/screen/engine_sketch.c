/* engine_sketch.c - an engine as it is written down: bores by number, firing order, who belongs to whom. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "screen/model.h"

void engine_sketch(struct ui *ui, const struct engine *en, const struct engine_levels *levels, float most_pitch, struct rect r)
{
    struct engine_spot size = engine_extent(en);
    float pitch = fminf(fminf(most_pitch, r.w / ((float)size.x + 0.9f)), (r.h - 6) / fmaxf((float)size.y, 1));
    float rows = (float)size.y > 1.2f && en->n_banks == 2 && en->layout != ENGINE_RADIAL ? 0.82f : 1, radius = pitch * 0.42f;
    float x0 = r.x + pitch * 0.9f, y0 = r.y + (r.h - ((float)size.y - 1) * pitch * rows) / 2;
    struct ui_style label = {.size_px = pitch > 70 ? 18 : pitch > 34 ? 13 : 11, .weight = UI_BOLD, .colour = UI_TEXT, .align = UI_CENTRE}, front = {.size_px = 11, .colour = UI_TEXT_SOFT, .align = UI_CENTRE};
    float fy = r.y + r.h / 2;
    float tri[] = {x0 - pitch * 0.5f + 6, fy - 12, x0 - pitch * 0.5f + 6, fy, x0 - pitch * 0.5f - 5, fy - 6};

    if (en->layout != ENGINE_RADIAL) {
        ui_polygon(ui, tri, 3, ui_rgba(UI_TEXT_SOFT));
        ui_text(ui, (struct rect){x0 - pitch * 0.5f - 22, fy + 2, 44, 18}, "front", &front);
        x0 += 12;
    }
    for (int c = 0; c < en->n_cylinders; c++) {
        struct engine_spot s = engine_spot(en, c);
        float x = x0 + (float)s.x * pitch, y = y0 + ((float)s.y - 0.5f) * pitch * rows;
        enum level level = levels != NULL ? (enum level)levels->level[c] : LEVEL_NONE;
        const struct rgba nose = levels != NULL && levels->read[c] ? levels->nose[c] : (struct rgba){190, 190, 190, 255};

        if (level >= LEVEL_WATCH)
            ui_disc(ui, x, y, radius + 3, level_colour(level));
        ui_disc(ui, x, y, radius, (struct rgba){102, 102, 102, 255});
        /* the nose of a plug somebody looked at; else an open hole */
        ui_disc(ui, x, y, radius * 0.68f, nose);
        label.colour = ui_contrast(ui_rgba(UI_TEXT), nose) >= 4.5 ? UI_TEXT : UI_DARK_TEXT; /* on soot */
        for (int i = 0; i < en->n_positions && en->n_positions > 1; i++) { /* several plugs, side by side on its rim */
            const float turn = 3.14159265f * (2 * (float)i / (float)en->n_positions + 1);

            ui_disc(ui, x + cosf(turn) * radius * 0.84f, y + sinf(turn) * radius * 0.84f, fmaxf(2.5f, radius * 0.15f), ui_rgba(UI_PANEL));
        }
        ui_text(ui, (struct rect){x - radius, y - radius, 2 * radius, 2 * radius}, en->cylinders[c].label, &label);
    }
    /* over all bores: at the rim, or off it where the bore is so small that a mark there would cover its number */
    for (int c = 0; c < en->n_cylinders && levels != NULL; c++) {
        const struct engine_spot s = engine_spot(en, c);
        float dx = radius * 0.78f, dy = -fmaxf(radius * 0.78f, 14);

        if (dy < -radius * 0.78f && en->layout == ENGINE_RADIAL) { /* outwards: above stands another bore */
            const float ax = (float)(s.x - size.x / 2), ay = (float)(s.y - size.y / 2), away = fmaxf(hypotf(ax, ay), 0.01f);

            dx = ax / away * (radius + 8);
            dy = ay / away * (radius + 8);
        }
        if (levels->level[c] >= LEVEL_WATCH)
            level_mark(ui, x0 + (float)s.x * pitch + dx, y0 + ((float)s.y - 0.5f) * pitch * rows + dy, fmaxf(7, fminf(12, pitch * 0.4f)), (enum level)levels->level[c]);
    }
}


/* "1+6", behind those told before. */
static void together(const struct engine *en, engine_set set, struct text *t)
{
    int c[ENGINE_MAX_CYLINDERS], n = engine_set_list(en, set, c);

    for (int i = 0; i < n; i++)
        text_addf(t, "%s%s", i > 0 ? "+" : t->n_bytes ? " · " : "", en->cylinders[c[i]].label);
}

static void companions(const struct engine *en, struct text *t)
{
    engine_set told = 0;

    for (int i = 0; i < en->n_cylinders; i++) {
        engine_set pair = engine_kin(en, en->firing[i], ENGINE_KIN_COMPANION), self = (engine_set)1 << en->firing[i];

        if (pair != 0 && (told & self) == 0)
            together(en, pair | self, t);
        told |= pair | self;
    }
}

static void groups(const struct engine *en, const engine_set *sets, int n, struct text *t)
{
    for (int i = 0; i < n; i++)
        together(en, sets[i], t);
}

static void fact(struct ui *ui, struct rect *r, const char *what, struct text *t)
{
    struct rect row;

    if (t->n_bytes > 0) {
        row = ui_cut_bottom(r, 24);
        ui_text(ui, ui_cut_left(&row, 190), what, &(struct ui_style){.colour = UI_DESK_TEXT});
        ui_text(ui, row, text_get(t), &(struct ui_style){.weight = UI_SEMIBOLD, .colour = UI_DESK_TEXT});
    }
    text_clear(t);
}

/* Lines from below: what is said of its cylinders together. */
static void facts(struct ui *ui, const struct engine *en, struct rect *r)
{
    struct text t = {0};

    if (en->breather_near != 0)
        together(en, en->breather_near, &t);
    fact(ui, r, "Breather near", &t);
    groups(en, en->mixture_groups, en->n_mixture_groups, &t);
    fact(ui, r, "On one carburettor", &t);
    groups(en, en->coil_groups, en->n_coil_groups, &t);
    fact(ui, r, "On one coil", &t);
    companions(en, &t);
    fact(ui, r, "360° of crank apart", &t);
    text_release(&t);
}

void engine_sketch_sheet(struct ui *ui, const struct engine_form *f, const char *title, struct rect r)
{
    struct ui_style soft = {.size_px = 14, .colour = UI_DESK_TEXT, .max_lines = 3, .top = true};
    struct engine_spot size;
    struct engine en;
    struct rect ribbon;
    struct err e = {0};
    bool fits = engine_form_drawing(f, &en, &e);
    float pitch, w;
    char line[200];

    if (fits && en.n_cylinders > 1)
        ribbon = ui_cut_bottom(&r, 124);
    r = ui_inset(r, 30, 24);
    ui_text(ui, ui_cut_top(&r, 36), f->name[0] ? f->name : title, &(struct ui_style){.size_px = 26, .weight = UI_SEMIBOLD, .colour = UI_DESK_TEXT});
    if (!fits) {
        ui_text(ui, ui_cut_top(&r, 66), "It is drawn here as soon as numbering and firing order fit.", &soft);
        return;
    }
    text_format(line, sizeof line, "%d cylinder%s%s · %s-stroke%s", en.n_cylinders, en.n_cylinders == 1 ? "" : "s", en.n_banks == 1 ? "" : en.n_banks == 2 ? " in two banks" : " in several banks", en.strokes == 2 ? "two" : "four",
                en.n_positions == 1 ? "" : en.n_positions == 2 ? " · two plugs each" : " · several plugs each");
    ui_text(ui, ui_cut_top(&r, 26), line, &soft);
    if (f->editing[0] == '\0')
        ui_text(ui, ui_cut_top(&r, 44), "Describe it on the right: shape, numbering, firing order. Or take over a table or a written case: Ctrl+O, or drop it on the window.", &(struct ui_style){.colour = UI_DESK_TEXT, .max_lines = 2, .top = true});
    ui_cut_top(&r, 8);
    facts(ui, &en, &r);
    ui_cut_bottom(&r, 12);
    ui_round(ui, r, 12, UI_PANEL);
    r = ui_inset(r, 16, 16);
    size = engine_extent(&en);
    pitch = fminf(fminf(110, r.w / ((float)size.x + 0.9f)), (r.h - 6) / fmaxf((float)size.y, 1));
    w = fminf(pitch * ((float)size.x + 0.9f), r.w);
    engine_sketch(ui, &en, NULL, 110, (struct rect){r.x + (r.w - w) / 2 - pitch * 0.3f, r.y, w, r.h});
    if (en.n_cylinders > 1)
        firing_ribbon(ui, &en, NULL, -1, false, ribbon);
}
