/**
 * @file short_count.h
 * Missing audio and the usual interval, as a short count (fm_compare_short_counts) and a
 * comparison look at them. Inside dsp/compare only.
 */
#ifndef FM_SHORT_COUNT_H
#define FM_SHORT_COUNT_H

#include "dsp/compare/compare.h"

/** The middle interval of onsets_s[0..n_onsets-1], ascending, s; NaN for fewer than two. */
double fm_median_interval_s(const double *onsets_s, size_t n_onsets);

/** The same, 1 s for fewer than two: a gap as long may hide an event. */
double fm_usual_interval_s(const double *onsets_s, size_t n);

/**
 * Does [start_s, end_s) meet audio that is missing or unusable for longer than may be?
 *
 * @param quality       NULL: none is known, false
 * @param longest_ok_s  a stretch of at most this length hides nothing, s
 */
bool fm_seconds_are_hidden(const fm_quality *quality,
                           double start_s,
                           double end_s,
                           double longest_ok_s);

#endif
