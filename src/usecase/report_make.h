/**
 * @file report_make.h
 * From the logbook to a report's page: a sitting is compared again from its recording,
 * where that is still there; a learner's rows are summed up.
 */
#ifndef USECASE_REPORT_MAKE_H
#define USECASE_REPORT_MAKE_H

#include "src/base/error.h"
#include "src/port/logbook.h"

#include <stddef.h>

enum {
    REPORT_RANGES_BYTES = 1024
};

/**
 * What is usual at that age, with who says so, and to follow local protocol: a few
 * sentences for the pulse and, where it was counted, for respirations.
 */
const char *report_ranges(const entry *e, char out[REPORT_RANGES_BYTES]);

/** The page of row `number`, to be freed; NULL with err. */
char *report_make_sitting(logbook *l, int64_t number, size_t *n, app_err *err);

/** The page of a learner, NULL: of everybody. */
char *report_make_learner(logbook *l, const char *learner, size_t *n, app_err *err);

#endif
