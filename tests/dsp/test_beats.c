/*
 * The beat finder on composed recordings (dsp/compose shares no code with it) and on
 * signals that hold no beats.
 *   Input:     clean recordings of 25 s at the working rate, fixed seeds; pulses, noise.
 *   Tolerance: a candidate is the middle of a sound, some 30 ms after its onset: a beat
 *              is found when one lies within 60 ms after or 20 ms before the onset. The
 *              rate within 3 %: the finder's own bar for 'another count' is 4 %.
 */
#include "dsp/heart/beats.h"

#include "dsp/heart/condition.h"
#include "dsp/heart/systole.h"
#include "dsp/signal/random.h"

#include "compose_support.h"

#define N_ELEMENTS(a) (sizeof(a) / sizeof((a)[0]))

/* Everything the finder needs; features stay valid until the next call. */
typedef struct bench {
    fm_spectrum *spectrum;
    fm_feature_maker *maker;
    fm_beat_finder finder;
    fm_features f;
    fm_beats beats;
} bench;

static bench *bench_open(void)
{
    bench *b = calloc(1, sizeof(*b));
    assert_non_null(b);
    b->spectrum = fm_spectrum_create(FM_CONDITION_FFT);
    b->maker = fm_feature_maker_create();
    assert_true(b->spectrum && b->maker);
    return b;
}

static void bench_close(bench *b)
{
    fm_spectrum_destroy(b->spectrum);
    fm_feature_maker_destroy(b->maker);
    free(b);
}

static void find(bench *b, const float *x, size_t n)
{
    fm_conditioned conditioned;
    float *copy = malloc(n * sizeof(*copy));
    assert_non_null(copy);
    memcpy(copy, x, n * sizeof(*copy));
    fm_condition(b->spectrum, copy, n, &conditioned);
    assert_int_equal(fm_features_make(b->maker, copy, n, &b->f), FM_OK);
    memset(&b->beats, 0x55, sizeof(b->beats));
    fm_beats_find(&b->finder, b->maker, &b->f, &b->beats);
    free(copy);
}

static composed compose_clean(fm_compose_rhythm rhythm, double bpm, uint64_t seed)
{
    fm_recipe recipe = fm_recipe_default();
    recipe.seconds = 25.0;
    recipe.rate_hz = FM_WORK_RATE_HZ;
    recipe.rhythm = rhythm;
    recipe.bpm = bpm;
    recipe.seed = seed;
    return compose_or_fail(&recipe);
}

static double time_of(const fm_beats *beats, size_t i)
{
    return beats->candidates[beats->path.index[i]].time_s;
}

/* Truths with a labelled candidate where the sound is. */
static size_t n_hit(const fm_beats *beats, bool s2, const double *truth_s, size_t n)
{
    size_t hits = 0;
    for (size_t k = 0; k < n; k++) {
        for (size_t i = 0; i < beats->path.n; i++) {
            const double late_s = time_of(beats, i) - truth_s[k];
            if (beats->path.is_s2[i] == s2 && late_s > -0.020 && late_s < 0.060) {
                hits++;
                break;
            }
        }
    }
    return hits;
}

/* Labels ascend, their numbers are right, no S2 follows an S2 but behind a gap. */
static void assert_sound_path(const fm_beats *beats)
{
    const fm_path *p = &beats->path;
    size_t n_s1 = 0;
    for (size_t i = 0; i < p->n; i++) {
        assert_true(p->index[i] < beats->n_candidates);
        assert_true(i == 0 || p->index[i] > p->index[i - 1]);
        assert_false(i > 0 && p->is_s2[i] && p->is_s2[i - 1] &&
                     time_of(beats, i) - time_of(beats, i - 1) <
                         2.0 * beats->hypothesis.cycle_s);
        n_s1 += !p->is_s2[i];
    }
    assert_int_equal(p->n_s1, n_s1);
    assert_int_equal(p->n_s1 + p->n_s2, p->n);
    assert_null(beats->hypothesis.local_cycle_s);
}

/* Half and double rates are among what is tried: none of them may win. */
static void clean_beats_are_found_at_every_rate(void **state)
{
    (void)state;
    bench *b = bench_open();
    const double rates_bpm[] = {42.0, 48.0, 60.0, 75.0, 96.0, 120.0, 150.0, 170.0};
    for (size_t k = 0; k < N_ELEMENTS(rates_bpm); k++) {
        composed c = compose_clean(FM_COMPOSE_STEADY, rates_bpm[k], 40 + k);
        find(b, c.x, c.n);
        assert_sound_path(&b->beats);
        const size_t n_s1 = c.truth.n_s1;
        assert_true(n_hit(&b->beats, false, c.truth.s1_s, n_s1) + 1 >= n_s1);
        assert_true(b->beats.path.n_s1 <= n_s1);
        assert_true(n_hit(&b->beats, true, c.truth.s2_s, c.truth.n_s2) + 2 >=
                    c.truth.n_s2);
        const double cycle_s = 60.0 / rates_bpm[k];
        assert_within(b->beats.hypothesis.cycle_s, cycle_s, 0.03 * cycle_s);
        assert_within(b->beats.hypothesis.systole_s, fm_systole_expected_s(cycle_s),
                      0.06);
        assert_true(b->beats.hypothesis.s2_detected > 0.5);
        assert_true(b->beats.score_per_s > b->beats.alternative_score_per_s);
        composed_free(&c);
    }
    bench_close(b);
}

/* Beats that come two by two, in threes, or anyhow, are each one beat. */
static void uneven_beats_are_found_one_by_one(void **state)
{
    (void)state;
    bench *b = bench_open();
    const struct {
        fm_compose_rhythm rhythm;
        double bpm;
    } rhythms[] = {{FM_COMPOSE_BIGEMINY, 76.0},
                   {FM_COMPOSE_TRIGEMINY, 80.0},
                   {FM_COMPOSE_DROPPED, 84.0},
                   {FM_COMPOSE_SINUS_ARRHYTHMIA, 66.0},
                   {FM_COMPOSE_FIBRILLATION, 95.0}};
    for (size_t k = 0; k < N_ELEMENTS(rhythms); k++) {
        composed c = compose_clean(rhythms[k].rhythm, rhythms[k].bpm, 70 + k);
        find(b, c.x, c.n);
        assert_sound_path(&b->beats);
        assert_true(n_hit(&b->beats, false, c.truth.s1_s, c.truth.n_s1) + 2 >=
                    c.truth.n_s1);
        assert_true(b->beats.path.n_s1 <= c.truth.n_s1 + 1);
        composed_free(&c);
    }
    bench_close(b);
}

/* The second estimate uses no decoder: of a steady heart it finds the cycle, or twice the
 * cycle, which fits a steady heart as well. */
static void second_estimates_agree_on_a_plain_heart(void **state)
{
    (void)state;
    bench *b = bench_open();
    composed c = compose_clean(FM_COMPOSE_STEADY, 66.0, 21);
    find(b, c.x, c.n);
    const double cycles = b->beats.acf_cycle_s * 66.0 / 60.0;
    assert_within(cycles, cycles < 1.5 ? 1.0 : 2.0, 0.03);
    assert_true(b->beats.acf_at_cycle > 0.3 && b->beats.acf_at_cycle <= 1.0 + 1e-6);
    assert_within((double)b->beats.plain_n_s1, (double)c.truth.n_s1, 1.0);
    assert_true(b->beats.missed_share >= 0.0 && b->beats.missed_share < 0.2);
    assert_true(b->beats.rest_score < 0.0); /* what is left over is no heart sound */
    composed_free(&c);
    bench_close(b);
}

/* Two seconds, one, and nothing at all. */
static void too_little_gives_an_empty_path_or_a_sound_one(void **state)
{
    (void)state;
    bench *b = bench_open();
    float *x = calloc(30000, sizeof(*x));
    assert_non_null(x);
    find(b, x, 30000);
    assert_int_equal(b->beats.path.n, 0);
    assert_int_equal(b->beats.path.n_s1, 0);
    assert_true(isnan(b->beats.acf_cycle_s));
    assert_true(isnan(b->beats.alternative_cycle_s));
    assert_true(b->beats.alternative_score_per_s < 0.0 &&
                isinf(b->beats.alternative_score_per_s));
    x[15000] = 1.0f; /* one click in silence */
    find(b, x, 30000);
    assert_sound_path(&b->beats);
    assert_true(b->beats.path.n_s1 <= 1);
    free(x);
    composed c = compose_clean(FM_COMPOSE_STEADY, 72.0, 4);
    for (size_t n = 2000; n < 16000; n += 700) {
        find(b, c.x, n);
        assert_sound_path(&b->beats);
        const double most = (double)n / FM_WORK_RATE_HZ * 4.0 + 1.0;
        assert_true((double)b->beats.path.n_s1 <= most);
    }
    composed_free(&c);
    bench_close(b);
}

/* Noise is decoded too; the evidence must not look like a heart's. */
static void noise_scores_below_a_heart(void **state)
{
    (void)state;
    bench *b = bench_open();
    composed c = compose_clean(FM_COMPOSE_STEADY, 72.0, 5);
    find(b, c.x, c.n);
    const double heart = b->beats.score_per_s;
    const double heart_acf = b->beats.acf_at_cycle;
    fm_random r = fm_random_init(1, 8);
    for (size_t i = 0; i < c.n; i++) {
        c.x[i] = 0.1f * (float)fm_random_normal(&r);
    }
    find(b, c.x, c.n);
    assert_sound_path(&b->beats);
    assert_true(b->beats.score_per_s < 0.5 * heart);
    assert_true(b->beats.acf_at_cycle < 0.5 * heart_acf);
    composed_free(&c);
    bench_close(b);
}

/* The same segment gives the same beats, whatever was decoded in between; and loudness
 * does not matter. */
static void nothing_is_remembered(void **state)
{
    (void)state;
    bench *b = bench_open();
    composed c = compose_clean(FM_COMPOSE_PREMATURE, 80.0, 6);
    composed other = compose_clean(FM_COMPOSE_FIBRILLATION, 110.0, 7);
    find(b, c.x, c.n);
    const fm_path first = b->beats.path;
    const fm_hypothesis hypothesis = b->beats.hypothesis;
    const double score = b->beats.score_per_s;
    find(b, other.x, other.n);
    find(b, other.x, other.n / 3);
    find(b, c.x, c.n);
    assert_memory_equal(&b->beats.path.index, &first.index,
                        first.n * sizeof(first.index[0]));
    assert_int_equal(b->beats.path.n, first.n);
    assert_within(b->beats.score_per_s, score, 0.0);
    assert_within(b->beats.hypothesis.cycle_s, hypothesis.cycle_s, 0.0);
    assert_within(b->beats.hypothesis.systole_s, hypothesis.systole_s, 0.0);
    for (size_t i = 0; i < c.n; i++) {
        c.x[i] *= 0.125f;
    }
    find(b, c.x, c.n);
    assert_int_equal(b->beats.path.n_s1, first.n_s1);
    assert_within(b->beats.score_per_s, score, 0.02 * fabs(score));
    composed_free(&c);
    composed_free(&other);
    bench_close(b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(clean_beats_are_found_at_every_rate),
        cmocka_unit_test(uneven_beats_are_found_one_by_one),
        cmocka_unit_test(second_estimates_agree_on_a_plain_heart),
        cmocka_unit_test(too_little_gives_an_empty_path_or_a_sound_one),
        cmocka_unit_test(noise_scores_below_a_heart),
        cmocka_unit_test(nothing_is_remembered),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
