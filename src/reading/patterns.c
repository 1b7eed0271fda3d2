/* patterns.c - the shapes a measure takes over the engine, and the odds of each by luck: the share of
 * all ways to deal the readings out over the plugs in which the shape is at least as strong. */
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "reading/arrange.h"
#include "reading/reading_work.h"
#include "reading/shapes.h"

#define BIT(i) ((engine_set)1 << (i))

/* Work allowed for one record, in plugs times places times arrangements; about 0.5 ns each for samples and
 * 0.1 ns for counted ones, since those share what they have in common. */
#define WORK_FIRST 6e6
#define WORK_SAMPLES 8e8
#define SAMPLES_MOST 100000
#define SAMPLES_FIRST 2000
#define SAMPLES_LEAST 200

/* One measure's odds; kept, since signs often lie on the very same plugs. */
struct odds {
    const struct measure *m;
    double value[ENGINE_MAX_PLUGS]; /* from 0 for the least to 1 for the most */
    struct arrange_result result;
};

struct all_odds {
    struct odds *list;
    int n, n_tested; /* measures that can be tested */
};

/* Values that count: oil that was carried over or ran down is not the plug's own. False when all are alike. */
static bool own_values(const struct measure *m, double *value, double *scaled)
{
    double least, most;

    for (int i = 0; i < m->n; i++)
        value[i] = m->explained[i] ? 0 : m->value[i];
    least = most = m->n > 0 ? value[0] : 0;
    for (int i = 1; i < m->n; i++) {
        least = fmin(least, value[i]);
        most = fmax(most, value[i]);
    }
    if (!(most - least > 1e-9 * fmax(fabs(most), fabs(least))))
        return false;
    for (int i = 0; i < m->n; i++)
        scaled[i] = (value[i] - least) / (most - least);
    return true;
}

static bool same_odds(const struct odds *o, const struct measure *m, const double *scaled)
{
    if (o->m->n != m->n || o->m->worse != m->worse || (o->m->kind == MEASURE_SIGN) != (m->kind == MEASURE_SIGN))
        return false;
    for (int i = 0; i < m->n; i++)
        if (o->m->plug[i] != m->plug[i] || fabs(o->value[i] - scaled[i]) > 1e-9)
            return false;
    return true;
}

static bool find_odds(struct work *w, struct all_odds *all, const struct shapes *s, const double *scaled,
                      const struct arrange_result **out, struct err *e)
{
    const struct measure *m = s->m;
    struct odds *o = &all->list[all->n];
    struct arrange a = {.n = m->n, .n_shapes = SHAPE_COUNT, .n_places = s->n, .places = s->weights, .cancel = w->options->cancel};
    double work = (w->options->first_answer ? WORK_FIRST : WORK_SAMPLES) / all->n_tested / s->n;
    double most = w->options->first_answer ? SAMPLES_FIRST : SAMPLES_MOST;

    for (int i = 0; i < all->n; i++)
        if (same_odds(&all->list[i], m, scaled)) {
            *out = &all->list[i].result;
            return true;
        }
    memcpy(a.value, scaled, (size_t)m->n * sizeof *scaled);
    for (int k = 0; k < SHAPE_COUNT; k++)
        a.two_sided[k] = m->worse == 0 && k != SHAPE_REMOVAL_ORDER;
    a.seed = w->options->seed ? w->options->seed : 20260614;
    a.max_exact = w->options->first_answer ? fmax(720, fmin(work / 4, 20000)) : ARRANGE_MAX_EXACT;
    a.n_samples = (int)fmax(SAMPLES_LEAST, fmin(work / m->n, most));
    if (!arrange_run(&a, &o->result, e))
        return false;
    o->m = m;
    memcpy(o->value, scaled, (size_t)m->n * sizeof *scaled);
    all->n++;
    if (!o->result.exact && w->options->first_answer)
        w->f->provisional = true;
    *out = &o->result;
    return true;
}

static int likelier_last(const void *pa, const void *pb)
{
    const struct pattern *a = pa, *b = pb;
    double d = a->chance_any - b->chance_any;

    if ((a->shape == SHAPE_SCATTERED) != (b->shape == SHAPE_SCATTERED))
        return a->shape == SHAPE_SCATTERED ? 1 : -1;
    if (fabs(d) > 1e-12)
        return d < 0 ? -1 : 1;
    d = b->strength - a->strength;
    return d < 0 ? -1 : d > 0 ? 1 : (int)a->shape - (int)b->shape;
}

static double sum_of_squares(const double *x, int n)
{
    double mean = 0, sum = 0;

    for (int i = 0; i < n; i++)
        mean += x[i] / n;
    for (int i = 0; i < n; i++)
        sum += (x[i] - mean) * (x[i] - mean);
    return sum;
}

static void set_chances(struct pattern *p, const struct arrange_result *r, double chance, double chance_any)
{
    p->chance = chance;
    p->chance_any = chance_any;
    p->exact = r->exact;
    p->arrangements = r->arrangements;
    p->error = r->exact ? 0 : sqrt(chance * (1 - chance) / r->arrangements);
    p->error_any = r->exact ? 0 : sqrt(chance_any * (1 - chance_any) / r->arrangements);
}

static struct pattern *new_pattern(struct work *w, const struct measure *m, enum pattern_shape shape)
{
    struct pattern *p = work_add_pattern(w);

    text_copy(p->measure, sizeof p->measure, m->id);
    text_copy(p->where, sizeof p->where, "engine");
    p->shape = shape;
    p->position = -1;
    p->adverse = true;
    return p;
}

/* A sign that every plug looked at shows. Nothing to deal out: that it is on all is no matter of luck. */
static void all_alike(struct work *w, const struct measure *m, const double *value)
{
    double sum = 0, square = 0;
    struct pattern *p;

    for (int i = 0; i < m->n; i++) {
        if (!(value[i] > 0))
            return;
        sum += value[i];
        square += value[i] * value[i];
    }
    if (m->kind != MEASURE_SIGN || m->n < 2)
        return;
    p = new_pattern(w, m, SHAPE_ALL);
    p->strength = fmin(1, sum * sum / (m->n * square));
    p->chance = p->chance_any = 1;
    p->exact = true;
    p->arrangements = arrange_count(value, m->n);
    text_format(p->how, sizeof p->how, "All %d plugs looked at show it; however the readings are dealt out, all would.", m->n);
}

/* Seen on several but not on all, and no shape explains half of it nor is a rare one: scattered. */
static void scattered(struct work *w, const struct measure *m, const double *value, const struct arrange_result *r, int first)
{
    double strength = 0, chance_any = 1;
    engine_set shown = 0;
    int n_shown = 0;
    struct pattern *p;

    for (int i = first; i < w->f->n_patterns; i++)
        if (w->f->patterns[i].shape != SHAPE_ALL) {
            strength = fmax(strength, w->f->patterns[i].strength);
            chance_any = fmin(chance_any, w->f->patterns[i].chance_any);
        }
    for (int i = 0; i < m->n; i++)
        if (value[i] > 0) {
            shown |= BIT(work_cylinder(w, m->plug[i]));
            n_shown++;
        }
    if (m->kind != MEASURE_SIGN || n_shown < 2 || n_shown == m->n || strength >= 0.5 || chance_any <= 0.05)
        return;
    p = new_pattern(w, m, SHAPE_SCATTERED);
    p->cylinders = shown;
    work_where(w, shown, -1, p->where, sizeof p->where);
    p->strength = 1 - strength;
    set_chances(p, r, r->chance_none, chance_any);
    text_format(p->how, sizeof p->how,
                "No shape explains half of it, and none is rarer than 1 in 20. Chance: the share of arrangements in which "
                "no shape is stronger than the strongest here.");
}

static void place_words(const struct work *w, const struct shape_place *place, char *to, size_t n_room)
{
    if (place->cover == 0 && place->position >= 0)
        text_format(to, n_room, "%s plugs", w->en->position_names[place->position]);
    else
        work_where(w, place->cover, place->position, to, n_room);
}

static void patterns_of(struct work *w, const struct measure *m, const struct shapes *s, const double *value, const double *scaled,
                        const struct arrange_result *r)
{
    double spread = sqrt(sum_of_squares(scaled, m->n));

    for (int k = 0; k < SHAPE_COUNT; k++) {
        int best = r->best_place[k];
        struct pattern *p;

        if (best < 0 || r->statistic[k] <= 1e-9)
            continue;
        p = new_pattern(w, m, (enum pattern_shape)k);
        p->cylinders = s->places[best].cover;
        p->position = s->places[best].position;
        place_words(w, &s->places[best], p->where, sizeof p->where);
        p->strength = fmin(1, pow(r->statistic[k] / spread, 2));
        set_chances(p, r, r->chance[k], r->chance_any[k]);
        pattern_how(w, p, s, best, r->direction[k], value);
        /* What is seen, for a sign: the cylinders that show it, when they all lie in the place. */
        if (m->kind == MEASURE_SIGN && p->cylinders != 0) {
            engine_set shown = 0;
            bool inside = true;

            for (int i = 0; i < m->n; i++)
                if (value[i] > 0) {
                    shown |= BIT(work_cylinder(w, m->plug[i]));
                    inside = inside && shapes_covers(s, best, i);
                }
            if (inside)
                p->cylinders = shown;
        }
    }
}

static bool one_measure(struct work *w, const struct measure *m, struct all_odds *all, struct err *e)
{
    double value[ENGINE_MAX_PLUGS], scaled[ENGINE_MAX_PLUGS];
    const struct arrange_result *r;
    struct shapes s;
    int first = w->f->n_patterns;
    bool differ = own_values(m, value, scaled);

    all_alike(w, m, value);
    if (!differ)
        return true;
    shapes_build(&s, w->r, m, w->a);
    if (s.n == 0)
        return true;
    if (!find_odds(w, all, &s, scaled, &r, e))
        return false;
    patterns_of(w, m, &s, value, scaled, r);
    scattered(w, m, value, r, first);
    qsort(w->f->patterns + first, (size_t)(w->f->n_patterns - first), sizeof *w->f->patterns, likelier_last);
    return true;
}

/* What the readings at hand cannot tell, whatever they say. */
static void note_limits(struct work *w)
{
    const struct engine *en = w->en;
    const char *one_bank = NULL, *few = NULL;
    int n_one_bank = 0, n_few = 0, bank_read = 0;

    for (int k = 0; k < w->n_measures; k++) {
        const struct measure *m = &w->measures[k];
        int bank = en->cylinders[work_cylinder(w, m->plug[0])].bank;
        bool one = true;

        for (int i = 1; i < m->n; i++)
            one = one && en->cylinders[work_cylinder(w, m->plug[i])].bank == bank;
        if (m->n < 3 && en->n_cylinders > 3) {
            few = few ? few : m->label;
            n_few++;
        } else if (one && en->n_banks > 1) {
            one_bank = one_bank ? one_bank : m->label;
            bank_read = n_one_bank++ == 0 ? bank : bank_read;
        }
    }
    if (n_few > 0)
        work_add_line(w, &w->f->notes, "%c%s%s: read on fewer than three plugs, so no pattern can be told from luck.",
                      few[0] >= 'a' && few[0] <= 'z' ? few[0] - 'a' + 'A' : few[0], few + 1, n_few > 1 ? " and others" : "");
    if (n_one_bank > 0)
        work_add_line(w, &w->f->notes, "%c%s%s: only bank %s was looked at, so whether it keeps to a bank cannot be said.",
                      one_bank[0] >= 'a' && one_bank[0] <= 'z' ? one_bank[0] - 'a' + 'A' : one_bank[0], one_bank + 1,
                      n_one_bank > 1 ? " and others" : "", en->banks[bank_read].name);
    for (int i = 0; i < w->f->n_patterns; i++)
        if (!w->f->patterns[i].exact) {
            work_add_line(w, &w->f->notes, "%s", w->options->first_answer
                                                     ? "Some odds are a first estimate; the exact ones follow."
                                                     : "Some odds are estimated from samples: there are too many arrangements to count.");
            break;
        }
}

bool work_patterns(struct work *w, struct err *e)
{
    struct all_odds all = {arena_alloc(w->a, (size_t)w->n_measures + 1, sizeof *all.list), 0, 0};
    bool fine = true;

    if (w->en->n_cylinders < 2)
        return true;
    for (int i = 0; i < w->n_measures; i++) {
        double value[ENGINE_MAX_PLUGS], scaled[ENGINE_MAX_PLUGS];

        all.n_tested += own_values(&w->measures[i], value, scaled);
    }
    for (int i = 0; i < w->n_measures && fine; i++)
        fine = one_measure(w, &w->measures[i], &all, e);
    if (fine)
        note_limits(w);
    return fine;
}
