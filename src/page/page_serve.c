/* The loop: the server and the streams, on one thread that waits for nothing else. */
#include "src/host/steady.h"
#include "src/page/page_open.h"
#include "src/page/page_private.h"
#include "src/port/interrupt.h"

#include <errno.h>
#include <math.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static const double STEP_S = 0.02;
static const double IDLE_S = 0.25;
/* At the end: as long as an answer may take to a browser that takes it slowly. */
static const double LET_GO_S = 2.0;

void page_home(page_request *r)
{
    /* A page that leads on: the address with the token stays in no history entry that is
     * shown, and the browser counts the next request as our own. */
    r->answer.status = MHD_HTTP_OK;
    r->answer.type = "text/html; charset=utf-8";
    bytes_add_text(&r->answer.body,
                   "<!DOCTYPE html><html lang=\"en\"><meta charset=\"utf-8\">"
                   "<title>fullminute</title>"
                   "<meta http-equiv=\"refresh\" content=\"0;url=/\">"
                   "<p><a href=\"/\">fullminute</a></p></html>");
}

void page_index(page_request *r)
{
    if (!page_reply_asset(r, "/index.html")) {
        page_reply_error(r, MHD_HTTP_NOT_FOUND, "there is no such thing here");
    }
}

void page_clock(page_request *r)
{
    page_reply_json(r, json_pack("{s:f}", "now_s", steady_now_s()));
}

void page_about(page_request *r)
{
    page_reply_json(r,
                    json_pack("{s:s,s:b,s:o}", "version", FM_VERSION, "share",
                              r->page->options->share, "recordings",
                              document_text(collection_folder(r->page->collection))));
}

static int epoll_of(const page_listener *d)
{
    const union MHD_DaemonInfo *const info =
        d->daemon != NULL ? MHD_get_daemon_info(d->daemon, MHD_DAEMON_INFO_EPOLL_FD)
                          : NULL;
    return info != NULL ? info->epoll_fd : -1;
}

static double wait_s(const page_listener *d, double most_s)
{
    MHD_UNSIGNED_LONG_LONG ms = 0;
    return d->daemon != NULL && MHD_get_timeout(d->daemon, &ms) == MHD_YES
               ? fmin(most_s, 1e-3 * (double)ms)
               : most_s;
}

static void serve_once(page *p, double most_s)
{
    struct pollfd fds[2 + PAGE_QUEUES] = {
        {.fd = epoll_of(&p->own), .events = POLLIN},
        {.fd = epoll_of(&p->seats_listener), .events = POLLIN}};
    for (size_t i = 0; i < PAGE_QUEUES; i++) {
        fds[2 + i] = (struct pollfd){.fd = page_jobs_fd(p->jobs[i]), .events = POLLIN};
    }
    most_s = wait_s(&p->own, most_s);
    most_s = wait_s(&p->seats_listener, most_s);
    (void)steady_poll(fds, 2 + PAGE_QUEUES, most_s);
    for (size_t i = 0; i < PAGE_QUEUES; i++) {
        if (p->jobs[i] != NULL) {
            page_jobs_finish(p->jobs[i]);
        }
    }
    (void)MHD_run(p->own.daemon);
    if (p->seats_listener.daemon != NULL) {
        (void)MHD_run(p->seats_listener.daemon);
    }
}

bool page_turn(page *p, double busy_s, double idle_s)
{
    const double now_s = steady_now_s();
    const bool live = page_live_step(p->live, now_s);
    page_shared_step(p->shared, now_s);
    page_stream_beat(p, now_s);
    serve_once(p, live ? busy_s : idle_s);
    return live;
}

/* Requests are answered, if only to say that it is over, until none is on its way. */
static void let_go(page *p)
{
    const double until_s = steady_now_s() + LET_GO_S;
    do {
        serve_once(p, STEP_S);
    } while ((p->n_waiting > 0 || p->streams != NULL) && steady_now_s() < until_s);
}

/* What runs there ends, and whoever waits is told. */
static void end_jobs(page *p, page_thread which)
{
    page_jobs_destroy(p->jobs[which]);
    p->jobs[which] = NULL;
}

/* First nothing new is begun; then the sitting is closed, whose taps are nowhere else; then
 * the long work ends. */
bool page_end(page *p, app_err *err)
{
    p->ending = true;
    page_listener_shut(&p->own);
    page_listener_shut(&p->seats_listener);
    end_jobs(p, PAGE_SITTING);
    const bool ok = p->live == NULL || page_live_end(p->live, err);
    if (p->shared != NULL) {
        page_shared_leave(p->shared);
    }
    page_stream_close_all(p, -1);
    end_jobs(p, PAGE_LONG);
    if (p->own.daemon != NULL) {
        let_go(p);
    }
    page_listener_close(
        &p->seats_listener); /* its streams tell the seats that they end */
    page_listener_close(&p->own);
    page_shared_destroy(p->shared);
    page_practice_destroy(p->practice);
    p->hung = p->live != NULL && page_live_hung(p->live);
    page_live_destroy(p->live);
    collection_close(p->collection);
    return ok;
}

bool page_begin(page *p, const page_options *o, app_err *err)
{
    p->options = o;
    if (sodium_init() < 0) {
        return app_err_set(err, APP_FAILED, "the system gives no random numbers");
    }
    page_token_make(p->token);
    page_token_make(p->session);
    p->collection = collection_open(o->recordings, err);
    if (p->collection == NULL) {
        return false;
    }
    for (size_t i = 0; i < PAGE_QUEUES; i++) {
        p->jobs[i] = page_jobs_create();
    }
    p->live = page_live_create(p);
    p->practice = page_practice_create();
    p->shared = page_shared_create(p);
    if (p->jobs[PAGE_LONG] == NULL || p->jobs[PAGE_SITTING] == NULL ||
        p->live == NULL || p->practice == NULL || p->shared == NULL) {
        return app_err_memory(err);
    }
    return page_listener_open(&p->own, p, "127.0.0.1", o->port, false, err);
}

/* Without its address nobody could come, nor know that it runs. */
static bool say(const page *p, app_err *err)
{
    const int said = printf("http://%s/open?token=%s\n", p->own.host, p->token);
    if (said < 0 || fflush(stdout) != 0) {
        return app_err_set(err, APP_FAILED, "cannot write the page's address: %s",
                           APP_CAUSE(errno));
    }
    (void)fprintf(
        stderr, "The page is at the address above, for this computer only; keep it to "
                "yourself.\nCtrl-C ends it. A learning aid, not a medical device.\n");
    return true;
}

int page_serve(const page_options *o, app_err *err)
{
    page p = {0};
    bool ok = page_begin(&p, o, err) && say(&p, err);
    if (ok) {
        if (o->open) {
            page_open_browser(p.own.host, p.token);
        }
        while (!interrupt_asked()) {
            (void)page_turn(&p, STEP_S, IDLE_S);
        }
    }
    ok = page_end(&p, ok ? err : NULL) && ok;
    if (p.hung) {
        (void)fflush(stdout);
        _exit(ok ? APP_INTERRUPTED : APP_FAILED);
    }
    page_open_forget();
    return ok ? APP_INTERRUPTED : err->code;
}
