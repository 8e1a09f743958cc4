/* The page's handlers and the parts of a turn of its loop, timed: linked round the program's own
 * (--wrap, tests/page/CMakeLists.txt) into fullminute_timed and fullminute_timed_stepped, for
 * tests/page/handlers.sh. Nothing of it is in the program.
 *
 * At its end the program adds a line for each to the file that HANDLERS names:
 * name, thread, calls, and the longest of each of struct durations. */
#define _GNU_SOURCE /* RUSAGE_THREAD. NOLINT(bugprone-reserved-identifier) */
#include "src/page/page_private.h"

#include <fcntl.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>
#include <unistd.h>

enum {
    NAMES_MOST = 80,
    NAME_BYTES = 48
};

/* ms. What a busy machine adds is in the first alone. */
struct durations {
    double wall;
    double held; /* without what was spent waiting for a processor */
    double cpu;
    long blocked; /* times that it gave the processor up: a disk, a device, a lock */
};

static struct {
    char name[NAME_BYTES];
    const char *thread;
    long calls;
    struct durations longest;
} all[NAMES_MOST];
static int n_all;
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;

static double clock_ms(clockid_t clock)
{
    struct timespec t;
    (void)clock_gettime(clock, &t);
    return 1e3 * (double)t.tv_sec + 1e-6 * (double)t.tv_nsec;
}

/* Linux kernel documentation, scheduler/sched-stats: the second number of schedstat is the time
 * spent waiting on a run queue, ns. */
static double waited_ms(void)
{
    char text[96] = "";
    const int fd = open("/proc/thread-self/schedstat", O_RDONLY | O_CLOEXEC);
    const ssize_t n = fd >= 0 ? read(fd, text, sizeof text - 1) : 0;
    text[n > 0 ? n : 0] = '\0';
    if (fd >= 0) {
        (void)close(fd);
    }
    const char *const second = strchr(text, ' ');
    return second != NULL ? 1e-6 * strtod(second, NULL) : 0.0;
}

static struct durations now(void)
{
    const double waited = waited_ms();
    const double wall = clock_ms(CLOCK_MONOTONIC);
    struct rusage of;
    (void)getrusage(RUSAGE_THREAD, &of);
    return (struct durations){wall, wall - waited, clock_ms(CLOCK_THREAD_CPUTIME_ID),
                              of.ru_nvcsw};
}

static void say_all(void)
{
    const char *const path = getenv("HANDLERS");
    FILE *const f = path != NULL ? fopen(path, "a") : NULL;
    for (int i = 0; f != NULL && i < n_all; i++) {
        const struct durations *const d = &all[i].longest;
        (void)fprintf(f, "%s\t%s\t%ld\t%.3f\t%.3f\t%.3f\n", all[i].name, all[i].thread,
                      all[i].calls, d->wall, d->held, d->cpu);
    }
    if (f != NULL) {
        (void)fclose(f);
    }
}

static void longer(double *kept, double value)
{
    *kept = value > *kept ? value : *kept;
}

static void note(const char *name, page_thread on, const struct durations *from)
{
    static const char *const THREADS[] = {[PAGE_AT_ONCE] = "server",
                                          [PAGE_SITTING] = "sitting",
                                          [PAGE_LONG] = "long work"};
    const struct durations to = now();
    int i = 0;
    (void)pthread_mutex_lock(&lock);
    while (i < n_all && strcmp(all[i].name, name) != 0) {
        i++;
    }
    if (i == NAMES_MOST) {
        abort(); /* one would be left out */
    }
    if (i == n_all) {
        if (n_all++ == 0) {
            (void)atexit(say_all);
        }
        (void)snprintf(all[i].name, sizeof all[i].name, "%s", name);
        all[i].thread = THREADS[on];
    }
    all[i].calls++;
    longer(&all[i].longest.wall, to.wall - from->wall);
    longer(&all[i].longest.cpu, to.cpu - from->cpu);
    /* What never blocked held nobody up for longer than it computed: the rest is the machine's
     * (another guest of it, a quota), which the scheduler does not count as waiting. */
    longer(&all[i].longest.held,
           to.blocked > from->blocked ? to.held - from->held : to.cpu - from->cpu);
    (void)pthread_mutex_unlock(&lock);
}

/* A handler that serves several routes is named by each. */
static void note_route(const page_route *route, const struct durations *from)
{
    char name[NAME_BYTES];
    (void)snprintf(name, sizeof name, "%s %s", route->method, route->path);
    note(name, route->on, from);
}

#define X(name)                                                                        \
    void __real_##name(page_request *r);                                               \
    void __wrap_##name(page_request *r);                                               \
    void __wrap_##name(page_request *r)                                                \
    {                                                                                  \
        const page_route *const route = r->route;                                      \
        const struct durations from = now();                                           \
        __real_##name(r);                                                              \
        note_route(route, &from);                                                      \
    }
PAGE_HANDLERS(X)
#undef X

/* ---- The parts of a turn ---- */

bool __real_page_live_step(page_live *l, double now_s);
bool __wrap_page_live_step(page_live *l, double now_s);
bool __wrap_page_live_step(page_live *l, double now_s)
{
    const struct durations from = now();
    const bool open = __real_page_live_step(l, now_s);
    note("turn: the live sitting", PAGE_AT_ONCE, &from);
    return open;
}

void __real_page_shared_step(page_shared *c, double now_s);
void __wrap_page_shared_step(page_shared *c, double now_s);
void __wrap_page_shared_step(page_shared *c, double now_s)
{
    const struct durations from = now();
    __real_page_shared_step(c, now_s);
    note("turn: the shared minute", PAGE_AT_ONCE, &from);
}

void __real_page_stream_beat(page *p, double now_s);
void __wrap_page_stream_beat(page *p, double now_s);
void __wrap_page_stream_beat(page *p, double now_s)
{
    const struct durations from = now();
    __real_page_stream_beat(p, now_s);
    note("turn: the streams", PAGE_AT_ONCE, &from);
}

enum MHD_Result __real_MHD_run(struct MHD_Daemon *daemon);
enum MHD_Result __wrap_MHD_run(struct MHD_Daemon *daemon);
enum MHD_Result __wrap_MHD_run(struct MHD_Daemon *daemon)
{
    const struct durations from = now();
    const enum MHD_Result result = __real_MHD_run(daemon);
    note("turn: all requests at hand", PAGE_AT_ONCE, &from);
    return result;
}

void __real_page_jobs_finish(page_jobs *j);
void __wrap_page_jobs_finish(page_jobs *j);
void __wrap_page_jobs_finish(page_jobs *j)
{
    const struct durations from = now();
    __real_page_jobs_finish(j);
    note("turn: what jobs leave to be done", PAGE_AT_ONCE, &from);
}
