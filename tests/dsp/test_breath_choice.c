/*
 * The choice among hypotheses: properties that hold whatever the learned table says.
 *   Input:     probabilities and numbers made here.
 *   Tolerance: rounding of doubles.
 */
#include "dsp/breath/breath_choice.h"

#include "../support.h"

#include <stdlib.h>
#include <string.h>

/* Numbers that differ from hypothesis to hypothesis. */
static fm_breath_evidence *some_numbers(double scale)
{
    fm_breath_evidence *e = calloc(1, sizeof(*e));
    assert_non_null(e);
    for (size_t j = 0; j < FM_BREATH_HYPOTHESES; j++) {
        for (size_t k = 0; k < FM_LENGTH_SIZE; k++) {
            e->value[j][k] = (float)(scale * sin(1.3 * (double)(j * 7 + k)));
        }
    }
    return e;
}

static void probabilities_sum_to_one(void **state)
{
    (void)state;
    fm_breath_evidence *e = some_numbers(1.0);
    for (int cue = 0; cue <= FM_CUE_COUNT; cue++) {
        fm_breath_choice c;
        fm_breath_choose(e, cue, &c);
        double sum = c.none;
        for (size_t i = 0; i < FM_BREATH_HYPOTHESES; i++) {
            assert_true(c.probability[i] >= 0.0);
            sum += c.probability[i];
        }
        assert_within(sum, 1.0, 1e-9);
        assert_true(c.best < FM_BREATH_HYPOTHESES);
        assert_true(c.gathered > 0.0 && c.gathered <= 1.0 + 1e-9);
        const double here = 60.0 / fm_breath_hypothesis_s(c.best);
        assert_true(fabs(log(c.rate_per_min / here)) <= log(1.06) + 1e-9);
    }
    free(e);
}

/* Numbers out of all measure are cut, not passed on. */
static void huge_numbers_stay_finite(void **state)
{
    (void)state;
    fm_breath_evidence *e = some_numbers(1e30);
    fm_breath_choice c;
    fm_breath_choose(e, FM_CUE_COUNT, &c);
    assert_true(isfinite(c.gathered) && isfinite(c.rate_per_min));
    free(e);
}

/* A cue's word does not depend on numbers it does not know. */
static void a_cue_knows_its_own_numbers_only(void **state)
{
    (void)state;
    fm_breath_evidence *e = some_numbers(1.0);
    fm_breath_choice before;
    fm_breath_choice after;
    fm_breath_choose(e, FM_CUE_INTERVALS, &before);
    for (size_t j = 0; j < FM_BREATH_HYPOTHESES; j++) {
        for (size_t k = 0; k < FM_LENGTH_BREATHS; k++) {
            e->value[j][k] = 0.5f; /* the sound */
        }
    }
    fm_breath_choose(e, FM_CUE_INTERVALS, &after);
    assert_memory_equal(&before, &after, sizeof(before));
    fm_breath_choose(e, FM_CUE_SOUND, &before);
    for (size_t j = 0; j < FM_BREATH_HYPOTHESES; j++) {
        for (size_t k = FM_LENGTH_S1_HALF; k < FM_LENGTH_UNDER_ALL; k++) {
            e->value[j][k] = 0.5f; /* the heart */
        }
    }
    fm_breath_choose(e, FM_CUE_SOUND, &after);
    assert_memory_equal(&before, &after, sizeof(before));
    free(e);
}

static void what_is_near_is_gathered_and_the_rest_is_an_alternative(void **state)
{
    (void)state;
    fm_breath_choice c = {.none = 0.1};
    c.probability[10] = 0.5;
    c.probability[11] = 0.1;
    c.probability[22] = 0.3; /* about half the rate: 1.06 to the twelfth is 2.01 */
    const double rate = 60.0 / fm_breath_hypothesis_s(10);
    assert_within(fm_breath_gathered_at(&c, rate), 0.6, 1e-12);
    assert_within(fm_breath_gathered_at(&c, 0.5 * rate), 0.3, 1e-12);
    assert_within(fm_breath_gathered_at(&c, 3.0 * rate), 0.0, 0.0);
    double alternative = 0.0;
    assert_int_equal(fm_breath_alternative(&c, rate, &alternative), 22);
    assert_within(alternative, 0.3, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(probabilities_sum_to_one),
        cmocka_unit_test(huge_numbers_stay_finite),
        cmocka_unit_test(a_cue_knows_its_own_numbers_only),
        cmocka_unit_test(what_is_near_is_gathered_and_the_rest_is_an_alternative),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
