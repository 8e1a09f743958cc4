/**
 * @file spectrum.h
 * Real spectra with KISS FFT: band energies over time and averaged
 * periodograms; mono, whole-signal. All memory is taken at create.
 */
#ifndef FM_SPECTRUM_H
#define FM_SPECTRUM_H

#include "dsp/status.h"

#include <stddef.h>

/** A plan for one even transform length. Opaque; see fm_spectrum_destroy. */
typedef struct fm_spectrum fm_spectrum;

/**
 * New plan.
 *
 * @param n  transform length, even, 2..2^20
 * @return the plan; NULL when n is out of range or memory is short
 */
fm_spectrum *fm_spectrum_create(size_t n);

/** Frees s; NULL is allowed. */
void fm_spectrum_destroy(fm_spectrum *s);

/**
 * Power of a Hann-windowed frame, |X_k|^2, unscaled.
 *
 * @param[in]  x      x[0..n-1]
 * @param[out] power  power[0..n/2], may not overlap x
 */
void fm_spectrum_power(fm_spectrum *s, const float *x, float *power);

/**
 * Averaged periodogram (Welch 1967): Hann windows, half overlapping, each with its mean
 * removed; one-sided density.
 *
 * @param[in]  x        x[0..n_x-1], n_x >= plan length
 * @param rate_hz       sample rate, > 0
 * @param[out] density  density[0..n/2], unit of x squared per Hz
 * @return FM_OK; FM_ERR_SHORT when n_x < plan length (density untouched)
 */
fm_status fm_spectrum_welch(
    fm_spectrum *s, const float *x, size_t n_x, double rate_hz, float *density);

#endif
