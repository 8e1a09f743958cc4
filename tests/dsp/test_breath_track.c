/*
 * The circular chain on closed forms: a modulation of known length in one channel.
 *   Input:     series made here, 100 a second, seed fixed.
 *   Tolerance: by arithmetic, beside each.
 */
#include "dsp/breath/breath_track.h"

#include "track_support.h"

#include <string.h>

static const double PI = 3.14159265358979323846;

static double wave_of_four(double t)
{
    return -cos(2.0 * PI * t / 4.0);
}

/* Lobes every 2 s, every other one half as high. */
static double unlike_lobes(double t)
{
    const double lobe = 0.5 - 0.5 * cos(2.0 * PI * t / 2.0);
    return fmod(t, 4.0) < 2.0 ? lobe : 0.5 * lobe;
}

static double like_lobes(double t)
{
    return 0.5 - 0.5 * cos(2.0 * PI * t / 2.0);
}

static void frames_are_means(void **state)
{
    (void)state;
    bench *b = bench_open();
    lay(b, FM_BREATH_LOW, wave_of_four, 0.0);
    fm_track_frames_make(&b->series, 0.5, &b->frames);
    assert_int_equal(b->frames.n, 120);
    /* the mean of -cos over [0, 0.5] s is -sin(pi / 4) / (pi / 4) */
    assert_within((double)b->frames.value[FM_BREATH_LOW][0], -sin(PI / 4) / (PI / 4),
                  1e-3);
    assert_within((double)b->frames.weight[FM_BREATH_LOW][7], 1.0, 1e-6);
    assert_within(b->frames.total[FM_BREATH_HIGH], 0.0, 1e-12);
    /* half the square of the amplitude, times the square of that mean over cos's own */
    const double kept = sin(PI / 8) / (PI / 8);
    assert_within(b->frames.variance[FM_BREATH_LOW], 0.5 * kept * kept, 1e-3);
    free(b);
}

/* A wave of 4 s, followed under wrong hypotheses of up to a tenth. */
static void a_wave_is_followed(void **state)
{
    (void)state;
    static const double hypotheses_s[] = {3.6, 4.0, 4.4};
    bench *b = bench_open();
    const unsigned mask = 1U << FM_BREATH_LOW;
    lay(b, FM_BREATH_LOW, wave_of_four, 0.2);
    for (size_t i = 0; i < 3; i++) {
        fm_track_frames_make(&b->series, hypotheses_s[i] / FM_TRACK_PHASES, &b->frames);
        fm_track_model_start(&b->frames, mask, &b->model);
        fm_track_find(&b->frames, &b->model, mask, &b->memory, &b->path);
        fm_track_learn(&b->frames, &b->path, FM_TRACK_PHASES, &b->model);
        double time_s[FM_TRACK_CYCLES];
        const size_t n = fm_track_passings(&b->frames, &b->path, FM_TRACK_PHASES, 6.0,
                                           time_s, FM_TRACK_CYCLES);
        assert_int_equal(n, 15);
        for (size_t k = 0; k < n; k++) {
            /* tops at 2, 6, 10 ...; a phase is a third of a second, and two of them
             * are left to chance at the ends */
            assert_within(time_s[k], 2.0 + 4.0 * (double)k, 0.75);
        }
        assert_true(fm_track_explained(&b->frames, &b->model, FM_BREATH_LOW) > 1.0);
        assert_within(fm_track_explained(&b->frames, &b->model, FM_BREATH_HIGH), 0.0,
                      1e-12);
    }
    free(b);
}

static double wave_of_five(double t)
{
    return -cos(2.0 * PI * t / 5.0);
}

/* How many rounds of about so long the path makes, by the channels of a mask. */
static size_t rounds(bench *b, unsigned mask, double hypothesis_s)
{
    double time_s[FM_TRACK_CYCLES];
    fm_track_frames_make(&b->series, hypothesis_s / FM_TRACK_PHASES, &b->frames);
    fm_track_model_start(&b->frames, mask, &b->model);
    fm_track_find(&b->frames, &b->model, mask, &b->memory, &b->path);
    return fm_track_passings(&b->frames, &b->path, FM_TRACK_PHASES, 6.0, time_s,
                             FM_TRACK_CYCLES);
}

/* Waves of 4 s in one channel and of 5 s in another: the path is that of the mask, to the
 * last phase whatever the other holds. */
static void only_the_channels_of_the_mask_are_followed(void **state)
{
    (void)state;
    const unsigned low = 1U << FM_BREATH_LOW;
    const unsigned high = 1U << FM_BREATH_HIGH;
    bench *b = bench_open();
    uint8_t alone[FM_TRACK_FRAMES];
    lay(b, FM_BREATH_LOW, wave_of_four, 0.1);
    assert_int_equal(rounds(b, low, 4.0), 15); /* in 60 s */
    memcpy(alone, b->path.phase, sizeof alone);
    const double cost = b->path.transition_cost;
    lay(b, FM_BREATH_HIGH, wave_of_five, 0.1);
    assert_int_equal(rounds(b, low, 4.0), 15);
    assert_memory_equal(alone, b->path.phase, sizeof alone);
    assert_within(b->path.transition_cost, cost, 0.0);
    assert_int_equal(rounds(b, high, 5.0), 12);
    for (size_t k = 0; k < FM_TRACK_PHASES;
         k++) { /* a first model: nothing of the others */
        assert_within((double)b->model.mean[FM_BREATH_LOW][k], 0.0, 0.0);
    }
    assert_within(b->model.variance[FM_BREATH_LOW], b->frames.variance[FM_BREATH_LOW],
                  0.0);
    assert_within(b->model.variance[FM_BREATH_HIGH],
                  0.5 * b->frames.variance[FM_BREATH_HIGH], 1e-12);
    /* both: the one that is more sure of itself, or a compromise; but another path */
    (void)rounds(b, low | high, 4.0);
    assert_memory_not_equal(alone, b->path.phase, sizeof alone);
    /* none: nothing is followed, and the cheapest path never stands still or skips */
    (void)rounds(b, 0, 4.0);
    assert_within(b->path.transition_cost, 0.0, 0.0);
    free(b);
}

static double gain_of_pairing(double (*value)(double))
{
    bench *b = bench_open();
    const unsigned mask = 1U << FM_BREATH_LOW;
    lay(b, FM_BREATH_LOW, value, 0.15);
    fm_track_frames_make(&b->series, 2.0 / FM_TRACK_PHASES, &b->frames);
    fm_track_model_start(&b->frames, mask, &b->model);
    fm_track_find(&b->frames, &b->model, mask, &b->memory, &b->path);
    fm_track_learn(&b->frames, &b->path, FM_TRACK_PHASES, &b->model);
    const double one = fm_track_explained(&b->frames, &b->model, FM_BREATH_LOW);
    fm_track_pair(&b->path, b->frames.n);
    for (int i = 0; i < 3; i++) {
        fm_track_learn(&b->frames, &b->path, FM_TRACK_STATES, &b->model);
        fm_track_find(&b->frames, &b->model, mask, &b->memory, &b->path);
    }
    fm_track_learn(&b->frames, &b->path, FM_TRACK_STATES, &b->model);
    const double two = fm_track_explained(&b->frames, &b->model, FM_BREATH_LOW);
    free(b);
    return two - one;
}

/* The hypothesis of two lobes explains more where every other lobe is unlike, and no more than
 * chance where all are alike. */
static void pairing_pays_only_where_lobes_differ(void **state)
{
    (void)state;
    assert_true(gain_of_pairing(unlike_lobes) > 0.3);
    assert_within(gain_of_pairing(like_lobes), 0.0, 0.15);
}

static void pairing_numbers_every_other_round(void **state)
{
    (void)state;
    fm_track_path path = {{0}, 0.0};
    for (size_t i = 0; i < 36; i++) {
        path.phase[i] = (uint8_t)(i % FM_TRACK_PHASES);
    }
    fm_track_pair(&path, 36);
    for (size_t i = 0; i < 36; i++) {
        assert_int_equal(path.phase[i], i % FM_TRACK_STATES);
    }
}

/* A steady path of 12 phases of 0.1 s passes each phase once in 1.2 s. */
static void passings_are_interpolated(void **state)
{
    (void)state;
    bench *b = bench_open();
    double time_s[8];
    b->frames.n = 30;
    b->frames.step_s = 0.1;
    for (size_t i = 0; i < 30; i++) {
        b->path.phase[i] = (uint8_t)(i % FM_TRACK_PHASES);
    }
    const size_t n =
        fm_track_passings(&b->frames, &b->path, FM_TRACK_PHASES, 3.5, time_s, 8);
    assert_int_equal(n, 3);
    for (size_t k = 0; k < n; k++) {
        /* frame i's middle lies at (i + 0.5) * 0.1 s and has phase i */
        assert_within(time_s[k], 0.4 + 1.2 * (double)k, 1e-9);
    }
    assert_int_equal(
        fm_track_passings(&b->frames, &b->path, FM_TRACK_PHASES, 3.5, time_s, 2), 2);
    free(b);
}

/* A path that stands still on a phase passes it once. */
static void standing_still_passes_once(void **state)
{
    (void)state;
    bench *b = bench_open();
    double time_s[8];
    b->frames.n = 24;
    b->frames.step_s = 0.1;
    for (size_t i = 0; i < 24; i++) {
        b->path.phase[i] = (uint8_t)(i < 6 ? i : i < 18 ? 6 : i - 12);
    }
    assert_int_equal(
        fm_track_passings(&b->frames, &b->path, FM_TRACK_PHASES, 6.0, time_s, 8), 1);
    free(b);
}

static void no_frames_are_no_path(void **state)
{
    (void)state;
    bench *b = bench_open();
    b->frames.n = 0;
    b->model.n_states = FM_TRACK_PHASES;
    fm_track_find(&b->frames, &b->model, 1U, &b->memory, &b->path);
    double time_s[2];
    assert_int_equal(
        fm_track_passings(&b->frames, &b->path, FM_TRACK_PHASES, 1.0, time_s, 2), 0);
    assert_within(b->path.transition_cost, 0.0, 0.0);
    free(b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(frames_are_means),
        cmocka_unit_test(a_wave_is_followed),
        cmocka_unit_test(only_the_channels_of_the_mask_are_followed),
        cmocka_unit_test(pairing_pays_only_where_lobes_differ),
        cmocka_unit_test(pairing_numbers_every_other_round),
        cmocka_unit_test(passings_are_interpolated),
        cmocka_unit_test(standing_still_passes_once),
        cmocka_unit_test(no_frames_are_no_path),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
