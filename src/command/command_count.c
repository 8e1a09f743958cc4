/* count: one recording in, the full-minute apical count out. */
#include "dsp/analyser.h"
#include "src/base/progress.h"
#include "src/base/text.h"
#include "src/command/command.h"
#include "src/report/breath_text.h"
#include "src/report/count_document.h"
#include "src/report/count_text.h"
#include "src/report/picture.h"
#include "src/sitting/analyse_file.h"

#include <stdlib.h>
#include <string.h>

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
    {"force", OPTION_FLAG, NULL, "replace the picture if the file exists", 0, 0, NULL},
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
    char *const text = document != NULL ? count_document_format(document) : NULL;
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
    tally->worrying |= count_text_is_worrying(&result->count);
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

/* The picture shows the numbers as the person counts them. */
static bool draw(const analysed *result, const char *path, bool force, app_err *err)
{
    const count_source *const source = &result->source;
    fm_count *const count = malloc(sizeof *count);
    if (count == NULL) {
        return app_err_set(err, APP_FAILED, "out of memory");
    }
    *count = result->count;
    fm_heart *const heart = &count->heart;
    heart->beats = count_source_beats(source, count);
    heart->rate_bpm = count_source_rate(source, count, heart->rate_bpm);
    heart->rate_low_bpm = count_source_rate(source, count, heart->rate_low_bpm);
    heart->rate_high_bpm = count_source_rate(source, count, heart->rate_high_bpm);
    const fm_breath *const breath = &count->breath;
    const bool breaths = breath->status != FM_REFUSED && !breath_text_own_window(count);
    const picture p = {.count = count,
                       .title = source->name,
                       .outside = count_text_is_outside(&result->count),
                       .n_breaths = breaths ? breath->n : 0,
                       .breath_s = breath->starts_s};
    const bool ok = picture_write(&p, path, force, err);
    free(count);
    return ok;
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
    const bool ok =
        (drawing == NULL || draw(result, drawing, options_given(o, "force"), err)) &&
        take_result(tally, result, err);
    free(result);
    if (!ok) {
        return APP_FAILED;
    }
    return tally->counted > 0 ? APP_DONE : APP_REFUSED;
}

static int run(const options *o, app_err *err)
{
    analyse_request request = analyse_request_default(o->operands[0]);
    analyse_request_from_options(&request, o);
    request.seconds = options_number(o, "seconds", request.seconds);
    request.whole = options_is(o, "seconds", "whole");
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
    return status;
}

const struct command command_count = {
    .name = "count",
    .summary = "Count the apical pulse and the respirations in one recording",
    .usage = "FILE [options]",
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
    .min_operands = 1,
    .max_operands = 1,
    .exits = "  4    the heart sound cannot be counted (with 'whole': in none of the "
             "windows)\n",
    .run = run,
};
