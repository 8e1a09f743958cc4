/*
 * The choice among readings: properties that hold whatever the learned table says.
 *   Input:     readings made here.
 *   Tolerance: rounding of doubles.
 */
#include "dsp/breath_choice.h"

#include "../support.h"

#include <stdlib.h>

static fm_reading reading_of(int source, double per_min, double explained)
{
    fm_reading r = {.source = source,
                    .hump_s = 60.0 / per_min,
                    .humps = 1,
                    .cycle_s = 60.0 / per_min,
                    .rate_per_min = per_min,
                    .cv = 0.05,
                    .cycles = (size_t)per_min,
                    .moves = 0.1};
    for (int c = 0; c < FM_BREATH_SOUND_CHANNELS; c++) {
        r.explained[c] = source == FM_SOURCE_SOUND ? explained : 0.1;
    }
    r.explained[FM_BREATH_S1] = source == FM_SOURCE_LOUDNESS ? explained : 0.05;
    r.explained[FM_BREATH_INTERVAL] = source == FM_SOURCE_INTERVALS ? explained : 0.05;
    return r;
}

static void add(fm_readings *all, int source, double per_min, double explained)
{
    all->reading[all->n] = reading_of(source, per_min, explained);
    all->reading[all->n].partner = all->n;
    all->n++;
}

static fm_readings *some_readings(void)
{
    fm_readings *all = calloc(1, sizeof(*all));
    assert_non_null(all);
    all->length_s = 60.0;
    all->swing = 1.0;
    for (int k = 0; k < 8; k++) {
        add(all, FM_SOURCE_SOUND, 18.0 + 0.1 * k, 1.5);
    }
    add(all, FM_SOURCE_SOUND, 36.0, 0.3);
    add(all, FM_SOURCE_SOUND, 9.0, 0.2);
    add(all, FM_SOURCE_LOUDNESS, 18.2, 0.8);
    add(all, FM_SOURCE_LOUDNESS, 30.0, 0.1);
    add(all, FM_SOURCE_INTERVALS, 18.1, 0.7);
    add(all, FM_SOURCE_HEART, 18.1, 0.9);
    return all;
}

static void choose(const fm_readings *all, int cue, fm_breath_choice *out)
{
    fm_breath_evidence *e = calloc(1, sizeof(*e));
    assert_non_null(e);
    fm_breath_evidence_gather(all, e);
    for (size_t i = 0; i < all->n; i++) {
        for (size_t k = 0; k < FM_BREATH_EVIDENCE; k++) {
            assert_true(isfinite((double)e->value[i][k]));
        }
    }
    fm_breath_choose(all, e, cue, out);
    free(e);
}

static void probabilities_sum_to_one(void **state)
{
    (void)state;
    fm_readings *all = some_readings();
    for (int cue = 0; cue <= FM_CUE_COUNT; cue++) {
        fm_breath_choice c;
        choose(all, cue, &c);
        double sum = c.none;
        for (size_t i = 0; i < all->n; i++) {
            assert_true(c.probability[i] >= 0.0);
            sum += c.probability[i];
        }
        assert_within(sum, 1.0, 1e-9);
        assert_true(c.gathered > 0.0 && c.gathered <= 1.0 + 1e-9);
    }
    free(all);
}

static void clear_agreement_wins(void **state)
{
    (void)state;
    fm_readings *all = some_readings();
    fm_breath_choice c;
    choose(all, FM_CUE_COUNT, &c);
    assert_within(c.rate_per_min, 18.3, 0.5);
    assert_true(c.gathered > 0.9 * (1.0 - c.none)); /* of all that is no 'none' */
    free(all);
}

static void a_cue_hears_its_own_readings_only(void **state)
{
    (void)state;
    fm_readings *all = some_readings();
    for (int cue = 0; cue < FM_CUE_COUNT; cue++) {
        fm_breath_choice c;
        choose(all, cue, &c);
        assert_true(c.best < all->n);
        assert_int_equal(all->reading[c.best].source, cue);
        for (size_t i = 0; i < all->n; i++) {
            assert_true(all->reading[i].source == cue || c.probability[i] <= 0.0);
        }
    }
    free(all);
}

static void no_reading_is_no_choice(void **state)
{
    (void)state;
    fm_readings *all = calloc(1, sizeof(*all));
    assert_non_null(all);
    all->length_s = 60.0;
    fm_breath_choice c;
    choose(all, FM_CUE_COUNT, &c);
    assert_int_equal(c.best, 0);
    assert_int_equal(c.best, all->n);
    assert_true(isnan(c.rate_per_min));
    assert_within(c.none, 1.0, 1e-12);
    free(all);
}

static void nothing_explained_is_nothing_said(void **state)
{
    (void)state;
    fm_readings *all = calloc(1, sizeof(*all));
    assert_non_null(all);
    all->length_s = 60.0;
    all->swing = 0.2;
    for (int k = 0; k < 20; k++) {
        add(all, FM_SOURCE_SOUND, 6.0 + 3.0 * k, 0.01);
        all->reading[all->n - 1].cv = 0.4;
    }
    fm_breath_choice c;
    choose(all, FM_CUE_COUNT, &c);
    assert_true(c.gathered < 0.6);
    free(all);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(probabilities_sum_to_one),
        cmocka_unit_test(clear_agreement_wins),
        cmocka_unit_test(a_cue_hears_its_own_readings_only),
        cmocka_unit_test(no_reading_is_no_choice),
        cmocka_unit_test(nothing_explained_is_nothing_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
