/**
 * @file breath.h
 * Respirations of one window, from three cues: the sound of breathing, the loudness of
 * the heart sounds and the beat intervals; whole-segment, mono. All memory is taken at
 * create.
 */
#ifndef FM_BREATH_H
#define FM_BREATH_H

#include "dsp/result.h"

/** An empty result for a window: refused, for want of a cue. */
void fm_breath_begin(const fm_window *window, fm_breath *out);

#endif
