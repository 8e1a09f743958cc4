/**
 * @file features.h
 * Log band energies of one window at 100 frames a second, levelled against their own
 * local floor, and the combined envelope in which heart sounds stand out; mono,
 * whole-signal. All memory is taken at create.
 *
 * Frame k is centred on sample k * FM_FRAME_SAMPLES of the working signal.
 */
#ifndef FM_FEATURES_H
#define FM_FEATURES_H

#include "dsp/segment.h"
#include "dsp/status.h"

#include <stddef.h>

#define FM_FRAME_RATE_HZ 100.0 /**< frames per second */

enum {
    FM_LAG_FIRST = 27, /**< frames: 222 per minute, over the fastest that is counted */
    FM_LAG_LAST = 200, /**< 30 per minute */
    FM_BANDS = 8,      /**< bands, low to high; limits in features.c */
    FM_LOW_BANDS = 3,  /**< the first of them lie below 150 Hz */
    FM_FRAME_SAMPLES = 20, /**< working samples from frame to frame */
    FM_FRAMES_MAX = FM_SEGMENT_SAMPLES / FM_FRAME_SAMPLES + 1
};

/** Features of one segment. Arrays belong to the fm_feature_maker that filled them. */
typedef struct fm_features {
    size_t n_frames;
    float
        *level[FM_BANDS]; /**< level[b][0..n_frames-1]: 0 at the local floor, about 1 at
                                 the louder heart sounds of the window; dimensionless */
    float *
        power[FM_BANDS]; /**< power[b][0..n_frames-1]: band power, full scale squared */
    double high_share;   /**< share of the power that lies above 211 Hz, 0..1 */
    double flatness; /**< spectral flatness from 117 to 898 Hz, weighted by power: noise
                              about 0.55, speech and tunes well under 0.3 */
    float *envelope; /**< envelope[0..n_frames-1]: weighted mean of the levels */
    double weight[FM_BANDS]; /**< share of each band in the envelope, sum 1 */
    double
        periodicity[FM_BANDS]; /**< highest autocorrelation of each band's level between
                                       0.27 s and 2 s, -1..1 */
} fm_features;

/** Opaque; see fm_feature_maker_destroy. */
typedef struct fm_feature_maker fm_feature_maker;

/** New maker with all its memory; NULL when memory is short. */
fm_feature_maker *fm_feature_maker_create(void);

/** Frees m and every array it handed out; NULL is allowed. */
void fm_feature_maker_destroy(fm_feature_maker *m);

/**
 * Features of one segment.
 *
 * @param[in]  x    x[0..n-1] at FM_WORK_RATE_HZ, full scale +/-1, no DC
 * @param n         1 s .. FM_SEGMENT_SAMPLES
 * @param[out] f    filled; arrays are valid until the next call or destroy
 * @return FM_OK; FM_ERR_SHORT or FM_ERR_ARG (f untouched)
 */
fm_status fm_features_make(fm_feature_maker *m,
                           const float *x,
                           size_t n,
                           fm_features *f);

/**
 * Autocorrelation of a frame series with its mean removed.
 *
 * @param[in]  x  x[0..n-1], 2 <= n <= FM_FRAMES_MAX
 * @param[out] r  r[0..n_lags-1], r[0] = 1
 * @return FM_OK, or FM_ERR_ARG
 */
fm_status fm_features_autocorrelation(
    fm_feature_maker *m, const float *x, size_t n, float *r, size_t n_lags);

#endif
