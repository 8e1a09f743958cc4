#include "src/host/in_time.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <pthread.h>
#include <stdlib.h>
#include <unistd.h>

typedef struct job {
    void (*work)(void *);
    void *context;
    int done[2]; /* a pipe: a byte comes when the work has returned */
} job;

static void *run(void *given)
{
    const job j = *(job *)given;
    free(given);
    j.work(j.context);
    (void)!write(j.done[1], "", 1);
    return NULL;
}

static bool start(const job *j)
{
    pthread_t thread;
    job *const own = malloc(sizeof *own);
    if (own != NULL) {
        *own = *j;
    }
    if (own == NULL || pthread_create(&thread, NULL, run, own) != 0) {
        free(own);
        return false;
    }
    (void)pthread_detach(thread);
    return true;
}

bool in_time(void (*work)(void *context), void *context, double most_s)
{
    job j = {work, context, {-1, -1}};
    if (pipe(j.done) != 0) {
        return false;
    }
    (void)fcntl(j.done[0], F_SETFD, FD_CLOEXEC);
    (void)fcntl(j.done[1], F_SETFD, FD_CLOEXEC);
    const bool started = start(&j);
    struct pollfd at = {.fd = j.done[0], .events = POLLIN};
    int ready = 0;
    do {
        ready = started ? poll(&at, 1, (int)(1e3 * most_s)) : 0;
    } while (ready < 0 && errno == EINTR);
    char done = 0;
    const bool returned = ready > 0 && read(j.done[0], &done, 1) == 1;
    if (returned || !started) { /* else the pipe stays, for what may still come */
        (void)close(j.done[0]);
        (void)close(j.done[1]);
    }
    return returned;
}
