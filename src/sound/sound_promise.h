/**
 * @file sound_promise.h
 * Was a recording cut short? Compares what the container's header promises with the
 * file's size. libsndfile shortens such files without a word, so we look ourselves.
 *
 * Source: WAV, RIFF and AIFF: their public descriptions; RF64: EBU Tech 3306;
 *         Wave64: Sony Wave64 description; Ogg: RFC 3533, section 6.
 */
#ifndef SOUND_SOUND_PROMISE_H
#define SOUND_SOUND_PROMISE_H

#include <stdbool.h>
#include <stdint.h>

/**
 * True when a WAV, RF64, Wave64 or AIFF header promises more bytes of sound than the
 * file holds, or when an Ogg stream lacks its last page. A header with no length in it
 * (a recorder that never came back to fill it in) promises nothing. Other formats:
 * false.
 *
 * @param fd    open for reading, can seek; its position is not changed
 * @param size  bytes in the file
 */
bool sound_promise_is_broken(int fd, int64_t size);

#endif
