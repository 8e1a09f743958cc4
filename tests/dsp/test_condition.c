/*
 * Closed forms: what is added to a signal is known, so what must be gone and what must
 * stay is known.
 *   Input:     noise (fixed seed), sines and offsets made here at the working rate.
 *   Tolerance: beside each assertion.
 */
#include "dsp/heart/condition.h"

#include "dsp/heart/features.h"

#include "tests/support.h"

#include <stdlib.h>
#include <string.h>

#define N_ELEMENTS(a) (sizeof(a) / sizeof((a)[0]))

enum {
    N = 60000 /* 30 s */
};

static const double PI = 3.14159265358979323846;

static float x[N];

static void add_noise(double peak)
{
    unsigned seed = 11;
    for (size_t i = 0; i < N; i++) {
        seed = 1664525u * seed + 1013904223u; /* Numerical Recipes' constants */
        x[i] += (float)(peak * ((double)seed / 2147483648.0 - 1.0));
    }
}

static void add_sine(double freq_hz, double peak)
{
    for (size_t i = 0; i < N; i++) {
        x[i] += (float)(peak * sin(2.0 * PI * freq_hz * (double)i / FM_WORK_RATE_HZ));
    }
}

/* Amplitude of the sine at freq_hz in the middle of x. */
static double amplitude_at(double freq_hz)
{
    double re = 0.0;
    double im = 0.0;
    const size_t from = N / 4;
    const size_t n = N / 2;
    for (size_t i = from; i < from + n; i++) {
        const double angle = 2.0 * PI * freq_hz * (double)i / FM_WORK_RATE_HZ;
        re += (double)x[i] * cos(angle);
        im += (double)x[i] * sin(angle);
    }
    return 2.0 * hypot(re, im) / (double)n;
}

static fm_conditioned condition(void)
{
    fm_spectrum *s = fm_spectrum_create(FM_CONDITION_FFT);
    assert_non_null(s);
    fm_conditioned found;
    memset(&found, 0x55, sizeof(found));
    fm_condition(s, x, N, &found);
    fm_spectrum_destroy(s);
    return found;
}

static void hum_and_its_harmonics_are_taken_out(void **state)
{
    (void)state;
    memset(x, 0, sizeof(x));
    add_noise(0.05);
    const double hum_hz[] = {50.0, 100.0, 150.0};
    for (size_t i = 0; i < N_ELEMENTS(hum_hz); i++) {
        add_sine(hum_hz[i], 0.3 / (double)(i + 1));
    }
    const fm_conditioned found = condition();
    assert_int_equal(found.n_lines, N_ELEMENTS(hum_hz));
    for (size_t i = 0; i < N_ELEMENTS(hum_hz); i++) {
        assert_within(found.line_hz[i], hum_hz[i], 1.0); /* one bin; strongest first */
        assert_true(amplitude_at(hum_hz[i]) <
                    0.02 * 0.3 / (double)(i + 1)); /* -34 dB */
    }
    /* 0.3^2/2 (1 + 1/4 + 1/9) of hum beside 0.05^2/3 of noise: 0.986 of the power. */
    assert_within(found.line_share, 0.986, 0.01);
}

/* Mean power between 30 and 40 Hz in the middle of x, by its sines a tenth of a hertz
 * apart. */
static double power_near_35_hz(void)
{
    double sum = 0.0;
    for (double freq_hz = 30.0; freq_hz < 40.0; freq_hz += 0.1) {
        const double a = amplitude_at(freq_hz);
        sum += a * a;
    }
    return sum;
}

/* Beats of 35 Hz in faint noise. */
static void make_heart(void)
{
    memset(x, 0, sizeof(x));
    add_noise(0.002);
    for (size_t i = 0; i < N; i++) {
        const double t = fmod((double)i / FM_WORK_RATE_HZ, 0.83);
        x[i] += (float)(0.4 * exp(-t / 0.04) * sin(2.0 * PI * 35.0 * t));
    }
}

/* Mains of either kind, eight harmonics: each 30 dB down, a heart between them kept to
 * half a decibel of what it is without them. */
static void mains_go_and_the_heart_stays(void **state)
{
    (void)state;
    make_heart();
    assert_int_equal(condition().n_lines, 0);
    const double heart = power_near_35_hz();
    const double mains_hz[] = {50.0, 60.0, 49.95, 60.03};
    for (size_t k = 0; k < N_ELEMENTS(mains_hz); k++) {
        make_heart();
        double before[8];
        for (size_t h = 0; h < 8; h++) {
            add_sine(mains_hz[k] * (double)(h + 1), 0.2 / (double)(h + 1));
            before[h] = amplitude_at(mains_hz[k] * (double)(h + 1));
        }
        const fm_conditioned found = condition();
        assert_int_equal(found.n_lines, 8);
        assert_true(found.harmonic);
        for (size_t h = 0; h < 8; h++) {
            const double left = amplitude_at(mains_hz[k] * (double)(h + 1));
            assert_true(20.0 * log10(left / before[h]) < -30.0);
        }
        assert_within(10.0 * log10(power_near_35_hz() / heart), 0.0, 0.5);
    }
}

/* Two tones that are no multiples of one are not harmonic. */
static void unrelated_lines_are_not_harmonic(void **state)
{
    (void)state;
    memset(x, 0, sizeof(x));
    add_noise(0.002);
    add_sine(110.0, 0.3);
    add_sine(157.0, 0.3);
    const fm_conditioned found = condition();
    assert_int_equal(found.n_lines, 2);
    assert_false(found.harmonic);
    assert_true(found.line_share > 0.95);
}

/* A tone's power stands still; a heart's goes up and down by tens of decibels. */
static void a_tone_is_at_rest_a_heart_is_not(void **state)
{
    (void)state;
    memset(x, 0, sizeof(x));
    add_noise(0.002);
    add_sine(83.0, 0.3);
    assert_true(condition().restlessness < 0.5); /* the header's own figure */
    make_heart();
    assert_true(condition().restlessness > 2.0);
}

static void what_is_between_the_lines_stays(void **state)
{
    (void)state;
    memset(x, 0, sizeof(x));
    add_noise(0.02);
    add_sine(50.0, 0.3);
    float before[8];
    const double heart_hz[] = {25.0, 33.0, 42.0, 60.0, 75.0, 90.0, 120.0, 140.0};
    for (size_t i = 0; i < N_ELEMENTS(heart_hz); i++) {
        before[i] = (float)amplitude_at(heart_hz[i]);
    }
    (void)condition();
    for (size_t i = 0; i < N_ELEMENTS(heart_hz); i++) {
        /* the noise's own amplitude there: within 15 % (25 Hz feels the high-pass) */
        const double loss = heart_hz[i] < 30.0 ? 0.4 : 0.15;
        assert_within(amplitude_at(heart_hz[i]), (double)before[i],
                      loss * (double)before[i] + 1e-5);
    }
}

static void offset_and_rumble_are_taken_out(void **state)
{
    (void)state;
    memset(x, 0, sizeof(x));
    for (size_t i = 0; i < N; i++) {
        x[i] = 0.4f;
    }
    add_sine(2.0, 0.4);
    add_noise(0.0005);
    const fm_conditioned found = condition();
    /* second order at 18 Hz, there and back: (2/18)^4 = -76 dB at 2 Hz */
    assert_true(amplitude_at(2.0) < 0.4 * 3e-4);
    double worst = 0.0;
    for (size_t i = N / 4; i < 3 * N / 4; i++) {
        worst = fmax(worst, fabs((double)x[i]));
    }
    assert_true(worst < 2e-3);
    assert_int_equal(found.n_lines, 0);
}

static void power_is_the_mean_square(void **state)
{
    (void)state;
    memset(x, 0, sizeof(x));
    add_sine(80.0, 0.5);
    const fm_conditioned found = condition();
    assert_within(found.power, 0.125, 0.125 * 0.01);
    assert_true(found.line_share > 0.95); /* a tone and nothing else */
}

static void plain_noise_has_no_lines(void **state)
{
    (void)state;
    memset(x, 0, sizeof(x));
    add_noise(0.5);
    const fm_conditioned found = condition();
    assert_int_equal(found.n_lines, 0);
    assert_within(found.line_share, 0.0, 0.0);
    assert_within(found.power, 0.25 / 3.0, 0.25 / 3.0 * 0.05);
}

/* Beats come back regularly, but they are no hum: nothing may be notched out. */
static void a_steady_heart_has_no_lines(void **state)
{
    (void)state;
    const double rates[] = {45.0, 72.0, 120.0, 200.0};
    for (size_t k = 0; k < N_ELEMENTS(rates); k++) {
        memset(x, 0, sizeof(x));
        add_noise(0.003);
        for (size_t i = 0; i < N; i++) {
            const double t = fmod((double)i / FM_WORK_RATE_HZ, 60.0 / rates[k]);
            x[i] += (float)(0.5 * exp(-t / 0.03) * sin(2.0 * PI * 45.0 * t));
        }
        assert_int_equal(condition().n_lines, 0);
    }
}

static void silence_stays_silence(void **state)
{
    (void)state;
    memset(x, 0, sizeof(x));
    const fm_conditioned found = condition();
    assert_int_equal(found.n_lines, 0);
    assert_within(found.power, 0.0, 0.0);
    assert_within(found.line_share, 0.0, 0.0);
    for (size_t i = 0; i < N; i++) {
        assert_within((double)x[i], 0.0, 0.0);
    }
}

static void very_short_signals_are_left_without_lines(void **state)
{
    (void)state;
    fm_spectrum *s = fm_spectrum_create(FM_CONDITION_FFT);
    assert_non_null(s);
    for (size_t n = 0; n < 200; n += 7) {
        memset(x, 0, sizeof(x));
        add_sine(50.0, 0.5);
        fm_conditioned found;
        fm_condition(s, x, n, &found);
        assert_int_equal(found.n_lines, 0);
        assert_true(isfinite(found.power));
    }
    fm_spectrum_destroy(s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hum_and_its_harmonics_are_taken_out),
        cmocka_unit_test(mains_go_and_the_heart_stays),
        cmocka_unit_test(unrelated_lines_are_not_harmonic),
        cmocka_unit_test(a_tone_is_at_rest_a_heart_is_not),
        cmocka_unit_test(what_is_between_the_lines_stays),
        cmocka_unit_test(offset_and_rumble_are_taken_out),
        cmocka_unit_test(power_is_the_mean_square),
        cmocka_unit_test(plain_noise_has_no_lines),
        cmocka_unit_test(a_steady_heart_has_no_lines),
        cmocka_unit_test(silence_stays_silence),
        cmocka_unit_test(very_short_signals_are_left_without_lines),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
