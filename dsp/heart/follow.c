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
/* |ln ratio| within which an interval goes with its neighbours on one side. */
static const float WITH_NEIGHBOURS = 0.1f;

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
    h->looseness = loose < 0.05 ? 0.05 : (loose > 0.5 ? 0.5 : loose);
    const double share_early = ((double)early + 20.0 * FM_EARLY) / ((double)n + 20.0);
    h->early = share_early < FM_EARLY ? FM_EARLY : share_early;
    h->surprise = ((double)(n - in_step) + 20.0 * FM_SURPRISE) / ((double)n + 20.0);
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
    for (size_t i = 0; i < n; i++) {
        length_s[i] = fabsf(length_s[i] - (float)median);
    }
    const double sd = 1.4826 * (double)fm_quantile(length_s, n, 0.5);
    h->systole_s = median;
    h->systole_sd_s = sd < 0.012 ? 0.012 : (sd > 0.05 ? 0.05 : sd);
    const double detected = ((double)n + 1.0) / ((double)n_s1 + 2.0);
    h->s2_detected = detected < 0.3 ? 0.3 : (detected > 0.97 ? 0.97 : detected);
}
