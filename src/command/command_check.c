/* check: a learner's own count, compared with the second count of the same minute. */
#include "src/base/file.h"
#include "src/base/interrupt.h"
#include "src/base/text.h"
#include "src/command/age.h"
#include "src/command/check_logbook.h"
#include "src/command/check_sitting.h"
#include "src/command/command.h"
#include "src/command/live_run.h"
#include "src/document/document_parts.h"
#include "src/report/check_document.h"
#include "src/report/check_picture.h"
#include "src/report/check_text.h"
#include "src/sitting/checked_count.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char *const SECONDS_WORDS[] = {"15", "30", "60", NULL};
static const char *const BREATH_SECONDS_WORDS[] = {"30", "60", NULL};
static const char *const METHOD_WORDS[] = {"watched", "listened", NULL};
static const char *const ONLY_WORDS[] = {"pulse", "breath", NULL};
static const char *const SITE_WORDS[] = {"apical", "radial", NULL};

static const option_spec OPTIONS[] = {
    {"manual", OPTION_WHOLE, "N",
     "your own count: the beats you counted in those seconds, not multiplied", 1.0,
     FM_MANUAL_MAX, NULL},
    {"seconds", OPTION_CHOICE, "15|30|60",
     "how long you counted, in seconds (default 60); the count is multiplied up", 0, 0,
     SECONDS_WORDS},
    ANALYSE_OPTION_FIRST_BEAT,
    {"site", OPTION_CHOICE, "apical|radial",
     "where you counted: at the apex or at the wrist (default apical)", 0, 0,
     SITE_WORDS},
    {"taps", OPTION_TEXT, "FILE",
     "your taps, one time in seconds a line under '# fullminute.taps/1'; without "
     "--manual their number is your count",
     0, 0, NULL},
    {"manual-breaths", OPTION_WHOLE, "N",
     "the respirations you counted, not multiplied; alone, the pulse stays sealed", 0.0,
     FM_BREATHS_MANUAL_MAX, NULL},
    {"breath-seconds", OPTION_CHOICE, "30|60",
     "how long you counted respirations, in seconds (default 60)", 0, 0,
     BREATH_SECONDS_WORDS},
    {"breaths", OPTION_CHOICE, "watched|listened",
     "how you counted them: watching the chest, or listening", 0, 0, METHOD_WORDS},
    {"breath-taps", OPTION_TEXT, "FILE",
     "your taps for respirations, as --taps; counted over the seconds, never a rate "
     "from "
     "their gaps; without --manual-breaths their number is your count",
     0, 0, NULL},
    {"breath-tolerance", OPTION_NUMBER, "N",
     "the instructor's limit for respirations, per minute", 0.5, 50.0, NULL},
    {"none-seen", OPTION_FLAG, NULL,
     "with --manual-breaths 0: none was seen for a whole minute (a minute that could "
     "not "
     "be counted has no number)",
     0, 0, NULL},
    ANALYSE_OPTION_BREATH_WINDOW,
    AGE_OPTION,
    {"tolerance", OPTION_NUMBER, "N",
     "the instructor's limit, per minute; without it no pass or fail is said", 0.5,
     50.0, NULL},
    LIVE_OPTION_LIVE,
    LIVE_OPTIONS_INPUT,
    {"only", OPTION_CHOICE, "pulse|breath",
     "with --live: one window alone; without it the pulse's and then the respirations'",
     0, 0, ONLY_WORDS},
    {"second-examiner", OPTION_FLAG, NULL,
     "with --live: a second person counts at the wrist in the same minute (pulse "
     "deficit)",
     0, 0, NULL},
    {"resume", OPTION_TEXT, "FILE",
     "with --live: enter your count for a sitting that was not entered", 0, 0, NULL},
    {"no-truth", OPTION_FLAG, NULL,
     "compare with fullminute's count even where FILE's known beats (NAME.truth.json) "
     "lie beside it",
     0, 0, NULL},
    {"json", OPTION_FLAG, NULL,
     "print the comparison document (fullminute.check/1), one line", 0, 0, NULL},
    {"picture", OPTION_TEXT, "FILE",
     "also draw the minute dial with your taps and the interval strip, as .svg or .png",
     0, 0, NULL},
    {"force", OPTION_FLAG, NULL, "replace the picture if the file exists", 0, 0, NULL},
    CHECK_LOGBOOK_OPTIONS,
    ANALYSE_OPTION_START,
    ANALYSE_OPTION_CHANNEL,
    ANALYSE_OPTION_NO_SITTING,
    {NULL, OPTION_FLAG, NULL, NULL, 0, 0, NULL},
};

/* Nobody should count and type for a file that is not there. */
static bool check_file_is_there(const char *path, app_err *err)
{
    char cause[APP_CAUSE_BYTES];
    return access(path, R_OK) == 0 ||
           app_err_set(err, APP_UNREADABLE, "cannot open %s: %s; check the name", path,
                       app_err_cause(errno, cause));
}

/*
 * Ask for the count, before anything is analysed. The prompt goes to stderr, so that
 * results alone are on stdout.
 */
static bool ask_entry(check_request *request, app_err *err)
{
    char line[64];
    for (int attempt = 0; attempt < 3; attempt++) {
        (void)fprintf(stderr, "Your own count in %d s (nothing is shown before it): ",
                      request->seconds);
        if (fgets(line, sizeof line, stdin) == NULL) {
            (void)fputc('\n', stderr);
            if (!interrupt_check(err)) {
                return false;
            }
            break;
        }
        line[strcspn(line, "\r\n")] = '\0';
        long entered = 0;
        if (text_to_long(line, &entered) && entered >= 1 && entered <= FM_MANUAL_MAX) {
            request->entered = (int)entered;
            return true;
        }
        (void)fprintf(stderr, "Please give a whole number from 1 to %d.\n",
                      FM_MANUAL_MAX);
    }
    return app_err_set(
        err, APP_USAGE,
        "no count entered, so nothing was compared; give it with --manual "
        "N");
}

static bool find_entry(check_request *request, app_err *err)
{
    if (request->entered > 0 || request->taps_path != NULL) {
        return true;
    }
    if (isatty(STDIN_FILENO) == 1 && strcmp(request->analyse.path, "-") != 0) {
        return check_file_is_there(request->analyse.path, err) &&
               ask_entry(request, err);
    }
    return app_err_set(err, APP_USAGE,
                       "no count of yours to compare; give the beats you counted with "
                       "--manual N");
}

/* Nothing said of respirations: they are not checked. A pulse not entered beside them
 * stays sealed. */
static void read_breaths(check_request *request, const options *o)
{
    breaths_request *const b = &request->breaths;
    b->entered_given = options_given(o, "manual-breaths");
    b->entered = (int)options_whole(o, "manual-breaths", 0);
    b->seconds = (int)strtol(options_text(o, "breath-seconds", "60"), NULL, 10);
    b->taps_path = options_text(o, "breath-taps", NULL);
    b->tolerance_set = options_given(o, "breath-tolerance");
    b->tolerance_per_min = options_number(o, "breath-tolerance", 0.0);
    b->asked = b->entered_given || b->taps_path != NULL;
    if (options_is(o, "breaths", "watched")) {
        b->method = FM_BREATH_WATCHED;
    } else if (options_is(o, "breaths", "listened")) {
        b->method = FM_BREATH_LISTENED;
    }
    request->pulse =
        !b->asked || options_given(o, "manual") || options_given(o, "taps");
}

/* After the sitting has been looked at: it may have brought them. */
static bool check_breaths_asked(const check_request *request,
                                const options *o,
                                app_err *err)
{
    const breaths_request *const b = &request->breaths;
    if (!b->asked && (options_given(o, "breaths") || b->tolerance_set ||
                      options_given(o, "breath-seconds"))) {
        return app_err_set(err, APP_USAGE,
                           "no respirations of yours to compare; give the number you "
                           "counted with --manual-breaths N");
    }
    return true;
}

/* A minute that could not be counted is no 0: it has no number, and is not stored. */
static bool check_none_seen(const check_request *request,
                            const options *o,
                            app_err *err)
{
    const breaths_request *const b = &request->breaths;
    return !b->entered_given || b->entered != 0 || options_given(o, "none-seen") ||
           app_err_set(
               err, APP_USAGE,
               "--manual-breaths 0: none seen for a whole minute, or could you "
               "not count? None seen: call for help, look for an answer, begin "
               "resuscitation as trained; --none-seen once that is done. Not counted: "
               "leave it out");
}

static bool check_picture(const check_request *request, const options *o, app_err *err)
{
    return request->pulse || !options_given(o, "picture") ||
           app_err_set(err, APP_USAGE,
                       "--picture shows the pulse, which is sealed until you enter "
                       "yours with --manual N");
}

/* Standard input can be one thing only. */
static bool check_inputs(const check_request *request, app_err *err)
{
    const char *const paths[] = {request->analyse.path, request->taps_path,
                                 request->breaths.taps_path};
    int n = 0;
    for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++) {
        n += paths[i] != NULL && strcmp(paths[i], "-") == 0;
    }
    return n < 2 ||
           app_err_set(err, APP_USAGE,
                       "only one of FILE, --taps and --breath-taps can come from "
                       "standard input; save the taps in a file");
}

static bool read_request(check_request *request,
                         check_sitting *sitting,
                         const options *o,
                         app_err *err)
{
    const char *const age = options_text(o, "age", NULL);
    analyse_request_from_options(&request->analyse, o);
    request->seconds = (int)strtol(options_text(o, "seconds", "60"), NULL, 10);
    request->site = options_is(o, "site", "radial") ? FM_SITE_RADIAL : FM_SITE_APICAL;
    request->taps_path = options_text(o, "taps", NULL);
    request->tolerance_set = options_given(o, "tolerance");
    request->tolerance_per_min = options_number(o, "tolerance", 0.0);
    request->use_truth = !options_given(o, "no-truth");
    request->age_known = age != NULL;
    if (age != NULL && !age_parse(age, &request->age_months, err)) {
        return false;
    }
    request->entered = (int)options_whole(o, "manual", 0);
    const bool ask = !options_given(o, "manual") && !options_given(o, "taps") &&
                     !options_given(o, "manual-breaths") &&
                     !options_given(o, "breath-taps");
    read_breaths(request, o);
    return check_inputs(request, err) &&
           check_sitting_read(sitting, request, ask, err) &&
           (!request->pulse || find_entry(request, err)) &&
           check_picture(request, o, err) && check_none_seen(request, o, err) &&
           (options_given(o, "live") || check_breaths_asked(request, o, err));
}

static bool print_text(const check_view *view, app_err *err)
{
    char *const text = check_text_format(view);
    if (text == NULL) {
        return app_err_set(err, APP_FAILED, "out of memory");
    }
    (void)fputs(text, stdout);
    free(text);
    return true;
}

static bool print_document(const check_view *view, app_err *err)
{
    json_t *const document = check_document_build(view);
    char *const text = document != NULL ? document_format(document) : NULL;
    const bool ok = text != NULL || app_err_set(err, APP_FAILED, "out of memory");
    if (ok) {
        (void)puts(text);
    }
    free(text);
    json_decref(document);
    return ok;
}

static bool draw(const check_view *view, const options *o, app_err *err)
{
    const char *const path = options_text(o, "picture", NULL);
    if (path == NULL) {
        return true;
    }
    const picture p = check_picture_of(view);
    return picture_write(&p, path, options_given(o, "force"), err);
}

static int check_recording(const options *o, const char *path, app_err *err)
{
    check_request request = check_request_default(path);
    check_sitting sitting = {0};
    const char *const drawing = options_text(o, "picture", NULL);
    if ((drawing != NULL &&
         (!picture_path_check(drawing, err) ||
          !picture_input_check(drawing, path, err) ||
          !picture_input_check(drawing, options_text(o, "taps", NULL), err) ||
          !picture_input_check(drawing, options_text(o, "breath-taps", NULL), err))) ||
        !read_request(&request, &sitting, o, err) ||
        (drawing != NULL &&
         !file_check_target(drawing, options_given(o, "force"), err))) {
        check_sitting_free(&sitting);
        return APP_USAGE;
    }
    logbook_keep kept;
    check_logbook_begin(&kept, o, &request, sitting.entered);
    check_sitting_describe(&sitting, &kept.row);
    checked_count *const checked = checked_count_make(&request, err);
    if (checked == NULL) {
        check_logbook_end(&kept);
        check_sitting_free(&sitting);
        return APP_FAILED;
    }
    const check_view *const view = checked_count_view(checked);
    const bool ok =
        check_logbook_counted(&kept, view, check_sitting_deficit(&sitting), err) &&
        draw(view, o, err) &&
        (options_given(o, "json") ? print_document(view, err) : print_text(view, err));
    if (ok && !options_given(o, "json")) {
        check_sitting_print_second(&sitting);
    }
    check_sitting_free(&sitting);
    check_logbook_end(&kept);
    const bool refused = request.pulse && view->count->heart.status == FM_REFUSED;
    if (view->source->truncated) {
        (void)fputs("fullminute check: warning: ", stderr);
        text_print_clean(request.analyse.path, stderr);
        (void)fputs(" is truncated: its header promises more than there is\n", stderr);
    }
    checked_count_free(checked);
    if (!ok) {
        return APP_FAILED;
    }
    return refused ? APP_REFUSED : APP_DONE;
}

static bool read_plan(live_plan *plan, const options *o, app_err *err)
{
    static const char *const FILE_ONLY[] = {
        "manual", "taps",       "manual-breaths", "breath-taps",
        "start",  "first-beat", "channel",        "no-sitting"};
    for (size_t i = 0; i < sizeof FILE_ONLY / sizeof FILE_ONLY[0]; i++) {
        if (options_given(o, FILE_ONLY[i])) {
            return app_err_set(
                err, APP_USAGE,
                "--%s is for a file; a live sitting asks when it is time",
                FILE_ONLY[i]);
        }
    }
    const char *const age = options_text(o, "age", NULL);
    live_run_plan(plan, o);
    plan->pulse = !options_is(o, "only", "breath");
    plan->breath = !options_is(o, "only", "pulse");
    plan->seconds = (int)strtol(options_text(o, "seconds", "60"), NULL, 10);
    plan->site = options_is(o, "site", "radial") ? FM_SITE_RADIAL : FM_SITE_APICAL;
    plan->second_examiner = options_given(o, "second-examiner");
    plan->method = options_is(o, "breaths", "watched")    ? FM_BREATH_WATCHED
                   : options_is(o, "breaths", "listened") ? FM_BREATH_LISTENED
                                                          : FM_BREATH_NOT_SAID;
    plan->tolerance_per_min = options_number(o, "tolerance", plan->tolerance_per_min);
    if (age != NULL && !age_parse(age, &plan->age_months, err)) {
        return false;
    }
    if (plan->second_examiner &&
        (!plan->pulse || plan->site == FM_SITE_RADIAL || plan->seconds != 60)) {
        return app_err_set(err, APP_USAGE,
                           "--second-examiner: the first counts at the apex and the "
                           "second at the wrist, the same full minute of pulse");
    }
    return true;
}

/* Nothing is analysed before every entry is on disk. */
static int check_live(const options *o, app_err *err)
{
    live_plan plan = live_plan_default();
    char *path = NULL;
    bool hung = false;
    if (!read_plan(&plan, o, err)) {
        return APP_USAGE;
    }
    live_outcome outcome = live_run(&plan, &path, &hung, err);
    int status = APP_FAILED;
    if (interrupt_asked()) {
        outcome = LIVE_OUTCOME_STOPPED;
        *err = (app_err)APP_ERR_NONE;
        status = APP_INTERRUPTED;
    }
    live_run_say("check", outcome, path);
    if (outcome == LIVE_OUTCOME_COMPLETE) {
        status = check_recording(o, path, err);
    } else if (outcome == LIVE_OUTCOME_NOT_ENTERED) {
        (void)app_err_set(err, APP_USAGE, "not entered, so nothing was counted");
    }
    live_run_leave(hung, status, err);
    free(path);
    return status;
}

static int run(const options *o, app_err *err)
{
    static const char *const LIVE_ONLY[] = {"only", "second-examiner", "resume"};
    const bool live = options_given(o, "live");
    const char *const resume = options_text(o, "resume", NULL);
    for (size_t i = 0; !live && i < sizeof LIVE_ONLY / sizeof LIVE_ONLY[0]; i++) {
        if (options_given(o, LIVE_ONLY[i])) {
            return !app_err_set(err, APP_USAGE, "--%s goes with --live", LIVE_ONLY[i]);
        }
    }
    if (!live_run_check(o, live, err) || !check_logbook_options(o, err)) {
        return APP_USAGE;
    }
    if (!live && o->n_operands == 0) {
        return !app_err_set(err, APP_USAGE,
                            "no recording named; usage: fullminute check FILE --manual "
                            "N, or fullminute check --live");
    }
    if (live && resume == NULL) {
        return check_live(o, err);
    }
    return check_recording(o, live ? resume : o->operands[0], err);
}

const struct command command_check = {
    .name = "check",
    .summary = "Compare your own count with the count of the same recording",
    .usage = "FILE --manual N [--manual-breaths N] [options], or --live",
    .details =
        "Count first, then check: nothing is analysed before your count is entered.\n"
        "Without --manual you are asked for it. The comparison is with the same "
        "seconds\n"
        "of the same recording, and never finer than the recording allows. Where the\n"
        "known beats of a composed recording lie beside it (NAME.truth.json), your "
        "count\n"
        "is judged against those. Respirations are compared the same way, in the next\n"
        "minute where the recording holds two (see --breath-window). The seal guards\n"
        "against seeing the count by accident, not against running 'fullminute count'\n"
        "on the file first.\n",
    .options = OPTIONS,
    .min_operands = 0,
    .max_operands = 1,
    .exits =
        "  4    the heart sound cannot be counted; your own count is still printed\n",
    .run = run,
};
