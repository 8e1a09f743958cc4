/**
 * @file breath_confidence.h
 * How probable it is that the rate of breathing printed is within 2 of the truth: a small
 * learned table over what speaks for and against it. No allocation.
 *
 * Learned: tests/accuracy/train, on the answers of networks that had not learned from the
 * person; dsp/breath/breath_confidence_weights.h.
 */
#ifndef FM_BREATH_CONFIDENCE_H
#define FM_BREATH_CONFIDENCE_H

#include "dsp/breath/breath_choice.h"
#include "dsp/breath/breath_onsets.h"

/** What is looked at; tests/accuracy/train/breath_rows.py reads them in this order. */
typedef enum fm_breath_ground {
    FM_GROUND_GATHERED,    /**< logit of the probability near the rate */
    FM_GROUND_NONE,        /**< logit that no hypothesis is right */
    FM_GROUND_ALTERNATIVE, /**< logit of the likeliest other rate */
    FM_GROUND_OCTAVE,      /**< logit of the half and the double rate */
    FM_GROUND_OFF,         /**< printed rate off the hypothesis, natural log */
    FM_GROUND_ASTRAY,      /**< median breath off the rate, natural log */
    FM_GROUND_CV,          /**< spread of the breaths' lengths */
    FM_GROUND_TRANSITIONS, /**< cost of uneven transitions */
    FM_GROUND_EXPLAINED,   /**< natural log of variance over what is left */
    FM_GROUND_BREATHS,     /**< natural log of the complete breaths */
    FM_GROUND_WINDOW,      /**< natural log of the window, in minutes */
    FM_GROUND_LOBES,       /**< 1 where two lobes a breath are heard */
    FM_GROUND_SOUND,       /**< probability near the rate by the sound alone */
    FM_GROUND_LOUDNESS,    /**< by the loudness of heart sounds alone */
    FM_GROUND_INTERVALS,   /**< by the beat intervals alone */
    FM_GROUND_BY_SOUND,    /**< 1 where the breaths are placed by sound */
    FM_BREATH_GROUND_COUNT
} fm_breath_ground;

/** The numbers, by enumerator. */
typedef struct fm_breath_grounds {
    float value[FM_BREATH_GROUND_COUNT];
} fm_breath_grounds;

/**
 * Gather the numbers.
 *
 * @param choice    choice[0..FM_CUE_COUNT]: by each cue alone, then by all
 * @param cue       what the breaths were placed by
 * @param complete  complete breaths, >= 0
 * @param r         window and the rate printed, > 0
 */
void fm_breath_grounds_gather(const fm_breath_choice *choice,
                              const fm_breath_onsets *onsets,
                              fm_cue cue,
                              int complete,
                              const fm_breath *r,
                              fm_breath_grounds *out);

/** The probability, 0..1. */
double fm_breath_confidence(const fm_breath_grounds *g);

#endif
