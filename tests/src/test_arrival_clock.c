/*
 * The arrival clock against closed forms.
 *   Source:    none outside; the delay of each arrival is made here, so the least of them
 *              is known.
 *   Input:     arrivals every 10 ms with made-up lateness, from a fixed generator.
 *   Tolerance: 1 ns for pure arithmetic on doubles near 1e5 s; elsewhere as derived.
 */
#include "src/capture/arrival_clock.h"
#include "tests/support.h"

#define RATE_HZ 48000.0
#define START_S 98765.4321

static uint32_t seed = 1;

/* 0..1 */
static double chance(void)
{
    seed = seed * 1664525U + 1013904223U;
    return (double)(seed >> 8) / 16777216.0;
}

static void nothing_noted_is_not_a_number(void **state)
{
    (void)state;
    arrival_clock c;
    arrival_clock_init(&c, RATE_HZ);
    assert_true(isnan(arrival_clock_zero_s(&c, START_S)));
    assert_true(isnan(arrival_clock_time_s(&c, START_S)));
}

static void an_even_stream_gives_its_delay(void **state)
{
    (void)state;
    arrival_clock c;
    arrival_clock_init(&c, RATE_HZ);
    for (int i = 1; i <= 3000; i++) {
        arrival_clock_note(&c, START_S + 0.032 + 0.01 * i, 480 * i);
    }
    assert_within(arrival_clock_time_s(&c, START_S + 0.032 + 12.5), 12.5, 1e-9);
}

/* Jitter of 0..40 ms, and one arrival in 300 on time: the minimum is the on-time one. */
static void jitter_only_makes_it_later_and_is_removed(void **state)
{
    (void)state;
    arrival_clock c;
    arrival_clock_init(&c, RATE_HZ);
    for (int i = 1; i <= 6000; i++) {
        const double late_s = i % 300 == 7 ? 0.0 : 0.001 + 0.039 * chance();
        arrival_clock_note(&c, START_S + 0.01 * i + late_s, 480 * i);
        if (i > 7) {
            assert_within(arrival_clock_time_s(&c, START_S + 0.01 * i), 0.01 * i, 1e-9);
        }
    }
}

/* Two seconds of nothing, then all of it at once: as a frozen sound server does. */
static void a_burst_moves_nothing(void **state)
{
    (void)state;
    arrival_clock c;
    arrival_clock_init(&c, RATE_HZ);
    for (int i = 1; i <= 2000; i++) {
        const double t = 0.01 * i;
        const double arrival = t > 5.0 && t < 7.0 ? 7.0 : t;
        arrival_clock_note(&c, START_S + arrival, 480 * i);
    }
    assert_within(arrival_clock_time_s(&c, START_S + 19.0), 19.0, 1e-9);
}

/*
 * A clock that is e too fast delivers t (1 + e) rate samples by t, so the lateness is
 * -e t: falling, the newest counts, and the timeline is exact; e too slow: rising, the one
 * 10 s ago counts (9.9 to 10 by the stretches), and it runs ahead by at most 10 e.
 */
static void drift_costs_at_most_ten_seconds_of_it(void **state)
{
    (void)state;
    for (int sign = -1; sign <= 1; sign += 2) {
        const double drift = sign * 200e-6;
        arrival_clock c;
        arrival_clock_init(&c, RATE_HZ);
        for (int i = 1; i <= 60000; i++) {
            const double t = 0.01 * i;
            arrival_clock_note(&c, START_S + t, (int64_t)(t * RATE_HZ * (1.0 + drift)));
        }
        const double t = 600.0;
        const double error_s =
            arrival_clock_time_s(&c, START_S + t) - t * (1.0 + drift);
        const double low_s = sign > 0 ? 0.0 : 9.8 * 200e-6;
        const double high_s = sign > 0 ? 0.0 : 10.0 * 200e-6;
        assert_true(error_s >= low_s - 25e-6 && error_s <= high_s + 25e-6);
    }
}

/* A delay that grows for good (an earlier minimum no longer true) is taken on after 10 s. */
static void a_minimum_is_forgotten_after_ten_seconds(void **state)
{
    (void)state;
    arrival_clock c;
    arrival_clock_init(&c, RATE_HZ);
    for (int i = 1; i <= 4000; i++) {
        const double t = 0.01 * i;
        arrival_clock_note(&c, START_S + t + (t > 20.0 ? 0.5 : 0.0), 480 * i);
        const double error_s = arrival_clock_time_s(&c, START_S + t) - t;
        if (t < 29.3) {
            assert_within(error_s, 0.0, 1e-9);
        }
        if (t > 30.0) {
            assert_within(error_s, -0.5, 1e-9);
        }
    }
}

static void an_anchor_takes_the_new_delay_at_once(void **state)
{
    (void)state;
    arrival_clock c;
    arrival_clock_init(&c, RATE_HZ);
    for (int i = 1; i <= 500; i++) {
        arrival_clock_note(&c, START_S + 0.01 * i, 480 * i);
    }
    arrival_clock_anchor(&c);
    assert_true(isnan(arrival_clock_time_s(&c, START_S + 5.0)));
    for (int i = 501; i <= 510; i++) {
        arrival_clock_note(&c, START_S + 0.01 * i + 0.25, 480 * i);
    }
    assert_within(arrival_clock_time_s(&c, START_S + 5.35), 5.1, 1e-9);
}

static void a_stream_that_stopped_keeps_its_last_delay(void **state)
{
    (void)state;
    arrival_clock c;
    arrival_clock_init(&c, RATE_HZ);
    for (int i = 1; i <= 500; i++) {
        arrival_clock_note(&c, START_S + 0.01 * i, 480 * i);
    }
    assert_true(isnan(arrival_clock_zero_s(&c, START_S + 60.0)));
    assert_within(arrival_clock_time_s(&c, START_S + 60.0), 60.0, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_noted_is_not_a_number),
        cmocka_unit_test(an_even_stream_gives_its_delay),
        cmocka_unit_test(jitter_only_makes_it_later_and_is_removed),
        cmocka_unit_test(a_burst_moves_nothing),
        cmocka_unit_test(drift_costs_at_most_ten_seconds_of_it),
        cmocka_unit_test(a_minimum_is_forgotten_after_ten_seconds),
        cmocka_unit_test(an_anchor_takes_the_new_delay_at_once),
        cmocka_unit_test(a_stream_that_stopped_keeps_its_last_delay),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
