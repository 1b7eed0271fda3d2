#include "reading/arrange.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"

#define SLACK 1e-9 /* sums in another order differ in the last bits; this is no difference */

/* Values by rank: equal ones share a level. */
static int levels_of(const double *value, int n, double *level, int *of)
{
    int m = 0;

    for (int i = 0; i < n; i++) {
        int k = 0;

        while (k < m && fabs(level[k] - value[i]) > SLACK)
            k++;
        if (k == m)
            level[m++] = value[i];
        of[i] = k;
    }
    return m;
}

double arrange_count(const double *value, int n)
{
    double level[ENGINE_MAX_PLUGS], count = 1;
    int of[ENGINE_MAX_PLUGS], times[ENGINE_MAX_PLUGS] = {0}, m = levels_of(value, n, level, of), left = n;

    for (int i = 0; i < n; i++)
        times[of[i]]++;
    for (int k = 0; k < m; k++)
        for (int i = 1; i <= times[k]; i++)
            count = count * left-- / i;
    return round(count);
}

static void statistics(const struct arrange *a, const double *value, double *stat, int *best)
{
    for (int s = 0; s < a->n_shapes; s++) {
        stat[s] = -INFINITY;
        if (best != NULL)
            best[s] = -1;
    }
    for (int p = 0; p < a->n_places; p++) {
        const struct arrange_place *place = &a->places[p];
        double sum = 0;

        for (int i = 0; i < a->n; i++)
            sum += place->weight[i] * value[i];
        if (sum > stat[place->shape] + SLACK || (best != NULL && best[place->shape] < 0)) {
            stat[place->shape] = sum;
            if (best != NULL)
                best[place->shape] = p;
        }
    }
}

/* Next arrangement in lexicographic order of levels; false after the last. */
static bool next_arrangement(int *of, int n)
{
    int i = n - 2, k = n - 1;

    while (i >= 0 && of[i] >= of[i + 1])
        i--;
    if (i < 0)
        return false;
    while (of[k] <= of[i])
        k--;
    int t = of[i];

    of[i] = of[k];
    of[k] = t;
    for (int l = i + 1, r = n - 1; l < r; l++, r--) {
        t = of[l];
        of[l] = of[r];
        of[r] = t;
    }
    return true;
}

/* splitmix64: small, seeded, the same everywhere. */
static uint64_t random64(uint64_t *state)
{
    uint64_t z = (*state += 0x9E3779B97F4A7C15u);

    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return z ^ (z >> 31);
}

static void shuffle(int *of, int n, uint64_t *state)
{
    for (int i = n - 1; i > 0; i--) {
        int k = (int)(((random64(state) >> 32) * (uint64_t)(i + 1)) >> 32), t = of[i];

        of[i] = of[k];
        of[k] = t;
    }
}

static int by_level(const void *a, const void *b)
{
    return *(const int *)a - *(const int *)b;
}

struct walk {
    const struct arrange *a;
    double level[ENGINE_MAX_PLUGS];
    int of[ENGINE_MAX_PLUGS];
    bool exact;
    uint64_t state;
    long done, want;
};

static void walk_begin(struct walk *w, const struct arrange *a, bool exact)
{
    w->a = a;
    levels_of(a->value, a->n, w->level, w->of);
    qsort(w->of, (size_t)a->n, sizeof w->of[0], by_level);
    w->exact = exact;
    w->state = a->seed;
    w->done = 0;
    w->want = a->n_samples;
}

static bool walk_next(struct walk *w, double *value)
{
    if (w->exact) {
        if (w->done > 0 && !next_arrangement(w->of, w->a->n))
            return false;
    } else {
        if (w->done == w->want)
            return false;
        shuffle(w->of, w->a->n, &w->state);
    }
    w->done++;
    for (int i = 0; i < w->a->n; i++)
        value[i] = w->level[w->of[i]];
    return true;
}

bool arrange_run(const struct arrange *a, struct arrange_result *out, struct err *e)
{
    double value[ENGINE_MAX_PLUGS], stat[ARRANGE_MAX_SHAPES], sum[ARRANGE_MAX_SHAPES] = {0};
    double square[ARRANGE_MAX_SHAPES] = {0}, sd[ARRANGE_MAX_SHAPES];
    double total = arrange_count(a->value, a->n), n = 0;
    double count[ARRANGE_MAX_SHAPES] = {0}, any[ARRANGE_MAX_SHAPES] = {0};
    struct walk w;

    assert(a->n >= 1 && a->n <= ENGINE_MAX_PLUGS && a->n_shapes <= ARRANGE_MAX_SHAPES);
    memset(out, 0, sizeof *out);
    statistics(a, a->value, out->statistic, out->best_place);
    out->exact = total <= a->max_exact;
    /* Two walks over the same arrangements: the first for mean and spread, the second counts. */
    walk_begin(&w, a, out->exact);
    while (walk_next(&w, value)) {
        statistics(a, value, stat, NULL);
        for (int s = 0; s < a->n_shapes; s++)
            if (out->best_place[s] >= 0) {
                double d = stat[s] - out->statistic[s]; /* about the observed: no cancellation */

                sum[s] += d;
                square[s] += d * d;
            }
        n++;
        if ((w.done & 1023) == 0 && a->cancel != NULL && atomic_load(a->cancel))
            return err_set(e, ERR_CANCEL, "Stopped.");
    }
    for (int s = 0; s < a->n_shapes; s++) {
        double mean = sum[s] / n, var = square[s] / n - mean * mean;

        sd[s] = var > 1e-18 ? sqrt(var) : 0;
        out->z[s] = sd[s] > 0 ? -mean / sd[s] : 0;
        sum[s] = mean + out->statistic[s];
    }
    walk_begin(&w, a, out->exact);
    while (walk_next(&w, value)) {
        double top = -INFINITY;

        statistics(a, value, stat, NULL);
        for (int s = 0; s < a->n_shapes; s++) {
            if (out->best_place[s] < 0)
                continue;
            if (stat[s] >= out->statistic[s] - SLACK)
                count[s]++;
            top = fmax(top, sd[s] > 0 ? (stat[s] - sum[s]) / sd[s] : 0);
        }
        for (int s = 0; s < a->n_shapes; s++)
            if (out->best_place[s] >= 0 && top >= out->z[s] - SLACK)
                any[s]++;
        if ((w.done & 1023) == 0 && a->cancel != NULL && atomic_load(a->cancel))
            return err_set(e, ERR_CANCEL, "Stopped.");
    }
    out->arrangements = n;
    for (int s = 0; s < a->n_shapes; s++) {
        /* a sample counts the observed arrangement in, so that no chance is ever 0 */
        out->chance[s] = out->exact ? count[s] / n : (count[s] + 1) / (n + 1);
        out->chance_any[s] = out->exact ? any[s] / n : (any[s] + 1) / (n + 1);
        if (out->best_place[s] < 0)
            out->chance[s] = out->chance_any[s] = 1;
    }
    return true;
}
