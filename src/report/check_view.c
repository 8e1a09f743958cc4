#include "src/report/check_view.h"

#include <stdio.h>

static bool uneven(fm_pattern pattern)
{
    return pattern == FM_PATTERN_OCCASIONALLY_IRREGULAR ||
           pattern == FM_PATTERN_REGULARLY_IRREGULAR ||
           pattern == FM_PATTERN_IRREGULARLY_IRREGULAR;
}

bool check_view_irregular(const check_view *view)
{
    const fm_rhythm *const r = &view->count->rhythm;
    return uneven(r->pattern) || (view->known_pattern && uneven(view->pattern)) ||
           (r->pattern == FM_PATTERN_UNDETERMINED && r->n_findings > 0);
}

fm_range_place check_view_place(const check_view *view)
{
    return fm_reference_range_place(view->range, view->comparison->minute_per_min);
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

const char *check_view_slip_text(const check_view *view, char out[CHECK_WORDS_BYTES])
{
    const fm_comparison *c = view->comparison;
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
        break;
    case FM_SLIP_SHORT_COUNT:
        short_count_words(c, out);
        break;
    case FM_SLIP_LOST_THREAD:
        (void)snprintf(out, CHECK_WORDS_BYTES,
                       "The thread was lost at %.0f s: from there your taps and the "
                       "beats no longer went together.",
                       view->taps->lost_from_s);
        break;
    case FM_SLIP_NONE:
    case FM_SLIP_COUNT:
        break;
    }
    return out;
}
