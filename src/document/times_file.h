/**
 * @file times_file.h
 * Text files of times: UTF-8, one decimal number of seconds a line, `#` starts a
 * comment, and the first line names the kind: `# fullminute.taps/1` (moments, ascending)
 * or `# fullminute.intervals/1` (lengths, positive). Blank lines are allowed, as are
 * line ends of either kind.
 */
#ifndef DOCUMENT_TIMES_FILE_H
#define DOCUMENT_TIMES_FILE_H

#include "src/base/error.h"

#include <stddef.h>

/** What the numbers of a file are. */
typedef enum times_kind {
    TIMES_TAPS,     /**< moments in the recording, s, never going back */
    TIMES_INTERVALS /**< lengths, s, greater than 0 */
} times_kind;

enum {
    TIMES_MAX = 1000000 /**< numbers one file may hold: more than a week of beats */
};

/** The numbers of one file. Owned; start it as TIMES_NONE, free with times_free. */
typedef struct times {
    double *s; /**< s[0..n-1], seconds */
    size_t n;
} times;

#define TIMES_NONE                                                                     \
    {                                                                                  \
        NULL, 0                                                                        \
    }

/**
 * Read the text of a file.
 *
 * @param name      what errors call it
 * @param bytes     bytes[0..n-1], any bytes
 * @param[out] out  the numbers; empty on failure
 * @return false with err APP_UNREADABLE: the file, the line and what is wrong there; or
 *         APP_FAILED (memory)
 */
bool times_parse(const char *name,
                 const char *bytes,
                 size_t n,
                 times_kind kind,
                 times *out,
                 app_err *err);

/** Free the numbers; t is then TIMES_NONE. */
void times_free(times *t);

#endif
