/**
 * @file sound_bytes.h
 * The bytes of an open sound file, and whether reading or writing them ever failed. By
 * itself libsndfile takes a read that failed (a loose cable, a network that is gone) for the
 * end of the file, and says nothing of a header that it could not write again at the end:
 * the file is then called complete and says that it holds nothing, or less. So libsndfile
 * reads and writes through these.
 */
#ifndef SOUND_SOUND_BYTES_H
#define SOUND_SOUND_BYTES_H

#include <sndfile.h>
#include <stddef.h>
#include <stdint.h>

/** An open descriptor that can seek; its position is neither used nor changed. */
typedef struct sound_bytes {
    int fd;
    int error;  /**< errno of the first read or write that failed; 0: none */
    int64_t at; /**< where libsndfile is in them */
    int64_t n;  /**< how many there are; -1: as many as have been written by now */
} sound_bytes;

/**
 * Read out[0..n-1] from byte `at` on.
 *
 * @return bytes read; fewer than n at the end of the file or after an error
 */
size_t sound_bytes_read(sound_bytes *b, void *out, size_t n, int64_t at);

/**
 * sf_open of them, from the start: b must live, where it is, until the file is closed.
 *
 * @param mode  SFM_READ or SFM_WRITE
 * @return as sf_open
 */
SNDFILE *sound_bytes_open(sound_bytes *b, int mode, SF_INFO *info);

#endif
