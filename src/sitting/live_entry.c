/* What the learner does in a live sitting: taps and entries, on disk before any count. */
#include "src/sitting/live_private.h"

#include <math.h>
#include <stdio.h>

void live_sitting_tap(live_sitting *s, double monotonic_s)
{
    const double time_s = capture_time_at(s->capture, monotonic_s);
    const sitting_document *const d = &s->document;
    const bool back = d->n_taps > 0 && time_s < d->taps_s[d->n_taps - 1];
    if (s->phase == LIVE_RUNNING && isfinite(time_s) && !back) {
        if (sitting_document_add_tap(&s->document, time_s)) {
            s->dirty = true;
        } else {
            (void)snprintf(s->trouble, sizeof s->trouble,
                           "No room for more taps: this one is not kept.");
        }
    }
}

bool live_sitting_enter(live_sitting *s, int entered, app_err *err)
{
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
    const bool breath_next = s->kind == SITTING_PULSE && s->plan.breath;
    s->document.sealed = second_next || breath_next;
    if (!live_sitting_save(s, err)) {
        s->document.sealed = true; /* typed again, it is stored again */
        return false;
    }
    if (second_next) {
        s->entry = LIVE_ENTRY_SECOND;
    } else {
        live_sitting_after_entry(s);
    }
    return true;
}
