/**
 * @file pool.h
 * Worker processes, one file each at a time, from one queue. A file that crashes its
 * worker, or that nothing comes of within a time, costs its own row alone: the worker is
 * replaced and the row says so.
 */
#ifndef BATCH_POOL_H
#define BATCH_POOL_H

#include "src/batch/ledger.h"
#include "src/batch/wire.h"
#include "src/port/pool_work.h"

enum {
    POOL_WORKERS_MAX = 1024
};

typedef struct pool_config {
    int workers;         /**< 1..POOL_WORKERS_MAX */
    double time_limit_s; /**< without a sign of life from a worker, > 0 */
    bool beside;         /**< the sitting beside a file belongs to what it is */
    pool_work work;
    void *work_context; /**< as it is when a worker is started */
} pool_config;

/** Where jobs come from and rows go. All run in the calling process; false or -1 with err
 *  ends the run. */
typedef struct pool_hooks {
    void *context;
    int (*next)(void *context, ledger_job *out, app_err *err); /**< as ledger_next */
    bool (*rows)(
        void *context, const ledger_job *job, const char *text, size_t n, app_err *err);
    bool (*restart)(void *context, const ledger_job *job, app_err *err);
    bool (*done)(void *context,
                 const ledger_job *job,
                 const wire_outcome *outcome,
                 app_err *err);
    bool (*tick)(void *context, app_err *err); /**< a few times a second */
} pool_hooks;

/**
 * Go through all jobs. No worker is left when it returns.
 *
 * @return false with err: what a hook or POOL_STOP said, APP_INTERRUPTED, APP_FAILED (no
 *         process could be started)
 */
bool pool_run(const pool_config *config, const pool_hooks *hooks, app_err *err);

/** Processors this process may use, at least 1. */
int pool_processors(void);

/**
 * The row of a file that could not be counted, with its line end.
 *
 * @param path  any bytes
 * @param code  for reason_code
 */
void pool_error_row(const char *path, const char *code, const char *reason, bytes *to);

/** The worker's side: takes jobs from a socket, one after the other, and answers with rows.
 *  Serve until the other end is gone, then end the process. */
_Noreturn void worker_serve(int fd, const pool_config *config);

#endif
