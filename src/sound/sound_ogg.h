/**
 * @file sound_ogg.h
 * Are all pages of an Ogg file there? A decoder that meets a damaged or missing page
 * goes on with the next one and closes the gap: everything behind it then comes too
 * early, and beats are counted into a minute that were not in it.
 *
 * Source: RFC 3533, section 6: the page header, its sequence number and its checksum;
 *         by libogg, which finds the pages.
 */
#ifndef SOUND_SOUND_OGG_H
#define SOUND_SOUND_OGG_H

#include "src/sound/sound_promise.h"

/**
 * Look at every page of a file that starts with one. Reads all of it once.
 *
 * A jump of the sequence numbers before the first sound is allowed: a stream that was
 * joined late has one behind its headers, and nothing is lost by it.
 *
 * @param from  its error says afterwards whether the answer can be believed
 * @return SOUND_PROMISE_CUT: whole as far as it goes, but the last page is missing;
 *         SOUND_PROMISE_HOLE: a page is damaged or missing, and others follow
 */
sound_promise sound_ogg_check(sound_bytes *from);

#endif
