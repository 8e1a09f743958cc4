#include "src/sound/sound_promise.h"

#include "src/sound/sound_format.h"
#include "src/sound/sound_mpeg.h"

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

/* b[0..n-1] as a number; big: the most significant byte first. */
static uint64_t number(const unsigned char *b, size_t n, bool big)
{
    uint64_t value = 0;
    for (size_t i = 0; i < n; i++) {
        value = value << 8U | b[big ? i : n - 1 - i];
    }
    return value;
}

static bool is_beyond(const sound_bytes *from, int64_t body, uint64_t length)
{
    return length > (uint64_t)INT64_MAX || (int64_t)length > from->n - body;
}

/* A container of chunks: a name, the length of what is in it, and that. */
struct chunks {
    int64_t first;     /* where the first one begins */
    const char *sound; /* the name of the one that holds the sound */
    size_t head;       /* bytes before what is in a chunk */
    size_t length_at, length_bytes;
    bool big;        /* the most significant byte first */
    bool whole;      /* the length counts the head too */
    uint64_t unsaid; /* a length of the sound that says nothing, beside 0 */
    uint64_t step;   /* what is in a chunk is padded to so many bytes */
};

static const struct chunks WAV = {12, "data", 8, 4, 4, .step = 2};
static const struct chunks AIFF = {12, "SSND", 8, 4, 4, .big = true, .step = 2};
/* Wave64: sixteen bytes of name. */
static const struct chunks WAVE64 = {40, "data", 24, 16, 8, .whole = true, .step = 8};
/* Core Audio: all bits of the length say that the sound goes on to the end. */
static const struct chunks CAF = {
    8, "data", 12, 4, 8, .big = true, .unsaid = UINT64_MAX, .step = 1};

/* In RF64 the length of the sound stands in the ds64 chunk. */
static bool is_broken(sound_bytes *from, const struct chunks *c)
{
    uint64_t long_length = 0;
    int64_t at = c->first;
    for (int i = 0; i < CHUNKS_MAX; i++) {
        unsigned char b[24];
        if (!read_at(from, at, b, c->head)) {
            return false;
        }
        const int64_t body = at + (int64_t)c->head;
        const uint64_t head = c->whole ? c->head : 0;
        uint64_t length = number(b + c->length_at, c->length_bytes, c->big);
        if (length < head) {
            return false;
        }
        length -= head;
        if (memcmp(b, c->sound, 4) == 0) {
            const bool is_long = c->length_bytes == 4 && length == UINT32_MAX;
            length = is_long ? long_length : length;
            return length != 0 && length != c->unsaid && is_beyond(from, body, length);
        }
        if (memcmp(b, "ds64", 4) == 0 && read_at(from, at, b, sizeof b)) {
            long_length = number(b + 16, 8, false);
        }
        if (is_beyond(from, body, length)) {
            return false;
        }
        at = body + (int64_t)((length + c->step - 1) / c->step * c->step);
    }
    return false;
}

/* The sound files of early workstations, either way round: four letters, where the sound
 * starts, and its length, which all bits say is not known. */
static bool au_is_broken(const sound_bytes *from, const unsigned char *b, bool big)
{
    const uint64_t length = number(b + 8, 4, big);
    return length != UINT32_MAX &&
           is_beyond(from, (int64_t)number(b + 4, 4, big), length);
}

sound_promise sound_promise_check(sound_bytes *from)
{
    unsigned char b[12];
    bool cut = false;
    if (!read_at(from, 0, b, sizeof b)) {
        return SOUND_PROMISE_KEPT;
    }
    if (memcmp(b, "OggS", 4) == 0) {
        return sound_ogg_check(from);
    }
    if (sound_format_is_mpeg(b, sizeof b) && sound_mpeg_walk(from).gap) {
        return SOUND_PROMISE_HOLE;
    }
    const bool riff = memcmp(b, "RIFF", 4) == 0 || memcmp(b, "RF64", 4) == 0;
    if (riff && memcmp(b + 8, "WAVE", 4) == 0) {
        cut = is_broken(from, &WAV);
    } else if (memcmp(b, "FORM", 4) == 0 && memcmp(b + 8, "AIF", 3) == 0) {
        cut = is_broken(from, &AIFF);
    } else if (memcmp(b, ".snd", 4) == 0 || memcmp(b, "dns.", 4) == 0) {
        cut = au_is_broken(from, b, b[0] == '.');
    } else if (memcmp(b, "caff", 4) == 0) {
        cut = is_broken(from, &CAF);
    } else if (memcmp(b, "riff", 4) == 0) {
        cut = is_broken(from, &WAVE64);
    }
    return cut ? SOUND_PROMISE_CUT : SOUND_PROMISE_KEPT;
}
