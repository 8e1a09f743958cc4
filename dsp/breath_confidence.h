/**
 * @file breath_confidence.h
 * How probable it is that the rate of breathing printed is within 2 of the truth: a small
 * learned table over what speaks for and against it. No allocation.
 *
 * Learned: tests/accuracy/train, on the answers of networks that had not learned from the
 * person; dsp/breath_confidence_weights.h.
 */
#ifndef FM_BREATH_CONFIDENCE_H
#define FM_BREATH_CONFIDENCE_H

#include "dsp/breath_choice.h"
#include "dsp/breath_place.h"

/** What is looked at: enumerator, name in the file that is learned from. */
#define FM_BREATH_GROUND_MAP(X)                                                        \
    X(FM_GROUND_GATHERED, "gathered")   /* logit of the probability near the rate */   \
    X(FM_GROUND_NONE, "none")           /* logit that no hypothesis is right */        \
    X(FM_GROUND_RIVAL, "rival")         /* logit of the likeliest other rate */        \
    X(FM_GROUND_OCTAVE, "octave")       /* logit of the half and the double rate */    \
    X(FM_GROUND_OFF, "off")             /* printed rate off the hypothesis, log */     \
    X(FM_GROUND_ASTRAY, "astray")       /* median breath off the rate, log */          \
    X(FM_GROUND_CV, "cv")               /* spread of the breaths' lengths */           \
    X(FM_GROUND_MOVES, "moves")         /* cost of uneven going */                     \
    X(FM_GROUND_EXPLAINED, "explained") /* log of variance over what is left */        \
    X(FM_GROUND_BREATHS, "breaths")     /* log of the complete breaths */              \
    X(FM_GROUND_WINDOW, "window")       /* log of the window, in minutes */            \
    X(FM_GROUND_LOBES, "lobes")         /* 1 where two lobes a breath are heard */     \
    X(FM_GROUND_SOUND, "sound")         /* probability near the rate, sound alone */   \
    X(FM_GROUND_LOUDNESS, "loudness")   /* loudness alone */                           \
    X(FM_GROUND_INTERVALS, "intervals") /* beat intervals alone */                     \
    X(FM_GROUND_BY_SOUND, "by sound")   /* 1 where the breaths are placed by sound */

typedef enum fm_breath_ground {
#define X(name, word) name,
    FM_BREATH_GROUND_MAP(X)
#undef X
    FM_BREATH_GROUND_COUNT
} fm_breath_ground;

/** The numbers, by enumerator. */
typedef struct fm_breath_grounds {
    float value[FM_BREATH_GROUND_COUNT];
} fm_breath_grounds;

/** The name of a ground ("gathered"); never NULL. */
const char *fm_breath_ground_word(fm_breath_ground ground);

/**
 * Gather the numbers.
 *
 * @param choice    choice[0..FM_CUE_COUNT]: by each cue alone, then by all
 * @param cue       what the breaths were placed by
 * @param complete  complete breaths, >= 0
 * @param r         window and the rate printed, > 0
 */
void fm_breath_grounds_gather(const fm_breath_choice *choice,
                              const fm_breath_places *places,
                              fm_cue cue,
                              int complete,
                              const fm_breath *r,
                              fm_breath_grounds *out);

/** The probability, 0..1. */
double fm_breath_confidence(const fm_breath_grounds *g);

#endif
