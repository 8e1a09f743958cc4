/**
 * @file decoder.h
 * Which candidates are S1 and S2: the best path through a chain of four states with
 * explicit durations, under one hypothesis about cycle length, systole and steadiness;
 * whole segment. No allocation.
 *
 * Systole (S1 to S2) is given a narrow density, diastole a wide, heavy-tailed one around
 * the local cycle, so that an irregular rhythm costs little and a wrong label much. An
 * early beat has states of its own: it comes after a diastole of any shorter length, and a
 * longer one is then expected, so that early beat and pause are one surprise and not two.
 * The score of a path is a log likelihood ratio against 'nothing but noise', so paths under
 * different hypotheses can be compared.
 *
 * Source: duration-explicit Viterbi decoding as in Schmidt et al., Physiol. Meas. 31
 *         (2010) 513, and Springer et al., IEEE TBME 63 (2016) 822; here over candidates
 *         instead of frames, with a local cycle and a heavy tail for diastole.
 */
#ifndef FM_DECODER_H
#define FM_DECODER_H

#include "dsp/heart/candidates.h"
#include "dsp/signal/lanes.h"

#include <stdbool.h>
#include <stdint.h>

enum {
    FM_PATH_MAX = FM_CANDIDATES_MAX /**< labelled candidates one path can hold: all */
};

/** One hypothesis about the beat. */
typedef struct fm_hypothesis {
    double cycle_s;      /**< typical S1-S1 interval */
    double systole_s;    /**< typical S1-S2 interval */
    double systole_sd_s; /**< its spread */
    double looseness; /**< scale of |ln(diastole / expected)|: small = steady rhythm */
    double surprise;  /**< share of intervals out of step: early beats, pauses; 0..1 */
    double early;     /**< share of beats that come early, 0..1 */
    double s2_detected; /**< probability that S2 is among the candidates, 0..1 */
    const float *local_cycle_s; /**< per candidate, or NULL: cycle_s everywhere */
} fm_hypothesis;

/** The best path under a hypothesis. */
typedef struct fm_path {
    double score;                /**< log likelihood ratio, higher is better */
    size_t n;                    /**< labelled candidates, in order of time */
    uint16_t index[FM_PATH_MAX]; /**< which candidate */
    bool is_s2[FM_PATH_MAX];
    size_t n_s1;
    size_t n_s2;
} fm_path;

enum {
    FM_DECODER_STATES = 4,  /**< S1, S2, and both of an early beat */
    FM_DECODER_GAPS = 192,  /**< candidates before each whose gaps are kept */
    FM_DECODER_STEPS = 1200 /**< of the tables of durations */
};

/** Durations under the hypotheses decoded together, one lane each. */
typedef struct fm_decoder_tables {
    fm_lanes systole[FM_DECODER_STEPS]; /**< S1 -> S2, log density, steps of 5 ms */
    float ratio[FM_LANES][FM_DECODER_STEPS]; /**< of a length to the expected one, log
                                                density, 250 steps to a factor e */
    fm_lanes most;                           /**< of ratio: a length as expected */
    fm_lanes diastole;                       /**< added to ratio: S2 -> S1 */
    fm_lanes cycle;         /**< the same, S1 -> S1 where S2 was not detected */
    fm_lanes early;         /**< S2 -> early S1, any ratio in its range */
    fm_lanes early_no_s2;   /**< S1 -> early S1 */
    fm_lanes early_systole; /**< added to systole: early S1 -> its S2 */
    fm_lanes after;         /**< early S2 -> S1, any ratio in its range */
    fm_lanes after_no_s2;   /**< early S1 -> S1 where the early S2 was not detected */
    fm_lanes again;         /**< early S2 -> early S1 */
    size_t n_steps;         /**< of systole: none is longer */
    double looseness[FM_LANES]; /**< that ratio was made for; 0: none yet */
    double surprise[FM_LANES];
} fm_decoder_tables;

/** Working memory of the decoder; contents are its own. All zero before its first use. */
typedef struct fm_decoder_memory {
    fm_decoder_tables tables;
    fm_lanes value[FM_DECODER_STATES][FM_CANDIDATES_MAX];
    fm_lane_ints back[FM_DECODER_STATES]
                     [FM_CANDIDATES_MAX]; /* candidate << 2 | state */
    /* The best path that ends at a candidate or before it. */
    fm_lanes passed[FM_CANDIDATES_MAX];
    fm_lane_ints passed_at[FM_CANDIDATES_MAX];
    fm_lane_ints end;
    fm_lanes score;
    /* Gaps to the candidates before each, kept from one call to the next about the same
     * candidates: row j ends with the gap to j - 1, n_known[j] of them are known. The
     * long row is for a candidate that looks further back. */
    double time_s[FM_CANDIDATES_MAX];
    uint16_t n_known[FM_CANDIDATES_MAX];
    float log_gap[FM_CANDIDATES_MAX][FM_DECODER_GAPS]; /* natural, of seconds */
    uint16_t step[FM_CANDIDATES_MAX][FM_DECODER_GAPS]; /* of the table of systole */
    float long_log_gap[FM_CANDIDATES_MAX];
    uint16_t long_step[FM_CANDIDATES_MAX];
} fm_decoder_memory;

/** What is decoded in one lane. */
typedef struct fm_decoding {
    const fm_candidate *candidates; /**< candidates[0..n-1], in order of time, with
                                         scores; times are the same in every lane */
    const fm_hypothesis *hypothesis;
} fm_decoding;

/**
 * Several decodings of the same candidates at once.
 *
 * @param[in]  decoding    decoding[0..n_decodings-1], 1 <= n_decodings <= FM_LANES
 * @param n                candidates, 0..FM_CANDIDATES_MAX
 * @param segment_s        length of the segment
 * @param noise_per_s      candidates per second that are no heart sound, > 0
 * @param[out] m           the paths, for fm_decoder_path; m->score[lane] is the score
 *                         of each: 0 when nothing fits
 */
void fm_decode_all(const fm_decoding *decoding,
                   size_t n_decodings,
                   size_t n,
                   double segment_s,
                   double noise_per_s,
                   fm_decoder_memory *m);

/**
 * The path of one lane of the last fm_decode_all.
 *
 * @param[out] path  n = 0 and score 0 when nothing fits
 */
void fm_decoder_path(const fm_decoder_memory *m, size_t lane, fm_path *path);

#endif
