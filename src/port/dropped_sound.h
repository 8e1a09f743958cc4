/**
 * @file dropped_sound.h
 * Bytes that somebody brought, said to be a sound file. They are read by a child process
 * that may do nothing but compute: no file, no network, no other program, little memory
 * and time. What comes back is samples, and a file of our own is written from them.
 */
#ifndef PORT_DROPPED_SOUND_H
#define PORT_DROPPED_SOUND_H

#include "src/base/error.h"

#include <stddef.h>

#define DROPPED_SOUND_MAX_S 600.0 /**< more is left out */

/**
 * Read, and write again: mono, 16 bit, the loudest channel.
 *
 * @param data  data[0..n-1], any bytes
 * @param path   the file to be made, .wav
 * @return false with err: APP_UNREADABLE (no sound file, damaged), APP_FAILED,
 *         APP_INTERRUPTED (Ctrl-C meanwhile)
 */
bool dropped_sound_take(const void *data, size_t n, const char *path, app_err *err);

#endif
