/**
 * @file emission.h
 * How much a candidate sounds like S1, like S2, or like neither: a few small networks over
 * the candidate's patch, and the mean of what they say. No allocation.
 *
 * Each network has two hidden layers of rectified units and three outputs (neither, S1,
 * S2). They differ only in the numbers their training began with, so where a sound is
 * clear they agree, and where they do not it is not. The weights are the plain table in
 * emission_weights.h, learned by tests/accuracy/train/train_emission.py; its README says on
 * what.
 */
#ifndef FM_EMISSION_H
#define FM_EMISSION_H

#include "dsp/heart/candidates.h"

enum {
    FM_EMISSION_MEMBERS = 3, /**< networks */
    FM_EMISSION_HIDDEN_1 = 128,
    FM_EMISSION_HIDDEN_2 = 48,
    FM_EMISSION_CLASSES = 3 /**< neither, S1, S2 */
};

/** What one network says of every candidate; as score_s1 and score_s2 of a candidate. */
typedef struct fm_network_scores {
    float score_s1[FM_CANDIDATES_MAX];
    float score_s2[FM_CANDIDATES_MAX];
} fm_network_scores;

/**
 * Set score_s1 and score_s2 of every candidate (log likelihood ratio against neither):
 * the mean over the networks.
 *
 * @param f              the features the candidates were found in
 * @param[in,out] c      c[0..n-1]
 * @param[out] network_scores  network_scores[0..FM_EMISSION_MEMBERS-1]: what each said, the first n
 *                       of it; NULL when nobody asks
 */
void fm_emission_score(const fm_features *f,
                       fm_candidate *c,
                       size_t n,
                       fm_network_scores *network_scores);

#endif
