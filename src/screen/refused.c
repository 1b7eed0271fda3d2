#include "screen/refused.h"

#include <string.h>

#include "base/text.h"

#define MOST ((int)(sizeof((struct screen_state *)0)->refused / sizeof(struct refusal)))

void refused_drop(struct screen_state *st, const char *field)
{
    int kept = 0;

    for (int i = 0; i < st->n_refused; i++)
        if (field != NULL && strcmp(st->refused[i].field, field) != 0)
            st->refused[kept++] = st->refused[i];
    st->n_refused = kept;
}

void refused_note(struct screen_state *st, const struct action *a, const char *words)
{
    struct refusal *r;

    refused_drop(st, a->field);
    if (st->n_refused == MOST) { /* the oldest gives way */
        memmove(st->refused, st->refused + 1, (size_t)(MOST - 1) * sizeof st->refused[0]);
        st->n_refused--;
    }
    r = &st->refused[st->n_refused++];
    text_copy(r->field, sizeof r->field, a->field);
    text_copy(r->typed, sizeof r->typed, a->text);
    r->half = a->half;
    r->said = false;
    text_copy(r->words, sizeof r->words, words);
}

static struct refusal *find(struct screen_state *st, const char *field)
{
    for (int i = 0; i < st->n_refused; i++)
        if (strcmp(st->refused[i].field, field) == 0)
            return &st->refused[i];
    return NULL;
}

static bool is_said(struct ui *ui, const struct refusal *r, const char *id)
{
    return r != NULL && (!r->half || strcmp(ui_focused(ui), id) != 0);
}

unsigned refused_text_field(struct ui *ui, struct screen_state *st, const char *id, const char *field, struct rect r, struct ui_field o, const char *value, char *out, size_t n_room)
{
    struct refusal *was = find(st, field);
    unsigned result;

    if (strcmp(ui_focused(ui), id) == 0)
        text_copy(st->typed_in, sizeof st->typed_in, field);
    if (was != NULL && !was->said && strcmp(ui_focused(ui), id) == 0 && ui_key(ui, "Escape"))
        was->half = false; /* told first */
    if (is_said(ui, was, id))
        o.error = ""; /* the red line; the sentence has more room than the field */
    result = ui_text_field(ui, id, r, &o, was != NULL ? was->typed : value, out, n_room);
    if (st->to_show[0] != '\0' && strcmp(st->to_show, field) == 0) {
        st->to_show[0] = '\0';
        ui_scroll_show(ui, (struct rect){r.x, r.y - 30, r.w, r.h + 100}); /* its heading, and why */
    }
    if ((result & UI_CANCEL) != 0 && was != NULL) { /* given up: what is recorded shows again */
        refused_drop(st, field);
        ui_wake_at_s(ui, ui_now_s(ui));
    }
    if ((result & UI_ENTER) != 0 && st->panel == PANEL_NONE)
        ui_focus(ui, NULL);
    return result;
}

bool refused_escape(struct ui *ui, struct screen_state *st)
{
    if ((ui_typing(ui) && find(st, st->typed_in) != NULL) || !ui_key(ui, "Escape"))
        return false;
    if (ui_typing(ui)) /* what it closes to may have a field of the same name */
        ui_focus(ui, NULL);
    return true;
}

void refused_typed(struct action *a, const char *field, const char *typed, unsigned result)
{
    text_copy(a->field, sizeof a->field, field);
    text_copy(a->text, sizeof a->text, typed);
    a->half = (result & UI_FOCUSED) != 0 && (result & UI_ENTER) == 0;
    a->entered = (result & UI_ENTER) != 0;
}

void refused_here(struct ui *ui, struct screen_state *st, const char *field, const char *typed, unsigned result, const char *words)
{
    struct action a = {.number = 0};

    refused_typed(&a, field, typed, result);
    refused_note(st, &a, words);
    if (a.entered) /* typed keys must not become commands */
        ui_focus_again(ui);
}

/* The field may have been left by a press on something that the sentence would push away from under the pointer. */
static bool waits_for_press(struct ui *ui, struct refusal *r)
{
    r->said = r->said || !ui_pressing(ui);
    if (!r->said && ui_let_go(ui))
        ui_wake_at_s(ui, ui_now_s(ui));
    return !r->said;
}

float refused_say(struct ui *ui, const char *id, struct rect r, const char *words, const char *typed, bool draw)
{
    struct ui_style s = {.colour = UI_ACT_INK, .weight = UI_MEDIUM, .max_lines = 6, .top = true};
    struct rect in = {r.x + 18, r.y, r.w - 18, 0};
    char note[80];

    in.h = ui_text_height(ui, in.w, words, &s);
    if (draw) {
        ui_triangle(ui, r.x + 7, r.y + 9, 12, ui_rgba(UI_ACT_INK));
        ui_text(ui, in, words, &s);
        text_format(note, sizeof note, "%s.refused", id);
        ui_note(ui, note, in, words, typed);
    }
    return in.h + 8;
}

float refused_words(struct ui *ui, struct screen_state *st, const char *id, const char *field, struct rect r, bool draw)
{
    struct refusal *was = find(st, field);

    if (!is_said(ui, was, id) || waits_for_press(ui, was))
        return 0;
    return refused_say(ui, id, r, was->words, was->typed, draw);
}
