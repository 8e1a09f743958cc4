/**
 * @file reveal.h
 * The end of a checked count: everything that was entered is there, so the recording is
 * counted and both are shown. Entries go into the logbook before anything is analysed.
 * Also the end of an open count, which has no entries.
 */
#ifndef USECASE_REVEAL_H
#define USECASE_REVEAL_H

#include "dsp/compare/compare.h"
#include "src/base/error.h"
#include "src/document/own_count.h"
#include "src/document/times_file.h"

#include <jansson.h>
#include <stdint.h>

enum {
    REVEAL_TEXT_BYTES = 64,
    REVEAL_PATH_BYTES = 1024
};

/** What was entered. Plain value; the times are borrowed. */
typedef struct reveal_request {
    char path[REVEAL_PATH_BYTES]; /**< the recording */
    bool from_sitting;            /**< entries and taps are in NAME.sitting.json */
    bool pulse;                   /**< else: what was entered */
    own_count own;
    int seconds;
    times taps;
    bool breath;
    own_count own_breaths;
    int breath_seconds;
    times breath_taps;
    fm_site site;
    fm_breath_method method;
    double age_months;               /**< NaN: not given */
    double tolerance_per_min;        /**< NaN: not set */
    char learner[REVEAL_TEXT_BYTES]; /**< "": not into the logbook */
    const char *logbook;             /**< NULL: the person's own */
    const char *name;                /**< to be shown; NULL: the path's */
} reveal_request;

/** Nothing entered. */
reveal_request reveal_request_none(const char *path);

/**
 * Count and compare.
 *
 * @param[out] row  the logbook's row, where the entry is stored; 0: none. Also where the
 *                  count fails after it
 * @return {check, first, text, hints, picture, strip, row, note, name, second_examiner}: the
 *         document, its
 *         words in the order they are read (src/document/first_view.h) and as one text, the
 *         codes of their hints (src/base/hint.h), two pictures (SVG or null), the
 *         logbook's row (0: none), what is to be said about it, what is shown as the name and
 *         what two examiners came to ("" there were not two); NULL with err, and then nothing of the count is known
 */
json_t *reveal_make(const reveal_request *request, int64_t *row, app_err *err);

/** An open count's end: {count, text, picture, name}; NULL with err. */
json_t *reveal_open_count(const char *path, app_err *err);

/** Whether a name may stand in the logbook, or is ""; before anything is recorded. */
bool reveal_check_learner(const char *learner, app_err *err);

#endif
