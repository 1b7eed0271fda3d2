/* ui_field.c - text fields. The field with the focus edits a copy of its own; what it holds is
 * acknowledged on Enter, when the focus leaves, before a key that is not the field's own, after half a second's pause,
 * and words also while typing goes on. */
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "ui/ui_bidi.h"
#include "ui/ui_state.h"

#define PAUSE_S 0.5
#define RUN_S 0.4 /* words that are typed without a pause: so much at most can be lost */
#define WORDS_BYTES 12 /* no figure or date is as long */
#define BLINK_S 0.53
#define BLINK_FOR_S (8 * BLINK_S) /* then the caret stands still, and the program sleeps */
#define MAX_SPANS 32    /* stretches of a selected line whose words run both ways */
#define SHORT_BYTES 400 /* a tall field says how much room is left from here on */

size_t ui_field_right_of(const char *s, size_t at)
{
    at = text_next(s, at);
    while (s[at] != '\0' && bidi_clings(text_codepoint(s, at)))
        at = text_next(s, at);
    return at;
}

static size_t left_of(const char *s, size_t at)
{
    at = text_prev(s, at);
    while (at > 0 && bidi_clings(text_codepoint(s, at)))
        at = text_prev(s, at);
    return at;
}

static bool in_word(const char *s, size_t at)
{
    unsigned char c = (unsigned char)s[at];

    return c >= 0x80 || (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
}

static size_t word_right(const char *s, size_t at)
{
    while (s[at] != '\0' && !in_word(s, at))
        at = text_next(s, at);
    while (s[at] != '\0' && in_word(s, at))
        at = text_next(s, at);
    return at;
}

static size_t word_left(const char *s, size_t at)
{
    while (at > 0 && !in_word(s, text_prev(s, at)))
        at = text_prev(s, at);
    while (at > 0 && in_word(s, text_prev(s, at)))
        at = text_prev(s, at);
    return at;
}

static const char *str(const struct field_state *f)
{
    return text_get(&f->text);
}

static void clear_undo(struct field_state *f)
{
    for (int i = 0; i < f->n_undo + f->n_redo; i++)
        free(f->undo[i].text);
    f->n_undo = f->n_redo = 0;
}

void ui_field_release(struct ui *ui)
{
    struct field_state *f = &ui->field;

    clear_undo(f);
    text_release(&f->text);
    text_release(&f->compose);
    f->id[0] = '\0';
}

static void open_field(struct ui *ui, const char *id, const char *value, bool select_all)
{
    struct field_state *f = &ui->field;

    ui_field_release(ui);
    text_copy(f->id, sizeof f->id, id);
    text_add(&f->text, value);
    f->caret = f->text.n_bytes;
    f->anchor = select_all || ui->select_next ? 0 : f->caret;
    ui->select_next = false;
    f->scroll = 0;
    f->goal_x = -1;
    f->follow = true;
    f->overflows = false;
    f->changed = f->commit_now = false;
    f->dragging = false;
    f->blink_from_s = ui->now_s;
    f->serial = ++ui->field_serial;
}

/* Half a figure is another figure, half a sentence is that much of it. */
static bool is_words(const struct field_state *f, bool multiline)
{
    return multiline || f->text.n_bytes >= WORDS_BYTES;
}

static bool is_one_of(const char *const *keys, const char *key)
{
    while (*keys != NULL && strcmp(*keys, key) != 0)
        keys++;
    return *keys != NULL;
}

/* Keys that edit, move the caret or end the typing themselves: those of edit_key(), use_event() and of the focus. Escape
 * is none: what was typed is kept before it leaves the field, as by Tab. */
static bool is_own_key(const char *key)
{
    static const char *const plain[] = {"Left", "Right", "Up", "Down", "Home", "End", "PageUp", "PageDown", "Backspace", "Delete", "Insert", "Enter", "Tab", "Space", NULL};
    static const char *const with_ctrl[] = {"Left", "Right", "Home", "End", "Backspace", "Delete", "Insert", "A", "C", "X", "V", "Z", "Y", NULL};
    bool ctrl = strncmp(key, "Ctrl+", 5) == 0, shift;

    key += ctrl ? 5 : 0;
    shift = strncmp(key, "Shift+", 6) == 0;
    key += shift ? 6 : 0;
    if (ctrl)
        return is_one_of(with_ctrl, key);
    return text_next(key, 0) == strlen(key) || (is_one_of(plain, key) && !(shift && strcmp(key, "Enter") == 0));
}

bool ui_field_commits_before(struct ui *ui, const char *key)
{
    struct field_state *f = &ui->field;

    if (!ui_typing(ui) || !f->changed || f->commit_now || f->compose.n_bytes > 0 || is_own_key(key))
        return false;
    f->commit_now = true;
    return true;
}

void ui_commit_typing(struct ui *ui)
{
    ui->field.commit_now = ui_typing(ui) && ui->field.changed;
}

int64_t ui_committed(const struct ui *ui)
{
    return ui->committed;
}

/* ---- editing ---- */

static void remember(struct field_state *f)
{
    for (int i = f->n_undo; i < f->n_undo + f->n_redo; i++)
        free(f->undo[i].text);
    f->n_redo = 0;
    if (f->n_undo == FIELD_MAX_UNDO) {
        free(f->undo[0].text);
        memmove(f->undo, f->undo + 1, (FIELD_MAX_UNDO - 1) * sizeof f->undo[0]);
        f->n_undo--;
    }
    f->undo[f->n_undo++] = (struct field_undo){mem_copy_text(str(f)), f->caret};
}

static void touched(struct ui *ui)
{
    if (!ui->field.changed)
        ui->field.changed_from_s = ui->now_s;
    ui->field.changed = true;
    ui->field.changed_at_s = ui->now_s;
    ui->field.blink_from_s = ui->now_s;
    ui->field.follow = true;
    ui->field.ahead = false;
    ui->field.goal_x = -1;
    ui->show_focus = 2;
}

static void replace(struct ui *ui, size_t from, size_t to, const char *with)
{
    struct field_state *f = &ui->field;
    struct text fresh = {0};
    size_t n, kept;

    if (from > to) {
        size_t t = from;

        from = to;
        to = t;
    }
    if (from == to && with[0] == '\0')
        return;
    n = strlen(with);
    kept = f->text.n_bytes - (to - from);
    if (kept + n > f->most) { /* what does not fit is left off, and said */
        char said[120];

        n = f->most > kept ? f->most - kept : 0;
        while (n > 0 && ((unsigned char)with[n] & 0xC0) == 0x80)
            n--;
        if (strlen(with) > text_next(with, 0)) /* more than a letter: pasted */
            text_format(said, sizeof said, "Only the first %zu of %zu letters pasted found room.", n, strlen(with));
        else
            text_format(said, sizeof said, "This field is full: it holds %zu letters.", f->most);
        ui_toast(ui, said, NULL);
        if (n == 0)
            return;
    }
    remember(f);
    text_add_bytes(&fresh, str(f), from);
    text_add_bytes(&fresh, with, n);
    text_add(&fresh, str(f) + to);
    text_release(&f->text);
    f->text = fresh;
    f->caret = f->anchor = from + n;
    touched(ui);
}

static void restore(struct ui *ui, struct field_undo *u)
{
    struct field_state *f = &ui->field;
    struct field_undo now = {mem_copy_text(str(f)), f->caret};

    text_clear(&f->text);
    text_add(&f->text, u->text);
    f->caret = f->anchor = u->caret <= f->text.n_bytes ? u->caret : f->text.n_bytes;
    free(u->text);
    *u = now;
    touched(ui);
}

static void move(struct field_state *f, size_t to, bool select)
{
    f->caret = to;
    f->ahead = false;
    f->follow = true;
    if (!select)
        f->anchor = to;
}

static void copy_selection(struct ui *ui)
{
    struct field_state *f = &ui->field;
    size_t from = f->caret < f->anchor ? f->caret : f->anchor;
    size_t n = f->caret < f->anchor ? f->anchor - f->caret : f->caret - f->anchor;
    char *part;

    if (n == 0 || ui->clipboard.set == NULL)
        return;
    part = mem_alloc(n + 1, 1);
    memcpy(part, str(f) + from, n);
    ui->clipboard.set(ui->clipboard.ctx, part);
    free(part);
}

static void paste(struct ui *ui, bool multiline)
{
    char *s = ui->clipboard.get != NULL ? ui->clipboard.get(ui->clipboard.ctx) : NULL;

    if (s == NULL)
        return;
    text_sanitize(s, strlen(s) + 1);
    if (!multiline)
        for (char *c = s; *c != '\0'; c++)
            if (*c == '\n' || *c == '\t')
                *c = ' ';
    replace(ui, ui->field.caret, ui->field.anchor, s);
    free(s);
}

/* Up, Down and by pages, keeping the column. */
static void move_lines(struct ui *ui, const struct field_lines *l, int by, bool select)
{
    struct field_state *f = &ui->field;
    int to = ui_field_line_of(l, f->caret) + by;

    bool ahead = false;

    if (f->goal_x < 0)
        f->goal_x = ui_field_x_of(ui, l, f->caret, f->ahead);
    move(f, to < 0 ? 0 : to >= l->n ? f->text.n_bytes : ui_field_byte_at(ui, l, to, f->goal_x, &ahead), select);
    f->ahead = ahead;
}

/* True when the key belongs to the field. */
/* page: lines a tall field shows. */
static bool edit_key(struct ui *ui, const char *key, bool multiline, const struct field_lines *l, int page)
{
    struct field_state *f = &ui->field;
    const char *s = str(f), *k = key;
    bool ctrl = false, shift = false, vertical = false;
    int here = ui_field_line_of(l, f->caret);
    size_t low = f->caret < f->anchor ? f->caret : f->anchor;
    size_t high = f->caret < f->anchor ? f->anchor : f->caret;

    if (strncmp(k, "Ctrl+", 5) == 0)
        ctrl = true, k += 5;
    if (strncmp(k, "Shift+", 6) == 0)
        shift = true, k += 6;
    f->blink_from_s = ui->now_s;
    /* where lines begin at the right, Left goes on in the text */
    const bool side = strcmp(k, "Left") == 0 || strcmp(k, "Right") == 0, back = side && (k[0] == 'L') != ui_field_is_rtl(ui, l, f->caret);

    if (back) {
        if (!shift && low != high && !ctrl)
            move(f, low, false);
        else
            move(f, ctrl ? word_left(s, f->caret) : left_of(s, f->caret), shift);
    } else if (side) {
        if (!shift && low != high && !ctrl)
            move(f, high, false);
        else
            move(f, ctrl ? word_right(s, f->caret) : ui_field_right_of(s, f->caret), shift);
    } else if (multiline && !ctrl && (strcmp(k, "Up") == 0 || strcmp(k, "Down") == 0)) {
        vertical = true;
        move_lines(ui, l, k[0] == 'D' ? 1 : -1, shift);
    } else if (multiline && !ctrl && (strcmp(k, "PageUp") == 0 || strcmp(k, "PageDown") == 0)) {
        vertical = true;
        move_lines(ui, l, k[4] == 'D' ? page : -page, shift);
    } else if (strcmp(k, "Home") == 0) {
        move(f, ctrl ? 0 : l->starts[here], shift);
    } else if (strcmp(k, "End") == 0) {
        move(f, ctrl ? f->text.n_bytes : ui_field_line_end(l, here), shift);
    } else if (strcmp(k, "Backspace") == 0) {
        if (low != high)
            replace(ui, low, high, "");
        else if (f->caret > 0)
            replace(ui, ctrl ? word_left(s, f->caret) : left_of(s, f->caret), f->caret, "");
    } else if (strcmp(k, "Delete") == 0 && !shift) {
        if (low != high)
            replace(ui, low, high, "");
        else if (s[f->caret] != '\0')
            replace(ui, f->caret, ctrl ? word_right(s, f->caret) : ui_field_right_of(s, f->caret), "");
    } else if (multiline && !ctrl && strcmp(k, "Enter") == 0) {
        replace(ui, low, high, "\n");
    } else if (ctrl && !shift && strcmp(k, "A") == 0) {
        move(f, 0, false);
        move(f, f->text.n_bytes, true);
    } else if (ctrl && !shift && (strcmp(k, "C") == 0 || strcmp(k, "Insert") == 0)) {
        copy_selection(ui);
    } else if ((ctrl && !shift && strcmp(k, "X") == 0) || (shift && !ctrl && strcmp(k, "Delete") == 0)) {
        copy_selection(ui);
        replace(ui, low, high, "");
    } else if ((ctrl && !shift && strcmp(k, "V") == 0) || (shift && !ctrl && strcmp(k, "Insert") == 0)) {
        paste(ui, multiline);
    } else if (ctrl && !shift && strcmp(k, "Z") == 0) {
        if (f->n_undo == 0) /* nothing typed here: the logbook's own undo gets the key */
            return false;
        f->n_undo--;
        f->n_redo++;
        restore(ui, &f->undo[f->n_undo]);
    } else if (ctrl && ((shift && strcmp(k, "Z") == 0) || (!shift && strcmp(k, "Y") == 0))) {
        if (f->n_redo == 0)
            return false;
        restore(ui, &f->undo[f->n_undo]);
        f->n_undo++;
        f->n_redo--;
    } else {
        return false;
    }
    if (!vertical)
        f->goal_x = -1;
    ui->show_focus = 2; /* who edits wants to see it */
    return true;
}

void ui_field_begin_frame(struct ui *ui)
{
    ui->field.seen = false;
}

void ui_field_end_frame(struct ui *ui)
{
    struct field_state *f = &ui->field;

    if (f->id[0] != '\0' && !f->seen) /* its screen is gone */
        ui_field_release(ui);
}

static void use_event(struct ui *ui, const struct ui_field *o, const struct field_lines *l, int page, unsigned *result)
{
    struct field_state *f = &ui->field;

    if (!ui->has_event)
        return;
    if (ui->event.type == UI_EVENT_TEXT && ui->event.text != NULL) {
        text_sanitize(ui->event.text, strlen(ui->event.text) + 1);
        text_clear(&f->compose);
        replace(ui, f->caret, f->anchor, ui->event.text);
        *result |= UI_CHANGED;
    } else if (ui->event.type == UI_EVENT_COMPOSE) {
        text_clear(&f->compose);
        text_add(&f->compose, ui->event.text != NULL ? ui->event.text : "");
    } else if (ui->event.type == UI_EVENT_KEY && !ui->key_used) {
        const char *key = ui->event.key;
        double before = f->changed_at_s;

        if (f->compose.n_bytes > 0) { /* the input method's */
            ui->key_used = true;
        } else if (edit_key(ui, key, o->multiline, l, page)) {
            ui->key_used = true;
            if (f->changed && (f->changed_at_s > before || f->changed_at_s < before))
                *result |= UI_CHANGED;
        } else if (strcmp(key, "Enter") == 0 || (o->multiline && strcmp(key, "Ctrl+Enter") == 0)) {
            ui->key_used = true;
            *result |= UI_COMMIT | UI_ENTER;
        } else if (strcmp(key, "Escape") == 0) {
            ui->key_used = true;
            *result |= UI_CANCEL; /* what was typed was committed before: ui_field_commits_before() */
            ui_focus(ui, NULL);
        } else if (strlen(key) == 1 || strcmp(key, "Space") == 0) {
            ui->key_used = true; /* its text event follows */
        }
    }
}

static struct ui_style field_style(const struct ui_field *o)
{
    return (struct ui_style){.size_px = o->large ? 18 : 14, .weight = o->large ? UI_SEMIBOLD : UI_REGULAR,
                             .colour = UI_TEXT, .top = true};
}

static struct rect field_inside(struct rect r, const struct ui_field *o)
{
    return ui_inset(r, 12, o->multiline ? 8 : 0);
}

static void draw_field(struct ui *ui, struct rect r, const struct ui_field *o, const char *shown, bool focused,
                       bool hover)
{
    struct field_state *f = &ui->field;
    struct ui_style s = field_style(o);
    float line = ui->measure.line_height(ui->measure.ctx, s.size_px);
    struct rect in = field_inside(r, o);
    float top = o->multiline ? in.y : r.y + (r.h - line) / 2;

    ui_round(ui, r, 6, UI_CARD);
    if (focused)
        ui_select_line(ui, r, 6, 2);
    else
        ui_round_line(ui, r, 6, hover || o->error ? 2 : 1, o->error != NULL ? UI_ACT : UI_BUTTON_LINE);
    if (o->error != NULL) {
        struct ui_style bad = {.colour = UI_ACT_INK, .size_px = 13, .max_lines = 2, .top = true};

        ui_text(ui, (struct rect){r.x, r.y + r.h + 4, r.w, 36}, o->error, &bad);
    }
    ui_clip_push(ui, in);
    if (!focused) {
        if (shown[0] == '\0' && o->placeholder != NULL) {
            s.colour = UI_TEXT_QUIET;
            ui_text(ui, (struct rect){in.x, top, in.w, line}, o->placeholder, &s);
        } else if (o->multiline) {
            s.max_lines = (int)(in.h / line) > 1 ? (int)(in.h / line) : 2;
            ui_text(ui, in, shown, &s);
        } else {
            ui_text(ui, (struct rect){in.x, top, in.w, line}, shown, &s);
        }
        ui_clip_pop(ui);
        return;
    }
    /* line by line, as typed; the caret stays in view, unless the wheel took it out */
    struct field_lines l = ui_field_lines(ui, shown, in.w, &s, o->multiline);
    size_t low = f->caret < f->anchor ? f->caret : f->anchor, high = f->caret < f->anchor ? f->anchor : f->caret;
    float caret_x = ui_field_x_of(ui, &l, f->caret, f->ahead), all = (float)l.n * line;
    int caret_line = ui_field_line_of(&l, f->caret);
    float at_caret = o->multiline ? (float)caret_line * line : caret_x, extent = o->multiline ? line : 2, view = o->multiline ? in.h : in.w;

    f->overflows = o->multiline && all > in.h;
    if (f->overflows) {
        f->scroll -= ui_take_wheel(ui, r) * line;
        f->scroll = fmaxf(0, fminf(f->scroll, all - in.h));
    } else if (o->multiline) {
        f->scroll = 0;
    }
    if (f->follow || !o->multiline) {
        f->scroll = fmaxf(f->scroll, at_caret + extent - view);
        f->scroll = fminf(f->scroll, at_caret);
        f->follow = false;
    }
    static const struct rgba selected = {8, 82, 204, 70};
    float dx = o->multiline ? 0 : f->scroll, y = top - (o->multiline ? f->scroll : 0);

    for (int i = 0; i < l.n; i++, y += line) {
        size_t at = l.starts[i], end = ui_field_line_end(&l, i);
        float x;
        char *part = ui_field_line_text(ui, &l, i, &x);

        if (low != high && low <= end && high >= at) {
            struct field_span spans[MAX_SPANS];
            size_t n = ui_field_spans(ui, &l, i, low, high, spans, MAX_SPANS);

            for (size_t k = 0; k < n; k++)
                ui_fill_rgba(ui, (struct rect){in.x + spans[k].x - dx, y, spans[k].w, line}, selected);
            if (i + 1 < l.n && high >= l.starts[i + 1]) /* the line's end too */
                ui_fill_rgba(ui, (struct rect){in.x + x + ui_text_width(ui, part, &s) - dx, y, 6, line}, selected);
        }
        ui_text(ui, (struct rect){in.x + x - dx, y, ui_text_width(ui, part, &s) + 4, line}, part, &s);
    }
    f->caret_rect = (struct rect){in.x + caret_x - dx, top + (float)caret_line * line - (o->multiline ? f->scroll : 0), 1, line};
    if (f->compose.n_bytes > 0) { /* what is being composed, underlined */
        float w = ui_text_width(ui, text_get(&f->compose), &s);

        ui_fill(ui, (struct rect){f->caret_rect.x, f->caret_rect.y, w, line}, UI_CARD);
        ui_text(ui, (struct rect){f->caret_rect.x, f->caret_rect.y, w + 2, line}, text_get(&f->compose), &s);
        ui_fill(ui, (struct rect){f->caret_rect.x, f->caret_rect.y + line - 2, w, 1}, s.colour);
    }
    bool rests = ui->still || ui->now_s - f->blink_from_s >= BLINK_FOR_S;
    bool on = rests || fmod(ui->now_s - f->blink_from_s, 2 * BLINK_S) < BLINK_S;

    if (on)
        ui_fill(ui, (struct rect){f->caret_rect.x, f->caret_rect.y + 1, 1.5f, line - 2}, s.colour);
    if (!rests)
        ui_wake_at_s(ui, ui->now_s + BLINK_S - fmod(ui->now_s - f->blink_from_s, BLINK_S));
    ui_clip_pop(ui);
    if (f->overflows) { /* where in the text we are */
        float h = fmaxf(16, in.h * in.h / all);

        ui_round(ui, (struct rect){r.x + r.w - 8, in.y + (in.h - h) * f->scroll / (all - in.h), 4, h}, 2, UI_BUTTON_LINE);
    }
    if (o->multiline && f->text.n_bytes + SHORT_BYTES > f->most) {
        char left[48];
        struct rect note = {r.x + r.w - 220, r.y + r.h - 24, 206, 20};

        text_format(left, sizeof left, "room for %zu more letters", f->most - f->text.n_bytes);
        ui_round(ui, (struct rect){note.x - 6, note.y, note.w + 12, note.h}, 4, UI_CARD_DIM);
        ui_text(ui, note, left, &(struct ui_style){.size_px = 11, .colour = UI_TEXT_SOFT, .align = UI_RIGHT});
        ui_note(ui, "field.room", note, "room left", left);
    }
}

static void was_committed(struct ui *ui)
{
    ui->committed = ui->field.serial;
    text_copy(ui->committed_id, sizeof ui->committed_id, ui->field.id);
}

void ui_focus_again(struct ui *ui)
{
    struct field_state *f = &ui->field;

    if (ui->committed == 0)
        return;
    ui_focus(ui, ui->committed_id);
    ui->select_next = strcmp(f->id, ui->committed_id) != 0; /* another was opened since */
    f->caret = ui->select_next ? f->caret : f->text.n_bytes;
    f->anchor = ui->select_next ? f->anchor : 0;
}

unsigned ui_text_field(struct ui *ui, const char *id, struct rect r, const struct ui_field *o,
                       const char *value, char *out, size_t n_room)
{
    struct field_state *f = &ui->field;
    bool mine = strcmp(f->id, id) == 0, focused;
    unsigned result = 0;
    struct ui_hit hit;
    struct ui_style s = field_style(o);
    float line = ui->measure.line_height(ui->measure.ctx, s.size_px);
    struct rect in = field_inside(r, o);

    assert(n_room > 1);
    /* one that was given up in the frame before shows its value again */
    hit = ui_region(ui, id, r, UI_ROLE_FIELD, o->name, mine && (f->changed || strcmp(ui->focus, id) == 0) ? str(f) : value, 6);
    focused = hit.focused;
    if (focused && !mine) {
        open_field(ui, id, value, o->select_all || (ui->focus_ring && !o->multiline));
        mine = true;
    }
    if (mine && !focused) { /* left: what was typed holds */
        if (f->changed) {
            text_copy(out, n_room, str(f));
            result |= UI_COMMIT | UI_CHANGED;
            was_committed(ui);
        }
        ui_field_release(ui);
        mine = false;
    }
    if (mine) {
        struct field_lines l = ui_field_lines(ui, str(f), in.w, &s, o->multiline);

        f->seen = true;
        f->most = n_room - 1;
        use_event(ui, o, &l, (int)fmaxf(1, in.h / line - 1), &result);
        if (hit.down && result == 0) { /* pointer selection; nothing was typed in this frame: the lines still hold */
            float y = ui->mouse_y - in.y + f->scroll;
            int i = o->multiline ? (int)fminf(fmaxf(y / line, 0), (float)l.n - 1) : 0;
            bool ahead;
            size_t at = ui_field_byte_at(ui, &l, i, ui->mouse_x - in.x + (o->multiline ? 0 : f->scroll), &ahead);

            f->goal_x = -1;
            if (ui->has_event && ui->event.type == UI_EVENT_DOWN) {
                move(f, at, ui->mouse_shift);
                f->ahead = ahead;
                f->dragging = true;
                if (strcmp(ui->last_click, id) == 0 && ui->now_s - ui->last_click_s < 0.4) { /* a word */
                    f->anchor = word_left(str(f), word_right(str(f), at));
                    f->caret = word_right(str(f), at);
                    f->dragging = false;
                }
            } else if (f->dragging) {
                move(f, at, true);
                f->ahead = ahead;
            }
        }
        if (f->changed) {
            double due_s = f->changed_at_s + PAUSE_S;

            if (is_words(f, o->multiline))
                due_s = fmin(due_s, f->changed_from_s + RUN_S);
            if (f->commit_now || (!o->whole && ui->now_s >= due_s))
                result |= UI_COMMIT;
            else if (!o->whole)
                ui_wake_at_s(ui, due_s);
        }
        f->commit_now = false;
        if ((result & UI_COMMIT) != 0) {
            f->changed = false;
            was_committed(ui);
            if ((result & UI_ENTER) != 0) /* what is typed on is something else */
                f->serial = ++ui->field_serial;
        }
        if ((result & (UI_COMMIT | UI_CHANGED)) != 0)
            text_copy(out, n_room, str(f));
        if (o->whole && (result & UI_COMMIT) != 0) { /* the next thing */
            clear_undo(f);
            text_clear(&f->text);
            f->caret = f->anchor = 0;
        }
        result |= UI_FOCUSED;
    }
    draw_field(ui, r, o, mine ? str(f) : value, mine, hit.hover);
    return result;
}

bool ui_unsaved(const struct ui *ui)
{
    return ui_typing(ui) && ui->field.changed;
}

bool ui_caret(const struct ui *ui, struct rect *r)
{
    if (!ui_typing(ui))
        return false;
    *r = ui->field.caret_rect;
    return true;
}
