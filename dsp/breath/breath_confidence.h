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

/**
 * What is looked at: enumerators FM_GROUND_<name>. The evaluation writes the names above its
 * rows, and the table that is learned from those asserts them (breath_confidence_weights.h).
 */
#define FM_GROUND_MAP(X)                                                               \
    X(GATHERED)    /* logit of the probability near the rate */                        \
    X(NONE)        /* logit that no hypothesis is right */                             \
    X(ALTERNATIVE) /* logit of the likeliest other rate */                             \
    X(OCTAVE)      /* logit of the half and the double rate */                         \
    X(OFF)         /* printed rate off the hypothesis, natural log */                  \
    X(ASTRAY)      /* median breath off the rate, natural log */                       \
    X(CV)          /* spread of the breaths' lengths */                                \
    X(TRANSITIONS) /* cost of uneven transitions */                                    \
    X(EXPLAINED)   /* natural log of variance over what is left */                     \
    X(BREATHS)     /* natural log of the complete breaths */                           \
    X(WINDOW)      /* natural log of the window, in minutes */                         \
    X(LOBES)       /* 1 where two lobes a breath are heard */                          \
    X(SOUND)       /* probability near the rate by the sound alone */                  \
    X(LOUDNESS)    /* by the loudness of heart sounds alone */                         \
    X(INTERVALS)   /* by the beat intervals alone */                                   \
    X(BY_SOUND)    /* 1 where the breaths are placed by sound */

enum {
#define X(name) FM_GROUND_##name,
    FM_GROUND_MAP(X)
#undef X
    FM_GROUND_SIZE
};

/** The numbers, by enumerator. */
typedef struct fm_breath_grounds {
    float value[FM_GROUND_SIZE];
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
