/**
 * @file breath.h
 * Respirations of one window, from three cues: the sound of breathing, the loudness of
 * the heart sounds and the beat intervals; whole-segment, mono. No allocation.
 */
#ifndef FM_BREATH_H
#define FM_BREATH_H

#include "dsp/breath/breath_confidence.h"
#include "dsp/breath/breath_onsets.h"
#include "dsp/segment.h"

/** What a call goes by. */
typedef struct fm_breath_basis {
    fm_breath_evidence evidence;
    fm_breath_grounds grounds;
    double rate_per_min; /**< placed, said or not; NaN: none */
} fm_breath_basis;

/** Working memory, and what the last call went by; the rest of its contents is its own. */
typedef struct fm_breath_finder {
    fm_breath_cues cues;
    fm_breath_likeness likeness;
    fm_onset_finder onset_finder;
    fm_breath_choice choice[FM_CUE_COUNT + 1];
    fm_beats no_beats; /* all 0 */
    fm_cue onset_cue;
    fm_breath_onsets onsets;
    fm_breath_basis basis; /**< for the evaluation and for learning */
} fm_breath_finder;

/** An empty result for a window of that quality: refused, for want of a cue. */
void fm_breath_begin(const fm_window *window,
                     const fm_quality *quality,
                     fm_breath *out);

/**
 * Count the respirations of a segment's window.
 *
 * @param segment      the segment (its samples are not looked at)
 * @param f            its features
 * @param beats        its heart sounds; none at all is allowed
 * @param[in,out] out  the heart's window and quality are read, breath is filled
 */
void fm_breath_find(fm_breath_finder *b,
                    const fm_segment *segment,
                    const fm_features *f,
                    const fm_beats *beats,
                    fm_count *out);

#endif
