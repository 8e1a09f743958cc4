/**
 * @file sound_out.h
 * A sound file that libsndfile writes, and whether a write of its bytes ever failed. By
 * itself libsndfile does not say so of the header that it writes again at the end: the file
 * is then called complete and says that it holds nothing, or less.
 */
#ifndef SOUND_SOUND_OUT_H
#define SOUND_SOUND_OUT_H

#include "src/base/error.h"

#include <sndfile.h>
#include <stdint.h>

/** Where the bytes go. Must live, where it is, until the file is closed. */
typedef struct sound_out {
    int fd;
    int64_t at;
    int error; /**< errno of the first write that failed; 0: none */
} sound_out;

/**
 * @param fd    open for writing, can seek; stays the caller's
 * @param info  what is to be written, as for sf_open
 * @return NULL: libsndfile's words are in sf_strerror(NULL), the system's in o->error
 */
SNDFILE *sound_out_open(sound_out *o, int fd, SF_INFO *info);

/** sf_close. @return 0: all of it was taken; else errno, or -1 where there is none */
int sound_out_close(sound_out *o, SNDFILE *file);

#define SOUND_OUT_FULL_SCALE 32768.0F

/** A sample as it is written; what is no number is 0. */
short sound_out_sample(float x);

/**
 * What could not be written, and why.
 *
 * @param error  an errno; 0 or less: words say it
 * @return always false
 */
bool sound_out_failed(const char *path, int error, const char *words, app_err *err);

#endif
