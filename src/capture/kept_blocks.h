/**
 * @file kept_blocks.h
 * Samples that wait until it is known how long the gap before them is, in the order in
 * which the ring gave them. The ring goes on being emptied meanwhile: a program that was
 * stopped and goes on is handed all that came in between at once.
 */
#ifndef CAPTURE_KEPT_BLOCKS_H
#define CAPTURE_KEPT_BLOCKS_H

#include "src/base/ring.h"

#include <stdbool.h>
#include <stddef.h>

/** The waiting ones. Start it as {0} with its channels; kept_blocks_free. */
typedef struct kept_blocks {
    int channels;
    float *frames; /**< frames[0..n_frames*channels-1] */
    size_t n_frames, frames_room;
    ring_chunk *chunks; /**< chunks[0..n-1]; their frames follow one another */
    size_t n, chunks_room;
} kept_blocks;

/** Add a chunk with its frames. @return false without memory: k is unchanged */
bool kept_blocks_add(kept_blocks *k, const ring_chunk *chunk, const float *frames);

/** Forget them and give their memory back. */
void kept_blocks_free(kept_blocks *k);

#endif
