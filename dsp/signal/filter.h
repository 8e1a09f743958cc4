/**
 * @file filter.h
 * Butterworth filters as cascades of second-order sections, causal or zero-phase; mono.
 *
 * Source: A. V. Oppenheim, R. W. Schafer, "Discrete-Time Signal Processing": Butterworth
 *         prototype and bilinear transform with prewarping. Checked against SciPy.
 */
#ifndef FM_FILTER_H
#define FM_FILTER_H

#include "dsp/status.h"

#include <stddef.h>

enum {
    FM_FILTER_SECTIONS_MAX = 8 /**< sections one filter can hold */
};

/** One second-order section, a0 normalised to 1, transposed direct form II. */
typedef struct fm_section {
    double b0, b1, b2, a1, a2;
    double z1, z2; /**< delay line, same unit as the input */
} fm_section;

/** A filter and its state. Plain value: copy freely, nothing to free. */
typedef struct fm_filter {
    size_t n_sections;
    fm_section sections[FM_FILTER_SECTIONS_MAX];
} fm_filter;

/**
 * Butterworth low-pass.
 *
 * @param[out] f    filter with cleared state; unchanged on error
 * @param order     1..2*FM_FILTER_SECTIONS_MAX
 * @param rate_hz   sample rate, > 0
 * @param cutoff_hz -3.01 dB frequency, 0 < cutoff < rate/2
 * @return FM_OK, or FM_ERR_ARG
 */
fm_status fm_filter_init_lowpass(fm_filter *f,
                                 int order,
                                 double rate_hz,
                                 double cutoff_hz);

/** Butterworth high-pass; arguments and errors as for the low-pass. */
fm_status fm_filter_init_highpass(fm_filter *f,
                                  int order,
                                  double rate_hz,
                                  double cutoff_hz);

/**
 * Butterworth band-pass of total order 2*order (the usual convention for band filters).
 *
 * @param order  1..FM_FILTER_SECTIONS_MAX
 * @param low_hz, high_hz  -3.01 dB frequencies, 0 < low < high < rate/2
 * @return FM_OK, or FM_ERR_ARG
 */
fm_status fm_filter_init_bandpass(
    fm_filter *f, int order, double rate_hz, double low_hz, double high_hz);

/**
 * Band-pass of total order 4 for an envelope of the heart sounds, 25 to 400 Hz or to 0.45 of a
 * lower rate (the band of a composed recording's signal-to-noise ratio; ours).
 *
 * @return FM_OK, or FM_ERR_ARG where the rate carries nothing of it
 */
fm_status fm_filter_init_heart_band(fm_filter *f, double rate_hz);

/**
 * Notch with zeros on the unit circle at centre_hz and a -3 dB width of width_hz.
 *
 * @return FM_OK, or FM_ERR_ARG when centre or width is not inside 0..rate/2
 */
fm_status fm_filter_init_notch(fm_filter *f,
                               double rate_hz,
                               double centre_hz,
                               double width_hz);

/** Clear the delay lines. */
void fm_filter_reset(fm_filter *f);

/**
 * Filter n samples; call again with the next block to go on. Real-time safe.
 *
 * @param[in]  in   in[0..n-1]
 * @param[out] out  out[0..n-1], may be the same array as in
 */
void fm_filter_process(fm_filter *f, const float *in, float *out, size_t n);

/**
 * Filter a whole signal forwards and backwards: no delay, squared magnitude. The ends
 * are extended by odd reflection and the state starts settled, as SciPy's sosfiltfilt
 * does, so the edges carry no jump. Real-time safe; the filter's state is overwritten.
 *
 * @param[in,out] x  x[0..n-1]; unchanged when n < 2
 */
void fm_filter_zero_phase(fm_filter *f, float *x, size_t n);

/** Magnitude of the response at freq_hz, linear (1 = unchanged). */
double fm_filter_gain(const fm_filter *f, double rate_hz, double freq_hz);

#endif
