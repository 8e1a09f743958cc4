/**
 * @file demonstrate_run.h
 * A demonstration on the terminal: screen and keys, or plain lines where there is none.
 */
#ifndef COMMAND_DEMONSTRATE_RUN_H
#define COMMAND_DEMONSTRATE_RUN_H

#include "src/base/error.h"
#include "src/usecase/demonstrate.h"

#include <stdbool.h>

/** What was asked for. Texts are borrowed. */
typedef struct demonstrate_plan {
    demonstrate_request request; /**< its rate is the output's and found here */
    const char *output;          /**< a name; NULL: the default one */
    bool marks;
    bool click;
    bool short_counts;    /**< shown from the start */
    bool once;            /**< end at the end */
    bool terminal;        /**< false: plain lines even on a terminal */
    double loop_s[2];     /**< from, to; NaN: no loop */
    const char *log_path; /**< when each mark was shown; NULL: not kept */
    bool force;           /**< may replace that file */
} demonstrate_plan;

/**
 * Play until it ends or the person ends it.
 *
 * @return the exit status; err is filled when something failed
 */
int demonstrate_run(const demonstrate_plan *plan, app_err *err);

#endif
