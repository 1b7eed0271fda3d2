/* patterns.c - the shapes a measure can take over the engine, and the odds of each by luck. The
 * statistic of a shape's place is the contrast between what it covers and the rest:
 * mean(inside) - mean(outside), in the direction that is worse (both, where either counts). */
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "reading/arrange.h"
#include "reading/reading_work.h"

#define BIT(i) ((engine_set)1 << (i))
#define MAX_PLACES 400

struct places {
    struct arrange_place *list;
    engine_set cover[MAX_PLACES];
    int direction[MAX_PLACES];
    int n;
};

/* A place without weights yet; NULL when there are too many. */
static struct arrange_place *add_place(struct places *ps, enum pattern_shape shape, engine_set cover, int direction)
{
    struct arrange_place *p = &ps->list[ps->n];

    if (ps->n == MAX_PLACES)
        return NULL;
    memset(p, 0, sizeof *p);
    p->shape = (int)shape;
    ps->cover[ps->n] = cover;
    ps->direction[ps->n] = direction;
    ps->n++;
    return p;
}

/* Adds the contrast of `cover` against the other plugs read; both ways when either direction counts. */
static void add_cover(struct places *ps, const struct work *w, const struct measure *m, enum pattern_shape shape, engine_set cover)
{
    int inside = 0;

    for (int i = 0; i < m->n; i++)
        inside += (cover >> work_cylinder(w, m->plug[i]) & 1u) != 0;
    if (inside == 0 || inside == m->n)
        return;
    for (int way = 1; way >= -1; way -= 2) {
        struct arrange_place *p;

        if (m->worse != 0 && way != m->worse)
            continue;
        p = add_place(ps, shape, cover, way);
        if (p == NULL)
            return;
        for (int i = 0; i < m->n; i++) {
            bool in = (cover >> work_cylinder(w, m->plug[i]) & 1u) != 0;

            p->weight[i] = way * (in ? 1.0 / inside : -1.0 / (m->n - inside));
        }
    }
}

static void build(struct places *ps, const struct work *w, const struct measure *m)
{
    const struct engine *en = w->en;

    for (int c = 0; c < en->n_cylinders; c++)
        add_cover(ps, w, m, SHAPE_ONE_CYLINDER, BIT(c));
    if (en->n_banks > 1)
        for (int b = 0; b < en->n_banks; b++)
            add_cover(ps, w, m, SHAPE_ONE_BANK, engine_bank_set(en, b));
    for (int c = 0; c < en->n_cylinders; c++) {
        engine_set next = engine_kin(en, c, ENGINE_KIN_ADJACENT);
        engine_set companion = engine_kin(en, c, ENGINE_KIN_COMPANION);

        for (int d = c + 1; d < en->n_cylinders; d++) {
            if ((next & BIT(d)) != 0)
                add_cover(ps, w, m, SHAPE_ADJACENT_PAIR, BIT(c) | BIT(d));
            if ((companion & BIT(d)) != 0)
                add_cover(ps, w, m, SHAPE_COMPANION_PAIR, BIT(c) | BIT(d));
        }
        if (en->n_cylinders > 2)
            add_cover(ps, w, m, SHAPE_FIRING_NEIGHBOURS, BIT(en->firing[c]) | BIT(en->firing[(c + 1) % en->n_cylinders]));
    }
    for (int g = 0; g < en->n_coil_groups; g++)
        add_cover(ps, w, m, SHAPE_COIL_GROUP, en->coil_groups[g]);
    for (int g = 0; g < en->n_mixture_groups; g++)
        add_cover(ps, w, m, SHAPE_MIXTURE_GROUP, en->mixture_groups[g]);
}

/* Weights that rise along a line, summing to 0: a trend instead of a contrast. */
static void add_trend(struct places *ps, const struct work *w, const struct measure *m, enum pattern_shape shape, const double *at)
{
    double mean = 0, spread = 0;
    engine_set all = 0;

    for (int i = 0; i < m->n; i++) {
        mean += at[i] / m->n;
        all |= BIT(work_cylinder(w, m->plug[i]));
    }
    for (int i = 0; i < m->n; i++)
        spread += (at[i] - mean) * (at[i] - mean);
    if (!(spread > 0))
        return;
    for (int way = 1; way >= -1; way -= 2) {
        struct arrange_place *p;

        if (shape == SHAPE_REMOVAL_ORDER && way == 1)
            continue; /* carried oil fades along the order; a rise is no carry-over */
        p = add_place(ps, shape, all, way);
        if (p == NULL)
            return;
        for (int i = 0; i < m->n; i++)
            p->weight[i] = way * (at[i] - mean) / sqrt(spread);
    }
}

static void build_trends(struct places *ps, const struct work *w, const struct measure *m)
{
    double at[ENGINE_MAX_PLUGS];
    bool all_drawn = w->v->n_removal > 2;

    if (w->en->layout != ENGINE_RADIAL && w->en->banks[0].n_cylinders > 2) {
        for (int i = 0; i < m->n; i++)
            at[i] = w->en->cylinders[work_cylinder(w, m->plug[i])].place;
        add_trend(ps, w, m, SHAPE_FRONT_REAR, at);
    }
    for (int i = 0; i < m->n && all_drawn; i++) {
        int found = visit_find_drawn(w->v, work_cylinder(w, m->plug[i]), work_position(w, m->plug[i]));

        all_drawn = found >= 0;
        at[i] = found;
    }
    if (all_drawn && m->kind == MEASURE_SIGN)
        add_trend(ps, w, m, SHAPE_REMOVAL_ORDER, at);
}

/* Share of the measure's variance that the two means explain: 1 = the shape tells everything. */
static double strength(const struct measure *m, const double *value, const struct arrange_place *p)
{
    double mean = 0, total = 0, dot = 0, norm = 0;

    for (int i = 0; i < m->n; i++)
        mean += value[i] / m->n;
    for (int i = 0; i < m->n; i++) {
        total += (value[i] - mean) * (value[i] - mean);
        dot += p->weight[i] * value[i];
        norm += p->weight[i] * p->weight[i];
    }
    return total > 0 && norm > 0 ? fmin(1, dot * dot / (norm * total)) : 0;
}

static int likelier_last(const void *pa, const void *pb)
{
    const struct pattern *a = pa, *b = pb;
    double d = a->chance_any - b->chance_any;

    if (fabs(d) > 1e-12)
        return d < 0 ? -1 : 1;
    d = b->strength - a->strength;
    return d < 0 ? -1 : d > 0 ? 1 : (int)a->shape - (int)b->shape;
}

static bool one_measure(struct work *w, const struct measure *m, struct places *ps, struct err *e)
{
    struct arrange a = {0};
    struct arrange_result *res = arena_alloc(w->a, 1, sizeof *res);
    int first = w->f->n_patterns;
    bool differ = false, all_same_bad = m->kind == MEASURE_SIGN && m->n >= 2;

    a.n = m->n;
    for (int i = 0; i < m->n; i++) {
        a.value[i] = m->explained[i] ? 0 : m->value[i];
        differ = differ || fabs(a.value[i] - a.value[0]) > 1e-9;
        all_same_bad = all_same_bad && a.value[i] > 0;
    }
    if (all_same_bad) {
        struct pattern *p = work_add_pattern(w);

        text_copy(p->measure, sizeof p->measure, m->id);
        p->shape = SHAPE_ALL;
        text_copy(p->where, sizeof p->where, "engine");
        p->strength = 1;
        p->chance = p->chance_any = 1; /* nothing to deal out: all alike is no matter of luck */
        p->exact = true;
        p->arrangements = differ ? arrange_count(a.value, a.n) : 1;
        p->adverse = true;
        if (!differ)
            return true;
    }
    if (!differ || m->n < 2)
        return true;
    ps->n = 0;
    build(ps, w, m);
    build_trends(ps, w, m);
    if (ps->n == 0)
        return true;
    a.n_shapes = SHAPE_COUNT;
    a.n_places = ps->n;
    a.places = ps->list;
    a.seed = w->options->seed ? w->options->seed : 20260614;
    a.max_exact = w->options->first_answer ? 2000 : 200000;
    a.n_samples = w->options->first_answer ? 2000 : 100000;
    a.cancel = w->options->cancel;
    if (!arrange_run(&a, res, e))
        return false;
    if (!res->exact)
        w->f->provisional = w->f->provisional || w->options->first_answer;
    for (int s = 0; s < SHAPE_COUNT; s++) {
        struct pattern *p;
        int best = res->best_place[s];

        if (best < 0 || res->statistic[s] <= 1e-9)
            continue;
        p = work_add_pattern(w);
        text_copy(p->measure, sizeof p->measure, m->id);
        p->shape = (enum pattern_shape)s;
        p->cylinders = s == SHAPE_FRONT_REAR || s == SHAPE_REMOVAL_ORDER ? 0 : ps->cover[best];
        work_where(w, p->cylinders, -1, p->where, sizeof p->where);
        p->strength = strength(m, a.value, &ps->list[best]);
        p->chance = res->chance[s];
        p->chance_any = res->chance_any[s];
        p->exact = res->exact;
        p->error = res->exact ? 0 : sqrt(p->chance * (1 - p->chance) / res->arrangements);
        p->error_any = res->exact ? 0 : sqrt(p->chance_any * (1 - p->chance_any) / res->arrangements);
        p->arrangements = res->arrangements;
        p->adverse = m->worse == 0 || ps->direction[best] == m->worse;
        /* What is seen, for a sign: the cylinders that show it, when they all lie in the place. */
        if (m->kind == MEASURE_SIGN && p->cylinders != 0) {
            engine_set shown = 0;

            for (int i = 0; i < m->n; i++)
                if (a.value[i] > 0)
                    shown |= BIT(work_cylinder(w, m->plug[i]));
            if ((shown & ~p->cylinders) == 0)
                p->cylinders = shown;
        }
    }
    qsort(w->f->patterns + first, (size_t)(w->f->n_patterns - first), sizeof *w->f->patterns, likelier_last);
    return true;
}

bool work_patterns(struct work *w, struct err *e)
{
    struct places *ps = mem_alloc(1, sizeof *ps);
    bool fine = true;

    ps->list = mem_alloc(MAX_PLACES, sizeof *ps->list);
    if (w->en->n_cylinders > 1)
        for (int i = 0; i < w->n_measures && fine; i++)
            fine = one_measure(w, &w->measures[i], ps, e);
    free(ps->list);
    free(ps);
    return fine;
}

/* ---- patterns that stand out: all of what is seen lies in one bank ---- */

static const char *plural(const struct measure *m)
{
    return m->sign == SIGN_WELL_OIL ? "Oil in the wells" : m->sign == SIGN_WELL_WATER ? "Water in the wells" : NULL;
}

void work_pattern_stand_outs(struct work *w)
{
    const struct engine *en = w->en;

    for (int k = 0; k < w->f->n_patterns; k++) {
        const struct pattern *p = &w->f->patterns[k];
        const struct measure *m = measure_find(w->measures, w->n_measures, p->measure);
        struct stand_out *s, *condition = NULL;
        char words[160], odds[48], label[120];
        int bank = -1, n_shown = 0, n_bank = 0;
        bool mixed = false;

        if (p->shape != SHAPE_ONE_BANK || m == NULL || m->kind != MEASURE_SIGN || !p->adverse)
            continue;
        for (int i = 0; i < m->n; i++)
            if (m->value[i] > 0 && !m->explained[i]) {
                int b = en->cylinders[work_cylinder(w, m->plug[i])].bank;

                mixed = mixed || (bank >= 0 && bank != b);
                bank = b;
                n_shown++;
            }
        if (mixed || n_shown < 2)
            continue;
        for (int i = 0; i < m->n; i++)
            n_bank += en->cylinders[work_cylinder(w, m->plug[i])].bank == bank;
        if (n_bank == m->n || 2 * n_shown < n_bank)
            continue; /* the other bank was not looked at, or less than half of this one shows it */
        for (int i = 0; i < w->f->n_stand_outs; i++)
            if (w->f->stand_outs[i].kind == STAND_CONDITION && w->f->stand_outs[i].sign == m->sign)
                condition = &w->f->stand_outs[i];
        /* The pattern says what the condition says and more: it takes its place. */
        s = condition != NULL && condition->cylinders == p->cylinders ? condition : work_add_stand_out(w);
        if (s != condition) {
            s->kind = STAND_CONDITION;
            s->level = sign_row((enum sign)m->sign)->level;
        }
        s->cylinders = p->cylinders;
        text_format(s->where, sizeof s->where, "bank %s", en->banks[bank].name);
        text_copy(s->measure, sizeof s->measure, m->id);
        s->sign = m->sign;
        s->pattern = k;
        if (plural(m) != NULL)
            text_copy(label, sizeof label, plural(m));
        else
            text_format(label, sizeof label, "%c%s", m->label[0] >= 'a' && m->label[0] <= 'z' ? m->label[0] - 'a' + 'A' : m->label[0], m->label + 1);
        text_format(s->headline, sizeof s->headline, "%s keeps to bank %s", label, en->banks[bank].name);
        engine_set_words(en, p->cylinders, words, sizeof words);
        words[0] = (char)(words[0] - 'a' + 'A');
        text_format(s->text, sizeof s->text, "%s; %s.%s", words,
                    en->n_banks == 2 ? "the other bank shows none" : "the other banks show none",
                    m->sign == SIGN_WELL_OIL ? " Oil in a well comes from above, not through the cylinder." : "");
        work_odds(p->chance, odds, sizeof odds);
        text_format(s->odds, sizeof s->odds, "%s by luck%s", odds, p->chance > 0.25 ? ": no wonder" : "");
        text_format(s->how, sizeof s->how,
                    "The same %d readings can be dealt out over the plugs in %.0f ways; in %s of them one bank is as "
                    "unlike the others as here. Either bank would have been noticed, so both count.%s",
                    m->n, p->arrangements, odds, p->exact ? " Counted, not estimated." : " Estimated from a sample.");
    }
}
