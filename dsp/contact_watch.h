/**
 * @file contact_watch.h
 * Was contact lost while a window was recorded? From the level alone, for the moment the window is
 * over: no beat is looked for, so nothing is known that a sealed count must not know. Mono. All
 * memory is taken at create.
 *
 * The final analysis asks again, with the beats beside it (dsp/heart/silence.h), and may judge otherwise.
 */
#ifndef FM_CONTACT_WATCH_H
#define FM_CONTACT_WATCH_H

#include "dsp/result.h"

#include <stddef.h>
#include <stdint.h>

/** Opaque; see fm_contact_watch_destroy. */
typedef struct fm_contact_watch fm_contact_watch;

/** New watch for samples at rate_hz; NULL when memory is short or no such rate is analysed. */
fm_contact_watch *fm_contact_watch_create(double rate_hz);

/** Frees w; NULL is allowed. */
void fm_contact_watch_destroy(fm_contact_watch *w);

/** Watch the window of samples start..end-1 of the recording, at most 60 s. */
void fm_contact_watch_begin(fm_contact_watch *w, int64_t start, int64_t end);

/**
 * Samples first..first+n-1 of the recording, each once and in order; those outside the window are
 * left out. Real-time safe after the first second.
 *
 * @param[in] in  in[0..n-1]; NULL: lost audio
 */
void fm_contact_watch_push(fm_contact_watch *w,
                           int64_t first,
                           const float *in,
                           size_t n);

/**
 * The longest loss of the window, which is over then: some 20 ms of work for a minute.
 *
 * @return its times in the recording; length 0 where none was found or no window was begun
 */
fm_span fm_contact_watch_end(fm_contact_watch *w);

#endif
