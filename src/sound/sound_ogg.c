#include "src/sound/sound_ogg.h"

#include <stdbool.h>
#include <stddef.h>
#include <string.h>

/* RFC 3533, section 6: 27 bytes, up to 255 lengths of segments, up to 255 bytes each. */
enum {
    HEADER_BYTES = 27,
    SEGMENTS_MAX = 255,
    PAGE_BYTES_MAX = HEADER_BYTES + SEGMENTS_MAX + SEGMENTS_MAX * 255,
    CHECKSUM_AT = 22,
    CHECKSUM_BYTES = 4,
    LAST_PAGE = 0x04, /* flag: end of stream */
    STREAMS_MAX = 8,  /* followed at once; sound has one, a film a few (ours) */
    TRIES_MAX = 64,   /* places that look like a page behind a damaged one (ours) */
    SEARCH_BYTES = 4096
};

static const uint32_t POLYNOMIAL = 0x04c11db7U; /* RFC 3533, section 6, field 7 */

struct page {
    size_t n; /* bytes of the whole page */
    bool last;
    uint32_t stream;
    uint32_t number;
    bool
        has_sound; /* its granule position is not 0: sound ends here, or is on its way */
};

struct stream {
    uint32_t id;
    uint32_t number; /* of the page seen last */
    bool has_sound;
};

struct walk {
    sound_bytes *from;
    int64_t size;
    uint32_t table[256];
    struct stream streams[STREAMS_MAX];
    size_t n_streams;
    unsigned char bytes[PAGE_BYTES_MAX];
};

static void fill_table(uint32_t table[256])
{
    for (uint32_t i = 0; i < 256; i++) {
        uint32_t r = i << 24U;
        for (int bit = 0; bit < 8; bit++) {
            r = (r << 1U) ^ ((r & 0x80000000U) != 0 ? POLYNOMIAL : 0U);
        }
        table[i] = r;
    }
}

static uint32_t little_end(const unsigned char *b)
{
    return (uint32_t)b[0] | (uint32_t)b[1] << 8U | (uint32_t)b[2] << 16U |
           (uint32_t)b[3] << 24U;
}

/* The checksum is taken with its own four bytes as zeros. */
static uint32_t checksum(const struct walk *w, size_t n)
{
    uint32_t sum = 0;
    for (size_t i = 0; i < n; i++) {
        const bool own = i >= CHECKSUM_AT && i < CHECKSUM_AT + CHECKSUM_BYTES;
        const uint32_t byte = own ? 0U : w->bytes[i];
        sum = (sum << 8U) ^ w->table[(sum >> 24U ^ byte) & 0xffU];
    }
    return sum;
}

static bool read_at(struct walk *w, int64_t at, size_t n)
{
    return sound_bytes_read(w->from, w->bytes, n, at) == n;
}

/* Reads the page at `at`; false when there is none, or not all of it, or damaged. */
static bool read_page(struct walk *w, int64_t at, struct page *page)
{
    const int64_t left = w->size - at;
    if (left < HEADER_BYTES || !read_at(w, at, HEADER_BYTES) ||
        memcmp(w->bytes, "OggS", 4) != 0) {
        return false;
    }
    const size_t segments = w->bytes[HEADER_BYTES - 1];
    size_t n = HEADER_BYTES + segments;
    if ((int64_t)n > left || !read_at(w, at, n)) {
        return false;
    }
    for (size_t i = 0; i < segments; i++) {
        n += w->bytes[HEADER_BYTES + i];
    }
    if ((int64_t)n > left || !read_at(w, at, n) ||
        checksum(w, n) != little_end(w->bytes + CHECKSUM_AT)) {
        return false;
    }
    *page = (struct page){
        .n = n,
        .last = (w->bytes[5] & LAST_PAGE) != 0,
        .stream = little_end(w->bytes + 14),
        .number = little_end(w->bytes + 18),
        .has_sound = (little_end(w->bytes + 6) | little_end(w->bytes + 10)) != 0,
    };
    return true;
}

/* Takes note of a page; false when one of its stream is missing before it. */
static bool follows(struct walk *w, const struct page *page)
{
    size_t i = 0;
    while (i < w->n_streams && w->streams[i].id != page->stream) {
        i++;
    }
    if (i == STREAMS_MAX) {
        return true;
    }
    struct stream *const s = &w->streams[i];
    const bool known = i < w->n_streams;
    const bool ok = !known || !s->has_sound || page->number == s->number + 1U;
    w->n_streams += !known;
    *s = (struct stream){page->stream, page->number, page->has_sound};
    return ok;
}

/* Is there a whole page anywhere from `at` on? So many that look like one and are not are
 * taken for damaged pages, so that no file can keep us busy. */
static bool page_follows(struct walk *w, int64_t at)
{
    unsigned char block[SEARCH_BYTES];
    int tries = 0;
    while (at + HEADER_BYTES <= w->size) {
        const int64_t got = (int64_t)sound_bytes_read(w->from, block, sizeof block, at);
        if (got < HEADER_BYTES) {
            return false;
        }
        for (int64_t i = 0; i + 4 <= got; i++) {
            struct page page;
            if (memcmp(block + i, "OggS", 4) == 0 &&
                (++tries > TRIES_MAX || read_page(w, at + i, &page))) {
                return true;
            }
        }
        at += got - 3;
    }
    return false;
}

sound_ogg_state sound_ogg_check(sound_bytes *from, int64_t size)
{
    struct walk w = {.from = from, .size = size};
    fill_table(w.table);
    int64_t at = 0;
    bool last = false;
    struct page page;
    while (read_page(&w, at, &page)) {
        if (!follows(&w, &page)) {
            return SOUND_OGG_HOLE;
        }
        last = page.last;
        at += (int64_t)page.n;
    }
    if (at < size && page_follows(&w, at + 1)) {
        return SOUND_OGG_HOLE;
    }
    return last ? SOUND_OGG_WHOLE : SOUND_OGG_CUT;
}
