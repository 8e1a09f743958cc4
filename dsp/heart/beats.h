/**
 * @file beats.h
 * S1 and S2 of one segment: several hypotheses about the cycle (half and double rates
 * among them) are decoded, the best few refined to this person's own systole and local
 * rate, and the most likely kept. No allocation.
 */
#ifndef FM_BEATS_H
#define FM_BEATS_H

#include "dsp/heart/decoder.h"
#include "dsp/heart/ensemble.h"

/** What was decoded, and what speaks for and against it. */
typedef struct fm_beats {
    fm_candidate *candidates; /**< candidates[0..n_candidates-1], owned by the finder */
    size_t n_candidates;
    fm_path path;             /**< labels; index into candidates */
    fm_hypothesis hypothesis; /**< refined; local_cycle_s is not kept (NULL) */
    double missed_share; /**< candidates left over that the network takes for a heart
                                   sound, per beat */
    double
        like_left_share; /**< candidates left over that are like this segment's S1 and
                                 about as loud, per beat: early beats that were passed
                                 over, or third sounds as loud as the first */
    double
        like_left_spread_s; /**< how their distance from the S2 before them spreads */
    double loud_left_share; /**< the same of all that are as loud, whatever the network
                                 takes them for */
    double loud_left_spread_s;
    /** What other decodings find; all 0 with fewer than two S1. */
    fm_disagreement disagreement[FM_ENSEMBLE_SIZE];
    double rest_score;  /**< mean of the network's better score over those left over */
    size_t plain_n_s1;  /**< S1 found when loudness alone scores the candidates: a
                                   second decoding that knows nothing of spectra */
    double score_per_s; /**< log likelihood ratio per second */
    /** Of the best refined hypothesis with another beat count (more than 4 % away); -inf
     * and NaN when there is none. */
    double alternative_score_per_s;
    double alternative_cycle_s;
    double acf_at_cycle; /**< envelope autocorrelation at the cycle found, -1..1 */
    double acf_cycle_s;  /**< cycle by the autocorrelation alone, the independent
                                   second estimate; NaN when there is none */
} fm_beats;

enum {
    FM_BEATS_LAGS =
        FM_LAG_LAST + 21, /**< to 2.2 s: a top at the last lag has two sides */
    FM_BEATS_HYPOTHESES = 96,
    FM_BEATS_BEST_FEW = 5
};

/** Working memory; contents are its own. All zero before its first use. */
typedef struct fm_beat_finder {
    fm_candidate candidates[FM_CANDIDATES_MAX]; /* with the network's scores */
    fm_candidate adapted[FM_CANDIDATES_MAX];    /* with this person's */
    const fm_features *features;
    fm_decoder_memory decoder;
    fm_path paths[FM_BEATS_BEST_FEW];
    fm_path trial;
    fm_ensemble ensemble;
    fm_hypothesis hypotheses[FM_BEATS_HYPOTHESES];
    double scores[FM_BEATS_HYPOTHESES];
    size_t n_hypotheses;
    float local_cycle_s[FM_BEATS_BEST_FEW][FM_CANDIDATES_MAX];
    float acf[FM_BEATS_LAGS];
    size_t n_lags;
    double segment_s;
    double noise_per_s;
    size_t n_candidates;
} fm_beat_finder;

/**
 * Find the beats of a segment.
 *
 * @param m    the maker that made f (its working memory is used)
 * @param f    features
 * @param[out] out  path.n = 0 when nothing was found; candidates valid until next call
 */
void fm_beats_find(fm_beat_finder *b,
                   fm_feature_maker *m,
                   const fm_features *f,
                   fm_beats *out);

#endif
