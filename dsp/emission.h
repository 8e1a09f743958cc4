/**
 * @file emission.h
 * How much a candidate sounds like S1, like S2, or like neither. No allocation.
 */
#ifndef FM_EMISSION_H
#define FM_EMISSION_H

#include "dsp/candidates.h"

/**
 * Set score_s1 and score_s2 of every candidate (log likelihood ratio against neither).
 *
 * @param f              the features the candidates were found in
 * @param[in,out] c      c[0..n-1]
 */
void fm_emission_score(const fm_features *f, fm_candidate *c, size_t n);

#endif
