/**
 * @file lock.h
 * What two threads touch, one at a time.
 */
#ifndef PORT_LOCK_H
#define PORT_LOCK_H

/** Opaque; see lock_free. */
typedef struct lock lock;

/** @return one that nobody holds; NULL without memory */
lock *lock_make(void);

/** Nobody may hold it; NULL is allowed. */
void lock_free(lock *l);

/** Wait until nobody else holds it, and hold it. Not twice on one thread. */
void lock_take(lock *l);

/** Let go of it. */
void lock_leave(lock *l);

#endif
