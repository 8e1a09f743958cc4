/* Agreement with the truth: bias, limits, shares, order statistics, calibration. */
#include "dsp/compare/agreement.h"

#include "tests/support.h"

/*
 * Against a published example.
 *   Source:    Bland and Altman, Lancet 1986; 1:307, table of peak expiratory flow of 17
 *              people by two meters, first readings (from memory).
 *   It says:   mean difference -2.1 l/min, standard deviation 38.8; standard error of the
 *              mean 9.4, its interval -22.0 to 17.8 with t = 2.12; standard error of the
 *              limits 16.3.
 *   Tolerance: 0.05, half of the last printed place; 0.1 where they multiply rounded ones.
 *              They take 2 where we take 1.96 standard deviations for the limits.
 */
static void limits_of_agreement_are_those_published(void **state)
{
    (void)state;
    const double large[] = {494, 395, 516, 434, 476, 557, 413, 442, 650,
                            433, 417, 656, 267, 478, 178, 423, 427};
    const double mini[] = {512, 430, 520, 428, 500, 600, 364, 380, 658,
                           445, 432, 626, 260, 477, 259, 350, 451};
    const fm_agreement a = fm_agreement_of(large, mini, 17);
    assert_int_equal(a.n, 17);
    assert_within(a.bias, -2.1, 0.05);
    assert_within(a.sd, 38.8, 0.05);
    assert_within(a.bias_95.low, -22.0, 0.1);
    assert_within(a.bias_95.high, 17.8, 0.1);
    assert_within(a.limit_margin / fm_student_95(16), 16.3, 0.05);
    assert_within(a.limits.low, a.bias - 1.96 * a.sd, 0.01);
    assert_within(a.limits.high, a.bias + 1.96 * a.sd, 0.01);
    assert_within(a.worst_absolute, 81.0, 0.0);
    assert_int_equal(a.within[0], 1);
}

/* Closed form: with one degree of freedom tan(0.475 pi), with two
 * sqrt(2) 0.95 / sqrt(1 - 0.95^2); printed tables for the rest (from memory). */
static void student_is_the_tables(void **state)
{
    (void)state;
    assert_within(fm_student_95(1), tan(0.475 * 3.14159265358979323846), 1e-8);
    assert_within(fm_student_95(2), sqrt(2.0) * 0.95 / sqrt(1.0 - 0.95 * 0.95), 1e-8);
    assert_within(fm_student_95(3), 3.182, 5e-4);
    assert_within(fm_student_95(16), 2.120, 5e-4);
    assert_within(fm_student_95(29), 2.045, 5e-4);
    assert_within(fm_student_95(120), 1.980, 5e-4);
    assert_within(fm_student_95(1000000), 1.960, 5e-4);
    assert_true(isnan(fm_student_95(0)));
}

static void pairs_without_a_number_are_left_out(void **state)
{
    (void)state;
    const double found[] = {70.0, (double)NAN, 81.0, 90.0, 60.5};
    const double truth[] = {70.0, 50.0, 80.0, (double)INFINITY, 64.0};
    const fm_agreement a = fm_agreement_of(found, truth, 5);
    assert_int_equal(a.n, 3);
    assert_within(a.bias, (0.0 + 1.0 - 3.5) / 3.0, 1e-12);
    assert_within(a.mean_absolute, 4.5 / 3.0, 1e-12);
    assert_int_equal(a.within[0], 2);
    assert_int_equal(a.within[1], 2);
    assert_int_equal(a.within[2], 2);
}

static void too_few_pairs_leave_numbers_unknown(void **state)
{
    (void)state;
    const double x = 72.0;
    const double y = 70.0;
    fm_agreement a = fm_agreement_of(&x, &y, 0);
    assert_true(a.n == 0 && isnan(a.bias) && isnan(a.limits.low));
    assert_true(isnan(a.mean_absolute) && isnan(a.worst_absolute));
    a = fm_agreement_of(&x, &y, 1);
    assert_within(a.bias, 2.0, 0.0);
    assert_true(isnan(a.sd) && isnan(a.bias_95.low) && isnan(a.limit_margin));
    assert_int_equal(a.within[1], 1);
    assert_int_equal(a.within[0], 0);
    const double three[] = {72.0, 71.0, 66.0};
    const double truth[] = {70.0, 72.0, 66.0};
    a = fm_agreement_of(three, truth, 2);
    assert_true(isfinite(a.sd) && isnan(a.limits.low) && isnan(a.limit_margin));
    a = fm_agreement_of(three, truth, 3);
    assert_true(isfinite(a.limits.low) && isfinite(a.limits.high));
}

/*
 * Closed form of the interval at its ends.
 *   It says:   none of n: upper end 1 - 0.025^(1/n); all of n: lower end 0.025^(1/n).
 *              5 of 10: 0.1871 to 0.8129 (from memory of printed tables).
 *   Tolerance: 1e-9 for the closed form; 5e-5 for the four printed places.
 */
static void exact_interval_has_its_closed_form_at_the_ends(void **state)
{
    (void)state;
    const long sizes[] = {1, 10, 147, 2000};
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        const double root = pow(0.025, 1.0 / (double)sizes[i]);
        const fm_ends none = fm_share_exact_95(0, sizes[i]);
        const fm_ends all = fm_share_exact_95(sizes[i], sizes[i]);
        assert_within(none.low, 0.0, 0.0);
        assert_within(none.high, 1.0 - root, 1e-9);
        assert_within(all.low, root, 1e-9);
        assert_within(all.high, 1.0, 0.0);
    }
    const fm_ends half = fm_share_exact_95(5, 10);
    assert_within(half.low, 0.1871, 5e-5);
    assert_within(half.high, 0.8129, 5e-5);
    assert_true(isnan(fm_share_exact_95(0, 0).low));
}

static void quantiles_go_linearly_between_neighbours(void **state)
{
    (void)state;
    double v[] = {4.0, 1.0, 3.0, 2.0};
    fm_sort_ascending(v, 4);
    assert_within(fm_sorted_quantile(v, 4, 0.5), 2.5, 1e-12);
    assert_within(fm_sorted_quantile(v, 4, 1.0), 4.0, 1e-12);
    assert_within(fm_sorted_quantile(v, 4, 0.95), 3.85, 1e-12);
    assert_true(isnan(fm_sorted_quantile(v, 0, 0.5)));
}

/* Worked by hand: of the 4 pairs right-wrong, confidence orders 3. */
static void area_is_the_share_of_pairs_in_order(void **state)
{
    (void)state;
    fm_forecast f[] = {{0.9, true}, {0.6, false}, {0.5, true}, {0.1, false}};
    const fm_calibration c = fm_calibration_of(f, 4);
    assert_within(c.area, 0.75, 1e-12);
    assert_within(c.brier, (0.01 + 0.36 + 0.25 + 0.01) / 4.0, 1e-12);
    assert_within(c.brier_constant, 0.25, 1e-12);
}

static void equal_confidences_separate_nothing(void **state)
{
    (void)state;
    fm_forecast f[100];
    for (int i = 0; i < 100; i++) {
        f[i] = (fm_forecast){0.7, i < 70};
    }
    const fm_calibration c = fm_calibration_of(f, 100);
    assert_within(c.area, 0.5, 1e-12);
    assert_within(c.brier, c.brier_constant, 1e-12);
}

/* Bins of equal count cover every forecast once, in order of confidence. */
static void bins_hold_every_forecast_once(void **state)
{
    (void)state;
    fm_forecast f[25];
    for (int i = 0; i < 25; i++) {
        f[i] = (fm_forecast){(double)((i * 7) % 25) / 25.0, i % 2 == 0};
    }
    (void)fm_calibration_of(f, 25);
    size_t n = 0;
    double above = -1.0;
    for (size_t k = 0; k < FM_CALIBRATION_BINS; k++) {
        const fm_calibration_bin b = fm_calibration_bin_of(f, 25, k);
        assert_true(b.n == 2 || b.n == 3);
        assert_true(b.low > above && b.low <= b.confidence && b.confidence <= b.high);
        above = b.high;
        n += b.n;
    }
    assert_int_equal(n, 25);
    assert_int_equal(fm_calibration_bin_of(f, 3, 0).n, 0);
    assert_true(isnan(fm_calibration_of(f, 0).brier));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(limits_of_agreement_are_those_published),
        cmocka_unit_test(student_is_the_tables),
        cmocka_unit_test(pairs_without_a_number_are_left_out),
        cmocka_unit_test(too_few_pairs_leave_numbers_unknown),
        cmocka_unit_test(exact_interval_has_its_closed_form_at_the_ends),
        cmocka_unit_test(quantiles_go_linearly_between_neighbours),
        cmocka_unit_test(area_is_the_share_of_pairs_in_order),
        cmocka_unit_test(equal_confidences_separate_nothing),
        cmocka_unit_test(bins_hold_every_forecast_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
