#include "src/base/ring.h"

#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>

enum {
    CHANNELS_MAX = 64,
    EVENTS = 256 /* places where frames are missing, waiting for the reader */
};

/* What is to be said before the frame stored as number at. */
typedef struct event {
    int64_t at;
    int64_t lost;
    unsigned flags;
} event;

struct ring {
    size_t capacity; /* frames */
    int channels;
    float *frames;
    /* Written by the writer only. */
    _Atomic int64_t stored; /* frames ever put into memory */
    _Atomic int64_t total;  /* stored and lost */
    _Atomic uint32_t events_written;
    /* What could not be queued because the queue of events was full: lost frames and
       flags wait here, and nothing is stored until they are out. */
    int64_t waiting_lost;
    unsigned waiting_flags;
    /* Written by the reader only. */
    _Atomic int64_t taken; /* frames ever taken out */
    _Atomic uint32_t events_read;
    int64_t reader_frame; /* index of the next frame, lost ones counted in */
    event events[EVENTS];
};

ring *ring_create(size_t capacity_frames, int channels)
{
    const bool power =
        capacity_frames > 0 && (capacity_frames & (capacity_frames - 1)) == 0;
    if (!power || channels < 1 || channels > CHANNELS_MAX ||
        capacity_frames > SIZE_MAX / sizeof(float) / (size_t)channels) {
        return NULL;
    }
    ring *const r = calloc(1, sizeof *r);
    float *const frames = calloc(capacity_frames * (size_t)channels, sizeof *frames);
    if (r == NULL || frames == NULL) {
        free(r);
        free(frames);
        return NULL;
    }
    r->capacity = capacity_frames;
    r->channels = channels;
    r->frames = frames;
    return r;
}

void ring_destroy(ring *r)
{
    if (r != NULL) {
        free(r->frames);
        free(r);
    }
}

/* Says what waits, in the queue, before the next frame stored. False: no room yet. */
static bool say_waiting(ring *r)
{
    if (r->waiting_lost == 0 && r->waiting_flags == 0) {
        return true;
    }
    const uint32_t written =
        atomic_load_explicit(&r->events_written, memory_order_relaxed);
    const uint32_t read = atomic_load_explicit(&r->events_read, memory_order_acquire);
    if (written - read >= EVENTS) {
        return false;
    }
    r->events[written % EVENTS] =
        (event){.at = atomic_load_explicit(&r->stored, memory_order_relaxed),
                .lost = r->waiting_lost,
                .flags = r->waiting_flags};
    r->waiting_lost = 0;
    r->waiting_flags = 0;
    atomic_store_explicit(&r->events_written, written + 1, memory_order_release);
    return true;
}

static void copy_in(ring *r, int64_t at, const float *in, size_t n)
{
    const size_t channels = (size_t)r->channels;
    const size_t begin = (size_t)at & (r->capacity - 1);
    const size_t first = n < r->capacity - begin ? n : r->capacity - begin;
    memcpy(r->frames + begin * channels, in, first * channels * sizeof *in);
    memcpy(r->frames, in + first * channels, (n - first) * channels * sizeof *in);
}

size_t ring_write(ring *r, const float *in, size_t n_frames, unsigned flags)
{
    const int64_t stored = atomic_load_explicit(&r->stored, memory_order_relaxed);
    const int64_t taken = atomic_load_explicit(&r->taken, memory_order_acquire);
    const size_t room = r->capacity - (size_t)(stored - taken);
    r->waiting_flags |= flags;
    size_t fits = n_frames < room ? n_frames : room;
    if (in == NULL || !say_waiting(r)) {
        fits = 0;
    }
    if (fits > 0) {
        copy_in(r, stored, in, fits);
    }
    atomic_store_explicit(&r->stored, stored + (int64_t)fits, memory_order_release);
    r->waiting_lost += (int64_t)(n_frames - fits);
    atomic_store_explicit(&r->total,
                          atomic_load_explicit(&r->total, memory_order_relaxed) +
                              (int64_t)n_frames,
                          memory_order_release);
    (void)say_waiting(r);
    return fits;
}

static void copy_out(const ring *r, int64_t at, float *out, size_t n)
{
    const size_t channels = (size_t)r->channels;
    const size_t begin = (size_t)at & (r->capacity - 1);
    const size_t first = n < r->capacity - begin ? n : r->capacity - begin;
    memcpy(out, r->frames + begin * channels, first * channels * sizeof *out);
    memcpy(out + first * channels, r->frames, (n - first) * channels * sizeof *out);
}

/* Takes every event that lies at the reader's place. */
static void take_events(ring *r, int64_t taken, ring_chunk *chunk)
{
    const uint32_t written =
        atomic_load_explicit(&r->events_written, memory_order_acquire);
    uint32_t read = atomic_load_explicit(&r->events_read, memory_order_relaxed);
    while (read != written && r->events[read % EVENTS].at == taken) {
        chunk->lost_before += r->events[read % EVENTS].lost;
        chunk->flags_before |= r->events[read % EVENTS].flags;
        read++;
    }
    atomic_store_explicit(&r->events_read, read, memory_order_release);
}

/* Frames up to the next event. `stored` must be read before this looks at the events:
   an event at a place is queued before any frame behind it is published. */
static int64_t up_to_event(const ring *r, int64_t stored)
{
    const uint32_t written =
        atomic_load_explicit(&r->events_written, memory_order_acquire);
    const uint32_t read = atomic_load_explicit(&r->events_read, memory_order_relaxed);
    if (read == written) {
        return stored;
    }
    const int64_t at = r->events[read % EVENTS].at;
    return at < stored ? at : stored;
}

bool ring_read(ring *r, float *out, size_t max_frames, ring_chunk *chunk)
{
    const int64_t stored = atomic_load_explicit(&r->stored, memory_order_acquire);
    const int64_t taken = atomic_load_explicit(&r->taken, memory_order_relaxed);
    *chunk = (ring_chunk){0};
    take_events(r, taken, chunk);
    int64_t n = up_to_event(r, stored) - taken;
    n = n < (int64_t)max_frames ? n : (int64_t)max_frames;
    if (n > 0) {
        copy_out(r, taken, out, (size_t)n);
    }
    chunk->n_frames = (size_t)n;
    chunk->first_frame = r->reader_frame + chunk->lost_before;
    r->reader_frame = chunk->first_frame + n;
    atomic_store_explicit(&r->taken, taken + n, memory_order_release);
    return n > 0 || chunk->lost_before > 0 || chunk->flags_before != 0;
}

size_t ring_room(const ring *r)
{
    return r->capacity -
           (size_t)(atomic_load_explicit(&r->stored, memory_order_relaxed) -
                    atomic_load_explicit(&r->taken, memory_order_acquire));
}

int64_t ring_frames_written(const ring *r)
{
    return atomic_load_explicit(&r->total, memory_order_acquire);
}
