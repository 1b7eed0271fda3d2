/* standout.c - what stands out by itself: conditions by their gravity, gaps against the range, one
 * cylinder against the others, compression against a published rule, oil that was carried over. */
#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "reading/reading_work.h"
#include "reading/stats.h"

#define BIT(i) ((engine_set)1 << (i))

static enum level step(enum level level, int by)
{
    int v = (int)level + by;

    if (level == LEVEL_NONE)
        return LEVEL_NONE;
    return v < LEVEL_NOTE ? LEVEL_NOTE : v > LEVEL_STOP ? LEVEL_STOP : (enum level)v;
}

/* The table's level is for a moderate amount. A trace is one step less; much of it is one step more
 * up to act (only what is stop by itself stops). */
static enum level level_of(enum sign s, int amount)
{
    enum level base = sign_row(s)->level;

    if (amount == 1)
        return base == LEVEL_STOP ? LEVEL_ACT : step(base, -1);
    if (amount == 3 && base < LEVEL_ACT)
        return step(base, 1);
    return base;
}

static struct measure *measure_of(struct work *w, enum sign s)
{
    for (int i = 0; i < w->n_measures; i++)
        if (w->measures[i].sign == (int)s)
            return &w->measures[i];
    return NULL;
}

/* ---- oil carried by the socket, and oil that ran down ---- */

static int outside_oil(const struct reading *r)
{
    int threads = r->amount[SIGN_THREADS_OIL], body = r->amount[SIGN_BODY_OIL], most = threads > body ? threads : body;

    return most > 0 ? most : 0;
}

static bool oily_outside(const struct reading *r)
{
    return r->amount[SIGN_WELL_OIL] > 0 || outside_oil(r) > 0;
}

static void explain(struct work *w, int plug)
{
    static const enum sign signs[] = {SIGN_THREADS_OIL, SIGN_BODY_OIL};

    for (size_t k = 0; k < 2; k++) {
        struct measure *m = measure_of(w, signs[k]);

        for (int i = 0; m != NULL && i < m->n; i++)
            if (m->plug[i] == plug)
                m->explained[i] = true;
    }
}

void work_carry_over(struct work *w)
{
    const struct visit *v = w->v;

    /* Oil on threads under a wet well ran down when the plug was drawn: it says nothing of the inside. */
    for (int i = 0; i < record_plug_count(w->en); i++)
        if (v->readings[i].amount[SIGN_WELL_OIL] > 0 && v->readings[i].amount[SIGN_OIL_WET] <= 0)
            explain(w, i);
    if (words_find(WORDS_SOCKET, "wiped") == v->socket)
        return;
    for (int k = 1; k < v->n_removal; k++) {
        struct plug_place at = visit_drawn(v, k), before = visit_drawn(v, k - 1);
        const struct reading *r = visit_reading_const(v, w->en, at.cylinder, at.position);
        const struct reading *prev = visit_reading_const(v, w->en, before.cylinder, before.position);
        struct stand_out *s;
        char name[48], name_before[48];
        int source = outside_oil(prev) > 0 ? outside_oil(prev) : prev->amount[SIGN_WELL_OIL];
        bool own = r->amount[SIGN_WELL_OIL] > 0 || r->amount[SIGN_BOOT_OIL_SOAKED] > 0;

        /* Not more oil than on the one before, a dry well of its own, a clean firing end. */
        if (outside_oil(r) <= 0 || own || !oily_outside(prev) || outside_oil(r) > source ||
            r->amount[SIGN_OIL_WET] > 0)
            continue;
        engine_plug_label(w->en, at.cylinder, at.position, name, sizeof name);
        engine_plug_label(w->en, before.cylinder, before.position, name_before, sizeof name_before);
        s = work_add_stand_out(w);
        s->kind = STAND_CARRY_OVER;
        s->cylinders = BIT(at.cylinder);
        s->position = at.position;
        work_where(w, s->cylinders, at.position, s->where, sizeof s->where);
        s->sign = r->amount[SIGN_THREADS_OIL] > 0 ? SIGN_THREADS_OIL : SIGN_BODY_OIL;
        sign_measure((enum sign)s->sign, s->measure, sizeof s->measure);
        s->level = LEVEL_NOTE;
        s->value = MAYBE(outside_oil(r));
        s->reference = MAYBE(source);
        text_format(s->headline, sizeof s->headline, "Oil on plug %s may be carried over", name);
        text_format(s->text, sizeof s->text, "%s only, %s, pulled straight after %s%s.",
                    s->sign == SIGN_THREADS_OIL ? "Threads" : "Body",
                    r->amount[SIGN_WELL_OIL] == 0 ? "well dry" : "no oil seen in its well", name_before,
                    v->socket == 0 ? "; whether the socket was wiped is not noted" : " with the same socket");
        text_copy(s->odds, sizeof s->odds, "wipe, refit, look again next visit");
        text_format(s->how, sizeof s->how,
                    "The plug drawn just before had as much oil or more, this one's own well and boot show none and "
                    "its firing end is not oily. Such oil is left out of patterns and causes.");
        if (r->amount[SIGN_WELL_OIL] == AMOUNT_UNSEEN)
            work_add_line(w, &s->missing, "whether its well was dry before it was drawn");
        if (v->socket == 0)
            work_add_line(w, &s->missing, "whether the socket was wiped between plugs");
        explain(w, record_plug_index(w->en, at.cylinder, at.position));
    }
}

/* ---- conditions ---- */

/* One entry for a sign at one level, over all cylinders that show it. */
void work_conditions(struct work *w)
{
    for (int i = 0; i < w->n_measures; i++) {
        const struct measure *m = &w->measures[i];

        if (m->kind != MEASURE_SIGN)
            continue;
        for (int level = LEVEL_STOP; level >= LEVEL_NOTE; level--) {
            engine_set set = 0;
            int most = 0, n = 0, position = -1;
            struct stand_out *s;
            char words[160];

            for (int k = 0; k < m->n; k++)
                if (m->value[k] > 0 && !m->explained[k] && (int)level_of((enum sign)m->sign, (int)m->value[k]) == level) {
                    set |= BIT(work_cylinder(w, m->plug[k]));
                    position = work_position(w, m->plug[k]);
                    most = m->value[k] > most ? (int)m->value[k] : most;
                    n++;
                }
            if (set == 0)
                continue;
            s = work_add_stand_out(w);
            s->kind = STAND_CONDITION;
            s->cylinders = set;
            s->position = n == 1 ? position : -1;
            work_where(w, set, s->position, s->where, sizeof s->where);
            text_copy(s->measure, sizeof s->measure, m->id);
            s->sign = m->sign;
            s->level = (enum level)level;
            s->value = MAYBE(most);
            s->reference = MAYBE(0);
            engine_set_words(w->en, set, words, sizeof words);
            words[0] = (char)(words[0] - 'a' + 'A');
            text_format(s->headline, sizeof s->headline, "%s: %s", words, m->label);
            if (n == 1)
                text_format(s->text, sizeof s->text, "%c%s.", amount_words(most)[0] - 'a' + 'A', amount_words(most) + 1);
            else
                text_format(s->text, sizeof s->text, "%d of %d looked at, %s at most.", n, m->n, amount_words(most));
            text_format(s->how, sizeof s->how,
                        "The condition counts by itself (table of conditions, row “%s”); a trace is one step less grave.",
                        sign_row((enum sign)m->sign)->fact[0] ? sign_row((enum sign)m->sign)->fact : "common practice, no source");
        }
    }
}

/* ---- gaps against the range ---- */

void work_gaps(struct work *w)
{
    static const enum gap_verdict order[] = {GAP_PAST_LIMIT, GAP_OVER, GAP_HAIR_OVER, GAP_UNDER};
    const struct engine_plug_spec *spec = &w->en->plug;
    const struct measure *m = measure_find(w->measures, w->n_measures, "gap");
    double high = spec->gap_max_mm;
    struct {
        engine_set set;
        double far;
        int n;
    } group[GAP_UNDER + 1] = {{0, 0, 0}};

    if (m == NULL)
        return;
    for (int i = 0; i < m->n; i++) {
        double x = m->value[i];
        enum gap_verdict g = gap_against(spec, x);

        group[g].set |= BIT(work_cylinder(w, m->plug[i]));
        if (group[g].n == 0 || fabs(x - high) > fabs(group[g].far - high))
            group[g].far = x;
        group[g].n++;
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
        work_where(w, s->cylinders, -1, s->where, sizeof s->where);
        text_copy(s->measure, sizeof s->measure, "gap");
        text_copy(s->unit, sizeof s->unit, "mm");
        s->value = MAYBE(group[g].far);
        s->reference = MAYBE(g == GAP_PAST_LIMIT ? spec->gap_limit_mm : g == GAP_UNDER ? spec->gap_min_mm : high);
        s->level = g == GAP_PAST_LIMIT ? LEVEL_ACT : g == GAP_HAIR_OVER ? LEVEL_NOTE : LEVEL_WATCH;
        engine_set_words(w->en, s->cylinders, words, sizeof words);
        if (g == GAP_PAST_LIMIT)
            text_format(s->headline, sizeof s->headline, "Gap past the limit: %s", words);
        else if (g == GAP_UNDER)
            text_format(s->headline, sizeof s->headline, "Gap under the range: %s", words);
        else
            text_format(s->headline, sizeof s->headline, "Gap over the range: %s", words);
        text_format(s->text, sizeof s->text, "%s%.2f mm; %s %.2f mm.", group[g].n > 1 ? "up to " : "", group[g].far,
                    g == GAP_PAST_LIMIT ? "the limit is" : g == GAP_UNDER ? "the range begins at" : "the range ends at",
                    s->reference.value);
        text_copy(s->how, sizeof s->how, "Compared with the range on the engine's card; a hundredth over is only noted.");
    }
}

/* ---- one against the others ---- */

/* Least difference that counts, beyond the spread of the others (3.5 robust standard deviations, held
 * to one and a half times the practical threshold so that one noisy set hides nothing large). */
static double least_difference(const struct measure *m, const double *others, int n, double middle)
{
    double practical = m->kind == MEASURE_COMPRESSION || m->kind == MEASURE_COMPRESSION_WET ? m->practical * middle : m->practical;
    double spread = 3.5 * stats_mad(others, n) / 0.6745;

    return fmax(practical, fmin(spread, 1.5 * practical));
}

/* The other plugs of a measure, for one of them. */
struct others {
    int n;
    double middle, low, high;
};

/* Whether plug i of the measure differs, in the direction that counts, by more than the others spread. */
static bool differs(const struct measure *m, int i, struct others *o)
{
    double values[ENGINE_MAX_PLUGS], d;

    *o = (struct others){.low = INFINITY, .high = -INFINITY};
    for (int q = 0; q < m->n; q++)
        if (q != i) {
            values[o->n++] = m->value[q];
            o->low = fmin(o->low, m->value[q]);
            o->high = fmax(o->high, m->value[q]);
        }
    o->middle = stats_median(values, o->n);
    d = m->value[i] - o->middle;
    if ((m->worse > 0 && d < 0) || (m->worse < 0 && d > 0))
        return false;
    return fabs(d) >= least_difference(m, values, o->n, o->middle);
}

void work_unlike(struct work *w)
{
    for (int k = 0; k < w->n_measures; k++) {
        const struct measure *m = &w->measures[k];
        bool far[ENGINE_MAX_PLUGS] = {false};
        struct others others[ENGINE_MAX_PLUGS];
        int n_far = 0;

        if (m->kind == MEASURE_SIGN || m->kind == MEASURE_COMPRESSION_WET || m->n < 4)
            continue; /* three others are needed to say what is usual */
        for (int i = 0; i < m->n; i++)
            n_far += far[i] = differs(m, i, &others[i]);
        if (n_far > m->n / 3) /* when a third differs there is no usual; patterns speak then */
            continue;
        for (int i = 0; i < m->n; i++) {
            const struct others *o = &others[i];
            int c = work_cylinder(w, m->plug[i]), p = work_position(w, m->plug[i]);
            char name[48], value[32], lo[32], hi[32], reference[32];
            struct stand_out *s;

            if (!far[i])
                continue;
            s = work_add_stand_out(w);
            s->kind = STAND_UNLIKE_NEIGHBOURS;
            s->cylinders = BIT(c);
            s->position = p;
            work_where(w, s->cylinders, p, s->where, sizeof s->where);
            text_copy(s->measure, sizeof s->measure, m->id);
            text_copy(s->unit, sizeof s->unit, m->unit);
            s->level = LEVEL_WATCH;
            s->value = MAYBE(m->value[i]);
            s->reference = MAYBE(o->middle);
            engine_plug_label(w->en, c, p, name, sizeof name);
            text_from_double(value, sizeof value, m->value[i], m->n_decimals);
            text_from_double(lo, sizeof lo, o->low, m->n_decimals);
            text_from_double(hi, sizeof hi, o->high, m->n_decimals);
            text_from_double(reference, sizeof reference, o->middle, m->n_decimals);
            text_format(s->headline, sizeof s->headline, "%c%s at %s is unlike its neighbours", m->label[0] - 'a' + 'A', m->label + 1, name);
            if (strcmp(lo, hi) == 0)
                text_format(s->text, sizeof s->text, "%s %s; the other %d all read %s.", value, m->unit, o->n, lo);
            else
                text_format(s->text, sizeof s->text, "%s %s; the other %d lie at %s–%s.", value, m->unit, o->n, lo, hi);
            if (m->kind == MEASURE_GAP && w->en->plug.gap_max_mm > 0 && m->value[i] > w->en->plug.gap_max_mm)
                text_format(s->odds, sizeof s->odds, "range ends at %.2f mm · check for a swapped or worn plug", w->en->plug.gap_max_mm);
            text_format(s->how, sizeof s->how,
                        "Median of the other %d: %s %s. The difference counts from %s times the practical threshold, "
                        "or 3.5 robust standard deviations (1.4826 × MAD) of the others if that is more; threshold: %s.",
                        o->n, reference, m->unit, "1 to 1.5", m->practical_why);
        }
    }
}

/* ---- compression against a published rule ---- */

void work_compression(struct work *w)
{
    const struct measure *m = measure_find(w->measures, w->n_measures, "compression");
    double highest = 0;

    if (m == NULL || m->n < 2)
        return;
    for (int i = 0; i < m->n; i++)
        highest = fmax(highest, m->value[i]);
    for (int i = 0; i < m->n; i++) {
        struct stand_out *s;
        int c = work_cylinder(w, m->plug[i]);
        char value[24], least[24];

        /* printed limits are rounded, so a hair under is no failure */
        if (m->value[i] >= 0.75 * highest - 3.5)
            continue;
        s = work_add_stand_out(w);
        s->kind = STAND_COMPRESSION;
        s->cylinders = BIT(c);
        work_where(w, s->cylinders, -1, s->where, sizeof s->where);
        text_copy(s->measure, sizeof s->measure, "compression");
        text_copy(s->unit, sizeof s->unit, "kPa");
        s->level = LEVEL_ACT;
        s->value = MAYBE(m->value[i]);
        s->reference = MAYBE(0.75 * highest);
        text_from_count(value, sizeof value, lround(m->value[i]));
        text_from_count(least, sizeof least, lround(0.75 * highest));
        text_format(s->headline, sizeof s->headline, "Compression of %s is low", w->en->cylinders[c].label);
        text_format(s->text, sizeof s->text, "%s kPa; three quarters of the highest is %s kPa.", value, least);
        text_copy(s->odds, sizeof s->odds, "rule: lowest at least 75 % of the highest");
        text_copy(s->how, sizeof s->how, "Published rules differ; this one is printed by several makers' manuals. The maker's own figure comes first.");
        if (!visit_reading_const(w->v, w->en, c, 0)->compression_wet_kpa.given)
            work_add_line(w, &s->missing, "wet compression: a rise of a tenth or more points at rings or bore");
    }
}
