/* arrange.c - the distinct arrangements are walked as a tree: plug by plug in place order, each branch
 * gives the plug one of the values still left. The sums of all places are kept along the branch, so a
 * step costs one addition for each place, and as soon as all values left are equal the branch ends
 * with one step more. Plugs that no place tells apart are a class: within one the values come in rising order,
 * and the branch counts for as many arrangements as there are orders. Places lie side by side in pairs of doubles, which one instruction adds. */
#include "reading/arrange.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"

#define SLACK 1e-9 /* of the range: sums in another order differ in the last bits; this is no difference */

typedef double lane __attribute__((vector_size(16)));
#define LANES 2

/* ---- values as levels ---- */

struct levels {
    int n;                            /* different values */
    double least, range;              /* range 1 when all are equal */
    double value[ENGINE_MAX_PLUGS];   /* of each level, rising, from 0 to 1 */
    int times[ENGINE_MAX_PLUGS];      /* how often it occurs */
    int of[ENGINE_MAX_PLUGS];         /* level of each plug as observed */
};

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

static void levels_make(struct levels *l, const double *value, int n)
{
    double sorted[ENGINE_MAX_PLUGS];

    memset(l, 0, sizeof *l);
    memcpy(sorted, value, (size_t)n * sizeof *sorted);
    qsort(sorted, (size_t)n, sizeof *sorted, ascending);
    l->least = sorted[0];
    l->range = sorted[n - 1] > sorted[0] ? sorted[n - 1] - sorted[0] : 1;
    for (int i = 0; i < n; i++) {
        double x = (sorted[i] - l->least) / l->range;

        if (l->n == 0 || x - l->value[l->n - 1] > SLACK)
            l->value[l->n++] = x;
        l->times[l->n - 1]++;
    }
    for (int i = 0; i < n; i++) {
        double x = (value[i] - l->least) / l->range;
        int k = 0;

        while (k + 1 < l->n && x - l->value[k] > SLACK)
            k++;
        l->of[i] = k;
    }
}

static double levels_count(const struct levels *l, int n)
{
    double count = 1;

    for (int k = 0; k < l->n; k++)
        for (int i = 1; i <= l->times[k]; i++)
            count = count * n-- / i;
    return round(count);
}

double arrange_count(const double *value, int n)
{
    struct levels l;

    levels_make(&l, value, n);
    return levels_count(&l, n);
}

/* ---- all places side by side ---- */

struct sums {
    const struct arrange *a;
    struct levels levels;
    int first[ARRANGE_MAX_SHAPES], end[ARRANGE_MAX_SHAPES]; /* a shape's lanes */
    int n_lanes;
    int *place;            /* of each double, as an index into a->places */
    int order[ENGINE_MAX_PLUGS]; /* plugs in the order of the walk: classes together */
    int of_class[ENGINE_MAX_PLUGS]; /* of each step of the walk: how many of its class came before */
    bool has_classes;
    lane *start;           /* what each sum begins with */
    lane *weight;          /* [step][lane] */
    lane *tail;            /* [step][lane]: weights of this step and all behind it */
    lane *stack;           /* [depth][lane] */
    double slack[ARRANGE_MAX_SHAPES];
    int now[ENGINE_MAX_PLUGS]; /* level at each step of the arrangement looked at */
};

static void put_lane(lane *row, int at, double x)
{
    ((double *)row)[at] = x;
}

static bool told_apart(const struct arrange *a, int i, int k)
{
    for (int p = 0; p < a->n_places; p++)
        if (fabs(a->places[p].weight[i] - a->places[p].weight[k]) > 1e-12 * fabs(a->places[p].weight[i]))
            return true;
    return a->n_joins > 0;
}

static void make_classes(struct sums *s)
{
    bool taken[ENGINE_MAX_PLUGS] = {false};
    int n = 0;

    for (int i = 0; i < s->a->n; i++) {
        int before = 0;

        for (int k = i; k < s->a->n && !taken[i]; k++)
            if (!taken[k] && (k == i || !told_apart(s->a, i, k))) {
                taken[k] = k != i;
                s->order[n] = k;
                s->of_class[n++] = before++;
            }
        s->has_classes = s->has_classes || before > 1;
    }
    assert(n == s->a->n);
}

static void sums_make(struct sums *s, const struct arrange *a)
{
    int n = 0;

    memset(s, 0, sizeof *s);
    s->a = a;
    levels_make(&s->levels, a->value, a->n);
    make_classes(s);
    s->place = mem_alloc((size_t)(a->n_places + LANES * ARRANGE_MAX_SHAPES), sizeof *s->place);
    for (int k = 0; k < a->n_shapes; k++) {
        int before = n;

        s->first[k] = n / LANES;
        for (int p = 0; p < a->n_places; p++)
            if (a->places[p].shape == k)
                s->place[n++] = p;
        for (; n % LANES != 0; n++) /* the last place twice changes no maximum */
            s->place[n] = s->place[n - 1];
        assert(n >= before);
        s->end[k] = n / LANES;
    }
    s->n_lanes = n / LANES;
    s->start = mem_alloc((size_t)s->n_lanes + 1, sizeof *s->start);
    s->weight = mem_alloc((size_t)(s->n_lanes * a->n + 1), sizeof *s->weight);
    s->tail = mem_alloc((size_t)(s->n_lanes * (a->n + 1) + 1), sizeof *s->tail);
    s->stack = mem_alloc((size_t)(s->n_lanes * (a->n + 1) + 1), sizeof *s->stack);
    for (int k = 0; k < n; k++) {
        const struct arrange_place *p = &a->places[s->place[k]];
        double all = 0, size = 0;

        for (int i = a->n - 1; i >= 0; i--) {
            double weight = p->weight[s->order[i]];

            put_lane(s->weight + i * s->n_lanes, k, weight);
            all += weight;
            size += fabs(weight);
            put_lane(s->tail + i * s->n_lanes, k, all);
        }
        /* weights of a contrast add up to 0 but for rounding; a large common offset must not enlarge that */
        put_lane(s->start, k, fabs(all) > SLACK * size ? all * s->levels.least / s->levels.range : 0);
        s->slack[p->shape] = fmax(s->slack[p->shape], SLACK * size);
    }
    for (int j = 0; j < a->n_joins; j++)
        s->slack[a->joins[j].shape] = SLACK * (1 + a->joins[j].n_edges);
}

static void sums_release(struct sums *s)
{
    free(s->place);
    free(s->start);
    free(s->weight);
    free(s->tail);
    free(s->stack);
}

static double larger(double a, double b)
{
    return a > b ? a : b;
}

#ifdef __SSE2__ /* one instruction each, which the compilers do not find by themselves */
#define lane_max __builtin_ia32_maxpd
#define lane_min __builtin_ia32_minpd
#else
static lane lane_max(lane a, lane b)
{
    return (lane){larger(a[0], b[0]), larger(a[1], b[1])};
}

static lane lane_min(lane a, lane b)
{
    return (lane){a[0] < b[0] ? a[0] : b[0], a[1] < b[1] ? a[1] : b[1]};
}
#endif

/* Statistic of each shape from the sums of all places so far and what x times a row adds to them. */
static void sums_statistics(const struct sums *s, const lane *sum, const lane *row, double x, double *stat)
{
    for (int k = 0; k < s->a->n_shapes; k++) {
        lane high, low;
        int i = s->first[k];

        if (i == s->end[k])
            continue;
        high = low = sum[i] + row[i] * x;
        if (s->a->two_sided[k]) {
            while (++i < s->end[k]) {
                lane here = sum[i] + row[i] * x;

                high = lane_max(here, high);
                low = lane_min(here, low);
            }
            stat[k] = larger(larger(high[0], high[1]), -(low[0] < low[1] ? low[0] : low[1]));
        } else {
            while (++i < s->end[k])
                high = lane_max(sum[i] + row[i] * x, high);
            stat[k] = larger(high[0], high[1]);
        }
    }
    for (int j = 0; j < s->a->n_joins; j++) {
        const struct arrange_joins *joins = &s->a->joins[j];
        /* with neighbours to join all plugs are told apart: steps are plugs */
        double centre = (joins->centre - s->levels.least) / s->levels.range, sum_of = 0;

        for (int i = 0; i < joins->n_edges; i++)
            sum_of += (s->levels.value[s->now[joins->edges[i].from]] - centre) *
                      (s->levels.value[s->now[joins->edges[i].to]] - centre);
        stat[joins->shape] = sum_of;
    }
}

static void add_scaled(lane *to, const lane *from, const lane *row, double x, int n)
{
    for (int i = 0; i < n; i++)
        to[i] = from[i] + row[i] * x;
}

/* ---- what is counted over all arrangements ---- */

struct tally {
    const struct sums *sums;
    bool second;              /* mean and spread are known: count what any shape reaches */
    bool cancelled;
    long looks;
    double done;              /* arrangements looked at: a look counts for all that no place tells apart */
    double observed[ARRANGE_MAX_SHAPES];
    double sum[ARRANGE_MAX_SHAPES], square[ARRANGE_MAX_SHAPES], count[ARRANGE_MAX_SHAPES];
    double mean[ARRANGE_MAX_SHAPES], per_sd[ARRANGE_MAX_SHAPES]; /* 0 for a statistic that never changes */
    int n_limits;             /* observed z of the shapes, rising */
    double limit[ARRANGE_MAX_SHAPES], reached[ARRANGE_MAX_SHAPES + 1], most;
    double no_more;
    int n_tested, tested[ARRANGE_MAX_SHAPES];
};

static void tally_one(struct tally *t, const double *stat, double times)
{
    if (!t->second) {
        for (int i = 0; i < t->n_tested; i++) {
            int k = t->tested[i];
            double d = stat[k] - t->observed[k]; /* about the observed: no cancellation */

            t->sum[k] += d * times;
            t->square[k] += d * d * times;
            t->count[k] += d >= -t->sums->slack[k] ? times : 0;
        }
    } else {
        double top = -INFINITY;
        int n = 0;

        for (int i = 0; i < t->n_tested; i++) {
            int k = t->tested[i];

            top = larger(top, (stat[k] - t->mean[k]) * t->per_sd[k]);
        }
        while (n < t->n_limits && top >= t->limit[n] - SLACK)
            n++;
        t->reached[n] += times;
        t->no_more += top <= t->most + SLACK ? times : 0;
    }
    t->done += times;
    if ((++t->looks & 1023) == 0 && t->sums->a->cancel != NULL && atomic_load(t->sums->a->cancel))
        t->cancelled = true;
}

/* Between the walks: each shape's mean, spread and observed z, and the limits to reach. */
static void tally_scale(struct tally *t, struct arrange_result *out)
{
    double n = t->done;

    t->n_limits = 0;
    for (int i = 0; i < t->n_tested; i++) {
        int k = t->tested[i];
        double mean = t->sum[k] / n, var = t->square[k] / n - mean * mean;

        t->per_sd[k] = var > t->sums->slack[k] * t->sums->slack[k] ? 1 / sqrt(var) : 0;
        t->mean[k] = mean + t->observed[k];
        out->z[k] = -mean * t->per_sd[k];
        t->limit[t->n_limits++] = out->z[k];
    }
    qsort(t->limit, (size_t)t->n_limits, sizeof t->limit[0], ascending);
    t->most = t->n_limits > 0 ? t->limit[t->n_limits - 1] : 0;
    t->second = true;
    t->done = 0;
}

static double tally_any(const struct tally *t, double z)
{
    double sum = 0;

    for (int n = 0; n <= t->n_limits; n++)
        if (n > 0 && t->limit[n - 1] >= z)
            sum += t->reached[n];
    return sum;
}

/* ---- the two walks ---- */

struct walk {
    struct sums *s;
    struct tally *t;            /* NULL: only count the looks */
    int left[ENGINE_MAX_PLUGS]; /* of each level */
    int n_kinds;                /* levels with any left */
    double looks, most;
};

/* The rest is all of level k: the branch ends. run: how many of the class already have that level. */
static void finish(struct walk *w, const lane *sum, int i, int k, int run, double times)
{
    struct sums *s = w->s;
    double stat[ARRANGE_MAX_SHAPES];
    int at = s->of_class[i];

    for (int j = i; j < s->a->n; j++) {
        s->now[j] = k;
        if (s->of_class[j] == 0 && j > i)
            at = -1;
        if (at >= 0)
            times = times * ++at / ++run;
    }
    w->looks++;
    if (w->t == NULL)
        return;
    sums_statistics(s, sum, s->tail + i * s->n_lanes, s->levels.value[k], stat);
    tally_one(w->t, stat, times);
}

static void branch(struct walk *w, const lane *sum, int i, int run, double times)
{
    struct sums *s = w->s;
    int n = s->n_lanes, least = s->of_class[i] > 0 ? s->now[i - 1] : 0;
    lane *next = s->stack + (i + 1) * n;

    for (int k = least; k < s->levels.n; k++) {
        int same = s->of_class[i] > 0 && k == least ? run : 0;

        if (w->left[k] == 0)
            continue;
        if (w->n_kinds == 1) {
            finish(w, sum, i, k, same, times);
            return;
        }
        s->now[i] = k;
        w->n_kinds -= --w->left[k] == 0;
        if (w->t != NULL && k > 0)
            add_scaled(next, sum, s->weight + i * n, s->levels.value[k], n);
        branch(w, k > 0 ? next : sum, i + 1, same + 1, s->of_class[i] == 0 ? times : times * (s->of_class[i] + 1) / (same + 1));
        w->n_kinds += w->left[k]++ == 0;
        if (w->t != NULL ? w->t->cancelled : w->looks > w->most)
            return;
    }
}

static double walk_all(struct sums *s, struct tally *t, double most)
{
    struct walk w = {.s = s, .t = t, .n_kinds = s->levels.n, .most = most};

    memcpy(w.left, s->levels.times, sizeof w.left);
    memcpy(s->stack, s->start, (size_t)s->n_lanes * sizeof *s->stack);
    branch(&w, s->stack, 0, 0, 1);
    return w.looks;
}

/* Whether all can be looked at. */
static bool can_be_counted(struct sums *s)
{
    if (levels_count(&s->levels, s->a->n) <= s->a->max_exact)
        return true;
    return s->has_classes && walk_all(s, NULL, s->a->max_exact) <= s->a->max_exact;
}

/* splitmix64: small, seeded, the same everywhere. */
static uint64_t random64(uint64_t *state)
{
    uint64_t z = (*state += 0x9E3779B97F4A7C15u);

    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return z ^ (z >> 31);
}

/* The statistics of each sample are kept for the second look: drawing twice would cost twice. */
static void walk_samples(struct sums *s, struct tally *t, double *kept)
{
    int n = s->a->n, n_lanes = s->n_lanes, of[ENGINE_MAX_PLUGS], at = 0;
    uint64_t state = s->a->seed;

    for (int k = 0; k < s->levels.n; k++)
        for (int i = 0; i < s->levels.times[k]; i++)
            of[at++] = k;
    for (int sample = 0; sample < s->a->n_samples && !t->cancelled; sample++, kept += s->a->n_shapes) {
        memcpy(s->stack, s->start, (size_t)n_lanes * sizeof *s->stack);
        for (int i = n - 1; i >= 0; i--) {
            int k = (int)(((random64(&state) >> 32) * (uint64_t)(i + 1)) >> 32), dealt = of[k];

            of[k] = of[i];
            of[i] = dealt;
            s->now[i] = dealt;
            if (dealt > 0)
                add_scaled(s->stack, s->stack, s->weight + i * n_lanes, s->levels.value[dealt], n_lanes);
        }
        sums_statistics(s, s->stack, s->weight, 0, kept);
        tally_one(t, kept, 1);
    }
}

/* ---- one measure ---- */

static void observe(struct sums *s, struct tally *t, struct arrange_result *out)
{
    const struct arrange *a = s->a;
    const double *sum = (const double *)s->stack;

    memcpy(s->stack, s->start, (size_t)s->n_lanes * sizeof *s->stack);
    for (int i = 0; i < a->n; i++) {
        s->now[i] = s->levels.of[s->order[i]];
        add_scaled(s->stack, s->stack, s->weight + i * s->n_lanes, s->levels.value[s->now[i]], s->n_lanes);
    }
    sums_statistics(s, s->stack, s->weight, 0, t->observed);
    for (int k = 0; k < a->n_shapes; k++) {
        bool joined = false;

        out->best_place[k] = -1;
        out->direction[k] = 1;
        out->chance[k] = out->chance_any[k] = 1;
        for (int j = 0; j < a->n_joins; j++)
            joined = joined || a->joins[j].shape == k;
        out->tested[k] = joined || s->first[k] < s->end[k];
        if (!out->tested[k])
            continue;
        t->tested[t->n_tested++] = k;
        out->statistic[k] = t->observed[k] * (joined ? s->levels.range * s->levels.range : s->levels.range);
        /* the first of equals, and what lies above before what lies below */
        for (int way = 1; way >= (a->two_sided[k] ? -1 : 1) && out->best_place[k] < 0; way -= 2)
            for (int i = LANES * s->first[k]; i < LANES * s->end[k] && out->best_place[k] < 0; i++)
                if (way * sum[i] >= t->observed[k] - s->slack[k]) {
                    out->best_place[k] = s->place[i];
                    out->direction[k] = way;
                }
    }
}

bool arrange_run(const struct arrange *a, struct arrange_result *out, struct err *e)
{
    struct sums s;
    struct tally t = {.sums = &s};
    double n;

    assert(a->n >= 1 && a->n <= ENGINE_MAX_PLUGS && a->n_shapes <= ARRANGE_MAX_SHAPES);
    memset(out, 0, sizeof *out);
    sums_make(&s, a);
    observe(&s, &t, out);
    out->exact = can_be_counted(&s);
    /* Twice over the same arrangements: the first for mean and spread, the second counts. */
    if (out->exact) {
        walk_all(&s, &t, 0);
        tally_scale(&t, out);
        if (!t.cancelled)
            walk_all(&s, &t, 0);
    } else {
        double *kept = mem_alloc((size_t)a->n_samples * (size_t)a->n_shapes, sizeof *kept);

        walk_samples(&s, &t, kept);
        tally_scale(&t, out);
        for (int i = 0; i < a->n_samples && !t.cancelled; i++)
            tally_one(&t, kept + (size_t)i * (size_t)a->n_shapes, 1);
        free(kept);
    }
    sums_release(&s);
    if (t.cancelled)
        return err_set(e, ERR_CANCEL, "Stopped.");
    n = t.done;
    out->arrangements = n;
    for (int i = 0; i < t.n_tested; i++) {
        int k = t.tested[i];
        double any = tally_any(&t, out->z[k]);

        /* a sample counts the observed arrangement in, so that no chance is ever 0 */
        out->chance[k] = out->exact ? t.count[k] / n : (t.count[k] + 1) / (n + 1);
        out->chance_any[k] = out->exact ? any / n : (any + 1) / (n + 1);
    }
    out->chance_none = out->exact ? t.no_more / n : (t.no_more + 1) / (n + 1);
    return true;
}
