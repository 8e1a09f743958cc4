/**
 * @file logbook_views.h
 * The logbook as a page shows it: rows, progress with its plots, and whole reports.
 */
#ifndef USECASE_LOGBOOK_VIEWS_H
#define USECASE_LOGBOOK_VIEWS_H

#include "src/base/bytes.h"
#include "src/base/error.h"

#include <jansson.h>
#include <stdint.h>

/**
 * {path, learners [], learner, rows [{number, utc, learner, charted, second, verdict}],
 *  progress {...}, words, differences (SVG), over_time (SVG)}. Without a logbook: no rows.
 *
 * @param path     NULL: the person's own
 * @param learner  NULL or "": everybody
 */
json_t *logbook_views_list(const char *path, const char *learner, app_err *err);

/** A whole document of HTML: of a row, or of a learner where number is 0. */
bool logbook_views_report(
    const char *path, int64_t number, const char *learner, bytes *out, app_err *err);

/** The name last used, from the person's settings; to be freed; NULL: none. */
char *logbook_views_learner(void);

#endif
