#include "src/page/page_jobs.h"

#include <pthread.h>
#include <signal.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <sys/eventfd.h>
#include <unistd.h>

enum {
    JOBS_MOST = 64 /* a power of two: the counts below may wrap */
};

struct page_jobs {
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t more;
    int fd;
    page_job jobs[JOBS_MOST];
    unsigned finished, ran, added; /* so far, each at most the next */
    bool ending;
};

static void *work(void *context)
{
    page_jobs *const j = context;
    (void)pthread_mutex_lock(&j->lock);
    while (!j->ending) {
        if (j->ran == j->added) {
            (void)pthread_cond_wait(&j->more, &j->lock);
            continue;
        }
        const page_job next = j->jobs[j->ran % JOBS_MOST];
        (void)pthread_mutex_unlock(&j->lock);
        next.run(next.context);
        (void)pthread_mutex_lock(&j->lock);
        j->ran++;
        (void)eventfd_write(j->fd, 1);
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
    j->fd = eventfd(0, EFD_NONBLOCK | EFD_CLOEXEC);
    (void)sigfillset(&all); /* Ctrl-C is the main thread's */
    (void)pthread_sigmask(SIG_SETMASK, &all, &before);
    const bool ok = j->fd >= 0 && pthread_create(&j->thread, NULL, work, j) == 0;
    (void)pthread_sigmask(SIG_SETMASK, &before, NULL);
    if (!ok) {
        (void)close(j->fd);
        free(j);
        return NULL;
    }
    return j;
}

/* With the lock held: up to that one. */
static void finish(page_jobs *j, const unsigned *until)
{
    while (j->finished != *until) {
        const page_job job = j->jobs[j->finished++ % JOBS_MOST];
        (void)pthread_mutex_unlock(&j->lock);
        if (job.done != NULL) {
            job.done(job.context);
        }
        (void)pthread_mutex_lock(&j->lock);
    }
}

void page_jobs_finish(page_jobs *j)
{
    uint64_t n = 0;
    if (eventfd_read(j->fd, &n) != 0) {
        return; /* nothing has run since */
    }
    (void)pthread_mutex_lock(&j->lock);
    finish(j, &j->ran);
    (void)pthread_mutex_unlock(&j->lock);
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
    (void)pthread_mutex_lock(&j->lock);
    finish(j, &j->added);
    (void)pthread_mutex_unlock(&j->lock);
    (void)pthread_cond_destroy(&j->more);
    (void)pthread_mutex_destroy(&j->lock);
    (void)close(j->fd);
    free(j);
}

bool page_jobs_add(page_jobs *j, page_job job)
{
    (void)pthread_mutex_lock(&j->lock);
    const bool ok = !j->ending && j->added - j->finished < JOBS_MOST;
    if (ok) {
        j->jobs[j->added++ % JOBS_MOST] = job;
        (void)pthread_cond_signal(&j->more);
    }
    (void)pthread_mutex_unlock(&j->lock);
    return ok;
}

int page_jobs_fd(const page_jobs *j)
{
    return j != NULL ? j->fd : -1;
}
