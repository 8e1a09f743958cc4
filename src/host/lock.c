#include "src/port/lock.h"

#include <pthread.h>
#include <stdlib.h>

struct lock {
    pthread_mutex_t held;
};

lock *lock_make(void)
{
    lock *const l = malloc(sizeof *l);
    if (l != NULL) {
        (void)pthread_mutex_init(&l->held, NULL);
    }
    return l;
}

void lock_free(lock *l)
{
    if (l != NULL) {
        (void)pthread_mutex_destroy(&l->held);
    }
    free(l);
}

void lock_take(lock *l)
{
    (void)pthread_mutex_lock(&l->held);
}

void lock_leave(lock *l)
{
    (void)pthread_mutex_unlock(&l->held);
}
