#include "tests/support.h"

#include "dsp/compare/reference_range.h"

static fm_reference_range at(double age_months)
{
    fm_reference_range row;
    assert_int_equal(fm_reference_range_find(FM_EVENT_BEAT, age_months, &row), FM_OK);
    return row;
}

static void assert_row(double age_months, double low, double median, double high)
{
    const fm_reference_range row = at(age_months);
    assert_within(row.low_per_min, low, 0.0);
    assert_within(row.median_per_min, median, 0.0);
    assert_within(row.high_per_min, high, 0.0);
}

/*
 * Against a published table.
 *   Source:    Fleming et al., Lancet 2011;377:1011. The four rows of the first year as
 *              a second-hand copy gives them (median, 1st-99th centile).
 *   It says:   0-3 months 143, 107-181; 3-6 140, 104-175; 6-9 134, 98-168; 9-12 128,
 *              93-161.
 *   Tolerance: none.
 */
static void first_year_is_as_published(void **state)
{
    (void)state;
    assert_row(1.0, 107, 143, 181);
    assert_row(3.0, 104, 140, 175);
    assert_row(8.9, 98, 134, 168);
    assert_row(9.0, 93, 128, 161);
    double age = 0.5;
    while (age < 12.0) {
        assert_false(at(age).from_memory);
        assert_true(at(age).infant);
        age += 0.5;
    }
}

/* The other rows are tested as what they are: remembered, and marked so. */
static void remembered_rows_are_marked_so(void **state)
{
    (void)state;
    double age = 12.0;
    while (age < FM_AGE_ADULT_MONTHS) {
        assert_true(at(age).from_memory);
        assert_false(at(age).infant);
        age += 1.0;
    }
    assert_true(at(0.0).from_memory);
    assert_within(at(0.0).median_per_min, 127.0, 0.0);  /* abstract: 127 at birth */
    assert_within(at(24.0).median_per_min, 113.0, 3.5); /* abstract: 113 at 2 years */
}

/* Common practice: 60 to 100, the limits themselves usual. */
static void adults_are_60_to_100(void **state)
{
    (void)state;
    const fm_reference_range row = at(FM_AGE_ADULT_MONTHS);
    assert_int_equal(fm_reference_range_place(&row, 59.9), FM_RANGE_BELOW);
    assert_int_equal(fm_reference_range_place(&row, 60.0), FM_RANGE_WITHIN);
    assert_int_equal(fm_reference_range_place(&row, 100.0), FM_RANGE_WITHIN);
    assert_int_equal(fm_reference_range_place(&row, 100.1), FM_RANGE_ABOVE);
    assert_int_equal(fm_reference_range_place(&row, (double)NAN), FM_RANGE_UNKNOWN);
    assert_false(row.small_child || row.infant || row.from_memory);
    assert_true(isnan(row.median_per_min));
    assert_string_equal(at(FM_AGE_MAX_MONTHS).age_band, "adult");
    assert_string_equal(at(215.9).age_band, "15 to 18 years");
}

static void rows_touch_and_rates_fall_with_age(void **state)
{
    (void)state;
    size_t n = 0;
    const fm_reference_range *rows = fm_reference_range_table(FM_EVENT_BEAT, &n);
    assert_true(n > 10);
    assert_within(rows[0].from_months, 0.0, 0.0);
    for (size_t i = 0; i < n; i++) {
        assert_true(rows[i].from_months < rows[i].below_months);
        assert_true(rows[i].low_per_min < rows[i].high_per_min);
        if (i > 0) {
            assert_within(rows[i].from_months, rows[i - 1].below_months, 0.0);
        }
        if (i > 1 && i + 1 < n) { /* after birth, before the adult row */
            assert_true(rows[i].low_per_min <= rows[i - 1].low_per_min);
            assert_true(rows[i].high_per_min <= rows[i - 1].high_per_min);
            assert_true(rows[i].median_per_min > rows[i].low_per_min);
            assert_true(rows[i].median_per_min < rows[i].high_per_min);
        }
    }
    assert_true(rows[n - 1].below_months > FM_AGE_MAX_MONTHS);
}

/* Common practice: the site moves at about 7 years. */
static void the_fourth_space_belongs_to_under_seven(void **state)
{
    (void)state;
    assert_true(at(83.9).small_child);
    assert_false(at(84.0).small_child);
    assert_string_equal(at(83.9).age_band, at(84.0).age_band);
}

static void ages_out_of_range_are_refused(void **state)
{
    (void)state;
    fm_reference_range row;
    assert_int_equal(fm_reference_range_find(FM_EVENT_BEAT, -0.1, &row), FM_ERR_ARG);
    assert_int_equal(
        fm_reference_range_find(FM_EVENT_BEAT, FM_AGE_MAX_MONTHS + 0.1, &row),
        FM_ERR_ARG);
    assert_int_equal(fm_reference_range_find(FM_EVENT_BEAT, (double)NAN, &row),
                     FM_ERR_ARG);
}

/* Never finer than the interval the rate is known in. */
static void an_interval_over_the_edge_is_neither(void **state)
{
    (void)state;
    assert_int_equal(fm_range_place_between(60.0, 100.0, 57.0, 59.0), FM_RANGE_BELOW);
    assert_int_equal(fm_range_place_between(60.0, 100.0, 58.0, 60.0), FM_RANGE_EDGE);
    assert_int_equal(fm_range_place_between(60.0, 100.0, 60.0, 100.0), FM_RANGE_WITHIN);
    assert_int_equal(fm_range_place_between(60.0, 100.0, 99.0, 101.0), FM_RANGE_EDGE);
    assert_int_equal(fm_range_place_between(60.0, 100.0, 50.0, 110.0), FM_RANGE_EDGE);
    assert_int_equal(fm_range_place_between(60.0, 100.0, 101.0, 103.0), FM_RANGE_ABOVE);
    assert_int_equal(fm_range_place_between(60.0, 100.0, (double)NAN, 70.0),
                     FM_RANGE_UNKNOWN);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(first_year_is_as_published),
        cmocka_unit_test(remembered_rows_are_marked_so),
        cmocka_unit_test(adults_are_60_to_100),
        cmocka_unit_test(rows_touch_and_rates_fall_with_age),
        cmocka_unit_test(the_fourth_space_belongs_to_under_seven),
        cmocka_unit_test(ages_out_of_range_are_refused),
        cmocka_unit_test(an_interval_over_the_edge_is_neither),
    };
    return cmocka_run_group_tests_name("dsp.reference_range", tests, NULL, NULL);
}
