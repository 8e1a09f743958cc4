/*
 * Candidates and what a patch sees of them: closed forms.
 *   Input:     envelopes and levels made here, so that every top, quantile and offset is
 *              known.
 *   Tolerance: a parabola's top to 1e-4 s (single precision samples of it).
 */
#include "dsp/heart/candidates.h"

#include "dsp/signal/random.h"

#include "tests/support.h"

#include <stdlib.h>
#include <string.h>

#define N_ELEMENTS(a) (sizeof(a) / sizeof((a)[0]))

enum {
    FRAMES = 3000,
    CONTEXT_STEPS = (FM_PATCH_HEIGHT - FM_PATCH_LOW_B76) / 2
};

typedef struct made {
    float level[FM_BANDS][FRAMES];
    float envelope[FRAMES];
    fm_features f;
} made;

static made *make_quiet(void)
{
    made *m = calloc(1, sizeof(*m));
    assert_non_null(m);
    m->f.n_frames = FRAMES;
    m->f.envelope = m->envelope;
    for (size_t b = 0; b < FM_BANDS; b++) {
        m->f.level[b] = m->level[b];
        m->f.weight[b] = 0.125;
    }
    return m;
}

/* A parabola of some height with its top at frame `top`, which need not be whole. */
static void add_lobe(made *m, double top, double height)
{
    for (size_t k = 0; k < FRAMES; k++) {
        const double d = ((double)k - top) / 6.0;
        const double v = height * (1.0 - d * d);
        if (v > (double)m->envelope[k]) {
            m->envelope[k] = (float)v;
        }
    }
}

static void every_lobe_is_found_at_its_top(void **state)
{
    (void)state;
    made *m = make_quiet();
    const double tops[] = {20.0, 60.3, 100.5, 141.75, 200.9, 2900.25};
    for (size_t i = 0; i < N_ELEMENTS(tops); i++) {
        add_lobe(m, tops[i], 0.3 + 0.1 * (double)i);
    }
    fm_candidate c[FM_CANDIDATES_MAX];
    memset(c, 0x55, sizeof(c));
    assert_int_equal(fm_candidates_find(&m->f, c, FM_CANDIDATES_MAX), N_ELEMENTS(tops));
    for (size_t i = 0; i < N_ELEMENTS(tops); i++) {
        assert_within(c[i].time_s, tops[i] / FM_FRAME_RATE_HZ, 1e-4);
        assert_within((double)c[i].frame, tops[i], 0.51);
        assert_within((double)c[i].height, (double)m->envelope[c[i].frame], 0.0);
        assert_within((double)c[i].prominence, (double)c[i].height, 1e-6);
        assert_within((double)c[i].score_s1, 0.0, 0.0);
        assert_within((double)c[i].score_s2, 0.0, 0.0);
    }
    free(m);
}

/* A twenty-fifth of a loud sound is worth a look, what is lower is not (candidates.c). */
static void what_is_low_is_left_out(void **state)
{
    (void)state;
    made *m = make_quiet();
    add_lobe(m, 200.0, 1.0);
    add_lobe(m, 300.0, 0.045);
    add_lobe(m, 400.0, 0.035);
    fm_candidate c[8];
    assert_int_equal(fm_candidates_find(&m->f, c, N_ELEMENTS(c)), 2);
    assert_int_equal(c[1].frame, 300);
    free(m);
}

/* A ripple on a lobe is no sound of its own, a second lobe nearly as high is one. */
static void ripples_are_left_out(void **state)
{
    (void)state;
    made *m = make_quiet();
    add_lobe(m, 500.0, 1.0);
    m->envelope[503] += 0.01f + m->envelope[502] - m->envelope[503];
    fm_candidate c[8];
    assert_int_equal(fm_candidates_find(&m->f, c, N_ELEMENTS(c)), 1);
    add_lobe(m, 510.0, 0.9);
    assert_int_equal(fm_candidates_find(&m->f, c, N_ELEMENTS(c)), 2);
    assert_true(c[1].prominence < c[1].height);
    free(m);
}

static void silence_and_flat_sound_have_none(void **state)
{
    (void)state;
    made *m = make_quiet();
    fm_candidate c[8];
    assert_int_equal(fm_candidates_find(&m->f, c, N_ELEMENTS(c)), 0);
    for (size_t k = 0; k < FRAMES; k++) {
        m->envelope[k] = 0.7f;
    }
    assert_int_equal(fm_candidates_find(&m->f, c, N_ELEMENTS(c)), 0);
    const size_t lengths[] = {0, 1, 2, 3};
    for (size_t i = 0; i < N_ELEMENTS(lengths); i++) {
        m->f.n_frames = lengths[i];
        assert_int_equal(fm_candidates_find(&m->f, c, N_ELEMENTS(c)), 0);
    }
    free(m);
}

/* Noise full of tops: in order of time, as many as asked for at most, within a frame. */
static void candidates_come_in_order_and_stay_in_their_room(void **state)
{
    (void)state;
    made *m = make_quiet();
    fm_random r = fm_random_init(3, 5);
    for (size_t k = 0; k < FRAMES; k++) {
        m->envelope[k] = (float)fm_random_uniform(&r);
    }
    fm_candidate c[FM_CANDIDATES_MAX];
    const size_t n = fm_candidates_find(&m->f, c, FM_CANDIDATES_MAX);
    assert_in_range(n, 600, FM_CANDIDATES_MAX);
    for (size_t i = 0; i < n; i++) {
        assert_true(i == 0 || c[i].time_s > c[i - 1].time_s);
        assert_within(c[i].time_s * FM_FRAME_RATE_HZ, (double)c[i].frame, 0.5 + 1e-9);
        assert_true(c[i].frame > 0 && c[i].frame + 1 < FRAMES);
        assert_true(c[i].height >= m->envelope[c[i].frame - 1]);
        assert_true(c[i].height >= m->envelope[c[i].frame + 1]);
    }
    fm_candidate few[10];
    memset(few, 0x55, sizeof(few));
    const fm_candidate untouched = few[5];
    assert_int_equal(fm_candidates_find(&m->f, few, 5), 5);
    assert_memory_equal(few, c, 5 * sizeof(*few));
    assert_memory_equal(&few[5], &untouched, sizeof(untouched));
    free(m);
}

/* Levels that count the frames show which frame each number of a patch comes from. */
static void a_patch_looks_either_side_alike(void **state)
{
    (void)state;
    made *m = make_quiet();
    for (size_t b = 0; b < FM_BANDS; b++) {
        for (size_t k = 0; k < FRAMES; k++) {
            m->level[b][k] = (float)k;
        }
    }
    const fm_candidate c = {.frame = 1000, .height = 0.5f, .prominence = 0.25f};
    float minute[FM_PATCH_MINUTE];
    for (size_t i = 0; i < FM_PATCH_MINUTE; i++) {
        minute[i] = (float)(100 + i);
    }
    float patch[FM_PATCH_SIZE + 1];
    patch[FM_PATCH_SIZE] = 77.0f;
    fm_candidate_patch(&m->f, &c, minute, patch);
    assert_within((double)patch[FM_PATCH_SIZE], 77.0, 0.0);
    for (size_t b = 0; b < FM_BANDS; b++) {
        const float *near = patch + b * FM_PATCH_STEPS;
        assert_within((double)near[FM_PATCH_STEPS / 2], 1000.0, 0.0);
        for (size_t s = 0; s < FM_PATCH_STEPS; s++) {
            assert_true(s == 0 || near[s] > near[s - 1]);
            assert_within((double)(near[s] + near[FM_PATCH_STEPS - 1 - s]), 2000.0,
                          0.0);
        }
    }
    const float reach = patch[FM_PATCH_STEPS - 1];
    const float *far = patch + FM_PATCH_LOW_B76;
    for (size_t s = 0; s < CONTEXT_STEPS; s++) {
        assert_within((double)far[2 * s], (double)far[2 * s + 1], 1e-3);
        assert_true(s == 0 || far[2 * s] > far[2 * s - 2]);
        assert_true(fabsf(far[2 * s] - 1000.0f) > reach - 1000.0f);
        assert_within((double)(far[2 * s] + far[2 * (CONTEXT_STEPS - 1 - s)]), 2000.0,
                      1e-3);
    }
    assert_within((double)patch[FM_PATCH_HEIGHT], 0.5, 0.0);
    assert_within((double)patch[FM_PATCH_PROMINENCE], 0.25, 0.0);
    for (size_t i = 0; i < FM_PATCH_MINUTE; i++) {
        assert_within((double)patch[FM_PATCH_WEIGHT_0 + i], (double)minute[i], 0.0);
    }
    free(m);
}

/* Each band has its own place, and the neighbours their own sides. */
static void bands_and_neighbours_are_told_apart(void **state)
{
    (void)state;
    made *m = make_quiet();
    for (size_t b = 0; b < FM_BANDS; b++) {
        for (size_t k = 0; k < FRAMES; k++) {
            m->level[b][k] = (float)b;
        }
    }
    add_lobe(m, 980.0, 0.8); /* before */
    add_lobe(m, 1000.0, 0.5);
    add_lobe(m, 1025.0, 0.9); /* after */
    const fm_candidate c = {.frame = 1000};
    const float minute[FM_PATCH_MINUTE] = {0};
    float patch[FM_PATCH_SIZE];
    fm_candidate_patch(&m->f, &c, minute, patch);
    for (size_t i = 0; i < FM_PATCH_LOW_B76; i++) {
        assert_within((double)patch[i], (double)(i / FM_PATCH_STEPS), 0.0);
    }
    assert_true(patch[FM_PATCH_LOW_B76] <
                patch[FM_PATCH_LOW_B76 + 1]); /* low, then high */
    assert_within((double)patch[FM_PATCH_HIGHEST_BEFORE], 0.8, 1e-6);
    assert_within((double)patch[FM_PATCH_HIGHEST_AFTER], 0.9, 1e-6);
    free(m);
}

/* At the ends of the segment the last frame stands for what is beyond it. */
static void a_patch_at_the_edge_repeats_the_edge(void **state)
{
    (void)state;
    made *m = make_quiet();
    for (size_t b = 0; b < FM_BANDS; b++) {
        for (size_t k = 0; k < FRAMES; k++) {
            m->level[b][k] = k == 0 ? 3.0f : (k == FRAMES - 1 ? 5.0f : 0.0f);
        }
    }
    const float minute[FM_PATCH_MINUTE] = {0};
    float patch[FM_PATCH_SIZE];
    fm_candidate c = {.frame = 0};
    fm_candidate_patch(&m->f, &c, minute, patch);
    for (size_t s = 0; s <= FM_PATCH_STEPS / 2; s++) {
        assert_within((double)patch[s], 3.0, 0.0);
        assert_within((double)patch[FM_PATCH_STEPS / 2 + 1 + s % 4], 0.0, 0.0);
    }
    c.frame = FRAMES - 1;
    fm_candidate_patch(&m->f, &c, minute, patch);
    for (size_t s = FM_PATCH_STEPS / 2; s < FM_PATCH_STEPS; s++) {
        assert_within((double)patch[s], 5.0, 0.0);
    }
    free(m);
}

static int ascending(const void *a, const void *b)
{
    const float x = *(const float *)a;
    const float y = *(const float *)b;
    return (x > y) - (x < y);
}

/* Quantiles ascend, lie among the heights, and do not depend on the order. */
static void the_summary_orders_the_heights(void **state)
{
    (void)state;
    made *m = make_quiet();
    fm_random r = fm_random_init(8, 5);
    fm_candidate c[101];
    fm_candidate backwards[101];
    float sorted[101];
    for (size_t i = 0; i < 101; i++) {
        sorted[i] = (float)fm_random_uniform(&r);
        c[i] = (fm_candidate){.height = sorted[i]};
        backwards[100 - i] = c[i];
    }
    qsort(sorted, 101, sizeof(*sorted), ascending);
    m->f.weight[2] = 0.5;
    float minute[FM_PATCH_MINUTE];
    float again[FM_PATCH_MINUTE];
    fm_candidates_summary(&m->f, c, 101, minute);
    fm_candidates_summary(&m->f, backwards, 101, again);
    assert_memory_equal(minute, again, sizeof(minute));
    for (size_t b = 1; b < FM_BANDS; b++) {
        assert_within((double)minute[b] / (double)minute[0],
                      m->f.weight[b] / m->f.weight[0], 1e-6);
    }
    for (size_t q = FM_BANDS; q < FM_PATCH_MINUTE; q++) {
        size_t below = 0;
        while (below < 100 && sorted[below] < minute[q]) {
            below++;
        }
        /* with 101 values every hundredth is a value itself */
        assert_within((double)sorted[below], (double)minute[q], 1e-6);
        assert_true(q == FM_BANDS || minute[q] > minute[q - 1]);
    }
    fm_candidates_summary(&m->f, c, 0, minute);
    for (size_t q = FM_BANDS; q < FM_PATCH_MINUTE; q++) {
        assert_within((double)minute[q], 0.0, 0.0);
    }
    free(m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_lobe_is_found_at_its_top),
        cmocka_unit_test(what_is_low_is_left_out),
        cmocka_unit_test(ripples_are_left_out),
        cmocka_unit_test(silence_and_flat_sound_have_none),
        cmocka_unit_test(candidates_come_in_order_and_stay_in_their_room),
        cmocka_unit_test(a_patch_looks_either_side_alike),
        cmocka_unit_test(bands_and_neighbours_are_told_apart),
        cmocka_unit_test(a_patch_at_the_edge_repeats_the_edge),
        cmocka_unit_test(the_summary_orders_the_heights),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
