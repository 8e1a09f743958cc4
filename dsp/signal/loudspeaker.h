/**
 * @file loudspeaker.h
 * Harmonics of a low sound, for a loudspeaker that cannot sound it; mono, whole signal.
 *
 * A heart lies at 30-150 Hz, where a laptop's loudspeaker gives next to nothing. The band
 * is cut out, each of its waves made eight times as fast at the same size, and that added.
 * So a first sound stays lower than a second one, and everything begins when it began.
 *
 * Source: the way (band, non-linear device, band, sum): E. Larsen and R. M. Aarts, "Audio
 *         Bandwidth Extension", Wiley 2004, on bass for small loudspeakers (from memory).
 *         Their devices, a rectifier and the like, make a harmonic at each zero of the
 *         wave, which puts onsets off by 2-5 ms. Here, in closed form: with the
 *         quadrature q of the band x (an FIR Hilbert transformer: A. V. Oppenheim, R. W.
 *         Schafer, "Discrete-Time Signal Processing", Hamming window), a exp(i p) = x + iq
 *         becomes a cos(8 p), whose size is a at every moment.
 */
#ifndef FM_LOUDSPEAKER_H
#define FM_LOUDSPEAKER_H

#include "dsp/status.h"

#include <stddef.h>

/** Settings. */
typedef struct fm_loudspeaker_config {
    double rate_hz;
    double low_hz; /**< the band that cannot be sounded: 25 to 150 Hz, most of a heart's
                          sound */
    double high_hz;  /**< its upper end */
    double from_hz;  /**< the band of the harmonics: 200 to 800 Hz (common practice, no
                          source) */
    double to_hz;    /**< its upper end */
    double added_db; /**< RMS of what is added over that of the low band: 0, by ear */
    double peak;     /**< the sum is turned down as a whole to stay under this: 0.98 */
} fm_loudspeaker_config;

/** The defaults named above. */
fm_loudspeaker_config fm_loudspeaker_config_default(double rate_hz);

/**
 * Add the harmonics. No delay: filters run forwards and backwards. Not for a callback: the
 * time it takes grows with n. A sound with nothing in the low band is left as it is.
 *
 * @param[in,out] x   x[0..n-1], full scale +/-1; a sample that is not finite becomes 0
 * @param[out] work   work[0..2n-1]; the first n hold what was added, before the sum was
 *                    turned down
 * @return FM_OK; FM_ERR_ARG when a band is not inside 0..rate/2, or the peak is not above 0
 *         (x then untouched)
 */
fm_status fm_loudspeaker_add(const fm_loudspeaker_config *config,
                             float *x,
                             float *work,
                             size_t n);

#endif
