#include "dsp/heart/candidates.h"

#include "dsp/signal/peaks.h"

#include <stdbool.h>
#include <string.h>

/* Frames (10 ms) from the candidate that a number of the patch looks at. */
#define FRAMES(name, frames) frames,
static const int FRAMES_FROM[FM_PATCH_SIZE] = {FM_PATCH_MAP(FRAMES)};

_Static_assert(FM_PATCH_LOW_B76 == FM_BANDS * FM_PATCH_STEPS, "a patch of other bands");

/* Smallest prominence worth a look, in units of a loud heart sound (tuned on the open
 * heart data: lower ones add time and no beats). */
static const float PROMINENCE_MIN = 0.04f;

/* The same in the lowest bands, and the least level there (tuned on composed murmurs). */
static const float LOW_PROMINENCE_MIN = 0.3f;
static const float LOW_HEIGHT_MIN = 0.5f;

enum {
    NEAR_FRAMES = 5,      /* 50 ms: nearer than that it is the same sound */
    PROMINENCE_REACH = 25 /* frames either side for side minima */
};

/* Where a parabola through three frames has its top, -0.5..0.5 frames. */
static double top_offset(const float *x, size_t k)
{
    const double a = (double)x[k - 1];
    const double b = (double)x[k];
    const double c = (double)x[k + 1];
    const double curve = a - 2.0 * b + c;
    if (!(curve < 0.0)) {
        return 0.0;
    }
    const double at = 0.5 * (a - c) / curve;
    return at < -0.5 ? -0.5 : (at > 0.5 ? 0.5 : at);
}

static fm_candidate candidate_at(const fm_features *f,
                                 const float *x,
                                 const fm_peak *peak)
{
    return (fm_candidate){
        .time_s = ((double)peak->index + top_offset(x, peak->index)) / FM_FRAME_RATE_HZ,
        .frame = peak->index,
        .height = f->envelope[peak->index],
        .prominence = x == f->envelope ? peak->prominence : 0.0f,
    };
}

/* Merge low[0..n_low-1] into c[0..n-1], both in order of time, leaving out those with a
 * neighbour nearer than NEAR_FRAMES. From the end, in place. */
static size_t merge(
    fm_candidate *c, size_t n, const fm_candidate *low, size_t n_low, size_t max)
{
    fm_candidate kept[FM_CANDIDATES_MAX];
    size_t n_kept = 0;
    size_t k = 0;
    for (size_t i = 0; i < n_low && n + n_kept < max; i++) {
        while (k < n && c[k].frame < low[i].frame) {
            k++;
        }
        const bool near_after = k < n && c[k].frame < low[i].frame + NEAR_FRAMES;
        const bool near_before = k > 0 && c[k - 1].frame + NEAR_FRAMES > low[i].frame;
        if (!near_after && !near_before) {
            kept[n_kept++] = low[i];
        }
    }
    size_t from = n;
    size_t extra = n_kept;
    for (size_t to = n + n_kept; to > 0 && extra > 0; to--) {
        if (from > 0 && c[from - 1].frame > kept[extra - 1].frame) {
            c[to - 1] = c[--from];
        } else {
            c[to - 1] = kept[--extra];
        }
    }
    return n + n_kept;
}

/* Sounds that a murmur has swallowed in the envelope may still stand out in the lowest
 * bands, where murmurs hold little (100-600 Hz, from memory). */
static size_t find_low(const fm_features *f, fm_candidate *c, size_t max)
{
    float low[FM_FRAMES_MAX];
    fm_peak peaks[FM_CANDIDATES_MAX];
    for (size_t k = 0; k < f->n_frames; k++) {
        low[k] = 0.5f * (f->level[0][k] + f->level[1][k]);
    }
    const size_t found = fm_peaks_find(low, f->n_frames, LOW_PROMINENCE_MIN,
                                       PROMINENCE_REACH, peaks, max);
    size_t n = 0;
    for (size_t i = 0; i < found; i++) {
        if (low[peaks[i].index] >= LOW_HEIGHT_MIN) {
            c[n++] = candidate_at(f, low, &peaks[i]);
        }
    }
    return n;
}

size_t fm_candidates_find(const fm_features *f, fm_candidate *c, size_t max)
{
    fm_peak peaks[FM_CANDIDATES_MAX];
    fm_candidate low[FM_CANDIDATES_MAX];
    const size_t limit = max < FM_CANDIDATES_MAX ? max : FM_CANDIDATES_MAX;
    const size_t n = fm_peaks_find(f->envelope, f->n_frames, PROMINENCE_MIN,
                                   PROMINENCE_REACH, peaks, limit);
    for (size_t i = 0; i < n; i++) {
        c[i] = candidate_at(f, f->envelope, &peaks[i]);
    }
    return merge(c, n, low, find_low(f, low, FM_CANDIDATES_MAX), limit);
}

static float level_at(const float *level, size_t n, long frame)
{
    if (frame < 0) {
        frame = 0;
    }
    return level[frame < (long)n ? frame : (long)n - 1];
}

static float highest(const fm_features *f, long first, long last)
{
    float best = -1.0f;
    for (long k = first; k <= last; k++) {
        const float v = level_at(f->envelope, f->n_frames, k);
        best = v > best ? v : best;
    }
    return best;
}

void fm_candidates_summary(const fm_features *f,
                           const fm_candidate *c,
                           size_t n,
                           float *minute)
{
    static const double QUANTILES[] = {0.3, 0.6, 0.8, 0.95};
    float heights[FM_CANDIDATES_MAX];
    for (size_t b = 0; b < FM_BANDS; b++) {
        minute[b] = 4.0f * (float)f->weight[b];
    }
    for (size_t i = 0; i < n; i++) {
        heights[i] = c[i].height;
    }
    for (size_t q = 0; q < 4; q++) {
        minute[FM_BANDS + q] = n > 0 ? fm_quantile(heights, n, QUANTILES[q]) : 0.0f;
    }
}

void fm_candidate_patch(const fm_features *f,
                        const fm_candidate *c,
                        const float *minute,
                        float *patch)
{
    const long at = (long)c->frame;
    const size_t n = f->n_frames;
    size_t i = 0;
    for (; i < FM_PATCH_LOW_B76; i++) {
        patch[i] = level_at(f->level[i / FM_PATCH_STEPS], n, at + FRAMES_FROM[i]);
    }
    for (; i < FM_PATCH_HEIGHT; i += 2) {
        const long k = at + FRAMES_FROM[i];
        patch[i] = 0.5f * (level_at(f->level[0], n, k) + level_at(f->level[1], n, k));
        patch[i + 1] = (level_at(f->level[2], n, k) + level_at(f->level[3], n, k) +
                        level_at(f->level[4], n, k)) /
                       3.0f;
    }
    patch[FM_PATCH_HEIGHT] = c->height;
    patch[FM_PATCH_PROMINENCE] = c->prominence;
    patch[FM_PATCH_HIGHEST_BEFORE] =
        highest(f, at + FRAMES_FROM[FM_PATCH_HIGHEST_BEFORE], at - 12);
    patch[FM_PATCH_HIGHEST_AFTER] =
        highest(f, at + 12, at + FRAMES_FROM[FM_PATCH_HIGHEST_AFTER]);
    memcpy(patch + FM_PATCH_WEIGHT_0, minute, FM_PATCH_MINUTE * sizeof(*patch));
}
