/* arrange.c - the distinct arrangements are walked as a tree: plug by plug, each branch gives the plug one
 * of the values still left. The sums of all places are kept along the branch (sums.c), and as soon as all
 * values left are equal the branch ends with one step more. Plugs that no place tells apart are a class:
 * within one the values come in rising order, and the branch counts for as many arrangements as there are
 * orders. */
#include "reading/arrange.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/mem.h"
#include "reading/sums.h"

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

double arrange_count(const double *value, int n)
{
    struct levels l;

    levels_make(&l, value, n);
    return levels_count(&l, n);
}

static double larger(double a, double b)
{
    return a > b ? a : b;
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
        while (n < t->n_limits && top >= t->limit[n] - SUMS_SLACK)
            n++;
        t->reached[n] += times;
        t->no_more += top <= t->most + SUMS_SLACK ? times : 0;
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

/* What the first walk saw, look by look: the statistics of all shapes, and for how many arrangements they stand. The second
 * then need not walk, as long as all of it is here. */
#define KEPT_MOST ((size_t)1 << 22) /* numbers: 32 MB */
struct kept {
    double *v;
    size_t n, n_room;
    bool full;
};

static void keep(struct kept *kept, const double *stat, int n_shapes, double times)
{
    size_t n = kept->n + (size_t)n_shapes + 1;

    if (kept->full || n > KEPT_MOST) {
        kept->full = true;
        return;
    }
    if (n > kept->n_room) {
        kept->n_room = 2 * n;
        kept->v = mem_resize(kept->v, kept->n_room, sizeof *kept->v);
    }
    memcpy(kept->v + kept->n, stat, (size_t)n_shapes * sizeof *stat);
    kept->v[n - 1] = times;
    kept->n = n;
}

struct walk {
    struct sums *s;
    struct tally *t;            /* NULL: only count the looks */
    struct kept *kept;          /* NULL: nothing is kept */
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
    sums_statistics(s, sum, s->tail + i * s->n_vectors, k, stat);
    tally_one(w->t, stat, times);
    if (w->kept != NULL)
        keep(w->kept, stat, s->a->n_shapes, times);
}

static void branch(struct walk *w, const lane *sum, int i, int run, double times)
{
    struct sums *s = w->s;
    int n = s->n_vectors, least = s->of_class[i] > 0 ? s->now[i - 1] : 0;
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
            sums_add(s, next, sum, s->weight + i * n, k);
        branch(w, k > 0 ? next : sum, i + 1, same + 1, s->of_class[i] == 0 ? times : times * (s->of_class[i] + 1) / (same + 1));
        w->n_kinds += w->left[k]++ == 0;
        if (w->t != NULL ? w->t->cancelled : w->looks > w->most)
            return;
        if (i >= s->last_class)
            return; /* all that is left goes into one class, in rising order */
    }
}

static double walk_all(struct sums *s, struct tally *t, struct kept *kept, double most)
{
    struct walk w = {.s = s, .t = t, .kept = kept, .n_kinds = s->levels.n, .most = most};

    memcpy(w.left, s->levels.times, sizeof w.left);
    branch(&w, s->stack, 0, 0, 1);
    return w.looks;
}

/* Whether all can be looked at. */
static bool can_be_counted(struct sums *s)
{
    if (levels_count(&s->levels, s->a->n) <= s->a->max_exact)
        return true;
    return s->has_classes && walk_all(s, NULL, NULL, s->a->max_exact) <= s->a->max_exact;
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
    int n = s->a->n, of[ENGINE_MAX_PLUGS], at = 0;
    uint64_t state = s->a->seed;

    for (int k = 0; k < s->levels.n; k++)
        for (int i = 0; i < s->levels.times[k]; i++)
            of[at++] = k;
    for (int sample = 0; sample < s->a->n_samples && !t->cancelled; sample++, kept += s->a->n_shapes) {
        lane *sum = s->stack + s->n_vectors;

        memset(sum, 0, (size_t)s->n_vectors * sizeof *sum);
        for (int i = n - 1; i >= 0; i--) {
            int k = (int)(((random64(&state) >> 32) * (uint64_t)(i + 1)) >> 32), dealt = of[k];

            of[k] = of[i];
            of[i] = dealt;
            s->now[i] = dealt;
            if (dealt > 0)
                sums_add(s, sum, sum, s->weight + i * s->n_vectors, dealt);
        }
        sums_statistics(s, sum, s->weight, 0, kept);
        tally_one(t, kept, 1);
    }
}

/* ---- one measure ---- */

static void observe(struct sums *s, struct tally *t, struct arrange_result *out)
{
    const struct arrange *a = s->a;
    lane *sum = s->stack + s->n_vectors;

    memset(sum, 0, (size_t)s->n_vectors * sizeof *sum);
    for (int i = 0; i < a->n; i++) {
        s->now[i] = s->levels.of[s->order[i]];
        sums_add(s, sum, sum, s->weight + i * s->n_vectors, s->now[i]);
    }
    sums_statistics(s, sum, s->weight, 0, t->observed);
    for (int k = 0; k < a->n_shapes; k++) {
        bool joined = false, placed = false;

        out->best_place[k] = -1;
        out->direction[k] = 1;
        out->chance[k] = out->chance_any[k] = 1;
        for (int j = 0; j < a->n_joins; j++)
            joined = joined || a->joins[j].shape == k;
        for (int p = 0; p < a->n_places; p++)
            placed = placed || a->places[p].shape == k;
        out->tested[k] = joined || placed;
        if (!out->tested[k])
            continue;
        t->tested[t->n_tested++] = k;
        out->statistic[k] = t->observed[k] * (joined ? s->levels.range * s->levels.range : s->levels.range);
        /* the first of equals, and what lies above before what lies below */
        for (int way = 1; placed && way >= (a->two_sided[k] ? -1 : 1) && out->best_place[k] < 0; way -= 2) {
            out->best_place[k] = sums_find(s, sum, k, way, t->observed[k] - s->slack[k]);
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
        struct kept kept = {0};

        walk_all(&s, &t, &kept, 0);
        tally_scale(&t, out);
        if (kept.full && !t.cancelled)
            walk_all(&s, &t, NULL, 0);
        for (size_t i = 0; i < kept.n && !kept.full && !t.cancelled; i += (size_t)a->n_shapes + 1)
            tally_one(&t, kept.v + i, kept.v[i + (size_t)a->n_shapes]);
        free(kept.v);
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
