#include "src/capture/kept_blocks.h"

#include <stdlib.h>
#include <string.h>

/* Room for `needed` in a list that doubles; NULL without memory. */
static void *grow(void *list, size_t needed, size_t *room, size_t size)
{
    size_t wanted = *room > 0 ? *room : 64;
    while (wanted < needed) {
        wanted *= 2;
    }
    if (wanted == *room) {
        return list;
    }
    void *const grown = realloc(list, wanted * size);
    *room = grown != NULL ? wanted : *room;
    return grown;
}

bool kept_blocks_add(kept_blocks *k, const ring_chunk *chunk, const float *frames)
{
    const size_t channels = (size_t)k->channels;
    ring_chunk *const chunks =
        grow(k->chunks, k->n + 1, &k->chunks_room, sizeof *k->chunks);
    if (chunks == NULL) {
        return false;
    }
    k->chunks = chunks;
    float *const all = grow(k->frames, k->n_frames + chunk->n_frames, &k->frames_room,
                            channels * sizeof *k->frames);
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
