/**
 * @file steady.h
 * The program's steady time, waiting on it, and work that is done again and again. What a
 * sitting does by the clock it does through here, so that a test can hand in a clock that
 * it steps (tests/stepped/stepped.c defines these functions a second time and is linked in
 * their place): a live minute is then a matter of milliseconds.
 */
#ifndef PORT_STEADY_H
#define PORT_STEADY_H

#include <stdbool.h>

/** Now of CLOCK_MONOTONIC, s. Any thread. */
double steady_now_s(void);

/** Let that much time go by; a signal may end it early. @param seconds 0.. */
void steady_wait_s(double seconds);

/** One round of a work. @return false: it is over, and is not called again */
typedef bool (*steady_work)(void *context);

/** Opaque; see steady_task_stop. */
typedef struct steady_task steady_task;

/**
 * Do a work now and `every_s` after each of its rounds, on a thread of its own.
 *
 * @return NULL: no thread, or no memory
 */
steady_task *steady_task_start(steady_work work, void *context, double every_s);

/** Ends it: no round is under way any more when this returns. NULL is allowed. */
void steady_task_stop(steady_task *t);

#endif
