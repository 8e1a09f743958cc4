/**
 * @file analyse.h
 * Sound in, one result a window out: the only place of the evaluation that drives the
 * analyser.
 */
#ifndef ACCURACY_ANALYSE_H
#define ACCURACY_ANALYSE_H

#include "dsp/analyser.h"

/** A sound in memory, mono. */
typedef struct sound {
    float *samples; /**< samples[0..n-1], full scale +/-1; free with sound_free */
    size_t n;
    double rate_hz;
} sound;

/** Reads channel 0 of a file; false and a line on stderr when it cannot be read. */
bool sound_read(sound *s, const char *path);

/** Frees the samples. */
void sound_free(sound *s);

/** Called for every window in turn. The count is the caller's again afterwards. */
typedef void window_visit(const fm_count *count, void *context);

/**
 * Analyses a sound in consecutive windows of FM_WINDOW_MAX_S from its start; the last is
 * what is left, and is dropped when shorter than least_s unless it is the only one.
 *
 * @param limit  windows at most; 0 means all
 * @return false when the analyser refused the rate or had no memory (a line on stderr)
 */
bool analyse_windows(
    const sound *s, double least_s, size_t limit, window_visit *visit, void *context);

#endif
