#include "src/playback/player_callback.h"

#include <math.h>
#include <stddef.h>

/* A driver that says that a block is heard later than this, or before it is asked for,
   is not believed. */
static const double HEARD_LATEST_S = 3.0;

void player_callback_init(player_callback_state *s,
                          const player_order *silence,
                          int outputs)
{
    atomic_init(&s->order, silence);
    s->outputs = outputs;
    s->at = 0;
    atomic_init(&s->taken, 0U);
    atomic_init(&s->calls, 0U);
    atomic_init(&s->gaps, 0);
    atomic_init(&s->finished, false);
    atomic_init(&s->turn, 0U);
    atomic_init(&s->mark_order, 0U);
    atomic_init(&s->mark_first, 0);
    atomic_init(&s->mark_next, 0);
    atomic_init(&s->mark_now_s, 0.0);
    atomic_init(&s->mark_heard_s, 0.0);
}

static void leave_mark(player_callback_state *s,
                       unsigned order,
                       int64_t first,
                       const PaStreamCallbackTimeInfo *time)
{
    (void)atomic_fetch_add(&s->turn, 1U);
    atomic_store(&s->mark_order, order);
    atomic_store(&s->mark_first, first);
    atomic_store(&s->mark_next, s->at);
    atomic_store(&s->mark_now_s, time != NULL ? time->currentTime : 0.0);
    atomic_store(&s->mark_heard_s, time != NULL ? time->outputBufferDacTime : 0.0);
    (void)atomic_fetch_add(&s->turn, 1U);
}

int player_callback(const void *input,
                    void *output,
                    unsigned long frames,
                    const PaStreamCallbackTimeInfo *time,
                    PaStreamCallbackFlags flags,
                    void *user_data)
{
    (void)input;
    player_callback_state *const s = user_data;
    float *out = output;
    const player_order *const o = atomic_load(&s->order);
    if (o->number != atomic_load_explicit(&s->taken, memory_order_relaxed)) {
        s->at = o->from;
    }
    /* From here on the samples of an earlier order are not touched any more. */
    atomic_store(&s->taken, o->number);
    const int64_t first = s->at;
    for (unsigned long i = 0; i < frames; i++, s->at++) {
        const float x = o->samples != NULL && s->at < o->n ? o->samples[s->at] : 0.0F;
        for (int c = 0; c < s->outputs; c++) {
            *out = x;
            out++;
        }
    }
    if ((flags & paOutputUnderflow) != 0) {
        (void)atomic_fetch_add_explicit(&s->gaps, 1, memory_order_relaxed);
    }
    leave_mark(s, o->number, first, time);
    (void)atomic_fetch_add_explicit(&s->calls, 1U, memory_order_relaxed);
    return paContinue;
}

void player_callback_finished(void *user_data)
{
    player_callback_state *const s = user_data;
    atomic_store(&s->finished, true);
}

player_mark player_callback_mark(const player_callback_state *s)
{
    for (;;) {
        const unsigned before = atomic_load(&s->turn);
        const player_mark m = {.order = atomic_load(&s->mark_order),
                               .first = atomic_load(&s->mark_first),
                               .next = atomic_load(&s->mark_next),
                               .now_s = atomic_load(&s->mark_now_s),
                               .heard_s = atomic_load(&s->mark_heard_s)};
        if (before % 2U == 0U && atomic_load(&s->turn) == before) {
            return m;
        }
    }
}

int64_t player_mark_heard(const player_mark *m,
                          const player_order *order,
                          double now_s,
                          double rate_hz,
                          double latency_s)
{
    if (m->order != order->number) {
        return -1;
    }
    const double ahead_s = m->heard_s - m->now_s;
    const bool said = ahead_s >= 0.0 && ahead_s < HEARD_LATEST_S;
    const double heard_s = m->now_s + (said ? ahead_s : latency_s);
    const double moved = floor((now_s - heard_s) * rate_hz);
    /* What has not been handed out cannot have been heard. */
    const double room = (double)(m->next - m->first);
    const int64_t at = m->first + (int64_t)fmax(fmin(moved, room), -1e15);
    return at < order->from ? -1 : at > order->n ? order->n : at;
}
