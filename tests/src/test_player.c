/*
 * Playing: the callback driven by hand, what is heard when, and the lead-in.
 *   Source:    none outside; a Riemann sum and a direct Fourier sum are done here. That
 *              the tone lies above the heart band (25-150 Hz) is the design's own bar.
 *   Input:     ramps and the lead-in itself.
 *   Tolerance: samples exactly; levels as stated beside each.
 * No sound card is needed. tests/live plays through a real sound server.
 */
#include "src/playback/player_callback.h"
#include "src/port/devices.h"
#include "src/port/player.h"

#include "tests/support.h"

#include <stdlib.h>
#include <string.h>

enum {
    BLOCK = 100,
    CHANNELS = 2
};

static const double RATE_HZ = 1000.0;

static float ramp[1000];

static const player_order SILENCE = {NULL, 0, 0, 0};

static void fill_ramp(void)
{
    for (int i = 0; i < 1000; i++) {
        ramp[i] = (float)(i + 1) / 1024.0F;
    }
}

/* One call of the driver at now_s, heard ahead_s later. */
static void call(player_callback_state *s,
                 float *out,
                 unsigned long frames,
                 double now_s,
                 double ahead_s,
                 PaStreamCallbackFlags flags)
{
    const PaStreamCallbackTimeInfo time = {0.0, now_s, now_s + ahead_s};
    assert_int_equal(player_callback(NULL, out, frames, &time, flags, s), paContinue);
}

static void silence_first_then_the_samples_in_every_channel_then_silence(void **state)
{
    (void)state;
    fill_ramp();
    player_callback_state s;
    float out[CHANNELS * BLOCK];
    player_callback_init(&s, &SILENCE, CHANNELS);
    memset(out, 1, sizeof out);
    call(&s, out, BLOCK, 1.0, 0.05, 0);
    for (int i = 0; i < CHANNELS * BLOCK; i++) {
        assert_true(out[i] >= 0.0F && out[i] <= 0.0F);
    }
    const player_order order = {ramp, 250, 30, 1};
    atomic_store(&s.order, &order);
    for (int k = 0; k < 3; k++) {
        call(&s, out, BLOCK, 1.1 + 0.1 * k, 0.05, 0);
        for (int i = 0; i < BLOCK; i++) {
            const int at = 30 + BLOCK * k + i;
            const float wanted = at < 250 ? ramp[at] : 0.0F;
            assert_memory_equal(&out[CHANNELS * i], &wanted, sizeof wanted);
            assert_memory_equal(&out[CHANNELS * i + 1], &wanted, sizeof wanted);
        }
    }
    assert_int_equal(atomic_load(&s.taken), 1);
}

/* A block handed out at 2.0 s and heard from 2.3 s on, 100 samples at 1 kHz. */
static void what_is_heard_is_what_was_handed_out_less_the_latency(void **state)
{
    (void)state;
    fill_ramp();
    player_callback_state s;
    float out[CHANNELS * BLOCK];
    player_callback_init(&s, &SILENCE, CHANNELS);
    const player_order order = {ramp, 250, 40, 1};
    atomic_store(&s.order, &order);
    player_mark m = player_callback_mark(&s);
    assert_int_equal(player_mark_heard(&m, &order, 9.0, RATE_HZ, 0.3), -1);
    call(&s, out, BLOCK, 2.0, 0.3, 0);
    m = player_callback_mark(&s);
    assert_int_equal(player_mark_heard(&m, &order, 2.0, RATE_HZ, 9.0), -1);
    assert_int_equal(player_mark_heard(&m, &order, 2.2995, RATE_HZ, 9.0), -1);
    assert_int_equal(player_mark_heard(&m, &order, 2.3205, RATE_HZ, 9.0), 60);
    /* never more than was handed out, though the clock goes on */
    assert_int_equal(player_mark_heard(&m, &order, 5.0, RATE_HZ, 9.0), 140);
    call(&s, out, BLOCK, 2.1, 0.3, 0);
    call(&s, out, BLOCK, 2.2, 0.3, 0);
    m = player_callback_mark(&s);
    /* the block of samples 240.. is heard from 2.5 s; ten of them are there */
    assert_int_equal(player_mark_heard(&m, &order, 2.5055, RATE_HZ, 9.0), 245);
    assert_int_equal(player_mark_heard(&m, &order, 2.4505, RATE_HZ, 9.0), 190);
    assert_int_equal(player_mark_heard(&m, &order, 2.6, RATE_HZ, 9.0), 250);
    /* a driver that says nothing, or nonsense: its latency counts */
    call(&s, out, BLOCK, 3.0, -7.0, 0);
    m = player_callback_mark(&s);
    assert_int_equal(player_mark_heard(&m, &order, 3.0005, RATE_HZ, 0.15), 190);
}

static void a_new_order_begins_where_it_says_and_the_old_is_let_go(void **state)
{
    (void)state;
    fill_ramp();
    player_callback_state s;
    float out[CHANNELS * BLOCK];
    player_callback_init(&s, &SILENCE, CHANNELS);
    const player_order first = {ramp, 1000, 0, 1};
    const player_order second = {ramp, 1000, 700, 2};
    atomic_store(&s.order, &first);
    call(&s, out, BLOCK, 1.0, 0.1, 0);
    atomic_store(&s.order, &second);
    player_mark m = player_callback_mark(&s);
    assert_int_equal(player_mark_heard(&m, &second, 1.5, RATE_HZ, 0.1), -1);
    call(&s, out, BLOCK, 1.1, 0.1, 0);
    assert_memory_equal(&out[0], &ramp[700], sizeof ramp[0]);
    assert_int_equal(atomic_load(&s.taken), 2);
    m = player_callback_mark(&s);
    assert_int_equal(player_mark_heard(&m, &second, 1.2105, RATE_HZ, 0.1), 710);
}

static void underflows_are_counted_and_an_end_is_noticed(void **state)
{
    (void)state;
    player_callback_state s;
    float out[CHANNELS * BLOCK];
    player_callback_init(&s, &SILENCE, CHANNELS);
    call(&s, out, BLOCK, 1.0, 0.1, paOutputUnderflow);
    call(&s, out, BLOCK, 1.1, 0.1, 0);
    call(&s, out, BLOCK, 1.2, 0.1, paOutputUnderflow);
    assert_int_equal(atomic_load(&s.gaps), 2);
    assert_false(atomic_load(&s.finished));
    player_callback_finished(&s);
    assert_true(atomic_load(&s.finished));
}

/* Energy between two frequencies, by the Fourier sum itself every half hertz. */
static double energy(const float *x, int64_t n, double rate_hz, double low, double high)
{
    double sum = 0.0;
    for (double f = low; f <= high; f += 0.5) {
        double re = 0.0;
        double im = 0.0;
        const double w = 2.0 * 3.14159265358979323846 * f / rate_hz;
        for (int64_t i = 0; i < n; i++) {
            re += (double)x[i] * cos(w * (double)i);
            im += (double)x[i] * sin(w * (double)i);
        }
        sum += re * re + im * im;
    }
    return sum;
}

static void the_lead_in_is_three_ticks_of_1_khz_outside_the_heart_band(void **state)
{
    (void)state;
    const double rates_hz[] = {8000.0, 44100.0};
    for (size_t k = 0; k < 2; k++) {
        const double rate_hz = rates_hz[k];
        const int64_t n = player_lead_in_samples(rate_hz);
        float *const x = calloc((size_t)n, sizeof *x);
        assert_non_null(x);
        player_lead_in(rate_hz, x);
        /* the last tick ends half a second before the minute opens, silent from there */
        assert_within((double)n / rate_hz, 2.525, 1.0 / rate_hz);
        for (int64_t i = n - (int64_t)floor(0.5 * rate_hz); i < n; i++) {
            assert_true(fabsf(x[i]) < 1e-6F);
        }
        /* three times sound of 25 ms, a second apart, nothing between */
        for (int tick = 0; tick < 3; tick++) {
            float peak = 0.0F;
            for (int64_t i = 0; i < n; i++) {
                const double t_s = (double)i / rate_hz - tick;
                if (t_s >= 0.0 && t_s < 0.025) {
                    peak = fmaxf(peak, fabsf(x[i]));
                } else if (t_s >= 0.026 && t_s < 0.999) {
                    assert_true(fabsf(x[i]) < 1e-6F);
                }
            }
            assert_within((double)peak, 0.25, 0.02);
        }
        free(x);
    }
    /* one tick's spectrum: its middle at 1 kHz, 60 dB less in the heart band */
    const double rate_hz = 8000.0;
    const int64_t n = player_lead_in_samples(rate_hz);
    float *const x = calloc((size_t)n, sizeof *x);
    assert_non_null(x);
    player_lead_in(rate_hz, x);
    const double all = energy(x, 400, rate_hz, 0.0, 4000.0);
    const double heart = energy(x, 400, rate_hz, 25.0, 150.0);
    const double tone = energy(x, 400, rate_hz, 920.0, 1080.0);
    free(x);
    assert_true(tone > 0.99 * all);
    assert_true(10.0 * log10(heart / all) < -60.0);
}

static void without_an_output_the_reason_is_said(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    /* No sound server can be reached and a machine of tests has no card; where there is
       one, this test has nothing to show. */
    assert_int_equal(setenv("PULSE_SERVER", "unix:/nowhere", 1), 0);
    devices d;
    assert_true(devices_open(&d, false, &err));
    player *const p = player_open(-1, 48000.0, &err);
    const bool there = p != NULL;
    assert_true(player_close(p));
    devices_close(&d);
    if (there) {
        skip();
    }
    assert_int_equal(err.code, APP_FAILED);
    assert_true(strlen(err.text) > 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(silence_first_then_the_samples_in_every_channel_then_silence),
        cmocka_unit_test(what_is_heard_is_what_was_handed_out_less_the_latency),
        cmocka_unit_test(a_new_order_begins_where_it_says_and_the_old_is_let_go),
        cmocka_unit_test(underflows_are_counted_and_an_end_is_noticed),
        cmocka_unit_test(the_lead_in_is_three_ticks_of_1_khz_outside_the_heart_band),
        cmocka_unit_test(without_an_output_the_reason_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
