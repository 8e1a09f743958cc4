/*
 * Real beat intervals, composed into sound and counted back.
 *   Source:    scipy.misc.electrocardiogram of SciPy 1.10.1 (record 208 of the MIT-BIH
 *              Arrhythmia Database: Moody, Mark, IEEE Eng Med Biol 20:45, 2001), R peaks
 *              by tests/data/make_scipy_ecg_intervals.py.
 *   It says:   316 intervals, 189.475 s, 100 per minute, many early beats.
 *   Input:     tests/data/scipy_ecg_intervals.txt, composed at 4 kHz with seeds 1 to 3.
 *   Tolerance: every S1 within 30 ms of its onset; the count of each of the three minutes
 *              exact.
 */
#include "dsp/analyser.h"

#include "compose_support.h"

#include <stdio.h>

enum {
    INTERVALS_MAX = 1000
};

static size_t read_intervals(double *out)
{
    FILE *const f = fopen(TEST_DATA_DIR "/scipy_ecg_intervals.txt", "r");
    assert_non_null(f);
    char line[256];
    size_t n = 0;
    while (fgets(line, sizeof line, f) != NULL) {
        if (line[0] != '#' && n < INTERVALS_MAX) {
            out[n++] = strtod(line, NULL);
        }
    }
    (void)fclose(f);
    return n;
}

static composed compose_ecg(uint64_t seed, const double *intervals, size_t n)
{
    fm_recipe r = fm_recipe_default();
    r.seed = seed;
    r.seconds = 188.0;
    r.rhythm = FM_COMPOSE_GIVEN;
    r.intervals_s = intervals;
    r.n_intervals = n;
    return compose_or_fail(&r);
}

static void the_intervals_are_the_ones_described(void **state)
{
    (void)state;
    double intervals[INTERVALS_MAX];
    const size_t n = read_intervals(intervals);
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += intervals[i];
    }
    assert_int_equal(n, 316);
    assert_within(sum, 189.475, 0.001);
}

static void composed_onsets_repeat_the_real_intervals(void **state)
{
    (void)state;
    double intervals[INTERVALS_MAX];
    const size_t n = read_intervals(intervals);
    composed c = compose_ecg(1, intervals, n);
    assert_true(c.truth.n_s1 > 300);
    for (size_t i = 0; i + 1 < c.truth.n_s1; i++) {
        assert_within(interval_s(&c.truth, i), intervals[i], 1.0 / 4000.0 + 1e-9);
    }
    composed_free(&c);
}

static void check_minute(const fm_count *got, const fm_truth *truth, double start_s)
{
    assert_int_not_equal(got->heart.count.status, FM_REFUSED);
    size_t expected = 0;
    for (size_t i = 0; i < truth->n_s1; i++) {
        const double at = truth->s1_s[i];
        if (at < start_s || at >= start_s + 60.0) {
            continue;
        }
        expected++;
        double nearest = 1.0;
        for (size_t k = 0; k < got->heart.count.n; k++) {
            nearest = fmin(nearest, fabs(got->heart.count.onsets_s[k] - at));
        }
        assert_within(nearest, 0.0, 0.030);
    }
    assert_int_equal(got->heart.count.n, expected);
}

static void every_real_beat_is_counted_back(void **state)
{
    (void)state;
    double intervals[INTERVALS_MAX];
    const size_t n = read_intervals(intervals);
    fm_count *const got = malloc(sizeof *got);
    assert_non_null(got);
    for (uint64_t seed = 1; seed <= 3; seed++) {
        composed c = compose_ecg(seed, intervals, n);
        fm_analyser *const a = fm_analyser_create(4000.0, NULL);
        assert_non_null(a);
        for (int minute = 0; minute < 3; minute++) {
            const int64_t length = (int64_t)60 * 4000;
            assert_int_equal(fm_analyser_reset(a, 0), FM_OK);
            assert_int_equal(fm_analyser_open(a, minute * length, length), FM_OK);
            assert_int_equal(fm_analyser_push(a, c.x, c.n), FM_OK);
            assert_int_equal(fm_analyser_finish(a), FM_OK);
            assert_true(fm_analyser_take(a, got));
            check_minute(got, &c.truth, 60.0 * minute);
        }
        fm_analyser_destroy(a);
        composed_free(&c);
    }
    free(got);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_intervals_are_the_ones_described),
        cmocka_unit_test(composed_onsets_repeat_the_real_intervals),
        cmocka_unit_test(every_real_beat_is_counted_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
