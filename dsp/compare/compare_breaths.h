/**
 * @file compare_breaths.h
 * A learner's count of respirations beside a second count of the same seconds: the
 * verdict, what a difference looks like, and what a shorter count would have said. The
 * same rules as for the pulse (compare.h); breath taps are counted over the window and
 * never turned into a rate from their gaps.
 *
 * Source: listening runs above watching in infants: Rusconi et al., Pediatrics
 *         1994;94:350 (618 infants): 2.6 per minute awake, 1.8 asleep.
 */
#ifndef FM_COMPARE_BREATHS_H
#define FM_COMPARE_BREATHS_H

#include "dsp/compare/compare.h"
#include "dsp/result.h"
#include "dsp/status.h"

#define FM_BREATHS_MANUAL_MAX 150 /**< most respirations taken, per minute */

/** Example tolerance until the instructor sets one (common practice, no source). */
#define FM_BREATH_TOLERANCE_EXAMPLE_PER_MIN 2.0

/** Age under which listening is known to run above watching: Rusconi's oldest, months. */
#define FM_BREATH_METHOD_MONTHS 36.0

/** How the learner counted: enumerator, word in documents. */
#define FM_BREATH_METHOD_MAP(X)                                                        \
    X(FM_BREATH_NOT_SAID, "not said")                                                  \
    X(FM_BREATH_WATCHED, "watched")                                                    \
    X(FM_BREATH_LISTENED, "listened")

typedef enum fm_breath_method {
#define X(name, word) name,
    FM_BREATH_METHOD_MAP(X)
#undef X
    FM_BREATH_METHOD_COUNT
} fm_breath_method;

/** What a difference looks like; named for FM_VERDICT_DIFFERS only. */
#define FM_BREATH_SLIP_MAP(X)                                                          \
    X(FM_BREATH_SLIP_NONE, "none")                                                     \
    X(FM_BREATH_SLIP_BOTH_PHASES, "inspiration and expiration counted as two")         \
    X(FM_BREATH_SLIP_EVERY_OTHER, "every other breath")                                \
    X(FM_BREATH_SLIP_SHORT_COUNT, "short count multiplied")

typedef enum fm_breath_slip {
#define X(name, word) name,
    FM_BREATH_SLIP_MAP(X)
#undef X
    FM_BREATH_SLIP_COUNT
} fm_breath_slip;

const char *fm_breath_method_word(fm_breath_method value); /**< never NULL */
const char *fm_breath_slip_word(fm_breath_slip value);     /**< never NULL */

/** What the learner entered. */
typedef struct fm_manual_breaths {
    int entered; /**< raw count in those seconds, 0 up; at most FM_BREATHS_MANUAL_MAX a
                      minute */
    int seconds; /**< 30 or 60 */
    fm_breath_method method;
} fm_manual_breaths;

/** Everything a comparison is made from. Borrowed for the call only. */
typedef struct fm_compare_breaths_input {
    fm_manual_breaths manual;
    const fm_breath *breath; /**< the device's count of the breath's window */
    bool has_known;          /**< judge against known breaths, not the device */
    size_t n_known;
    const double
        *known_s; /**< known_s[0..n_known-1]: starts of inspiration in the whole
                                recording, ascending, s */
    bool tapped;
    size_t n_taps;
    const double *taps_s; /**< taps_s[0..n_taps-1], ascending, s */
    bool young; /**< the person is known to be under FM_BREATH_METHOD_MONTHS */
    double tolerance_per_min; /**< > 0, at most FM_BREATHS_MANUAL_MAX */
} fm_compare_breaths_input;

/** The comparison; src/words renders it and recomputes nothing. */
typedef struct fm_breath_comparison {
    fm_manual_breaths manual;
    double manual_per_min; /**< entered * 60 / seconds */
    bool against_truth;
    bool doubtful; /**< the reference is 'caution': never 'differs' */
    double tolerance_per_min;

    double start_s, end_s; /**< the learner's seconds: [start_s, end_s) */
    bool reference_known;  /**< false: the next five are NaN or 0 and mean nothing */
    int breaths;           /**< the reference's count of those seconds */
    double per_min, low_per_min, high_per_min; /**< multiplied up, with its range */
    double difference_per_min;                 /**< manual - reference, those seconds */
    bool minute_known;                         /**< the breath's window has a rate */
    bool minute_whole; /**< it is that of a full minute, nothing missing */
    double minute_per_min, minute_low_per_min, minute_high_per_min;

    fm_verdict verdict;
    fm_no_verdict no_verdict;
    fm_breath_slip slip;
    bool method_explains; /**< watching or listening may be all of the difference */
    bool tapped;
    int taps; /**< taps in the learner's seconds */
    size_t n_short;
    fm_short_count short_counts[2]; /**< 15 s, 30 s */
} fm_breath_comparison;

/**
 * Compare.
 *
 * @param[out] out  filled whatever the verdict; untouched on error
 * @return FM_OK; FM_ERR_ARG: entered, seconds, an enum or the tolerance out of range
 */
fm_status fm_compare_breaths(const fm_compare_breaths_input *in,
                             fm_breath_comparison *out);

#endif
