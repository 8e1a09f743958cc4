/*
 * Against another tool's output, and closed forms.
 *   Source:    SciPy's resample (whole spectrum); version and calls in
 *              tests/data/scipy_vectors.h.
 *   It says:   the samples of a burst below 400 Hz brought to 2000 Hz.
 *   Input:     the same burst, made here from its formula at 4, 8, 11.025, 44.1 and
 *              48 kHz.
 *   Tolerance: 2e-5 of full scale: libsoxr's HQ promises 20 bits, the samples are single.
 */
#include "dsp/signal/resample.h"

#include "tests/data/scipy_vectors.h"
#include "tests/support.h"

#include <stdlib.h>
#include <string.h>

#define N_ELEMENTS(a) (sizeof(a) / sizeof((a)[0]))

static const double PI = 3.14159265358979323846;

/* A signal and its resampled version, long enough for everything below. */
enum {
    IN_MAX = 400000,
    OUT_MAX = 24000
};
static float input[IN_MAX];
static float output[OUT_MAX];

/* Resample input[0..n-1] in blocks of `block` samples; returns the output's length. */
static size_t resample(double in_hz, double out_hz, size_t n, size_t block)
{
    fm_resampler *r = fm_resampler_create(in_hz, out_hz);
    assert_non_null(r);
    size_t got = 0;
    for (size_t at = 0; at < n; at += block) {
        const size_t now = block < n - at ? block : n - at;
        got += fm_resampler_push(r, input + at, now, output + got, OUT_MAX - got);
    }
    got += fm_resampler_flush(r, output + got, OUT_MAX - got);
    fm_resampler_destroy(r);
    return got;
}

static void expect_burst(int rate, const double *expected)
{
    for (int i = 0; i < rate; i++) {
        const double t = (double)i / rate;
        const double place = (t - 0.5) / 0.1;
        input[i] = (float)(exp(-place * place) * (sin(2.0 * PI * 60.0 * t) +
                                                  0.5 * sin(2.0 * PI * 333.0 * t)));
    }
    const size_t n = resample(rate, 2000.0, (size_t)rate, 4096);
    assert_true(n >= 1999 && n <= 2001);
    for (size_t i = 0; i < 200; i++) {
        assert_within((double)output[900 + i], expected[i], 2e-5);
    }
}

static void a_burst_is_that_of_scipy(void **state)
{
    (void)state;
    expect_burst(4000, SCIPY_RESAMPLE_4000);
    expect_burst(8000, SCIPY_RESAMPLE_8000);
    expect_burst(11025, SCIPY_RESAMPLE_11025);
    expect_burst(44100, SCIPY_RESAMPLE_44100);
    expect_burst(48000, SCIPY_RESAMPLE_48000);
}

/* Closed form: output sample k is the input at k / rate, so an impulse at 0.5 s comes
 * out symmetric about sample 1000 and nowhere else. */
static void no_delay_is_left(void **state)
{
    (void)state;
    const int rates[] = {4000, 8000, 16000, 44100, 48000, 96000, 192000};
    for (size_t i = 0; i < N_ELEMENTS(rates); i++) {
        memset(input, 0, sizeof(input));
        input[rates[i] / 2] = 1.0f;
        const size_t n = resample(rates[i], 2000.0, (size_t)rates[i], 1000);
        assert_true(n >= 1999 && n <= 2001);
        const double peak = (double)output[1000];
        assert_true(peak > 0.0);
        for (size_t k = 1; k < 900; k++) {
            assert_true(fabs((double)output[1000 + k]) < peak);
            assert_within((double)output[1000 + k], (double)output[1000 - k],
                          1e-5 * peak + 1e-7);
        }
    }
}

/* A 1500 Hz tone cannot exist at 2000 Hz: less than -90 dB of it may be left. */
static void tones_above_the_new_band_vanish(void **state)
{
    (void)state;
    for (int i = 0; i < 44100; i++) {
        input[i] = (float)sin(2.0 * PI * 1500.0 * i / 44100.0);
    }
    const size_t n = resample(44100.0, 2000.0, 44100, 512);
    for (size_t i = 200; i + 200 < n; i++) {
        assert_true(fabs((double)output[i]) < 3.2e-5);
    }
}

static void upwards_too(void **state)
{
    (void)state;
    for (int i = 0; i < 2000; i++) {
        input[i] = (float)sin(2.0 * PI * 90.0 * i / 1000.0);
    }
    const size_t n = resample(1000.0, 2000.0, 2000, 333);
    assert_true(n >= 3999 && n <= 4001);
    for (size_t i = 400; i + 400 < n; i++) {
        assert_within((double)output[i], sin(2.0 * PI * 90.0 * (double)i / 2000.0),
                      2e-5);
    }
}

static void output_does_not_depend_on_the_cuts(void **state)
{
    (void)state;
    static float first[OUT_MAX];
    for (int i = 0; i < 44100; i++) {
        input[i] = (float)(0.5 * sin(0.01 * i) + 0.25 * sin(0.0007 * i * (i % 97)));
    }
    const size_t n = resample(44100.0, 2000.0, 44100, 44100);
    memcpy(first, output, sizeof(first));
    const size_t blocks[] = {1, 7, 480, 1023, 1024, 1025, 30000};
    for (size_t i = 0; i < N_ELEMENTS(blocks); i++) {
        assert_int_equal(resample(44100.0, 2000.0, 44100, blocks[i]), n);
        assert_memory_equal(first, output, n * sizeof(*output));
    }
}

static void reset_forgets_everything(void **state)
{
    (void)state;
    fm_resampler *r = fm_resampler_create(44100.0, 2000.0);
    assert_non_null(r);
    static float first[OUT_MAX];
    for (int i = 0; i < 44100; i++) {
        input[i] = (float)sin(0.02 * i);
    }
    size_t n = fm_resampler_push(r, input, 44100, first, OUT_MAX);
    n += fm_resampler_flush(r, first + n, OUT_MAX - n);
    for (size_t round = 0; round < 2; round++) {
        assert_int_equal(fm_resampler_reset(r), FM_OK);
        (void)fm_resampler_push(r, input + 777, 5000 * round, output, OUT_MAX);
        assert_int_equal(fm_resampler_reset(r), FM_OK);
        size_t again = fm_resampler_push(r, input, 44100, output, OUT_MAX);
        again += fm_resampler_flush(r, output + again, OUT_MAX - again);
        assert_int_equal(again, n);
        assert_memory_equal(first, output, n * sizeof(*output));
    }
    fm_resampler_destroy(r);
}

static void the_same_rate_passes_through(void **state)
{
    (void)state;
    for (int i = 0; i < 3000; i++) {
        input[i] = (float)i;
    }
    assert_int_equal(resample(2000.0, 2000.0, 3000, 700), 3000);
    assert_memory_equal(input, output, 3000 * sizeof(*output));
}

static void output_beyond_the_room_is_dropped(void **state)
{
    (void)state;
    fm_resampler *r = fm_resampler_create(4000.0, 2000.0);
    assert_non_null(r);
    memset(input, 0, sizeof(input));
    float small[12];
    small[10] = 77.0f;
    size_t n = fm_resampler_push(r, input, 8192, small, 10);
    n += fm_resampler_flush(r, small + n, 10 - n);
    assert_int_equal(n, 10);
    assert_within((double)small[10], 77.0, 0.0);
    fm_resampler_destroy(r);
}

static void bad_rates_are_refused(void **state)
{
    (void)state;
    const double bad[] = {0.0, -8000.0, (double)NAN};
    for (size_t i = 0; i < N_ELEMENTS(bad); i++) {
        assert_null(fm_resampler_create(bad[i], 2000.0));
        assert_null(fm_resampler_create(2000.0, bad[i]));
    }
    fm_resampler_destroy(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_burst_is_that_of_scipy),
        cmocka_unit_test(no_delay_is_left),
        cmocka_unit_test(tones_above_the_new_band_vanish),
        cmocka_unit_test(upwards_too),
        cmocka_unit_test(output_does_not_depend_on_the_cuts),
        cmocka_unit_test(reset_forgets_everything),
        cmocka_unit_test(the_same_rate_passes_through),
        cmocka_unit_test(output_beyond_the_room_is_dropped),
        cmocka_unit_test(bad_rates_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
