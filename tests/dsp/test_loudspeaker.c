/*
 * Harmonics for a small loudspeaker.
 *   Source:    closed form: a sine of f becomes one of 8f at the same size.
 *   Input:     sines and bursts with known onsets, made here; a minute composed with seed 5.
 *   Tolerance: 5 % of the size, the Hilbert transformer's own; levels as stated; timing 2 ms,
 *              the promise made in README.md.
 */
#include "dsp/signal/filter.h"
#include "dsp/signal/loudspeaker.h"

#include "tests/dsp/compose_support.h"
#include "tests/support.h"

#include <stdlib.h>
#include <string.h>

enum {
    N = 48000,
    BURSTS = 5
};

static const double RATE_HZ = 8000.0;
static const double TAU = 6.28318530717958647692;

/* RMS of a frequency in x[0..N-1], by a direct Fourier sum over whole seconds. */
static double level_at(const float *x, double freq_hz)
{
    double c = 0.0;
    double s = 0.0;
    for (int i = 0; i < N; i++) {
        const double phase = TAU * freq_hz * (double)i / RATE_HZ;
        c += (double)x[i] * cos(phase);
        s += (double)x[i] * sin(phase);
    }
    return sqrt(2.0) * hypot(c, s) / (double)N;
}

static double band_rms(const float *x, double from_hz, double to_hz)
{
    float *const y = malloc(N * sizeof *y);
    assert_non_null(y);
    memcpy(y, x, N * sizeof *y);
    fm_filter f;
    assert_int_equal(fm_filter_init_bandpass(&f, 4, RATE_HZ, from_hz, to_hz), FM_OK);
    fm_filter_zero_phase(&f, y, N);
    double sum = 0.0;
    for (int i = 0; i < N; i++) {
        sum += (double)y[i] * (double)y[i];
    }
    free(y);
    return sqrt(sum / N);
}

static float *room(void)
{
    float *const x = calloc(2 * N, sizeof *x); /* the work takes twice as much */
    assert_non_null(x);
    return x;
}

/* Bursts of 60 Hz, 80 ms long, a half-sine over each: the shape of a heart sound. */
static double burst_onset_s(int k)
{
    return 0.6 + 1.1 * k + 0.0137 * k;
}

static void fill_bursts(float *x, double level)
{
    memset(x, 0, N * sizeof *x);
    for (int k = 0; k < BURSTS; k++) {
        for (int i = 0; i < N; i++) {
            const double t_s = (double)i / RATE_HZ - burst_onset_s(k);
            if (t_s >= 0.0 && t_s < 0.08) {
                x[i] = (float)(level * sin(TAU * 60.0 * t_s) * sin(TAU * t_s / 0.16));
            }
        }
    }
}

static void a_sine_becomes_its_eighth_harmonic_and_no_other(void **state)
{
    (void)state;
    static const double FREQ_HZ[] = {40.0, 60.0, 80.0};
    float *const x = room();
    float *const work = room();
    for (size_t k = 0; k < sizeof FREQ_HZ / sizeof FREQ_HZ[0]; k++) {
        for (int i = 0; i < N; i++) {
            x[i] = (float)(0.1 * sin(TAU * FREQ_HZ[k] * (double)i / RATE_HZ));
        }
        const fm_loudspeaker_config c = fm_loudspeaker_config_default(RATE_HZ);
        assert_int_equal(fm_loudspeaker_add(&c, x, work, N), FM_OK);
        const double eighth = level_at(work, 8.0 * FREQ_HZ[k]);
        for (int other = 1; other <= 12; other++) {
            assert_true(other == 8 ||
                        level_at(work, other * FREQ_HZ[k]) < 0.08 * eighth);
        }
        /* as loud as the low band, and that is still there */
        assert_within(eighth / level_at(x, FREQ_HZ[k]), 1.0, 0.05);
    }
    free(work);
    free(x);
}

static void the_band_of_the_harmonics_rises_to_the_low_bands_level(void **state)
{
    (void)state;
    float *const x = room();
    float *const work = room();
    fill_bursts(x, 0.1);
    const double before = band_rms(x, 250.0, 700.0);
    const double low = band_rms(x, 25.0, 150.0);
    const fm_loudspeaker_config c = fm_loudspeaker_config_default(RATE_HZ);
    assert_int_equal(fm_loudspeaker_add(&c, x, work, N), FM_OK);
    const double after = band_rms(x, 250.0, 700.0);
    assert_true(20.0 * log10(after / before) > 20.0);
    assert_true(after > 0.5 * low);
    free(work);
    free(x);
}

/* How loud it is from moment to moment: the size, smoothed without delay. */
static float *loudness(const float *x, size_t n, double rate_hz)
{
    float *const y = malloc(n * sizeof *y);
    fm_filter f;
    assert_non_null(y);
    for (size_t i = 0; i < n; i++) {
        y[i] = fabsf(x[i]);
    }
    assert_int_equal(fm_filter_init_lowpass(&f, 2, rate_hz, 40.0), FM_OK);
    fm_filter_zero_phase(&f, y, n);
    return y;
}

/* First moment near an onset at which it passes a quarter of its most there, s. */
static double begins_s(const float *y, double rate_hz, double near_s)
{
    const int from = (int)((near_s - 0.05) * rate_hz);
    const int to = (int)((near_s + 0.15) * rate_hz);
    double most = 0.0;
    for (int i = from; i < to; i++) {
        most = fmax(most, (double)y[i]);
    }
    int i = from;
    while ((double)y[i] < most / 4.0) {
        i++;
    }
    return (double)i / rate_hz;
}

/* How far b must be moved to lie best on a, near an onset, s. */
static double moved_s(const float *a, const float *b, double rate_hz, double near_s)
{
    const int from = (int)((near_s - 0.05) * rate_hz);
    const int to = (int)((near_s + 0.15) * rate_hz);
    const int most = (int)(0.01 * rate_hz);
    double best = -1.0;
    int at = 0;
    for (int lag = -most; lag <= most; lag++) {
        double ab = 0.0;
        double bb = 0.0;
        for (int i = from; i < to; i++) {
            ab += (double)a[i] * (double)b[i + lag];
            bb += (double)b[i + lag] * (double)b[i + lag];
        }
        if (ab / sqrt(bb) > best) {
            best = ab / sqrt(bb);
            at = lag;
        }
    }
    return (double)at / rate_hz;
}

static void check_timing(
    float *x, size_t n, double rate_hz, const double *at_s, size_t n_at)
{
    float *const low = malloc(n * sizeof *low);
    float *const work = malloc(2 * n * sizeof *work);
    fm_filter f;
    assert_non_null(low);
    assert_non_null(work);
    memcpy(low, x, n * sizeof *low);
    assert_int_equal(fm_filter_init_bandpass(&f, 2, rate_hz, 25.0, 150.0), FM_OK);
    fm_filter_zero_phase(&f, low, n);
    const fm_loudspeaker_config c = fm_loudspeaker_config_default(rate_hz);
    assert_int_equal(fm_loudspeaker_add(&c, x, work, n), FM_OK);
    float *const before = loudness(low, n, rate_hz);
    float *const added = loudness(work, n, rate_hz);
    for (size_t k = 0; k < n_at; k++) {
        assert_within(begins_s(added, rate_hz, at_s[k]),
                      begins_s(before, rate_hz, at_s[k]), 0.002);
        assert_within(moved_s(before, added, rate_hz, at_s[k]), 0.0, 0.002);
    }
    free(added);
    free(before);
    free(work);
    free(low);
}

static void onsets_of_bursts_stay_within_two_milliseconds(void **state)
{
    (void)state;
    float *const x = room();
    double at_s[BURSTS];
    fill_bursts(x, 0.1);
    for (int k = 0; k < BURSTS; k++) {
        at_s[k] = burst_onset_s(k);
    }
    check_timing(x, N, RATE_HZ, at_s, BURSTS);
    free(x);
}

static void first_sounds_of_a_composed_minute_stay_within_two_milliseconds(void **state)
{
    (void)state;
    fm_recipe recipe = fm_recipe_default();
    recipe.seed = 5;
    composed c = compose_or_fail(&recipe);
    size_t last = c.truth.n_s1;
    while (last > 0 && c.truth.s1_s[last - 1] > c.truth.duration_s - 0.3) {
        last--;
    }
    assert_true(last > 40 && c.truth.s1_s[1] > 0.1);
    check_timing(c.x, c.n, c.truth.rate_hz, &c.truth.s1_s[1], last - 1);
    composed_free(&c);
}

static void what_is_added_follows_the_level_and_never_clips(void **state)
{
    (void)state;
    float *const x = room();
    float *const soft = room();
    float *const loud = room();
    const fm_loudspeaker_config c = fm_loudspeaker_config_default(RATE_HZ);
    fill_bursts(x, 0.01);
    assert_int_equal(fm_loudspeaker_add(&c, x, soft, N), FM_OK);
    fill_bursts(x, 1.0);
    assert_int_equal(fm_loudspeaker_add(&c, x, loud, N), FM_OK);
    double most = 0.0;
    for (int i = 0; i < N; i++) {
        assert_within((double)loud[i], 100.0 * (double)soft[i], 1e-4);
        most = fmax(most, fabs((double)x[i]));
    }
    assert_within(most, 0.98, 1e-4);
    free(loud);
    free(soft);
    free(x);
}

static void silence_one_sample_and_what_is_no_number(void **state)
{
    (void)state;
    float *const x = room();
    float *const work = room();
    const fm_loudspeaker_config c = fm_loudspeaker_config_default(RATE_HZ);
    assert_int_equal(fm_loudspeaker_add(&c, x, work, N), FM_OK);
    for (int i = 0; i < N; i++) {
        assert_true(x[i] >= 0.0F && x[i] <= 0.0F);
    }
    assert_int_equal(fm_loudspeaker_add(&c, x, work, 0), FM_OK);
    assert_int_equal(fm_loudspeaker_add(&c, x, work, 1), FM_OK);
    fill_bursts(x, 0.1);
    x[100] = NAN;
    x[200] = INFINITY;
    assert_int_equal(fm_loudspeaker_add(&c, x, work, N), FM_OK);
    for (int i = 0; i < N; i++) {
        assert_true(isfinite(x[i]) && isfinite(work[i]));
    }
    free(work);
    free(x);
}

static void bands_that_do_not_fit_are_refused(void **state)
{
    (void)state;
    float x[4] = {1.0F, 2.0F, 3.0F, 4.0F};
    float work[8];
    static const double RATES[] = {0.0, -1.0, 1600.0, 1000.0, (double)NAN};
    for (size_t i = 0; i < sizeof RATES / sizeof RATES[0]; i++) {
        const fm_loudspeaker_config c = fm_loudspeaker_config_default(RATES[i]);
        assert_int_equal(fm_loudspeaker_add(&c, x, work, 4), FM_ERR_ARG);
    }
    fm_loudspeaker_config c = fm_loudspeaker_config_default(RATE_HZ);
    c.peak = 0.0;
    assert_int_equal(fm_loudspeaker_add(&c, x, work, 4), FM_ERR_ARG);
    c = fm_loudspeaker_config_default(RATE_HZ);
    c.added_db = (double)NAN;
    assert_int_equal(fm_loudspeaker_add(&c, x, work, 4), FM_ERR_ARG);
    assert_within((double)x[3], 4.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sine_becomes_its_eighth_harmonic_and_no_other),
        cmocka_unit_test(the_band_of_the_harmonics_rises_to_the_low_bands_level),
        cmocka_unit_test(onsets_of_bursts_stay_within_two_milliseconds),
        cmocka_unit_test(
            first_sounds_of_a_composed_minute_stay_within_two_milliseconds),
        cmocka_unit_test(what_is_added_follows_the_level_and_never_clips),
        cmocka_unit_test(silence_one_sample_and_what_is_no_number),
        cmocka_unit_test(bands_that_do_not_fit_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
