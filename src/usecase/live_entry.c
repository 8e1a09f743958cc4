/* What the learner does in a live sitting: taps and entries, on disk before any count. */
#include "src/usecase/live_private.h"

#include "src/words/person_first.h"

#include <math.h>
#include <stdio.h>

/* A tap of the window's last moments may come when it is over: a page sends them. */
static bool is_of_the_window(const live_sitting *s, double time_s)
{
    const bool over = s->phase == LIVE_GAPPED || s->phase == LIVE_ENTRY;
    return s->phase == LIVE_RUNNING ||
           (over && time_s >= (double)s->start / s->rate_hz &&
            time_s < (double)s->end / s->rate_hz);
}

void live_sitting_tap(live_sitting *s, double monotonic_s)
{
    const double time_s = capture_time_at(s->capture, monotonic_s);
    const sitting_document *const d = &s->document;
    const bool back = d->n_taps > 0 && time_s < d->taps_s[d->n_taps - 1];
    if (isfinite(time_s) && is_of_the_window(s, time_s) && !back) {
        if (sitting_document_add_tap(&s->document, time_s)) {
            s->dirty = true;
        } else {
            (void)snprintf(s->trouble, sizeof s->trouble,
                           "No room for more taps: this one is not kept.");
        }
    }
}

/* The second count is sealed: held to the line is what the learner entered. */
static void hold_to_the_line(live_sitting *s, live_entry entry, double per_min)
{
    person_first p = person_first_none();
    p.age_months = s->plan.age_months;
    if (entry == LIVE_ENTRY_BREATH) {
        p.own_breaths = per_min;
    } else {
        p.own_pulse = per_min;
    }
    char text[LINES_PARAGRAPH_BYTES];
    if (person_first_line(&p, text)[0] != '\0') {
        (void)snprintf(s->person, sizeof s->person, "%.*s", LIVE_PERSON_BYTES - 1,
                       text);
    }
}

/* What an entry changes in the document, as it was before. */
typedef struct entries_before {
    sitting_entry pulse, second, breath;
    double deficit_per_min;
    fm_breath_method method;
} entries_before;

static entries_before entries_of(const sitting_document *d)
{
    return (entries_before){d->pulse, d->second, d->breath, d->deficit_per_min,
                            d->method};
}

/* An entry that could not be stored was not made: a later save must not store it. */
static void take_back(sitting_document *d, const entries_before *before)
{
    d->pulse = before->pulse;
    d->second = before->second;
    d->breath = before->breath;
    d->deficit_per_min = before->deficit_per_min;
    d->method = before->method;
    d->sealed = true;
}

bool live_sitting_enter(live_sitting *s, int entered, app_err *err)
{
    const entries_before before = entries_of(&s->document);
    const int seconds = s->kind == SITTING_PULSE ? s->plan.seconds : 60;
    static const sitting_entry_kind KINDS[] = {
        [LIVE_ENTRY_PULSE] = SITTING_ENTRY_PULSE,
        [LIVE_ENTRY_SECOND] = SITTING_ENTRY_SECOND,
        [LIVE_ENTRY_BREATH] = SITTING_ENTRY_BREATH};
    if (s->phase != LIVE_ENTRY ||
        !sitting_entries_take(&s->document, KINDS[s->entry], entered, seconds, err)) {
        return false;
    }
    const bool second_next = s->entry == LIVE_ENTRY_PULSE && s->plan.second_examiner;
    const bool more_next = live_watches_first(&s->plan)
                               ? s->kind == SITTING_BREATH
                               : s->kind == SITTING_PULSE && s->plan.breath;
    if (live_watches_first(&s->plan) && s->kind == SITTING_BREATH) {
        s->document.method = FM_BREATH_WATCHED;
    }
    s->document.sealed = second_next || more_next;
    if (!live_sitting_save(s, err)) {
        take_back(&s->document, &before); /* typed again, it is stored again */
        return false;
    }
    hold_to_the_line(s, s->entry, (double)entered * 60.0 / (double)seconds);
    if (second_next) {
        s->entry = LIVE_ENTRY_SECOND;
    } else {
        live_sitting_after_entry(s);
    }
    return true;
}
