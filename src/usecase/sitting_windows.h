/**
 * @file sitting_windows.h
 * What the document of a live sitting says about its recording, for the analysis: which
 * seconds to count, and where the recording's zeros are no sound but missing audio.
 * Options that the person gave win over it.
 */
#ifndef USECASE_SITTING_WINDOWS_H
#define USECASE_SITTING_WINDOWS_H

#include "src/document/sitting_document.h"
#include "src/usecase/analyse_file.h"

/**
 * Read NAME.sitting.json beside a recording. A window that ends behind the recording's end
 * (the sitting was killed in it) is set aside where the sitting is checked, else cut there.
 *
 * @param[out] d      empty where there is none
 * @param[out] found  whether there is one
 * @return false with err APP_UNREADABLE, APP_FAILED
 */
bool sitting_windows_find(const char *sound_path,
                          sitting_document *d,
                          bool *found,
                          app_err *err);

/** Set start, seconds, the breath's window and the age where the person named none. */
void sitting_windows_apply(const sitting_document *d, analyse_request *request);

/**
 * The same from the document beside the request's recording, where it is to be used and
 * there is one.
 *
 * @return false with err as sitting_windows_find
 */
bool sitting_windows_take(analyse_request *request, app_err *err);

/** A stretch of missing audio, in frames of the recording. */
typedef struct missing_stretch {
    int64_t first, n;
} missing_stretch;

/** Those of one recording, in order. Start it as {0}; free list. */
typedef struct missing_audio {
    missing_stretch *list; /**< owned */
    size_t n;
} missing_audio;

/** @return false without memory */
bool missing_audio_take(missing_audio *m, const sitting_document *d, double rate_hz);

/**
 * The next run of frames that are alike.
 *
 * @param first        frame, >= 0
 * @param n            frames from there on, > 0
 * @param[out] missing  whether they are missing
 * @return how many are alike, 1..n
 */
size_t missing_audio_run(const missing_audio *m,
                         int64_t first,
                         size_t n,
                         bool *missing);

#endif
