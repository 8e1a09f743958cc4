/*
 * Against another tool's output and closed forms. The exact slow version is compared with
 * in test_features.c.
 *   Source:    SciPy's correlate; version and call in tests/data/scipy_vectors.h.
 *   Input:     in the same file: noise, a tone and an offset, rounded to single.
 *   Tolerance: 2e-6: the sums are in single precision.
 */
#include "dsp/signal/autocorrelation.h"

#include "tests/data/scipy_vectors.h"
#include "tests/support.h"

#include <string.h>

#define N_ELEMENTS(a) (sizeof(a) / sizeof((a)[0]))

static void it_is_that_of_scipy(void **state)
{
    (void)state;
    float x[N_ELEMENTS(SCIPY_SPECTRUM_IN) + FM_AUTOCORRELATION_ROOM] = {0};
    memcpy(x, SCIPY_SPECTRUM_IN, sizeof(SCIPY_SPECTRUM_IN));
    float r[N_ELEMENTS(SCIPY_AUTOCORRELATION)];
    assert_int_equal(
        fm_autocorrelation(x, N_ELEMENTS(SCIPY_SPECTRUM_IN), r, N_ELEMENTS(r)), FM_OK);
    for (size_t k = 0; k < N_ELEMENTS(r); k++) {
        assert_within((double)r[k], SCIPY_AUTOCORRELATION[k], 2e-6);
    }
}

static void a_pulse_train_peaks_at_its_period(void **state)
{
    (void)state;
    float x[200 + FM_AUTOCORRELATION_ROOM] = {0};
    for (size_t i = 0; i < 200; i += 20) {
        x[i] = 1.0f;
    }
    float r[200];
    assert_int_equal(fm_autocorrelation(x, 200, r, 200), FM_OK);
    for (size_t lag = 0; lag < 200; lag++) {
        /* 10 pulses in 200 samples; 10 - lag / 20 products of 1 in 200 - lag. */
        const double products = lag % 20 == 0 ? 10.0 - (double)lag / 20.0 : 0.0;
        const double expected = products / (200.0 - (double)lag) / (10.0 / 200.0);
        assert_within((double)r[lag], expected, 1e-5);
    }
}

/* Closed form: the mean of the products of a sine with itself, a whole number of periods
 * long; a series so long loses no more digits than a short one. */
static void a_long_tone_keeps_its_digits(void **state)
{
    (void)state;
    enum {
        N = 60000,
        PERIOD = 100
    };
    static float x[N + FM_AUTOCORRELATION_ROOM];
    const double w = 2.0 * 3.14159265358979323846 / PERIOD;
    for (size_t i = 0; i < N; i++) {
        x[i] = (float)sin(w * (double)i);
    }
    float r[2 * PERIOD];
    assert_int_equal(fm_autocorrelation(x, N, r, N_ELEMENTS(r)), FM_OK);
    for (size_t lag = 0; lag < N_ELEMENTS(r); lag++) {
        double sum = 0.0;
        for (size_t i = 0; i + lag < N; i++) {
            sum += sin(w * (double)i) * sin(w * (double)(i + lag));
        }
        assert_within((double)r[lag], sum / (double)(N - lag) / 0.5, 5e-6);
    }
}

static void silence_gives_zeros_and_bad_lengths_nothing(void **state)
{
    (void)state;
    const float x[100 + FM_AUTOCORRELATION_ROOM] = {0};
    float r[10] = {9.0f};
    assert_int_equal(fm_autocorrelation(x, 100, r, 10), FM_OK);
    for (size_t k = 0; k < N_ELEMENTS(r); k++) {
        assert_within((double)r[k], 0.0, 0.0);
    }
    r[0] = 7.0f;
    assert_int_equal(fm_autocorrelation(x, 0, r, 1), FM_ERR_ARG);
    assert_int_equal(fm_autocorrelation(x, 10, r, 0), FM_ERR_ARG);
    assert_int_equal(fm_autocorrelation(x, 10, r, 11), FM_ERR_ARG);
    assert_within((double)r[0], 7.0, 0.0);
    assert_int_equal(fm_autocorrelation(x, 10, r, 10), FM_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_is_that_of_scipy),
        cmocka_unit_test(a_pulse_train_peaks_at_its_period),
        cmocka_unit_test(a_long_tone_keeps_its_digits),
        cmocka_unit_test(silence_gives_zeros_and_bad_lengths_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
