/**
 * @file read_whole.h
 * A file of modest size into memory.
 */
#ifndef BASE_READ_WHOLE_H
#define BASE_READ_WHOLE_H

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
 * @return false with err APP_UNREADABLE (not there, not readable, longer), APP_FAILED,
 *         APP_INTERRUPTED
 */
bool read_whole(const char *path, size_t most, bytes *out, app_err *err);

#endif
