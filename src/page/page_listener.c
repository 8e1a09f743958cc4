/* A listener: requests in, through the authorisation, to the part that answers them. */
#include "src/base/json_text.h"
#include "src/page/page_private.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
    /* A person's browsers open a handful; both listeners together stay below the 1024 files that
     * a process usually may have open. One address never holds most of the seats'. */
    OWN_CONNECTIONS_MOST = 200,
    SEATS_CONNECTIONS_MOST = 600,
    ADDRESS_CONNECTIONS_MOST = 150,
    CONNECTION_BYTES = 32768,
    IDLE_S = 30
};

/* A person's browser asks for far less, and so do forty phones. */
static const double RATE_PER_S = 400.0;
static const double RATE_MOST = 800.0;
static const double REFUSED_PER_S = 50.0;
/* A third of the seats behind one address (a router that hides them) taps two and a half times
 * a second each, and sits down at once. */
static const double ADDRESS_PER_S = 100.0;
static const double ADDRESS_MOST = 300.0;

static const char ENDED[] = "the program has ended; nothing of this was stored";

/* ---- Which route ---- */

static bool find_route(page_request *r, const char *method, const char *path)
{
    bool known = false;
    r->route = page_route_find(r->listener->for_seats ? PAGE_SEAT_ROUTES : PAGE_ROUTES,
                               method, path, &r->number, &known);
    if (r->route != NULL || (!known && strcmp(method, MHD_HTTP_METHOD_GET) == 0 &&
                             page_reply_asset(r, path))) {
        return true;
    }
    return page_reply_error(r, known ? MHD_HTTP_METHOD_NOT_ALLOWED : MHD_HTTP_NOT_FOUND,
                            known ? "not this way" : "there is no such thing here");
}

/* ---- Bodies ---- */

static bool check_length(page_request *r)
{
    const char *const length = MHD_lookup_connection_value(
        r->connection, MHD_HEADER_KIND, MHD_HTTP_HEADER_CONTENT_LENGTH);
    r->body_most = r->route != NULL ? r->route->body_bytes : 0;
    if (length == NULL || strtoull(length, NULL, 10) <= r->body_most) {
        return true;
    }
    return page_reply_error(r, MHD_HTTP_CONTENT_TOO_LARGE,
                            "that is more than is taken here");
}

static void take_body(page_request *r, const char *data, size_t n)
{
    if (r->answer.status != 0) {
        return;
    }
    if (r->body.n + n > r->body_most) {
        bytes_free(&r->body);
        page_reply_error(r, MHD_HTTP_CONTENT_TOO_LARGE,
                         "that is more than is taken here");
        return;
    }
    bytes_add(&r->body, data, n);
}

static bool is_json(const page_request *r)
{
    const char *const type = MHD_lookup_connection_value(r->connection, MHD_HEADER_KIND,
                                                         MHD_HTTP_HEADER_CONTENT_TYPE);
    return type != NULL && strncmp(type, "application/json", 16) == 0;
}

/* What changes something brings JSON, which a form of another page cannot send. */
static bool read_json(page_request *r)
{
    if (strcmp(r->route->method, MHD_HTTP_METHOD_POST) != 0 ||
        r->route->body_bytes > PAGE_BODY_BYTES) {
        return true;
    }
    if (is_json(r) && r->body.n > 0) {
        r->json = json_loadb(r->body.data, r->body.n, JSON_REJECT_DUPLICATES, NULL);
    }
    if (json_text_short()) { /* it may lack a member */
        page_reply_error(r, MHD_HTTP_SERVICE_UNAVAILABLE, "out of memory; try again");
        return false;
    }
    if (!json_is_object(r->json)) {
        return page_reply_error(r, MHD_HTTP_BAD_REQUEST,
                                "not understood: one JSON object");
    }
    return true;
}

/* ---- One request ---- */

static void run_job(void *context)
{
    page_request *const r = context;
    r->later(r);
}

static void resume(void *context)
{
    page_request *const r = context;
    if (!r->page->ending && r->after != NULL) {
        r->after(r);
    } else if (r->page->ending && r->answer.status == 0) {
        page_reply_error(r, MHD_HTTP_SERVICE_UNAVAILABLE, ENDED);
    }
    MHD_resume_connection(r->connection);
}

bool page_request_later(page_request *r,
                        page_thread on,
                        void (*run)(page_request *r),
                        void (*after)(page_request *r))
{
    r->later = run;
    r->after = after;
    if (!page_jobs_add(r->page->jobs[on], (page_job){run_job, resume, r})) {
        return page_reply_error(r, MHD_HTTP_SERVICE_UNAVAILABLE, "busy; try again");
    }
    r->waiting = true;
    r->page->n_waiting++;
    MHD_suspend_connection(r->connection);
    return true;
}

static enum MHD_Result begin(page_listener *listener,
                             struct MHD_Connection *connection,
                             void **held)
{
    page_request *const r = calloc(1, sizeof *r);
    if (r == NULL) {
        return MHD_NO;
    }
    *r = (page_request){.page = listener->page,
                        .listener = listener,
                        .connection = connection,
                        .number = -1,
                        .body = BYTES_NONE,
                        .answer = {.body = BYTES_NONE}};
    *held = r;
    return MHD_YES;
}

/* The seats' addresses begin with its code; NULL: this one does not. */
static const char *without_code(const page_listener *d, const char *path)
{
    const size_t n = strlen(d->code);
    if (!d->for_seats) {
        return path;
    }
    return path[0] == '/' && strncmp(path + 1, d->code, n) == 0 && path[n + 1] == '/'
               ? path + n + 1
               : NULL;
}

/* Once the program ends nothing is begun: no job, no stream, no change. */
static bool is_served(page_request *r)
{
    if (r->page->ending) {
        page_reply_error(r, MHD_HTTP_SERVICE_UNAVAILABLE, ENDED);
    }
    return !r->page->ending;
}

/* The first look, before any body is taken. */
static enum MHD_Result look(page_request *r, const char *method, const char *path)
{
    r->counted = true;
    const bool ok = is_served(r) && page_authorise(r, method, path) && path != NULL &&
                    find_route(r, method, path) && check_length(r);
    return ok && r->answer.status == 0 ? MHD_YES : page_send(r);
}

static enum MHD_Result answer(page_request *r)
{
    if (r->answer.status == 0 && !r->waiting && is_served(r) && read_json(r)) {
        if (r->route->on == PAGE_AT_ONCE) {
            r->route->run(r);
        } else {
            (void)page_request_later(r, r->route->on, r->route->run, NULL);
        }
        if (r->streaming || r->waiting) {
            return MHD_YES; /* a job resumes it, and comes by here again */
        }
    }
    if (r->answer.status == 0) {
        page_reply_error(r, MHD_HTTP_INTERNAL_SERVER_ERROR, "no answer");
    }
    return page_send(r);
}

static enum MHD_Result on_request(void *context,
                                  struct MHD_Connection *connection,
                                  const char *path,
                                  const char *method,
                                  const char *version,
                                  const char *data,
                                  size_t *n,
                                  void **held)
{
    (void)version;
    if (*held == NULL && begin(context, connection, held) != MHD_YES) {
        return MHD_NO;
    }
    page_request *const r = *held;
    if (!r->counted) {
        return look(r, method, without_code(r->listener, path));
    }
    if (*n > 0) {
        take_body(r, data, *n);
        *n = 0;
        return MHD_YES;
    }
    return answer(r);
}

static void on_end(void *context,
                   struct MHD_Connection *connection,
                   void **held,
                   enum MHD_RequestTerminationCode how)
{
    (void)context;
    (void)connection;
    (void)how;
    page_request *const r = *held;
    if (r != NULL) {
        r->page->n_waiting -= r->waiting;
        json_decref(r->json);
        bytes_free(&r->body);
        bytes_free(&r->answer.body);
        free(r);
    }
    *held = NULL;
}

/* ---- Opening ---- */

static void say_nothing(void *context, const char *format, va_list arguments)
{
    (void)context;
    (void)format;
    (void)arguments;
}

static int bound_port(struct MHD_Daemon *daemon)
{
    const union MHD_DaemonInfo *const info =
        MHD_get_daemon_info(daemon, MHD_DAEMON_INFO_BIND_PORT);
    return info != NULL ? info->port : 0;
}

bool page_listener_open(page_listener *d,
                        page *p,
                        const char *address,
                        int port,
                        bool for_seats,
                        app_err *err)
{
    struct sockaddr_in at = {.sin_family = AF_INET, .sin_port = htons((uint16_t)port)};
    *d = (page_listener){.page = p,
                         .for_seats = for_seats,
                         .rate = page_rate_of(RATE_PER_S, RATE_MOST),
                         .refused = page_rate_of(REFUSED_PER_S, REFUSED_PER_S),
                         .shut = -1};
    page_rates_init(&d->by_address, ADDRESS_PER_S, ADDRESS_MOST);
    if (inet_pton(AF_INET, address, &at.sin_addr) != 1) {
        (void)app_err_set(err, APP_USAGE,
                          " %s: give an IPv4 address of this computer, such as "
                          "192.168.1.20",
                          address);
        return app_err_hint(err, HINT_ADDRESS, HINT_NONE);
    }
    const unsigned most = for_seats ? SEATS_CONNECTIONS_MOST : OWN_CONNECTIONS_MOST;
    const unsigned by_address = for_seats ? ADDRESS_CONNECTIONS_MOST : 0; /* no limit */
    errno = 0;
    /* Nothing about reusing the address: a port has one page, and is free once it ends. */
    d->daemon = MHD_start_daemon(
        MHD_USE_EPOLL | MHD_ALLOW_SUSPEND_RESUME | MHD_USE_ERROR_LOG, 0, NULL, NULL,
        on_request, d, MHD_OPTION_EXTERNAL_LOGGER, say_nothing, NULL,
        MHD_OPTION_SOCK_ADDR, &at, MHD_OPTION_CONNECTION_LIMIT, most,
        MHD_OPTION_PER_IP_CONNECTION_LIMIT, by_address,
        MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)CONNECTION_BYTES,
        MHD_OPTION_CONNECTION_TIMEOUT, (unsigned)IDLE_S, MHD_OPTION_NOTIFY_COMPLETED,
        on_end, NULL, MHD_OPTION_END);
    if (d->daemon == NULL) {
        (void)app_err_set(err, APP_FAILED, "cannot listen on %s port %d: %s", address,
                          port, errno != 0 ? APP_CAUSE(errno) : "refused");
        return app_err_hint(err, HINT_NONE, HINT_PORT);
    }
    d->port = bound_port(d->daemon);
    (void)snprintf(d->host, sizeof d->host, "%s:%d", address, d->port);
    if (!for_seats) {
        (void)snprintf(d->alias, sizeof d->alias, "localhost:%d", d->port);
    }
    return true;
}

void page_listener_shut(page_listener *d)
{
    if (d->daemon != NULL && d->shut < 0) {
        d->shut = MHD_quiesce_daemon(d->daemon);
    }
}

void page_listener_close(page_listener *d)
{
    if (d->daemon != NULL) {
        MHD_stop_daemon(d->daemon);
        d->daemon = NULL;
        if (d->shut >= 0) {
            (void)close(d->shut);
            d->shut = -1;
        }
    }
}
