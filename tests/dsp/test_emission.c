/*
 * Against a slow version in double: the network's arithmetic is done once more here, from
 * the same table of weights, whatever they are; nothing of what it says is pinned.
 *   Input:     features and candidates by chance (fixed seeds), in and beyond the ranges
 *              that features have.
 *   Tolerance: 2e-3: sums of some hundred products in single precision, scores to +/-9.
 */
#include "dsp/emission.h"

#include "dsp/emission_weights.h"
#include "dsp/random.h"

#include "tests/support.h"

#include <stdlib.h>
#include <string.h>

enum {
    FRAMES = 700,
    CANDIDATES = 60
};

static const double LOWEST = -9.0;
static const double HIGHEST = 6.0;

/* Features made of chance. */
typedef struct made {
    float level[FM_BANDS][FRAMES];
    float envelope[FRAMES];
    fm_features f;
    fm_candidate c[CANDIDATES];
    fm_opinion opinions[FM_EMISSION_MEMBERS];
} made;

static made *make(uint64_t seed, double low, double high)
{
    fm_random r = fm_random_init(seed, 2);
    made *m = calloc(1, sizeof(*m));
    assert_non_null(m);
    m->f.n_frames = FRAMES;
    m->f.envelope = m->envelope;
    double sum = 0.0;
    for (size_t b = 0; b < FM_BANDS; b++) {
        m->f.level[b] = m->level[b];
        m->f.weight[b] = fm_random_uniform(&r);
        sum += m->f.weight[b];
        for (size_t k = 0; k < FRAMES; k++) {
            m->level[b][k] = (float)fm_random_between(&r, low, high);
        }
    }
    for (size_t b = 0; b < FM_BANDS; b++) {
        m->f.weight[b] /= sum;
    }
    for (size_t k = 0; k < FRAMES; k++) {
        m->envelope[k] = (float)fm_random_between(&r, low, high);
    }
    for (size_t i = 0; i < CANDIDATES; i++) {
        const size_t frame = i * (FRAMES - 1) / (CANDIDATES - 1); /* both ends too */
        m->c[i] = (fm_candidate){.time_s = (double)frame / FM_FRAME_RATE_HZ,
                                 .frame = frame,
                                 .height = m->envelope[frame],
                                 .prominence = (float)fm_random_uniform(&r)};
    }
    return m;
}

static void layer_in_double(const double *in,
                            size_t n_in,
                            const int16_t *weights,
                            const float *scale,
                            const float *bias,
                            double *out,
                            size_t n_out)
{
    for (size_t j = 0; j < n_out; j++) {
        out[j] = (double)bias[j];
        for (size_t i = 0; i < n_in; i++) {
            out[j] += in[i] * (double)scale[j] * (double)weights[i * n_out + j];
        }
    }
}

static void rectify_in_double(double *x, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        x[i] = fmax(0.0, x[i]);
    }
}

/* Log likelihood ratios against neither: of each network, and their mean. */
static void score_in_double(const fm_features *f,
                            const fm_candidate *c,
                            const float *minute,
                            double opinion[FM_EMISSION_MEMBERS][2],
                            double score[2])
{
    float patch[FM_PATCH_SIZE];
    double in[FM_PATCH_SIZE];
    double first[FM_EMISSION_HIDDEN_1];
    double second[FM_EMISSION_HIDDEN_2];
    double out[FM_EMISSION_CLASSES];
    fm_candidate_patch(f, c, minute, patch);
    for (size_t i = 0; i < FM_PATCH_SIZE; i++) {
        in[i] = (double)patch[i];
    }
    score[0] = 0.0;
    score[1] = 0.0;
    for (size_t m = 0; m < FM_EMISSION_MEMBERS; m++) {
        layer_in_double(in, FM_PATCH_SIZE, &WEIGHTS_1[m][0][0], SCALE_1[m], BIAS_1[m],
                        first, FM_EMISSION_HIDDEN_1);
        rectify_in_double(first, FM_EMISSION_HIDDEN_1);
        layer_in_double(first, FM_EMISSION_HIDDEN_1, &WEIGHTS_2[m][0][0], SCALE_2[m],
                        BIAS_2[m], second, FM_EMISSION_HIDDEN_2);
        rectify_in_double(second, FM_EMISSION_HIDDEN_2);
        layer_in_double(second, FM_EMISSION_HIDDEN_2, &WEIGHTS_3[m][0][0], SCALE_3[m],
                        BIAS_3[m], out, FM_EMISSION_CLASSES);
        for (size_t k = 0; k < 2; k++) {
            const double prior = (double)LOG_PRIOR[m][k + 1] - (double)LOG_PRIOR[m][0];
            const double one = fmax(LOWEST, fmin(HIGHEST, out[k + 1] - out[0] - prior));
            opinion[m][k] = one;
            score[k] += one / FM_EMISSION_MEMBERS;
        }
    }
}

static void the_arithmetic_is_that_of_the_slow_version(void **state)
{
    (void)state;
    size_t n_inside = 0;
    for (uint64_t seed = 0; seed < 10; seed++) {
        made *m = make(seed, seed % 2 == 0 ? -0.3 : -1.0, seed % 2 == 0 ? 0.6 : 2.0);
        float minute[FM_PATCH_MINUTE];
        fm_candidates_summary(&m->f, m->c, CANDIDATES, minute);
        fm_emission_score(&m->f, m->c, CANDIDATES, m->opinions);
        for (size_t i = 0; i < CANDIDATES; i++) {
            double opinion[FM_EMISSION_MEMBERS][2];
            double score[2];
            score_in_double(&m->f, &m->c[i], minute, opinion, score);
            assert_within((double)m->c[i].score_s1, score[0], 2e-3);
            assert_within((double)m->c[i].score_s2, score[1], 2e-3);
            for (size_t k = 0; k < FM_EMISSION_MEMBERS; k++) {
                assert_within((double)m->opinions[k].score_s1[i], opinion[k][0], 2e-3);
                assert_within((double)m->opinions[k].score_s2[i], opinion[k][1], 2e-3);
                n_inside += opinion[k][0] > LOWEST && opinion[k][0] < HIGHEST;
            }
        }
        free(m);
    }
    assert_true(n_inside > 100); /* the limits did not hide the arithmetic */
}

/* The priors are log shares of classes. */
static void priors_are_shares(void **state)
{
    (void)state;
    for (size_t m = 0; m < FM_EMISSION_MEMBERS; m++) {
        double sum = 0.0;
        for (size_t k = 0; k < FM_EMISSION_CLASSES; k++) {
            assert_true((double)LOG_PRIOR[m][k] < 0.0);
            sum += exp((double)LOG_PRIOR[m][k]);
        }
        assert_within(sum, 1.0, 1e-3);
    }
}

static void scores_stay_in_bounds_whatever_is_heard(void **state)
{
    (void)state;
    const double reach[] = {0.0, 2.0, 1e3, 1e30};
    for (size_t k = 0; k < sizeof(reach) / sizeof(reach[0]); k++) {
        made *m = make(77, -reach[k], reach[k]);
        fm_emission_score(&m->f, m->c, CANDIDATES, NULL);
        for (size_t i = 0; i < CANDIDATES; i++) {
            const double s1 = (double)m->c[i].score_s1;
            const double s2 = (double)m->c[i].score_s2;
            assert_true(s1 >= LOWEST && s1 <= HIGHEST);
            assert_true(s2 >= LOWEST && s2 <= HIGHEST);
        }
        free(m);
    }
}

/* Twice the same; only the scores are touched; nothing depends on the order. */
static void scoring_is_a_function_of_its_input(void **state)
{
    (void)state;
    made *m = make(5, -0.5, 1.5);
    fm_candidate again[CANDIDATES];
    memcpy(again, m->c, sizeof(again));
    fm_candidate backwards[CANDIDATES];
    for (size_t i = 0; i < CANDIDATES; i++) {
        backwards[i] = m->c[CANDIDATES - 1 - i];
    }
    fm_emission_score(&m->f, m->c, CANDIDATES, NULL);
    fm_emission_score(&m->f, backwards, CANDIDATES, NULL);
    for (size_t i = 0; i < CANDIDATES; i++) {
        const fm_candidate *c = &m->c[i];
        assert_within(c->time_s, again[i].time_s, 0.0);
        assert_int_equal(c->frame, again[i].frame);
        assert_within((double)c->height, (double)again[i].height, 0.0);
        assert_within((double)c->prominence, (double)again[i].prominence, 0.0);
        assert_within((double)backwards[CANDIDATES - 1 - i].score_s1,
                      (double)c->score_s1, 0.0);
        assert_within((double)backwards[CANDIDATES - 1 - i].score_s2,
                      (double)c->score_s2, 0.0);
    }
    fm_emission_score(&m->f, again, CANDIDATES, NULL);
    assert_memory_equal(again, m->c, sizeof(again));
    fm_emission_score(&m->f, again, 0, NULL);
    assert_memory_equal(again, m->c, sizeof(again));
    free(m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_arithmetic_is_that_of_the_slow_version),
        cmocka_unit_test(priors_are_shares),
        cmocka_unit_test(scores_stay_in_bounds_whatever_is_heard),
        cmocka_unit_test(scoring_is_a_function_of_its_input),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
