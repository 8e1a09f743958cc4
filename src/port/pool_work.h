/**
 * @file pool_work.h
 * What a batch's pool of workers calls for one file, and what it is told.
 */
#ifndef PORT_POOL_WORK_H
#define PORT_POOL_WORK_H

#include "src/base/error.h"
#include "src/document/row.h"

/** How one file ended. */
typedef enum pool_verdict {
    POOL_FINE,  /**< its rows were given out */
    POOL_ERROR, /**< the file is to blame: err becomes its one row */
    POOL_STOP   /**< the run is to end with err: an output cannot be written, ... */
} pool_verdict;

/** Takes the rows of one file. */
typedef struct pool_emit {
    void *context;
    /**
     * Give out a row; file, schema and engine are filled in.
     *
     * @return false when nobody takes it any more: give up
     */
    bool (*row)(void *context, const row *r);
} pool_emit;

/** What is done with one file. Runs in a worker process. */
typedef pool_verdict (*pool_work)(void *context,
                                  const char *path,
                                  const pool_emit *emit,
                                  app_err *err);

#endif
