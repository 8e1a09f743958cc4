/*
 * Numbers about hypotheses, and what the learned tables make of numbers.
 *   Source:    NumPy, tests/data/make_breath_vectors.py, from the definitions in the headers:
 *              an independent answer (the test data.breath_vectors makes it again).
 *   Input:     levels and numbers by formula, the same there and here.
 *   Tolerance: 2e-4 for likeness and probability: sums of hundreds of single floats.
 */
#include "dsp/breath/breath_confidence.h"
#include "dsp/breath/breath_evidence.h"

#include "../data/breath_vectors.h"
#include "../support.h"

#include <stdlib.h>

enum {
    LEVELS = 300,
    SIMILARITIES = FM_LENGTH_ALL_TOP
};

static const double PI = 3.14159265358979323846;

/* Two unlike phases of 2.6 s in all; no heart. */
static fm_breath_series *series_of_two_phases(void)
{
    fm_breath_series *s = calloc(1, sizeof(*s));
    assert_non_null(s);
    s->n_levels = LEVELS;
    for (size_t b = 0; b < FM_BREATH_BANDS; b++) {
        for (size_t i = 0; i < LEVELS; i++) {
            const double phase = 2.0 * PI * (double)i / 26.0;
            s->level[b][i] =
                (float)(-8.0 - 0.5 * (double)b + sin(2.0 * phase) +
                        0.3 * ((double)b - 3.0) * sin(phase + 0.4) + 0.002 * (double)i +
                        0.2 * sin(0.7 * (double)i + (double)b));
        }
    }
    return s;
}

static fm_breath_evidence *evidence_of(const fm_breath_series *s)
{
    fm_breath_likeness *l = calloc(1, sizeof(*l));
    fm_breath_evidence *e = calloc(1, sizeof(*e));
    assert_true(l && e);
    fm_breath_evidence_gather(l, s, 0.0, e);
    free(l);
    return e;
}

static void likeness_is_that_of_numpy(void **state)
{
    (void)state;
    fm_breath_series *s = series_of_two_phases();
    fm_breath_evidence *e = evidence_of(s);
    for (size_t row = 0; row < 4; row++) {
        const int j = BREATH_VECTOR_LENGTHS[row];
        for (size_t k = 0; k < SIMILARITIES; k++) {
            assert_within((double)e->value[j][k], BREATH_VECTOR_SIMILARITY[row][k],
                          2e-4);
        }
    }
    free(e);
    free(s);
}

/* A whole breath is like the next one in timbre; half a breath is its opposite. */
static void halves_are_unlike_in_timbre(void **state)
{
    (void)state;
    fm_breath_series *s = series_of_two_phases();
    fm_breath_evidence *e = evidence_of(s);
    size_t j = 0;
    while (fm_breath_hypothesis_s(j) < 2.55) {
        j++;
    }
    const float *timbre = e->value[j] + FM_LENGTH_TIMBRE_THIRD;
    assert_true(timbre[2] > 0.8f);                            /* one breath */
    assert_true(timbre[1] < -0.5f);                           /* half a breath */
    assert_true(e->value[j][FM_LENGTH_LOUDNESS_HALF] > 0.8f); /* as loud, though */
    free(e);
    free(s);
}

static void no_heart_gives_no_numbers_of_it(void **state)
{
    (void)state;
    fm_breath_series *s = series_of_two_phases();
    fm_breath_evidence *e = evidence_of(s);
    for (size_t j = 0; j < FM_BREATH_HYPOTHESES; j++) {
        for (size_t k = FM_LENGTH_S1_HALF; k < FM_LENGTH_UNDER_ALL; k++) {
            assert_within((double)e->value[j][k], 0.0, 0.0);
        }
        for (size_t k = 0; k < FM_LENGTH_SIZE; k++) {
            assert_true(isfinite((double)e->value[j][k]));
        }
    }
    free(e);
    free(s);
}

static void silence_is_like_nothing(void **state)
{
    (void)state;
    fm_breath_series *s = calloc(1, sizeof(*s));
    assert_non_null(s);
    s->n_levels = 60;
    fm_breath_evidence *e = evidence_of(s);
    for (size_t k = 0; k < SIMILARITIES; k++) {
        assert_within((double)e->value[10][k], 0.0, 0.0);
    }
    fm_breath_choice c;
    fm_breath_choose(e, FM_CUE_COUNT, &c);
    assert_true(c.gathered < 0.7);
    free(e);
    free(s);
}

static void probabilities_are_those_of_numpy(void **state)
{
    (void)state;
    fm_breath_evidence *e = calloc(1, sizeof(*e));
    assert_non_null(e);
    for (size_t j = 0; j < FM_BREATH_HYPOTHESES; j++) {
        for (size_t k = 0; k < FM_LENGTH_SIZE; k++) {
            e->value[j][k] = (float)sin(0.37 * (double)k + 0.61 * (double)j);
        }
    }
    fm_breath_choice c;
    fm_breath_choose(e, FM_CUE_COUNT, &c);
    for (size_t j = 0; j < FM_BREATH_HYPOTHESES; j++) {
        assert_within(c.probability[j], BREATH_VECTOR_PROBABILITY[0][j], 2e-4);
    }
    assert_within(c.none, BREATH_VECTOR_PROBABILITY[0][FM_BREATH_HYPOTHESES], 2e-4);
    free(e);
}

static void confidence_is_that_of_numpy(void **state)
{
    (void)state;
    for (int i = 0; i < 3; i++) {
        fm_breath_grounds g;
        for (size_t k = 0; k < FM_GROUND_SIZE; k++) {
            g.value[k] = (float)cos(0.9 * (double)k + (double)i);
        }
        assert_within(fm_breath_confidence(&g), BREATH_VECTOR_CONFIDENCE[0][i], 2e-4);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(likeness_is_that_of_numpy),
        cmocka_unit_test(halves_are_unlike_in_timbre),
        cmocka_unit_test(no_heart_gives_no_numbers_of_it),
        cmocka_unit_test(silence_is_like_nothing),
        cmocka_unit_test(probabilities_are_those_of_numpy),
        cmocka_unit_test(confidence_is_that_of_numpy),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
