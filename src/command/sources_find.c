/* Finding the chest piece's input: all are opened, one jumps. */
#include "src/command/say.h"
#include "src/command/sources_private.h"
#include "src/port/steady.h"

#include "src/usecase/find_source.h"

#include <math.h>
#include <stdio.h>

enum {
    INPUTS_MAX = 16,
    LINE_BYTES = 80
};

static const double STEP_S = 0.1;
static const double SETTLE_S = 1.5;

/* One that is open, and which device it is. */
typedef struct listener {
    input_meter *m;
    const device *d;
    find_candidate found;
} listener;

typedef struct listeners {
    listener list[INPUTS_MAX];
    size_t n;
} listeners;

/* What cannot be opened (in use, no permission) cannot be it: it is left out and told. */
static void open_all(const sources_run *r, listeners *all)
{
    for (size_t i = 0; i < r->d->n && all->n < INPUTS_MAX; i++) {
        const device *const d = &r->d->list[i];
        app_err why = APP_ERR_NONE;
        if (d->inputs == 0) {
            continue;
        }
        input_meter *const m = input_meter_open(d, NULL, r->channel, &why);
        if (m == NULL) {
            say_named(stdout, "Left out: ", d->key, " (it cannot be opened now)\n");
            continue;
        }
        all->list[all->n] = (listener){.m = m, .d = d};
        all->list[all->n].found.is_default = d->default_input;
        all->n++;
    }
}

static void close_all(const sources_run *r, listeners *all)
{
    for (size_t i = 0; i < all->n; i++) {
        sources_close(r, all->list[i].m);
    }
}

/* By our own clock: one silent input must not hold up the rest. */
static bool wait_for(const sources_run *r,
                     const char *what,
                     double seconds,
                     app_err *err)
{
    char line[LINE_BYTES];
    const double until_s = steady_now_s() + seconds;
    for (double left_s = seconds; left_s > 0.0; left_s = until_s - steady_now_s()) {
        (void)snprintf(line, sizeof line, "%s %2.0f s", what, ceil(left_s));
        sources_draw(r, line);
        if (!sources_wait(r, fmin(STEP_S, left_s), NULL)) {
            return app_err_set(err, APP_INTERRUPTED, "stopped");
        }
    }
    sources_draw(r, "");
    return true;
}

static void reset_all(listeners *all)
{
    for (size_t i = 0; i < all->n; i++) {
        input_meter_reset(all->list[i].m);
    }
}

static bool listen_to_all(const sources_run *r, listeners *all, app_err *err)
{
    sources_say("Lay the chest piece down and let it be quiet.");
    if (!wait_for(r, "quiet", SETTLE_S, err)) {
        return false;
    }
    reset_all(all);
    if (!wait_for(r, "quiet", FIND_REST_S, err)) {
        return false;
    }
    for (size_t i = 0; i < all->n; i++) {
        all->list[i].found.measured =
            input_meter_measure(all->list[i].m, &all->list[i].found.rest);
    }
    sources_say("Now rub the chest piece gently with a finger, until told to stop.");
    reset_all(all);
    if (!wait_for(r, "rub  ", FIND_RUB_S, err)) {
        return false;
    }
    for (size_t i = 0; i < all->n; i++) {
        all->list[i].found.measured =
            all->list[i].found.measured &&
            input_meter_measure(all->list[i].m, &all->list[i].found.rub);
    }
    (void)puts("Stop.\n");
    return true;
}

static const device *pick(const listeners *all)
{
    find_candidate candidates[INPUTS_MAX];
    for (size_t i = 0; i < all->n; i++) {
        candidates[i] = all->list[i].found;
    }
    const int picked = find_source_pick(candidates, all->n);
    return picked >= 0 ? all->list[picked].d : NULL;
}

int sources_find(sources_run *r, app_err *err)
{
    listeners all = {.n = 0};
    open_all(r, &all);
    if (all.n == 0) {
        sources_say_none();
        return APP_DONE;
    }
    const bool heard = listen_to_all(r, &all, err);
    const device *const found = heard ? pick(&all) : NULL;
    close_all(r, &all);
    if (!heard) {
        return APP_FAILED;
    }
    if (found == NULL) {
        (void)app_err_set(err, APP_FAILED,
                          "no input jumped; see that the chest piece is plugged in and "
                          "switched on, and rub its flat side with a finger");
        return APP_FAILED;
    }
    say_named(stdout, "The chest piece is ", found->key, ". It is remembered.\n\n");
    const bool set = settings_set_text(r->s, SETTINGS_INPUT, found->key);
    if (!sources_remember(r, set, found->key, err)) {
        return APP_FAILED;
    }
    r->input = found->key;
    return sources_place(r, err);
}
