#include "src/usecase/taking.h"

#include <math.h>
#include <stddef.h>

#define IN(phase) (1U << (unsigned)(phase))

/* Where an event leads, and from where. No other way leads to a count, or to what is shown,
 * than these and the end of the tail. */
static const struct {
    taking_event event;
    unsigned from;
    taking_phase to;
} WAYS[] = {
    {TAKING_START, IN(TAKING_SETTLING), TAKING_LEAD_IN},
    {TAKING_AGAIN, IN(TAKING_LEAD_IN) | IN(TAKING_RUNNING) | IN(TAKING_GAPPED),
     TAKING_SETTLING},
    {TAKING_KEEP, IN(TAKING_GAPPED), TAKING_ENTRY},
    {TAKING_ENTERED, IN(TAKING_ENTRY), TAKING_STORING},
    {TAKING_STORED, IN(TAKING_STORING), TAKING_COUNTING},
    {TAKING_NOT_STORED, IN(TAKING_STORING), TAKING_ENTRY},
    {TAKING_COUNTED, IN(TAKING_COUNTING), TAKING_SHOWN},
    {TAKING_COUNT_FAILED, IN(TAKING_COUNTING), TAKING_FAILED},
    /* From settling to broken. */
    {TAKING_STOP, IN(TAKING_COUNTING) - IN(TAKING_SETTLING), TAKING_ENDED},
    {TAKING_INPUT_ENDED, IN(TAKING_SETTLING) | IN(TAKING_LEAD_IN) | IN(TAKING_RUNNING),
     TAKING_BROKEN},
    /* A window that is over is complete, and its number can still be entered. */
    {TAKING_INPUT_ENDED, IN(TAKING_TAIL), TAKING_COUNTING},
};

const taking_step *taking_at(const taking *t)
{
    return &t->steps[t->step];
}

bool taking_has_more(const taking *t)
{
    return t->step + 1 < t->n_steps;
}

void taking_add(taking *t, bool wanted, taking_step step)
{
    if (wanted) {
        t->steps[t->n_steps++] = step;
    }
}

static bool begin_step(taking *t, int step)
{
    t->step = step;
    t->phase = taking_at(t)->window ? TAKING_SETTLING : TAKING_ENTRY;
    return true;
}

void taking_begin(taking *t)
{
    t->window = 1;
    (void)begin_step(t, 0);
}

static void open_window(taking *t, int64_t start)
{
    t->start = start;
    t->end = start + (int64_t)llround(taking_at(t)->seconds * t->rate_hz);
    t->lacks = false;
}

static void end_window(taking *t)
{
    const bool lacks = t->lacks && !taking_at(t)->watched;
    if (t->repeats) {
        t->window++;
        open_window(t, t->end);
    } else {
        t->phase = t->open ? TAKING_TAIL : lacks ? TAKING_GAPPED : TAKING_ENTRY;
    }
}

static bool let_time_go_on(taking *t, int64_t at)
{
    const taking before = *t;
    t->now = at;
    if (t->phase == TAKING_LEAD_IN && at >= t->start) {
        t->phase = TAKING_RUNNING;
    }
    if (t->phase == TAKING_RUNNING && at >= t->end) {
        end_window(t);
    }
    if (t->phase == TAKING_TAIL && at >= t->end + t->tail) {
        t->phase = TAKING_COUNTING;
    }
    return t->phase != before.phase || t->window != before.window;
}

static bool follow(taking *t, taking_event event, taking_phase to, int64_t at)
{
    const bool more = taking_has_more(t);
    if (event == TAKING_START && t->now < t->settle) {
        return false;
    }
    if (event == TAKING_START) {
        open_window(t, at);
    }
    if (more && (event == TAKING_STORED ||
                 (event == TAKING_ENTERED && taking_at(t)->with_next))) {
        return begin_step(t, t->step + 1);
    }
    t->phase = event == TAKING_STORED && t->tail > 0 ? TAKING_TAIL
               : event == TAKING_STOP && t->open     ? TAKING_COUNTING
                                                     : to;
    return true;
}

bool taking_tell(taking *t, taking_event event, int64_t at)
{
    if (event == TAKING_TIME) {
        return let_time_go_on(t, at);
    }
    if (event == TAKING_LACKS && !t->lacks) {
        t->lacks = t->phase == TAKING_LEAD_IN || t->phase == TAKING_RUNNING;
        return t->lacks;
    }
    for (size_t i = 0; i < sizeof WAYS / sizeof WAYS[0]; i++) {
        if (event == WAYS[i].event && (WAYS[i].from & IN(t->phase)) != 0) {
            return follow(t, event, WAYS[i].to, at);
        }
    }
    return false;
}
