/**
 * @file match.h
 * One-to-one matching of found beats to true beats, and the lag between them.
 */
#ifndef ACCURACY_MATCH_H
#define ACCURACY_MATCH_H

#include <stdbool.h>
#include <stddef.h>

/**
 * How many true times have a found time of their own within a tolerance; both lists
 * ascending, order kept.
 *
 * @param truth  truth[0..n_truth-1], s
 * @param found  found[0..n_found-1], s
 * @param lag_s  added to every true time
 * @param tolerance_s  >= 0
 */
size_t match_times(const double *truth,
                   size_t n_truth,
                   const double *found,
                   size_t n_found,
                   double lag_s,
                   double tolerance_s);

/**
 * The lag of a recording: the median, over found times, of the distance from the
 * nearest true time.
 *
 * @return seconds; NaN when either list is empty
 */
double median_lag(const double *truth,
                  size_t n_truth,
                  const double *found,
                  size_t n_found);

/**
 * The part of an ascending list inside [low, high].
 *
 * @param[out] n  how many
 * @return pointer to the first of them
 */
const double *times_between(
    const double *v, size_t n_all, double low, double high, size_t *n);

/**
 * Leaves out, in place, true beats that cannot be heard and each found beat that stands
 * for one of them: it is nearest to it among all true beats, and within 150 ms. Such a
 * beat is then neither a hit, a miss nor an extra.
 *
 * @param inaudible  inaudible[0..*n_truth-1]
 */
void leave_out_inaudible(double *truth,
                         size_t *n_truth,
                         const bool *inaudible,
                         double *found,
                         size_t *n_found);

/** 60 (n-1) / (last - first) per minute; NaN under two times. */
double rate_of(const double *v, size_t n);

#endif
