/* sources: the inputs and outputs of this computer, and which one is the chest piece. */
#include "src/command/command.h"
#include "src/command/say.h"
#include "src/command/sources_private.h"

#include <math.h>
#include <stdio.h>
#include <unistd.h>

typedef struct plan {
    sources_run run;
    bool find, place, meter, tap_test, json;
} plan;

static const option_spec OPTIONS[] = {
    {"find", NULL, OPTION_FLAG(plan, find),
     "find the input that the chest piece is on, remember it, then place it"},
    {"place", NULL, OPTION_FLAG(plan, place),
     "ten seconds of hush and ten on the chest say how well the chest piece lies"},
    {"meter", NULL, OPTION_FLAG(plan, meter),
     "show the level live; not for a checked count"},
    {"tap-test", NULL, OPTION_FLAG(plan, tap_test),
     "measure how late your taps come, and remember it for this input"},
    {"input", "NAME", OPTION_TEXT(plan, run.input),
     "an input of the list, or file:PATH for a recording in its place (default: the "
     "remembered one, else the system's)"},
    {"input-channel", "N", OPTION_NUMBER(plan, run.channel, 1.0, 8.0),
     "channel of the input, from 1 (default 1)"},
    {"seconds", "S", OPTION_NUMBER(plan, run.seconds, 0.5, 86400.0),
     "how long --meter runs, in seconds"},
    {"json", NULL, OPTION_FLAG(plan, json), "print the list as a JSON document"},
    OPTIONS_END,
};

static bool check_usage(const plan *p, app_err *err)
{
    if (p->find + p->place + p->meter + p->tap_test + p->json > 1) {
        return app_err_set(err, APP_USAGE,
                           "--find, --place, --meter, --tap-test and --json: one at a "
                           "time");
    }
    if (!isnan(p->run.seconds) && !p->meter) {
        return app_err_set(err, APP_USAGE, "--seconds belongs to --meter");
    }
    return !p->find || p->run.input == NULL ||
           app_err_set(err, APP_USAGE,
                       "--find listens to every input; leave --input out");
}

static int listen(plan *p, app_err *err)
{
    sources_run *const r = &p->run;
    r->keys = live_keys_open(STDERR_FILENO, err);
    if (r->keys == NULL) {
        return APP_FAILED;
    }
    r->screen = isatty(STDOUT_FILENO) == 1;
    const int status = p->find    ? sources_find(r, err)
                       : p->place ? sources_place(r, err)
                       : p->meter ? sources_meter(r, err)
                                  : sources_tap_test(r, err);
    live_keys_close(r->keys);
    return status;
}

static int with_settings(plan *p, settings *s, app_err *err)
{
    const bool listing = !p->find && !p->place && !p->meter && !p->tap_test;
    devices d;
    if (!devices_open(&d, listing, err)) {
        return APP_FAILED;
    }
    p->run.d = &d;
    p->run.s = s;
    const int status = listing ? sources_list(&d, s, p->json, err) : listen(p, err);
    devices_close(&d);
    p->run.d = NULL;
    return status;
}

static int run(const options *o, app_err *err)
{
    plan p = {.run = {.seconds = (double)NAN}};
    if (!options_fill(o, &p, err) || !check_usage(&p, err)) {
        return APP_USAGE;
    }
    settings *const s = settings_load(err);
    if (s == NULL) {
        return APP_FAILED;
    }
    if (settings_note(s) != NULL) {
        say_named(stderr, "fullminute sources: note: ", settings_note(s), "\n");
    }
    const int status = with_settings(&p, s, err);
    settings_free(s);
    return status;
}

static const char DETAILS[] =
    "Each input has a name to choose it by (--input NAME) that stays the same\n"
    "from day to day. A computer without any input is no error: the way to use\n"
    "a recording is then shown. --place says one of: ready, too quiet, friction,\n"
    "clipping, voice processing, wireless call microphone, built-in microphone,\n"
    "and what to do about it.\n";

const struct command command_sources = {
    .name = "sources",
    .summary = "List the sound inputs and outputs, and find the chest piece",
    .usage = "[options]",
    .details = DETAILS,
    .options = OPTIONS,
    .run = run,
};
