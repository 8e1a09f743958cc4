#include "pool.h"

#include <pthread.h>
#include <stdatomic.h>
#include <unistd.h>

enum {
    JOBS_MAX = 256
};

typedef struct pool {
    atomic_size_t next;
    size_t n;
    pool_work *work;
    void *context;
} pool;

static void *take_items(void *argument)
{
    pool *p = argument;
    for (;;) {
        const size_t i = atomic_fetch_add(&p->next, 1);
        if (i >= p->n) {
            return NULL;
        }
        p->work(i, p->context);
    }
}

void pool_run(size_t n, unsigned jobs, pool_work *work, void *context)
{
    pool p = {.n = n, .work = work, .context = context};
    atomic_init(&p.next, 0);
    const long processors = sysconf(_SC_NPROCESSORS_ONLN);
    if (jobs == 0) {
        jobs = processors > 0 ? (unsigned)processors : 1;
    }
    pthread_t threads[JOBS_MAX];
    unsigned started = 0;
    while (started + 1 < jobs && started < JOBS_MAX) {
        if (pthread_create(&threads[started], NULL, take_items, &p) != 0) {
            break;
        }
        started++;
    }
    (void)take_items(&p);
    for (unsigned i = 0; i < started; i++) {
        (void)pthread_join(threads[i], NULL);
    }
}
