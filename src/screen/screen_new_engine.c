/* screen_new_engine.c - an engine written down: shape, numbering, firing order, ignition, plug. */
#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "screen/model.h"

static const struct {
    enum engine_layout layout;
    const char *label, *preset; /* the one to begin with */
} shapes[] = {{ENGINE_INLINE, "Inline", "i4"},   {ENGINE_V, "V", "v8-odd-left"},      {ENGINE_FLAT, "Flat", "f4-seq"},
              {ENGINE_NARROW_V, "Narrow V", "vr6-15"}, {ENGINE_W, "W", "w8"},         {ENGINE_RADIAL, "Radial", "r7"},
              {ENGINE_TWIN, "Twin", "twin-360"}, {ENGINE_SINGLE, "Single", "single-4"}};

static void take_preset(struct new_engine *n, const struct engine_preset *p)
{
    text_copy(n->preset, sizeof n->preset, p->id);
    n->layout = (int)p->layout;
    n->strokes = p->engine.strokes;
    engine_format_banks(&p->engine, n->banks, sizeof n->banks);
    engine_format_firing(&p->engine, n->firing, sizeof n->firing);
    engine_format_intervals(&p->engine, n->intervals, sizeof n->intervals);
    n->touched = true;
}

static void from_engine(struct new_engine *n, const struct engine *en)
{
    text_copy(n->name, sizeof n->name, en->name);
    text_copy(n->subtitle, sizeof n->subtitle, en->subtitle);
    n->layout = (int)en->layout;
    n->strokes = en->strokes;
    n->n_positions = en->n_positions;
    n->ignition = (int)en->ignition;
    n->seat = (int)en->plug.seat;
    n->electrode = (int)en->plug.electrode;
    n->access = (int)en->access;
    n->head = (int)en->head;
    engine_format_banks(en, n->banks, sizeof n->banks);
    engine_format_firing(en, n->firing, sizeof n->firing);
    engine_format_intervals(en, n->intervals, sizeof n->intervals);
    text_copy(n->thread, sizeof n->thread, en->plug.thread);
    if (en->plug.gap_min_mm > 0)
        text_from_double(n->gap_min, sizeof n->gap_min, en->plug.gap_min_mm, 2);
    if (en->plug.gap_max_mm > 0)
        text_from_double(n->gap_max, sizeof n->gap_max, en->plug.gap_max_mm, 2);
    if (en->plug.gap_limit_mm > 0)
        text_from_double(n->gap_limit, sizeof n->gap_limit, en->plug.gap_limit_mm, 2);
    if (en->plug.maker_torque_nm > 0)
        text_from_double(n->torque, sizeof n->torque, en->plug.maker_torque_nm, 1);
    n->touched = true;
}

static bool length(const char *s, const char *what, double *to, struct err *e)
{
    if (s[0] == '\0')
        return true;
    if (!text_to_double(s, to) || *to <= 0 || *to > 5)
        return err_set(e, ERR_BADARG, "%s: “%s” is no length in mm between 0 and 5.", what, s);
    return true;
}

static const char name_wanted[] = "Give the engine a name.";

bool new_engine_build(const struct new_engine *n, struct engine *en, struct err *e)
{
    engine_init(en);
    text_copy(en->name, sizeof en->name, n->name);
    text_copy(en->subtitle, sizeof en->subtitle, n->subtitle);
    en->layout = (enum engine_layout)n->layout;
    en->strokes = n->strokes ? n->strokes : 4;
    en->n_positions = n->n_positions ? n->n_positions : 1;
    en->ignition = (enum engine_ignition)n->ignition;
    en->access = (enum engine_access)n->access;
    en->head = (enum engine_head)n->head;
    en->plug.seat = (enum engine_seat)n->seat;
    en->plug.electrode = (enum engine_electrode)n->electrode;
    text_copy(en->plug.thread, sizeof en->plug.thread, n->thread);
    if (!length(n->gap_min, "Gap from", &en->plug.gap_min_mm, e) || !length(n->gap_max, "Gap to", &en->plug.gap_max_mm, e) ||
        !length(n->gap_limit, "Gap limit", &en->plug.gap_limit_mm, e))
        return false;
    if (n->torque[0] && (!text_to_double(n->torque, &en->plug.maker_torque_nm) || en->plug.maker_torque_nm <= 0 || en->plug.maker_torque_nm > 100))
        return err_set(e, ERR_BADARG, "Torque: “%s” is no figure in N·m between 0 and 100.", n->torque);
    if (!engine_parse_banks(en, n->banks, e) || !engine_parse_firing(en, n->firing, e) ||
        !engine_parse_intervals(en, n->intervals, e) || !engine_finish(en, e))
        return false;
    return n->name[0] != '\0' || err_set(e, ERR_BADARG, "%s", name_wanted);
}

static void shape_tiles(struct ui *ui, struct new_engine *n, struct rect *r)
{
    float w = (r->w - 24) / 4, h = 92;

    for (int i = 0; i < 8; i++) {
        struct rect t = {r->x + (float)(i % 4) * (w + 8), r->y + (float)(i / 4) * (h + 8), w, h}, pic = {t.x + 10, t.y + 10, t.w - 20, h - 40};
        const struct engine_preset *p = engine_find_preset(shapes[i].preset);
        bool on = n->layout == (int)shapes[i].layout;
        struct engine_spot size = engine_extent(&p->engine);
        float pitch = fminf(fminf(pic.w / (float)size.x, pic.h / (float)size.y), 18), x0, y0;
        char id[40];
        struct ui_hit hit;

        text_format(id, sizeof id, "new.shape.%s", engine_layout_id(shapes[i].layout));
        hit = ui_region(ui, id, t, UI_ROLE_TOGGLE, shapes[i].label, on ? "on" : "off", 8);
        ui_round(ui, t, 8, UI_CARD);
        ui_round_line(ui, t, 8, on ? 3 : hit.hover ? 2 : 1, on ? UI_SELECT : UI_LINE);
        x0 = pic.x + (pic.w - pitch * (float)size.x) / 2;
        y0 = pic.y + (pic.h - pitch * (float)size.y) / 2;
        for (int c = 0; c < p->engine.n_cylinders; c++) {
            struct engine_spot s = engine_spot(&p->engine, c);

            ui_disc(ui, x0 + (float)s.x * pitch, y0 + (float)s.y * pitch, pitch * 0.42f, (struct rgba){80, 80, 80, 255});
        }
        ui_text(ui, (struct rect){t.x, t.y + h - 28, t.w, 24}, shapes[i].label, &(struct ui_style){.weight = on ? UI_BOLD : UI_REGULAR, .colour = UI_TEXT, .align = UI_CENTRE});
        if (hit.clicked)
            take_preset(n, p);
    }
    ui_cut_top(r, 2 * h + 16);
}

/* Still as the ready-made one was taken: a change made by hand is no longer it. */
static bool as_taken(const struct new_engine *n, const struct engine_preset *p)
{
    char banks[sizeof n->banks], firing[sizeof n->firing], intervals[sizeof n->intervals];

    engine_format_banks(&p->engine, banks, sizeof banks);
    engine_format_firing(&p->engine, firing, sizeof firing);
    engine_format_intervals(&p->engine, intervals, sizeof intervals);
    return strcmp(n->preset, p->id) == 0 && n->strokes == p->engine.strokes && strcmp(n->banks, banks) == 0 &&
           strcmp(n->firing, firing) == 0 && strcmp(n->intervals, intervals) == 0;
}

/* Ready-made ones of the shape, as chips. */
static void presets(struct ui *ui, struct new_engine *n, struct rect *r)
{
    size_t count;
    const struct engine_preset *p = engine_presets(&count);
    struct ui_flow flow = ui_flow_begin(*r, 32);

    for (size_t i = 0; i < count; i++) {
        char id[56];

        if ((int)p[i].layout != n->layout)
            continue;
        text_format(id, sizeof id, "new.preset.%s", p[i].id);
        if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, p[i].label, NULL)), p[i].label, as_taken(n, &p[i]), NULL))
            take_preset(n, &p[i]);
    }
    ui_cut_top(r, ui_flow_height(&flow) + 14);
}

static void field(struct ui *ui, const char *id, const char *label, const char *hint, struct rect r, char *to, size_t n_room, bool *touched)
{
    struct ui_field f = {.name = label, .placeholder = hint};
    char typed[512];

    ui_heading(ui, ui_cut_top(&r, 22), label);
    assert(n_room <= sizeof typed);
    if ((ui_text_field(ui, id, ui_cut_top(&r, 40), &f, to, typed, n_room) & (UI_CHANGED | UI_COMMIT)) != 0) {
        text_copy(to, n_room, typed);
        *touched = true;
    }
}

static void chips(struct ui *ui, const char *id, struct rect *r, const char *const *labels, int n, int first, int *value)
{
    struct ui_flow flow = ui_flow_begin(*r, 32);

    for (int i = first; i < n; i++) {
        char chip[48];

        text_format(chip, sizeof chip, "%s.%d", id, i);
        if (ui_chip(ui, chip, ui_flow_next(&flow, ui_chip_width(ui, labels[i], NULL)), labels[i], *value == i, NULL))
            *value = *value == i && first > 0 ? 0 : i;
    }
    ui_cut_top(r, ui_flow_height(&flow) + 12);
}

void screen_new_engine(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    static const char *const seats[] = {"", "gasket seat", "taper seat"};
    static const char *const electrodes[] = {"", "nickel", "platinum", "iridium"};
    static const char *const accesses[] = {"", "plugs in wells", "plugs in the open"};
    static const char *const heads[] = {"", "aluminium head", "cast-iron head"};
    static const char *const threads[] = {"M8x1.0", "M10x1.0", "M12x1.25", "M14x1.25", "M18x1.5"};
    static const char *const positions[] = {"", "one plug each", "two plugs each"};
    struct new_engine *n = &st->fresh;
    struct rect content, view, footer, row;
    struct engine en;
    struct err e = {0};
    bool fine, editing = n->editing[0] != '\0';
    float start, half, third;
    int thread = -1;

    if (!n->touched && editing) {
        for (size_t i = 0; i < m->n_engines; i++)
            if (strcmp(m->engines[i].id, n->editing) == 0)
                from_engine(n, &m->engines[i].engine);
    } else if (!n->touched) {
        take_preset(n, engine_find_preset("i4"));
        n->n_positions = 1;
        text_copy(n->thread, sizeof n->thread, "M14x1.25");
        n->seat = ENGINE_SEAT_GASKET;
    }
    ui_fill(ui, r, UI_PANEL);
    footer = ui_cut_bottom(&r, 96);
    view = r;
    content = ui_scroll_begin(ui, "new", view);
    r = (struct rect){content.x + 24, content.y + 18, content.w - 48, 4000};
    start = r.y;
    ui_text(ui, ui_cut_top(&r, 28), editing ? "Change the engine" : "New engine", &(struct ui_style){.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_TEXT});
    ui_text(ui, ui_cut_top(&r, 26), "Pick the shape, then the numbers. Everything can be changed later.", &(struct ui_style){.colour = UI_TEXT_SOFT});
    ui_cut_top(&r, 8);
    half = (r.w - 16) / 2;
    row = ui_cut_top(&r, 70);
    field(ui, "new.name", "Name", "what you call it", (struct rect){row.x, row.y, half, 66}, n->name, sizeof n->name, &n->touched);
    field(ui, "new.subtitle", "Vehicle", "1998 saloon", (struct rect){row.x + half + 16, row.y, half, 66}, n->subtitle, sizeof n->subtitle, &n->touched);
    shape_tiles(ui, n, &r);
    presets(ui, n, &r);
    row = ui_cut_top(&r, 74);
    field(ui, "new.banks", "Numbering, front to rear", "1 3 5 7 / 2 4 6 8", (struct rect){row.x, row.y, half, 66}, n->banks, sizeof n->banks, &n->touched);
    field(ui, "new.firing", "Firing order", "1 8 4 3 6 5 7 2", (struct rect){row.x + half + 16, row.y, half, 66}, n->firing, sizeof n->firing, &n->touched);
    row = ui_cut_top(&r, 74);
    field(ui, "new.intervals", "Intervals, ° of crank (empty: even)", "even", (struct rect){row.x, row.y, half, 66}, n->intervals, sizeof n->intervals, &n->touched);
    {
        struct rect s = {row.x + half + 16, row.y + 22, half, 40};
        int strokes = n->strokes == 2 ? 2 : 4;

        ui_heading(ui, (struct rect){s.x, row.y, half, 22}, "Strokes");
        float four = ui_chip_width(ui, "four-stroke", NULL);

        if (ui_chip(ui, "new.strokes.4", (struct rect){s.x, s.y + 2, four, 34}, "four-stroke", strokes == 4, NULL))
            n->strokes = 4;
        if (ui_chip(ui, "new.strokes.2", (struct rect){s.x + four + 6, s.y + 2, ui_chip_width(ui, "two-stroke", NULL), 34}, "two-stroke", strokes == 2, NULL))
            n->strokes = 2;
    }
    ui_heading(ui, ui_cut_top(&r, 22), "Ignition");
    chips(ui, "new.ignition", &r, screen_ignitions, ENGINE_IGNITION_COUNT, 1, &n->ignition);
    chips(ui, "new.positions", &r, positions, 3, 1, &n->n_positions);
    if (n->n_positions == 0)
        n->n_positions = 1;
    ui_heading(ui, ui_cut_top(&r, 22), "Plug");
    for (int i = 0; i < 5; i++)
        if (strcmp(threads[i], n->thread) == 0)
            thread = i;
    chips(ui, "new.thread", &r, threads, 5, 0, &thread);
    if (thread >= 0)
        text_copy(n->thread, sizeof n->thread, threads[thread]);
    chips(ui, "new.seat", &r, seats, 3, 1, &n->seat);
    chips(ui, "new.electrode", &r, electrodes, 4, 1, &n->electrode);
    chips(ui, "new.access", &r, accesses, 3, 1, &n->access);
    chips(ui, "new.head", &r, heads, 3, 1, &n->head);
    third = (r.w - 36) / 4;
    row = ui_cut_top(&r, 74);
    field(ui, "new.gap-min", "Gap from, mm", "1.00", (struct rect){row.x, row.y, third, 66}, n->gap_min, sizeof n->gap_min, &n->touched);
    field(ui, "new.gap-max", "Gap to, mm", "1.30", (struct rect){row.x + third + 12, row.y, third, 66}, n->gap_max, sizeof n->gap_max, &n->touched);
    field(ui, "new.gap-limit", "Renew past, mm", "1.40", (struct rect){row.x + 2 * (third + 12), row.y, third, 66}, n->gap_limit, sizeof n->gap_limit, &n->touched);
    field(ui, "new.torque", "Maker's N·m", "book", (struct rect){row.x + 3 * (third + 12), row.y, third, 66}, n->torque, sizeof n->torque, &n->touched);
    ui_scroll_end(ui, r.y - start + 40);
    /* what is wrong, and the way on */
    fine = new_engine_build(n, &en, &e);
    ui_fill(ui, (struct rect){footer.x, footer.y, footer.w, 1}, UI_LINE);
    footer = ui_inset(footer, 24, 8);
    {
        struct rect line = ui_cut_top(&footer, 34);
        char said[300];

        if (fine) {
            char order[128];

            engine_format_firing(&en, order, sizeof order);
            text_format(said, sizeof said, "%d cylinder%s, fires %s", en.n_cylinders, en.n_cylinders == 1 ? "" : "s", order);
        } else {
            text_copy(said, sizeof said, e.text);
        }
        bool wrong = !fine && strcmp(said, name_wanted) != 0; /* a name still to come is nothing wrong */

        ui_text(ui, line, said, &(struct ui_style){.colour = wrong ? UI_ACT_INK : UI_TEXT_SOFT, .weight = wrong ? UI_MEDIUM : UI_REGULAR, .max_lines = 2, .top = true});
        ui_note(ui, "new.message", line, "message", said);
    }
    struct ui_button go = {.look = UI_LOOK_DARK, .disabled = fine ? NULL : e.text}, add = {.disabled = fine ? NULL : e.text}, leave = {.look = UI_LOOK_QUIET, .key = "Esc"};
    struct rect buttons = ui_cut_top(&footer, 40);

    if (editing) {
        if (ui_button(ui, "new.save", ui_cut_left(&buttons, 150), "Keep the changes", &go)) {
            text_copy(actions_add(out, ACT_SAVE_ENGINE)->id, UUID_BYTES, n->editing);
        }
    } else {
        if (ui_button(ui, "new.add-open", ui_cut_left(&buttons, 200), "Add and open first visit", &go))
            actions_add(out, ACT_ADD_ENGINE)->flag = true;
        ui_cut_left(&buttons, 10);
        if (ui_button(ui, "new.add", ui_cut_left(&buttons, 64), "Add", &add))
            actions_add(out, ACT_ADD_ENGINE);
    }
    ui_cut_left(&buttons, 10);
    if (m->n_engines > 0 && ui_button(ui, "new.leave", ui_cut_left(&buttons, 110), "Leave", &leave))
        st->new_open = false;
}
