/* The one next step: the person, then what cannot be compared, then the worse of pulse and
 * respirations, in shares of the limit. */
#include "src/words/first_look_private.h"
#include "src/words/person_first.h"

#include <math.h>

/* Of a side: how far off, in shares of its limit; 0 where that is not known, and never over
 * the limit where the second count is itself in doubt. */
static double share_of(const check_view *view, fm_event_kind kind)
{
    if (!first_is_compared(view, kind)) {
        return 0.0;
    }
    const fm_comparison *const c = first_comparison(view, kind);
    if (first_could_not(view, kind)) {
        return fm_is_known(first_count(view, kind)) ? HUGE_VAL : 0.0;
    }
    if (!c->reference_known || c->no_verdict != FM_NO_VERDICT_NONE) {
        return 0.0;
    }
    const double share = fabs(c->difference_per_min) / c->tolerance_per_min;
    return c->doubtful || first_is_wide(view, kind) ? fmin(share, 1.0) : share;
}

static void set(first_view *to, first_step step, const char *text)
{
    to->next.step = step;
    to->next.text[0] = '\0';
    PIECE_PUT(to->next.text, "%s", text);
    piece_capital(to->next.text);
}

/* ---- What comes before the slip ---- */

static bool next_of_person(const check_view *view, first_view *to)
{
    const char *const person = person_first_next(view);
    if (person != NULL) {
        set(to, to->now ? FIRST_PERSON : FIRST_LOOK_AT_CHEST, person);
    }
    return person != NULL;
}

/* Is it where the chest piece lies? */
static bool is_of_place(fm_reason reason)
{
    return reason == FM_REASON_TOO_QUIET || reason == FM_REASON_NO_PERIODICITY ||
           reason == FM_REASON_NO_HEART || reason == FM_REASON_CONTACT_LOST;
}

static void next_of_refused(const check_view *view, first_view *to)
{
    if (is_of_place(view->count->heart.count.reason)) {
        set(to, FIRST_FIND_PLACE,
            "find the place where the heart is heard best, then record another minute; "
            "your count is kept.");
    } else {
        set(to, FIRST_MEND_SOUND,
            "remove the cause, then record another minute; your count is kept.");
    }
}

/* A wrist below the apex, an uneven rhythm: what one examiner cannot tell. */
static bool next_of_wrist(const check_view *view, first_view *to)
{
    const fm_comparison *const c = view->comparison;
    if (c->fewer_at_wrist || (c->at_wrist && c->counted < c->apex_beats)) {
        set(to, FIRST_TWO_EXAMINERS,
            c->against_truth ? "on a person, count with a second examiner, apex and "
                               "wrist, the same full minute."
                             : "count with a second examiner, apex and wrist, the same "
                               "full minute.");
        return true;
    }
    return false;
}

static bool next_of_uneven(const check_view *view, first_view *to)
{
    if (!check_view_irregular(view)) {
        return false;
    }
    if (check_view_with_breathing(view)) {
        set(to, FIRST_CALM_MINUTE,
            "count another calm minute: does it still come and go with the breathing?");
        return true;
    }
    if (!view->comparison->against_truth) {
        set(to, FIRST_TWO_EXAMINERS,
            "ask a second examiner to count at the wrist, the same minute: do all "
            "beats arrive?");
        return true;
    }
    return false;
}

/* ---- The slip ---- */

/* The start of the six seconds in which most slipped; NaN: no slip has a place. */
static double worst_place_s(const first_view *v)
{
    const first_slip *worst = NULL;
    for (size_t i = 0; i < v->n_slips; i++) {
        const first_slip *const s = &v->slips[i];
        if (s->kind == FM_EVENT_BEAT && isfinite(s->start_s) &&
            (worst == NULL || s->n > worst->n)) {
            worst = s;
        }
    }
    return worst != NULL ? worst->start_s : (double)NAN;
}

static const char WITH_SECONDS[] =
    "count again, and enter the beats with the seconds that you counted.";

static bool next_of_slip(const check_view *view, first_view *to)
{
    const double start_s = worst_place_s(to);
    switch (view->comparison->slip) {
    case FM_SLIP_BOTH_SOUNDS:
        set(to, FIRST_BOTH_SOUNDS,
            "count a slow pulse: there S1 and S2 are clearly two sounds of one beat.");
        return true;
    case FM_SLIP_EVERY_OTHER:
        set(to, FIRST_EVERY_OTHER, hint_say(view->voice, HINT_TAP_ALONG));
        return true;
    case FM_SLIP_MULTIPLIED:
    case FM_SLIP_SECONDS:
        set(to, FIRST_OTHER_SECONDS, WITH_SECONDS);
        return true;
    default:
        break;
    }
    if (check_view_taps_end(view) > 0) {
        set(to, FIRST_OTHER_SECONDS, WITH_SECONDS);
        return true;
    }
    if (isnan(start_s)) {
        return false;
    }
    to->next.start_s = start_s;
    set(to, FIRST_SLIPS_MARKED, "");
    PIECE_PUT(to->next.text,
              "Listen again from %.0f s, with the beats marked. Missed and extra beats "
              "can hide each other in the total.",
              start_s);
    return true;
}

static void next_of_pulse(const check_view *view, first_view *to)
{
    const fm_comparison *const c = view->comparison;
    if (next_of_slip(view, to)) {
        return;
    }
    if (c->manual.seconds < 60) {
        set(to, FIRST_FULL_MINUTE,
            "count another recording for the full minute: a short count can hide an "
            "irregular rhythm. You know this one's number now.");
    } else if (first_taps_lost_at_start(view)) {
        set(to, FIRST_TAP_SAME, "count a slow, even pulse and tap each S1.");
    } else if (c->verdict == FM_VERDICT_AGREES && check_view_irregular(view)) {
        set(to, FIRST_UNEVEN_AGAIN, hint_say(view->voice, HINT_TAP_AGAIN));
    } else if (c->verdict == FM_VERDICT_AGREES) {
        set(to, FIRST_UNEVEN,
            "count an uneven rhythm the same way, for the full minute.");
    } else if (view->taps == NULL) {
        set(to, FIRST_TAP_ALONG, hint_say(view->voice, HINT_TAP_ALONG));
    } else {
        set(to, FIRST_TAP_SAME, "count another recording, and tap along the same way.");
    }
}

static void next_of_breaths(const check_view *view, first_view *to)
{
    to->next.kind = FM_EVENT_BREATH;
    if (view->breaths->comparison->slip == FM_SLIP_BOTH_PHASES) {
        set(to, FIRST_BREATHS,
            "count the respirations again: one rise and one fall is one.");
    } else {
        set(to, FIRST_BREATHS,
            "watch the chest and count the respirations again for a full minute.");
    }
}

static void next_of_could_not(const check_view *view, first_view *to)
{
    const fm_event_kind kind = to->next.kind;
    if (kind == FM_EVENT_BEAT && !fm_is_known(first_count(view, kind)) &&
        is_of_place(view->count->heart.count.reason)) {
        set(to, FIRST_FIND_PLACE,
            "find the place where the heart is heard best, then record another "
            "minute.");
    } else if (!fm_is_known(first_count(view, kind))) {
        set(to, FIRST_MEND_SOUND,
            "take another recording: this one cannot be counted.");
    } else if (kind == FM_EVENT_BREATH) {
        set(to, FIRST_BREATHS,
            "watch the chest and count again: one rise and one fall is one "
            "respiration.");
    } else {
        set(to, FIRST_COUNT_AGAIN,
            "listen to it once more with the beats marked, then count another.");
    }
}

void first_next_fill(const check_view *view, first_view *to)
{
    const fm_comparison *const c = view->comparison;
    const double breaths = share_of(view, FM_EVENT_BREATH);
    const bool breaths_worse = breaths > 1.0 && breaths > share_of(view, FM_EVENT_BEAT);
    to->next.start_s = (double)NAN;
    to->next.kind = c == NULL || breaths_worse ? FM_EVENT_BREATH : FM_EVENT_BEAT;
    if (next_of_person(view, to)) {
        return;
    }
    if (first_could_not(view, to->next.kind)) {
        next_of_could_not(view, to);
    } else if (c == NULL && !breaths_worse) {
        set(to, FIRST_COUNT_PULSE, hint_say(view->voice, HINT_CHECK_PULSE));
    } else if (c != NULL && c->no_verdict == FM_NO_VERDICT_REFUSED) {
        to->next.kind = FM_EVENT_BEAT;
        next_of_refused(view, to);
    } else if (c != NULL && (next_of_wrist(view, to) ||
                             (next_of_uneven(view, to) && !breaths_worse))) {
        to->next.kind = FM_EVENT_BEAT;
    } else if (breaths_worse) {
        next_of_breaths(view, to);
    } else if (c->no_verdict == FM_NO_VERDICT_TRUTH) {
        set(to, FIRST_TRUTH_DOUBTED, hint_say(view->voice, HINT_TRUTH_DOUBTED));
    } else if (c->no_verdict != FM_NO_VERDICT_NONE) {
        set(to, FIRST_LONGER,
            "record a longer stretch, and check again with the same seconds.");
    } else {
        next_of_pulse(view, to);
    }
}
