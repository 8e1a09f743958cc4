/* The drain's side of a live sitting: from captured blocks to the recording. */
#include "src/usecase/live_private.h"

#include "src/port/steady.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    TAKE_SAMPLES = 4096
};

static void init_envelope(live_take *t)
{
    t->has_band = fm_filter_init_heart_band(&t->band, t->rate_hz) == FM_OK;
    t->envelope_next = (int64_t)(t->rate_hz / LIVE_ENVELOPE_HZ);
}

/* Peaks, as they come. Overwrites in; `first` is its first sample on the recording. */
static void add_envelope(live_take *t, float *in, size_t n, int64_t first)
{
    fm_filter_process(&t->band, in, in, n);
    for (size_t i = 0; i < n; i++) {
        t->envelope_peak = fmaxf(t->envelope_peak, fabsf(in[i]));
        if (first + (int64_t)i + 1 >= t->envelope_next) {
            t->envelope[t->n_envelope++ % LIVE_ENVELOPE_MAX] = t->envelope_peak;
            t->envelope_peak = 0.0F;
            t->envelope_next =
                (int64_t)((double)(t->n_envelope + 1) * t->rate_hz / LIVE_ENVELOPE_HZ);
        }
    }
}

/* A gap has no loudness; its values come all the same, so that time does not shift. */
static void add_envelope_gap(live_take *t, int64_t end)
{
    while (t->has_band && t->envelope_next <= end) {
        t->envelope[t->n_envelope++ % LIVE_ENVELOPE_MAX] = 0.0F;
        t->envelope_next =
            (int64_t)((double)(t->n_envelope + 1) * t->rate_hz / LIVE_ENVELOPE_HZ);
    }
}

size_t live_sitting_get_envelope(live_sitting *s,
                                 float out[LIVE_ENVELOPE_MAX],
                                 double *first_s)
{
    live_take *const t = &s->take;
    lock_take(t->lock);
    const int64_t n =
        t->n_envelope < LIVE_ENVELOPE_MAX ? t->n_envelope : LIVE_ENVELOPE_MAX;
    const int64_t first = t->n_envelope - n;
    for (int64_t i = 0; i < n; i++) {
        out[i] = t->envelope[(first + i) % LIVE_ENVELOPE_MAX];
    }
    lock_leave(t->lock);
    *first_s = (double)first / LIVE_ENVELOPE_HZ;
    return (size_t)n;
}

bool live_take_init(live_take *t, double rate_hz, const live_plan *plan)
{
    t->rate_hz = rate_hz;
    t->channel = plan->channel - 1;
    t->gain = (float)pow(10.0, plan->gain_db / 20.0);
    t->lock = lock_make();
    t->mono = calloc(TAKE_SAMPLES, sizeof *t->mono);
    live_level_init(&t->level, rate_hz);
    if (plan->marks && !plan->checked) {
        t->marker = fm_provisional_marker_create(rate_hz);
        init_envelope(t);
    }
    t->watch = plan->checked && plan->pulse ? fm_contact_watch_create(rate_hz) : NULL;
    return t->lock != NULL && t->mono != NULL;
}

void live_take_free(live_take *t)
{
    fm_provisional_marker_destroy(t->marker);
    fm_contact_watch_destroy(t->watch);
    lock_free(t->lock);
    free(t->mono);
}

static void add_mark(live_take *t, const fm_provisional *m, double now_s)
{
    if (t->n_marks == LIVE_MARKS_MAX) {
        memmove(t->marks, t->marks + 1, (LIVE_MARKS_MAX - 1) * sizeof t->marks[0]);
        t->n_marks--;
    }
    t->marks[t->n_marks++] = (live_mark){m->time_s, m->kind, now_s};
}

static void take_marks(live_take *t)
{
    fm_provisional found[16];
    size_t n = 0;
    const double now_s = steady_now_s();
    do {
        n = fm_provisional_marker_take(t->marker, found,
                                       sizeof found / sizeof found[0]);
        for (size_t i = 0; i < n; i++) {
            add_mark(t, &found[i], now_s);
        }
    } while (n > 0);
}

/* Neighbours of one cause are one gap; when the list is full the last one grows, so that
 * nothing missing is ever called sound. */
static void add_gap(live_take *t, int64_t first, int64_t n, capture_gap_cause cause)
{
    live_gap *const last = t->n_gaps > 0 ? &t->gaps[t->n_gaps - 1] : NULL;
    const bool touches = last != NULL && last->first + last->n == first;
    if (last != NULL &&
        (t->n_gaps == LIVE_TAKEN_GAPS || (touches && last->cause == cause))) {
        last->n = first + n - last->first;
    } else {
        t->gaps[t->n_gaps++] = (live_gap){first, n, cause};
    }
}

static void failed(live_take *t, const app_err *err)
{
    lock_take(t->lock);
    t->failed = true;
    t->err = *err;
    lock_leave(t->lock);
}

static void take_gap(live_take *t, size_t n, capture_gap_cause cause)
{
    app_err err = APP_ERR_NONE;
    if (!recording_write(t->out, NULL, n, NULL, &err)) {
        failed(t, &err);
        return;
    }
    lock_take(t->lock);
    if (t->watch != NULL) {
        fm_contact_watch_push(t->watch, t->written, NULL, n);
    }
    add_gap(t, t->written, (int64_t)n, cause);
    t->written += (int64_t)n;
    if (t->marker != NULL) {
        fm_provisional_marker_push(t->marker, NULL, n);
    }
    add_envelope_gap(t, t->written);
    lock_leave(t->lock);
}

static bool take_sound(live_take *t, const float *frames, size_t n, int channels)
{
    const int channel = t->channel < channels ? t->channel : 0;
    app_err err = APP_ERR_NONE;
    for (size_t i = 0; i < n; i++) {
        t->mono[i] = t->gain * frames[i * (size_t)channels + (size_t)channel];
    }
    if (!recording_write(t->out, t->mono, n, t->mono, &err)) {
        failed(t, &err);
        return false;
    }
    lock_take(t->lock);
    if (t->watch != NULL) {
        fm_contact_watch_push(t->watch, t->written, t->mono, n);
    }
    t->written += (int64_t)n;
    live_level_push(&t->level, t->mono, n);
    if (t->marker != NULL) {
        fm_provisional_marker_push(t->marker, t->mono, n);
        take_marks(t);
    }
    if (t->has_band) {
        add_envelope(t, t->mono, n,
                     t->written - (int64_t)n); /* mono is written by now */
    }
    lock_leave(t->lock);
    return true;
}

void live_take_block(void *context, const capture_block *block)
{
    live_take *const t = context;
    if (t->failed) {
        return; /* disk full: what there is stays whole */
    }
    if (block->frames == NULL) {
        take_gap(t, block->n, block->cause);
        return;
    }
    size_t done = 0;
    bool ok = true;
    while (ok && done < block->n) {
        const size_t left = block->n - done;
        const size_t n = left < TAKE_SAMPLES ? left : TAKE_SAMPLES;
        ok = take_sound(t, block->frames + done * (size_t)block->channels, n,
                        block->channels);
        done += n;
    }
}
