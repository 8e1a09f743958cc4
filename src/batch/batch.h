/**
 * @file batch.h
 * A batch from its paths to its file of rows: lists, looks up what is done already, goes
 * through the rest with all workers, and writes the rows in the order of the files' names.
 * A run that is stopped or killed at any time goes on where it was when it is run again,
 * and ends with the same bytes.
 */
#ifndef BATCH_BATCH_H
#define BATCH_BATCH_H

#include "src/batch/file_list.h"
#include "src/batch/pool.h"
#include "src/document/about.h"

/** What to do. Texts are borrowed for the call. */
typedef struct batch_request {
    const char *const *paths; /**< files and folders */
    int n_paths;
    const char *list; /**< a file that names more, "-" standard input; NULL: none */
    bool list_zero;   /**< its paths end with zero bytes, not with lines */
    const char *match;
    const char *kept_out[4]; /**< folders of our own in a walked one; NULL ends */
    const char *out;         /**< file of rows, or "-" */
    row_format format;
    bool force;
    const char *ledger; /**< NULL: beside out */
    int shard;          /**< 1..shards */
    int shards;         /**< 1: everything */
    bool quiet;         /**< no progress */
    const char
        *options; /**< what the rows depend on, a JSON object: goes into the document
                              beside them */
    const char *outputs; /**< what else is written for a file: with other outputs it is
                              done again; no part of the document */
    pool_config pool;
} batch_request;

/** How it went. */
typedef struct batch_report {
    about about;         /**< what out holds; free it */
    file_list_left left; /**< what walking left out */
    int64_t kept;        /**< files whose rows were there already */
    int64_t done;        /**< files done in this run */
} batch_report;

/**
 * Run it.
 *
 * @param[out] report  about is empty on failure
 * @return false with err: APP_USAGE (out exists; the ledger belongs to something else),
 *         APP_UNREADABLE (a path that was named is not there, no file found, the list
 *         cannot be read, the ledger is damaged), APP_FAILED, APP_INTERRUPTED (how to go
 *         on is in its text)
 */
bool batch_run(const batch_request *request, batch_report *report, app_err *err);

#endif
