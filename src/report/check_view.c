#include "src/report/check_view.h"

#include "src/report/whole_range.h"
#include "src/words/event_text.h"

#include <math.h>
#include <stdio.h>

bool check_view_irregular(const check_view *view)
{
    const fm_rhythm *const r = &view->count->rhythm;
    return event_text_is_irregular(r->pattern) ||
           (view->known_pattern && event_text_is_irregular(view->pattern)) ||
           (r->pattern == FM_PATTERN_UNDETERMINED && r->n_findings > 0);
}

bool check_view_with_breathing(const check_view *view)
{
    return event_text_is_with_breathing(view->count) &&
           (!view->known_pattern || view->pattern == FM_PATTERN_REGULARLY_IRREGULAR);
}

check_rate check_view_rate(const check_view *view)
{
    const fm_comparison *const c = view->comparison;
    const double first = c->minute_whole && c->manual.convention == FM_CONVENTION_ZERO;
    if (!c->minute_known) {
        const double own = c->manual.seconds == 60 ? c->manual_per_min : (double)NAN;
        return (check_rate){own, own, own, true};
    }
    check_rate rate = {.per_min = c->minute_per_min + first,
                       .low = c->minute_low_per_min + first,
                       .high = c->minute_high_per_min + first};
    if (!isfinite(rate.low) || !isfinite(rate.high)) {
        rate.low = rate.high = rate.per_min;
    }
    rate.low = whole_range_low(rate.low); /* as it is printed */
    rate.high = whole_range_high(rate.high);
    return rate;
}

fm_range_place check_view_place(const check_view *view)
{
    const check_rate rate = check_view_rate(view);
    const fm_reference_range *const by = fm_reference_range_judge(view->range);
    return by == NULL ? FM_RANGE_UNKNOWN
                      : fm_range_place_between(by->low_per_min, by->high_per_min,
                                               rate.low, rate.high);
}

bool check_view_outside(const check_view *view)
{
    const fm_range_place place = check_view_place(view);
    return place == FM_RANGE_BELOW || place == FM_RANGE_ABOVE;
}

/* From a second and a half before the end to one after it: common practice, no source. */
int check_view_taps_end(const check_view *view)
{
    static const int lengths_s[] = {15, 30};
    const fm_taps *const t = view->taps;
    const fm_comparison *const c = view->comparison;
    if (t == NULL || c->manual.seconds != 60 || t->n_matched + t->n_extra == 0) {
        return 0;
    }
    double last_s = t->n_matched > 0 ? t->matched[t->n_matched - 1].tap_s : c->start_s;
    if (t->n_extra > 0) {
        last_s = fmax(last_s, t->extra_s[t->n_extra - 1]);
    }
    for (size_t i = 0; i < sizeof lengths_s / sizeof lengths_s[0]; i++) {
        const double past_s = last_s - c->start_s - (double)lengths_s[i];
        if (past_s > -1.5 && past_s < 1.0) {
            return lengths_s[i];
        }
    }
    return 0;
}

static void taps_end_words(int seconds, char out[CHECK_WORDS_BYTES])
{
    (void)snprintf(out, CHECK_WORDS_BYTES,
                   "No tap after %d s. If you counted %d s, say --seconds %d.", seconds,
                   seconds, seconds);
}

static void short_count_words(const fm_comparison *c, char out[CHECK_WORDS_BYTES])
{
    for (size_t i = 0; i < c->n_short; i++) {
        const fm_short_count *w = &c->short_counts[i];
        if (c->manual.entered % (60 / w->seconds) == 0 &&
            c->manual_per_min >= w->min_per_min &&
            c->manual_per_min <= w->max_per_min) {
            (void)snprintf(out, CHECK_WORDS_BYTES,
                           "This could be a short count multiplied: %d is %d in %d s, "
                           "and %d s windows of this recording give %.0f to %.0f.",
                           c->manual.entered, c->manual.entered / (60 / w->seconds),
                           w->seconds, w->seconds, w->min_per_min, w->max_per_min);
            return;
        }
    }
}

const char *check_view_slip_text(const check_view *view,
                                 const fm_comparison *c,
                                 char out[CHECK_WORDS_BYTES])
{
    out[0] = '\0';
    switch (c->slip) {
    case FM_SLIP_BOTH_SOUNDS:
        (void)snprintf(out, CHECK_WORDS_BYTES,
                       "Yours is close to double: perhaps both sounds were counted. S1 "
                       "and S2 together ('lub-dub') are one beat.");
        break;
    case FM_SLIP_EVERY_OTHER:
        (void)snprintf(
            out, CHECK_WORDS_BYTES,
            "Yours is close to half: perhaps every other beat was counted. %s%s",
            check_view_irregular(view) ? "Early beats can be soft; each S1 counts."
                                       : "Each S1 counts, however fast they come.",
            c->manual.seconds == 60 ? " If you counted 30 s, say --seconds 30." : "");
        break;
    case FM_SLIP_BOTH_PHASES:
        (void)snprintf(out, CHECK_WORDS_BYTES,
                       "Yours is close to double: perhaps inspiration and expiration "
                       "were counted as two. One rise and one fall of the chest is one "
                       "respiration.");
        break;
    case FM_SLIP_EVERY_OTHER_BREATH:
        (void)snprintf(
            out, CHECK_WORDS_BYTES,
            "Yours is close to half: perhaps every other breath was counted. "
            "Shallow breaths count too.");
        break;
    case FM_SLIP_SHORT_COUNT:
        short_count_words(c, out);
        break;
    case FM_SLIP_MULTIPLIED:
        (void)snprintf(
            out, CHECK_WORDS_BYTES,
            "%d is %d x %d: did you multiply already? Enter what you counted "
            "in the %d s.",
            c->manual.entered, c->manual.entered * c->manual.seconds / 60,
            60 / c->manual.seconds, c->manual.seconds);
        break;
    case FM_SLIP_SECONDS:
        (void)snprintf(out, CHECK_WORDS_BYTES,
                       "%d is what 15 s of this recording give: if you counted 15 s, "
                       "say --seconds 15.",
                       c->manual.entered);
        break;
    case FM_SLIP_LOST_THREAD:
        if (check_view_taps_end(view) > 0) {
            taps_end_words(check_view_taps_end(view), out);
            break;
        }
        (void)snprintf(
            out, CHECK_WORDS_BYTES,
            "You lost count at %.0f s: from there your taps and the beats no "
            "longer match.",
            view->taps->lost_from_s);
        break;
    case FM_SLIP_NONE:
    case FM_SLIP_COUNT:
        break;
    }
    return out;
}
