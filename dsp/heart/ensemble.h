/**
 * @file ensemble.h
 * An ensemble of decodings of the same segment: by each network's scores alone, and with the
 * mean of all perturbed: raised a little, lowered a little, and under a rhythm of less
 * order. Where they find another rate, or other beats, the count depends on a detail. No
 * allocation.
 *
 * Source: a committee's disagreement as a sign of error, as in Seung, Opper and Sompolinsky,
 *         "Query by committee", COLT 1992 (from memory); here over whole decodings.
 */
#ifndef FM_ENSEMBLE_H
#define FM_ENSEMBLE_H

#include "dsp/heart/decoder.h"
#include "dsp/heart/emission.h"

enum {
    /* Behind the networks come perturbations of their mean. */
    FM_PERTURBED_UP = 0,
    FM_PERTURBED_DOWN = 1,
    FM_PERTURBED_RHYTHM = 2, /**< expects less order */
    FM_PERTURBATIONS = 3,
    FM_ENSEMBLE_SIZE = FM_EMISSION_MEMBERS + FM_PERTURBATIONS
};

/** How one decoding differs from the path that was chosen. */
typedef struct fm_disagreement {
    double off_bpm; /**< its rate less the chosen one's, by the first and last S1 */
    double differ;  /**< S1 in one path and not, within 60 ms, in the other, per beat */
} fm_disagreement;

/** Working memory; contents are its own. */
typedef struct fm_ensemble {
    /** By fm_emission_score, before the first round. */
    fm_network_scores network_scores[FM_EMISSION_MEMBERS];
    fm_candidate scored[FM_ENSEMBLE_SIZE][FM_CANDIDATES_MAX];
    float local_cycle_s[FM_ENSEMBLE_SIZE][FM_CANDIDATES_MAX];
    size_t round;                          /* the next */
    fm_hypothesis tried[FM_ENSEMBLE_SIZE]; /* in this round */
    fm_hypothesis best[FM_ENSEMBLE_SIZE];
    double score[FM_ENSEMBLE_SIZE]; /* of the hypothesis it finds most likely so far */
    fm_path path[FM_ENSEMBLE_SIZE];
    fm_disagreement disagreement[FM_ENSEMBLE_SIZE]; /**< the result */
} fm_ensemble;

/** What is decoded. */
typedef struct fm_ensemble_input {
    const fm_candidate *candidates; /**< candidates[0..n-1] with the networks' mean */
    size_t n;
    double segment_s;
    double noise_per_s;
    const fm_hypothesis *hypotheses; /**< hypotheses[0..n_hypotheses-1]: each member
                                           takes the one it finds most likely */
    const double *priors;            /**< log, priors[0..n_hypotheses-1] */
    size_t n_hypotheses;             /**< 1 or more */
    const fm_path *chosen;           /**< 2 S1 or more */
} fm_ensemble_input;

/** Before the first round: the scores of every member. */
void fm_ensemble_begin(const fm_ensemble_input *q, fm_ensemble *p);

/**
 * The next round, to be decoded in lanes 0 to FM_ENSEMBLE_SIZE - 1, with other decodings
 * behind them or not; fm_ensemble_keep comes before the round after it. There is one round
 * for each hypothesis, and one for the likeliest fitted to what was found.
 *
 * @param[out] decoding  decoding[0..FM_ENSEMBLE_SIZE-1]
 * @return FM_ENSEMBLE_SIZE, or 0 after the last round: then nothing is written
 */
size_t fm_ensemble_next(const fm_ensemble_input *q,
                        fm_ensemble *p,
                        fm_decoding *decoding);

/** What the decoder made of the last round. */
void fm_ensemble_keep(const fm_ensemble_input *q,
                      const fm_decoder_memory *m,
                      fm_ensemble *p);

/** After the last round: sets p->disagreement. */
void fm_ensemble_compare(const fm_ensemble_input *q, fm_ensemble *p);

#endif
