#include "src/sound/sound_mpeg.h"

#include <stddef.h>
#include <string.h>

enum {
    FRAME_HEAD = 4,
    TAG_HEAD = 10,
    TAG_AT_END = 128,    /* ID3v1 */
    CHAIN = 3,           /* frames in a row are no chance (ours) */
    START_REACH = 65536, /* bytes looked through for the first frame (ours) */
    TRIES_MAX = 1000,    /* places that look like a frame and are none (ours) */
    SEARCH_BYTES = 4096,
    TAG_REACH = 64 /* bytes of a first frame looked through for its tag (ours) */
};

/* Thousand bits a second, by table and index; 0: free format. */
static const unsigned BIT_RATES[5][15] = {
    {0, 32, 64, 96, 128, 160, 192, 224, 256, 288, 320, 352, 384, 416, 448},
    {0, 32, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320, 384},
    {0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320},
    {0, 32, 48, 56, 64, 80, 96, 112, 128, 144, 160, 176, 192, 224, 256},
    {0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160},
};
static const unsigned RATES_HZ[3] = {44100, 48000, 32000};

struct walk {
    sound_bytes *from;
    unsigned kind; /* version, layer and rate of the first frame; 0 before it */
};

/* Length in bytes of the frame with this header; 0 when it is none. */
static unsigned frame_length(const unsigned char *b, unsigned *kind)
{
    const unsigned version = b[1] >> 3U & 3U; /* 3: MPEG-1, 2: 2, 0: 2.5 */
    const unsigned layer = 4U - (b[1] >> 1U & 3U);
    const unsigned bits = b[2] >> 4U;
    const unsigned rate = b[2] >> 2U & 3U;
    const unsigned padding = b[2] >> 1U & 1U;
    if (b[0] != 0xffU || (b[1] & 0xe0U) != 0xe0U || version == 1U || layer == 4U ||
        bits == 0U || bits == 15U || rate == 3U) {
        return 0;
    }
    const bool first = version == 3U;
    const unsigned table = first ? layer - 1U : layer == 1U ? 3U : 4U;
    const unsigned rate_hz = RATES_HZ[rate] >> (first ? 0U : version == 2U ? 1U : 2U);
    const unsigned bits_per_s = BIT_RATES[table][bits] * 1000U;
    *kind = 1U + version * 16U + layer * 4U + rate;
    if (layer == 1U) {
        return (12U * bits_per_s / rate_hz + padding) * 4U;
    }
    const unsigned slots = !first && layer == 3U ? 72U : 144U;
    return slots * bits_per_s / rate_hz + padding;
}

/* The frame at `at`, of the kind of the first; 0 when there is none. */
static unsigned frame_at(const struct walk *w, int64_t at)
{
    unsigned char b[FRAME_HEAD];
    unsigned kind = 0;
    if (sound_bytes_read(w->from, b, sizeof b, at) != sizeof b) {
        return 0;
    }
    const unsigned n = frame_length(b, &kind);
    return w->kind == 0 || w->kind == kind ? n : 0;
}

/* Do frames start at `at`, so many in a row that it is no chance? */
static bool is_chain(const struct walk *w, int64_t at)
{
    for (int i = 0; i < CHAIN; i++) {
        const unsigned n = frame_at(w, at);
        if (n == 0) {
            return false;
        }
        at += n;
    }
    return true;
}

/* First place from `at` to `until` where frames start; -1: none. Too many places that only
 * look like it end the search at the last of them. */
static int64_t find_chain(const struct walk *w, int64_t at, int64_t until)
{
    unsigned char block[SEARCH_BYTES];
    int tries = 0;
    while (at < until) {
        const int64_t got = (int64_t)sound_bytes_read(w->from, block, sizeof block, at);
        if (got < FRAME_HEAD) {
            return -1;
        }
        for (int64_t i = 0; i + FRAME_HEAD <= got; i++) {
            unsigned kind = 0;
            if (frame_length(block + i, &kind) > 0 &&
                (w->kind == 0 || w->kind == kind) &&
                (is_chain(w, at + i) || ++tries > TRIES_MAX)) {
                return at + i;
            }
        }
        at += got - (FRAME_HEAD - 1);
    }
    return -1;
}

/* Bytes of the tag at `at`; 0 when there is none. */
static int64_t tag_at(const struct walk *w, int64_t at)
{
    unsigned char b[TAG_HEAD];
    if (sound_bytes_read(w->from, b, sizeof b, at) != sizeof b) {
        return 0;
    }
    if (memcmp(b, "TAG", 3) == 0) {
        return TAG_AT_END;
    }
    if (memcmp(b, "ID3", 3) != 0) {
        return 0;
    }
    int64_t n = 0;
    for (size_t i = 6; i < TAG_HEAD; i++) {
        n = n << 7 | (b[i] & 0x7f);
    }
    const bool footer = (b[5] & 0x10U) != 0;
    return n + (footer ? 2 * TAG_HEAD : TAG_HEAD);
}

/* ISO/IEC 11172-3 and 13818-3: samples of a frame, by what frame_length calls its kind. */
static int64_t samples_of(unsigned kind)
{
    const unsigned layer = (kind - 1U) / 4U % 4U;
    const bool first = (kind - 1U) / 16U == 3U;
    return layer == 1U ? 384 : layer == 2U || first ? 1152 : 576;
}

/* The tag that encoders put into a first frame; from memory, as there is no standard. */
static bool says_length(const struct walk *w, int64_t at, unsigned n)
{
    static const char TAGS[3][5] = {"Xing", "Info", "VBRI"};
    char b[TAG_REACH];
    const size_t reach = n < sizeof b ? n : sizeof b;
    const size_t got = sound_bytes_read(w->from, b, reach, at);
    for (size_t i = 0; i + 4 <= got; i++) {
        for (int t = 0; t < 3; t++) {
            if (memcmp(b + i, TAGS[t], 4) == 0) {
                return true;
            }
        }
    }
    return false;
}

sound_mpeg_look sound_mpeg_walk(sound_bytes *from)
{
    struct walk w = {.from = from};
    sound_mpeg_look out = {0};
    const int64_t behind_tag = tag_at(&w, 0);
    int64_t at = find_chain(&w, behind_tag, behind_tag + START_REACH);
    unsigned char b[FRAME_HEAD];
    if (at < 0 || sound_bytes_read(from, b, sizeof b, at) != sizeof b ||
        frame_length(b, &w.kind) == 0) {
        return out;
    }
    out.says_length = says_length(&w, at, frame_at(&w, at));
    while (at < from->n) {
        const int64_t n = frame_at(&w, at);
        const int64_t step = n > 0 ? n : tag_at(&w, at);
        if (step == 0) {
            out.gap = find_chain(&w, at + 1, from->n) >= 0;
            return out;
        }
        out.samples += n > 0 ? samples_of(w.kind) : 0;
        at += step;
    }
    return out;
}
