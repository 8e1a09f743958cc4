#include "dsp/rhythm/interval_measures.h"
#include "tests/support.h"

enum {
    MOST = 32
};

/* Milliseconds, repeated, as a series that follows on throughout. */
static fm_interval_measures measure(const double *ms, size_t n, size_t repeats)
{
    fm_measured_interval series[MOST];
    assert_true(n * repeats <= MOST);
    for (size_t i = 0; i < n * repeats; i++) {
        series[i] =
            (fm_measured_interval){.length_s = ms[i % n] / 1000.0, .follows = true};
    }
    return fm_interval_measures_estimate(series, n * repeats);
}

/*
 * Against a hand-worked series.
 *   Source:    definitions of the Task Force, Eur Heart J 17:354, 1996 (SDNN with n - 1);
 *              pNN50 over the number of differences; Poincare by direct projection.
 *   It says:   differences 10 -20 30 -40 50 -60 70: squares sum to 14000, / 7 = 2000,
 *              root 44.7214; over 50 ms: 2 of 7 (50 itself is not over). Deviations from
 *              805: -5 5 -15 15 -25 25 -35 35: squares sum to 4200, / 7 = 600, root
 *              24.4949. SD1 33.877, SD2 3.780 (NumPy 1.24.2, standard deviation of the
 *              projections).
 *   Input:     800 810 790 820 780 830 770 840 ms.
 *   Tolerance: half a unit of the last printed digit.
 */
static void a_zigzag_gives_the_values_worked_by_hand(void **state)
{
    (void)state;
    const double ms[] = {800, 810, 790, 820, 780, 830, 770, 840};
    const fm_interval_measures m = measure(ms, 8, 1);
    assert_int_equal(m.n_intervals, 8);
    assert_int_equal(m.n_differences, 7);
    assert_within(m.mean_interval_s, 0.805, 1e-12);
    assert_within(m.sdnn_ms, sqrt(600.0), 1e-9);
    assert_within(m.rmssd_ms, sqrt(2000.0), 1e-9);
    assert_within(m.pnn50, 2.0 / 7.0, 1e-12);
    assert_within(m.cv, sqrt(600.0) / 805.0, 1e-12);
    assert_within(m.sd1_ms, 33.877, 5e-4);
    assert_within(m.sd2_ms, 3.780, 5e-4);
}

/*
 * Against another program.
 *   Source:    NumPy 1.24.2: mean, std(ddof=1) of the intervals and of the projections of
 *              the pairs, by the same definitions.
 *   It says:   the three rows below.
 *   Input:     five groups with a dropped beat (worked trace of the MSD Manual's 4:3
 *              figure: 1080 1040 1920 ms), eight short-long pairs, one early beat with a
 *              full pause.
 *   Tolerance: half a unit of the last printed digit.
 */
static void patterned_rhythms_give_the_computed_values(void **state)
{
    (void)state;
    const double dropped[] = {1080, 1040, 1920};
    fm_interval_measures m = measure(dropped, 3, 5);
    assert_within(m.mean_interval_s, 1.346667, 5e-7);
    assert_within(m.sdnn_ms, 419.977, 5e-4);
    assert_within(m.rmssd_ms, 691.912, 5e-4);
    assert_within(m.pnn50, 9.0 / 14.0, 1e-12);
    assert_within(m.rmssd_ms / m.mean_interval_s / 1000.0, 0.51380, 5e-6);
    assert_within(m.sd1_ms, 505.812, 5e-4);
    assert_within(m.sd2_ms, 301.826, 5e-4);

    const double pairs[] = {500, 1000};
    m = measure(pairs, 2, 8);
    assert_within(60.0 / m.mean_interval_s, 80.0, 1e-9);
    assert_within(m.sdnn_ms, 258.199, 5e-4);
    assert_within(m.rmssd_ms, 500.0, 1e-9);
    assert_within(m.pnn50, 1.0, 1e-12);
    assert_within(m.sd1_ms, 365.148, 5e-4);
    assert_within(m.sd2_ms, 0.0, 1e-6);

    const double early[] = {800, 800, 800, 800, 480, 1120, 800, 800, 800, 800};
    m = measure(early, 10, 1);
    assert_within(m.sdnn_ms, 150.849, 5e-4);
    assert_within(m.rmssd_ms, 261.279, 5e-4);
    assert_within(m.pnn50, 3.0 / 9.0, 1e-12);
    assert_within(m.sd1_ms, 195.959, 5e-4);
    assert_within(m.sd2_ms, 113.137, 5e-4);
}

/*
 * Against a closed form.
 *   Source:    Brennan, Palaniswami, Kamen, IEEE Trans. Biomed. Eng. 48:1342, 2001.
 *   It says:   SD1^2 = SDSD^2 / 2, SDSD the standard deviation of the differences: exact
 *              when both are taken over the same pairs.
 *   Input:     the zigzag above; its differences have mean 40 / 7.
 *   Tolerance: rounding.
 */
static void sd1_is_the_spread_of_differences_over_root_two(void **state)
{
    (void)state;
    const double ms[] = {800, 810, 790, 820, 780, 830, 770, 840};
    const fm_interval_measures m = measure(ms, 8, 1);
    const double sdsd2 = (14000.0 - 7.0 * (40.0 / 7.0) * (40.0 / 7.0)) / 6.0;
    assert_within(m.sd1_ms, sqrt(sdsd2 / 2.0), 1e-9);
}

static void a_gap_breaks_the_chain_of_differences(void **state)
{
    (void)state;
    fm_measured_interval s[] = {
        {0.8, false}, {0.8, true}, {1.6, false}, {1.6, true}, {1.6, true}};
    const fm_interval_measures broken = fm_interval_measures_estimate(s, 5);
    assert_int_equal(broken.n_differences, 3);
    assert_within(broken.rmssd_ms, 0.0, 1e-9);
    assert_within(broken.pnn50, 0.0, 0.0);
    s[2].follows = true;
    const fm_interval_measures whole = fm_interval_measures_estimate(s, 5);
    assert_int_equal(whole.n_differences, 4);
    assert_within(whole.rmssd_ms, 400.0, 1e-9);
    assert_within(whole.pnn50, 0.25, 0.0);
    assert_within(whole.mean_interval_s, broken.mean_interval_s, 0.0);
}

static void too_few_intervals_give_nan(void **state)
{
    (void)state;
    const double ms[] = {800, 820, 790};
    const fm_interval_measures none = fm_interval_measures_estimate(NULL, 0);
    assert_true(isnan(none.mean_interval_s) && isnan(none.sdnn_ms) && isnan(none.cv));
    assert_true(isnan(none.rmssd_ms) && isnan(none.pnn50) && isnan(none.sd1_ms));
    const fm_interval_measures one = measure(ms, 1, 1);
    assert_within(one.mean_interval_s, 0.8, 1e-12);
    assert_true(isnan(one.sdnn_ms) && isnan(one.cv) && isnan(one.rmssd_ms));
    const fm_interval_measures two = measure(ms, 2, 1);
    assert_within(two.rmssd_ms, 20.0, 1e-9);
    assert_true(isnan(two.sd1_ms) && isnan(two.sd2_ms));
    const fm_interval_measures three = measure(ms, 3, 1);
    assert_true(isfinite(three.sd1_ms) && isfinite(three.sd2_ms));
}

static void a_length_that_is_not_finite_gives_nan(void **state)
{
    (void)state;
    const double ms[] = {800, (double)NAN, 790, 810};
    const fm_interval_measures m = measure(ms, 4, 1);
    assert_true(isnan(m.mean_interval_s) && isnan(m.sdnn_ms) && isnan(m.rmssd_ms));
    assert_true(isnan(m.pnn50) && isnan(m.sd1_ms) && isnan(m.sd2_ms));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_zigzag_gives_the_values_worked_by_hand),
        cmocka_unit_test(patterned_rhythms_give_the_computed_values),
        cmocka_unit_test(sd1_is_the_spread_of_differences_over_root_two),
        cmocka_unit_test(a_gap_breaks_the_chain_of_differences),
        cmocka_unit_test(too_few_intervals_give_nan),
        cmocka_unit_test(a_length_that_is_not_finite_gives_nan),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
