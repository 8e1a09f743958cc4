/**
 * @file worker.h
 * The worker's side of the pool: takes jobs from a socket, one after the other, and
 * answers with rows.
 */
#ifndef BATCH_WORKER_H
#define BATCH_WORKER_H

#include "src/batch/pool.h"

/** Serve until the other end is gone, then end the process. */
_Noreturn void worker_serve(int fd, const pool_config *config);

#endif
