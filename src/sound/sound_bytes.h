/**
 * @file sound_bytes.h
 * The bytes of an open sound file, and whether reading them ever failed. A read that
 * failed (a loose cable, a network that is gone) is not the end of the file: what was
 * made of the bytes before it is not to be believed, and may be different next time.
 */
#ifndef SOUND_SOUND_BYTES_H
#define SOUND_SOUND_BYTES_H

#include <stddef.h>
#include <stdint.h>

/** An open descriptor that can seek; its position is neither used nor changed. */
typedef struct sound_bytes {
    int fd;
    int error; /**< errno of the first read that failed; 0: none */
} sound_bytes;

/**
 * Read out[0..n-1] from byte `at` on.
 *
 * @return bytes read; fewer than n at the end of the file or after an error
 */
size_t sound_bytes_read(sound_bytes *b, void *out, size_t n, int64_t at);

#endif
