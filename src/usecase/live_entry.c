/* What the learner does in a live sitting: taps and entries, on disk before any count. */
#include "src/usecase/live_private.h"

#include "src/words/person_first.h"

#include <math.h>
#include <stdio.h>

/* A tap of the window's last moments may come when it is over: a page sends them. */
static bool is_of_the_window(const live_sitting *s, double time_s)
{
    const taking *const t = &s->taking;
    const bool over = t->phase == TAKING_GAPPED || t->phase == TAKING_ENTRY;
    return t->phase == TAKING_RUNNING ||
           (over && time_s >= (double)t->start / s->rate_hz &&
            time_s < (double)t->end / s->rate_hz);
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
static void hold_to_the_line(live_sitting *s, taking_entry of, double per_min)
{
    person_first p = person_first_none();
    p.age_months = s->plan.age_months;
    if (of == TAKING_BREATH) {
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

/* An entry that could not be stored was not made: what is on disk, and no other, becomes the
 * document. */
bool live_sitting_enter(live_sitting *s, const own_count *own, app_err *err)
{
    taking *const t = &s->taking;
    const taking_step step = *taking_at(t);
    sitting_document next = s->document;
    if (t->phase != TAKING_ENTRY ||
        !sitting_entries_take(&next, step.entry, own, step.seconds, err)) {
        return false;
    }
    next.method = step.watched ? FM_BREATH_WATCHED : next.method;
    next.sealed = taking_has_more(t);
    (void)taking_tell(t, TAKING_ENTERED, 0);
    const bool stored = live_sitting_save(s, &next, err);
    if (stored) {
        s->document = next;
        if (!own->could_not) {
            hold_to_the_line(s, step.entry,
                             (double)own->entered * 60.0 / (double)step.seconds);
        }
    }
    (void)taking_tell(t, stored ? TAKING_STORED : TAKING_NOT_STORED, 0);
    return stored;
}
