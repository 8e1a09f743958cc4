/*
 * The second decoding: three kinds of sound that differ clearly, and what a path over them
 * must teach.
 *   Input:     levels made here: S1 low, S2 in the middle bands, the rest faint, each
 *              with a little chance (fixed seed).
 *   Tolerance: none needed: what is asked is which way a score moves, and how far at most.
 */
#include "dsp/heart/adapt.h"

#include "dsp/signal/random.h"

#include "tests/support.h"

#include <stdlib.h>
#include <string.h>

enum {
    EACH = 30, /* of every kind */
    ALL = 3 * EACH,
    STEP = 20, /* frames from one candidate to the next */
    FRAMES = ALL * STEP
};

/* As far as one second decoding may move a score. */
static const float MOVE_MAX = 4.0f;

/* Candidate i is S1 when i % 3 is 0, S2 when it is 1, and neither when it is 2. */
typedef struct scored {
    float level[FM_BANDS][FRAMES];
    fm_features f;
    fm_candidate first[ALL];
    fm_candidate second[ALL];
    fm_path path;
} scored;

static scored *three_kinds(void)
{
    static const float BAND_LEVEL[3][FM_BANDS] = {
        {1.0f, 0.9f, 0.8f, 0.4f, 0.3f, 0.3f, 0.0f, 0.0f},
        {0.5f, 0.7f, 0.8f, 0.9f, 0.8f, 0.6f, 0.2f, 0.0f},
        {0.5f, 0.4f, 0.4f, 0.3f, 0.3f, 0.3f, 0.1f, 0.1f},
    };
    fm_random r = fm_random_init(6, 6);
    scored *h = calloc(1, sizeof(*h));
    assert_non_null(h);
    h->f.n_frames = FRAMES;
    for (size_t b = 0; b < FM_BANDS; b++) {
        h->f.level[b] = h->level[b];
        for (size_t k = 0; k < FRAMES; k++) {
            const size_t kind = ((k + STEP / 2) / STEP) % 3;
            h->level[b][k] = BAND_LEVEL[kind][b] + 0.1f * (float)fm_random_normal(&r);
        }
    }
    for (size_t i = 0; i < ALL; i++) {
        const float usual = i % 3 == 0 ? 0.8f : (i % 3 == 1 ? 0.7f : 0.5f);
        const float height = usual + 0.1f * (float)fm_random_normal(&r);
        h->first[i] = (fm_candidate){.time_s = (double)(i * STEP) / 100.0,
                                     .frame = i * STEP,
                                     .height = height,
                                     .prominence = height};
        if (i % 3 != 2) {
            h->path.index[h->path.n] = (uint16_t)i;
            h->path.is_s2[h->path.n++] = i % 3 == 1;
        }
    }
    h->path.n_s1 = EACH;
    h->path.n_s2 = EACH;
    return h;
}

static void adapt(scored *h)
{
    fm_adapt_scores(&h->f, h->first, ALL, &h->path, h->second);
}

/* Take candidate i out of the path. */
static void unlabel(scored *h, size_t i)
{
    size_t kept = 0;
    for (size_t k = 0; k < h->path.n; k++) {
        if (h->path.index[k] != i) {
            h->path.index[kept] = h->path.index[k];
            h->path.is_s2[kept++] = h->path.is_s2[k];
        }
    }
    h->path.n = kept;
}

static void sounds_move_towards_what_they_sound_like(void **state)
{
    (void)state;
    scored *h = three_kinds();
    adapt(h);
    for (size_t i = 0; i < ALL; i++) {
        const float s1 = h->second[i].score_s1;
        const float s2 = h->second[i].score_s2;
        if (i % 3 == 0) {
            assert_true(s1 > 0.0f && s1 > s2);
        } else if (i % 3 == 1) {
            assert_true(s2 > 0.0f && s2 > s1);
        } else {
            assert_true(s1 < 0.0f && s2 < 0.0f);
        }
        assert_true(fabsf(s1) <= MOVE_MAX && fabsf(s2) <= MOVE_MAX);
    }
    free(h);
}

/* A beat the first decoding passed over, or took for the wrong sound, is found again. */
static void a_sound_passed_over_is_recognised(void **state)
{
    (void)state;
    scored *h = three_kinds();
    unlabel(h, 30);
    unlabel(h, 45);
    for (size_t k = 0; k < h->path.n; k++) {
        const size_t i = h->path.index[k];
        if (i < 2 || i == 60 || i == 61 || i == 87 || i == 88) {
            h->path.is_s2[k] = !h->path.is_s2[k];
        }
    }
    adapt(h);
    assert_true(h->second[30].score_s1 > 1.0f);
    assert_true(h->second[45].score_s1 > 1.0f);
    assert_true(h->second[60].score_s1 > h->second[60].score_s2);
    assert_true(h->second[61].score_s2 > h->second[61].score_s1);
    free(h);
}

static void what_is_known_already_is_only_added_to(void **state)
{
    (void)state;
    scored *h = three_kinds();
    adapt(h);
    fm_candidate from_nothing[ALL];
    memcpy(from_nothing, h->second, sizeof(from_nothing));
    for (size_t i = 0; i < ALL; i++) {
        h->first[i].score_s1 = 2.5f;
        h->first[i].score_s2 = -3.0f;
    }
    adapt(h);
    for (size_t i = 0; i < ALL; i++) {
        assert_within((double)(h->second[i].score_s1 - from_nothing[i].score_s1), 2.5,
                      1e-5);
        assert_within((double)(h->second[i].score_s2 - from_nothing[i].score_s2), -3.0,
                      1e-5);
        assert_within(h->second[i].time_s, h->first[i].time_s, 0.0);
        assert_int_equal(h->second[i].frame, h->first[i].frame);
        assert_within((double)h->second[i].height, (double)h->first[i].height, 0.0);
        assert_within((double)h->second[i].prominence, (double)h->first[i].prominence,
                      0.0);
    }
    free(h);
}

/* One or two examples are no class: nothing is learned from them. */
static void too_few_examples_teach_nothing(void **state)
{
    (void)state;
    scored *h = three_kinds();
    for (size_t i = 0; i < ALL; i++) {
        h->first[i].score_s1 = (float)i;
        h->first[i].score_s2 = -(float)i;
    }
    h->path.n = 4; /* two S1, two S2 */
    adapt(h);
    assert_memory_equal(h->second, h->first, sizeof(h->first));
    h->path.n = 0;
    adapt(h);
    assert_memory_equal(h->second, h->first, sizeof(h->first));
    fm_adapt_scores(&h->f, h->first, 0, &h->path, h->second);
    free(h);
}

/* S2 never found: S1 is learned all the same, S2 scores stay. */
static void one_class_can_be_learned_alone(void **state)
{
    (void)state;
    scored *h = three_kinds();
    for (size_t i = 1; i < ALL; i += 3) {
        unlabel(h, i);
    }
    adapt(h);
    for (size_t i = 0; i < ALL; i++) {
        assert_within((double)h->second[i].score_s2, 0.0, 0.0);
        if (i % 3 == 0) {
            assert_true(h->second[i].score_s1 > 0.0f);
        }
    }
    free(h);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sounds_move_towards_what_they_sound_like),
        cmocka_unit_test(a_sound_passed_over_is_recognised),
        cmocka_unit_test(what_is_known_already_is_only_added_to),
        cmocka_unit_test(too_few_examples_teach_nothing),
        cmocka_unit_test(one_class_can_be_learned_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
