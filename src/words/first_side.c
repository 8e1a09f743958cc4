/* Both numbers, their difference, and how sure the second one is. */
#include "src/document/whole_range.h"
#include "src/words/breath_text.h"
#include "src/words/first_look_private.h"
#include "src/words/reason_text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct {
    const char *one, *many;
    const char *whole; /* what could not be counted */
    const char *known;
} NOUNS[FM_EVENT_KINDS] = {
    [FM_EVENT_BEAT] = {"beat", "beats", "the pulse", "the known beats"},
    [FM_EVENT_BREATH] = {"respiration", "respirations", "the respirations",
                         "the known respirations"},
};

bool first_is_compared(const check_view *view, fm_event_kind kind)
{
    return kind == FM_EVENT_BEAT ? view->comparison != NULL : view->breaths != NULL;
}

const fm_comparison *first_comparison(const check_view *view, fm_event_kind kind)
{
    return kind == FM_EVENT_BEAT ? view->comparison : view->breaths->comparison;
}

const fm_event_count *first_count(const check_view *view, fm_event_kind kind)
{
    return kind == FM_EVENT_BEAT ? &view->count->heart.count
                                 : &view->count->breath.count;
}

bool first_could_not(const check_view *view, fm_event_kind kind)
{
    return kind == FM_EVENT_BEAT ? view->could_not
                                 : view->breaths != NULL && view->breaths->could_not;
}

static bool is_wide(double low, double high)
{
    return high - low > 2.0 * BREATH_NUMBER_HALF_WIDTH;
}

bool first_is_wide(const check_view *view, fm_event_kind kind)
{
    const fm_comparison *const c = first_comparison(view, kind);
    return kind == FM_EVENT_BREATH && !c->against_truth &&
           (c->reference_known
                ? is_wide(c->low_per_min, c->high_per_min)
                : is_wide(c->minute_low_per_min, c->minute_high_per_min));
}

/* ---- The numbers ---- */

/* "Beats in 30 s: you 36 at the wrist" */
static void put_yours(const fm_comparison *c, fm_event_kind kind, char *out)
{
    const fm_manual *const m = &c->manual;
    PIECE_PUT(out, kind == FM_EVENT_BEAT ? "Beats in " : "Respirations in ");
    if (m->seconds < 60) {
        PIECE_PUT(out, "%d s: you %d", m->seconds, m->entered);
    } else {
        PIECE_PUT(out, "the full minute: you %d", m->entered);
    }
    if (kind == FM_EVENT_BEAT && m->site == FM_SITE_RADIAL) {
        PIECE_PUT(out, " at the wrist");
    }
    if (m->method == FM_BREATH_WATCHED || m->method == FM_BREATH_LISTENED) {
        PIECE_PUT(out, " by %s",
                  m->method == FM_BREATH_WATCHED ? "watching" : "listening");
    }
}

static void put_second(const check_view *view, fm_event_kind kind, char *out)
{
    const fm_comparison *const c = first_comparison(view, kind);
    const char *const judge = c->against_truth ? "known" : "fullminute";
    const char *const doubt = c->doubtful ? ", in doubt" : "";
    const char *const span =
        PIECE_NUMBER_IN_RANGE(c->per_min, c->low_per_min, c->high_per_min);
    if (first_is_wide(view, kind)) {
        PIECE_PUT(
            out,
            "; fullminute heard between %.0f and %.0f per minute, too uncertain for "
            "one number",
            whole_range_low(c->low_per_min), whole_range_high(c->high_per_min));
    } else if (c->manual.seconds < 60) {
        PIECE_PUT(out, ", %s %d%s; per minute %s and %s", judge, c->counted, doubt,
                  PIECE_NUMBER(c->manual_per_min), span);
    } else if (fabs(c->per_min - (double)c->counted) > 0.01) {
        PIECE_PUT(out, ", %s %d in the %.0f s that could be used, %s per minute%s",
                  judge, c->counted, first_count(view, kind)->usable_s, span, doubt);
    } else {
        PIECE_PUT(out, ", %s %s%s", judge, span, doubt);
    }
}

static void put_numbers(const check_view *view, fm_event_kind kind, char *out)
{
    const fm_comparison *const c = first_comparison(view, kind);
    put_yours(c, kind, out);
    if (c->at_wrist) {
        PIECE_PUT(out, "; of the %d beats at the apex %s%d %s the wrist", c->apex_beats,
                  c->counted == c->apex_beats ? "all " : "", c->counted,
                  c->counted == 1 ? "reaches" : "reach");
    } else if (c->reference_known) {
        put_second(view, kind, out);
    } else if (c->manual.seconds < 60) {
        PIECE_PUT(out, ", %s per minute", PIECE_NUMBER(c->manual_per_min));
    }
    PIECE_PUT(out, ".");
}

/* ---- The difference ---- */

/* In place of a difference finer than the recording is. */
static bool put_between(const fm_comparison *c, char *out)
{
    const double from = whole_range_low(c->low_per_min);
    const double to = whole_range_high(c->high_per_min);
    const double own = c->manual_per_min;
    if (c->verdict != FM_VERDICT_TOO_CLOSE || !(to > from)) {
        return false;
    }
    PIECE_PUT(out,
              "This recording can only tell %.0f to %.0f per minute: yours, "
              "%s, ",
              from, to, PIECE_NUMBER(own));
    if (own >= from && own <= to) {
        PIECE_PUT(out, "lies between them.");
    } else {
        const bool lower = own < from;
        PIECE_PUT(out, "is %s to %s %s.", PIECE_NUMBER(lower ? from - own : own - to),
                  PIECE_NUMBER(lower ? to - own : own - from),
                  lower ? "fewer" : "more");
    }
    return true;
}

static void put_off(const fm_comparison *c, fm_event_kind kind, char *out)
{
    const double d = c->difference_per_min;
    char judge[PIECE_RANGE_BYTES];
    (void)snprintf(judge, sizeof judge, "%s%s",
                   c->against_truth ? NOUNS[kind].known : "fullminute's count",
                   c->at_wrist ? " at the wrist" : "");
    if (fabs(d) < 0.05) {
        PIECE_PUT(out, "No difference from %s", judge);
        if (c->manual.seconds < 60) {
            PIECE_PUT(out, " in those %d s", c->manual.seconds);
        }
        PIECE_PUT(out, ".");
        return;
    }
    PIECE_PUT(out, "%s per minute %s than %s", PIECE_NUMBER(fabs(d)),
              d < 0.0 ? "fewer" : "more", judge);
    if (c->manual.seconds < 60) {
        const int n = abs(c->manual.entered - c->counted);
        PIECE_PUT(out, ", %s in those %d s",
                  PIECE_COUNTED((size_t)n, NOUNS[kind].one, NOUNS[kind].many),
                  c->manual.seconds);
    }
    PIECE_PUT(out, ".");
}

/* The instructor's limit passes or not; the example is only a scale to read by. */
static void put_limit(const fm_comparison *c, bool set, char *out)
{
    const char *const limit = PIECE_NUMBER(c->tolerance_per_min);
    const char *const whose = set ? "your instructor's limit" : "the example limit";
    switch (c->verdict) {
    case FM_VERDICT_AGREES:
        PIECE_PUT(out, " %s %s, %s per minute.", set ? "Agrees: within" : "Within",
                  whose, limit);
        break;
    case FM_VERDICT_DIFFERS:
        PIECE_PUT(out, " %s %s, %s per minute.",
                  set ? "Differs: more than" : "More than", whose, limit);
        break;
    case FM_VERDICT_TOO_CLOSE:
        PIECE_PUT(out, " Too close to call: %s is %s per minute.", whose, limit);
        break;
    case FM_VERDICT_NOT_COMPARABLE:
    case FM_VERDICT_COUNT:
    default:
        break;
    }
}

static void put_not_compared(const check_view *view, fm_event_kind kind, char *out)
{
    const fm_comparison *const c = first_comparison(view, kind);
    switch (c->no_verdict) {
    case FM_NO_VERDICT_REFUSED:
        PIECE_PUT(
            out,
            "Not compared: fullminute could not count %s, which does not mean that "
            "all is well. Your %d stands alone: count again by hand for a full "
            "minute.",
            NOUNS[kind].whole, c->manual.entered);
        return;
    case FM_NO_VERDICT_TOO_SHORT:
        PIECE_PUT(out, "Not compared: only %.0f s were recorded from the start on.",
                  first_count(view, kind)->window.end_s - c->start_s);
        break;
    case FM_NO_VERDICT_GAP:
        PIECE_PUT(out, "Not compared: sound is missing in those seconds.");
        break;
    case FM_NO_VERDICT_TRUTH:
        PIECE_PUT(
            out,
            "Not compared: the truth beside this recording names beats that are far "
            "from what fullminute surely counts. Is it this recording's?");
        break;
    case FM_NO_VERDICT_NO_RATE:
    case FM_NO_VERDICT_NONE:
    case FM_NO_VERDICT_WRIST:
    case FM_NO_VERDICT_COUNT:
    default:
        PIECE_PUT(out, "Not compared: there is too little sound for a rate.");
        break;
    }
    if (c->minute_known) {
        PIECE_PUT(out, " fullminute gives %s per minute%s.",
                  first_is_wide(view, kind)
                      ? PIECE_RANGE(c->minute_low_per_min, c->minute_high_per_min)
                      : PIECE_NUMBER(c->minute_per_min),
                  c->no_verdict == FM_NO_VERDICT_TRUTH ? "" : " for what there is");
    }
}

/* 'I could not count this' is an answer: right where the recording cannot be counted. */
static void put_could_not(const check_view *view, fm_event_kind kind, char *out)
{
    const fm_comparison *const c = first_comparison(view, kind);
    PIECE_PUT(out, "You could not count %s", NOUNS[kind].whole);
    if (first_count(view, kind)->status == FM_REFUSED) {
        PIECE_PUT(out, ", and neither can fullminute: right.%s",
                  c->against_truth ? "" : " It does not mean that all is well.");
    } else if (c->against_truth) {
        PIECE_PUT(out, "; this recording has %s per minute.",
                  PIECE_NUMBER(c->minute_per_min));
    } else {
        PIECE_PUT(out, "; fullminute counts %s per minute%s.",
                  PIECE_NUMBER_IN_RANGE(c->minute_per_min, c->minute_low_per_min,
                                        c->minute_high_per_min),
                  c->doubtful ? ", in doubt" : "");
    }
}

static void put_difference(const check_view *view, fm_event_kind kind, char *out)
{
    const fm_comparison *const c = first_comparison(view, kind);
    if (first_could_not(view, kind)) {
        put_could_not(view, kind, out);
    } else if (!c->reference_known) {
        put_not_compared(view, kind, out);
    } else if (c->no_verdict == FM_NO_VERDICT_WRIST) {
        PIECE_PUT(out, "The sound at the apex cannot judge a count at the wrist.");
    } else {
        if (!put_between(c, out)) {
            put_off(c, kind, out);
        }
        put_limit(c,
                  kind == FM_EVENT_BEAT ? view->tolerance_set
                                        : view->breaths->tolerance_set,
                  out);
    }
}

/* ---- How sure ---- */

/* "Friction or loud breathing from 22 s to 31 s. Hold the chest piece still": a sentence
 * that says what and why with a colon becomes two. */
static void put_reason(const check_view *view, fm_event_kind kind, char *out)
{
    const fm_event_count *const n = first_count(view, kind);
    char reason[REASON_TEXT_BYTES];
    (void)(kind == FM_EVENT_BEAT
               ? reason_text_format(n->reason, &n->reason_span, reason)
               : breath_text_reason(n->reason, reason));
    char *const advice = strstr(reason, ": ");
    if (advice == NULL) {
        PIECE_PUT(out, "%s.", reason[0] != '\0' ? reason : "the sound is too poor");
        return;
    }
    *advice = '\0';
    piece_capital(advice + 2);
    PIECE_PUT(out, "%s. %s.", reason, advice + 2);
}

static void put_own_count(const check_view *view, fm_event_kind kind, char *out)
{
    const fm_event_count *const n = first_count(view, kind);
    const double rate = n->rate_per_min;
    if (n->status == FM_REFUSED || isnan(rate)) {
        PIECE_PUT(out, "fullminute itself could not count them.");
    } else if (kind == FM_EVENT_BREATH &&
               is_wide(n->rate_low_per_min, n->rate_high_per_min)) {
        PIECE_PUT(out, "fullminute's own count is between %.0f and %.0f per minute.",
                  whole_range_low(n->rate_low_per_min),
                  whole_range_high(n->rate_high_per_min));
    } else {
        PIECE_PUT(out, "fullminute's own count is %s per minute%s.",
                  PIECE_NUMBER(kind == FM_EVENT_BEAT
                                   ? count_source_rate(view->source, view->count, rate)
                                   : rate),
                  n->status == FM_CAUTION ? ", in doubt" : "");
    }
}

/* What the chest piece did not hear, and that nobody counted through it either. */
static void put_not_heard(const check_view *view, char *out)
{
    const fm_quality *const q = &view->count->heart.count.quality;
    char gap[REASON_TEXT_BYTES];
    bool any = false;
    for (size_t i = 0; i < q->n_gaps; i++) {
        if (q->gaps[i].reason == FM_REASON_CONTACT_LOST) {
            reason_text_gap(&q->gaps[i], gap);
            piece_capital(gap);
            PIECE_PUT(out, " %s", gap);
            any = true;
        }
    }
    if (any && view->comparison->manual.site != FM_SITE_RADIAL) {
        PIECE_PUT(out, " Your own count through that chest piece was no full minute "
                       "either.");
    }
}

/* A rate of a part of the minute is sure of that part only. */
static void put_counted(const fm_event_count *n, fm_event_kind kind, char *out)
{
    const double length_s = n->window.end_s - n->window.start_s;
    if (n->window.full_minute || !(n->usable_s < length_s - 0.5)) {
        PIECE_PUT(out, "Sure: fullminute found nothing to doubt in its count of %s.",
                  NOUNS[kind].many);
    } else {
        PIECE_PUT(out,
                  "Sure of the %s in the %.0f s that could be used, not of the rest.",
                  NOUNS[kind].many, n->usable_s);
    }
}

static void put_sure(const check_view *view, fm_event_kind kind, char *out)
{
    const fm_comparison *const c = first_comparison(view, kind);
    const fm_event_count *const n = first_count(view, kind);
    if (c->against_truth && (c->reference_known || c->minute_known)) {
        PIECE_PUT(out, "Sure: the %s are known; ", NOUNS[kind].many);
        put_own_count(view, kind, out);
        if (kind == FM_EVENT_BEAT && view->n_inaudible > 0) {
            PIECE_PUT(out, " Of the known beats, %s be heard.",
                      PIECE_COUNTED(view->n_inaudible, "cannot", "cannot"));
        }
    } else if (n->status == FM_COUNTED) {
        put_counted(n, kind, out);
    } else {
        PIECE_PUT(out, n->status == FM_CAUTION ? "fullminute is in doubt: "
                                               : "Not counted: ");
        put_reason(view, kind, out);
    }
    if (kind == FM_EVENT_BEAT) {
        put_not_heard(view, out);
    }
}

/* ---- A side ---- */

static void fill_numbers(const check_view *view, first_side *s)
{
    const fm_comparison *const c = first_comparison(view, s->kind);
    const bool same = c->reference_known && !s->could_not;
    const bool minute = c->minute_known && c->no_verdict != FM_NO_VERDICT_TRUTH;
    const double none = (double)NAN;
    s->second_per_min = same ? c->per_min : minute ? c->minute_per_min : none;
    s->low_per_min = same ? c->low_per_min : minute ? c->minute_low_per_min : none;
    s->high_per_min = same ? c->high_per_min : minute ? c->minute_high_per_min : none;
    if (isnan(s->second_per_min)) {
        (void)snprintf(s->second_text, sizeof s->second_text, "no count");
    } else if (first_is_wide(view, s->kind)) {
        (void)snprintf(s->second_text, sizeof s->second_text, "between %.0f and %.0f",
                       whole_range_low(s->low_per_min),
                       whole_range_high(s->high_per_min));
        s->second_per_min = none;
    } else {
        piece_number(s->second_per_min, s->second_text);
    }
}

void first_side_fill(const check_view *view, first_side *s)
{
    const fm_comparison *const c = first_comparison(view, s->kind);
    s->could_not = first_could_not(view, s->kind);
    s->entered = s->could_not ? 0 : c->manual.entered;
    s->seconds = c->manual.seconds;
    s->you_per_min = s->could_not ? (double)NAN : c->manual_per_min;
    s->by_truth = c->against_truth;
    fill_numbers(view, s);
    if (!s->could_not) {
        put_numbers(view, s->kind, s->numbers);
    }
    put_difference(view, s->kind, s->difference);
    put_sure(view, s->kind, s->sure);
    first_range_put(view, s->kind, s->range);
    first_word_fill(view, s->kind, &s->word);
}
