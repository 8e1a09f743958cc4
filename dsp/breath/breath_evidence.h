/**
 * @file breath_evidence.h
 * Numbers for and against each hypothesis about how long a breath lasts: how alike the
 * sound is to itself a third, a half, one, one and a half ... breaths later, in loudness,
 * in timbre and in parts of the spectrum; the same likeness of the heart sounds' loudness
 * and of the beat intervals. Whole-segment. No allocation.
 *
 * The length itself is not among the numbers: every one is taken at multiples of it, so
 * that what is learned at one rate holds at another. A rate and its half or double differ
 * in how alike every other phase is: inspiration and expiration are two unlike sounds.
 *
 * Source: autocorrelation at multiples of a period to tell it from its multiples, as in
 *         "average magnitude difference" and comb methods of pitch and tempo (Ross et al.,
 *         IEEE Trans. ASSP 22 (1974) 353; Scheirer, J. Acoust. Soc. Am. 103 (1998) 588,
 *         both from memory); loudness and timbre kept apart, and the choice of multiples,
 *         are ours.
 */
#ifndef FM_BREATH_EVIDENCE_H
#define FM_BREATH_EVIDENCE_H

#include "dsp/breath/breath_cues.h"
#include "dsp/signal/autocorrelation.h"

enum {
    FM_BREATH_HYPOTHESES = 47, /**< breath lengths looked at, 70 to 4.8 a minute */
    FM_HEART_CHANNELS = FM_BREATH_CHANNELS - FM_BREATH_SOUND_CHANNELS,
    /* Which cues know a number. */
    FM_BY_NONE = 0,
    FM_BY_SOUND = 1 << FM_CUE_SOUND,
    FM_BY_LOUDNESS = 1 << FM_CUE_LOUDNESS,
    FM_BY_INTERVALS = 1 << FM_CUE_INTERVALS,
    FM_BY_HEART = FM_BY_LOUDNESS | FM_BY_INTERVALS,
    FM_BY_EACH = FM_BY_SOUND | FM_BY_HEART
};

/* clang-format off */
/* The sound beside itself so many breaths later, in one way. */
#define FM_ALIKE(X, way)                                                               \
    X(way##_THIRD, FM_BY_SOUND, 1.0 / 3.0) X(way##_HALF, FM_BY_SOUND, 0.5)             \
    X(way##_ONE, FM_BY_SOUND, 1.0) X(way##_ONE_HALF, FM_BY_SOUND, 1.5)                 \
    X(way##_TWO, FM_BY_SOUND, 2.0) X(way##_TWO_HALF, FM_BY_SOUND, 2.5)                 \
    X(way##_THREE, FM_BY_SOUND, 3.0) X(way##_FOUR, FM_BY_SOUND, 4.0)

/* One breath over its neighbours, half a breath over its own, one over a half and over two. */
#define FM_CONTRAST(X, way)                                                            \
    X(way##_TOP, FM_BY_SOUND, 0.0) X(way##_HALF_TOP, FM_BY_SOUND, 0.0)                 \
    X(way##_OVER_HALF, FM_BY_SOUND, 0.0) X(way##_OVER_TWO, FM_BY_SOUND, 0.0)

/* A heart channel beside itself so many breaths later; one breath over its neighbours. */
#define FM_HEART_ALIKE(X, channel, cue)                                                \
    X(channel##_HALF, cue, 0.5) X(channel##_ONE, cue, 1.0)                             \
    X(channel##_ONE_HALF, cue, 1.5) X(channel##_TWO, cue, 2.0)                         \
    X(channel##_THREE, cue, 3.0) X(channel##_TOP, cue, 0.0)

/**
 * The numbers about one hypothesis, X(name, cues that know it, how many of its breaths later it
 * looks, 0: at several places): enumerators FM_LENGTH_<name>. The evaluation writes names and
 * cues above its rows, and the table that is learned from those asserts the names
 * (breath_weights.h).
 */
#define FM_LENGTH_MAP(X)                                                               \
    FM_ALIKE(X, ALL) FM_ALIKE(X, LOUDNESS) FM_ALIKE(X, TIMBRE) FM_ALIKE(X, HIGH)       \
    FM_ALIKE(X, LOW)                                                                   \
    FM_ALIKE(X, EVEN) /* every band counts alike, however far it ranges */             \
    FM_ALIKE(X, EVEN_TIMBRE)                                                           \
    FM_CONTRAST(X, ALL) FM_CONTRAST(X, TIMBRE) FM_CONTRAST(X, EVEN)                    \
    FM_CONTRAST(X, EVEN_TIMBRE)                                                        \
    X(BREATHS, FM_BY_EACH, 0.0)  /* natural log of breaths in the segment */           \
    X(DEPTH, FM_BY_SOUND, 0.0)   /* natural log of how far the sound ranges */         \
    FM_HEART_ALIKE(X, S1, FM_BY_LOUDNESS) FM_HEART_ALIKE(X, S2, FM_BY_LOUDNESS)        \
    FM_HEART_ALIKE(X, INTERVAL, FM_BY_INTERVALS)                                       \
    X(HEARD, FM_BY_HEART, 0.0)   /* 1: a heart is */                                   \
    X(BEAT, FM_BY_HEART, 0.0)    /* natural log of a beat over the breath */           \
    X(IS_BEAT, FM_BY_HEART, 0.0) /* 1: the breath is as long as a beat */              \
    X(IS_TWO, FM_BY_HEART, 0.0)  /* 1: as two */                                       \
    X(BEATS, FM_BY_HEART, 0.0)   /* natural log of beats in the segment, less 4 */     \
    /* One breath later, under the most alike of all lengths. */                       \
    X(UNDER_ALL, FM_BY_SOUND, 1.0) X(UNDER_EVEN, FM_BY_SOUND, 1.0)                     \
    X(UNDER_EVEN_TIMBRE, FM_BY_SOUND, 1.0) X(UNDER_S1, FM_BY_LOUDNESS, 1.0)            \
    X(UNDER_S2, FM_BY_LOUDNESS, 1.0) X(UNDER_INTERVAL, FM_BY_INTERVALS, 1.0)           \
    X(UNDER_HEART, FM_BY_NONE, 1.0) /* the last three together */
/* clang-format on */

enum {
#define X(name, cues, breaths) FM_LENGTH_##name,
    FM_LENGTH_MAP(X)
#undef X
    FM_LENGTH_SIZE
};

/** The numbers: value[j] is about hypothesis j, by enumerator. */
typedef struct fm_breath_evidence {
    float value[FM_BREATH_HYPOTHESES][FM_LENGTH_SIZE];
} fm_breath_evidence;

enum {
    FM_LIKENESS_ROOM = FM_BREATH_LEVELS_MAX + FM_AUTOCORRELATION_ROOM,
    FM_LIKENESS_LAGS = 501, /**< 50 s: four breaths of the longest */
    FM_LIKENESS_SETS = 7    /**< ways in which the sound may be alike */
};

/** Working memory; contents are its own. */
typedef struct fm_breath_likeness {
    size_t n;
    size_t n_lags;
    float x[FM_BREATH_BANDS][FM_LIKENESS_ROOM]; /* levels, smoothed, without trend */
    float loudness[FM_LIKENESS_ROOM];           /* mean of the bands */
    float even[FM_LIKENESS_ROOM]; /* mean of the bands, each by its deviation */
    float running[FM_LIKENESS_ROOM + 1];
    float alike[FM_LIKENESS_SETS][FM_LIKENESS_LAGS];
    float heart[FM_HEART_CHANNELS][FM_LIKENESS_LAGS];
    bool has_heart[FM_HEART_CHANNELS];
    float deviation[FM_BREATH_BANDS];
} fm_breath_likeness;

/** Length of hypothesis j's breath, s: 0.857 s, and 6 % longer each. */
double fm_breath_hypothesis_s(size_t j);

/**
 * Gather the numbers.
 *
 * @param beat_s  typical S1-S1 interval; 0: no heart is heard
 */
void fm_breath_evidence_gather(fm_breath_likeness *l,
                               const fm_breath_series *series,
                               double beat_s,
                               fm_breath_evidence *out);

#endif
