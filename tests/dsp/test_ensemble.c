/*
 * The ensemble of decodings: candidates made here, with scores that are known.
 *   Input:     S1 and S2 of a steady rhythm, 0.8 s apart, 25 beats; nothing is analysed.
 *   Tolerance: rates within 0.1 per minute (times are single precision).
 */
#include "dsp/heart/ensemble.h"

#include "dsp/heart/follow.h"

#include "tests/dsp/decoder_support.h"
#include "tests/support.h"

#include <stdlib.h>
#include <string.h>

/* The whole ensemble by itself. */
static void decode_ensemble(const fm_ensemble_input *q,
                            fm_decoder_memory *m,
                            fm_ensemble *p)
{
    fm_decoding decoding[FM_ENSEMBLE_SIZE];
    fm_ensemble_begin(q, p);
    while (fm_ensemble_next(q, p, decoding) > 0) {
        fm_decode_all(decoding, FM_ENSEMBLE_SIZE, q->n, q->segment_s, q->noise_per_s,
                      m);
        fm_ensemble_keep(q, m, p);
    }
    fm_ensemble_compare(q, p);
}

enum {
    BEATS = 25,
    SOUNDS = 2 * BEATS
};

static const double CYCLE_S = 0.8;

typedef struct ensemble_case {
    fm_candidate c[SOUNDS];
    fm_decoder_memory memory;
    fm_ensemble ensemble;
    fm_path chosen;
    fm_hypothesis hypothesis;
    double prior;
    fm_ensemble_input q;
} ensemble_case;

static void set_scores(ensemble_case *a, size_t i, float s1, float s2)
{
    a->c[i].score_s1 = s1;
    a->c[i].score_s2 = s2;
    for (size_t m = 0; m < FM_EMISSION_MEMBERS; m++) {
        a->ensemble.network_scores[m].score_s1[i] = s1;
        a->ensemble.network_scores[m].score_s2[i] = s2;
    }
}

static ensemble_case *make_case(void)
{
    ensemble_case *a = calloc(1, sizeof(*a));
    assert_non_null(a);
    for (size_t i = 0; i < SOUNDS; i++) {
        const bool s2 = i % 2 == 1;
        a->c[i].time_s = 0.5 + CYCLE_S * (double)(i / 2) + (s2 ? 0.3 : 0.0);
        a->c[i].height = 1.0f;
        set_scores(a, i, s2 ? -3.0f : 4.0f, s2 ? 4.0f : -3.0f);
    }
    a->hypothesis = (fm_hypothesis){.cycle_s = CYCLE_S,
                                    .systole_s = 0.3,
                                    .systole_sd_s = 0.03,
                                    .looseness = 0.08,
                                    .s2_detected = 0.85,
                                    .surprise = FM_SURPRISE,
                                    .early = FM_EARLY};
    a->q = (fm_ensemble_input){.candidates = a->c,
                               .n = SOUNDS,
                               .segment_s = 1.0 + CYCLE_S * BEATS,
                               .noise_per_s = 2.0,
                               .hypotheses = &a->hypothesis,
                               .priors = &a->prior,
                               .n_hypotheses = 1,
                               .chosen = &a->chosen};
    decode_alone(a->c, SOUNDS, a->q.segment_s, a->q.noise_per_s, &a->hypothesis,
                 &a->memory, &a->chosen);
    assert_int_equal(a->chosen.n_s1, BEATS);
    return a;
}

static void clear_beats_are_found_by_all(void **state)
{
    (void)state;
    ensemble_case *a = make_case();
    decode_ensemble(&a->q, &a->memory, &a->ensemble);
    for (size_t v = 0; v < FM_ENSEMBLE_SIZE; v++) {
        assert_within(a->ensemble.disagreement[v].off_bpm, 0.0, 0.1);
        assert_within(a->ensemble.disagreement[v].differ, 0.0, 0.0);
    }
    free(a);
}

/* One network scores down the last three beats: its rate stays, three beats differ. */
static void a_network_that_scores_less_is_told_from_the_others(void **state)
{
    (void)state;
    ensemble_case *a = make_case();
    for (size_t i = SOUNDS - 6; i < SOUNDS; i++) {
        a->ensemble.network_scores[1].score_s1[i] = -9.0f;
        a->ensemble.network_scores[1].score_s2[i] = -9.0f;
    }
    decode_ensemble(&a->q, &a->memory, &a->ensemble);
    for (size_t v = 0; v < FM_ENSEMBLE_SIZE; v++) {
        assert_within(a->ensemble.disagreement[v].off_bpm, 0.0, 0.1);
        assert_within(a->ensemble.disagreement[v].differ, v == 1 ? 3.0 / BEATS : 0.0,
                      1e-9);
    }
    free(a);
}

/* A beat that hardly scores, in the middle: lowered scores leave it out, and the rate of the
 * rest falls by one beat in 24 intervals. */
static void what_hardly_scores_divides_raised_from_lowered_scores(void **state)
{
    (void)state;
    ensemble_case *a = make_case();
    for (float score = 4.0f; score > -9.0f; score -= 0.25f) {
        set_scores(a, 24, score, -3.0f);
        set_scores(a, 25, -3.0f, score);
        decode_alone(a->c, SOUNDS, a->q.segment_s, a->q.noise_per_s, &a->hypothesis,
                     &a->memory, &a->chosen);
        decode_ensemble(&a->q, &a->memory, &a->ensemble);
        const fm_disagreement *perturbed =
            a->ensemble.disagreement + FM_EMISSION_MEMBERS;
        const fm_disagreement *up = &perturbed[FM_PERTURBED_UP];
        const fm_disagreement *down = &perturbed[FM_PERTURBED_DOWN];
        assert_true(up->off_bpm >= down->off_bpm - 0.1);
        if (down->off_bpm < -1.0) {
            assert_within(down->off_bpm, -75.0 / 24.0, 0.1);
            assert_within(down->differ, 1.0 / BEATS, 1e-9);
            assert_within(up->off_bpm, 0.0, 0.1);
            free(a);
            return;
        }
    }
    fail_msg("the decoding with lowered scores never left the beat out");
}

/* Twice the cycle is offered before the cycle: none takes it. */
static void each_member_takes_the_likelier_hypothesis(void **state)
{
    (void)state;
    ensemble_case *a = make_case();
    const fm_hypothesis both[] = {
        {.cycle_s = 2.0 * CYCLE_S,
         .systole_s = 0.3,
         .systole_sd_s = 0.03,
         .looseness = 0.08,
         .s2_detected = 0.85,
         .surprise = FM_SURPRISE,
         .early = FM_EARLY},
        a->hypothesis,
    };
    const double priors[] = {0.0, 0.0};
    a->q.hypotheses = both;
    a->q.priors = priors;
    a->q.n_hypotheses = 2;
    decode_ensemble(&a->q, &a->memory, &a->ensemble);
    for (size_t v = 0; v < FM_ENSEMBLE_SIZE; v++) {
        assert_within(a->ensemble.disagreement[v].off_bpm, 0.0, 0.1);
    }
    free(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(clear_beats_are_found_by_all),
        cmocka_unit_test(a_network_that_scores_less_is_told_from_the_others),
        cmocka_unit_test(what_hardly_scores_divides_raised_from_lowered_scores),
        cmocka_unit_test(each_member_takes_the_likelier_hypothesis),
    };
    return cmocka_run_group_tests_name("dsp.ensemble", tests, NULL, NULL);
}
