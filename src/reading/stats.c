#include "reading/stats.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

static double median_sorted(const double *x, int n)
{
    return n % 2 != 0 ? x[n / 2] : (x[n / 2 - 1] + x[n / 2]) / 2;
}

double stats_median(const double *x, int n)
{
    double *sorted = mem_alloc((size_t)n, sizeof *sorted), m;

    assert(n >= 1);
    memcpy(sorted, x, (size_t)n * sizeof *sorted);
    qsort(sorted, (size_t)n, sizeof *sorted, ascending);
    m = median_sorted(sorted, n);
    free(sorted);
    return m;
}

double stats_mad(const double *x, int n)
{
    double *d = mem_alloc((size_t)n, sizeof *d), m = stats_median(x, n);

    for (int i = 0; i < n; i++)
        d[i] = fabs(x[i] - m);
    m = stats_median(d, n);
    free(d);
    return m;
}

bool stats_modified_z(const double *x, int n, int which, double *z)
{
    double mad = stats_mad(x, n);

    if (!(mad > 0))
        return false;
    *z = 0.6745 * (x[which] - stats_median(x, n)) / mad;
    return true;
}

double stats_normal_quantile(double p)
{
    double x = 0;

    assert(p > 0 && p < 1);
    /* Bisection to a bracket, then Newton: slow and certain. */
    double low = -40, high = 40;

    for (int i = 0; i < 60; i++) {
        x = (low + high) / 2;
        if (0.5 * erfc(-x / sqrt(2)) < p)
            low = x;
        else
            high = x;
    }
    for (int i = 0; i < 3; i++) {
        double density = exp(-x * x / 2) / sqrt(2 * 3.14159265358979323846);

        if (density > 1e-300)
            x -= (0.5 * erfc(-x / sqrt(2)) - p) / density;
    }
    return x;
}

/* Sum of k(k-1)(2k+5) over groups of equal values. */
static double tie_term(const double *v, int n)
{
    double *sorted = mem_alloc((size_t)n, sizeof *sorted), sum = 0;

    memcpy(sorted, v, (size_t)n * sizeof *sorted);
    qsort(sorted, (size_t)n, sizeof *sorted, ascending);
    for (int i = 0; i < n;) {
        int k = 1;

        while (i + k < n && !(sorted[i + k] > sorted[i]))
            k++;
        sum += (double)k * (k - 1) * (2 * k + 5);
        i += k;
    }
    free(sorted);
    return sum;
}

bool stats_theil_sen(const double *x, const double *y, int n, double conf, struct stats_trend *out)
{
    double *slopes, sigma, z;
    int m = 0;

    if (n < 2)
        return false;
    slopes = mem_alloc((size_t)n * (size_t)n, sizeof *slopes);
    for (int i = 0; i < n; i++)
        for (int k = i + 1; k < n; k++)
            if (x[i] < x[k] || x[i] > x[k])
                slopes[m++] = (y[k] - y[i]) / (x[k] - x[i]);
    if (m == 0) {
        free(slopes);
        return false;
    }
    qsort(slopes, (size_t)m, sizeof *slopes, ascending);
    out->n_slopes = m;
    out->slope = median_sorted(slopes, m);
    out->intercept = stats_median(y, n) - out->slope * stats_median(x, n);
    sigma = sqrt(fmax(0, ((double)n * (n - 1) * (2 * n + 5) - tie_term(x, n) - tie_term(y, n)) / 18));
    z = stats_normal_quantile((1 - conf) / 2);
    /* nearbyint: halves to even, as the reference values round */
    int low = (int)nearbyint((m + z * sigma) / 2), high = (int)nearbyint((m - z * sigma) / 2) + 1;

    low = low < 1 ? 1 : low > m ? m : low;
    high = high < 1 ? 1 : high > m ? m : high;
    out->slope_low = slopes[low - 1];
    out->slope_high = slopes[high - 1];
    free(slopes);
    return true;
}
