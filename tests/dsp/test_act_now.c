/*
 * Rates at which somebody is told at once.
 *   Source:    national early-warning score of 2017 (RCP), bands read in a copy of its
 *              chart; WHO's limits of fast breathing, PMC5193399 table 1.
 *   It says:   16 years and over, not in pregnancy: respirations <= 8 or >= 25, pulse
 *              <= 40 or >= 131; fast: >= 60 under 2 months, >= 50 to 11, >= 40 to 59.
 *   Input:     every edge, one on either side.
 *   Tolerance: none.
 */
#include "dsp/compare/act_now.h"

#include "tests/support.h"

#include <math.h>

static fm_act pulse(double age_months, double per_min)
{
    return fm_act_judge(FM_ACT_PULSE, age_months, per_min);
}

static fm_act breaths(double age_months, double per_min)
{
    return fm_act_judge(FM_ACT_RESPIRATIONS, age_months, per_min);
}

static void adults_have_the_score_s_edges(void **state)
{
    (void)state;
    const double ages[] = {192.0, 800.0, (double)NAN};
    for (size_t i = 0; i < sizeof ages / sizeof ages[0]; i++) {
        assert_int_equal(breaths(ages[i], 8.0), FM_ACT_LOW);
        assert_int_equal(breaths(ages[i], 9.0), FM_ACT_INSIDE);
        assert_int_equal(breaths(ages[i], 24.0), FM_ACT_INSIDE);
        assert_int_equal(breaths(ages[i], 25.0), FM_ACT_HIGH);
        assert_int_equal(pulse(ages[i], 40.0), FM_ACT_LOW);
        assert_int_equal(pulse(ages[i], 41.0), FM_ACT_INSIDE);
        assert_int_equal(pulse(ages[i], 130.0), FM_ACT_INSIDE);
        assert_int_equal(pulse(ages[i], 131.0), FM_ACT_HIGH);
    }
}

static void small_children_have_who_s_limit_and_no_line_of_the_pulse(void **state)
{
    (void)state;
    assert_int_equal(breaths(1.9, 59.0), FM_ACT_INSIDE);
    assert_int_equal(breaths(1.9, 60.0), FM_ACT_HIGH);
    assert_int_equal(breaths(3.0, 49.0), FM_ACT_INSIDE);
    assert_int_equal(breaths(3.0, 55.0), FM_ACT_HIGH);
    assert_int_equal(breaths(12.0, 40.0), FM_ACT_HIGH);
    assert_int_equal(breaths(59.9, 39.0), FM_ACT_INSIDE);
    assert_int_equal(pulse(3.0, 220.0), FM_ACT_UNKNOWN);
}

static void from_5_to_15_years_there_is_no_published_line(void **state)
{
    (void)state;
    assert_int_equal(breaths(60.0, 50.0), FM_ACT_UNKNOWN);
    assert_int_equal(breaths(191.9, 50.0), FM_ACT_UNKNOWN);
    assert_int_equal(pulse(100.0, 30.0), FM_ACT_UNKNOWN);
    assert_string_equal(fm_act_line_find(FM_ACT_PULSE, 100.0).source, "");
}

static void none_at_all_is_told_at_every_age(void **state)
{
    (void)state;
    const double ages[] = {0.0, 3.0, 100.0, 500.0, (double)NAN};
    for (size_t i = 0; i < sizeof ages / sizeof ages[0]; i++) {
        assert_true(fm_act_is_reached(breaths(ages[i], 0.0)));
        assert_true(fm_act_is_reached(pulse(ages[i], 0.0)));
        assert_false(fm_act_is_reached(breaths(ages[i], (double)NAN)));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(adults_have_the_score_s_edges),
        cmocka_unit_test(small_children_have_who_s_limit_and_no_line_of_the_pulse),
        cmocka_unit_test(from_5_to_15_years_there_is_no_published_line),
        cmocka_unit_test(none_at_all_is_told_at_every_age),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
