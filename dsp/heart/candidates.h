/**
 * @file candidates.h
 * Places where a heart sound may be: local maxima of the combined envelope, each with
 * scores for being S1, S2 or neither; whole-segment, mono. No allocation.
 */
#ifndef FM_CANDIDATES_H
#define FM_CANDIDATES_H

#include "dsp/heart/features.h"

/* clang-format off */
/* A band's level so many frames (10 ms) before (B) and after (A) the candidate. */
#define FM_PATCH_LEVELS(X, b)                                                          \
    X(LEVEL_##b##_B14, -14) X(LEVEL_##b##_B9, -9) X(LEVEL_##b##_B6, -6)                \
    X(LEVEL_##b##_B3, -3) X(LEVEL_##b##_0, 0) X(LEVEL_##b##_A3, 3)                     \
    X(LEVEL_##b##_A6, 6) X(LEVEL_##b##_A9, 9) X(LEVEL_##b##_A14, 14)

/* Two lower and three higher bands further away, where the neighbouring sounds lie. */
#define FM_PATCH_FURTHER(X, at, frames) X(LOW_##at, frames) X(HIGH_##at, frames)

/**
 * The numbers of a patch, X(name, frames from the candidate): enumerators FM_PATCH_<name>.
 * accuracy_export writes their names above its patches, and the table that is learned from those
 * asserts them (emission_weights.h).
 */
#define FM_PATCH_MAP(X)                                                                \
    FM_PATCH_LEVELS(X, 0) FM_PATCH_LEVELS(X, 1) FM_PATCH_LEVELS(X, 2)                  \
    FM_PATCH_LEVELS(X, 3) FM_PATCH_LEVELS(X, 4) FM_PATCH_LEVELS(X, 5)                  \
    FM_PATCH_LEVELS(X, 6) FM_PATCH_LEVELS(X, 7)                                        \
    FM_PATCH_FURTHER(X, B76, -76) FM_PATCH_FURTHER(X, B66, -66)                        \
    FM_PATCH_FURTHER(X, B57, -57) FM_PATCH_FURTHER(X, B50, -50)                        \
    FM_PATCH_FURTHER(X, B44, -44) FM_PATCH_FURTHER(X, B38, -38)                        \
    FM_PATCH_FURTHER(X, B33, -33) FM_PATCH_FURTHER(X, B28, -28)                        \
    FM_PATCH_FURTHER(X, B23, -23) FM_PATCH_FURTHER(X, B18, -18)                        \
    FM_PATCH_FURTHER(X, A18, 18) FM_PATCH_FURTHER(X, A23, 23)                          \
    FM_PATCH_FURTHER(X, A28, 28) FM_PATCH_FURTHER(X, A33, 33)                          \
    FM_PATCH_FURTHER(X, A38, 38) FM_PATCH_FURTHER(X, A44, 44)                          \
    FM_PATCH_FURTHER(X, A50, 50) FM_PATCH_FURTHER(X, A57, 57)                          \
    FM_PATCH_FURTHER(X, A66, 66) FM_PATCH_FURTHER(X, A76, 76)                          \
    X(HEIGHT, 0) X(PROMINENCE, 0)                                                      \
    X(HIGHEST_BEFORE, -40) X(HIGHEST_AFTER, 40) /* envelope, from 12 frames on */      \
    X(WEIGHT_0, 0) X(WEIGHT_1, 0) X(WEIGHT_2, 0) X(WEIGHT_3, 0) /* of the bands, */    \
    X(WEIGHT_4, 0) X(WEIGHT_5, 0) X(WEIGHT_6, 0) X(WEIGHT_7, 0) /* four times */       \
    X(HEIGHT_30, 0) X(HEIGHT_60, 0) X(HEIGHT_80, 0) X(HEIGHT_95, 0) /* quantiles */
/* clang-format on */

enum {
#define X(name, frames) FM_PATCH_##name,
    FM_PATCH_MAP(X)
#undef X
    FM_PATCH_SIZE,
    FM_PATCH_STEPS = FM_PATCH_LEVEL_1_B14, /**< frames of each band a patch looks at */
    FM_PATCH_MINUTE = FM_PATCH_SIZE - FM_PATCH_WEIGHT_0, /**< of the whole segment */
    FM_CANDIDATES_MAX = 2048                             /**< 68 s at 30 a second */
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
 * What the sound looks like around a candidate (FM_PATCH_MAP); last, what the whole
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
 * What all candidates of a segment are like: the last FM_PATCH_MINUTE numbers of a patch.
 *
 * @param c           c[0..n-1], n <= FM_CANDIDATES_MAX
 * @param[out] minute minute[0..FM_PATCH_MINUTE-1]
 */
void fm_candidates_summary(const fm_features *f,
                           const fm_candidate *c,
                           size_t n,
                           float *minute);

#endif
