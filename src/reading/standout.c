/* standout.c - one plug against the others, on every measure and against every kind of neighbour; gaps
 * against the range on the engine's card. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "reading/reading_work.h"
#include "reading/stats.h"

#define BIT(i) ((engine_set)1 << (i))

/* ---- neighbours of one plug ---- */

/* The kinds of neighbour: those of the cylinder (engine_kin), and two of the plug. */
enum kin {
    KIN_ALL = ENGINE_KIN_COUNT, /* every other plug */
    KIN_POSITION,               /* the same position of the other cylinders, where there are several */
    KIN_CYLINDER,               /* the other plugs of the same cylinder */
    KIN_COUNT
};

static const char *kin_words(int kin)
{
    return kin == KIN_ALL        ? "all others"
           : kin == KIN_POSITION ? "the same position of the other cylinders"
           : kin == KIN_CYLINDER ? "the other plugs of its cylinder"
                                 : engine_kin_words((enum engine_kin)kin);
}

static bool is_kin(const struct work *w, int kin, int plug, int other)
{
    int c = work_cylinder(w, plug), d = work_cylinder(w, other);

    switch (kin) {
    case KIN_ALL: return true;
    case KIN_POSITION: return w->en->n_positions > 1 && work_position(w, plug) == work_position(w, other);
    case KIN_CYLINDER: return c == d;
    default: return (engine_kin(w->en, c, (enum engine_kin)kin) & BIT(d)) != 0;
    }
}

/* The others of one kind, for one plug: leave-one-out by construction. */
struct against {
    int n;
    double middle, low, high, spread;
    double value[ENGINE_MAX_PLUGS];
};

/* Factor that makes 1.4826 x MAD of n normal values right on average: Croux and Rousseeuw, "Time-efficient
 * algorithms for two highly robust estimators of scale", COMPSTAT 1992; n/(n - 0.8) above 9. */
static double small_sample(int n)
{
    static const double factor[] = {1, 1, 1.196, 1.495, 1.363, 1.206, 1.200, 1.140, 1.129, 1.107};

    return n < 10 ? factor[n] : n / (n - 0.8);
}

static struct against against(const struct work *w, const struct measure *m, int i, int kin)
{
    struct against o = {.low = INFINITY, .high = -INFINITY};

    for (int q = 0; q < m->n; q++)
        if (q != i && is_kin(w, kin, m->plug[i], m->plug[q])) {
            o.value[o.n++] = m->value[q];
            o.low = fmin(o.low, m->value[q]);
            o.high = fmax(o.high, m->value[q]);
        }
    if (o.n > 0) {
        o.middle = stats_median(o.value, o.n);
        o.spread = fmax(1.4826 * small_sample(o.n) * stats_mad(o.value, o.n), threshold_least_spread(m->threshold, o.middle));
    }
    return o;
}

/* A difference in the direction that counts; 0 in the other one. */
static double difference(const struct measure *m, double value, double middle)
{
    double d = value - middle;

    return (m->worse > 0 && d < 0) || (m->worse < 0 && d > 0) ? 0 : d;
}

/* A single one against the median of n others scatters by sqrt(1 + pi/(2 n)) of their spread: the median
 * of n normal values has pi/(2 n) of their variance. */
static double of_one(const struct against *o)
{
    return o->spread * sqrt(1 + 3.14159265358979323846 / 2 / o->n);
}

/* Iglewicz and Hoaglin (1993) flag a modified z-score above 3.5. With three readings the other two are too
 * few for a spread: they must agree, and the difference must be half as large again. */
static bool differs(const struct measure *m, int i, const struct against *o)
{
    double d = fabs(difference(m, m->value[i], o->middle)), from = threshold_counts_from(m->threshold, o->middle), eps = 1e-9 * (1 + fabs(o->middle));

    if (o->n < 2 || !m->threshold->compared)
        return false;
    if (o->n == 2)
        return o->high - o->low < from && d >= 1.5 * from - eps;
    return d >= threshold_always_from(m->threshold, o->middle) - eps || (d >= from - eps && d > 3.5 * of_one(o));
}

/* Groups large enough to have an own "usual": what is usual there speaks before what is usual in the whole
 * engine, since a whole bank that differs is a pattern and no odd plug. */
static const int groups[] = {ENGINE_KIN_BANK, ENGINE_KIN_MIXTURE, KIN_POSITION};

/* When more than a third of a group lies off its middle there is no usual in it. */
static bool is_usual(const struct measure *m, const struct against *o)
{
    int n_off = 1; /* the plug itself */

    for (int k = 0; k < o->n; k++)
        n_off += fabs(o->value[k] - o->middle) >= threshold_counts_from(m->threshold, o->middle);
    return 3 * n_off <= o->n + 1;
}

/* Blades of a feeler gauge come in steps of 0.05 mm, and a figure is the thickest that goes in: two that read a step apart may be alike
 * (common practice, no source). */
#define GAP_BLADE_MM 0.05

/* A gap as the book wants it that lies a blade's step from others: nobody sets it anew. Those it is like are to be a quarter of the others at
 * least, so that one as odd as it makes none usual. */
static bool is_as_others_by_blade(const struct work *w, const struct measure *m, int i)
{
    const struct engine_plug_spec *spec = &w->en->plug;
    int n_near = 0;

    if (m->kind != MEASURE_GAP || spec->gap_min_mm <= 0 || spec->gap_max_mm <= 0 || m->value[i] < spec->gap_min_mm - 1e-9 || m->value[i] > spec->gap_max_mm + 1e-9)
        return false;
    for (int k = 0; k < m->n; k++)
        n_near += k != i && fabs(m->value[k] - m->value[i]) <= GAP_BLADE_MM + 1e-9;
    return n_near > 0 && 4 * n_near >= m->n - 1;
}

/* Against whom the plug is unlike; -1: against nobody. */
static int judge(const struct work *w, const struct measure *m, int i, struct against *o)
{
    int found = -1;

    *o = against(w, m, i, KIN_ALL);
    if (is_as_others_by_blade(w, m, i))
        return -1;
    if (differs(m, i, o))
        found = KIN_ALL;
    for (size_t g = 0; g < sizeof groups / sizeof groups[0]; g++) {
        struct against own = against(w, m, i, groups[g]);

        if (own.n < 3 || own.n + 1 == m->n)
            continue;
        if (differs(m, i, &own)) {
            if (found < 0 && is_usual(m, &own)) {
                found = groups[g];
                *o = own;
            }
        } else if (found == KIN_ALL && groups[g] != KIN_POSITION) {
            return -1; /* like the others of its bank or carburettor: the pattern tells it */
        }
    }
    return found;
}

/* ---- visits before ---- */

/* Whether the same plug hole differed as much from the same others at the last visit that can tell. */
static bool lasted(const struct work *w, const struct measure *m, int i, int kin, double d, char *date, size_t n_room)
{
    for (int k = w->r->n_visits - 2; k >= 0; k--) {
        struct measure *then = arena_alloc(w->a, MEASURE_MAX, sizeof *then);
        int n = measure_collect(w->r, &w->r->visits[k], then);
        const struct measure *t = measure_find(then, n, m->id);

        for (int q = 0; t != NULL && q < t->n; q++)
            if (t->plug[q] == m->plug[i]) {
                struct against o = against(w, t, q, kin);
                double before = t->value[q] - o.middle, from = threshold_counts_from(m->threshold, o.middle);

                if (o.n == 0)
                    break;
                text_copy(date, n_room, w->r->visits[k].date[0] ? w->r->visits[k].date : "the visit before");
                return fabs(before - d) < from && fabs(before) >= 0.7 * from && before * d > 0;
            }
    }
    return false;
}

/* ---- in words ---- */

static void figure(const struct measure *m, double value, char *to, size_t n_room)
{
    if (m->kind == MEASURE_SIGN)
        text_copy(to, n_room, amount_words((int)lround(fmin(3, fmax(0, value)))));
    else if ((m->kind == MEASURE_COMPRESSION || m->kind == MEASURE_COMPRESSION_WET) && m->told_decimals == 0)
        text_from_count(to, n_room, lround(value * m->told_factor));
    else
        text_from_double(to, n_room, value * m->told_factor, m->told_decimals);
}

static void capital(char *s)
{
    if (s[0] >= 'a' && s[0] <= 'z')
        s[0] = (char)(s[0] - 'a' + 'A');
}

/* A gap that was measured in a photo, no feeler gauge being there or being trusted less. */
static bool from_photo(const struct work *w, const struct measure *m, int i)
{
    return m->kind == MEASURE_GAP && w->v->readings[m->plug[i]].gap_from_photo;
}

static void missing_gauge(struct work *w, const struct measure *m, int i, struct stand_out *s)
{
    char name[48];

    if (!from_photo(w, m, i) || w->v->readings[m->plug[i]].gap_gauge_mm.given)
        return;
    engine_plug_label(w->en, work_cylinder(w, m->plug[i]), work_position(w, m->plug[i]), name, sizeof name);
    work_add_line(w, &s->missing, "the feeler gauge at %s: its gap was measured in a photo", name);
}

static void photo_pm(const struct work *w, const struct measure *m, int i, const char *words, struct text *t)
{
    char pm[24];

    text_from_double(pm, sizeof pm, w->v->readings[m->plug[i]].gap_photo_pm_mm * m->told_factor, m->told_decimals);
    text_addf(t, "%s, ± %s", words, pm);
}

static void write_text(const struct work *w, const struct measure *m, int i, int kin, const struct against *o, struct stand_out *s)
{
    int c = work_cylinder(w, m->plug[i]), bank = w->en->cylinders[c].bank;
    char value[32], lo[32], hi[32], middle[32];
    const char *gap = m->told_unit[0] ? " " : "";
    struct text t = {0};

    figure(m, m->value[i], value, sizeof value);
    figure(m, o->low, lo, sizeof lo);
    figure(m, o->high, hi, sizeof hi);
    figure(m, o->middle, middle, sizeof middle);
    text_addf(&t, "%s%s%s", value, gap, m->told_unit);
    if (from_photo(w, m, i))
        photo_pm(w, m, i, " from a photo", &t);
    if (w->en->n_banks > 1)
        text_addf(&t, " (bank %s)", w->en->banks[bank].name);
    text_addf(&t, "; the other %d%s", o->n, kin == ENGINE_KIN_BANK      ? " of its bank"
                                              : kin == ENGINE_KIN_MIXTURE ? " on its carburettor or rail"
                                              : kin == KIN_POSITION       ? " in the same position"
                                                                          : "");
    if (strcmp(lo, hi) == 0)
        text_addf(&t, " all read %s%s%s.", lo, gap, m->told_unit);
    else
        text_addf(&t, " lie at %s–%s%s%s, the middle one at %s.", lo, hi, gap, m->told_unit, middle);
    capital(t.s);
    text_copy(s->text, sizeof s->text, t.s);
    text_release(&t);
}

static void write_how(const struct work *w, const struct measure *m, int i, int kin, const struct against *o, struct stand_out *s)
{
    const struct threshold *t = m->threshold;
    char spread[32], d[32], from[32], always[32];
    int decimals = m->kind == MEASURE_SIGN ? 1 : m->told_decimals;
    const double k = m->told_factor;
    struct text how = {0};
    char reason[sizeof t->reason];

    unit_tell_words(&w->options->units, t->reason, reason, sizeof reason);
    text_from_double(spread, sizeof spread, o->spread * k, decimals + (m->n_decimals > 0));
    text_from_double(d, sizeof d, (m->value[i] - o->middle) * k, decimals);
    text_from_double(from, sizeof from, threshold_counts_from(t, o->middle) * k, decimals);
    text_from_double(always, sizeof always, threshold_always_from(t, o->middle) * k, decimals);
    text_addf(&how, "Median of %s (%d): a difference of %s %s.", kin_words(kin), o->n, d, m->told_unit);
    if (o->n >= 3)
        text_addf(&how,
                  " That is %.1f robust standard deviations (theirs %s: 1.4826 × MAD with the factor for few readings, "
                  "never less than what gauge and sound plugs scatter by; widened for the scatter of the median).",
                  fabs(m->value[i] - o->middle) / of_one(o), spread);
    text_addf(&how, " It counts from %s when above 3.5 of those, and always from %s: %s.", from, always, reason);
    for (int mates = 0; mates < KIN_COUNT; mates++) {
        struct against other;

        if (mates == kin || mates == KIN_ALL)
            continue;
        other = against(w, m, i, mates);
        if (other.n == 0)
            continue;
        text_from_double(d, sizeof d, (m->value[i] - other.middle) * k, decimals);
        text_addf(&how, " Against %s (%d): %s%s.", kin_words(mates), other.n, m->value[i] > other.middle ? "+" : "", d);
    }
    text_copy(s->how, sizeof s->how, text_get(&how));
    text_release(&how);
}

/* A mate that is as unlike the rest as this plug says where to look. */
static void write_alike(const struct work *w, const struct measure *m, int i, struct stand_out *s)
{
    static const int mates[] = {ENGINE_KIN_COIL, ENGINE_KIN_COMPANION, ENGINE_KIN_MIXTURE, KIN_CYLINDER};

    for (size_t k = 0; k < sizeof mates / sizeof mates[0]; k++) {
        struct against mate = against(w, m, i, mates[k]);
        size_t n = strlen(s->text);

        if (mate.n == 0 || mate.n > 2 || fabs(m->value[i] - mate.low) >= threshold_counts_from(m->threshold, mate.low) ||
            fabs(m->value[i] - mate.high) >= threshold_counts_from(m->threshold, mate.high))
            continue;
        text_format(s->text + n, sizeof s->text - n, " Not so against %s: there it is alike.", kin_words(mates[k]));
        return;
    }
}

void work_missing_others(struct work *w, const struct measure *m, struct stand_out *s)
{
    int n_plugs = record_plug_count(w->en), n_more = 0;
    bool of_cylinder = m->kind == MEASURE_COMPRESSION || m->kind == MEASURE_COMPRESSION_WET || m->kind == MEASURE_LEAK || m->kind == MEASURE_DIFFERENTIAL;
    engine_set unseen = 0, read = 0;
    char words[160];

    for (int i = 0; i < m->n; i++)
        read |= BIT(work_cylinder(w, m->plug[i]));
    for (int p = 0; p < n_plugs; p++) {
        bool seen = false;

        for (int i = 0; i < m->n; i++)
            seen = seen || m->plug[i] == p;
        if (!seen && !(of_cylinder && (read & BIT(work_cylinder(w, p))) != 0)) {
            unseen |= BIT(work_cylinder(w, p));
            n_more++;
        }
    }
    if (n_more == 0 || m->kind == MEASURE_GROWTH)
        return;
    engine_set_words(w->en, unseen, words, sizeof words);
    if (m->kind == MEASURE_SIGN)
        work_add_line(w, &s->missing, "%s: nobody looked for %s there", words, m->label);
    else
        work_add_line(w, &s->missing, "%s of %s", m->label, words);
}

static void missing(struct work *w, const struct measure *m, int i, struct stand_out *s)
{
    const struct reading *r = &w->v->readings[m->plug[i]];

    work_missing_others(w, m, s);
    missing_gauge(w, m, i, s);
    if (m->kind == MEASURE_GAP && !r->plug_distance_m.given && w->r->n_visits == 1)
        work_add_line(w, &s->missing, "how far this plug has run, or its gap when it went in");
    if (m->threshold->lasting_normal && w->r->n_visits == 1)
        work_add_line(w, &s->missing, "the same look at another visit: a difference that stays is often this engine's manner");
    if (m->kind == MEASURE_COMPRESSION && !r->leak_percent.given && !r->differential_over_80.given)
        work_add_line(w, &s->missing, "leak-down: where the air is heard tells valve from rings");
}

/* ---- the step ---- */

static bool is_nose(const struct measure *m)
{
    return m->kind == MEASURE_NOSE || m->kind == MEASURE_NOSE_A || m->kind == MEASURE_NOSE_B || m->kind == MEASURE_NOSE_DE;
}

/* One nose, one finding: lightness first, then the whole difference, then redness and yellowness alone. */
static bool nose_told(const struct work *w, const struct measure *m, engine_set cylinder, int position)
{
    for (int k = 0; k < w->f->n_stand_outs && is_nose(m); k++) {
        const struct stand_out *s = &w->f->stand_outs[k];

        if (s->kind == STAND_UNLIKE_NEIGHBOURS && s->cylinders == cylinder && s->position == position && text_starts(s->measure, "nose."))
            return true;
    }
    return false;
}

/* Which way a nose differs, in words, by half of what counts on each axis. */
static void write_nose(const struct work *w, const struct measure *m, int i, struct stand_out *s)
{
    static const struct {
        const char *id, *more, *less;
    } axes[] = {{"nose.L", "lighter", "darker"}, {"nose.a", "redder", "greener"}, {"nose.b", "yellower", "greyer or bluer"}};
    struct text t = {0};

    for (size_t k = 0; k < sizeof axes / sizeof axes[0] && is_nose(m); k++) {
        const struct measure *axis = measure_find(w->measures, w->n_measures, axes[k].id);

        for (int q = 0; axis != NULL && q < axis->n; q++)
            if (axis->plug[q] == m->plug[i]) {
                struct against o = against(w, axis, q, KIN_ALL);
                double d = o.n > 0 ? axis->value[q] - o.middle : 0;

                if (fabs(d) >= 0.5 * axis->threshold->counts_from)
                    text_addf(&t, "%s%s", t.n_bytes > 0 ? ", " : "", d > 0 ? axes[k].more : axes[k].less);
            }
    }
    if (t.n_bytes > 0) {
        size_t n = strlen(s->text);

        text_format(s->text + n, sizeof s->text - n, " It is %s.", t.s);
    }
    text_release(&t);
}

/* No plug is set so close: it was bent or hit, or something bridges it (common practice, no source for the figure). */
#define GAP_CLOSED_MM 0.3

static void stands_out(struct work *w, const struct measure *m, int i, int kin, const struct against *o)
{
    int c = work_cylinder(w, m->plug[i]), p = work_position(w, m->plug[i]);
    double d = m->value[i] - o->middle;
    char name[48], date[32], label[64], end[24];
    bool same = lasted(w, m, i, kin, d, date, sizeof date);
    struct stand_out *s;

    engine_plug_label(w->en, c, p, name, sizeof name);
    text_copy(label, sizeof label, m->label);
    capital(label);
    if (same && m->threshold->lasting_normal && work_may_be_manner(w, BIT(c))) {
        work_add_line(w, &w->f->notes, "%s at %s differs from the others as it did on %s: taken for this engine's manner.", label, name, date);
        return;
    }
    if (nose_told(w, m, BIT(c), p) || (m->kind == MEASURE_GAP && m->value[i] < GAP_CLOSED_MM)) /* told by itself */
        return;
    s = work_add_stand_out(w);
    s->kind = m->kind == MEASURE_GROWTH ? STAND_WEAR : STAND_UNLIKE_NEIGHBOURS;
    s->cylinders = BIT(c);
    s->position = p;
    work_where(w, s->cylinders, p, s->where, sizeof s->where);
    text_copy(s->measure, sizeof s->measure, m->id);
    text_copy(s->unit, sizeof s->unit, m->unit);
    s->sign = m->sign;
    s->level = LEVEL_WATCH;
    s->value = MAYBE(m->value[i]);
    s->reference = MAYBE(o->middle);
    text_format(s->headline, sizeof s->headline, "%s at %s is unlike its neighbours", label, name);
    write_text(w, m, i, kin, o, s);
    write_nose(w, m, i, s);
    write_alike(w, m, i, s);
    if (same) {
        size_t n = strlen(s->text);

        text_format(s->text + n, sizeof s->text - n, " So it was on %s.", date);
    }
    if (m->kind == MEASURE_GAP && w->en->plug.gap_max_mm > 0 && m->value[i] > w->en->plug.gap_max_mm) {
        work_gap(w, w->en->plug.gap_max_mm, end, sizeof end);
        text_format(s->odds, sizeof s->odds, "range ends at %s · check for a swapped or worn plug", end);
    }
    write_how(w, m, i, kin, o, s);
    missing(w, m, i, s);
}

/* Two plugs that differ: which is odd cannot be told. */
static void two_differ(struct work *w, const struct measure *m)
{
    double d = fabs(m->value[0] - m->value[1]), middle = (m->value[0] + m->value[1]) / 2;
    char one[32], other[32], date[32], name[48], name_other[48], reason[sizeof m->threshold->reason];
    struct stand_out *s;

    if (!m->threshold->compared || d < 1.5 * threshold_counts_from(m->threshold, middle) - 1e-9)
        return;
    engine_plug_label(w->en, work_cylinder(w, m->plug[0]), work_position(w, m->plug[0]), name, sizeof name);
    engine_plug_label(w->en, work_cylinder(w, m->plug[1]), work_position(w, m->plug[1]), name_other, sizeof name_other);
    if (lasted(w, m, 0, KIN_ALL, m->value[0] - m->value[1], date, sizeof date) && m->threshold->lasting_normal &&
        work_may_be_manner(w, BIT(work_cylinder(w, m->plug[0])) | BIT(work_cylinder(w, m->plug[1])))) {
        work_add_line(w, &w->f->notes, "The %s of %s and %s differs as it did on %s: taken for this engine's manner.", m->label, name, name_other, date);
        return;
    }
    s = work_add_stand_out(w);
    s->kind = STAND_UNLIKE_NEIGHBOURS;
    s->cylinders = BIT(work_cylinder(w, m->plug[0])) | BIT(work_cylinder(w, m->plug[1]));
    work_where(w, s->cylinders, -1, s->where, sizeof s->where);
    text_copy(s->measure, sizeof s->measure, m->id);
    text_copy(s->unit, sizeof s->unit, m->unit);
    s->sign = m->sign;
    s->level = LEVEL_NOTE;
    s->value = MAYBE(m->value[0]);
    s->reference = MAYBE(m->value[1]);
    figure(m, m->value[0], one, sizeof one);
    figure(m, m->value[1], other, sizeof other);
    text_format(s->headline, sizeof s->headline, "%s and %s differ: %s", name, name_other, m->label);
    text_format(s->text, sizeof s->text, "%s at %s, %s at %s%s%s. With two readings nothing tells which is the odd one.", one, name, other, name_other,
                m->told_unit[0] ? " " : "", m->told_unit);
    unit_tell_words(&w->options->units, m->threshold->reason, reason, sizeof reason);
    text_format(s->how, sizeof s->how, "The difference is at least one and a half times the smallest that counts: %s.", reason);
    work_add_line(w, &s->missing, "the same two at another visit, or what the maker expects");
}

/* What a sign is by itself is told among the conditions, with what the others show; here only where
 * by itself it would not be looked at. */
static bool told_by_itself(const struct work *w, const struct measure *m, int i)
{
    return m->kind == MEASURE_SIGN && (m->explained[i] || findings_sign_level(w->en, (enum sign)m->sign, (int)m->value[i]) >= LEVEL_WATCH);
}

void work_unlike(struct work *w)
{
    struct against *others = arena_alloc(w->a, ENGINE_MAX_PLUGS, sizeof *others);

    for (int k = 0; k < w->n_measures; k++) {
        const struct measure *m = &w->measures[k];
        int kin[ENGINE_MAX_PLUGS], n_far = 0;

        if (m->n == 2 && w->en->n_cylinders == 2 && !is_nose(m) && m->kind != MEASURE_SIGN)
            two_differ(w, m);
        if (m->n == 2 && w->en->n_cylinders == 2 && m->kind == MEASURE_NOSE)
            two_differ(w, m);
        if (m->n < 3)
            continue;
        for (int i = 0; i < m->n; i++) {
            kin[i] = judge(w, m, i, &others[i]);
            n_far += kin[i] == KIN_ALL;
        }
        for (int i = 0; i < m->n; i++) {
            if (kin[i] < 0 || told_by_itself(w, m, i))
                continue;
            if (kin[i] == KIN_ALL && n_far > m->n / 3) /* when a third differs there is no usual; patterns speak then */
                continue;
            stands_out(w, m, i, kin[i], &others[i]);
        }
    }
}

/* ---- gaps against the range ---- */

/* " at 1", " at 1, 4 and 6", " at all 16": the plugs of this verdict whose gauge reads the same as plug i's, which are said with it. */
static void same_gaps(const struct work *w, const struct measure *m, enum gap_verdict g, int i, bool *said, struct text *to)
{
    char value[24], other[24], name[48], last[48] = "";
    int n = 0;
    struct text t = {0};

    work_gap(w, m->value[i], value, sizeof value);
    for (int k = i; k < m->n; k++) {
        work_gap(w, m->value[k], other, sizeof other);
        if (said[k] || gap_against(&w->en->plug, m->value[k]) != g || strcmp(value, other) != 0 || (k > i && (from_photo(w, m, i) || from_photo(w, m, k))))
            continue;
        said[k] = true;
        engine_plug_label(w->en, work_cylinder(w, m->plug[k]), work_position(w, m->plug[k]), name, sizeof name);
        if (n++ > 0)
            text_addf(&t, "%s%s", n > 2 ? ", " : "", last);
        text_copy(last, sizeof last, name);
    }
    if (n > 2 && n == record_plug_count(w->en))
        text_addf(to, " at all %d", n);
    else
        text_addf(to, " at %s%s%s", text_get(&t), n > 1 ? " and " : "", last);
    text_release(&t);
}

/* Every gap with its plugs: "1.45 mm at 2 and 5, 1.47 mm at 3 (bank 1); the limit is 1.40 mm." */
static void write_gaps(const struct work *w, const struct measure *m, enum gap_verdict g, struct stand_out *s)
{
    bool said[ENGINE_MAX_PLUGS] = {false};
    struct text t = {0};
    char value[24];

    for (int i = 0; i < m->n; i++) {
        if (said[i] || gap_against(&w->en->plug, m->value[i]) != g)
            continue;
        work_gap(w, m->value[i], value, sizeof value);
        text_addf(&t, "%s%s", t.n_bytes > 0 ? ", " : "", value);
        same_gaps(w, m, g, i, said, &t);
        if (from_photo(w, m, i)) {
            photo_pm(w, m, i, " (photo", &t);
            text_add(&t, ")");
        }
    }
    for (int b = 0; b < w->en->n_banks && w->en->n_banks > 1; b++)
        if ((s->cylinders & ~engine_bank_set(w->en, b)) == 0)
            text_addf(&t, " (bank %s)", w->en->banks[b].name);
    work_gap(w, s->reference.value, value, sizeof value);
    text_addf(&t, "; %s %s.", g == GAP_PAST_LIMIT ? "the limit is" : g == GAP_UNDER ? "the range begins at" : "the range ends at", value);
    text_copy(s->text, sizeof s->text, t.s);
    text_release(&t);
}

/* Told whatever the engine's range; true when it was. */
static bool told_closed(struct work *w, const struct measure *m, int i)
{
    char name[48], value[24];
    struct stand_out *s;

    if (m->value[i] >= GAP_CLOSED_MM)
        return false;
    engine_plug_label(w->en, work_cylinder(w, m->plug[i]), work_position(w, m->plug[i]), name, sizeof name);
    work_gap(w, m->value[i], value, sizeof value);
    s = work_add_stand_out(w);
    s->kind = STAND_GAP;
    s->cylinders = BIT(work_cylinder(w, m->plug[i]));
    s->position = work_position(w, m->plug[i]);
    work_where(w, s->cylinders, s->position, s->where, sizeof s->where);
    text_copy(s->measure, sizeof s->measure, "gap");
    text_copy(s->unit, sizeof s->unit, "mm");
    s->value = MAYBE(m->value[i]);
    s->reference = MAYBE(GAP_CLOSED_MM);
    s->level = from_photo(w, m, i) ? LEVEL_WATCH : LEVEL_ACT;
    text_format(s->headline, sizeof s->headline, "Gap closed: plug %s", name);
    text_format(s->text, sizeof s->text,
                "%s: it hardly fires. Dropped, hit by something loose, too long for this head, or bridged by a deposit: look into the cylinder before the engine is turned.", value);
    work_gap(w, GAP_CLOSED_MM, value, sizeof value);
    text_format(s->how, sizeof s->how, "No plug is set closer than %s (common practice, no source).", value);
    missing_gauge(w, m, i, s);
    return true;
}

void work_gaps(struct work *w)
{
    static const enum gap_verdict order[] = {GAP_PAST_LIMIT, GAP_OVER, GAP_HAIR_OVER, GAP_UNDER};
    const struct engine_plug_spec *spec = &w->en->plug;
    const struct measure *m = measure_find(w->measures, w->n_measures, "gap");
    double high = spec->gap_max_mm;
    struct {
        engine_set set;
        bool plug[ENGINE_MAX_PLUGS];
        double far;
        int n, position;
        bool sure;    /* of one of them at least: the ± of its photo does not reach into the range */
    } group[GAP_UNDER + 1] = {0};

    if (m == NULL)
        return;
    for (int i = 0; i < m->n; i++) {
        double x = m->value[i];
        enum gap_verdict g = gap_against(spec, x);

        if (told_closed(w, m, i))
            continue;
        group[g].set |= BIT(work_cylinder(w, m->plug[i]));
        group[g].plug[m->plug[i]] = true;
        group[g].position = group[g].n == 0 ? work_position(w, m->plug[i]) : -1;
        if (group[g].n == 0 || fabs(x - high) > fabs(group[g].far - high))
            group[g].far = x;
        group[g].n++;
        group[g].sure = group[g].sure || !from_photo(w, m, i) || gap_against(spec, x + (g == GAP_UNDER ? 1 : -1) * w->v->readings[m->plug[i]].gap_photo_pm_mm) == g;
    }
    for (size_t k = 0; k < sizeof order / sizeof order[0]; k++) {
        enum gap_verdict g = order[k];
        struct stand_out *s;
        char words[160];

        if (group[g].n == 0)
            continue;
        s = work_add_stand_out(w);
        s->kind = STAND_GAP;
        s->cylinders = group[g].set;
        s->position = group[g].position;
        work_where(w, s->cylinders, s->position, s->where, sizeof s->where);
        text_copy(s->measure, sizeof s->measure, "gap");
        text_copy(s->unit, sizeof s->unit, "mm");
        s->value = MAYBE(group[g].far);
        s->reference = MAYBE(g == GAP_PAST_LIMIT ? spec->gap_limit_mm : g == GAP_UNDER ? spec->gap_min_mm : high);
        s->level = g == GAP_PAST_LIMIT ? LEVEL_ACT : g == GAP_HAIR_OVER ? LEVEL_NOTE : LEVEL_WATCH;
        if (!group[g].sure) /* a photo alone that may be wrong about it does not ask for action */
            s->level = s->level == LEVEL_ACT ? LEVEL_WATCH : LEVEL_NOTE;
        work_plugs_words(w, group[g].plug, words, sizeof words);
        if (g == GAP_PAST_LIMIT)
            text_format(s->headline, sizeof s->headline, "Gap past the limit: %s", words);
        else if (g == GAP_UNDER)
            text_format(s->headline, sizeof s->headline, "Gap under the range: %s", words);
        else
            text_format(s->headline, sizeof s->headline, "Gap over the range: %s", words);
        write_gaps(w, m, g, s);
        unit_tell_words(&w->options->units,
                        "Compared with the range on the engine's card. A feeler gauge is read to about {0.03 mm}: {0.01 mm} over is "
                        "only noted, and down to {0.05 mm} under the range is let through.",
                        s->how, sizeof s->how);
        work_missing_others(w, m, s);
        for (int i = 0; i < m->n; i++)
            if (group[g].plug[m->plug[i]])
                missing_gauge(w, m, i, s);
    }
}

