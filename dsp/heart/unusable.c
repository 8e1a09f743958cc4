#include "dsp/heart/unusable.h"

#include "dsp/constants.h"
#include "dsp/signal/peaks.h"

#include <math.h>

/* So many typical cycles, and so many seconds, without a sure beat are unusable and not a
 * pause: pauses over 3 s are rare and named (from memory), yet steady sound around a
 * pause is quiet, so a quiet stretch is given more. */
static const double CYCLES_MIN = 3.2;
static const double UNUSABLE_MIN_S = 2.2;
static const double QUIET_MIN_S = 5.0;
/* Share of a second's samples that are clipped, from which the second is spoilt. Ours. */
static const float CLIPPED_SHARE = 0.01f;
/* Mean level of the three highest bands that says friction, and of all that says noise. Tuned on composed
 * friction and noises. */
static const float FRICTION_LEVEL = 0.55f;
static const float NOISE_LEVEL = 0.35f;

/* Rubbing lifts the highest bands this far (power, 15 dB) over what they usually hold:
 * levels, which are over the local floor, forget a long rub (tuned on planted rubs). */
static const float RUB_RATIO = 30.0f;

/* Median power of the three highest bands over [from_s, to_s); 0 for no frames. */
static float usual_high_power(const fm_features *f, double from_s, double to_s)
{
    float power[FM_FRAMES_MAX];
    size_t n = 0;
    const double first = floor(from_s * FM_FRAME_RATE_HZ);
    const double last = ceil(to_s * FM_FRAME_RATE_HZ);
    for (double at = first < 0.0 ? 0.0 : first; at < last && at < (double)f->n_frames;
         at += 1.0) {
        const size_t k = (size_t)at;
        power[n++] = f->power[FM_BANDS - 3][k] + f->power[FM_BANDS - 2][k] +
                     f->power[FM_BANDS - 1][k];
    }
    return n > 0 ? fm_quantile(power, n, 0.5) : 0.0f;
}

static float mean_level(
    const fm_features *f, size_t low, size_t high, double from_s, double to_s)
{
    const double first = floor(from_s * FM_FRAME_RATE_HZ);
    const double last = ceil(to_s * FM_FRAME_RATE_HZ);
    double sum = 0.0;
    double n = 0.0;
    for (double at = first < 0.0 ? 0.0 : first; at < last && at < (double)f->n_frames;
         at += 1.0) {
        for (size_t b = low; b < high; b++) {
            sum += (double)f->level[b][(size_t)at];
            n += 1.0;
        }
    }
    return n > 0.0 ? (float)(sum / n) : 0.0f;
}

static bool clipped(const fm_segment *segment, double from_s, double to_s)
{
    const double first = floor(from_s);
    for (double second = first < 0.0 ? 0.0 : first;
         second < to_s && second < FM_SEGMENT_SECONDS; second += 1.0) {
        if (segment->clipped_in_second[(size_t)second] > CLIPPED_SHARE) {
            return true;
        }
    }
    return false;
}

static void add(fm_quality *q, double start_s, double length_s, fm_reason reason)
{
    if (q->n_unusable < FM_SPANS_MAX) {
        q->unusable[q->n_unusable++] = (fm_span){start_s, length_s, reason};
    }
}

bool fm_spans_contain(const fm_span *spans, size_t n, double time_s)
{
    for (size_t i = 0; i < n; i++) {
        if (time_s >= spans[i].start_s &&
            time_s < spans[i].start_s + spans[i].length_s) {
            return true;
        }
    }
    return false;
}

bool fm_spans_touch(const fm_span *spans, size_t n, double start_s, double end_s)
{
    for (size_t i = 0; i < n; i++) {
        if (spans[i].start_s < end_s &&
            spans[i].start_s + spans[i].length_s > start_s) {
            return true;
        }
    }
    return false;
}

/* One stretch without a sure beat: is it unusable, and why? */
static void classify(const fm_segment *segment,
                     const fm_features *f,
                     float usual_power,
                     double from_s,
                     double to_s,
                     double cycle_s,
                     fm_quality *q)
{
    const double length_s = to_s - from_s;
    if (length_s < CYCLES_MIN * cycle_s || length_s < UNUSABLE_MIN_S ||
        fm_spans_contain(q->gaps, q->n_gaps, 0.5 * (from_s + to_s))) {
        return;
    }
    const double in_s = from_s - segment->start_s;
    const double out_s = to_s - segment->start_s;
    if (clipped(segment, in_s, out_s)) {
        add(q, from_s, length_s, FM_REASON_CLIPPED);
    } else if (mean_level(f, FM_BANDS - 3, FM_BANDS, in_s, out_s) > FRICTION_LEVEL ||
               usual_high_power(f, in_s, out_s) > RUB_RATIO * usual_power) {
        add(q, from_s, length_s, FM_REASON_FRICTION);
    } else if (length_s > QUIET_MIN_S ||
               mean_level(f, 0, FM_BANDS, in_s, out_s) > NOISE_LEVEL) {
        add(q, from_s, length_s, FM_REASON_NO_PERIODICITY);
    }
}

void fm_unusable_find(const fm_segment *segment,
                      const fm_features *f,
                      const double *s1_s,
                      const float *sureness,
                      size_t n,
                      double cycle_s,
                      fm_quality *q)
{
    q->n_unusable = 0;
    const float usual_power = usual_high_power(f, 0.0, FM_SEGMENT_MAX_S);
    double last_sure_s = segment->window_start_s;
    for (size_t i = 0; i < n; i++) {
        if (sureness[i] >= FM_SURE_FROM) {
            classify(segment, f, usual_power, last_sure_s, s1_s[i], cycle_s, q);
            last_sure_s = s1_s[i] + 1e-3;
        }
    }
    classify(segment, f, usual_power, last_sure_s, segment->window_end_s, cycle_s, q);
}

double fm_span_overlap_s(const fm_span *span, double start_s, double end_s)
{
    const double first_s = fmax(span->start_s, start_s);
    const double last_s = fmin(span->start_s + span->length_s, end_s);
    return last_s > first_s ? last_s - first_s : 0.0;
}

/* From at_s on: the end of the spans that cover it, or at_s; *next_s is brought down to
 * the nearest start of a later one. */
static double covered_until(const fm_span *spans, size_t n, double at_s, double *next_s)
{
    double until_s = at_s;
    for (size_t i = 0; i < n; i++) {
        const double from_s = spans[i].start_s;
        const double to_s = from_s + spans[i].length_s;
        if (from_s <= at_s && to_s > until_s) {
            until_s = to_s;
        } else if (from_s > at_s && from_s < *next_s) {
            *next_s = from_s;
        }
    }
    return until_s;
}

/* Gaps and unusable stretches may overlap: no second is taken off twice. */
double fm_usable_s(const fm_quality *q, double start_s, double end_s)
{
    double usable_s = 0.0;
    double at_s = start_s;
    while (at_s < end_s) {
        double next_s = end_s;
        const double gap_s = covered_until(q->gaps, q->n_gaps, at_s, &next_s);
        const double bad_s = covered_until(q->unusable, q->n_unusable, at_s, &next_s);
        if (gap_s > at_s || bad_s > at_s) {
            at_s = fmax(gap_s, bad_s);
        } else {
            usable_s += next_s - at_s;
            at_s = next_s;
        }
    }
    return usable_s;
}

double fm_excluded_longest_s(const fm_quality *q, double start_s, double end_s)
{
    double longest = 0.0;
    for (size_t i = 0; i < q->n_gaps; i++) {
        longest = fmax(longest, fm_span_overlap_s(&q->gaps[i], start_s, end_s));
    }
    for (size_t i = 0; i < q->n_unusable; i++) {
        longest = fmax(longest, fm_span_overlap_s(&q->unusable[i], start_s, end_s));
    }
    return longest;
}
