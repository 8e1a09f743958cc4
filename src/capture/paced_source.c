#include "src/capture/source.h"

#include "src/port/steady.h"

#include <math.h>
#include <stdatomic.h>
#include <stdlib.h>

enum {
    BLOCK_FRAMES = 4096,
    CHANNELS_MAX = 8
};

static const double WAKE_S = 0.01;

typedef struct paced {
    source base; /* first: a source is a paced */
    capture_reader reader;
    steady_task *task; /* NULL: not started */
    double start_s;
    int64_t given;
    atomic_bool stop;
    atomic_bool ended;
    float *block;
} paced;

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

static bool go_on(void *context)
{
    paced *const p = context;
    const double since_s = steady_now_s() - p->start_s;
    const int64_t due = (int64_t)floor(since_s * p->base.rate_hz);
    int64_t left = due - p->given;
    const bool more = give(p, &left);
    p->given = due - left;
    if (!more) {
        atomic_store(&p->ended, true);
    }
    return more;
}

static bool paced_start(source *s, app_err *err)
{
    paced *const p = (paced *)s;
    p->start_s = steady_now_s();
    p->task = steady_task_start(go_on, p, WAKE_S);
    return p->task != NULL || app_err_set(err, APP_FAILED, "cannot start a thread");
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
    steady_task_stop(p->task);
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
        (void)app_err_memory(err);
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
