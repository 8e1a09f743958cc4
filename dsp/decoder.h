/**
 * @file decoder.h
 * Which candidates are S1 and S2: the best path through a chain of four states with
 * explicit durations, under one assumption about cycle length, systole and steadiness;
 * whole segment. No allocation.
 *
 * Systole (S1 to S2) is given a narrow density, diastole a wide, heavy-tailed one around
 * the local cycle, so that an irregular rhythm costs little and a wrong label much. An
 * early beat has states of its own: it comes after a diastole of any shorter length, and a
 * longer one is then expected, so that early beat and pause are one surprise and not two.
 * The score of a path is a log likelihood ratio against 'nothing but noise', so paths under
 * different assumptions can be compared.
 *
 * Source: duration-explicit Viterbi decoding as in Schmidt et al., Physiol. Meas. 31
 *         (2010) 513, and Springer et al., IEEE TBME 63 (2016) 822; here over candidates
 *         instead of frames, with a local cycle and a heavy tail for diastole.
 */
#ifndef FM_DECODER_H
#define FM_DECODER_H

#include "dsp/candidates.h"

#include <stdbool.h>
#include <stdint.h>

enum {
    FM_PATH_MAX = FM_CANDIDATES_MAX /**< labelled candidates one path can hold: all */
};

/** One assumption about the beat. */
typedef struct fm_assumption {
    double cycle_s;      /**< typical S1-S1 interval */
    double systole_s;    /**< typical S1-S2 interval */
    double systole_sd_s; /**< its spread */
    double looseness; /**< scale of |ln(diastole / expected)|: small = steady rhythm */
    double surprise;  /**< share of intervals out of step: early beats, pauses; 0..1 */
    double early;     /**< share of beats that come early, 0..1 */
    double s2_heard;  /**< probability that S2 is among the candidates, 0..1 */
    const float *local_cycle_s; /**< per candidate, or NULL: cycle_s everywhere */
} fm_assumption;

/** The best path under an assumption. */
typedef struct fm_path {
    double score;                /**< log likelihood ratio, higher is better */
    size_t n;                    /**< labelled candidates, in order of time */
    uint16_t index[FM_PATH_MAX]; /**< which candidate */
    bool is_s2[FM_PATH_MAX];
    size_t n_s1;
    size_t n_s2;
} fm_path;

enum {
    FM_DECODER_STATES = 4 /**< S1, S2, and both of an early beat */
};

/** Working memory of the decoder; contents are its own. */
typedef struct fm_decoder_memory {
    float value[FM_CANDIDATES_MAX][FM_DECODER_STATES];
    int16_t back[FM_CANDIDATES_MAX][FM_DECODER_STATES];
    uint8_t back_state[FM_CANDIDATES_MAX][FM_DECODER_STATES];
} fm_decoder_memory;

/**
 * Decode.
 *
 * @param[in]  c           c[0..n-1], in order of time, with scores
 * @param n                candidates, 0..FM_CANDIDATES_MAX
 * @param segment_s        length of the segment
 * @param noise_per_s      candidates per second that are no heart sound, > 0
 * @param[out] path        n = 0 and score 0 when nothing fits
 */
void fm_decode(const fm_candidate *c,
               size_t n,
               double segment_s,
               double noise_per_s,
               const fm_assumption *a,
               fm_decoder_memory *m,
               fm_path *path);

#endif
