/*
 * Against another tool's output, an exact slow version, and closed forms.
 *   Source:    SciPy's welch, NumPy's rfft; version and calls in
 *              tests/data/scipy_vectors.h.
 *   Input:     in the same file: noise, a tone and an offset, rounded to single.
 *   Tolerance: 2e-6 of the largest value: KISS FFT works in single precision (measured
 *              here: 1e-7 to 1e-6 of the largest).
 */
#include "dsp/signal/spectrum.h"

#include "tests/data/scipy_vectors.h"
#include "tests/support.h"

#include <string.h>

#define N_ELEMENTS(a) (sizeof(a) / sizeof((a)[0]))

static const double PI = 3.14159265358979323846;

static double largest(const double *x, size_t n)
{
    double top = 0.0;
    for (size_t i = 0; i < n; i++) {
        top = fmax(top, fabs(x[i]));
    }
    return top;
}

static void welch_is_that_of_scipy(void **state)
{
    (void)state;
    fm_spectrum *s = fm_spectrum_create(128);
    assert_non_null(s);
    float density[65];
    assert_int_equal(fm_spectrum_welch(s, SCIPY_SPECTRUM_IN,
                                       N_ELEMENTS(SCIPY_SPECTRUM_IN), 2000.0, density),
                     FM_OK);
    const double tolerance = 2e-6 * largest(SCIPY_WELCH, N_ELEMENTS(SCIPY_WELCH));
    for (size_t k = 0; k < N_ELEMENTS(density); k++) {
        assert_within((double)density[k], SCIPY_WELCH[k], tolerance);
    }
    fm_spectrum_destroy(s);
}

static void power_is_that_of_numpy(void **state)
{
    (void)state;
    fm_spectrum *s = fm_spectrum_create(128);
    assert_non_null(s);
    float power[65];
    fm_spectrum_power(s, SCIPY_SPECTRUM_IN, power);
    const double tolerance = 2e-6 * largest(SCIPY_POWER, N_ELEMENTS(SCIPY_POWER));
    for (size_t k = 0; k < N_ELEMENTS(power); k++) {
        assert_within((double)power[k], SCIPY_POWER[k], tolerance);
    }
    fm_spectrum_destroy(s);
}

/* The defining sum in double, at a length that is no power of two. */
static void power_equals_the_defining_sum(void **state)
{
    (void)state;
    enum {
        N = 90
    };
    fm_spectrum *s = fm_spectrum_create(N);
    assert_non_null(s);
    float power[N / 2 + 1];
    fm_spectrum_power(s, SCIPY_SPECTRUM_IN, power);
    for (size_t k = 0; k <= N / 2; k++) {
        double re = 0.0;
        double im = 0.0;
        for (size_t i = 0; i < N; i++) {
            const double angle = 2.0 * PI * (double)(i * k % N) / N;
            const double w = 0.5 - 0.5 * cos(2.0 * PI * (double)i / N);
            re += (double)SCIPY_SPECTRUM_IN[i] * w * cos(angle);
            im -= (double)SCIPY_SPECTRUM_IN[i] * w * sin(angle);
        }
        assert_within((double)power[k], re * re + im * im, 1e-3);
    }
    fm_spectrum_destroy(s);
}

/*
 * Closed form: the density of 2 sin(2 pi 125 t), summed over frequency times the bin
 * width, is its mean square, 2.
 */
static void welch_of_a_tone_holds_its_mean_square(void **state)
{
    (void)state;
    enum {
        N = 4000
    };
    static float x[N];
    for (size_t i = 0; i < N; i++) {
        x[i] = (float)(2.0 * sin(2.0 * PI * 125.0 * (double)i / 1000.0));
    }
    fm_spectrum *s = fm_spectrum_create(256);
    assert_non_null(s);
    float density[129];
    assert_int_equal(fm_spectrum_welch(s, x, N, 1000.0, density), FM_OK);
    double sum = 0.0;
    size_t top = 0;
    for (size_t k = 0; k < N_ELEMENTS(density); k++) {
        sum += (double)density[k] * 1000.0 / 256.0;
        top = density[k] > density[top] ? k : top;
    }
    assert_within(sum, 2.0, 1e-4);
    assert_int_equal(top, 32); /* 125 Hz */
    fm_spectrum_destroy(s);
}

static void silence_gives_zeros(void **state)
{
    (void)state;
    const float x[128] = {0};
    fm_spectrum *s = fm_spectrum_create(128);
    assert_non_null(s);
    float out[65];
    assert_int_equal(fm_spectrum_welch(s, x, 128, 2000.0, out), FM_OK);
    assert_within((double)out[0] + (double)out[7] + (double)out[64], 0.0, 0.0);
    fm_spectrum_destroy(s);
}

static void bad_lengths_are_refused(void **state)
{
    (void)state;
    assert_null(fm_spectrum_create(0));
    assert_null(fm_spectrum_create(1));
    assert_null(fm_spectrum_create(127));
    assert_null(fm_spectrum_create(((size_t)1 << 20) + 2));
    fm_spectrum_destroy(NULL);

    fm_spectrum *s = fm_spectrum_create(128);
    assert_non_null(s);
    float out[65];
    memset(out, 0x55, sizeof(out));
    float before[65];
    memcpy(before, out, sizeof(out));
    assert_int_equal(fm_spectrum_welch(s, SCIPY_SPECTRUM_IN, 127, 2000.0, out),
                     FM_ERR_SHORT);
    assert_memory_equal(out, before, sizeof(out));
    fm_spectrum_destroy(s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(welch_is_that_of_scipy),
        cmocka_unit_test(power_is_that_of_numpy),
        cmocka_unit_test(power_equals_the_defining_sum),
        cmocka_unit_test(welch_of_a_tone_holds_its_mean_square),
        cmocka_unit_test(silence_gives_zeros),
        cmocka_unit_test(bad_lengths_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
