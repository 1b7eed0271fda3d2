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

double stats_mean(const double *x, int n)
{
    double sum = 0, rest = 0;

    assert(n >= 1);
    for (int i = 0; i < n; i++)
        sum += x[i];
    for (int i = 0; i < n; i++) /* what rounding lost */
        rest += x[i] - sum / n;
    return sum / n + rest / n;
}

double stats_sd(const double *x, int n)
{
    double mean = stats_mean(x, n), sum = 0;

    for (int i = 0; i < n; i++)
        sum += (x[i] - mean) * (x[i] - mean);
    return n > 1 ? sqrt(sum / (n - 1)) : 0;
}

/* Regularised incomplete beta function by its continued fraction (DLMF 8.17.22), evaluated from the
 * front by the method of Lentz as modified by Thompson and Barnett (1986). */
static double incomplete_beta(double x, double a, double b)
{
    double front, f = 1, c = 1, d = 0;

    if (x <= 0 || x >= 1)
        return x >= 1;
    if (x > (a + 1) / (a + b + 2))
        return 1 - incomplete_beta(1 - x, b, a);
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x)) / a;
    for (int i = 0; i < 2000; i++) {
        int m = i / 2;
        double term = i == 0 ? 1
                      : i % 2 == 0 ? m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
                                   : -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));

        d = 1 + term * d;
        d = 1 / (fabs(d) < 1e-300 ? 1e-300 : d);
        c = 1 + term / c;
        c = fabs(c) < 1e-300 ? 1e-300 : c;
        f *= c * d;
        if (i > 0 && fabs(c * d - 1) < 1e-16)
            break;
    }
    return front * (f - 1);
}

double stats_student_above(double t, double freedom)
{
    double half = 0.5 * incomplete_beta(freedom / (freedom + t * t), freedom / 2, 0.5);

    return t >= 0 ? half : 1 - half;
}

bool stats_grubbs(const double *x, int n, int side, double *g, double *p)
{
    double mean, sd, high, low, room, t;

    if (n < 3)
        return false;
    mean = stats_mean(x, n);
    sd = stats_sd(x, n);
    if (!(sd > 0))
        return false;
    high = low = x[0];
    for (int i = 1; i < n; i++) {
        high = fmax(high, x[i]);
        low = fmin(low, x[i]);
    }
    *g = side > 0 ? (high - mean) / sd : side < 0 ? (mean - low) / sd : fmax(high - mean, mean - low) / sd;
    room = (double)(n - 1) * (n - 1) - n * *g * *g;
    if (room <= 1e-12 * n * n) { /* as far out as one of n can be */
        *p = 0;
        return true;
    }
    t = sqrt(n * (n - 2) * *g * *g / room);
    *p = fmin(1, (side == 0 ? 2 : 1) * n * stats_student_above(t, n - 2));
    return true;
}

double stats_grubbs_critical(int n, double alpha, bool two_sided)
{
    double above = alpha / (two_sided ? 2 * n : n), low = 0, high = 1;

    assert(n >= 3 && alpha > 0 && alpha < 1);
    while (stats_student_above(high, n - 2) > above)
        high *= 2;
    for (int i = 0; i < 200 && high - low > 1e-15 * high; i++) {
        double t = (low + high) / 2;

        if (stats_student_above(t, n - 2) > above)
            low = t;
        else
            high = t;
    }
    return (n - 1) / sqrt(n) * sqrt(high * high / (n - 2 + high * high));
}

bool stats_least_squares(const double *x, const double *y, int n, int first, int last, struct stats_fit *out)
{
    int m = last - first + 1;
    double largest = 0, r[STATS_POWERS][STATS_POWERS] = {{0}}, along[STATS_POWERS] = {0}, *q, *left, about = 0, squares = 0;

    assert(first >= 0 && m >= 1 && m <= STATS_POWERS);
    for (int i = 0; i < n; i++)
        largest = fmax(largest, fabs(x[i]));
    if (n <= m || (!(largest > 0) && last > 0))
        return false;
    *out = (struct stats_fit){.f = 0};
    q = mem_alloc((size_t)(n * m), sizeof *q);
    left = mem_alloc((size_t)n, sizeof *left);
    memcpy(left, y, (size_t)n * sizeof *left);
    for (int k = 0; k < m; k++) {
        double before = 0, length = 0;

        for (int i = 0; i < n; i++) {
            q[k * n + i] = pow(x[i] / largest, first + k); /* scaled: powers of an odometer reading are huge */
            before += q[k * n + i] * q[k * n + i];
        }
        for (int again = 0; again < 2; again++) /* twice is enough (Giraud, Langou and Rozloznik 2005) */
            for (int j = 0; j < k; j++) {
                double dot = 0;

                for (int i = 0; i < n; i++)
                    dot += q[j * n + i] * q[k * n + i];
                for (int i = 0; i < n; i++)
                    q[k * n + i] -= dot * q[j * n + i];
                r[j][k] += dot;
            }
        for (int i = 0; i < n; i++)
            length += q[k * n + i] * q[k * n + i];
        if (!(length > 1e-26 * before)) {
            free(q);
            free(left);
            return false;
        }
        r[k][k] = sqrt(length);
        for (int i = 0; i < n; i++)
            q[k * n + i] /= r[k][k];
        for (int again = 0; again < 2; again++) {
            double dot = 0;

            for (int i = 0; i < n; i++)
                dot += q[k * n + i] * left[i];
            for (int i = 0; i < n; i++)
                left[i] -= dot * q[k * n + i];
            along[k] += dot;
        }
    }
    for (int i = 0; i < n; i++)
        out->residual_squares += left[i] * left[i];
    about = first == 0 ? stats_mean(y, n) : 0;
    for (int i = 0; i < n; i++)
        squares += (y[i] - about) * (y[i] - about);
    out->residual_sd = sqrt(out->residual_squares / (n - m));
    out->r_squared = squares > 0 ? 1 - out->residual_squares / squares : NAN;
    out->f = (squares - out->residual_squares) / (m - (first == 0)) / (out->residual_squares / (n - m));
    for (int k = m - 1; k >= 0; k--) { /* R b = along, and the rows of R's inverse for the spread */
        double b = along[k], inverse[STATS_POWERS] = {0}, size = 0;

        for (int j = k + 1; j < m; j++)
            b -= r[k][j] * out->coefficient[j];
        out->coefficient[k] = b / r[k][k];
        inverse[k] = 1 / r[k][k];
        for (int j = k + 1; j < m; j++) {
            for (int i = k; i < j; i++)
                inverse[j] -= inverse[i] * r[i][j];
            inverse[j] /= r[j][j];
        }
        for (int j = k; j < m; j++)
            size += inverse[j] * inverse[j];
        out->sd[k] = out->residual_sd * sqrt(size);
    }
    for (int k = 0; k < m; k++) {
        double scale = pow(largest, first + k);

        out->coefficient[k] /= scale;
        out->sd[k] /= scale;
    }
    free(q);
    free(left);
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
