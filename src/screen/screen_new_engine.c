/* screen_new_engine.c - an engine written down: shape, numbering, firing order, ignition, plug. */
#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/err.h"
#include "base/text.h"
#include "screen/commands.h"
#include "screen/model.h"
#include "screen/panels.h"
#include "screen/refused.h"

static const struct {
    enum engine_layout layout;
    const char *label, *preset; /* the one to begin with */
} shapes[] = {{ENGINE_INLINE, "Inline", "i4"},   {ENGINE_V, "V", "v8-odd-left"},      {ENGINE_FLAT, "Flat", "f4-seq"},
              {ENGINE_NARROW_V, "Narrow V", "vr6-15"}, {ENGINE_W, "W", "w8"},         {ENGINE_RADIAL, "Radial", "r7"},
              {ENGINE_TWIN, "Twin", "twin-360"}, {ENGINE_SINGLE, "Single", "single-4"}};

static void shape_tiles(struct ui *ui, struct engine_form *n, struct rect *r)
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
            engine_form_take_preset(n, p);
    }
    ui_cut_top(r, 2 * h + 16);
}

/* Ready-made ones of the shape, as chips. */
static void presets(struct ui *ui, struct engine_form *n, struct rect *r)
{
    size_t count;
    const struct engine_preset *p = engine_presets(&count);
    struct ui_flow flow = ui_flow_begin(*r, 32);

    for (size_t i = 0; i < count; i++) {
        char id[56];

        if ((int)p[i].layout != n->layout && !(n->layout == ENGINE_TWIN && p[i].n_cylinders == 2)) /* who looks for a twin does not ask how it stands */
            continue;
        text_format(id, sizeof id, "new.preset.%s", p[i].id);
        if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, p[i].label, NULL)), p[i].label, engine_form_is_preset(n, &p[i]), NULL))
            engine_form_take_preset(n, &p[i]);
    }
    ui_cut_top(r, ui_flow_height(&flow) + 14);
}

/* The fields of the form in this frame. */
struct fields {
    struct screen_state *st;
    struct engine_form_troubles troubles;
    const char *first; /* id of the first with something wrong, NULL none */
    int now;           /* the one that is drawn: its bit of new_said */
};

/* A field that was left wrong says so, until it is right: not while the first letters are typed into it, nor while
 * something is pressed, which the sentence would push away from under the pointer. */
static bool is_said(struct ui *ui, struct fields *all, const char *id, bool wrong)
{
    const uint32_t bit = 1u << all->now;
    const bool was = (all->st->new_said & bit) != 0, now = wrong && (was || (strcmp(ui_focused(ui), id) != 0 && !ui_pressing(ui)));

    if (wrong && !now && ui_let_go(ui))
        ui_wake_at_s(ui, ui_now_s(ui));
    all->st->new_said = now ? all->st->new_said | bit : all->st->new_said & ~bit;
    return now;
}

/* trouble: what is wrong with it, "" nothing. Gives the height of the sentence that says so below it. */
static float field(struct ui *ui, const char *id, const char *label, const char *hint, struct rect r, char *to, size_t n_room, bool *touched, const char *trouble, struct fields *all)
{
    const bool said = is_said(ui, all, id, trouble[0] != '\0' && to[0] != '\0');
    struct ui_field f = {.name = label, .placeholder = hint, .error = said ? "" : NULL};
    char typed[512];

    if (trouble[0] != '\0' && all->first == NULL)
        all->first = id;
    ui_heading(ui, ui_cut_top(&r, 22), label);
    assert(n_room <= sizeof typed);
    if ((ui_text_field(ui, id, ui_cut_top(&r, 40), &f, to, typed, n_room) & (UI_CHANGED | UI_COMMIT)) != 0) {
        text_copy(to, n_room, typed);
        *touched = true;
    }
    return said ? refused_say(ui, id, (struct rect){r.x, r.y + 4, r.w, 0}, trouble, to, true) : 0;
}

static float words_field(struct ui *ui, struct engine_form *n, enum engine_form_words which, struct rect r, struct fields *all)
{
    const struct engine_form_row *row = engine_form_words_row(which);

    all->now = (int)which;
    return field(ui, row->id, engine_form_words_label(n, which), row->hint, r, n->words[which], sizeof n->words[which], &n->touched, all->troubles.words[which], all);
}

static void figure_fields(struct ui *ui, struct engine_form *n, struct rect *r, struct fields *all)
{
    float w = (r->w - 24) / 3, below = 0;

    for (int i = 0; i < ENGINE_FORM_FIGURE_COUNT; i++) {
        const struct engine_form_row *row = engine_form_figure_row((enum engine_form_figure)i);
        bool inches = n->inches && row->label_inches != NULL;

        all->now = ENGINE_FORM_WORDS_COUNT + i;
        below = fmaxf(below, field(ui, row->id, inches ? row->label_inches : row->label, inches ? row->hint_inches : row->hint, (struct rect){r->x + (float)(i % 3) * (w + 12), r->y, w, 66}, n->figures[i],
                                   sizeof n->figures[i], &n->touched, all->troubles.figures[i], all));
        if (i % 3 == 2) {
            ui_cut_top(r, 74 + below);
            below = 0;
        }
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

/* ---- what merged copies say differently ---- */

/* The columns of the logbook that stand under a row of fields. */
enum form_part { PART_NAME, PART_SHAPE, PART_NUMBERING, PART_INTERVALS, PART_IGNITION, PART_MIXTURE, PART_PLUG, PART_FIGURES, PART_COUNT };
static const char *const columns_of[PART_COUNT][9] = {
    [PART_NAME] = {"name", "subtitle", "notes", "gone"},
    [PART_SHAPE] = {"layout"},
    [PART_NUMBERING] = {"banks", "firing"},
    [PART_INTERVALS] = {"intervals", "strokes"},
    [PART_IGNITION] = {"ignition", "coil_groups", "n_positions", "position_names"},
    [PART_MIXTURE] = {"fuel_system", "mixture_groups", "breather_near"},
    [PART_PLUG] = {"plug_type", "thread", "seat", "electrode", "access", "head"},
    [PART_FIGURES] = {"gap_min_um", "gap_max_um", "gap_limit_um", "gap_unit", "heat_steps", "torque_mnm", "torque_unit", "hex_um"},
};

struct differ { /* what it takes to show them */
    struct ui *ui;
    const struct model *m;
    struct actions *out;
    struct engine_form *n;
    bool unchanged; /* the form holds what the logbook does: choosing fills it in anew */
    struct rect *r;
};

static void differ_at(const struct differ *d, enum form_part part)
{
    int n = d->out->n;

    if (d->n->editing[0] == '\0')
        return;
    conflicts_at_card(d->ui, d->m, d->out, d->n->editing, columns_of[part], d->unchanged, d->r);
    if (d->out->n > n)
        d->n->touched = false;
}

/* That there are any, where the form begins. */
static void differ_in_short(const struct differ *d)
{
    const int n = d->n->editing[0] != '\0' ? conflicts_of_card(d->m, d->n->editing) : 0;
    struct rect line;
    char words[160];

    if (n == 0)
        return;
    line = ui_cut_top(d->r, 30);
    text_format(words, sizeof words, "Copies differ in %d field%s: both values stand below it%s", n, n == 1 ? "" : "s", d->unchanged ? "." : ", to be chosen when the changes are kept.");
    level_mark(d->ui, line.x + 7, line.y + 12, 13, LEVEL_WATCH);
    ui_note(d->ui, "new.copies-differ", line, "copies differ", words);
    ui_text(d->ui, (struct rect){line.x + 22, line.y, line.w - 22, 24}, words, &(struct ui_style){.weight = UI_SEMIBOLD});
}

/* ---- begun, left, taken up again ---- */

bool form_as_begun(const struct model *m, const char *editing, bool inches, struct engine_form *out)
{
    memset(out, 0, sizeof *out);
    if (editing[0] == '\0') {
        engine_form_begin(out, inches);
        return true;
    }
    for (size_t i = 0; i < m->n_engines; i++)
        if (strcmp(m->engines[i].id, editing) == 0) {
            text_copy(out->editing, sizeof out->editing, editing);
            engine_form_fill(out, &m->engines[i].engine, inches);
            return true;
        }
    return false;
}

bool form_holds(const struct model *m, const struct engine_form *f)
{
    struct engine_form begun;

    return f->touched && form_as_begun(m, f->editing, f->inches, &begun) && !engine_form_same(&begun, f);
}

void form_leave(const struct model *m, struct screen_state *st)
{
    st->new_open = false;
    if (form_holds(m, &st->fresh))
        st->left[st->fresh.editing[0] != '\0'] = st->fresh;
}

void form_open(const struct model *m, struct screen_state *st, const char *editing)
{
    struct engine_form *left = &st->left[editing[0] != '\0'];

    if (st->new_open)
        form_leave(m, st);
    st->new_open = true;
    if (strcmp(left->editing, editing) == 0 && form_holds(m, left)) {
        st->fresh = *left;
        st->fresh.taken_up = true;
        left->touched = false;
        return;
    }
    memset(&st->fresh, 0, sizeof st->fresh);
    text_copy(st->fresh.editing, sizeof st->fresh.editing, editing);
}

/* As it was begun; what it held goes. */
static void start_over(struct engine_form *n)
{
    char editing[UUID_BYTES];

    text_copy(editing, sizeof editing, n->editing);
    memset(n, 0, sizeof *n);
    text_copy(n->editing, sizeof n->editing, editing);
}

/* What stands in the form from before is said, with the way to an empty one. */
static void taken_up(struct ui *ui, const struct screen_state *st, struct engine_form *n, struct rect r)
{
    const struct ui_button over = {.key = command_key("start-over")};
    const char *label = n->editing[0] != '\0' ? "As in the logbook" : "Start over";

    if (ui_button(ui, "new.start-over", ui_cut_right(&r, ui_button_width(ui, label, &over)), label, &over) || (st->panel == PANEL_NONE && ui_key(ui, over.key))) {
        start_over(n);
        ui_wake_at_s(ui, ui_now_s(ui)); /* it is begun in the next frame */
    }
    ui_text(ui, r, "As it was left.", &(struct ui_style){.colour = UI_TEXT_SOFT});
    ui_note(ui, "new.taken-up", r, "as it was left", "");
}

/* The ways on from the form. */
struct way {
    const char *id, *label;
    enum ui_button_look look;
    const char *command, *key; /* whose key it is, or the key */
    enum action_type does;     /* ACT_NONE: leaves */
    bool opens;
};

static int ways_on(const struct engine_form *n, bool may_leave, const struct way **ways)
{
    static const struct way change[] = {{"new.save", "Keep the changes", UI_LOOK_DARK, NULL, "Ctrl+Enter", ACT_SAVE_ENGINE, false}, {"new.leave", "Leave", UI_LOOK_QUIET, NULL, "Esc", ACT_NONE, false}};
    static const struct way make[] = {{"new.add-open", "Add and open first visit", UI_LOOK_DARK, "add-open", NULL, ACT_ADD_ENGINE, true},
                                      {"new.add", "Add", UI_LOOK_PLAIN, "add", NULL, ACT_ADD_ENGINE, false},
                                      {"new.leave", "Leave", UI_LOOK_QUIET, NULL, "Esc", ACT_NONE, false}};

    *ways = n->editing[0] != '\0' ? change : make;
    return (n->editing[0] != '\0' ? 1 : 2) + may_leave;
}

static const char *way_key(const struct way *w)
{
    return w->key != NULL ? w->key : command_key(w->command);
}

#define MESSAGE_PX 38 /* two lines of what is wrong, always, so that nothing moves when it comes */

/* What is wrong, and the ways on, in as many lines as they need. */
static float foot_px(struct ui *ui, const struct engine_form *n, bool may_leave, float w)
{
    const struct way *ways;
    int n_ways = ways_on(n, may_leave, &ways);
    struct ui_flow flow = ui_flow_begin((struct rect){0, 0, w, 0}, 40);

    for (int i = 0; i < n_ways; i++)
        ui_flow_next(&flow, ui_button_width(ui, ways[i].label, &(struct ui_button){.look = ways[i].look, .key = ways[i].does == ACT_NONE ? "Esc Esc" : way_key(&ways[i])}));
    return MESSAGE_PX + 24 + ui_flow_height(&flow);
}

void screen_new_engine(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    static const char *const seats[] = {"", "gasket seat", "taper seat"};
    static const char *const electrodes[] = {"", "nickel", "platinum", "iridium"};
    static const char *const accesses[] = {"", "plugs in wells", "plugs in the open"};
    static const char *const heads[] = {"", "aluminium head", "cast-iron head"};
    const char *fuels[ENGINE_FUEL_COUNT];
    static const char *const threads[] = {"", "M8x1.0", "M10x1.0", "M12x1.25", "M14x1.25", "M18x1.5", "7/8in-18"};
    static const char *const positions[] = {"", "one plug each", "two plugs each"};
    struct engine_form *n = &st->fresh;
    struct rect content, view, footer, row;
    struct engine en;
    struct err e = {0};
    bool fine, whole, editing = n->editing[0] != '\0';
    float start, half, below;
    int thread = 0, before;
    struct fields all = {.st = st, .now = ENGINE_FORM_WORDS_COUNT + ENGINE_FORM_FIGURE_COUNT}; /* the others are never wrong as they stand */
    struct differ d = {ui, m, out, n, false, &r};

    if (!n->touched && editing) {
        for (size_t i = 0; i < m->n_engines; i++)
            if (strcmp(m->engines[i].id, n->editing) == 0)
                engine_form_fill(n, &m->engines[i].engine, m->inches);
    } else if (!n->touched) {
        engine_form_begin(n, m->inches);
    }
    engine_form_set_inches(n, m->inches);
    ui_fill(ui, r, UI_PANEL);
    footer = ui_cut_bottom(&r, foot_px(ui, n, m->n_engines > 0, r.w - 48));
    view = r;
    content = ui_scroll_begin(ui, "new", view);
    r = (struct rect){content.x + 24, content.y + 18, content.w - 48, 4000};
    start = r.y;
    ui_text(ui, ui_cut_top(&r, 28), editing ? "Change the engine" : "New engine", &(struct ui_style){.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_TEXT});
    d.unchanged = editing && !form_holds(m, n);
    if (n->taken_up)
        taken_up(ui, st, n, ui_cut_top(&r, ui_target_px(ui)));
    else
        ui_text(ui, ui_cut_top(&r, 26), editing ? "What is typed here is kept when it is left, until it is kept or started over." : "Pick the shape, then the numbers. Everything can be changed later.", &(struct ui_style){.colour = UI_TEXT_SOFT});
    ui_cut_top(&r, 8);
    differ_in_short(&d);
    half = (r.w - 16) / 2;
    row = ui_cut_top(&r, 70);
    engine_form_troubles(n, &all.troubles);
    field(ui, "new.name", "Name", "what you call it", (struct rect){row.x, row.y, half, 66}, n->name, sizeof n->name, &n->touched, engine_form_named(n, NULL) ? "" : "Give the engine a name.", &all);
    field(ui, "new.subtitle", "Vehicle", "1998 saloon", (struct rect){row.x + half + 16, row.y, half, 66}, n->subtitle, sizeof n->subtitle, &n->touched, "", &all);
    differ_at(&d, PART_NAME);
    shape_tiles(ui, n, &r);
    presets(ui, n, &r);
    differ_at(&d, PART_SHAPE);
    row = ui_cut_top(&r, 74);
    below = words_field(ui, n, ENGINE_FORM_BANKS, (struct rect){row.x, row.y, half, 66}, &all);
    ui_cut_top(&r, fmaxf(below, words_field(ui, n, ENGINE_FORM_FIRING, (struct rect){row.x + half + 16, row.y, half, 66}, &all)));
    differ_at(&d, PART_NUMBERING);
    row = ui_cut_top(&r, 74);
    below = words_field(ui, n, ENGINE_FORM_INTERVALS, (struct rect){row.x, row.y, half, 66}, &all);
    {
        struct ui_flow flow = ui_flow_begin((struct rect){row.x + half + 16, row.y + 24, half, 34}, 34);
        int strokes = n->strokes == 2 ? 2 : 4;

        ui_heading(ui, (struct rect){flow.r.x, row.y, half, 22}, "Strokes");
        if (ui_chip(ui, "new.strokes.4", ui_flow_next(&flow, ui_chip_width(ui, "four-stroke", NULL)), "four-stroke", strokes == 4, NULL))
            n->strokes = 4;
        if (ui_chip(ui, "new.strokes.2", ui_flow_next(&flow, ui_chip_width(ui, "two-stroke", NULL)), "two-stroke", strokes == 2, NULL))
            n->strokes = 2;
        ui_cut_top(&r, fmaxf(below, ui_flow_height(&flow) - 34)); /* wrapped */
    }
    differ_at(&d, PART_INTERVALS);
    ui_heading(ui, ui_cut_top(&r, 22), "Ignition");
    before = n->ignition;
    chips(ui, "new.ignition", &r, screen_ignitions, ENGINE_IGNITION_COUNT, 1, &n->ignition);
    if (n->ignition != before && n->ignition != ENGINE_SHARED_COIL)
        n->words[ENGINE_FORM_COILS][0] = '\0';
    chips(ui, "new.positions", &r, positions, 3, 1, &n->n_positions);
    if (n->n_positions == 0)
        n->n_positions = 1;
    if (n->ignition == ENGINE_SHARED_COIL || n->words[ENGINE_FORM_COILS][0] || n->n_positions > 1) {
        struct rect left, right;

        row = ui_cut_top(&r, 74);
        left = (struct rect){row.x, row.y, half, 66};
        right = (struct rect){row.x + half + 16, row.y, half, 66};
        below = n->n_positions > 1 ? words_field(ui, n, ENGINE_FORM_POSITIONS, left, &all) : 0;
        if (n->ignition == ENGINE_SHARED_COIL || n->words[ENGINE_FORM_COILS][0])
            below = fmaxf(below, words_field(ui, n, ENGINE_FORM_COILS, n->n_positions > 1 ? right : left, &all));
        ui_cut_top(&r, below);
    }
    differ_at(&d, PART_IGNITION);
    ui_heading(ui, ui_cut_top(&r, 22), "Fuel comes in by");
    for (int i = 0; i < ENGINE_FUEL_COUNT; i++)
        fuels[i] = engine_fuel_label((enum engine_fuel)i);
    chips(ui, "new.fuel", &r, fuels, ENGINE_FUEL_COUNT, 1, &n->fuel);
    row = ui_cut_top(&r, 74);
    below = words_field(ui, n, ENGINE_FORM_MIXTURE, (struct rect){row.x, row.y, half, 66}, &all);
    ui_cut_top(&r, fmaxf(below, words_field(ui, n, ENGINE_FORM_BREATHER, (struct rect){row.x + half + 16, row.y, half, 66}, &all)));
    differ_at(&d, PART_MIXTURE);
    field(ui, "new.plug-type", "Plug the maker's book names", "maker and number, as on its box", ui_cut_top(&r, 74), n->plug_type, sizeof n->plug_type, &n->touched, "", &all);
    ui_heading(ui, ui_cut_top(&r, 22), "Plug");
    /* neither is chosen for anybody: with the wrong one of either a plug is strained, or works loose */
    for (int i = 1; i < 7; i++)
        if (strcmp(threads[i], n->thread) == 0)
            thread = i;
    before = thread;
    chips(ui, "new.thread", &r, threads, 7, 1, &thread);
    if (thread != before)
        text_copy(n->thread, sizeof n->thread, threads[thread]);
    chips(ui, "new.seat", &r, seats, 3, 1, &n->seat);
    chips(ui, "new.electrode", &r, electrodes, 4, 1, &n->electrode);
    chips(ui, "new.access", &r, accesses, 3, 1, &n->access);
    chips(ui, "new.head", &r, heads, 3, 1, &n->head);
    differ_at(&d, PART_PLUG);
    figure_fields(ui, n, &r, &all);
    differ_at(&d, PART_FIGURES);
    ui_scroll_end(ui, r.y - start + 40);
    /* what is wrong, and the way on */
    whole = engine_form_engine(n, &en, &e);
    fine = whole && engine_form_named(n, &e);
    ui_fill(ui, (struct rect){footer.x, footer.y, footer.w, 1}, UI_LINE);
    footer = ui_inset(footer, 24, 8);
    {
        struct rect line = ui_cut_top(&footer, MESSAGE_PX);
        char said[300];

        ui_cut_top(&footer, 8);
        if (fine) {
            char order[128];

            engine_format_firing(&en, order, sizeof order);
            text_format(said, sizeof said, "%d cylinder%s, fires %s", en.n_cylinders, en.n_cylinders == 1 ? "" : "s", order);
        } else {
            text_copy(said, sizeof said, e.text);
        }
        /* a name still to come is nothing wrong */
        ui_text(ui, line, said, &(struct ui_style){.colour = whole ? UI_TEXT_SOFT : UI_ACT_INK, .weight = whole ? UI_REGULAR : UI_MEDIUM, .max_lines = 2, .top = true});
        ui_note(ui, "new.message", line, "message", said);
    }
    const struct way *ways;
    int n_ways = ways_on(n, m->n_engines > 0, &ways);
    struct ui_flow flow = ui_flow_begin(footer, 40);
    const char *const out_of_field = ui_typing(ui) ? "Esc Esc" : NULL; /* the first leaves the field */

    for (int i = 0; i < n_ways; i++) {
        const struct ui_button look = {.look = ways[i].look, .key = ways[i].does == ACT_NONE && out_of_field != NULL ? out_of_field : way_key(&ways[i]), .disabled = fine || ways[i].does == ACT_NONE ? NULL : e.text};
        const bool by_key = ways[i].does != ACT_NONE && st->panel == PANEL_NONE && ui_key(ui, way_key(&ways[i])); /* a panel over it has keys of its own */
        struct action *a;

        if (!fine && by_key && all.first != NULL) /* what is to be put right */
            ui_focus(ui, all.first);
        if (!ui_button(ui, ways[i].id, ui_flow_next(&flow, ui_button_width(ui, ways[i].label, &look)), ways[i].label, &look) && !(fine && by_key))
            continue;
        if (ways[i].does == ACT_NONE) {
            form_leave(m, st);
            continue;
        }
        a = actions_add(out, ways[i].does);
        a->flag = ways[i].opens;
        text_copy(a->id, UUID_BYTES, n->editing);
    }
}
