/* The shared minute: the educator's side on the page, the seats' at a listener of their own,
 * which is open only while a minute is held. */
#include "src/base/json_text.h"
#include "src/page/page_private.h"
#include "src/page/page_qr.h"
#include "src/port/steady.h"
#include "src/usecase/listen_make.h"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <math.h>
#include <netinet/in.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    ADDRESS_BYTES = 64,
    URL_BYTES = 160,
    CODE_LETTERS = 5
};

/* All ours. The lead-in is three ticks a second apart and a moment to get ready; a room that
 * fills is told ten times a second at most; no heart asks for ten taps a second, and what a
 * phone kept while it was away comes at once. */
static const double LEAD_IN_S = 3.5;
static const double TELL_S = 0.1;
/* A browser opens a lost stream again after a second (page_stream.c), a phone's page asks for
 * its seat again after another one and a half (web/seat.js). */
static const double LEAVE_S = 4.0;
static const double LEAVE_MOST_S = 12.0;
static const double SEAT_PER_S = 10.0;
static const double SEAT_MOST = 40.0;
/* An address's whole share of seats at once, and again as often as phones lose theirs. */
static const double SITTING_PER_S = 5.0;
static const double SITTING_MOST = 40.0;

struct page_shared {
    page *page;
    bool open;
    bool leaving;        /* ended: the listener stays until those at it are told */
    double leave_at_s;   /* not before: those that just come back are told as well */
    double leave_last_s; /* not after: one that takes nothing any more */
    shared_minute minute;
    page_rate rates[SHARED_SEATS_MOST]; /* of each seat */
    page_rates sitting_down;            /* of each address */
    int told;
    double next_tell_s;
    int recording;
    char name[COLLECTION_NAME_BYTES];
    bool preparing; /* the thread of long work has what follows */
    struct {
        bool again; /* for the seats of the one that is open */
        int recording, length, beats;
        collection_item item;
    } next;
    char url[URL_BYTES];
    char *qr;
};

page_shared *page_shared_create(page *p)
{
    page_shared *const c = calloc(1, sizeof *c);
    if (c != NULL) {
        c->page = p;
    }
    return c;
}

void page_shared_destroy(page_shared *c)
{
    if (c != NULL) {
        free(c->qr);
        free(c);
    }
}

void page_shared_presence(page_shared *c, int seat, bool here)
{
    if (c != NULL) {
        shared_minute_presence(&c->minute, seat, here, steady_now_s());
    }
}

/* ---- What is told ---- */

static const char OVER[] = "{\"phase\":\"over\"}";

static json_t *room_of(const page_shared *c)
{
    if (c->leaving) {
        return json_pack("{s:s}", "phase", "ending");
    }
    if (!c->open) {
        return json_pack("{s:s,s:b}", "phase", "none", "share",
                         c->page->options->share);
    }
    json_t *const out = shared_minute_room(&c->minute);
    (void)json_object_set_new(out, "url", json_string(c->url));
    (void)json_object_set_new(out, "recording", json_integer(c->recording));
    if (c->qr != NULL) {
        (void)json_object_set_new(out, "qr", json_string(c->qr));
    }
    if (c->minute.taking.phase == TAKING_SHOWN) {
        (void)json_object_set_new(out, "name", json_string(c->name));
    }
    return out;
}

static void send_json(page_stream *s, json_t *json)
{
    char *const text = json_text_of(json, JSON_COMPACT);
    json_decref(json);
    if (text != NULL) {
        page_stream_send(s, text);
    }
    free(text);
}

static void tell(page_shared *c)
{
    for (page_stream *s = c->page->streams; s != NULL; s = s->next) {
        if (s->topic == PAGE_TOPIC_SHARED) {
            send_json(s, room_of(c));
        } else if (s->topic == PAGE_TOPIC_SEAT && c->open) {
            send_json(s, shared_minute_own(&c->minute, s->seat));
        }
    }
    c->told = c->minute.version;
}

/* Everybody who was there has been told, or takes nothing any more. */
static bool may_leave(const page_shared *c, double now_s)
{
    return c->leaving &&
           (now_s >= c->leave_last_s ||
            (now_s >= c->leave_at_s && !page_stream_any(c->page, PAGE_TOPIC_SEAT)));
}

void page_shared_step(page_shared *c, double now_s)
{
    if (c->open) {
        (void)shared_minute_step(&c->minute, now_s);
    }
    if (may_leave(c, now_s)) {
        page_listener_close(&c->page->seats_listener);
        c->leaving = false;
        c->minute.version++;
    }
    if (c->told != c->minute.version && now_s >= c->next_tell_s) {
        c->next_tell_s = now_s + TELL_S;
        tell(c);
    }
}

/* ---- Opening and ending ---- */

/* The first address of this computer on a network, if it is on one. */
static bool find_address(char out[ADDRESS_BYTES])
{
    struct ifaddrs *all = NULL;
    bool found = false;
    if (getifaddrs(&all) != 0) {
        return false;
    }
    for (const struct ifaddrs *a = all; a != NULL && !found; a = a->ifa_next) {
        struct sockaddr_in at;
        if (a->ifa_addr == NULL || a->ifa_addr->sa_family != AF_INET) {
            continue;
        }
        memcpy(&at, a->ifa_addr, sizeof at);
        found = ntohl(at.sin_addr.s_addr) >> 24 != IN_LOOPBACKNET &&
                inet_ntop(AF_INET, &at.sin_addr, out, ADDRESS_BYTES) != NULL;
    }
    freeifaddrs(all);
    return found;
}

/* Five letters and digits that are not mistaken for one another. */
static void make_code(char out[8])
{
    static const char LETTERS[] = "abcdefghjkmnpqrstuvwxyz23456789";
    for (size_t i = 0; i < CODE_LETTERS; i++) {
        out[i] = LETTERS[randombytes_uniform(sizeof LETTERS - 1)];
    }
    out[CODE_LETTERS] = '\0';
}

static bool open_listener(page_shared *c, app_err *err)
{
    page *const p = c->page;
    char address[ADDRESS_BYTES];
    if (p->options->address != NULL) {
        (void)snprintf(address, sizeof address, "%s", p->options->address);
    } else if (!find_address(address)) {
        return app_err_set(err, APP_FAILED, "this computer is on no network; join one");
    }
    if (!page_listener_open(&p->seats_listener, p, address, 0, true, err)) {
        return false;
    }
    make_code(p->seats_listener.code);
    (void)snprintf(c->url, sizeof c->url, "http://%s/%s/", p->seats_listener.host,
                   p->seats_listener.code);
    free(c->qr);
    c->qr = page_qr_draw(c->url);
    return true;
}

/* On the thread of long work. The truth is found before anybody sits down; it stays here until
 * the reveal. */
static void count_beats(page_request *r)
{
    page_shared *const c = r->page->shared;
    app_err err = APP_ERR_NONE;
    if (!listen_count_beats(c->next.item.path, (double)c->next.length, &c->next.beats,
                            &err)) {
        page_reply_app_error(r, &err);
    }
}

static void begin_minute(page_request *r)
{
    page_shared *const c = r->page->shared;
    app_err err = APP_ERR_NONE;
    c->preparing = false;
    if (r->answer.status != 0) {
        return; /* it cannot be counted */
    }
    if (c->open != c->next.again) {
        page_reply_error(r, MHD_HTTP_CONFLICT,
                         "the shared minute has ended meanwhile; open another");
        return;
    }
    if (!c->open && !open_listener(c, &err)) {
        page_reply_app_error(r, &err);
        return;
    }
    c->recording = c->next.recording;
    (void)snprintf(c->name, sizeof c->name, "%s", c->next.item.name);
    if (c->open) {
        shared_minute_anew(&c->minute, c->next.length, c->next.beats);
    } else {
        shared_minute_begin(&c->minute, c->next.length, c->next.beats);
        for (size_t i = 0; i < SHARED_SEATS_MOST; i++) {
            c->rates[i] = page_rate_of(SEAT_PER_S, SEAT_MOST);
        }
        page_rates_init(&c->sitting_down, SITTING_PER_S, SITTING_MOST);
    }
    c->open = true;
    tell(c);
    page_reply_done(r);
}

static void prepare(page_request *r)
{
    page_shared *const c = r->page->shared;
    const double seconds = page_number(r, "seconds", 60.0);
    if (c->preparing) {
        page_reply_error(r, MHD_HTTP_CONFLICT, "a shared minute is being made ready");
        return;
    }
    c->next.again = c->open;
    c->next.recording = (int)fmax(0.0, fmin(1e6, page_number(r, "recording", 0.0)));
    c->next.length = seconds < 20.0 ? 15 : seconds < 45.0 ? 30 : 60;
    if (!collection_get(r->page->collection, c->next.recording, &c->next.item)) {
        page_reply_error(r, MHD_HTTP_BAD_REQUEST, "choose a recording");
        return;
    }
    c->preparing = page_request_later(r, PAGE_LONG, count_beats, begin_minute);
}

void page_shared_open(page_request *r)
{
    if (!r->page->options->share) {
        page_reply_error(r, MHD_HTTP_FORBIDDEN,
                         "sharing is off; ask whoever started the program to allow it");
    } else if (r->page->shared->open) {
        page_reply_error(r, MHD_HTTP_CONFLICT, "a shared minute is open already");
    } else if (r->page->shared->leaving) {
        page_reply_error(r, MHD_HTTP_CONFLICT,
                         "the phones are still being told that the last shared minute "
                         "is over; try again in a few seconds");
    } else {
        prepare(r);
    }
}

static bool is_open(page_request *r)
{
    if (!r->page->shared->open) {
        page_reply_error(r, MHD_HTTP_CONFLICT, "no shared minute is open; open one");
    }
    return r->page->shared->open;
}

void page_shared_again(page_request *r)
{
    if (is_open(r)) {
        prepare(r);
    }
}

void page_shared_events(page_request *r)
{
    page_stream *const s = page_stream_open(r, PAGE_TOPIC_SHARED, -1);
    if (s != NULL) {
        send_json(s, room_of(r->page->shared));
    }
}

void page_shared_start(page_request *r)
{
    page_shared *const c = r->page->shared;
    if (!is_open(r)) {
        return;
    }
    if (!shared_minute_start(&c->minute, steady_now_s() + LEAD_IN_S)) {
        page_reply_error(r, MHD_HTTP_CONFLICT, "it has begun already");
        return;
    }
    page_reply_json(r, json_pack("{s:f}", "start_s", c->minute.start_s));
}

void page_shared_reveal(page_request *r)
{
    if (!is_open(r)) {
        return;
    }
    if (!shared_minute_reveal(&r->page->shared->minute)) {
        page_reply_error(r, MHD_HTTP_CONFLICT,
                         "the minute is not over yet; wait for its end");
        return;
    }
    page_reply_done(r);
}

/* Nothing of the shared minute is kept. The listener stays a few seconds more, and says to whoever is
 * at it or comes back to it that it is over. */
void page_shared_leave(page_shared *c)
{
    page *const p = c->page;
    if (!c->open) {
        return;
    }
    for (page_stream *s = p->streams; s != NULL; s = s->next) {
        if (s->topic == PAGE_TOPIC_SEAT) {
            page_stream_send(s, OVER);
        }
    }
    page_stream_close_all(p, PAGE_TOPIC_SEAT);
    const int version = c->minute.version + 1;
    const double now_s = steady_now_s();
    memset(&c->minute, 0, sizeof c->minute);
    c->minute.version = version;
    c->open = false;
    c->leaving = true;
    c->leave_at_s = now_s + LEAVE_S;
    c->leave_last_s = now_s + LEAVE_MOST_S;
}

void page_shared_end(page_request *r)
{
    if (is_open(r)) {
        page_shared_leave(r->page->shared);
        page_reply_done(r);
    }
}

/* ---- Seats ---- */

static void reply_seat(page_request *r, int seat)
{
    page_shared *const c = r->page->shared;
    json_t *const out = shared_minute_own(&c->minute, seat);
    (void)json_object_set_new(out, "secret",
                              json_string(c->minute.seats[seat - 1].secret));
    page_reply_json(r, out);
}

/* By its secret, within its rate; 0: answered. */
static int seat_of(page_request *r, const char *secret)
{
    page_shared *const c = r->page->shared;
    const int seat = c->open ? shared_minute_seat_of(&c->minute, secret) : 0;
    if (!c->open) {
        return page_reply_error(r, MHD_HTTP_GONE, "the shared minute has ended");
    }
    if (seat == 0) {
        return page_reply_error(r, MHD_HTTP_FORBIDDEN, "take a seat first");
    }
    if (!page_rate_take(&c->rates[seat - 1], steady_now_s())) {
        return page_reply_error(r, MHD_HTTP_TOO_MANY_REQUESTS,
                                "too many requests at once; wait a moment");
    }
    return seat;
}

void page_seat_page(page_request *r)
{
    if (!page_reply_asset(r, "/seat.html")) {
        page_reply_error(r, MHD_HTTP_NOT_FOUND, "there is no such thing here");
    }
}

/* A new seat; 0: answered. */
static int take_new(page_request *r)
{
    page_shared *const c = r->page->shared;
    const uint32_t from = page_address_of(r);
    const double now_s = steady_now_s();
    char secret[PAGE_TOKEN_BYTES];
    page_token_make(secret);
    if (!page_rates_take(&c->sitting_down, from, now_s)) {
        return page_reply_error(r, MHD_HTTP_TOO_MANY_REQUESTS, "try again in a moment");
    }
    const int seat = shared_minute_sit(&c->minute, secret, from, now_s);
    if (seat <= 0) {
        return page_reply_error(r, MHD_HTTP_CONFLICT,
                                seat == SHARED_ADDRESS_FULL
                                    ? "one address is given a third of the seats, and "
                                      "this one has them; count "
                                      "on paper"
                                    : "every seat is taken; count on paper");
    }
    c->rates[seat - 1] = page_rate_of(SEAT_PER_S, SEAT_MOST);
    return seat;
}

/* A new seat, or the old one for whoever holds its secret. */
void page_seat_take(page_request *r)
{
    page_shared *const c = r->page->shared;
    if (!c->open) {
        page_reply_json(r, json_loads(OVER, 0, NULL));
        return;
    }
    const int known = shared_minute_seat_of(&c->minute, page_text(r, "secret", ""));
    const int seat = known > 0 ? known : take_new(r);
    if (seat > 0) {
        reply_seat(r, seat);
    }
}

/* One that comes back after the end: told by the stream that it opens again. */
static void tell_over(page_request *r)
{
    page_stream *const s = page_stream_open(r, PAGE_TOPIC_SEAT, 0);
    if (s != NULL) {
        page_stream_send(s, OVER);
        page_stream_close(s);
    }
}

void page_seat_events(page_request *r)
{
    if (!r->page->shared->open) {
        tell_over(r);
        return;
    }
    const int seat = seat_of(r, page_argument(r, "secret"));
    page_stream *const s = seat > 0 ? page_stream_open(r, PAGE_TOPIC_SEAT, seat) : NULL;
    if (s != NULL) {
        send_json(s, shared_minute_own(&r->page->shared->minute, seat));
    }
}

void page_seat_enter(page_request *r)
{
    app_err err = APP_ERR_NONE;
    const int seat = seat_of(r, page_text(r, "secret", NULL));
    const double count = page_is(r, "could_not")
                             ? SHARED_COULD_NOT
                             : fmax(0.0, page_number(r, "count", 0.0));
    if (seat == 0) {
        return;
    }
    if (!(count < 10000.0) ||
        !shared_minute_enter(&r->page->shared->minute, seat, (int)count, "", &err)) {
        page_reply_error(r, MHD_HTTP_BAD_REQUEST,
                         err.text[0] != '\0' ? err.text : "give a whole number");
        return;
    }
    reply_seat(r, seat);
}

void page_seat_taps(page_request *r)
{
    double taps_s[SHARED_TAPS_MOST];
    const int seat = seat_of(r, page_text(r, "secret", NULL));
    const json_t *const list = json_object_get(r->json, "taps_s");
    size_t n = 0;
    if (seat == 0) {
        return;
    }
    for (; n < json_array_size(list) && n < SHARED_TAPS_MOST; n++) {
        taps_s[n] = json_number_value(json_array_get(list, n));
    }
    (void)shared_minute_tap(&r->page->shared->minute, seat, taps_s, n);
    page_reply_done(r);
}
