/* The evaluation's own arithmetic: matching, intervals of a share, calibration. */
#include "calibration.h"
#include "match.h"
#include "stats.h"
#include "tests/support.h"

static void match_gives_each_found_beat_one_truth(void **state)
{
    (void)state;
    const double truth[] = {1.0, 2.0, 3.0, 4.0};
    const double found[] = {1.04, 1.05, 2.5, 3.05, 4.2};
    assert_int_equal(match_times(truth, 4, found, 5, 0.0, 0.060), 2);
    assert_int_equal(match_times(truth, 4, found, 5, 0.0, 0.150), 2);
    assert_int_equal(match_times(truth, 4, found, 5, 0.1, 0.150), 3);
    assert_int_equal(match_times(truth, 0, found, 5, 0.0, 0.060), 0);
}

static void match_takes_a_shifted_train_only_with_its_lag(void **state)
{
    (void)state;
    double truth[50];
    double found[50];
    for (int i = 0; i < 50; i++) {
        truth[i] = 0.8 * (double)i;
        found[i] = truth[i] + 0.080;
    }
    assert_int_equal(match_times(truth, 50, found, 50, 0.0, 0.060), 0);
    assert_int_equal(match_times(truth, 50, found, 50, 0.080, 0.060), 50);
    assert_within(median_lag(truth, 50, found, 50), 0.080, 1e-12);
}

static void rate_of_counts_intervals_not_beats(void **state)
{
    (void)state;
    const double beats[] = {0.5, 1.5, 2.5, 3.5};
    assert_within(rate_of(beats, 4), 60.0, 1e-12);
    assert_true(isnan(rate_of(beats, 1)));
}

static void an_inaudible_beat_is_neither_missed_nor_extra(void **state)
{
    (void)state;
    const bool inaudible[] = {false, true, false, true};
    double truth[] = {1.0, 2.0, 3.0, 4.0};
    double found[] = {1.0, 2.05, 3.0, 3.6};
    size_t n_truth = 4;
    size_t n_found = 4;
    leave_out_inaudible(truth, &n_truth, inaudible, found, &n_found);
    assert_int_equal(n_truth, 2);
    assert_within(truth[1], 3.0, 0.0);
    assert_int_equal(n_found, 3); /* 2.05 stood for the silent one; 3.6 is an extra */
    assert_within(found[2], 3.6, 0.0);
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
        const share_interval none = share_exact_95(0, sizes[i]);
        const share_interval all = share_exact_95(sizes[i], sizes[i]);
        assert_within(none.low, 0.0, 0.0);
        assert_within(none.high, 1.0 - root, 1e-9);
        assert_within(all.low, root, 1e-9);
        assert_within(all.high, 1.0, 0.0);
    }
    const share_interval half = share_exact_95(5, 10);
    assert_within(half.low, 0.1871, 5e-5);
    assert_within(half.high, 0.8129, 5e-5);
    assert_true(isnan(share_exact_95(0, 0).low));
}

static void quantiles_go_linearly_between_neighbours(void **state)
{
    (void)state;
    double v[] = {4.0, 1.0, 3.0, 2.0};
    sort_doubles(v, 4);
    assert_within(sorted_quantile(v, 4, 0.5), 2.5, 1e-12);
    assert_within(sorted_quantile(v, 4, 1.0), 4.0, 1e-12);
    assert_within(sorted_quantile(v, 4, 0.95), 3.85, 1e-12);
    assert_true(isnan(sorted_quantile(v, 0, 0.5)));
}

/* Worked by hand: of the 4 pairs right-wrong, confidence orders 3. */
static void area_is_the_share_of_pairs_in_order(void **state)
{
    (void)state;
    forecast f[] = {{0.9, true}, {0.6, false}, {0.5, true}, {0.1, false}};
    const calibration c = calibration_of(f, 4);
    assert_within(c.area, 0.75, 1e-12);
    assert_within(c.brier, (0.01 + 0.36 + 0.25 + 0.01) / 4.0, 1e-12);
    assert_within(c.brier_constant, 0.25, 1e-12);
}

static void equal_confidences_separate_nothing(void **state)
{
    (void)state;
    forecast f[100];
    for (int i = 0; i < 100; i++) {
        f[i] = (forecast){0.7, i < 70};
    }
    const calibration c = calibration_of(f, 100);
    assert_within(c.area, 0.5, 1e-12);
    assert_within(c.brier, c.brier_constant, 1e-12);
}

/* A refused minute misses all its beats in what is delivered, and none in what is decoded. */
static void a_refusal_counts_as_missed_only_where_delivered(void **state)
{
    (void)state;
    tally t = {0};
    scored s = {.status = FM_REFUSED, .n_truth = 10, .n_found = 10, .error = 0.0};
    s.hits[LAG_SET][0] = 10;
    assert_true(tally_add(&t, &s));
    s.status = FM_COUNTED;
    s.error = 5.0;
    assert_true(tally_add(&t, &s));
    assert_int_equal(t.hits[LAG_SET][0], 20);
    assert_int_equal(t.hits_delivered[LAG_SET][0], 10);
    assert_int_equal(t.found_delivered, 10);
    assert_int_equal(t.within[2], 1);
    assert_int_equal(t.delivered3, 0);
    assert_int_equal(t.counted_wrong, 1);
    s.error = (double)INFINITY; /* no rate at all is wrong too */
    assert_true(tally_add(&t, &s));
    assert_int_equal(t.counted_wrong, 2);
    tally_free(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(match_gives_each_found_beat_one_truth),
        cmocka_unit_test(match_takes_a_shifted_train_only_with_its_lag),
        cmocka_unit_test(rate_of_counts_intervals_not_beats),
        cmocka_unit_test(an_inaudible_beat_is_neither_missed_nor_extra),
        cmocka_unit_test(exact_interval_has_its_closed_form_at_the_ends),
        cmocka_unit_test(quantiles_go_linearly_between_neighbours),
        cmocka_unit_test(area_is_the_share_of_pairs_in_order),
        cmocka_unit_test(equal_confidences_separate_nothing),
        cmocka_unit_test(a_refusal_counts_as_missed_only_where_delivered),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
