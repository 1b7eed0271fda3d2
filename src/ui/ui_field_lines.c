/* ui_field_lines.c - the lines of a text being edited: where they break, and between places in the
 * text and places on the screen. A single-line field has one line. */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "ui/ui_bidi.h"
#include "ui/ui_state.h"

struct field_lines ui_field_lines(struct ui *ui, const char *s, float width, const struct ui_style *style, bool wrapped)
{
    struct field_lines l = {.text = s, .style = style, .n = 1, .width = wrapped ? width : 0};
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

/* A line as it is seen. */
struct seen {
    const char *part;  /* bytes from .. of the text, a mark of direction before them */
    size_t from, n_mark;
    struct bidi_line line;
    float left;        /* its left edge in the field */
};

static const char *paragraph_of(const struct field_lines *l, size_t at)
{
    while (at > 0 && l->text[at - 1] != '\n')
        at--;
    return l->text + at;
}

static float width_of(struct ui *ui, const struct field_lines *l, const char *s, size_t n)
{
    char *part = arena_alloc(ui_arena(ui), n + 1, 1);

    memcpy(part, s, n);
    return ui_text_width(ui, part, l->style);
}

static struct seen see(struct ui *ui, const struct field_lines *l, int i, size_t end)
{
    const char *paragraph = paragraph_of(l, l->starts[i]);
    const size_t n_all = strcspn(paragraph, "\n"), before = (size_t)(l->text + l->starts[i] - paragraph);
    struct seen s = {.from = l->starts[i]};

    s.part = bidi_part(ui_arena(ui), paragraph, before, end - s.from, &s.n_mark);
    s.line = bidi_line(ui_arena(ui), s.part, strlen(s.part));
    if (l->width > 0 && ui_begins_right(ui, paragraph, before > 0 || (i + 1 < l->n && l->starts[i + 1] < (size_t)(paragraph - l->text) + n_all)))
        s.left = fmaxf(0, l->width - ui_text_width(ui, s.part, l->style));
    return s;
}

/* The left or right edge of the byte k of the part: where reading it begins, or has ended behind byte k - 1. */
static float edge(struct ui *ui, const struct field_lines *l, const struct seen *s, size_t k, bool ahead)
{
    const size_t of = ahead || k == s->n_mark ? k : k - 1;
    float x = s->left;

    for (size_t i = 0; i < s->line.n; i++) {
        const struct bidi_run *run = &s->line.runs[i];
        const float w = !run->rtl && s->line.n == 1 ? 0 : width_of(ui, l, s->part + run->at, run->n);

        if (of >= run->at && of < run->at + run->n) {
            const float read = width_of(ui, l, s->part + run->at, k - run->at);

            return run->rtl ? x + w - read : x + read;
        }
        x += w;
    }
    return x; /* an empty line */
}

static size_t last_of(const struct field_lines *l, int i, size_t at)
{
    const size_t end = ui_field_line_end(l, i);

    return at > end ? at : end;
}

float ui_field_x_of(struct ui *ui, const struct field_lines *l, size_t at, bool ahead)
{
    const int i = ui_field_line_of(l, at);
    const size_t end = last_of(l, i, at);
    const struct seen s = see(ui, l, i, end);

    return edge(ui, l, &s, s.n_mark + at - s.from, ahead && at < end);
}

char *ui_field_line_text(struct ui *ui, const struct field_lines *l, int i, float *x)
{
    const struct seen s = see(ui, l, i, ui_field_line_end(l, i));

    *x = s.left;
    return arena_text(ui_arena(ui), s.part);
}

size_t ui_field_spans(struct ui *ui, const struct field_lines *l, int i, size_t from, size_t to, struct field_span *spans, size_t n_room)
{
    const struct seen s = see(ui, l, i, ui_field_line_end(l, i));
    const size_t low = s.n_mark + (from > s.from ? from - s.from : 0), high = s.n_mark + (to > s.from ? to - s.from : 0);
    size_t n = 0;
    float x = s.left;

    for (size_t r = 0; r < s.line.n && n < n_room; r++) {
        const struct bidi_run *run = &s.line.runs[r];
        const float w = width_of(ui, l, s.part + run->at, run->n);
        const size_t a = low > run->at ? low : run->at, b = high < run->at + run->n ? high : run->at + run->n;

        if (a < b) {
            const float xa = width_of(ui, l, s.part + run->at, a - run->at), xb = width_of(ui, l, s.part + run->at, b - run->at);

            spans[n++] = (struct field_span){run->rtl ? x + w - xb : x + xa, xb - xa};
        }
        x += w;
    }
    return n;
}

size_t ui_field_byte_at(struct ui *ui, const struct field_lines *l, int i, float x, bool *ahead)
{
    const size_t to = ui_field_line_end(l, i);
    const struct seen s = see(ui, l, i, to);
    const bool plain = s.line.n <= 1; /* both edges are one */
    size_t best = s.from;
    float best_d = HUGE_VALF;

    *ahead = false;
    for (size_t at = s.from;; at = ui_field_right_of(l->text, at)) {
        for (int side = 0; side < (plain || at >= to ? 1 : 2); side++) {
            const float d = fabsf(edge(ui, l, &s, s.n_mark + at - s.from, side == 1) - x);

            if (d < best_d) {
                best_d = d;
                best = at;
                *ahead = side == 1;
            }
        }
        if (at >= to)
            return best;
    }
}

bool ui_field_is_rtl(struct ui *ui, const struct field_lines *l, size_t at)
{
    return ui_begins_right(ui, paragraph_of(l, at), true);
}
