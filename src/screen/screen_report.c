/* screen_report.c - what will be handed over, as it will look: its parts taken in or left out at the left, the
 * paper at the right, the files it can be written as below. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "base/text.h"
#include "report/report_pdf.h"
#include "screen/report_pen.h"

#define SIDE_PX 300.0f
#define FOOT_WIDE_PX 840.0f /* narrower, its buttons take two rows */
#define PAPER_PX 673.0f /* column of A4 at 0.75 pt: lines break in the window much as on paper */

static const struct report_file {
    const char *ext, *label, *key, *about;
    bool sheet; /* the line-up alone */
} files[] = {
    {"html", "Page", "1", "one file for any browser", false},
    {"pdf", "PDF", "2", "to print and to keep", false},
    {"csv", "Table", "3", "for a spreadsheet", false},
    {"json", "Case", "4", "for another Sootbook: engine, visits, readings", false},
    {"png", "Line-up", "5", "all plugs as one picture", true},
    {"pdf", "Line-up PDF", "6", "the line-up to print", true},
};

static struct action *ask(struct actions *out, const char *column, const char *text)
{
    struct action *a = actions_add(out, ACT_SET_REPORT);

    text_copy(a->column, sizeof a->column, column);
    text_copy(a->text, sizeof a->text, text);
    return a;
}

static void toggle_part(const struct model *m, struct actions *out, int part)
{
    char list[400];

    report_parts_format(m->report_ask.without ^ ((report_parts)1 << part), list, sizeof list);
    ask(out, "without", list);
}

/* That part and no other, as the parts to order for the counter; it alone already: all of them again. */
static void part_alone(const struct model *m, struct actions *out, int part)
{
    const report_parts all = ((report_parts)1 << REPORT_PART_COUNT) - 1, others = all ^ ((report_parts)1 << part);
    char list[400];

    report_parts_format(m->report_ask.without == others ? 0 : others, list, sizeof list);
    ask(out, "without", list);
}

static void toggle_paper(const struct model *m, struct actions *out)
{
    int n;
    const struct report_paper *papers = report_papers(&n);

    for (int i = 0; i < n; i++)
        if (strcmp(papers[i].id, m->report_paper) == 0) {
            ask(out, "paper", papers[(i + 1) % n].id);
            return;
        }
}

static void write_file(struct actions *out, const struct report_file *f)
{
    text_copy(actions_add(out, f->sheet ? ACT_WRITE_SHEET : ACT_WRITE_REPORT)->text, sizeof out->list[0].text, f->ext);
}

static void keys(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out)
{
    char key[2] = "a", alone[8];

    if (st->panel != PANEL_NONE || ui_typing(ui))
        return;
    for (int p = 0; p < REPORT_PART_COUNT; p++) {
        key[0] = (char)('a' + p);
        if (ui_key(ui, key))
            toggle_part(m, out, p);
        text_format(alone, sizeof alone, "Shift+%c", 'A' + p);
        if (ui_key(ui, alone))
            part_alone(m, out, p);
    }
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++)
        if (ui_key(ui, files[i].key))
            write_file(out, &files[i]);
    if (ui_key(ui, "v"))
        ask(out, "visits", m->report_ask.n_visits > 1 ? "1" : "all");
    if (ui_key(ui, "w"))
        ui_focus(ui, "report.visits");
    if (ui_key(ui, "y"))
        toggle_paper(m, out);
    if (ui_key(ui, "Escape"))
        st->screen = SCREEN_PLAN;
}

static void tick(struct ui *ui, float x, float y, bool on)
{
    struct rect r = {x, y - 8, 16, 16};

    ui_round(ui, r, 4, on ? UI_DARK : UI_CARD);
    if (!on) {
        ui_round_line(ui, r, 4, 1, UI_BUTTON_LINE);
        return;
    }
    ui_line(ui, x + 3.5f, y, x + 7, y + 3.5f, 2, UI_DARK_TEXT);
    ui_line(ui, x + 7, y + 3.5f, x + 12.5f, y - 4, 2, UI_DARK_TEXT);
}

/* Some of many visits: a number, or all. */
static void draw_how_many(struct ui *ui, const struct model *m, struct actions *out, struct rect r)
{
    bool some = m->report_ask.n_visits > 1 && m->report_ask.n_visits < m->record->n_visits;
    struct ui_field field = {.name = "how many visits are told in full", .placeholder = "how many", .select_all = true};
    char now[16], typed[16] = "";
    unsigned did;
    int n;
    struct err e = {0};

    r.h -= 6;
    ui_text(ui, ui_cut_left(&r, 92), "or the latest", &(struct ui_style){.colour = UI_TEXT_SOFT});
    ui_text(ui, (struct rect){r.x + 104, r.y, 60, r.h}, "visits", &(struct ui_style){.colour = UI_TEXT_SOFT});
    ui_keycap(ui, r.x + r.w - 10, r.y + r.h / 2, "W", false);
    report_visits_format(m->report_ask.n_visits, now, sizeof now);
    did = ui_text_field(ui, "report.visits", (struct rect){r.x, r.y, 96, r.h}, &field, some ? now : "", typed, sizeof typed);
    if ((did & UI_COMMIT) != 0 && typed[0] != '\0') {
        if (report_visits_parse(typed, &n, &e))
            ask(out, "visits", typed);
        else if ((did & UI_ENTER) != 0) /* a pause is no end: "al" may become "all" */
            ui_toast(ui, e.text, NULL);
    }
    if ((did & UI_ENTER) != 0 && e.text[0] != '\0')
        ui_focus_again(ui);
    else if ((did & UI_ENTER) != 0) /* letters are keys again */
        ui_focus(ui, NULL);
}

static void draw_side(struct ui *ui, const struct model *m, struct actions *out, struct rect r)
{
    struct ui_style soft = {.colour = UI_TEXT_SOFT}, strong = {.weight = UI_MEDIUM};
    struct ui_flow flow;
    struct rect content;
    char id[48], all[48], key[2] = "A";
    float h = fmaxf(ui_target_px(ui), 32) - (m->large_targets ? 0 : 4);

    ui_fill(ui, r, UI_PANEL);
    r = ui_inset(r, 16, 16);
    text_format(all, sizeof all, "all %d up to it", m->record->n_visits);
    flow = ui_flow_begin(r, ui_target_px(ui));
    if (ui_chip(ui, "report.this", ui_flow_next(&flow, ui_chip_width(ui, "this visit", "V")), "this visit", m->report_ask.n_visits <= 1, "V"))
        ask(out, "visits", "1");
    if (m->record->n_visits > 1 && ui_chip(ui, "report.all", ui_flow_next(&flow, ui_chip_width(ui, all, "V")), all, m->report_ask.n_visits >= m->record->n_visits, "V"))
        ask(out, "visits", "all");
    ui_cut_top(&r, ui_flow_height(&flow) + 10);
    draw_how_many(ui, m, out, ui_cut_top(&r, 42));
    ui_heading(ui, ui_cut_top(&r, 22), "Parts; Shift and the letter: that one alone");
    if (!m->large_targets && r.h / REPORT_PART_COUNT >= 26) /* a pixel less of each, rather than one that has to be looked for */
        h = fminf(h, floorf(r.h / REPORT_PART_COUNT));
    content = ui_scroll_begin(ui, "report.parts", r);
    for (int p = 0; p < REPORT_PART_COUNT; p++) {
        const struct report_part_row *row = report_part_row((enum report_part)p);
        bool on = (m->report_ask.without >> p & 1) == 0;
        struct rect at = {content.x, content.y + (float)p * h, content.w - 6, h};
        struct ui_hit hit;

        text_format(id, sizeof id, "report.part.%s", row->id);
        hit = ui_region(ui, id, at, UI_ROLE_TOGGLE, row->label, on ? "on" : "off", 6);
        if (hit.hover)
            ui_round(ui, at, 6, UI_CARD_DIM);
        tick(ui, at.x + 6, at.y + h / 2, on);
        key[0] = (char)('A' + p);
        ui_keycap(ui, at.x + at.w - 4, at.y + h / 2, key, false);
        ui_text(ui, (struct rect){at.x + 32, at.y, at.w - 66, h}, row->label, on ? &strong : &soft);
        if (hit.clicked)
            toggle_part(m, out, p);
    }
    ui_scroll_end(ui, (float)REPORT_PART_COUNT * h);
}

static void draw_foot(struct ui *ui, const struct model *m, struct actions *out, struct rect r)
{
    struct ui_button size = {.look = UI_LOOK_BAR, .key = "Y"};
    const struct report_paper *paper = report_paper_find(m->report_paper);
    char id[48], label[48];
    struct ui_flow flow;
    struct rect at;

    ui_fill(ui, r, UI_TRAY);
    r = ui_inset(r, 16, 12);
    if (r.w > FOOT_WIDE_PX)
        ui_text(ui, ui_cut_left(&r, 56), "Write", &(struct ui_style){.weight = UI_SEMIBOLD, .colour = UI_BAR_TEXT});
    flow = ui_flow_begin(r, ui_target_px(ui));
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        struct ui_button b = {.look = i == 0 ? UI_LOOK_DARK : UI_LOOK_PLAIN, .key = files[i].key, .disabled = m->report_writing ? "a report is being written" : NULL};

        text_format(id, sizeof id, files[i].sheet ? "report.sheet.%s" : "report.write.%s", files[i].ext);
        if (ui_button(ui, id, ui_flow_next(&flow, ui_button_width(ui, files[i].label, &b)), files[i].label, &b))
            write_file(out, &files[i]);
    }
    text_format(label, sizeof label, "on %s", paper != NULL ? paper->label : "A4");
    at = ui_flow_next(&flow, ui_button_width(ui, label, &size));
    if (ui_button(ui, "report.paper", at, label, &size))
        toggle_paper(m, out);
    r = (struct rect){at.x + at.w + 14, at.y, r.x + r.w - at.x - at.w - 14, at.h};
    if (r.w > 80)
        ui_text(ui, r, m->report_writing ? "Being written …" : m->report_written, &(struct ui_style){.colour = UI_BAR_TEXT, .max_lines = 2});
    ui_note(ui, "report.written", r, "written", m->report_written);
}

/* The pieces in view, on a sheet in the middle. */
static void draw_paper(struct ui *ui, const struct model *m, struct screen_state *st, struct rect r)
{
    struct report_preview *v = m->report;
    float column = fminf(PAPER_PX, r.w - 112), x;
    struct report_pen pen;
    struct rect content, sheet;

    st->lineup_from = m->record->n_visits;
    st->lineup_to = 0;
    if (v == NULL) {
        ui_text(ui, r, "Putting the report together …", &(struct ui_style){.size_px = 14, .colour = UI_DESK_TEXT, .align = UI_CENTRE});
        return;
    }
    report_pen_init(&pen, ui, m);
    if (v->width != column) { /* once for each content and width */
        arena_reset(v->memory);
        paper_lay(&pen.pen, v->content, (double)column, 0, v->memory, &v->paper);
        v->width = column;
    }
    content = ui_scroll_begin(ui, "report.page", r);
    sheet = (struct rect){content.x + (content.w - column) / 2 - 40, content.y + 16, column + 80, (float)v->paper.height + 88};
    ui_fill(ui, (struct rect){sheet.x + 3, sheet.y + 4, sheet.w, sheet.h}, UI_DESK_DARK);
    ui_fill(ui, sheet, UI_CARD);
    x = sheet.x + 40;
    for (size_t i = 0; i < v->paper.n_pieces; i++) {
        const struct paper_piece *p = &v->paper.pieces[i];
        float y = sheet.y + 40 + (float)p->y;

        if (y + (float)p->height < r.y)
            continue;
        if (y > r.y + r.h)
            break;
        paper_draw(&pen.pen, &v->paper, p, (double)x, (double)y);
        if (p->block->text[0] != '\0' || p->n > 0) {
            char id[32];

            text_format(id, sizeof id, "report.piece.%zu", i);
            ui_note(ui, id, (struct rect){x, y, column, (float)p->height}, p->block->text[0] != '\0' ? p->block->text : p->block->lines[p->first].text, "");
        }
    }
    ui_scroll_end(ui, sheet.h + 32);
    st->lineup_from = pen.from;
    st->lineup_to = pen.to;
}

void screen_report(struct ui *ui, const struct model *m, struct screen_state *st, struct actions *out, struct rect r)
{
    struct rect side;

    keys(ui, m, st, out);
    ui_fill(ui, r, UI_DESK);
    side = ui_cut_left(&r, SIDE_PX);
    draw_foot(ui, m, out, ui_cut_bottom(&r, ui_target_px(ui) * (r.w > FOOT_WIDE_PX ? 1 : 2) + (r.w > FOOT_WIDE_PX ? 24 : 32)));
    draw_paper(ui, m, st, r);
    draw_side(ui, m, out, side);
}
