/* photo_tools.c - the tools of the photo bench, as one table: their signs, their keys, and what to do
 * with each. */
#include "screen/photo_bench.h"

#include <math.h>
#include <string.h>

#include "base/text.h"

#define PEN_UP -1.0f
#define DONE -2.0f

static const float select_sign[] = {5, 2, 5, 16, 8.5f, 13, 11, 18, 13.5f, 17, 11, 12, 15.5f, 11.5f, 5, 2, DONE};
static const float scale_sign[] = {2, 8, 5, 4, 8, 8, 11, 4, 14, 8, 17, 4, PEN_UP, 2, 14, 18, 14, PEN_UP, 2, 11, 2, 17, PEN_UP, 18, 11, 18, 17, DONE};
static const float hex_sign[] = {6, 3, 14, 3, 18, 10, 14, 17, 6, 17, 2, 10, 6, 3, PEN_UP, 2, 10, 18, 10, DONE};
static const float length_sign[] = {2, 6, 18, 6, 18, 14, 2, 14, 2, 6, PEN_UP, 6, 6, 6, 10, PEN_UP, 10, 6, 10, 11, PEN_UP, 14, 6, 14, 10, DONE};
static const float gap_sign[] = {5, 3, 5, 17, PEN_UP, 15, 3, 15, 17, PEN_UP, 5, 10, 15, 10, DONE};
static const float patch_sign[] = {3, 3, 17, 3, 17, 17, 3, 17, 3, 3, 17, 17, DONE};
static const float nose_sign[] = {3, 3, 9, 3, 15, 7, 17, 10, 15, 13, 9, 17, 3, 17, 3, 3, DONE};
static const float pin_sign[] = {10, 18, 5, 9, 5, 6, 7, 3, 10, 2, 13, 3, 15, 6, 15, 9, 10, 18, PEN_UP, 9, 7, 11, 7, DONE};
static const float arrow_sign[] = {3, 17, 17, 3, PEN_UP, 10, 3, 17, 3, 17, 10, DONE};
static const float polygon_sign[] = {6, 3, 15, 4, 18, 11, 11, 17, 3, 13, 6, 3, DONE};
static const float free_sign[] = {3, 12, 5, 6, 9, 4, 13, 7, 17, 6, 17, 12, 14, 16, 9, 15, 6, 17, 3, 12, DONE};
static const float ellipse_sign[] = {18, 10, 17, 13, 14, 15, 10, 16, 6, 15, 3, 13, 2, 10, 3, 7, 6, 5, 10, 4, 14, 5, 17, 7, 18, 10, DONE};
static const float box_sign[] = {3, 5, 17, 5, 17, 15, 3, 15, 3, 5, DONE};
static const float text_sign[] = {4, 4, 16, 4, PEN_UP, 10, 4, 10, 17, PEN_UP, 4, 4, 4, 7, PEN_UP, 16, 4, 16, 7, DONE};
static const float ruler_sign[] = {2, 14, 14, 2, 18, 6, 6, 18, 2, 14, PEN_UP, 5, 11, 7, 13, PEN_UP, 8, 8, 10, 10, PEN_UP, 11, 5, 13, 7, DONE};

/* clang-format off */
static const struct bench_tool table[] = {
    {-1, "Select", "v", "V", "click a mark, drag its points   M: next mark   H: its next point   arrows: move   Del: away", select_sign},
    {MARK_SCALE, "Scale", "s", "S", "draw along the crests of the thread, at its outline", scale_sign},
    {MARK_HEX, "Hex", "6", "6", "draw across the hex, from edge to edge, square to the plug", hex_sign},
    {MARK_LENGTH, "Known", "5", "5", "draw along a ruler, or anything of known length", length_sign},
    {MARK_GAP, "Gap", "g", "G", "draw across the gap, from electrode to electrode; rough will do", gap_sign},
    {MARK_PATCH, "Grey patch", "p", "P", "draw a box inside the grey card, clear of its edges", patch_sign},
    {MARK_NOSE, "Nose", "n", "N", "draw around the nose, clear of edge and strap, or click its corners", nose_sign},
    {MARK_PIN, "Pin", "i", "I", "click where it belongs", pin_sign},
    {MARK_ARROW, "Arrow", "a", "A", "draw to the thing; snaps to level, upright, 45°, the plug's axis", arrow_sign},
    {MARK_POLYGON, "Outline", "o", "O", "click the corners; the first one, Enter or a double click closes it", polygon_sign},
    {MARK_FREE, "Free", "d", "D", "draw around it, or click its corners", free_sign},
    {MARK_ELLIPSE, "Ellipse", "e", "E", "draw from corner to corner", ellipse_sign},
    {MARK_BOX, "Box", "b", "B", "draw from corner to corner", box_sign},
    {MARK_TEXT, "Text", "x", "X", "click where it belongs, then type", text_sign},
    {MARK_RULER, "Ruler", "r", "R", "draw a length, in mm once there is a scale; snaps to the plug's axis", ruler_sign},
};
/* clang-format on */
_Static_assert(sizeof table / sizeof table[0] == MARK_KIND_COUNT + 1, "a tool for each kind, and one that selects");

const struct bench_tool *bench_tools(int *n)
{
    *n = (int)(sizeof table / sizeof table[0]);
    return table;
}

const struct bench_tool *bench_tool_of(int kind)
{
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++)
        if (table[i].kind == kind)
            return &table[i];
    return &table[0];
}

void bench_pick(struct screen_state *st, int kind)
{
    bench_let_go(st);
    st->bench.tool = kind;
}

static void draw_sign(struct ui *ui, const float *at, float x, float y, enum ui_colour c)
{
    while (*at > DONE) {
        if (at[0] > PEN_UP && at[2] > PEN_UP) {
            ui_line(ui, x + at[0], y + at[1], x + at[2], y + at[3], 1.75f, c);
            at += 2;
        } else if (at[2] > DONE) {
            at += 3; /* over the end of this polyline */
        } else {
            return;
        }
    }
}

void bench_tool_column(struct ui *ui, const struct model *m, struct screen_state *st, struct rect r)
{
    const int n = (int)(sizeof table / sizeof table[0]);
    float each = m->large_targets ? 54 : fminf(44, fmaxf(40, floorf((r.h - 8) / (float)n)));
    struct rect content;
    float y;

    ui_fill(ui, r, UI_BAR_RAISED);
    ui_fill(ui, (struct rect){r.x, r.y, 1, r.h}, UI_BAR);
    content = ui_scroll_begin(ui, "bench.tools", r);
    y = content.y + 4;
    for (int i = 0; i < n; i++) {
        const struct bench_tool *t = &table[i];
        struct rect cell = {r.x + 5, y, r.w - 10, each - 2};
        bool on = st->bench.tool == t->kind, live = m->can_write || t->kind < 0;
        char id[40];
        struct ui_hit hit;

        text_format(id, sizeof id, "bench.tool.%s", t->kind < 0 ? "select" : mark_kind_row((enum mark_kind)t->kind)->id);
        hit = ui_region(ui, id, cell, UI_ROLE_TOGGLE, t->label, on ? "on" : "off", 5);
        if (on)
            ui_round(ui, cell, 5, UI_PANEL);
        else if (hit.hover)
            ui_round(ui, cell, 5, UI_BAR_FIELD);
        draw_sign(ui, t->sign, cell.x + 12, cell.y + 3, on ? UI_TEXT : UI_BAR_TEXT);
        ui_keycap(ui, cell.x + cell.w - 8, cell.y + 13, t->shown, !on);
        ui_text(ui, (struct rect){cell.x, cell.y + each - 20, cell.w, 16}, t->label,
                &(struct ui_style){.size_px = 11, .weight = UI_MEDIUM, .colour = on ? UI_TEXT : UI_BAR_TEXT, .align = UI_CENTRE});
        if (hit.clicked && live)
            bench_pick(st, t->kind);
        y += each;
    }
    ui_scroll_end(ui, y + 4 - content.y);
}
