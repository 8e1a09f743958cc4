/**
 * @file pool.h
 * Runs one function over many items on several threads.
 */
#ifndef ACCURACY_POOL_H
#define ACCURACY_POOL_H

#include <stddef.h>

/** Work on item i; called once for each i, from any thread. */
typedef void pool_work(size_t i, void *context);

/**
 * Calls work for 0..n-1. Results must go to places of their own: the order is free.
 *
 * @param jobs  threads; 0 means one for each processor
 */
void pool_run(size_t n, unsigned jobs, pool_work *work, void *context);

#endif
