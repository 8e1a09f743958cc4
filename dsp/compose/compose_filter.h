/**
 * @file compose_filter.h
 * Second-order filters for composing; mono, streaming. Kept apart from the analyser's
 * filters so that a mistake in one shows against the other.
 *
 * Source: Bristow-Johnson, "Cookbook formulae for audio EQ biquad filter coefficients"
 *         (published as a W3C note, 2021): low-pass, high-pass, band-pass, peaking.
 */
#ifndef FM_COMPOSE_FILTER_H
#define FM_COMPOSE_FILTER_H

#include <stddef.h>

enum {
    FM_CASCADE_MAX = 8
};

/** One section, direct form II transposed. */
typedef struct fm_section {
    double b0, b1, b2, a1, a2, z1, z2;
} fm_section;

/** Sections one after another. Plain value: copy freely, nothing to free. */
typedef struct fm_cascade {
    int n;
    fm_section section[FM_CASCADE_MAX];
} fm_cascade;

/*
 * Each adds one section (two for _4th) to c. A frequency that the rate cannot carry
 * (over 0.45 of it) adds nothing. More than FM_CASCADE_MAX sections are our own mistake.
 */
void fm_cascade_lowpass(fm_cascade *c, double rate_hz, double cutoff_hz, double q);
void fm_cascade_highpass(fm_cascade *c, double rate_hz, double cutoff_hz, double q);
/** 0 dB at the centre. */
void fm_cascade_bandpass(fm_cascade *c, double rate_hz, double centre_hz, double q);
void fm_cascade_peak(
    fm_cascade *c, double rate_hz, double centre_hz, double q, double gain_db);
/** One pole over one zero: from 0 dB at low frequencies to pole_hz / zero_hz above. */
void fm_cascade_shelf(fm_cascade *c, double rate_hz, double pole_hz, double zero_hz);
/** Butterworth, 24 dB an octave. */
void fm_cascade_highpass_4th(fm_cascade *c, double rate_hz, double cutoff_hz);

/** One sample through all sections. */
double fm_cascade_step(fm_cascade *c, double x);

/** A block through all sections, in place. */
void fm_cascade_process(fm_cascade *c, float *x, size_t n);

#endif
