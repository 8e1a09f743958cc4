/*
 * The delay of a tap from its ticks to the settings: what is heard when, which keys belong to
 * it, what is remembered and what is not.
 *   Source: the contracts of src/usecase/tap_test.h and src/port/player.h.
 *   Input:  a player, keys and a clock that stand here in the place of the real ones
 *           (-Wl,--wrap): the output is heard LATENCY_S after it starts, each key comes a
 *           known time after its tick.
 */
#include "tests/support.h"

#include "src/command/sources_private.h"
#include "src/port/player.h"
#include "src/usecase/tap_test.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double RATE_HZ = 48000.0;
static const double LATENCY_S = 0.1;
static const double BEGIN_S = 100.0; /* of the clock here */

static double now_s;
static double started_s;
static int64_t n_samples;
static double lag_s;    /* of a key after its tick */
static size_t n_tapped; /* ticks that get a key */
static bool alive, says_heard;

const device *__wrap_devices_find(const devices *d,
                                  const char *wanted,
                                  bool output,
                                  app_err *err);
player *__wrap_player_open(int index, double rate_hz, app_err *err);
double __wrap_player_rate_hz(const player *p);
void __wrap_player_start(player *p, const float *samples, int64_t n, int64_t from);
void __wrap_player_stop(player *p);
int64_t __wrap_player_heard(const player *p);
bool __wrap_player_alive(const player *p);
bool __wrap_player_close(player *p);
size_t __wrap_live_keys_take(live_keys *k, live_key *out, size_t max, double timeout_s);
double __wrap_steady_now_s(void);

const device *__wrap_devices_find(const devices *d,
                                  const char *wanted,
                                  bool output,
                                  app_err *err)
{
    static const device one = {.key = "here", .name = "here", .outputs = 2};
    (void)d;
    (void)err;
    assert_null(wanted);
    assert_true(output);
    return &one;
}

player *__wrap_player_open(int index, double rate_hz, app_err *err)
{
    static char stands_for_it;
    (void)index;
    (void)rate_hz;
    (void)err;
    return (player *)(void *)&stands_for_it;
}

double __wrap_player_rate_hz(const player *p)
{
    (void)p;
    return RATE_HZ;
}

void __wrap_player_start(player *p, const float *samples, int64_t n, int64_t from)
{
    (void)p;
    assert_non_null(samples);
    assert_int_equal(from, 0);
    started_s = now_s;
    n_samples = n;
}

void __wrap_player_stop(player *p)
{
    (void)p;
}

int64_t __wrap_player_heard(const player *p)
{
    (void)p;
    const double s = fmax(0.0, now_s - started_s - LATENCY_S);
    const int64_t heard = (int64_t)(s * RATE_HZ);
    return heard >= n_samples ? n_samples : says_heard ? heard : 0;
}

bool __wrap_player_alive(const player *p)
{
    (void)p;
    return alive;
}

bool __wrap_player_close(player *p)
{
    (void)p;
    return true;
}

size_t __wrap_live_keys_take(live_keys *k, live_key *out, size_t max, double timeout_s)
{
    (void)k;
    const double before_s = now_s;
    size_t n = 0;
    now_s += timeout_s;
    for (size_t i = 0; i < n_tapped && n < max; i++) {
        const double at_s = started_s + LATENCY_S + tap_test_tick_s(i) + lag_s;
        if (at_s > before_s && at_s <= now_s) {
            out[n++] = (live_key){' ', at_s};
        }
    }
    return n;
}

double __wrap_steady_now_s(void)
{
    return now_s;
}

/* One test with a file as its input; what is then remembered, NaN: nothing. */
static double remembered(int expected, app_err *err)
{
    static const char KEY[] = "file:known";
    *err = (app_err)APP_ERR_NONE;
    settings *const s = settings_load(err);
    assert_non_null(s);
    now_s = BEGIN_S;
    const sources_run run = {.s = s, .input = KEY};
    assert_int_equal(sources_tap_test(&run, err), expected);
    const double found_s = settings_number_of(s, SETTINGS_TAP_DELAY_S, KEY);
    settings_free(s);
    return found_s;
}

static void keys_along_with_the_ticks_are_remembered(void **state)
{
    (void)state;
    app_err err;
    alive = says_heard = true;
    n_tapped = TAP_TEST_TICKS;
    lag_s = 0.12;
    /* Closed form: the lag itself; a poll rounds down to a sample. */
    assert_within(remembered(APP_DONE, &err), 0.12, 1e-4);
    lag_s = -0.03; /* ahead of the tick */
    assert_within(remembered(APP_DONE, &err), -0.03, 1e-4);
}

static void what_is_no_measurement_is_not(void **state)
{
    (void)state;
    app_err err;
    alive = says_heard = true;
    lag_s = 0.12;
    n_tapped = TAP_TEST_FIRST + TAP_TEST_PAIRS_MIN - 1;
    (void)remembered(APP_FAILED, &err);
    assert_non_null(strstr(err.text, "11 of 20 ticks were tapped"));
    n_tapped = TAP_TEST_TICKS;
    says_heard = false;
    (void)remembered(APP_FAILED, &err);
    assert_non_null(strstr(err.text, "did not say what was heard"));
    alive = false;
    (void)remembered(APP_FAILED, &err);
    assert_non_null(strstr(err.text, "the output is gone"));
    says_heard = alive = true;
}

static char home[] = "/tmp/fullminute-tap-XXXXXX";

static int make_home(void **state)
{
    (void)state;
    /* NOLINTNEXTLINE(concurrency-mt-unsafe): nothing else runs */
    return mkdtemp(home) != NULL ? setenv("XDG_CONFIG_HOME", home, 1) : -1;
}

static int remove_home(void **state)
{
    (void)state;
    char command[64];
    (void)snprintf(command, sizeof command, "rm -rf '%s'", home);
    return system(command); /* NOLINT(cert-env33-c,concurrency-mt-unsafe) */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_no_measurement_is_not),
        cmocka_unit_test(keys_along_with_the_ticks_are_remembered),
    };
    return cmocka_run_group_tests(tests, make_home, remove_home);
}
