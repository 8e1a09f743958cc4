/**
 * @file ring.h
 * Queue of frames between an audio callback (one writer) and a worker (one reader).
 * Lock-free with C11 atomics; no call but ring_create allocates, none waits.
 *
 * What does not fit is not lost in silence: the writer says how many frames it had, and
 * frames that found no room are counted at the place where they are missing, so that time
 * never shifts. A read never crosses such a place.
 */
#ifndef BASE_RING_H
#define BASE_RING_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/** Opaque; see ring_destroy. */
typedef struct ring ring;

/** What a read found. */
typedef struct ring_chunk {
    int64_t first_frame;   /**< index of the first frame read, lost ones counted in */
    size_t n_frames;       /**< frames copied out */
    int64_t lost_before;   /**< frames missing right before first_frame; 0 mostly */
    unsigned flags_before; /**< the writer's flags since the last read, or-ed */
} ring_chunk;

/**
 * @param capacity_frames  a power of two
 * @param channels         1..64
 * @return the ring, freed with ring_destroy; NULL if an argument is off or memory short
 */
ring *ring_create(size_t capacity_frames, int channels);

/** Frees r; NULL is allowed. */
void ring_destroy(ring *r);

/**
 * Writer only. Real-time safe.
 *
 * @param in     in[0..n_frames*channels-1], interleaved; NULL: n_frames are lost
 * @param flags  kept for the reader (an overflow said by the driver, ...)
 * @return frames that fitted; the rest count as lost at this place
 */
size_t ring_write(ring *r, const float *in, size_t n_frames, unsigned flags);

/**
 * Reader only. Real-time safe. Copies up to max_frames up to the next place where frames
 * are missing.
 *
 * @param[out] out    out[0..max_frames*channels-1]
 * @param[out] chunk  what was read; n_frames 0 when there is nothing
 * @return true when there was something: frames, lost frames or flags
 */
bool ring_read(ring *r, float *out, size_t max_frames, ring_chunk *chunk);

/** Writer only: frames that would fit now. Real-time safe. */
size_t ring_room(const ring *r);

/** Either side: frames written or lost since create. Real-time safe. */
int64_t ring_frames_written(const ring *r);

#endif
