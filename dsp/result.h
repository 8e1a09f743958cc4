/**
 * @file result.h
 * What a finished window says: the plain values that documents, rows, pictures and
 * comparisons are made from. No function here allocates; every struct is a plain value
 * that may be copied freely.
 *
 * Times are seconds from the first sample of the recording. A number that is not known
 * is NaN (a count: its status says so), never 0 or -1.
 */
#ifndef FM_RESULT_H
#define FM_RESULT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define FM_WINDOW_MAX_S 60.0 /**< longest window, s */

enum {
    FM_BEATS_MAX =
        512, /**< S1 (or S2) onsets one window can hold: 60 s at 512 per minute */
    FM_BREATHS_MAX = 160,    /**< breath starts one window can hold: over twice 70 */
    FM_SPANS_MAX = 64,       /**< gaps or unusable stretches one window can hold */
    FM_FINDINGS_MAX = 6,     /**< kinds of rhythm finding in one window */
    FM_FINDING_TIMES = 64,   /**< times kept for one finding; `count` may be larger */
    FM_REPEAT_TEXT = 16,     /**< bytes of a repeat's name, with its end mark */
    FM_BREATH_PAUSES_MAX = 8 /**< pauses of breathing one window can hold: of 10 s and
                                  more there is no room for more than five */
};

/** One enumerator of a map whose rows begin with its name. */
#define FM_ENUMERATOR(name, ...) name,

/** How far a result is vouched for. */
typedef enum fm_outcome {
    FM_REFUSED, /**< no number: see the reason */
    FM_CAUTION, /**< a number and a reason to doubt it */
    FM_COUNTED  /**< a number that is vouched for */
} fm_outcome;

/** Why a result is refused or doubted: enumerator, and its code in documents. */
#define FM_REASON_MAP(X)                                                               \
    X(FM_REASON_NONE, "none")                                                          \
    X(FM_REASON_TOO_SHORT, "too_short")                                                \
    X(FM_REASON_TOO_QUIET, "too_quiet")                                                \
    X(FM_REASON_CLIPPED, "clipped")                                                    \
    X(FM_REASON_FRICTION, "friction")                                                  \
    X(FM_REASON_SPEECH_OR_MUSIC, "speech_or_music")                                    \
    X(FM_REASON_TONE, "tone")                                                          \
    X(FM_REASON_NO_PERIODICITY, "no_periodicity")                                      \
    X(FM_REASON_RATE_AMBIGUOUS, "rate_ambiguous")                                      \
    X(FM_REASON_GAP, "gap")                                                            \
    X(FM_REASON_ESTIMATORS_DISAGREE, "estimators_disagree")                            \
    X(FM_REASON_NO_BREATH_CUE, "no_breath_cue")                                        \
    X(FM_REASON_CONTACT_LOST, "contact_lost")                                          \
    X(FM_REASON_CONTACT_OR_PAUSE, "contact_or_pause")                                  \
    X(FM_REASON_NO_HEART, "no_heart")                                                  \
    X(FM_REASON_BREATH_COVERS_HEART, "breath_covers_heart")                            \
    X(FM_REASON_HEART_ALONE, "heart_alone")                                            \
    X(FM_REASON_CHILD, "child")

typedef enum fm_reason {
    FM_REASON_MAP(FM_ENUMERATOR) FM_REASON_COUNT
} fm_reason;

/** The code a document carries for a reason ("too_short"); never NULL. */
const char *fm_reason_code(fm_reason value);

/** A stretch of the recording and what is the matter with it. */
typedef struct fm_span {
    double start_s;
    double length_s;
    fm_reason reason;
} fm_span;

/** The window the result speaks of: [start_s, end_s). */
typedef struct fm_window {
    double start_s;
    double end_s;
    bool
        full_minute; /**< 60 s long, with no gap or unusable stretch longer than a beat */
} fm_window;

/** Which part of the spectrum the heart was counted from. */
typedef enum fm_band {
    FM_BAND_LOW, /**< about 25-150 Hz, where heart sounds have most of their energy */
    FM_BAND_HIGH /**< about 150-450 Hz: a small microphone has lost the low band */
} fm_band;

/** Recording quality over the window. */
typedef struct fm_quality {
    double overall; /**< 0..1 */
    double
        level_dbfs; /**< RMS level, full-scale sine = -3.01; -inf for digital silence */
    double clipped_fraction; /**< 0..1, share of samples in runs at full scale */
    bool low_band_missing;   /**< little energy below 150 Hz: a small microphone */
    size_t n_gaps;
    fm_span gaps[FM_SPANS_MAX]; /**< lost audio, reason FM_REASON_GAP */
    size_t n_unusable;
    fm_span unusable[FM_SPANS_MAX]; /**< stretches that could not be used, and why */
} fm_quality;

/** What is counted. */
typedef enum fm_event_kind {
    FM_EVENT_BEAT,   /**< heartbeats: S1 */
    FM_EVENT_BREATH, /**< respirations: starts of inspiration */
    FM_EVENT_KINDS
} fm_event_kind;

/**
 * Heartbeats or respirations, counted: the same kind of value for both. A refused count
 * has no onset (n is 0) and no rate; its window and quality say what it was refused for.
 */
typedef struct fm_event_count {
    fm_outcome status;
    fm_reason reason;    /**< FM_REASON_NONE when counted without doubt */
    fm_span reason_span; /**< the worst stretch for that reason; length 0: all of it */
    fm_window window;    /**< full_minute by the length of these events */
    fm_quality quality;  /**< of that window */
    double usable_s;     /**< seconds of the window that could be used */
    double rate_per_min; /**< n for a whole clean minute, else 60(n-1)/(tn-t1); NaN when
                              refused, or where too few are heard for a rate */
    double rate_low_per_min; /**< 95 % interval of the rate; NaN when refused */
    double rate_high_per_min;
    double confidence; /**< 0..1, probability that the rate is within 3 (pulse) or 2
                            (respirations) of the truth */
    size_t n;          /**< onsets t with window.start_s <= t < window.end_s */
    /** onsets_s[0..n-1], ascending; respirations have at most FM_BREATHS_MAX */
    double onsets_s[FM_BEATS_MAX];
} fm_event_count;

/** Is there a number? */
static inline bool fm_is_known(const fm_event_count *c)
{
    return c->status != FM_REFUSED;
}

/** The pulse: its onsets are those of S1. */
typedef struct fm_heart {
    fm_event_count count;
    fm_band band;
    float s1_sureness[FM_BEATS_MAX]; /**< 0..1, how clearly that beat stood out */
    size_t n_s2;
    double s2_s[FM_BEATS_MAX]; /**< onsets, ascending */
} fm_heart;

/** What one interval is, beside its neighbours: enumerator, word in documents. */
#define FM_INTERVAL_MAP(X)                                                             \
    X(FM_INTERVAL_EXPECTED, "expected")                                                \
    X(FM_INTERVAL_EARLY, "early")                                                      \
    X(FM_INTERVAL_AFTER_EARLY, "after_early")                                          \
    X(FM_INTERVAL_LATE, "late")                                                        \
    X(FM_INTERVAL_PAUSE, "pause")                                                      \
    X(FM_INTERVAL_UNSURE, "unsure")

typedef enum fm_interval_kind {
    FM_INTERVAL_MAP(FM_ENUMERATOR) FM_INTERVAL_KIND_COUNT
} fm_interval_kind;

/** The word for an interval kind ("after_early"); never NULL. */
const char *fm_interval_word(fm_interval_kind value);

/** One S1-S1 interval. */
typedef struct fm_interval {
    double start_s; /**< the S1 it starts from */
    double length_s;
    fm_interval_kind kind;
} fm_interval;

/** The pattern in trade words: enumerator, word in documents. */
#define FM_PATTERN_MAP(X)                                                              \
    X(FM_PATTERN_UNDETERMINED, "undetermined")                                         \
    X(FM_PATTERN_REGULAR, "regular")                                                   \
    X(FM_PATTERN_OCCASIONALLY_IRREGULAR, "occasionally irregular")                     \
    X(FM_PATTERN_REGULARLY_IRREGULAR, "regularly irregular")                           \
    X(FM_PATTERN_IRREGULARLY_IRREGULAR, "irregularly irregular")

typedef enum fm_pattern {
    FM_PATTERN_MAP(FM_ENUMERATOR) FM_PATTERN_COUNT
} fm_pattern;

/** The words for a pattern ("regularly irregular"); never NULL. */
const char *fm_pattern_word(fm_pattern value);

/** A named finding about the rhythm: enumerator, word in documents. */
#define FM_FINDING_MAP(X)                                                              \
    X(FM_FINDING_EARLY_BEATS, "early beats")                                           \
    X(FM_FINDING_PAUSES, "pauses")                                                     \
    X(FM_FINDING_RATE_CHANGE, "sudden rate change")                                    \
    X(FM_FINDING_FAST_RUN, "run of fast beats")

typedef enum fm_finding_kind {
    FM_FINDING_MAP(FM_ENUMERATOR) FM_FINDING_KIND_COUNT
} fm_finding_kind;

/** The word for a finding ("early beats"); never NULL. */
const char *fm_finding_word(fm_finding_kind value);

typedef struct fm_finding {
    fm_finding_kind kind;
    size_t count; /**< how many in the window */
    double
        times_s[FM_FINDING_TIMES]; /**< when: the first min(count, FM_FINDING_TIMES) */
} fm_finding;

/** Rhythm of the minute; measures are NaN when too few intervals are sure. */
typedef struct fm_rhythm {
    fm_pattern pattern;
    char repeat[FM_REPEAT_TEXT]; /**< "" none, "breathing", or a group as "4:3" */
    bool varies_with_breathing;
    size_t n_findings;
    fm_finding findings[FM_FINDINGS_MAX];
    double mean_interval_s, sdnn_ms, rmssd_ms, pnn50, cv, sd1_ms, sd2_ms;
    size_t n_intervals;
    fm_interval intervals[FM_BEATS_MAX];
} fm_rhythm;

/** What respirations are heard from: enumerator, word in documents. */
#define FM_CUE_MAP(X)                                                                  \
    X(FM_CUE_SOUND, "breath sound")                                                    \
    X(FM_CUE_LOUDNESS, "heart sound loudness")                                         \
    X(FM_CUE_INTERVALS, "beat intervals")

typedef enum fm_cue {
    FM_CUE_MAP(FM_ENUMERATOR) FM_CUE_COUNT
} fm_cue;

/** The words for a cue ("beat intervals"); never NULL. */
const char *fm_cue_word(fm_cue value);

/** How breaths follow one another: enumerator, words in documents. */
#define FM_BREATH_PATTERN_MAP(X)                                                       \
    X(FM_BREATH_PATTERN_UNDETERMINED, "undetermined")                                  \
    X(FM_BREATH_PATTERN_EVEN, "even")                                                  \
    X(FM_BREATH_PATTERN_UNEVEN, "uneven")                                              \
    X(FM_BREATH_PATTERN_WITH_PAUSES, "with pauses")                                    \
    X(FM_BREATH_PATTERN_WAXING, "waxing and waning")

typedef enum fm_breath_pattern {
    FM_BREATH_PATTERN_MAP(FM_ENUMERATOR) FM_BREATH_PATTERN_COUNT
} fm_breath_pattern;

/** The words for how breaths follow one another ("with pauses"); never NULL. */
const char *fm_breath_pattern_word(fm_breath_pattern value);

/**
 * A stretch without a breath: from the end of one breath to the start of the next, in
 * seconds of the recording, start_s < end_s.
 */
typedef struct fm_breath_pause {
    double start_s;
    double end_s;
} fm_breath_pause;

/**
 * The respirations: their onsets are starts of inspiration, or, where the phase is not
 * heard, of the rise of the cue. The count's window may be another than the pulse's.
 */
typedef struct fm_breath {
    fm_event_count count; /**< full_minute: no gap longer than a breath's quarter */
    double cue_quality[FM_CUE_COUNT];      /**< 0 not there .. 1 clear */
    double cue_rate_per_min[FM_CUE_COUNT]; /**< rate by that cue alone; NaN: none */
    int cue_count[FM_CUE_COUNT]; /**< cycles of that cue alone in the window; meaningful
                                      where its rate is not NaN */
    /* What follows is shown whatever the status is: pattern stays undetermined and no
     * pause is named unless the analyser vouches for it. */
    fm_breath_pattern pattern; /**< waxing and waning only where two whole swells are
                                    heard; FM_BREATH_PATTERN_UNDETERMINED by default */
    size_t n_pauses;
    fm_breath_pause pauses[FM_BREATH_PAUSES_MAX]; /**< heard quiet of 10 s and more,
                                    ascending. Breathing that could not be heard
                                    (shallow, covered, contact or audio lost) is none.
                                    respiration_pause.h keeps those named at an age */
} fm_breath;

/** The final result of one window. About 50 KB: keep it on the heap or static. */
typedef struct fm_count {
    fm_heart heart;
    fm_rhythm rhythm;
    fm_breath breath;
} fm_count;

/** sizeof(fm_count) as this library was built: for a program in another language, which
 * describes the struct itself and must not find it shorter than it is. */
size_t fm_count_bytes(void);

#endif
