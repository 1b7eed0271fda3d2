/* ui_state.h - what the parts of the kit share. Not for callers. */
#ifndef UI_UI_STATE_H
#define UI_UI_STATE_H

#include "base/text.h"
#include "ui/ui.h"

#define ID_BYTES 96
#define MAX_CLIPS 32
#define FIELD_MAX_UNDO 64
#define MAX_LAYERS 8

struct field_undo {
    char *text;
    size_t caret;
};

/* The field that has, or just had, the focus. */
struct field_state {
    char id[ID_BYTES];       /* "" when none */
    struct text text;
    size_t caret, anchor;    /* byte offsets */
    bool ahead;              /* the caret is drawn before the character after it: clicked there */
    float scroll;            /* logical px, to the left or, in a tall field, upward */
    float goal_x;            /* column kept by Up and Down; negative: the caret's own */
    bool follow;             /* the caret moved: it is brought into view */
    bool overflows;          /* a tall field with more lines than it shows: the wheel is its own */
    size_t most;             /* bytes it may hold */
    bool changed;            /* differs from what was last committed */
    double changed_at_s, changed_from_s; /* last, and first since it was committed */
    bool commit_now;         /* in the next frame, before the key that waits */
    int64_t serial;          /* of this run of typing */
    double blink_from_s;
    bool seen;               /* drawn in this frame */
    bool dragging;
    struct text compose;
    struct field_undo undo[FIELD_MAX_UNDO];
    int n_undo, n_redo;      /* redo entries stand above n_undo */
    struct rect caret_rect;
};

struct scroll_state {
    char id[ID_BYTES];
    float offset, content;
    bool grabbed;
    float grab_y;
    struct rect view;        /* of the last frame it was drawn in */
    int layer;
    bool drawn, holds_focus; /* in this frame */
};

struct open_scroll {
    int index;
    size_t first_widget;     /* of those drawn inside */
    struct rect view;
};

struct ui {
    struct ui_measure measure;
    struct arena *arenas[2]; /* the last frame's and this one's */
    int now;                 /* which is this frame's */
    float width, height;
    double now_s;
    double wake_at_s;        /* negative: never */
    bool large, still;

    struct ui_event *queue;
    size_t n_queue, queue_room;
    struct ui_event event;   /* the discrete one of this frame; type MOVE when there is none */
    bool has_event, key_used;
    float mouse_x, mouse_y;
    bool mouse_in;
    float wheel_x, wheel_y;  /* left over for scroll areas */
    struct ui_pinch pinch;
    bool pinched;
    bool mouse_shift, mouse_ctrl;
    char **dropped;
    size_t n_dropped;

    struct ui_widget *widgets, *last_widgets;
    size_t n_widgets, n_last_widgets, widgets_room, last_room;
    struct ui_draw *draws;
    size_t n_draws, draws_room;

    struct rect clips[MAX_CLIPS];
    int n_clips;
    float fade; /* ui_fade() */
    int layer;               /* 0 the screen, 1 and up: modal layers */
    int top_layer;           /* highest of the last frame */
    int layer_now;           /* highest of this frame */
    char focus_below[MAX_LAYERS][ID_BYTES]; /* what had the focus when a layer came */

    char focus[ID_BYTES];
    bool focus_ring;         /* by keyboard: draw the ring */
    bool focus_drawn;        /* the focused widget came by in this frame */
    bool focus_asked;        /* by ui_focus(); what is typed ahead waits a frame for it */
    int show_focus;          /* frames in which scroll areas bring it into view */
    char hover[ID_BYTES];    /* topmost widget under the pointer, from the last frame's list */
    char pressed[ID_BYTES];
    double pressed_at_s;
    float pressed_x, pressed_y;
    char last_click[ID_BYTES];
    double last_click_s;
    bool activate;           /* Enter or Space on the focused widget */

    char drag_payload[160], drag_over[ID_BYTES];
    bool dragging, drag_done;
    uint64_t drag_image;

    struct field_state field;
    int64_t field_serial, committed; /* runs of typing so far; the one that was committed in this frame, 0 none */
    char committed_id[ID_BYTES];
    bool select_next;        /* the next field that is opened has all selected */
    struct scroll_state *scrolls;
    int n_scrolls, scrolls_room;
    struct open_scroll open_scrolls[8];
    int n_open_scrolls;

    char toast[240], toast_action[40];
    double toast_until_s;
    struct ui_clipboard clipboard;
};

struct ui_draw *ui_add_draw(struct ui *ui, enum ui_draw_type type, struct rect r, struct rgba c);
struct rect ui_clip(const struct ui *ui);
bool ui_visible(const struct ui *ui, struct rect r);
struct rect ui_intersect(struct rect a, struct rect b);
bool ui_is_hover(const struct ui *ui, const char *id);
void ui_draw_focus_ring(struct ui *ui, struct rect r, float radius);
void ui_layer_push(struct ui *ui); /* what follows lies over the rest and alone is in reach */
void ui_layer_pop(struct ui *ui);
void ui_scroll_end_frame(struct ui *ui); /* PageUp and the like, at the end of the frame */
/* Bytes of s that go on a line of width w: up to a blank, a line end, or as many letters as fit. */
size_t ui_fit_line(struct ui *ui, const char *s, float w, const struct ui_style *style);
/* The paragraph is of more than one line and reads from right to left: its lines begin at the right edge. A single line
 * stays where the screen has it. */
bool ui_begins_right(struct ui *ui, const char *paragraph, bool wrapped);
/* ui_field_lines.c: starts[i] is line i's first byte, starts[n] the text's end. */
struct field_lines {
    const char *text;
    const struct ui_style *style;
    size_t *starts;
    int n;
    float width;
};
struct field_lines ui_field_lines(struct ui *ui, const char *s, float width, const struct ui_style *style, bool wrapped);
int ui_field_line_of(const struct field_lines *l, size_t at);
size_t ui_field_line_end(const struct field_lines *l, int i);
/* Where the caret is drawn, from the field's left edge. Between words of both directions one place in the text has two on the
 * screen: behind the character before it, where typing goes on, or before the one after it (ahead). */
float ui_field_x_of(struct ui *ui, const struct field_lines *l, size_t at, bool ahead);
size_t ui_field_byte_at(struct ui *ui, const struct field_lines *l, int i, float x, bool *ahead); /* nearest to x in line i */
char *ui_field_line_text(struct ui *ui, const struct field_lines *l, int i, float *x); /* as drawn, and its left edge */
/* Bytes from .. to of line i as seen: at most n_room stretches, x from the field's left edge. */
struct field_span {
    float x, w;
};
size_t ui_field_spans(struct ui *ui, const struct field_lines *l, int i, size_t from, size_t to, struct field_span *spans, size_t n_room);
bool ui_field_is_rtl(struct ui *ui, const struct field_lines *l, size_t at); /* the paragraph there begins at the right */
size_t ui_field_right_of(const char *s, size_t at); /* the next character's beginning */
void ui_field_begin_frame(struct ui *ui);
/* The key is not the field's, and the field holds what is not kept yet: then it commits in this frame, without the key. */
bool ui_field_commits_before(struct ui *ui, const char *key);
void ui_field_end_frame(struct ui *ui);
void ui_field_release(struct ui *ui);

#endif
