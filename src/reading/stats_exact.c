/* stats_exact.c - exact tests by counting. Counts are doubles: beyond 2^53 they are good to 15 digits. */
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "reading/stats.h"

/* Probabilities that are equal in exact arithmetic differ in the last bits; R and SciPy allow as much. */
#define SAME 1e-7

static double choose(int n, int k)
{
    double c = 1;

    if (k < 0 || k > n)
        return 0;
    k = k < n - k ? k : n - k;
    for (int i = 1; i <= k; i++)
        c = c * (n - k + i) / i;
    return c;
}

double stats_hypergeometric(int population, int n_marked, int n_drawn, int hits)
{
    return choose(n_marked, hits) * choose(population - n_marked, n_drawn - hits) / choose(population, n_drawn);
}

struct stats_p stats_fisher(int a, int b, int c, int d)
{
    struct stats_p p = {0, 0, 0};
    int n = a + b + c + d, row = a + b, column = a + c;
    double seen = stats_hypergeometric(n, row, column, a);

    for (int k = 0; k <= row && k <= column; k++) {
        double x = stats_hypergeometric(n, row, column, k);

        p.less += k <= a ? x : 0;
        p.greater += k >= a ? x : 0;
        p.two_sided += x <= seen * (1 + SAME) ? x : 0;
    }
    p.less = fmin(1, p.less);
    p.greater = fmin(1, p.greater);
    p.two_sided = fmin(1, p.two_sided);
    return p;
}

/* ---- Mann and Whitney ---- */

struct stats_p stats_mann_whitney(const double *x, int n_x, const double *y, int n_y, double *u)
{
    int n = n_x + n_y, most = n * (n + 1), *rank2 = mem_alloc((size_t)n, sizeof *rank2), sum = 0; /* twice the mid-ranks */
    double *ways = mem_alloc((size_t)(n_x + 1) * (size_t)(most + 1), sizeof *ways), total = 0;
    struct stats_p p = {0, 0, 0};
    int far;

    assert(n_x >= 1 && n_y >= 1);
    for (int i = 0; i < n; i++) {
        double v = i < n_x ? x[i] : y[i - n_x];

        for (int k = 0; k < n; k++) {
            double o = k < n_x ? x[k] : y[k - n_x];

            rank2[i] += o < v ? 2 : o > v ? 0 : 1;
        }
        rank2[i]++; /* itself counted as half: 1-based mid-rank, twice */
        sum += i < n_x ? rank2[i] : 0;
    }
    ways[0] = 1;
    for (int i = 0; i < n; i++)
        for (int k = i + 1 < n_x ? i + 1 : n_x; k >= 1; k--)
            for (int s = most; s >= rank2[i]; s--)
                ways[k * (most + 1) + s] += ways[(k - 1) * (most + 1) + s - rank2[i]];
    far = abs(sum - n_x * (n + 1));
    for (int s = 0; s <= most; s++) {
        double w = ways[n_x * (most + 1) + s];

        total += w;
        p.less += s <= sum ? w : 0;
        p.greater += s >= sum ? w : 0;
        p.two_sided += abs(s - n_x * (n + 1)) >= far ? w : 0;
    }
    p.less /= total;
    p.greater /= total;
    p.two_sided /= total;
    *u = sum / 2.0 - n_x * (n_x + 1) / 2.0;
    free(ways);
    free(rank2);
    return p;
}

/* ---- Kendall ---- */

static int sign_of(double d)
{
    return (d > 0) - (d < 0);
}

static int score(const double *x, const double *y, int n)
{
    int s = 0;

    for (int i = 0; i < n; i++)
        for (int k = i + 1; k < n; k++)
            s += sign_of(x[k] - x[i]) * sign_of(y[k] - y[i]);
    return s;
}

static int ascending(const void *a, const void *b)
{
    return sign_of(*(const double *)a - *(const double *)b);
}

/* Sizes of the groups of equal values; returns their number. */
static int groups_of(const double *v, int n, int *size)
{
    double *sorted = mem_alloc((size_t)n, sizeof *sorted);
    int m = 0;

    memcpy(sorted, v, (size_t)n * sizeof *sorted);
    qsort(sorted, (size_t)n, sizeof *sorted, ascending);
    for (int i = 0; i < n; i++) {
        if (i == 0 || sorted[i] > sorted[i - 1])
            size[m++] = 0;
        size[m - 1]++;
    }
    free(sorted);
    return m;
}

/* share[d] = probability of d discordant pairs when groups of equal values are dealt out in a line: groups
 * join one after the other, and each joining multiplies by a Gaussian binomial coefficient (Andrews,
 * The Theory of Partitions, 1976, ch. 3), which adds up over the places of its members one by one. */
static int discordant_shares(const int *size, int n_groups, double *share)
{
    int placed = 0, most = 0;

    share[0] = 1;
    for (int g = 0; g < n_groups; g++) {
        int room = size[g] * placed, wide = room + 1;
        double *ways = mem_alloc((size_t)(size[g] + 1) * (size_t)wide, sizeof *ways), total = 0;
        double *joined = mem_alloc((size_t)(most + room + 1), sizeof *joined);

        /* multisets of size[g] gaps out of 0..placed, by their sum */
        ways[0] = 1;
        for (int gap = 0; gap <= placed; gap++)
            for (int k = 1; k <= size[g]; k++)
                for (int s = gap; s <= room; s++)
                    ways[k * wide + s] += ways[(k - 1) * wide + s - gap];
        for (int s = 0; s <= room; s++)
            total += ways[size[g] * wide + s];
        for (int s = 0; s <= room; s++)
            for (int d = 0; d <= most; d++)
                joined[d + s] += share[d] * ways[size[g] * wide + s] / total;
        most += room;
        placed += size[g];
        memcpy(share, joined, (size_t)(most + 1) * sizeof *share);
        free(ways);
        free(joined);
    }
    return most;
}

static void add_share(struct stats_p *p, int s, int seen, double share)
{
    p->less += s <= seen ? share : 0;
    p->greater += s >= seen ? share : 0;
    p->two_sided += abs(s) >= abs(seen) ? share : 0;
}

/* Next order of the values; false after the last. */
static bool next_order(double *v, int n)
{
    int i = n - 2, k = n - 1;
    double t;

    while (i >= 0 && v[i] >= v[i + 1])
        i--;
    if (i < 0)
        return false;
    while (v[k] <= v[i])
        k--;
    t = v[i], v[i] = v[k], v[k] = t;
    for (int l = i + 1, r = n - 1; l < r; l++, r--)
        t = v[l], v[l] = v[r], v[r] = t;
    return true;
}

static bool by_going_through(const double *x, const double *y, int n, const int *size, int n_groups, int seen, struct stats_p *p)
{
    double *order = mem_alloc((size_t)n, sizeof *order), count = 1;
    int left = n;

    for (int g = 0; g < n_groups; g++) {
        count *= choose(left, size[g]);
        left -= size[g];
    }
    if (count <= STATS_KENDALL_MOST) {
        memcpy(order, y, (size_t)n * sizeof *order);
        qsort(order, (size_t)n, sizeof *order, ascending);
        do
            add_share(p, score(x, order, n), seen, 1);
        while (next_order(order, n));
        p->less /= count;
        p->greater /= count;
        p->two_sided /= count;
    }
    free(order);
    return count <= STATS_KENDALL_MOST;
}

bool stats_kendall(const double *x, const double *y, int n, int *s, double *tau_b, struct stats_p *p)
{
    int *x_size = mem_alloc((size_t)n, sizeof *x_size), *y_size = mem_alloc((size_t)n, sizeof *y_size);
    int x_groups = groups_of(x, n, x_size), y_groups = groups_of(y, n, y_size);
    double pairs = n * (n - 1) / 2.0, x_untied = pairs, y_untied = pairs;
    bool fine = true;

    assert(n >= 2 && n <= 170);
    for (int g = 0; g < x_groups; g++)
        x_untied -= x_size[g] * (x_size[g] - 1) / 2.0;
    for (int g = 0; g < y_groups; g++)
        y_untied -= y_size[g] * (y_size[g] - 1) / 2.0;
    *s = score(x, y, n);
    *tau_b = x_untied > 0 && y_untied > 0 ? *s / sqrt(x_untied * y_untied) : NAN;
    *p = (struct stats_p){0, 0, 0};
    if (x_groups == n || y_groups == n) { /* which of the two is dealt out makes no difference */
        double *share = mem_alloc((size_t)pairs + 1, sizeof *share);
        int most = x_groups == n ? discordant_shares(y_size, y_groups, share) : discordant_shares(x_size, x_groups, share);

        for (int d = 0; d <= most; d++)
            add_share(p, most - 2 * d, *s, share[d]);
        free(share);
    } else {
        fine = by_going_through(x, y, n, y_size, y_groups, *s, p);
    }
    free(x_size);
    free(y_size);
    return fine;
}
