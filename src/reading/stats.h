/* stats.h - the few statistics the reading rests on. Pure; doubles in, no allocation kept. */
#ifndef READING_STATS_H
#define READING_STATS_H

#include <stdbool.h>

/* Median of n values (n >= 1); the mean of the middle two when n is even. */
double stats_median(const double *x, int n);
/* Median of |x - median|, without a factor. */
double stats_mad(const double *x, int n);
/* 0.6745 (x - median) / MAD, the modified z-score of Iglewicz and Hoaglin (1993); false when the MAD
 * is 0 (undefined). */
bool stats_modified_z(const double *x, int n, int which, double *z);

/* Theil-Sen line through (x, y): median of all slopes with unequal x. Limits by Kendall's variance
 * with ties, as published by Sen (1968): conf e.g. 0.95. n >= 2 with at least two different x.
 * false when there is none. */
struct stats_trend {
    double slope, slope_low, slope_high;
    double intercept; /* median(y) - slope * median(x) */
    int n_slopes;
};
bool stats_theil_sen(const double *x, const double *y, int n, double conf, struct stats_trend *out);

/* Quantile of the standard normal distribution, 0 < p < 1; to 1e-9 (Newton on erfc). */
double stats_normal_quantile(double p);

#endif
