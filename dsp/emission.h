/**
 * @file emission.h
 * How much a candidate sounds like S1, like S2, or like neither: a small network over the
 * candidate's patch. No allocation.
 *
 * Two hidden layers of rectified units, three outputs (neither, S1, S2). The weights are
 * the plain table in emission_weights.h, learned by tests/accuracy/train_emission.py,
 * which says on what.
 */
#ifndef FM_EMISSION_H
#define FM_EMISSION_H

#include "dsp/candidates.h"

enum {
    FM_EMISSION_HIDDEN_1 = 48,
    FM_EMISSION_HIDDEN_2 = 24,
    FM_EMISSION_CLASSES = 3 /**< neither, S1, S2 */
};

/**
 * Set score_s1 and score_s2 of every candidate (log likelihood ratio against neither).
 *
 * @param f              the features the candidates were found in
 * @param[in,out] c      c[0..n-1]
 */
void fm_emission_score(const fm_features *f, fm_candidate *c, size_t n);

#endif
