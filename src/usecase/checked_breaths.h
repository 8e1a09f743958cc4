/**
 * @file checked_breaths.h
 * The respirations of a checked count: what the learner entered or tapped, compared with
 * the count of the breath's window. Part of checked_count; not for others.
 */
#ifndef USECASE_CHECKED_BREATHS_H
#define USECASE_CHECKED_BREATHS_H

#include "dsp/fullminute_compose.h"
#include "src/document/check_view.h"
#include "src/document/times_file.h"
#include "src/usecase/analyse_file.h"

/** What the learner did. */
typedef struct breaths_request {
    bool asked; /**< respirations are to be compared; false: the rest means nothing */
    bool entered_given; /**< false: the number of taps is the count */
    int entered;        /**< raw count, 0 up */
    int seconds;        /**< 30 or 60 */
    fm_breath_method method;
    const char *taps_path; /**< file of taps; NULL: none */
    times given_taps;      /**< taps in its place, borrowed; n 0: not tapped */
    bool tolerance_set;
    double tolerance_per_min; /**< > 0, when set */
} breaths_request;

/** What belongs to it while it is made and shown. Start it as {0}. */
typedef struct checked_breaths {
    times tapped;
    fm_comparison comparison;
    fm_reference_range range;
    fm_breath_pause pauses[FM_BREATH_PAUSES_MAX];
    check_breaths shown;
} checked_breaths;

/**
 * Take what the learner brought, before anything is analysed.
 *
 * @return false with err: APP_USAGE (entered too fast for anybody), APP_UNREADABLE
 */
bool checked_breaths_enter(checked_breaths *c,
                           const breaths_request *request,
                           app_err *err);

/**
 * Compare.
 *
 * @param age_months  NaN: not known
 * @param truth       NULL: judge against the device
 * @return false with err: APP_USAGE (nothing tapped in the window)
 */
bool checked_breaths_compare(checked_breaths *c,
                             const breaths_request *request,
                             const analysed *result,
                             double age_months,
                             const fm_truth *truth,
                             app_err *err);

/**
 * The learner's taps, of the pulse or of respirations: those of a file, or a copy of those
 * given where path is NULL.
 *
 * @return false with err: APP_UNREADABLE (the file), APP_FAILED
 */
bool checked_taps_take(const char *path, const times *given, times *to, app_err *err);

/** Free what is inside. */
void checked_breaths_free(checked_breaths *c);

#endif
