/**
 * @file stats.h
 * The tables' short names for the statistics of dsp/compare/agreement.h, which the program's own
 * summary uses too.
 */
#ifndef ACCURACY_STATS_H
#define ACCURACY_STATS_H

#include "dsp/compare/agreement.h"

typedef fm_ends share_interval;

static inline share_interval share_exact_95(long k, long n)
{
    return fm_share_exact_95(k, n);
}

static inline void sort_doubles(double *v, size_t n)
{
    fm_sort_ascending(v, n);
}

static inline double sorted_quantile(const double *v, size_t n, double q)
{
    return fm_sorted_quantile(v, n, q);
}

static inline double mean_of(const double *v, size_t n)
{
    return fm_mean(v, n);
}

#endif
