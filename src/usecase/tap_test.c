#include "src/usecase/tap_test.h"

#include "dsp/compare/agreement.h"
#include "dsp/constants.h"

#include <math.h>

static const double FIRST_S = 0.5;
static const double TICK_S = 0.025;
static const double TONE_HZ = 1000.0;
static const double LEVEL = 0.25;
static const double REACH_S = 0.3; /* under half of the ticks' distance */

double tap_test_tick_s(size_t k)
{
    return FIRST_S + (double)k * TAP_TEST_APART_S;
}

int64_t tap_test_samples(double rate_hz)
{
    return (int64_t)ceil((tap_test_tick_s(TAP_TEST_TICKS - 1) + TICK_S) * rate_hz);
}

void tap_test_make(double rate_hz, float *out)
{
    const int64_t n = tap_test_samples(rate_hz);
    for (int64_t i = 0; i < n; i++) {
        const double t_s = (double)i / rate_hz - FIRST_S;
        const double in_s = t_s - floor(t_s / TAP_TEST_APART_S) * TAP_TEST_APART_S;
        const bool sounds = t_s >= 0.0 && in_s < TICK_S;
        const double edge = sounds ? 0.5 - 0.5 * cos(2.0 * FM_PI * in_s / TICK_S) : 0.0;
        out[i] = (float)(LEVEL * edge * sin(2.0 * FM_PI * TONE_HZ * in_s));
    }
}

static double median(double *x, size_t n)
{
    fm_sort_ascending(x, n);
    return n % 2 == 1 ? x[n / 2] : 0.5 * (x[n / 2 - 1] + x[n / 2]);
}

tap_test_result tap_test_judge(double start_s, const double *taps_s, size_t n)
{
    tap_test_result r = {.lag_s = (double)NAN, .scatter_s = (double)NAN};
    double lags_s[TAP_TEST_TICKS];
    for (size_t k = TAP_TEST_FIRST; k < TAP_TEST_TICKS; k++) {
        const double tick_s = start_s + tap_test_tick_s(k);
        double best_s = (double)INFINITY;
        for (size_t i = 0; i < n; i++) {
            const double lag_s = taps_s[i] - tick_s;
            best_s = fabs(lag_s) < fabs(best_s) ? lag_s : best_s;
        }
        if (fabs(best_s) <= REACH_S) {
            lags_s[r.pairs] = best_s;
            r.pairs++;
        }
    }
    if (r.pairs == 0) {
        return r;
    }
    r.lag_s = median(lags_s, r.pairs);
    for (size_t i = 0; i < r.pairs; i++) {
        lags_s[i] = fabs(lags_s[i] - r.lag_s);
    }
    r.scatter_s = 1.4826 * median(lags_s, r.pairs);
    r.ok = r.pairs >= TAP_TEST_PAIRS_MIN && r.scatter_s <= TAP_TEST_SCATTER_MAX_S;
    return r;
}
