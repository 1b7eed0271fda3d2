/* ui_widgets.c - buttons, chips, tabs, rows, scroll areas, toasts. */
#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/mem.h"
#include "ui/ui_state.h"

#define TOAST_S 8.0

void ui_draw_focus_ring(struct ui *ui, struct rect r, float radius)
{
    ui_select_line(ui, (struct rect){r.x - 3, r.y - 3, r.w + 6, r.h + 6}, radius + 3, 2);
}

/* ---- keycaps ---- */

static const struct ui_style keycap_style = {.size_px = 11, .weight = UI_MEDIUM, .colour = UI_TEXT_SOFT, .align = UI_CENTRE};

static float keycap_width(struct ui *ui, const char *key)
{
    return fmaxf(18, ceilf(ui_text_width(ui, key, &keycap_style)) + 10);
}

void ui_keycap(struct ui *ui, float right, float middle, const char *key, bool on_dark)
{
    float w = keycap_width(ui, key);
    struct rect r = {right - w, middle - 9, w, 18};
    struct ui_style style = keycap_style;

    ui_round(ui, r, 4, on_dark ? UI_BAR_FIELD : UI_CARD);
    ui_round_line(ui, r, 4, 1, on_dark ? UI_BAR_QUIET : UI_BUTTON_LINE);
    style.colour = on_dark ? UI_BAR_TEXT : UI_TEXT_SOFT;
    ui_text(ui, r, key, &style);
}

/* ---- buttons ---- */

static const struct ui_button plain_button = {.look = UI_LOOK_PLAIN};

static struct ui_style button_style(const struct ui_button *o)
{
    struct ui_style s = {.size_px = o->size_px ? o->size_px : 13, .weight = UI_SEMIBOLD, .colour = UI_TEXT, .align = UI_CENTRE};

    if (o->disabled != NULL)
        s.colour = o->look == UI_LOOK_BAR || o->look == UI_LOOK_DARK ? UI_BAR_QUIET : UI_TEXT_QUIET;
    else if (o->look == UI_LOOK_DARK)
        s.colour = UI_DARK_TEXT;
    else if (o->look == UI_LOOK_WATCH)
        s.colour = UI_WATCH_TEXT;
    else if (o->look == UI_LOOK_ACT)
        s.colour = UI_ACT_TEXT;
    else if (o->look == UI_LOOK_BAR || o->look == UI_LOOK_DASHED)
        s.colour = UI_BAR_TEXT;
    return s;
}

float ui_button_width(struct ui *ui, const char *label, const struct ui_button *opts)
{
    const struct ui_button *o = opts != NULL ? opts : &plain_button;
    struct ui_style s = button_style(o);

    return ceilf(ui_text_width(ui, label, &s)) + 32 + (o->key != NULL ? keycap_width(ui, o->key) + 8 : 0);
}

bool ui_button(struct ui *ui, const char *id, struct rect r, const char *label, const struct ui_button *opts)
{
    const struct ui_button *o = opts != NULL ? opts : &plain_button;
    struct ui_style s = button_style(o);
    struct ui_hit hit = ui_region(ui, id, r, UI_ROLE_BUTTON, label, o->disabled ? o->disabled : "", 6);
    struct rect in = ui_inset(r, 8, 0);
    bool live = o->disabled == NULL;

    ui->widgets[ui->n_widgets - 1].enabled = live;
    switch (o->look) {
    case UI_LOOK_PLAIN:
        ui_round(ui, r, 6, hit.down && hit.hover && live ? UI_CARD_DIM : UI_CARD);
        ui_round_line(ui, r, 6, hit.hover && live ? 2 : 1, UI_BUTTON_LINE);
        break;
    case UI_LOOK_QUIET:
        if (hit.hover && live)
            ui_round(ui, r, 6, UI_CARD_DIM);
        break;
    case UI_LOOK_DARK:
        ui_round(ui, r, 6, hit.hover && live ? UI_BAR_RAISED : UI_DARK);
        break;
    case UI_LOOK_WATCH:
        ui_round(ui, r, 6, UI_WATCH);
        if (hit.hover && live)
            ui_round_line(ui, r, 6, 2, UI_WATCH_TEXT);
        break;
    case UI_LOOK_ACT:
        ui_round(ui, r, 6, UI_ACT);
        if (hit.hover && live)
            ui_round_line(ui, r, 6, 2, UI_ACT_TEXT);
        break;
    case UI_LOOK_BAR:
        ui_round(ui, r, 6, hit.hover && live ? UI_BAR_FIELD : UI_BAR_RAISED);
        break;
    case UI_LOOK_DASHED:
        if (hit.hover && live)
            ui_round(ui, r, 6, UI_BAR_RAISED);
        ui_round_dashed(ui, r, 6, 1, UI_BAR_QUIET);
        break;
    }
    if (o->key != NULL) {
        float w = keycap_width(ui, o->key);

        ui_keycap(ui, r.x + r.w - 10, r.y + r.h / 2, o->key, o->look == UI_LOOK_DARK || o->look == UI_LOOK_BAR || o->look == UI_LOOK_DASHED);
        in.w -= w + 4;
    }
    ui_text(ui, in, label, &s);
    if (!live && hit.hover) { /* why not, beside the pointer's place */
        struct ui_style why = {.colour = UI_DARK_TEXT, .align = UI_CENTRE};
        float w = ui_text_width(ui, o->disabled, &why) + 16;
        struct rect tip = {fmaxf(8, fminf(r.x, ui->width - w - 8)), r.y + r.h + 6, w, 26};

        if (tip.y + tip.h > ui->height)
            tip.y = r.y - 32;
        ui_round(ui, tip, 4, UI_DARK);
        ui_text(ui, tip, o->disabled, &why);
    }
    return hit.clicked && live;
}

/* ---- chips ---- */

static const struct ui_style chip_style = {.weight = UI_MEDIUM, .align = UI_LEFT};

float ui_chip_width(struct ui *ui, const char *label, const char *key)
{
    return ceilf(ui_text_width(ui, label, &chip_style)) + 28 + (key != NULL ? 18 : 0);
}

bool ui_chip(struct ui *ui, const char *id, struct rect r, const char *label, bool on, const char *key)
{
    struct ui_hit hit = ui_region(ui, id, r, UI_ROLE_TOGGLE, label, on ? "on" : "off", r.h / 2);
    struct ui_style s = chip_style;
    struct rect in = ui_inset(r, 14, 0);

    s.colour = on ? UI_DARK_TEXT : UI_TEXT;
    if (on) {
        ui_round(ui, r, r.h / 2, UI_DARK);
    } else {
        ui_round(ui, r, r.h / 2, UI_CARD);
        ui_round_line(ui, r, r.h / 2, hit.hover ? 2 : 1, UI_BUTTON_LINE);
    }
    ui_text(ui, in, label, &s);
    if (key != NULL) {
        struct ui_style k = {.size_px = 11, .weight = UI_MEDIUM, .colour = on ? UI_BAR_QUIET : UI_TEXT_QUIET, .align = UI_RIGHT};

        in.x += 4;
        ui_text(ui, in, key, &k);
    }
    return hit.clicked;
}

/* ---- tabs ---- */

#define TAB_PAD 8.0f

float ui_tab_width(struct ui *ui, const char *label, const char *key)
{
    return ui_text_width(ui, label, &(struct ui_style){.weight = UI_SEMIBOLD}) + 2 * TAB_PAD + (key != NULL ? keycap_width(ui, key) + TAB_PAD : 0);
}

bool ui_tab(struct ui *ui, const char *id, struct rect r, const char *label, bool on, const char *key)
{
    struct ui_hit hit = ui_region(ui, id, r, UI_ROLE_TAB, label, on ? "on" : "off", 6);
    struct ui_style s = {.weight = on ? UI_SEMIBOLD : UI_MEDIUM, .colour = on ? UI_TEXT : UI_BAR_TEXT, .align = UI_CENTRE};
    struct rect in = r;

    if (on)
        ui_round(ui, r, 6, UI_PANEL);
    else if (hit.hover)
        ui_round(ui, r, 6, UI_BAR_RAISED);
    if (key != NULL) {
        ui_keycap(ui, r.x + r.w - TAB_PAD, r.y + r.h / 2, key, !on);
        in.w -= keycap_width(ui, key) + TAB_PAD;
    }
    ui_text(ui, in, label, &s);
    return hit.clicked;
}

/* ---- rows and headings ---- */

bool ui_value_row(struct ui *ui, const char *id, struct rect r, const char *label, const char *value,
                  bool strong, const char *key)
{
    struct ui_hit hit = ui_region(ui, id, r, UI_ROLE_ROW, label, value, 2);
    struct ui_style left = {.colour = UI_TEXT_SOFT}, right = {.colour = UI_TEXT, .align = UI_RIGHT, .weight = strong ? UI_SEMIBOLD : UI_REGULAR};
    struct rect in = r;
    float lw;

    if (hit.hover)
        ui_fill(ui, r, UI_CARD_DIM);
    if (key != NULL) {
        ui_keycap(ui, r.x + r.w, r.y + r.h / 2, key, false);
        in.w -= keycap_width(ui, key) + 8;
    }
    lw = ui_text_width(ui, label, &left) + 12;
    ui_text(ui, in, label, &left);
    ui_cut_left(&in, lw);
    ui_text(ui, in, value, &right);
    ui_fill(ui, (struct rect){r.x, r.y + r.h - 1, r.w, 1}, UI_LINE);
    return hit.clicked;
}

void ui_heading(struct ui *ui, struct rect r, const char *label)
{
    struct ui_style s = {.size_px = 11, .weight = UI_SEMIBOLD, .colour = UI_TEXT_QUIET};

    ui_text(ui, r, label, &s);
}

/* ---- splitters and menus ---- */

float ui_splitter(struct ui *ui, const char *id, struct rect r, float value, float low, float high, int grows)
{
    char now[24];
    struct ui_hit hit;

    snprintf(now, sizeof now, "%.0f", (double)value);
    hit = ui_region(ui, id, r, UI_ROLE_AREA, "splitter", now, 2);
    if (hit.down && !hit.drag_began)
        value += (float)grows * (ui->mouse_x - r.x - r.w / 2);
    if (hit.focused && ui_key(ui, "Left"))
        value -= 16 * (float)grows;
    if (hit.focused && ui_key(ui, "Right"))
        value += 16 * (float)grows;
    if (hit.hover || hit.down)
        ui_fill(ui, (struct rect){r.x + r.w / 2 - 1, r.y, 2, r.h}, UI_SELECT);
    return fminf(fmaxf(value, low), high);
}

int ui_menu(struct ui *ui, const char *id, float x, float y, const struct ui_menu_item *items, int n)
{
    struct ui_style label = {.size_px = 14, .colour = UI_TEXT};
    float row = fminf(ui_target_px(ui) + 6, (ui->height - y - 20) / (float)n), w = 0; /* a long one closes up: its last line must be in view */
    char part[ID_BYTES];
    struct rect r;
    int chosen = UI_MENU_OPEN;

    for (int i = 0; i < n; i++)
        w = fmaxf(w, ui_text_width(ui, items[i].label, &label) + (items[i].key ? keycap_width(ui, items[i].key) + 24 : 0));
    r = (struct rect){x - w - 40, y, w + 40, row * (float)n + 12};
    ui_layer_push(ui);
    snprintf(part, sizeof part, "%.80s.beside", id);
    if (ui_region(ui, part, ui_screen(ui), UI_ROLE_DIALOG, "beside the menu", "", 0).clicked)
        chosen = UI_MENU_CLOSED;
    ui_round(ui, (struct rect){r.x - 1, r.y - 1, r.w + 2, r.h + 2}, 9, UI_BUTTON_LINE);
    ui_round(ui, r, 8, UI_CARD);
    for (int i = 0; i < n; i++) {
        struct rect item = {r.x + 6, r.y + 6 + row * (float)i, r.w - 12, row};
        struct ui_hit hit;

        snprintf(part, sizeof part, "%.80s.%d", id, i);
        hit = ui_region(ui, part, item, UI_ROLE_BUTTON, items[i].label, items[i].key ? items[i].key : "", 4);
        if (hit.hover)
            ui_round(ui, item, 4, UI_CARD_DIM);
        ui_text(ui, ui_inset(item, 12, 0), items[i].label, &label);
        if (items[i].key != NULL)
            ui_keycap(ui, item.x + item.w - 10, item.y + item.h / 2, items[i].key, false);
        if (hit.clicked)
            chosen = i;
    }
    if (ui_key(ui, "Escape"))
        chosen = UI_MENU_CLOSED;
    ui_layer_pop(ui);
    return chosen;
}

/* ---- scroll areas ---- */

static int scroll_index(struct ui *ui, const char *id)
{
    for (int i = 0; i < ui->n_scrolls; i++)
        if (strcmp(ui->scrolls[i].id, id) == 0)
            return i;
    if (ui->n_scrolls == ui->scrolls_room) {
        ui->scrolls_room = ui->scrolls_room ? ui->scrolls_room * 2 : 8;
        ui->scrolls = mem_resize(ui->scrolls, (size_t)ui->scrolls_room, sizeof *ui->scrolls);
    }
    memset(&ui->scrolls[ui->n_scrolls], 0, sizeof *ui->scrolls);
    text_copy(ui->scrolls[ui->n_scrolls].id, ID_BYTES, id);
    return ui->n_scrolls++;
}

static void hold(struct scroll_state *s, float view_h)
{
    float most = fmaxf(0, s->content - view_h);

    s->offset = fminf(fmaxf(s->offset, 0), most);
}

static void bring_into_view(struct ui *ui, struct scroll_state *s, struct rect view, struct rect r)
{
    float before = s->offset, edge = fminf(28, fmaxf(0, (view.h - r.h) / 2)); /* a heading above it, too */

    if (r.y + r.h > view.y + view.h)
        s->offset += r.y + r.h - view.y - view.h + edge;
    if (r.y - (s->offset - before) < view.y)
        s->offset = before + r.y - view.y - edge;
    hold(s, view.h);
    if (fabsf(s->offset - before) > 0.5f)
        ui_wake_at_s(ui, ui->now_s);
}

void ui_scroll_show(struct ui *ui, struct rect r)
{
    struct open_scroll *open = &ui->open_scrolls[ui->n_open_scrolls - 1];

    assert(ui->n_open_scrolls > 0);
    bring_into_view(ui, &ui->scrolls[open->index], open->view, r);
}

void ui_scroll_by(struct ui *ui, const char *id, float px)
{
    struct scroll_state *s = &ui->scrolls[scroll_index(ui, id)];

    if (ui->mouse_in && ui_inside(s->view, ui->mouse_x, ui->mouse_y))
        s->offset += px; /* begin holds it to what there is */
}

/* What has the focus must be seen; of a field taller than the area, the line with the caret. */
static void look_for_focus(struct ui *ui, struct scroll_state *s, const struct open_scroll *open)
{
    s->holds_focus = false;
    for (size_t i = open->first_widget; i < ui->n_widgets && !s->holds_focus; i++) {
        const struct ui_widget *w = &ui->widgets[i];
        struct rect r = w->whole;

        if (strcmp(w->id, ui->focus) != 0)
            continue;
        s->holds_focus = true;
        if (r.h > open->view.h && ui_typing(ui))
            r = ui->field.caret_rect;
        if (ui->show_focus > 0)
            bring_into_view(ui, s, open->view, r);
    }
}

/* Keys that turn a page, when nobody else wanted them. */
void ui_scroll_end_frame(struct ui *ui)
{
    static const struct {
        const char *key;
        float pages; /* of nine tenths of the view */
    } turns[] = {{"PageUp", -1}, {"PageDown", 1}, {"Home", -1e6f}, {"End", 1e6f}};
    struct scroll_state *best = NULL;
    int best_rank = 0;

    for (int i = 0; i < ui->n_scrolls; i++) {
        struct scroll_state *s = &ui->scrolls[i];
        bool under = ui->mouse_in && ui_inside(s->view, ui->mouse_x, ui->mouse_y);
        int rank = s->holds_focus ? 3 : under ? 2 : 1;

        if (s->drawn && s->layer == ui->layer_now && s->content > s->view.h &&
            (rank > best_rank || (rank == best_rank && s->view.w * s->view.h > best->view.w * best->view.h))) {
            best = s;
            best_rank = rank;
        }
        s->drawn = false;
    }
    for (size_t i = 0; best != NULL && i < sizeof turns / sizeof turns[0]; i++)
        if (ui_key(ui, turns[i].key)) {
            best->offset += turns[i].pages * best->view.h * 0.9f;
            hold(best, best->view.h);
            ui_wake_at_s(ui, ui->now_s);
        }
}

struct rect ui_scroll_begin(struct ui *ui, const char *id, struct rect view)
{
    int index = scroll_index(ui, id);
    struct scroll_state *s = &ui->scrolls[index];
    bool inner = ui->field.overflows && ui_typing(ui) && ui_is_hover(ui, ui->field.id); /* has the wheel first */

    assert(ui->n_open_scrolls < 8);
    ui->open_scrolls[ui->n_open_scrolls++] = (struct open_scroll){index, ui->n_widgets, view};
    if (!inner && ui->layer == ui->top_layer && ui->mouse_in && ui_inside(view, ui->mouse_x, ui->mouse_y) &&
        (ui->wheel_y > 0 || ui->wheel_y < 0)) {
        s->offset -= ui->wheel_y * 56;
        ui->wheel_y = 0;
        ui_wake_at_s(ui, ui->now_s);
    }
    hold(s, view.h);
    ui_clip_push(ui, view);
    return (struct rect){view.x, view.y - roundf(s->offset), view.w, s->content};
}

void ui_scroll_end(struct ui *ui, float content_height)
{
    struct open_scroll open;
    struct scroll_state *s;

    assert(ui->n_open_scrolls > 0);
    open = ui->open_scrolls[--ui->n_open_scrolls];
    s = &ui->scrolls[open.index];
    s->content = content_height;
    s->view = open.view;
    s->layer = ui->layer;
    s->drawn = true;
    look_for_focus(ui, s, &open);
    hold(s, open.view.h);
    if (content_height > open.view.h + 1) {
        float h = fmaxf(24, open.view.h * open.view.h / content_height);
        float y = open.view.y + (open.view.h - h) * s->offset / (content_height - open.view.h);
        struct rect track = {open.view.x + open.view.w - 12, open.view.y, 12, open.view.h};
        char id[ID_BYTES];

        /* A bar one can drag; it takes the pointer, not the keyboard. */
        snprintf(id, sizeof id, "%.80s.bar", s->id);
        ui_note(ui, id, track, "scroll bar", "");
        if (ui->has_event && ui->event.type == UI_EVENT_DOWN && ui_inside(track, ui->mouse_x, ui->mouse_y) &&
            ui->layer == ui->top_layer) {
            s->grabbed = true;
            s->grab_y = ui_inside((struct rect){track.x, y, track.w, h}, ui->mouse_x, ui->mouse_y) ? ui->mouse_y - y : h / 2;
        }
        if (ui->has_event && ui->event.type == UI_EVENT_UP)
            s->grabbed = false;
        if (s->grabbed) {
            s->offset = (ui->mouse_y - s->grab_y - open.view.y) / (open.view.h - h) * (content_height - open.view.h);
            hold(s, open.view.h);
            ui_wake_at_s(ui, ui->now_s);
        }
        ui_round(ui, (struct rect){track.x + 4, y + 2, 5, h - 4}, 2.5f, UI_BUTTON_LINE);
    }
    ui_clip_pop(ui);
}

/* ---- toasts ---- */

void ui_toast(struct ui *ui, const char *text, const char *action)
{
    text_copy(ui->toast, sizeof ui->toast, text);
    text_copy(ui->toast_action, sizeof ui->toast_action, action != NULL ? action : "");
    ui->toast_until_s = -1; /* counted from the frame that shows it: the last one may lie minutes back */
    ui_wake_at_s(ui, ui->now_s);
}

bool ui_toast_is_up(const struct ui *ui)
{
    return ui->toast[0] != '\0' && (ui->toast_until_s < 0 || ui->now_s <= ui->toast_until_s);
}

void ui_toast_end(struct ui *ui, const char *text)
{
    if (strcmp(ui->toast, text) == 0)
        ui->toast[0] = '\0';
}

bool ui_toasts(struct ui *ui, struct rect where, float beside)
{
    const struct ui_style smallest = {.weight = UI_MEDIUM, .size_px = 11, .max_lines = 99}, one = {.weight = UI_MEDIUM, .size_px = 11};
    struct ui_style s = {.colour = UI_DARK_TEXT, .weight = UI_MEDIUM, .max_lines = 2};
    struct ui_button b = {.look = UI_LOOK_BAR};
    float text_w, text_h, action_w, w;
    bool chosen = false;

    if (ui->toast[0] == '\0')
        return false;
    if (ui->toast_until_s < 0)
        ui->toast_until_s = ui->now_s + TOAST_S;
    if (ui->now_s > ui->toast_until_s) {
        ui->toast[0] = '\0';
        return false;
    }
    ui_wake_at_s(ui, ui->toast_until_s);
    action_w = ui->toast_action[0] ? ui_button_width(ui, ui->toast_action, &b) + 12 : 0;
    if (where.w - beside - action_w - 36 > 60 && ui_text_height(ui, where.w - beside - action_w - 36, ui->toast, &smallest) < 3.5f * ui_text_height(ui, 9999, "x", &one))
        where = (struct rect){where.x + beside, where.y, where.w - beside, where.h};
    text_w = fminf(ui_text_width(ui, ui->toast, &s), where.w - action_w - 36);
    if (ui_text_width(ui, ui->toast, &s) > 1.8f * text_w) { /* more than two lines: smaller, in three */
        s.size_px = 11;
        s.max_lines = 3;
        text_w = fminf(ui_text_width(ui, ui->toast, &s), where.w - action_w - 36);
    }
    w = text_w + action_w + 36;
    struct rect r = {where.x + (where.w - w) / 2, where.y, w, 48};

    ui_round(ui, r, 8, UI_DARK);
    ui_round_line(ui, r, 8, 1, UI_EDGE_LIGHT);
    ui_note(ui, "toast", r, ui->toast, "");
    text_h = ui_text_height(ui, text_w + 1, ui->toast, &s);
    ui_text(ui, (struct rect){r.x + 18, r.y + (r.h - text_h) / 2, text_w + 1, text_h}, ui->toast, &s);
    if (action_w > 0 &&
        ui_button(ui, "toast.action", (struct rect){r.x + r.w - action_w - 4, r.y + 8, action_w - 4, 32}, ui->toast_action, &b)) {
        ui->toast[0] = '\0';
        chosen = true;
    }
    return chosen;
}
