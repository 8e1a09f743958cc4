#include "src/usecase/taking.h"

#include <math.h>

/* Who is told of a count that failed has asked for what is shown. */
static const struct {
    const char *one, *room;
} WORDS[] = {[TAKING_ENDED] = {"none", "none"},
             [TAKING_SETTLING] = {"settling", "gathering"},
             [TAKING_LEAD_IN] = {"lead_in", "lead_in"},
             [TAKING_RUNNING] = {"running", "listening"},
             [TAKING_GAPPED] = {"gapped", "listening"},
             [TAKING_ENTRY] = {"entry", "entering"},
             [TAKING_STORING] = {"entry", "entering"},
             [TAKING_TAIL] = {"ending", "entering"},
             [TAKING_BROKEN] = {"broken", "none"},
             [TAKING_COUNTING] = {"counting", "entering"},
             [TAKING_SHOWN] = {"revealed", "revealed"},
             [TAKING_FAILED] = {"revealed", "revealed"}};

const char *taking_word(taking_phase phase)
{
    return WORDS[phase].one;
}

const char *taking_room_word(taking_phase phase)
{
    return WORDS[phase].room;
}

const char *taking_entry_word(taking_entry entry)
{
    static const char *const ENTRIES[] = {[TAKING_PULSE] = "pulse",
                                          [TAKING_SECOND] = "second",
                                          [TAKING_BREATH] = "breath"};
    return ENTRIES[entry];
}

const taking_step *taking_at(const taking *t)
{
    return &t->steps[t->step];
}

bool taking_has_more(const taking *t)
{
    return t->step + 1 < t->n_steps;
}

void taking_add(taking *t, taking_step step)
{
    t->steps[t->n_steps++] = step;
}

/* ---- From phase to phase ---- */

static bool go(taking *t, taking_phase phase)
{
    t->phase = phase;
    return true;
}

static bool go_from(taking *t, taking_phase from, taking_phase to)
{
    return t->phase == from && go(t, to);
}

static bool begin_step(taking *t)
{
    return go(t, taking_at(t)->window ? TAKING_SETTLING : TAKING_ENTRY);
}

static bool next_step(taking *t)
{
    t->step++;
    return begin_step(t);
}

void taking_begin(taking *t)
{
    t->window = 1;
    (void)begin_step(t);
}

static void open_window(taking *t, int64_t start)
{
    t->start = start;
    t->end = start + (int64_t)llround(taking_at(t)->seconds * t->rate_hz);
    t->lacks = false;
}

static bool start(taking *t, int64_t at)
{
    if (t->phase != TAKING_SETTLING || t->now < t->settle) {
        return false;
    }
    open_window(t, at);
    return go(t, TAKING_LEAD_IN);
}

static bool end_window(taking *t)
{
    if (t->repeats) {
        t->window++;
        open_window(t, t->end);
        return true;
    }
    const bool lacks = t->lacks && !taking_at(t)->watched;
    return go(t, t->open ? TAKING_TAIL : lacks ? TAKING_GAPPED : TAKING_ENTRY);
}

static bool let_time_go_on(taking *t, int64_t at)
{
    t->now = at;
    bool changed = at >= t->start && go_from(t, TAKING_LEAD_IN, TAKING_RUNNING);
    if (t->phase == TAKING_RUNNING && at >= t->end) {
        changed = end_window(t);
    }
    return (at >= t->end + t->tail && go_from(t, TAKING_TAIL, TAKING_COUNTING)) ||
           changed;
}

/* The only way to a count but for one that nobody enters: the last entry is stored. */
static bool after_store(taking *t)
{
    if (t->phase != TAKING_STORING) {
        return false;
    }
    return taking_has_more(t) ? next_step(t)
                              : go(t, t->tail > 0 ? TAKING_TAIL : TAKING_COUNTING);
}

static bool enter(taking *t)
{
    if (t->phase != TAKING_ENTRY) {
        return false;
    }
    return taking_at(t)->with_next && taking_has_more(t) ? next_step(t)
                                                         : go(t, TAKING_STORING);
}

static bool is_of_a_window(const taking *t)
{
    return t->phase == TAKING_LEAD_IN || t->phase == TAKING_RUNNING;
}

static bool stop(taking *t)
{
    return t->phase >= TAKING_SETTLING && t->phase <= TAKING_BROKEN &&
           go(t, t->open ? TAKING_COUNTING : TAKING_ENDED);
}

/* A window that is over is complete, and its number can still be entered. */
static bool end_input(taking *t)
{
    return ((t->phase == TAKING_SETTLING || is_of_a_window(t)) &&
            go(t, TAKING_BROKEN)) ||
           go_from(t, TAKING_TAIL, TAKING_COUNTING);
}

static bool lack(taking *t)
{
    const bool first = is_of_a_window(t) && !t->lacks;
    t->lacks = t->lacks || first;
    return first;
}

bool taking_tell(taking *t, taking_event event, int64_t at)
{
    switch (event) {
    case TAKING_TIME:
        return let_time_go_on(t, at);
    case TAKING_START:
        return start(t, at);
    case TAKING_LACKS:
        return lack(t);
    case TAKING_AGAIN:
        return (is_of_a_window(t) || t->phase == TAKING_GAPPED) &&
               go(t, TAKING_SETTLING);
    case TAKING_KEEP:
        return go_from(t, TAKING_GAPPED, TAKING_ENTRY);
    case TAKING_ENTERED:
        return enter(t);
    case TAKING_STORED:
        return after_store(t);
    case TAKING_NOT_STORED:
        return go_from(t, TAKING_STORING, TAKING_ENTRY);
    case TAKING_COUNTED:
        return go_from(t, TAKING_COUNTING, TAKING_SHOWN);
    case TAKING_COUNT_FAILED:
        return go_from(t, TAKING_COUNTING, TAKING_FAILED);
    case TAKING_STOP:
        return stop(t);
    case TAKING_INPUT_ENDED:
        return end_input(t);
    default:
        return false;
    }
}
