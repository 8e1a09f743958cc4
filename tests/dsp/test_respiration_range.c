/*
 * Reference ranges of respirations by age, and WHO's limits of fast breathing.
 *   Sources:   Fleming et al., Lancet 2011;377:1011: median 44 per minute at birth (read in
 *              the abstract); the other rows from memory, and said so;
 *              WHO as in PMC5193399, table 1: 60 or more under 2 months, 50 or more at 2 to
 *              11 months, 40 or more at 12 to 59 months.
 *   Tolerance: none, the figures are whole.
 */
#include "tests/support.h"

#include "dsp/compare/reference_range.h"

#include <math.h>
#include <string.h>

static fm_reference_range at(double months)
{
    fm_reference_range r;
    assert_int_equal(fm_reference_range_find(FM_EVENT_BREATH, months, &r), FM_OK);
    return r;
}

static void rows_follow_one_another_without_a_gap(void **state)
{
    (void)state;
    size_t n = 0;
    const fm_reference_range *const t = fm_reference_range_table(FM_EVENT_BREATH, &n);
    assert_int_equal(n, 15);
    assert_within(t[0].from_months, 0.0, 0.0);
    for (size_t i = 0; i < n; i++) {
        assert_true(t[i].from_months < t[i].below_months);
        assert_true(t[i].low_per_min < t[i].high_per_min);
        assert_true(strlen(t[i].source) > 0 && strlen(t[i].meaning) > 0);
        if (i + 1 < n) {
            assert_within(t[i].below_months, t[i + 1].from_months, 0.0);
            assert_true(t[i].low_per_min < t[i].median_per_min &&
                        t[i].median_per_min < t[i].high_per_min);
            assert_true(t[i].from_memory);
            /* breathing slows as children grow, but for the last centile to adults */
            assert_true(t[i].median_per_min > t[i + 1].median_per_min || i + 2 == n);
        }
    }
}

static void ages_find_their_row(void **state)
{
    (void)state;
    assert_within(at(0.0).median_per_min, 44.0, 0.0);
    assert_string_equal(at(2.999).age_band, "under 3 months");
    assert_string_equal(at(3.0).age_band, "3 to 6 months");
    assert_true(at(11.99).infant);
    assert_false(at(12.0).infant);
    assert_string_equal(at(24.0).age_band, "2 to 3 years");
    assert_string_equal(at(215.9).age_band, "15 to 18 years");
    const fm_reference_range adult = at(FM_AGE_ADULT_MONTHS);
    assert_string_equal(adult.age_band, "adult");
    assert_within(adult.low_per_min, 12.0, 0.0);
    assert_within(adult.high_per_min, 20.0, 0.0);
    assert_true(isnan(adult.median_per_min));
    assert_string_equal(at(FM_AGE_MAX_MONTHS).age_band, "adult");
}

static void ages_out_of_range_are_refused(void **state)
{
    (void)state;
    const double bad[] = {-0.01, FM_AGE_MAX_MONTHS + 0.1, (double)NAN,
                          (double)INFINITY};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        fm_reference_range r = {.age_band = "untouched"};
        assert_int_equal(fm_reference_range_find(FM_EVENT_BREATH, bad[i], &r),
                         FM_ERR_ARG);
        assert_string_equal(r.age_band, "untouched");
    }
}

static void limits_are_within(void **state)
{
    (void)state;
    const fm_reference_range adult = at(FM_AGE_ADULT_MONTHS);
    assert_int_equal(fm_reference_range_place(&adult, 11.9), FM_RANGE_BELOW);
    assert_int_equal(fm_reference_range_place(&adult, 12.0), FM_RANGE_WITHIN);
    assert_int_equal(fm_reference_range_place(&adult, 20.0), FM_RANGE_WITHIN);
    assert_int_equal(fm_reference_range_place(&adult, 20.1), FM_RANGE_ABOVE);
    assert_int_equal(fm_reference_range_place(&adult, (double)NAN), FM_RANGE_UNKNOWN);
}

/* Every edge of age, and 'or more': the limit itself is fast. */
static void who_limits_hold_at_their_edges(void **state)
{
    (void)state;
    const struct {
        double months;
        double limit;
    } cases[] = {{0.0, 60.0},  {1.999, 60.0}, {2.0, 50.0},   {11.999, 50.0},
                 {12.0, 40.0}, {59.0, 40.0},  {59.999, 40.0}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const double months = cases[i].months;
        const double limit = cases[i].limit;
        assert_within(fm_who_fast_per_min(months), limit, 0.0);
        assert_int_equal(fm_who_breathing_judge(months, limit - 1.0), FM_WHO_NOT_FAST);
        assert_int_equal(fm_who_breathing_judge(months, limit - 0.1), FM_WHO_NOT_FAST);
        assert_int_equal(fm_who_breathing_judge(months, limit), FM_WHO_FAST);
        assert_int_equal(fm_who_breathing_judge(months, limit + 1.0), FM_WHO_FAST);
        assert_int_equal(fm_who_breathing_judge(months, (double)NAN), FM_WHO_NOT_KNOWN);
    }
    const double none[] = {60.0, 216.0, -1.0, (double)NAN};
    for (size_t i = 0; i < sizeof none / sizeof *none; i++) {
        assert_true(isnan(fm_who_fast_per_min(none[i])));
        assert_int_equal(fm_who_breathing_judge(none[i], 80.0), FM_WHO_NOT_KNOWN);
    }
    assert_non_null(strstr(fm_who_source(), "WHO"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_follow_one_another_without_a_gap),
        cmocka_unit_test(ages_find_their_row),
        cmocka_unit_test(ages_out_of_range_are_refused),
        cmocka_unit_test(limits_are_within),
        cmocka_unit_test(who_limits_hold_at_their_edges),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
