/**
 * @file logbook_private.h
 * What `logbook` can do, one function a word. Each prints its result on stdout.
 */
#ifndef COMMAND_LOGBOOK_PRIVATE_H
#define COMMAND_LOGBOOK_PRIVATE_H

#include "src/base/options.h"
#include "src/logbook/logbook.h"

/** @return false with err */
typedef bool logbook_verb(logbook *l, const options *o, app_err *err);

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

/** Is --learner, where given, a name the logbook can keep? */
bool logbook_check_learner(const options *o, app_err *err);

/** False with err APP_USAGE without --learner. */
bool logbook_need_learner(const options *o, app_err *err);

/** Whose rows, and how many. */
logbook_query logbook_query_of(const options *o);

#endif
