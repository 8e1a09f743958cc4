/*
 * How the learner listens: which outputs are refused, what a latency is told as, and the
 * feedback test's decision.
 *   Source:    none; names of outputs are written from memory of what systems say.
 *   Input:     the test's own noise, mixed into a hush of white noise at -75 dBFS.
 *   Tolerance: the noise's level 1 dB (a band-pass is no brick wall).
 */
#include "src/sitting/listening.h"

#include "dsp/random.h"
#include "tests/support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    RATE = 16000
};

static void loudspeakers_are_refused_with_the_way_out(void **state)
{
    (void)state;
    const char *const speakers[] = {"Built-in Audio: Speaker", "HDA NVidia: HDMI 0",
                                    "USB Loudspeaker"};
    for (size_t i = 0; i < 3; i++) {
        app_err err = APP_ERR_NONE;
        device d = {0};
        (void)snprintf(d.name, sizeof d.name, "%s", speakers[i]);
        assert_false(listening_output_check(&d, &err));
        assert_int_equal(err.code, APP_USAGE);
        assert_non_null(strstr(err.text, "--listen stethoscope"));
    }
    app_err err = APP_ERR_NONE;
    device d = {.name = "USB Audio: Headphones"};
    assert_true(listening_output_check(&d, &err));
    assert_true(listening_is_wireless("bluez_sink.00_11"));
    assert_false(listening_is_wireless("USB Audio: Headphones"));
}

static void a_latency_is_subtracted_and_told(void **state)
{
    (void)state;
    char text[LISTENING_TEXT_BYTES];
    assert_within(listening_latency_text(0.032, "Headphones", text), 0.032, 0.0);
    assert_string_equal(text,
                        "You hear the heart 32 ms late. That is taken off your taps.");
    assert_within(listening_latency_text(0.2, "Headphones", text), 0.2, 0.0);
    assert_non_null(strstr(text, "taps"));
    assert_non_null(strstr(text, "will lag"));
    assert_non_null(strstr(text, "your count will not"));
    assert_within(listening_latency_text(0.02, "Bluetooth Headphones", text), 0.02,
                  0.0);
    assert_non_null(strstr(text, "taps will lag; your count will not"));
    assert_within(listening_latency_text((double)NAN, "Headphones", text), 0.0, 0.0);
    assert_non_null(strstr(text, "not known"));
}

static fm_placing_measures measure(const float *x, double from_s, double to_s)
{
    fm_placing *const p = fm_placing_create(RATE);
    fm_placing_measures m;
    assert_non_null(p);
    fm_placing_push(p, x + (size_t)(from_s * RATE), (size_t)((to_s - from_s) * RATE));
    assert_int_equal(fm_placing_measure(p, &m), FM_OK);
    fm_placing_destroy(p);
    return m;
}

/* What the input hears: the noise, softened, over its own floor. */
static bool feeds_back(double softer_db)
{
    const int64_t n = listening_test_samples(RATE);
    float *const noise = calloc((size_t)n, sizeof *noise);
    assert_non_null(noise);
    assert_true(listening_test_make(RATE, noise));
    const float gain = (float)pow(10.0, softer_db / 20.0);
    fm_random random = fm_random_init(2, 0);
    for (int64_t i = 0; i < n; i++) {
        noise[i] = gain * noise[i] + 1.8e-4F * (float)fm_random_normal(&random);
    }
    const fm_placing_measures off = measure(noise, 0.0, 1.0);
    const fm_placing_measures on =
        measure(noise, LISTENING_TEST_OFF_S + LISTENING_TEST_SKIP_S, 2.5);
    free(noise);
    return listening_feeds_back(&off, &on);
}

static void noise_that_comes_back_is_feedback(void **state)
{
    (void)state;
    assert_true(feeds_back(0.0));
    assert_true(feeds_back(-25.0));
    assert_false(feeds_back(-60.0));
    assert_false(feeds_back(-200.0));
}

static void the_noise_is_quiet_and_comes_after_a_silence(void **state)
{
    (void)state;
    const int64_t n = listening_test_samples(RATE);
    float *const noise = calloc((size_t)n, sizeof *noise);
    assert_non_null(noise);
    assert_true(listening_test_make(RATE, noise));
    assert_within((double)n / RATE, 2.5, 1.0 / RATE);
    for (size_t i = 0; i < RATE; i++) {
        assert_true(noise[i] >= 0.0F && noise[i] <= 0.0F);
    }
    const fm_placing_measures on = measure(noise, 1.1, 2.5);
    assert_within(on.level_dbfs.p50, -40.0, 1.0);
    assert_true(on.density_db[FM_PLACING_LOW].p98 <
                on.density_db[FM_PLACING_RUB].p50 - 30);
    assert_false(listening_test_make(4000.0, noise));
    free(noise);
}

static void the_first_words_are_said_once(void **state)
{
    (void)state;
    char folder[] = "/tmp/fullminute-listening-XXXXXX";
    char name[128];
    app_err err = APP_ERR_NONE;
    assert_non_null(mkdtemp(folder));
    assert_int_equal(setenv("XDG_CONFIG_HOME", folder, 1), 0);
    settings *s = settings_load(&err);
    assert_non_null(s);
    assert_non_null(strstr(listening_first_words(s), "ask your friend"));
    assert_non_null(strstr(listening_first_words(s), "stays on this computer"));
    assert_true(listening_first_words_said(s, &err));
    settings_free(s);
    s = settings_load(&err);
    assert_non_null(s);
    assert_null(listening_first_words(s));
    settings_free(s);
    (void)snprintf(name, sizeof name, "%s/fullminute/settings.json", folder);
    assert_int_equal(remove(name), 0);
    (void)snprintf(name, sizeof name, "%s/fullminute", folder);
    assert_int_equal(remove(name), 0);
    assert_int_equal(remove(folder), 0);
}

static void both_ways_have_their_words(void **state)
{
    (void)state;
    listening_way way = LISTENING_STETHOSCOPE;
    assert_true(listening_way_of("headphones", &way));
    assert_int_equal(way, LISTENING_HEADPHONES);
    assert_true(listening_way_of("stethoscope", &way));
    assert_int_equal(way, LISTENING_STETHOSCOPE);
    assert_false(listening_way_of("radio", &way));
    assert_non_null(strstr(listening_stethoscope_text(), "must not touch"));
    assert_non_null(strstr(listening_stethoscope_text(), "friction"));
    assert_non_null(strstr(listening_question(), "headphones"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(loudspeakers_are_refused_with_the_way_out),
        cmocka_unit_test(a_latency_is_subtracted_and_told),
        cmocka_unit_test(noise_that_comes_back_is_feedback),
        cmocka_unit_test(the_noise_is_quiet_and_comes_after_a_silence),
        cmocka_unit_test(the_first_words_are_said_once),
        cmocka_unit_test(both_ways_have_their_words),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
