/**
 * @file steady.h
 * Steady time (src/port/steady.h), and waiting by it on another thread or on descriptors.
 */
#ifndef HOST_STEADY_H
#define HOST_STEADY_H

#include "src/port/steady.h"

#include <poll.h>
#include <pthread.h>

/**
 * Wait on `came` for so long at most, as pthread_cond_wait does; `came` must have been made
 * by steady_cond_init.
 *
 * @param lock  held by the caller
 */
void steady_wait_for(pthread_cond_t *came, pthread_mutex_t *lock, double seconds);

/** @return false when the system has no room for it */
bool steady_cond_init(pthread_cond_t *came);

/** poll(2) for so long at most, rounded up to milliseconds. */
int steady_poll(struct pollfd *fds, nfds_t n, double seconds);

#endif
