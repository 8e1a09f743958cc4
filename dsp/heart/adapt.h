/**
 * @file adapt.h
 * The second decoding: what this person's S1, S2 and everything else sounded like in a
 * first decoding re-scores every candidate. No allocation.
 */
#ifndef FM_ADAPT_H
#define FM_ADAPT_H

#include "dsp/heart/decoder.h"

enum {
    FM_CLASS_NUMBERS = 6 /**< numbers that describe a candidate's sound here */
};

/** Statistics of one class (S1, S2, neither): median and spread of each number. Plain value. */
typedef struct fm_class_statistics {
    float mean[FM_CLASS_NUMBERS];
    float sd[FM_CLASS_NUMBERS];
    size_t n;
} fm_class_statistics;

/**
 * Add what a path has taught to the candidates' scores.
 *
 * @param f               features the candidates were found in
 * @param[in]  first      first[0..n-1]: candidates with their first scores
 * @param path            a path over them
 * @param[out] second     second[0..n-1]: the same with new scores; may not overlap first
 */
void fm_adapt_scores(const fm_features *f,
                     const fm_candidate *first,
                     size_t n,
                     const fm_path *path,
                     fm_candidate *second);

#endif
