/**
 * @file unusable.h
 * Stretches of a window that are heard and cannot be counted from: no sure beat was found for
 * longer than a pause would explain. They and the gaps (no audio, or not heard) together are
 * excluded from what is measured. No allocation.
 */
#ifndef FM_UNUSABLE_H
#define FM_UNUSABLE_H

#include "dsp/heart/features.h"
#include "dsp/result.h"
#include "dsp/segment.h"

/**
 * Find the unusable stretches of a window.
 *
 * @param segment      the segment, with its gaps and clipping
 * @param f            its features
 * @param s1_s         s1_s[0..n-1]: S1 times in the recording, ascending
 * @param sureness     sureness[0..n-1], 0..1
 * @param cycle_s      typical S1-S1 interval
 * @param[in,out] q    unusable[] and n_unusable are set
 */
void fm_unusable_find(const fm_segment *segment,
                      const fm_features *f,
                      const double *s1_s,
                      const float *sureness,
                      size_t n,
                      double cycle_s,
                      fm_quality *q);

/** Is time_s inside any of spans[0..n-1]? */
bool fm_spans_contain(const fm_span *spans, size_t n, double time_s);

/** Does any of spans[0..n-1] share a moment with [start_s, end_s)? */
bool fm_spans_touch(const fm_span *spans, size_t n, double start_s, double end_s);

/** Seconds of [start_s, end_s) that lie in the span. */
double fm_span_overlap_s(const fm_span *span, double start_s, double end_s);

/**
 * Seconds of [start_s, end_s) that lie in no gap and no unusable stretch.
 */
double fm_usable_s(const fm_quality *q, double start_s, double end_s);

/** The longest gap or unusable stretch of a window, s; 0 when there is none. */
double fm_excluded_longest_s(const fm_quality *q, double start_s, double end_s);

#endif
