/**
 * @file breath_faint.h
 * A last look at where breath is heard in a recording, with room for faint breaths.
 *
 * Where breathing waxes and wanes, its faintest breaths are nearer to the rest between
 * breaths than to the usual breath: a path through one model of all stands at rest while
 * they pass. Here every breath has one of two sizes, the usual one and a fainter one,
 * between which a path changes at rest only, and at a cost, so that noise in a held breath
 * does not pass for breathing. No allocation.
 */
#ifndef FM_BREATH_FAINT_H
#define FM_BREATH_FAINT_H

#include "dsp/breath_track.h"

enum {
    FM_FAINT_SIZES = 2,
    FM_FAINT_STATES = FM_FAINT_SIZES * FM_TRACK_STATES
};

/** Working memory; contents are its own. */
typedef struct fm_faint_memory {
    float mean[FM_BREATH_SOUND_CHANNELS][FM_FAINT_STATES];
    float scale[FM_BREATH_SOUND_CHANNELS][FM_FAINT_SIZES];
    float stay_cost[FM_TRACK_STATES];
    float cost[2][FM_FAINT_STATES]; /**< least, to the frame before and to this one */
    uint8_t from[FM_TRACK_FRAMES][FM_FAINT_STATES];
} fm_faint_memory;

/**
 * The best path of breath sound, of either size.
 *
 * @param m          what a breath sounds like, learned from the path so far
 * @param[out] path  phases of m; moves is left as it was
 */
void fm_faint_find(const fm_track_frames *f,
                   const fm_track_model *m,
                   fm_faint_memory *memory,
                   fm_track_path *path);

#endif
