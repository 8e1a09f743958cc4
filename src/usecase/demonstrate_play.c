#include "src/usecase/demonstrate_play.h"

#include <math.h>

static int64_t sample_of(const demonstrate_play *p, double at_s)
{
    const double at = round(at_s * p->d->rate_hz);
    return at <= 0.0 ? 0 : at >= (double)p->d->n ? p->d->n : (int64_t)at;
}

static int64_t begin_of(const demonstrate_play *p)
{
    return p->looping ? p->loop_from : 0;
}

static int64_t end_of(const demonstrate_play *p)
{
    return p->looping ? p->loop_to : p->d->n;
}

static int64_t mark_at(const demonstrate_play *p, size_t i)
{
    return sample_of(p, p->d->marks[i].at_s);
}

/* The place has jumped: no mark was passed on the way. */
static void settle(demonstrate_play *p)
{
    p->next = 0;
    while (p->next < p->d->n_marks && mark_at(p, p->next) < p->at) {
        p->next++;
    }
    p->fresh = p->next;
}

static void sound_from(demonstrate_play *p, int64_t from)
{
    p->out.start(p->out.context, p->click ? p->d->clicked : p->d->plain, end_of(p),
                 from);
}

static void jump(demonstrate_play *p, int64_t at)
{
    p->at = at;
    p->ended = false;
    settle(p);
    if (p->playing) {
        sound_from(p, at);
    }
}

void demonstrate_play_init(demonstrate_play *p,
                           const demonstration *d,
                           const demonstrate_output *out)
{
    *p = (demonstrate_play){.d = d, .out = *out, .loop_to = d->n};
}

void demonstrate_play_go(demonstrate_play *p)
{
    if (p->playing || p->lost) {
        return;
    }
    p->playing = true;
    jump(p, p->at >= end_of(p) ? begin_of(p) : p->at);
}

void demonstrate_play_pause(demonstrate_play *p)
{
    if (p->playing) {
        p->playing = false;
        p->out.stop(p->out.context);
    }
}

void demonstrate_play_seek(demonstrate_play *p, double by_s)
{
    const int64_t least = begin_of(p);
    const int64_t most = end_of(p);
    const int64_t to = sample_of(p, demonstrate_play_at_s(p) + by_s);
    jump(p, to < least ? least : to > most ? most : to);
}

void demonstrate_play_click(demonstrate_play *p, bool on)
{
    if (p->click == on) {
        return;
    }
    p->click = on;
    if (p->playing) {
        /* What is on its way is still heard: go on behind it. */
        const int64_t ahead = (int64_t)llround(p->out.latency_s * p->d->rate_hz);
        const int64_t end = end_of(p);
        sound_from(p, p->at + ahead < end ? p->at + ahead : end);
    }
}

bool demonstrate_play_loop(demonstrate_play *p, double from_s, double to_s)
{
    if (!(from_s >= 0.0) || !(to_s - from_s >= DEMONSTRATE_LOOP_MIN_S) ||
        from_s > p->d->seconds - DEMONSTRATE_LOOP_MIN_S) {
        return false;
    }
    p->looping = true;
    p->loop_from = sample_of(p, from_s);
    p->loop_to = sample_of(p, to_s);
    const bool inside = p->at >= p->loop_from && p->at < p->loop_to;
    jump(p, inside ? p->at : p->loop_from);
    return true;
}

void demonstrate_play_loop_clear(demonstrate_play *p)
{
    if (p->looping) {
        p->looping = false;
        jump(p, p->at);
    }
}

static void pass_marks(demonstrate_play *p)
{
    while (p->next < p->d->n_marks && mark_at(p, p->next) <= p->at) {
        p->next++;
    }
}

void demonstrate_play_step(demonstrate_play *p)
{
    p->fresh = p->next;
    if (!p->playing) {
        return;
    }
    if (!p->out.alive(p->out.context)) {
        p->lost = true;
        p->playing = false;
        return;
    }
    const int64_t heard = p->out.heard(p->out.context);
    if (heard > p->at) { /* behind it: the output has not come so far yet */
        p->at = heard;
        pass_marks(p);
    }
    if (p->at < end_of(p)) {
        return;
    }
    if (p->looping) {
        if (p->next ==
            p->fresh) { /* else these are told first; the seam is a step later */
            p->rounds++;
            jump(p, p->loop_from);
        }
    } else {
        p->playing = false;
        p->ended = true;
        p->out.stop(p->out.context);
    }
}

double demonstrate_play_at_s(const demonstrate_play *p)
{
    return (double)p->at / p->d->rate_hz;
}

double demonstrate_play_until_next_s(const demonstrate_play *p)
{
    if (!p->playing || p->next >= p->d->n_marks || mark_at(p, p->next) >= end_of(p)) {
        return (double)INFINITY;
    }
    return (double)(mark_at(p, p->next) - p->at) / p->d->rate_hz;
}
