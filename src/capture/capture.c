#include "src/port/capture.h"

#include "src/capture/drain.h"
#include "src/capture/source.h"
#include "src/host/in_time.h"

#include <stdlib.h>

/* A healthy device closes in some milliseconds. A program asked to stop must be gone
   within 3 s, whatever the sound server does. */
#define CLOSE_DEADLINE_S 1.5

struct capture {
    source *s;
    drain *w;
};

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

static void close_source(void *context)
{
    source *const s = context;
    s->close(s);
}

/* False: it hangs, and is left behind. */
static bool close_in_time(source *s)
{
    return in_time(close_source, s, CLOSE_DEADLINE_S);
}

capture *capture_open(const capture_request *request, app_err *err)
{
    capture *const c = calloc(1, sizeof *c);
    if (c == NULL || request->sink == NULL) {
        free(c);
        (void)app_err_memory(err);
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
