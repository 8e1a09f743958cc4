/* sources: the inputs and outputs of this computer, and which one is the chest piece. */
#include "src/base/text.h"
#include "src/command/command.h"
#include "src/command/sources_private.h"

#include <math.h>
#include <stdio.h>
#include <unistd.h>

static const option_spec OPTIONS[] = {
    {"find", OPTION_FLAG, NULL,
     "find the input that the chest piece is on, remember it, then place it", 0, 0,
     NULL},
    {"place", OPTION_FLAG, NULL,
     "ten seconds of hush and ten on the chest say how well the chest piece lies", 0, 0,
     NULL},
    {"meter", OPTION_FLAG, NULL, "show the level live; not for a checked count", 0, 0,
     NULL},
    {"tap-test", OPTION_FLAG, NULL,
     "measure how late your taps come, and remember it for this input", 0, 0, NULL},
    {"input", OPTION_TEXT, "NAME",
     "an input of the list, or file:PATH for a recording in its place (default: the "
     "remembered one, else the system's)",
     0, 0, NULL},
    {"input-channel", OPTION_WHOLE, "N", "channel of the input, from 1 (default 1)",
     1.0, 8.0, NULL},
    {"seconds", OPTION_NUMBER, "S", "how long --meter runs, in seconds", 0.5, 86400.0,
     NULL},
    {"json", OPTION_FLAG, NULL, "print the list as a JSON document", 0, 0, NULL},
    {NULL, OPTION_FLAG, NULL, NULL, 0, 0, NULL},
};

static int count_parts(const options *o)
{
    return (int)options_given(o, "find") + (int)options_given(o, "place") +
           (int)options_given(o, "meter") + (int)options_given(o, "tap-test") +
           (int)options_given(o, "json");
}

static bool check_usage(const options *o, app_err *err)
{
    if (count_parts(o) > 1) {
        return app_err_set(err, APP_USAGE,
                           "--find, --place, --meter, --tap-test and --json: one at a "
                           "time");
    }
    if (options_given(o, "seconds") && !options_given(o, "meter")) {
        return app_err_set(err, APP_USAGE, "--seconds belongs to --meter");
    }
    if (options_given(o, "find") && options_given(o, "input")) {
        return app_err_set(err, APP_USAGE,
                           "--find listens to every input; leave --input out");
    }
    return true;
}

static int listen(const options *o, sources_run *r, app_err *err)
{
    r->keys = live_keys_open(STDERR_FILENO, err);
    if (r->keys == NULL) {
        return APP_FAILED;
    }
    r->screen = isatty(STDOUT_FILENO) == 1;
    const int status = options_given(o, "find")    ? sources_find(r, err)
                       : options_given(o, "place") ? sources_place(r, err)
                       : options_given(o, "meter") ? sources_meter(r, err)
                                                   : sources_tap_test(r, err);
    live_keys_close(r->keys);
    return status;
}

static int with_settings(const options *o, settings *s, app_err *err)
{
    const bool listing = count_parts(o) == 0 || options_given(o, "json");
    devices d;
    if (!devices_open(&d, listing, err)) {
        return APP_FAILED;
    }
    sources_run r = {.d = &d,
                     .s = s,
                     .input = options_text(o, "input", NULL),
                     .channel = (int)options_whole(o, "input-channel", 0),
                     .seconds = options_number(o, "seconds", (double)NAN)};
    const int status = listing ? sources_list(&d, s, options_given(o, "json"), err)
                               : listen(o, &r, err);
    devices_close(&d);
    return status;
}

static int run(const options *o, app_err *err)
{
    if (!check_usage(o, err)) {
        return APP_USAGE;
    }
    settings *const s = settings_load(err);
    if (s == NULL) {
        return APP_FAILED;
    }
    if (settings_note(s) != NULL) {
        (void)fputs("fullminute sources: note: ", stderr);
        text_print_clean(settings_note(s), stderr);
        (void)fputc('\n', stderr);
    }
    const int status = with_settings(o, s, err);
    settings_free(s);
    return status;
}

const struct command command_sources = {
    .name = "sources",
    .summary = "List the sound inputs and outputs, and find the chest piece",
    .usage = "[options]",
    .details =
        "Each input has a name to choose it by (--input NAME) that stays the same\n"
        "from day to day. A computer without any input is no error: the way to use\n"
        "a recording is then shown. --place says one of: ready, too quiet, friction,\n"
        "clipping, voice processing, wireless call microphone, built-in microphone,\n"
        "and what to do about it.\n",
    .options = OPTIONS,
    .min_operands = 0,
    .max_operands = 0,
    .exits = NULL,
    .run = run,
};
