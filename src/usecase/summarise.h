/**
 * @file summarise.h
 * Gathers the rows of a batch into a summary, one after the other: memory grows by a few
 * numbers a row.
 */
#ifndef USECASE_SUMMARISE_H
#define USECASE_SUMMARISE_H

#include "src/base/error.h"
#include "src/document/summary.h"

/** What is asked. */
typedef struct summarise_request {
    const char *const
        *paths; /**< files of rows, CSV or JSON Lines; "-": standard input */
    int n_paths;
    const char *truth; /**< as summary_truth_open takes it; NULL: none */
    bool
        breath_same; /**< respirations were counted in the pulse's window in any case */
} summarise_request;

/**
 * Gather.
 *
 * @param[out] out  filled; empty on failure; for summary_free
 * @return false with err: APP_UNREADABLE names the file and the record
 */
bool summarise(const summarise_request *request, summary *out, app_err *err);

#endif
