/**
 * @file progress.h
 * How a learner's counts agree with the second count over time, as it is shown. Filled by
 * src/usecase/progress_make; the terminal, the document and the page render it and
 * recompute nothing.
 *
 * Only first attempts that were compared are in it: whoever has seen the number knows it.
 * Bias and limits of agreement: Bland and Altman 1986 (dsp/compare/agreement), limits at 1.96
 * standard deviations; repeated counts by one person are not independent pairs, and that
 * is said.
 */
#ifndef DOCUMENT_PROGRESS_H
#define DOCUMENT_PROGRESS_H

#include "dsp/compare/agreement.h"
#include "src/document/summary.h"

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

enum {
    PROGRESS_LEARNER_BYTES = 32,
    PROGRESS_UTC_BYTES = 24,
    PROGRESS_LABEL_BYTES = 40,
    PROGRESS_WATCHED_BYTES = 256,
    PROGRESS_GROUPS = 9 /**< three methods, three rate bands, three rhythms */
};

/** Counts of one kind. */
typedef struct progress_group {
    const char *by; /**< "method", "rate" or "rhythm" */
    char label[PROGRESS_LABEL_BYTES];
    fm_agreement agreement;
    size_t within; /**< of agreement.n, within within_per_min */
    fm_ends share_95;
} progress_group;

/** One count. */
typedef struct progress_point {
    char utc[PROGRESS_UTC_BYTES];
    long long number; /**< of the row */
    double difference_per_min;
    bool
        for_goal; /**< a full minute at the apex, first attempt, the second count neither
                        refused nor in doubt (known truth is not) */
    bool word_right; /**< uneven, and the learner said so in the same word */
    bool
        after_could_not; /**< since the one before, one that can be counted could not be */
    bool
        uneven; /**< the rhythm was not regular, as the second count or the truth says */
} progress_point;

/** What the instructor asks for, and how far it is. */
typedef struct progress_goal {
    bool set;
    int in_a_row;
    double within_per_min;
    int irregular;
    bool met;
    char met_utc[PROGRESS_UTC_BYTES]; /**< of the count that met it first */
    int now_in_a_row; /**< the newest of those that count for it, within it */
    int now_irregular;
    int breath_in_a_row; /**< respirations; 0: no goal of theirs */
    double breath_within_per_min;
    bool breath_met;
    int breath_now_in_a_row;
} progress_goal;

/** Everything. Start from zero, free with progress_free. */
typedef struct progress {
    char learner[PROGRESS_LEARNER_BYTES]; /**< "" for everybody */
    size_t rows;                          /**< all rows */
    size_t
        not_compared; /**< without a difference: refused, too short, not counted yet */
    size_t repeated;  /**< second and later attempts at one recording */
    size_t
        could_not; /**< of those not compared: the learner could not count the pulse, */
    size_t could_not_rightly; /**< and neither could the second count */
    double within_per_min;
    bool within_set; /**< the instructor's; false: the example */

    progress_group all;
    size_t n_groups;
    progress_group groups[PROGRESS_GROUPS];
    progress_group breaths; /**< respirations, against their own example */
    double breaths_within_per_min;

    size_t n_points;
    size_t point_room;
    progress_point *points; /**< in the order of time, owned */
    summary_pairs pairs;    /**< learner's and reference's rates */
    size_t trend_n;         /**< counts in each end of the trend; 0: too few */
    double trend_first;     /**< median |difference| of the first trend_n */
    double trend_last;      /**< and of the last */

    progress_goal goal;
    bool is_signed;
    char signed_by[PROGRESS_LEARNER_BYTES];
    char signed_utc[PROGRESS_UTC_BYTES];
    bool signed_goal_met;
    char signed_watched[PROGRESS_WATCHED_BYTES]; /**< what the instructor watched */

    size_t n_deficits; /**< pulse deficits of two examiners */
    double deficit_mean, deficit_least, deficit_most;
} progress;

/** Free what is inside; p is then empty. */
void progress_free(progress *p);

/** As the document "fullminute.progress/1"; a new reference, NULL without memory. */
json_t *progress_document(const progress *p);

#endif
