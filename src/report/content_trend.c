/* content_trend.c - a measure over the visits as a picture with its figures in words: every plug a line, the middle
 * dashed, the limit red, the one that is unlike the others drawn strong. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "base/mem.h"
#include "base/text.h"
#include "reading/wear.h"
#include "report/content_work.h"
#include "report/trend.h"

#define WIDTH 720.0
#define HEIGHT 270.0
#define LABEL_PX 13.0 /* apart at least */
#define MOST_TOLD 12    /* of them in words */

struct plot {
    struct trend t;
    struct drawing *d;
    double x, y, w, h;
};

static double at_x(const struct plot *p, double x)
{
    return p->x + p->w * (x - p->t.x_low) / (p->t.x_high - p->t.x_low);
}

static double at_y(const struct plot *p, double y)
{
    return p->y + p->h * (1 - (y - p->t.y_low) / (p->t.y_high - p->t.y_low));
}

static void axes(const struct plot *p)
{
    const struct trend *t = &p->t;
    double step = fmax(trend_step(t->y_high - t->y_low, 5), pow(10, -t->n_decimals));
    char words[64];

    for (double y = ceil(t->y_low / step) * step; y <= t->y_high; y += step) {
        drawing_line(p->d, p->x, at_y(p, y), p->x + p->w, at_y(p, y), 1, false, 0xe0e0e0);
        trend_number(t, y, words, sizeof words);
        drawing_text(p->d, p->x - 8, at_y(p, y) + 4, words, 11, false, DRAW_RIGHT, INK_SOFT);
    }
    step = fmax(trend_step(t->x_high - t->x_low, 5), 1);
    for (double x = ceil(t->x_low / step) * step; x <= t->x_high; x += step) {
        drawing_line(p->d, at_x(p, x), p->y, at_x(p, x), p->y + p->h, 1, false, 0xe0e0e0);
        if (t->by_date)
            trend_day_words(x, words, sizeof words);
        else
            text_from_count(words, sizeof words, lround(x));
        drawing_text(p->d, at_x(p, x), p->y + p->h + 16, words, 11, false, DRAW_MIDDLE, INK_SOFT);
    }
    trend_axis_words(t, true, words, sizeof words);
    drawing_text(p->d, p->x + p->w, p->y + p->h + 32, words, 11, false, DRAW_RIGHT, INK_SOFT);
    trend_axis_words(t, false, words, sizeof words);
    drawing_text(p->d, 8, p->y - 16, words, 11, false, DRAW_LEFT, INK_SOFT);
}

static void curve(const struct plot *p, int line, bool strong)
{
    uint32_t rgb = strong ? INK_TEXT : 0x8f8f8f;
    double width = strong ? 2.5 : 1.2, x0 = 0, y0 = 0;
    bool begun = false;

    for (int v = 0; v < p->t.r->n_visits; v++) {
        struct maybe x = trend_place(&p->t, v), y = trend_value(&p->t, v, line), set = trend_set_at(&p->t, v, line);

        if (x.given && y.given) {
            if (begun)
                drawing_line(p->d, x0, y0, at_x(p, x.value), at_y(p, y.value), width, false, rgb);
            x0 = at_x(p, x.value);
            y0 = at_y(p, y.value);
            drawing_disc(p->d, x0, y0, strong ? 4 : 2.5, rgb);
            begun = true;
        }
        if (begun && trend_renewed_after(&p->t, v, line)) {
            drawing_ring(p->d, x0, y0, strong ? 8 : 5.5, 1.2, 0, 0, rgb);
            begun = false;
        } else if (x.given && set.given) {
            x0 = at_x(p, x.value);
            y0 = at_y(p, set.value);
            drawing_ring(p->d, x0, y0, strong ? 4 : 2.5, 1.2, 0, 0, rgb);
            begun = true;
        }
    }
}

static void middle_and_limit(const struct plot *p)
{
    double limit = trend_limit(&p->t), x0 = 0, y0 = 0;
    bool begun = false;
    char words[96];

    for (int v = 0; v < p->t.r->n_visits; v++) {
        struct maybe x = trend_place(&p->t, v);
        double middle = 0, low = 0, high = 0;

        if (!x.given || trend_spread(&p->t, v, &middle, &low, &high) < 2)
            continue;
        if (begun)
            drawing_line(p->d, x0, y0, at_x(p, x.value), at_y(p, middle), 2, true, INK_TEXT);
        x0 = at_x(p, x.value);
        y0 = at_y(p, middle);
        begun = !trend_new_set(&p->t, v);
    }
    if (limit <= 0)
        return;
    trend_limit_words(&p->t, words, sizeof words);
    drawing_line(p->d, p->x, at_y(p, limit), p->x + p->w, at_y(p, limit), 1.5, true, INK_ACT);
    drawing_text(p->d, p->x + p->w - 4, at_y(p, limit) - 5, words, 11, true, DRAW_RIGHT, INK_ACT);
}

#define CHANGES_MOST 26

/* Where something was changed a line from top to bottom, named by a letter; what it was is said below the picture. */
static int changes(const struct plot *p, struct text *said)
{
    char words[200], date[32], letter[2] = "A";
    double last = -100;
    int n = 0;

    for (int v = 0; v < p->t.r->n_visits && n < CHANGES_MOST; v++) {
        struct maybe x = trend_place(&p->t, v);

        trend_change_words(&p->t, v, words, sizeof words);
        if (words[0] == '\0' || !x.given || x.value < p->t.x_low || x.value > p->t.x_high)
            continue;
        letter[0] = (char)('A' + n++);
        drawing_line(p->d, at_x(p, x.value), p->y, at_x(p, x.value), p->y + p->h, 1, false, INK_NOTE);
        drawing_disc(p->d, at_x(p, x.value), p->y - (at_x(p, x.value) - last < 17 ? 17 : 0), 8, INK_NOTE); /* beside its neighbour or above it */
        drawing_text(p->d, at_x(p, x.value), p->y - (at_x(p, x.value) - last < 17 ? 17 : 0) + 4, letter, 11, true, DRAW_MIDDLE, INK_WHITE);
        last = at_x(p, x.value) - last < 17 ? -100 : at_x(p, x.value);
        clock_date_words(p->t.r->visits[v].date[0] ? p->t.r->visits[v].date : "no date", date, sizeof date);
        text_addf(said, "%s%s, after %s: %s.", n > 1 ? " " : "", letter, date, words);
    }
    return n;
}

/* The one that lies farthest from the middle at the last visit, when that is far by the others' own scatter:
 * beyond 3.5 deviations as the modified z-score counts them (Iglewicz and Hoaglin 1993). -1: none. */
static int unlike(const struct trend *t)
{
    double all[ENGINE_MAX_PLUGS], off[ENGINE_MAX_PLUGS], middle, spread, most = 0;
    int n = 0, at[ENGINE_MAX_PLUGS], found = -1;

    for (int i = 0; i < t->n_lines; i++) {
        struct maybe y = trend_value(t, t->r->n_visits - 1, i);

        if (y.given) {
            at[n] = i;
            all[n++] = y.value;
        }
    }
    if (n < 4)
        return -1;
    middle = stats_median(all, n);
    for (int i = 0; i < n; i++)
        off[i] = fabs(all[i] - middle);
    spread = fmax(stats_median(off, n), pow(10, -t->n_decimals));
    for (int i = 0; i < n; i++)
        if (off[i] > most)
            most = off[i], found = at[i];
    return 0.6745 * most / spread > 3.5 ? found : -1;
}

/* Names at the right ends of those read at the latest visit. */
static void names(const struct plot *p, int strong)
{
    struct trend_end ends[ENGINE_MAX_PLUGS] = {{0}};
    char name[TREND_NAME_BYTES];
    int n = 0;

    for (int i = 0; i < p->t.n_lines; i++) {
        int v = trend_latest(&p->t, i);

        if (v == p->t.r->n_visits - 1 && trend_place(&p->t, v).given)
            ends[n++] = (struct trend_end){.line = i, .x = at_x(p, trend_place(&p->t, v).value), .y = at_y(p, trend_value(&p->t, v, i).value)};
    }
    n = trend_ends_apart(ends, n, strong, p->y - 8, p->y + p->h + 8, LABEL_PX);
    for (int i = 0; i < n; i++) {
        const double to = p->x + p->w + 12;

        trend_line_name(&p->t, ends[i].line, name, sizeof name);
        drawing_line(p->d, ends[i].x + 5, ends[i].y, to, ends[i].at, 0.7, true, 0xb0b0b0); /* no line of the trend */
        drawing_text(p->d, to + 3, ends[i].at + 4, name, 11, ends[i].line == strong, DRAW_LEFT, INK_TEXT);
    }
}

/* "14 Mar 2023: 0.82–0.86 mm, middle 0.84." for the latest visits: the picture in words. */
static void words_of(const struct trend *t, struct text *to)
{
    for (int v = t->r->n_visits > MOST_TOLD ? t->r->n_visits - MOST_TOLD : 0; v < t->r->n_visits; v++) {
        double middle = 0, low = 0, high = 0;
        char date[32], a[32], b[48], c[32];
        int n = trend_spread(t, v, &middle, &low, &high);

        if (n == 0)
            continue;
        clock_date_words(t->r->visits[v].date[0] ? t->r->visits[v].date : "no date", date, sizeof date);
        trend_number(t, low, a, sizeof a);
        trend_figure(t, high, b, sizeof b);
        trend_number(t, middle, c, sizeof c);
        text_addf(to, n > 1 ? " %s: %s–%s, middle %s." : " %s: %s–%s.", date, a, b, c);
    }
}

/* How fast the gaps grow, and which is nearest to the limit. */
static void wear_line(struct maker *m, const struct trend *t)
{
    struct wear *w = mem_alloc(1, sizeof *w);
    struct wear_unit told;
    char name[TREND_NAME_BYTES], left[96];
    struct text s = {0};
    int nearest = -1;

    wear_of(t->r, w);
    told = wear_unit_of(w, record_current(t->r)->odometer_unit, m->ask->units.inches);
    if (w->known)
        text_addf(&s, "The gaps grow by %.*f %s per %s, the middle of %d plugs (%.*f to %.*f).", told.n_decimals, w->rate * told.factor, told.length, told.run, w->n_known,
                  told.n_decimals, w->rate_low * told.factor, told.n_decimals, w->rate_high * told.factor);
    for (int i = 0; i < t->n_lines; i++)
        if (w->plugs[i].left.given && (nearest < 0 || w->plugs[i].left.value < w->plugs[nearest].left.value))
            nearest = i;
    if (nearest >= 0) {
        trend_line_name(t, nearest, name, sizeof name);
        trend_left_words(t, w, nearest, left, sizeof left);
        text_addf(&s, "%sNearest to the limit: %s, %s.", s.n_bytes ? " " : "", name, left);
    }
    if (s.n_bytes > 0)
        maker_text(m, TONE_PLAIN, text_get(&s));
    text_release(&s);
    free(w);
}

static bool drawn(struct maker *m, const struct record *r, int measure, bool by_date, bool first)
{
    struct plot p = {.x = 58, .y = 34, .w = WIDTH - 58 - 66, .h = HEIGHT - 34 - 42};
    struct content_block *b;
    struct text alt = {0}, said = {0};
    int strong, n_at = 0, n_measures, n_changes;

    trend_init(&p.t, r, measure, by_date, &m->ask->units);
    for (int v = 0; v < r->n_visits; v++) {
        double x, y, z;

        n_at += trend_place(&p.t, v).given && trend_spread(&p.t, v, &x, &y, &z) > 0;
    }
    if (n_at < 2 || !trend_range(&p.t))
        return false;
    p.d = arena_alloc(m->a, 1, sizeof *p.d);
    *p.d = (struct drawing){.memory = m->a, .width = WIDTH, .height = HEIGHT, .narrow = DRAW_NEWEST, .axis_px = p.x};
    strong = unlike(&p.t);
    axes(&p);
    n_changes = changes(&p, &said);
    for (int i = 0; i < p.t.n_lines; i++)
        if (i != strong)
            curve(&p, i, false);
    middle_and_limit(&p);
    if (strong >= 0)
        curve(&p, strong, true);
    names(&p, strong);
    if (first)
        maker_part(m, REPORT_TRENDS);
    text_addf(&alt, "%c%s", p.t.row->label[0] - 'a' + 'A', p.t.row->label + 1);
    text_addf(&alt, " of each %s", p.t.row->of_cylinder ? "cylinder" : "plug");
    maker_heading(m, m->depth + 1, arena_format(m->a, "%s%s", text_get(&alt), record_plug_count(&p.t.r->engine) > 1 ? "; dashed: the middle of all" : ""));
    text_addf(&alt, " over the visits.");
    words_of(&p.t, &alt);
    text_addf(&alt, "%s%s", n_changes > 0 ? " " : "", text_get(&said));
    b = maker_add(m, CONTENT_DRAWING);
    b->drawing = p.d;
    b->text = arena_text(m->a, text_get(&alt));
    text_release(&alt);
    if (n_changes > 0)
        maker_text(m, TONE_SOFT, arena_format(m->a, "%s%s", text_get(&said), p.t.row->of_cylinder ? "" : " A ring: where a line ends or begins anew."));
    text_release(&said);
    if (p.t.row == trend_measures(&n_measures))
        wear_line(m, &p.t);
    return true;
}

void content_trends(struct maker *m, const struct record *r)
{
    const struct record latest = trend_latest_visits(r);
    bool first = true;
    int n;

    trend_measures(&n);
    for (int i = 0; i < n; i++)
        if (drawn(m, &latest, i, false, first) || drawn(m, &latest, i, true, first)) /* where no odometer is read, by date */
            first = false;
    if (!first && latest.n_visits < r->n_visits)
        maker_text(m, TONE_SOFT, arena_format(m->a, "The latest %d of %d visits.", latest.n_visits, r->n_visits));
}
