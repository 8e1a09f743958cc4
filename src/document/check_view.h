/**
 * @file check_view.h
 * One comparison as the sitting hands it over to be shown: the numbers of dsp/compare/compare
 * with what belongs beside them. The terminal's text and the document render it; neither
 * recomputes a number or a verdict.
 */
#ifndef DOCUMENT_CHECK_VIEW_H
#define DOCUMENT_CHECK_VIEW_H

#include "dsp/compare/compare.h"
#include "dsp/compare/reference_range.h"
#include "dsp/compare/taps.h"
#include "src/base/hint.h"
#include "src/document/count_document.h"
#include "src/document/own_count.h"

/** What the learner said beside the numbers. Borrowed. */
typedef struct check_learner {
    const char *rhythm;         /**< as entered; "" not said */
    const char *breathing;      /**< likewise */
    const char *depth, *effort; /**< of the breathing; NULL or "" not said */
    int running[OWN_RUNNING];   /**< beats noted by 15, 30 and 45 s; -1: not noted */
    int breath_running[OWN_RUNNING]; /**< likewise, respirations */
} check_learner;

/** What the logbook knows of the last count before this one that was compared: the learner's
 * less the reference, per minute; NaN: there is none. Plain value. */
typedef struct check_before {
    double off_per_min[FM_EVENT_KINDS];
} check_before;

/** The respirations' part. Everything borrowed, for the call only. */
typedef struct check_breaths {
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
    bool could_not; /**< the learner could not count them: nothing is compared */
} check_breaths;

/** Everything borrowed, for the call only. */
typedef struct check_view {
    const count_source *source;
    const fm_count *count;
    const fm_comparison *comparison; /**< NULL: respirations alone were checked; the
                                          pulse stays sealed */
    const check_breaths *breaths;    /**< NULL: no respirations were checked */
    const fm_taps *taps;             /**< NULL: not tapped */
    size_t n_beats;
    const double *beats_s; /**< beats_s[0..n_beats-1]: the beats judged by, of the
                                learner's seconds; none where nothing is compared */
    const fm_reference_range *range; /**< never NULL: the adult row without an age */
    bool age_known;                  /**< false: the age was not given */
    double age_months;               /**< when known */
    bool tolerance_set;              /**< the instructor's; false: the example */
    bool counted_taps;               /**< the manual count is the number of taps */
    size_t n_taps_outside;           /**< taps that lie outside the learner's seconds */
    size_t n_inaudible; /**< known beats of the learner's seconds nobody can hear */
    bool
        watched; /**< respirations were watched by the clock: stored, no second count */
    int watched_breaths; /**< in a full minute, when watched */
    bool known_pattern;  /**< the truth names the pattern of this minute */
    fm_pattern pattern;  /**< that pattern, when it does */
    bool could_not; /**< the learner could not count the pulse: nothing is compared */
    const check_learner *learner; /**< NULL: nothing known */
    const check_before *before;   /**< NULL: not looked for */
    hint_voice *voice; /**< who words the hints; NULL: as in src/base/hint.h */
} check_view;

/** Is the pattern anything but even, as heard or as the truth names it? */
bool check_view_irregular(const check_view *view);

/** Uneven only in step with breathing, as heard and, where it is known, as made. */
bool check_view_with_breathing(const check_view *view);

/** The rate that is held against the range, per minute; NaN where there is none. */
typedef struct check_rate {
    double per_min, low, high; /**< on the clock, whatever the first beat was called */
    bool own; /**< the learner's full-minute count, nothing else known */
} check_rate;

/** The minute's rate, or the learner's own full-minute count where that is not known; NaN
 * where there is neither. */
check_rate check_rate_of(const fm_comparison *c);

/** Where that rate lies in the range it may be judged by (fm_reference_range_judge);
 * FM_RANGE_UNKNOWN without a rate or without such a range. */
fm_range_place check_rate_place(const fm_comparison *c,
                                const fm_reference_range *range);

/** Is the pulse's rate outside the range, the whole interval that holds it? */
bool check_view_outside(const check_view *view);

/**
 * The length after which no tap came, where that is a short count's.
 *
 * @return 15 or 30; 0 where taps go on, or nothing was tapped
 */
int check_view_taps_end(const check_view *view);

/* ---- Respirations ---- */

/** WHO's judgement of the respirations' rate; FM_WHO_NOT_KNOWN without an age or a rate, and where
 * the interval that holds the rate reaches the limit. */
fm_who_breathing check_breaths_who(const check_view *view);

/** Outside the range, or fast by WHO's limit? False where no respirations are checked. */
bool check_breaths_outside(const check_view *view);

#endif
