/**
 * @file sound_format.h
 * What a file is by its leading bytes, to name a format that cannot be read.
 */
#ifndef SOUND_SOUND_FORMAT_H
#define SOUND_SOUND_FORMAT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
    SOUND_HEAD_BYTES = 512
};

/** What kind of file it is. */
typedef enum sound_kind {
    SOUND_KIND_UNKNOWN, /**< not recognised, or a format that can be read */
    SOUND_KIND_SOUND,   /**< sound or video with sound: can be converted */
    SOUND_KIND_OTHER    /**< no sound at all: text, a picture, an archive */
} sound_kind;

/** A recognised format. */
typedef struct sound_format {
    sound_kind kind;
    const char *name; /**< "MPEG-4 audio (m4a, AAC)"; NULL when unknown */
} sound_format;

/**
 * Name a format from head[0..n-1], the first bytes of a file, n up to SOUND_HEAD_BYTES.
 *
 * @return kind SOUND_KIND_UNKNOWN when nothing matches
 */
sound_format sound_format_guess(const unsigned char *head, size_t n);

/** True for bytes that start an MPEG layer 1, 2 or 3 stream or an ID3 tag. */
bool sound_format_is_mpeg(const unsigned char *head, size_t n);

/** What a WAV header says of its sound. */
typedef struct sound_wav_header {
    bool found; /**< the other two mean something */
    uint32_t rate_hz;
    uint32_t channels;
} sound_wav_header;

/** Reads a WAV header whose format chunk comes first, as it mostly does. */
sound_wav_header sound_format_wav_header(const unsigned char *head, size_t n);

#endif
