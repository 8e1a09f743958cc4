#include "src/document/check_view.h"

#include "src/document/whole_range.h"

#include <math.h>

bool check_view_irregular(const check_view *view)
{
    const fm_rhythm *const r = &view->count->rhythm;
    return count_is_irregular(r->pattern) ||
           (view->known_pattern && count_is_irregular(view->pattern)) ||
           (r->pattern == FM_PATTERN_UNDETERMINED && r->n_findings > 0);
}

bool check_view_with_breathing(const check_view *view)
{
    return count_is_with_breathing(view->count) &&
           (!view->known_pattern || view->pattern == FM_PATTERN_REGULARLY_IRREGULAR);
}

check_rate check_rate_of(const fm_comparison *c)
{
    const double first = c->minute_whole && c->manual.convention == FM_CONVENTION_ZERO;
    if (!c->minute_known) {
        const double own = c->manual.seconds == 60 ? c->manual_per_min : (double)NAN;
        return (check_rate){own, own, own, true};
    }
    const double rate = c->minute_per_min + first;
    if (!isfinite(c->minute_low_per_min) || !isfinite(c->minute_high_per_min)) {
        return (check_rate){rate, rate, rate, false};
    }
    return (check_rate){.per_min = rate, /* the rest as it is printed */
                        .low = whole_range_low(c->minute_low_per_min + first),
                        .high = whole_range_high(c->minute_high_per_min + first)};
}

fm_range_place check_rate_place(const fm_comparison *c, const fm_reference_range *range)
{
    const check_rate rate = check_rate_of(c);
    const fm_reference_range *const by = fm_reference_range_judge(range);
    return by == NULL ? FM_RANGE_UNKNOWN
                      : fm_range_place_between(by->low_per_min, by->high_per_min,
                                               rate.low, rate.high);
}

static bool is_outside(const fm_comparison *c, const fm_reference_range *range)
{
    const fm_range_place place = check_rate_place(c, range);
    return place == FM_RANGE_BELOW || place == FM_RANGE_ABOVE;
}

bool check_view_outside(const check_view *view)
{
    return is_outside(view->comparison, view->range);
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

/* ---- Respirations ---- */

fm_who_breathing check_breaths_who(const check_view *view)
{
    const check_rate rate = check_rate_of(view->breaths->comparison);
    const fm_who_breathing least = fm_who_breathing_judge(view->age_months, rate.low);
    const fm_who_breathing most = fm_who_breathing_judge(view->age_months, rate.high);
    return view->age_known && least == most ? least : FM_WHO_NOT_KNOWN;
}

bool check_breaths_outside(const check_view *view)
{
    const check_breaths *const b = view->breaths;
    return b != NULL && (is_outside(b->comparison, b->range) ||
                         check_breaths_who(view) == FM_WHO_FAST);
}
