/*
 * Closed forms: band powers of tones and noise, frame times, periods that are known.
 *   Input:     tones, noise (fixed seed) and pulses made here at the working rate.
 *   Tolerance: beside each assertion; a Hann window of 64 ms spreads a tone over three
 *              bins, so a tone in the middle of a band leaves under 1 % outside it.
 */
#include "dsp/heart/features.h"

#include "tests/data/scipy_vectors.h"
#include "tests/support.h"

#include <stdlib.h>
#include <string.h>

#define N_ELEMENTS(a) (sizeof(a) / sizeof((a)[0]))

enum {
    N = 40000 /* 20 s */
};

static const double PI = 3.14159265358979323846;

static float x[N];

static double noise(unsigned *seed)
{
    *seed = 1664525u * *seed + 1013904223u; /* Numerical Recipes' constants */
    return (double)*seed / 2147483648.0 - 1.0;
}

static double total_power(const fm_features *f, size_t frame)
{
    double sum = 0.0;
    for (size_t b = 0; b < FM_BANDS; b++) {
        sum += (double)f->power[b][frame];
    }
    return sum;
}

static void a_tone_has_its_power_in_one_band(void **state)
{
    (void)state;
    fm_feature_maker *m = fm_feature_maker_create();
    assert_non_null(m);
    /* Middles of the bands named in the header's table of limits. */
    const double middle_hz[FM_BANDS] = {39, 70, 117, 180, 258, 375, 531, 757};
    for (size_t b = 0; b < FM_BANDS; b++) {
        for (size_t i = 0; i < N; i++) {
            x[i] = (float)(0.5 * sin(2.0 * PI * middle_hz[b] * (double)i / 2000.0));
        }
        fm_features f;
        assert_int_equal(fm_features_make(m, x, N, &f), FM_OK);
        assert_int_equal(f.n_frames, N / FM_FRAME_SAMPLES);
        for (size_t k = 10; k + 10 < f.n_frames; k += 50) {
            assert_within(total_power(&f, k), 0.125, 0.125 * 0.03);
            assert_true((double)f.power[b][k] > 0.9 * total_power(&f, k));
        }
    }
    fm_feature_maker_destroy(m);
}

/*
 * Against another tool's output.
 *   Source:    SciPy's hilbert; version and call in tests/data/scipy_vectors.h.
 *   It says:   the power of a tone's envelope, averaged as our frames average it.
 *   Tolerance: 1 % of the largest, away from the ends: the tone is in one band, under 1 %
 *              of it outside.
 */
static void band_power_follows_the_analytic_envelope(void **state)
{
    (void)state;
    fm_feature_maker *m = fm_feature_maker_create();
    assert_non_null(m);
    fm_features f;
    assert_int_equal(
        fm_features_make(m, SCIPY_ENVELOPE_IN, N_ELEMENTS(SCIPY_ENVELOPE_IN), &f),
        FM_OK);
    assert_int_equal(f.n_frames, N_ELEMENTS(SCIPY_ENVELOPE_POWER));
    for (size_t k = 4; k + 4 < f.n_frames; k++) {
        assert_within((double)f.power[2][k], SCIPY_ENVELOPE_POWER[k], 0.005);
        assert_within(total_power(&f, k), SCIPY_ENVELOPE_POWER[k], 0.005);
    }
    fm_feature_maker_destroy(m);
}

/* White noise of variance 1/12: the bands together hold their share of 1000 Hz. */
static void noise_has_power_by_bandwidth(void **state)
{
    (void)state;
    fm_feature_maker *m = fm_feature_maker_create();
    assert_non_null(m);
    unsigned seed = 5;
    for (size_t i = 0; i < N; i++) {
        x[i] = (float)(0.5 * noise(&seed));
    }
    fm_features f;
    assert_int_equal(fm_features_make(m, x, N, &f), FM_OK);
    double sum = 0.0;
    for (size_t k = 10; k + 10 < f.n_frames; k++) {
        sum += total_power(&f, k);
    }
    sum /= (double)(f.n_frames - 20);
    assert_within(sum, 0.25 / 3.0 * (898.0 - 23.0) / 1000.0, 0.25 / 3.0 * 0.05);
    fm_feature_maker_destroy(m);
}

static void a_click_peaks_in_its_own_frame(void **state)
{
    (void)state;
    fm_feature_maker *m = fm_feature_maker_create();
    assert_non_null(m);
    const size_t frames[] = {100, 517, 1500};
    memset(x, 0, sizeof(x));
    for (size_t i = 0; i < N_ELEMENTS(frames); i++) {
        x[frames[i] * FM_FRAME_SAMPLES] = 1.0f;
    }
    fm_features f;
    assert_int_equal(fm_features_make(m, x, N, &f), FM_OK);
    for (size_t i = 0; i < N_ELEMENTS(frames); i++) {
        const size_t k = frames[i];
        for (size_t b = 0; b < FM_BANDS; b++) {
            for (size_t d = 1; d < 20; d++) {
                assert_true(f.power[b][k] > f.power[b][k + d]);
                assert_true(f.power[b][k] > f.power[b][k - d]);
            }
        }
    }
    fm_feature_maker_destroy(m);
}

/* A pulse train comes back fully after its period, whatever the period. */
static void autocorrelation_finds_the_period(void **state)
{
    (void)state;
    fm_feature_maker *m = fm_feature_maker_create();
    assert_non_null(m);
    const size_t periods[] = {30, 55, 83, 100, 171};
    for (size_t p = 0; p < N_ELEMENTS(periods); p++) {
        static float pulses[6000];
        for (size_t k = 0; k < N_ELEMENTS(pulses); k++) {
            pulses[k] = k % periods[p] < 4 ? 1.0f : 0.0f;
        }
        float r[200];
        assert_int_equal(fm_features_autocorrelation(m, pulses, 6000, r, 200), FM_OK);
        assert_within((double)r[0], 1.0, 1e-6);
        size_t best = 10;
        for (size_t lag = 10; lag < 200; lag++) {
            best = r[lag] > r[best] + 0.01f ? lag : best;
        }
        assert_int_equal(best, periods[p]);
        assert_within((double)r[best], 1.0, 0.01);
    }
    fm_feature_maker_destroy(m);
}

/* The exact slow version, in double. */
static void autocorrelation_equals_the_defining_sum(void **state)
{
    (void)state;
    fm_feature_maker *m = fm_feature_maker_create();
    assert_non_null(m);
    unsigned seed = 9;
    float y[500];
    double mean = 0.0;
    for (size_t i = 0; i < N_ELEMENTS(y); i++) {
        y[i] = (float)(3.0 + noise(&seed) + sin((double)i / 9.0));
        mean += (double)y[i] / (double)N_ELEMENTS(y);
    }
    float r[120];
    assert_int_equal(fm_features_autocorrelation(m, y, N_ELEMENTS(y), r, 120), FM_OK);
    double zero = 0.0;
    for (size_t lag = 0; lag < 120; lag++) {
        double sum = 0.0;
        for (size_t i = 0; i + lag < N_ELEMENTS(y); i++) {
            sum += ((double)y[i] - mean) * ((double)y[i + lag] - mean);
        }
        sum /= (double)(N_ELEMENTS(y) - lag);
        zero = lag == 0 ? sum : zero;
        assert_within((double)r[lag], sum / zero, 5e-6);
    }
    assert_int_equal(fm_features_autocorrelation(m, y, 1, r, 1), FM_ERR_ARG);
    assert_int_equal(fm_features_autocorrelation(m, y, FM_FRAMES_MAX + 1, r, 1),
                     FM_ERR_ARG);
    fm_feature_maker_destroy(m);
}

/* Beats in the lowest band only: it is the most periodic and weighs most. */
static void the_band_that_beats_weighs_most(void **state)
{
    (void)state;
    fm_feature_maker *m = fm_feature_maker_create();
    assert_non_null(m);
    unsigned seed = 21;
    for (size_t i = 0; i < N; i++) {
        const double t = fmod((double)i / 2000.0, 0.8);
        x[i] = (float)(0.02 * noise(&seed) +
                       0.8 * exp(-t / 0.04) * sin(2.0 * PI * 39.0 * t));
    }
    fm_features f;
    assert_int_equal(fm_features_make(m, x, N, &f), FM_OK);
    double sum = 0.0;
    for (size_t b = 0; b < FM_BANDS; b++) {
        sum += f.weight[b];
        assert_true(f.weight[b] >= 0.0);
        assert_true(f.periodicity[b] >= -1.0 && f.periodicity[b] <= 1.0 + 1e-6);
        assert_true(f.periodicity[0] >= f.periodicity[b]);
    }
    assert_within(sum, 1.0, 1e-9);
    assert_true(f.periodicity[0] > 0.8);
    /* and the envelope stands high in each beat, low between beats */
    for (size_t beat = 2; beat < 24; beat++) {
        const size_t k = beat * 80 + 3;
        assert_true(f.envelope[k] > 0.4f);
        assert_true(f.envelope[k + 40] < 0.3f);
    }
    fm_feature_maker_destroy(m);
}

/* The same recording forty decibels softer: levels are over their own floor. */
static void levels_do_not_hang_on_the_gain(void **state)
{
    (void)state;
    fm_feature_maker *m = fm_feature_maker_create();
    fm_feature_maker *soft = fm_feature_maker_create();
    assert_true(m && soft);
    unsigned seed = 55;
    static float y[N];
    for (size_t i = 0; i < N; i++) {
        const double t = fmod((double)i / 2000.0, 0.9);
        x[i] = (float)(0.1 * noise(&seed) +
                       0.8 * exp(-t / 0.04) * sin(2.0 * PI * 60.0 * t));
        y[i] = 0.01f * x[i];
    }
    fm_features f;
    fm_features g;
    assert_int_equal(fm_features_make(m, x, N, &f), FM_OK);
    assert_int_equal(fm_features_make(soft, y, N, &g), FM_OK);
    for (size_t k = 0; k < f.n_frames; k++) {
        for (size_t b = 0; b < FM_BANDS; b++) {
            assert_within((double)g.level[b][k], (double)f.level[b][k], 1e-3);
        }
        assert_within((double)g.envelope[k], (double)f.envelope[k], 1e-3);
    }
    assert_within(g.flatness, f.flatness, 1e-3);
    assert_within(g.high_share, f.high_share, 1e-3);
    fm_feature_maker_destroy(m);
    fm_feature_maker_destroy(soft);
}

/* Full scale, a step, one sample, the smallest numbers there are: always numbers, levels
 * in their range, weights that sum to one. */
static void every_feature_is_a_number(void **state)
{
    (void)state;
    fm_feature_maker *m = fm_feature_maker_create();
    assert_non_null(m);
    unsigned seed = 5;
    for (int kind = 0; kind < 6; kind++) {
        for (size_t i = 0; i < N; i++) {
            const float values[] = {
                i % 2 == 0 ? 1.0f : -1.0f, i < N / 2 ? 0.0f : 1.0f,
                i == 777 ? 1.0f : 0.0f,    1e-38f,
                (float)noise(&seed),       i % 400 < 5 ? 1e4f : 0.0f};
            x[i] = values[kind];
        }
        fm_features f;
        assert_int_equal(fm_features_make(m, x, N, &f), FM_OK);
        double sum = 0.0;
        for (size_t b = 0; b < FM_BANDS; b++) {
            sum += f.weight[b];
            assert_true(isfinite(f.periodicity[b]));
            for (size_t k = 0; k < f.n_frames; k++) {
                assert_true(isfinite(f.power[b][k]) && f.power[b][k] >= 0.0f);
                assert_true(f.level[b][k] >= -1.0f && f.level[b][k] <= 2.0f);
            }
        }
        assert_within(sum, 1.0, 1e-9);
        for (size_t k = 0; k < f.n_frames; k++) {
            assert_true(f.envelope[k] >= -1.0f && f.envelope[k] <= 2.0f);
        }
        assert_true(f.high_share >= 0.0 && f.high_share <= 1.0 + 1e-9);
        assert_true(f.flatness >= 0.0 && f.flatness <= 1.0 + 1e-6);
    }
    fm_feature_maker_destroy(m);
}

static void silence_has_no_level_and_no_period(void **state)
{
    (void)state;
    fm_feature_maker *m = fm_feature_maker_create();
    assert_non_null(m);
    memset(x, 0, sizeof(x));
    fm_features f;
    assert_int_equal(fm_features_make(m, x, N, &f), FM_OK);
    for (size_t k = 0; k < f.n_frames; k++) {
        assert_within((double)f.envelope[k], 0.0, 1e-6);
    }
    for (size_t b = 0; b < FM_BANDS; b++) {
        assert_within(f.periodicity[b], 0.0, 1e-6);
        assert_true(isfinite(f.weight[b]));
    }
    fm_feature_maker_destroy(m);
}

static void lengths_out_of_range_are_refused(void **state)
{
    (void)state;
    fm_feature_maker *m = fm_feature_maker_create();
    assert_non_null(m);
    float *long_x = calloc(FM_SEGMENT_SAMPLES + 1, sizeof(*long_x));
    assert_non_null(long_x);
    fm_features f;
    memset(&f, 0x55, sizeof(f));
    const fm_features untouched = f;
    assert_int_equal(fm_features_make(m, x, 0, &f), FM_ERR_SHORT);
    assert_int_equal(fm_features_make(m, x, 1999, &f), FM_ERR_SHORT);
    assert_int_equal(fm_features_make(m, long_x, FM_SEGMENT_SAMPLES + 1, &f),
                     FM_ERR_ARG);
    assert_memory_equal(&f, &untouched, sizeof(f));
    assert_int_equal(fm_features_make(m, long_x, FM_SEGMENT_SAMPLES, &f), FM_OK);
    assert_int_equal(fm_features_make(m, x, 2000, &f), FM_OK);
    free(long_x);
    fm_feature_maker_destroy(m);
    fm_feature_maker_destroy(NULL);
}

/* The same samples give the same features, whatever was made before. */
static void nothing_is_remembered(void **state)
{
    (void)state;
    fm_feature_maker *m = fm_feature_maker_create();
    assert_non_null(m);
    unsigned seed = 33;
    for (size_t i = 0; i < N; i++) {
        x[i] = (float)noise(&seed);
    }
    fm_features f;
    assert_int_equal(fm_features_make(m, x, N, &f), FM_OK);
    const size_t n = N / 2 / FM_FRAME_SAMPLES;
    static float first[N];
    assert_int_equal(fm_features_make(m, x, N / 2, &f), FM_OK);
    memcpy(first, f.envelope, n * sizeof(*first));
    assert_int_equal(fm_features_make(m, x + N / 2, N / 2, &f), FM_OK);
    assert_int_equal(fm_features_make(m, x, N / 2, &f), FM_OK);
    assert_memory_equal(first, f.envelope, n * sizeof(*first));
    fm_feature_maker_destroy(m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_tone_has_its_power_in_one_band),
        cmocka_unit_test(band_power_follows_the_analytic_envelope),
        cmocka_unit_test(noise_has_power_by_bandwidth),
        cmocka_unit_test(a_click_peaks_in_its_own_frame),
        cmocka_unit_test(autocorrelation_finds_the_period),
        cmocka_unit_test(autocorrelation_equals_the_defining_sum),
        cmocka_unit_test(the_band_that_beats_weighs_most),
        cmocka_unit_test(levels_do_not_hang_on_the_gain),
        cmocka_unit_test(every_feature_is_a_number),
        cmocka_unit_test(silence_has_no_level_and_no_period),
        cmocka_unit_test(lengths_out_of_range_are_refused),
        cmocka_unit_test(nothing_is_remembered),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
