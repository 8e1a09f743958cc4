#include "stats.h"

#include <math.h>
#include <stdlib.h>

/* P(X <= k) of a binomial with n trials of chance p, 0 < p < 1. */
static double binomial_at_most(long k, long n, double p)
{
    double sum = 0.0;
    double log_choose = 0.0; /* of i out of n */
    for (long i = 0; i <= k; i++) {
        sum += exp(log_choose + (double)i * log(p) + (double)(n - i) * log1p(-p));
        log_choose += log((double)(n - i)) - log((double)(i + 1));
    }
    return sum;
}

/* The p for which P(X <= k) = target; the probability falls as p grows. */
static double solve_at_most(long k, long n, double target)
{
    double low = 0.0;
    double high = 1.0;
    for (int i = 0; i < 60; i++) {
        const double mid = 0.5 * (low + high);
        if (binomial_at_most(k, n, mid) > target) {
            low = mid;
        } else {
            high = mid;
        }
    }
    return 0.5 * (low + high);
}

share_interval share_exact_95(long k, long n)
{
    share_interval s = {(double)NAN, (double)NAN};
    if (n > 0) {
        s.low = k == 0 ? 0.0 : solve_at_most(k - 1, n, 0.975);
        s.high = k == n ? 1.0 : solve_at_most(k, n, 0.025);
    }
    return s;
}

static int compare_doubles(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

void sort_doubles(double *v, size_t n)
{
    if (n > 1) {
        qsort(v, n, sizeof *v, compare_doubles);
    }
}

double sorted_quantile(const double *v, size_t n, double q)
{
    if (n == 0) {
        return (double)NAN;
    }
    const double at = q * (double)(n - 1);
    const size_t i = (size_t)at;
    return i + 1 < n ? v[i] + (at - (double)i) * (v[i + 1] - v[i]) : v[n - 1];
}

double mean_of(const double *v, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += v[i];
    }
    return n > 0 ? sum / (double)n : (double)NAN;
}
