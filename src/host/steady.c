#include "src/host/steady.h"

#include <math.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <time.h>

struct steady_task {
    steady_work work;
    void *context;
    double every_s;
    pthread_t thread;
    atomic_bool stop;
};

static struct timespec timespec_of(double seconds)
{
    const double whole_s = floor(seconds);
    return (struct timespec){.tv_sec = (time_t)whole_s,
                             .tv_nsec = (long)((seconds - whole_s) * 1e9)};
}

double steady_now_s(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

void steady_wait_s(double seconds)
{
    const struct timespec wait = timespec_of(seconds);
    (void)nanosleep(&wait, NULL);
}

bool steady_cond_init(pthread_cond_t *came)
{
    pthread_condattr_t monotonic;
    if (pthread_condattr_init(&monotonic) != 0) {
        return false;
    }
    (void)pthread_condattr_setclock(&monotonic, CLOCK_MONOTONIC);
    const bool ok = pthread_cond_init(came, &monotonic) == 0;
    (void)pthread_condattr_destroy(&monotonic);
    return ok;
}

void steady_wait_for(pthread_cond_t *came, pthread_mutex_t *lock, double seconds)
{
    const struct timespec until = timespec_of(steady_now_s() + seconds);
    (void)pthread_cond_timedwait(came, lock, &until);
}

int steady_poll(struct pollfd *fds, nfds_t n, double seconds)
{
    return poll(fds, n, (int)ceil(1e3 * seconds));
}

static void *run(void *context)
{
    steady_task *const t = context;
    const struct timespec wake = timespec_of(t->every_s);
    while (!atomic_load(&t->stop) && t->work(t->context)) {
        (void)nanosleep(&wake, NULL);
    }
    return NULL;
}

steady_task *steady_task_start(steady_work work, void *context, double every_s)
{
    steady_task *const t = calloc(1, sizeof *t);
    if (t == NULL) {
        return NULL;
    }
    t->work = work;
    t->context = context;
    t->every_s = every_s;
    atomic_init(&t->stop, false);
    if (pthread_create(&t->thread, NULL, run, t) != 0) {
        free(t);
        return NULL;
    }
    return t;
}

void steady_task_stop(steady_task *t)
{
    if (t != NULL) {
        atomic_store(&t->stop, true);
        (void)pthread_join(t->thread, NULL);
        free(t);
    }
}
