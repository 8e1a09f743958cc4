/**
 * @file breath_track.h
 * Follows breathing round its cycle: a circular chain of phases whose mean in every
 * channel is learned from the recording itself, under one hypothesis about how long a
 * lobe of the cues lasts and whether one or two of them (inspiration and expiration, both
 * heard) make a breath; whole-segment. No allocation.
 *
 * Both hypotheses, one lobe a breath and two, see the same frames, so their likelihoods can
 * be compared: where every other lobe differs (louder, higher, longer, nearer to the next
 * one, or with a heart sound or beat interval that is modulated once in two lobes) the second
 * hypothesis explains more.
 *
 * Source: hidden Markov chains with means trained on the best path (Juang and Rabiner,
 *         "The segmental K-means algorithm", IEEE Trans. ASSP 38 (1990) 1639, from
 *         memory); the chain closed to a circle is ours.
 */
#ifndef FM_BREATH_TRACK_H
#define FM_BREATH_TRACK_H

#include "dsp/breath/breath_cues.h"

#include <stdbool.h>
#include <stdint.h>

enum {
    FM_TRACK_PHASES = 12,                  /**< phases of one lobe */
    FM_TRACK_STATES = 2 * FM_TRACK_PHASES, /**< most phases of one breath */
    FM_TRACK_FRAMES = 2048,                /**< longest segment in shortest phases */
    FM_TRACK_CYCLES = 2 * FM_BREATHS_MAX + 2
};

/** The series in steps of one phase. */
typedef struct fm_track_frames {
    size_t n;
    double step_s;
    uint16_t edge[FM_TRACK_FRAMES + 1]; /**< of the steps, in frames of the series */
    float value[FM_BREATH_CHANNELS][FM_TRACK_FRAMES];
    float weight[FM_BREATH_CHANNELS][FM_TRACK_FRAMES]; /**< observations, 0..about 2 */
    double total[FM_BREATH_CHANNELS];                  /**< sum of the weights */
    double square[FM_BREATH_CHANNELS];   /**< sum of the weighted squares */
    double variance[FM_BREATH_CHANNELS]; /**< of the values, weighted */
    /** Of the channels behind those of sound: the frames with a weight. */
    uint16_t observed[FM_BREATH_CHANNELS - FM_BREATH_SOUND_CHANNELS][FM_TRACK_FRAMES];
    size_t n_observed[FM_BREATH_CHANNELS - FM_BREATH_SOUND_CHANNELS];
} fm_track_frames;

/** What a breath looks like. */
typedef struct fm_track_model {
    size_t n_states;
    float mean[FM_BREATH_CHANNELS][FM_TRACK_STATES];
    double variance[FM_BREATH_CHANNELS]; /**< around the mean */
} fm_track_model;

/** Where in the breath every frame is. */
typedef struct fm_track_path {
    uint8_t phase[FM_TRACK_FRAMES];
    double
        transition_cost; /**< cost of standing still and of skipping, natural log, >= 0 */
} fm_track_path;

/** Working memory of the search; contents are its own. */
typedef struct fm_track_memory {
    float value[FM_TRACK_FRAMES][FM_TRACK_STATES];
} fm_track_memory;

/** The series in steps of step_s; step_s at least series length / FM_TRACK_FRAMES. */
void fm_track_frames_make(const fm_breath_series *s, double step_s, fm_track_frames *f);

/**
 * A first model: one smooth wave in the channels of the mask, nothing in the others.
 *
 * @param mask  bit c: channel c
 */
void fm_track_model_start(const fm_track_frames *f, unsigned mask, fm_track_model *m);

/**
 * The best path under a model.
 *
 * @param[in,out] path  as it was before, with n_states phases; as it is found
 * @return whether any frame's phase is another than before
 */
bool fm_track_find(const fm_track_frames *f,
                   const fm_track_model *m,
                   unsigned mask,
                   fm_track_memory *memory,
                   fm_track_path *path);

/** The model that a path makes of the frames. */
void fm_track_learn(const fm_track_frames *f,
                    const fm_track_path *path,
                    size_t n_states,
                    fm_track_model *m);

/** A path of one lobe a breath taken as two: every other round is the second half. */
void fm_track_pair(fm_track_path *path, size_t n);

/** Natural log of a channel's variance over what the model leaves of it, >= 0 but for
 * chance; 0 where nothing was observed. */
double fm_track_explained(const fm_track_frames *f,
                          const fm_track_model *m,
                          int channel);

/**
 * When the path passes a phase, interpolated; ascending.
 *
 * @param[out] time_s  time_s[0..max-1] from the segment's start
 * @return number of passings, at most max
 */
size_t fm_track_passings(const fm_track_frames *f,
                         const fm_track_path *path,
                         size_t n_states,
                         double phase,
                         double *time_s,
                         size_t max);

#endif
