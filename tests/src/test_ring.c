/*
 * The ring between a callback and a worker.
 *   Source:    none outside; every frame carries its own number, so what comes out can be
 *              compared with what went in.
 *   Tolerance: none.
 * The last test runs two threads and is meant for the thread sanitizer as well.
 */
#include "src/base/ring.h"
#include "tests/support.h"

#include <pthread.h>
#include <stdatomic.h>
#include <string.h>

enum {
    CAPACITY = 64,
    BLOCK = 97
};

static void fill(float *out, int64_t first, size_t n, int channels)
{
    for (size_t i = 0; i < n * (size_t)channels; i++) {
        out[i] = (float)((first * channels + (int64_t)i) % 1000003);
    }
}

static void create_rejects_what_is_off(void **state)
{
    (void)state;
    assert_null(ring_create(0, 1));
    assert_null(ring_create(100, 1));
    assert_null(ring_create(64, 0));
    assert_null(ring_create(64, 65));
    assert_null(ring_create((size_t)1 << 62, 8));
    ring_destroy(NULL);
}

static void frames_come_out_as_they_went_in(void **state)
{
    (void)state;
    ring *const r = ring_create(CAPACITY, 3);
    assert_non_null(r);
    float in[CAPACITY * 3];
    float out[CAPACITY * 3];
    float want[CAPACITY * 3];
    ring_chunk chunk;
    int64_t at = 0;
    assert_false(ring_read(r, out, CAPACITY, &chunk));
    for (size_t n = 1; n <= CAPACITY; n++) {
        fill(in, at, n, 3);
        assert_int_equal(ring_write(r, in, n, 0), n);
        assert_true(ring_read(r, out, CAPACITY, &chunk));
        assert_int_equal(chunk.n_frames, n);
        assert_int_equal(chunk.first_frame, at);
        assert_int_equal(chunk.lost_before, 0);
        fill(want, at, n, 3);
        assert_memory_equal(out, want, n * 3 * sizeof *out);
        at += (int64_t)n;
    }
    assert_int_equal(ring_frames_written(r), at);
    ring_destroy(r);
}

static void what_does_not_fit_is_missing_at_its_place(void **state)
{
    (void)state;
    ring *const r = ring_create(CAPACITY, 1);
    assert_non_null(r);
    float in[100];
    float out[100];
    ring_chunk chunk;
    fill(in, 0, 100, 1);
    assert_int_equal(ring_write(r, in, 100, 0), 64);
    assert_int_equal(ring_write(r, in, 10, 0), 0);
    assert_true(ring_read(r, out, 30, &chunk));
    assert_int_equal(chunk.n_frames, 30);
    fill(in, 110, 20, 1);
    assert_int_equal(ring_write(r, in, 20, 0), 20);
    assert_true(ring_read(r, out, 100, &chunk)); /* not across the gap */
    assert_int_equal(chunk.first_frame, 30);
    assert_int_equal(chunk.n_frames, 34);
    assert_true(ring_read(r, out, 100, &chunk));
    assert_int_equal(chunk.lost_before, 46);
    assert_int_equal(chunk.first_frame, 110);
    assert_int_equal(chunk.n_frames, 20);
    assert_within((double)out[0], 110.0, 0.0);
    assert_false(ring_read(r, out, 100, &chunk));
    assert_int_equal(ring_frames_written(r), 130);
    ring_destroy(r);
}

static void nothing_given_is_lost_and_flags_stand_before_their_frames(void **state)
{
    (void)state;
    ring *const r = ring_create(CAPACITY, 1);
    assert_non_null(r);
    float in[8] = {0};
    float out[CAPACITY];
    ring_chunk chunk;
    assert_int_equal(ring_write(r, in, 8, 0), 8);
    assert_int_equal(ring_write(r, in, 8, 1), 8);
    assert_int_equal(ring_write(r, NULL, 5, 2), 0);
    assert_int_equal(ring_write(r, in, 8, 4), 8);
    assert_true(ring_read(r, out, CAPACITY, &chunk));
    assert_int_equal(chunk.n_frames, 8);
    assert_int_equal(chunk.flags_before, 0);
    assert_true(ring_read(r, out, CAPACITY, &chunk));
    assert_int_equal(chunk.n_frames, 8);
    assert_int_equal(chunk.flags_before, 1);
    assert_true(ring_read(r, out, CAPACITY, &chunk));
    assert_int_equal(chunk.lost_before, 5);
    assert_int_equal(chunk.flags_before, 6);
    assert_int_equal(chunk.first_frame, 21);
    assert_int_equal(chunk.n_frames, 8);
    ring_destroy(r);
}

/* More gaps than the ring can remember: they are joined, and none is forgotten. */
static void too_many_holes_are_joined_not_dropped(void **state)
{
    (void)state;
    ring *const r = ring_create(4096, 1);
    assert_non_null(r);
    float in[4] = {1, 2, 3, 4};
    float out[4096];
    ring_chunk chunk;
    int64_t given = 0;
    for (int i = 0; i < 600; i++) {
        (void)ring_write(r, in, 2, 0);
        (void)ring_write(r, NULL, 1, 0);
        given += 3;
    }
    (void)ring_write(r, NULL, 0, 0);
    int64_t got = 0;
    while (ring_read(r, out, 4096, &chunk)) {
        assert_int_equal(chunk.first_frame, got + chunk.lost_before);
        got = chunk.first_frame + (int64_t)chunk.n_frames;
    }
    assert_int_equal(ring_write(r, in, 4, 0), 4);
    while (ring_read(r, out, 4096, &chunk)) {
        got = chunk.first_frame + (int64_t)chunk.n_frames;
    }
    assert_int_equal(got, given + 4);
    ring_destroy(r);
}

typedef struct pair {
    ring *r;
    atomic_bool done;
    int64_t to_write;
} pair;

static void *write_all(void *context)
{
    pair *const p = context;
    float in[BLOCK * 2];
    int64_t at = 0;
    uint32_t seed = 7;
    while (at < p->to_write) {
        seed = seed * 1664525U + 1013904223U;
        const size_t n = 1 + (seed >> 16) % BLOCK;
        fill(in, at, n, 2);
        (void)ring_write(p->r, (seed >> 24) % 50 == 0 ? NULL : in, n,
                         (seed >> 8) % 64 == 0 ? 1U : 0U);
        at += (int64_t)n;
    }
    while (ring_frames_written(p->r) < at) {
    }
    atomic_store(&p->done, true);
    return NULL;
}

static void two_threads_agree_on_every_frame(void **state)
{
    (void)state;
    pair p = {.r = ring_create(1024, 2), .to_write = 3000000};
    assert_non_null(p.r);
    atomic_init(&p.done, false);
    pthread_t writer;
    assert_int_equal(pthread_create(&writer, NULL, write_all, &p), 0);
    float out[300 * 2];
    int64_t got = 0;
    int64_t lost = 0;
    bool wrong = false;
    for (;;) {
        const bool last = atomic_load(&p.done);
        ring_chunk chunk;
        while (ring_read(p.r, out, 300, &chunk)) {
            wrong = wrong || chunk.first_frame != got + chunk.lost_before;
            for (size_t i = 0; i < chunk.n_frames * 2; i++) {
                const int64_t number = (chunk.first_frame * 2 + (int64_t)i) % 1000003;
                wrong = wrong || (int64_t)out[i] != number;
            }
            lost += chunk.lost_before;
            got = chunk.first_frame + (int64_t)chunk.n_frames;
        }
        if (last) {
            break;
        }
    }
    assert_int_equal(pthread_join(writer, NULL), 0);
    /* One write with room says what may still wait. */
    (void)ring_write(p.r, NULL, 0, 0);
    ring_chunk chunk;
    while (ring_read(p.r, out, 300, &chunk)) {
        got = chunk.first_frame + (int64_t)chunk.n_frames;
        lost += chunk.lost_before;
    }
    assert_false(wrong);
    assert_int_equal(got, ring_frames_written(p.r));
    assert_true(lost > 0 && lost < got);
    ring_destroy(p.r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(create_rejects_what_is_off),
        cmocka_unit_test(frames_come_out_as_they_went_in),
        cmocka_unit_test(what_does_not_fit_is_missing_at_its_place),
        cmocka_unit_test(nothing_given_is_lost_and_flags_stand_before_their_frames),
        cmocka_unit_test(too_many_holes_are_joined_not_dropped),
        cmocka_unit_test(two_threads_agree_on_every_frame),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
