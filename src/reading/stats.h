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

/* Mean, and standard deviation with n-1 (0 for n = 1). */
double stats_mean(const double *x, int n);
double stats_sd(const double *x, int n);

/* Grubbs (1950, 1969): is the largest (side 1), the smallest (-1) or either (0) too far from the mean?
 * G in standard deviations; p by the bound n P(T > t) with n-2 degrees of freedom, twice that for either
 * side, at most 1. n >= 3 and not all equal, else false. */
bool stats_grubbs(const double *x, int n, int side, double *g, double *p);
/* The G that is reached with probability alpha at most; n >= 3. */
double stats_grubbs_critical(int n, double alpha, bool two_sided);

/* P(T > t) of Student's t with so many degrees of freedom: continued fraction of the incomplete beta
 * function (DLMF 8.17.22). */
double stats_student_above(double t, double freedom);

/* Drawing n_drawn of a population with n_marked marked ones: P(exactly hits). */
double stats_hypergeometric(int population, int n_marked, int n_drawn, int hits);

/* Three p-values of an exact test: as small, as large, as far out or farther. */
struct stats_p {
    double less, greater, two_sided;
};
/* Fisher (1935), table a b / c d with all margins fixed; two-sided: all tables that are no more probable. */
struct stats_p stats_fisher(int a, int b, int c, int d);
/* Mann and Whitney (1947): U = pairs with x > y, ties count half. Exact, equal values included: subsets
 * are counted by the sum of their mid-ranks. Two-sided: at least as far from the middle. */
struct stats_p stats_mann_whitney(const double *x, int n_x, const double *y, int n_y, double *u);

/* Kendall (1938): S = concordant less discordant pairs, tau-b for ties. Exact over all orders of y: by
 * the Gaussian multinomial when one side has no ties, by going through them when both have and there are at
 * most STATS_KENDALL_MOST; false beyond that. n <= 170. */
#define STATS_KENDALL_MOST 200000
bool stats_kendall(const double *x, const double *y, int n, int *s, double *tau_b, struct stats_p *p);

/* Least squares of y on the powers first .. last of x (0..1 a line, 1..1 a line through the origin), by
 * orthogonal columns. last - first < STATS_POWERS, n > number of powers, x not all the same: else false. */
#define STATS_POWERS 3
struct stats_fit {
    double coefficient[STATS_POWERS], sd[STATS_POWERS]; /* of x^first, x^(first+1) … */
    double residual_sd, r_squared, residual_squares, f; /* without a constant: about 0, not the mean;
                                                            r_squared NAN when y never changes */
};
bool stats_least_squares(const double *x, const double *y, int n, int first, int last, struct stats_fit *out);

/* Quantile of the standard normal distribution, 0 < p < 1; to 1e-9 (Newton on erfc). */
double stats_normal_quantile(double p);

#endif
