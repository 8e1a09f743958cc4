/*
 * Breaths of two sizes on closed forms: a hump every 2 s for a minute, but for 12 s in which
 * they are low, or held.
 *   Input:     series made here, 100 a second, seed fixed.
 *   Tolerance: none; humps are counted.
 */
#include "dsp/breath_faint.h"

#include "track_support.h"

enum {
    HUMPS = 30,
    LOW_HUMPS = 6
};

static const unsigned SOUND =
    1U << FM_BREATH_LOW | 1U << FM_BREATH_MIDDLE | 1U << FM_BREATH_HIGH;
static const double PI = 3.14159265358979323846;

static bool in_the_middle(double t)
{
    return t >= 20.0 && t < 32.0;
}

/* A hump every 2 s. */
static double alike(double t)
{
    const double hump = 0.5 - 0.5 * cos(PI * t);
    return hump * hump;
}

static double low(double t)
{
    return in_the_middle(t) ? 0.2 * alike(t) : alike(t);
}

static double held(double t)
{
    return in_the_middle(t) ? 0.0 : alike(t);
}

/* All channels of sound alike but for the noise, followed with one size of breath. */
static bench *follow(double (*value)(double), double noise)
{
    bench *b = bench_open();
    for (int c = 0; c < FM_BREATH_SOUND_CHANNELS; c++) {
        lay(b, c, value, noise);
    }
    fm_track_frames_make(&b->series, 2.0 / FM_TRACK_PHASES, &b->frames);
    fm_track_model_start(&b->frames, SOUND, &b->model);
    for (int round = 0; round < 2; round++) {
        fm_track_find(&b->frames, &b->model, SOUND, &b->memory, &b->path);
        fm_track_learn(&b->frames, &b->path, FM_TRACK_PHASES, &b->model);
    }
    return b;
}

/* The look with two sizes. */
static void look(bench *b)
{
    fm_faint_memory *memory = calloc(1, sizeof(*memory));
    assert_non_null(memory);
    fm_faint_find(&b->frames, &b->model, memory, &b->path);
    free(memory);
}

/* Breaths, by the tops that the path passes. */
static size_t count(const bench *b)
{
    double time_s[FM_TRACK_CYCLES];
    size_t top = 0;
    for (size_t k = 1; k < b->model.n_states; k++) {
        top = b->model.mean[FM_BREATH_LOW][k] > b->model.mean[FM_BREATH_LOW][top] ? k
                                                                                  : top;
    }
    return fm_track_passings(&b->frames, &b->path, b->model.n_states, (double)top,
                             time_s, FM_TRACK_CYCLES);
}

static void low_humps_are_breaths(void **state)
{
    (void)state;
    bench *b = follow(low, 0.05);
    assert_int_equal(count(b), HUMPS - LOW_HUMPS); /* why this file is needed */
    look(b);
    assert_int_equal(count(b), HUMPS);
    free(b);
}

static void held_breath_is_none(void **state)
{
    (void)state;
    bench *b = follow(held, 0.3);
    assert_int_equal(count(b), HUMPS - LOW_HUMPS);
    look(b);
    assert_int_equal(count(b), HUMPS - LOW_HUMPS);
    free(b);
}

/* Where all are alike nothing changes, but for the phases on the way. */
static void like_humps_stay(void **state)
{
    (void)state;
    bench *b = follow(alike, 0.3);
    assert_int_equal(count(b), HUMPS);
    look(b);
    assert_int_equal(count(b), HUMPS);
    free(b);
}

static void no_frames_are_no_path(void **state)
{
    (void)state;
    bench *b = follow(alike, 0.3);
    b->frames.n = 0;
    look(b);
    assert_int_equal(count(b), 0);
    free(b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(low_humps_are_breaths),
        cmocka_unit_test(held_breath_is_none),
        cmocka_unit_test(like_humps_stay),
        cmocka_unit_test(no_frames_are_no_path),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
