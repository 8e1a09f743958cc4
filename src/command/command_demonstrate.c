/* demonstrate: a recording aloud, with its beats marked as they are heard. */
#include "dsp/analyser.h"
#include "src/base/text.h"
#include "src/command/command.h"
#include "src/command/demonstrate_run.h"
#include "src/sitting/demonstrate_play.h"
#include "src/sound/sound_file.h"

#include <math.h>
#include <string.h>

enum {
    NUMBER_BYTES = 32
};

static const char *const MARKS_WORDS[] = {"on", "hidden", NULL};
static const char *const SPEAKER_WORDS[] = {"small", NULL};

static const option_spec OPTIONS[] = {
    {"output", OPTION_TEXT, "NAME",
     "an output that 'fullminute sources' lists (default: the system's)", 0, 0, NULL},
    {"start", OPTION_NUMBER, "S",
     "where to start, in seconds from the first sample (default 0)", 0.0, 1e7, NULL},
    {"seconds", OPTION_NUMBER, "S", "how much is played, 1 to 60 s (default 60)", 1.0,
     FM_WINDOW_MAX_S, NULL},
    {"channel", OPTION_WHOLE, "N",
     "channel to play, from 1 (default: the one that is counted; the first beside a "
     "truth document)",
     1.0, 1024.0, NULL},
    {"marks", OPTION_CHOICE, "on|hidden",
     "show each sound as it is heard (default), or nothing that follows a beat", 0, 0,
     MARKS_WORDS},
    {"click", OPTION_FLAG, NULL, "a click at each first sound", 0, 0, NULL},
    {"loop", OPTION_TEXT, "A-B",
     "repeat from A to B, in seconds of what is played, at least a second apart", 0, 0,
     NULL},
    {"speaker", OPTION_CHOICE, "small",
     "for a laptop's loudspeaker, which cannot sound 30 to 150 Hz: adds harmonics at "
     "200 "
     "to 800 Hz; the timing is unchanged, the tone is not that of a heart",
     0, 0, SPEAKER_WORDS},
    {"reveal", OPTION_FLAG, NULL,
     "show from the start what counts of 15 s and 30 s would have said", 0, 0, NULL},
    {"once", OPTION_FLAG, NULL, "end when it has been heard, the loop too", 0, 0, NULL},
    {"no-terminal", OPTION_FLAG, NULL,
     "plain lines, one a mark, and no keys; so it is too where there is no terminal", 0,
     0, NULL},
    {"log-marks", OPTION_TEXT, "FILE",
     "write when each mark was shown, by the steady clock, to measure marks against "
     "sound",
     0, 0, NULL},
    {"force", OPTION_FLAG, NULL, "replace that file if it exists", 0, 0, NULL},
    {NULL, OPTION_FLAG, NULL, NULL, 0, 0, NULL},
};

static bool read_loop(const char *text, demonstrate_plan *plan, app_err *err)
{
    char from[NUMBER_BYTES];
    const char *const dash = strchr(text, '-');
    const size_t n = dash != NULL ? (size_t)(dash - text) : 0;
    bool ok = n > 0 && n < sizeof from;
    if (ok) {
        memcpy(from, text, n);
        from[n] = '\0';
        ok = text_to_double(from, &plan->loop_from_s) &&
             text_to_double(dash + 1, &plan->loop_to_s) && plan->loop_from_s >= 0.0 &&
             plan->loop_to_s - plan->loop_from_s >= DEMONSTRATE_LOOP_MIN_S;
    }
    return ok ||
           app_err_set(err, APP_USAGE,
                       "--loop %s: give two times at least a second apart, such as "
                       "--loop 12-18",
                       text);
}

static bool read_plan(const options *o, demonstrate_plan *plan, app_err *err)
{
    const char *const loop = options_text(o, "loop", NULL);
    *plan = (demonstrate_plan){
        .request = {.path = o->operands[0],
                    .start_s = options_number(o, "start", 0.0),
                    .seconds = options_number(o, "seconds", FM_WINDOW_MAX_S),
                    .channel = (int)options_whole(o, "channel", 0),
                    .small_speaker = options_is(o, "speaker", "small")},
        .output = options_text(o, "output", NULL),
        .marks = !options_is(o, "marks", "hidden"),
        .click = options_given(o, "click"),
        .short_counts = options_given(o, "reveal"),
        .once = options_given(o, "once"),
        .terminal = !options_given(o, "no-terminal"),
        .loop_from_s = (double)NAN,
        .loop_to_s = (double)NAN,
        .log_path = options_text(o, "log-marks", NULL),
        .force = options_given(o, "force")};
    if (strcmp(plan->request.path, "-") == 0) {
        return app_err_set(
            err, APP_USAGE,
            "demonstrate reads a file, not standard input, from which the "
            "keys come; give its name");
    }
    if (!plan->marks && plan->log_path != NULL) {
        return app_err_set(err, APP_USAGE,
                           "--log-marks has nothing to write with --marks hidden; use "
                           "one of them");
    }
    return loop == NULL || read_loop(loop, plan, err);
}

/* A file that cannot be read is told before an output that is not there. */
static bool is_sound(const char *path, app_err *err)
{
    sound_file *const file = sound_file_open(path, err);
    sound_file_close(file);
    return file != NULL;
}

static int run(const options *o, app_err *err)
{
    demonstrate_plan plan;
    if (!read_plan(o, &plan, err)) {
        return APP_USAGE;
    }
    if (!is_sound(plan.request.path, err)) {
        return APP_UNREADABLE;
    }
    return demonstrate_run(&plan, err);
}

const struct command command_demonstrate = {
    .name = "demonstrate",
    .summary = "Play a recording with its beats marked as they are heard",
    .usage = "FILE [options]",
    .details =
        "The marks are those of the truth document beside FILE, else those counted\n"
        "from it; the screen says which. A mark appears when its sound leaves the\n"
        "output, as far as the sound system knows: a wireless headset is later.\n"
        "Keys: space pause; arrows back and on by 5 s; [ and ] (or a and b) set a\n"
        "loop, x ends it; m marks; c click; r what short counts say; q end.\n",
    .options = OPTIONS,
    .min_operands = 1,
    .max_operands = 1,
    .exits = NULL,
    .run = run,
};
