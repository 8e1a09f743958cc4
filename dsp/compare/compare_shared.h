/**
 * @file compare_shared.h
 * What comparing a pulse and comparing respirations have in common: missing audio in the
 * learner's seconds, shorter counts of the same minute, and how an entry looks. Inside
 * dsp/ only.
 */
#ifndef FM_COMPARE_SHARED_H
#define FM_COMPARE_SHARED_H

#include "dsp/compare/compare.h"
#include "dsp/result.h"

/** Rates are compared as printed, to 0.1: rounding noise must not move a verdict. */
#define FM_COMPARE_EPSILON 1e-6

/**
 * Do some seconds meet audio that is missing or unusable for longer than may be?
 *
 * @param quality       NULL: none is known, false
 * @param longest_ok_s  a stretch of at most this length hides nothing, s
 */
bool fm_seconds_are_hidden(const fm_quality *quality,
                           double start_s,
                           double end_s,
                           double longest_ok_s);

/** Is a rate so near another that it looks like it? Both per minute; target >= 0. */
bool fm_rate_looks_like(double per_min, double target_per_min);

/**
 * What counts of 15 s and of 30 s in a window would have said; a length without a whole
 * window is left out.
 *
 * @param times_s  times_s[0..n-1], ascending, s
 * @param quality  missing audio; NULL: none
 * @param[out] out  out[0..1]
 * @return how many lengths stand in out
 */
size_t fm_short_counts_of(const double *times_s,
                          size_t n,
                          const fm_window *window,
                          const fm_quality *quality,
                          fm_short_count out[2]);

/**
 * Could the entry of a full minute be a short count of it, multiplied up?
 *
 * @param seconds  how long the learner counted, s
 * @param counts   counts[0..n-1], of the same minute
 */
bool fm_entry_looks_multiplied(int entered,
                               int seconds,
                               const fm_short_count *counts,
                               size_t n);

#endif
