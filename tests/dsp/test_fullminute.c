/*
 * The library as another program uses it: one header, a composed minute with known truth,
 * counted, compared with a learner's number. The example in dsp/fullminute.h, in full.
 */
#include "dsp/fullminute.h"
#include "dsp/fullminute_compose.h"
#include "dsp/signal/random.h"

#include "tests/support.h"

#include <math.h>
#include <stdlib.h>

/* A composed recording and what is true of it. */
static float *compose(const fm_recipe *recipe, size_t *n, fm_truth *truth)
{
    assert_null(fm_recipe_fault(recipe));
    *n = fm_recipe_samples(recipe);
    float *x = malloc(*n * sizeof(*x));
    assert_non_null(x);
    assert_int_equal(fm_compose(recipe, x, *n, truth), FM_OK);
    return x;
}

static fm_count *count_window(const float *x, size_t n, size_t window, double rate_hz)
{
    fm_status status;
    fm_analyser *a = fm_analyser_create(rate_hz, &status);
    fm_count *count = malloc(sizeof(*count));
    assert_true(a && count && status == FM_OK);
    assert_int_equal(fm_analyser_open(a, 0, (int64_t)window), FM_OK);
    for (size_t at = 0; at < n; at += 512) {
        const size_t block = n - at < 512 ? n - at : 512;
        assert_int_equal(fm_analyser_push(a, x + at, block), FM_OK);
    }
    assert_int_equal(fm_analyser_finish(a), FM_OK);
    assert_true(fm_analyser_take(a, count));
    fm_analyser_destroy(a);
    return count;
}

static void a_composed_minute_is_counted_and_compared(void **state)
{
    (void)state;
    fm_recipe recipe = fm_recipe_default();
    recipe.bpm = 66.0;
    recipe.seed = 6606;
    size_t n;
    fm_truth truth = {0};
    float *x = compose(&recipe, &n, &truth);
    fm_count *count =
        count_window(x, n, (size_t)(60.0 * recipe.rate_hz), recipe.rate_hz);

    int beats = 0;
    for (size_t i = 0; i < truth.n_s1; i++) {
        beats += truth.s1_s[i] < 60.0;
    }
    assert_int_equal(count->heart.count.status, FM_COUNTED);
    assert_int_equal(count->heart.count.n, beats);
    assert_string_equal(fm_pattern_word(count->rhythm.pattern), "regular");

    const fm_compare_input input = {
        .manual = {.entered = 2 * beats, .seconds = 60},
        .count = &count->heart.count,
        .tolerance_per_min = FM_TOLERANCE_EXAMPLE_PER_MIN,
    };
    fm_comparison *comparison = malloc(sizeof(*comparison));
    assert_non_null(comparison);
    assert_int_equal(fm_compare(&input, comparison), FM_OK);
    assert_string_equal(fm_verdict_word(comparison->verdict), "differs");
    assert_string_equal(fm_slip_word(comparison->slip), "both sounds counted");
    assert_within(comparison->difference_per_min, beats, 1e-9);

    fm_reference_range range;
    assert_int_equal(fm_reference_range_find(FM_EVENT_BEAT, 12.0 * 30.0, &range),
                     FM_OK);
    assert_int_equal(fm_reference_range_place(&range, count->heart.count.rate_per_min),
                     FM_RANGE_WITHIN);

    free(comparison);
    free(count);
    free(x);
    fm_truth_free(&truth);
}

/* Longer than a minute, so that there is context behind it, and less than one. */
static void one_call_gives_what_the_analyser_gives(void **state)
{
    (void)state;
    static const double seconds[] = {63.0, 27.5};
    fm_count *one = malloc(sizeof(*one));
    assert_non_null(one);
    for (size_t k = 0; k < sizeof seconds / sizeof *seconds; k++) {
        fm_recipe recipe = fm_recipe_default();
        recipe.seconds = seconds[k];
        recipe.seed = 12;
        size_t n;
        fm_truth truth = {0};
        float *x = compose(&recipe, &n, &truth);
        assert_int_equal(fm_count_samples(x, n, recipe.rate_hz, one), FM_OK);
        const size_t window =
            n < (size_t)(60.0 * recipe.rate_hz) ? n : (size_t)(60.0 * recipe.rate_hz);
        fm_count *pushed = count_window(x, n, window, recipe.rate_hz);
        assert_int_equal(one->heart.count.status, FM_COUNTED);
        assert_within(one->heart.count.window.end_s, fmin(60.0, seconds[k]), 1e-9);
        assert_int_equal(one->heart.count.n, pushed->heart.count.n);
        assert_memory_equal(one->heart.count.onsets_s, pushed->heart.count.onsets_s,
                            one->heart.count.n * sizeof(*one->heart.count.onsets_s));
        assert_within(one->heart.count.confidence, pushed->heart.count.confidence, 0.0);
        assert_int_equal(one->breath.count.status, pushed->breath.count.status);
        assert_int_equal(one->breath.count.n, pushed->breath.count.n);
        free(pushed);
        free(x);
        fm_truth_free(&truth);
    }
    free(one);
}

static void one_call_refuses_and_says_why(void **state)
{
    (void)state;
    static const float silence[20000];
    fm_count *out = malloc(sizeof(*out));
    assert_non_null(out);
    assert_int_equal(fm_count_samples(silence, 20000, 4000.0, out), FM_OK);
    assert_int_equal(out->heart.count.status, FM_REFUSED);
    assert_int_not_equal(out->heart.count.reason, FM_REASON_NONE);
    out->heart.count.n = 7;
    assert_int_equal(fm_count_samples(NULL, 20000, 4000.0, out), FM_ERR_ARG);
    assert_int_equal(fm_count_samples(silence, 0, 4000.0, out), FM_ERR_ARG);
    assert_int_equal(fm_count_samples(silence, 20000, 4000.0, NULL), FM_ERR_ARG);
    assert_int_equal(fm_count_samples(silence, 20000, 10.0, out), FM_ERR_RATE);
    assert_int_equal(fm_count_samples(silence, 20000, (double)NAN, out), FM_ERR_RATE);
    assert_int_equal(out->heart.count.n, 7); /* untouched on error */
    free(out);
}

static void the_version_is_that_of_the_headers(void **state)
{
    (void)state;
    assert_string_equal(fm_version(), FM_LIBRARY_VERSION);
}

/* Noise: beats are decoded, and refused. Nothing of them is given out unless it is asked for
 * to measure the decoder. */
static void a_refused_count_holds_no_onset_and_no_rate(void **state)
{
    (void)state;
    const size_t n = 4000 * 62;
    float *x = calloc(n, sizeof(*x));
    fm_count *c[2] = {calloc(1, sizeof(fm_count)), calloc(1, sizeof(fm_count))};
    assert_true(x && c[0] && c[1]);
    fm_random random = fm_random_init(5, 1);
    for (size_t i = 0; i < n; i++) {
        x[i] = (float)(0.02 * fm_random_normal(&random));
    }
    for (int keep = 0; keep < 2; keep++) {
        fm_analyser *a = fm_analyser_create(4000.0, NULL);
        if (keep == 1) {
            fm_analyser_keep_refused(a);
        }
        assert_int_equal(fm_analyser_open(a, 0, 240000), FM_OK);
        assert_int_equal(fm_analyser_push(a, x, n), FM_OK);
        assert_int_equal(fm_analyser_finish(a), FM_OK);
        assert_true(fm_analyser_take(a, c[keep]));
        fm_analyser_destroy(a);
        assert_false(fm_is_known(&c[keep]->heart.count));
        assert_false(fm_is_known(&c[keep]->breath.count));
    }
    const fm_heart *const h = &c[0]->heart;
    assert_true(c[1]->heart.count.n > 0);
    assert_int_equal(c[1]->heart.count.reason, h->count.reason);
    assert_int_equal(h->count.n + h->n_s2 + c[0]->breath.count.n, 0);
    assert_true(isnan(h->count.rate_per_min) && isnan(c[0]->rhythm.sdnn_ms));
    assert_int_equal(c[0]->rhythm.n_intervals, 0);
    const fm_heart empty = {.n_s2 = 0};
    assert_memory_equal(h->count.onsets_s, empty.count.onsets_s,
                        sizeof empty.count.onsets_s);
    assert_memory_equal(h->s2_s, empty.s2_s, sizeof empty.s2_s);
    assert_memory_equal(h->s1_sureness, empty.s1_sureness, sizeof empty.s1_sureness);
    assert_memory_equal(c[0]->breath.count.onsets_s, empty.s2_s, sizeof empty.s2_s);
    free(c[1]);
    free(c[0]);
    free(x);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_refused_count_holds_no_onset_and_no_rate),
        cmocka_unit_test(one_call_gives_what_the_analyser_gives),
        cmocka_unit_test(one_call_refuses_and_says_why),
        cmocka_unit_test(the_version_is_that_of_the_headers),
        cmocka_unit_test(a_composed_minute_is_counted_and_compared),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
