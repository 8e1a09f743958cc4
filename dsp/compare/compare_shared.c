#include "dsp/compare/compare_shared.h"

#include <math.h>

/* How near double or half still looks like it: common practice, no source. */
static const double NEAR_SHARE = 0.10;

static bool spans_touch(
    const fm_span *spans, size_t n, double start_s, double end_s, double longest_ok_s)
{
    for (size_t i = 0; i < n; i++) {
        const bool overlap =
            spans[i].start_s < end_s && spans[i].start_s + spans[i].length_s > start_s;
        if (overlap && spans[i].length_s > longest_ok_s) {
            return true;
        }
    }
    return false;
}

bool fm_seconds_are_hidden(const fm_quality *quality,
                           double start_s,
                           double end_s,
                           double longest_ok_s)
{
    return quality != NULL &&
           (spans_touch(quality->gaps, quality->n_gaps, start_s, end_s, longest_ok_s) ||
            spans_touch(quality->unusable, quality->n_unusable, start_s, end_s,
                        longest_ok_s));
}

bool fm_rate_looks_like(double per_min, double target_per_min)
{
    return fabs(per_min - target_per_min) <=
           NEAR_SHARE * target_per_min + FM_COMPARE_EPSILON;
}

size_t fm_short_counts_of(const double *times_s,
                          size_t n,
                          const fm_window *window,
                          const fm_quality *quality,
                          fm_short_count out[2])
{
    static const int lengths_s[] = {15, 30};
    size_t found = 0;
    for (size_t i = 0; i < sizeof lengths_s / sizeof lengths_s[0]; i++) {
        const fm_short_count c = fm_compare_short_counts(
            times_s, n, window->start_s, window->end_s, lengths_s[i], quality);
        if (c.n_windows > 0) {
            out[found++] = c;
        }
    }
    return found;
}

bool fm_entry_looks_multiplied(int entered,
                               int seconds,
                               const fm_short_count *counts,
                               size_t n)
{
    if (seconds != 60) {
        return false;
    }
    for (size_t i = 0; i < n; i++) {
        if (entered % (60 / counts[i].seconds) == 0 &&
            (double)entered >= counts[i].min_per_min &&
            (double)entered <= counts[i].max_per_min) {
            return true;
        }
    }
    return false;
}
