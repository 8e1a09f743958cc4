/**
 * @file sound_promise.h
 * Was a recording cut short, or is a part inside it lost? Compares what the container
 * promises with what the file holds. libsndfile shortens such files without a word, so we
 * look ourselves.
 *
 * Source: WAV, RIFF, AIFF and AU: their public descriptions; RF64: EBU Tech 3306;
 *         Wave64: Sony Wave64 description; CAF: its public description (from memory); Ogg: RFC 3533, section 6.
 */
#ifndef SOUND_SOUND_PROMISE_H
#define SOUND_SOUND_PROMISE_H

#include "src/sound/sound_bytes.h"

#include <stdint.h>

/** How far a file keeps what its container promises. */
typedef enum sound_promise {
    SOUND_PROMISE_KEPT, /**< nothing is known to be missing */
    SOUND_PROMISE_CUT,  /**< the end is missing; what is there is in its place */
    SOUND_PROMISE_HOLE  /**< a part inside is lost: what follows comes too early */
} sound_promise;

/**
 * Look whether a WAV, RF64, Wave64, AIFF, AU or CAF header promises more bytes of sound than the
 * file holds, and whether every page of an Ogg file and every frame of an MPEG audio file
 * follows the one before. A header with no length in
 * it (a recorder that never came back to fill it in) promises nothing. Other formats are
 * not looked at.
 *
 * @param from  its error says afterwards whether the answer can be believed
 * @return SOUND_PROMISE_KEPT for other formats
 */
sound_promise sound_promise_check(sound_bytes *from);

/**
 * The same of the pages of an Ogg file: are all of them there? A decoder that meets a damaged
 * or missing page goes on with the next one and closes the gap: everything behind it then
 * comes too early, and beats are counted into a minute that were not in it. Reads all of the
 * file once, which starts with a page.
 *
 * A jump of the sequence numbers before the first sound is allowed: a stream that was
 * joined late has one behind its headers, and nothing is lost by it.
 *
 * Source: RFC 3533, section 6: the page header, its sequence number and its checksum;
 *         by libogg, which finds the pages.
 *
 * @param from  its error says afterwards whether the answer can be believed
 * @return SOUND_PROMISE_CUT: whole as far as it goes, but the last page is missing;
 *         SOUND_PROMISE_HOLE: a page is damaged or missing, and others follow
 */
sound_promise sound_ogg_check(sound_bytes *from);

#endif
