/**
 * @file confidence.h
 * What speaks for a count, as numbers, and the probability that its rate is within 3 of
 * the truth made from them. No allocation.
 */
#ifndef FM_CONFIDENCE_H
#define FM_CONFIDENCE_H

#include "dsp/heart/beats.h"
#include "dsp/heart/condition.h"

#include <stdbool.h>

enum {
    FM_EVIDENCE_SIZE = 29 + 2 * FM_PERTURBATIONS
};

/** Places in the evidence that reasons are chosen by. */
enum {
    FM_EVIDENCE_SCORE = 0,  /**< log likelihood ratio a beat */
    FM_EVIDENCE_MARGIN = 1, /**< the same over the best hypothesis with another count */
    FM_EVIDENCE_SURENESS = 2, /**< mean sureness of the beats, 0..1 */
    FM_EVIDENCE_ACF = 4,      /**< autocorrelation at the cycle */
    FM_EVIDENCE_ACF_AGREES =
        10, /**< 1: the autocorrelation alone gives the same cycle */
    FM_EVIDENCE_PERIODICITY = 11,  /**< periodicity of the bands, weighted */
    FM_EVIDENCE_PLAIN_AGREES = 14, /**< 1: loudness alone gives the same count */
    FM_EVIDENCE_HIGH_SHARE = 24,
    FM_EVIDENCE_FLATNESS = 25
};

/** The numbers; each about -1..1 or 0..4, see confidence.c. */
typedef struct fm_evidence {
    float value[FM_EVIDENCE_SIZE];
} fm_evidence;

/**
 * How clearly a beat stood out, 0..1.
 *
 * @param beats  decoded beats
 * @param i      index into beats->path of an S1
 */
float fm_sureness(const fm_beats *beats, size_t i);

/**
 * Gather the evidence.
 *
 * @param usable_share  share of the window that could be used, 0..1
 * @param window_s      length of the window
 */
void fm_evidence_gather(const fm_beats *beats,
                        const fm_features *f,
                        const fm_conditioned *conditioned,
                        double window_s,
                        double usable_share,
                        fm_evidence *out);

/** Probability that the rate is within 3 per minute of the truth, 0..1. */
double fm_confidence_estimate(const fm_evidence *e);

/**
 * Confidence from which a number is vouched for, and from which it is given at all, 0..1.
 * Part of the table (confidence_weights.h). Where they come from: tests/accuracy/train/README.md,
 * "The two bars".
 */
double fm_confidence_counted_from(void);
double fm_confidence_caution_from(void);

#endif
