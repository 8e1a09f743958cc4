/**
 * @file check_breaths.h
 * A learner's respirations beside the second count of the same seconds: its part of the
 * comparison's view and text. Renders dsp/compare/compare; recomputes nothing.
 */
#ifndef REPORT_CHECK_BREATHS_H
#define REPORT_CHECK_BREATHS_H

#include "dsp/compare/compare.h"
#include "dsp/compare/reference_range.h"
#include "src/report/check_view.h"
#include "src/words/lines.h"

/** Everything borrowed, for the call only. */
struct check_breaths {
    const fm_comparison *comparison;
    const fm_reference_range *range; /**< never NULL: the adult row without an age */
    bool tolerance_set;              /**< the instructor's; false: the example */
    bool counted_taps;               /**< the manual count is the number of taps */
    size_t n_starts;
    const double *starts_s; /**< starts_s[0..n_starts-1]: the breaths judged by, for the
                                 picture; none where they were refused */
    size_t n_pauses;
    const fm_breath_pause *pauses; /**< pauses[0..n_pauses-1]: the truth's where it says
                                        how the breathing went, else those heard */
    fm_breath_pattern pattern;     /**< likewise */
    bool breathing_known;          /**< both are the truth's: 'paused' may be said */
};

/**
 * The rate that range and limit are held against: the minute's, or, where that is not
 * known, the learner's own full-minute count.
 *
 * @param[out] own  true: it is the learner's
 * @return per minute; NaN where there is neither
 */
double check_breaths_rate(const check_view *view, bool *own);

/** Is the difference more than 2 per minute (common practice, no source)? */
bool check_breaths_far_off(const check_view *view);

/** Where that rate lies in the range; FM_RANGE_UNKNOWN without one. */
fm_range_place check_breaths_place(const check_view *view);

/** WHO's judgement of that rate; FM_WHO_NOT_KNOWN without an age or a rate, and where
 * the interval that holds the rate reaches the limit. */
fm_who_breathing check_breaths_who(const check_view *view);

/** Outside the range, or fast by WHO's limit? False where no respirations are checked. */
bool check_breaths_outside(const check_view *view);

/** The paragraphs; view->breaths is not NULL. */
void check_breaths_add(const check_view *view, lines *to);

#endif
