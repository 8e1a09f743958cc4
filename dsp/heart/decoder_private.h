/**
 * @file decoder_private.h
 * What the parts of the decoder share: states, durations' tables, and one step of the
 * search. Only dsp/heart/decoder*.c include it.
 */
#ifndef FM_DECODER_PRIVATE_H
#define FM_DECODER_PRIVATE_H

#include "dsp/heart/decoder.h"

enum {
    FM_S1 = 0,
    FM_S2 = 1,
    FM_EARLY_S1 = 2,
    FM_EARLY_S2 = 3,
    FM_NO_WAY = -1 /* where a path begins */
};

/* Less than any path's score; paths add up from here without leaving a float. */
#define FM_IMPOSSIBLE (-1e9f)

/* Two candidates nearer than this are one sound. */
#define FM_GAP_MIN_S 0.05
/* Shortest S1-S1 interval, s: 240-300 ms is refractory (from memory). */
#define FM_CYCLE_GAP_MIN_S 0.24

/* |ln ratio| of a diastole (or, where S2 is missing, an interval) that is an early one,
 * and of the one after it. Early: 20 % and more (librasch.org/hrt) of the interval is at
 * least EARLY_LEAST of the diastole. Ranges tuned on composed rhythms. */
#define FM_EARLY_LEAST 0.15f
#define FM_EARLY_MOST  1.9f
#define FM_AFTER_LEAST (-0.1f)
#define FM_AFTER_MOST  1.0f

/* Steps of the tables: systole in 5 ms, ratios in 250 to a factor e about the middle. */
#define FM_SYSTOLE_STEP_S    0.005
#define FM_RATIO_CENTRE      600
#define FM_RATIO_STEPS_PER_E 250

/** The gaps before a candidate, the longest first. */
typedef struct fm_gaps {
    size_t first;         /* log_gap[k] and step[k] are from candidate first + k */
    size_t n;             /* those of FM_GAP_MIN_S and more */
    size_t n_cycle;       /* those of FM_CYCLE_GAP_MIN_S and more */
    const float *log_gap; /* natural, of seconds */
    const uint16_t *step; /* FM_DECODER_STEPS: beyond the table */
    fm_lane_ints reach; /* first candidate that each lane's hypothesis looks back to */
    fm_lanes log_cycle; /* expected here */
    fm_lanes log_diastole;
} fm_gaps;

/** The best ways into a candidate: what each is worth and where it comes from. */
typedef struct fm_ways {
    fm_lanes value[FM_DECODER_STATES];
    fm_lane_ints from[FM_DECODER_STATES];
} fm_ways;

/* Longest cycle looked back for, in typical cycles: two dropped beats. */
#define FM_REACH_CYCLES 3.2

/** Fills the tables for h[0..n-1], 1 <= n <= FM_LANES; the lanes left repeat the last. */
void fm_decoder_fill_tables(const fm_hypothesis *const *h,
                            size_t n,
                            double noise_per_s,
                            fm_decoder_tables *t);

/** Offers every way over the gaps. */
void fm_decoder_extend(const fm_decoder_memory *m, const fm_gaps *g, fm_ways *w);

#endif
