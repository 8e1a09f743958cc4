/*
 * Breaths of two sizes on closed forms: a hump every 2 s for a minute, but for 12 s in which
 * they are low, or held.
 *   Input:     series made here, 100 a second, seed fixed.
 *   Tolerance: none; humps are counted.
 */
#include "dsp/breath_faint.h"

#include "dsp/random.h"

#include "../support.h"

#include <stdlib.h>

enum {
    FRAMES = 6000,
    HUMPS = 30,
    LOW_HUMPS = 6
};

static const unsigned SOUND =
    1U << FM_BREATH_LOW | 1U << FM_BREATH_MIDDLE | 1U << FM_BREATH_HIGH;
static const double PI = 3.14159265358979323846;

typedef struct bench {
    fm_breath_series series;
    double sum[FM_BREATH_CHANNELS][FRAMES + 1];
    double weight[FM_BREATH_CHANNELS][FRAMES + 1];
    fm_track_frames frames;
    fm_track_model model;
    fm_track_path path;
    fm_track_memory memory;
    fm_faint_memory faint;
} bench;

/* A hump every 2 s in all channels of sound, so high from 20 to 32 s, and noise. */
static bench *bench_open(double low, double noise)
{
    bench *b = calloc(1, sizeof(*b));
    assert_non_null(b);
    b->series.n = FRAMES;
    b->series.length_s = FRAMES / 100.0;
    for (int c = 0; c < FM_BREATH_CHANNELS; c++) {
        fm_random random = fm_random_init(5, (uint64_t)c);
        b->series.sum[c] = b->sum[c];
        b->series.weight[c] = b->weight[c];
        for (size_t k = 0; k < FRAMES && c < FM_BREATH_SOUND_CHANNELS; k++) {
            const double t = ((double)k + 0.5) / 100.0;
            const double height = t >= 20.0 && t < 32.0 ? low : 1.0;
            const double hump = 0.5 - 0.5 * cos(PI * t);
            b->sum[c][k + 1] =
                b->sum[c][k] + height * hump * hump + noise * fm_random_normal(&random);
            b->weight[c][k + 1] = b->weight[c][k] + 1.0;
        }
    }
    fm_track_frames_make(&b->series, 2.0 / FM_TRACK_PHASES, &b->frames);
    fm_track_model_start(&b->frames, SOUND, &b->model);
    for (int round = 0; round < 2; round++) {
        fm_track_find(&b->frames, &b->model, SOUND, &b->memory, &b->path);
        fm_track_learn(&b->frames, &b->path, FM_TRACK_PHASES, &b->model);
    }
    return b;
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
    bench *b = bench_open(0.2, 0.05);
    assert_int_equal(count(b), HUMPS - LOW_HUMPS); /* why this file is needed */
    fm_faint_find(&b->frames, &b->model, &b->faint, &b->path);
    assert_int_equal(count(b), HUMPS);
    free(b);
}

static void held_breath_is_none(void **state)
{
    (void)state;
    bench *b = bench_open(0.0, 0.3);
    assert_int_equal(count(b), HUMPS - LOW_HUMPS);
    fm_faint_find(&b->frames, &b->model, &b->faint, &b->path);
    assert_int_equal(count(b), HUMPS - LOW_HUMPS);
    free(b);
}

/* Where all are alike nothing changes, but for the phases on the way. */
static void like_humps_stay(void **state)
{
    (void)state;
    bench *b = bench_open(1.0, 0.3);
    assert_int_equal(count(b), HUMPS);
    fm_faint_find(&b->frames, &b->model, &b->faint, &b->path);
    assert_int_equal(count(b), HUMPS);
    free(b);
}

static void no_frames_are_no_path(void **state)
{
    (void)state;
    bench *b = bench_open(1.0, 0.3);
    b->frames.n = 0;
    fm_faint_find(&b->frames, &b->model, &b->faint, &b->path);
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
