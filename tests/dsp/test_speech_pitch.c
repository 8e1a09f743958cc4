/*
 * Is there a pitch?
 *   Input:     10 s at the working rate: pulses at 140 a second through a ringing of 500 Hz (a
 *              vowel), white noise in breaths, decaying 60 Hz bursts (a heart).
 *   Tolerance: limits are far to one side of what is told apart.
 */
#include "dsp/heart/speech_pitch.h"

#include "dsp/heart/features.h"
#include "dsp/signal/random.h"

#include "tests/support.h"

#include <math.h>
#include <string.h>

enum {
    N = 20000
};

static const double PI = 3.14159265358979323846;

static float x[N];

/* Syllables of 0.3 s, each a little higher than the last. */
static void speak(float loud)
{
    for (size_t i = 0; i < N; i++) {
        const double t = (double)i / FM_WORK_RATE_HZ;
        if (fmod(t, 0.4) < 0.3) {
            const double pitch_hz = 120.0 + 5.0 * fmod(floor(t / 0.4), 8.0);
            const double since_s = fmod(t, 1.0 / pitch_hz);
            x[i] +=
                loud * (float)(sin(2.0 * PI * 500.0 * since_s) * exp(-since_s / 0.004));
        }
    }
}

static void breathe(float loud)
{
    fm_random r = fm_random_init(3, 3);
    for (size_t i = 0; i < N; i++) {
        const double phase = fmod((double)i / FM_WORK_RATE_HZ, 4.0);
        x[i] += loud * (float)(fm_random_normal(&r) *
                               (phase < 2.0 ? sin(PI * phase / 2.0) : 0.05));
    }
}

static void beat(float loud)
{
    for (size_t i = 0; i < N; i++) {
        const double since_s = fmod((double)i / FM_WORK_RATE_HZ, 0.8);
        x[i] += loud * (float)(sin(2.0 * PI * 60.0 * since_s) * exp(-since_s / 0.03));
    }
}

static void speech_has_a_pitch(void **state)
{
    (void)state;
    memset(x, 0, sizeof(x));
    speak(0.1f);
    assert_true(fm_speech_pitch_share(x, N) > 0.8);
    beat(0.3f);
    breathe(0.002f);
    assert_true(fm_speech_pitch_share(x, N) > 0.6);
}

static void breath_and_heart_have_none(void **state)
{
    (void)state;
    memset(x, 0, sizeof(x));
    breathe(0.1f);
    assert_true(fm_speech_pitch_share(x, N) < 0.05);
    beat(0.3f);
    assert_true(fm_speech_pitch_share(x, N) < 0.05);
}

static void silence_and_little_sound_have_none(void **state)
{
    (void)state;
    memset(x, 0, sizeof(x));
    assert_within(fm_speech_pitch_share(x, N), 0.0, 0.0);
    speak(0.1f);
    assert_within(fm_speech_pitch_share(x, 1000), 0.0, 0.0);
    assert_within(fm_speech_pitch_share(x, 0), 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(speech_has_a_pitch),
        cmocka_unit_test(breath_and_heart_have_none),
        cmocka_unit_test(silence_and_little_sound_have_none),
    };
    return cmocka_run_group_tests_name("dsp.speech_pitch", tests, NULL, NULL);
}
