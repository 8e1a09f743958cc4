/**
 * @file interval_measures.h
 * Statistics of beat-to-beat intervals over one window: mean, SDNN, RMSSD, pNN50,
 * coefficient of variation and the two axes of the Poincare plot. Whole-series.
 *
 * Source: Task Force of the European Society of Cardiology and the North American
 *         Society of Pacing and Electrophysiology, "Heart rate variability: standards of
 *         measurement", Eur Heart J 17:354, 1996, for SDNN (here with n - 1), RMSSD and
 *         pNN50. Sources disagree on the denominator of pNN50: here it is the number of
 *         differences, not of intervals, and 'over 50 ms' is strict.
 *         Brennan, Palaniswami, Kamen, IEEE Trans. Biomed. Eng. 48:1342, 2001, for SD1
 *         and SD2. There SD1 and SD2 are the standard deviations of the pairs
 *         (x[i], x[i+1]) across and along the line of identity; the well known identities
 *         SD1^2 = SDSD^2 / 2, SD2^2 = 2 SDNN^2 - SDSD^2 / 2 are exact only for a long
 *         series. A minute is short and a gap breaks the pairs, so we take the standard
 *         deviations (n - 1) of (x[i+1] - x[i]) / sqrt 2 and (x[i+1] + x[i]) / sqrt 2
 *         directly; SD1^2 = SDSD^2 / 2 then holds exactly, the other one nearly.
 *
 * The norms published for these measures are for normal (sinus) beats over 5 minutes or
 * 24 hours; here every interval in the window counts, early ones too.
 */
#ifndef FM_INTERVAL_MEASURES_H
#define FM_INTERVAL_MEASURES_H

#include <stdbool.h>
#include <stddef.h>

enum {
    /** Fewest intervals for the mean (one) and SDNN, CV (two). */
    FM_MEASURES_MEAN_MIN = 1,
    FM_MEASURES_SPREAD_MIN = 2,
    /** Fewest differences for RMSSD and pNN50 (one), for SD1 and SD2 (two). */
    FM_MEASURES_DIFFERENCE_MIN = 1,
    FM_MEASURES_POINCARE_MIN = 2
};

/** One interval as the measures see it. */
typedef struct fm_measured_interval {
    double length_s; /**< > 0 */
    bool follows;    /**< begins at the beat that ended the interval before it here */
} fm_measured_interval;

/** The measures; each is NaN when its own minimum (above) is not reached. */
typedef struct fm_interval_measures {
    size_t n_intervals;
    size_t n_differences;   /**< pairs that follow on directly */
    double mean_interval_s; /**< arithmetic mean, s */
    double sdnn_ms;         /**< standard deviation of the intervals, n - 1, ms */
    double rmssd_ms;        /**< root mean square of successive differences, ms */
    double pnn50;           /**< share of differences over 50 ms in size, 0..1 */
    double cv;              /**< SDNN / mean, a ratio */
    double sd1_ms;          /**< Poincare width, ms */
    double sd2_ms;          /**< Poincare length, ms */
} fm_interval_measures;

/**
 * Compute the measures. Real-time safe: no allocation, time in proportion to n.
 *
 * @param interval  interval[0..n-1] in order of time; interval[0].follows is ignored. A
 *                  length that is not finite makes the measures NaN that use it.
 * @param n         any, 0 included
 */
fm_interval_measures fm_interval_measures_estimate(const fm_measured_interval *interval,
                                                   size_t n);

#endif
