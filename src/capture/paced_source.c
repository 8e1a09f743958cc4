#include "src/capture/paced_source.h"

#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <time.h>

enum {
    BLOCK_FRAMES = 4096,
    WAKE_NS = 10000000,
    CHANNELS_MAX = 8
};

typedef struct paced {
    source base; /* first: a source is a paced */
    capture_reader reader;
    pthread_t thread;
    bool started;
    atomic_bool stop;
    atomic_bool ended;
    float *block;
} paced;

static double now_s(void)
{
    struct timespec t;
    (void)clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* Give up to *due frames, as many as there is room for: a reader loses nothing. What is
 * left stays in *due. False at the end of the reader. */
static bool give(paced *p, int64_t *due)
{
    while (*due > 0 && !atomic_load(&p->stop)) {
        const size_t room = ring_room(p->base.r);
        size_t want = *due < BLOCK_FRAMES ? (size_t)*due : BLOCK_FRAMES;
        want = want < room ? want : room;
        if (want == 0) {
            break;
        }
        const size_t got = p->reader.read(p->reader.context, p->block, want);
        if (got > 0) {
            (void)ring_write(p->base.r, p->block, got, 0);
        }
        if (got < want) {
            return false;
        }
        *due -= (int64_t)got;
    }
    return true;
}

static void *run(void *context)
{
    paced *const p = context;
    const double start_s = now_s();
    int64_t given = 0;
    bool more = true;
    while (more && !atomic_load(&p->stop)) {
        const struct timespec wake = {.tv_nsec = WAKE_NS};
        (void)nanosleep(&wake, NULL);
        const int64_t due = (int64_t)floor((now_s() - start_s) * p->base.rate_hz);
        int64_t left = due - given;
        more = give(p, &left);
        given = due - left;
    }
    atomic_store(&p->ended, true);
    return NULL;
}

static bool paced_start(source *s, app_err *err)
{
    paced *const p = (paced *)s;
    p->started = pthread_create(&p->thread, NULL, run, p) == 0;
    return p->started || app_err_set(err, APP_FAILED, "cannot start a thread");
}

static bool paced_finished(source *s)
{
    paced *const p = (paced *)s;
    return atomic_load(&p->ended);
}

static void paced_close(source *s)
{
    paced *const p = (paced *)s;
    atomic_store(&p->stop, true);
    if (p->started) {
        (void)pthread_join(p->thread, NULL);
    }
    free(p->block);
    free(p);
}

static double paced_load(source *s)
{
    (void)s;
    return 0.0;
}

source *paced_source_open(const capture_reader *reader, app_err *err)
{
    if (reader->read == NULL || reader->channels < 1 ||
        reader->channels > CHANNELS_MAX || !(reader->rate_hz >= 1000.0) ||
        !(reader->rate_hz <= 192000.0)) {
        (void)app_err_set(err, APP_USAGE,
                          "this recording cannot stand in for an input: it must have 1 "
                          "to 8 channels and 1000 to 192000 samples a second");
        return NULL;
    }
    paced *const p = calloc(1, sizeof *p);
    float *const block =
        calloc((size_t)BLOCK_FRAMES * (size_t)reader->channels, sizeof *block);
    if (p == NULL || block == NULL) {
        free(p);
        free(block);
        (void)app_err_set(err, APP_FAILED, "out of memory");
        return NULL;
    }
    p->reader = *reader;
    p->block = block;
    atomic_init(&p->stop, false);
    atomic_init(&p->ended, false);
    p->base = (source){.start = paced_start,
                       .finished = paced_finished,
                       .close = paced_close,
                       .load = paced_load,
                       .rate_hz = reader->rate_hz,
                       .channels = reader->channels,
                       .input_latency_s = 0.0,
                       .monitor_latency_s = (double)NAN,
                       .file = true};
    return &p->base;
}
