/**
 * @file breath_evidence.h
 * Numbers for and against each hypothesis about how long a breath lasts: how alike the
 * sound is to itself a third, a half, one, one and a half ... breaths later, in loudness,
 * in timbre and in parts of the spectrum; the same likeness of the heart sounds' loudness
 * and of the beat intervals. Whole-segment. All memory is taken at create.
 *
 * The length itself is not among the numbers: every one is taken at multiples of it, so
 * that what is learned at one rate holds at another. A rate and its half or double differ
 * in how alike every other phase is: inspiration and expiration are two unlike sounds.
 *
 * Source: autocorrelation at multiples of a period to tell it from its multiples, as in
 *         "average magnitude difference" and comb methods of pitch and tempo (Ross et al.,
 *         IEEE Trans. ASSP 22 (1974) 353; Scheirer, J. Acoust. Soc. Am. 103 (1998) 588,
 *         both from memory); loudness and timbre kept apart, and the choice of multiples,
 *         are ours.
 */
#ifndef FM_BREATH_EVIDENCE_H
#define FM_BREATH_EVIDENCE_H

#include "dsp/breath/breath_cues.h"

enum {
    FM_BREATH_HYPOTHESES = 47, /**< breath lengths looked at, 70 to 4.8 a minute */
    FM_SIMILARITY_SETS = 7,    /**< ways in which the sound may be alike */
    FM_SIMILARITY_TIMES = 8,   /**< multiples of the breath's length looked at */
    FM_HEART_NUMBERS = 6,      /**< of each heart channel */
    FM_HEART_CHANNELS = FM_BREATH_CHANNELS - FM_BREATH_SOUND_CHANNELS,
    /* Where each group of numbers begins. */
    FM_EVIDENCE_SIMILARITY = 0,
    FM_EVIDENCE_CONTRAST = FM_SIMILARITY_SETS * FM_SIMILARITY_TIMES,
    FM_EVIDENCE_BREATHS =
        FM_EVIDENCE_CONTRAST + 16, /**< log of breaths in the segment */
    FM_EVIDENCE_DEPTH,             /**< log of how far the sound ranges */
    FM_EVIDENCE_HEART,
    FM_EVIDENCE_BEAT = FM_EVIDENCE_HEART + FM_HEART_CHANNELS * FM_HEART_NUMBERS,
    FM_EVIDENCE_UNDER =
        FM_EVIDENCE_BEAT + 5, /**< under the most alike of all lengths */
    FM_BREATH_UNDER = 7,
    FM_BREATH_EVIDENCE = FM_EVIDENCE_UNDER + FM_BREATH_UNDER /**< of one hypothesis */
};

/** The numbers: value[j] is about hypothesis j. */
typedef struct fm_breath_evidence {
    float value[FM_BREATH_HYPOTHESES][FM_BREATH_EVIDENCE];
} fm_breath_evidence;

/** Working memory; contents are its own. Opaque. */
typedef struct fm_breath_likeness fm_breath_likeness;

/** New working memory; NULL when memory is short. Free with fm_breath_likeness_destroy. */
fm_breath_likeness *fm_breath_likeness_create(void);

/** Frees l; NULL is allowed. */
void fm_breath_likeness_destroy(fm_breath_likeness *l);

/** Length of hypothesis j's breath, s: 0.857 s, and 6 % longer each. */
double fm_breath_hypothesis_s(size_t j);

/**
 * Gather the numbers.
 *
 * @param beat_s  typical S1-S1 interval; 0: no heart is heard
 */
void fm_breath_evidence_gather(fm_breath_likeness *l,
                               const fm_breath_series *series,
                               double beat_s,
                               fm_breath_evidence *out);

#endif
