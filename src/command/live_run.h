/**
 * @file live_run.h
 * A live sitting on a terminal, from the first sample to the last entry: one calm screen
 * redrawn in place; or, where standard input is no terminal, a line for each phase, the
 * entries read as lines and no taps. Drawn on stderr; results are not printed here.
 */
#ifndef COMMAND_LIVE_RUN_H
#define COMMAND_LIVE_RUN_H

#include "src/base/options.h"
#include "src/usecase/live_sitting.h"

/* A member is a path of names, which no parentheses may enclose. */
/* NOLINTBEGIN(bugprone-macro-parentheses) */
/** Rows of an option table that both commands have: whether to listen at all, and into
 *  the live_plan that is the plan's member. */
#define LIVE_OPTION_LIVE(plan, live)                                                   \
    {                                                                                  \
        "live", NULL, OPTION_FLAG(plan, live),                                         \
            "listen at an input instead of reading FILE; the sound is kept on this "   \
            "computer"                                                                 \
    }
#define LIVE_OPTIONS_INPUT(plan, to)                                                   \
    {"input", "NAME", OPTION_TEXT(plan, to.input),                                     \
     "with --live: the input, or 'file:PATH' to try a whole sitting without one "      \
     "(default: the system's)"},                                                       \
        {"input-channel", "N", OPTION_NUMBER(plan, to.channel, 1, 64),                 \
         "with --live: the input's channel, from 1 (default 1)"},                      \
        {"gain", "DB", OPTION_NUMBER(plan, to.gain_db, -40, 40),                       \
         "with --live: make the sound louder by so many dB before it is recorded"},    \
        {"recording", "FILE", OPTION_TEXT(plan, to.recording),                         \
         "with --live: record to FILE (.wav); by default a new file in the "           \
         "recordings' folder of your home"},                                           \
        {"listen", "headphones|stethoscope",                                           \
         OPTION_CHOICE(plan, to.monitor, live_run_listen_words),                       \
         "with --live: how you listen: through this computer's headphones (an output " \
         "called a loudspeaker is refused, by its name alone), or with a stethoscope " \
         "of your own (default)"},                                                     \
    {                                                                                  \
        "no-ticks", NULL, OPTION_FLAG(plan, to.ticks),                                 \
            "with --live: no ticks that can be heard"                                  \
    }
/* NOLINTEND(bugprone-macro-parentheses) */
extern const field_word live_run_listen_words[];

/** Is any of those given without --live, or a file with it? False with err. */
bool live_run_check(const options *o, const live_plan *plan, bool live, app_err *err);

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
void live_run_leave(bool hung, int status, app_err *err);

/**
 * Say where the recording is and how to go on with it, on stderr.
 *
 * @param command  "count" or "check"
 */
void live_run_say(const char *command, live_outcome outcome, const char *path);

#endif
