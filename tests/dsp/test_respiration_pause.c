/*
 * From which length a stretch without a breath is named.
 *   Source:    10 s: American Academy of Sleep Medicine; 20 s in infants: American
 *              Academy of Pediatrics. Both from memory until read.
 *   Input:     pauses written out here, s.
 *   Tolerance: none; a pause of exactly the limit is one, as its ends are printed to 1 ms.
 */
#include "dsp/breath/respiration_pause.h"

#include "tests/support.h"

#include <math.h>

static fm_breath with_pauses(void)
{
    return (fm_breath){.pattern = FM_BREATH_PATTERN_WITH_PAUSES,
                       .n_pauses = 3,
                       .pauses = {{3.0, 12.9}, {20.0, 30.0}, {35.0, 56.0}}};
}

static void ten_seconds_are_named_in_adults_and_without_an_age(void **state)
{
    (void)state;
    const double ages[] = {(double)NAN, 216.0, 900.0, 12.0};
    for (size_t i = 0; i < sizeof ages / sizeof ages[0]; i++) {
        fm_breath b = with_pauses();
        fm_breath_name_pauses(&b, ages[i]);
        assert_int_equal(b.n_pauses, 2);
        assert_within(b.pauses[0].start_s, 20.0, 0.0);
        assert_within(b.pauses[1].end_s, 56.0, 0.0);
        assert_int_equal(b.pattern, FM_BREATH_PATTERN_WITH_PAUSES);
    }
}

static void twenty_seconds_are_named_in_infants(void **state)
{
    (void)state;
    fm_breath b = with_pauses();
    fm_breath_name_pauses(&b, 3.0);
    assert_int_equal(b.n_pauses, 1);
    assert_within(b.pauses[0].start_s, 35.0, 0.0);
    b = with_pauses();
    fm_breath_name_pauses(&b, 11.9);
    assert_int_equal(b.n_pauses, 1);
}

static void breathing_without_a_named_pause_is_uneven(void **state)
{
    (void)state;
    fm_breath b = with_pauses();
    b.n_pauses = 2;
    fm_breath_name_pauses(&b, 3.0);
    assert_int_equal(b.n_pauses, 0);
    assert_int_equal(b.pattern, FM_BREATH_PATTERN_UNEVEN);
    b = (fm_breath){.pattern = FM_BREATH_PATTERN_EVEN};
    fm_breath_name_pauses(&b, 3.0);
    assert_int_equal(b.pattern, FM_BREATH_PATTERN_EVEN);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ten_seconds_are_named_in_adults_and_without_an_age),
        cmocka_unit_test(twenty_seconds_are_named_in_infants),
        cmocka_unit_test(breathing_without_a_named_pause_is_uneven),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
