/* What a comparison says of a pulse and of respirations in the same words, but for nouns. */
#include "src/document/whole_range.h"
#include "src/words/breath_text.h"
#include "src/words/check_text_private.h"
#include "src/words/reason_text.h"

#include <math.h>
#include <stdlib.h>

static const struct {
    const char *events;
    const char *fixed;   /* this recording fixes ... */
    const char *doubted; /* ... in doubt */
    hint_kind limit;
} NOUNS[FM_EVENT_KINDS] = {
    [FM_EVENT_BEAT] = {"beats", "the count", "the count of this recording is itself",
                       HINT_TOLERANCE},
    [FM_EVENT_BREATH] = {"respirations", "the respirations",
                         "the respirations of this recording are themselves",
                         HINT_BREATH_TOLERANCE},
};

static const fm_comparison *compared(const check_view *view, fm_event_kind kind)
{
    return kind == FM_EVENT_BEAT ? view->comparison : view->breaths->comparison;
}

static const fm_event_count *counted(const check_view *view, fm_event_kind kind)
{
    return kind == FM_EVENT_BEAT ? &view->count->heart.count
                                 : &view->count->breath.count;
}

const char *compared_reason(const check_view *view,
                            fm_event_kind kind,
                            char out[REASON_TEXT_BYTES])
{
    const fm_event_count *const n = counted(view, kind);
    return kind == FM_EVENT_BEAT ? reason_text_format(n->reason, &n->reason_span, out)
                                 : breath_text_reason(n->reason, out);
}

const char *compared_how(const fm_comparison *c)
{
    switch (c->manual.method) {
    case FM_BREATH_WATCHED:
        return " by watching";
    case FM_BREATH_LISTENED:
        return " by listening";
    case FM_BREATH_NOT_SAID:
    case FM_BREATH_METHOD_COUNT:
    default:
        return "";
    }
}

/* ---- The numbers ---- */

void compared_put_numbers(const check_view *view,
                          fm_event_kind kind,
                          char out[PIECE_WORDS_BYTES])
{
    const fm_comparison *const c = compared(view, kind);
    const char *const how = compared_how(c);
    const char *const doubt = c->doubtful ? ", in doubt" : "";
    const char *const judge = c->against_truth ? "this recording has" : "fullminute";
    const char *const span =
        PIECE_NUMBER_IN_RANGE(c->per_min, c->low_per_min, c->high_per_min);
    if (c->manual.seconds < 60) {
        PIECE_PUT(out,
                  "You %d in %d s%s, %s per minute; %s %d in the same %d s, %s per "
                  "minute%s.",
                  c->manual.entered, c->manual.seconds, how,
                  PIECE_NUMBER(c->manual_per_min), judge, c->counted, c->manual.seconds,
                  span, doubt);
    } else if (fabs(c->per_min - (double)c->counted) > 0.01) {
        PIECE_PUT(out,
                  "You %d%s; %s found %d %s in a minute of which only %.0f s could be "
                  "used, %s per minute%s.",
                  c->manual.entered, how, judge, c->counted, NOUNS[kind].events,
                  counted(view, kind)->usable_s, span, doubt);
    } else {
        PIECE_PUT(out, "You %d%s, %s %s%s%s in the same full minute%s.",
                  c->manual.entered, how, judge, span, c->against_truth ? " " : "",
                  c->against_truth ? NOUNS[kind].events : "", doubt);
    }
}

void compared_put_why_not(const check_view *view,
                          fm_event_kind kind,
                          char out[PIECE_WORDS_BYTES])
{
    const fm_comparison *const c = compared(view, kind);
    PIECE_PUT(out, "You %d in %d s%s; ", c->manual.entered, c->manual.seconds,
              compared_how(c));
    if (c->no_verdict == FM_NO_VERDICT_TOO_SHORT) {
        PIECE_PUT(out,
                  "the recording holds only %.1f s from the start of the window, so "
                  "those seconds cannot be compared.",
                  counted(view, kind)->window.end_s - c->start_s);
    } else if (c->no_verdict == FM_NO_VERDICT_GAP) {
        PIECE_PUT(out,
                  "sound is missing in those seconds, so they cannot be compared.");
    } else {
        PIECE_PUT(
            out, "there is too little sound for a rate, so there is nothing to compare "
                 "with.");
    }
}

void compared_put_could_not(const check_view *view,
                            fm_event_kind kind,
                            char out[PIECE_WORDS_BYTES])
{
    const fm_comparison *const c = compared(view, kind);
    char reason[REASON_TEXT_BYTES];
    PIECE_PUT(out, "You could not count the %s; ", NOUNS[kind].events);
    if (c->could_not == FM_VERDICT_AGREES) {
        PIECE_PUT(out, "nor could fullminute: %s. That is right.",
                  compared_reason(view, kind, reason));
    } else if (c->reference_known) {
        PIECE_PUT(out, "fullminute counted %d in the same %d s%s.", c->counted,
                  c->manual.seconds,
                  c->could_not == FM_VERDICT_TOO_CLOSE ? ", in doubt" : "");
    } else {
        PIECE_PUT(out, "those seconds are not compared.");
    }
}

void compared_put_rate(const fm_comparison *c, char out[PIECE_WORDS_BYTES])
{
    const check_rate rate = check_rate_of(c);
    PIECE_PUT(out, rate.own ? "yours, %s, is" : "%s is", PIECE_NUMBER(rate.per_min));
}

/* ---- The difference ---- */

static void put_difference(const fm_comparison *c,
                           fm_event_kind kind,
                           char out[PIECE_WORDS_BYTES])
{
    const double d = c->difference_per_min;
    if (fabs(d) < 0.05) {
        PIECE_PUT(out, c->at_wrist ? "No difference at the wrist." : "No difference.");
        return;
    }
    PIECE_PUT(out, "You are %s per minute %s", PIECE_NUMBER(fabs(d)),
              d < 0.0 ? "lower" : "higher");
    if (kind == FM_EVENT_BEAT && c->manual.seconds < 60) {
        const int beats = abs(c->manual.entered - c->counted);
        PIECE_PUT(out, ", %s in those %d s",
                  PIECE_COUNTED((size_t)beats, "beat", "beats"), c->manual.seconds);
    }
    PIECE_PUT(out, ".");
}

/* In place of a difference finer than the recording is. */
static bool put_too_close(const fm_comparison *c,
                          fm_event_kind kind,
                          bool set,
                          char out[PIECE_WORDS_BYTES])
{
    const double from = whole_range_low(c->low_per_min);
    const double to = whole_range_high(c->high_per_min);
    const double own = c->manual_per_min;
    if (c->verdict != FM_VERDICT_TOO_CLOSE || !(to > from)) {
        return false;
    }
    PIECE_PUT(out, "%s recording fixes %s to %.0f-%.0f",
              set ? "Too close to call: this" : "This", NOUNS[kind].fixed, from, to);
    if (own >= from && own <= to) {
        PIECE_PUT(out, ", and yours, %s, lies within that", PIECE_NUMBER(own));
    } else {
        const bool lower = own < from;
        PIECE_PUT(out, ", so you are %s to %s per minute %s",
                  PIECE_NUMBER(lower ? from - own : own - to),
                  PIECE_NUMBER(lower ? to - own : own - from),
                  lower ? "lower" : "higher");
    }
    if (set) {
        PIECE_PUT(out, "; your instructor's limit is %s",
                  PIECE_NUMBER(c->tolerance_per_min));
    }
    PIECE_PUT(out, ".");
    return true;
}

/* The instructor's limit passes or not; the example is only a scale to read by. */
static void put_verdict(const check_view *view,
                        fm_event_kind kind,
                        bool set,
                        bool limit_said,
                        char out[PIECE_WORDS_BYTES])
{
    const fm_comparison *const c = compared(view, kind);
    const char *const limit = PIECE_NUMBER(c->tolerance_per_min);
    if (!set) {
        PIECE_PUT(out,
                  " For scale: %s per minute (an example: common practice, no source); "
                  "your instructor sets the limit%s.",
                  limit, hint_say(view->voice, NOUNS[kind].limit));
    } else if (c->verdict == FM_VERDICT_AGREES) {
        PIECE_PUT(out, " Agrees, within your instructor's %s per minute.", limit);
    } else if (c->verdict == FM_VERDICT_DIFFERS) {
        PIECE_PUT(out, " Differs by more than your instructor's %s per minute.", limit);
    } else if (!limit_said) {
        PIECE_PUT(out,
                  " Too close to call: %s in doubt. Your instructor's limit is %s per "
                  "minute.",
                  NOUNS[kind].doubted, limit);
    }
}

void compared_put_difference(const check_view *view,
                             fm_event_kind kind,
                             char out[PIECE_WORDS_BYTES])
{
    const fm_comparison *const c = compared(view, kind);
    const bool set =
        kind == FM_EVENT_BEAT ? view->tolerance_set : view->breaths->tolerance_set;
    const bool too_close = put_too_close(c, kind, set, out);
    if (!too_close) {
        put_difference(c, kind, out);
    }
    put_verdict(view, kind, set, too_close, out);
}

void compared_put_doubt(const check_view *view,
                        fm_event_kind kind,
                        char out[PIECE_WORDS_BYTES])
{
    char reason[REASON_TEXT_BYTES];
    if (compared(view, kind)->doubtful) {
        PIECE_PUT(out, " fullminute doubts its own count: %s.",
                  compared_reason(view, kind, reason));
    }
}
