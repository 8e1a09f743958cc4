/**
 * @file read_whole.h
 * A file of modest size into memory.
 */
#ifndef PORT_READ_WHOLE_H
#define PORT_READ_WHOLE_H

#include "src/base/bytes.h"
#include "src/base/error.h"

#include <stdbool.h>
#include <stddef.h>

/**
 * Add all bytes of a file; data[n] is '\0' and may be written, also when n is 0.
 *
 * @param path      "-": standard input
 * @param most      bytes; a longer file is refused
 * @param[out] out  for bytes_free, also after a failure
 * @return false with err APP_UNREADABLE (not there, not readable, longer), APP_FAILED, or
 *         APP_INTERRUPTED (stopped while waiting for a pipe)
 */
bool read_whole(const char *path, size_t most, bytes *out, app_err *err);

/**
 * The same for a file that the program looks for by itself: a pipe or a device of that name
 * would be waited for, or never end, and is refused.
 *
 * @return false with err APP_UNREADABLE (not there, no ordinary file, longer) or APP_FAILED:
 *         it could not be read to its end, so that what it says is not known
 */
bool read_whole_regular(const char *path, size_t most, bytes *out, app_err *err);

#endif
