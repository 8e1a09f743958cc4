/**
 * @file progress_make.h
 * From the logbook's rows to what is shown of a learner's progress.
 */
#ifndef USECASE_PROGRESS_MAKE_H
#define USECASE_PROGRESS_MAKE_H

#include "src/base/error.h"
#include "src/document/progress.h"
#include "src/port/logbook.h"

/**
 * Read and sum up.
 *
 * @param learner   NULL: everybody's rows, without goal and signature
 * @param within    tolerance for the shares, per minute; NaN: the goal's, or the example
 * @param[out] out  to be freed with progress_free, also after a failure
 * @return false with err as logbook_each, or APP_USAGE: nobody of that name
 */
bool progress_make(
    logbook *l, const char *learner, double within, progress *out, app_err *err);

#endif
