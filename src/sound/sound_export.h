/**
 * @file sound_export.h
 * A recording as FLAC: about half the size, and of a live recording not a bit lost.
 */
#ifndef SOUND_SOUND_EXPORT_H
#define SOUND_SOUND_EXPORT_H

#include "src/base/error.h"

#include <stdbool.h>

/**
 * Write all of a sound file, every channel, as FLAC of 16 bits, in blocks: memory does not
 * grow with its length. What was written is read back and compared before it gets its name.
 *
 * @param from   a sound file; "-" is not taken
 * @param to     a name that ends in .flac
 * @param force  replace `to` where it exists
 * @return false with err: APP_USAGE (another ending, over 8 channels, `to` exists),
 *         APP_UNREADABLE, APP_INTERRUPTED, APP_FAILED (disk full, or read back otherwise)
 */
bool sound_export_flac(const char *from, const char *to, bool force, app_err *err);

#endif
