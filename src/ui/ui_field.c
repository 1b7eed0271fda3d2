/* ui_field.c - text fields. The field with the focus edits a copy of its own; what it holds is
 * acknowledged on Enter, when the focus leaves, or after half a second's pause. */
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "ui/ui_state.h"

#define PAUSE_S 0.5
#define BLINK_S 0.53
#define MAX_BYTES 65536

static bool is_mark(uint32_t cp) /* combining marks and joiners belong to the character before */
{
    return (cp >= 0x0300 && cp <= 0x036F) || (cp >= 0x1AB0 && cp <= 0x1AFF) ||
           (cp >= 0x20D0 && cp <= 0x20FF) || (cp >= 0xFE00 && cp <= 0xFE0F) || cp == 0x200D;
}

static size_t right_of(const char *s, size_t at)
{
    at = text_next(s, at);
    while (s[at] != '\0' && is_mark(text_codepoint(s, at)))
        at = text_next(s, at);
    return at;
}

static size_t left_of(const char *s, size_t at)
{
    at = text_prev(s, at);
    while (at > 0 && is_mark(text_codepoint(s, at)))
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
    free(f->original);
    f->original = NULL;
    f->id[0] = '\0';
}

static void open_field(struct ui *ui, const char *id, const char *value, bool select_all)
{
    struct field_state *f = &ui->field;

    ui_field_release(ui);
    text_copy(f->id, sizeof f->id, id);
    text_add(&f->text, value);
    f->original = mem_copy_text(value);
    f->caret = f->text.n_bytes;
    f->anchor = select_all ? 0 : f->caret;
    f->scroll = 0;
    f->changed = false;
    f->dragging = false;
    f->blink_from_s = ui->now_s;
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
    ui->field.changed = true;
    ui->field.changed_at_s = ui->now_s;
    ui->field.blink_from_s = ui->now_s;
}

static void replace(struct ui *ui, size_t from, size_t to, const char *with)
{
    struct field_state *f = &ui->field;
    struct text fresh = {0};

    if (from > to) {
        size_t t = from;

        from = to;
        to = t;
    }
    if (from == to && with[0] == '\0')
        return;
    if (f->text.n_bytes - (to - from) + strlen(with) > MAX_BYTES)
        return;
    remember(f);
    text_add_bytes(&fresh, str(f), from);
    text_add(&fresh, with);
    text_add(&fresh, str(f) + to);
    text_release(&f->text);
    f->text = fresh;
    f->caret = f->anchor = from + strlen(with);
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
    if (strlen(s) > MAX_BYTES)
        s[MAX_BYTES] = '\0';
    text_sanitize(s, strlen(s) + 1);
    if (!multiline)
        for (char *c = s; *c != '\0'; c++)
            if (*c == '\n' || *c == '\t')
                *c = ' ';
    replace(ui, ui->field.caret, ui->field.anchor, s);
    free(s);
}

static size_t line_start(const char *s, size_t at)
{
    while (at > 0 && s[at - 1] != '\n')
        at--;
    return at;
}

static size_t line_end(const char *s, size_t at)
{
    while (s[at] != '\0' && s[at] != '\n')
        at++;
    return at;
}

/* Same column on the line above or below. */
static size_t other_line(const char *s, size_t at, bool down)
{
    size_t start = line_start(s, at), column = at - start, to;

    if (!down) {
        if (start == 0)
            return 0;
        to = line_start(s, start - 1);
    } else {
        to = line_end(s, at);
        if (s[to] == '\0')
            return to;
        to++;
    }
    size_t end = line_end(s, to);

    to = to + column < end ? to + column : end;
    while (to > 0 && ((unsigned char)s[to] & 0xC0) == 0x80)
        to--;
    return to;
}

/* True when the key belongs to the field. */
static bool edit_key(struct ui *ui, const char *key, bool multiline)
{
    struct field_state *f = &ui->field;
    const char *s = str(f), *k = key;
    bool ctrl = false, shift = false;
    size_t low = f->caret < f->anchor ? f->caret : f->anchor;
    size_t high = f->caret < f->anchor ? f->anchor : f->caret;

    if (strncmp(k, "Ctrl+", 5) == 0)
        ctrl = true, k += 5;
    if (strncmp(k, "Shift+", 6) == 0)
        shift = true, k += 6;
    f->blink_from_s = ui->now_s;
    if (strcmp(k, "Left") == 0) {
        if (!shift && low != high && !ctrl)
            move(f, low, false);
        else
            move(f, ctrl ? word_left(s, f->caret) : left_of(s, f->caret), shift);
    } else if (strcmp(k, "Right") == 0) {
        if (!shift && low != high && !ctrl)
            move(f, high, false);
        else
            move(f, ctrl ? word_right(s, f->caret) : right_of(s, f->caret), shift);
    } else if (multiline && (strcmp(k, "Up") == 0 || strcmp(k, "Down") == 0)) {
        move(f, other_line(s, f->caret, k[0] == 'D'), shift);
    } else if (strcmp(k, "Home") == 0) {
        move(f, multiline && !ctrl ? line_start(s, f->caret) : 0, shift);
    } else if (strcmp(k, "End") == 0) {
        move(f, multiline && !ctrl ? line_end(s, f->caret) : f->text.n_bytes, shift);
    } else if (strcmp(k, "Backspace") == 0) {
        if (low != high)
            replace(ui, low, high, "");
        else if (f->caret > 0)
            replace(ui, ctrl ? word_left(s, f->caret) : left_of(s, f->caret), f->caret, "");
    } else if (strcmp(k, "Delete") == 0 && !shift) {
        if (low != high)
            replace(ui, low, high, "");
        else if (s[f->caret] != '\0')
            replace(ui, f->caret, ctrl ? word_right(s, f->caret) : right_of(s, f->caret), "");
    } else if (multiline && !ctrl && strcmp(k, "Enter") == 0) {
        replace(ui, low, high, "\n");
    } else if (ctrl && !shift && strcmp(k, "A") == 0) {
        f->anchor = 0;
        f->caret = f->text.n_bytes;
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

/* Byte whose left edge lies nearest to x in the line from..to. */
static size_t byte_at(struct ui *ui, const char *s, size_t from, size_t to, float x, const struct ui_style *style)
{
    size_t best = from;
    float best_d = fabsf(x);

    for (size_t at = from; at < to;) {
        char *part;
        float d;

        at = right_of(s, at);
        part = arena_alloc(ui_arena(ui), at - from + 1, 1);
        memcpy(part, s + from, at - from);
        d = fabsf(ui_text_width(ui, part, style) - x);
        if (d < best_d) {
            best_d = d;
            best = at;
        }
    }
    return best;
}

static float x_of(struct ui *ui, const char *s, size_t from, size_t at, const struct ui_style *style)
{
    char *part = arena_alloc(ui_arena(ui), at - from + 1, 1);

    memcpy(part, s + from, at - from);
    return ui_text_width(ui, part, style);
}

static void use_event(struct ui *ui, const struct ui_field *o, unsigned *result)
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
        } else if (edit_key(ui, key, o->multiline)) {
            ui->key_used = true;
            if (f->changed && (f->changed_at_s > before || f->changed_at_s < before))
                *result |= UI_CHANGED;
        } else if (strcmp(key, "Enter") == 0 || (o->multiline && strcmp(key, "Ctrl+Enter") == 0)) {
            ui->key_used = true;
            *result |= UI_COMMIT | UI_ENTER;
        } else if (strcmp(key, "Escape") == 0) {
            ui->key_used = true;
            text_clear(&f->text);
            text_add(&f->text, f->original);
            *result |= UI_CANCEL | UI_CHANGED | (f->changed ? (unsigned)UI_COMMIT : 0u);
            ui_focus(ui, NULL);
        } else if (strlen(key) == 1 || strcmp(key, "Space") == 0) {
            ui->key_used = true; /* its text event follows */
        }
    }
}

static struct ui_style field_style(const struct ui_field *o)
{
    return (struct ui_style){.size_px = o->large ? 18 : 14, .weight = o->large ? UI_SEMIBOLD : UI_REGULAR,
                             .colour = o->on_bar ? UI_BAR_TEXT : UI_TEXT, .top = true};
}

static void draw_field(struct ui *ui, struct rect r, const struct ui_field *o, const char *shown, bool focused,
                       bool hover)
{
    struct field_state *f = &ui->field;
    struct ui_style s = field_style(o);
    float line = ui->measure.line_height(ui->measure.ctx, s.size_px), pad = 12;
    struct rect in = ui_inset(r, pad, o->multiline ? 8 : 0);
    float top = o->multiline ? in.y : r.y + (r.h - line) / 2;

    ui_round(ui, r, 6, o->on_bar ? UI_BAR_FIELD : UI_CARD);
    if (!o->on_bar || focused || o->error != NULL)
        ui_round_line(ui, r, 6, focused || hover || o->error ? 2 : 1,
                      focused ? UI_SELECT : o->error != NULL ? UI_ACT : UI_BUTTON_LINE);
    if (o->error != NULL) {
        struct ui_style bad = {.colour = UI_ACT_INK, .size_px = 13, .max_lines = 2, .top = true};

        ui_text(ui, (struct rect){r.x, r.y + r.h + 4, r.w, 36}, o->error, &bad);
    }
    ui_clip_push(ui, in);
    if (!focused) {
        if (shown[0] == '\0' && o->placeholder != NULL) {
            s.colour = o->on_bar ? UI_BAR_QUIET : UI_TEXT_QUIET;
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
    /* line by line, as typed; a single line scrolls sideways so that the caret stays in view */
    size_t low = f->caret < f->anchor ? f->caret : f->anchor, high = f->caret < f->anchor ? f->anchor : f->caret;
    float caret_x = x_of(ui, shown, line_start(shown, f->caret), f->caret, &s);
    size_t caret_line = 0;

    for (size_t i = 0; i < f->caret; i++)
        caret_line += shown[i] == '\n';
    if (!o->multiline) {
        if (caret_x - f->scroll > in.w - 2)
            f->scroll = caret_x - in.w + 2;
        if (caret_x - f->scroll < 0)
            f->scroll = caret_x;
    } else {
        float y = (float)caret_line * line;

        if (y + line - f->scroll > in.h)
            f->scroll = y + line - in.h;
        if (y - f->scroll < 0)
            f->scroll = y;
    }
    float dx = o->multiline ? 0 : f->scroll, y = top - (o->multiline ? f->scroll : 0);

    for (size_t at = 0;; y += line) {
        size_t end = line_end(shown, at);
        char *part = arena_alloc(ui_arena(ui), end - at + 1, 1);

        memcpy(part, shown + at, end - at);
        if (low != high && low <= end && high >= at) {
            float x0 = low > at ? x_of(ui, shown, at, low, &s) : 0;
            float x1 = x_of(ui, shown, at, high < end ? high : end, &s);

            ui_fill_rgba(ui, (struct rect){in.x + x0 - dx, y, fmaxf(x1 - x0, high > end ? 6 : 0), line},
                         (struct rgba){8, 82, 204, 70});
        }
        ui_text(ui, (struct rect){in.x - dx, y, ui_text_width(ui, part, &s) + 4, line}, part, &s);
        if (shown[end] == '\0')
            break;
        at = end + 1;
    }
    f->caret_rect = (struct rect){in.x + caret_x - dx, top + (float)caret_line * line - (o->multiline ? f->scroll : 0), 1, line};
    if (f->compose.n_bytes > 0) { /* what is being composed, underlined */
        float w = ui_text_width(ui, text_get(&f->compose), &s);

        ui_fill(ui, (struct rect){f->caret_rect.x, f->caret_rect.y, w, line}, o->on_bar ? UI_BAR_FIELD : UI_CARD);
        ui_text(ui, (struct rect){f->caret_rect.x, f->caret_rect.y, w + 2, line}, text_get(&f->compose), &s);
        ui_fill(ui, (struct rect){f->caret_rect.x, f->caret_rect.y + line - 2, w, 1}, s.colour);
    }
    bool on = ui->still || fmod(ui->now_s - f->blink_from_s, 2 * BLINK_S) < BLINK_S;

    if (on)
        ui_fill(ui, (struct rect){f->caret_rect.x, f->caret_rect.y + 1, 1.5f, line - 2}, s.colour);
    if (!ui->still)
        ui_wake_at_s(ui, ui->now_s + BLINK_S - fmod(ui->now_s - f->blink_from_s, BLINK_S));
    ui_clip_pop(ui);
}

unsigned ui_text_field(struct ui *ui, const char *id, struct rect r, const struct ui_field *o,
                       const char *value, char *out, size_t n_room)
{
    struct field_state *f = &ui->field;
    bool mine = strcmp(f->id, id) == 0, focused;
    unsigned result = 0;
    struct ui_hit hit;
    struct ui_style s = field_style(o);

    hit = ui_region(ui, id, r, UI_ROLE_FIELD, o->name, mine ? str(f) : value, 6);
    focused = hit.focused;
    if (focused && !mine) {
        open_field(ui, id, value, o->select_all || (ui->focus_ring && !o->multiline));
        mine = true;
    }
    if (mine && !focused) { /* left: what was typed holds */
        if (f->changed) {
            text_copy(out, n_room, str(f));
            result |= UI_COMMIT | UI_CHANGED;
        }
        ui_field_release(ui);
        mine = false;
    }
    if (mine) {
        f->seen = true;
        use_event(ui, o, &result);
        if (hit.down && !o->multiline) { /* pointer selection */
            float x = ui->mouse_x - r.x - 12 + f->scroll;
            size_t at = byte_at(ui, str(f), 0, f->text.n_bytes, x, &s);

            if (ui->has_event && ui->event.type == UI_EVENT_DOWN) {
                move(f, at, ui->mouse_shift);
                f->dragging = true;
                if (strcmp(ui->last_click, id) == 0 && ui->now_s - ui->last_click_s < 0.4) { /* a word */
                    f->anchor = word_left(str(f), word_right(str(f), at));
                    f->caret = word_right(str(f), at);
                    f->dragging = false;
                }
            } else if (f->dragging) {
                f->caret = at;
            }
        }
        if (f->changed) {
            if (ui->now_s - f->changed_at_s >= PAUSE_S || (result & UI_COMMIT) != 0) {
                f->changed = false;
                result |= UI_COMMIT;
            } else {
                ui_wake_at_s(ui, f->changed_at_s + PAUSE_S);
            }
        }
        if ((result & (UI_COMMIT | UI_CHANGED)) != 0)
            text_copy(out, n_room, str(f));
        result |= UI_FOCUSED;
    }
    draw_field(ui, r, o, mine ? str(f) : value, mine, hit.hover);
    return result;
}

bool ui_caret(const struct ui *ui, struct rect *r)
{
    if (!ui_typing(ui))
        return false;
    *r = ui->field.caret_rect;
    return true;
}
