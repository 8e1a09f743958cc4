/**
 * @file check_logbook.h
 * The options with which a checked count goes into the logbook, and what is said of it.
 */
#ifndef COMMAND_CHECK_LOGBOOK_H
#define COMMAND_CHECK_LOGBOOK_H

#include "src/base/options.h"
#include "src/usecase/checked_count.h"
#include "src/usecase/logbook_keep.h"

/** What was asked for. Texts are borrowed; NULL: not said. */
typedef struct check_logbook_plan {
    const char *learner;
    const char *logbook; /**< a file; NULL: the person's own */
    const char *also;
    bool none; /**< store nothing this time */
} check_logbook_plan;

/* A member is a path of names, which no parentheses may enclose. */
/* NOLINTBEGIN(bugprone-macro-parentheses) */
#define CHECK_LOGBOOK_OPTIONS(plan, to)                                                \
    {"learner", "NAME", OPTION_TEXT(plan, to.learner),                                 \
     "whose count it is, initials or a nickname: it goes into the logbook"},           \
        {"logbook", "FILE", OPTION_TEXT(plan, to.logbook),                             \
         "the logbook (default: your own, see 'fullminute logbook --help')"},          \
        {"no-logbook", NULL, OPTION_FLAG(plan, to.none), "store nothing this time"},   \
    {                                                                                  \
        "also", "NAME=VALUE;...", OPTION_TEXT(plan, to.also),                          \
            "for the logbook: rhythm, wrist, strength, breath_rhythm, breath_depth, "  \
            "breath_effort, posture or context, as you found them"                     \
    }
/* NOLINTEND(bugprone-macro-parentheses) */

/** Are they right by themselves? Before anything is entered. */
bool check_logbook_check(const check_logbook_plan *plan, app_err *err);

/** What --also says of the rhythm and the breathing, where nothing else does. */
void check_logbook_words(const check_logbook_plan *plan, check_request *request);

/**
 * Begin, as the options and the person's settings say.
 *
 * @param sealed_elsewhere  the entries are on disk in a live sitting's document
 */
void check_logbook_begin(logbook_keep *k,
                         const check_logbook_plan *plan,
                         const check_request *request,
                         bool sealed_elsewhere);

/** Check, with the logbook (logbook_keep.h). @return to be shown; NULL with err */
checked_count *check_logbook_count(logbook_keep *k,
                                   const check_request *request,
                                   double deficit_per_min,
                                   app_err *err);

/** Close, and say on stderr what is stored or why not. */
void check_logbook_end(logbook_keep *k);

#endif
