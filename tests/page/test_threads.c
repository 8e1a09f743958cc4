/*
 * Nothing that may take long holds the server: while it is under way the clock is answered.
 *   Source:    what is promised in src/page/page_private.h.
 *   Input:     every request that opens a file or a device or analyses, each of whose works is a
 *              function of this file's own that waits until the clock has been answered; a live
 *              sitting beside an analysis. No clock: what hangs is ended by the test's own limit.
 *   Tolerance: none.
 */
#include "src/page/page_private.h"
#include "src/usecase/compose_bars.h"
#include "src/usecase/input_list.h"
#include "src/usecase/logbook_views.h"
#include "src/usecase/reveal.h"

#include "tests/support.h"

#include <arpa/inet.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

enum {
    ANSWER_BYTES = 65536
};

static page the_page;
static pthread_t server;
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static pthread_cond_t go = PTHREAD_COND_INITIALIZER;
static int waiting; /* works that wait */
static bool may_go;
static bool can_count;  /* what a shared minute asks */
static bool was_server; /* one was begun on the server's thread */

/* The work: until it may go on. */
static void get_stuck(void)
{
    (void)pthread_mutex_lock(&lock);
    waiting++;
    was_server = was_server || pthread_equal(pthread_self(), server);
    while (!may_go && !was_server) {
        (void)pthread_cond_wait(&go, &lock);
    }
    waiting--;
    (void)pthread_mutex_unlock(&lock);
}

static void release(void)
{
    (void)pthread_mutex_lock(&lock);
    may_go = true;
    (void)pthread_cond_broadcast(&go);
    (void)pthread_mutex_unlock(&lock);
}

/* Each says no: what comes of it is not looked at here, nor what it is given. */
static void *no(app_err *err)
{
    (void)app_err_set(err, APP_FAILED, "not here");
    get_stuck();
    return NULL;
}

live_sitting *__wrap_live_sitting_open(const void *plan, app_err *err);
live_sitting *__wrap_live_sitting_open(const void *plan, app_err *err)
{
    (void)plan;
    return no(err);
}

json_t *__wrap_input_list_make(app_err *err);
json_t *__wrap_input_list_make(app_err *err)
{
    return no(err);
}

bool __wrap_listen_make_sound(const void *r, void *out, app_err *err);
bool __wrap_listen_make_sound(const void *r, void *out, app_err *err)
{
    (void)r;
    (void)out;
    return no(err) != NULL;
}

json_t *__wrap_listen_make_marks(const void *r, app_err *err);
json_t *__wrap_listen_make_marks(const void *r, app_err *err)
{
    (void)r;
    return no(err);
}

bool __wrap_listen_count_beats(const char *path, double s, int *beats, app_err *err);
bool __wrap_listen_count_beats(const char *path, double s, int *beats, app_err *err)
{
    (void)path;
    (void)s;
    *beats = 0;
    (void)no(err);
    return can_count;
}

json_t *__wrap_logbook_views_list(const char *path, const char *learner, app_err *err);
json_t *__wrap_logbook_views_list(const char *path, const char *learner, app_err *err)
{
    (void)path;
    (void)learner;
    return no(err);
}

bool __wrap_logbook_views_report(
    const char *path, int64_t number, const char *learner, void *out, app_err *err);
bool __wrap_logbook_views_report(
    const char *path, int64_t number, const char *learner, void *out, app_err *err)
{
    (void)path;
    (void)number;
    (void)learner;
    (void)out;
    return no(err) != NULL;
}

json_t *__wrap_reveal_make(const void *request, int64_t *row, app_err *err);
json_t *__wrap_reveal_make(const void *request, int64_t *row, app_err *err)
{
    (void)request;
    *row = 0;
    return no(err);
}

bool __wrap_dropped_sound_take(const void *data, size_t n, const char *p, app_err *err);
bool __wrap_dropped_sound_take(const void *data, size_t n, const char *p, app_err *err)
{
    (void)data;
    (void)n;
    (void)p;
    return no(err) != NULL;
}

bool __wrap_compose_bars_write(const void *bars, const char *path, app_err *err);
bool __wrap_compose_bars_write(const void *bars, const char *path, app_err *err)
{
    (void)bars;
    (void)path;
    return no(err) != NULL;
}

/* ---- A browser ---- */

typedef struct asked {
    int socket;
    size_t n;
    char answer[ANSWER_BYTES];
} asked;

static void ask(asked *a, const char *method, const char *path, const char *body)
{
    char text[2048];
    struct sockaddr_in at = {.sin_family = AF_INET,
                             .sin_port = htons((uint16_t)the_page.own.port)};
    at.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    *a = (asked){.socket = socket(AF_INET, SOCK_STREAM, 0)};
    const int n = snprintf(
        text, sizeof text,
        "%s %s HTTP/1.1\r\nHost: %s\r\nOrigin: http://%s\r\nConnection: close\r\n"
        "Content-Type: application/json\r\nCookie: fullminute_%d=%s\r\n"
        "Content-Length: %zu\r\n\r\n%s",
        method, path, the_page.own.host, the_page.own.host, the_page.own.port,
        the_page.session, strlen(body), body);
    assert_int_equal(connect(a->socket, (struct sockaddr *)(void *)&at, sizeof at), 0);
    assert_int_equal(write(a->socket, text, (size_t)n), n);
}

/* @return it is answered */
static bool turn(asked *a)
{
    (void)page_turn(&the_page, 0.001, 0.001);
    const ssize_t got =
        recv(a->socket, a->answer + a->n, sizeof a->answer - 1 - a->n, MSG_DONTWAIT);
    a->n += got > 0 ? (size_t)got : 0;
    if (got == 0) {
        (void)close(a->socket);
    }
    return got == 0;
}

static void until_answered(asked *a)
{
    while (!turn(a)) {
    }
}

static void until_stuck(asked *a, int n)
{
    bool yes = false;
    while (!yes) {
        assert_false(turn(a)); /* answered, and nothing was done for it */
        (void)pthread_mutex_lock(&lock);
        yes = waiting == n;
        const bool here = was_server;
        (void)pthread_mutex_unlock(&lock);
        assert_false(here);
    }
}

static void clock_is_answered(void)
{
    static asked a;
    ask(&a, "GET", "/api/clock", "");
    until_answered(&a);
    assert_non_null(strstr(a.answer, "now_s"));
}

/* ---- The tests ---- */

static int begin(void **state)
{
    (void)state;
    static const page_options options = {
        .recordings = RECORDINGS_DIR, .share = true, .address = "127.0.0.1"};
    app_err err = APP_ERR_NONE;
    server = pthread_self();
    return page_begin(&the_page, &options, &err) ? 0 : -1;
}

static int end(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    release(); /* a test that failed left one */
    return page_end(&the_page, &err) ? 0 : -1;
}

static void stuck_beside_the_clock(const char *method,
                                   const char *path,
                                   const char *body)
{
    static asked a;
    may_go = false;
    ask(&a, method, path, body);
    until_stuck(&a, 1);
    clock_is_answered();
    release();
    until_answered(&a);
    assert_non_null(strstr(a.answer, "not here")); /* the work's own answer */
}

static void what_takes_long_does_not_hold_the_server(void **state)
{
    (void)state;
    static const char *const CASES[][3] = {
        {"GET", "/api/live/inputs", ""},
        {"POST", "/api/live/open", "{}"},
        {"GET", "/api/recordings/1/sound", ""},
        {"GET", "/api/recordings/1/marks", ""},
        {"POST", "/api/recordings?name=a", "x"},
        {"POST", "/api/compose", "{\"intervals_s\":[0.8]}"},
        {"GET", "/api/logbook", ""},
        {"GET", "/report/row/1", ""},
        {"GET", "/report/learner?learner=AB", ""},
        {"POST", "/api/shared/open", "{\"recording\":1}"}};
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        print_message("%s %s\n", CASES[i][0], CASES[i][1]);
        stuck_beside_the_clock(CASES[i][0], CASES[i][1], CASES[i][2]);
    }
}

static void nor_does_a_practice_that_is_counted(void **state)
{
    (void)state;
    static asked a;
    char path[128];
    char body[256];
    ask(&a, "POST", "/api/practice/begin", "{\"number\":1,\"seconds\":15}");
    until_answered(&a);
    const char *const id = strstr(a.answer, "\"practice\":\"");
    assert_non_null(id);
    (void)snprintf(path, sizeof path, "/api/practice/sound?practice=%.32s", id + 12);
    stuck_beside_the_clock("GET", path, "");
    (void)snprintf(body, sizeof body, "{\"practice\":\"%.32s\",\"entered\":18}",
                   id + 12);
    stuck_beside_the_clock("POST", "/api/practice/enter", body);
}

/* An input that opens slowly, and an analysis: neither waits for the other. */
static void a_sitting_does_not_wait_for_an_analysis(void **state)
{
    (void)state;
    static asked marks;
    static asked open;
    may_go = false;
    ask(&marks, "GET", "/api/recordings/1/marks", "");
    until_stuck(&marks, 1);
    ask(&open, "POST", "/api/live/open", "{}");
    until_stuck(&open, 2);
    clock_is_answered();
    release();
    until_answered(&marks);
    until_answered(&open);
}

/* One shared minute at a time, though its beats are still counted. */
static void a_shared_minute_is_made_ready_once(void **state)
{
    (void)state;
    static asked first;
    static asked second;
    may_go = false;
    ask(&first, "POST", "/api/shared/open", "{\"recording\":1}");
    until_stuck(&first, 1);
    ask(&second, "POST", "/api/shared/open", "{\"recording\":1}");
    until_answered(&second);
    assert_non_null(strstr(second.answer, "409"));
    release();
    until_answered(&first);
}

/* Its beats are still counted when it is ended: it is not opened again behind that. */
static void a_shared_minute_that_is_ended_meanwhile_stays_so(void **state)
{
    (void)state;
    static asked again;
    static asked other;
    can_count = true;
    may_go = true;
    ask(&other, "POST", "/api/shared/open", "{\"recording\":1}");
    until_answered(&other);
    assert_non_null(strstr(other.answer, "200"));
    may_go = false;
    ask(&again, "POST", "/api/shared/again", "{\"recording\":2}");
    until_stuck(&again, 1);
    ask(&other, "POST", "/api/shared/end", "{}");
    until_answered(&other);
    assert_non_null(strstr(other.answer, "200"));
    release();
    until_answered(&again);
    assert_non_null(strstr(again.answer, "ended meanwhile"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_takes_long_does_not_hold_the_server),
        cmocka_unit_test(nor_does_a_practice_that_is_counted),
        cmocka_unit_test(a_sitting_does_not_wait_for_an_analysis),
        cmocka_unit_test(a_shared_minute_is_made_ready_once),
        cmocka_unit_test(a_shared_minute_that_is_ended_meanwhile_stays_so),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
