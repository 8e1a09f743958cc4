/**
 * @file checked_count.h
 * The checked count: a learner's own count first, then the second count of the same
 * recording, then the comparison. The only place that decides what may be shown, and
 * when: nothing is analysed before the learner's count is stored (taking.h), and a refused
 * count shows no number of the heart, only the learner's.
 *
 * The seal guards against seeing by accident, not against a person who runs `count` on
 * the same file first.
 */
#ifndef USECASE_CHECKED_COUNT_H
#define USECASE_CHECKED_COUNT_H

#include "dsp/fullminute_compose.h"
#include "src/base/error.h"
#include "src/document/check_view.h"
#include "src/document/own_count.h"
#include "src/document/times_file.h"
#include "src/usecase/analyse_file.h"
#include "src/usecase/taking.h"

enum {
    CHECK_BY_TAPS = -1 /**< entered: the number of taps is the count */
};

/** What the learner brought of the pulse, or of respirations. */
typedef struct check_entry {
    bool asked; /**< is to be compared; false: the rest means nothing, and a pulse stays
                     sealed */
    fm_manual manual;         /**< entered as fm_manual has it, or CHECK_BY_TAPS; the
                                   convention of a pulse is analyse.convention */
    own_words words;          /**< what was found beside the number */
    const char *taps_path;    /**< file of taps; NULL: none */
    times given_taps;         /**< taps in its place, borrowed; n 0: not tapped */
    double tolerance_per_min; /**< the instructor's, > 0; NaN: the example is used */
} check_entry;

/** What the learner did, and what to hold it against. */
typedef struct check_request {
    analyse_request
        analyse; /**< recording, start, channel, convention, breath window, age */
    check_entry pulse, breaths;
    bool watched; /**< respirations were watched by the clock, without a second count */
    int watched_breaths; /**< in a full minute, when watched */
    bool use_truth; /**< judge against NAME.truth.json where it lies beside the file */
} check_request;

/** Defaults: a full apical minute on the clock, judged against a truth if there is one. */
check_request check_request_default(const char *path);

/** A finished comparison. Opaque. */
typedef struct checked_count checked_count;

/**
 * First step: read the taps and the truth, and see that the recording holds what was asked
 * for. What was entered is now to be stored: checked_count_entered.
 *
 * @param request  borrowed until the comparison is made
 * @return the comparison, to be freed with checked_count_free; NULL with err:
 *         APP_USAGE (entered too fast for any person, nothing tapped in the window, and
 *         what analyse_file says), APP_UNREADABLE (recording, taps or truth; more taps than anybody counts),
 *         APP_FAILED, APP_INTERRUPTED
 */
checked_count *checked_count_open(const check_request *request, app_err *err);

/** What is to be stored; NULL: not counted, or known only by taps in a window that is still
 *  to be found. Borrowed. */
const fm_manual *checked_count_entered(const checked_count *c, fm_event_kind kind);

/** Second step, and last: TAKING_STORED or not; TAKING_COUNTED or not. @return whether that
 *  was waited for */
bool checked_count_tell(checked_count *c, taking_event event);

/**
 * Third step: count and compare.
 *
 * @return false with err as above; without TAKING_STORED nothing is analysed
 */
bool checked_count_count(checked_count *c, app_err *err);

/** All steps, of what is stored already. @return as checked_count_open */
checked_count *checked_count_make(const check_request *request, app_err *err);

/**
 * The third step with a count that is there.
 *
 * @param result  borrowed until checked_count_free, as is truth
 * @param truth   NULL: that of checked_count_open, or the device judges
 * @return false with err as above
 */
bool checked_count_judge(checked_count *c,
                         const analysed *result,
                         const fm_truth *truth,
                         app_err *err);

/** What may be kept, and after TAKING_COUNTED shown; NULL before it is counted. Borrowed,
 *  valid until checked_count_free. */
const check_view *checked_count_view(const checked_count *c);

/** Free; NULL is allowed. */
void checked_count_free(checked_count *c);

#endif
