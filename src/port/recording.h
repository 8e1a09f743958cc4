/**
 * @file recording.h
 * A live recording, written as it comes: mono WAV of 16 bits whose header is kept valid
 * (RF64 from the start, called WAV while it is short), forced to disk every second or two,
 * mode 0600. A kill loses at most the last 2 s. Not by draft and rename: what has been
 * recorded must be there whatever happens.
 */
#ifndef PORT_RECORDING_H
#define PORT_RECORDING_H

#include "src/base/error.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/** Opaque; see recording_close. One thread at a time. */
typedef struct recording recording;

/**
 * @param path     must not exist
 * @param rate_hz  1000..192000, whole
 * @return NULL with err: APP_USAGE (exists), APP_FAILED (folder, disk)
 */
recording *recording_create(const char *path, int rate_hz, app_err *err);

/**
 * Append samples.
 *
 * @param in       in[0..n-1], already scaled by the gain; NULL: n samples of silence (a gap)
 * @param[out] as_written  the same after rounding to 16 bits and clipping; may be in itself
 *                 or NULL
 * @return false with err APP_FAILED: disk full, ...; what was written before is intact
 */
bool recording_write(
    recording *r, const float *in, size_t n, float *as_written, app_err *err);

/** Samples written so far. */
int64_t recording_samples(const recording *r);

/** Last sync, close. false with err when the last of it could not be forced to disk. */
bool recording_close(recording *r, app_err *err);

#endif
