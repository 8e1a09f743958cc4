/*
 * What a gathered segment says of its samples: closed forms and exact places.
 *   Input:     sines, offsets and planted faults made here.
 *   Tolerance: times exact to a sample (through resampling 1 ms); levels 1e-6 (sums in double of single samples).
 */
#include "dsp/segment.h"

#include "tests/support.h"

#include <stdlib.h>
#include <string.h>

#define N_ELEMENTS(a) (sizeof(a) / sizeof((a)[0]))

static const double PI = 3.14159265358979323846;

enum {
    RATE = 8000,
    N = 20 * RATE,
    WINDOW_FROM = 4 * RATE,
    WINDOW_TO = 16 * RATE
};

static float x[N];

static void make_sine(double freq_hz, double peak)
{
    for (size_t i = 0; i < N; i++) {
        x[i] = (float)(peak * sin(2.0 * PI * freq_hz * (double)i / RATE));
    }
}

/* All of x, the window from 4 s to 16 s, the segment starting at sample `from`. */
static fm_segment gather(fm_collector *c, size_t from, size_t block)
{
    fm_segment s;
    fm_collector_begin(c, (int64_t)from, WINDOW_FROM, WINDOW_TO);
    for (size_t at = from; at < N; at += block) {
        fm_collector_push(c, x + at, block < N - at ? block : N - at);
    }
    fm_collector_finish(c, N, &s);
    return s;
}

static void samples_and_times_are_kept(void **state)
{
    (void)state;
    fm_collector *c = fm_collector_create(RATE);
    assert_non_null(c);
    make_sine(70.0, 0.5);
    const fm_segment s = gather(c, 0, 1000);
    assert_within(s.start_s, 0.0, 0.0);
    assert_within(s.window_start_s, 4.0, 0.0);
    assert_within(s.window_end_s, 16.0, 0.0);
    assert_int_equal(s.n, 20 * (int)FM_WORK_RATE_HZ);
    assert_int_equal(s.n_gaps, 0);
    for (size_t i = 400; i + 400 < s.n; i++) {
        assert_within((double)s.x[i], 0.5 * sin(2.0 * PI * 70.0 * (double)i / 2000.0),
                      2e-5);
    }
    fm_collector_destroy(c);
}

/* Lowest and highest rates and odd ones between: a click stays at its time to a
 * millisecond, and the segment has as many samples as its seconds hold. */
static void every_rate_keeps_the_times(void **state)
{
    (void)state;
    const double rates_hz[] = {1000.0,  1999.0,  4000.0,  8000.0,  11025.0,
                               22050.0, 44100.0, 48000.0, 96000.0, 192000.0};
    for (size_t k = 0; k < N_ELEMENTS(rates_hz); k++) {
        const double rate_hz = rates_hz[k];
        const size_t n = (size_t)(5.0 * rate_hz);
        float *y = calloc(n, sizeof(*y));
        fm_collector *c = fm_collector_create(rate_hz);
        assert_true(y && c);
        const double clicks_s[] = {0.5, 1.7003, 4.6};
        for (size_t i = 0; i < N_ELEMENTS(clicks_s); i++) {
            /* a smooth click, 4 ms wide, that every rate can hold */
            for (size_t j = 0; j < n; j++) {
                const double d = ((double)j / rate_hz - clicks_s[i]) / 0.002;
                y[j] += (float)exp(-0.5 * d * d);
            }
        }
        fm_segment s;
        fm_collector_begin(c, 0, 0, (int64_t)n);
        fm_collector_push(c, y, n);
        fm_collector_finish(c, (int64_t)n, &s);
        assert_int_equal(s.n, 5 * (int)FM_WORK_RATE_HZ);
        for (size_t i = 0; i < N_ELEMENTS(clicks_s); i++) {
            const size_t first = (size_t)((clicks_s[i] - 0.2) * FM_WORK_RATE_HZ);
            size_t top = first;
            for (size_t j = first; j < first + 800 && j < s.n; j++) {
                top = s.x[j] > s.x[top] ? j : top;
            }
            assert_within((double)top / FM_WORK_RATE_HZ, clicks_s[i], 0.001);
        }
        fm_collector_destroy(c);
        free(y);
    }
}

/* One sine and nothing else, wherever it lies; not two, not noise, not silence. */
static void a_single_tone_is_told(void **state)
{
    (void)state;
    fm_collector *c = fm_collector_create(RATE);
    assert_non_null(c);
    const double tones_hz[] = {60.0, 440.0, 1000.0, 3500.0};
    for (size_t k = 0; k < N_ELEMENTS(tones_hz); k++) {
        make_sine(tones_hz[k], 0.5);
        assert_true(gather(c, 0, 3000).single_tone);
    }
    make_sine(440.0, 0.5);
    for (size_t i = 0; i < N; i++) {
        x[i] += (float)(0.4 * sin(2.0 * PI * 1900.0 * (double)i / RATE));
    }
    assert_false(gather(c, 0, 3000).single_tone);
    unsigned seed = 9;
    for (size_t i = 0; i < N; i++) {
        seed = 1664525u * seed + 1013904223u;
        x[i] = (float)((double)seed / 2147483648.0 - 1.0);
    }
    assert_false(gather(c, 0, 3000).single_tone);
    memset(x, 0, sizeof(x));
    assert_false(gather(c, 0, 3000).single_tone);
    fm_collector_destroy(c);
}

static void a_later_start_moves_the_times(void **state)
{
    (void)state;
    fm_collector *c = fm_collector_create(RATE);
    assert_non_null(c);
    make_sine(70.0, 0.5);
    const fm_segment s = gather(c, 3 * RATE, 999);
    assert_within(s.start_s, 3.0, 0.0);
    assert_within(s.window_start_s, 4.0, 0.0);
    assert_int_equal(s.n, 17 * (int)FM_WORK_RATE_HZ);
    fm_collector_destroy(c);
}

static void the_level_is_that_of_the_window_alone(void **state)
{
    (void)state;
    fm_collector *c = fm_collector_create(RATE);
    assert_non_null(c);
    make_sine(100.0, 0.5); /* whole periods in the window: mean square 1/8 */
    for (size_t i = 0; i < WINDOW_FROM; i++) {
        x[i] = 0.9f;
    }
    for (size_t i = WINDOW_TO; i < N; i++) {
        x[i] = -0.9f;
    }
    const fm_segment s = gather(c, 0, 512);
    assert_within(s.mean_square, 0.125, 1e-6);
    fm_collector_destroy(c);
}

/* Three equal samples or more at full scale are clipping; two are not. */
static void clipping_is_counted_by_runs(void **state)
{
    (void)state;
    fm_collector *c = fm_collector_create(RATE);
    assert_non_null(c);
    make_sine(100.0, 0.5);
    for (size_t i = 0; i < 10; i++) {
        x[5 * RATE + 3000 + i] = 1.0f;  /* 10 samples of second 5 */
        x[9 * RATE + 1000 + i] = -1.0f; /* 10 of second 9 */
    }
    x[7 * RATE] = 1.0f; /* two do not make a run */
    x[7 * RATE + 1] = 1.0f;
    for (size_t i = 0; i < 50; i++) {
        x[RATE + i] = 1.0f; /* outside the window: in its second, not in the share */
    }
    const fm_segment s = gather(c, 0, 700);
    assert_within(s.clipped_fraction, 20.0 / (WINDOW_TO - WINDOW_FROM), 1e-12);
    assert_within((double)s.clipped_in_second[5], 10.0 / RATE, 1e-7);
    assert_within((double)s.clipped_in_second[9], 10.0 / RATE, 1e-7);
    assert_within((double)s.clipped_in_second[7], 0.0, 0.0);
    assert_within((double)s.clipped_in_second[1], 50.0 / RATE, 1e-7);
    fm_collector_destroy(c);
}

static void gaps_are_found_and_joined(void **state)
{
    (void)state;
    fm_collector *c = fm_collector_create(RATE);
    assert_non_null(c);
    make_sine(100.0, 0.5);
    fm_collector_begin(c, 0, WINDOW_FROM, WINDOW_TO);
    x[2 * RATE] = NAN;
    x[2 * RATE + 1] = INFINITY;
    x[2 * RATE + 2] = -INFINITY;
    fm_collector_push(c, x, 5 * RATE);
    fm_collector_push(c, NULL, RATE / 2); /* 5.0 to 5.5 s, told in two parts */
    fm_collector_push(c, NULL, RATE / 2);
    fm_collector_push(c, x + 6 * RATE, N - 6 * RATE);
    fm_segment s;
    fm_collector_finish(c, N, &s);
    assert_int_equal(s.n_gaps, 2);
    assert_within(s.gaps[0].start_s, 2.0, 1e-12);
    assert_within(s.gaps[0].length_s, 3.0 / RATE, 1e-12);
    assert_within(s.gaps[1].start_s, 5.0, 1e-12);
    assert_within(s.gaps[1].length_s, 1.0, 1e-12);
    assert_int_equal(s.gaps[1].reason, FM_REASON_GAP);
    for (size_t i = 0; i < s.n; i++) {
        assert_true(isfinite(s.x[i]));
    }
    fm_collector_destroy(c);
}

/* More gaps than there is room for: none of the lost samples may be left outside. */
static void many_gaps_never_lose_a_sample(void **state)
{
    (void)state;
    fm_collector *c = fm_collector_create(RATE);
    assert_non_null(c);
    make_sine(100.0, 0.5);
    size_t gaps = 0;
    for (size_t i = 100; i < N; i += 1000) {
        x[i] = NAN;
        gaps++;
    }
    assert_true(gaps > FM_SPANS_MAX);
    const fm_segment s = gather(c, 0, 4096);
    assert_int_equal(s.n_gaps, FM_SPANS_MAX);
    for (size_t i = 100; i < N; i += 1000) {
        const double t = ((double)i + 0.5) / RATE;
        bool inside = false;
        for (size_t g = 0; g < s.n_gaps; g++) {
            inside = inside || (t > s.gaps[g].start_s &&
                                t < s.gaps[g].start_s + s.gaps[g].length_s);
        }
        assert_true(inside);
    }
    fm_collector_destroy(c);
}

/* A little noise over all of x, so that no two neighbours are equal. */
static void make_noisy(void)
{
    make_sine(70.0, 0.5);
    for (size_t i = 0; i < N; i++) {
        x[i] += (i % 2 == 0 ? 1e-4f : -1e-4f);
    }
}

static void hold(double from_s, double length_s, float value)
{
    const size_t from = (size_t)(from_s * RATE);
    for (size_t i = 0; i < (size_t)(length_s * RATE); i++) {
        x[from + i] = value;
    }
}

/* What a recorder writes where it has nothing to write: at the ends too, any value. */
static void long_runs_of_equal_samples_are_gaps(void **state)
{
    (void)state;
    fm_collector *c = fm_collector_create(RATE);
    assert_non_null(c);
    make_noisy();
    hold(0.0, 1.0, 0.0f);
    hold(7.0, 0.3, 0.25f);
    hold(10.0, 0.15, 0.0f); /* too short */
    hold(19.5, 0.5, 0.0f);
    const size_t blocks[] = {N, 997, 64};
    for (size_t b = 0; b < 3; b++) {
        const fm_segment s = gather(c, 0, blocks[b]);
        const double from_s[] = {0.0, 7.0, 19.5};
        const double length_s[] = {1.0, 0.3, 0.5};
        assert_int_equal(s.n_gaps, 3);
        for (size_t i = 0; i < 3; i++) {
            assert_within(s.gaps[i].start_s, from_s[i], 1.5 / RATE);
            assert_within(s.gaps[i].length_s, length_s[i], 2.5 / RATE);
            assert_int_equal(s.gaps[i].reason, FM_REASON_GAP);
        }
    }
    fm_collector_destroy(c);
}

/* A gate, or a soft sound of few bits: many short runs beside the long ones. And silence. */
static void equal_samples_in_a_sound_without_noise_are_no_gaps(void **state)
{
    (void)state;
    fm_collector *c = fm_collector_create(RATE);
    assert_non_null(c);
    make_noisy();
    for (size_t k = 0; k < 19; k++) {
        hold((double)k, 0.3, 0.0f);
        hold((double)k + 0.5, 0.1, 0.0f);
    }
    assert_int_equal(gather(c, 0, 1000).n_gaps, 0);
    hold(0.0, 20.0, 0.0f);
    assert_int_equal(gather(c, 0, 1000).n_gaps, 0);
    fm_collector_destroy(c);
}

static void blocks_of_any_size_give_the_same_segment(void **state)
{
    (void)state;
    fm_collector *c = fm_collector_create(RATE);
    assert_non_null(c);
    make_sine(61.0, 1.1);
    for (size_t i = 0; i < N; i++) {
        x[i] = fmaxf(-1.0f, fminf(1.0f, x[i])); /* clipped */
    }
    x[70001] = NAN;
    const fm_segment whole = gather(c, 0, N);
    static float first[N];
    memcpy(first, whole.x, whole.n * sizeof(*first));
    const size_t blocks[] = {1, 77, 1024, 5000};
    for (size_t i = 0; i < N_ELEMENTS(blocks); i++) {
        const fm_segment s = gather(c, 0, blocks[i]);
        assert_int_equal(s.n, whole.n);
        assert_memory_equal(s.x, first, s.n * sizeof(*first));
        assert_within(s.mean_square, whole.mean_square, 0.0);
        assert_within(s.clipped_fraction, whole.clipped_fraction, 0.0);
        assert_int_equal(s.n_gaps, 1);
    }
    fm_collector_destroy(c);
}

static void an_early_end_shortens_the_window(void **state)
{
    (void)state;
    fm_collector *c = fm_collector_create(RATE);
    assert_non_null(c);
    make_sine(100.0, 0.5);
    fm_segment s;
    fm_collector_begin(c, 0, WINDOW_FROM, WINDOW_TO);
    fm_collector_push(c, x, 10 * RATE);
    fm_collector_finish(c, 10 * RATE, &s);
    assert_within(s.window_end_s, 10.0, 0.0);
    assert_int_equal(s.n, 10 * (int)FM_WORK_RATE_HZ);
    fm_collector_begin(c, 0, WINDOW_FROM,
                       WINDOW_TO); /* ends before the window starts */
    fm_collector_push(c, x, RATE);
    fm_collector_finish(c, RATE, &s);
    assert_within(s.window_start_s, 4.0, 0.0);
    assert_within(s.window_end_s, 4.0, 0.0);
    assert_within(s.mean_square, 0.0, 0.0);
    fm_collector_destroy(c);
    fm_collector_destroy(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(samples_and_times_are_kept),
        cmocka_unit_test(every_rate_keeps_the_times),
        cmocka_unit_test(a_single_tone_is_told),
        cmocka_unit_test(a_later_start_moves_the_times),
        cmocka_unit_test(the_level_is_that_of_the_window_alone),
        cmocka_unit_test(clipping_is_counted_by_runs),
        cmocka_unit_test(gaps_are_found_and_joined),
        cmocka_unit_test(many_gaps_never_lose_a_sample),
        cmocka_unit_test(long_runs_of_equal_samples_are_gaps),
        cmocka_unit_test(equal_samples_in_a_sound_without_noise_are_no_gaps),
        cmocka_unit_test(blocks_of_any_size_give_the_same_segment),
        cmocka_unit_test(an_early_end_shortens_the_window),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
