/**
 * @file onset.h
 * When a heart sound begins: all sounds of one kind in the segment are laid over each
 * other, the mean shape gives the onset, each sound's own shift gives its time. A single
 * sound's first tenth drowns in noise; the mean of seventy does not.
 *
 * Onset: the first time the sound's 10 ms RMS reaches 10 % of its peak (the definition
 * the truth documents use). Whole-segment, mono. No allocation.
 */
#ifndef FM_ONSET_H
#define FM_ONSET_H

#include "dsp/result.h"
#include "dsp/segment.h"

#include <stddef.h>

enum {
    FM_ONSET_SHIFT_MAX_MS = 30,
    FM_ONSET_SHIFTS = 2 * FM_ONSET_SHIFT_MAX_MS + 1,
    FM_ONSET_CUT_MS =
        230 + 2 * FM_ONSET_SHIFT_MAX_MS /**< a shape, with room to shift */
};

/** Working memory for a segment of FM_SEGMENT_SAMPLES; contents are its own. */
typedef struct fm_onset_memory {
    size_t n;
    double sum[FM_SEGMENT_SAMPLES + 1]; /* running sum of squares */
    float shapes[FM_BEATS_MAX][FM_ONSET_CUT_MS];
    double energy[FM_BEATS_MAX][FM_ONSET_SHIFTS]; /* of each shape's core */
} fm_onset_memory;

/**
 * Load the signal that the sounds are looked for in.
 *
 * @param[in] x  x[0..n-1] at FM_WORK_RATE_HZ, limited to the band counted from;
 *               n <= FM_SEGMENT_SAMPLES
 */
void fm_onset_load(fm_onset_memory *m, const float *x, size_t n);

/**
 * Onsets of sounds of one kind.
 *
 * @param[in]  about_s   about_s[0..n-1]: near the middle of each sound, ascending, from
 *                       the start of the segment
 * @param[out] onset_s   onset_s[0..n-1]: may be the same array as about_s
 */
void fm_onset_refine(fm_onset_memory *m,
                     const double *about_s,
                     size_t n,
                     double *onset_s);

#endif
