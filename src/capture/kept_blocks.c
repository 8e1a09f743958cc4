#include "src/capture/kept_blocks.h"

#include "src/base/bytes.h"

#include <stdlib.h>
#include <string.h>

bool kept_blocks_add(kept_blocks *k, const ring_chunk *chunk, const float *frames)
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

void kept_blocks_free(kept_blocks *k)
{
    free(k->frames);
    free(k->chunks);
    *k = (kept_blocks){.channels = k->channels};
}
