/* The cheap look at many channels puts the beating one first. */
#include "tests/support.h"

#include "src/usecase/channel_choice.h"

#include <stdlib.h>

enum {
    RATE_HZ = 2000,
    SECONDS = 20,
    CHANNELS = 16
};

static uint32_t seed;

static double noise(void)
{
    seed = seed * 1664525U + 1013904223U;
    return (double)(seed >> 8U) / 8388608.0 - 1.0;
}

/* A 50 Hz thud of 40 ms, 75 a minute. */
static double thud(int64_t i)
{
    const double t = fmod((double)i / RATE_HZ, 0.8);
    return t < 0.04 ? 0.5 * sin(2.0 * 3.14159265358979 * 50.0 * t) : 0.0;
}

static void fill_and_push(channel_choice *c, int beating)
{
    float frame[CHANNELS];
    seed = 7;
    for (int64_t i = 0; i < (int64_t)RATE_HZ * SECONDS; i++) {
        for (int k = 0; k < CHANNELS; k++) {
            const double x = k == 3 ? 0.0 : 0.02 * noise();
            frame[k] = (float)(k == beating - 1 ? x + thud(i) : x);
        }
        frame[0] = (float)NAN;
        channel_choice_push(c, frame, 1);
    }
}

static void the_beating_channel_comes_first(void **state)
{
    (void)state;
    channel_choice *const c = channel_choice_create(CHANNELS, RATE_HZ);
    assert_non_null(c);
    fill_and_push(c, 12);
    int order[3] = {0};
    assert_int_equal(channel_choice_rank(c, order, 3), 3);
    assert_int_equal(order[0], 12);
    assert_true(channel_choice_score(c, 12) > 0.5);
    channel_choice_destroy(c);
}

static void silence_and_no_numbers_score_nothing(void **state)
{
    (void)state;
    channel_choice *const c = channel_choice_create(CHANNELS, RATE_HZ);
    assert_non_null(c);
    fill_and_push(c, 12);
    assert_within(channel_choice_score(c, 1), 0.0, 0.0);
    assert_within(channel_choice_score(c, 4), 0.0, 0.0);
    channel_choice_destroy(c);
}

static void equal_channels_keep_their_order(void **state)
{
    (void)state;
    channel_choice *const c = channel_choice_create(5, RATE_HZ);
    assert_non_null(c);
    const float frame[5] = {0};
    for (int i = 0; i < 10 * RATE_HZ; i++) {
        channel_choice_push(c, frame, 1);
    }
    int order[8] = {0};
    assert_int_equal(channel_choice_rank(c, order, 8), 5);
    for (int i = 0; i < 5; i++) {
        assert_int_equal(order[i], i + 1);
    }
    assert_int_equal(channel_choice_rank(c, order, 2), 2);
    channel_choice_destroy(c);
}

static void too_little_sound_scores_nothing(void **state)
{
    (void)state;
    channel_choice *const c = channel_choice_create(2, RATE_HZ);
    assert_non_null(c);
    int order[2] = {0};
    assert_within(channel_choice_score(c, 1), 0.0, 0.0);
    assert_int_equal(channel_choice_rank(c, order, 2), 2);
    assert_int_equal(order[0], 1);
    channel_choice_destroy(c);
    channel_choice_destroy(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_beating_channel_comes_first),
        cmocka_unit_test(silence_and_no_numbers_score_nothing),
        cmocka_unit_test(equal_channels_keep_their_order),
        cmocka_unit_test(too_little_sound_scores_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
