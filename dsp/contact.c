#include "dsp/contact.h"

#include "dsp/features.h"
#include "dsp/holes.h"
#include "dsp/peaks.h"

#include <math.h>
#include <string.h>

enum {
    FRAME = 100, /* samples: 50 ms */
    FRAMES_MAX = FM_SEGMENT_SAMPLES / FRAME + 1,
    LOST_MIN = 5, /* frames */
    THUMP_REACH = 5
};

/* Usual quiet is this quantile of the frames' amplitudes, between beats; lost is what lies
 * this far below it (14 dB). */
static const double QUIET_QUANTILE = 0.1;
static const float LOST_RATIO = 0.2f;
/* Contact comes back with a thump: within so many frames, so many times the loud frames'
 * amplitude. A pause between words, between breaths or of a noise gate ends without one. */
static const double LOUD_QUANTILE = 0.9;
static const float THUMP_RATIO = 5.0f;
static const double MARGIN_S = 0.1;

/* Root mean square of a frame about its own mean. */
static float amplitude(const float *x)
{
    double sum = 0.0;
    double square = 0.0;
    for (size_t i = 0; i < FRAME; i++) {
        sum += (double)x[i];
        square += (double)x[i] * (double)x[i];
    }
    const double mean = sum / FRAME;
    return (float)sqrt(fmax(0.0, square / FRAME - mean * mean));
}

static void insert(fm_quality *q, double from_s, double to_s)
{
    if (q->n_gaps >= FM_SPANS_MAX) {
        return;
    }
    size_t at = q->n_gaps;
    while (at > 0 && q->gaps[at - 1].start_s > from_s) {
        q->gaps[at] = q->gaps[at - 1];
        at--;
    }
    q->gaps[at].start_s = from_s;
    q->gaps[at].length_s = to_s - from_s;
    q->gaps[at].reason = FM_REASON_GAP;
    q->n_gaps++;
}

static bool known(const fm_segment *s, double from_s, double to_s)
{
    for (size_t i = 0; i < s->n_gaps; i++) {
        const fm_span *gap = &s->gaps[i];
        if (gap->start_s < to_s + MARGIN_S &&
            gap->start_s + gap->length_s > from_s - MARGIN_S) {
            return true;
        }
    }
    return false;
}

static bool thump_at(const float *level, size_t n, size_t k, float loud)
{
    for (size_t i = k; i < n && i < k + THUMP_REACH; i++) {
        if (level[i] >= THUMP_RATIO * loud) {
            return true;
        }
    }
    return false;
}

/* Frames first..end-1 are quiet, and what follows is a thump. */
static bool add(const fm_segment *s, size_t first, size_t end, fm_quality *q)
{
    const double from_s =
        fmax(s->window_start_s, s->start_s + (double)(first * FRAME) / FM_WORK_RATE_HZ);
    const double to_s =
        fmin(s->window_end_s, s->start_s + (double)(end * FRAME) / FM_WORK_RATE_HZ);
    if (end - first < LOST_MIN || first == 0 || to_s <= from_s ||
        known(s, from_s, to_s)) {
        return false;
    }
    insert(q, from_s, to_s);
    return true;
}

size_t fm_contact_find(const fm_segment *s, fm_quality *q)
{
    float level[FRAMES_MAX];
    float sorted[FRAMES_MAX];
    size_t n = s->n / FRAME;
    n = n < FRAMES_MAX ? n : FRAMES_MAX;
    if (n == 0) {
        return 0;
    }
    for (size_t k = 0; k < n; k++) {
        level[k] = amplitude(s->x + k * FRAME);
    }
    memcpy(sorted, level, n * sizeof(*level));
    const float quiet = fm_quantile(sorted, n, QUIET_QUANTILE);
    const float loud = fm_quantile(sorted, n, LOUD_QUANTILE);
    size_t found = 0;
    size_t first = 0;
    /* a stretch that runs to the end of the segment is never closed */
    for (size_t k = 0; k < n; k++) {
        if (level[k] >= LOST_RATIO * quiet) {
            if (thump_at(level, n, k, loud) && add(s, first, k, q)) {
                found++;
            }
            first = k + 1;
        }
    }
    return found;
}
