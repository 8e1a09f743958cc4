/* demonstrate: a recording aloud, with its beats marked as they are heard. */
#include "src/base/text.h"
#include "src/command/command.h"
#include "src/command/demonstrate_run.h"
#include "src/port/sound_file.h"
#include "src/usecase/blind.h"
#include "src/usecase/demonstrate_play.h"

#include <math.h>
#include <string.h>

enum {
    NUMBER_BYTES = 32
};

static const field_word MARKS_WORDS[] = {{"on", true}, {"hidden", false}, {NULL, 0}};
static const field_word SPEAKER_WORDS[] = {{"small", true}, {NULL, 0}};

static bool read_loop(const char *text, void *member, app_err *err)
{
    double *const loop_s = member;
    char from[NUMBER_BYTES];
    const char *const dash = strchr(text, '-');
    const size_t n = dash != NULL ? (size_t)(dash - text) : 0;
    bool ok = n > 0 && n < sizeof from;
    if (ok) {
        memcpy(from, text, n);
        from[n] = '\0';
        ok = text_to_double(from, &loop_s[0]) && text_to_double(dash + 1, &loop_s[1]) &&
             loop_s[0] >= 0.0 && loop_s[1] - loop_s[0] >= DEMONSTRATE_LOOP_MIN_S;
    }
    return ok ||
           app_err_set(err, APP_USAGE,
                       "--loop %s: give two times at least a second apart, such as "
                       "--loop 12-18",
                       text);
}

static const option_spec OPTIONS[] = {
    {"output", "NAME", OPTION_TEXT(demonstrate_plan, output),
     "an output that 'fullminute sources' lists (default: the system's)"},
    {"start", "S", OPTION_NUMBER(demonstrate_plan, request.start_s, 0.0, 1e7),
     "where to start, in seconds from the first sample (default 0)"},
    {"seconds", "S",
     OPTION_NUMBER(demonstrate_plan, request.seconds, 1.0, FM_WINDOW_MAX_S),
     "how much is played, 1 to 60 s (default 60)"},
    {"channel", "N", OPTION_NUMBER(demonstrate_plan, request.channel, 1.0, 1024.0),
     "channel to play, from 1 (default: the one that is counted; the first beside a "
     "truth document)"},
    {"marks", "on|hidden", OPTION_CHOICE(demonstrate_plan, marks, MARKS_WORDS),
     "show each sound as it is heard (default), or nothing that follows a beat, and a "
     "number in the place of the name; of several FILEs any one is played"},
    {"click", NULL, OPTION_FLAG(demonstrate_plan, click),
     "a click at each first sound"},
    {"loop", "A-B", OPTION_OWN(demonstrate_plan, loop_s, read_loop),
     "repeat from A to B, in seconds of what is played, at least a second apart"},
    {"speaker", "small",
     OPTION_CHOICE(demonstrate_plan, request.small_speaker, SPEAKER_WORDS),
     "for a laptop's loudspeaker, which cannot sound 30 to 150 Hz: adds harmonics at "
     "200 to 800 Hz; the timing is unchanged, the tone is not that of a heart"},
    {"reveal", NULL, OPTION_FLAG(demonstrate_plan, short_counts),
     "show from the start what counts of 15 s and 30 s would have said"},
    {"once", NULL, OPTION_FLAG(demonstrate_plan, once),
     "end when it has been heard, the loop too"},
    {"no-terminal", NULL, OPTION_FLAG(demonstrate_plan, terminal),
     "plain lines, one a mark, and no keys; so it is too where there is no terminal"},
    {"log-marks", "FILE", OPTION_TEXT(demonstrate_plan, log_path),
     "write when each mark was shown, by the steady clock, to measure marks against "
     "sound"},
    {"force", NULL, OPTION_FLAG(demonstrate_plan, force),
     "replace that file if it exists"},
    OPTIONS_END,
};

static bool check_plan(const demonstrate_plan *plan, int n_files, app_err *err)
{
    if (strcmp(plan->request.path, "-") == 0) {
        return app_err_set(
            err, APP_USAGE,
            "demonstrate reads a file, not standard input, from which the "
            "keys come; give its name");
    }
    if (plan->marks && n_files > 1) {
        return app_err_set(err, APP_USAGE,
                           "one recording at a time, unless --marks hidden, which "
                           "plays any one of them");
    }
    return plan->marks || plan->log_path == NULL ||
           app_err_set(err, APP_USAGE,
                       "--log-marks has nothing to write with --marks hidden; use "
                       "one of them");
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
    demonstrate_plan plan = {.request = {.path = o->operands[blind_any(o->n_operands)],
                                         .seconds = FM_WINDOW_MAX_S},
                             .marks = true,
                             .terminal = true,
                             .loop_s = {(double)NAN, (double)NAN}};
    if (!options_fill(o, &plan, err) || !check_plan(&plan, o->n_operands, err)) {
        return APP_USAGE;
    }
    if (!is_sound(plan.request.path, err)) {
        return APP_UNREADABLE;
    }
    return demonstrate_run(&plan, err);
}

static const char DETAILS[] =
    "The marks are those of the truth document beside FILE, else those counted\n"
    "from it; the screen says which. A mark appears when its sound leaves the\n"
    "output, as far as the sound system knows: a wireless headset is later.\n"
    "Keys: space pause; arrows back and on by 5 s; [ and ] (or a and b) set a\n"
    "loop, x ends it; m marks; c click; r what short counts say; q end.\n";

const struct command command_demonstrate = {
    .name = "demonstrate",
    .summary = "Play a recording with its beats marked as they are heard",
    .usage = "FILE [options]",
    .details = DETAILS,
    .options = OPTIONS,
    .min_operands = 1,
    .max_operands = -1,
    .run = run,
};
