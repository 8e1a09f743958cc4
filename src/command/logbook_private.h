/**
 * @file logbook_private.h
 * What `logbook` can do, one function a word. Each prints its result on stdout.
 */
#ifndef COMMAND_LOGBOOK_PRIVATE_H
#define COMMAND_LOGBOOK_PRIVATE_H

#include "src/base/error.h"
#include "src/port/logbook.h"

/** What was asked for. Texts are borrowed; NULL: not said. */
typedef struct logbook_plan {
    const char *const *operands; /**< behind the word */
    int n_operands;
    const char *path; /**< of the logbook; NULL: the person's own */
    logbook_query rows;
    double within_per_min; /**< NaN: not said */
    int in_a_row;          /**< 0: not said */
    int irregular;         /**< -1: not said */
    int breath_in_a_row;   /**< 0: not said */
    double breath_within_per_min;
    const char *by, *watched, *phrase_path, *out;
    enum logbook_format {
        LOGBOOK_CSV,
        LOGBOOK_JSON,
        LOGBOOK_FHIR
    } format;
    bool force, yes, with_copies, json;
} logbook_plan;

/** @return false with err */
typedef bool logbook_verb(logbook *l, const logbook_plan *p, app_err *err);

logbook_verb logbook_do_new;
logbook_verb logbook_do_list;
logbook_verb logbook_do_show;
logbook_verb logbook_do_chart;
logbook_verb logbook_do_progress;
logbook_verb logbook_do_enter;
logbook_verb logbook_do_add;
logbook_verb logbook_do_goal;
logbook_verb logbook_do_sign_off;
logbook_verb logbook_do_instructor;
logbook_verb logbook_do_export;
logbook_verb logbook_do_import;
logbook_verb logbook_do_forget;

/** The row whose number the first operand is. */
bool logbook_find_row(logbook *l, const logbook_plan *p, entry *e, app_err *err);

#endif
