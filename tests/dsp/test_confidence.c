/*
 * The evidence and the probability made from it.
 *   Input:     decoded beats and features made here; nothing is analysed.
 *   Tolerance: beside each. The network's arithmetic is done once more outside, with NumPy, from
 *              the same table (tests/data/check_networks.py, the ctest
 *              data.networks_confidence), for which this prints. Nothing it says is pinned.
 */
#include "dsp/heart/confidence.h"

#include "dsp/heart/confidence_weights.h"
#include "dsp/signal/random.h"

#include "tests/support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define N_ELEMENTS(a) (sizeof(a) / sizeof((a)[0]))

enum {
    BEATS = 40,
    FRAMES = 4000
};

/* Steady beats, S1 and S2, every sound clear. */
typedef struct decoded {
    fm_candidate c[2 * BEATS];
    fm_features f;
    fm_conditioned conditioned;
    fm_beats beats;
} decoded;

static decoded *steady_beats(void)
{
    decoded *h = calloc(1, sizeof(*h));
    assert_non_null(h);
    for (size_t i = 0; i < BEATS; i++) {
        h->c[2 * i] = (fm_candidate){.time_s = 0.5 + 0.9 * (double)i,
                                     .height = 1.0f,
                                     .score_s1 = 4.0f,
                                     .score_s2 = -2.0f};
        h->c[2 * i + 1] = (fm_candidate){.time_s = 0.82 + 0.9 * (double)i,
                                         .height = 0.8f,
                                         .score_s1 = -2.0f,
                                         .score_s2 = 3.0f};
    }
    for (size_t b = 0; b < FM_BANDS; b++) {
        h->f.weight[b] = (double)(b + 1) / 36.0;
        h->f.periodicity[b] = 0.9 - 0.1 * (double)b;
    }
    h->f.n_frames = FRAMES;
    h->f.high_share = 0.21;
    h->f.flatness = 0.43;
    h->beats = (fm_beats){.candidates = h->c,
                          .n_candidates = 2 * BEATS,
                          .plain_n_s1 = BEATS,
                          .score_per_s = 5.0,
                          .alternative_score_per_s = 2.0,
                          .alternative_cycle_s = 1.8,
                          .acf_at_cycle = 0.66,
                          .acf_cycle_s = 0.9};
    h->beats.hypothesis = (fm_hypothesis){.cycle_s = 0.9,
                                          .systole_s = 0.32,
                                          .systole_sd_s = 0.02,
                                          .looseness = 0.08,
                                          .surprise = 0.05,
                                          .s2_detected = 0.95};
    fm_path *p = &h->beats.path;
    for (size_t i = 0; i < 2 * (size_t)BEATS; i++) {
        p->index[i] = (uint16_t)i;
        p->is_s2[i] = i % 2 == 1;
    }
    p->n = 2 * (size_t)BEATS;
    p->n_s1 = BEATS;
    p->n_s2 = BEATS;
    return h;
}

static fm_evidence gather(const decoded *h, double window_s, double usable_share)
{
    fm_evidence e;
    memset(&e, 0x55, sizeof(e));
    fm_evidence_gather(&h->beats, &h->f, &h->conditioned, window_s, usable_share, &e);
    for (size_t i = 0; i < FM_EVIDENCE_SIZE; i++) {
        assert_true(isfinite(e.value[i]));
        assert_true(fabsf(e.value[i]) <= 10.0f);
    }
    return e;
}

static void sureness_rises_with_the_scores(void **state)
{
    (void)state;
    decoded *h = steady_beats();
    float last = -1.0f;
    for (int score = -90; score <= 60; score++) {
        h->c[0].score_s1 = (float)score / 10.0f;
        const float sure = fm_sureness(&h->beats, 0);
        assert_true(sure >= 0.0f && sure <= 1.0f);
        assert_true(sure > last);
        last = sure;
    }
    /* an S2 where it belongs helps; one that does not sound like S2 does no harm */
    h->c[0].score_s1 = 0.0f;
    h->c[1].score_s2 = -5.0f;
    const float unlike = fm_sureness(&h->beats, 0);
    h->c[1].score_s2 = 3.0f;
    const float with = fm_sureness(&h->beats, 0);
    h->beats.path.is_s2[1] = false;
    const float without = fm_sureness(&h->beats, 0);
    assert_true(with > without);
    assert_within((double)unlike, (double)without, 0.0);
    /* the last of the path has none after it */
    h->beats.path.is_s2[1] = true;
    h->beats.path.n = 1;
    assert_within((double)fm_sureness(&h->beats, 0), (double)without, 0.0);
    free(h);
}

static void the_evidence_says_what_its_names_promise(void **state)
{
    (void)state;
    decoded *h = steady_beats();
    fm_evidence e = gather(h, 36.0, 1.0);
    double sureness = 0.0;
    double periodicity = 0.0;
    for (size_t i = 0; i < BEATS; i++) {
        sureness += (double)fm_sureness(&h->beats, 2 * i) / BEATS;
    }
    for (size_t b = 0; b < FM_BANDS; b++) {
        periodicity += h->f.weight[b] * h->f.periodicity[b];
    }
    assert_within((double)e.value[FM_EVIDENCE_SURENESS], sureness, 1e-6);
    assert_within((double)e.value[FM_EVIDENCE_ACF], 0.66, 1e-6);
    assert_within((double)e.value[FM_EVIDENCE_PERIODICITY], periodicity, 1e-6);
    assert_within((double)e.value[FM_EVIDENCE_HIGH_SHARE], 0.21, 1e-6);
    assert_within((double)e.value[FM_EVIDENCE_FLATNESS], 0.43, 1e-6);
    assert_within((double)e.value[FM_EVIDENCE_ACF_AGREES], 1.0, 0.0);
    assert_within((double)e.value[FM_EVIDENCE_PLAIN_AGREES], 1.0, 0.0);
    /* 5 - 2 a second over 40 s and 40 beats */
    assert_within((double)e.value[FM_EVIDENCE_MARGIN], 3.0, 1e-6);

    h->beats.acf_cycle_s = 1.8; /* half the rate */
    h->beats.plain_n_s1 = BEATS / 2;
    e = gather(h, 36.0, 1.0);
    assert_within((double)e.value[FM_EVIDENCE_ACF_AGREES], 0.0, 0.0);
    assert_within((double)e.value[FM_EVIDENCE_PLAIN_AGREES], 0.0, 0.0);
    h->beats.acf_cycle_s = (double)NAN; /* no second estimate agrees with nothing */
    e = gather(h, 36.0, 1.0);
    assert_within((double)e.value[FM_EVIDENCE_ACF_AGREES], 0.0, 0.0);
    free(h);
}

/* No alternative at all is no less than a weak one. */
static void the_margin_grows_with_the_distance_of_the_alternative(void **state)
{
    (void)state;
    decoded *h = steady_beats();
    const double alternatives[] = {4.9, 4.0, 2.0, -3.0, (double)-INFINITY};
    float last = -1.0f;
    for (size_t i = 0; i < N_ELEMENTS(alternatives); i++) {
        h->beats.alternative_score_per_s = alternatives[i];
        const fm_evidence e = gather(h, 36.0, 1.0);
        assert_true(e.value[FM_EVIDENCE_MARGIN] >= last);
        last = e.value[FM_EVIDENCE_MARGIN];
    }
    assert_true(last > 3.0f);
    free(h);
}

/* Nothing found, one beat, two: every number is still one (checked in gather). */
static void little_or_nothing_found_is_evidence_too(void **state)
{
    (void)state;
    decoded *h = steady_beats();
    const size_t lengths[] = {0, 1, 2, 3, 4, 5};
    for (size_t i = 0; i < N_ELEMENTS(lengths); i++) {
        h->beats.path.n = lengths[i];
        h->beats.path.n_s1 = (lengths[i] + 1) / 2;
        h->beats.path.n_s2 = lengths[i] / 2;
        const fm_evidence e = gather(h, 6.0, 0.0);
        const double p = fm_confidence_estimate(&e);
        assert_true(p >= 0.0 && p <= 1.0);
    }
    free(h);
    h = calloc(1, sizeof(*h));
    assert_non_null(h);
    h->f.n_frames = 600;
    h->beats = (fm_beats){.candidates = h->c,
                          .alternative_score_per_s = (double)-INFINITY,
                          .alternative_cycle_s = (double)NAN,
                          .acf_cycle_s = (double)NAN};
    (void)gather(h, 6.0, 1.0);
    (void)gather(h, 0.0, 0.0);
    free(h);
}

/* For tests/data/check_networks.py, which does the arithmetic once more with NumPy: the sizes,
 * then a line a trial: the evidence, by chance around the table's own means, and what is made of
 * it. */
static void print_for_numpy(void)
{
    fm_random r = fm_random_init(9, 9);
    (void)printf(
        "FM_CONFIDENCE_MEMBERS=%d FM_CONFIDENCE_HIDDEN=%d FM_EVIDENCE_SIZE=%d\n",
        FM_CONFIDENCE_MEMBERS, FM_CONFIDENCE_HIDDEN, FM_EVIDENCE_SIZE);
    for (int trial = 0; trial < 2000; trial++) {
        fm_evidence e;
        for (size_t i = 0; i < FM_EVIDENCE_SIZE; i++) {
            e.value[i] = CONFIDENCE_MEAN[i] +
                         (float)(2.0 * fm_random_normal(&r)) / CONFIDENCE_SCALE[i];
            (void)printf("%.9g ", (double)e.value[i]);
        }
        (void)printf("%.17g\n", fm_confidence_estimate(&e));
    }
}

static void a_probability_is_one_whatever_is_fed(void **state)
{
    (void)state;
    const float values[] = {0.0f, -1e30f, 1e30f, -INFINITY, INFINITY};
    for (size_t k = 0; k < N_ELEMENTS(values); k++) {
        fm_evidence e;
        for (size_t i = 0; i < FM_EVIDENCE_SIZE; i++) {
            e.value[i] = i % 2 == 0 ? values[k] : -values[k];
        }
        const double p = fm_confidence_estimate(&e);
        assert_true(p >= 0.0 && p <= 1.0);
        assert_within(fm_confidence_estimate(&e), p, 0.0);
    }
}

/* By hand beside the rule's: tests/accuracy/train/README.md, The two bars. A table that is
 * learned again does not take it away. */
static void the_bar_of_counted_is_the_one_chosen_by_hand(void **state)
{
    (void)state;
    assert_within(FM_COUNTED_FROM, 0.93, 0.0);
    assert_true(FM_CAUTION_FROM < FM_COUNTED_FROM);
}

int main(int argc, char **argv)
{
    if (argc == 2 && strcmp(argv[1], "--print") == 0) {
        print_for_numpy();
        return 0;
    }
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_bar_of_counted_is_the_one_chosen_by_hand),
        cmocka_unit_test(sureness_rises_with_the_scores),
        cmocka_unit_test(the_evidence_says_what_its_names_promise),
        cmocka_unit_test(the_margin_grows_with_the_distance_of_the_alternative),
        cmocka_unit_test(little_or_nothing_found_is_evidence_too),
        cmocka_unit_test(a_probability_is_one_whatever_is_fed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
