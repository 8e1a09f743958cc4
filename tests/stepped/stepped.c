#include "tests/stepped/stepped.h"

#include "src/host/steady.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

/* Real time, so that other threads and programs are not crowded out while time stands. */
static const long NAP_NS = 1000000;
static const double BEGIN_S = 1000.0;

struct steady_task {
    steady_work work;
    void *context;
    double every_s, due_s;
    bool over;
    steady_task *next;
};

static pthread_mutex_t guard = PTHREAD_MUTEX_INITIALIZER;
static double now_s = 1000.0;
static steady_task *tasks;
/* Of the tasks, and of who lets time go on; a work may wait, too. */
static pthread_mutex_t turn;
static pthread_once_t turn_made = PTHREAD_ONCE_INIT;

double steady_now_s(void)
{
    (void)pthread_mutex_lock(&guard);
    const double t = now_s;
    (void)pthread_mutex_unlock(&guard);
    return t;
}

static void make_turn(void)
{
    pthread_mutexattr_t how;
    (void)pthread_mutexattr_init(&how);
    (void)pthread_mutexattr_settype(&how, PTHREAD_MUTEX_RECURSIVE);
    (void)pthread_mutex_init(&turn, &how);
    (void)pthread_mutexattr_destroy(&how);
}

static void take_turn(void)
{
    (void)pthread_once(&turn_made, make_turn);
    (void)pthread_mutex_lock(&turn);
}

static void set_now(double t)
{
    (void)pthread_mutex_lock(&guard);
    now_s = t;
    (void)pthread_mutex_unlock(&guard);
}

static void nap(void)
{
    (void)nanosleep(&(struct timespec){.tv_nsec = NAP_NS}, NULL);
}

/* How far it may go: what the file says; a file that is not there says 0. */
static double most_s(void)
{
    const char *const path = getenv("STEPPED_CLOCK");
    double seconds = 0.0;
    if (path == NULL) {
        return (double)INFINITY;
    }
    char line[32];
    FILE *const f = fopen(path, "r");
    if (f != NULL) {
        seconds = fgets(line, sizeof line, f) != NULL ? strtod(line, NULL) : 0.0;
        (void)fclose(f);
    }
    return BEGIN_S + seconds;
}

static steady_task *next_due(double until_s)
{
    steady_task *first = NULL;
    for (steady_task *t = tasks; t != NULL; t = t->next) {
        if (!t->over && t->due_s <= until_s &&
            (first == NULL || t->due_s < first->due_s)) {
            first = t;
        }
    }
    return first;
}

void stepped_go(double seconds)
{
    const double most = most_s();
    if (steady_now_s() + seconds > most) {
        nap();
    }
    take_turn();
    const double now = steady_now_s();
    const double until_s = fmin(now + seconds, fmax(now, most));
    for (steady_task *t = next_due(until_s); t != NULL; t = next_due(until_s)) {
        set_now(fmax(steady_now_s(), t->due_s));
        t->due_s += t->every_s;
        t->over = !t->work(t->context);
    }
    set_now(until_s);
    (void)pthread_mutex_unlock(&turn);
}

void stepped_stand(double seconds)
{
    const double until_s = steady_now_s() + seconds;
    for (steady_task *t = tasks; t != NULL; t = t->next) {
        t->due_s = fmax(t->due_s, until_s);
    }
    set_now(until_s);
}

void steady_wait_s(double seconds)
{
    stepped_go(seconds);
}

bool steady_cond_init(pthread_cond_t *came)
{
    return pthread_cond_init(came, NULL) == 0;
}

/* Another thread may be about to say that it came. */
void steady_wait_for(pthread_cond_t *came, pthread_mutex_t *lock, double seconds)
{
    struct timespec until;
    (void)clock_gettime(CLOCK_REALTIME, &until);
    until.tv_nsec += NAP_NS;
    until.tv_sec += until.tv_nsec / 1000000000L;
    until.tv_nsec %= 1000000000L;
    if (pthread_cond_timedwait(came, lock, &until) == ETIMEDOUT) {
        (void)pthread_mutex_unlock(lock);
        stepped_go(seconds);
        (void)pthread_mutex_lock(lock);
    }
}

int steady_poll(struct pollfd *fds, nfds_t n, double seconds)
{
    const int ready = poll(fds, n, 1);
    if (ready == 0) {
        stepped_go(seconds);
    }
    return ready;
}

steady_task *steady_task_start(steady_work work, void *context, double every_s)
{
    steady_task *const t = calloc(1, sizeof *t);
    take_turn();
    if (t != NULL) {
        *t = (steady_task){.work = work,
                           .context = context,
                           .every_s = every_s,
                           .due_s = steady_now_s(),
                           .next = tasks};
        tasks = t;
    }
    (void)pthread_mutex_unlock(&turn);
    return t;
}

void steady_task_stop(steady_task *t)
{
    take_turn();
    for (steady_task **at = &tasks; t != NULL && *at != NULL; at = &(*at)->next) {
        if (*at == t) {
            *at = t->next;
            break;
        }
    }
    (void)pthread_mutex_unlock(&turn);
    free(t);
}
