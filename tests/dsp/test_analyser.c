/*
 * What the push analyser promises whatever the heart does: its results do not depend on
 * how the caller cuts the blocks, nor on what lies outside the window and its context;
 * lost audio stays a gap; wrong calls are refused and change nothing.
 *
 * Input: recordings made here by a few lines (two decaying tones a beat in faint noise,
 * fixed seed), so that nothing of dsp/ is tested against itself.
 */
#include "dsp/analyser.h"

#include "tests/support.h"

#include <stdlib.h>
#include <string.h>

#define N_ELEMENTS(a) (sizeof(a) / sizeof((a)[0]))

static const double PI = 3.14159265358979323846;

/* A decaying tone from time at_s on. */
static void add_sound(
    float *x, size_t n, double rate_hz, double at_s, double freq_hz, double peak)
{
    const size_t from = (size_t)(at_s * rate_hz);
    const size_t length = (size_t)(0.12 * rate_hz);
    for (size_t i = 0; i < length && from + i < n; i++) {
        const double t = (double)i / rate_hz;
        const double rise = t < 0.01 ? t / 0.01 : 1.0;
        x[from + i] +=
            (float)(peak * rise * exp(-t / 0.025) * sin(2.0 * PI * freq_hz * t));
    }
}

/* A steady heart; the first S1 at 0.4 s, S2 0.3 s (at most 45 %) after each S1. */
static float *make_heart(double rate_hz, double seconds, double bpm, size_t *n)
{
    *n = (size_t)(rate_hz * seconds);
    float *x = calloc(*n, sizeof(*x));
    assert_non_null(x);
    unsigned seed = 7;
    for (size_t i = 0; i < *n; i++) {
        seed = 1664525u * seed + 1013904223u;
        x[i] = (float)(0.002 * ((double)seed / 2147483648.0 - 1.0));
    }
    const double interval_s = 60.0 / bpm;
    const double systole_s = fmin(0.3, 0.45 * interval_s);
    for (double t = 0.4; t < seconds; t += interval_s) {
        add_sound(x, *n, rate_hz, t, 48.0, 0.5);
        add_sound(x, *n, rate_hz, t + 0.002, 110.0, 0.12);
        add_sound(x, *n, rate_hz, t + systole_s, 62.0, 0.3);
        add_sound(x, *n, rate_hz, t + systole_s, 140.0, 0.1);
    }
    return x;
}

static fm_analyser *new_analyser(double rate_hz)
{
    fm_status status = FM_ERR_ARG;
    fm_analyser *a = fm_analyser_create(rate_hz, &status);
    assert_non_null(a);
    assert_int_equal(status, FM_OK);
    return a;
}

static fm_count *new_count(void)
{
    fm_count *c = calloc(1, sizeof(*c));
    assert_non_null(c);
    return c;
}

/* One window [start, start + length) over all of x, pushed in blocks. */
static fm_count *count_window(double rate_hz,
                              const float *x,
                              size_t n,
                              int64_t start,
                              int64_t length,
                              size_t block)
{
    fm_analyser *a = new_analyser(rate_hz);
    fm_count *out = new_count();
    assert_int_equal(fm_analyser_open(a, start, length), FM_OK);
    for (size_t at = 0; at < n; at += block) {
        const size_t now = block < n - at ? block : n - at;
        const fm_status status = fm_analyser_push(a, x + at, now);
        assert_true(status == FM_OK || status == FM_ERR_NOT_FINITE);
    }
    assert_int_equal(fm_analyser_finish(a), FM_OK);
    assert_true(fm_analyser_take(a, out));
    fm_analyser_destroy(a);
    return out;
}

static void a_steady_minute_is_counted(void **state)
{
    (void)state;
    size_t n;
    float *x = make_heart(4000.0, 66.0, 72.0, &n);
    fm_count *c = count_window(4000.0, x, n, 0, 240000, 4096);
    assert_int_equal(c->heart.count.status, FM_COUNTED);
    assert_int_equal(c->heart.count.reason, FM_REASON_NONE);
    assert_true(fm_is_known(&c->heart.count));
    assert_int_equal(c->heart.count.n, 72);
    assert_within(c->heart.count.rate_per_min, 72.0, 0.0);
    assert_true(c->heart.count.rate_low_per_min <= 72.0 &&
                c->heart.count.rate_high_per_min >= 72.0);
    assert_true(c->heart.count.confidence > 0.9 && c->heart.count.confidence <= 1.0);
    assert_true(c->heart.count.window.full_minute);
    assert_within(c->heart.count.window.start_s, 0.0, 0.0);
    assert_within(c->heart.count.window.end_s, 60.0, 0.0);
    assert_int_equal(c->rhythm.pattern, FM_PATTERN_REGULAR);
    assert_int_equal(c->heart.band, FM_BAND_LOW);
    for (size_t i = 0; i < c->heart.count.n; i++) {
        assert_within(c->heart.count.onsets_s[i], 0.4 + (double)i * 60.0 / 72.0, 0.03);
    }
    free(c);
    free(x);
}

static void every_input_rate_gives_the_same_count(void **state)
{
    (void)state;
    const double rates[] = {1000.0, 2000.0, 4410.0, 8000.0, 44100.0, 96000.0, 192000.0};
    for (size_t i = 0; i < N_ELEMENTS(rates); i++) {
        size_t n;
        float *x = make_heart(rates[i], 31.0, 96.0, &n);
        fm_count *c = count_window(rates[i], x, n, 0, (int64_t)(30.0 * rates[i]), 8192);
        assert_int_equal(c->heart.count.status, FM_COUNTED);
        assert_int_equal(c->heart.count.n, 48);
        assert_within(c->heart.count.rate_per_min, 96.0, 0.2);
        assert_false(c->heart.count.window.full_minute);
        free(c);
        free(x);
    }
}

static void results_do_not_depend_on_the_blocks(void **state)
{
    (void)state;
    size_t n;
    float *x = make_heart(11025.0, 40.0, 83.0, &n);
    const int64_t start = 55125;
    const int64_t length = 330750;
    fm_count *whole = count_window(11025.0, x, n, start, length, n);
    assert_int_equal(whole->heart.count.status, FM_COUNTED);
    const size_t blocks[] = {1, 13, 441, 1024, 4095, 4096, 4097, 100000};
    for (size_t i = 0; i < N_ELEMENTS(blocks); i++) {
        fm_count *c = count_window(11025.0, x, n, start, length, blocks[i]);
        assert_memory_equal(c, whole, sizeof(*c));
        free(c);
    }
    free(whole);
    free(x);
}

/* Everything more than 4 s before the window, and after it, may be anything at all. */
static void only_the_window_and_its_context_count(void **state)
{
    (void)state;
    const double rate_hz = 4000.0;
    size_t n;
    float *x = make_heart(rate_hz, 90.0, 66.0, &n);
    const int64_t start = (int64_t)(20.25 * rate_hz);
    const int64_t length = (int64_t)(40.0 * rate_hz);
    const size_t context = (size_t)(FM_CONTEXT_S * rate_hz);
    fm_count *before = count_window(rate_hz, x, n, start, length, 5000);
    assert_int_equal(before->heart.count.status, FM_COUNTED);
    unsigned seed = 3;
    for (size_t i = 0; i < n; i++) {
        if (i < (size_t)start - context || i >= (size_t)(start + length) + context) {
            seed = 1664525u * seed + 1013904223u;
            x[i] = (float)((double)seed / 2147483648.0 - 1.0);
        }
    }
    fm_count *after = count_window(rate_hz, x, n, start, length, 5000);
    assert_memory_equal(before, after, sizeof(*before));

    /* Within the context it does matter, on either side. */
    const size_t near[] = {(size_t)start - context + 4000,
                           (size_t)(start + length) + context - 8000};
    for (size_t k = 0; k < N_ELEMENTS(near); k++) {
        for (size_t i = near[k]; i < near[k] + 4000; i++) {
            x[i] = (float)(0.9 * sin(0.4 * (double)i));
        }
        fm_count *other = count_window(rate_hz, x, n, start, length, 5000);
        assert_memory_not_equal(after, other, sizeof(*after));
        memcpy(after, other, sizeof(*after));
        free(other);
    }
    free(before);
    free(after);
    free(x);
}

/* A beat that began just before the window is not in it, one that began just before its
 * end is: the context lets both be seen whole. Onsets at 0.4 + 0.8 k. */
static void beats_at_the_edges_belong_where_they_begin(void **state)
{
    (void)state;
    const double rate_hz = 4000.0;
    size_t n;
    float *x = make_heart(rate_hz, 60.0, 75.0, &n);
    const double offsets_s[] = {0.04, 0.76};
    for (size_t i = 0; i < N_ELEMENTS(offsets_s); i++) {
        const double start_s = 0.4 + 10 * 0.8 + offsets_s[i];
        fm_count *c = count_window(rate_hz, x, n, (int64_t)(start_s * rate_hz),
                                   (int64_t)(32.0 * rate_hz), 2000);
        assert_int_equal(c->heart.count.status, FM_COUNTED);
        assert_int_equal(c->heart.count.n, 40); /* 32 s of 0.8 s */
        const double first_s = 0.4 + 11 * 0.8;
        assert_within(c->heart.count.onsets_s[0], first_s, 0.03);
        assert_within(c->heart.count.onsets_s[39], first_s + 39 * 0.8, 0.03);
        free(c);
    }
    free(x);
}

/* Cut out with its context and counted by itself, a window gives the same beats, moved
 * by where it was cut. */
static void a_window_cut_out_gives_the_same_result(void **state)
{
    (void)state;
    const double rates[] = {4000.0, 44100.0};
    for (size_t r = 0; r < N_ELEMENTS(rates); r++) {
        const double rate_hz = rates[r];
        size_t n;
        float *x = make_heart(rate_hz, 75.0, 78.0, &n);
        const int64_t start = (int64_t)(17.0 * rate_hz) + 311;
        const int64_t length = (int64_t)(45.0 * rate_hz);
        const int64_t context = (int64_t)(FM_CONTEXT_S * rate_hz);
        fm_count *inside = count_window(rate_hz, x, n, start, length, 3000);
        fm_count *cut =
            count_window(rate_hz, x + (start - context), (size_t)(length + 2 * context),
                         context, length, 3000);
        const double moved_s = (double)(start - context) / rate_hz;
        assert_int_equal(inside->heart.count.status, FM_COUNTED);
        assert_int_equal(cut->heart.count.status, inside->heart.count.status);
        assert_int_equal(cut->heart.count.n, inside->heart.count.n);
        assert_within(cut->heart.count.rate_per_min, inside->heart.count.rate_per_min,
                      1e-9);
        assert_within(cut->heart.count.confidence, inside->heart.count.confidence, 0.0);
        assert_int_equal(cut->heart.count.n, inside->heart.count.n);
        assert_int_equal(cut->heart.n_s2, inside->heart.n_s2);
        for (size_t i = 0; i < inside->heart.count.n; i++) {
            assert_within(cut->heart.count.onsets_s[i] + moved_s,
                          inside->heart.count.onsets_s[i], 1e-9);
        }
        for (size_t i = 0; i < inside->heart.n_s2; i++) {
            assert_within(cut->heart.s2_s[i] + moved_s, inside->heart.s2_s[i], 1e-9);
        }
        assert_within(cut->rhythm.sdnn_ms, inside->rhythm.sdnn_ms, 1e-6);
        assert_within(cut->heart.count.quality.overall,
                      inside->heart.count.quality.overall, 1e-9);
        free(inside);
        free(cut);
        free(x);
    }
}

/* A row of touching windows: each is what it is alone. */
static void windows_in_a_row_are_independent(void **state)
{
    (void)state;
    const double rate_hz = 4000.0;
    size_t n;
    float *x = make_heart(rate_hz, 125.0, 90.0, &n);
    const int64_t length = (int64_t)(30.0 * rate_hz);
    fm_analyser *a = new_analyser(rate_hz);
    fm_count *c = new_count();
    int64_t opened = 0;
    int64_t taken = 0;
    for (size_t at = 0; at < n; at += 1000) {
        while (opened < 4 && opened - taken < 2 &&
               fm_analyser_open(a, opened * length, length) == FM_OK) {
            opened++;
        }
        assert_int_equal(fm_analyser_push(a, x + at, 1000), FM_OK);
        if (fm_analyser_take(a, c)) {
            fm_count *alone = count_window(rate_hz, x, n, taken * length, length, 777);
            assert_within(c->heart.count.window.start_s, 30.0 * (double)taken, 0.0);
            assert_memory_equal(c, alone, sizeof(*c));
            free(alone);
            taken++;
        }
    }
    assert_int_equal(fm_analyser_finish(a), FM_OK);
    while (fm_analyser_take(a, c)) {
        taken++;
    }
    assert_int_equal(taken, 4);
    assert_int_equal(fm_analyser_position(a), (int64_t)n);
    fm_analyser_destroy(a);
    free(c);
    free(x);
}

/* Lost audio, pushed as a gap or as samples that are no sound: the same gap. */
static void lost_audio_is_a_gap_however_it_is_told(void **state)
{
    (void)state;
    const double rate_hz = 4000.0;
    size_t n;
    float *x = make_heart(rate_hz, 64.0, 72.0, &n);
    const size_t from = (size_t)(21.0 * rate_hz);
    const size_t lost = (size_t)(3.5 * rate_hz);
    fm_analyser *a = new_analyser(rate_hz);
    fm_count *told = new_count();
    assert_int_equal(fm_analyser_open(a, 0, (int64_t)(60.0 * rate_hz)), FM_OK);
    assert_int_equal(fm_analyser_push(a, x, from), FM_OK);
    assert_int_equal(fm_analyser_push_gap(a, (int64_t)lost), FM_OK);
    assert_int_equal(fm_analyser_push(a, x + from + lost, n - from - lost), FM_OK);
    assert_int_equal(fm_analyser_position(a), (int64_t)n);
    assert_int_equal(fm_analyser_finish(a), FM_OK);
    assert_true(fm_analyser_take(a, told));
    fm_analyser_destroy(a);

    for (size_t i = 0; i < lost; i++) {
        static const float NO_SOUND[] = {NAN, INFINITY, -3e38f, 2e12f};
        x[from + i] = NO_SOUND[i % 4];
    }
    fm_count *seen = count_window(rate_hz, x, n, 0, (int64_t)(60.0 * rate_hz), 999);
    assert_memory_equal(told, seen, sizeof(*told));

    assert_int_equal(told->heart.count.quality.n_gaps, 1);
    assert_within(told->heart.count.quality.gaps[0].start_s, 21.0, 1e-9);
    assert_within(told->heart.count.quality.gaps[0].length_s, 3.5, 1e-9);
    assert_int_equal(told->heart.count.quality.gaps[0].reason, FM_REASON_GAP);
    assert_false(told->heart.count.window.full_minute);
    assert_true(fm_is_known(&told->heart.count));
    assert_within(told->heart.count.rate_per_min, 72.0, 0.3);
    for (size_t i = 0; i < told->heart.count.n; i++) {
        const double t = told->heart.count.onsets_s[i];
        assert_true(t < 21.0 || t > 24.4);
    }
    free(told);
    free(seen);
    free(x);
}

static void short_recordings_are_refused_not_guessed(void **state)
{
    (void)state;
    size_t n;
    float *x = make_heart(4000.0, 10.0, 72.0, &n);
    const size_t lengths[] = {0, 1, 100, 3999, 6000};
    for (size_t i = 0; i < N_ELEMENTS(lengths); i++) {
        fm_count *c = count_window(4000.0, x, lengths[i], 0, 240000, 500);
        assert_int_equal(c->heart.count.status, FM_REFUSED);
        assert_int_equal(c->heart.count.reason, FM_REASON_TOO_SHORT);
        assert_false(fm_is_known(&c->heart.count));
        assert_true(isnan(c->heart.count.rate_per_min));
        assert_false(c->heart.count.window.full_minute);
        assert_within(c->heart.count.window.end_s, (double)lengths[i] / 4000.0, 1e-9);
        free(c);
    }
    free(x);
}

/* Silence, a constant, full scale, and samples that are not numbers hold no heart. */
static void signals_without_a_heart_are_refused(void **state)
{
    (void)state;
    const float values[] = {0.0f, 0.25f, 1.0f, -1.0f, 3e38f, NAN, INFINITY};
    const size_t n = 4000 * 62;
    float *x = calloc(n, sizeof(*x));
    assert_non_null(x);
    for (size_t k = 0; k < N_ELEMENTS(values); k++) {
        for (size_t i = 0; i < n; i++) {
            x[i] = values[k];
        }
        fm_count *c = count_window(4000.0, x, n, 0, 240000, 4096);
        assert_int_equal(c->heart.count.status, FM_REFUSED);
        assert_int_not_equal(c->heart.count.reason, FM_REASON_NONE);
        assert_false(fm_is_known(&c->heart.count));
        assert_true(isnan(c->heart.count.rate_per_min));
        assert_true(isnan(c->heart.count.rate_low_per_min) &&
                    isnan(c->heart.count.rate_high_per_min));
        assert_int_equal(c->rhythm.pattern, FM_PATTERN_UNDETERMINED);
        free(c);
    }
    free(x);
}

static void rates_out_of_range_are_refused(void **state)
{
    (void)state;
    const double bad[] = {0.0, -8000.0, 999.0, 192001.0, (double)NAN, (double)INFINITY};
    for (size_t i = 0; i < N_ELEMENTS(bad); i++) {
        fm_status status = FM_OK;
        assert_null(fm_analyser_create(bad[i], &status));
        assert_int_equal(status, FM_ERR_RATE);
        assert_null(fm_analyser_create(bad[i], NULL));
    }
    fm_analyser_destroy(NULL);
}

static void wrong_windows_are_refused_and_change_nothing(void **state)
{
    (void)state;
    size_t n;
    float *x = make_heart(4000.0, 60.0, 72.0, &n);
    fm_analyser *a = new_analyser(4000.0);
    assert_int_equal(fm_analyser_open(a, -1, 4000), FM_ERR_ARG);
    assert_int_equal(fm_analyser_open(a, 0, 0), FM_ERR_ARG);
    assert_int_equal(fm_analyser_open(a, 0, 240001), FM_ERR_LONG);
    assert_int_equal(fm_analyser_open(a, INT64_MAX - 100, 4000), FM_ERR_ARG);
    assert_int_equal(fm_analyser_open(a, INT64_MAX - 4000, 4000), FM_ERR_ARG);
    assert_int_equal(fm_analyser_open(a, 40000, 40000), FM_OK);
    assert_int_equal(fm_analyser_open(a, 79999, 40000), FM_ERR_ARG);
    assert_int_equal(fm_analyser_open(a, 1, 40000), FM_ERR_ARG);
    assert_int_equal(fm_analyser_open(a, 80000, 40000), FM_OK);
    assert_int_equal(fm_analyser_open(a, 120000, 40000), FM_ERR_BUSY);
    assert_int_equal(fm_analyser_push_gap(a, -1), FM_ERR_ARG);
    assert_int_equal(fm_analyser_position(a), 0);

    fm_count *c = new_count();
    memset(c, 0x55, sizeof(*c));
    fm_count *untouched = new_count();
    memcpy(untouched, c, sizeof(*c));
    assert_false(fm_analyser_take(a, c));
    assert_memory_equal(c, untouched, sizeof(*c));

    assert_int_equal(fm_analyser_push(a, x, n), FM_OK);
    assert_true(fm_analyser_take(a, c));
    assert_within(c->heart.count.window.start_s, 10.0, 0.0);
    assert_true(fm_analyser_take(a, c));
    assert_within(c->heart.count.window.start_s, 20.0, 0.0);
    assert_false(fm_analyser_take(a, c));

    /* 4 s into the past is allowed, one sample more is not. */
    assert_int_equal(fm_analyser_open(a, (int64_t)n - 16001, 4000), FM_ERR_LATE);
    assert_int_equal(fm_analyser_open(a, (int64_t)n - 16000, 4000), FM_OK);
    fm_analyser_destroy(a);
    free(untouched);
    free(c);
    free(x);
}

static void a_window_opened_late_sees_its_past(void **state)
{
    (void)state;
    const double rate_hz = 4000.0;
    size_t n;
    float *x = make_heart(rate_hz, 50.0, 75.0, &n);
    const int64_t start = (int64_t)(9.0 * rate_hz);
    const int64_t length = (int64_t)(30.0 * rate_hz);
    for (size_t i = 40000; i < 41000; i++) { /* a gap that lies in the past */
        x[i] = NAN;
    }
    fm_count *expected = count_window(rate_hz, x, n, start, length, 1000);
    assert_int_equal(expected->heart.count.quality.n_gaps, 1);
    fm_analyser *a = new_analyser(rate_hz);
    fm_count *late = new_count();
    const size_t pushed = (size_t)(start + 15999);
    assert_int_equal(fm_analyser_push(a, x, 40000), FM_OK);
    assert_int_equal(fm_analyser_push_gap(a, 1000), FM_OK);
    assert_int_equal(fm_analyser_push(a, x + 41000, pushed - 41000), FM_OK);
    assert_int_equal(fm_analyser_open(a, start, length), FM_OK);
    assert_int_equal(fm_analyser_push(a, x + pushed, n - pushed), FM_OK);
    assert_int_equal(fm_analyser_finish(a), FM_OK);
    assert_true(fm_analyser_take(a, late));
    assert_memory_equal(late, expected, sizeof(*late));
    fm_analyser_destroy(a);
    free(late);
    free(expected);
    free(x);
}

static void reset_forgets_everything(void **state)
{
    (void)state;
    size_t n;
    float *x = make_heart(8000.0, 33.0, 64.0, &n);
    fm_count *expected = count_window(8000.0, x, n, 0, 240000, 4096);
    fm_analyser *a = new_analyser(8000.0);
    fm_count *c = new_count();
    assert_int_equal(fm_analyser_open(a, 1000, 200000), FM_OK);
    assert_int_equal(fm_analyser_push(a, x + 5000, n - 5000), FM_OK);
    assert_int_equal(fm_analyser_reset(a, 0), FM_OK);
    assert_int_equal(fm_analyser_position(a), 0);
    assert_false(fm_analyser_take(a, c));
    assert_int_equal(fm_analyser_open(a, 0, 240000), FM_OK);
    assert_int_equal(fm_analyser_push(a, x, n), FM_OK);
    assert_int_equal(fm_analyser_finish(a), FM_OK);
    assert_true(fm_analyser_take(a, c));
    assert_memory_equal(c, expected, sizeof(*c));
    fm_analyser_destroy(a);
    free(c);
    free(expected);
    free(x);
}

/* Read from a later sample on, which reset is told: the recording's own clock, and the same
 * beats as when all of it is pushed. */
static void what_is_read_from_later_on_keeps_the_recordings_clock(void **state)
{
    (void)state;
    const double rate_hz = 4000.0;
    const int64_t origin = 12 * 4000;
    const int64_t start = origin + 5 * 4000;
    const int64_t length = 30 * 4000;
    size_t n;
    float *x = make_heart(rate_hz, 55.0, 78.0, &n);
    fm_count *whole = count_window(rate_hz, x, n, start, length, 3000);
    fm_analyser *a = new_analyser(rate_hz);
    fm_count *later = new_count();
    assert_int_equal(fm_analyser_reset(a, -1), FM_ERR_ARG);
    assert_int_equal(fm_analyser_reset(a, origin), FM_OK);
    assert_int_equal(fm_analyser_position(a), origin);
    assert_int_equal(fm_analyser_open(a, origin - 1, length), FM_ERR_ARG);
    assert_int_equal(fm_analyser_open(a, start, length), FM_OK);
    assert_int_equal(fm_analyser_push(a, x + origin, n - (size_t)origin), FM_OK);
    assert_true(fm_analyser_take(a, later));
    assert_memory_equal(later, whole, sizeof(*later));

    /* Nothing lies before the origin: the context begins there, as at sample 0. */
    fm_count *cut =
        count_window(rate_hz, x + origin, n - (size_t)origin, 4000, length, 3000);
    assert_int_equal(fm_analyser_reset(a, origin), FM_OK);
    assert_int_equal(fm_analyser_open(a, origin + 4000, length), FM_OK);
    assert_int_equal(fm_analyser_push(a, x + origin, n - (size_t)origin), FM_OK);
    assert_true(fm_analyser_take(a, later));
    assert_int_equal(later->heart.count.n, cut->heart.count.n);
    for (size_t i = 0; i < cut->heart.count.n; i++) {
        assert_within(later->heart.count.onsets_s[i],
                      cut->heart.count.onsets_s[i] + 12.0, 1e-9);
    }
    fm_analyser_destroy(a);
    free(cut);
    free(later);
    free(whole);
    free(x);
}

static void samples_that_are_none_and_what_comes_too_late_are_told(void **state)
{
    (void)state;
    static const float NO_SOUND[] = {NAN, INFINITY, -INFINITY, 2e12f};
    size_t n;
    float *x = make_heart(4000.0, 8.0, 72.0, &n);
    fm_analyser *a = new_analyser(4000.0);
    for (size_t i = 0; i < N_ELEMENTS(NO_SOUND); i++) {
        const float kept = x[5000];
        x[5000] = NO_SOUND[i];
        assert_int_equal(fm_analyser_push(a, x, 5000), FM_OK);
        assert_int_equal(fm_analyser_push(a, x, n), FM_ERR_NOT_FINITE);
        assert_int_equal(fm_analyser_position(a), (int64_t)((i + 1) * (n + 5000)));
        x[5000] = kept;
    }
    const int64_t pushed = fm_analyser_position(a);
    assert_int_equal(fm_analyser_push(a, x, 0), FM_OK);
    assert_int_equal(fm_analyser_finish(a), FM_OK);
    assert_int_equal(fm_analyser_push(a, x, n), FM_ERR_LATE);
    assert_int_equal(fm_analyser_push_gap(a, 100), FM_ERR_LATE);
    assert_int_equal(fm_analyser_open(a, pushed, 4000), FM_ERR_LATE);
    assert_int_equal(fm_analyser_position(a), pushed);
    assert_int_equal(fm_analyser_finish(a), FM_OK);
    assert_int_equal(fm_analyser_reset(a, 0), FM_OK);
    assert_int_equal(fm_analyser_push(a, x, n), FM_OK);
    fm_analyser_destroy(a);
    free(x);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_steady_minute_is_counted),
        cmocka_unit_test(every_input_rate_gives_the_same_count),
        cmocka_unit_test(results_do_not_depend_on_the_blocks),
        cmocka_unit_test(only_the_window_and_its_context_count),
        cmocka_unit_test(beats_at_the_edges_belong_where_they_begin),
        cmocka_unit_test(a_window_cut_out_gives_the_same_result),
        cmocka_unit_test(windows_in_a_row_are_independent),
        cmocka_unit_test(lost_audio_is_a_gap_however_it_is_told),
        cmocka_unit_test(short_recordings_are_refused_not_guessed),
        cmocka_unit_test(signals_without_a_heart_are_refused),
        cmocka_unit_test(rates_out_of_range_are_refused),
        cmocka_unit_test(wrong_windows_are_refused_and_change_nothing),
        cmocka_unit_test(a_window_opened_late_sees_its_past),
        cmocka_unit_test(reset_forgets_everything),
        cmocka_unit_test(what_is_read_from_later_on_keeps_the_recordings_clock),
        cmocka_unit_test(samples_that_are_none_and_what_comes_too_late_are_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
