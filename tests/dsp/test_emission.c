/*
 * What the networks promise whatever their table holds: bounds, order, shares. Their arithmetic is
 * done once more outside, with NumPy, from the same table (tests/data/check_networks.py, the
 * ctest data.networks_emission), for which this prints.
 *   Input:     features and candidates by chance (fixed seeds), in and beyond the ranges
 *              that features have.
 */
#include "dsp/heart/emission.h"

#include "dsp/heart/emission_weights.h"
#include "dsp/signal/random.h"

#include "tests/support.h"

#include <stdio.h>
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
    fm_network_scores network_scores[FM_EMISSION_MEMBERS];
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

/* For tests/data/check_networks.py, which does the arithmetic once more with NumPy: the sizes,
 * then a line a candidate: its patch, and what each network says of it. */
static void print_for_numpy(void)
{
    (void)printf(
        "FM_EMISSION_MEMBERS=%d FM_EMISSION_HIDDEN_1=%d FM_EMISSION_HIDDEN_2=%d "
        "FM_EMISSION_CLASSES=%d FM_PATCH_SIZE=%d\n",
        FM_EMISSION_MEMBERS, FM_EMISSION_HIDDEN_1, FM_EMISSION_HIDDEN_2,
        FM_EMISSION_CLASSES, FM_PATCH_SIZE);
    for (uint64_t seed = 0; seed < 6; seed++) {
        made *m = make(seed, seed % 2 == 0 ? -0.3 : -1.0, seed % 2 == 0 ? 0.6 : 2.0);
        float minute[FM_PATCH_MINUTE];
        float patch[FM_PATCH_SIZE];
        fm_candidates_summary(&m->f, m->c, CANDIDATES, minute);
        fm_emission_score(&m->f, m->c, CANDIDATES, m->network_scores);
        for (size_t i = 0; i < CANDIDATES; i++) {
            fm_candidate_patch(&m->f, &m->c[i], minute, patch);
            for (size_t k = 0; k < FM_PATCH_SIZE; k++) {
                (void)printf("%.9g ", (double)patch[k]);
            }
            for (size_t k = 0; k < FM_EMISSION_MEMBERS; k++) {
                (void)printf("%.9g %.9g ", (double)m->network_scores[k].score_s1[i],
                             (double)m->network_scores[k].score_s2[i]);
            }
            (void)printf("%.9g %.9g\n", (double)m->c[i].score_s1,
                         (double)m->c[i].score_s2);
        }
        free(m);
    }
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

static void scores_stay_in_bounds_whatever_the_sound(void **state)
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

int main(int argc, char **argv)
{
    if (argc == 2 && strcmp(argv[1], "--print") == 0) {
        print_for_numpy();
        return 0;
    }
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(priors_are_shares),
        cmocka_unit_test(scores_stay_in_bounds_whatever_the_sound),
        cmocka_unit_test(scoring_is_a_function_of_its_input),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
