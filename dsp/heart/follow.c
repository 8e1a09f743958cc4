#include "dsp/heart/follow.h"

#include "dsp/signal/peaks.h"

#include <math.h>
#include <string.h>

enum {
    MEDIAN_REACH = 4 /* intervals either side for the local cycle */
};

/* |ln ratio| to the running median beyond which an interval is out of step: 20 % early
 * or more (HRT filter rule, librasch.org/hrt). */
static const double OUT_OF_STEP = 0.22;
/* |ln ratio| within which an interval goes with its neighbours on one side: 90 % of those of
 * adults and 85 % of those of children are so near (tests/accuracy/train/intervals.py). */
static const float WITH_NEIGHBOURS = 0.1f;
/* What was found counts beside so many beats of what is expected before: a few early beats in a
 * short recording are no habit. Ours. */
static const double EXPECTED_BEATS = 20.0;
/* How loose a rhythm is, and how far systole spreads, is taken for no less and no more: a density
 * without width has no score for what lies beside it, and one too wide tells nothing. The marked
 * recordings' looseness is 0.01 to 0.09 of the cycle (intervals.py), about 0.02 to 0.2 of diastole;
 * 12 ms is little over the frame that a sound is found to. Ours. */
static const double LOOSENESS_MIN = 0.05;
static const double LOOSENESS_MAX = 0.5;
static const double SYSTOLE_SD_MIN_S = 0.012;
static const double SYSTOLE_SD_MAX_S = 0.05;
/* Neither seen always nor hardly ever: certainty would forbid the other. Ours. */
static const double S2_DETECTED_MIN = 0.3;
static const double S2_DETECTED_MAX = 0.97;

static double time_of(const fm_candidate *c, const fm_path *path, size_t i)
{
    return c[path->index[i]].time_s;
}

/* S1-S1 intervals of a path and where each ends; n <= FM_PATH_MAX. */
static size_t intervals_of(const fm_candidate *c,
                           const fm_path *path,
                           float *length_s,
                           float *end_s)
{
    size_t n = 0;
    double last = -1.0;
    for (size_t i = 0; i < path->n; i++) {
        if (path->is_s2[i]) {
            continue;
        }
        const double t = time_of(c, path, i);
        if (last >= 0.0) {
            length_s[n] = (float)(t - last);
            end_s[n] = (float)t;
            n++;
        }
        last = t;
    }
    return n;
}

/* Median of span intervals from first on, moved inside where it would pass an end: a
 * group's first beats must not set the cycle alone. */
static float median_of(const float *length_s, size_t n, size_t first, size_t span)
{
    float few[2 * MEDIAN_REACH + 1];
    span = span < n ? span : n;
    first = first + span <= n ? first : n - span;
    memcpy(few, length_s + first, span * sizeof(*few));
    return fm_quantile(few, span, 0.5);
}

static bool alike(float a, float b)
{
    return fabsf(logf(a / b)) < WITH_NEIGHBOURS;
}

/* The cycle around interval i: the median of its neighbours on both sides; or of those on
 * one side where the interval goes with them and with its next, and not with all (the
 * rate changes here). */
static float cycle_around(const float *length_s, size_t n, size_t i)
{
    const size_t one_side = MEDIAN_REACH + 1;
    const size_t first = i >= MEDIAN_REACH ? i - MEDIAN_REACH : 0;
    const float around = median_of(length_s, n, first, 2 * MEDIAN_REACH + 1);
    if (alike(length_s[i], around)) {
        return around;
    }
    const float before = median_of(length_s, n, first, one_side);
    if (i > 0 && alike(length_s[i], length_s[i - 1]) && alike(length_s[i], before)) {
        return before;
    }
    const float after = median_of(length_s, n, i, one_side);
    if (i + 1 < n && alike(length_s[i], length_s[i + 1]) && alike(length_s[i], after)) {
        return after;
    }
    return around;
}

/* The local cycle at every candidate, and how steady the rhythm is around it. */
void fm_follow_rate(const fm_candidate *c,
                    size_t n_candidates,
                    const fm_path *path,
                    float *local_cycle_s,
                    fm_hypothesis *h)
{
    float length_s[FM_PATH_MAX];
    float end_s[FM_PATH_MAX];
    float smooth[FM_PATH_MAX];
    const size_t n = intervals_of(c, path, length_s, end_s);
    if (n < 3) {
        h->local_cycle_s = NULL;
        return;
    }
    double deviation = 0.0;
    size_t in_step = 0;
    size_t early = 0;
    for (size_t i = 0; i < n; i++) {
        smooth[i] = cycle_around(length_s, n, i);
        const double ratio = fabs(log((double)length_s[i] / (double)smooth[i]));
        if (ratio < OUT_OF_STEP) {
            deviation += ratio;
            in_step++;
        } else {
            early += length_s[i] < smooth[i] ? 1 : 0;
        }
    }
    size_t k = 0;
    for (size_t j = 0; j < n_candidates; j++) {
        while (k + 1 < n && (double)end_s[k] < c[j].time_s) {
            k++;
        }
        local_cycle_s[j] = smooth[k];
    }
    h->local_cycle_s = local_cycle_s;
    memcpy(smooth, length_s, n * sizeof(*smooth));
    h->cycle_s = (double)fm_quantile(smooth, n, 0.5);
    /* Diastole carries the whole variation of the cycle. */
    const double diastole_s = h->cycle_s - h->systole_s;
    const double share = diastole_s > 0.1 ? h->cycle_s / diastole_s : 3.0;
    const double loose = in_step > 0 ? deviation / (double)in_step * share : 0.1;
    h->looseness = fmin(fmax(loose, LOOSENESS_MIN), LOOSENESS_MAX);
    const double share_early =
        ((double)early + EXPECTED_BEATS * FM_EARLY) / ((double)n + EXPECTED_BEATS);
    h->early = fmax(share_early, FM_EARLY);
    h->surprise = ((double)(n - in_step) + EXPECTED_BEATS * FM_SURPRISE) /
                  ((double)n + EXPECTED_BEATS);
}

void fm_follow_systole(const fm_candidate *c, const fm_path *path, fm_hypothesis *h)
{
    float length_s[FM_PATH_MAX];
    size_t n = 0;
    size_t n_s1 = 0;
    for (size_t i = 0; i + 1 < path->n; i++) {
        n_s1 += !path->is_s2[i];
        if (!path->is_s2[i] && path->is_s2[i + 1]) {
            length_s[n++] = (float)(time_of(c, path, i + 1) - time_of(c, path, i));
        }
    }
    if (n < 4 || n_s1 == 0) {
        return;
    }
    const double median = (double)fm_quantile(length_s, n, 0.5);
    const double sd = fm_spread_about(length_s, n, (float)median);
    h->systole_s = median;
    h->systole_sd_s = fmin(fmax(sd, SYSTOLE_SD_MIN_S), SYSTOLE_SD_MAX_S);
    const double detected = ((double)n + 1.0) / ((double)n_s1 + 2.0);
    h->s2_detected = fmin(fmax(detected, S2_DETECTED_MIN), S2_DETECTED_MAX);
}
