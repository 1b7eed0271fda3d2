/* screen_trends.c - one measure of every plug over the visits: lines against distance or date, the
 * limit, the line of growth with how far it is to the limit; and the same as a table. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "base/text.h"
#include "report/trend.h"
#include "screen/model.h"

struct chart {
    struct trend t;
    const struct model *m;
    struct rect plot;
};

static float at_x(const struct chart *c, double x)
{
    return c->plot.x + c->plot.w * (float)((x - c->t.x_low) / (c->t.x_high - c->t.x_low));
}

static float at_y(const struct chart *c, double y)
{
    return c->plot.y + c->plot.h * (1 - (float)((y - c->t.y_low) / (c->t.y_high - c->t.y_low)));
}

static void draw_axes(struct ui *ui, const struct chart *c)
{
    struct ui_style right = {.colour = UI_TEXT_SOFT, .align = UI_RIGHT, .tabular = true}, middle = {.colour = UI_TEXT_SOFT, .align = UI_CENTRE, .tabular = true};
    double step = fmax(trend_step(c->t.y_high - c->t.y_low, 6), pow(10, -c->t.n_decimals));
    char words[64];

    for (double y = ceil(c->t.y_low / step) * step; y <= c->t.y_high; y += step) {
        ui_line(ui, c->plot.x, at_y(c, y), c->plot.x + c->plot.w, at_y(c, y), 1, UI_LINE);
        trend_number(&c->t, y, words, sizeof words);
        ui_text(ui, (struct rect){c->plot.x - 70, at_y(c, y) - 10, 60, 20}, words, &right);
    }
    step = fmax(trend_step(c->t.x_high - c->t.x_low, 5), 1);
    for (double x = ceil(c->t.x_low / step) * step; x <= c->t.x_high; x += step) {
        ui_line(ui, at_x(c, x), c->plot.y, at_x(c, x), c->plot.y + c->plot.h, 1, UI_LINE);
        if (c->t.by_date)
            trend_day_words(x, words, sizeof words);
        else
            text_from_count(words, sizeof words, lround(x));
        ui_text(ui, (struct rect){at_x(c, x) - 50, c->plot.y + c->plot.h + 6, 100, 20}, words, &middle);
    }
    trend_axis_words(&c->t, true, words, sizeof words);
    ui_text(ui, (struct rect){c->plot.x, c->plot.y + c->plot.h + 26, c->plot.w, 20}, words, &right);
    trend_axis_words(&c->t, false, words, sizeof words);
    ui_text(ui, (struct rect){c->plot.x - 64, c->plot.y - 34, 200, 20}, words, &(struct ui_style){.colour = UI_TEXT_SOFT});
}

/* Where something was changed: a line named by a letter; below the picture what it was. */
static void draw_changes(struct ui *ui, const struct chart *c, struct rect below)
{
    struct ui_style letter_style = {.size_px = 13, .weight = UI_SEMIBOLD, .colour = UI_NOTE_TEXT, .align = UI_CENTRE};
    char words[200], date[32], letter[2] = "A", id[32];
    struct text said = {0};
    float last = -100;
    int n = 0;

    for (int v = 0; v < c->t.r->n_visits && n < 26; v++) {
        struct maybe x = trend_place(&c->t, v);
        float at, y;

        trend_change_words(&c->t, v, words, sizeof words);
        if (words[0] == '\0' || !x.given || x.value < c->t.x_low || x.value > c->t.x_high)
            continue;
        letter[0] = (char)('A' + n++);
        at = at_x(c, x.value);
        y = c->plot.y - (at - last < 20 ? 20 : 0); /* beside its neighbour or above it */
        last = at - last < 20 ? -100 : at;
        ui_line_rgba(ui, at, c->plot.y, at, c->plot.y + c->plot.h, 1, ui_rgba(UI_NOTE));
        ui_disc(ui, at, y, 9, ui_rgba(UI_NOTE));
        ui_text(ui, (struct rect){at - 12, y - 10, 24, 20}, letter, &letter_style);
        text_format(id, sizeof id, "trends.change.%s", letter);
        ui_note(ui, id, (struct rect){at - 9, y - 9, 18, 18}, letter, words);
        clock_date_words(c->t.r->visits[v].date[0] ? c->t.r->visits[v].date : "no date", date, sizeof date);
        text_addf(&said, "%s%s, after %s: %s.", n > 1 ? "  " : "", letter, date, words);
    }
    ui_text(ui, below, text_get(&said), &(struct ui_style){.colour = UI_TEXT_SOFT, .max_lines = 2, .top = true});
    text_release(&said);
}

static void draw_limit(struct ui *ui, const struct chart *c)
{
    double limit = trend_limit(&c->t);
    char words[96];

    if (limit <= 0)
        return;
    trend_limit_words(&c->t, words, sizeof words);
    ui_line_dashed(ui, c->plot.x, at_y(c, limit), c->plot.x + c->plot.w, at_y(c, limit), 2, UI_ACT);
    ui_note(ui, "trends.limit", c->plot, "limit", words);
    ui_text(ui, (struct rect){c->plot.x + 8, at_y(c, limit) - 22, c->plot.w - 16, 20}, words, &(struct ui_style){.weight = UI_SEMIBOLD, .colour = UI_ACT_INK, .align = UI_RIGHT});
}

#define DOTS_PX 12 /* visits apart on the average, that the dots of each line are told from its neighbours' */

/* The plug stands in another hole from here on: a diamond, and of the chosen one which. */
static void draw_move(struct ui *ui, const struct chart *c, int visit, int line, float x, float y, bool chosen)
{
    const struct ui_style bold = {.weight = UI_SEMIBOLD};
    struct rect label = {x - 6, y - 30, 0, 20};
    char hole[48], words[64];

    ui_diamond(ui, x, y, chosen ? 18 : 12, ui_rgba(UI_CARD));
    ui_diamond(ui, x, y, chosen ? 14 : 9, ui_rgba(chosen ? UI_SELECT : UI_TEXT_SOFT));
    if (!chosen)
        return;
    trend_hole_name(&c->t, trend_hole(&c->t, visit, line), hole, sizeof hole);
    text_format(words, sizeof words, "in %s", hole);
    label.x -= label.w = ui_text_width(ui, words, &bold);
    ui_fill(ui, ui_inset(label, -2, 2), UI_CARD); /* over other lines */
    ui_text(ui, label, words, &bold);
    ui_note(ui, "trends.moved", (struct rect){x - 9, y - 9, 18, 18}, "changed holes", words);
}

static void draw_line(struct ui *ui, const struct chart *c, int line, bool chosen)
{
    const bool dots = chosen || c->plot.w > DOTS_PX * (float)c->t.r->n_visits;
    bool begun = false;
    float x0 = 0, y0 = 0;

    for (int v = 0; v < c->t.r->n_visits; v++) {
        struct maybe x = trend_place(&c->t, v), y = trend_value(&c->t, v, line);

        if (x.given && y.given) {
            float x1 = at_x(c, x.value), y1 = at_y(c, y.value);

            if (begun)
                ui_line(ui, x0, y0, x1, y1, chosen ? 3 : 1.5f, chosen ? UI_SELECT : UI_TEXT_QUIET);
            if (trend_photo_pm(&c->t, v, line).given) { /* how far it may be off */
                double pm = trend_photo_pm(&c->t, v, line).value;
                float low = at_y(c, y.value - pm), high = at_y(c, y.value + pm);

                ui_line(ui, x1, low, x1, high, 1.5f, chosen ? UI_SELECT : UI_TEXT_SOFT);
                ui_line(ui, x1 - 4, low, x1 + 4, low, 1.5f, chosen ? UI_SELECT : UI_TEXT_SOFT);
                ui_line(ui, x1 - 4, high, x1 + 4, high, 1.5f, chosen ? UI_SELECT : UI_TEXT_SOFT);
            }
            if (trend_moved(&c->t, v, line))
                draw_move(ui, c, v, line, x1, y1, chosen);
            else if (dots)
                ui_disc(ui, x1, y1, chosen ? 5 : 3, ui_rgba(chosen ? UI_SELECT : UI_TEXT_SOFT));
            begun = true;
            x0 = x1;
            y0 = y1;
        }
        if (begun && trend_renewed_after(&c->t, v, line)) { /* a ring where it left off */
            ui_ring(ui, x0, y0, chosen ? 9 : 6, 1.5f, ui_rgba(chosen ? UI_SELECT : UI_TEXT_SOFT));
            begun = false;
        } else if (x.given && trend_set_at(&c->t, v, line).given) {
            x0 = at_x(c, x.value);
            y0 = at_y(c, trend_set_at(&c->t, v, line).value);
            ui_ring(ui, x0, y0, chosen ? 5 : 3, 1.5f, ui_rgba(chosen ? UI_SELECT : UI_TEXT_SOFT));
            begun = true;
        }
    }
}

/* By the hole it ends in, whichever way lines go; those that are out by their number. */
static void line_id(const struct chart *c, int line, const char *of, char *to, size_t n_room)
{
    char hole[48];

    if (line >= c->t.n_holes) {
        text_format(to, n_room, "%s.out.%d", of, line - c->t.n_holes);
        return;
    }
    trend_hole_name(&c->t, line, hole, sizeof hole);
    text_format(to, n_room, "%s.%s", of, hole);
}

#define END_PX 16.0 /* names apart at least */

/* Room that names at the right ends ask for: the widest, and the leader to it. */
static float ends_width(struct ui *ui, const struct chart *c)
{
    const struct ui_style bold = {.weight = UI_SEMIBOLD};
    float widest = 0;
    char name[TREND_NAME_BYTES];

    for (int i = 0; i < c->t.n_holes; i++) {
        trend_line_name(&c->t, i, name, sizeof name);
        widest = fmaxf(widest, ui_text_width(ui, name, &bold));
    }
    return widest + 26;
}

/* Names of lines that end at about one place, moved off each other: behind it, with a short dotted leader where one does not
 * stand at its end, so that no leader is taken for a line of the trend. */
static void draw_ends_at(struct ui *ui, const struct chart *c, struct trend_end *ends, int n, int chosen, bool inside)
{
    char name[TREND_NAME_BYTES], id[96];

    n = trend_ends_apart(ends, n, chosen, c->plot.y, c->plot.y + c->plot.h, END_PX);
    for (int i = 0; i < n; i++) {
        const bool strong = ends[i].line == chosen;
        const struct ui_style in = {.weight = strong ? UI_SEMIBOLD : UI_REGULAR, .colour = strong ? UI_TEXT : UI_TEXT_SOFT};
        const float to = inside ? (float)ends[i].x + 16 : c->plot.x + c->plot.w + 14;
        struct rect at = {to + 4, (float)ends[i].at - 10, 0, 20};

        trend_line_name(&c->t, ends[i].line, name, sizeof name);
        at.w = ui_text_width(ui, name, &in) + 2;
        if (fabs(ends[i].at - ends[i].y) > 4 || to - (float)ends[i].x > 18)
            ui_line_dashed(ui, (float)ends[i].x + (strong ? 7 : 5), (float)ends[i].y, to, (float)ends[i].at, 1, strong ? UI_SELECT : UI_TEXT_QUIET);
        if (inside)
            ui_fill(ui, ui_inset(at, -1, 3), UI_CARD); /* over other lines */
        ui_text(ui, at, name, &in);
        line_id(c, ends[i].line, "trends.end", id, sizeof id);
        ui_note(ui, id, at, "end of the line", name);
    }
}

static int by_place(const void *a, const void *b)
{
    const struct trend_end *x = a, *y = b;

    return x->x < y->x ? -1 : x->x > y->x;
}

/* Whose line it is: a name beside its end; those that end at the right edge have theirs behind it. */
static void draw_ends(struct ui *ui, const struct chart *c, int chosen)
{
    struct trend_end ends[ENGINE_MAX_PLUGS] = {{0}};
    const double edge = (double)(c->plot.x + c->plot.w) - 40;
    int n = 0;

    for (int i = 0; i < c->t.n_holes; i++) { /* one that is out ends before */
        const int v = trend_latest_placed(&c->t, i);

        if (v >= 0)
            ends[n++] = (struct trend_end){.line = i, .x = at_x(c, trend_place(&c->t, v).value), .y = at_y(c, trend_value(&c->t, v, i).value)};
    }
    qsort(ends, (size_t)n, sizeof *ends, by_place);
    for (int from = 0, to; from < n; from = to) {
        const bool inside = ends[from].x < edge;

        for (to = from + 1; to < n && (inside ? ends[to].x - ends[from].x < 4 : true); to++)
            ;
        draw_ends_at(ui, c, &ends[from], to - from, chosen, inside);
    }
}

/* The line of growth of the chosen one, carried on to the right edge; what it says in words. */
static bool draw_fit(struct ui *ui, const struct chart *c, int line, char *words, size_t n_room)
{
    struct stats_trend t;
    char slope[48], low[48], high[48];
    double per = c->t.by_date ? 365.2425 : 1000, x1;
    int n;

    text_copy(words, n_room, "Two readings of this plug are needed for a line.");
    if (!trend_fit(&c->t, line, &t, &n, &x1))
        return false;
    if (n > 2) {
        double x2 = c->t.x_high;

        ui_clip_push(ui, c->plot);
        ui_line_dashed(ui, at_x(c, x1), at_y(c, t.intercept + t.slope * x1), at_x(c, x2), at_y(c, t.intercept + t.slope * x2), 2, UI_SELECT);
        ui_clip_pop(ui);
    }
    text_from_double(slope, sizeof slope, t.slope * per, c->t.n_decimals + 1);
    text_from_double(low, sizeof low, t.slope_low * per, c->t.n_decimals + 1);
    text_from_double(high, sizeof high, t.slope_high * per, c->t.n_decimals + 1);
    if (n >= WEAR_SURE_FROM)
        text_format(words, n_room, "%s %s per %s (95 %%: %s to %s), through %d readings.", slope, c->t.unit[0] ? c->t.unit : "L*", c->t.by_date ? "year" : c->t.distance->factor > 1000 ? "1,000 mi" : "1,000 km", low, high, n);
    else
        text_format(words, n_room, "%s %s per %s, from %d readings: too few to say how sure.", slope, c->t.unit[0] ? c->t.unit : "L*", c->t.by_date ? "year" : c->t.distance->factor > 1000 ? "1,000 mi" : "1,000 km", n);
    if (strcmp(c->t.row->id, "gap") == 0 && t.slope * (trend_place(&c->t, trend_latest_placed(&c->t, line)).value - x1) < -1.5 * WEAR_GAUGE_MM / (strcmp(c->t.unit, "in") == 0 ? MM_PER_INCH : 1))
        text_copy(words, n_room, "Narrower than it was. Gaps do not shrink: it was set, it is another plug, or something fills or bent it.");
    return true;
}

static void draw_middle(struct ui *ui, const struct chart *c)
{
    bool begun = false;
    float x0 = 0, y0 = 0;

    for (int v = 0; v < c->t.r->n_visits; v++) {
        struct maybe x = trend_place(&c->t, v);
        double middle = 0, low = 0, high = 0;

        if (!x.given || trend_spread(&c->t, v, &middle, &low, &high) < 2)
            continue;
        if (begun)
            ui_line_dashed(ui, x0, y0, at_x(c, x.value), at_y(c, middle), 2, UI_TEXT);
        x0 = at_x(c, x.value);
        y0 = at_y(c, middle);
        begun = !trend_new_set(&c->t, v);
    }
}

static void draw_card(struct ui *ui, const struct chart *c, int visit, int line)
{
    struct maybe x = trend_place(&c->t, visit), y = trend_value(&c->t, visit, line);
    const struct visit *v = &c->t.r->visits[visit];
    struct ui_style bold = {.weight = UI_SEMIBOLD}, soft = {.colour = UI_TEXT_SOFT};
    char date[32], odometer[48], words[200], name[TREND_NAME_BYTES], a[48], b[48], d[48];
    double middle = 0, low = 0, high = 0;
    struct rect card = {0, c->plot.y + 8, 268, 88};
    int n = trend_spread(&c->t, visit, &middle, &low, &high);

    if (!x.given)
        return;
    ui_line(ui, at_x(c, x.value), c->plot.y, at_x(c, x.value), c->plot.y + c->plot.h, 1, UI_TEXT);
    card.x = at_x(c, x.value) + 12;
    if (card.x + card.w > c->plot.x + c->plot.w)
        card.x = at_x(c, x.value) - 12 - card.w;
    ui_round(ui, card, 8, UI_PANEL);
    ui_round_line(ui, card, 8, 1, UI_BUTTON_LINE);
    card = ui_inset(card, 12, 8);
    clock_date_words(v->date[0] ? v->date : "no date", date, sizeof date);
    visit_format_odometer(v->odometer_m, v->odometer_unit, odometer, sizeof odometer);
    text_format(words, sizeof words, "%s%s%s", date, odometer[0] ? " · " : "", odometer);
    ui_text(ui, ui_cut_top(&card, 22), words, &soft);
    trend_line_name(&c->t, line, name, sizeof name);
    if (y.given)
        trend_figure(&c->t, y.value, a, sizeof a);
    if (c->t.holes != NULL && trend_hole(&c->t, visit, line) != trend_last_hole(&c->t, line) && trend_hole(&c->t, visit, line) >= 0) { /* where it was then */
        trend_hole_name(&c->t, trend_hole(&c->t, visit, line), b, sizeof b);
        text_format(name, sizeof name, "in %s", b);
    }
    text_format(words, sizeof words, "%s: %s", name, y.given ? a : "not read");
    if (y.given && trend_photo_pm(&c->t, visit, line).given) {
        trend_number(&c->t, trend_photo_pm(&c->t, visit, line).value, b, sizeof b);
        text_format(words, sizeof words, "%s: %s ± %s, from a photo", name, a, b);
    }
    ui_text(ui, ui_cut_top(&card, 24), words, &bold);
    if (n > 1) {
        trend_figure(&c->t, middle, a, sizeof a);
        trend_number(&c->t, low, b, sizeof b);
        trend_number(&c->t, high, d, sizeof d);
        text_format(words, sizeof words, "middle of %d: %s; %s–%s", n, a, b, d);
        ui_text(ui, ui_cut_top(&card, 22), words, &soft);
    }
}

static void draw_table(struct ui *ui, const struct chart *c, struct rect r, int line)
{
    struct ui_style head = {.weight = UI_SEMIBOLD, .align = UI_RIGHT, .tabular = true}, cell = {.align = UI_RIGHT, .tabular = true}, first = {.weight = UI_SEMIBOLD};
    const float w = 108, h = 30;
    int fits = (int)((r.w - 120) / w), from;
    struct rect content, row;
    char words[64];

    fits = fits < 1 ? 1 : fits;
    from = c->t.r->n_visits > fits ? c->t.r->n_visits - fits : 0;
    row = ui_cut_top(&r, 44);
    ui_cut_left(&row, 130);
    for (int v = from; v < c->t.r->n_visits; v++) {
        struct rect at = ui_cut_left(&row, w);

        clock_date_words(c->t.r->visits[v].date[0] ? c->t.r->visits[v].date : "no date", words, sizeof words);
        ui_text(ui, (struct rect){at.x, at.y, at.w, 22}, words, &head);
        visit_format_odometer(c->t.r->visits[v].odometer_m, c->t.r->visits[v].odometer_unit, words, sizeof words);
        ui_text(ui, (struct rect){at.x, at.y + 20, at.w, 22}, words, &(struct ui_style){.colour = UI_TEXT_SOFT, .align = UI_RIGHT});
    }
    content = ui_scroll_begin(ui, "trends.table", r);
    for (int i = 0; i < c->t.n_lines; i++) {
        row = (struct rect){content.x, content.y + (float)i * h, content.w, h};
        ui_line(ui, row.x, row.y, row.x + row.w, row.y, 1, UI_LINE);
        if (i == line)
            ui_select_line(ui, ui_inset((struct rect){row.x, row.y, 138 + w * (float)(c->t.r->n_visits - from), h}, 2, 2), 6, 2);
        row.x += 10;
        trend_line_name(&c->t, i, words, sizeof words);
        ui_text(ui, ui_cut_left(&row, 120), words, &first);
        for (int v = from; v < c->t.r->n_visits; v++) {
            struct maybe y = trend_value(&c->t, v, i);

            if (y.given) {
                char number[32];

                trend_number(&c->t, y.value, number, sizeof number);
                text_format(words, sizeof words, "%s%s", trend_photo_pm(&c->t, v, i).given ? "≈" : "", number);
                if (c->t.holes != NULL && trend_hole(&c->t, v, i) != trend_last_hole(&c->t, i)) {
                    char hole[48];

                    trend_hole_name(&c->t, trend_hole(&c->t, v, i), hole, sizeof hole);
                    text_format(words, sizeof words, "(%s) %s%s", hole, trend_photo_pm(&c->t, v, i).given ? "≈" : "", number);
                }
            } else
                text_copy(words, sizeof words, "–");
            ui_text(ui, ui_cut_left(&row, w), words, &cell);
        }
    }
    ui_scroll_end(ui, (float)c->t.n_lines * h);
}

/* One that is out has no hole to be chosen by: it is kept beside the hole that is. */
static void choose(const struct chart *c, struct screen_state *st, int line)
{
    if (line < c->t.n_holes) {
        st->cylinder = trend_plug(&c->t, line) / c->t.r->engine.n_positions;
        st->position = trend_plug(&c->t, line) % c->t.r->engine.n_positions;
    }
    st->trend_out = line < c->t.n_holes ? 0 : line - c->t.n_holes + 1;
    st->trend_out_beside = st->cylinder * c->t.r->engine.n_positions + st->position;
}

static int chosen_line(const struct chart *c, const struct screen_state *st)
{
    const int plug = st->cylinder * c->t.r->engine.n_positions + st->position;
    int line = st->cylinder < 0 ? 0 : c->t.row->of_cylinder ? st->cylinder : plug;

    if (c->t.holes != NULL && st->trend_out > 0 && st->trend_out_beside == plug)
        line = c->t.n_holes + st->trend_out - 1;
    return line < c->t.n_lines ? line : 0;
}

static void draw_side(struct ui *ui, struct chart *c, struct screen_state *st, struct rect r, int *line, const char *fit)
{
    struct ui_style soft = {.colour = UI_TEXT_SOFT, .max_lines = 5, .top = true}, bold = {.weight = UI_SEMIBOLD}, value = {.align = UI_RIGHT, .tabular = true};
    struct ui_flow flow;
    struct rect content;
    struct ui_style below = {.colour = UI_TEXT_SOFT, .align = UI_RIGHT};
    char id[96], name[TREND_NAME_BYTES], words[96], left[96];
    float h = ui_target_px(ui) + 12, y;
    int n;
    const struct trend_measure *measures = trend_measures(&n);

    ui_fill(ui, r, UI_PANEL);
    r = ui_inset(r, 16, 16);
    ui_text(ui, ui_cut_top(&r, 28), "Trends", &(struct ui_style){.size_px = 18, .weight = UI_SEMIBOLD});
    ui_cut_top(&r, 8);
    flow = ui_flow_begin(r, ui_target_px(ui));
    for (int i = 0; i < n; i++) {
        if (!trend_was_measured(c->t.r, i))
            continue;
        text_format(id, sizeof id, "trends.%s", measures[i].id);
        if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, measures[i].label, NULL)), measures[i].label, c->t.row == &measures[i], NULL))
            st->trend = i;
    }
    ui_cut_top(&r, ui_flow_height(&flow) + 12);
    ui_heading(ui, ui_cut_top(&r, 22), "Against");
    flow = ui_flow_begin(r, ui_target_px(ui));
    if (ui_chip(ui, "trends.by-distance", ui_flow_next(&flow, ui_chip_width(ui, "distance", NULL)), "distance", !c->t.by_date, NULL))
        st->trend_by_date = false;
    if (ui_chip(ui, "trends.by-date", ui_flow_next(&flow, ui_chip_width(ui, "date", NULL)), "date", c->t.by_date, NULL))
        st->trend_by_date = true;
    ui_cut_top(&r, ui_flow_height(&flow) + 12);
    if (!c->t.row->of_cylinder) {
        ui_heading(ui, ui_cut_top(&r, 22), "A line follows");
        flow = ui_flow_begin(r, ui_target_px(ui));
        if (ui_chip(ui, "trends.by-cylinder", ui_flow_next(&flow, ui_chip_width(ui, "the cylinder", "P")), "the cylinder", !st->trend_by_plug, "P"))
            st->trend_by_plug = false;
        if (ui_chip(ui, "trends.by-plug", ui_flow_next(&flow, ui_chip_width(ui, "the plug", "P")), "the plug", st->trend_by_plug, "P"))
            st->trend_by_plug = true;
        ui_cut_top(&r, ui_flow_height(&flow) + 12);
    }
    ui_note(ui, "trends.fit", (struct rect){r.x, r.y, r.w, 76}, "growth", fit);
    ui_text(ui, ui_cut_top(&r, 76), fit, &soft);
    content = ui_scroll_begin(ui, "trends.plugs", r);
    y = content.y;
    for (int i = 0; i < c->t.n_lines; i++) {
        int latest = trend_latest(&c->t, i);
        struct rect row = {content.x, y, content.w - 8, h};
        struct ui_hit hit;

        trend_line_name(&c->t, i, name, sizeof name);
        text_copy(words, sizeof words, "not read");
        if (latest >= 0) {
            char number[48];

            trend_figure(&c->t, trend_value(&c->t, latest, i).value, number, sizeof number);
            text_format(words, sizeof words, "%s%s", trend_photo_pm(&c->t, latest, i).given ? "≈" : "", number);
        }
        line_id(c, i, "trends.plug", id, sizeof id);
        hit = ui_region(ui, id, row, UI_ROLE_ROW, name, words, 6);
        if (i == *line) {
            const int measure = (int)(c->t.row - measures) + 1;

            if (st->trend_in_view[0] != measure || st->trend_in_view[1] != i + 1) /* chosen, or of another measure */
                ui_scroll_show(ui, row);
            st->trend_in_view[0] = measure;
            st->trend_in_view[1] = i + 1;
            ui_round(ui, row, 6, UI_CARD);
            ui_select_line(ui, row, 6, 2);
        }
        if (hit.clicked) {
            *line = i;
            choose(c, st, i);
        }
        row = ui_inset(row, 10, 2);
        trend_left_words(&c->t, c->m->wear, i, left, sizeof left);
        ui_text(ui, (struct rect){row.x, row.y, 150, left[0] ? row.h / 2 : row.h}, name, &bold);
        ui_text(ui, (struct rect){row.x + 150, row.y, row.w - 150, left[0] ? row.h / 2 : row.h}, words, &value);
        if (left[0] != '\0') {
            line_id(c, i, "trends.left", id, sizeof id);
            ui_note(ui, id, row, name, left);
        }
        below.size_px = 0;
        below.size_px = ui_text_width(ui, left, &below) > row.w ? 11 : 0; /* whole, if smaller */
        ui_text(ui, (struct rect){row.x, row.y + row.h / 2 - 2, row.w, row.h / 2}, left, &below);
        y += h;
    }
    ui_scroll_end(ui, y - content.y);
}

/* From this measure on, the first that somebody took; the same one when nobody took any. */
static int next_measured(const struct record *r, int from)
{
    int n;

    trend_measures(&n);
    for (int i = 0; i < n; i++)
        if (trend_was_measured(r, (from + i) % n))
            return (from + i) % n;
    return from % n;
}

static void keys(struct ui *ui, const struct chart *c, struct screen_state *st, int *line)
{
    if (st->panel != PANEL_NONE || ui_typing(ui))
        return;
    if (ui_key(ui, "t"))
        st->trend_table = !st->trend_table;
    if (ui_key(ui, "."))
        *line = (*line + 1) % c->t.n_lines;
    if (ui_key(ui, ","))
        *line = (*line + c->t.n_lines - 1) % c->t.n_lines;
    if (ui_key(ui, "p") && !c->t.row->of_cylinder)
        st->trend_by_plug = !st->trend_by_plug;
    if (ui_key(ui, "+"))
        st->trend = next_measured(c->t.r, st->trend + 1);
    if (ui_key(ui, "Escape"))
        st->screen = SCREEN_PLAN;
    choose(c, st, *line);
}

static void say_latest(struct ui *ui, const struct record *shown, const struct record *all, struct rect r)
{
    char words[120], n[24];

    text_from_count(n, sizeof n, all->n_visits);
    text_format(words, sizeof words, "The latest %d of %s visits. Open an earlier one to see those before it.", shown->n_visits, n);
    ui_text(ui, r, words, &(struct ui_style){.colour = UI_TEXT_SOFT});
    ui_note(ui, "trends.latest", r, "visits shown", words);
}

static bool any_moved(const struct trend *t)
{
    for (int i = 0; i < t->n_lines && t->holes != NULL; i++)
        for (int v = 1; v < t->r->n_visits; v++)
            if (trend_moved(t, v, i))
                return true;
    return false;
}

/* Of a plug that goes on: the gap it was left with. */
static bool any_set(const struct trend *t)
{
    for (int i = 0; i < t->n_lines; i++)
        for (int v = 0; v < t->r->n_visits; v++)
            if (trend_set_at(t, v, i).given && trend_place(t, v).given)
                return true;
    return false;
}

void screen_trends(struct ui *ui, const struct model *m, struct screen_state *st, struct rect r)
{
    const struct record latest = trend_latest_visits(m->record);
    struct chart c = {.m = m};
    struct unit_choice units = model_units(m);
    struct ui_button table = {.key = "T"};
    char fit[200] = "", words[200], name[TREND_NAME_BYTES];
    struct rect side, head;
    bool known;
    int line, near = -1;

    st->trend = next_measured(&latest, st->trend);
    trend_init(&c.t, &latest, st->trend, st->trend_by_date, &units);
    if (st->trend_by_plug)
        trend_follow_plugs(&c.t, ui_arena(ui));
    line = chosen_line(&c, st);
    keys(ui, &c, st, &line);
    ui_fill(ui, r, UI_DESK);
    side = ui_cut_left(&r, 300);
    r = ui_inset(r, 16, 16);
    ui_round(ui, r, 12, UI_CARD);
    r = ui_inset(r, 20, 14);
    head = ui_cut_top(&r, 40);
    known = trend_range(&c.t);
    if (ui_button(ui, "trends.table-or-chart", ui_cut_right(&head, ui_button_width(ui, st->trend_table ? "As a picture" : "As a table", &table)), st->trend_table ? "As a picture" : "As a table", &table))
        st->trend_table = !st->trend_table;
    trend_line_name(&c.t, line, name, sizeof name);
    text_format(words, sizeof words, st->trend_table ? "%c%s of each %s, %s%s%s%s" : "%c%s of each %s. Blue: %s%s%s%s", c.t.row->label[0] - 'a' + 'A', c.t.row->label + 1,
                c.t.row->of_cylinder ? "cylinder" : "plug", st->trend_table ? c.t.unit[0] ? c.t.unit : "D65" : name,
                st->trend_table || record_plug_count(&m->record->engine) == 1 ? "" : "; dashed: the middle of all",
                !any_moved(&c.t) ? "" : st->trend_table ? "; (3): in hole 3 then" : "; a diamond: in another hole", st->trend_table || !any_set(&c.t) ? "" : "; a ring: as left");
    ui_text(ui, head, words, &(struct ui_style){.weight = UI_SEMIBOLD});
    if (latest.n_visits < m->record->n_visits)
        say_latest(ui, &latest, m->record, ui_cut_top(&r, 24));
    if (!known) {
        ui_text(ui, r, c.t.by_date ? "Nothing was measured at a visit with a date yet." : "Nothing was measured at a visit with an odometer yet; try the date.", &(struct ui_style){.colour = UI_TEXT_SOFT, .align = UI_CENTRE});
    } else if (st->trend_table) {
        draw_table(ui, &c, r, line);
    } else {
        struct rect below = ui_cut_bottom(&r, 44);

        c.plot = (struct rect){r.x + 74, r.y + 44, r.w - 84 - ends_width(ui, &c), r.h - 98};
        struct ui_hit hit = ui_region(ui, "trends.chart", c.plot, UI_ROLE_AREA, words, name, 0);

        draw_axes(ui, &c);
        draw_changes(ui, &c, below);
        for (int i = 0; i < c.t.n_lines; i++)
            if (i != line)
                draw_line(ui, &c, i, false);
        draw_middle(ui, &c);
        draw_limit(ui, &c);
        draw_line(ui, &c, line, true);
        draw_ends(ui, &c, line);
        draw_fit(ui, &c, line, fit, sizeof fit);
        for (int v = 0; v < c.t.r->n_visits; v++) { /* the visit nearest the pointer, else the latest read */
            struct maybe x = trend_place(&c.t, v);
            float at = c.plot.x + hit.x * c.plot.w;

            if (hit.hover && x.given && (near < 0 || fabsf(at_x(&c, x.value) - at) < fabsf(at_x(&c, trend_place(&c.t, near).value) - at)))
                near = v;
        }
        if (near >= 0 || hit.focused)
            draw_card(ui, &c, near >= 0 ? near : trend_latest(&c.t, line) >= 0 ? trend_latest(&c.t, line) : 0, line);
    }
    draw_side(ui, &c, st, side, &line, fit);
}
