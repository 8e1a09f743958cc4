/**
 * @file breath_onsets.h
 * Where the breaths are under the likeliest hypotheses about their length: a path round the breath's
 * cycle is begun with one lobe of sound a breath, with two (inspiration and expiration, both
 * heard) and with even going, the best is kept, and its beginnings are the breaths;
 * whole-segment. No allocation.
 */
#ifndef FM_BREATH_ONSETS_H
#define FM_BREATH_ONSETS_H

#include "dsp/breath/breath_choice.h"
#include "dsp/breath/breath_track.h"

typedef struct fm_breath_onsets {
    size_t n;
    /** start_s[0..n-1] from the segment's start: each breath's beginning, inspiration
     * where the phase is heard. */
    double start_s[FM_TRACK_CYCLES];
    size_t lobes;   /**< heard in a breath */
    double cycles;  /**< breaths gone through in the window, with parts at its ends */
    double cycle_s; /**< median length of a breath */
    double mean_s;  /**< mean length of a breath */
    double cv;      /**< spread of the lengths as a share of it, robust; 1: under two */
    double transition_cost; /**< of uneven transitions, natural log a frame, >= 0 */
    double explained;       /**< natural log of variance over what is left */
} fm_breath_onsets;

/** Working memory; contents are its own. */
typedef struct fm_onset_finder {
    fm_track_frames frames;
    fm_track_model model;
    fm_track_path path;
    fm_track_memory memory;
    double passing_s[FM_TRACK_CYCLES];
} fm_onset_finder;

/**
 * Find the onsets of the breaths.
 *
 * @param from_s, to_s  the window, from the segment's start
 * @param cue           what to follow; FM_CUE_LOUDNESS: loudness and intervals together
 * @param choice        how probable each length is
 */
void fm_breath_onsets_find(fm_onset_finder *s,
                           const fm_breath_series *series,
                           double from_s,
                           double to_s,
                           fm_cue cue,
                           const fm_breath_choice *choice,
                           fm_breath_onsets *out);

#endif
