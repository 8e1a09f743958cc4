/* The delay of a tap: ticks out of the headphones, a key along with them. */
#include "src/command/say.h"

#include "dsp/compare/agreement.h"
#include "src/command/sources_private.h"
#include "src/port/steady.h"

#include "src/port/interrupt.h"
#include "src/port/player.h"
#include "src/usecase/tap_test.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum {
    TAPS_MAX = 200,
    POLLS_MAX = 4000,
    KEYS_AT_ONCE = 16
};

static const double POLL_S = 0.01;
static const double AFTER_S = 0.5; /* for the last tap */

/* What was gathered while the ticks sounded. */
typedef struct gathered {
    double taps_s[TAPS_MAX];
    size_t n_taps;
    double starts_s[POLLS_MAX]; /* when the first sample was heard, as each poll says */
    size_t n_starts;
} gathered;

static bool gather_keys(const sources_run *r, gathered *g)
{
    live_key keys[KEYS_AT_ONCE];
    const size_t n = live_keys_take(r->keys, keys, KEYS_AT_ONCE, POLL_S);
    for (size_t i = 0; i < n; i++) {
        if (keys[i].byte == 'q') {
            return false;
        }
        if (keys[i].byte != LIVE_KEY_END && g->n_taps < TAPS_MAX) {
            g->taps_s[g->n_taps] = keys[i].monotonic_s;
            g->n_taps++;
        }
    }
    return !interrupt_asked();
}

/* Play, and note keys and how far it is heard. */
static bool gather(
    const sources_run *r, player *p, int64_t n, gathered *g, app_err *err)
{
    double until_s = (double)INFINITY;
    while (steady_now_s() < until_s) {
        if (!gather_keys(r, g)) {
            return app_err_set(err, APP_INTERRUPTED, "stopped");
        }
        if (!player_alive(p)) {
            return app_err_set(err, APP_FAILED,
                               "the output is gone or stands still; see that it is "
                               "plugged in, and try again");
        }
        const double now_s = steady_now_s();
        const int64_t heard = player_heard(p);
        if (heard > 0 && heard < n && g->n_starts < POLLS_MAX) {
            g->starts_s[g->n_starts] = now_s - (double)heard / player_rate_hz(p);
            g->n_starts++;
        }
        if (heard >= n && isinf(until_s)) {
            until_s = now_s + AFTER_S;
        }
    }
    return true;
}

static bool play_and_gather(const sources_run *r, gathered *g, app_err *err)
{
    const device *const output = devices_find(r->d, NULL, true, err);
    player *const p = output != NULL
                          ? player_open(output->index, output->default_rate_hz, err)
                          : NULL;
    if (p == NULL) {
        return false;
    }
    const int64_t n = tap_test_samples(player_rate_hz(p));
    float *const ticks = calloc((size_t)n, sizeof *ticks);
    bool ok = ticks != NULL || app_err_memory(err);
    if (ok) {
        tap_test_make(player_rate_hz(p), ticks);
        player_start(p, ticks, n, 0);
        ok = gather(r, p, n, g, err);
        player_stop(p);
    }
    if (!player_close(p)) {
        sources_hang(r);
    }
    free(ticks);
    return ok;
}

static bool judge(gathered *g, tap_test_result *out, app_err *err)
{
    if (g->n_starts == 0) {
        return app_err_set(err, APP_FAILED, "the output did not say what was heard");
    }
    fm_sort_ascending(g->starts_s, g->n_starts);
    *out = tap_test_judge(g->starts_s[g->n_starts / 2], g->taps_s, g->n_taps);
    return true;
}

static bool refuse(const tap_test_result *r, app_err *err)
{
    if (r->pairs < TAP_TEST_PAIRS_MIN) {
        return app_err_set(
            err, APP_FAILED,
            "nothing was remembered: %zu of %d ticks were tapped, and %d "
            "are needed; tap once with every tick",
            r->pairs, TAP_TEST_TICKS - TAP_TEST_FIRST, TAP_TEST_PAIRS_MIN);
    }
    return app_err_set(
        err, APP_FAILED,
        "nothing was remembered: your taps lie %.0f ms around the ticks, "
        "and %.0f is the most; listen for a while first, then tap along",
        1000.0 * r->scatter_s, 1000.0 * TAP_TEST_SCATTER_MAX_S);
}

int sources_tap_test(const sources_run *r, app_err *err)
{
    const char *const key = sources_key(r, err);
    gathered *const g = calloc(1, sizeof *g);
    tap_test_result result = {.ok = false};
    bool ok = false;
    if (g == NULL) {
        (void)app_err_memory(err);
    } else if (key != NULL) {
        sources_say("You will hear 24 even ticks. Tap any key but q once with each.");
        ok = play_and_gather(r, g, err) && judge(g, &result, err);
    }
    free(g);
    if (!ok || (!result.ok && !refuse(&result, err))) {
        return APP_FAILED;
    }
    const bool set =
        settings_set_number_of(r->s, SETTINGS_TAP_DELAY_S, key, result.lag_s);
    if (!sources_remember(r, set, key, err)) {
        return APP_FAILED;
    }
    (void)printf(
        "Your taps come %.0f ms after the ticks (%zu taps, %.0f ms around that).\n",
        1000.0 * result.lag_s, result.pairs, 1000.0 * result.scatter_s);
    say_named(stdout, "This is remembered for ", key, " and taken off your taps.\n");
    return APP_DONE;
}
