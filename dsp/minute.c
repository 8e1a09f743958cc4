#include "dsp/minute.h"

#include "dsp/heart/beats.h"
#include "dsp/heart/condition.h"
#include "dsp/heart/contact.h"
#include "dsp/heart/features.h"
#include "dsp/heart/fill.h"
#include "dsp/heart/onset.h"
#include "dsp/heart/silence.h"
#include "dsp/heart/speech_pitch.h"
#include "dsp/heart/unusable.h"
#include "dsp/heart/verdict.h"
#include "dsp/rhythm/rhythm.h"
#include "dsp/signal/filter.h"
#include "dsp/signal/peaks.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Below these shares the low band counts as missing. A 250 Hz high-pass of 24 dB an
 * octave takes 32 dB off 100 Hz (closed form), which leaves far less than this. */
static const double LOW_POWER_SHARE = 0.15;
static const double LOW_WEIGHT_SHARE = 0.2;
struct fm_minute {
    fm_spectrum *spectrum;
    fm_feature_maker *maker;
    fm_beat_finder finder;
    fm_onset_memory onsets;
    fm_breath_finder breath;
    fm_beats beats;
    fm_evidence evidence;
    fm_contact contact;
    fm_silences silences;
    double voiced_share;
    double times_s[FM_BEATS_MAX];
    float sureness[FM_BEATS_MAX];
};

fm_minute *fm_minute_create(void)
{
    fm_minute *m = calloc(1, sizeof(*m));
    if (!m) {
        return NULL;
    }
    m->spectrum = fm_spectrum_create(FM_CONDITION_FFT);
    m->maker = fm_feature_maker_create();
    if (!m->spectrum || !m->maker) {
        fm_minute_destroy(m);
        return NULL;
    }
    return m;
}

void fm_minute_destroy(fm_minute *m)
{
    if (!m) {
        return;
    }
    fm_spectrum_destroy(m->spectrum);
    fm_feature_maker_destroy(m->maker);
    free(m);
}

/* The gaps inside the window, cut at its ends. */
static void keep_gaps(const fm_segment *s, fm_quality *q)
{
    for (size_t i = 0; i < s->n_gaps; i++) {
        const double end_s = s->gaps[i].start_s + s->gaps[i].length_s;
        const double from_s = fmax(s->gaps[i].start_s, s->window_start_s);
        const double to_s = fmin(end_s, s->window_end_s);
        if (to_s > from_s) {
            q->gaps[q->n_gaps++] = (fm_span){from_s, to_s - from_s, FM_REASON_GAP};
        }
    }
}

/* No number and no onset; window, quality and reason stay. */
static void empty_events(fm_event_count *c)
{
    c->rate_per_min = (double)NAN;
    c->rate_low_per_min = (double)NAN;
    c->rate_high_per_min = (double)NAN;
    c->n = 0;
    memset(c->onsets_s, 0, sizeof(c->onsets_s));
}

static void empty_heart(fm_count *out)
{
    fm_heart *h = &out->heart;
    empty_events(&h->count);
    memset(h->s1_sureness, 0, sizeof(h->s1_sureness));
    h->n_s2 = 0;
    memset(h->s2_s, 0, sizeof(h->s2_s));
    fm_rhythm_describe(NULL, NULL, 0, NULL, 0, 0.0, 0.0, &out->rhythm); /* of no beat */
}

void fm_minute_empty_refused(fm_count *out)
{
    if (!fm_is_known(&out->heart.count)) {
        empty_heart(out);
    }
    if (!fm_is_known(&out->breath.count)) {
        empty_events(&out->breath.count);
        for (int cue = 0; cue < FM_CUE_COUNT; cue++) {
            out->breath.cue_quality[cue] = 0.0;
            out->breath.cue_rate_per_min[cue] = (double)NAN;
            out->breath.cue_count[cue] = 0;
        }
    }
}

static void start_result(const fm_segment *s, fm_count *out)
{
    memset(out, 0, sizeof(*out));
    fm_event_count *const c = &out->heart.count;
    c->window.start_s = s->window_start_s;
    c->window.end_s = s->window_end_s;
    empty_heart(out);
    c->quality.level_dbfs = 10.0 * log10(s->mean_square);
    c->quality.clipped_fraction = s->clipped_fraction;
    keep_gaps(s, &c->quality);
}

/* Limit the conditioned signal to the band counted from, for the onsets. */
static void limit_band(float *x, size_t n, bool low_missing)
{
    fm_filter filter;
    const double low_hz = low_missing ? 150.0 : 25.0;
    const double high_hz = low_missing ? 450.0 : 300.0;
    if (fm_filter_init_bandpass(&filter, 2, FM_WORK_RATE_HZ, low_hz, high_hz) ==
        FM_OK) {
        fm_filter_zero_phase(&filter, x, n);
    }
}

/* Is the band where heart sounds are strongest missing? By power, or because what beats
 * there is not in the low bands (noise has filled them). */
static bool low_band_missing(const fm_features *f)
{
    double low = 0.0;
    double all = 1e-20;
    double low_weight = 0.0;
    for (size_t b = 0; b < FM_BANDS; b++) {
        for (size_t k = 0; k < f->n_frames; k++) {
            all += (double)f->power[b][k];
            low += b < FM_LOW_BANDS ? (double)f->power[b][k] : 0.0;
        }
        low_weight += b < FM_LOW_BANDS ? f->weight[b] : 0.0;
    }
    return low / all < LOW_POWER_SHARE || low_weight < LOW_WEIGHT_SHARE;
}

/* Times of one kind of sound in the recording, refined to onsets; sureness of S1. */
static size_t place_sounds(fm_minute *m, const fm_segment *s, bool s2, double *time_s)
{
    const fm_path *p = &m->beats.path;
    size_t n = 0;
    for (size_t i = 0; i < p->n && n < FM_BEATS_MAX; i++) {
        if (p->is_s2[i] == s2) {
            m->sureness[n] = fm_sureness(&m->beats, i);
            time_s[n++] = m->beats.candidates[p->index[i]].time_s;
        }
    }
    fm_onset_refine(&m->onsets, time_s, n, time_s);
    for (size_t i = 0; i < n; i++) {
        time_s[i] += s->start_s;
    }
    return n;
}

static size_t keep_inside(const fm_event_count *c,
                          const double *from,
                          size_t n,
                          double *to,
                          const float *sureness,
                          float *sure_to)
{
    const fm_quality *const q = &c->quality;
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        if (from[i] < c->window.start_s || from[i] >= c->window.end_s ||
            fm_spans_contain(q->unusable, q->n_unusable, from[i]) ||
            fm_spans_contain(q->gaps, q->n_gaps, from[i])) {
            continue;
        }
        if (sure_to) {
            sure_to[kept] = sureness[i];
        }
        to[kept++] = from[i];
    }
    return kept;
}

/* 60(n-1)/(tn-t1) over the stretches that are not excluded; NaN under five intervals or 6 s. */
static double rate_of_usable(const fm_event_count *c)
{
    const fm_quality *const q = &c->quality;
    double sum_s = 0.0;
    int n = 0;
    for (size_t i = 1; i < c->n; i++) {
        const double from_s = c->onsets_s[i - 1];
        const double to_s = c->onsets_s[i];
        if (!fm_spans_contain(q->unusable, q->n_unusable, 0.5 * (to_s + from_s)) &&
            !fm_spans_touch(q->gaps, q->n_gaps, from_s, to_s)) {
            sum_s += to_s - from_s;
            n++;
        }
    }
    return n >= FM_INTERVALS_MIN && sum_s >= FM_USABLE_MIN_S * 0.5 ? 60.0 * n / sum_s
                                                                   : (double)NAN;
}

static void count_beats(fm_minute *m,
                        const fm_segment *s,
                        const fm_features *f,
                        fm_count *out)
{
    fm_heart *const h = &out->heart;
    fm_event_count *const c = &h->count;
    const double cycle_s = m->beats.hypothesis.cycle_s;
    const size_t n_s1 = place_sounds(m, s, false, m->times_s);
    fm_silence_classify(&m->contact, s, m->times_s, m->sureness, n_s1, cycle_s,
                        &c->quality, &m->silences);
    fm_unusable_find(s, f, m->times_s, m->sureness, n_s1, cycle_s, &c->quality);
    fm_silence_doubt(&m->contact, m->times_s, n_s1, cycle_s, m->sureness);
    c->n = keep_inside(c, m->times_s, n_s1, c->onsets_s, m->sureness, h->s1_sureness);
    const size_t n_s2 = place_sounds(m, s, true, m->times_s);
    h->n_s2 = keep_inside(c, m->times_s, n_s2, h->s2_s, NULL, NULL);
    const double window_s = c->window.end_s - c->window.start_s;
    const bool clean = fm_excluded_longest_s(&c->quality, c->window.start_s,
                                             c->window.end_s) <= cycle_s;
    c->window.full_minute = clean && window_s > FM_WINDOW_MAX_S - 1e-6;
    c->rate_per_min = c->window.full_minute ? (double)c->n : rate_of_usable(c);
}

/* The middle S1-S2 as a share of the middle S1-S1, and 60 over that; NaN with few of either. */
static double systole_share(const fm_heart *h, double *cycle_bpm)
{
    float systole_s[FM_BEATS_MAX];
    float cycle_s[FM_BEATS_MAX];
    size_t n = 0;
    size_t k = 0;
    for (size_t i = 1; i < h->count.n; i++) {
        while (k < h->n_s2 && h->s2_s[k] <= h->count.onsets_s[i - 1]) {
            k++;
        }
        if (k < h->n_s2 && h->s2_s[k] < h->count.onsets_s[i]) {
            systole_s[n] = (float)(h->s2_s[k] - h->count.onsets_s[i - 1]);
            cycle_s[n++] = (float)(h->count.onsets_s[i] - h->count.onsets_s[i - 1]);
        }
    }
    *cycle_bpm = (double)NAN;
    if (n <= FM_INTERVALS_MIN) {
        return (double)NAN;
    }
    const double middle_s = (double)fm_quantile(cycle_s, n, 0.5);
    *cycle_bpm = 60.0 / middle_s;
    return (double)fm_quantile(systole_s, n, 0.5) / middle_s;
}

static double lost_s(const fm_quality *q)
{
    double sum_s = 0.0;
    for (size_t i = 0; i < q->n_gaps; i++) {
        sum_s += q->gaps[i].length_s;
    }
    return sum_s;
}

/* SD of the intervals that touch no gap, as a share of their mean; 0 for fewer than two. */
static double unevenness(const fm_event_count *c)
{
    double n = 0.0;
    double sum_s = 0.0;
    double squares = 0.0;
    for (size_t i = 1; i < c->n; i++) {
        const double length_s = c->onsets_s[i] - c->onsets_s[i - 1];
        if (!fm_spans_touch(c->quality.gaps, c->quality.n_gaps, c->onsets_s[i - 1],
                            c->onsets_s[i])) {
            n += 1.0;
            sum_s += length_s;
            squares += length_s * length_s;
        }
    }
    const double mean_s = n > 0.0 ? sum_s / n : 0.0;
    return n > 1.0 ? sqrt(fmax(0.0, squares / n - mean_s * mean_s)) / mean_s : 0.0;
}

static bool is_contact(fm_reason reason)
{
    return reason == FM_REASON_CONTACT_LOST || reason == FM_REASON_CONTACT_OR_PAUSE;
}

/* Where no heart was heard, nothing says that contact to one was lost: between loud breaths,
 * or words, it is quiet too. */
static void forget_contact(fm_quality *q)
{
    size_t kept = 0;
    for (size_t i = 0; i < q->n_gaps; i++) {
        if (!is_contact(q->gaps[i].reason)) {
            q->gaps[kept++] = q->gaps[i];
        }
    }
    q->n_gaps = kept;
}

static double usable_of(const fm_event_count *c)
{
    return fm_usable_s(&c->quality, c->window.start_s, c->window.end_s);
}

static void give_verdict(fm_minute *m,
                         const fm_segment *segment,
                         const fm_features *f,
                         const fm_conditioned *conditioned,
                         fm_count *out)
{
    fm_event_count *const count = &out->heart.count;
    const double window_s = count->window.end_s - count->window.start_s;
    const double usable_s = usable_of(count);
    fm_evidence_gather(&m->beats, f, conditioned, window_s,
                       window_s > 0.0 ? usable_s / window_s : 0.0, &m->evidence);
    double cycle_bpm;
    const double share = systole_share(&out->heart, &cycle_bpm);
    const fm_case c = {
        .evidence = &m->evidence,
        .conditioned = conditioned,
        .like_left_share = m->beats.like_left_share,
        .like_left_spread_s = m->beats.like_left_spread_s,
        .loud_left_share = m->beats.loud_left_share,
        .loud_left_spread_s = m->beats.loud_left_spread_s,
        .in_band_share = segment->mean_square > 0.0
                             ? conditioned->power / segment->mean_square
                             : 1.0,
        .single_tone = segment->single_tone,
        .voiced_share = m->voiced_share,
        .confidence = fm_confidence_estimate(&m->evidence),
        .window_s = window_s,
        .usable_s = usable_s,
        .systole_share = share,
        .cycle_bpm = cycle_bpm,
        .lost_s = lost_s(&count->quality),
        .uneven = unevenness(count),
        .silences = &m->silences,
    };
    fm_verdict_give(&c, out);
    if (count->status == FM_REFUSED && !is_contact(count->reason)) {
        forget_contact(&count->quality);
        count->usable_s = usable_of(count);
    }
}

/* What the rhythm excludes are the gaps and the unusable stretches together. */
static void describe_rhythm(fm_count *out)
{
    fm_span excluded[2 * FM_SPANS_MAX];
    const fm_event_count *const c = &out->heart.count;
    const fm_quality *const q = &c->quality;
    memcpy(excluded, q->gaps, q->n_gaps * sizeof(*excluded));
    memcpy(excluded + q->n_gaps, q->unusable, q->n_unusable * sizeof(*excluded));
    fm_rhythm_describe(c->onsets_s, out->heart.s1_sureness, c->n, excluded,
                       q->n_gaps + q->n_unusable, c->window.start_s, c->window.end_s,
                       &out->rhythm);
}

const fm_breath_basis *fm_minute_breath(const fm_minute *m)
{
    return &m->breath.basis;
}

const fm_evidence *fm_minute_evidence(const fm_minute *m)
{
    return &m->evidence;
}

/* Nothing can be counted from the segment. */
static void refuse_both(fm_reason reason, fm_count *out)
{
    out->heart.count.reason = reason;
    fm_breath_begin(&out->heart.count.window, &out->heart.count.quality, &out->breath);
    out->breath.count.reason = reason;
}

void fm_minute_analyse(fm_minute *m, fm_segment *segment, fm_count *out)
{
    fm_quality *const q = &out->heart.count.quality;
    start_result(segment, out);
    memset(&m->evidence, 0, sizeof(m->evidence));
    memset(&m->silences, 0, sizeof(m->silences));
    fm_conditioned conditioned;
    fm_fill_gaps(segment);
    fm_condition(m->spectrum, segment->x, segment->n, &conditioned);
    fm_contact_measure(segment, &m->contact);
    m->voiced_share = fm_speech_pitch_share(segment->x, segment->n);
    m->silences.n_lost = fm_contact_find(&m->contact, segment, q);
    fm_features features;
    const double window_s = segment->window_end_s - segment->window_start_s;
    if (window_s < FM_USABLE_MIN_S ||
        fm_features_make(m->maker, segment->x, segment->n, &features) != FM_OK) {
        refuse_both(FM_REASON_TOO_SHORT, out);
        return;
    }
    if (!(conditioned.power > 0.0)) {
        const bool lost = usable_of(&out->heart.count) < FM_USABLE_MIN_S;
        refuse_both(lost ? FM_REASON_GAP : FM_REASON_TOO_QUIET, out);
        return;
    }
    fm_beats_find(&m->finder, m->maker, &features, &m->beats);
    q->low_band_missing = low_band_missing(&features);
    out->heart.band = q->low_band_missing ? FM_BAND_HIGH : FM_BAND_LOW;
    limit_band(segment->x, segment->n, q->low_band_missing);
    fm_onset_load(&m->onsets, segment->x, segment->n);
    count_beats(m, segment, &features, out);
    give_verdict(m, segment, &features, &conditioned, out);
    describe_rhythm(out);
    fm_breath_find(&m->breath, segment, &features, &m->beats, out);
}
