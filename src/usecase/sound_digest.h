/**
 * @file sound_digest.h
 * One number for the sound of a recording, whatever file format holds it: BLAKE2b with 256
 * bits over its samples as 16 bit whole numbers, least significant byte first, channels
 * interleaved. A truth document carries it, so that no other recording's is believed.
 *
 * Source: BLAKE2b, RFC 7693; by libsodium (src/port/digest).
 */
#ifndef USECASE_SOUND_DIGEST_H
#define USECASE_SOUND_DIGEST_H

#include "src/base/error.h"
#include "src/port/digest.h"

#include <stddef.h>

/** Of samples as sound_writer stores them: mono, full scale +/-1. Returns out. */
const char *sound_digest_of_samples(const float *samples,
                                    size_t n,
                                    char out[DIGEST_TEXT_BYTES]);

/**
 * Of a file's sound, all of it.
 *
 * @return false with err as sound_file_open, or APP_FAILED, APP_INTERRUPTED
 */
bool sound_digest_of_file(const char *path, char out[DIGEST_TEXT_BYTES], app_err *err);

#endif
