/*
 * Captures an input into a recording and says how it goes; the shell tests drive it.
 *   live_capture OUT.wav KEY SECONDS   KEY "default" or a device's; SECONDS of timeline
 * One line a change of health, one a gap, one at the end, with times on the monotonic
 * clock: `health running 12.345`, `gap overflow FIRST N`, `end SAMPLES WRITTEN GAPS CLOSED S`.
 * Stops at SECONDS, at SIGTERM, or 1 s after the input is lost. Exit 0; 3: not closed.
 */
#include "src/port/capture.h"
#include "src/port/devices.h"
#include "src/port/interrupt.h"
#include "src/port/recording.h"

#include <inttypes.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>
#include <unistd.h>

typedef struct sitting {
    recording *r;
    int64_t expected; /* first sample of the next block */
    atomic_bool wrong;
} sitting;

static const char *const HEALTH[] = {"starting", "running", "stalled", "lost", "ended"};

static double now_s(void)
{
    struct timespec t;
    (void)clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void sink(void *context, const capture_block *b)
{
    sitting *const s = context;
    app_err err = APP_ERR_NONE;
    if (b->first_sample != s->expected) {
        atomic_store(&s->wrong, true);
    }
    s->expected = b->first_sample + (int64_t)b->n;
    if (b->frames == NULL) {
        (void)printf("gap %s %" PRId64 " %zu\n", capture_gap_cause_name(b->cause),
                     b->first_sample, b->n);
    }
    if (!recording_write(s->r, b->frames, b->n, NULL, &err)) {
        (void)fprintf(stderr, "%s\n", err.text);
        atomic_store(&s->wrong, true);
    }
}

static void watch(const capture *c, double seconds)
{
    capture_health before = CAPTURE_ENDED;
    double lost_s = 0.0;
    capture_state now;
    do {
        const struct timespec wake = {.tv_nsec = 20000000};
        (void)nanosleep(&wake, NULL);
        capture_get_state(c, &now);
        if (now.health != before) {
            (void)printf("health %s %.3f\n", HEALTH[now.health], now_s());
            (void)fflush(stdout);
            before = now.health;
        }
        lost_s += now.health == CAPTURE_LOST ? 0.02 : 0.0;
    } while (!interrupt_asked() && lost_s < 1.0 &&
             (double)now.samples < seconds * capture_rate_hz(c));
}

int main(int argc, char **argv)
{
    if (argc != 4) {
        (void)fprintf(stderr, "usage: live_capture OUT.wav KEY SECONDS\n");
        return 2;
    }
    app_err err = APP_ERR_NONE;
    sitting s = {0};
    atomic_init(&s.wrong, false);
    devices d;
    interrupt_install();
    const device *in = NULL;
    capture *c = NULL;
    if (devices_open(&d, false, &err)) {
        in = devices_find(&d, argv[2], false, &err);
    }
    if (in != NULL) {
        s.r = recording_create(argv[1], 48000, &err);
    }
    if (in != NULL && s.r != NULL) {
        capture_request request = capture_request_default();
        request.device = in->index;
        request.rate_hz = 48000.0;
        request.channels = 1;
        request.sink = sink;
        request.context = &s;
        c = capture_open(&request, &err);
    }
    if (c == NULL) {
        (void)fprintf(stderr, "%s\n", err.text);
        return err.code;
    }
    watch(c, strtod(argv[3], NULL));
    capture_state last;
    capture_get_state(c, &last);
    const double asked_s = now_s();
    const bool closed = capture_close(c);
    const double took_s = now_s() - asked_s;
    const int64_t written = recording_samples(s.r);
    const bool kept = recording_close(s.r, &err);
    (void)printf("end %" PRId64 " %" PRId64 " %d %s %.3f load %.4f%s\n", s.expected,
                 written, last.gaps, closed ? "closed" : "abandoned", took_s,
                 last.callback_load, atomic_load(&s.wrong) || !kept ? " WRONG" : "");
    (void)fflush(stdout);
    if (!closed) {
        _exit(3);
    }
    devices_close(&d);
    return atomic_load(&s.wrong) || !kept ? 1 : 0;
}
