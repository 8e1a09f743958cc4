/*
 * The drain between ring and sink, when the program is stopped and goes on.
 *   Source:    none outside: what the source wrote is known here, sample by sample.
 *   Input:     a source of our own that writes by a clock that the test steps, is silent for five seconds, and
 *              then hands over all that came meanwhile in two parts, the first longer than
 *              half the ring.
 *   Tolerance: none: every sample comes once, in order, and no gap is named.
 */
#include "src/capture/drain.h"

#include "src/port/steady.h"
#include "tests/stepped/stepped.h"
#include "tests/support.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    RATE_HZ = 1000,
    STOP_S = 5,
    BACKLOG = 4400 /* more than half of a ring of 8 s, less than came meanwhile */
};

/* What the sink has seen. Written by the drain's thread, read after drain_stop. */
struct seen {
    int64_t samples, gaps, gap_samples;
    bool in_order;
};

static void sink(void *context, const capture_block *block)
{
    struct seen *const s = context;
    if (block->frames == NULL) {
        s->gaps++;
        s->gap_samples += (int64_t)block->n;
        return;
    }
    for (size_t i = 0; i < block->n; i++, s->samples++) {
        s->in_order = s->in_order && (int64_t)lroundf(block->frames[i]) == s->samples;
    }
}

static bool never(source *s)
{
    (void)s;
    return false;
}

static double no_load(source *s)
{
    (void)s;
    return 0.0;
}

/* Sample i has the value i. */
static void write_up_to(source *s, int64_t *written, int64_t end)
{
    while (*written < end) {
        const float value = (float)*written;
        assert_int_equal(ring_write(s->r, &value, 1, 0), 1);
        ++*written;
    }
}

static void keep_pace(source *s, int64_t *written, double start_s, double until_s)
{
    while (steady_now_s() < until_s) {
        write_up_to(s, written, (int64_t)((steady_now_s() - start_s) * RATE_HZ));
        stepped_go(0.01);
    }
}

static void a_stopped_program_that_goes_on_has_no_gap(void **state)
{
    (void)state;
    source s = {
        .finished = never, .load = no_load, .rate_hz = (double)RATE_HZ, .channels = 1};
    struct seen seen = {.in_order = true};
    app_err err = APP_ERR_NONE;
    drain *const w = drain_create(&s, sink, &seen, &err);
    assert_non_null(w);
    int64_t written = 0;
    assert_true(drain_start(w, &err));
    const double start_s = steady_now_s();
    keep_pace(&s, &written, start_s, start_s + 1.5);
    stepped_stand(STOP_S);
    write_up_to(&s, &written, written + BACKLOG);
    stepped_go(0.1); /* the drain looks every 20 ms */
    keep_pace(&s, &written, start_s, steady_now_s() + 3.0);
    drain_stop(w);
    assert_int_equal(seen.gaps, 0);
    assert_int_equal(seen.samples, written);
    assert_true(seen.in_order);
    drain_destroy(w);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_stopped_program_that_goes_on_has_no_gap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
