/**
 * @file compare.h
 * A learner's manual count beside a second count of the same seconds, of the pulse or of
 * respirations: the verdict, what a difference looks like, and what a shorter count of
 * this minute would have said. One comparison; what differs between the two stands in one
 * table of rules (compare.c). Pure numbers; the words are those of src/words.
 *
 * The verdict is never finer than the reference: it is drawn from the whole range the
 * reference allows, and a reference that is itself in doubt never says 'differs'.
 *
 * Source: first beat 'zero' or 'one': Hwu, Coates and Lin, J Clin Nurs 2000;9:146.
 *         Short counts: closed form (one beat in T s is 60/T per minute), see short_count.
 *         Listening runs above watching in infants: Rusconi et al., Pediatrics
 *         1994;94:350 (618 infants): 2.6 per minute awake, 1.8 asleep.
 */
#ifndef FM_COMPARE_H
#define FM_COMPARE_H

#include "dsp/compare/taps.h"
#include "dsp/result.h"
#include "dsp/status.h"

#define FM_MANUAL_MAX         400 /**< fastest manual count of a pulse taken, per minute */
#define FM_BREATHS_MANUAL_MAX 150 /**< most respirations taken, per minute */

/** Example tolerances until the instructor sets one (common practice, no source). */
#define FM_TOLERANCE_EXAMPLE_PER_MIN        4.0
#define FM_BREATH_TOLERANCE_EXAMPLE_PER_MIN 2.0

/** Age under which listening is known to run above watching: Rusconi's oldest, months. */
#define FM_BREATH_METHOD_MONTHS 36.0

/** Beats by which the wrist is below the apex before a deficit is named: one or two can be
 * an error of counting (common practice, no source). Known truth is no error. */
#define FM_DEFICIT_NAMED_FROM 3

/** Verdict: enumerator, word in documents. */
#define FM_VERDICT_MAP(X)                                                              \
    X(FM_VERDICT_NOT_COMPARABLE, "not comparable")                                     \
    X(FM_VERDICT_AGREES, "agrees")                                                     \
    X(FM_VERDICT_DIFFERS, "differs")                                                   \
    X(FM_VERDICT_TOO_CLOSE, "too close to call")

typedef enum fm_verdict {
    FM_VERDICT_MAP(FM_ENUMERATOR) FM_VERDICT_COUNT
} fm_verdict;

/** Where the seconds begin, and what the first beat is called. */
#define FM_CONVENTION_MAP(X)                                                           \
    X(FM_CONVENTION_CLOCK, "clock") /* on the clock: every S1 inside counts */         \
    X(FM_CONVENTION_ONE, "one")     /* on a beat, which is called one */               \
    X(FM_CONVENTION_ZERO, "zero")   /* on a beat, which is called zero */

typedef enum fm_convention {
    FM_CONVENTION_MAP(FM_ENUMERATOR) FM_CONVENTION_COUNT
} fm_convention;

/** Where the learner counted. */
#define FM_SITE_MAP(X)                                                                 \
    X(FM_SITE_APICAL, "apical")                                                        \
    X(FM_SITE_RADIAL, "radial")

typedef enum fm_site {
    FM_SITE_MAP(FM_ENUMERATOR) FM_SITE_COUNT
} fm_site;

/** How the learner counted respirations. */
#define FM_BREATH_METHOD_MAP(X)                                                        \
    X(FM_BREATH_NOT_SAID, "not said")                                                  \
    X(FM_BREATH_WATCHED, "watched")                                                    \
    X(FM_BREATH_LISTENED, "listened")

typedef enum fm_breath_method {
    FM_BREATH_METHOD_MAP(FM_ENUMERATOR) FM_BREATH_METHOD_COUNT
} fm_breath_method;

/** What a difference looks like; named for FM_VERDICT_DIFFERS only. */
#define FM_SLIP_MAP(X)                                                                 \
    X(FM_SLIP_NONE, "none")                                                            \
    X(FM_SLIP_BOTH_SOUNDS, "both sounds counted")                                      \
    X(FM_SLIP_BOTH_PHASES, "inspiration and expiration counted as two")                \
    X(FM_SLIP_EVERY_OTHER, "every other beat")                                         \
    X(FM_SLIP_EVERY_OTHER_BREATH, "every other breath")                                \
    X(FM_SLIP_SHORT_COUNT, "short count multiplied")                                   \
    X(FM_SLIP_LOST_THREAD, "lost the thread")                                          \
    X(FM_SLIP_MULTIPLIED, "already multiplied") /* the rate, entered for 15 or 30 s */ \
    X(FM_SLIP_SECONDS, "other seconds")         /* a 15 s count, entered for 60 s */

typedef enum fm_slip {
    FM_SLIP_MAP(FM_ENUMERATOR) FM_SLIP_COUNT
} fm_slip;

/** Why there is no verdict. */
#define FM_NO_VERDICT_MAP(X)                                                           \
    X(FM_NO_VERDICT_NONE, "none")       /* there is one */                             \
    X(FM_NO_VERDICT_REFUSED, "refused") /* the reference could not be counted */       \
    X(FM_NO_VERDICT_TOO_SHORT, "recording too short") /* does not cover the seconds */ \
    X(FM_NO_VERDICT_GAP,                                                               \
      "audio missing") /* lost or unusable audio in a short count */                   \
    X(FM_NO_VERDICT_NO_RATE,                                                           \
      "rate not known") /* counted, but too little for a rate */                       \
    X(FM_NO_VERDICT_WRIST, "apex cannot judge the wrist") /* fewer at the wrist */     \
    X(FM_NO_VERDICT_TRUTH, "truth in doubt")              /* far from a sure count */  \
    X(FM_NO_VERDICT_COULD_NOT, "could not count")         /* the learner: no number */

typedef enum fm_no_verdict {
    FM_NO_VERDICT_MAP(FM_ENUMERATOR) FM_NO_VERDICT_COUNT
} fm_no_verdict;

const char *fm_verdict_word(fm_verdict value);             /**< never NULL */
const char *fm_convention_word(fm_convention value);       /**< never NULL */
const char *fm_site_word(fm_site value);                   /**< never NULL */
const char *fm_breath_method_word(fm_breath_method value); /**< never NULL */
const char *fm_slip_word(fm_slip value);                   /**< never NULL */
const char *fm_no_verdict_word(fm_no_verdict value);       /**< never NULL */

/** What the learner entered. */
typedef struct fm_manual {
    int entered; /**< raw count in those seconds, a pulse 1 up, respirations 0 up; at most
                      FM_MANUAL_MAX or FM_BREATHS_MANUAL_MAX a minute */
    int seconds;              /**< 15 (a pulse only), 30 or 60 */
    fm_convention convention; /**< respirations: always CLOCK */
    fm_site site;             /**< a pulse's */
    fm_breath_method method;  /**< that of respirations */
    bool could_not; /**< they could not count it: entered is 0 and no number */
} fm_manual;

/** Known events of a composed or annotated recording, instead of the device's count. */
typedef struct fm_known_events {
    size_t n;
    const double *onsets_s; /**< every S1, or start of inspiration, of the recording,
                                 ascending, s */
    size_t n_inaudible;
    const size_t *inaudible; /**< indices into onsets_s of those nobody can hear,
                                  ascending */
    bool has_wrist;          /**< the pulse at the wrist is known too */
    size_t n_wrist;
    const double *wrist_s; /**< its times, ascending, s; a little after their S1 */
} fm_known_events;

/** Everything a comparison is made from. Borrowed for the call only. */
typedef struct fm_compare_input {
    fm_event_kind kind;
    fm_manual manual;
    const fm_event_count *count;  /**< the device's count of the window */
    const fm_known_events *known; /**< NULL: judge against the device */
    const fm_taps
        *taps;   /**< a pulse tapped, aligned with its beats; NULL: not tapped */
    bool tapped; /**< respirations: tapped */
    size_t n_taps;
    const double *taps_s; /**< taps_s[0..n_taps-1], ascending, s */
    bool young; /**< the person is known to be under FM_BREATH_METHOD_MONTHS */
    double tolerance_per_min; /**< > 0, at most what may be entered a minute */
} fm_compare_input;

/** What every window of one length would have said, multiplied up. */
typedef struct fm_short_count {
    int seconds;      /**< 15 or 30 */
    size_t n_windows; /**< windows without missing audio, one from every whole second */
    double min_per_min; /**< NaN when n_windows is 0, as are the next two */
    double max_per_min;
    double mean_per_min;
} fm_short_count;

/** The comparison; src/report renders it and recomputes nothing. */
typedef struct fm_comparison {
    fm_manual manual;
    double
        manual_per_min; /**< entered * 60 / seconds; NaN where they could not count */
    bool against_truth; /**< judged against known beats, not the device's count */
    bool doubtful;      /**< the reference is 'caution': never 'differs' */
    double tolerance_per_min;

    double start_s, end_s; /**< the learner's seconds: [start_s, end_s) */
    bool reference_known;  /**< false: the next five are NaN or 0 and mean nothing */
    int counted; /**< the reference's count of those seconds, their convention */
    double per_min, low_per_min, high_per_min; /**< multiplied up, with its range */
    double difference_per_min;                 /**< manual - reference, those seconds */
    bool minute_known;                         /**< the counted window has a rate */
    bool minute_whole; /**< it is that of a full minute, nothing missing */
    double minute_per_min, minute_low_per_min, minute_high_per_min;

    fm_verdict verdict;
    fm_no_verdict no_verdict;
    fm_verdict could_not; /**< of a learner who could not count: AGREES where the device
                               could not either, DIFFERS where it counted, TOO_CLOSE where
                               that is in doubt; else NOT_COMPARABLE */
    fm_slip slip;
    bool convention_explains; /**< off by exactly one beat, as the other way counts */
    fm_convention explaining; /**< that other way, when it does */
    bool method_explains;     /**< watching or listening may be all of the difference */
    bool at_wrist; /**< judged by the known pulse at the wrist: `counted`, the range and
                         the difference are the wrist's; the minute is the apex's */
    int apex_beats; /**< beats at the apex in those seconds, where the reference is known */
    bool
        fewer_at_wrist; /**< radial below apical, and nothing known of the wrist: no slip,
                              no verdict */
    bool more_at_wrist; /**< radial above apical, which cannot be */
    bool tapped;        /**< respirations: tapped ... */
    int taps;           /**< ... so many in the learner's seconds */
    size_t n_short;
    fm_short_count short_counts[2]; /**< 15 s, 30 s */
} fm_comparison;

/**
 * Verdict of one number against a range.
 *
 * @param manual_per_min  the learner's
 * @param low_per_min     lowest the reference allows; NaN gives NOT_COMPARABLE
 * @param high_per_min    highest, >= low
 * @param tolerance       > 0, inclusive: a difference of exactly it is within
 * @param doubtful        true: where the range lies outside, TOO_CLOSE is said
 */
fm_verdict fm_compare_verdict(double manual_per_min,
                              double low_per_min,
                              double high_per_min,
                              double tolerance,
                              bool doubtful);

/**
 * How many of the beats lie in [start_s, start_s + seconds), by convention. For ONE and
 * ZERO start_s is the beat the clock was started on.
 */
int fm_compare_beats_in(const double *s1_s,
                        size_t n_s1,
                        double start_s,
                        double seconds,
                        fm_convention convention);

/**
 * What every window of `seconds` inside [start_s, end_s) would have said, one window from
 * every whole second after start_s; windows that touch a gap or an unusable stretch are
 * left out.
 */
fm_short_count fm_compare_short_counts(const double *s1_s,
                                       size_t n_s1,
                                       double start_s,
                                       double end_s,
                                       int seconds,
                                       const fm_quality *quality);

/**
 * Compare.
 *
 * @param[out] out  filled whatever the verdict; untouched on error
 * @return FM_OK; FM_ERR_ARG: entered, seconds, an enum or the tolerance out of range
 */
fm_status fm_compare(const fm_compare_input *in, fm_comparison *out);

#endif
