#include "src/port/player.h"

#include "src/host/in_time.h"
#include "src/playback/player_callback.h"
#include "src/port/steady.h"

#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <time.h>

enum {
    OUTPUTS_MAX = 2
};

static const double STALL_S = 1.0;
static const double START_S = 3.0; /* a sound server that slept may take 2 s to begin */
static const double TAKE_DEADLINE_S = 1.0; /* for an order to reach the callback */
static const double TAKE_PAUSE_S = 0.001;
static const double CLOSE_DEADLINE_S = 1.5;
/* The driver's clock is one of the system's two if it reads so near to it. */
static const double CLOCK_NEAR_S = 5.0;

/* What the asking side notes; apart, so that a player can be asked as const. */
typedef struct watch {
    pthread_mutex_t lock;
    unsigned calls; /* when last looked at */
    double changed_s;
    double last_now_s; /* the mark last seen, and when it was first seen */
    double last_seen_s;
} watch;

struct player {
    PaStream *stream;
    double rate_hz;
    double latency_s;
    player_callback_state callback;
    player_order orders[2];
    unsigned number;
    int64_t stopped_at; /* where player_stop left it; -1: playing or nothing yet */
    bool stopped;
    watch *seen;
};

static bool cannot(PaError failure, app_err *err)
{
    const PaHostErrorInfo *const host =
        failure == paUnanticipatedHostError ? Pa_GetLastHostErrorInfo() : NULL;
    const bool said =
        host != NULL && host->errorText != NULL && host->errorText[0] != 0;
    return app_err_set(err, APP_FAILED,
                       "cannot open the output: %s; see that it is plugged in and that "
                       "no other program has it",
                       said ? host->errorText : Pa_GetErrorText(failure));
}

static bool open_stream(player *p, int device, app_err *err)
{
    const int index = device >= 0 ? device : Pa_GetDefaultOutputDevice();
    const PaDeviceInfo *const info =
        index != paNoDevice ? Pa_GetDeviceInfo(index) : NULL;
    if (info == NULL || info->maxOutputChannels < 1) {
        return app_err_set(err, APP_FAILED,
                           "there is no sound output on this computer; plug in "
                           "headphones and try again");
    }
    const PaStreamParameters out = {
        .device = index,
        .channelCount = info->maxOutputChannels < OUTPUTS_MAX ? info->maxOutputChannels
                                                              : OUTPUTS_MAX,
        .sampleFormat = paFloat32,
        .suggestedLatency = info->defaultHighOutputLatency};
    player_callback_init(&p->callback, &p->orders[0], out.channelCount);
    PaError failure =
        Pa_OpenStream(&p->stream, NULL, &out, p->rate_hz, paFramesPerBufferUnspecified,
                      paDitherOff, player_callback, &p->callback);
    if (failure == paNoError) {
        failure = Pa_SetStreamFinishedCallback(p->stream, player_callback_finished);
    }
    if (failure != paNoError) {
        return cannot(failure, err);
    }
    const PaStreamInfo *const stream = Pa_GetStreamInfo(p->stream);
    p->latency_s =
        stream != NULL ? stream->outputLatency : info->defaultHighOutputLatency;
    failure = Pa_StartStream(p->stream);
    return failure == paNoError || cannot(failure, err);
}

static void release(player *p)
{
    if (p != NULL) {
        if (p->seen != NULL) {
            (void)pthread_mutex_destroy(&p->seen->lock);
            free(p->seen);
        }
        free(p);
    }
}

static player *make(double rate_hz)
{
    player *const p = calloc(1, sizeof *p);
    watch *const seen = calloc(1, sizeof *seen);
    if (p == NULL || seen == NULL) {
        free(p);
        free(seen);
        return NULL;
    }
    (void)pthread_mutex_init(&seen->lock, NULL);
    seen->changed_s = steady_now_s();
    p->seen = seen;
    p->rate_hz = rate_hz;
    p->stopped = true;
    p->stopped_at = -1;
    return p;
}

player *player_open(int device, double rate_hz, app_err *err)
{
    const PaError failure = Pa_Initialize();
    if (failure != paNoError) {
        (void)cannot(failure, err);
        return NULL;
    }
    player *const p = make(rate_hz);
    if (p == NULL) {
        (void)app_err_memory(err);
    }
    if (p == NULL || !open_stream(p, device, err)) {
        if (p != NULL && p->stream != NULL) {
            (void)Pa_CloseStream(p->stream);
        }
        (void)Pa_Terminate();
        release(p);
        return NULL;
    }
    return p;
}

double player_rate_hz(const player *p)
{
    return p->rate_hz;
}

/* Publish, and wait until the callback has let go of what it had. It can only miss the
   deadline while it is not running at all. */
static void give(player *p, const float *samples, int64_t n, int64_t from)
{
    p->number++;
    player_order *const o = &p->orders[p->number % 2U];
    *o = (player_order){.samples = samples, .n = n, .from = from, .number = p->number};
    atomic_store(&p->callback.order, o);
    const double until_s = steady_now_s() + TAKE_DEADLINE_S;
    while (atomic_load(&p->callback.taken) != p->number &&
           !atomic_load(&p->callback.finished) && steady_now_s() < until_s) {
        steady_wait_s(TAKE_PAUSE_S);
    }
}

void player_start(player *p, const float *samples, int64_t n, int64_t from)
{
    const int64_t first = from < 0 ? 0 : from > n ? n : from;
    p->stopped = false;
    give(p, samples, n, first);
}

void player_stop(player *p)
{
    if (!p->stopped) {
        p->stopped_at = player_heard(p);
        p->stopped = true;
        give(p, NULL, 0, 0);
    }
}

/* The driver's clock at this moment, without asking the driver, who may hang: it is one
   of the system's clocks; where it is neither, the time since its mark was first seen. */
static double driver_now_s(const player *p, const player_mark *m)
{
    const double monotonic_s = steady_now_s();
    struct timespec wall;
    (void)clock_gettime(CLOCK_REALTIME, &wall);
    const double wall_s = (double)wall.tv_sec + 1e-9 * (double)wall.tv_nsec;
    if (fabs(wall_s - m->now_s) < CLOCK_NEAR_S) {
        return wall_s;
    }
    if (fabs(monotonic_s - m->now_s) < CLOCK_NEAR_S) {
        return monotonic_s;
    }
    watch *const w = p->seen;
    (void)pthread_mutex_lock(&w->lock);
    if (m->now_s > w->last_now_s || m->now_s < w->last_now_s) {
        w->last_now_s = m->now_s;
        w->last_seen_s = monotonic_s;
    }
    const double since_s = monotonic_s - w->last_seen_s;
    (void)pthread_mutex_unlock(&w->lock);
    return m->now_s + since_s;
}

int64_t player_heard(const player *p)
{
    if (p->stopped) {
        return p->stopped_at;
    }
    const player_mark m = player_callback_mark(&p->callback);
    return player_mark_heard(&m, &p->orders[p->number % 2U], driver_now_s(p, &m),
                             p->rate_hz, p->latency_s);
}

double player_latency_s(const player *p)
{
    return p->latency_s;
}

bool player_alive(const player *p)
{
    if (atomic_load(&p->callback.finished)) {
        return false;
    }
    watch *const w = p->seen;
    const double now_s = steady_now_s();
    const unsigned calls = atomic_load(&p->callback.calls);
    (void)pthread_mutex_lock(&w->lock);
    if (calls != w->calls) {
        w->calls = calls;
        w->changed_s = now_s;
    }
    const bool alive = now_s - w->changed_s <= (calls > 0U ? STALL_S : START_S);
    (void)pthread_mutex_unlock(&w->lock);
    return alive;
}

/* A hung sound server hangs these calls for ever. */
static void close_stream(void *context)
{
    player *const p = context;
    (void)Pa_AbortStream(p->stream);
    (void)Pa_CloseStream(p->stream);
    (void)Pa_Terminate();
}

bool player_close(player *p)
{
    if (p != NULL && !in_time(close_stream, p, CLOSE_DEADLINE_S)) {
        return false; /* p stays: the callback may still hold it */
    }
    release(p);
    return true;
}
