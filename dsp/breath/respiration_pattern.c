#include "dsp/breath/respiration_pattern.h"

#include "dsp/breath/respiration_pause.h"
#include "dsp/heart/unusable.h"
#include "dsp/signal/peaks.h"

#include <math.h>
#include <string.h>

enum {
    FIRST_BAND = 2, /* 148 Hz: above most of the heart */
    REACH = 2,      /* levels either side of a running mean: half a second */
    BREATHS_MIN = 6 /* under so many breaths nothing is said of their evenness */
};

/* What names no figure or source here is ours. */

/* Quantiles of the level that stand for the rest between breaths and for breath. */
static const double REST = 0.1;
static const double LOUD = 0.85;
/* Breath must stand out of the rest by this much, natural log of power (3 dB). */
static const double DEPTH_MIN = 0.7;
/* Quiet is within this share of that height over the rest. */
static const double QUIET_SHARE = 0.5;
/* Or it is steady: it ranges over this share of the height, below this share of it. */
static const double STEADY_RANGE = 0.3;
static const double STEADY_SHARE = 0.85;
/* This far under the rest of the other breaths it was not heard (natural log; 5.6 dB). Lost contact
 * lies 1.2 and more under it in all but 1 of 160 real minutes, a held breath in 6 of 160. */
static const double NOT_HEARD = 1.3;
/* An even breath's own rest is no pause, however slow: a pause is so many times as long as
 * the median breath. */
static const double BREATHS_LONG = 1.25;
/* Spread of the breaths' lengths as a share of their mean from which they are uneven:
 * composed breathing is called even up to 0.15. */
static const double UNEVEN_CV = 0.22;
/* How far a swell rises and falls, natural log of power (8 dB): at 5 dB breaths of random
 * depth made two swells in 5 of 32 composed minutes, at 8 dB in 1. How many make one say so. */
static const double SWELL = 1.8;
static const int SWELLS_MIN = 2;
/* Breaths of a swell that are louder than its beginning and end. */
static const size_t SWELL_BREATHS_MIN = 3;
/* A step of a rise or a fall lies this far from both its ends, as a share of it. */
static const double STEP_SHARE = 0.12;
/* An inspiration takes 40 % of a breath (dsp/compose/compose_breathing.c): by then it was loud. */
static const double HEARD_SHARE = 0.5;

/* Loudness of the breath bands, half a second smoothed. */
static size_t make_loudness(const fm_breath_series *s, float *out)
{
    float raw[FM_BREATH_LEVELS_MAX];
    const size_t n = s->n_levels;
    for (size_t i = 0; i < n; i++) {
        raw[i] = 0.0f;
        for (size_t b = FIRST_BAND; b < FM_BREATH_BANDS; b++) {
            raw[i] += s->level[b][i] / (FM_BREATH_BANDS - FIRST_BAND);
        }
    }
    for (size_t i = 0; i < n; i++) {
        const size_t first = i > REACH ? i - REACH : 0;
        const size_t last = i + REACH < n ? i + REACH : n - 1;
        out[i] = 0.0f;
        for (size_t k = first; k <= last; k++) {
            out[i] += raw[k] / (float)(last - first + 1);
        }
    }
    return n;
}

static double quantile_of(const float *x, size_t n, double q)
{
    float sorted[FM_BREATH_LEVELS_MAX];
    memcpy(sorted, x, n * sizeof(*x));
    return n > 0 ? (double)fm_quantile(sorted, n, q) : 0.0;
}

/* Rest of what lies outside a stretch. */
static double rest_elsewhere(const float *x, size_t n, size_t first, size_t end)
{
    float other[FM_BREATH_LEVELS_MAX];
    const size_t m = n - (end - first);
    memcpy(other, x, first * sizeof(*x));
    memcpy(other + first, x + end, (n - end) * sizeof(*x));
    return quantile_of(other, m, REST);
}

static double median_breath_s(const fm_breath *r)
{
    float length[FM_BREATHS_MAX];
    for (size_t i = 1; i < r->count.n; i++) {
        length[i - 1] = (float)(r->count.onsets_s[i] - r->count.onsets_s[i - 1]);
    }
    return r->count.n > 2 ? (double)fm_quantile(length, r->count.n - 1, 0.5) : 0.0;
}

/* Is the stretch heard, with breathing before and behind it? What joins it and is as quiet
 * is left out of the rest that it is held against. */
static bool is_pause(const float *x, size_t n, size_t first, size_t end, float quiet)
{
    if (first == 0 || end == n) {
        return false;
    }
    const double inside = quantile_of(x + first, end - first, 0.5);
    while (first > 0 && x[first - 1] < quiet) {
        first--;
    }
    while (end < n && x[end] < quiet) {
        end++;
    }
    return inside > rest_elsewhere(x, n, first, end) - NOT_HEARD;
}

/* Where a stretch from `first` ends in which no breath is heard: it stays quiet, or it is
 * steady and no louder than breath. */
static size_t end_of_quiet(
    const float *x, size_t n, size_t first, double rest, double depth)
{
    const float quiet = (float)(rest + QUIET_SHARE * depth);
    const float loud = (float)(rest + STEADY_SHARE * depth);
    const float range = (float)(STEADY_RANGE * depth);
    float low = x[first];
    float high = x[first];
    size_t i = first;
    for (; i < n; i++) {
        low = fminf(low, x[i]);
        high = fmaxf(high, x[i]);
        if (high >= quiet && (high >= loud || high - low > range)) {
            break;
        }
    }
    return i;
}

static void find_pauses(
    const float *x, size_t n, double start_s, const fm_quality *q, fm_breath *r)
{
    const double rest = quantile_of(x, n, REST);
    const double depth = quantile_of(x, n, LOUD) - rest;
    if (depth < DEPTH_MIN) {
        return;
    }
    const float quiet = (float)(rest + QUIET_SHARE * depth);
    const double from_s = fmax(FM_BREATH_PAUSE_S, BREATHS_LONG * median_breath_s(r));
    for (size_t first = 0; first < n; first++) {
        const size_t end = end_of_quiet(x, n, first, rest, depth);
        const double begin_s = start_s + (double)first / FM_BREATH_LEVEL_HZ;
        const double end_s = start_s + (double)end / FM_BREATH_LEVEL_HZ;
        if (end_s - begin_s >= from_s && is_pause(x, n, first, end, quiet) &&
            begin_s >= r->count.window.start_s && end_s <= r->count.window.end_s &&
            !fm_spans_touch(q->gaps, q->n_gaps, begin_s, end_s) &&
            r->n_pauses < FM_BREATH_PAUSES_MAX) {
            r->pauses[r->n_pauses++] = (fm_breath_pause){begin_s, end_s};
            first = end;
        }
    }
}

/* Spread of the breaths' lengths as a share of their mean. */
static double spread(const fm_breath *r)
{
    double sum = 0.0;
    double square = 0.0;
    const double count = (double)(r->count.n - 1);
    for (size_t i = 1; i < r->count.n; i++) {
        const double length_s = r->count.onsets_s[i] - r->count.onsets_s[i - 1];
        sum += length_s;
        square += length_s * length_s;
    }
    const double mean = sum / count;
    return sqrt(fmax(0.0, square / count - mean * mean)) / mean;
}

/* The loudest level from each breath's start to the next one's, of the last to the window's
 * end; it is left out where the window cuts it before it can be loud. Returns how many. */
static size_t breath_loudness(
    const float *x, size_t n, double start_s, const fm_breath *r, double *out)
{
    for (size_t i = 0; i < r->count.n; i++) {
        const double end_s =
            i + 1 < r->count.n ? r->count.onsets_s[i + 1] : r->count.window.end_s;
        const double from = (r->count.onsets_s[i] - start_s) * FM_BREATH_LEVEL_HZ;
        const double to = (end_s - start_s) * FM_BREATH_LEVEL_HZ;
        out[i] = -100.0;
        for (double k = fmax(0.0, from); k < fmin((double)n, to); k += 1.0) {
            out[i] = fmax(out[i], (double)x[(size_t)k]);
        }
    }
    const double left_s =
        r->count.n > 0 ? r->count.window.end_s - r->count.onsets_s[r->count.n - 1]
                       : 0.0;
    return r->count.n - (r->count.n > 0 && left_s < HEARD_SHARE * median_breath_s(r));
}

/* Each breath's loudness as the middle one of itself and its neighbours: one soft or loud
 * breath is no turning point of a swell. */
static void calm(double *loudness, size_t n)
{
    double before = n > 0 ? loudness[0] : 0.0;
    for (size_t i = 1; i + 1 < n; i++) {
        const double here = loudness[i];
        const double behind = loudness[i + 1];
        loudness[i] = fmax(fmin(before, behind), fmin(here, fmax(before, behind)));
        before = here;
    }
}

/* Is there a step between two breaths, the soft and the loud end of a rise or a fall? One that
 * is made at once is no swell's: friction, a cough, a breath among others. */
static bool has_step(const double *loudness, size_t first, size_t last)
{
    const double soft = fmin(loudness[first], loudness[last]);
    const double apart = fabs(loudness[last] - loudness[first]);
    for (size_t i = first + 1; i < last; i++) {
        const double share = (loudness[i] - soft) / apart;
        if (share > STEP_SHARE && share < 1.0 - STEP_SHARE) {
            return true;
        }
    }
    return false;
}

/* Does it rise and fall step by step, and stay loud for some breaths? A sigh does not. */
static bool is_swell(const double *loudness, size_t first, size_t high, size_t last)
{
    size_t loud = 0;
    for (size_t i = first; i <= last; i++) {
        loud += loudness[i] > loudness[high] - SWELL;
    }
    return loud >= SWELL_BREATHS_MIN && has_step(loudness, first, high) &&
           has_step(loudness, high, last);
}

/* Whole swells of the breaths' loudness: each rises by SWELL and falls by it again, so one
 * that the window cuts is none. */
static int count_swells(const double *loudness, size_t n)
{
    size_t low = 0;  /* the softest breath since the last swell, .. */
    size_t high = 0; /* .. the loudest since then */
    int swells = 0;
    for (size_t i = 1; i < n; i++) {
        if (high == low && loudness[i] < loudness[low]) {
            low = high = i;
        } else if (loudness[i] > loudness[high] &&
                   (high > low || loudness[i] > loudness[low] + SWELL)) {
            high = i;
        } else if (high > low && loudness[i] < loudness[high] - SWELL) {
            while (i + 1 < n && loudness[i + 1] <= loudness[i]) {
                i++; /* as far down as it goes */
            }
            swells += is_swell(loudness, low, high, i);
            low = high = i;
        }
    }
    return swells;
}

static bool has_swells(const float *x, size_t n, double start_s, const fm_breath *r)
{
    double loudness[FM_BREATHS_MAX];
    const size_t breaths = breath_loudness(x, n, start_s, r, loudness);
    calm(loudness, breaths);
    return count_swells(loudness, breaths) >= SWELLS_MIN;
}

void fm_respiration_pattern_find(const fm_breath_series *series,
                                 double start_s,
                                 const fm_quality *q,
                                 fm_breath *r)
{
    float x[FM_BREATH_LEVELS_MAX];
    r->n_pauses = 0;
    r->pattern = FM_BREATH_PATTERN_UNDETERMINED;
    if (r->count.status == FM_REFUSED && r->count.reason != FM_REASON_RATE_AMBIGUOUS) {
        return;
    }
    const size_t n = make_loudness(series, x);
    find_pauses(x, n, start_s, q, r);
    const bool told =
        r->count.status != FM_REFUSED && r->count.n >= BREATHS_MIN && q->n_gaps == 0;
    if (told && has_swells(x, n, start_s, r)) {
        r->pattern =
            FM_BREATH_PATTERN_WAXING; /* its pauses are findings all the same */
    } else if (r->n_pauses > 0) {
        r->pattern = FM_BREATH_PATTERN_WITH_PAUSES;
    } else if (told) {
        r->pattern =
            spread(r) >= UNEVEN_CV ? FM_BREATH_PATTERN_UNEVEN : FM_BREATH_PATTERN_EVEN;
    }
}
