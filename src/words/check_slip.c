#include "src/words/check_slip.h"

#include "src/base/text.h"

#include <stdio.h>

const char *check_view_taps_end_text(const check_view *view,
                                     char out[CHECK_WORDS_BYTES])
{
    const int seconds = check_view_taps_end(view);
    (void)snprintf(
        out, CHECK_WORDS_BYTES, "No tap after %d s. If you counted %d s, %s.", seconds,
        seconds,
        hint_say(view->voice, seconds == 15 ? HINT_SECONDS_15 : HINT_SECONDS_30));
    return out;
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
            "Yours is close to half: perhaps every other beat was counted. %s",
            check_view_irregular(view) ? "Early beats can be soft; each S1 counts."
                                       : "Each S1 counts, however fast they come.");
        if (c->manual.seconds == 60) {
            text_add(out, CHECK_WORDS_BYTES, " If you counted 30 s, %s.",
                     hint_say(view->voice, HINT_SECONDS_30));
        }
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
                       "%s.",
                       c->manual.entered, hint_say(view->voice, HINT_SECONDS_15));
        break;
    case FM_SLIP_LOST_THREAD:
        if (check_view_taps_end(view) > 0) {
            return check_view_taps_end_text(view, out);
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
