/* Placing: ten seconds of hush, ten on the chest, one finding. */
#include "src/command/say.h"
#include "src/command/sources_private.h"

#include "src/usecase/placement_check.h"

#include <math.h>
#include <stdio.h>

enum {
    METER_BYTES = 64,
    LINE_BYTES = 128
};

static const double STEP_S = 0.1;
static const double SETTLE_S =
    1.0; /* an input's first second may be zeros or a thump */
static const double MOVE_S =
    5.0; /* to put it on the chest, where no key can be pressed */

/* Listen for some seconds, with the time left and the level in one line. */
static bool listen(const sources_run *r,
                   input_meter *m,
                   const char *what,
                   double seconds,
                   app_err *err)
{
    input_meter_reset(m);
    for (;;) {
        const double left_s = seconds - input_meter_seconds(m);
        fm_placement_frame last;
        char meter[METER_BYTES] = "";
        char line[LINE_BYTES];
        if (left_s <= 0.0) {
            sources_draw(r, "");
            return true;
        }
        if (input_meter_last(m, &last)) {
            placement_meter_line(&last, meter, sizeof meter);
        }
        (void)snprintf(line, sizeof line, "%s %2.0f s  %s", what, ceil(left_s), meter);
        sources_draw(r, line);
        if (!sources_check(m, err)) {
            return false;
        }
        if (input_meter_state(m).health == CAPTURE_ENDED) {
            return app_err_set(
                err, APP_UNREADABLE,
                "the recording ended too early: %.0f s of quiet, %.0f s to "
                "move and %.0f s on the chest are needed",
                SETTLE_S + PLACING_HUSH_S, MOVE_S, PLACING_CHEST_S);
        }
        if (!sources_wait(r, STEP_S, NULL)) {
            return app_err_set(err, APP_INTERRUPTED, "stopped");
        }
    }
}

/* Until Enter on a terminal; else some seconds. */
static bool move(const sources_run *r, input_meter *m, app_err *err)
{
    sources_say(
        "Step 2: put the chest piece on the chest, over the apex, and hold it still.");
    if (!live_keys_raw(r->keys)) {
        return listen(r, m, "move ", MOVE_S, err);
    }
    sources_say("Then press Enter.");
    bool enter = false;
    while (!enter) {
        if (!sources_wait(r, STEP_S, &enter)) {
            return app_err_set(err, APP_INTERRUPTED, "stopped");
        }
        if (!sources_check(m, err)) {
            return false;
        }
    }
    /* The key was pressed with the hand that holds still now. */
    return listen(r, m, "still", SETTLE_S, err);
}

static bool measure(input_meter *m, fm_placement_measures *out, app_err *err)
{
    return input_meter_measure(m, out) ||
           app_err_set(err, APP_FAILED, "the input has delivered too little sound");
}

static bool go_through(const sources_run *r,
                       input_meter *m,
                       fm_placement_measures *hush,
                       fm_placement_measures *chest,
                       app_err *err)
{
    sources_say(
        "Step 1: hold the chest piece in the air, still and quiet, for ten seconds.");
    if (!listen(r, m, "hush ", SETTLE_S, err) ||
        !listen(r, m, "hush ", PLACING_HUSH_S, err) || !measure(m, hush, err) ||
        !move(r, m, err)) {
        return false;
    }
    return listen(r, m, "chest", PLACING_CHEST_S, err) && measure(m, chest, err);
}

/* The name that the system gives the input, for what it gives away. */
static fm_placement_hints hints_of(const sources_run *r, const char *key)
{
    for (size_t i = 0; i < r->d->n; i++) {
        if (r->d->list[i].key == key) {
            return placement_hints(r->d->list[i].name);
        }
    }
    return (fm_placement_hints){false, false};
}

int sources_place(const sources_run *r, app_err *err)
{
    const char *key = NULL;
    fm_placement_measures hush;
    fm_placement_measures chest;
    input_meter *const m = sources_open(r, &key, err);
    if (m == NULL) {
        return APP_FAILED;
    }
    say_named(stdout, "Placing the chest piece, with ", key, ". q stops.\n");
    const fm_placement_hints hints = hints_of(r, key);
    const bool ok = go_through(r, m, &hush, &chest, err);
    sources_close(r, m);
    if (!ok) {
        sources_draw(r, "");
        return APP_FAILED;
    }
    const placement_advice advice =
        placement_advise(fm_placement_decide(&hush, &chest, hints));
    (void)putchar('\n');
    sources_say(advice.found);
    sources_say(advice.what_to_do);
    return APP_DONE;
}
