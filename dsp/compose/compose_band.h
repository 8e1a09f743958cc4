/**
 * @file compose_band.h
 * Mean power of a signal between two frequencies, as the definition of SNR wants it: a
 * brick wall, by Fourier transforms of blocks of at least 4 s.
 *
 * Source: Parseval's theorem.
 */
#ifndef FM_COMPOSE_BAND_H
#define FM_COMPOSE_BAND_H

#include <stddef.h>

/** Opaque; see fm_band_meter_destroy. */
typedef struct fm_band_meter fm_band_meter;

/** New meter for a sample rate > 0, Hz; NULL without memory. */
fm_band_meter *fm_band_meter_create(double rate_hz);

/** Frees m; NULL is allowed. */
void fm_band_meter_destroy(fm_band_meter *m);

/**
 * Mean power of x[0..n-1] from low_hz to high_hz, both included.
 *
 * @param x  x[0..n-1], finite
 * @return unit of x squared; 0 for n = 0
 */
double fm_band_meter_power(
    fm_band_meter *m, const float *x, size_t n, double low_hz, double high_hz);

#endif
