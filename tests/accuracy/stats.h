/**
 * @file stats.h
 * Small statistics for the tables: order statistics and exact intervals of a share.
 */
#ifndef ACCURACY_STATS_H
#define ACCURACY_STATS_H

#include <stddef.h>

/** An interval of a proportion, both ends 0..1; NaN when there was nothing to count. */
typedef struct share_interval {
    double low;
    double high;
} share_interval;

/**
 * The exact 95 % interval of a proportion.
 *
 * Source: Clopper and Pearson, "The use of confidence or fiducial limits illustrated in
 *         the case of the binomial", Biometrika, 1934, 26:404 (from memory): each end
 *         leaves 2.5 % in its binomial tail.
 *
 * @param k  successes, 0..n
 * @param n  trials, >= 0
 */
share_interval share_exact_95(long k, long n);

/** Sorts v[0..n-1] in place, ascending; NaN is not allowed. */
void sort_doubles(double *v, size_t n);

/** Quantile q (0..1) of sorted v[0..n-1], linear between neighbours; NaN when n is 0. */
double sorted_quantile(const double *v, size_t n, double q);

/** Mean of v[0..n-1]; NaN when n is 0. */
double mean_of(const double *v, size_t n);

#endif
