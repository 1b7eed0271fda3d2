/* screen_job_closing.c - the end of the steps: what was checked at this visit, what it leaves open and what is over
 * with it, in the program's words and in one's own; that the visit is closed. */
#include <string.h>

#include "base/text.h"
#include "report/closing.h"
#include "screen/commands.h"
#include "screen/screen_job.h"

static const struct ui_style group = {.weight = UI_SEMIBOLD, .colour = UI_TEXT};
static const struct ui_style open_line = {.colour = UI_TEXT, .max_lines = 4, .top = true};
static const struct ui_style other_line = {.colour = UI_TEXT_SOFT, .max_lines = 4, .top = true};

/* Shape and not colour alone tells them apart: a tick, a ring, a bar. */
static void line_mark(struct ui *ui, float x, float y, enum closing_kind kind)
{
    if (kind == CLOSING_CHECKED) {
        ui_line(ui, x - 4, y, x - 1, y + 4, 2, UI_TEXT_SOFT);
        ui_line(ui, x - 1, y + 4, x + 5, y - 4, 2, UI_TEXT_SOFT);
    } else if (kind == CLOSING_OPEN) {
        ui_ring(ui, x, y, 5, 2, ui_rgba(UI_TEXT));
    } else {
        ui_line(ui, x - 4, y, x + 4, y, 2, UI_TEXT_QUIET);
    }
}

static float lines(struct ui *ui, const struct model *m, struct rect r, float y)
{
    static const char *const ids[] = {"checked", "open", "over"};
    const struct closing_rows rows = {.record = m->record, .steps = m->steps - m->n_left_steps, .needs = m->needs - m->n_left_needs, .watches = m->watches, .verdicts = m->verdicts, .n_verdicts = m->n_verdicts,
                                      .n_steps = m->n_steps + m->n_left_steps, .n_needs = m->n_needs + m->n_left_needs, .n_watches = m->n_watches};
    struct closing_line said[CLOSING_MOST];
    int n = closing_of(&rows, said), at = 0;

    _Static_assert(sizeof ids / sizeof ids[0] == CLOSING_KIND_COUNT, "an id for each");
    for (int k = 0; k < CLOSING_KIND_COUNT; k++) {
        struct job_pen p = {ui, r.x + 42, y, r.w - 64, true};
        int i = 0;

        if (at == n || said[at].kind != (enum closing_kind)k)
            continue;
        p.x -= 22;
        job_put(&p, closing_words((enum closing_kind)k), &group, 4);
        p.x += 22;
        for (; at < n && said[at].kind == (enum closing_kind)k; at++, i++) {
            float top = p.y;
            char id[40];

            line_mark(ui, r.x + 28, top + 9, (enum closing_kind)k);
            job_put(&p, said[at].text, k == CLOSING_OPEN ? &open_line : &other_line, 3);
            text_format(id, sizeof id, "job.%s.%d", ids[k], i);
            ui_note(ui, id, (struct rect){r.x, top, r.w, p.y - top}, said[at].text, closing_words((enum closing_kind)k));
        }
        y = p.y + 8;
    }
    return y;
}

float job_closing(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r, float y)
{
    struct action *a;
    struct rect in;

    y += 14;
    ui_fill(ui, (struct rect){r.x, y - 4, r.w, 1}, UI_LINE);
    ui_text(ui, (struct rect){r.x + 20, y + 4, r.w - 40, 26}, "The end of this visit", &(struct ui_style){.size_px = 18, .weight = UI_SEMIBOLD, .colour = UI_TEXT});
    y = lines(ui, m, r, y + 36);
    if (!m->can_write)
        return y;
    in = (struct rect){r.x + 20, y + 4, r.w - 40, 400};
    a = job_field(ui, st, out, &(struct job_asked){"job.ended", "In your own words", "idles evenly; gasket to be watched", m->ended_with, "", 400, ACT_CLOSE_VISIT}, &in);
    if (a != NULL)
        text_copy(a->column, sizeof a->column, "ended_with");
    y = in.y + 14;
    if (ui_chip(ui, "job.closed", (struct rect){r.x + 20, y, ui_chip_width(ui, "Visit closed", command_key("close-visit")), ui_target_px(ui)}, "Visit closed", m->closed, command_key("close-visit")))
        actions_add(out, ACT_CLOSE_VISIT)->flag = !m->closed;
    return y + ui_target_px(ui) + 12;
}
