/**
 * @file rhythm_file.h
 * Text files that say in words what beats do, one thing a line; they become intervals.
 * UTF-8, `#` starts a comment, the first line is `# fullminute.rhythm/1`.
 *
 *     beats N at BPM          N even intervals
 *     beats N from BPM to BPM N intervals that change evenly from one to the other
 *     early X                 one of X times the interval, then one of 2 - X: the pause
 *     early X then Y          the same, with a pause of Y
 *     pause X                 one of X times the interval
 *     interval S              one of S seconds
 *     repeat N ... end        the lines between, N times; at most 4 within each other
 *
 * 'The interval' is the last one that `beats` gave. What the file says is played over and
 * over until the recording is full.
 */
#ifndef DOCUMENT_RHYTHM_FILE_H
#define DOCUMENT_RHYTHM_FILE_H

#include "src/base/error.h"
#include "src/document/times_file.h"

#include <stddef.h>

enum {
    RHYTHM_FILE_BYTES_MAX = 65536,
    RHYTHM_FILE_INTERVALS_MAX = 100000
};

/**
 * Read such a file.
 *
 * @param name      what errors call it
 * @param bytes     bytes[0..n-1], any bytes
 * @param[out] out  the intervals, each 0.2..5 s; empty on failure; free with times_free
 * @return false with err: APP_UNREADABLE (the file, the line and what is wrong there) or
 *         APP_FAILED (memory)
 */
bool rhythm_file_parse(
    const char *name, const char *bytes, size_t n, times *out, app_err *err);

#endif
