/**
 * @file sound_out.h
 * A sound file of 16 bits that libsndfile writes, and what is common to all that we write.
 */
#ifndef SOUND_SOUND_OUT_H
#define SOUND_SOUND_OUT_H

#include "src/port/file.h"
#include "src/sound/sound_bytes.h"

/**
 * @param fd    open for writing, can seek; stays the caller's
 * @param info  what is to be written, as for sf_open
 * @return NULL: libsndfile's words are in sf_strerror(NULL), the system's in o->error
 */
SNDFILE *sound_out_open(sound_bytes *o, int fd, SF_INFO *info);

/** sf_close. @return 0: all of it was taken; else errno, or -1 where there is none */
int sound_out_close(sound_bytes *o, SNDFILE *file);

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

/** All samples on their way into a file, or past it once it is written. */
typedef struct sound_pass {
    const char *path; /**< for errors */
    bool writing;     /**< false: they are compared with what was written */
    SNDFILE *file;
    sound_bytes out;
} sound_pass;

/** The next samples in[0..n-1], whole frames. @return false with err APP_FAILED */
bool sound_pass_take(const sound_pass *p, const float *in, size_t n, app_err *err);

enum {
    SOUND_OUT_CHANNELS = 8 /**< most of a file: of FLAC (RFC 9639, section 9.1.3) */
};

/** What is to be written. */
typedef struct sound_giving {
    SF_INFO is; /**< rate, 1..SOUND_OUT_CHANNELS channels, format */
    /** Hands all samples, from the first on, to sound_pass_take. @return false with err */
    bool (*give)(const void *context, const sound_pass *to, app_err *err);
    const void *context;
} sound_giving;

/**
 * Write a whole file into a draft, and read it back: what is on the disk is what was meant,
 * or it is an error. Asks twice for the samples. The caller commits or drops the draft.
 *
 * @param path  the name wanted, for errors
 * @return false with err: APP_FAILED, or as g->give leaves it
 */
bool sound_out_whole(const file_draft *draft,
                     const char *path,
                     const sound_giving *g,
                     app_err *err);

#endif
