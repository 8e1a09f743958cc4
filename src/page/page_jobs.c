#include "src/page/page_jobs.h"

#include <pthread.h>
#include <signal.h>
#include <stddef.h>
#include <stdlib.h>

enum {
    WAITING_MOST = 64
};

struct job {
    void (*run)(void *context);
    void *context;
};

struct page_jobs {
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t more;
    struct job waiting[WAITING_MOST];
    size_t first, n;
    bool ending;
};

static void *work(void *context)
{
    page_jobs *const j = context;
    (void)pthread_mutex_lock(&j->lock);
    while (!j->ending) {
        if (j->n == 0) {
            (void)pthread_cond_wait(&j->more, &j->lock);
            continue;
        }
        const struct job next = j->waiting[j->first];
        j->first = (j->first + 1) % WAITING_MOST;
        j->n--;
        (void)pthread_mutex_unlock(&j->lock);
        next.run(next.context);
        (void)pthread_mutex_lock(&j->lock);
    }
    (void)pthread_mutex_unlock(&j->lock);
    return NULL;
}

page_jobs *page_jobs_create(void)
{
    page_jobs *const j = calloc(1, sizeof *j);
    sigset_t all;
    sigset_t before;
    if (j == NULL) {
        return NULL;
    }
    (void)pthread_mutex_init(&j->lock, NULL);
    (void)pthread_cond_init(&j->more, NULL);
    (void)sigfillset(&all); /* Ctrl-C is the main thread's */
    (void)pthread_sigmask(SIG_SETMASK, &all, &before);
    const bool ok = pthread_create(&j->thread, NULL, work, j) == 0;
    (void)pthread_sigmask(SIG_SETMASK, &before, NULL);
    if (!ok) {
        free(j);
        return NULL;
    }
    return j;
}

void page_jobs_destroy(page_jobs *j)
{
    if (j == NULL) {
        return;
    }
    (void)pthread_mutex_lock(&j->lock);
    j->ending = true;
    (void)pthread_cond_signal(&j->more);
    (void)pthread_mutex_unlock(&j->lock);
    (void)pthread_join(j->thread, NULL);
    (void)pthread_cond_destroy(&j->more);
    (void)pthread_mutex_destroy(&j->lock);
    free(j);
}

bool page_jobs_add(page_jobs *j, void (*run)(void *context), void *context)
{
    (void)pthread_mutex_lock(&j->lock);
    const bool ok = j->n < WAITING_MOST;
    if (ok) {
        j->waiting[(j->first + j->n) % WAITING_MOST] = (struct job){run, context};
        j->n++;
        (void)pthread_cond_signal(&j->more);
    }
    (void)pthread_mutex_unlock(&j->lock);
    return ok;
}
