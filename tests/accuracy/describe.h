/**
 * @file describe.h
 * Whether what was said about the rhythm is what the truth says.
 */
#ifndef ACCURACY_DESCRIBE_H
#define ACCURACY_DESCRIBE_H

#include "dsp/result.h"

/** The true rhythm of a recording. */
typedef struct rhythm_truth {
    bool known; /**< false: nothing to compare with */
    fm_pattern pattern;
    char repeat[FM_REPEAT_TEXT]; /**< "" none */
    size_t n_findings;
    fm_finding findings[FM_FINDINGS_MAX]; /**< over the whole recording */
} rhythm_truth;

/** What was said beside it. */
typedef struct rhythm_score {
    bool
        known; /**< the truth is known; else only said and said_repeat hold something */
    fm_pattern truth;
    fm_pattern said;
    char truth_repeat[FM_REPEAT_TEXT];
    char said_repeat[FM_REPEAT_TEXT];
    bool pattern_right;  /**< pattern and repeat are the true ones */
    bool findings_right; /**< every kind of finding as often as it truly is inside the
                              window, and no kind that is not there */
} rhythm_score;

/** Compares the rhythm of a window with the truth. */
rhythm_score score_rhythm(const rhythm_truth *truth, const fm_count *count);

/** The pattern of a word; FM_PATTERN_COUNT when there is none. */
fm_pattern pattern_of_word(const char *word);

/** The finding of a word; FM_FINDING_KIND_COUNT when there is none. */
fm_finding_kind finding_of_word(const char *word);

#endif
