/**
 * @file page_private.h
 * The inside of the page's server, for the files of this folder only.
 *
 * One thread, the main one, runs the server, the streams and the shared minute, and waits
 * for nothing; one owns the live sitting; one does the long work and owns the practices. What
 * a request is for says on which of them its handler runs (page_routes.c); what goes from one
 * to another goes through a queue (page_jobs.h), and nothing else here is locked.
 */
#ifndef PAGE_PAGE_PRIVATE_H
#define PAGE_PAGE_PRIVATE_H

#include "src/base/bytes.h"
#include "src/document/document_parts.h"
#include "src/document/own_count.h"
#include "src/page/page.h"
#include "src/page/page_jobs.h"
#include "src/page/page_rate.h"
#include "src/usecase/collection.h"
#include "src/usecase/listen_make.h"
#include "src/usecase/live_sitting.h"
#include "src/usecase/shared_minute.h"

#include <jansson.h>
#include <microhttpd.h>
#include <stddef.h>

enum {
    PAGE_TOKEN_BYTES = 33, /**< 128 bits as hexadecimal, and an end mark */
    PAGE_BODY_BYTES = 64 * 1024,
    PAGE_UPLOAD_BYTES = 48 * 1024 * 1024,
    PAGE_HOST_BYTES = 96
};

typedef struct page page;
typedef struct page_request page_request;
typedef struct page_live page_live;
typedef struct page_practice page_practice;
typedef struct page_shared page_shared;

/** Where a handler runs. */
typedef enum page_thread {
    PAGE_LONG,    /**< what takes long; the practices */
    PAGE_SITTING, /**< the live sitting, and all that PortAudio is asked */
    PAGE_QUEUES,
    PAGE_AT_ONCE = PAGE_QUEUES /**< the server's own: not for what opens a file */
} page_thread;

/** What may be asked for. The last part of a path may be a number. */
typedef struct page_route {
    const char *method;
    const char *path; /**< "#" stands for a number */
    void (*run)(page_request *r);
    page_thread on;
    size_t body_bytes;               /**< most that may be sent */
    void (*change)(live_sitting *s); /**< of page_live_change; else NULL */
} page_route;

/** One listener: the person's own, or the seats'. */
typedef struct page_listener {
    page *page;
    struct MHD_Daemon *daemon;
    char host[PAGE_HOST_BYTES];  /**< "127.0.0.1:8080" */
    char alias[PAGE_HOST_BYTES]; /**< "localhost:8080", or "" */
    bool for_seats;
    char code[8];          /**< the seats': its addresses begin with it */
    page_rate rate;        /**< of its requests: the seats cannot use up the person's */
    page_rate refused;     /**< of those that are not let in */
    page_rates by_address; /**< the seats': one phone cannot use up the others' */
    int port;
    int shut; /**< the listener, once it takes no more connections, or -1 */
} page_listener;

/** What a request is answered with. */
typedef struct page_answer {
    unsigned status;  /**< 0: not answered yet */
    const char *type; /**< constant */
    bytes body;
    bool own_styles; /**< a document that brings its own style sheet */
} page_answer;

/** One request on its way. */
struct page_request {
    page *page;
    page_listener *listener;
    struct MHD_Connection *connection;
    const page_route *route;
    long number; /**< that of the path, or -1 */
    bytes body;
    json_t *json; /**< the body, where it is JSON; else NULL */
    page_answer answer;
    bool counted; /**< looked at once: authorised, or refused */
    bool waiting; /**< it is a job, or was one */
    bool streaming;
    size_t body_most;
    void (*later)(page_request *r); /**< the job */
    void (*after)(page_request *r); /**< on the server's thread; NULL: nothing */
};

/** One event stream to a browser. */
typedef struct page_stream {
    struct page_stream *next;
    page *page;
    struct MHD_Connection *connection;
    bytes out;
    size_t taken;
    bool suspended;
    bool closing;
    int topic; /**< a page_topic */
    int seat;  /**< of the shared minute, or -1 */
} page_stream;

typedef enum page_topic {
    PAGE_TOPIC_LIVE,
    PAGE_TOPIC_SHARED,
    PAGE_TOPIC_SEAT
} page_topic;

/** Everything. */
struct page {
    const page_options *options;
    page_listener own;
    page_listener seats_listener;
    char token[PAGE_TOKEN_BYTES];   /**< in the opening address */
    char session[PAGE_TOKEN_BYTES]; /**< the cookie's */
    bool ending;                    /**< every request is refused from now on */
    page_jobs *jobs[PAGE_QUEUES];
    int n_waiting; /**< requests that are jobs, until they are answered */
    page_stream *streams;
    double next_beat_s; /**< when streams are next tried */
    collection *collection;
    page_live *live;
    page_practice *practice;
    page_shared *shared;
    bool
        hung; /**< page_end could not close an input: the program has to end with _exit */
};

/* ---- page_serve.c ---- */

/** Everything made, and the person's listener open; p is all zero. False with err. */
bool page_begin(page *p, const page_options *o, app_err *err);
/** Let time go on once: wait for a request as long as is said, with a sitting open or not.
 *  @return true while a sitting is open */
bool page_turn(page *p, double busy_s, double idle_s);
/** What page_begin made, all of it or not. False with err: a sitting may not be whole on disk. */
bool page_end(page *p, app_err *err);

/* ---- page_listener.c ---- */

/** Open a listener; false with err. */
bool page_listener_open(page_listener *d,
                        page *p,
                        const char *address,
                        int port,
                        bool for_seats,
                        app_err *err);
/** Take no more connections; those that are open are still served. */
void page_listener_shut(page_listener *d);
void page_listener_close(page_listener *d);
/** The routes of the person's own listener and of the seats'. */
extern const page_route PAGE_ROUTES[];
extern const page_route PAGE_SEAT_ROUTES[];
/**
 * The route of a request.
 *
 * @param[out] number  that of the path, from 0 to 9999999; -1: it has none
 * @param[out] known   there is such a path, if only for another method
 * @return NULL: none
 */
const page_route *page_route_find(const page_route *routes,
                                  const char *method,
                                  const char *path,
                                  long *number,
                                  bool *known);

/* ---- page_authorise.c ---- */

/** 128 random bits as hexadecimal. */
void page_token_make(char out[PAGE_TOKEN_BYTES]);
/** Are two texts the same? Takes as long whatever they are. */
bool page_token_is(const char *given, const char *wanted);
/** May this request be looked at? Else it is answered. The path is what follows the seats'
 *  code; NULL: it is without the code. */
bool page_authorise(page_request *r, const char *method, const char *path);
/** The address that it comes from, as a number; 0: not known. */
uint32_t page_address_of(const page_request *r);

/* ---- page_reply.c ---- */

/** Returns false. */
bool page_reply_error(page_request *r, unsigned status, const char *text);
void page_reply_app_error(page_request *r, const app_err *err);
unsigned page_status_of(const app_err *err);
/** Takes the reference. */
void page_reply_json(page_request *r, json_t *json);
void page_reply_done(page_request *r);
/** Queue the answer. */
enum MHD_Result page_send(page_request *r);
void page_headers_add(struct MHD_Response *response, const page_answer *a);
/** The asset of that path, or false. */
bool page_reply_asset(page_request *r, const char *path);
/** What stands behind the address as `?name=`; "" nothing. */
const char *page_argument(const page_request *r, const char *name);
/** Members of the request's JSON. */
const char *page_text(const page_request *r, const char *member, const char *fallback);
double page_number(const page_request *r, const char *member, double fallback);
bool page_is(const page_request *r, const char *member);

/* ---- page_entry.c ---- */

/** The count that a request enters: {entered or could_not, rhythm, or breath_rhythm,
 *  breath_depth and breath_effort, running, confirmed}. False with err APP_USAGE. */
bool page_own_count(const page_request *r,
                    taking_entry of,
                    own_count *out,
                    app_err *err);
/** Ask back what has to be asked before it is stored (words/entry_question.h): 409 with
 *  {error, ask, text, person}. @return whether that is the answer */
bool page_ask_back(
    page_request *r, taking_entry of, const own_count *own, int seconds, bool person);

/* ---- page_stream.c ---- */

/** Answer with a stream of events; the first event follows by itself. */
page_stream *page_stream_open(page_request *r, int topic, int seat);
void page_stream_send(page_stream *s, const char *text);
void page_stream_send_all(page *p, int topic, const char *text);
bool page_stream_any(const page *p, int topic);
/** Try every stream now and then, so that those gone are noticed. */
void page_stream_beat(page *p, double now_s);
/** End it, once what was sent has gone. */
void page_stream_close(page_stream *s);
/** End those of a topic; -1: all. */
void page_stream_close_all(page *p, int topic);

/** Answer with a recording's sound. */
void page_reply_sound(page_request *r, const listen_request *of);

/**
 * Suspend the request and have it looked at on another thread.
 *
 * @param run    there, to answer it, or to make ready what after needs
 * @param after  then on the server's thread; NULL: nothing. Not at the program's end
 * @return false: too much waits, and that is the answer
 */
bool page_request_later(page_request *r,
                        page_thread on,
                        void (*run)(page_request *r),
                        void (*after)(page_request *r));

/* ---- the parts ---- */

page_live *page_live_create(page *p);
/** At the end, without its thread: stop and close an open sitting. False with err: it may not
 *  be whole on disk. */
bool page_live_end(page_live *l, app_err *err);
/** After the jobs have ended. */
void page_live_destroy(page_live *l);
/** Have its thread let time go on. @return true while a sitting is open, or counted */
bool page_live_step(page_live *l, double now_s);
bool page_live_hung(const page_live *l);

page_practice *page_practice_create(void);
void page_practice_destroy(page_practice *c);

page_shared *page_shared_create(page *p);
void page_shared_destroy(page_shared *c);
void page_shared_step(page_shared *c, double now_s);
/** Tell the phones that it is over; the listener closes once they are told. */
void page_shared_leave(page_shared *c);
/** A seat's stream opened or ended. */
void page_shared_presence(page_shared *c, int seat, bool here);

#define PAGE_HANDLERS(X)                                                               \
    X(page_home)                                                                       \
    X(page_index)                                                                      \
    X(page_clock)                                                                      \
    X(page_about)                                                                      \
    X(page_live_inputs)                                                                \
    X(page_live_open)                                                                  \
    X(page_live_change)                                                                \
    X(page_live_events)                                                                \
    X(page_live_stop)                                                                  \
    X(page_live_tap)                                                                   \
    X(page_live_enter)                                                                 \
    X(page_live_reveal)                                                                \
    X(page_practice_list)                                                              \
    X(page_practice_begin)                                                             \
    X(page_practice_sound)                                                             \
    X(page_practice_enter)                                                             \
    X(page_listen_list)                                                                \
    X(page_listen_sound)                                                               \
    X(page_listen_marks)                                                               \
    X(page_listen_drop)                                                                \
    X(page_listen_compose)                                                             \
    X(page_logbook_list)                                                               \
    X(page_logbook_report)                                                             \
    X(page_shared_open)                                                                \
    X(page_shared_events)                                                              \
    X(page_shared_start)                                                               \
    X(page_shared_reveal)                                                              \
    X(page_shared_again)                                                               \
    X(page_shared_end)                                                                 \
    X(page_seat_page)                                                                  \
    X(page_seat_take)                                                                  \
    X(page_seat_events)                                                                \
    X(page_seat_enter)                                                                 \
    X(page_seat_taps)
#define X(name) void name(page_request *r);
PAGE_HANDLERS(X)
#undef X

#endif
