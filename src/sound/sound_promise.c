#include "src/sound/sound_promise.h"

#include "src/sound/sound_format.h"
#include "src/sound/sound_mpeg.h"
#include "src/sound/sound_ogg.h"

#include <stdbool.h>
#include <stddef.h>
#include <string.h>

enum {
    CHUNKS_MAX = 256 /* no sane header has more before its sound */
};

static bool read_at(sound_bytes *from, int64_t at, unsigned char *out, size_t n)
{
    return at >= 0 && sound_bytes_read(from, out, n, at) == n;
}

static uint64_t little_end(const unsigned char *b, size_t n)
{
    uint64_t value = 0;
    for (size_t i = n; i > 0; i--) {
        value = value << 8U | b[i - 1];
    }
    return value;
}

static uint64_t big_end(const unsigned char *b, size_t n)
{
    uint64_t value = 0;
    for (size_t i = 0; i < n; i++) {
        value = value << 8U | b[i];
    }
    return value;
}

static bool is_beyond(int64_t body, uint64_t length, int64_t size)
{
    return length > (uint64_t)INT64_MAX || (int64_t)length > size - body;
}

/* WAV and AIFF: four letters and four bytes of length, padded to two. In RF64 the
 * length of the sound stands in the ds64 chunk. */
static bool chunks_are_broken(sound_bytes *from,
                              int64_t size,
                              const char *sound,
                              bool big)
{
    uint64_t long_length = 0;
    int64_t at = 12;
    for (int i = 0; i < CHUNKS_MAX; i++) {
        unsigned char b[24];
        if (!read_at(from, at, b, 8)) {
            return false;
        }
        uint64_t length = big ? big_end(b + 4, 4) : little_end(b + 4, 4);
        if (memcmp(b, sound, 4) == 0) {
            const bool is_long = length == UINT32_MAX;
            length = is_long ? long_length : length;
            return length != 0 && is_beyond(at + 8, length, size);
        }
        if (memcmp(b, "ds64", 4) == 0 && read_at(from, at, b, sizeof b)) {
            long_length = little_end(b + 16, 8);
        }
        at += 8 + (int64_t)length + (int64_t)(length & 1U);
    }
    return false;
}

/* The sound files of early workstations, either way round: four letters, where the sound
 * starts, and its length, which all bits say is not known. */
static bool au_is_broken(const unsigned char *b, bool big, int64_t size)
{
    const uint64_t start = big ? big_end(b + 4, 4) : little_end(b + 4, 4);
    const uint64_t length = big ? big_end(b + 8, 4) : little_end(b + 8, 4);
    return length != UINT32_MAX && is_beyond((int64_t)start, length, size);
}

/* Wave64: sixteen bytes of name, eight of length with the header, padded to eight. */
static bool wave64_is_broken(sound_bytes *from, int64_t size)
{
    int64_t at = 40;
    for (int i = 0; i < CHUNKS_MAX; i++) {
        unsigned char b[24];
        if (!read_at(from, at, b, sizeof b)) {
            return false;
        }
        const uint64_t length = little_end(b + 16, 8);
        if (memcmp(b, "data", 4) == 0) {
            return length > sizeof b && is_beyond(at, length, size);
        }
        if (length < sizeof b || is_beyond(at, length, size)) {
            return false;
        }
        at += (int64_t)((length + 7U) & ~(uint64_t)7U);
    }
    return false;
}

/* Core Audio: four letters of name, eight bytes of length; all bits of it say that the sound
 * goes on to the end. */
static bool caf_is_broken(sound_bytes *from, int64_t size)
{
    int64_t at = 8;
    for (int i = 0; i < CHUNKS_MAX; i++) {
        unsigned char b[12];
        if (!read_at(from, at, b, sizeof b)) {
            return false;
        }
        const uint64_t length = big_end(b + 4, 8);
        const int64_t body = at + (int64_t)sizeof b;
        if (memcmp(b, "data", 4) == 0) {
            return length != UINT64_MAX && is_beyond(body, length, size);
        }
        if (is_beyond(body, length, size)) {
            return false;
        }
        at = body + (int64_t)length;
    }
    return false;
}

static sound_promise of_ogg(sound_bytes *from, int64_t size)
{
    switch (sound_ogg_check(from, size)) {
    case SOUND_OGG_CUT:
        return SOUND_PROMISE_CUT;
    case SOUND_OGG_HOLE:
        return SOUND_PROMISE_HOLE;
    case SOUND_OGG_WHOLE:
    default:
        return SOUND_PROMISE_KEPT;
    }
}

sound_promise sound_promise_check(sound_bytes *from, int64_t size)
{
    unsigned char b[12];
    bool cut = false;
    if (!read_at(from, 0, b, sizeof b)) {
        return SOUND_PROMISE_KEPT;
    }
    if (memcmp(b, "OggS", 4) == 0) {
        return of_ogg(from, size);
    }
    if (sound_format_is_mpeg(b, sizeof b) && sound_mpeg_walk(from, size).gap) {
        return SOUND_PROMISE_HOLE;
    }
    const bool riff = memcmp(b, "RIFF", 4) == 0 || memcmp(b, "RF64", 4) == 0;
    if (riff && memcmp(b + 8, "WAVE", 4) == 0) {
        cut = chunks_are_broken(from, size, "data", false);
    } else if (memcmp(b, "FORM", 4) == 0 && memcmp(b + 8, "AIF", 3) == 0) {
        cut = chunks_are_broken(from, size, "SSND", true);
    } else if (memcmp(b, ".snd", 4) == 0 || memcmp(b, "dns.", 4) == 0) {
        cut = au_is_broken(b, b[0] == '.', size);
    } else if (memcmp(b, "caff", 4) == 0) {
        cut = caf_is_broken(from, size);
    } else if (memcmp(b, "riff", 4) == 0) {
        cut = wave64_is_broken(from, size);
    }
    return cut ? SOUND_PROMISE_CUT : SOUND_PROMISE_KEPT;
}
