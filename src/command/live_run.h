/**
 * @file live_run.h
 * A live sitting on a terminal, from the first sample to the last entry: one calm screen
 * redrawn in place; or, where standard input is no terminal, a line for each phase, the
 * entries read as lines and no taps. Drawn on stderr; results are not printed here.
 */
#ifndef COMMAND_LIVE_RUN_H
#define COMMAND_LIVE_RUN_H

#include "src/base/options.h"
#include "src/sitting/live_sitting.h"

/** The rows of an option table that both commands have. */
#define LIVE_OPTION_LIVE                                                               \
    {                                                                                  \
        "live", OPTION_FLAG, NULL,                                                     \
            "listen at an input instead of reading FILE; the sound is kept on this "   \
            "computer",                                                                \
            0, 0, NULL                                                                 \
    }
#define LIVE_OPTIONS_INPUT                                                             \
    {"input",                                                                          \
     OPTION_TEXT,                                                                      \
     "NAME",                                                                           \
     "with --live: the input, or 'file:PATH' to try a whole sitting without one "      \
     "(default: the system's)",                                                        \
     0,                                                                                \
     0,                                                                                \
     NULL},                                                                            \
        {"input-channel",                                                              \
         OPTION_WHOLE,                                                                 \
         "N",                                                                          \
         "with --live: the input's channel, from 1 (default 1)",                       \
         1,                                                                            \
         64,                                                                           \
         NULL},                                                                        \
        {"gain",                                                                       \
         OPTION_NUMBER,                                                                \
         "DB",                                                                         \
         "with --live: make the sound louder by so many dB before it is recorded",     \
         -40,                                                                          \
         40,                                                                           \
         NULL},                                                                        \
        {"recording",                                                                  \
         OPTION_TEXT,                                                                  \
         "FILE",                                                                       \
         "with --live: record to FILE (.wav); by default a new file in the "           \
         "recordings' folder of your home",                                            \
         0,                                                                            \
         0,                                                                            \
         NULL},                                                                        \
        {"listen",                                                                     \
         OPTION_CHOICE,                                                                \
         "headphones|stethoscope",                                                     \
         "with --live: how you listen: through this computer's headphones (an output " \
         "called a loudspeaker is refused, by its name alone), or with "               \
         "a stethoscope of your own (default)",                                        \
         0,                                                                            \
         0,                                                                            \
         LIVE_RUN_LISTEN_WORDS},                                                       \
    {                                                                                  \
        "no-ticks", OPTION_FLAG, NULL, "with --live: no ticks that can be heard", 0,   \
            0, NULL                                                                    \
    }
extern const char *const LIVE_RUN_LISTEN_WORDS[];

/** Is any of those given? (They mean nothing without --live.) */
bool live_run_check(const options *o, bool live, app_err *err);

/** Fill what those options say. */
void live_run_plan(live_plan *plan, const options *o);

/** How a sitting ended. */
typedef enum live_outcome {
    LIVE_OUTCOME_COMPLETE, /**< every window and every entry is there */
    LIVE_OUTCOME_STOPPED,  /**< Ctrl-C, or the input went; the recording is kept */
    LIVE_OUTCOME_NOT_ENTERED,
    LIVE_OUTCOME_FAILED /**< err says why */
} live_outcome;

/**
 * @param[out] path  the recording, to be freed; NULL when there is none
 * @param[out] hung  the input could not be closed: the caller ends with _exit
 */
live_outcome live_run(const live_plan *plan, char **path, bool *hung, app_err *err);

/**
 * Where the input hangs: print what is left to say and end the program at once, so that
 * the sound system's threads cannot hold it up. Else nothing.
 */
void live_run_leave(bool hung, int status, const app_err *err);

/**
 * Say where the recording is and how to go on with it, on stderr.
 *
 * @param command  "count" or "check"
 */
void live_run_say(const char *command, live_outcome outcome, const char *path);

#endif
