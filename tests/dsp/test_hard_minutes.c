/*
 * Minutes that were once counted wrong with confidence, found by composing what a class
 * or a ward would meet: loud ejection murmurs, and close early beats without an S2.
 *   Input:     composed, dsp/fullminute_compose.h, seeds 1 and 2.
 *   Tolerance: 'counted' promises a rate within 3 per minute (the contract).
 */
#include "dsp/analyser.h"
#include "dsp/fullminute_compose.h"

#include "tests/support.h"

#include <stdlib.h>

#define N_ELEMENTS(a) (sizeof(a) / sizeof((a)[0]))

typedef struct heard {
    int truth; /* S1 in the first minute */
    fm_count count;
} heard;

static void hear(const fm_recipe *recipe, heard *out)
{
    const size_t n = fm_recipe_samples(recipe);
    float *x = malloc(n * sizeof(*x));
    fm_truth truth = {0};
    assert_non_null(x);
    assert_int_equal(fm_compose(recipe, x, n, &truth), FM_OK);
    out->truth = 0;
    for (size_t i = 0; i < truth.n_s1; i++) {
        out->truth += truth.s1_s[i] < FM_WINDOW_MAX_S ? 1 : 0;
    }
    fm_analyser *a = fm_analyser_create(recipe->rate_hz, NULL);
    assert_non_null(a);
    const int64_t minute = (int64_t)(FM_WINDOW_MAX_S * recipe->rate_hz);
    assert_int_equal(fm_analyser_open(a, 0, minute), FM_OK);
    assert_int_equal(fm_analyser_push(a, x, n), FM_OK);
    assert_int_equal(fm_analyser_finish(a), FM_OK);
    assert_true(fm_analyser_take(a, &out->count));
    fm_analyser_destroy(a);
    fm_truth_free(&truth);
    free(x);
}

static void a_loud_ejection_murmur_hides_no_beat(void **state)
{
    (void)state;
    static const double BPM[] = {64.0, 76.0, 88.0, 100.0};
    static const double LEVEL_DB[] = {-10.0, -6.0};
    static heard h;
    for (size_t b = 0; b < N_ELEMENTS(BPM); b++) {
        for (size_t l = 0; l < N_ELEMENTS(LEVEL_DB); l++) {
            fm_recipe r = fm_recipe_default();
            r.seed = 1 + l;
            r.bpm = BPM[b];
            r.murmur = FM_COMPOSE_EJECTION;
            r.murmur_db = LEVEL_DB[l];
            hear(&r, &h);
            assert_int_equal(h.count.heart.count.status, FM_COUNTED);
            assert_in_range(h.count.heart.count.n, h.truth - 1, h.truth + 1);
            assert_int_equal(h.count.rhythm.pattern, FM_PATTERN_REGULAR);
        }
    }
}

/* Half the pulse must never be vouched for: the early beat may be taken for a third sound,
 * but then the count is doubted or refused. */
static void close_early_beats_without_s2_are_never_half_counted(void **state)
{
    (void)state;
    static const double BPM[] = {60.0, 70.0, 80.0, 90.0, 100.0};
    static heard h;
    for (size_t b = 0; b < N_ELEMENTS(BPM); b++) {
        for (uint64_t seed = 1; seed <= 2; seed++) {
            fm_recipe r = fm_recipe_default();
            r.seed = seed;
            r.bpm = BPM[b];
            r.rhythm = FM_COMPOSE_BIGEMINY;
            r.coupling = 0.5;
            hear(&r, &h);
            if (h.count.heart.count.status == FM_COUNTED) {
                assert_in_range(h.count.heart.count.n, h.truth - 3, h.truth + 3);
            } else {
                assert_true(h.count.heart.count.reason != FM_REASON_NONE);
            }
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_loud_ejection_murmur_hides_no_beat),
        cmocka_unit_test(close_early_beats_without_s2_are_never_half_counted),
    };
    return cmocka_run_group_tests_name("dsp.hard_minutes", tests, NULL, NULL);
}
