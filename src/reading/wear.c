#include "reading/wear.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/units.h"
#include "reading/reading_work.h"
#include "reading/stats.h"

#define BIT(i) ((engine_set)1 << (i))

/* ---- following a plug back ---- */

static bool is_hours(int odometer_unit)
{
    return odometer_unit != 0 && odometer_unit == words_find(WORDS_ODOMETER_UNIT, "h");
}

static double scale(const struct wear *w)
{
    return w->hours ? 100 * 3600.0 : 1e6; /* 100 h in seconds, 1000 km in metres */
}

/* What was done to the plug in this hole after visit k: replaced ends its history, a swap tells where it was
 * before, an adjustment set its gap. */
static bool follow_done(const struct engine *en, const struct visit *v, int *plug, bool *set)
{
    int cylinder = *plug / en->n_positions, position = *plug % en->n_positions;

    for (int i = v->n_done - 1; i >= 0; i--) { /* the last work first: going back */
        const struct visit_done *d = &v->done[i];

        if (d->part != words_find(WORDS_DONE_PART, "plug"))
            continue;
        if (d->verb == words_find(WORDS_DONE_VERB, "swapped") && d->from >= 0) {
            cylinder = cylinder == d->from ? d->to : cylinder == d->to ? d->from : cylinder;
            *plug = cylinder * en->n_positions + position;
        } else if ((d->cylinders & BIT(cylinder)) != 0) {
            if (d->verb == words_find(WORDS_DONE_VERB, "replaced"))
                return false;
            *set = *set || d->verb == words_find(WORDS_DONE_VERB, "adjusted");
        }
    }
    return true;
}

/* Where the plug of that name was at visit k; the given hole when nobody named the plug there; -1 when
 * another plug is named there and this one nowhere. */
static int find_named(const struct engine *en, const struct visit *v, const char *name, int hole)
{
    if (name[0] == '\0')
        return hole;
    for (int i = 0; i < record_plug_count(en); i++)
        if (strcmp(v->readings[i].plug_id, name) == 0)
            return i;
    return v->readings[hole].plug_id[0] == '\0' ? hole : -1;
}

/* A plug on its way back through the visits. */
struct followed {
    char name[40]; /* "" nobody named it */
    int hole;      /* after the visit that comes next */
    bool set;      /* its gap was adjusted after that visit */
};

/* One visit back, to v; false: it was not in the engine then, or nothing tells. */
static bool step_back(const struct engine *en, const struct visit *v, struct followed *f)
{
    f->set = false;
    const bool same = follow_done(en, v, &f->hole, &f->set);

    f->hole = find_named(en, v, f->name, f->hole);
    return f->hole >= 0 && (same || (f->name[0] != '\0' && strcmp(v->readings[f->hole].plug_id, f->name) == 0));
}

void wear_follow_plug(const struct record *r, int visit, int hole, short *holes)
{
    struct followed f = {.hole = hole};
    bool lost = false;

    text_copy(f.name, sizeof f.name, r->visits[visit].readings[hole].plug_id);
    holes[visit] = (short)hole;
    for (int k = visit - 1; k >= 0; k--) {
        const struct visit *v = &r->visits[k];

        holes[k] = -1;
        if (lost) { /* it lay aside: only its name finds it again */
            for (int i = 0; i < record_plug_count(&r->engine) && f.name[0] != '\0'; i++)
                if (strcmp(v->readings[i].plug_id, f.name) == 0)
                    f.hole = i, lost = false;
            holes[k] = (short)(lost ? -1 : f.hole);
        } else if (step_back(&r->engine, v, &f)) {
            holes[k] = (short)f.hole;
            if (f.name[0] == '\0')
                text_copy(f.name, sizeof f.name, v->readings[f.hole].plug_id);
        } else {
            lost = true;
        }
    }
}

static void add_point(struct wear_plug *p, double x, double gap_mm)
{
    if (p->n_points == WEAR_MAX_POINTS)
        return;
    p->x[p->n_points] = x;
    p->gap_mm[p->n_points++] = gap_mm;
}

static void trace(const struct record *r, const struct wear *w, int hole, struct wear_plug *p)
{
    const struct engine *en = &r->engine;
    const struct visit *now = record_current(r);
    const struct reading *last = &now->readings[hole];
    struct followed f = {.hole = hole};
    int from = r->n_visits - 1; /* the last one looked at whose odometer counts */

    text_copy(f.name, sizeof f.name, last->plug_id);
    if (!last->gap_mm.given || !now->odometer_m.given)
        return;
    add_point(p, now->odometer_m.value / scale(w), last->gap_mm.value);
    for (int k = r->n_visits - 2; k >= 0; k--) {
        const struct visit *v = &r->visits[k];
        const struct reading *x;
        double at;

        if (!step_back(en, v, &f))
            return;
        x = &v->readings[f.hole];
        if (v->odometer_m.given && is_hours(v->odometer_unit) == w->hours && v->odometer_m.value / scale(w) > p->x[p->n_points - 1])
            return; /* the odometer went back since: nothing is computed across it */
        if (record_odometer_leapt(r, from) >= k)
            return; /* nor where it has a digit too many */
        if (!v->odometer_m.given || is_hours(v->odometer_unit) != w->hours) {
            if (f.set || x->gap_left_mm.given)
                return;
            continue;
        }
        at = v->odometer_m.value / scale(w);
        from = k;
        /* it has not run as far as that: another plug was in the hole (a fiftieth for rounding) */
        if (last->plug_distance_m.given && (now->odometer_m.value - v->odometer_m.value) * 0.98 > last->plug_distance_m.value)
            return;
        if (x->gap_left_mm.given && (!x->gap_mm.given || f.set || fabs(x->gap_left_mm.value - x->gap_mm.value) > 0.02)) {
            add_point(p, at, x->gap_left_mm.value);
            return;
        }
        if (f.set)
            return;
        if (x->gap_mm.given)
            add_point(p, at, x->gap_mm.value);
    }
}

/* ---- growth ---- */

static void oldest_first(struct wear_plug *p)
{
    for (int i = 0, k = p->n_points - 1; i < k; i++, k--) {
        double x = p->x[i], gap = p->gap_mm[i];

        p->x[i] = p->x[k];
        p->gap_mm[i] = p->gap_mm[k];
        p->x[k] = x;
        p->gap_mm[k] = gap;
    }
}

static double span(const struct wear_plug *p)
{
    return p->x[p->n_points - 1] - p->x[0];
}

static void grow(struct wear_plug *p)
{
    struct stats_trend t;
    double gauge;

    /* under 200 km (20 h) the gauge tells nothing */
    if (p->n_points < 2 || span(p) < 0.2 || !stats_theil_sen(p->x, p->gap_mm, p->n_points, 0.95, &t))
        return;
    gauge = 2 * WEAR_GAUGE_MM / span(p);
    p->known = true;
    p->rate = t.slope;
    p->rate_low = fmin(t.slope_low, t.slope - gauge);
    p->rate_high = fmax(t.slope_high, t.slope + gauge);
    p->shrunk = t.slope * span(p) < -WEAR_RISE_MM;
    p->known = !p->shrunk;
}

/* Beyond what its readings are off, by itself. */
static bool grew(const struct wear_plug *p)
{
    return p->known && p->rate * span(p) > WEAR_RISE_MM;
}

/* A growth within what the readings are off is told of no plug; of many together it may be. */
static void tell(struct wear *w, int n_plugs)
{
    w->known = w->n_known > 0 && w->rate * w->least_span > WEAR_RISE_MM / sqrt(w->n_known);
    w->within = w->n_known > 0 && !w->known;
    for (int i = 0; i < n_plugs; i++)
        w->plugs[i].known = w->plugs[i].known && (w->known || grew(&w->plugs[i]));
}

static void distance_left(const struct wear *w, struct wear_plug *p)
{
    /* a plug whose own readings tell nothing is taken as the others are */
    double rate = grew(p) ? p->rate : w->rate, low = grew(p) ? p->rate_low : w->rate_low, high = grew(p) ? p->rate_high : w->rate_high;
    double room;
    bool bounded = false; /* of whose rate it is: so few readings give a growth and no bound of it */

    for (int i = 0; i < ENGINE_MAX_PLUGS; i++)
        bounded = bounded || (w->plugs[i].known && w->plugs[i].n_points >= WEAR_SURE_FROM);
    bounded = grew(p) ? p->n_points >= WEAR_SURE_FROM : bounded;
    if (p->n_points == 0 || (!w->known && !p->known) || p->shrunk || !(w->limit_mm > 0))
        return;
    room = fmax(0, w->limit_mm - p->gap_mm[p->n_points - 1]);
    if (rate > 0)
        p->left = MAYBE(room / rate * scale(w));
    if (bounded && high > 0)
        p->left_low = MAYBE(room / high * scale(w));
    if (bounded && low > 0)
        p->left_high = MAYBE(room / low * scale(w));
}

void wear_of(const struct record *r, struct wear *out)
{
    const struct engine_plug_spec *spec = &r->engine.plug;
    double rates[ENGINE_MAX_PLUGS];

    memset(out, 0, sizeof *out);
    out->hours = is_hours(record_current(r)->odometer_unit);
    out->limit_mm = spec->gap_limit_mm > 0 ? spec->gap_limit_mm : spec->gap_max_mm;
    for (int i = 0; i < record_plug_count(&r->engine); i++) {
        struct wear_plug *p = &out->plugs[i];

        trace(r, out, i, p);
        oldest_first(p);
        grow(p);
        if (!p->known)
            continue;
        out->least_span = out->n_known == 0 ? span(p) : fmin(out->least_span, span(p));
        out->rate_low = out->n_known == 0 ? p->rate : fmin(out->rate_low, p->rate);
        out->rate_high = out->n_known == 0 ? p->rate : fmax(out->rate_high, p->rate);
        rates[out->n_known++] = p->rate;
    }
    if (out->n_known > 0)
        out->rate = stats_median(rates, out->n_known);
    tell(out, record_plug_count(&r->engine));
    for (int i = 0; i < record_plug_count(&r->engine); i++)
        distance_left(out, &out->plugs[i]);
}

/* ---- what stands out of it ---- */

struct wear_unit wear_unit_of(const struct wear *w, int odometer_unit, bool inches)
{
    static const char *const runs[] = {"1,000 km", "1,000 mi", "100 h"};
    static const char *const wholes[2][3] = {{"mm per 1,000 km", "mm per 1,000 mi", "mm per 100 h"}, {"in per 1,000 km", "in per 1,000 mi", "in per 100 h"}};
    const struct unit *odometer = visit_odometer_unit(odometer_unit);
    bool miles = !w->hours && strcmp(odometer->id, "mi") == 0;

    const int run = w->hours ? 2 : miles ? 1 : 0;

    return (struct wear_unit){(miles ? odometer->factor / unit_find("km")->factor : 1) / (inches ? unit_find("in")->factor : 1), inches ? 4 : 3, inches ? "in" : "mm", runs[run], wholes[inches][run]};
}

static struct wear_unit told_in(const struct work *w)
{
    return wear_unit_of(w->wear, w->v->odometer_unit, w->options->units.inches);
}

/* "0.010", "0.0006" of an inch. */
static void growth(const struct work *w, double rate, char *to, size_t n_room)
{
    struct wear_unit u = told_in(w);

    text_from_double(to, n_room, rate * u.factor, u.n_decimals);
}

/* What is unlike its neighbours is told as the person counts. */
static void tell_growth(const struct work *w, struct measure *m)
{
    struct wear_unit u = told_in(w);

    m->told_unit = u.whole;
    m->told_factor = u.factor;
    m->told_decimals = u.n_decimals;
}

/* The growth becomes a measure like any other; what the gauge cannot tell over the distance run is no
 * difference. */
void work_wear_measure(struct work *w)
{
    struct measure *m = &w->measures[w->n_measures];
    struct threshold *t = arena_alloc(w->a, 1, sizeof *t);

    w->wear = arena_alloc(w->a, 1, sizeof *w->wear);
    wear_of(w->r, w->wear);
    if (w->wear->n_known == 0 || w->n_measures == MEASURE_MAX)
        return;
    measure_init(m, MEASURE_GROWTH, w->wear->hours ? "gap_growth_hours" : "gap_growth");
    tell_growth(w, m);
    *t = *m->threshold;
    t->resolution = fmax(t->resolution, 2 * WEAR_GAUGE_MM / w->wear->least_span);
    t->counts_from = fmax(t->counts_from, 1.2 * t->resolution);
    t->always_from = fmax(t->always_from, 2 * t->resolution);
    m->threshold = t;
    for (int i = 0; i < record_plug_count(w->en); i++)
        if (w->wear->plugs[i].rate_high > 0 && !w->wear->plugs[i].shrunk) /* all that have a run: a fast one is unlike those that stand still */
            measure_put(m, i, w->wear->plugs[i].rate);
    w->n_measures++;
}

static void left_number(double metres, const struct unit *u, char *to, size_t n_room)
{
    double x = metres / u->factor, step = x > 0 ? pow(10, floor(log10(x)) - 1) : 1;

    text_from_count(to, n_room, lround(round(x / step) * step));
}

void wear_format_left(double metres, int odometer_unit, char *to, size_t n_room)
{
    const struct unit *u = visit_odometer_unit(odometer_unit);
    char number[32];

    left_number(metres, u, number, sizeof number);
    text_format(to, n_room, "%s %s", number, u->label);
}

void wear_format_left_range(const struct wear_plug *p, int odometer_unit, char *to, size_t n_room)
{
    const struct unit *u = visit_odometer_unit(odometer_unit);
    char left[32], low[32], high[32];

    left_number(p->left.value, u, left, sizeof left);
    left_number(p->left_low.given ? p->left_low.value : p->left.value, u, low, sizeof low);
    if (p->left_high.given) {
        left_number(p->left_high.value, u, high, sizeof high);
        text_format(to, n_room, "%s %s left (%s–%s)", left, u->label, low, high);
    } else if (p->left_low.given) {
        text_format(to, n_room, "%s %s left (at least %s)", left, u->label, low);
    } else {
        text_format(to, n_room, "%s %s left", left, u->label);
    }
}

static struct stand_out *add(struct work *w, engine_set set, enum level level)
{
    struct stand_out *s = work_add_stand_out(w);

    s->kind = STAND_WEAR;
    s->cylinders = set;
    s->level = level;
    work_where(w, set, -1, s->where, sizeof s->where);
    text_copy(s->measure, sizeof s->measure, w->wear->hours ? "gap_growth_hours" : "gap_growth");
    text_copy(s->unit, sizeof s->unit, threshold_find(s->measure)->unit);
    return s;
}

/* The plug with the least distance left. */
static int nearest(const struct work *w)
{
    int found = -1;

    for (int i = 0; i < record_plug_count(w->en); i++)
        if (w->wear->plugs[i].left.given && (found < 0 || w->wear->plugs[i].left.value < w->wear->plugs[found].left.value))
            found = i;
    return found;
}

/* How far the plug has to go; graver when it will not last as far as it has run since the last visit. */
static void left_words(const struct work *w, int plug, struct stand_out *s)
{
    const struct wear_plug *p = &w->wear->plugs[plug];
    const struct visit *before = w->r->n_visits > 1 ? &w->r->visits[w->r->n_visits - 2] : NULL;
    char name[48], left[48], low[48], high[48], limit[24], now[24];
    struct text t = {0};

    engine_plug_label(w->en, work_cylinder(w, plug), work_position(w, plug), name, sizeof name);
    wear_format_left(p->left.value, w->v->odometer_unit, left, sizeof left);
    wear_format_left(p->left_low.given ? p->left_low.value : p->left.value, w->v->odometer_unit, low, sizeof low);
    work_gap(w, w->wear->limit_mm, limit, sizeof limit);
    work_gap(w, p->gap_mm[p->n_points - 1], now, sizeof now);
    text_addf(&t, "%s Nearest to %s is %s at %s: about %s left", s->text, limit, name, now, left);
    if (p->left_low.given && p->left_high.given) {
        wear_format_left(p->left_high.value, w->v->odometer_unit, high, sizeof high);
        text_addf(&t, " (%s to %s).", low, high);
    } else if (p->left_low.given) {
        text_addf(&t, " (at least %s).", low);
    } else {
        text_add(&t, ".");
    }
    text_copy(s->text, sizeof s->text, t.s);
    text_release(&t);
    if (before == NULL || !before->odometer_m.given || p->left.value >= w->v->odometer_m.value - before->odometer_m.value)
        return;
    s->level = LEVEL_WATCH;
    s->cylinders = BIT(work_cylinder(w, plug));
    s->position = work_position(w, plug);
    work_where(w, s->cylinders, s->position, s->where, sizeof s->where);
    text_copy(s->odds, sizeof s->odds, "past the limit before the next visit, if that is as far off as the last one was");
}

/* They are by distance: an engine that counts hours is told them as they are. */
static void published_words(const struct work *w, char *to, size_t n_room)
{
    static const double rates[] = {0.003, 0.009, 0.010, 0.015, 0.016}; /* mm per 1,000 km; docs/how-it-computes.md says whose */
    struct wear_unit u = told_in(w);
    char words[5][24];

    if (w->wear->hours)
        u = (struct wear_unit){1, 3, "mm", "1,000 km", "mm per 1,000 km"};
    for (int i = 0; i < 5; i++)
        text_from_double(words[i], sizeof words[i], rates[i] * u.factor, u.n_decimals);
    text_format(to, n_room, "%s to %s, %s to %s, at most %s %s per %s", words[0], words[1], words[2], words[3], words[4], u.length, u.run);
}

static void engine_wear(struct work *w)
{
    const struct wear *x = w->wear;
    int soon = nearest(w);
    struct stand_out *s = add(w, 0, LEVEL_NOTE);
    char rate[24], low[24], high[24], published[160], gauge[24];

    s->value = MAYBE(x->rate);
    growth(w, x->rate, rate, sizeof rate);
    growth(w, x->rate_low, low, sizeof low);
    growth(w, x->rate_high, high, sizeof high);
    text_format(s->headline, sizeof s->headline, "Gaps grow by %s %s per %s", rate, told_in(w).length, told_in(w).run);
    if (x->n_known == 1)
        text_copy(s->text, sizeof s->text, "From the history of one plug.");
    else
        text_format(s->text, sizeof s->text, "The middle of %d plugs with a history, from %s to %s.", x->n_known, low, high);
    if (soon >= 0 && x->plugs[soon].left.value > 0)
        left_words(w, soon, s);
    published_words(w, published, sizeof published);
    work_gap(w, WEAR_GAUGE_MM, gauge, sizeof gauge);
    text_format(s->how, sizeof s->how,
                "Theil–Sen slope of each plug's gaps over the odometer, a plug followed by its name, through swaps, until it or its gap was "
                "renewed. Limits: the wider of Sen's 95 %% and the gauge's ±%s at both ends. The engine's rate is the median of its plugs; "
                "published rates do not overlap (%s for nickel; none for precious metal).",
                gauge, published);
    if (!(x->limit_mm > 0))
        work_add_line(w, &s->missing, "the gap at which to renew, on the engine's card");
    for (int i = 0; i < record_plug_count(w->en); i++)
        if (x->plugs[i].n_points == 1) {
            work_add_line(w, &s->missing, "an earlier gap of the plugs that have none yet");
            break;
        }
}

static bool any_shrunk(const struct wear *x, int n_plugs)
{
    for (int i = 0; i < n_plugs; i++)
        if (x->plugs[i].shrunk)
            return true;
    return false;
}

/* Plugs whose whole range of growth lies above a figure. */
static engine_set beyond(const struct work *w, double figure, double *worst)
{
    engine_set set = 0;

    for (int i = 0; i < record_plug_count(w->en); i++) {
        const struct wear_plug *p = &w->wear->plugs[i];

        if (!p->known || p->rate_low <= figure)
            continue;
        *worst = set == 0 ? p->rate : fmax(*worst, p->rate);
        set |= BIT(work_cylinder(w, i));
    }
    return set;
}

void work_wear(struct work *w)
{
    double worst = 0;
    engine_set fast, shrunk, told = 0;
    char words[160], rate[24], bound[24];
    struct stand_out *s;

    if (w->wear->n_known == 0 && !any_shrunk(w->wear, record_plug_count(w->en))) {
        if (w->r->n_visits > 1 && measure_find(w->measures, w->n_measures, "gap") != NULL && !w->v->odometer_m.given)
            work_add_line(w, &w->f->notes, "How fast the gaps grow cannot be told: the odometer of this visit is not noted.");
        return;
    }
    for (int i = 0; i < w->f->n_stand_outs; i++) /* unlike the others: told already */
        if (w->f->stand_outs[i].kind == STAND_WEAR)
            told |= w->f->stand_outs[i].cylinders;
    if (w->wear->known)
        engine_wear(w);
    else if (w->wear->within) {
        char off[24];

        work_gap(w, WEAR_GAUGE_MM, off, sizeof off);
        work_add_line(w, &w->f->notes, "How fast the gaps grow cannot be told yet: what changed since the earlier readings lies within the gauge's ±%s at both ends.", off);
    }
    fast = !w->wear->hours && w->en->plug.electrode == ENGINE_NICKEL ? beyond(w, WEAR_NICKEL_BOUND_MM, &worst) : 0;
    if ((fast & ~told) != 0) {
        s = add(w, fast, LEVEL_WATCH);
        s->value = MAYBE(worst);
        s->reference = MAYBE(WEAR_NICKEL_BOUND_MM);
        engine_set_words(w->en, fast, words, sizeof words);
        text_format(s->headline, sizeof s->headline, "Gap grows fast: %s", words);
        growth(w, worst, rate, sizeof rate);
        growth(w, WEAR_NICKEL_BOUND_MM, bound, sizeof bound);
        text_format(s->text, sizeof s->text, "%s %s per %s%s; %s is the most that is printed for ordinary driving on nickel. Clearly faster points to overheating.", rate,
                    told_in(w).length, told_in(w).run, __builtin_popcount(fast) > 1 ? " at most" : "", bound);
        text_format(s->how, sizeof s->how, "Even the lower limit of its growth lies above the bound of %s %s per %s (printed as 0.001 in per 1,000 mi: Dodge Ram 1998 and Jeep Grand Cherokee manuals).", bound,
                    told_in(w).length, told_in(w).run);
        work_add_line(w, &s->missing, "how the noses look: an overheated one is white or blistered");
    }
    shrunk = 0;
    for (int i = 0; i < record_plug_count(w->en); i++)
        if (w->wear->plugs[i].shrunk && w->wear->plugs[i].rate_high < 0) {
            worst = shrunk == 0 ? w->wear->plugs[i].rate : fmin(worst, w->wear->plugs[i].rate);
            shrunk |= BIT(work_cylinder(w, i));
        }
    if (shrunk != 0) {
        s = add(w, shrunk, LEVEL_NOTE);
        s->value = MAYBE(worst);
        s->reference = MAYBE(0);
        engine_set_words(w->en, shrunk, words, sizeof words);
        text_format(s->headline, sizeof s->headline, "Gap is smaller than it was: %s", words);
        text_copy(s->text, sizeof s->text, "By more than a gauge errs. Gaps do not shrink: it was set, it is another plug, or something fills or bent it.");
        text_copy(s->how, sizeof s->how, "Even the upper limit of its growth lies below 0.");
        work_add_line(w, &s->missing, "whether the plug was changed or its gap set since the last visit");
    }
}
