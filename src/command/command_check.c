/* check: a learner's own count, compared with the second count of the same minute. */
#include "src/base/text.h"
#include "src/command/age.h"
#include "src/command/check_logbook.h"
#include "src/command/check_sitting.h"
#include "src/command/command.h"
#include "src/command/live_run.h"
#include "src/command/own_ask.h"
#include "src/command/say.h"
#include "src/document/check_document.h"
#include "src/document/document_parts.h"
#include "src/picture/picture.h"
#include "src/port/file.h"
#include "src/port/interrupt.h"
#include "src/usecase/blind.h"
#include "src/usecase/checked_count.h"
#include "src/usecase/last_count.h"
#include "src/usecase/picture_file.h"
#include "src/usecase/sitting_entries.h"
#include "src/words/check_text.h"
#include "src/words/entry_question.h"
#include "src/words/said.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum only {
    ONLY_PULSE = 1,
    ONLY_BREATH
};

typedef struct plan {
    check_request request;
    live_plan sitting;
    check_logbook_plan keep;
    enum only only;                           /* 0: both windows */
    const char *resume;                       /* NULL: a new sitting */
    const char *picture;                      /* NULL: none */
    const char *rhythm, *breathing, *running; /* NULL: not said */
    bool none_seen, confirmed, live, json, force;
    bool breaths_said; /* something of respirations was, though not their number */
    bool blind;
    int number; /* of the recording that was heard; 0: not said */
} plan;

static const field_word BREATH_SECONDS_WORDS[] = {{"30", 30}, {"60", 60}, {NULL, 0}};
static const field_word ONLY_WORDS[] = {
    {"pulse", ONLY_PULSE}, {"breath", ONLY_BREATH}, {NULL, 0}};

static const option_spec OPTIONS[] = {
    {"manual", "N",
     OPTION_NUMBER(plan, request.pulse.manual.entered, 1.0, FM_MANUAL_MAX),
     "your own count: the beats you counted in those seconds, not multiplied"},
    {"could-not", NULL, OPTION_FLAG(plan, request.pulse.manual.could_not),
     "in place of --manual: you could not count the beats, which is an answer; the "
     "recording is counted, and it is said whether it could be"},
    {"rhythm", "WORD", OPTION_TEXT(plan, rhythm),
     "the rhythm as you found it: regular, occasionally irregular, regularly irregular "
     "or irregularly irregular"},
    {"running", "N,N,N", OPTION_TEXT(plan, running),
     "your running counts at 15, 30 and 45 s, if you noted them, as in 18,36,53 or "
     "18,,53"},
    {"confirmed", NULL, OPTION_FLAG(plan, confirmed),
     "a number that is nearly never met is what you counted"},
    {"seconds", "15|30|60", LIVE_SECONDS(plan, request.pulse.manual.seconds), NULL,
     "how long you counted, in seconds (default 60); the count is multiplied up"},
    ANALYSE_OPTION_FIRST_BEAT(plan, request.analyse),
    {"site", "apical|radial", LIVE_SITE(plan, request.pulse.manual.site), NULL,
     "where you counted: at the apex or at the wrist (default apical)"},
    {"taps", "FILE", OPTION_TEXT(plan, request.pulse.taps_path),
     "your taps, one time in seconds a line under '# fullminute.taps/1'; without "
     "--manual their number is your count"},
    {"manual-breaths", "N",
     OPTION_NUMBER(plan, request.breaths.manual.entered, 0.0, FM_BREATHS_MANUAL_MAX),
     "the respirations you counted, not multiplied; alone, the pulse stays sealed"},
    {"could-not-breaths", NULL, OPTION_FLAG(plan, request.breaths.manual.could_not),
     "in place of --manual-breaths: you could not count the respirations"},
    {"breathing", "WORD", OPTION_TEXT(plan, breathing),
     "the breathing as you found it: even, uneven or with pauses"},
    {"breath-seconds", "30|60",
     OPTION_CHOICE(plan, request.breaths.manual.seconds, BREATH_SECONDS_WORDS),
     "how long you counted respirations, in seconds (default 60)"},
    {"breaths", "watched|listened", LIVE_METHOD(plan, request.breaths.manual.method),
     NULL, "how you counted them: watching the chest, or listening"},
    {"breath-taps", "FILE", OPTION_TEXT(plan, request.breaths.taps_path),
     "your taps for respirations, as --taps; counted over the seconds, never a rate "
     "from their gaps; without --manual-breaths their number is your count"},
    {"breath-tolerance", "N", LIVE_TOLERANCE(plan, request.breaths.tolerance_per_min),
     NULL, "the instructor's limit for respirations, per minute"},
    {"none-seen", NULL, OPTION_FLAG(plan, none_seen),
     "with --manual-breaths 0: none was seen for a whole minute (a minute that could "
     "not be counted has no number)"},
    ANALYSE_OPTION_BREATH_WINDOW(plan, request.analyse),
    AGE_OPTION(plan, request.analyse.age_months),
    {"tolerance", "N", LIVE_TOLERANCE(plan, request.pulse.tolerance_per_min), NULL,
     "the instructor's limit, per minute; without it no pass or fail is said"},
    LIVE_OPTION_LIVE(plan, live),
    LIVE_OPTIONS_INPUT(plan, sitting),
    {"only", "pulse|breath", OPTION_CHOICE(plan, only, ONLY_WORDS),
     "with --live: one window alone; without it the pulse's and then the "
     "respirations'"},
    {"second-examiner", NULL, OPTION_FLAG(plan, sitting.second_examiner),
     "with --live: a second person counts at the wrist in the same minute (pulse "
     "deficit)"},
    {"resume", "FILE", OPTION_TEXT(plan, resume),
     "with --live: enter your count for a sitting that was not entered"},
    {"no-truth", NULL, OPTION_FLAG(plan, request.use_truth),
     "compare with fullminute's count even where FILE's known beats (NAME.truth.json) "
     "lie beside it"},
    {"blind", NULL, OPTION_FLAG(plan, blind),
     "a number in the place of the recording's name, so that no name gives the answer "
     "away; several FILEs may be named, with --number"},
    {"number", "N", OPTION_NUMBER(plan, number, 10000.0, 99999.0),
     "with --blind: which of them was heard, by the number that 'fullminute "
     "demonstrate --marks hidden' shows"},
    {"json", NULL, OPTION_FLAG(plan, json),
     "print the comparison document (fullminute.check/1), one line"},
    {"picture", "FILE", OPTION_TEXT(plan, picture),
     "also draw the minute dial with your taps and the interval strip, as .svg or "
     ".png"},
    {"force", NULL, OPTION_FLAG(plan, force), "replace the picture if the file exists"},
    CHECK_LOGBOOK_OPTIONS(plan, keep),
    ANALYSE_OPTION_START(plan, request.analyse),
    ANALYSE_OPTION_CHANNEL(plan, request.analyse),
    ANALYSE_OPTION_NO_SITTING(plan, request.analyse),
    OPTIONS_END,
};

/* What is not asked for is 0, NaN or CHECK_BY_TAPS. */
static plan plan_none(void)
{
    plan p = {.request = check_request_default(""), .sitting = live_plan_default()};
    p.request.analyse = analyse_request_unasked();
    p.request.breaths.manual.seconds = 0;
    return p;
}

/* Nobody should count and type for a file that is not there. */
static bool check_file_is_there(const char *path, app_err *err)
{
    return access(path, R_OK) == 0 ||
           app_err_set(err, APP_UNREADABLE, "cannot open %s: %s; check the name", path,
                       APP_CAUSE(errno));
}

/*
 * Ask for the count, before anything is analysed. The prompt goes to stderr, so that
 * results alone are on stdout.
 */
static bool ask_entry(check_entry *e, app_err *err)
{
    fm_manual *const manual = &e->manual;
    char line[64];
    char note[APP_ERR_TEXT_BYTES];
    own_count own = own_count_of(CHECK_BY_TAPS);
    for (int attempt = 0; attempt < 3; attempt++) {
        (void)fprintf(stderr,
                      "Your own count in %d s (nothing is shown before it; c: could "
                      "not count): ",
                      manual->seconds);
        if (fgets(line, sizeof line, stdin) == NULL) {
            (void)fputc('\n', stderr);
            if (!interrupt_check(err)) {
                return false;
            }
            break;
        }
        line[strcspn(line, "\r\n")] = '\0';
        if (own_ask_number(TAKING_PULSE, line, manual->seconds, false, &own, note,
                           sizeof note) &&
            (own.could_not || own.entered > 0)) {
            own.words = e->words;
            own_ask_all(TAKING_PULSE, &own.words);
            manual->entered = own.entered;
            manual->could_not = own.could_not;
            e->words = own.words;
            return true;
        }
        (void)fprintf(stderr, "%s\n",
                      note[0] != '\0' ? note
                                      : "Give the whole number that you counted.");
    }
    return app_err_set(
        err, APP_USAGE,
        "no count entered, so nothing was compared; give it with --manual "
        "N");
}

/* An entry, or a file of taps. */
static bool brings(const check_entry *e)
{
    return e->manual.entered != CHECK_BY_TAPS || e->manual.could_not ||
           e->taps_path != NULL;
}

/* What the options say of a count, as it would be said on a screen. */
static bool take_own(const plan *p, check_entry *e, taking_entry of, app_err *err)
{
    const bool pulse = of == TAKING_PULSE;
    const char *const word = pulse ? p->rhythm : p->breathing;
    char text[LINES_PARAGRAPH_BYTES];
    if (e->manual.could_not && e->manual.entered != CHECK_BY_TAPS) {
        return app_err_set(err, APP_USAGE, "%s and a number cannot both be given",
                           pulse ? "--could-not" : "--could-not-breaths");
    }
    if (word != NULL) {
        (void)snprintf(e->words.rhythm, sizeof e->words.rhythm, "%s", word);
    }
    if (e->manual.could_not) {
        e->manual.entered = 0;
    }
    if ((pulse && p->running != NULL &&
         !own_running_take(p->running, e->words.running, err)) ||
        !own_words_check(&e->words, of, err)) {
        return false;
    }
    own_count own = own_count_of(e->manual.entered);
    own.could_not = e->manual.could_not;
    own.confirmed = p->confirmed || e->manual.entered == CHECK_BY_TAPS;
    return entry_question_of(of, &own, e->manual.seconds, false, text) ==
               ENTRY_NO_QUESTION ||
           app_err_set(err, APP_USAGE,
                       "%s If it is, give --confirmed as well; nothing was compared",
                       text);
}

static bool find_entry(check_request *request, app_err *err)
{
    if (brings(&request->pulse)) {
        return true;
    }
    if (isatty(STDIN_FILENO) == 1 && strcmp(request->analyse.path, "-") != 0) {
        return check_file_is_there(request->analyse.path, err) &&
               ask_entry(&request->pulse, err);
    }
    return app_err_set(err, APP_USAGE,
                       "no count of yours to compare; give the beats you counted with "
                       "--manual N");
}

/* From what was asked for to what is done. Nothing said of respirations: they are not
 * checked. A pulse not entered beside them stays sealed. */
static void settle(plan *p, const char *path)
{
    check_request *const r = &p->request;
    check_entry *const b = &r->breaths;
    analyse_request_settle(&r->analyse, path);
    p->breaths_said = b->manual.method != FM_BREATH_NOT_SAID ||
                      !isnan(b->tolerance_per_min) || b->manual.seconds != 0;
    b->manual.seconds = b->manual.seconds != 0 ? b->manual.seconds : 60;
    b->asked = brings(b);
    r->pulse.asked = !b->asked || brings(&r->pulse);
}

/* After the sitting has been looked at: it may have brought them. */
static bool check_breaths_asked(const plan *p, app_err *err)
{
    return p->request.breaths.asked || !p->breaths_said || p->live ||
           app_err_set(err, APP_USAGE,
                       "no respirations of yours to compare; give the number you "
                       "counted with --manual-breaths N");
}

/* A minute that could not be counted is no 0: it has no number, and is not stored. */
static bool check_none_seen(const plan *p, app_err *err)
{
    return p->request.breaths.manual.entered != 0 || p->none_seen ||
           p->request.breaths.manual.could_not ||
           app_err_set(
               err, APP_USAGE,
               "--manual-breaths 0: none seen for a whole minute, or could you "
               "not count? None seen: call for help, look for an answer, begin "
               "resuscitation as trained; --none-seen once that is done. Not counted: "
               "leave it out");
}

static bool check_picture(const plan *p, app_err *err)
{
    return p->request.pulse.asked || p->picture == NULL ||
           app_err_set(err, APP_USAGE,
                       "--picture shows the pulse, which is sealed until you enter "
                       "yours with --manual N");
}

/* Standard input can be one thing only. */
static bool check_inputs(const check_request *request, app_err *err)
{
    const char *const paths[] = {request->analyse.path, request->pulse.taps_path,
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

static bool complete(plan *p, check_sitting *sitting, app_err *err)
{
    check_request *const r = &p->request;
    const bool ask = !r->breaths.asked && !brings(&r->pulse);
    return check_inputs(r, err) && check_sitting_read(sitting, r, ask, err) &&
           (!r->pulse.asked || find_entry(r, err)) && check_picture(p, err) &&
           check_none_seen(p, err) && check_breaths_asked(p, err);
}

static bool draw(const check_view *view, const plan *p, app_err *err)
{
    if (p->picture == NULL) {
        return true;
    }
    const picture drawn = check_picture_of(view);
    return picture_file_write(picture_format(&drawn, NULL), p->picture, p->force, err);
}

static bool check_drawing(const plan *p, app_err *err)
{
    const check_request *const r = &p->request;
    return p->picture == NULL ||
           (picture_file_check_name(p->picture, err) &&
            picture_file_spares(p->picture, r->analyse.path, err) &&
            picture_file_spares(p->picture, r->pulse.taps_path, err) &&
            picture_file_spares(p->picture, r->breaths.taps_path, err));
}

static int check_recording(plan *p, const char *path, app_err *err)
{
    check_request *const request = &p->request;
    check_sitting sitting = {0};
    settle(p, path);
    if (!check_drawing(p, err) || !take_own(p, &request->pulse, TAKING_PULSE, err) ||
        !take_own(p, &request->breaths, TAKING_BREATH, err) ||
        !complete(p, &sitting, err) ||
        (p->picture != NULL && !file_check_target(p->picture, p->force, err))) {
        check_sitting_free(&sitting);
        return APP_USAGE;
    }
    logbook_keep kept;
    check_logbook_words(&p->keep, request);
    check_logbook_begin(&kept, &p->keep, request, sitting.entered);
    if (sitting.found) {
        sitting_entries_describe(&sitting.document, &kept.row);
    }
    checked_count *const checked =
        check_logbook_count(&kept, request, sitting.document.deficit_per_min, err);
    if (checked == NULL) {
        check_logbook_end(&kept);
        check_sitting_free(&sitting);
        return APP_FAILED;
    }
    char number[BLIND_NAME_BYTES];
    hint_voice voice = {.words = TERMINAL_HINTS};
    check_view view = *checked_count_view(checked);
    count_source source = *view.source;
    source.name = p->blind ? blind_name(path, number) : source.name;
    view.source = &source;
    view.voice = &voice;
    const check_before before = last_count_find(kept.book, &kept.row);
    view.before = &before;
    const bool ok = draw(&view, p, err) &&
                    say_text(p->json ? document_format_line(said_check(&view), 0)
                                     : check_text_format(&view),
                             err) &&
                    (p->json || check_sitting_print_second(&sitting, err));
    check_sitting_free(&sitting);
    check_logbook_end(&kept);
    const bool refused =
        request->pulse.asked && view.count->heart.count.status == FM_REFUSED;
    if (view.source->truncated) {
        say_named(stderr, "fullminute check: warning: ", p->blind ? source.name : path,
                  " is truncated: its header promises more than there is\n");
    }
    checked_count_free(checked);
    if (!ok) {
        return APP_FAILED;
    }
    return refused ? APP_REFUSED : APP_DONE;
}

static bool plan_sitting(plan *p, const options *o, app_err *err)
{
    static const char *const FILE_ONLY[] = {
        "manual",    "taps",       "manual-breaths", "breath-taps",
        "start",     "first-beat", "channel",        "no-sitting",
        "could-not", "rhythm",     "running",        "could-not-breaths",
        "breathing", NULL};
    const char *const odd = options_first_of(o, FILE_ONLY);
    const check_request *const r = &p->request;
    live_plan *const live = &p->sitting;
    if (odd != NULL) {
        return app_err_set(err, APP_USAGE,
                           "--%s is for a file; a live sitting asks when it is time",
                           odd);
    }
    live->pulse = p->only != ONLY_BREATH;
    live->breath = p->only != ONLY_PULSE;
    live->seconds = r->pulse.manual.seconds;
    live->site = r->pulse.manual.site;
    live->method = r->breaths.manual.method;
    live->tolerance_per_min = r->pulse.tolerance_per_min;
    live->age_months = r->analyse.age_months;
    return live_plan_check(live, err);
}

/* Nothing is analysed before every entry is on disk. */
static int check_live(plan *p, const options *o, app_err *err)
{
    char *path = NULL;
    bool hung = false;
    if (!plan_sitting(p, o, err)) {
        return APP_USAGE;
    }
    live_outcome outcome = live_run(&p->sitting, &path, &hung, err);
    int status = APP_FAILED;
    if (interrupt_asked()) {
        outcome = LIVE_OUTCOME_STOPPED;
        *err = (app_err)APP_ERR_NONE;
        status = APP_INTERRUPTED;
    }
    live_run_say("check", outcome, path);
    if (outcome == LIVE_OUTCOME_COMPLETE) {
        status = check_recording(p, path, err);
    } else if (outcome == LIVE_OUTCOME_NOT_ENTERED) {
        (void)app_err_set(err, APP_USAGE, "not entered, so nothing was counted");
    }
    live_run_leave(hung, status, err);
    free(path);
    return status;
}

/* The recording that is meant; NULL with err. */
static const char *find_recording(const plan *p, const options *o, app_err *err)
{
    const char *const why = !p->blind && p->number != 0 ? "--number goes with --blind"
                            : !p->blind && o->n_operands > 1
                                ? "one recording at a time; several are for --blind"
                            : p->number == 0 && o->n_operands > 1
                                ? "which recording was heard? Give its number with "
                                  "--number N, as 'fullminute "
                                  "demonstrate --marks hidden' shows it"
                                : NULL;
    if (why != NULL) {
        (void)app_err_set(err, APP_USAGE, "%s", why);
        return NULL;
    }
    const int at =
        p->number != 0 ? blind_find(o->operands, o->n_operands, p->number, err) : 0;
    return at >= 0 ? o->operands[at] : NULL;
}

static int run(const options *o, app_err *err)
{
    static const char *const LIVE_ONLY[] = {"only", "second-examiner", "resume", NULL};
    plan p = plan_none();
    if (!options_fill(o, &p, err)) {
        return APP_USAGE;
    }
    const char *const alone = p.live ? NULL : options_first_of(o, LIVE_ONLY);
    if (alone != NULL) {
        return !app_err_set(err, APP_USAGE, "--%s goes with --live", alone);
    }
    if (!live_run_check(o, &p.sitting, p.live, err) ||
        !check_logbook_check(&p.keep, err)) {
        return APP_USAGE;
    }
    if (!p.live && o->n_operands == 0) {
        return !app_err_set(err, APP_USAGE,
                            "no recording named; usage: fullminute check FILE --manual "
                            "N, or fullminute check --live");
    }
    if (p.live && p.resume == NULL) {
        return check_live(&p, o, err);
    }
    const char *const path = p.live ? p.resume : find_recording(&p, o, err);
    return path != NULL ? check_recording(&p, path, err) : APP_USAGE;
}

static const char DETAILS[] =
    "Count first, then check: nothing is analysed before your count is entered.\n"
    "Without --manual you are asked for it. The comparison is with the same seconds\n"
    "of the same recording, and never finer than the recording allows. Where the\n"
    "known beats of a composed recording lie beside it (NAME.truth.json), your count\n"
    "is judged against those. Respirations are compared the same way, in the next\n"
    "minute where the recording holds two (see --breath-window). The seal guards\n"
    "against seeing the count by accident, not against running 'fullminute count'\n"
    "on the file first.\n";

const struct command command_check = {
    .name = "check",
    .summary = "Compare your own count with the count of the same recording",
    .usage = "FILE --manual N [--manual-breaths N] [options], or --live",
    .details = DETAILS,
    .options = OPTIONS,
    .max_operands = -1,
    .exits =
        "  4    the heart sound cannot be counted; your own count is still printed\n",
    .run = run,
};
