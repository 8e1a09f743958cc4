/**
 * @file autocorrelation.h
 * Autocorrelation over the first lags of a series, by its defining sum: for a few hundred
 * lags faster than two Fourier transforms of the whole. No allocation.
 */
#ifndef FM_AUTOCORRELATION_H
#define FM_AUTOCORRELATION_H

#include "dsp/status.h"

#include <stddef.h>

enum {
    FM_AUTOCORRELATION_ROOM = 32 /**< numbers that are read behind the series */
};

/**
 * Each lag divided by the number of products in it and by the value at lag 0 (so r[0] = 1;
 * all 0 when x is all 0). The mean of x is not removed.
 *
 * @param[in]  x   x[0..n-1], and FM_AUTOCORRELATION_ROOM zeros behind it
 * @param[out] r   r[0..n_lags-1]
 * @param n_lags   1..n
 * @return FM_OK, or FM_ERR_ARG (r untouched)
 */
fm_status fm_autocorrelation(const float *x, size_t n, float *r, size_t n_lags);

#endif
