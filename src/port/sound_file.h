/**
 * @file sound_file.h
 * Reads a sound file in blocks, whatever libsndfile can open. The header's number of
 * frames is never trusted: what can be read is what there is.
 *
 * A frame is one sample from every channel.
 */
#ifndef PORT_SOUND_FILE_H
#define PORT_SOUND_FILE_H

#include "src/base/error.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
    SOUND_CHANNELS_MAX = 1024,
    SOUND_FRAMES_UNKNOWN = -1
};

/** Opaque; see sound_file_close. */
typedef struct sound_file sound_file;

/** What the header says, as far as it can be believed. */
typedef struct sound_info {
    double rate_hz; /**< 1000..192000 */
    int channels;   /**< 1..SOUND_CHANNELS_MAX */
    int64_t frames; /**< frames that can be reached; SOUND_FRAMES_UNKNOWN */
    bool truncated; /**< the header promises more than the file holds */
} sound_info;

/**
 * Open a file, or standard input for "-" (copied to an unnamed temporary file first, so
 * that every format works).
 *
 * @return the file; NULL with err APP_UNREADABLE: what was found, and what to do. For a
 *         format that cannot be read, its name and the command that converts it.
 *         APP_FAILED: as sound_file_check
 */
sound_file *sound_file_open(const char *path, app_err *err);

/** What the header says. */
sound_info sound_file_info(const sound_file *file);

/**
 * Go to a frame. Where the format cannot seek, or not reliably, the way there is read
 * and dropped.
 *
 * @param frame  >= 0
 * @return false with err: APP_UNREADABLE (ends before), APP_INTERRUPTED
 */
bool sound_file_seek(sound_file *file, int64_t frame, app_err *err);

/**
 * Read the next frames, interleaved, full scale +/-1; values that are not numbers are
 * passed on as they are.
 *
 * @param[out] out    out[0..n*channels-1]
 * @param      n      frames wanted
 * @return frames read; fewer than n only at the end of what can be read
 */
size_t sound_file_read(sound_file *file, float *out, size_t n);

/**
 * Has every read so far succeeded? A read that failed looks like an early end: whoever has
 * come to one asks here before it is believed. Opening and seeking ask by themselves.
 *
 * @return false with err APP_FAILED: the cause, and that another try may succeed
 */
bool sound_file_check(const sound_file *file, app_err *err);

/** The next frame's index. */
int64_t sound_file_position(const sound_file *file);

/** Close and free; NULL is allowed. */
void sound_file_close(sound_file *file);

#endif
