/**
 * @file tap_test.h
 * The constant rest of a tap's delay: ticks are played at known times, the person taps
 * along, and the median of tap less tick is what the key, the system and the person add.
 * A count of taps does not need it; the times of taps do.
 */
#ifndef USECASE_TAP_TEST_H
#define USECASE_TAP_TEST_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
    TAP_TEST_TICKS = 24,
    TAP_TEST_FIRST = 4 /**< the first few are for finding the pace: not used */
};

#define TAP_TEST_APART_S       0.75 /**< 80 a minute */
#define TAP_TEST_SCATTER_MAX_S 0.05
#define TAP_TEST_PAIRS_MIN     12

/** What came out. Plain value. */
typedef struct tap_test_result {
    bool ok;      /**< may be remembered */
    size_t pairs; /**< ticks that have a tap */
    double lag_s; /**< median of tap less tick; NaN: no pairs */
    double
        scatter_s; /**< 1.4826 times the median distance from it: an SD where they are
                           normal (common practice, no source); NaN: no pairs */
} tap_test_result;

/** Samples of the ticks, and the ticks themselves: TAP_TEST_TICKS of 1 kHz, 25 ms, from
 *  half a second on. */
int64_t tap_test_samples(double rate_hz);
void tap_test_make(double rate_hz, float *out);

/** When tick k of them begins, s from the first sample. */
double tap_test_tick_s(size_t k);

/**
 * Judge. Each tick takes the nearest tap up to 0.3 s away.
 *
 * @param start_s  when the first sample was heard, on the clock of the taps
 * @param taps_s   taps_s[0..n-1], ascending
 */
tap_test_result tap_test_judge(double start_s, const double *taps_s, size_t n);

#endif
