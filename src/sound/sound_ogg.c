#include "src/sound/sound_promise.h"

#include <errno.h>
#include <ogg/ogg.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

enum {
    STREAMS_MAX = 8, /* followed at once; sound has one, a film a few (ours) */
    TRIES_MAX = 64,  /* places that look like a page and are none (ours) */
    READ_BYTES = 16384,
    PAGE_BYTES_MAX = 27 + 255 + 255 * 255
};

struct stream {
    int id;
    long number; /* of the page seen last */
    bool has_sound;
};

struct walk {
    sound_bytes *from;
    int64_t at;
    ogg_sync_state sync;
    int tries;
    struct stream streams[STREAMS_MAX];
    size_t n_streams;
};

/* More of the file, and behind its end zeros, so that what only looks like the start of a
 * long page does not hide a whole one in it. False: both are used up. */
static bool feed(struct walk *w)
{
    const bool ended = w->at >= w->from->n;
    const size_t n = ended ? PAGE_BYTES_MAX : READ_BYTES;
    char *const room = ogg_sync_buffer(&w->sync, (long)n);
    if (room == NULL) {
        w->from->error = ENOMEM;
    }
    if (room == NULL || w->at > w->from->n) {
        return false;
    }
    size_t got = n;
    if (ended) {
        memset(room, 0, n);
    } else {
        got = sound_bytes_read(w->from, room, n, w->at);
    }
    w->at += ended || got == 0 ? w->from->n - w->at + 1 : (int64_t)got;
    (void)ogg_sync_wrote(&w->sync, (long)got);
    return true;
}

/* The next whole page; *skipped is set where something else lies before it. Too many that
 * look like one and are not are taken for damaged pages, so that no file keeps us busy. */
static bool next_page(struct walk *w, ogg_page *page, bool *skipped)
{
    for (;;) {
        const ogg_sync_state *const s = &w->sync;
        const bool like =
            s->fill - s->returned >= 4 && memcmp(s->data + s->returned, "OggS", 4) == 0;
        const long n = ogg_sync_pageseek(&w->sync, page);
        if (n > 0) {
            return true;
        }
        *skipped = *skipped || n < 0;
        w->tries += n < 0 && like;
        if (w->tries > TRIES_MAX || (n == 0 && !feed(w))) {
            return false;
        }
    }
}

/* Takes note of a page; false when one of its stream is missing before it. */
static bool follows(struct walk *w, const ogg_page *page)
{
    const int id = ogg_page_serialno(page);
    const long number = ogg_page_pageno(page);
    size_t i = 0;
    while (i < w->n_streams && w->streams[i].id != id) {
        i++;
    }
    if (i == STREAMS_MAX) {
        return true;
    }
    struct stream *const s = &w->streams[i];
    const bool known = i < w->n_streams;
    const bool ok = !known || !s->has_sound || number == s->number + 1;
    w->n_streams += !known;
    /* A granule position that is not 0: sound ends on the page, or is on its way. */
    *s = (struct stream){id, number, ogg_page_granulepos(page) != 0};
    return ok;
}

sound_promise sound_ogg_check(sound_bytes *from)
{
    struct walk w = {.from = from};
    ogg_page page;
    bool last = false;
    bool skipped = false;
    bool hole = false;
    (void)ogg_sync_init(&w.sync);
    while (!hole && next_page(&w, &page, &skipped)) {
        hole = skipped || !follows(&w, &page);
        last = ogg_page_eos(&page) != 0;
    }
    hole = hole || w.tries > TRIES_MAX;
    (void)ogg_sync_clear(&w.sync);
    return hole ? SOUND_PROMISE_HOLE : last ? SOUND_PROMISE_KEPT : SOUND_PROMISE_CUT;
}
