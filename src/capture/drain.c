#include "src/capture/drain.h"

#include "src/base/bytes.h"
#include "src/capture/arrival_clock.h"
#include "src/capture/gap_gauge.h"
#include "src/port/steady.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

enum {
    BLOCK_FRAMES = 4096
};

static const double WAKE_S = 0.02;

/* Our choices. The ring outlasts the longest measuring of a gap and a slow disk. An input
   that gives nothing must be noticed within 2 s of the program's start, which leaves 1.5 s
   here; an idle sound server may need up to 2 s for its first block (seen: 0.99 to 1.94 s)
   and is then called stalled for a moment. A pause of a quarter of a second is beyond
   every usual buffer. A shift under 50 ms behind a pause is within what the delay of a
   server itself wanders. What waits for the length of a gap is at most two minutes: a
   program that was stopped is handed all that its input kept for it. */
#define RING_S  8.0
#define FIRST_S 1.5
#define PAUSE_S 0.25
#define SHIFT_S 0.05
#define KEEP_S  120.0

/* Samples that wait until it is known how long the gap before them is, in the order in which
 * the ring gave them. The ring goes on being emptied meanwhile: a program that was stopped
 * and goes on is handed all that came in between at once. */
typedef struct kept_blocks {
    int channels;
    float *frames; /* frames[0..n_frames*channels-1] */
    size_t n_frames, frames_room;
    ring_chunk *chunks; /* chunks[0..n-1]; their frames follow one another */
    size_t n, chunks_room;
} kept_blocks;

struct drain {
    source *s;
    capture_sink sink;
    void *context;
    ring *r;
    double rate_hz;
    int channels;
    float *block;
    steady_task *task; /* NULL: not running */
    /* The drain's thread only. */
    int64_t told;     /* samples handed to the sink, gaps counted in */
    int64_t inserted; /* of them gaps that the ring knows nothing of */
    int64_t seen;     /* frames in the ring at the last look */
    double opened_s;
    double seen_s; /* when the last came */
    gap_gauge gauge;
    bool paused;    /* no sample for PAUSE_S */
    bool measuring; /* of a gap: nothing is handed on until its length is known */
    capture_gap_cause cause;
    kept_blocks kept; /* read, to be handed on behind that gap */
    /* Shared. */
    pthread_mutex_t lock;
    arrival_clock clock;
    capture_state state;
};

/* Add a chunk with its frames; false without memory: k is unchanged. */
static bool kept_blocks_add(kept_blocks *k,
                            const ring_chunk *chunk,
                            const float *frames)
{
    const size_t channels = (size_t)k->channels;
    ring_chunk *const chunks =
        list_with_room(k->chunks, k->n + 1, &k->chunks_room, sizeof *k->chunks);
    if (chunks == NULL) {
        return false;
    }
    k->chunks = chunks;
    float *const all = list_with_room(k->frames, k->n_frames + chunk->n_frames,
                                      &k->frames_room, channels * sizeof *k->frames);
    if (all == NULL) {
        return false;
    }
    k->frames = all;
    memcpy(all + k->n_frames * channels, frames,
           chunk->n_frames * channels * sizeof *frames);
    k->n_frames += chunk->n_frames;
    k->chunks[k->n++] = *chunk;
    return true;
}

static void kept_blocks_free(kept_blocks *k)
{
    free(k->frames);
    free(k->chunks);
    *k = (kept_blocks){.channels = k->channels};
}

static void tell_gap(drain *w, int64_t n, capture_gap_cause cause)
{
    const capture_block gap = {.first_sample = w->told,
                               .n = (size_t)n,
                               .channels = w->channels,
                               .cause = cause};
    w->told += n;
    (void)pthread_mutex_lock(&w->lock);
    w->state.gaps++;
    w->state.gap_s += (double)n / w->rate_hz;
    (void)pthread_mutex_unlock(&w->lock);
    w->sink(w->context, &gap);
}

static void tell_frames(drain *w, const float *frames, size_t n)
{
    const capture_block block = {
        .first_sample = w->told, .n = n, .frames = frames, .channels = w->channels};
    if (n > 0) {
        w->told += (int64_t)n;
        w->sink(w->context, &block);
    }
}

/* What is missing before a chunk that waited. A second overflow on the way was measured
 * together with the first; that something is missing at its place, too, is said by one
 * sample. */
static void tell_gap_of(drain *w, const ring_chunk *c)
{
    if (c->lost_before > 0) {
        tell_gap(w, c->lost_before, CAPTURE_GAP_RING);
    }
    if ((c->flags_before & SOURCE_OVERFLOW) != 0) {
        w->inserted++;
        tell_gap(w, 1, CAPTURE_GAP_OVERFLOW);
    }
}

static void tell_kept(drain *w)
{
    const float *frames = w->kept.frames;
    for (size_t i = 0; i < w->kept.n; i++) {
        const ring_chunk *const c = &w->kept.chunks[i];
        tell_gap_of(w, c);
        tell_frames(w, frames, c->n_frames);
        frames += c->n_frames * (size_t)w->channels;
    }
    kept_blocks_free(&w->kept);
}

/* The length is as well known as it will be: say it, and go on. */
static void end_measuring(drain *w)
{
    int64_t n = gap_gauge_samples(&w->gauge);
    if (w->cause == CAPTURE_GAP_OVERFLOW) {
        n = n > 0 ? n : 1; /* the driver says that something is missing */
    } else if ((double)n < SHIFT_S * w->rate_hz) {
        n = 0;
    }
    w->measuring = false;
    w->inserted += n;
    (void)pthread_mutex_lock(&w->lock);
    arrival_clock_anchor(&w->clock);
    (void)pthread_mutex_unlock(&w->lock);
    if (n > 0) {
        tell_gap(w, n, w->cause);
    }
    tell_kept(w);
}

static void begin_measuring(drain *w,
                            capture_gap_cause cause,
                            double before_s,
                            double t)
{
    w->measuring = true;
    w->cause = cause;
    gap_gauge_begin(&w->gauge, &w->clock, before_s, t);
}

/* Look at how much has come, and note it beside the clock. The number is read first: a
   sample may seem late by that, never early. */
static void look(drain *w)
{
    const int64_t seen = ring_frames_written(w->r);
    const double t = steady_now_s();
    if (seen == w->seen) {
        w->paused = w->paused || (w->seen > 0 && t - w->seen_s > PAUSE_S);
        return;
    }
    if (w->paused || (w->seen > 0 && t - w->seen_s > PAUSE_S)) {
        w->paused = false;
        if (!w->measuring) {
            begin_measuring(w, CAPTURE_GAP_STALL, w->seen_s, t);
        }
    }
    w->seen = seen;
    w->seen_s = t;
    const int64_t samples = seen + w->inserted;
    if (w->measuring) {
        if (gap_gauge_note(&w->gauge, t, samples)) {
            end_measuring(w);
        }
        return;
    }
    (void)pthread_mutex_lock(&w->lock);
    arrival_clock_note(&w->clock, t, samples);
    (void)pthread_mutex_unlock(&w->lock);
}

static void empty_ring(drain *w)
{
    ring_chunk c;
    while (ring_read(w->r, w->block, BLOCK_FRAMES, &c)) {
        if (!w->measuring) {
            if (c.lost_before > 0) {
                tell_gap(w, c.lost_before, CAPTURE_GAP_RING);
            }
            if ((c.flags_before & SOURCE_OVERFLOW) == 0 || w->told == 0) {
                tell_frames(w, w->block, c.n_frames);
                continue;
            }
            begin_measuring(w, CAPTURE_GAP_OVERFLOW, w->seen_s, w->seen_s);
            c.lost_before = 0;
            c.flags_before = 0;
        }
        const bool room = (double)w->kept.n_frames < KEEP_S * w->rate_hz;
        if (!room || !kept_blocks_add(&w->kept, &c, w->block)) {
            end_measuring(w);
            tell_gap_of(w, &c);
            tell_frames(w, w->block, c.n_frames);
        }
    }
}

/* A stalled or starting input may go on; a lost or ended one does not. */
static void judge(drain *w)
{
    const double t = steady_now_s();
    const bool finished = w->s->finished(w->s);
    const double load = w->s->load(w->s);
    const bool emptied = ring_frames_written(w->r) + w->inserted == w->told;
    (void)pthread_mutex_lock(&w->lock);
    capture_state *const s = &w->state;
    s->samples = w->told;
    s->callback_load = load;
    s->since_sample_s = t - (w->seen > 0 ? w->seen_s : w->opened_s);
    if (finished && (!w->s->file || emptied)) {
        s->health = w->s->file ? CAPTURE_ENDED : CAPTURE_LOST;
    } else if (s->since_sample_s >= (w->seen > 0 ? CAPTURE_STALL_S : FIRST_S)) {
        s->health = CAPTURE_STALLED;
    } else {
        s->health = w->seen > 0 ? CAPTURE_RUNNING : CAPTURE_STARTING;
    }
    (void)pthread_mutex_unlock(&w->lock);
}

static bool go_on(void *context)
{
    drain *const w = context;
    look(w);
    empty_ring(w);
    judge(w);
    return true;
}

/* What has come meanwhile. */
static void finish(drain *w)
{
    look(w);
    empty_ring(w);
    if (w->measuring) {
        end_measuring(w); /* an overflow on the way asks for no more waiting */
    }
    judge(w);
    (void)pthread_mutex_lock(&w->lock);
    if (w->state.health != CAPTURE_LOST) {
        w->state.health = CAPTURE_ENDED;
    }
    (void)pthread_mutex_unlock(&w->lock);
}

drain *drain_create(source *s, capture_sink sink, void *context, app_err *err)
{
    drain *const w = calloc(1, sizeof *w);
    if (w == NULL) {
        (void)app_err_memory(err);
        return NULL;
    }
    size_t ring_frames = 1;
    while ((double)ring_frames < RING_S * s->rate_hz) {
        ring_frames *= 2;
    }
    w->kept.channels = s->channels;
    w->r = ring_create(ring_frames, s->channels);
    w->block = calloc((size_t)BLOCK_FRAMES * (size_t)s->channels, sizeof *w->block);
    if (w->r == NULL || w->block == NULL || pthread_mutex_init(&w->lock, NULL) != 0) {
        ring_destroy(w->r);
        free(w->block);
        free(w);
        (void)app_err_memory(err);
        return NULL;
    }
    s->r = w->r;
    w->s = s;
    w->sink = sink;
    w->context = context;
    w->rate_hz = s->rate_hz;
    w->channels = s->channels;
    w->opened_s = steady_now_s();
    w->state = (capture_state){.health = CAPTURE_STARTING,
                               .input_latency_s = s->input_latency_s,
                               .monitor_latency_s = s->monitor_latency_s};
    arrival_clock_init(&w->clock, s->rate_hz);
    return w;
}

bool drain_start(drain *w, app_err *err)
{
    w->opened_s = steady_now_s();
    w->task = steady_task_start(go_on, w, WAKE_S);
    return w->task != NULL || app_err_set(err, APP_FAILED, "cannot start a thread");
}

void drain_stop(drain *w)
{
    if (w->task != NULL) {
        steady_task_stop(w->task);
        w->task = NULL;
        finish(w);
    }
}

void drain_destroy(drain *w)
{
    if (w != NULL) {
        (void)pthread_mutex_destroy(&w->lock);
        ring_destroy(w->r);
        kept_blocks_free(&w->kept);
        free(w->block);
        free(w);
    }
}

void drain_get_state(drain *w, capture_state *out)
{
    (void)pthread_mutex_lock(&w->lock);
    *out = w->state;
    (void)pthread_mutex_unlock(&w->lock);
}

double drain_time_at(drain *w, double monotonic_s)
{
    (void)pthread_mutex_lock(&w->lock);
    const double time_s = arrival_clock_time_s(&w->clock, monotonic_s);
    (void)pthread_mutex_unlock(&w->lock);
    return time_s;
}
