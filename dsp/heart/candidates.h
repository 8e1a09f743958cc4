/**
 * @file candidates.h
 * Places where a heart sound may be: local maxima of the combined envelope, each with
 * scores for being S1, S2 or neither; whole-segment, mono. No allocation.
 */
#ifndef FM_CANDIDATES_H
#define FM_CANDIDATES_H

#include "dsp/heart/features.h"

enum {
    FM_CANDIDATES_MAX = 2048, /**< 68 s at 30 a second */
    FM_PATCH_STEPS = 9,       /**< frames of each band a patch looks at */
    FM_CONTEXT_STEPS = 20,    /**< frames further away, of a low and a high envelope */
    FM_PATCH_EXTRAS = 4,      /**< height, prominence, neighbours */
    FM_PATCH_MINUTE = FM_BANDS + 4, /**< what the whole segment is like */
    FM_PATCH_SIZE = FM_BANDS * FM_PATCH_STEPS + 2 * FM_CONTEXT_STEPS + FM_PATCH_EXTRAS +
                    FM_PATCH_MINUTE
};

/** One candidate. */
typedef struct fm_candidate {
    double time_s;    /**< of the envelope's maximum, from the start of the segment */
    size_t frame;     /**< nearest frame */
    float height;     /**< envelope there, in units of a loud heart sound */
    float prominence; /**< of the envelope's maximum */
    float score_s1;   /**< log likelihood ratio, S1 against neither */
    float score_s2;   /**< log likelihood ratio, S2 against neither */
} fm_candidate;

/**
 * Find all candidates of a segment; scores are left 0.
 *
 * @param[in]  f    features
 * @param[out] c    c[0..max-1], in order of time
 * @return number found, at most max
 */
size_t fm_candidates_find(const fm_features *f, fm_candidate *c, size_t max);

/**
 * What the sound looks like around a candidate: every band's level at FM_PATCH_STEPS
 * offsets, a low and a high envelope at FM_CONTEXT_STEPS offsets further away, then
 * height, prominence and the highest neighbours before and after; last, what the whole
 * segment is like, so that a faint sound is judged by how loud this segment's sounds are.
 *
 * @param minute        minute[0..FM_PATCH_MINUTE-1], from fm_candidates_summary
 * @param[out] patch  patch[0..FM_PATCH_SIZE-1], dimensionless, about -1..2
 */
void fm_candidate_patch(const fm_features *f,
                        const fm_candidate *c,
                        const float *minute,
                        float *patch);

/**
 * What all candidates of a segment are like: the bands' weights and four quantiles of
 * the candidates' heights.
 *
 * @param c           c[0..n-1], n <= FM_CANDIDATES_MAX
 * @param[out] minute minute[0..FM_PATCH_MINUTE-1]
 */
void fm_candidates_summary(const fm_features *f,
                           const fm_candidate *c,
                           size_t n,
                           float *minute);

#endif
