/**
 * @file confidence.h
 * What speaks for a count, as numbers, and the probability that its rate is within 3 of
 * the truth made from them. No allocation.
 */
#ifndef FM_CONFIDENCE_H
#define FM_CONFIDENCE_H

#include "dsp/heart/beats.h"
#include "dsp/heart/condition.h"

/**
 * The numbers, each about -1..1 or 0..4: enumerators FM_EVIDENCE_<name>. accuracy_export writes
 * their names above its rows, and the table that is learned from those asserts them
 * (confidence_weights.h), so it can be read by no other order.
 */
#define FM_EVIDENCE_MAP(X)                                                             \
    X(SCORE)        /* log likelihood ratio a beat, a quarter of it */                 \
    X(MARGIN)       /* the same over the best hypothesis with another count */         \
    X(SURENESS)     /* mean sureness of the beats, 0..1 */                             \
    X(UNSURE)       /* share of the beats with a sureness under a half */              \
    X(ACF)          /* autocorrelation at the cycle */                                 \
    X(LOOSENESS)    /* scale of |ln(diastole / expected)|, four times */               \
    X(SURPRISE)     /* share of intervals out of step, four times */                   \
    X(S2_DETECTED)  /* probability that S2 is among the candidates */                  \
    X(SYSTOLE_SD)   /* spread of systole, in 50 ms */                                  \
    X(SYSTOLE_OFF)  /* systole off what the rate leads one to expect, in 30 ms */      \
    X(ACF_AGREES)   /* 1: the autocorrelation alone gives the same cycle */            \
    X(PERIODICITY)  /* of the bands, weighted */                                       \
    X(HEIGHT_RANGE) /* of the candidates: quantile 0.95 less 0.3 */                    \
    X(HEIGHT_STEP)  /* quantile 0.8 less 0.6 */                                        \
    X(PLAIN_AGREES) /* 1: loudness alone gives the same count */                       \
    X(RMSSD)        /* of the intervals over their mean, twice */                      \
    X(PLAIN_OFF)    /* count by loudness alone off ours, in quarters of it */          \
    X(WINDOW)       /* natural log of the window, in minutes */                        \
    X(LINES)        /* share of the power in narrow steady lines */                    \
    X(HIGH_WEIGHT)  /* weight of the upper four bands */                               \
    X(CANDIDATES)   /* a second, in tens */                                            \
    X(UNUSABLE)     /* share of the window */                                          \
    X(MISSED)       /* candidates left over that sound like the heart, a beat */       \
    X(REST)         /* mean score of those left over, a quarter */                     \
    X(HIGH_SHARE)   /* of the power (features.h) */                                    \
    X(FLATNESS)     /* of the spectrum (features.h) */                                 \
    X(NETWORKS_OFF) /* rates by single networks off ours, in 3 per minute, mean */     \
    X(NETWORKS_FURTHEST) /* the same of the furthest */                                \
    X(NETWORKS_DIFFER)   /* beats that differ there, in quarters of them, mean */      \
    X(UP_OFF)            /* rate with raised scores off ours, in 3 per minute */       \
    X(DOWN_OFF)          /* with lowered scores */                                     \
    X(RHYTHM_OFF)        /* with less order expected */                                \
    X(UP_DIFFER)         /* beats that differ, in quarters of them */                  \
    X(DOWN_DIFFER)                                                                     \
    X(RHYTHM_DIFFER)

enum {
#define X(name) FM_EVIDENCE_##name,
    FM_EVIDENCE_MAP(X)
#undef X
    FM_EVIDENCE_SIZE
};

/** The numbers, by enumerator. */
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

/** Confidence from which a number is vouched for, and from which it is given at all. Chosen by hand
 * beside the rule's (0.96 and 0.84): tests/accuracy/train/README.md, The two bars, says from what. */
#define FM_COUNTED_FROM 0.93
#define FM_CAUTION_FROM 0.50

#endif
