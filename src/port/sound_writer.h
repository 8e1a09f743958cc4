/**
 * @file sound_writer.h
 * Writes a mono recording of 16 bits into a draft of a file, and reads it back: what is
 * on the disk is what was meant, or it is an error.
 */
#ifndef PORT_SOUND_WRITER_H
#define PORT_SOUND_WRITER_H

#include "src/base/error.h"
#include "src/port/file.h"

#include <stddef.h>

/**
 * Whether a name says a format that can be written: .wav or .flac, of any case.
 *
 * @return false with err APP_USAGE that names both
 */
bool sound_writer_knows(const char *path, app_err *err);

/**
 * Write samples into an open draft; the caller commits or drops it.
 *
 * @param path     the name wanted, for its extension and for errors
 * @param samples  samples[0..n-1], full scale +/-1, on the 16 bit grid k / 32768; what is
 *                 off the grid is rounded, what is over full scale is clipped
 * @param n        > 0
 * @param rate_hz  1000..192000
 * @return false with err: APP_USAGE (extension), APP_FAILED (disk full, not a place where
 *         a sound file can be written, or what was read back differs)
 */
bool sound_writer_fill(file_draft *draft,
                       const char *path,
                       const float *samples,
                       size_t n,
                       int rate_hz,
                       app_err *err);

#endif
