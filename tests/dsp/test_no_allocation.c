/*
 * The analyser takes its memory at create. After that
 *   - no code of ours asks for any, whatever is pushed: the linker sends every malloc,
 *     calloc and realloc of libfullminute.a through here (-Wl,--wrap);
 *   - the process holds no more after ten windows than after two, so that a day-long
 *     recording needs what a minute needs. libsoxr, which takes some again whenever a
 *     window opens, and KISS FFT are within this count. (A sanitizer brings an allocator
 *     of its own: there this second part sees nothing.)
 */
#include "dsp/analyser.h"
#include "dsp/provisional.h"

#include "tests/support.h"

#include <malloc.h>
#include <stdbool.h>
#include <stdlib.h>

static bool watching;
static size_t n_asked;

void *__real_malloc(size_t size);
void *__real_calloc(size_t n, size_t size);
void *__real_realloc(void *p, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t n, size_t size);
void *__wrap_realloc(void *p, size_t size);

void *__wrap_malloc(size_t size)
{
    n_asked += watching;
    return __real_malloc(size);
}

void *__wrap_calloc(size_t n, size_t size)
{
    n_asked += watching;
    return __real_calloc(n, size);
}

void *__wrap_realloc(void *p, size_t size)
{
    n_asked += watching;
    return __real_realloc(p, size);
}

/* Second number `second` of a 72-per-minute thump in faint noise. */
static void make_second(float *x, size_t n, double rate_hz, size_t second)
{
    unsigned seed = 5;
    for (size_t i = 0; i < n; i++) {
        const double t = (double)(second * n + i) / rate_hz;
        const double s1 = fmod(t, 60.0 / 72.0);
        const double s2 = s1 - 0.3;
        seed = 1664525u * seed + 1013904223u;
        x[i] = (float)(0.5 * exp(-s1 / 0.03) * sin(300.0 * s1) +
                       (s2 > 0.0 ? 0.3 * exp(-s2 / 0.03) * sin(390.0 * s2) : 0.0) +
                       0.001 * ((double)seed / 2147483648.0 - 1.0));
    }
}

/* Push `seconds` of audio, one of them lost, with a 30 s window open at all times. */
static int count_windows(
    fm_analyser *a, float *x, fm_count *c, size_t n, size_t from, size_t seconds)
{
    int taken = 0;
    for (size_t second = from; second < from + seconds; second++) {
        make_second(x, n, (double)n, second);
        watching = true;
        if (second % 30 == 0) {
            (void)fm_analyser_open(a, (int64_t)(second * n), 30 * (int64_t)n);
        }
        if (second == 40) {
            (void)fm_analyser_push_gap(a, (int64_t)n);
        } else {
            (void)fm_analyser_push(a, x, n);
        }
        taken += fm_analyser_take(a, c);
        watching = false;
    }
    return taken;
}

/* libsoxr's queues settle over the first windows by a few KB (measured: 2 to 8 over
 * eight windows, none after a hundred); a leak of one window would be far more. */
enum {
    SLACK_BYTES = 65536
};

static size_t bytes_in_use(void)
{
    const struct mallinfo2 info = mallinfo2();
    return info.uordblks + info.hblkhd;
}

static void nothing_is_asked_for_and_nothing_grows(void **state)
{
    (void)state;
    const int rates[] = {1000, 2000, 8000, 44100};
    for (size_t i = 0; i < sizeof(rates) / sizeof(rates[0]); i++) {
        const size_t n = (size_t)rates[i];
        fm_analyser *a = fm_analyser_create((double)n, NULL);
        float *x = malloc(n * sizeof(*x));
        fm_count *c = malloc(sizeof(*c));
        assert_true(a && x && c);
        fm_provisional_marker *m = fm_provisional_marker_create((double)n);
        assert_non_null(m);
        n_asked = 0;
        assert_int_equal(count_windows(a, x, c, n, 0, 75), 2);
        watching = true;
        fm_provisional_marker_push(m, x, n);
        watching = false;
        fm_provisional_marker_destroy(m);
        const size_t after_two = bytes_in_use();
        assert_int_equal(count_windows(a, x, c, n, 75, 240), 8);
        assert_int_equal(n_asked, 0);
        assert_true(bytes_in_use() <= after_two + SLACK_BYTES);
        free(c);
        free(x);
        fm_analyser_destroy(a);
    }
}

static void the_watch_itself_works(void **state)
{
    (void)state;
    n_asked = 0;
    watching = true;
    fm_analyser *a = fm_analyser_create(8000.0, NULL);
    watching = false;
    assert_non_null(a);
    assert_true(n_asked > 5);
    fm_analyser_destroy(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_watch_itself_works),
        cmocka_unit_test(nothing_is_asked_for_and_nothing_grows),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
