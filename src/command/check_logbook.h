/**
 * @file check_logbook.h
 * The options with which a checked count goes into the logbook, and what is said of it.
 */
#ifndef COMMAND_CHECK_LOGBOOK_H
#define COMMAND_CHECK_LOGBOOK_H

#include "src/base/options.h"
#include "src/sitting/checked_count.h"
#include "src/sitting/logbook_keep.h"

/* clang-format off */
#define CHECK_LOGBOOK_OPTIONS                                                          \
    {"learner", OPTION_TEXT, "NAME",                                                   \
     "whose count it is, initials or a nickname: it goes into the logbook",            \
     0, 0, NULL},                                                                      \
    {"logbook", OPTION_TEXT, "FILE",                                                   \
     "the logbook (default: your own, see 'fullminute logbook --help')", 0, 0, NULL},  \
    {"no-logbook", OPTION_FLAG, NULL, "store nothing this time", 0, 0, NULL},          \
    {"also", OPTION_TEXT, "NAME=VALUE;...",                                            \
     "for the logbook: rhythm, wrist, strength, breath_rhythm, breath_depth, "         \
     "breath_effort, posture or context, as you found them",                           \
     0, 0, NULL}
/* clang-format on */

/** Are they right by themselves? Before anything is entered. */
bool check_logbook_options(const options *o, app_err *err);

/**
 * Begin, as the options and the person's settings say, and have request tell it of the
 * entries. k must stay until check_logbook_end.
 *
 * @param sealed_elsewhere  the entries are on disk in a live sitting's document
 */
void check_logbook_begin(logbook_keep *k,
                         const options *o,
                         check_request *request,
                         bool sealed_elsewhere);

/** Add what the second count said; false with err APP_FAILED: then it may not be shown. */
bool check_logbook_counted(logbook_keep *k,
                           const check_view *view,
                           double deficit_per_min,
                           app_err *err);

/** Close, and say on stderr what is stored or why not. */
void check_logbook_end(logbook_keep *k);

#endif
