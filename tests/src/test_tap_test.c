/*
 * The delay of a tap, and which input jumps.
 *   Source:    none; medians and distances are laid down here, so the answers are known.
 *   Input:     taps made from the ticks with a known lag and known offsets.
 *   Tolerance: 1e-9 s where exact; 15 ms for normal offsets of SD 30 ms over 20 ticks.
 */
#include "src/usecase/find_source.h"
#include "src/usecase/tap_test.h"

#include "dsp/signal/random.h"
#include "tests/support.h"

#include <stdlib.h>

static const double START_S = 1234.5;

/* Taps `lag_s` after each tick, with a spread; every `skip`-th is left out. */
static size_t tap(double lag_s, double sd_s, size_t skip, double *taps_s)
{
    fm_random random = fm_random_init(5, 0);
    size_t n = 0;
    for (size_t k = 0; k < TAP_TEST_TICKS; k++) {
        if (skip == 0 || k % skip != 0) {
            taps_s[n] =
                START_S + tap_test_tick_s(k) + lag_s + sd_s * fm_random_normal(&random);
            n++;
        }
    }
    return n;
}

static void a_constant_lag_is_found(void **state)
{
    (void)state;
    double taps_s[TAP_TEST_TICKS];
    const double lags_s[] = {-0.08, 0.0, 0.042, 0.25};
    for (size_t i = 0; i < 4; i++) {
        const size_t n = tap(lags_s[i], 0.0, 0, taps_s);
        const tap_test_result r = tap_test_judge(START_S, taps_s, n);
        assert_true(r.ok);
        assert_int_equal(r.pairs, TAP_TEST_TICKS - TAP_TEST_FIRST);
        assert_within(r.lag_s, lags_s[i], 1e-9);
        assert_within(r.scatter_s, 0.0, 1e-9);
    }
    size_t n = tap(0.06, 0.03, 0, taps_s);
    tap_test_result r = tap_test_judge(START_S, taps_s, n);
    assert_true(r.ok);
    assert_within(r.lag_s, 0.06, 0.015);
    assert_within(r.scatter_s, 0.03, 0.015);
    /* one tap far off moves nothing */
    n = tap(0.06, 0.0, 0, taps_s);
    taps_s[10] += 0.2;
    r = tap_test_judge(START_S, taps_s, n);
    assert_true(r.ok);
    assert_within(r.lag_s, 0.06, 1e-9);
}

static void wide_scatter_and_few_taps_are_not_remembered(void **state)
{
    (void)state;
    double taps_s[TAP_TEST_TICKS];
    size_t n = tap(0.06, 0.12, 0, taps_s);
    tap_test_result r = tap_test_judge(START_S, taps_s, n);
    assert_false(r.ok);
    assert_true(r.scatter_s > TAP_TEST_SCATTER_MAX_S);
    n = tap(0.06, 0.0, 2, taps_s); /* every other one */
    r = tap_test_judge(START_S, taps_s, n);
    assert_int_equal(r.pairs, 10);
    assert_false(r.ok);
    r = tap_test_judge(START_S, taps_s, 0);
    assert_false(r.ok);
    assert_int_equal(r.pairs, 0);
    assert_true(isnan(r.lag_s));
}

static void the_ticks_sound_where_they_are_said_to(void **state)
{
    (void)state;
    const double rate_hz = 8000.0;
    const int64_t n = tap_test_samples(rate_hz);
    float *const x = calloc((size_t)n, sizeof *x);
    assert_non_null(x);
    tap_test_make(rate_hz, x);
    size_t ticks = 0;
    for (int64_t i = 1; i < n; i++) {
        if (fabsf(x[i]) > 1e-6F) {
            /* rises within half a millisecond of its time; then on past its end */
            assert_within((double)i / rate_hz, tap_test_tick_s(ticks), 0.0005);
            ticks++;
            i += (int64_t)(0.03 * rate_hz);
        }
    }
    assert_int_equal(ticks, TAP_TEST_TICKS);
    free(x);
}

static find_candidate candidate(double rest_dbfs, double rub_dbfs, bool is_default)
{
    find_candidate c = {.measured = true, .is_default = is_default};
    c.rest.level_dbfs.p90 = rest_dbfs;
    c.rub.level_dbfs.p90 = rub_dbfs;
    return c;
}

static void the_input_that_jumps_is_picked(void **state)
{
    (void)state;
    find_candidate list[4] = {
        candidate(-40.0, -38.0, true),  /* a room, always loud */
        candidate(-75.0, -30.0, false), /* the chest piece */
        candidate(-60.0, -45.0, false), /* another one that hears the rubbing */
        candidate(0.0, 0.0, false)};
    list[3].measured = false;
    assert_int_equal(find_source_pick(list, 4), 1);
    /* the same input under two names: the default, else the first */
    list[2] = candidate(-75.0, -29.0, false);
    assert_int_equal(find_source_pick(list, 4), 1);
    list[2].is_default = true;
    assert_int_equal(find_source_pick(list, 4), 2);
    /* nobody rubbed */
    list[1] = candidate(-75.0, -70.0, false);
    list[2] = candidate(-75.0, -70.0, false);
    assert_int_equal(find_source_pick(list, 4), -1);
    assert_int_equal(find_source_pick(list, 0), -1);
    assert_int_equal(find_source_pick(&list[3], 1), -1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_constant_lag_is_found),
        cmocka_unit_test(wide_scatter_and_few_taps_are_not_remembered),
        cmocka_unit_test(the_ticks_sound_where_they_are_said_to),
        cmocka_unit_test(the_input_that_jumps_is_picked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
