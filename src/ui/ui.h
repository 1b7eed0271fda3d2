/* ui.h - a small immediate-mode kit: the caller says every frame what is there; the kit keeps focus,
 * input and edit state, and hands back a list of things to draw and a list of widgets.
 *
 * Sizes and places are logical pixels; the scale is applied once, when drawing. Widgets have stable
 * string ids ("plan.cylinder.6"): the keyboard focus, the script player and the tests go by them.
 * Every widget that takes a click also takes the focus, in the same call.
 *
 * One discrete event (a key, a button going down or up, a drop) is handled by each frame, so that a
 * field is left before what was clicked acts. The owner runs frames while ui_pending(). */
#ifndef UI_UI_H
#define UI_UI_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct ui;
struct arena;

struct rect {
    float x, y, w, h;
};
struct rgba {
    uint8_t r, g, b, a;
};

/* ---- life ---- */
struct ui_measure { /* how wide a text is: given by the renderer, or by a test */
    float (*text_width)(void *ctx, const char *s, size_t n_bytes, int size_px, int weight, bool tabular);
    float (*line_height)(void *ctx, int size_px);
    void *ctx;
};
struct ui *ui_create(struct ui_measure measure);
void ui_destroy(struct ui *ui);

/* ---- input ---- */
enum ui_event_type {
    UI_EVENT_MOVE,    /* pointer to x, y */
    UI_EVENT_DOWN,    /* button 1 left, 2 middle, 3 right */
    UI_EVENT_UP,
    UI_EVENT_WHEEL,   /* dx, dy in notches, y up */
    UI_EVENT_PINCH,   /* two fingers, their middle at x, y, moved by dx, dy; spread */
    UI_EVENT_KEY,     /* key: "Enter", "Ctrl+Z", "n", "4" */
    UI_EVENT_TEXT,    /* typed text, UTF-8 */
    UI_EVENT_COMPOSE, /* text being composed by an input method, not yet typed */
    UI_EVENT_DROP,    /* a file; path in text */
    UI_EVENT_LEAVE    /* pointer left the window */
};
struct ui_event {
    enum ui_event_type type;
    float x, y, dx, dy;
    float spread;     /* PINCH: natural logarithm of wider ÷ before */
    int button;
    bool shift, ctrl, alt;
    char key[24];
    char *text; /* malloc'd; the kit frees it. KEY: what it types, where the system sends no text for it since no field had the focus when it
                   came; NULL else */
};
void ui_feed(struct ui *ui, const struct ui_event *event); /* takes event->text over */
bool ui_pending(const struct ui *ui); /* events wait for a frame */

/* ---- frame ---- */
void ui_begin(struct ui *ui, float width, float height, double now_s);
void ui_end(struct ui *ui);
struct arena *ui_arena(struct ui *ui);     /* lives until the next ui_begin() */
struct rect ui_screen(const struct ui *ui);
double ui_now_s(const struct ui *ui);
/* When something asked to be drawn again: seconds from now_s, 0 at once, negative never. The present
 * time and not the last frame's is what it counts from: frames may lie long apart. */
double ui_wake_in_s(const struct ui *ui, double now_s);
void ui_wake_at_s(struct ui *ui, double time_s);
void ui_set_large_targets(struct ui *ui, bool large);
float ui_target_px(const struct ui *ui);   /* 32, or 44 in the large-target setting */
void ui_set_still(struct ui *ui, bool still); /* no blinking caret: for pictures */

/* Files dropped in this frame: NULL-ended list, valid until the next frame; NULL when none. */
const char *const *ui_dropped(struct ui *ui, float *x, float *y);

/* ---- layout ---- */
struct rect ui_cut_left(struct rect *r, float w);
struct rect ui_cut_right(struct rect *r, float w);
struct rect ui_cut_top(struct rect *r, float h);
struct rect ui_cut_bottom(struct rect *r, float h);
struct rect ui_inset(struct rect r, float dx, float dy);
/* Things of one height and different widths, one after the other, wrapped into lines 6 px apart. */
struct ui_flow {
    struct rect r;
    float x, y, h;
};
struct ui_flow ui_flow_begin(struct rect r, float h);
struct rect ui_flow_next(struct ui_flow *f, float w);
float ui_flow_height(const struct ui_flow *f); /* of the lines so far */
bool ui_inside(struct rect r, float x, float y);

/* ---- theme (theme.c) ---- */
enum ui_colour {
    UI_BAR, UI_BAR_RAISED, UI_BAR_FIELD, UI_BAR_TEXT, UI_BAR_QUIET,          /* near-black bars */
    UI_DESK, UI_DESK_BAND, UI_DESK_DARK, UI_DESK_TEXT, UI_DESK_QUIET,         /* the mid-grey desk */
    UI_PANEL, UI_CARD, UI_CARD_DIM, UI_LINE, UI_TEXT, UI_TEXT_SOFT, UI_TEXT_QUIET, UI_BUTTON_LINE,
    UI_DARK, UI_DARK_TEXT,                                                    /* filled controls */
    UI_ACT, UI_ACT_TEXT, UI_WATCH, UI_WATCH_TEXT, UI_WATCH_INK, UI_NOTE, UI_NOTE_TEXT, UI_ACT_INK,
    UI_SELECT, UI_SELECT_TEXT, UI_TRAY, UI_TRAY_CARD, UI_EDGE_LIGHT, UI_EDGE_DARK, UI_SHADE, UI_COLOUR_COUNT
};
struct ui_colour_row {
    const char *id;
    struct rgba colour;
    bool surface;      /* something is written on it */
    bool neutral;      /* R = G = B */
};
const struct ui_colour_row *ui_colour_row(enum ui_colour c);
struct rgba ui_rgba(enum ui_colour c);
enum ui_pair_use { UI_PAIR_TEXT, UI_PAIR_MARK }; /* 4.5:1 and 3:1, WCAG 2.2 criteria 1.4.3 and 1.4.11 */
struct ui_pair {
    enum ui_colour ink, on;
    enum ui_pair_use use;
};
const struct ui_pair *ui_pairs(size_t *n);
/* 1 … 21: WCAG 2.2, "contrast ratio" of "relative luminance"; alpha is left out of account. */
double ui_contrast(struct rgba a, struct rgba b);

/* ---- drawing ---- */
enum ui_weight { UI_REGULAR, UI_MEDIUM, UI_SEMIBOLD, UI_BOLD, UI_WEIGHT_COUNT };
enum ui_align { UI_LEFT, UI_CENTRE, UI_RIGHT };
struct ui_style {
    int size_px;        /* 11, 13, 14, 18 or 26; 0 = 13 */
    enum ui_weight weight;
    enum ui_colour colour;
    enum ui_align align;
    bool tabular;       /* digits at equal advance */
    bool top;           /* at the rect's top instead of its middle */
    int max_lines;      /* 0 or 1: one line with an ellipsis; more: wrapped */
};
enum ui_draw_type {
    UI_DRAW_FILL, UI_DRAW_ROUND, UI_DRAW_ROUND_LINE, UI_DRAW_DISC, UI_DRAW_RING, UI_DRAW_LINE, UI_DRAW_POLYGON,
    UI_DRAW_TEXT, UI_DRAW_IMAGE, UI_DRAW_PAINTING, UI_DRAW_CLIP
};
/* Paints an RGBA picture of w × h real pixels (not premultiplied), all zero before. */
typedef void ui_paint_fn(uint8_t *rgba, int w, int h, const void *ctx);
struct ui_draw {
    enum ui_draw_type type;
    struct rect r;       /* logical; LINE: from x,y to x+w,y+h */
    struct rgba colour;
    float radius, width; /* corner; line width */
    float from_deg, to_deg; /* RING: clockwise from the top; equal: the whole ring */
    float dash, gap;     /* ROUND_LINE, LINE: 0 = solid */
    const char *text;    /* TEXT */
    int size_px, weight;
    bool tabular;
    uint64_t key;        /* IMAGE: picture; PAINTING: content */
    struct rect crop;    /* IMAGE: part of the picture, 0..1; no width: all of it, kept in proportion */
    int turn;            /* IMAGE: quarter turns clockwise */
    bool round;          /* IMAGE: cut to a disc */
    int layer;           /* IMAGE: above 0, put together with its neighbours of the same layer */
    float turn_deg;      /* of these: clockwise about the middle */
    float share;         /* IMAGE, PAINTING: 1 hides what is below */
    ui_paint_fn *paint;
    const void *ctx;     /* PAINTING: lives as long as the frame's arena */
    int n_points;
    const float *points; /* POLYGON: x, y pairs */
};
const struct ui_draw *ui_draws(const struct ui *ui, size_t *n);

void ui_fill(struct ui *ui, struct rect r, enum ui_colour c);
void ui_fill_rgba(struct ui *ui, struct rect r, struct rgba c);
void ui_round(struct ui *ui, struct rect r, float radius, enum ui_colour c);
void ui_round_rgba(struct ui *ui, struct rect r, float radius, struct rgba c);
void ui_round_line(struct ui *ui, struct rect r, float radius, float width, enum ui_colour c);
void ui_round_dashed(struct ui *ui, struct rect r, float radius, float width, enum ui_colour c);
void ui_disc(struct ui *ui, float x, float y, float radius, struct rgba c);
void ui_ring(struct ui *ui, float x, float y, float radius, float width, struct rgba c);
void ui_arc(struct ui *ui, float x, float y, float radius, float width, float from_deg, float to_deg, struct rgba c);
void ui_line(struct ui *ui, float x0, float y0, float x1, float y1, float width, enum ui_colour c);
void ui_line_rgba(struct ui *ui, float x0, float y0, float x1, float y1, float width, struct rgba c);
void ui_line_dashed(struct ui *ui, float x0, float y0, float x1, float y1, float width, enum ui_colour c);
void ui_polygon(struct ui *ui, const float *points, int n_points, struct rgba c);
/* Marks that carry a level besides its colour: triangle for act, diamond for watch. */
void ui_triangle(struct ui *ui, float x, float y, float size, struct rgba c);
void ui_diamond(struct ui *ui, float x, float y, float size, struct rgba c);
/* Selection and focus: blue with a light edge outside, seen on any surface. */
void ui_select_line(struct ui *ui, struct rect r, float radius, float width);
void ui_select_ring(struct ui *ui, float x, float y, float radius, float width);
/* Draws text; gives the height it took. */
float ui_text(struct ui *ui, struct rect r, const char *s, const struct ui_style *style);
float ui_text_width(struct ui *ui, const char *s, const struct ui_style *style);
float ui_text_height(struct ui *ui, float width, const char *s, const struct ui_style *style);
void ui_image(struct ui *ui, struct rect r, uint64_t key, struct rect crop, int turn, bool round);
/* Pictures and paintings from here to the next call hide only this share of what is below (above 0, up to 1, which
 * is so at a frame's begin); not those of ui_layer_image(). */
void ui_fade(struct ui *ui, float share);
/* A picture turned by any angle, clockwise, about the middle of r, which is its rect before. Those that
 * follow one another with the same layer (1 or more) are put together first, later ones over earlier ones, and
 * then laid over what is there: `share` (above 0, up to 1) of theirs. */
void ui_layer_image(struct ui *ui, struct rect r, uint64_t key, float turn_deg, int layer, float share);
void ui_painting(struct ui *ui, struct rect r, uint64_t key, ui_paint_fn *paint, const void *ctx, size_t n_ctx_bytes);
void ui_clip_push(struct ui *ui, struct rect r);
void ui_clip_pop(struct ui *ui);
uint64_t ui_hash(const void *data, size_t n_bytes, uint64_t seed);

/* ---- widgets ---- */
enum ui_role {
    UI_ROLE_BUTTON, UI_ROLE_TOGGLE, UI_ROLE_TAB, UI_ROLE_FIELD, UI_ROLE_ROW, UI_ROLE_IMAGE, UI_ROLE_AREA,
    UI_ROLE_DIALOG, UI_ROLE_TEXT, UI_ROLE_COUNT
};
const char *ui_role_id(enum ui_role r);
struct ui_widget {
    const char *id, *name, *value; /* in the frame's arena */
    enum ui_role role;
    struct rect bounds;            /* clipped to what can be seen */
    struct rect whole;             /* the same, not cut by a scroll area */
    bool focused, enabled, takes_focus;
    int layer;
};
const struct ui_widget *ui_widgets(const struct ui *ui, size_t *n); /* of the last finished frame */
const struct ui_widget *ui_find_widget(const struct ui *ui, const char *id);

struct ui_hit {
    bool hover, down, focused;
    bool clicked;   /* by pointer, Enter or Space */
    bool twice;     /* second click within the double-click time */
    bool dropped;   /* something that was dragged was let go here; see ui_dragged() */
    bool drag_began;
    float x, y;     /* pointer, in the widget's rect, 0..1 */
};
/* A region that can be hovered, clicked, focused. Draws nothing but the focus ring. */
struct ui_hit ui_region(struct ui *ui, const char *id, struct rect r, enum ui_role role, const char *name,
                        const char *value, float ring_radius);
/* Registers something that is only read: for the outline and tests. */
void ui_note(struct ui *ui, const char *id, struct rect r, const char *name, const char *value);

enum ui_button_look { UI_LOOK_PLAIN, UI_LOOK_DARK, UI_LOOK_DASHED, UI_LOOK_WATCH, UI_LOOK_ACT, UI_LOOK_BAR, UI_LOOK_QUIET };
struct ui_button {
    enum ui_button_look look;
    const char *key;      /* shown in a small keycap, e.g. "Enter"; NULL none */
    const char *disabled; /* the reason it cannot be used; NULL = usable */
    int size_px;
};
bool ui_button(struct ui *ui, const char *id, struct rect r, const char *label, const struct ui_button *opts);
float ui_button_width(struct ui *ui, const char *label, const struct ui_button *opts);
bool ui_chip(struct ui *ui, const char *id, struct rect r, const char *label, bool on, const char *key);
float ui_chip_width(struct ui *ui, const char *label, const char *key);
bool ui_tab(struct ui *ui, const char *id, struct rect r, const char *label, bool on, const char *key); /* key in a keycap, NULL none */
float ui_tab_width(struct ui *ui, const char *label, const char *key); /* the same whether it is on */
void ui_keycap(struct ui *ui, float right, float middle, const char *key, bool on_dark);
/* "Well    oil pooled · heavy": a row one can open. */
bool ui_value_row(struct ui *ui, const char *id, struct rect r, const char *label, const char *value, bool strong,
                  const char *key);
void ui_heading(struct ui *ui, struct rect r, const char *label);

enum { UI_CHANGED = 1, UI_COMMIT = 2, UI_ENTER = 4, UI_FOCUSED = 8, UI_CANCEL = 16 };
struct ui_field {
    const char *name;        /* for the outline */
    const char *placeholder;
    const char *error;       /* shown under the field in red; NULL none */
    bool large;              /* 18 px */
    bool multiline;
    bool select_all;         /* selects all when it gets the focus */
    bool whole;              /* makes something new: committed when it is entered or left, not while typing pauses */
};
/* Shows `value`; while it has the focus it edits a copy of its own. out receives the text when the
 * result has UI_CHANGED or UI_COMMIT (Enter, focus left, Escape or another key that is not the field's, half a second's pause;
 * words also while typing goes on). Escape leaves it (UI_CANCEL), in the frame after what was typed was committed: nothing
 * typed is thrown away. No more than n_room - 1 bytes are taken: what is typed beyond is refused, what is pasted beyond is left off, both with a toast that says so; a multi-line field
 * counts what is left when it runs short. */
unsigned ui_text_field(struct ui *ui, const char *id, struct rect r, const struct ui_field *opts,
                       const char *value, char *out, size_t n_room);

/* A line one drags (or moves with Left and Right while it has the focus) to change a width. Gives the
 * new value, held to low .. high; `grows` is +1 when the part to its left has that width, -1 right. */
float ui_splitter(struct ui *ui, const char *id, struct rect r, float value, float low, float high, int grows);

struct ui_menu_item {
    const char *label, *key; /* key shown beside it, NULL none */
};
enum { UI_MENU_OPEN = -1, UI_MENU_CLOSED = -2 };
/* A list of choices over everything else, its right upper corner at x, y. Gives the chosen item,
 * UI_MENU_OPEN, or UI_MENU_CLOSED (Escape, or a click beside it). */
int ui_menu(struct ui *ui, const char *id, float x, float y, const struct ui_menu_item *items, int n);

/* A scroll area: content is drawn at the returned rect, whose y is moved by the offset and whose h
 * is as given to the last ui_scroll_end(). What takes the focus inside it by the keyboard or
 * ui_focus() is brought into view. PageUp, PageDown, Home and End that nobody used turn the area that
 * holds the focus, else the one under the pointer, else the largest. */
struct rect ui_scroll_begin(struct ui *ui, const char *id, struct rect view);
void ui_scroll_end(struct ui *ui, float content_height);
/* Between begin and end: this rect (a row chosen without having the focus) is brought into view. */
void ui_scroll_show(struct ui *ui, struct rect r);
/* Before begin: what was put in above the area, so tall, moves nothing in it while the pointer is there. */
void ui_scroll_by(struct ui *ui, const char *id, float px);

/* Notches the wheel turned over this rect in this frame (up positive), taken away from scroll areas. */
float ui_take_wheel(struct ui *ui, struct rect r);

/* A pinch about a middle in this rect in this frame; true when there was one. */
struct ui_pinch {
    float x, y, dx, dy, spread; /* as in ui_event */
};
bool ui_take_pinch(struct ui *ui, struct rect r, struct ui_pinch *out);

/* Drag: a region calls ui_drag_source() with what it carries; targets see hit.dropped. */
void ui_drag_source(struct ui *ui, const char *payload, struct ui_hit hit, uint64_t image_key);
const char *ui_dragged(const struct ui *ui); /* what is being (or was just) dragged; NULL none */

/* A modal layer: what is inside gets all input, Tab stays inside. When it is gone the focus returns to
 * what had it when it came. */
void ui_modal_begin(struct ui *ui, const char *id, struct rect r, const char *name);
void ui_modal_end(struct ui *ui);

/* ---- keyboard ---- */
bool ui_key(struct ui *ui, const char *key); /* true once when pressed in this frame and not used by a field: while one has the focus a letter, with Shift or not, is its text */
/* Enter, in this frame, presses nothing that has the focus: it is left for ui_key(). Before that widget is drawn. */
void ui_own_enter(struct ui *ui);
const char *ui_key_name(const struct ui *ui);  /* the frame's unused key or NULL */
void ui_key_take(struct ui *ui);
const char *ui_clicked(const struct ui *ui);    /* what was clicked in this frame; NULL nothing */
bool ui_pressed(const struct ui *ui);           /* a button of the pointer went down in this frame, anywhere */
bool ui_pressing(const struct ui *ui);         /* the pointer is held down on something, up to the frame in which it is let go */
bool ui_let_go(const struct ui *ui);           /* this is that frame */
bool ui_typing(const struct ui *ui);           /* a text field has the focus */
bool ui_unsaved(const struct ui *ui);          /* and holds something not yet committed */
void ui_focus_again(struct ui *ui);            /* the field that was committed in this frame keeps the focus, its text selected */
void ui_commit_typing(struct ui *ui);          /* the next frame commits what is typed: before the window goes */
/* The run of typing that was committed in this frame, 0 none. One that goes on in the same field, without Enter, has the
 * same number. */
int64_t ui_committed(const struct ui *ui);
void ui_focus(struct ui *ui, const char *id);  /* NULL: nothing; what takes it is scrolled into view */
const char *ui_focused(const struct ui *ui);   /* "" when nothing */

/* ---- toasts ---- */
void ui_toast(struct ui *ui, const char *text, const char *action); /* action e.g. "Undo", NULL none */
bool ui_toast_is_up(const struct ui *ui);
void ui_toast_end(struct ui *ui, const char *text); /* takes it down where it is the one that is up: it is true no more */
/* Draws them in there, 48 px high, in up to three lines; the first `beside` px of it are left free where the words do not need them. True
 * when the action was chosen. */
bool ui_toasts(struct ui *ui, struct rect where, float beside);

/* ---- clipboard, given by the owner ---- */
struct ui_clipboard {
    char *(*get)(void *ctx); /* malloc'd UTF-8 or NULL */
    void (*set)(void *ctx, const char *text);
    void *ctx;
};
void ui_set_clipboard(struct ui *ui, struct ui_clipboard clipboard);
/* Where the caret is, for the input method; false when no field has the focus. */
bool ui_caret(const struct ui *ui, struct rect *r);

#endif
