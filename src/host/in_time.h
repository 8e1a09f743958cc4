/**
 * @file in_time.h
 * A call that may hang for ever, on a thread of its own and given so much time.
 */
#ifndef HOST_IN_TIME_H
#define HOST_IN_TIME_H

#include <stdbool.h>

/**
 * Call work(context), and wait for it for most_s at the most. Real time: a clock that a
 * test steps does not hurry a sound server.
 *
 * @return false: it could not be started, or has not returned and is left behind, so that
 *         what context points to must stay
 */
bool in_time(void (*work)(void *context), void *context, double most_s);

#endif
