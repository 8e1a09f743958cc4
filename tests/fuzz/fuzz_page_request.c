/*
 * Any bytes as a request at the page's two listeners, over a pair of sockets: raw, or a route with
 * JSON made from the bytes, behind the right Host, Origin and cookie. No crash, no hang of the
 * server; what is answered is HTTP and never 'out of memory' or 'no answer'.
 *
 * The server is the whole one (jobs on their own thread, a shared minute open, one recording);
 * secrets are fixed and rates are lifted, so that an input leads to the same place each time.
 */
#define _DEFAULT_SOURCE /* NOLINT(bugprone-reserved-identifier) */
#include "src/page/page_private.h"
#include "src/port/private_folder.h"
#include "src/usecase/compose_bars.h"

#include <netinet/in.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#define SECRET "0123456789abcdef0123456789abcdef"
#define HOST   "127.0.0.1:80"

enum {
    REQUEST_BYTES = 65536,
    PATH_BYTES = PRIVATE_FOLDER_BYTES + 64,
    TURNS = 40,        /* for a request without a job */
    JOB_TURNS = 60000, /* of a millisecond: a server that hangs is found by this */
};

static page *the_page;
static private_folder home = PRIVATE_FOLDER_NONE;
static page_options options;

static const char *const MEMBERS[] = {
    "recording", "seconds",     "breath", "breath_only", "open",    "site",
    "method",    "learner",     "ticks",  "at_s",        "entered", "rhythm",
    "number",    "practice",    "kind",   "taps_s",      "name",    "breaths",
    "noisy",     "intervals_s", "secret", "count",       "input",   "age_months",
    "tolerance", "headphones"};
static const char *const VALUES[] = {"0",
                                     "1",
                                     "-1",
                                     "15",
                                     "60",
                                     "17.5",
                                     "1e308",
                                     "-1e308",
                                     "99999999999",
                                     "true",
                                     "false",
                                     "null",
                                     "\"\"",
                                     "\"AB\"",
                                     "\"radial\"",
                                     "\"regular\"",
                                     "\"breath\"",
                                     ("\"" SECRET "\""),
                                     "\"file:/etc/passwd\"",
                                     "\"\\ud83d\\ude00\"",
                                     "[]",
                                     "[0.8,0.8,0.8]",
                                     "[1,null,\"a\"]",
                                     "[[],{}]",
                                     "{}",
                                     "{\"a\":1}",
                                     "[-1,1e9]",
                                     "\"\\u0001\""};

static void in_folder(const char *name, char out[PATH_BYTES])
{
    (void)snprintf(out, PATH_BYTES, "%s/%s", home.path, name);
}

/* A home of its own with one short recording. */
static void make_home(void)
{
    static char recordings[PATH_BYTES];
    static char logbook[PATH_BYTES];
    char path[PATH_BYTES];
    app_err err = APP_ERR_NONE;
    compose_bars bars = {
        .n = 25, .seconds = 20.0, .breaths_per_min = 15.0, .noise_snr_db = 20.0};
    for (size_t i = 0; i < bars.n; i++) {
        bars.intervals_s[i] = 0.8;
    }
    private_folder_sweep("fuzz"); /* of the run before, which ends without a word */
    if (!private_folder_make(&home, "fuzz", &err)) {
        abort();
    }
    in_folder("recordings", recordings);
    in_folder("l.sqlite", logbook);
    in_folder("recordings/a.wav", path);
    (void)setenv("HOME", home.path, 1);
    (void)setenv("TMPDIR", home.path, 1);
    (void)unsetenv("XDG_DATA_HOME");
    (void)unsetenv("XDG_CONFIG_HOME");
    if (mkdir(recordings, 0700) != 0 || !compose_bars_write(&bars, path, &err)) {
        abort();
    }
    options = (page_options){.recordings = recordings,
                             .logbook = logbook,
                             .share = true,
                             .address = "127.0.0.1"};
}

/* As the input knows them. */
static void set_secrets(page *p)
{
    memcpy(p->session, SECRET, sizeof SECRET);
    memcpy(p->token, SECRET, sizeof SECRET);
    page_listener *const listeners[] = {&p->own, &p->seats_listener};
    for (size_t i = 0; i < 2; i++) {
        page_listener *const d = listeners[i];
        (void)snprintf(d->host, sizeof d->host, HOST);
        d->port = 80;
        d->rate = page_rate_of(1e9, 1e9);
        d->refused = page_rate_of(1e9, 1e9);
        page_rates_init(&d->by_address, 1e9, 1e9);
    }
    if (p->seats_listener.daemon != NULL) {
        (void)snprintf(p->seats_listener.code, sizeof p->seats_listener.code, "abcde");
    }
}

/* ---- One request ---- */

struct input {
    const uint8_t *data;
    size_t n;
};

static unsigned next(struct input *in)
{
    if (in->n == 0) {
        return 0;
    }
    in->n--;
    return *in->data++;
}

static const char *pick(const char *const all[], size_t n, unsigned which)
{
    return all[which % n];
}

/* The rest of the input as a body: JSON made of it, or as it is. */
static size_t body_of(struct input *in, char *out)
{
    if (next(in) % 4 == 0) {
        const size_t n = in->n < REQUEST_BYTES / 2 ? in->n : REQUEST_BYTES / 2;
        memcpy(out, in->data, n);
        return n;
    }
    size_t n = 0;
    out[n++] = '{';
    for (int i = 0; i < 8 && in->n > 1; i++) {
        const char *const member =
            pick(MEMBERS, sizeof MEMBERS / sizeof MEMBERS[0], next(in));
        const char *const value =
            pick(VALUES, sizeof VALUES / sizeof VALUES[0], next(in));
        n += (size_t)snprintf(out + n, 256, "%s\"%s\":%s", i > 0 ? "," : "", member,
                              value);
    }
    out[n++] = '}';
    return n;
}

/* Inputs of this computer would be opened: that is not for here. Ending the shared minute
 * takes seconds of real time. */
static bool is_left_out(const page_route *r)
{
    return strstr(r->path, "inputs") != NULL || strstr(r->path, "shared/end") != NULL;
}

static size_t composed(struct input *in, bool for_seats, char *out)
{
    static char body[REQUEST_BYTES];
    const page_route *const routes = for_seats ? PAGE_SEAT_ROUTES : PAGE_ROUTES;
    size_t n_routes = 0;
    while (routes[n_routes].method != NULL) {
        n_routes++;
    }
    if (n_routes == 0) {
        return 0;
    }
    const page_route *const r = &routes[next(in) % n_routes];
    if (is_left_out(r)) {
        return 0;
    }
    const char *const at = strchr(r->path, '#');
    const unsigned query = next(in);
    const size_t n_body = strcmp(r->method, "POST") == 0 ? body_of(in, body) : 0;
    size_t n = (size_t)snprintf(
        out, 2048,
        "%s %s%.*s%s%s%s HTTP/1.1\r\nHost: " HOST "\r\nOrigin: http://" HOST
        "\r\nConnection: close\r\nContent-Type: application/json\r\n"
        "Cookie: fullminute_80=" SECRET "\r\nContent-Length: %zu\r\n\r\n",
        r->method, for_seats ? "/abcde" : "",
        at != NULL ? (int)(at - r->path) : (int)strlen(r->path), r->path,
        at != NULL ? (query % 2 == 0 ? "1" : "77") : "", at != NULL ? at + 1 : "",
        query % 3 == 0 ? "?secret=" SECRET "&learner=AB&name=x&practice=" SECRET : "",
        n_body);
    memcpy(out + n, body, n_body);
    return n + n_body;
}

/* ---- What comes back ---- */

static bool holds(const char *text, size_t n, const char *word)
{
    const size_t length = strlen(word);
    for (size_t i = 0; i + length <= n; i++) {
        if (memcmp(text + i, word, length) == 0) {
            return true;
        }
    }
    return false;
}

static void judge(const char *answer, size_t n)
{
    if (n >= 12 && memcmp(answer, "HTTP/1.", 7) != 0) {
        abort();
    }
    if (holds(answer, n, "\"error\":\"out of memory\"") ||
        holds(answer, n, "\"error\":\"no answer\"") ||
        holds(answer, n, "\"error\":\"\"")) {
        (void)fprintf(stderr, "%.*s\n", (int)n, answer);
        abort();
    }
}

/* Until it is answered, or nothing more is to come. */
static void exchange(page *p, int client)
{
    static char answer[REQUEST_BYTES];
    size_t n = 0;
    int turns = 0;
    int job_turns = 0;
    for (;;) {
        (void)page_turn(p, 0.0, 0.0);
        const ssize_t got = recv(client, answer + n, sizeof answer - n, MSG_DONTWAIT);
        if (got == 0 || n == sizeof answer) {
            break;
        }
        n += got > 0 ? (size_t)got : 0;
        if (p->n_waiting > 0) {
            (void)usleep(1000);
            if (++job_turns > JOB_TURNS) {
                abort(); /* it hangs */
            }
        } else if (++turns > TURNS) {
            break; /* a stream, or a request that was cut off */
        }
    }
    judge(answer, n);
}

static void run(page *p, bool for_seats, const char *request, size_t n, unsigned from)
{
    int pair[2];
    struct sockaddr_in at = {.sin_family = AF_INET};
    at.sin_addr.s_addr = htonl(0x0a000000U + from);
    struct MHD_Daemon *const daemon =
        for_seats ? p->seats_listener.daemon : p->own.daemon;
    const int most = 4 * REQUEST_BYTES;
    if (daemon == NULL ||
        socketpair(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0, pair) != 0) {
        return;
    }
    (void)setsockopt(pair[0], SOL_SOCKET, SO_SNDBUF, &most, sizeof most);
    if (MHD_add_connection(daemon, pair[1], (struct sockaddr *)(void *)&at,
                           sizeof at) != MHD_YES) {
        (void)close(pair[0]);
        return;
    }
    (void)!write(pair[0], request, n);
    (void)shutdown(pair[0], SHUT_WR);
    exchange(p, pair[0]);
    (void)close(pair[0]);
    for (int i = 0; i < 4; i++) {
        (void)page_turn(p, 0.0, 0.0); /* it is noticed */
    }
}

static void ask(page *p, const char *path, const char *body)
{
    char text[512];
    const int n =
        snprintf(text, sizeof text,
                 "POST %s HTTP/1.1\r\nHost: " HOST "\r\nOrigin: http://" HOST
                 "\r\nConnection: close\r\n"
                 "Content-Type: application/json\r\n"
                 "Cookie: fullminute_80=" SECRET "\r\nContent-Length: %zu\r\n\r\n%s",
                 path, strlen(body), body);
    run(p, false, text, (size_t)n, 1);
}

static void open_shared(page *p)
{
    ask(p, "/api/shared/open", "{\"recording\":1,\"seconds\":15}");
    set_secrets(p);
    if (p->seats_listener.daemon == NULL) {
        abort();
    }
}

static void begin_page(void)
{
    app_err err = APP_ERR_NONE;
    if (home.path[0] == '\0') {
        make_home();
    }
    the_page = calloc(1, sizeof *the_page);
    if (the_page == NULL || !page_begin(the_page, &options, &err)) {
        (void)fprintf(stderr, "%s\n", err.text);
        abort();
    }
    set_secrets(the_page);
    open_shared(the_page);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static char request[2 * REQUEST_BYTES];
    struct input in = {data, size};
    if (the_page == NULL) {
        begin_page();
    }
    if (the_page->seats_listener.daemon == NULL) {
        open_shared(the_page);
    }
    const unsigned how = next(&in);
    const bool for_seats = how % 2 == 1;
    size_t n = 0;
    if (how % 8 < 2) {
        n = in.n < REQUEST_BYTES ? in.n : REQUEST_BYTES;
        memcpy(request, in.data, n);
    } else {
        n = composed(&in, for_seats, request);
    }
    run(the_page, for_seats, request, n, how);
    ask(the_page, "/api/live/stop", "{}");
    return 0;
}
