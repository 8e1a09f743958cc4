/* The live meter of `sources`, and what all its listening parts share. */
#include "src/base/bytes.h"
#include "src/command/say.h"
#include "src/command/sources_private.h"

#include "src/port/interrupt.h"
#include "src/usecase/placement_check.h"
#include "src/words/lines.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
    CTRL_C = 3,
    KEYS_AT_ONCE = 16,
    METER_BYTES = 64,
    LINE_BYTES = 128
};

static const double STEP_S = 0.1;
static const double HINT_S = 4.0;  /* what the hint looks back on */
static const double PLAIN_S = 1.0; /* between lines that are not drawn in place */

void sources_say(const char *text)
{
    lines to = BYTES_NONE;
    lines_add(&to, 0, "%s", text);
    char *const said = bytes_take(&to, NULL);
    (void)fputs(said != NULL ? said : text, stdout);
    (void)fflush(stdout);
    free(said);
}

void sources_draw(const sources_run *r, const char *line)
{
    if (r->screen) {
        /* back to the start of the line, and the old one away */
        (void)printf("\r\033[K%s", line);
        (void)fflush(stdout);
    }
}

bool sources_wait(const sources_run *r, double seconds, bool *enter)
{
    live_key keys[KEYS_AT_ONCE];
    const size_t n = live_keys_take(r->keys, keys, KEYS_AT_ONCE, seconds);
    bool on = !interrupt_asked();
    for (size_t i = 0; i < n; i++) {
        const int key = keys[i].byte;
        on = on && key != 'q' && key != 'Q' && key != CTRL_C;
        if (enter != NULL && (key == '\n' || key == '\r' || key == ' ')) {
            *enter = true;
        }
    }
    return on;
}

static const device *find_remembered(const sources_run *r)
{
    const char *const key = settings_text(r->s, SETTINGS_INPUT);
    for (size_t i = 0; key != NULL && i < r->d->n; i++) {
        if (r->d->list[i].inputs > 0 && strcmp(r->d->list[i].key, key) == 0) {
            return &r->d->list[i];
        }
    }
    return NULL;
}

/* NULL for a file, with its name as key. */
static const device *choose(const sources_run *r, const char **key, app_err *err)
{
    if (input_meter_file(r->input) != NULL) {
        *key = r->input;
        return NULL;
    }
    const device *const known = r->input == NULL ? find_remembered(r) : NULL;
    const device *const found =
        known != NULL ? known : devices_find(r->d, r->input, false, err);
    *key = found != NULL ? found->key : NULL;
    return found;
}

const char *sources_key(const sources_run *r, app_err *err)
{
    const char *key = NULL;
    (void)choose(r, &key, err);
    return key;
}

input_meter *sources_open(const sources_run *r, const char **key, app_err *err)
{
    const device *const d = choose(r, key, err);
    return *key != NULL
               ? input_meter_open(d, input_meter_file(r->input), r->channel, err)
               : NULL;
}

void sources_hang(const sources_run *r)
{
    live_keys_close(r->keys);
    (void)fflush(stdout);
    (void)fputs("fullminute sources: the sound system hangs and could not be closed; "
                "start it again\n",
                stderr);
    _exit(APP_FAILED);
}

void sources_close(const sources_run *r, input_meter *m)
{
    if (!input_meter_close(m)) {
        sources_hang(r);
    }
}

bool sources_remember(const sources_run *r, bool set, const char *key, app_err *err)
{
    return (set || app_err_set(err, APP_FAILED,
                               "cannot remember %s: its name is no UTF-8", key)) &&
           settings_save(r->s, err);
}

bool sources_check(const input_meter *m, app_err *err)
{
    switch (input_meter_state(m).health) {
    case CAPTURE_LOST:
        return app_err_set(
            err, APP_FAILED,
            "the input is gone; see that it is plugged in, and try again");
    case CAPTURE_STALLED:
        return app_err_set(
            err, APP_FAILED,
            "the input delivers nothing; unplug it and plug it in again, "
            "or choose another one");
    case CAPTURE_STARTING:
    case CAPTURE_RUNNING:
    case CAPTURE_ENDED:
        break;
    }
    return true;
}

static void show(const sources_run *r, const fm_placement_frame *last, const char *hint)
{
    char meter[METER_BYTES];
    char line[LINE_BYTES];
    placement_meter_line(last, meter, sizeof meter);
    (void)snprintf(line, sizeof line, "%s %.22s", meter, hint);
    if (r->screen) {
        sources_draw(r, line);
    } else {
        (void)puts(line);
        (void)fflush(stdout);
    }
}

static bool run_meter(const sources_run *r, input_meter *m, app_err *err)
{
    const char *hint = "";
    double hinted_s = 0.0;
    double shown_s = 0.0;
    for (;;) {
        fm_placement_frame last;
        fm_placement_measures measures;
        const double now_s = input_meter_clock_s(m);
        const bool ended = input_meter_state(m).health == CAPTURE_ENDED;
        if (now_s - hinted_s >= HINT_S && input_meter_measure(m, &measures)) {
            hint = placement_hint(&measures);
            hinted_s = now_s;
            input_meter_reset(m);
        }
        if ((r->screen || now_s - shown_s >= PLAIN_S || ended) &&
            input_meter_last(m, &last)) {
            show(r, &last, hint);
            shown_s = now_s;
        }
        if (!sources_check(m, err)) {
            return false;
        }
        if (ended || now_s >= r->seconds || !sources_wait(r, STEP_S, NULL)) {
            return true;
        }
    }
}

int sources_meter(const sources_run *r, app_err *err)
{
    const char *key = NULL;
    input_meter *const m = sources_open(r, &key, err);
    if (m == NULL) {
        return APP_FAILED;
    }
    say_named(stdout, "Level of ", key,
              r->screen ? ". Press q to stop.\n" : ". Stop with Ctrl-C.\n");
    const bool ok = run_meter(r, m, err);
    if (r->screen) {
        (void)putchar('\n');
    }
    sources_close(r, m);
    return ok && interrupt_check(err) ? APP_DONE : APP_FAILED;
}
