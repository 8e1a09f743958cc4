#include "match.h"

#include "stats.h"

#include <math.h>
#include <stdlib.h>

size_t match_times(const double *truth,
                   size_t n_truth,
                   const double *found,
                   size_t n_found,
                   double lag_s,
                   double tolerance_s)
{
    size_t hits = 0;
    size_t i = 0;
    size_t j = 0;
    while (i < n_truth && j < n_found) {
        const double d = found[j] - (truth[i] + lag_s);
        if (fabs(d) <= tolerance_s) {
            hits++;
            i++;
            j++;
        } else if (d < 0.0) {
            j++;
        } else {
            i++;
        }
    }
    return hits;
}

double median_lag(const double *truth,
                  size_t n_truth,
                  const double *found,
                  size_t n_found)
{
    if (n_truth == 0 || n_found == 0) {
        return (double)NAN;
    }
    double *lags = malloc(n_found * sizeof *lags);
    if (lags == NULL) {
        return (double)NAN;
    }
    size_t i = 0;
    for (size_t j = 0; j < n_found; j++) {
        while (i + 1 < n_truth &&
               fabs(truth[i + 1] - found[j]) < fabs(truth[i] - found[j])) {
            i++;
        }
        lags[j] = found[j] - truth[i];
    }
    sort_doubles(lags, n_found);
    const double lag = sorted_quantile(lags, n_found, 0.5);
    free(lags);
    return lag;
}

const double *times_between(
    const double *v, size_t n_all, double low, double high, size_t *n)
{
    size_t first = 0;
    while (first < n_all && v[first] < low) {
        first++;
    }
    size_t last = first;
    while (last < n_all && v[last] <= high) {
        last++;
    }
    *n = last - first;
    return v + first;
}

static size_t nearest_to(const double *v, size_t n, double t)
{
    size_t best = 0;
    for (size_t i = 1; i < n; i++) {
        if (fabs(v[i] - t) < fabs(v[best] - t)) {
            best = i;
        }
    }
    return best;
}

void leave_out_inaudible(double *truth,
                         size_t *n_truth,
                         const bool *inaudible,
                         double *found,
                         size_t *n_found)
{
    size_t kept = 0;
    for (size_t j = 0; j<*n_found && * n_truth> 0; j++) {
        const size_t i = nearest_to(truth, *n_truth, found[j]);
        if (!inaudible[i] || fabs(truth[i] - found[j]) > 0.150) {
            found[kept++] = found[j];
        }
    }
    *n_found = *n_truth > 0 ? kept : *n_found;
    kept = 0;
    for (size_t i = 0; i < *n_truth; i++) {
        if (!inaudible[i]) {
            truth[kept++] = truth[i];
        }
    }
    *n_truth = kept;
}

double rate_of(const double *v, size_t n)
{
    return n > 1 ? 60.0 * (double)(n - 1) / (v[n - 1] - v[0]) : (double)NAN;
}
