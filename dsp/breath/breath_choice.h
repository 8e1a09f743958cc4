/**
 * @file breath_choice.h
 * Which hypothesis about the breath's length is right, and how probable that is: small
 * networks score the numbers about each, and all compete with each other and with 'none
 * of them'. No allocation. The table is learned: dsp/breath/breath_weights.h.
 */
#ifndef FM_BREATH_CHOICE_H
#define FM_BREATH_CHOICE_H

#include "dsp/breath/breath_evidence.h"
#include "dsp/result.h"

/** Probabilities of the hypotheses. */
typedef struct fm_breath_choice {
    double probability[FM_BREATH_HYPOTHESES]; /**< with none they sum to 1 */
    double none;                              /**< that none of them is right */
    size_t best; /**< the hypothesis that gathers the most with its neighbours */
    double
        rate_per_min; /**< mean rate of the best and its neighbours, by probability */
    double gathered;  /**< their probability, 0..1 */
} fm_breath_choice;

/** Choose; cue FM_CUE_COUNT: by all numbers, else by what that cue alone says. */
void fm_breath_choose(const fm_breath_evidence *evidence,
                      int cue,
                      fm_breath_choice *out);

/** Probability of all hypotheses within 12 % of a rate. */
double fm_breath_gathered_at(const fm_breath_choice *c, double rate_per_min);

/**
 * The likeliest hypothesis that is not within 12 % of a rate.
 *
 * @return its place; its probability with its neighbours' in *gathered
 */
size_t fm_breath_alternative(const fm_breath_choice *c,
                             double rate_per_min,
                             double *gathered);

#endif
