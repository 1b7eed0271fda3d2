/* screen_trends.c - one measure of every plug over the visits: lines against distance or date, the
 * limit, the line of growth with how far it is to the limit; and the same as a table. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "base/text.h"
#include "base/units.h"
#include "reading/stats.h"
#include "screen/model.h"

#define FIT_MAX 64 /* visits a line is laid through: the latest */

struct trend_row {
    const char *id, *label, *unit;
    int n_decimals;
    bool of_cylinder; /* one value a cylinder, held by its first plug */
    size_t offset;    /* of the struct maybe in a reading */
};
static const struct trend_row trends[] = {
    {"gap", "gap", "mm", 2, false, offsetof(struct reading, gap_mm)},
    {"nose", "nose L*", "", 0, false, offsetof(struct reading, nose_L)},
    {"compression", "compression", "kPa", 0, true, offsetof(struct reading, compression_kpa)},
    {"wet", "compression, wet", "kPa", 0, true, offsetof(struct reading, compression_wet_kpa)},
    {"leak", "leak-down", "%", 0, true, offsetof(struct reading, leak_percent)},
    {"differential", "differential", "over 80", 0, true, offsetof(struct reading, differential_over_80)},
};
#define N_TRENDS ((int)(sizeof trends / sizeof trends[0]))

/* What is drawn, in the units shown. */
struct chart {
    const struct model *m;
    const struct record *r;
    const struct trend_row *row;
    double factor;              /* shown = held * factor */
    int n_decimals;
    const char *unit;
    bool by_date;
    const struct unit *distance; /* of the odometer */
    int n_lines;                /* plugs, or cylinders */
    double x_low, x_high, y_low, y_high;
    struct rect plot;
};

static struct maybe held(const struct reading *q, const struct trend_row *row)
{
    struct maybe v;

    memcpy(&v, (const char *)q + row->offset, sizeof v);
    return q->present ? v : (struct maybe){false, 0};
}

static int plug_of(const struct chart *c, int line)
{
    return c->row->of_cylinder ? line * c->r->engine.n_positions : line;
}

static struct maybe value_at(const struct chart *c, int visit, int line)
{
    struct maybe v = held(&c->r->visits[visit].readings[plug_of(c, line)], c->row);

    v.value *= c->factor;
    return v;
}

static struct maybe place_of(const struct chart *c, int visit)
{
    const struct visit *v = &c->r->visits[visit];
    int year, month, day;

    if (c->by_date) {
        if (!clock_parse_date(v->date, &year, &month, &day))
            return (struct maybe){false, 0};
        return MAYBE((double)clock_days(year, month, day));
    }
    return v->odometer_m.given ? MAYBE(v->odometer_m.value / c->distance->factor) : (struct maybe){false, 0};
}

/* Another plug in the hole at the next visit: what came before is not its own. */
static bool renewed_after(const struct chart *c, int visit, int line)
{
    const struct visit *v = &c->r->visits[visit];
    int plug = plug_of(c, line), cylinder = plug / c->r->engine.n_positions;

    if (c->row->of_cylinder)
        return false;
    if (visit + 1 < c->r->n_visits && v->readings[plug].plug_id[0] && v[1].readings[plug].plug_id[0] &&
        strcmp(v->readings[plug].plug_id, v[1].readings[plug].plug_id) != 0)
        return true;
    for (int i = 0; i < v->n_done; i++)
        if (strcmp(words_id(WORDS_DONE_VERB, v->done[i].verb), "replaced") == 0 && strcmp(words_id(WORDS_DONE_PART, v->done[i].part), "plug") == 0 &&
            (v->done[i].cylinders >> cylinder & 1) != 0)
            return true;
    return false;
}

/* The gap it was set to at a visit: from there it grows on. */
static struct maybe set_at(const struct chart *c, int visit, int line)
{
    struct maybe v = c->r->visits[visit].readings[plug_of(c, line)].gap_left_mm;

    v.value *= c->factor;
    v.given = v.given && c->row == &trends[0];
    return v;
}

/* A gap measured in a photo: about 95 in 100 lie so near; not given where it was the feeler gauge. */
static struct maybe photo_pm(const struct chart *c, int visit, int line)
{
    const struct reading *q = &c->r->visits[visit].readings[plug_of(c, line)];

    return c->row == &trends[0] && q->gap_from_photo ? MAYBE(q->gap_photo_pm_mm * c->factor) : (struct maybe){false, 0};
}

static void line_name(const struct chart *c, int line, char *to, size_t n_room)
{
    int plug = plug_of(c, line), n = c->r->engine.n_positions;

    if (c->row->of_cylinder)
        text_copy(to, n_room, c->r->engine.cylinders[plug / n].label);
    else
        engine_plug_label(&c->r->engine, plug / n, plug % n, to, n_room);
}

static void figure(const struct chart *c, double shown, char *to, size_t n_room)
{
    char number[32];

    text_from_double(number, sizeof number, shown, c->n_decimals);
    text_format(to, n_room, c->unit[0] ? "%s %s" : "%s", number, c->unit);
}

static double limit_shown(const struct chart *c)
{
    const struct engine_plug_spec *p = &c->r->engine.plug;

    if (c->row != &trends[0])
        return 0;
    return (p->gap_limit_mm > 0 ? p->gap_limit_mm : p->gap_max_mm) * c->factor;
}

static void widen(double v, double *low, double *high, bool *any)
{
    *low = *any ? fmin(*low, v) : v;
    *high = *any ? fmax(*high, v) : v;
    *any = true;
}

/* Room around what there is; at least one unit of the last decimal shown. */
static void pad(double *low, double *high, double least, double share)
{
    double more = fmax((*high - *low) * share, least);

    *low -= more;
    *high += more;
}

/* false: there is nothing with a place on the axis. */
static bool measure_range(struct chart *c)
{
    bool any_x = false, any_y = false;
    double limit = limit_shown(c);

    for (int v = 0; v < c->r->n_visits; v++) {
        struct maybe x = place_of(c, v);
        bool used = false;

        for (int i = 0; i < c->n_lines && x.given; i++) {
            struct maybe y = value_at(c, v, i);

            if (y.given) {
                widen(y.value, &c->y_low, &c->y_high, &any_y);
                used = true;
            }
        }
        if (used)
            widen(x.value, &c->x_low, &c->x_high, &any_x);
    }
    if (!any_y)
        return false;
    if (limit > 0)
        widen(limit, &c->y_low, &c->y_high, &any_y);
    pad(&c->x_low, &c->x_high, c->by_date ? 30 : 500, 0.05);
    pad(&c->y_low, &c->y_high, 3 * pow(10, -c->n_decimals), 0.12);
    if (c->y_low < 0)
        c->y_low = 0;
    return true;
}

static float at_x(const struct chart *c, double x)
{
    return c->plot.x + c->plot.w * (float)((x - c->x_low) / (c->x_high - c->x_low));
}

static float at_y(const struct chart *c, double y)
{
    return c->plot.y + c->plot.h * (1 - (float)((y - c->y_low) / (c->y_high - c->y_low)));
}

/* 1, 2 or 5 times a power of ten: about n steps over the range. */
static double step_of(double range, int n)
{
    double raw = range / n, power = pow(10, floor(log10(raw))), part = raw / power;

    return power * (part <= 1 ? 1 : part <= 2 ? 2 : part <= 5 ? 5 : 10);
}

static void day_words(double days, char *to, size_t n_room)
{
    /* the calendar of a count of days: years of 365.2425 days are near enough to find the month's first */
    int year = 1970 + (int)floor(days / 365.2425), month = 12;

    while (month > 1 && (double)clock_days(year, month, 1) > days)
        month--;
    text_format(to, n_room, "%04d-%02d", year, month);
}

static void draw_axes(struct ui *ui, const struct chart *c)
{
    struct ui_style right = {.colour = UI_TEXT_SOFT, .align = UI_RIGHT, .tabular = true}, middle = {.colour = UI_TEXT_SOFT, .align = UI_CENTRE, .tabular = true};
    double step = fmax(step_of(c->y_high - c->y_low, 6), pow(10, -c->n_decimals));
    char words[64];

    for (double y = ceil(c->y_low / step) * step; y <= c->y_high; y += step) {
        ui_line(ui, c->plot.x, at_y(c, y), c->plot.x + c->plot.w, at_y(c, y), 1, UI_LINE);
        text_from_double(words, sizeof words, y, c->n_decimals);
        ui_text(ui, (struct rect){c->plot.x - 70, at_y(c, y) - 10, 60, 20}, words, &right);
    }
    step = fmax(step_of(c->x_high - c->x_low, 5), 1);
    for (double x = ceil(c->x_low / step) * step; x <= c->x_high; x += step) {
        ui_line(ui, at_x(c, x), c->plot.y, at_x(c, x), c->plot.y + c->plot.h, 1, UI_LINE);
        if (c->by_date)
            day_words(x, words, sizeof words);
        else
            text_from_count(words, sizeof words, lround(x));
        ui_text(ui, (struct rect){at_x(c, x) - 50, c->plot.y + c->plot.h + 6, 100, 20}, words, &middle);
    }
    ui_text(ui, (struct rect){c->plot.x, c->plot.y + c->plot.h + 26, c->plot.w, 20}, c->by_date ? "date" : c->distance->label, &middle);
}

static void draw_limit(struct ui *ui, const struct chart *c)
{
    double limit = limit_shown(c);
    char number[48], words[96];

    if (limit <= 0)
        return;
    figure(c, limit, number, sizeof number);
    text_format(words, sizeof words, c->r->engine.plug.gap_limit_mm > 0 ? "renew at %s" : "the range ends at %s", number);
    ui_line_dashed(ui, c->plot.x, at_y(c, limit), c->plot.x + c->plot.w, at_y(c, limit), 2, UI_ACT);
    ui_text(ui, (struct rect){c->plot.x + 8, at_y(c, limit) - 22, c->plot.w - 16, 20}, words, &(struct ui_style){.weight = UI_SEMIBOLD, .colour = UI_ACT_INK, .align = UI_RIGHT});
}

static void draw_line(struct ui *ui, const struct chart *c, int line, bool chosen)
{
    bool begun = false;
    float x0 = 0, y0 = 0;

    for (int v = 0; v < c->r->n_visits; v++) {
        struct maybe x = place_of(c, v), y = value_at(c, v, line);

        if (x.given && y.given) {
            float x1 = at_x(c, x.value), y1 = at_y(c, y.value);

            if (begun)
                ui_line(ui, x0, y0, x1, y1, chosen ? 3 : 1.5f, chosen ? UI_SELECT : UI_TEXT_QUIET);
            if (photo_pm(c, v, line).given) { /* how far it may be off */
                float low = at_y(c, y.value - photo_pm(c, v, line).value), high = at_y(c, y.value + photo_pm(c, v, line).value);

                ui_line(ui, x1, low, x1, high, 1.5f, chosen ? UI_SELECT : UI_TEXT_SOFT);
                ui_line(ui, x1 - 4, low, x1 + 4, low, 1.5f, chosen ? UI_SELECT : UI_TEXT_SOFT);
                ui_line(ui, x1 - 4, high, x1 + 4, high, 1.5f, chosen ? UI_SELECT : UI_TEXT_SOFT);
            }
            ui_disc(ui, x1, y1, chosen ? 5 : 3, ui_rgba(chosen ? UI_SELECT : UI_TEXT_SOFT));
            begun = true;
            x0 = x1;
            y0 = y1;
        }
        if (begun && renewed_after(c, v, line)) { /* a ring where it left off */
            ui_ring(ui, x0, y0, chosen ? 9 : 6, 1.5f, ui_rgba(chosen ? UI_SELECT : UI_TEXT_SOFT));
            begun = false;
        } else if (x.given && set_at(c, v, line).given) {
            x0 = at_x(c, x.value);
            y0 = at_y(c, set_at(c, v, line).value);
            ui_ring(ui, x0, y0, chosen ? 5 : 3, 1.5f, ui_rgba(chosen ? UI_SELECT : UI_TEXT_SOFT));
            begun = true;
        }
    }
}

/* The line of growth of the chosen one, carried on to the right edge; what it says in words. */
static bool draw_fit(struct ui *ui, const struct chart *c, int line, char *words, size_t n_room)
{
    double x[FIT_MAX], y[FIT_MAX];
    struct stats_trend t;
    char slope[48], low[48], high[48];
    double per = c->by_date ? 365.2425 : 1000;
    int n = 0, from = 0;

    for (int v = 0; v < c->r->n_visits - 1; v++) {
        if (renewed_after(c, v, line))
            from = v + 1;
        else if (set_at(c, v, line).given)
            from = v;
    }
    for (int v = from; v < c->r->n_visits; v++) {
        struct maybe px = place_of(c, v), py = v == from && v < c->r->n_visits - 1 && set_at(c, v, line).given ? set_at(c, v, line) : value_at(c, v, line);

        if (!px.given || !py.given)
            continue;
        if (n == FIT_MAX) {
            memmove(x, x + 1, sizeof x - sizeof x[0]);
            memmove(y, y + 1, sizeof y - sizeof y[0]);
            n--;
        }
        x[n] = px.value;
        y[n++] = py.value;
    }
    text_copy(words, n_room, "Two readings of this plug are needed for a line.");
    if (n < 2 || !stats_theil_sen(x, y, n, 0.95, &t))
        return false;
    if (n > 2) {
        double x1 = x[0], x2 = c->x_high;

        ui_clip_push(ui, c->plot);
        ui_line_dashed(ui, at_x(c, x1), at_y(c, t.intercept + t.slope * x1), at_x(c, x2), at_y(c, t.intercept + t.slope * x2), 2, UI_SELECT);
        ui_clip_pop(ui);
    }
    text_from_double(slope, sizeof slope, t.slope * per, c->n_decimals + 1);
    text_from_double(low, sizeof low, t.slope_low * per, c->n_decimals + 1);
    text_from_double(high, sizeof high, t.slope_high * per, c->n_decimals + 1);
    if (n > 3)
        text_format(words, n_room, "%s %s per %s (95 %%: %s to %s), through %d readings.", slope, c->unit[0] ? c->unit : "L*", c->by_date ? "year" : c->distance->factor > 1000 ? "1,000 mi" : "1,000 km", low, high, n);
    else
        text_format(words, n_room, "%s %s per %s, from %d readings: too few to say how sure.", slope, c->unit[0] ? c->unit : "L*", c->by_date ? "year" : c->distance->factor > 1000 ? "1,000 mi" : "1,000 km", n);
    return true;
}

/* What stands at a visit: middle and ends of all, for the card at the pointer. */
static int spread_at(const struct chart *c, int visit, double *middle, double *low, double *high)
{
    double all[ENGINE_MAX_PLUGS];
    int n = 0;
    bool any = false;

    for (int i = 0; i < c->n_lines; i++) {
        struct maybe y = value_at(c, visit, i);

        if (!y.given)
            continue;
        all[n++] = y.value;
        widen(y.value, low, high, &any);
    }
    if (n > 0)
        *middle = stats_median(all, n);
    return n;
}

static void draw_middle(struct ui *ui, const struct chart *c)
{
    bool begun = false;
    float x0 = 0, y0 = 0;

    for (int v = 0; v < c->r->n_visits; v++) {
        struct maybe x = place_of(c, v);
        double middle = 0, low = 0, high = 0;

        if (!x.given || spread_at(c, v, &middle, &low, &high) < 2)
            continue;
        if (begun)
            ui_line_dashed(ui, x0, y0, at_x(c, x.value), at_y(c, middle), 2, UI_TEXT);
        x0 = at_x(c, x.value);
        y0 = at_y(c, middle);
        int n_new = 0;

        for (int i = 0; i < c->n_lines; i++)
            n_new += renewed_after(c, v, i);
        begun = n_new * 2 < c->n_lines; /* a new set: not a line from the old one */
    }
}

static void draw_card(struct ui *ui, const struct chart *c, int visit, int line)
{
    struct maybe x = place_of(c, visit), y = value_at(c, visit, line);
    const struct visit *v = &c->r->visits[visit];
    struct ui_style bold = {.weight = UI_SEMIBOLD}, soft = {.colour = UI_TEXT_SOFT};
    char date[32], odometer[48], words[160], name[48], a[48], b[48], d[48];
    double middle = 0, low = 0, high = 0;
    struct rect card = {0, c->plot.y + 8, 268, 88};
    int n = spread_at(c, visit, &middle, &low, &high);

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
    line_name(c, line, name, sizeof name);
    if (y.given)
        figure(c, y.value, a, sizeof a);
    text_format(words, sizeof words, "%s: %s", name, y.given ? a : "not read");
    if (y.given && photo_pm(c, visit, line).given) {
        text_from_double(b, sizeof b, photo_pm(c, visit, line).value, c->n_decimals);
        text_format(words, sizeof words, "%s: %s ± %s, from a photo", name, a, b);
    }
    ui_text(ui, ui_cut_top(&card, 24), words, &bold);
    if (n > 1) {
        figure(c, middle, a, sizeof a);
        text_from_double(b, sizeof b, low, c->n_decimals);
        text_from_double(d, sizeof d, high, c->n_decimals);
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
    from = c->r->n_visits > fits ? c->r->n_visits - fits : 0;
    row = ui_cut_top(&r, 44);
    ui_cut_left(&row, 130);
    for (int v = from; v < c->r->n_visits; v++) {
        struct rect at = ui_cut_left(&row, w);

        clock_date_words(c->r->visits[v].date[0] ? c->r->visits[v].date : "no date", words, sizeof words);
        ui_text(ui, (struct rect){at.x, at.y, at.w, 22}, words, &head);
        visit_format_odometer(c->r->visits[v].odometer_m, c->r->visits[v].odometer_unit, words, sizeof words);
        ui_text(ui, (struct rect){at.x, at.y + 20, at.w, 22}, words, &(struct ui_style){.colour = UI_TEXT_SOFT, .align = UI_RIGHT});
    }
    content = ui_scroll_begin(ui, "trends.table", r);
    for (int i = 0; i < c->n_lines; i++) {
        row = (struct rect){content.x, content.y + (float)i * h, content.w, h};
        ui_line(ui, row.x, row.y, row.x + row.w, row.y, 1, UI_LINE);
        if (i == line)
            ui_select_line(ui, ui_inset((struct rect){row.x, row.y, 138 + w * (float)(c->r->n_visits - from), h}, 2, 2), 6, 2);
        row.x += 10;
        line_name(c, i, words, sizeof words);
        ui_text(ui, ui_cut_left(&row, 120), words, &first);
        for (int v = from; v < c->r->n_visits; v++) {
            struct maybe y = value_at(c, v, i);

            if (y.given) {
                char number[32];

                text_from_double(number, sizeof number, y.value, c->n_decimals);
                text_format(words, sizeof words, "%s%s", photo_pm(c, v, i).given ? "≈" : "", number);
            } else
                text_copy(words, sizeof words, "–");
            ui_text(ui, ui_cut_left(&row, w), words, &cell);
        }
    }
    ui_scroll_end(ui, (float)c->n_lines * h);
}

/* Of the measures, those that somebody took at some visit. */
static bool was_measured(const struct record *r, const struct trend_row *row)
{
    for (int v = r->n_visits - 1; v >= 0; v--)
        for (int i = 0; i < record_plug_count(&r->engine); i++)
            if (held(&r->visits[v].readings[i], row).given)
                return true;
    return false;
}

static int latest_visit(const struct chart *c, int line)
{
    for (int v = c->r->n_visits - 1; v >= 0; v--)
        if (value_at(c, v, line).given)
            return v;
    return -1;
}

/* "12,400 km left" of a plug's gap; "" unknown. */
static void left_words(const struct chart *c, int line, char *to, size_t n_room)
{
    const struct wear *w = c->m->wear;
    struct maybe left;
    char number[48];

    to[0] = '\0';
    if (c->row != &trends[0] || w == NULL || !w->plugs[line].left.given)
        return;
    left = w->plugs[line].left;
    if (left.value <= 0) {
        text_copy(to, n_room, "past the limit");
        return;
    }
    if (!w->hours) /* no more digits than it is known to */
        left.value = fmax(1, round(left.value / c->distance->factor / 500)) * 500 * c->distance->factor;
    visit_format_odometer(left, c->r->visits[c->r->n_visits - 1].odometer_unit, number, sizeof number);
    text_format(to, n_room, "about %s left", number);
}

static void draw_side(struct ui *ui, struct chart *c, struct screen_state *st, struct rect r, int *line, const char *fit)
{
    struct ui_style soft = {.colour = UI_TEXT_SOFT, .max_lines = 5, .top = true}, bold = {.weight = UI_SEMIBOLD}, value = {.align = UI_RIGHT, .tabular = true};
    struct ui_flow flow;
    struct rect content;
    char id[48], name[48], words[96];
    float h = ui_target_px(ui) + 12, y;

    ui_fill(ui, r, UI_PANEL);
    r = ui_inset(r, 16, 16);
    ui_text(ui, ui_cut_top(&r, 28), "Trends", &(struct ui_style){.size_px = 18, .weight = UI_SEMIBOLD});
    ui_cut_top(&r, 8);
    flow = ui_flow_begin(r, ui_target_px(ui));
    for (int i = 0; i < N_TRENDS; i++) {
        if (!was_measured(c->r, &trends[i]))
            continue;
        text_format(id, sizeof id, "trends.%s", trends[i].id);
        if (ui_chip(ui, id, ui_flow_next(&flow, ui_chip_width(ui, trends[i].label, NULL)), trends[i].label, c->row == &trends[i], NULL))
            st->trend = i;
    }
    ui_cut_top(&r, ui_flow_height(&flow) + 12);
    ui_heading(ui, ui_cut_top(&r, 22), "Against");
    flow = ui_flow_begin(r, ui_target_px(ui));
    if (ui_chip(ui, "trends.by-distance", ui_flow_next(&flow, ui_chip_width(ui, "distance", NULL)), "distance", !c->by_date, NULL))
        st->trend_by_date = false;
    if (ui_chip(ui, "trends.by-date", ui_flow_next(&flow, ui_chip_width(ui, "date", NULL)), "date", c->by_date, NULL))
        st->trend_by_date = true;
    ui_cut_top(&r, ui_flow_height(&flow) + 12);
    ui_text(ui, ui_cut_top(&r, 76), fit, &soft);
    content = ui_scroll_begin(ui, "trends.plugs", r);
    y = content.y;
    for (int i = 0; i < c->n_lines; i++) {
        int latest = latest_visit(c, i);
        struct rect row = {content.x, y, content.w - 8, h};
        struct ui_hit hit;

        line_name(c, i, name, sizeof name);
        text_copy(words, sizeof words, "not read");
        if (latest >= 0) {
            char number[48];

            figure(c, value_at(c, latest, i).value, number, sizeof number);
            text_format(words, sizeof words, "%s%s", photo_pm(c, latest, i).given ? "≈" : "", number);
        }
        text_format(id, sizeof id, "trends.plug.%s", name);
        hit = ui_region(ui, id, row, UI_ROLE_ROW, name, words, 6);
        if (i == *line) {
            ui_round(ui, row, 6, UI_CARD);
            ui_select_line(ui, row, 6, 2);
        }
        if (hit.clicked) {
            *line = i;
            st->cylinder = plug_of(c, i) / c->r->engine.n_positions;
            st->position = plug_of(c, i) % c->r->engine.n_positions;
        }
        row = ui_inset(row, 10, 2);
        ui_text(ui, (struct rect){row.x, row.y, 80, row.h}, name, &bold);
        left_words(c, i, id, sizeof id);
        ui_text(ui, (struct rect){row.x + 80, row.y, row.w - 80, id[0] ? row.h / 2 : row.h}, words, &value);
        ui_text(ui, (struct rect){row.x + 60, row.y + row.h / 2 - 2, row.w - 60, row.h / 2}, id, &(struct ui_style){.colour = UI_TEXT_SOFT, .align = UI_RIGHT});
        y += h;
    }
    ui_scroll_end(ui, y - content.y);
}

static void keys(struct ui *ui, const struct chart *c, struct screen_state *st, int *line)
{
    if (st->panel != PANEL_NONE || ui_typing(ui))
        return;
    if (ui_key(ui, "t"))
        st->trend_table = !st->trend_table;
    if (ui_key(ui, "."))
        *line = (*line + 1) % c->n_lines;
    if (ui_key(ui, ","))
        *line = (*line + c->n_lines - 1) % c->n_lines;
    if (ui_key(ui, "+"))
        st->trend = (st->trend + 1) % N_TRENDS;
    if (ui_key(ui, "Escape"))
        st->screen = SCREEN_PLAN;
    st->cylinder = plug_of(c, *line) / c->r->engine.n_positions;
    st->position = plug_of(c, *line) % c->r->engine.n_positions;
}

void screen_trends(struct ui *ui, const struct model *m, struct screen_state *st, struct rect r)
{
    struct chart c = {.m = m, .r = m->record, .by_date = st->trend_by_date, .factor = 1};
    struct ui_button table = {.key = "T"};
    char fit[200] = "", words[160], name[48];
    struct rect side, head;
    const struct unit *u;
    bool known;
    int line, near = -1;

    for (int i = 0; i < N_TRENDS && !was_measured(m->record, &trends[st->trend]); i++)
        st->trend = (st->trend + 1) % N_TRENDS;
    c.row = &trends[st->trend];
    c.n_decimals = c.row->n_decimals;
    c.unit = c.row->unit;
    if (c.row == &trends[0] && m->inches) {
        c.factor = 1 / 25.4;
        c.n_decimals = 3;
        c.unit = "in";
    }
    u = c.r->n_visits > 0 ? unit_find(words_id(WORDS_ODOMETER_UNIT, c.r->visits[c.r->n_visits - 1].odometer_unit)) : NULL;
    c.distance = u != NULL ? u : unit_find("km");
    c.n_lines = c.row->of_cylinder ? c.r->engine.n_cylinders : record_plug_count(&c.r->engine);
    line = st->cylinder < 0 ? 0 : c.row->of_cylinder ? st->cylinder : record_plug_index(&c.r->engine, st->cylinder, st->position);
    line = line < c.n_lines ? line : 0;
    keys(ui, &c, st, &line);
    ui_fill(ui, r, UI_DESK);
    side = ui_cut_left(&r, 300);
    r = ui_inset(r, 16, 16);
    ui_round(ui, r, 12, UI_CARD);
    r = ui_inset(r, 20, 14);
    head = ui_cut_top(&r, 40);
    known = measure_range(&c);
    if (ui_button(ui, "trends.table-or-chart", ui_cut_right(&head, ui_button_width(ui, st->trend_table ? "As a picture" : "As a table", &table)), st->trend_table ? "As a picture" : "As a table", &table))
        st->trend_table = !st->trend_table;
    line_name(&c, line, name, sizeof name);
    text_format(words, sizeof words, st->trend_table ? "%c%s of each %s, %s" : "%c%s of each %s. Blue: %s; dashed: the middle of all", c.row->label[0] - 'a' + 'A', c.row->label + 1,
                c.row->of_cylinder ? "cylinder" : "plug", st->trend_table ? c.unit[0] ? c.unit : "D65" : name);
    ui_text(ui, head, words, &(struct ui_style){.weight = UI_SEMIBOLD});
    if (!known) {
        ui_text(ui, r, c.by_date ? "Nothing was measured at a visit with a date yet." : "Nothing was measured at a visit with an odometer yet; try the date.", &(struct ui_style){.colour = UI_TEXT_SOFT, .align = UI_CENTRE});
    } else if (st->trend_table) {
        draw_table(ui, &c, r, line);
    } else {
        c.plot = (struct rect){r.x + 74, r.y + 10, r.w - 90, r.h - 64};
        struct ui_hit hit = ui_region(ui, "trends.chart", c.plot, UI_ROLE_AREA, words, name, 0);

        draw_axes(ui, &c);
        for (int i = 0; i < c.n_lines; i++)
            if (i != line)
                draw_line(ui, &c, i, false);
        draw_middle(ui, &c);
        draw_limit(ui, &c);
        draw_line(ui, &c, line, true);
        draw_fit(ui, &c, line, fit, sizeof fit);
        for (int v = 0; v < c.r->n_visits; v++) { /* the visit nearest the pointer, else the latest read */
            struct maybe x = place_of(&c, v);
            float at = c.plot.x + hit.x * c.plot.w;

            if (hit.hover && x.given && (near < 0 || fabsf(at_x(&c, x.value) - at) < fabsf(at_x(&c, place_of(&c, near).value) - at)))
                near = v;
        }
        if (near >= 0 || hit.focused)
            draw_card(ui, &c, near >= 0 ? near : latest_visit(&c, line) >= 0 ? latest_visit(&c, line) : 0, line);
    }
    draw_side(ui, &c, st, side, &line, fit);
}
