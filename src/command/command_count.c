/* count: one recording in, the full-minute apical count out. */
#include "src/command/age.h"
#include "src/command/command.h"
#include "src/command/live_run.h"
#include "src/command/say.h"
#include "src/document/count_document.h"
#include "src/document/document_parts.h"
#include "src/host/percent_line.h"
#include "src/picture/picture.h"
#include "src/port/interrupt.h"
#include "src/sound/sound_export.h"
#include "src/usecase/analyse_file.h"
#include "src/usecase/picture_file.h"
#include "src/usecase/sitting_windows.h"
#include "src/words/count_text.h"
#include "src/words/said.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

typedef struct plan {
    analyse_request request;
    live_plan sitting;
    const char *picture; /* NULL: none */
    const char *flac;    /* NULL: none */
    bool json, live, force;
} plan;

static const field_word SECONDS_WORDS[] = {{"whole", (double)INFINITY}, {NULL, 0}};

static const option_spec OPTIONS[] = {
    {"json", NULL, OPTION_FLAG(plan, json),
     "print the count document (fullminute.count/1), one line a window"},
    {"picture", "FILE", OPTION_TEXT(plan, picture),
     "also draw the minute dial and the interval strip, as .svg or .png"},
    ANALYSE_OPTION_START(plan, request),
    {"seconds", "S|whole",
     OPTION_OR_WORD(plan, request.seconds, 1.0, FM_WINDOW_MAX_S, SECONDS_WORDS),
     "length of the window, 1 to 60 s (default 60), or 'whole': a row of minutes up to "
     "the end, one line each"},
    ANALYSE_OPTION_CHANNEL(plan, request),
    ANALYSE_OPTION_FIRST_BEAT(plan, request),
    ANALYSE_OPTION_BREATH_WINDOW(plan, request),
    AGE_OPTION(plan, request.age_months),
    ANALYSE_OPTION_NO_SITTING(plan, request),
    LIVE_OPTION_LIVE(plan, live),
    LIVE_OPTIONS_INPUT(plan, sitting),
    {"open", NULL, OPTION_FLAG(plan, sitting.marks),
     "with --live: show each heart sound as it comes, for teaching; a mark may be "
     "wrong"},
    {"until-stopped", NULL, OPTION_FLAG(plan, sitting.until_stopped),
     "with --live: a row of minutes until q is pressed, one line each"},
    {"flac", "FILE", OPTION_TEXT(plan, flac),
     "also write the whole recording as FLAC of 16 bits: about half the size, and of a "
     "live recording nothing is lost"},
    {"force", NULL, OPTION_FLAG(plan, force),
     "replace the picture or the FLAC file if it exists"},
    OPTIONS_END,
};

/* What the windows given out so far come to. */
struct tally {
    bool json;
    bool row;
    int counted;
    int refused;
    bool worrying;
    bool truncated;
    percent_line shown; /* how far a row has come */
};

static bool take_result(void *context, const analysed *result, app_err *err)
{
    struct tally *const tally = context;
    const bool refused = result->count.heart.count.status == FM_REFUSED;
    tally->refused += refused;
    tally->counted += !refused;
    tally->worrying |= count_text_is_worrying(&result->source, &result->count);
    tally->truncated |= result->source.truncated;
    if (tally->row) {
        percent_line_show(&tally->shown, result->count.heart.count.window.end_s,
                          result->source.duration_s);
    }
    if (tally->json) {
        return say_text(
            document_format_line(said_count(&result->source, &result->count), 0), err);
    }
    if (tally->row) {
        count_text_print_row(&result->source, &result->count, stdout);
    } else {
        count_text_print(&result->source, &result->count,
                         &(hint_voice){.words = TERMINAL_HINTS}, stdout);
    }
    return true;
}

static void warn(const char *path, const struct tally *tally)
{
    if (!tally->truncated) {
        return;
    }
    say_named(stderr, "fullminute count: warning: ",
              strcmp(path, "-") == 0 ? "standard input" : path,
              " is truncated: its header promises more than there is; what is there "
              "was counted, copy it again if it should be longer\n");
}

static int count_row(const analyse_request *request, struct tally *tally, app_err *err)
{
    tally->shown = percent_line_start("counting");
    const bool ok = analyse_file(request, take_result, tally, err);
    percent_line_end(&tally->shown);
    if (!ok) {
        return APP_FAILED;
    }
    if (!tally->json) {
        count_text_print_cautions(tally->refused > 0, tally->worrying, stdout);
        (void)fputs("\nFor learning and research; not a medical device.\n", stdout);
    }
    return tally->counted > 0 ? APP_DONE : APP_REFUSED;
}

static int count_window(const plan *p, struct tally *tally, app_err *err)
{
    const analyse_request *const request = &p->request;
    if (p->picture != NULL && (!picture_file_check_name(p->picture, err) ||
                               !picture_file_spares(p->picture, request->path, err))) {
        return APP_USAGE;
    }
    analysed *const result = analyse_file_window(request, err);
    if (result == NULL) {
        return APP_FAILED;
    }
    const bool ok =
        (p->picture == NULL ||
         picture_file_write(count_picture_format(&result->source, &result->count),
                            p->picture, p->force, err)) &&
        take_result(tally, result, err);
    free(result);
    if (!ok) {
        return APP_FAILED;
    }
    return tally->counted > 0 ? APP_DONE : APP_REFUSED;
}

/* What one window alone can have. */
static bool check_row(const plan *p, app_err *err)
{
    const analyse_request *const r = &p->request;
    if (!r->whole) {
        return true;
    }
    if (p->picture != NULL) {
        return app_err_set(err, APP_USAGE,
                           "--picture shows one minute and --seconds whole counts "
                           "many; pick one with --start");
    }
    if (r->convention != FM_CONVENTION_CLOCK) {
        return app_err_set(
            err, APP_USAGE,
            "--first-beat starts one window and --seconds whole counts a row "
            "on the clock; use one of them");
    }
    return (r->breath_window != BREATH_WINDOW_NEXT &&
            r->breath_window != BREATH_WINDOW_AT) ||
           app_err_set(err, APP_USAGE,
                       "--breath-window gives respirations one window and --seconds "
                       "whole counts them in every one; leave it out");
}

static int count_recording(plan *p, const char *path, app_err *err)
{
    analyse_request_settle(&p->request, path);
    if (!sitting_windows_take(&p->request, err)) { /* it may hold a row of minutes */
        return APP_UNREADABLE;
    }
    if (!check_row(p, err)) {
        return APP_USAGE;
    }
    struct tally tally = {.json = p->json, .row = p->request.whole};
    const int status = p->request.whole ? count_row(&p->request, &tally, err)
                                        : count_window(p, &tally, err);
    warn(p->request.path, &tally);
    const bool counted = status == APP_DONE || status == APP_REFUSED;
    if (counted && p->flac != NULL &&
        !sound_export_flac(path, p->flac, p->force, err)) {
        return APP_FAILED;
    }
    return status;
}

/* The seconds are the sitting's from here on. */
static bool plan_sitting(plan *p, app_err *err)
{
    const double seconds = isnan(p->request.seconds) ? 60.0 : p->request.seconds;
    p->request.seconds = (double)NAN;
    p->sitting.checked = false;
    p->sitting.breath = false;
    p->sitting.seconds = isfinite(seconds) ? (int)seconds : 0;
    const int whole = p->sitting.seconds;
    if ((double)whole < seconds || (whole != 15 && whole != 30 && whole != 60)) {
        return app_err_set(
            err, APP_USAGE,
            "--seconds: a live count takes 15, 30 or 60; --until-stopped "
            "counts a row of minutes");
    }
    return isnan(p->request.start_s) ||
           app_err_set(err, APP_USAGE,
                       "--start is for a file; a live minute starts when you are "
                       "ready");
}

/* Record first; the count is then that of the recording, as for any file. */
static int count_live(plan *p, app_err *err)
{
    char *path = NULL;
    bool hung = false;
    if (!plan_sitting(p, err)) {
        return APP_USAGE;
    }
    const live_outcome outcome = live_run(&p->sitting, &path, &hung, err);
    int status = APP_FAILED;
    live_run_say("count",
                 interrupt_asked() ? LIVE_OUTCOME_STOPPED : LIVE_OUTCOME_COMPLETE,
                 path);
    if (interrupt_asked()) {
        *err = (app_err)APP_ERR_NONE;
        status = APP_INTERRUPTED;
    } else if (outcome != LIVE_OUTCOME_FAILED && path != NULL) {
        status = count_recording(p, path, err);
    }
    live_run_leave(hung, status, err);
    free(path);
    return status;
}

static int run(const options *o, app_err *err)
{
    plan p = {.request = analyse_request_unasked(), .sitting = live_plan_default()};
    if (!options_fill(o, &p, err) || !live_run_check(o, &p.sitting, p.live, err)) {
        return APP_USAGE;
    }
    if (!p.live && (p.sitting.marks || p.sitting.until_stopped)) {
        return !app_err_set(err, APP_USAGE,
                            "--open and --until-stopped go with --live");
    }
    if (!p.live && o->n_operands == 0) {
        return !app_err_set(err, APP_USAGE,
                            "no recording named; usage: fullminute count FILE "
                            "[options], or fullminute count --live");
    }
    return p.live ? count_live(&p, err) : count_recording(&p, o->operands[0], err);
}

static const char DETAILS[] =
    "FILE is a sound file (WAV, FLAC, Ogg, MP3 and others), or - for standard input.\n"
    "It needs no marks: the first minute is counted, or less where there is less,\n"
    "which is then called a short count. What cannot be counted is refused, with the\n"
    "reason: no number is better than a wrong one. Respirations are counted from the\n"
    "same sound, in the next minute where there is one (see --breath-window).\n";

const struct command command_count = {
    .name = "count",
    .summary = "Count the apical pulse and the respirations in one recording",
    .usage = "FILE [options], or count --live",
    .details = DETAILS,
    .options = OPTIONS,
    .max_operands = 1,
    .exits = "  4    the heart sound cannot be counted (with 'whole': in none of the "
             "windows)\n",
    .run = run,
};
