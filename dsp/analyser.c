#include "dsp/analyser.h"

#include "dsp/constants.h"
#include "dsp/minute.h"
#include "dsp/segment.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    SLOTS = 2,        /* windows that can be open, or done and not taken */
    PUSH_BLOCK = 4096 /* samples handled at once */
};

typedef enum slot_state {
    SLOT_FREE,
    SLOT_OPEN,
    SLOT_DONE
} slot_state;

typedef struct slot {
    slot_state state;
    int64_t context_start;
    int64_t window_start;
    int64_t window_end;
    int64_t context_end;
    fm_collector *collector;
    fm_count result;
} slot;

struct fm_analyser {
    double rate_hz;
    int64_t context; /* FM_CONTEXT_S in samples */
    int64_t origin;
    int64_t position;
    bool finished;
    bool keep_refused;
    bool failed;    /* a window was lost for want of memory */
    float *history; /* the last samples, gaps as NaN; ring */
    size_t n_history;
    slot slots[SLOTS];
    fm_minute *minute;
};

fm_analyser *fm_analyser_create(double rate_hz, fm_status *status)
{
    fm_status ignored;
    fm_status *const result = status ? status : &ignored;
    if (!(rate_hz >= FM_RATE_MIN_HZ) || !(rate_hz <= FM_RATE_MAX_HZ)) {
        *result = FM_ERR_RATE;
        return NULL;
    }
    *result = FM_ERR_NOMEM;
    fm_analyser *a = calloc(1, sizeof(*a));
    if (!a) {
        return NULL;
    }
    a->rate_hz = rate_hz;
    a->context = (int64_t)ceil(FM_CONTEXT_S * rate_hz);
    a->n_history = (size_t)(2 * a->context + 1);
    a->history = calloc(a->n_history, sizeof(*a->history));
    a->minute = fm_minute_create();
    bool complete = a->history && a->minute;
    for (size_t i = 0; i < SLOTS; i++) {
        a->slots[i].collector = fm_collector_create(rate_hz);
        complete = complete && a->slots[i].collector;
    }
    if (!complete) {
        fm_analyser_destroy(a);
        return NULL;
    }
    *result = FM_OK;
    return a;
}

void fm_analyser_destroy(fm_analyser *a)
{
    if (!a) {
        return;
    }
    for (size_t i = 0; i < SLOTS; i++) {
        fm_collector_destroy(a->slots[i].collector);
    }
    fm_minute_destroy(a->minute);
    free(a->history);
    free(a);
}

void fm_analyser_keep_refused(fm_analyser *a)
{
    a->keep_refused = true;
}

fm_status fm_analyser_reset(fm_analyser *a, int64_t origin)
{
    if (origin < 0) {
        return FM_ERR_ARG;
    }
    a->origin = origin;
    a->position = origin;
    a->finished = false;
    a->failed = false;
    for (size_t i = 0; i < SLOTS; i++) {
        a->slots[i].state = SLOT_FREE;
    }
    return FM_OK;
}

/* Feed a slot with samples [from, from + n) of the recording; in NULL for a gap. */
static void feed(slot *s, int64_t from, const float *in, int64_t n)
{
    const int64_t first = from > s->context_start ? from : s->context_start;
    const int64_t last = from + n < s->context_end ? from + n : s->context_end;
    if (last > first) {
        fm_collector_push(s->collector, in ? in + (first - from) : NULL,
                          (size_t)(last - first));
    }
}

static void close_slot(fm_analyser *a, slot *s, int64_t end)
{
    fm_segment segment;
    if (fm_collector_finish(s->collector, end, &segment) != FM_OK) {
        a->failed = true;
        s->state = SLOT_FREE; /* a window that is not whole has no result */
        return;
    }
    fm_minute_analyse(a->minute, &segment, &s->result);
    if (!a->keep_refused) {
        fm_minute_empty_refused(&s->result);
    }
    s->state = SLOT_DONE;
}

static void replay_history(fm_analyser *a, slot *s)
{
    for (int64_t at = s->context_start; at < a->position;) {
        const size_t place = (size_t)(at % (int64_t)a->n_history);
        int64_t n = (int64_t)(a->n_history - place);
        n = n < a->position - at ? n : a->position - at;
        feed(s, at, a->history + place, n);
        at += n;
    }
}

static bool overlaps(const fm_analyser *a, int64_t start, int64_t end)
{
    for (size_t i = 0; i < SLOTS; i++) {
        const slot *s = &a->slots[i];
        if (s->state == SLOT_OPEN && start < s->window_end && end > s->window_start) {
            return true;
        }
    }
    return false;
}

fm_status fm_analyser_open(fm_analyser *a, int64_t start, int64_t n_samples)
{
    if ((double)n_samples > ceil(FM_WINDOW_MAX_S * a->rate_hz)) {
        return FM_ERR_LONG;
    }
    if (start < a->origin || n_samples < 1 ||
        start > INT64_MAX - n_samples - a->context ||
        overlaps(a, start, start + n_samples)) {
        return FM_ERR_ARG;
    }
    if (a->finished || start < a->position - a->context) {
        return FM_ERR_LATE;
    }
    slot *s = NULL;
    for (size_t i = 0; i < SLOTS && !s; i++) {
        s = a->slots[i].state == SLOT_FREE ? &a->slots[i] : NULL;
    }
    if (!s) {
        return FM_ERR_BUSY;
    }
    s->state = SLOT_OPEN;
    s->window_start = start;
    s->window_end = start + n_samples;
    s->context_start = start - a->origin > a->context ? start - a->context : a->origin;
    s->context_end = s->window_end + a->context;
    fm_collector_begin(s->collector, s->context_start, s->window_start, s->window_end);
    replay_history(a, s);
    return FM_OK;
}

static void remember(fm_analyser *a, const float *in, int64_t n)
{
    while (n > 0) {
        const size_t place = (size_t)(a->position % (int64_t)a->n_history);
        const size_t room = a->n_history - place;
        const size_t now = (size_t)n < room ? (size_t)n : room;
        if (in) {
            memcpy(a->history + place, in, now * sizeof(*in));
            in += now;
        } else {
            for (size_t i = 0; i < now; i++) {
                a->history[place + i] = NAN;
            }
        }
        n -= (int64_t)now;
        a->position += (int64_t)now;
    }
}

static void push_block(fm_analyser *a, const float *in, int64_t n)
{
    for (size_t i = 0; i < SLOTS; i++) {
        slot *s = &a->slots[i];
        if (s->state == SLOT_OPEN) {
            feed(s, a->position, in, n);
        }
    }
    remember(a, in, n);
    for (size_t i = 0; i < SLOTS; i++) {
        slot *s = &a->slots[i];
        if (s->state == SLOT_OPEN && a->position >= s->context_end) {
            close_slot(a, s, s->context_end);
        }
    }
}

fm_status fm_analyser_push(fm_analyser *a, const float *in, size_t n)
{
    bool finite = true;
    while (n > 0 && !a->finished) {
        const size_t count = n < PUSH_BLOCK ? n : PUSH_BLOCK;
        finite = fm_all_within(in, count, FM_SAMPLE_MAX) && finite;
        push_block(a, in, (int64_t)count);
        in += count;
        n -= count;
    }
    return a->finished ? FM_ERR_LATE
           : a->failed ? FM_ERR_NOMEM
           : finite    ? FM_OK
                       : FM_ERR_NOT_FINITE;
}

fm_status fm_analyser_push_gap(fm_analyser *a, int64_t n)
{
    if (n < 0 || a->finished) {
        return n < 0 ? FM_ERR_ARG : FM_ERR_LATE;
    }
    while (n > 0) {
        const int64_t count = n < PUSH_BLOCK ? n : PUSH_BLOCK;
        push_block(a, NULL, count);
        n -= count;
    }
    return a->failed ? FM_ERR_NOMEM : FM_OK;
}

fm_status fm_analyser_finish(fm_analyser *a)
{
    a->finished = true;
    for (size_t i = 0; i < SLOTS; i++) {
        slot *s = &a->slots[i];
        if (s->state == SLOT_OPEN) {
            close_slot(a, s,
                       a->position > s->context_start ? a->position : s->context_start);
        }
    }
    return a->failed ? FM_ERR_NOMEM : FM_OK;
}

bool fm_analyser_take(fm_analyser *a, fm_count *out)
{
    slot *oldest = NULL;
    for (size_t i = 0; i < SLOTS; i++) {
        slot *s = &a->slots[i];
        if (s->state == SLOT_DONE &&
            (!oldest || s->window_start < oldest->window_start)) {
            oldest = s;
        }
    }
    if (!oldest) {
        return false;
    }
    *out = oldest->result;
    oldest->state = SLOT_FREE;
    return true;
}

int64_t fm_analyser_position(const fm_analyser *a)
{
    return a->position;
}
