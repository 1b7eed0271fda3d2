#include "reading/sums.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#ifdef __SSE2__
#include <emmintrin.h>
#endif

#include "base/mem.h"

typedef int16_t whole __attribute__((vector_size(16), may_alias));
#define PER_LANE 2
#define PER_WHOLE 8
#define WHOLE_MOST 32767.0

/* ---- values as levels ---- */

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

void levels_make(struct levels *l, const double *value, int n)
{
    double sorted[ENGINE_MAX_PLUGS];

    memset(l, 0, sizeof *l);
    memcpy(sorted, value, (size_t)n * sizeof *sorted);
    qsort(sorted, (size_t)n, sizeof *sorted, ascending);
    l->least = sorted[0];
    l->range = sorted[n - 1] > sorted[0] ? sorted[n - 1] - sorted[0] : 1;
    for (int i = 0; i < n; i++) {
        double x = (sorted[i] - l->least) / l->range;

        if (l->n == 0 || x - l->value[l->n - 1] > SUMS_SLACK)
            l->value[l->n++] = x;
        l->times[l->n - 1]++;
    }
    for (int i = 0; i < n; i++) {
        double x = (value[i] - l->least) / l->range;
        int k = 0;

        while (k + 1 < l->n && x - l->value[k] > SUMS_SLACK)
            k++;
        l->of[i] = k;
    }
}

double levels_count(const struct levels *l, int n)
{
    double count = 1;

    for (int k = 0; k < l->n; k++)
        for (int i = 1; i <= l->times[k]; i++)
            count = count * n-- / i;
    return round(count);
}

/* ---- steps: values as whole multiples ---- */

/* Largest step of which all x less the least are whole multiples, at most `most` of them; 0 when there is
 * none. The smallest difference or a half, third or quarter of it. */
static double step_of(const double *x, int n, double most)
{
    double sorted[ENGINE_MAX_PLUGS], least = 0;

    memcpy(sorted, x, (size_t)n * sizeof *sorted);
    qsort(sorted, (size_t)n, sizeof *sorted, ascending);
    for (int i = 1; i < n; i++) {
        double d = sorted[i] - sorted[i - 1];

        if (d > SUMS_SLACK && (!(least > 0) || d < least))
            least = d;
    }
    if (!(least > 0))
        return 1;
    for (int m = 1; m <= 4; m++) {
        double step = least / m;
        int i = 0;

        while (i < n && fabs((sorted[i] - sorted[0]) / step - round((sorted[i] - sorted[0]) / step)) < 1e-6)
            i++;
        if (i == n)
            return (sorted[n - 1] - sorted[0]) / step <= most ? step : 0;
    }
    return 0;
}

static double least_of(const double *x, int n)
{
    double least = x[0];

    for (int i = 1; i < n; i++)
        least = fmin(least, x[i]);
    return least;
}

/* Whether all places can be summed in whole numbers; steps[] receives each place's. */
static bool can_be_whole(const struct sums *s, double *steps, double value_step)
{
    const struct arrange *a = s->a;

    if (!(value_step > 0))
        return false;
    for (int p = 0; p < a->n_places; p++) {
        const double *w = a->places[p].weight;
        double least = least_of(w, a->n), sum = 0;

        steps[p] = step_of(w, a->n, WHOLE_MOST);
        if (!(steps[p] > 0))
            return false;
        for (int i = 0; i < a->n; i++)
            sum += (w[i] - least) / steps[p];
        if (sum / value_step > WHOLE_MOST) /* values go from 0 to 1 */
            return false;
    }
    return true;
}

/* ---- classes, groups, rows ---- */

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
                s->last_class = before == 0 ? n : s->last_class;
                s->order[n] = k;
                s->of_class[n++] = before++;
            }
        s->has_classes = s->has_classes || before > 1;
    }
    assert(n == s->a->n);
}

static bool alike(const struct sums_group *a, const struct sums_group *b)
{
    return a->shape == b->shape && fabs(a->scale - b->scale) < 1e-12 && fabs(a->start - b->start) < 1e-12;
}

/* Which group each place belongs to; of a shape they stand one after the other. */
static void make_groups(struct sums *s, const struct sums_group *of_place, int *group)
{
    s->groups = mem_alloc((size_t)s->a->n_places + 1, sizeof *s->groups);
    for (int k = 0; k < s->a->n_shapes; k++)
        for (int p = 0; p < s->a->n_places; p++) {
            int g = 0;

            if (of_place[p].shape != k)
                continue;
            while (g < s->n_groups && !alike(&s->groups[g], &of_place[p]))
                g++;
            if (g == s->n_groups)
                s->groups[s->n_groups++] = of_place[p];
            group[p] = g;
        }
}

/* The same room holds vectors of one kind or the other, never both. */
static whole *as_whole(lane *row)
{
    return (whole *)(void *)row;
}

static const whole *as_whole_const(const lane *row)
{
    return (const whole *)(const void *)row;
}

static void put(const struct sums *s, lane *rows, int step, int at, double x)
{
    lane *row = rows + step * s->n_vectors;

    if (s->whole)
        as_whole(row)[at / PER_WHOLE][at % PER_WHOLE] = (int16_t)lround(x);
    else
        row[at / PER_LANE][at % PER_LANE] = x;
}

static double get(const struct sums *s, const lane *row, int at)
{
    return s->whole ? as_whole_const(row)[at / PER_WHOLE][at % PER_WHOLE] : row[at / PER_LANE][at % PER_LANE];
}

void sums_make(struct sums *s, const struct arrange *a)
{
    double *steps = mem_alloc((size_t)a->n_places + 1, sizeof *steps), value_step, all_values = 0;
    struct sums_group *of_place = mem_alloc((size_t)a->n_places + 1, sizeof *of_place);
    int *group = mem_alloc((size_t)a->n_places + 1, sizeof *group), per, n = 0;

    memset(s, 0, sizeof *s);
    s->a = a;
    levels_make(&s->levels, a->value, a->n);
    make_classes(s);
    value_step = step_of(s->levels.value, s->levels.n, WHOLE_MOST);
    s->whole = can_be_whole(s, steps, value_step);
    for (int k = 0; k < s->levels.n && s->whole; k++)
        s->levels.whole[k] = (int16_t)lround(s->levels.value[k] / value_step);
    for (int i = 0; i < a->n; i++)
        all_values += s->levels.value[s->levels.of[i]];
    for (int p = 0; p < a->n_places; p++) {
        const double *w = a->places[p].weight;
        double all = 0, size = 0, least = least_of(w, a->n);

        for (int i = 0; i < a->n; i++) {
            all += w[i];
            size += fabs(w[i]);
        }
        /* weights of a contrast add up to 0 but for rounding; a large common offset must not enlarge that */
        of_place[p].shape = a->places[p].shape;
        of_place[p].start = fabs(all) > SUMS_SLACK * size ? all * s->levels.least / s->levels.range : 0;
        of_place[p].scale = 1;
        if (s->whole) {
            of_place[p].start += least * all_values;
            of_place[p].scale = steps[p] * value_step;
        }
        s->slack[of_place[p].shape] = fmax(s->slack[of_place[p].shape], SUMS_SLACK * size);
    }
    for (int j = 0; j < a->n_joins; j++)
        s->slack[a->joins[j].shape] = SUMS_SLACK * (1 + a->joins[j].n_edges);
    make_groups(s, of_place, group);
    per = s->whole ? PER_WHOLE : PER_LANE;
    s->place = mem_alloc((size_t)(a->n_places + per * s->n_groups + 1), sizeof *s->place);
    for (int g = 0; g < s->n_groups; g++) {
        s->groups[g].first = n / per;
        for (int p = 0; p < a->n_places; p++)
            if (group[p] == g)
                s->place[n++] = p;
        for (; n % per != 0; n++) /* the last place twice changes no maximum */
            s->place[n] = s->place[n - 1];
        s->groups[g].end = n / per;
    }
    s->n_vectors = n / per;
    s->weight = mem_alloc((size_t)(s->n_vectors * (a->n + 1) + 1), sizeof *s->weight);
    s->tail = mem_alloc((size_t)(s->n_vectors * (a->n + 1) + 1), sizeof *s->tail);
    s->stack = mem_alloc((size_t)(s->n_vectors * (a->n + 1) + 1), sizeof *s->stack);
    for (int k = 0; k < n; k++) {
        const double *w = a->places[s->place[k]].weight;
        double least = s->whole ? least_of(w, a->n) : 0, step = s->whole ? steps[s->place[k]] : 1, all = 0;

        for (int i = a->n - 1; i >= 0; i--) {
            double weight = (w[s->order[i]] - least) / step;

            all += weight;
            put(s, s->weight, i, k, weight);
            put(s, s->tail, i, k, all);
        }
    }
    free(steps);
    free(of_place);
    free(group);
}

void sums_release(struct sums *s)
{
    free(s->groups);
    free(s->place);
    free(s->weight);
    free(s->tail);
    free(s->stack);
}

/* ---- what runs millions of times ---- */

static double larger(double a, double b)
{
    return a > b ? a : b;
}

static lane lane_max(lane a, lane b)
{
#ifdef __SSE2__ /* one instruction, which the compilers do not find by themselves */
    return (lane)_mm_max_pd((__m128d)a, (__m128d)b);
#else
    return (lane){larger(a[0], b[0]), larger(a[1], b[1])};
#endif
}

static whole whole_max(whole a, whole b)
{
#ifdef __SSE2__
    return (whole)_mm_max_epi16((__m128i)a, (__m128i)b);
#else
    whole more = a > b;

    return (a & more) | (b & ~more);
#endif
}

static double whole_top(whole v)
{
#ifdef __SSE2__
    v = whole_max(v, (whole)_mm_srli_si128((__m128i)v, 8));
    v = whole_max(v, (whole)_mm_srli_si128((__m128i)v, 4));
    return v[0] > v[1] ? v[0] : v[1];
#else
    int16_t top = v[0];

    for (int i = 1; i < PER_WHOLE; i++)
        top = v[i] > top ? v[i] : top;
    return top;
#endif
}

void sums_add(const struct sums *s, lane *to, const lane *from, const lane *row, int k)
{
    if (s->whole) {
        int16_t x = s->levels.whole[k];

        for (int i = 0; i < s->n_vectors; i++)
            as_whole(to)[i] = as_whole_const(from)[i] + as_whole_const(row)[i] * x;
    } else {
        double x = s->levels.value[k];

        for (int i = 0; i < s->n_vectors; i++)
            to[i] = from[i] + row[i] * x;
    }
}

static double statistic_of_whole(const struct sums_group *g, bool two_sided, const whole *sum, const whole *row, int16_t x)
{
    int i = g->first;
    whole high = sum[i] + row[i] * x, low = -high;

    while (++i < g->end) {
        whole here = sum[i] + row[i] * x;

        high = whole_max(here, high);
        if (two_sided)
            low = whole_max(-here, low);
    }
    return two_sided ? larger(g->scale * whole_top(high) + g->start, g->scale * whole_top(low) - g->start)
                     : g->scale * whole_top(high) + g->start;
}

static double statistic_of_lanes(const struct sums_group *g, bool two_sided, const lane *sum, const lane *row, double x)
{
    int i = g->first;
    lane high = sum[i] + row[i] * x, low = -high;

    while (++i < g->end) {
        lane here = sum[i] + row[i] * x;

        high = lane_max(here, high);
        if (two_sided)
            low = lane_max(-here, low);
    }
    return two_sided ? larger(larger(high[0], high[1]) + g->start, larger(low[0], low[1]) - g->start)
                     : larger(high[0], high[1]) + g->start;
}

void sums_statistics(const struct sums *s, const lane *sum, const lane *row, int k, double *stat)
{
    int before = -1;

    for (const struct sums_group *g = s->groups; g < s->groups + s->n_groups; g++) {
        bool two_sided = s->a->two_sided[g->shape];
        double here = s->whole ? statistic_of_whole(g, two_sided, as_whole_const(sum), as_whole_const(row), s->levels.whole[k])
                               : statistic_of_lanes(g, two_sided, sum, row, s->levels.value[k]);

        stat[g->shape] = g->shape == before ? larger(stat[g->shape], here) : here;
        before = g->shape;
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

int sums_find(const struct sums *s, const lane *sum, int shape, int way, double limit)
{
    int per = s->whole ? PER_WHOLE : PER_LANE, found = -1;

    for (const struct sums_group *g = s->groups; g < s->groups + s->n_groups; g++)
        for (int i = g->first * per; i < g->end * per && g->shape == shape; i++)
            if (way * (g->scale * get(s, sum, i) + g->start) >= limit && (found < 0 || s->place[i] < found))
                found = s->place[i];
    return found;
}
