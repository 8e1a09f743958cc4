/**
 * @file demonstrate_log.h
 * When each mark was shown, by the computer's steady clock: what a measurement of marks
 * against sound needs. Written whole at the end.
 */
#ifndef COMMAND_DEMONSTRATE_LOG_H
#define COMMAND_DEMONSTRATE_LOG_H

#include "src/port/file.h"

#include <stdbool.h>
#include <stddef.h>

/** One mark shown. */
typedef struct demonstrate_shown {
    double monotonic_s; /**< CLOCK_MONOTONIC right after it was written to the screen */
    double at_s;        /**< of the recording */
    bool is_s2;
} demonstrate_shown;

/** Start it as DEMONSTRATE_LOG_NONE. */
typedef struct demonstrate_log {
    file_draft draft;
    bool open;
    size_t n, room;
    demonstrate_shown *list;
} demonstrate_log;

#define DEMONSTRATE_LOG_NONE                                                           \
    {                                                                                  \
        .draft = FILE_DRAFT_NONE                                                       \
    }

/** path NULL: nothing is kept. False with err as file_draft_open. */
bool demonstrate_log_open(demonstrate_log *l,
                          const char *path,
                          bool force,
                          app_err *err);

/** Keep one, stamped now. Past a million, or without memory, no more are kept. */
void demonstrate_log_add(demonstrate_log *l, double at_s, bool is_s2);

/** Write it, a line a mark with tabs between: shown_monotonic_s, at_s, mark. */
bool demonstrate_log_close(demonstrate_log *l, app_err *err);

#endif
