/**
 * @file peaks.h
 * Local maxima with their prominence, and order statistics; whole-signal, mono.
 *
 * Source: prominence as in topography (the height over the higher of the two side
 *         minima up to a higher peak or the edge); checked against SciPy's find_peaks.
 */
#ifndef FM_PEAKS_H
#define FM_PEAKS_H

#include <stddef.h>

/** One local maximum. */
typedef struct fm_peak {
    size_t index;     /**< sample, or the middle of a flat top (rounded down) */
    float height;     /**< x[index] */
    float prominence; /**< height over the higher of the two side minima, >= 0 */
} fm_peak;

/**
 * All local maxima of at least min_prominence, in order. Ends are never maxima.
 *
 * @param[in]  x      x[0..n-1]
 * @param window      samples to look either side for the side minima; 0 = to the ends
 * @param[out] peaks  peaks[0..max-1]; when there are more, the first max are kept
 * @return number written, at most max
 */
size_t fm_peaks_find(const float *x,
                     size_t n,
                     float min_prominence,
                     size_t window,
                     fm_peak *peaks,
                     size_t max);

/**
 * q-th quantile by linear interpolation between order statistics. May reorder x.
 *
 * @param[in,out] x  x[0..n-1], n >= 1, no NaN; in any order on return
 * @param q          0..1
 */
float fm_quantile(float *x, size_t n, double q);

/**
 * Deviation about a middle as the median distance has it (FM_MAD_TO_SD).
 *
 * @param[in,out] x  x[0..n-1], n >= 1, no NaN; distances in any order on return
 */
double fm_spread_about(float *x, size_t n, float middle);

/** Mean of the squares of x[0..n-1]; 0 for none. */
double fm_mean_square(const float *x, size_t n);

#endif
