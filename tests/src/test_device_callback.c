/*
 * The driver's callback, driven by hand: what it must do, and what it must not.
 *   Source:    PortAudio's documentation of PaStreamCallback: no memory, no locks, no waits
 *              in it. The linker's --wrap sends our calls through the counters below.
 *   Input:     numbered frames, made here.
 *   Tolerance: none. The worst time is printed, not judged: it is the machine's as well.
 */
#include "src/capture/device_callback.h"
#include "src/capture/source.h"
#include "tests/support.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum {
    FRAMES = 256,
    CALLS = 200000
};

static volatile int forbidden;
static volatile bool inside; /* the compiler may think that malloc does not read it */

/* One counter for every call that may wait or take memory. */
#define WRAP(type, name, params, args)                                                 \
    type __real_##name params;                                                         \
    type __wrap_##name params;                                                         \
    type __wrap_##name params                                                          \
    {                                                                                  \
        forbidden += inside ? 1 : 0;                                                   \
        return __real_##name args;                                                     \
    }
WRAP(void *, malloc, (size_t n), (n))
WRAP(void *, calloc, (size_t n, size_t size), (n, size))
WRAP(void *, realloc, (void *p, size_t n), (p, n))
WRAP(int, pthread_mutex_lock, (pthread_mutex_t * m), (m))
WRAP(int, pthread_mutex_unlock, (pthread_mutex_t * m), (m))
WRAP(int, pthread_cond_signal, (pthread_cond_t * c), (c))
WRAP(int, clock_gettime, (clockid_t id, struct timespec *t), (id, t))
WRAP(int, nanosleep, (const struct timespec *a, struct timespec *b), (a, b))
void __real_free(void *p);
void __wrap_free(void *p);
void __wrap_free(void *p)
{
    forbidden += inside ? 1 : 0;
    __real_free(p);
}

static float in[FRAMES * 2];
static float out[FRAMES * 2];
static float got[4096 * 2];

static void make(device_callback_state *s, size_t capacity, int outputs)
{
    s->r = ring_create(capacity, 2);
    assert_non_null(s->r);
    s->inputs = 2;
    s->outputs = outputs;
    atomic_init(&s->monitor_gain, 2.0F);
    atomic_init(&s->monitor_channel, 1);
    atomic_init(&s->finished, false);
    for (int i = 0; i < FRAMES * 2; i++) {
        in[i] = (float)i / 1024.0F;
    }
}

static void call(device_callback_state *s,
                 const float *from,
                 float *to,
                 unsigned long flags)
{
    inside = true;
    const int answer = device_callback(from, to, FRAMES, NULL, flags, s);
    inside = false;
    assert_int_equal(answer, paContinue);
}

static void the_counters_do_count(void **state)
{
    (void)state;
    forbidden = 0;
    inside = true;
    void *volatile const p = malloc(10);
    inside = false;
    free(p);
    assert_int_equal(forbidden, 1);
}

static void samples_go_to_the_ring_and_one_channel_to_the_headphones(void **state)
{
    (void)state;
    device_callback_state s;
    make(&s, 4096, 2);
    call(&s, in, out, 0);
    ring_chunk chunk;
    assert_true(ring_read(s.r, got, 4096, &chunk));
    assert_int_equal(chunk.n_frames, FRAMES);
    assert_memory_equal(got, in, sizeof in);
    for (int i = 0; i < FRAMES; i++) {
        const double want = fmin(1.0, 2.0 * (double)in[2 * i + 1]);
        assert_within((double)out[2 * i], want, 0.0);
        assert_within((double)out[2 * i + 1], want, 0.0);
    }
    ring_destroy(s.r);
}

static void what_the_driver_lost_is_said(void **state)
{
    (void)state;
    device_callback_state s;
    make(&s, 4096, 2);
    ring_chunk chunk;
    call(&s, in, out, paInputOverflow);
    assert_true(ring_read(s.r, got, 4096, &chunk));
    assert_int_equal(chunk.flags_before, SOURCE_OVERFLOW);
    assert_int_equal(chunk.n_frames, FRAMES);
    call(&s, in, out, paInputUnderflow); /* made up by the driver */
    assert_true(ring_read(s.r, got, 4096, &chunk));
    assert_int_equal(chunk.lost_before, FRAMES);
    call(&s, NULL, out, 0);
    assert_true(ring_read(s.r, got, 4096, &chunk));
    assert_int_equal(chunk.lost_before, FRAMES);
    assert_within((double)out[7], 0.0, 0.0);
    ring_destroy(s.r);
}

/* Whatever comes, a full ring included: no memory, no lock, no clock, no wait. */
static void nothing_forbidden_is_called(void **state)
{
    (void)state;
    device_callback_state s;
    make(&s, 1024, 2);
    ring_chunk chunk;
    forbidden = 0;
    for (int i = 0; i < 5000; i++) {
        call(&s, i % 7 == 0 ? NULL : in, i % 5 == 0 ? NULL : out, (unsigned long)i % 8);
        if (i % 3 == 0) {
            (void)ring_read(s.r, got, 512, &chunk);
        }
    }
    inside = true;
    device_callback_finished(&s);
    inside = false;
    assert_int_equal(forbidden, 0);
    assert_true(atomic_load(&s.finished));
    ring_destroy(s.r);
}

static double now_us(clockid_t id)
{
    struct timespec t;
    (void)clock_gettime(id, &t);
    return 1e6 * (double)t.tv_sec + 1e-3 * (double)t.tv_nsec;
}

static int ascending(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The clock stands around the callback, not in it: the thread's own time on the processor,
   in which the wait for other programs is not; beside it the time on the wall. Run it beside
   one busy loop a core for both under load. */
static void the_time_of_a_call_is_printed(void **state)
{
    (void)state;
    static double took_us[CALLS];
    device_callback_state s;
    make(&s, 4096, 2);
    ring_chunk chunk;
    for (int clock = 0; clock < 2; clock++) {
        const clockid_t id = clock == 0 ? CLOCK_THREAD_CPUTIME_ID : CLOCK_MONOTONIC;
        for (int i = 0; i < CALLS; i++) {
            const double begin = now_us(id);
            (void)device_callback(in, out, FRAMES, NULL, 0, &s);
            took_us[i] = now_us(id) - begin;
            (void)ring_read(s.r, got, 4096, &chunk);
        }
        qsort(took_us, CALLS, sizeof took_us[0], ascending);
        (void)printf("%d calls of %d frames, %s: median %.2f us, 99.9th percentile "
                     "%.2f us, worst %.2f us\n",
                     CALLS, FRAMES, clock == 0 ? "on the processor" : "on the wall",
                     took_us[CALLS / 2], took_us[CALLS / 1000 * 999],
                     took_us[CALLS - 1]);
        assert_true(took_us[CALLS / 2] > 0.0);
    }
    ring_destroy(s.r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_counters_do_count),
        cmocka_unit_test(samples_go_to_the_ring_and_one_channel_to_the_headphones),
        cmocka_unit_test(what_the_driver_lost_is_said),
        cmocka_unit_test(nothing_forbidden_is_called),
        cmocka_unit_test(the_time_of_a_call_is_printed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
