/* ui_core.c - a frame's beginning and end: input, focus, hover, layers. */
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "ui/ui_state.h"

#define DOUBLE_CLICK_S 0.4
#define DRAG_START_PX 6.0f

struct ui *ui_create(struct ui_measure measure)
{
    struct ui *ui = mem_alloc(1, sizeof *ui);

    ui->measure = measure;
    ui->arenas[0] = arena_create();
    ui->arenas[1] = arena_create();
    ui->wake_at_s = 0;
    ui->mouse_x = ui->mouse_y = -1;
    ui->last_click_s = -10;
    return ui;
}

static void free_event(struct ui_event *ev)
{
    free(ev->text);
    ev->text = NULL;
}

static void clear_dropped(struct ui *ui)
{
    for (size_t i = 0; i < ui->n_dropped; i++)
        free(ui->dropped[i]);
    free(ui->dropped);
    ui->dropped = NULL;
    ui->n_dropped = 0;
}

void ui_destroy(struct ui *ui)
{
    if (ui == NULL)
        return;
    for (size_t i = 0; i < ui->n_queue; i++)
        free_event(&ui->queue[i]);
    free(ui->queue);
    free_event(&ui->event);
    clear_dropped(ui);
    ui_field_release(ui);
    free(ui->widgets);
    free(ui->last_widgets);
    free(ui->draws);
    free(ui->scrolls);
    arena_destroy(ui->arenas[0]);
    arena_destroy(ui->arenas[1]);
    free(ui);
}

/* ---- input ---- */

void ui_feed(struct ui *ui, const struct ui_event *event)
{
    struct ui_event *last = ui->n_queue > 0 ? &ui->queue[ui->n_queue - 1] : NULL;

    /* Runs of motion, of the wheel and of a pinch are one event: fast mice send thousands a second. */
    if (last != NULL && last->type == event->type &&
        (event->type == UI_EVENT_MOVE || event->type == UI_EVENT_WHEEL || event->type == UI_EVENT_PINCH)) {
        last->x = event->x;
        last->y = event->y;
        last->dx += event->dx;
        last->dy += event->dy;
        last->spread += event->spread;
        free(event->text);
        return;
    }
    if (ui->n_queue == ui->queue_room) {
        ui->queue_room = ui->queue_room ? ui->queue_room * 2 : 32;
        ui->queue = mem_resize(ui->queue, ui->queue_room, sizeof *ui->queue);
    }
    ui->queue[ui->n_queue++] = *event;
}

bool ui_pending(const struct ui *ui)
{
    return ui->n_queue > 0;
}

static void shift_queue(struct ui *ui, size_t n)
{
    if (n < ui->n_queue)
        memmove(ui->queue, ui->queue + n, (ui->n_queue - n) * sizeof *ui->queue);
    ui->n_queue -= n;
}

/* Takes events up to and with the first discrete one; all drops that follow each other are one. */
static void take_events(struct ui *ui)
{
    size_t n = 0;

    free_event(&ui->event);
    clear_dropped(ui);
    ui->has_event = false;
    ui->key_used = false;
    ui->wheel_x = ui->wheel_y = 0;
    ui->pinched = false;
    while (n < ui->n_queue && !ui->has_event) {
        struct ui_event *ev = &ui->queue[n];

        if (ev->type == UI_EVENT_KEY && ui_field_commits_before(ui, ev->key))
            break; /* the key's turn is the next frame */
        if (ev->type == UI_EVENT_KEY && ev->text != NULL && ui->focus_asked) {
            ui->focus_asked = false;
            break; /* so is this one's: whether what was asked to have the focus is a field shows in this one */
        }
        n++;

        switch (ev->type) {
        case UI_EVENT_MOVE:
            ui->mouse_x = ev->x;
            ui->mouse_y = ev->y;
            ui->mouse_in = true;
            break;
        case UI_EVENT_LEAVE:
            ui->mouse_in = false;
            break;
        case UI_EVENT_WHEEL:
            ui->wheel_x += ev->dx;
            ui->wheel_y += ev->dy;
            ui->mouse_ctrl = ev->ctrl;
            break;
        case UI_EVENT_PINCH: /* several in one frame, with moves between them: steps add up */
            ui->pinch = (struct ui_pinch){ev->x, ev->y, (ui->pinched ? ui->pinch.dx : 0) + ev->dx, (ui->pinched ? ui->pinch.dy : 0) + ev->dy,
                                          (ui->pinched ? ui->pinch.spread : 0) + ev->spread};
            ui->pinched = true;
            break;
        case UI_EVENT_DROP:
            ui->dropped = mem_resize(ui->dropped, ui->n_dropped + 2, sizeof *ui->dropped);
            ui->dropped[ui->n_dropped++] = ev->text;
            ui->dropped[ui->n_dropped] = NULL;
            ev->text = NULL;
            if (ev->x >= 0) {
                ui->mouse_x = ev->x;
                ui->mouse_y = ev->y;
            }
            if (n == ui->n_queue || ui->queue[n].type != UI_EVENT_DROP) {
                ui->event = *ev;
                ui->has_event = true;
            }
            break;
        case UI_EVENT_DOWN:
        case UI_EVENT_UP:
            ui->mouse_x = ev->x;
            ui->mouse_y = ev->y;
            ui->mouse_in = true;
            ui->mouse_shift = ev->shift;
            ui->event = *ev;
            ui->has_event = true;
            break;
        case UI_EVENT_KEY: /* typed ahead of the field it is for, while the program was busy */
        case UI_EVENT_TEXT:
        case UI_EVENT_COMPOSE:
            ui->event = *ev;
            if (ev->type == UI_EVENT_KEY && ev->text != NULL && ui_typing(ui))
                ui->event.type = UI_EVENT_TEXT;
            ui->has_event = true;
            break;
        }
        if (ui->has_event)
            ev->text = NULL; /* now owned by ui->event */
        else
            free_event(ev);
    }
    shift_queue(ui, n);
}

const char *const *ui_dropped(struct ui *ui, float *x, float *y)
{
    if (ui->n_dropped == 0)
        return NULL;
    *x = ui->mouse_x;
    *y = ui->mouse_y;
    return (const char *const *)ui->dropped;
}

/* ---- focus ---- */

static bool in_reach(const struct ui *ui, const struct ui_widget *w)
{
    return w->takes_focus && w->enabled && w->layer == ui->top_layer;
}

/* Also of a widget that cannot be used now: Tab goes on from where it stands. */
static int focused_index(const struct ui *ui)
{
    for (size_t i = 0; i < ui->n_last_widgets; i++)
        if (strcmp(ui->last_widgets[i].id, ui->focus) == 0 && ui->last_widgets[i].layer == ui->top_layer)
            return (int)i;
    return -1;
}

static void set_focus(struct ui *ui, const char *id)
{
    text_copy(ui->focus, sizeof ui->focus, id != NULL ? id : "");
    ui->show_focus = 0;
}

/* By the keyboard or by the program: the next two frames bring it into view. The first may be one in
 * which it is not there yet. */
static void show_focus(struct ui *ui, const char *id)
{
    set_focus(ui, id);
    ui->show_focus = 2;
}

static void step_focus(struct ui *ui, int step)
{
    int n = (int)ui->n_last_widgets, at = focused_index(ui);

    if (at < 0)
        at = step > 0 ? -1 : n;
    for (int i = 0; i < n; i++) {
        at = (at + step + n) % n;
        if (in_reach(ui, &ui->last_widgets[at])) {
            show_focus(ui, ui->last_widgets[at].id);
            ui->focus_ring = true;
            return;
        }
    }
}

/* Whether it reaches farther in that direction only: a wide field above a short one does not lie beside it. */
static bool lies_that_way(const struct rect *from, const struct rect *to, float dx, float dy)
{
    if (dx > 0)
        return to->x > from->x + 2;
    if (dx < 0)
        return to->x + to->w < from->x + from->w - 2;
    return dy > 0 ? to->y > from->y + 2 : to->y + to->h < from->y + from->h - 2;
}

/* Wholly to the left or right of it. */
static bool lies_past(const struct rect *from, const struct rect *to, float dx)
{
    return dx > 0 ? to->x >= from->x + from->w - 2 : to->x + to->w <= from->x + 2;
}

#define STANDS_OVER 10000.0f /* px: more than any window is wide */

/* Arrow keys: the nearest widget in that direction; what lies off to the side counts double. What stands above or below this one
 * lies to its left or right only where nothing else does. */
static bool move_focus(struct ui *ui, float dx, float dy)
{
    int at = focused_index(ui), best = -1;
    float best_cost = 0;

    if (at < 0)
        return false;
    struct rect a = ui->last_widgets[at].whole;
    float ax = a.x + a.w / 2, ay = a.y + a.h / 2;

    for (size_t i = 0; i < ui->n_last_widgets; i++) {
        const struct ui_widget *w = &ui->last_widgets[i];
        float x, y, along, aside, cost;

        if ((int)i == at || !in_reach(ui, w) || !lies_that_way(&a, &w->whole, dx, dy))
            continue;
        x = w->whole.x + w->whole.w / 2 - ax;
        y = w->whole.y + w->whole.h / 2 - ay;
        along = x * dx + y * dy;
        /* How far it lies off the beam that goes out sideways from the whole edge of this one. */
        aside = fabsf(dx) > 0 ? fabsf(y) - (a.h + w->whole.h) / 2 : fabsf(x) - (a.w + w->whole.w) / 2;
        if (along < 2)
            continue;
        cost = along + 2 * fmaxf(aside, 0) + 0.2f * (fabsf(x * dy) + fabsf(y * dx));
        if (aside > 0 && fabsf(dx) > 0 && !lies_past(&a, &w->whole, dx))
            cost += STANDS_OVER;
        if (best < 0 || cost < best_cost) {
            best = (int)i;
            best_cost = cost;
        }
    }
    if (best < 0)
        return false;
    show_focus(ui, ui->last_widgets[best].id);
    ui->focus_ring = true;
    return true;
}

void ui_focus(struct ui *ui, const char *id)
{
    show_focus(ui, id);
    ui->focus_drawn = true; /* it may only come next frame */
    ui->focus_asked = true;
    ui_wake_at_s(ui, ui->now_s);
}

const char *ui_focused(const struct ui *ui)
{
    return ui->focus;
}

bool ui_let_go(const struct ui *ui)
{
    return ui->has_event && ui->event.type == UI_EVENT_UP;
}

const char *ui_clicked(const struct ui *ui)
{
    return ui_let_go(ui) && ui->last_click[0] != '\0' && !(ui->last_click_s < ui->now_s) ? ui->last_click : NULL;
}

bool ui_pressing(const struct ui *ui)
{
    return ui->pressed[0] != '\0';
}

bool ui_typing(const struct ui *ui)
{
    return ui->field.id[0] != '\0' && strcmp(ui->field.id, ui->focus) == 0;
}

/* Keys that move the focus or activate; a field has had its say before the frame. */
static void navigate(struct ui *ui)
{
    const char *key = ui->event.key;
    bool typing = ui_typing(ui);

    ui->activate = false;
    if (!ui->has_event || ui->event.type != UI_EVENT_KEY)
        return;
    if (strcmp(key, "Tab") == 0 || strcmp(key, "Shift+Tab") == 0) {
        step_focus(ui, key[0] == 'S' ? -1 : 1);
        ui->key_used = true;
    } else if (!typing && (strcmp(key, "Enter") == 0 || strcmp(key, "Space") == 0) &&
               focused_index(ui) >= 0 && (ui->focus_ring || key[0] == 'S')) {
        /* Enter has a meaning of its own on a screen, so it presses only what was gone to by keys;
         * Space presses also what was just clicked. */
        ui->activate = true;
        ui->key_used = true;
    }
}

/* Arrows that nobody used move the focus, at the end of the frame. */
static void navigate_late(struct ui *ui)
{
    static const struct {
        const char *key;
        float dx, dy;
    } arrows[] = {{"Left", -1, 0}, {"Right", 1, 0}, {"Up", 0, -1}, {"Down", 0, 1}};

    if (!ui->has_event || ui->event.type != UI_EVENT_KEY || ui->key_used)
        return;
    for (size_t i = 0; i < 4; i++)
        if (strcmp(ui->event.key, arrows[i].key) == 0 && move_focus(ui, arrows[i].dx, arrows[i].dy)) {
            ui->key_used = true;
            ui_wake_at_s(ui, ui->now_s);
        }
}

/* A layer that came hands the focus back when it is gone. */
static void return_focus(struct ui *ui)
{
    for (int l = ui->top_layer; l > ui->layer_now; l--) {
        const char *below = ui->focus_below[l];

        if (l == ui->layer_now + 1 && below[0] != '\0' && (ui->focus[0] == '\0' || !ui->focus_drawn)) {
            set_focus(ui, below);
            ui->focus_drawn = true; /* it comes by in the next frame */
            ui_wake_at_s(ui, ui->now_s);
        }
    }
}

/* ---- the frame ---- */

bool ui_is_hover(const struct ui *ui, const char *id)
{
    return ui->mouse_in && strcmp(ui->hover, id) == 0;
}

static void find_hover(struct ui *ui)
{
    ui->hover[0] = '\0';
    if (!ui->mouse_in)
        return;
    for (size_t i = ui->n_last_widgets; i-- > 0;) {
        const struct ui_widget *w = &ui->last_widgets[i];

        if (w->role != UI_ROLE_TEXT && w->layer == ui->top_layer &&
            ui_inside(w->bounds, ui->mouse_x, ui->mouse_y)) {
            text_copy(ui->hover, sizeof ui->hover, w->id);
            return;
        }
    }
}

void ui_begin(struct ui *ui, float width, float height, double now_s)
{
    char hover_before[ID_BYTES];

    ui->now = 1 - ui->now;
    arena_reset(ui->arenas[ui->now]);
    ui->width = width;
    ui->height = height;
    ui->now_s = now_s;
    ui->wake_at_s = -1;
    ui->n_draws = 0;
    ui->n_widgets = 0;
    ui->n_clips = 0;
    ui->fade = 1;
    ui->layer = ui->layer_now = 0;
    ui->focus_drawn = false;
    ui->drag_done = false;
    ui->committed = 0;
    text_copy(hover_before, sizeof hover_before, ui->hover);
    take_events(ui);
    find_hover(ui);
    if (strcmp(hover_before, ui->hover) != 0)
        ui_wake_at_s(ui, now_s);
    if (ui->has_event && ui->event.type == UI_EVENT_DOWN && ui->event.button == 1) {
        ui->focus_ring = false;
        text_copy(ui->pressed, sizeof ui->pressed, ui->hover);
        ui->pressed_at_s = now_s;
        ui->pressed_x = ui->mouse_x;
        ui->pressed_y = ui->mouse_y;
        bool takes = false;

        for (size_t i = 0; i < ui->n_last_widgets; i++)
            if (strcmp(ui->last_widgets[i].id, ui->hover) == 0)
                takes = ui->last_widgets[i].takes_focus && ui->last_widgets[i].enabled;
        set_focus(ui, takes ? ui->hover : "");
    }
    if (ui->pressed[0] != '\0' && !ui->dragging && ui->drag_payload[0] != '\0' &&
        hypotf(ui->mouse_x - ui->pressed_x, ui->mouse_y - ui->pressed_y) > DRAG_START_PX)
        ui->dragging = true;
    if (ui->has_event && ui->event.type == UI_EVENT_UP && ui->dragging) {
        ui->drag_done = true;
        text_copy(ui->drag_over, sizeof ui->drag_over, ui->hover);
    }
    ui_field_begin_frame(ui);
    navigate(ui);
}

static void draw_drag_ghost(struct ui *ui)
{
    struct rect r = {ui->mouse_x + 8, ui->mouse_y + 8, 96, 72};

    if (!ui->dragging || ui->drag_done)
        return;
    ui_round(ui, (struct rect){r.x - 2, r.y - 2, r.w + 4, r.h + 4}, 6, UI_SELECT);
    if (ui->drag_image != 0)
        ui_image(ui, r, ui->drag_image, (struct rect){0, 0, 1, 1}, 0, false);
    ui_wake_at_s(ui, ui->now_s + 0.05);
}

void ui_end(struct ui *ui)
{
    assert(ui->n_clips == 0 && ui->layer == 0 && ui->n_open_scrolls == 0);
    draw_drag_ghost(ui);
    navigate_late(ui);
    ui_scroll_end_frame(ui);
    ui_field_end_frame(ui);
    if (ui->has_event && ui->event.type == UI_EVENT_UP) {
        ui->pressed[0] = '\0';
        if (ui->dragging || ui->drag_payload[0] != '\0') {
            ui->dragging = false;
            ui->drag_payload[0] = '\0';
            ui_wake_at_s(ui, ui->now_s);
        }
    }
    return_focus(ui);
    if (ui->show_focus > 0 && ui->focus_drawn)
        ui->show_focus--;
    /* A widget that is gone cannot keep the keyboard. */
    if (!ui->focus_drawn && ui->focus[0] != '\0')
        ui->focus[0] = '\0';
    ui->top_layer = ui->layer_now;
    struct ui_widget *w = ui->last_widgets;
    size_t room = ui->last_room;

    ui->last_widgets = ui->widgets;
    ui->n_last_widgets = ui->n_widgets;
    ui->last_room = ui->widgets_room;
    ui->widgets = w;
    ui->widgets_room = room;
    if (ui->has_event)
        ui_wake_at_s(ui, ui->now_s); /* what the event changed is shown by one more frame */
}

struct arena *ui_arena(struct ui *ui)
{
    return ui->arenas[ui->now];
}

struct rect ui_screen(const struct ui *ui)
{
    return (struct rect){0, 0, ui->width, ui->height};
}

double ui_now_s(const struct ui *ui)
{
    return ui->now_s;
}

void ui_wake_at_s(struct ui *ui, double time_s)
{
    if (ui->wake_at_s < 0 || time_s < ui->wake_at_s)
        ui->wake_at_s = time_s;
}

double ui_wake_in_s(const struct ui *ui, double now_s)
{
    if (ui->wake_at_s < 0)
        return -1;
    return ui->wake_at_s > now_s ? ui->wake_at_s - now_s : 0;
}

void ui_set_large_targets(struct ui *ui, bool large)
{
    ui->large = large;
}

float ui_target_px(const struct ui *ui)
{
    return ui->large ? 44 : 32;
}

void ui_set_still(struct ui *ui, bool still)
{
    ui->still = still;
}

/* ---- widgets ---- */

const char *ui_role_id(enum ui_role r)
{
    static const char *const ids[] = {"button", "toggle", "tab", "field", "row", "image", "area", "dialog", "text"};

    _Static_assert(sizeof ids / sizeof ids[0] == UI_ROLE_COUNT, "a word for each role");
    return ids[r];
}

static struct ui_widget *add_widget(struct ui *ui, const char *id, struct rect r, enum ui_role role,
                                    const char *name, const char *value)
{
    struct ui_widget *w;

    assert(strlen(id) < ID_BYTES);
    if (ui->n_widgets == ui->widgets_room) {
        ui->widgets_room = ui->widgets_room ? ui->widgets_room * 2 : 128;
        ui->widgets = mem_resize(ui->widgets, ui->widgets_room, sizeof *ui->widgets);
    }
    w = &ui->widgets[ui->n_widgets++];
    *w = (struct ui_widget){.id = arena_text(ui_arena(ui), id),
                            .name = arena_text(ui_arena(ui), name ? name : ""),
                            .value = arena_text(ui_arena(ui), value ? value : ""),
                            .role = role,
                            .bounds = ui_intersect(r, ui_clip(ui)),
                            .whole = r,
                            .layer = ui->layer,
                            .enabled = true};
    return w;
}

struct ui_hit ui_region(struct ui *ui, const char *id, struct rect r, enum ui_role role,
                        const char *name, const char *value, float ring_radius)
{
    struct ui_widget *w = add_widget(ui, id, r, role, name, value);
    struct ui_hit hit = {0};
    bool reach = ui->layer == ui->top_layer;

    w->takes_focus = role != UI_ROLE_DIALOG && role != UI_ROLE_TEXT;
    hit.x = r.w > 0 ? (ui->mouse_x - r.x) / r.w : 0;
    hit.y = r.h > 0 ? (ui->mouse_y - r.y) / r.h : 0;
    if (strcmp(ui->focus, id) == 0) {
        ui->focus_drawn = true;
        w->focused = hit.focused = true;
        if (ui->activate && reach)
            hit.clicked = true;
        if (ui->focus_ring && role != UI_ROLE_FIELD)
            ui_draw_focus_ring(ui, r, ring_radius);
    }
    if (!reach)
        return hit;
    hit.hover = ui_is_hover(ui, id);
    hit.down = strcmp(ui->pressed, id) == 0;
    if (hit.hover && ui->drag_done && strcmp(ui->drag_over, id) == 0)
        hit.dropped = ui->drag_payload[0] != '\0';
    if (hit.down && ui->has_event && ui->event.type == UI_EVENT_DOWN && ui->event.button == 1)
        hit.drag_began = true;
    if (hit.down && hit.hover && ui->has_event && ui->event.type == UI_EVENT_UP &&
        ui->event.button == 1 && !ui->dragging) {
        hit.clicked = true;
        hit.twice = strcmp(ui->last_click, id) == 0 && ui->now_s - ui->last_click_s < DOUBLE_CLICK_S;
        text_copy(ui->last_click, sizeof ui->last_click, id);
        ui->last_click_s = hit.twice ? -10 : ui->now_s;
    }
    return hit;
}

void ui_note(struct ui *ui, const char *id, struct rect r, const char *name, const char *value)
{
    add_widget(ui, id, r, UI_ROLE_TEXT, name, value);
}

const struct ui_widget *ui_widgets(const struct ui *ui, size_t *n)
{
    *n = ui->n_last_widgets;
    return ui->last_widgets;
}

const struct ui_widget *ui_find_widget(const struct ui *ui, const char *id)
{
    for (size_t i = 0; i < ui->n_last_widgets; i++)
        if (strcmp(ui->last_widgets[i].id, id) == 0)
            return &ui->last_widgets[i];
    return NULL;
}

/* ---- modal layers ---- */

void ui_layer_push(struct ui *ui)
{
    ui->layer++;
    assert(ui->layer < MAX_LAYERS);
    if (ui->layer > ui->layer_now)
        ui->layer_now = ui->layer;
    if (ui->layer > ui->top_layer) { /* new: the keyboard is its own; a field below is left */
        const struct ui_widget *w = ui_find_widget(ui, ui->focus);
        bool below = w != NULL && w->layer < ui->layer;

        text_copy(ui->focus_below[ui->layer], ID_BYTES, below ? ui->focus : "");
        if (below)
            set_focus(ui, "");
    }
}

void ui_layer_pop(struct ui *ui)
{
    ui->layer--;
    assert(ui->layer >= 0);
}

void ui_modal_begin(struct ui *ui, const char *id, struct rect r, const char *name)
{
    ui_fill(ui, ui_screen(ui), UI_SHADE);
    ui_layer_push(ui);
    add_widget(ui, id, r, UI_ROLE_DIALOG, name, "");
}

void ui_modal_end(struct ui *ui)
{
    ui_layer_pop(ui);
}

/* ---- keys ---- */

/* "m", "Shift+M", "Shift+Space": a field takes it as text. */
static bool is_text(const char *key)
{
    if (strncmp(key, "Shift+", 6) == 0 && key[6] != '\0')
        key += 6;
    return text_next(key, 0) == strlen(key) || strcmp(key, "Space") == 0;
}

bool ui_key(struct ui *ui, const char *key)
{
    if (!ui->has_event || ui->event.type != UI_EVENT_KEY || ui->key_used ||
        strcmp(ui->event.key, key) != 0 || (ui_typing(ui) && is_text(key)))
        return false;
    ui->key_used = true;
    return true;
}

void ui_own_enter(struct ui *ui)
{
    if (ui->activate && strcmp(ui->event.key, "Enter") == 0)
        ui->activate = ui->key_used = false;
}

const char *ui_key_name(const struct ui *ui)
{
    return ui->has_event && ui->event.type == UI_EVENT_KEY && !ui->key_used ? ui->event.key : NULL;
}

void ui_key_take(struct ui *ui)
{
    ui->key_used = true;
}

bool ui_pressed(const struct ui *ui)
{
    return ui->has_event && ui->event.type == UI_EVENT_DOWN;
}

float ui_take_wheel(struct ui *ui, struct rect r)
{
    float by = ui->wheel_y;

    if (ui->layer != ui->top_layer || !ui->mouse_in || !ui_inside(r, ui->mouse_x, ui->mouse_y))
        return 0;
    ui->wheel_y = 0;
    return by;
}

bool ui_take_pinch(struct ui *ui, struct rect r, struct ui_pinch *out)
{
    if (!ui->pinched || ui->layer != ui->top_layer || !ui_inside(r, ui->pinch.x, ui->pinch.y))
        return false;
    ui->pinched = false;
    *out = ui->pinch;
    return true;
}

/* ---- drag ---- */

void ui_drag_source(struct ui *ui, const char *payload, struct ui_hit hit, uint64_t image_key)
{
    if (hit.drag_began) {
        text_copy(ui->drag_payload, sizeof ui->drag_payload, payload);
        ui->drag_image = image_key;
        ui->dragging = false;
    }
}

const char *ui_dragged(const struct ui *ui)
{
    return (ui->dragging || ui->drag_done) && ui->drag_payload[0] ? ui->drag_payload : NULL;
}

void ui_set_clipboard(struct ui *ui, struct ui_clipboard clipboard)
{
    ui->clipboard = clipboard;
}
