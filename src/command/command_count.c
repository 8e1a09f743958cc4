/* count: one recording in, the full-minute apical count out. */
#include "dsp/analyser.h"
#include "src/base/interrupt.h"
#include "src/base/progress.h"
#include "src/base/text.h"
#include "src/command/age.h"
#include "src/command/command.h"
#include "src/command/live_run.h"
#include "src/document/document_parts.h"
#include "src/report/count_document.h"
#include "src/report/count_picture.h"
#include "src/report/count_text.h"
#include "src/report/picture.h"
#include "src/sitting/analyse_file.h"
#include "src/sitting/sitting_windows.h"
#include "src/sound/sound_export.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char *const SECONDS_WORDS[] = {"whole", NULL};

static const option_spec OPTIONS[] = {
    {"json", OPTION_FLAG, NULL,
     "print the count document (fullminute.count/1), one line a window", 0, 0, NULL},
    {"picture", OPTION_TEXT, "FILE",
     "also draw the minute dial and the interval strip, as .svg or .png", 0, 0, NULL},
    ANALYSE_OPTION_START,
    {"seconds", OPTION_NUMBER, "S|whole",
     "length of the window, 1 to 60 s (default 60), or 'whole': a row of minutes up to "
     "the "
     "end, one line each",
     1.0, FM_WINDOW_MAX_S, SECONDS_WORDS},
    ANALYSE_OPTION_CHANNEL,
    ANALYSE_OPTION_FIRST_BEAT,
    ANALYSE_OPTION_BREATH_WINDOW,
    AGE_OPTION,
    ANALYSE_OPTION_NO_SITTING,
    LIVE_OPTION_LIVE,
    LIVE_OPTIONS_INPUT,
    {"open", OPTION_FLAG, NULL,
     "with --live: show each heart sound as it comes, for teaching; a mark may be "
     "wrong",
     0, 0, NULL},
    {"until-stopped", OPTION_FLAG, NULL,
     "with --live: a row of minutes until q is pressed, one line each", 0, 0, NULL},
    {"flac", OPTION_TEXT, "FILE",
     "also write the whole recording as FLAC of 16 bits: about half the size, and of a "
     "live recording nothing is lost",
     0, 0, NULL},
    {"force", OPTION_FLAG, NULL, "replace the picture or the FLAC file if it exists", 0,
     0, NULL},
    {NULL, OPTION_FLAG, NULL, NULL, 0, 0, NULL},
};

/* What the windows given out so far come to. */
struct tally {
    bool json;
    bool row;
    int counted;
    int refused;
    bool worrying;
    bool truncated;
    progress shown; /* how far a row has come */
};

static bool print_document(const analysed *result, app_err *err)
{
    json_t *const document = count_document_build(&result->source, &result->count);
    char *const text = document != NULL ? document_format(document) : NULL;
    const bool ok = text != NULL || app_err_set(err, APP_FAILED, "out of memory");
    if (ok) {
        (void)puts(text);
    }
    free(text);
    json_decref(document);
    return ok;
}

static bool take_result(void *context, const analysed *result, app_err *err)
{
    struct tally *const tally = context;
    const bool refused = result->count.heart.status == FM_REFUSED;
    tally->refused += refused;
    tally->counted += !refused;
    tally->worrying |= count_text_is_worrying(&result->source, &result->count);
    tally->truncated |= result->source.truncated;
    if (tally->row) {
        progress_show(&tally->shown, result->count.window.end_s,
                      result->source.duration_s);
    }
    if (tally->json) {
        return print_document(result, err);
    }
    if (tally->row) {
        count_text_print_row(&result->source, &result->count, stdout);
    } else {
        count_text_print(&result->source, &result->count, stdout);
    }
    return true;
}

static void warn(const char *path, const struct tally *tally)
{
    if (!tally->truncated) {
        return;
    }
    (void)fputs("fullminute count: warning: ", stderr);
    text_print_clean(strcmp(path, "-") == 0 ? "standard input" : path, stderr);
    (void)fputs(
        " is truncated: its header promises more than there is; what is there was "
        "counted, copy it again if it should be longer\n",
        stderr);
}

static int count_row(const analyse_request *request, struct tally *tally, app_err *err)
{
    tally->shown = progress_start("counting");
    const bool ok = analyse_file(request, take_result, tally, err);
    progress_end(&tally->shown);
    if (!ok) {
        return APP_FAILED;
    }
    if (!tally->json) {
        count_text_print_cautions(tally->refused > 0, tally->worrying, stdout);
        (void)fputs("\nFor learning and research; not a medical device.\n", stdout);
    }
    return tally->counted > 0 ? APP_DONE : APP_REFUSED;
}

static int count_window(const analyse_request *request,
                        struct tally *tally,
                        const options *o,
                        app_err *err)
{
    const char *const drawing = options_text(o, "picture", NULL);
    if (drawing != NULL && (!picture_path_check(drawing, err) ||
                            !picture_input_check(drawing, request->path, err))) {
        return APP_USAGE;
    }
    analysed *const result = analyse_file_window(request, err);
    if (result == NULL) {
        return APP_FAILED;
    }
    const bool ok = (drawing == NULL ||
                     count_picture_write(&result->source, &result->count, drawing,
                                         options_given(o, "force"), err)) &&
                    take_result(tally, result, err);
    free(result);
    if (!ok) {
        return APP_FAILED;
    }
    return tally->counted > 0 ? APP_DONE : APP_REFUSED;
}

/* A live sitting may hold a row of minutes. */
static bool look_for_sitting(analyse_request *request, app_err *err)
{
    sitting_document d;
    bool found = false;
    if (!request->use_sitting) {
        return true;
    }
    if (!sitting_windows_find(request->path, &d, &found, err)) {
        return false;
    }
    sitting_windows_apply(&d, request);
    sitting_document_free(&d);
    return true;
}

static int count_recording(const options *o, const char *path, app_err *err)
{
    analyse_request request = analyse_request_default(path);
    analyse_request_from_options(&request, o);
    const char *const age = options_text(o, "age", NULL);
    request.age_known = age != NULL;
    if (age != NULL && !age_parse(age, &request.age_months, err)) {
        return APP_USAGE;
    }
    if (!options_given(o, "live")) { /* live: the seconds are those of the sitting */
        request.seconds = options_number(o, "seconds", request.seconds);
        request.seconds_given = options_given(o, "seconds");
        request.whole = options_is(o, "seconds", "whole");
    }
    if (!look_for_sitting(&request, err)) {
        return APP_UNREADABLE;
    }
    struct tally tally = {.json = options_given(o, "json"), .row = request.whole};
    if (request.whole && options_given(o, "picture")) {
        (void)app_err_set(err, APP_USAGE,
                          "--picture shows one minute and --seconds whole counts many; "
                          "pick one with --start");
        return APP_USAGE;
    }
    if (request.whole && options_given(o, "first-beat")) {
        (void)app_err_set(
            err, APP_USAGE,
            "--first-beat starts one window and --seconds whole counts a row "
            "on the clock; use one of them");
        return APP_USAGE;
    }
    if (request.whole && (request.breath_window == BREATH_WINDOW_NEXT ||
                          request.breath_window == BREATH_WINDOW_AT)) {
        (void)app_err_set(err, APP_USAGE,
                          "--breath-window gives respirations one window and --seconds "
                          "whole counts them in every one; leave it out");
        return APP_USAGE;
    }
    const int status = request.whole ? count_row(&request, &tally, err)
                                     : count_window(&request, &tally, o, err);
    warn(request.path, &tally);
    const char *const flac = options_text(o, "flac", NULL);
    const bool counted = status == APP_DONE || status == APP_REFUSED;
    if (counted && flac != NULL &&
        !sound_export_flac(path, flac, options_given(o, "force"), err)) {
        return APP_FAILED;
    }
    return status;
}

static bool read_plan(live_plan *plan, const options *o, app_err *err)
{
    const double seconds = options_number(o, "seconds", 60.0);
    const int whole = (int)seconds;
    live_run_plan(plan, o);
    plan->checked = false;
    plan->breath = false;
    plan->marks = options_given(o, "open");
    plan->until_stopped = options_given(o, "until-stopped");
    plan->seconds = whole;
    if (options_is(o, "seconds", "whole") || (double)whole < seconds ||
        (whole != 15 && whole != 30 && whole != 60)) {
        return app_err_set(
            err, APP_USAGE,
            "--seconds: a live count takes 15, 30 or 60; --until-stopped "
            "counts a row of minutes");
    }
    if (options_given(o, "start")) {
        return app_err_set(err, APP_USAGE,
                           "--start is for a file; a live minute starts when you are "
                           "ready");
    }
    return true;
}

/* Record first; the count is then that of the recording, as for any file. */
static int count_live(const options *o, app_err *err)
{
    live_plan plan = live_plan_default();
    char *path = NULL;
    bool hung = false;
    if (!read_plan(&plan, o, err)) {
        return APP_USAGE;
    }
    const live_outcome outcome = live_run(&plan, &path, &hung, err);
    int status = APP_FAILED;
    live_run_say("count",
                 interrupt_asked() ? LIVE_OUTCOME_STOPPED : LIVE_OUTCOME_COMPLETE,
                 path);
    if (interrupt_asked()) {
        *err = (app_err)APP_ERR_NONE;
        status = APP_INTERRUPTED;
    } else if (outcome != LIVE_OUTCOME_FAILED && path != NULL) {
        status = count_recording(o, path, err);
    }
    live_run_leave(hung, status, err);
    free(path);
    return status;
}

static int run(const options *o, app_err *err)
{
    const bool live = options_given(o, "live");
    if (!live_run_check(o, live, err)) {
        return APP_USAGE;
    }
    if (!live && (options_given(o, "open") || options_given(o, "until-stopped"))) {
        (void)app_err_set(err, APP_USAGE, "--open and --until-stopped go with --live");
        return APP_USAGE;
    }
    if (!live && o->n_operands == 0) {
        (void)app_err_set(err, APP_USAGE,
                          "no recording named; usage: fullminute count FILE [options], "
                          "or fullminute count --live");
        return APP_USAGE;
    }
    return live ? count_live(o, err) : count_recording(o, o->operands[0], err);
}

const struct command command_count = {
    .name = "count",
    .summary = "Count the apical pulse and the respirations in one recording",
    .usage = "FILE [options], or count --live",
    .details =
        "FILE is a sound file (WAV, FLAC, Ogg, MP3 and others), or - for standard "
        "input.\n"
        "It needs no marks: the first minute is counted, or less where there is less,\n"
        "which is then called a short count. What cannot be counted is refused, with "
        "the\n"
        "reason: no number is better than a wrong one. Respirations are counted from "
        "the\nsame sound, in the next minute where there is one (see "
        "--breath-window).\n",
    .options = OPTIONS,
    .min_operands = 0,
    .max_operands = 1,
    .exits = "  4    the heart sound cannot be counted (with 'whole': in none of the "
             "windows)\n",
    .run = run,
};
