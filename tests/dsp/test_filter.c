/*
 * Against another tool's output, and closed forms.
 *   Source:    SciPy's butter, sosfilt, sosfiltfilt and iirnotch; version and calls in
 *              tests/data/scipy_vectors.h.
 *   It says:   poles, gain, impulse response, zero-phase output, notch gain.
 *   Input:     in the same file, rounded to single precision there.
 *   Tolerance: 1e-9 where both sides work in double (SciPy designs in zeros and poles,
 *              we in sections); 2e-7 where our output is single, full scale 1; 2e-6
 *              zero-phase, where the forward pass is rounded to single between.
 */
#include "dsp/signal/filter.h"

#include "tests/data/scipy_vectors.h"
#include "tests/support.h"

#include <stdbool.h>
#include <string.h>

#define N_ELEMENTS(a) (sizeof(a) / sizeof((a)[0]))

static fm_status design(fm_filter *f, const struct scipy_filter *v)
{
    if (strcmp(v->kind, "lowpass") == 0) {
        return fm_filter_init_lowpass(f, v->order, v->rate_hz, v->low_hz);
    }
    if (strcmp(v->kind, "highpass") == 0) {
        return fm_filter_init_highpass(f, v->order, v->rate_hz, v->low_hz);
    }
    return fm_filter_init_bandpass(f, v->order, v->rate_hz, v->low_hz, v->high_hz);
}

/* Is (a1, a2) among the sections of f, each to be used once? */
static bool take_pole(bool *used, const fm_filter *f, const double pole[2])
{
    for (size_t i = 0; i < f->n_sections; i++) {
        if (!used[i] && fabs(f->sections[i].a1 - pole[0]) < 1e-9 &&
            fabs(f->sections[i].a2 - pole[1]) < 1e-9) {
            used[i] = true;
            return true;
        }
    }
    return false;
}

static void poles_are_those_of_scipy(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_ELEMENTS(SCIPY_FILTERS); i++) {
        const struct scipy_filter *v = &SCIPY_FILTERS[i];
        fm_filter f;
        assert_int_equal(design(&f, v), FM_OK);
        assert_int_equal(f.n_sections, v->n_sections);
        bool used[FM_FILTER_SECTIONS_MAX] = {false};
        for (size_t k = 0; k < f.n_sections; k++) {
            if (!take_pole(used, &f, v->poles[k])) {
                fail_msg("%s of order %d: no section with a1 %.12g, a2 %.12g", v->kind,
                         v->order, v->poles[k][0], v->poles[k][1]);
            }
        }
    }
}

static void gain_is_that_of_scipy(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_ELEMENTS(SCIPY_FILTERS); i++) {
        const struct scipy_filter *v = &SCIPY_FILTERS[i];
        fm_filter f;
        assert_int_equal(design(&f, v), FM_OK);
        for (size_t k = 0; k < N_ELEMENTS(SCIPY_GAIN_PLACES); k++) {
            const double freq_hz = SCIPY_GAIN_PLACES[k] * v->rate_hz / 2.0;
            assert_within(fm_filter_gain(&f, v->rate_hz, freq_hz), v->gain[k], 1e-9);
        }
    }
}

static void impulse_response_is_that_of_scipy(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_ELEMENTS(SCIPY_FILTERS); i++) {
        const struct scipy_filter *v = &SCIPY_FILTERS[i];
        fm_filter f;
        assert_int_equal(design(&f, v), FM_OK);
        float x[N_ELEMENTS(v->impulse)] = {1.0f};
        fm_filter_process(&f, x, x, N_ELEMENTS(x));
        for (size_t k = 0; k < N_ELEMENTS(x); k++) {
            assert_within((double)x[k], v->impulse[k], 2e-7);
        }
    }
}

/*
 * Closed form: a Butterworth filter is 3.0103 dB down at its corners, whatever its
 * order: |H|^2 = 1/2.
 */
static void corners_are_half_power(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_ELEMENTS(SCIPY_FILTERS); i++) {
        const struct scipy_filter *v = &SCIPY_FILTERS[i];
        fm_filter f;
        assert_int_equal(design(&f, v), FM_OK);
        assert_within(fm_filter_gain(&f, v->rate_hz, v->low_hz), sqrt(0.5), 1e-9);
        if (v->high_hz > 0.0) {
            assert_within(fm_filter_gain(&f, v->rate_hz, v->high_hz), sqrt(0.5), 1e-9);
        }
    }
}

static void zero_phase_is_sosfiltfilt(void **state)
{
    (void)state;
    float x[N_ELEMENTS(SCIPY_ZERO_PHASE_IN)];
    fm_filter f;

    assert_int_equal(fm_filter_init_bandpass(&f, 2, 2000.0, 25.0, 400.0), FM_OK);
    memcpy(x, SCIPY_ZERO_PHASE_IN, sizeof(x));
    fm_filter_zero_phase(&f, x, N_ELEMENTS(x));
    for (size_t i = 0; i < N_ELEMENTS(x); i++) {
        assert_within((double)x[i], SCIPY_ZERO_PHASE_BAND[i], 2e-6);
    }

    memcpy(x, SCIPY_ZERO_PHASE_IN, sizeof(x));
    fm_filter_zero_phase(&f, x, N_ELEMENTS(SCIPY_ZERO_PHASE_SHORT));
    for (size_t i = 0; i < N_ELEMENTS(SCIPY_ZERO_PHASE_SHORT); i++) {
        assert_within((double)x[i], SCIPY_ZERO_PHASE_SHORT[i], 2e-6);
    }

    assert_int_equal(fm_filter_init_lowpass(&f, 3, 2000.0, 150.0), FM_OK);
    memcpy(x, SCIPY_ZERO_PHASE_IN, sizeof(x));
    fm_filter_zero_phase(&f, x, N_ELEMENTS(x));
    for (size_t i = 0; i < N_ELEMENTS(x); i++) {
        assert_within((double)x[i], SCIPY_ZERO_PHASE_LOW[i], 2e-6);
    }
}

static void zero_phase_leaves_very_short_signals(void **state)
{
    (void)state;
    fm_filter f;
    assert_int_equal(fm_filter_init_bandpass(&f, 2, 2000.0, 25.0, 400.0), FM_OK);
    float one = 0.5f;
    fm_filter_zero_phase(&f, &one, 1);
    assert_true(one >= 0.5f && one <= 0.5f);
    fm_filter_zero_phase(&f, &one, 0);
    assert_true(one >= 0.5f && one <= 0.5f);
    float two[2] = {0.25f, -0.25f};
    fm_filter_zero_phase(&f, two, 2);
    assert_true(isfinite(two[0]) && isfinite(two[1]));
}

static void notch_is_iirnotch(void **state)
{
    (void)state;
    fm_filter f;
    assert_int_equal(fm_filter_init_notch(&f, 2000.0, 50.0, 4.0), FM_OK);
    for (size_t i = 0; i < N_ELEMENTS(SCIPY_NOTCH_HZ); i++) {
        assert_within(fm_filter_gain(&f, 2000.0, SCIPY_NOTCH_HZ[i]),
                      SCIPY_NOTCH_GAIN[i], 1e-9);
    }
}

static void bad_arguments_are_refused(void **state)
{
    (void)state;
    fm_filter f;
    assert_int_equal(fm_filter_init_lowpass(&f, 2, 1000.0, 100.0), FM_OK);
    const fm_filter before = f;
    const double bad[] = {0.0, -1.0, 500.0, 501.0, (double)NAN, (double)INFINITY};
    for (size_t i = 0; i < N_ELEMENTS(bad); i++) {
        const double x = bad[i];
        assert_int_equal(fm_filter_init_lowpass(&f, 2, 1000.0, x), FM_ERR_ARG);
        assert_int_equal(fm_filter_init_highpass(&f, 2, 1000.0, x), FM_ERR_ARG);
        assert_int_equal(fm_filter_init_bandpass(&f, 2, 1000.0, x, 600.0), FM_ERR_ARG);
        assert_int_equal(fm_filter_init_bandpass(&f, 2, 1000.0, 499.0, x), FM_ERR_ARG);
        assert_int_equal(fm_filter_init_notch(&f, 1000.0, x, 2.0), FM_ERR_ARG);
        assert_int_equal(fm_filter_init_notch(&f, 1000.0, 50.0, x), FM_ERR_ARG);
    }
    const int orders[] = {0, -3, 2 * FM_FILTER_SECTIONS_MAX + 1};
    for (size_t i = 0; i < N_ELEMENTS(orders); i++) {
        assert_int_equal(fm_filter_init_lowpass(&f, orders[i], 1000.0, 9.0),
                         FM_ERR_ARG);
        assert_int_equal(fm_filter_init_highpass(&f, orders[i], 1000.0, 9.0),
                         FM_ERR_ARG);
    }
    assert_int_equal(
        fm_filter_init_bandpass(&f, FM_FILTER_SECTIONS_MAX + 1, 1000.0, 9.0, 20.0),
        FM_ERR_ARG);
    assert_int_equal(fm_filter_init_lowpass(&f, 2, (double)NAN, 9.0), FM_ERR_ARG);
    assert_int_equal(fm_filter_init_bandpass(&f, 2, 0.0, 9.0, 20.0), FM_ERR_ARG);
    assert_memory_equal(&f, &before, sizeof(f));
}

static void small_blocks_equal_one_large(void **state)
{
    (void)state;
    enum {
        N = N_ELEMENTS(SCIPY_ZERO_PHASE_IN)
    };
    fm_filter f;
    assert_int_equal(fm_filter_init_bandpass(&f, 4, 4000.0, 100.0, 1000.0), FM_OK);
    float whole[N];
    fm_filter_process(&f, SCIPY_ZERO_PHASE_IN, whole, N);
    fm_filter_reset(&f);
    float parts[N];
    for (size_t at = 0, n = 1; at < N; at += n, n = n % 7 + 1) {
        n = n < N - at ? n : N - at;
        fm_filter_process(&f, SCIPY_ZERO_PHASE_IN + at, parts + at, n);
    }
    assert_memory_equal(whole, parts, sizeof(whole));
}

/* Closed forms: silence stays silence, a band-pass and a high-pass end at 0 for DC, a
 * low-pass ends at the DC itself. */
static void silence_and_dc(void **state)
{
    (void)state;
    enum {
        N = 4000
    };
    static float x[N];
    fm_filter f;
    assert_int_equal(fm_filter_init_bandpass(&f, 2, 2000.0, 25.0, 400.0), FM_OK);
    memset(x, 0, sizeof(x));
    fm_filter_process(&f, x, x, N);
    for (size_t i = 0; i < N; i++) {
        assert_within((double)x[i], 0.0, 0.0);
    }
    for (size_t i = 0; i < N; i++) {
        x[i] = 1.0f;
    }
    fm_filter_process(&f, x, x, N);
    assert_within((double)x[N - 1], 0.0, 1e-9);
    assert_int_equal(fm_filter_init_lowpass(&f, 4, 2000.0, 100.0), FM_OK);
    for (size_t i = 0; i < N; i++) {
        x[i] = -1.0f;
    }
    fm_filter_process(&f, x, x, N);
    assert_within((double)x[N - 1], -1.0, 1e-7);
}

static void nan_passes_until_reset(void **state)
{
    (void)state;
    fm_filter f;
    assert_int_equal(fm_filter_init_lowpass(&f, 2, 1000.0, 100.0), FM_OK);
    float x[3] = {1.0f, NAN, 1.0f};
    fm_filter_process(&f, x, x, 3);
    assert_true(isfinite(x[0]));
    assert_true(isnan(x[1]) && isnan(x[2]));
    fm_filter_reset(&f);
    float y = 1.0f;
    fm_filter_process(&f, &y, &y, 1);
    assert_true(isfinite(y));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(poles_are_those_of_scipy),
        cmocka_unit_test(gain_is_that_of_scipy),
        cmocka_unit_test(impulse_response_is_that_of_scipy),
        cmocka_unit_test(corners_are_half_power),
        cmocka_unit_test(zero_phase_is_sosfiltfilt),
        cmocka_unit_test(zero_phase_leaves_very_short_signals),
        cmocka_unit_test(notch_is_iirnotch),
        cmocka_unit_test(bad_arguments_are_refused),
        cmocka_unit_test(small_blocks_equal_one_large),
        cmocka_unit_test(silence_and_dc),
        cmocka_unit_test(nan_passes_until_reset),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
