/**
 * @file check_sitting.h
 * The entries of a live sitting, for `check`: read from NAME.sitting.json; those that a
 * sealed sitting still lacks are asked for and stored before anything is analysed.
 */
#ifndef COMMAND_CHECK_SITTING_H
#define COMMAND_CHECK_SITTING_H

#include "src/usecase/checked_count.h"
#include "src/usecase/sitting_entries.h"

/** The sitting beside a recording. Start it as {0}; check_sitting_free. */
typedef struct check_sitting {
    bool found;
    bool entered; /**< the entries to compare are those in the document, on disk */
    sitting_document document;
    times taps;
} check_sitting;

/**
 * Find it, ask what is missing, fill the request where the options say nothing.
 *
 * @param ask  false: options brought an entry, so nothing is asked
 * @return false with err: APP_USAGE (no count entered, or discarded), APP_UNREADABLE
 */
bool check_sitting_read(check_sitting *c,
                        check_request *request,
                        bool ask,
                        app_err *err);

/** Print what two examiners came to, if there were two; on stdout. */
bool check_sitting_print_second(const check_sitting *c, app_err *err);

void check_sitting_free(check_sitting *c);

#endif
