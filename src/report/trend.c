#include "report/trend.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "base/text.h"
#include "reading/wear.h"

static const struct trend_measure measures[] = {
    {"gap", "gap", "mm", 2, false, offsetof(struct reading, gap_mm)},
    {"nose", "nose L*", "", 0, false, offsetof(struct reading, nose_L)},
    {"compression", "compression", "kPa", 0, true, offsetof(struct reading, compression_kpa)},
    {"wet", "compression, wet", "kPa", 0, true, offsetof(struct reading, compression_wet_kpa)},
    {"leak", "leak-down", "%", 0, true, offsetof(struct reading, leak_percent)},
    {"differential", "differential", "over 80", 0, true, offsetof(struct reading, differential_over_80)},
};
#define N_MEASURES ((int)(sizeof measures / sizeof measures[0]))

const struct trend_measure *trend_measures(int *n)
{
    *n = N_MEASURES;
    return measures;
}

static struct maybe held(const struct reading *q, const struct trend_measure *row)
{
    struct maybe v;

    memcpy(&v, (const char *)q + row->offset, sizeof v);
    return q->present ? v : (struct maybe){false, 0};
}

bool trend_was_measured(const struct record *r, int measure)
{
    for (int v = r->n_visits - 1; v >= 0; v--)
        for (int i = 0; i < record_plug_count(&r->engine); i++)
            if (held(&r->visits[v].readings[i], &measures[measure]).given)
                return true;
    return false;
}

void trend_init(struct trend *t, const struct record *r, int measure, bool by_date, const struct unit_choice *units)
{
    *t = (struct trend){.r = r, .row = &measures[measure], .factor = 1, .by_date = by_date};
    t->n_decimals = t->row->n_decimals;
    t->unit = t->row->unit;
    if (unit_find(t->unit) != NULL) { /* a length or a pressure, held in what its row says */
        const struct unit *from = unit_find(t->unit), *to = from->kind == UNIT_LENGTH ? unit_choice_length(units) : unit_choice_pressure(units);

        t->factor = unit_convert(1, from, to);
        t->n_decimals = to->n_decimals;
        t->unit = to->label;
    }
    t->distance = visit_odometer_unit(r->n_visits > 0 ? r->visits[r->n_visits - 1].odometer_unit : 0);
    t->n_holes = t->n_lines = t->row->of_cylinder ? r->engine.n_cylinders : record_plug_count(&r->engine);
}

struct record trend_latest_visits(const struct record *r)
{
    struct record out = *r;

    if (r->n_visits > TREND_VISITS_MAX) {
        out.visits += r->n_visits - TREND_VISITS_MAX;
        out.n_visits = TREND_VISITS_MAX;
    }
    return out;
}

static int higher(const void *x, const void *y)
{
    const struct trend_end *a = x, *b = y;

    return a->y < b->y ? -1 : a->y > b->y;
}

int trend_ends_apart(struct trend_end *ends, int n, int strong, double top, double bottom, double least)
{
    const int fit = (int)((bottom - top) / least) + 1;

    if (n == 0)
        return 0;
    qsort(ends, (size_t)n, sizeof *ends, higher);
    if (n > fit) {
        int k = 0;

        for (int i = 0; i < n; i++)
            if (i < 2 || i >= n - 2 || ends[i].line == strong)
                ends[k++] = ends[i];
        n = k;
    }
    for (int i = 0; i < n; i++)
        ends[i].at = fmax(ends[i].y, i > 0 ? ends[i - 1].at + least : top);
    for (int i = n - 1; i >= 0; i--) /* and back from the bottom */
        ends[i].at = fmin(ends[i].at, i < n - 1 ? ends[i + 1].at - least : bottom);
    return n;
}

/* Index of the reading of a hole, which is a cylinder where the measure is one's. */
static int plug_of(const struct trend *t, int hole)
{
    return t->row->of_cylinder ? hole * t->r->engine.n_positions : hole;
}

int trend_hole(const struct trend *t, int visit, int line)
{
    return t->holes != NULL ? t->holes[line * t->r->n_visits + visit] : plug_of(t, line);
}

int trend_plug(const struct trend *t, int line)
{
    return trend_hole(t, t->r->n_visits - 1, line);
}

int trend_last_hole(const struct trend *t, int line)
{
    int v = t->r->n_visits - 1;

    while (v > 0 && trend_hole(t, v, line) < 0)
        v--;
    return trend_hole(t, v, line);
}

bool trend_moved(const struct trend *t, int visit, int line)
{
    if (t->holes == NULL || !trend_value(t, visit, line).given)
        return false;
    for (int v = visit - 1; v >= 0; v--)
        if (trend_value(t, v, line).given)
            return trend_hole(t, v, line) != trend_hole(t, visit, line);
    return false;
}

static struct maybe value_in(const struct trend *t, int visit, int plug)
{
    struct maybe v = plug < 0 ? (struct maybe){false, 0} : held(&t->r->visits[visit].readings[plug], t->row);

    v.value *= t->factor;
    return v;
}

struct maybe trend_value(const struct trend *t, int visit, int line)
{
    return value_in(t, visit, trend_hole(t, visit, line));
}

struct maybe trend_place(const struct trend *t, int visit)
{
    const struct visit *v = &t->r->visits[visit];
    int year, month, day;

    if (t->by_date) {
        if (!clock_parse_date(v->date, &year, &month, &day))
            return (struct maybe){false, 0};
        return MAYBE((double)clock_days(year, month, day));
    }
    return v->odometer_m.given ? MAYBE(v->odometer_m.value / t->distance->factor) : (struct maybe){false, 0};
}

static bool renewed_in(const struct trend *t, int visit, int hole)
{
    const struct visit *v = &t->r->visits[visit];
    int plug = plug_of(t, hole), cylinder = plug / t->r->engine.n_positions;

    if (t->row->of_cylinder)
        return false;
    if (visit + 1 < t->r->n_visits && v->readings[plug].plug_id[0] && v[1].readings[plug].plug_id[0] &&
        strcmp(v->readings[plug].plug_id, v[1].readings[plug].plug_id) != 0)
        return true;
    for (int i = 0; i < v->n_done; i++)
        if (strcmp(words_id(WORDS_DONE_VERB, v->done[i].verb), "replaced") == 0 && strcmp(words_id(WORDS_DONE_PART, v->done[i].part), "plug") == 0 &&
            (v->done[i].cylinders >> cylinder & 1) != 0)
            return true;
    return false;
}

bool trend_renewed_after(const struct trend *t, int visit, int line)
{
    if (t->holes == NULL)
        return renewed_in(t, visit, line);
    if (line < t->n_holes || trend_hole(t, visit, line) < 0)
        return false;
    for (int v = visit + 1; v < t->r->n_visits; v++)
        if (trend_hole(t, v, line) >= 0)
            return false;
    return true;
}

bool trend_same_plug(const struct record *r, int a, int b, int plug)
{
    const struct trend t = {.r = r, .row = &measures[0]};
    const char *one = r->visits[a].readings[plug].plug_id, *other = r->visits[b].readings[plug].plug_id;

    if (one[0] != '\0' && other[0] != '\0' && strcmp(one, other) != 0)
        return false;
    for (int v = a < b ? a : b; v < (a < b ? b : a); v++)
        if (renewed_in(&t, v, plug))
            return false;
    return true;
}

/* Which hole the plug that is in this one at the next visit came from; -1 from none. */
static int moved_from(const struct trend *t, int visit, int hole)
{
    const struct visit *v = &t->r->visits[visit];

    if (t->row->of_cylinder || visit + 1 >= t->r->n_visits || v[1].readings[hole].plug_id[0] == '\0')
        return -1;
    for (int i = 0; i < t->n_holes; i++)
        if (i != hole && strcmp(v->readings[i].plug_id, v[1].readings[hole].plug_id) == 0)
            return i;
    return -1;
}

/* Another plug in the hole, and one that was in none before. */
static bool is_new(const struct trend *t, int visit, int hole)
{
    return renewed_in(t, visit, hole) && moved_from(t, visit, hole) < 0;
}

static struct maybe set_in(const struct trend *t, int visit, int plug)
{
    struct maybe v = plug < 0 ? (struct maybe){false, 0} : t->r->visits[visit].readings[plug].gap_left_mm;

    v.value *= t->factor;
    v.given = v.given && t->row == &measures[0];
    return v;
}

struct maybe trend_set_at(const struct trend *t, int visit, int line)
{
    return set_in(t, visit, trend_hole(t, visit, line));
}

struct maybe trend_photo_pm(const struct trend *t, int visit, int line)
{
    const int plug = trend_hole(t, visit, line);
    const struct reading *q = plug < 0 ? NULL : &t->r->visits[visit].readings[plug];

    return q != NULL && t->row == &measures[0] && q->gap_from_photo ? MAYBE(q->gap_photo_pm_mm * t->factor) : (struct maybe){false, 0};
}

void trend_hole_name(const struct trend *t, int hole, char *to, size_t n_room)
{
    int plug = plug_of(t, hole), n = t->r->engine.n_positions;

    if (t->row->of_cylinder)
        text_copy(to, n_room, t->r->engine.cylinders[plug / n].label);
    else
        engine_plug_label(&t->r->engine, plug / n, plug % n, to, n_room);
}

/* Holes it was read in before the one it was read in last, the latest first; "" none. */
static void earlier_holes(const struct trend *t, int line, int last, struct text *to)
{
    bool told[ENGINE_MAX_PLUGS] = {false};
    char name[48];
    int n = 0;

    told[last] = true;
    for (int v = t->r->n_visits - 1; v >= 0; v--) {
        const int hole = trend_hole(t, v, line);

        if (hole < 0 || told[hole] || !trend_value(t, v, line).given)
            continue;
        told[hole] = true;
        trend_hole_name(t, hole, name, sizeof name);
        if (n < 2)
            text_addf(to, "%s%s", n > 0 ? ", " : "", name);
        n++;
    }
    if (n > 2)
        text_add(to, " …");
}

void trend_line_name(const struct trend *t, int line, char *to, size_t n_room)
{
    struct text before = {0};
    char name[48];
    int last;

    if (t->holes == NULL) {
        trend_hole_name(t, line, to, n_room);
        return;
    }
    last = trend_last_hole(t, line);
    trend_hole_name(t, last, name, sizeof name);
    earlier_holes(t, line, last, &before);
    if (line >= t->n_holes)
        text_format(to, n_room, "out, was %s%s%s", name, before.n_bytes > 0 ? ", " : "", text_get(&before));
    else
        text_format(to, n_room, before.n_bytes > 0 ? "%s, was %s" : "%s", name, text_get(&before));
    text_release(&before);
}

void trend_axis_words(const struct trend *t, bool of_x, char *to, size_t n_room)
{
    if (of_x && t->by_date)
        text_copy(to, n_room, "date");
    else if (of_x)
        text_format(to, n_room, "odometer, %s", t->distance->label);
    else
        text_format(to, n_room, t->unit[0] != '\0' ? "%s, %s" : "%s", t->row->label, t->unit);
}

void trend_number(const struct trend *t, double shown, char *to, size_t n_room)
{
    if (t->n_decimals == 0)
        text_from_count(to, n_room, lround(shown));
    else
        text_from_double(to, n_room, shown, t->n_decimals);
}

void trend_figure(const struct trend *t, double shown, char *to, size_t n_room)
{
    char number[32];

    trend_number(t, shown, number, sizeof number);
    text_format(to, n_room, t->unit[0] ? "%s %s" : "%s", number, t->unit);
}

double trend_limit(const struct trend *t)
{
    const struct engine_plug_spec *p = &t->r->engine.plug;

    if (t->row != &measures[0])
        return 0;
    return (p->gap_limit_mm > 0 ? p->gap_limit_mm : p->gap_max_mm) * t->factor;
}

void trend_limit_words(const struct trend *t, char *to, size_t n_room)
{
    char number[48];

    trend_figure(t, trend_limit(t), number, sizeof number);
    text_format(to, n_room, t->r->engine.plug.gap_limit_mm > 0 ? "renew at %s" : "the range ends at %s", number);
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

bool trend_range(struct trend *t)
{
    bool any_x = false, any_y = false;
    double limit = trend_limit(t);

    for (int v = 0; v < t->r->n_visits; v++) {
        struct maybe x = trend_place(t, v);
        bool used = false;

        for (int i = 0; i < t->n_lines && x.given; i++) {
            struct maybe y = trend_value(t, v, i);

            if (y.given) {
                widen(y.value, &t->y_low, &t->y_high, &any_y);
                used = true;
            }
            if (trend_set_at(t, v, i).given) { /* its ring lies within the plot */
                widen(trend_set_at(t, v, i).value, &t->y_low, &t->y_high, &any_y);
                used = true;
            }
        }
        if (used)
            widen(x.value, &t->x_low, &t->x_high, &any_x);
    }
    if (!any_y)
        return false;
    if (limit > 0)
        widen(limit, &t->y_low, &t->y_high, &any_y);
    pad(&t->x_low, &t->x_high, t->by_date ? 30 : 500, 0.05);
    pad(&t->y_low, &t->y_high, 3 * pow(10, -t->n_decimals), 0.12);
    if (t->y_low < 0)
        t->y_low = 0;
    return true;
}

int trend_latest(const struct trend *t, int line)
{
    for (int v = t->r->n_visits - 1; v >= 0; v--)
        if (trend_value(t, v, line).given)
            return v;
    return -1;
}

int trend_latest_placed(const struct trend *t, int line)
{
    for (int v = t->r->n_visits - 1; v >= 0; v--)
        if (trend_value(t, v, line).given && trend_place(t, v).given)
            return v;
    return -1;
}

int trend_spread(const struct trend *t, int visit, double *middle, double *low, double *high)
{
    double all[ENGINE_MAX_PLUGS];
    int n = 0;
    bool any = false;

    for (int i = 0; i < t->n_holes; i++) {
        struct maybe y = value_in(t, visit, plug_of(t, i));

        if (!y.given)
            continue;
        all[n++] = y.value;
        widen(y.value, low, high, &any);
    }
    if (n > 0)
        *middle = stats_median(all, n);
    return n;
}

bool trend_new_set(const struct trend *t, int visit)
{
    int n_new = 0;

    for (int i = 0; i < t->n_holes; i++)
        n_new += renewed_in(t, visit, i);
    return n_new * 2 >= t->n_holes;
}

/* "new plugs" of all, "new plug 3, 5" of some. */
static void new_plugs(const struct trend *t, int visit, struct text *to)
{
    int n = 0;
    char name[48];

    for (int i = 0; i < t->n_holes; i++)
        n += is_new(t, visit, i);
    if (n == t->n_holes || (n > 4 && n * 2 >= t->n_holes)) {
        text_add(to, n == t->n_holes ? "new plugs" : "new plugs in most holes");
        return;
    }
    for (int i = 0, k = 0; i < t->n_holes; i++)
        if (is_new(t, visit, i)) {
            trend_hole_name(t, i, name, sizeof name);
            text_addf(to, "%s%s", k > 0 ? ", " : n > 1 ? "new plugs " : "new plug ", name);
            k++;
        }
}

/* "plug from 2 bottom in 1 top", of many how many. */
static void moved_plugs(const struct trend *t, int visit, struct text *to)
{
    const int n_positions = t->r->engine.n_positions;
    char name[48], from[48];
    int n = 0;

    for (int i = 0; i < t->n_holes; i++)
        n += moved_from(t, visit, i) >= 0;
    if (n > 4)
        text_addf(to, "%s%d plugs in other holes", to->n_bytes > 0 ? "; " : "", n);
    for (int i = 0; i < t->n_holes && n <= 4; i++) {
        const int at = moved_from(t, visit, i);

        if (at < 0)
            continue;
        trend_hole_name(t, i, name, sizeof name);
        engine_plug_label(&t->r->engine, at / n_positions, at % n_positions, from, sizeof from);
        text_addf(to, "%splug from %s in %s", to->n_bytes > 0 ? "; " : "", from, name);
    }
}

void trend_change_words(const struct trend *t, int visit, char *to, size_t n_room)
{
    const struct visit *v = &t->r->visits[visit];
    const bool of_plug = !t->row->of_cylinder;
    struct text s = {0};
    bool set = false;

    if (of_plug)
        new_plugs(t, visit, &s);
    if (of_plug)
        moved_plugs(t, visit, &s);
    for (int i = 0; i < t->n_holes; i++)
        set = set || (set_in(t, visit, plug_of(t, i)).given && !renewed_in(t, visit, i));
    if (set)
        text_addf(&s, "%sgaps set", s.n_bytes > 0 ? "; " : "");
    for (int i = 0; i < v->n_done; i++) {
        char words[200];

        if (strcmp(words_id(WORDS_DONE_PART, v->done[i].part), "plug") == 0) /* told above, where it bears on the measure */
            continue;
        visit_done_words(&t->r->engine, &v->done[i], words, sizeof words);
        text_addf(&s, "%s%s", s.n_bytes > 0 ? "; " : "", words);
    }
    text_copy(to, n_room, text_get(&s));
    text_release(&s);
}

bool trend_fit(const struct trend *t, int line, struct stats_trend *out, int *n_readings, double *x0)
{
    double x[TREND_FIT_MAX], y[TREND_FIT_MAX];
    int n = 0, from = 0, last = t->r->n_visits - 1;

    for (int v = 0; v < last; v++) {
        if (trend_renewed_after(t, v, line))
            from = v + 1;
        else if (trend_set_at(t, v, line).given)
            from = v;
    }
    for (int v = from; v <= last; v++) {
        struct maybe px = trend_place(t, v), set = trend_set_at(t, v, line), py = v == from && v < last && set.given ? set : trend_value(t, v, line);

        if (!px.given || !py.given)
            continue;
        if (n == TREND_FIT_MAX) {
            memmove(x, x + 1, sizeof x - sizeof x[0]);
            memmove(y, y + 1, sizeof y - sizeof y[0]);
            n--;
        }
        x[n] = px.value;
        y[n++] = py.value;
    }
    *n_readings = n;
    if (n < 2 || !stats_theil_sen(x, y, n, 0.95, out))
        return false;
    *x0 = x[0];
    return true;
}

void trend_left_words(const struct trend *t, const struct wear *w, int line, char *to, size_t n_room)
{
    to[0] = '\0';
    if (t->row != &measures[0] || w == NULL || line >= t->n_holes || !w->plugs[line].left.given)
        return;
    if (w->plugs[line].left.value <= 0)
        text_copy(to, n_room, "past the limit");
    else
        wear_format_left_range(&w->plugs[line], t->r->visits[t->r->n_visits - 1].odometer_unit, to, n_room);
}

double trend_step(double range, int n)
{
    double raw = range / n, power = pow(10, floor(log10(raw))), part = raw / power;

    return power * (part <= 1 ? 1 : part <= 2 ? 2 : part <= 5 ? 5 : 10);
}

void trend_day_words(double days, char *to, size_t n_room)
{
    /* the calendar of a count of days: years of 365.2425 days are near enough to find the month's first */
    int year = 1970 + (int)floor(days / 365.2425), month = 12;

    while (month > 1 && (double)clock_days(year, month, 1) > days)
        month--;
    text_format(to, n_room, "%04d-%02d", year, month);
}
