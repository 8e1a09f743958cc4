/* Server-sent events: what a browser is told without asking. */
#include "src/base/bytes.h"
#include "src/page/page_private.h"

#include <stdlib.h>
#include <string.h>

enum {
    BLOCK_BYTES = 16384,
    BEHIND_BYTES = 1048576, /* a browser that takes nothing any more */
    SEAT_BEHIND_BYTES = 65536,
    OWN_STREAMS_MOST = 24,
    SEAT_STREAMS_MOST = 400, /* of all; an address has fewer connections */
    ONE_SEAT_MOST = 4        /* tabs of one phone */
};

static const double BEAT_S = 5.0;

static ssize_t read_stream(void *context, uint64_t at, char *out, size_t room)
{
    page_stream *const s = context;
    (void)at;
    if (s->out.n > s->taken) {
        const size_t left = s->out.n - s->taken;
        const size_t n = left < room ? left : room;
        memcpy(out, s->out.data + s->taken, n);
        s->taken += n;
        if (s->taken == s->out.n) {
            bytes_clear(&s->out);
            s->taken = 0;
        }
        return (ssize_t)n;
    }
    if (s->closing) {
        return MHD_CONTENT_READER_END_OF_STREAM;
    }
    MHD_suspend_connection(s->connection);
    s->suspended = true;
    return 0;
}

static void wake(page_stream *s)
{
    if (s->suspended) {
        s->suspended = false;
        MHD_resume_connection(s->connection);
    }
}

static void free_stream(void *context)
{
    page_stream *const s = context;
    page_stream **at = &s->page->streams;
    while (*at != NULL && *at != s) {
        at = &(*at)->next;
    }
    if (*at == s) {
        *at = s->next;
    }
    if (s->topic == PAGE_TOPIC_SEAT) {
        page_shared_presence(s->page->shared, s->seat, false);
    }
    bytes_free(&s->out);
    free(s);
}

/* Seats and the person's own pages have their room apart. */
static bool has_room(const page *p, bool seat)
{
    size_t n = 0;
    for (const page_stream *s = p->streams; s != NULL; s = s->next) {
        n += (s->topic == PAGE_TOPIC_SEAT) == seat;
    }
    return n < (seat ? SEAT_STREAMS_MOST : OWN_STREAMS_MOST);
}

/* A seat that opens one more than it may loses its oldest: the list begins with the newest. */
static void make_room_at_seat(page *p, int seat)
{
    int n = 0;
    for (page_stream *s = p->streams; s != NULL; s = s->next) {
        if (s->topic == PAGE_TOPIC_SEAT && s->seat == seat && ++n >= ONE_SEAT_MOST) {
            page_stream_close(s);
        }
    }
}

page_stream *page_stream_open(page_request *r, int topic, int seat)
{
    page *const p = r->page;
    if (topic == PAGE_TOPIC_SEAT) {
        make_room_at_seat(p, seat);
    }
    page_stream *const s =
        has_room(p, topic == PAGE_TOPIC_SEAT) ? calloc(1, sizeof *s) : NULL;
    if (s == NULL) {
        page_reply_error(r, MHD_HTTP_SERVICE_UNAVAILABLE,
                         "too many pages are open; close one");
        return NULL;
    }
    *s = (page_stream){.next = p->streams,
                       .page = p,
                       .connection = r->connection,
                       .out = BYTES_NONE,
                       .topic = topic,
                       .seat = seat};
    p->streams = s;
    if (topic == PAGE_TOPIC_SEAT) {
        page_shared_presence(p->shared, seat, true);
    }
    bytes_add_text(&s->out, "retry: 1000\n\n");
    struct MHD_Response *const response = MHD_create_response_from_callback(
        MHD_SIZE_UNKNOWN, BLOCK_BYTES, read_stream, s, free_stream);
    if (response == NULL) {
        free_stream(s);
        page_reply_error(r, MHD_HTTP_INTERNAL_SERVER_ERROR, "out of memory");
        return NULL;
    }
    const page_answer a = {.type = "text/event-stream"};
    page_headers_add(response, &a);
    /* Nothing follows a stream: its connection goes with it. */
    (void)MHD_add_response_header(response, MHD_HTTP_HEADER_CONNECTION, "close");
    r->streaming = MHD_queue_response(r->connection, MHD_HTTP_OK, response) == MHD_YES;
    MHD_destroy_response(response);
    return r->streaming ? s : NULL;
}

void page_stream_send(page_stream *s, const char *text)
{
    const size_t most = s->topic == PAGE_TOPIC_SEAT ? SEAT_BEHIND_BYTES : BEHIND_BYTES;
    if (s->out.n - s->taken > most) {
        s->closing = true;
    }
    if (!s->closing) {
        bytes_add_text(&s->out, "data: ");
        bytes_add_text(&s->out, text);
        bytes_add_text(&s->out, "\n\n");
    }
    wake(s);
}

void page_stream_send_all(page *p, int topic, const char *text)
{
    for (page_stream *s = p->streams; s != NULL; s = s->next) {
        if (s->topic == topic) {
            page_stream_send(s, text);
        }
    }
}

bool page_stream_any(const page *p, int topic)
{
    for (const page_stream *s = p->streams; s != NULL; s = s->next) {
        if (s->topic == topic) {
            return true;
        }
    }
    return false;
}

void page_stream_beat(page *p, double now_s)
{
    if (now_s < p->next_beat_s) {
        return;
    }
    p->next_beat_s = now_s + BEAT_S;
    for (page_stream *s = p->streams; s != NULL; s = s->next) {
        bytes_add_text(&s->out, ":\n\n");
        wake(s);
    }
}

void page_stream_close(page_stream *s)
{
    s->closing = true;
    wake(s);
}

void page_stream_close_all(page *p, int topic)
{
    for (page_stream *s = p->streams; s != NULL; s = s->next) {
        if (topic < 0 || s->topic == topic) {
            page_stream_close(s);
        }
    }
}
