/**
 * @file onset.h
 * When a heart sound begins: all sounds of one kind in the segment are laid over each
 * other, the mean shape gives the onset, each sound's own shift gives its time. A single
 * sound's first tenth drowns in noise; the mean of seventy does not.
 *
 * Onset: the first time the sound's 10 ms RMS reaches 10 % of its peak (the definition
 * the truth documents use). Whole-segment, mono.
 */
#ifndef FM_ONSET_H
#define FM_ONSET_H

#include <stddef.h>

/** Working memory for a segment of FM_SEGMENT_SAMPLES; contents are its own. */
typedef struct fm_onset_memory fm_onset_memory;

/** New memory; NULL when memory is short. Free with fm_onset_memory_destroy. */
fm_onset_memory *fm_onset_memory_create(void);

/** Frees m; NULL is allowed. */
void fm_onset_memory_destroy(fm_onset_memory *m);

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
