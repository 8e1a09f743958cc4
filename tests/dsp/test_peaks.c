/*
 * Against another tool's output, and hand-worked examples.
 *   Source:    SciPy's find_peaks, NumPy's quantile; version and calls in
 *              tests/data/scipy_vectors.h.
 *   Input:     in the same file: smoothed noise in steps of 1/16, so that flat tops
 *              occur, and plain noise.
 *   Tolerance: none for places and for prominences, which are exact in steps of 1/16;
 *              1e-7 for quantiles, whose interpolation is in single precision.
 */
#include "dsp/signal/peaks.h"

#include "dsp/signal/random.h"

#include "tests/data/scipy_vectors.h"
#include "tests/support.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define N_ELEMENTS(a) (sizeof(a) / sizeof((a)[0]))

static void expect_peaks(float min_prominence,
                         size_t window,
                         const int *index,
                         const double *prominence,
                         size_t n)
{
    fm_peak peaks[N_ELEMENTS(SCIPY_PEAKS_IN)];
    const size_t found =
        fm_peaks_find(SCIPY_PEAKS_IN, N_ELEMENTS(SCIPY_PEAKS_IN), min_prominence,
                      window, peaks, N_ELEMENTS(peaks));
    assert_int_equal(found, n);
    for (size_t i = 0; i < n; i++) {
        assert_int_equal(peaks[i].index, index[i]);
        assert_within((double)peaks[i].prominence, prominence[i], 0.0);
        assert_within((double)peaks[i].height, (double)SCIPY_PEAKS_IN[peaks[i].index],
                      0.0);
    }
}

static void peaks_are_those_of_scipy(void **state)
{
    (void)state;
    expect_peaks(0.0f, 0, SCIPY_PEAKS_ALL, SCIPY_PEAKS_ALL_PROMINENCE,
                 N_ELEMENTS(SCIPY_PEAKS_ALL));
}

static void low_peaks_are_left_out_as_by_scipy(void **state)
{
    (void)state;
    assert_true(N_ELEMENTS(SCIPY_PEAKS_TALL) < N_ELEMENTS(SCIPY_PEAKS_ALL));
    expect_peaks(0.25f, 0, SCIPY_PEAKS_TALL, SCIPY_PEAKS_TALL_PROMINENCE,
                 N_ELEMENTS(SCIPY_PEAKS_TALL));
}

static void a_window_limits_the_search_as_in_scipy(void **state)
{
    (void)state;
    expect_peaks(0.125f, 12, SCIPY_PEAKS_NEAR, SCIPY_PEAKS_NEAR_PROMINENCE,
                 N_ELEMENTS(SCIPY_PEAKS_NEAR));
}

/* Worked by hand: 3.5 stands 3.5 over both ends; 3 is stopped by it and stands over 1. */
static void prominences_worked_by_hand(void **state)
{
    (void)state;
    const float x[] = {0, 1, 0, 2, 0, 3, 1, 3.5f, 0, 1, 0};
    const size_t index[] = {1, 3, 5, 7, 9};
    const double prominence[] = {1, 2, 2, 3.5, 1};
    fm_peak peaks[11];
    assert_int_equal(fm_peaks_find(x, N_ELEMENTS(x), 0.0f, 0, peaks, 11), 5);
    for (size_t i = 0; i < 5; i++) {
        assert_int_equal(peaks[i].index, index[i]);
        assert_within((double)peaks[i].prominence, prominence[i], 0.0);
    }
    assert_int_equal(fm_peaks_find(x, N_ELEMENTS(x), 1.5f, 0, peaks, 11), 3);
    assert_int_equal(peaks[0].index, 3);
    assert_int_equal(peaks[2].index, 7);
}

static void flat_tops_and_ends(void **state)
{
    (void)state;
    fm_peak peaks[4];
    const float flat[] = {0, 1, 1, 0};
    assert_int_equal(fm_peaks_find(flat, 4, 0.0f, 0, peaks, 4), 1);
    assert_int_equal(peaks[0].index, 1);
    const float shelf[] = {0, 1, 1, 2, 0};
    assert_int_equal(fm_peaks_find(shelf, 5, 0.0f, 0, peaks, 4), 1);
    assert_int_equal(peaks[0].index, 3);
    const float ends[] = {2, 1, 0, 1, 2, 2};
    assert_int_equal(fm_peaks_find(ends, 6, 0.0f, 0, peaks, 4), 0);
    const float level[] = {1, 1, 1, 1};
    assert_int_equal(fm_peaks_find(level, 4, 0.0f, 0, peaks, 4), 0);
    for (size_t n = 0; n < 3; n++) {
        assert_int_equal(fm_peaks_find(flat, n, 0.0f, 0, peaks, 4), 0);
    }
}

static void only_max_peaks_are_written(void **state)
{
    (void)state;
    const float x[] = {0, 1, 0, 1, 0, 1, 0};
    fm_peak peaks[3];
    memset(peaks, 0x55, sizeof(peaks));
    const fm_peak untouched = peaks[2];
    assert_int_equal(fm_peaks_find(x, N_ELEMENTS(x), 0.0f, 0, peaks, 2), 2);
    assert_int_equal(peaks[1].index, 3);
    assert_memory_equal(&peaks[2], &untouched, sizeof(untouched));
    assert_int_equal(fm_peaks_find(x, N_ELEMENTS(x), 0.0f, 0, peaks, 0), 0);
}

/* A comparison with NaN is false, so NaN is never a top and ends every search. */
static void nan_is_no_peak_and_ends_the_search(void **state)
{
    (void)state;
    const float x[] = {0, NAN, 0, 1, 0, NAN, 5, 4};
    fm_peak peaks[8];
    assert_int_equal(fm_peaks_find(x, N_ELEMENTS(x), 0.0f, 0, peaks, 8), 1);
    assert_int_equal(peaks[0].index, 3);
    assert_within((double)peaks[0].prominence, 1.0, 0.0);
}

static void quantiles_are_those_of_numpy(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_ELEMENTS(SCIPY_QUANTILES); i++) {
        float x[N_ELEMENTS(SCIPY_QUANTILE_IN)];
        memcpy(x, SCIPY_QUANTILE_IN, sizeof(x));
        assert_within((double)fm_quantile(x, N_ELEMENTS(x), SCIPY_QUANTILE_SHARES[i]),
                      SCIPY_QUANTILES[i], 1e-7);
    }
}

static void quantiles_of_few_and_of_equal_values(void **state)
{
    (void)state;
    float one = 3.0f;
    assert_within((double)fm_quantile(&one, 1, 0.0), 3.0, 0.0);
    assert_within((double)fm_quantile(&one, 1, 1.0), 3.0, 0.0);
    float two[] = {4.0f, 2.0f};
    assert_within((double)fm_quantile(two, 2, 0.25), 2.5, 0.0);
    float same[50];
    for (size_t i = 0; i < 50; i++) {
        same[i] = -1.5f;
    }
    assert_within((double)fm_quantile(same, 50, 0.37), -1.5, 0.0);
    float falling[9];
    for (size_t i = 0; i < 9; i++) {
        falling[i] = 9.0f - (float)i;
    }
    assert_within((double)fm_quantile(falling, 9, 0.5), 5.0, 0.0);
}

static int ascending(const void *a, const void *b)
{
    const float x = *(const float *)a;
    const float y = *(const float *)b;
    return (x > y) - (x < y);
}

/* Noise on a level; by seed whole numbers, a few values far off, or a range so narrow that
 * no bin could be told from the next. */
static void draw_long(uint64_t seed, size_t n, float *x)
{
    fm_random r = fm_random_init(seed, 8);
    for (size_t i = 0; i < n; i++) {
        const double v = fm_random_between(&r, -5.0, 5.0);
        const bool is_far = seed % 4 == 2 && fm_random_between(&r, 0.0, 1.0) < 0.01;
        x[i] = (float)(seed % 4 == 1 ? floor(v) : is_far ? 1e30 * v : v);
        x[i] = seed % 4 == 3 ? x[i] * 1e-38f : x[i];
    }
}

/* Long series go another way: to the last bit what sorting gives. */
static void quantiles_of_long_series_are_those_of_the_sorted(void **state)
{
    (void)state;
    enum {
        N_MAX = 3000
    };
    static float x[N_MAX];
    static float sorted[N_MAX];
    for (uint64_t seed = 0; seed < 400; seed++) {
        fm_random r = fm_random_init(seed, 9);
        const size_t n = 500 + (size_t)fm_random_between(&r, 0.0, N_MAX - 500.0);
        const double q =
            seed % 20 < 2 ? (double)(seed % 20) : fm_random_between(&r, 0.0, 1.0);
        draw_long(seed / 2, n, x);
        memcpy(sorted, x, n * sizeof(*x));
        qsort(sorted, n, sizeof(*sorted), ascending);
        const double place = q * (double)(n - 1);
        const size_t k = (size_t)place;
        const float next = sorted[k + 1 < n ? k + 1 : k];
        const float exact = sorted[k] + (float)(place - (double)k) * (next - sorted[k]);
        assert_within((double)fm_quantile(x, n, q), (double)exact, 0.0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(peaks_are_those_of_scipy),
        cmocka_unit_test(low_peaks_are_left_out_as_by_scipy),
        cmocka_unit_test(a_window_limits_the_search_as_in_scipy),
        cmocka_unit_test(prominences_worked_by_hand),
        cmocka_unit_test(flat_tops_and_ends),
        cmocka_unit_test(only_max_peaks_are_written),
        cmocka_unit_test(nan_is_no_peak_and_ends_the_search),
        cmocka_unit_test(quantiles_are_those_of_numpy),
        cmocka_unit_test(quantiles_of_few_and_of_equal_values),
        cmocka_unit_test(quantiles_of_long_series_are_those_of_the_sorted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
