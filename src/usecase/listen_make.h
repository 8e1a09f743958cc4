/**
 * @file listen_make.h
 * A recording for a browser: its sound as a WAV file in memory, and, apart from it, the
 * marks, the envelope and what short counts of it say. The sound alone tells nothing that
 * is sealed.
 */
#ifndef USECASE_LISTEN_MAKE_H
#define USECASE_LISTEN_MAKE_H

#include "src/base/bytes.h"
#include "src/base/error.h"

#include <jansson.h>
#include <stdbool.h>

/** Which stretch of what. */
typedef struct listen_request {
    const char *path;
    double start_s; /**< >= 0 */
    double seconds; /**< > 0, at most FM_WINDOW_MAX_S */
    bool small_speaker;
    bool sealed; /**< a count of it is still to be entered: nothing is counted */
} listen_request;

/** The sound as WAV, 16 bit, mono. @return false with err as demonstration_load */
bool listen_make_sound(const listen_request *r, bytes *out, app_err *err);

/**
 * The marks: {seconds, start_s, beats, origin, doubtful, reason, envelope_hz, envelope,
 * marks [{at_s, s2, unheard}], short_counts [{seconds, windows, min, max, mean}]}.
 *
 * @return a new reference; NULL with err
 */
json_t *listen_make_marks(const listen_request *r, app_err *err);

/** How many beats are in the first so many seconds, for whoever holds a shared minute. */
bool listen_count_beats(const char *path, double seconds, int *beats, app_err *err);

#endif
