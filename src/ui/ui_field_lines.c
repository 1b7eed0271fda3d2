/* ui_field_lines.c - the lines of a text being edited: where they break, and between places in the
 * text and places on the screen. A single-line field has one line. */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "ui/ui_state.h"

struct field_lines ui_field_lines(struct ui *ui, const char *s, float width, const struct ui_style *style, bool wrapped)
{
    struct field_lines l = {.text = s, .style = style, .n = 1};
    size_t n_bytes = strlen(s), at = 0;

    l.starts = arena_alloc(ui_arena(ui), (wrapped ? n_bytes : 1) + 2, sizeof *l.starts);
    l.starts[0] = 0;
    while (wrapped && s[at] != '\0') {
        size_t n = ui_fit_line(ui, s + at, width, style);

        at += n;
        while (s[at] == ' ') /* blanks hang over the end of their line */
            at++;
        if (s[at] == '\n')
            at++;
        else if (s[at] == '\0')
            break;
        l.starts[l.n++] = at;
    }
    l.starts[l.n] = n_bytes;
    return l;
}

int ui_field_line_of(const struct field_lines *l, size_t at)
{
    int i = l->n - 1;

    while (i > 0 && l->starts[i] > at)
        i--;
    return i;
}

/* Where the caret stands at the end of a line: before the line end, or before the blank it broke at. */
size_t ui_field_line_end(const struct field_lines *l, int i)
{
    size_t end = l->starts[i + 1];

    return i + 1 < l->n ? text_prev(l->text, end) : end;
}

float ui_field_x_of(struct ui *ui, const struct field_lines *l, size_t at)
{
    size_t from = l->starts[ui_field_line_of(l, at)];
    char *part = arena_alloc(ui_arena(ui), at - from + 1, 1);

    memcpy(part, l->text + from, at - from);
    return ui_text_width(ui, part, l->style);
}

size_t ui_field_byte_at(struct ui *ui, const struct field_lines *l, int i, float x)
{
    size_t from = l->starts[i], to = ui_field_line_end(l, i), best = from;
    float best_d = fabsf(x);

    for (size_t at = from; at < to;) {
        char *part;
        float d;

        at = ui_field_right_of(l->text, at);
        part = arena_alloc(ui_arena(ui), at - from + 1, 1);
        memcpy(part, l->text + from, at - from);
        d = fabsf(ui_text_width(ui, part, l->style) - x);
        if (d < best_d) {
            best_d = d;
            best = at;
        }
    }
    return best;
}
