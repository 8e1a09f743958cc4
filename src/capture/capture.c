#include "src/capture/capture.h"

#include "src/capture/device_source.h"
#include "src/capture/drain.h"
#include "src/capture/paced_source.h"

#include <errno.h>
#include <pthread.h>
#include <stdlib.h>
#include <time.h>

/* A healthy device closes in some milliseconds. A program asked to stop must be gone
   within 3 s, whatever the sound server does. */
#define CLOSE_DEADLINE_S 1.5

struct capture {
    source *s;
    drain *w;
};

/* What the closing thread shares with the one that waits for it; the last one to let go
   frees it. */
typedef struct closing {
    source *s;
    pthread_mutex_t lock;
    pthread_cond_t done;
    bool closed;
    bool abandoned;
} closing;

const char *capture_gap_cause_name(capture_gap_cause cause)
{
    switch (cause) {
    case CAPTURE_GAP_OVERFLOW:
        return "overflow";
    case CAPTURE_GAP_RING:
        return "worker late";
    case CAPTURE_GAP_STALL:
        return "stall";
    case CAPTURE_GAP_NONE:
        break;
    }
    return "none";
}

capture_request capture_request_default(void)
{
    return (capture_request){.device = -1, .monitor_device = -1, .monitor_gain = 1.0F};
}

static void closing_free(closing *c)
{
    (void)pthread_mutex_destroy(&c->lock);
    (void)pthread_cond_destroy(&c->done);
    free(c);
}

static void *close_source(void *context)
{
    closing *const c = context;
    c->s->close(c->s);
    (void)pthread_mutex_lock(&c->lock);
    c->closed = true;
    const bool abandoned = c->abandoned;
    (void)pthread_cond_signal(&c->done);
    (void)pthread_mutex_unlock(&c->lock);
    if (abandoned) {
        closing_free(c);
    }
    return NULL;
}

static closing *closing_create(source *s)
{
    closing *const c = calloc(1, sizeof *c);
    pthread_condattr_t monotonic;
    if (c == NULL || pthread_condattr_init(&monotonic) != 0) {
        free(c);
        return NULL;
    }
    c->s = s;
    (void)pthread_condattr_setclock(&monotonic, CLOCK_MONOTONIC);
    const bool ok = pthread_mutex_init(&c->lock, NULL) == 0 &&
                    pthread_cond_init(&c->done, &monotonic) == 0;
    (void)pthread_condattr_destroy(&monotonic);
    if (!ok) {
        free(c);
        return NULL;
    }
    return c;
}

static struct timespec deadline(double s)
{
    struct timespec t;
    (void)clock_gettime(CLOCK_MONOTONIC, &t);
    const double at_s = (double)t.tv_nsec * 1e-9 + s;
    t.tv_sec += (time_t)at_s;
    t.tv_nsec = (long)((at_s - (double)(time_t)at_s) * 1e9);
    return t;
}

/* False: it hangs, and is left behind. */
static bool close_in_time(source *s)
{
    closing *const c = closing_create(s);
    pthread_t thread;
    if (c == NULL || pthread_create(&thread, NULL, close_source, c) != 0) {
        if (c != NULL) {
            closing_free(c);
        }
        return false;
    }
    (void)pthread_detach(thread);
    const struct timespec until = deadline(CLOSE_DEADLINE_S);
    (void)pthread_mutex_lock(&c->lock);
    while (!c->closed &&
           pthread_cond_timedwait(&c->done, &c->lock, &until) != ETIMEDOUT) {
    }
    const bool closed = c->closed;
    c->abandoned = !closed;
    (void)pthread_mutex_unlock(&c->lock);
    if (closed) {
        closing_free(c);
    }
    return closed;
}

capture *capture_open(const capture_request *request, app_err *err)
{
    capture *const c = calloc(1, sizeof *c);
    if (c == NULL || request->sink == NULL) {
        free(c);
        (void)app_err_set(err, APP_FAILED, "out of memory");
        return NULL;
    }
    c->s = request->device < 0 ? paced_source_open(&request->reader, err)
                               : device_source_open(request, err);
    if (c->s != NULL) {
        c->w = drain_create(c->s, request->sink, request->context, err);
    }
    if (c->w != NULL && c->s->start(c->s, err) && drain_start(c->w, err)) {
        return c;
    }
    const bool closed = c->s == NULL || close_in_time(c->s);
    if (closed) {
        drain_destroy(c->w);
    }
    free(c);
    return NULL;
}

double capture_rate_hz(const capture *c)
{
    return c->s->rate_hz;
}

int capture_channels(const capture *c)
{
    return c->s->channels;
}

void capture_get_state(const capture *c, capture_state *out)
{
    drain_get_state(c->w, out);
}

double capture_time_at(const capture *c, double monotonic_s)
{
    return drain_time_at(c->w, monotonic_s);
}

bool capture_close(capture *c)
{
    if (c == NULL) {
        return true;
    }
    drain_stop(c->w);
    /* A source left behind may still write into its ring, so that stays as well. */
    const bool closed = close_in_time(c->s);
    if (closed) {
        drain_destroy(c->w);
    }
    free(c);
    return closed;
}
