/**
 * @file condition.h
 * Makes a segment fit for analysis: DC and rumble removed, steady hum notched out, and
 * the tell-tales of tone and silence measured on the way; whole-segment, mono.
 */
#ifndef FM_CONDITION_H
#define FM_CONDITION_H

#include "dsp/signal/spectrum.h"

#include <stdbool.h>
#include <stddef.h>

enum {
    FM_CONDITION_FFT = 2048, /**< plan length: bins of 0.98 Hz at the working rate */
    FM_CONDITION_LINES_MAX = 12
};

/** What conditioning found. */
typedef struct fm_conditioned {
    double power;        /**< mean square after DC removal, full scale squared */
    double restlessness; /**< how far the power of 100 ms ranges, 10th to 90th
                                  percentile, natural log; a tone or hum alone under 0.5 */
    double line_share;   /**< share of that power in narrow steady lines, 0..1 */
    bool harmonic;       /**< all lines are multiples of the lowest: hum, or one tone */
    size_t n_lines;
    double line_hz[FM_CONDITION_LINES_MAX]; /**< lines notched out, strongest first */
} fm_conditioned;

/**
 * Condition in place.
 *
 * @param spectrum   plan of FM_CONDITION_FFT
 * @param[in,out] x  x[0..n-1] at FM_WORK_RATE_HZ
 * @param[out] found filled
 */
void fm_condition(fm_spectrum *spectrum, float *x, size_t n, fm_conditioned *found);

#endif
