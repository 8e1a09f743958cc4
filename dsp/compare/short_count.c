#include "dsp/compare/short_count.h"

#include "dsp/compare/slip.h"

#include <math.h>

double fm_median_interval_s(const double *onsets_s, size_t n_onsets)
{
    double sorted[FM_BEATS_MAX] = {0.0};
    size_t n = 0;
    for (size_t i = 1; i < n_onsets && n < FM_BEATS_MAX; i++) {
        const double length = onsets_s[i] - onsets_s[i - 1];
        size_t k = n++;
        for (; k > 0 && sorted[k - 1] > length; k--) {
            sorted[k] = sorted[k - 1];
        }
        sorted[k] = length;
    }
    return n > 0 ? sorted[n / 2] : (double)NAN;
}

static bool spans_hide(
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
           (spans_hide(quality->gaps, quality->n_gaps, start_s, end_s, longest_ok_s) ||
            spans_hide(quality->unusable, quality->n_unusable, start_s, end_s,
                       longest_ok_s));
}

double fm_usual_interval_s(const double *onsets_s, size_t n)
{
    const double interval_s = fm_median_interval_s(onsets_s, n);
    return isfinite(interval_s) ? interval_s : 1.0;
}

fm_short_count fm_compare_short_counts(const double *s1_s,
                                       size_t n_s1,
                                       double start_s,
                                       double end_s,
                                       int seconds,
                                       const fm_quality *quality)
{
    fm_short_count out = {.seconds = seconds,
                          .min_per_min = (double)NAN,
                          .max_per_min = (double)NAN,
                          .mean_per_min = (double)NAN};
    const double length_s = (double)seconds;
    const double interval_s = fm_usual_interval_s(s1_s, n_s1);
    double sum = 0.0;
    for (int k = 0; start_s + (double)k + length_s <= end_s + FM_COMPARE_EPSILON; k++) {
        const double from_s = start_s + (double)k;
        if (fm_seconds_are_hidden(quality, from_s, from_s + length_s, interval_s)) {
            continue;
        }
        const int beats =
            fm_compare_beats_in(s1_s, n_s1, from_s, length_s, FM_CONVENTION_CLOCK);
        const double per_min = (double)beats * 60.0 / length_s;
        out.min_per_min = out.n_windows == 0 ? per_min : fmin(out.min_per_min, per_min);
        out.max_per_min = out.n_windows == 0 ? per_min : fmax(out.max_per_min, per_min);
        sum += per_min;
        out.n_windows++;
    }
    if (out.n_windows > 0) {
        out.mean_per_min = sum / (double)out.n_windows;
    }
    return out;
}
