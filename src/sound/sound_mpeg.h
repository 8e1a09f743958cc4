/**
 * @file sound_mpeg.h
 * Does every frame of an MPEG audio file (MP3 and its kin) follow the one before? A
 * decoder that meets a break goes on at the next frame and closes the gap: everything
 * behind it then comes too early.
 *
 * Source: ISO/IEC 11172-3, 2.4.1.3 and 2.4.2.3, and ISO/IEC 13818-3: the frame header
 *         (figures from memory, held against files an encoder made); ID3v2.4, section 3.1.
 */
#ifndef SOUND_SOUND_MPEG_H
#define SOUND_SOUND_MPEG_H

#include "src/sound/sound_bytes.h"

#include <stdbool.h>
#include <stdint.h>

/** What a file of MPEG audio holds, by its frames. */
typedef struct sound_mpeg_look {
    bool gap;         /**< frames are missing inside, or something else stands there */
    bool says_length; /**< its first frame says how long it is (Xing, Info, VBRI) */
    int64_t samples;  /**< of all frames that follow one another from the first on */
} sound_mpeg_look;

/**
 * Walk along the frames.
 *
 * @param from  its error says afterwards whether the answer can be believed
 * @return all zero where no frames are found
 */
sound_mpeg_look sound_mpeg_walk(sound_bytes *from);

#endif
