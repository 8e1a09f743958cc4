#include "dsp/minute.h"

#include "dsp/beats.h"
#include "dsp/condition.h"
#include "dsp/features.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct fm_minute {
    fm_spectrum *spectrum;
    fm_feature_maker *maker;
    fm_beat_finder *finder;
    fm_beats beats;
};

fm_minute *fm_minute_create(void)
{
    fm_minute *m = calloc(1, sizeof(*m));
    if (!m) {
        return NULL;
    }
    m->spectrum = fm_spectrum_create(FM_CONDITION_FFT);
    m->maker = fm_feature_maker_create();
    m->finder = fm_beat_finder_create();
    if (!m->spectrum || !m->maker || !m->finder) {
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
    fm_beat_finder_destroy(m->finder);
    free(m);
}

static void start_result(const fm_segment *s, fm_count *out)
{
    memset(out, 0, sizeof(*out));
    const double nan = (double)NAN;
    out->window.start_s = s->window_start_s;
    out->window.end_s = s->window_end_s;
    out->heart.rate_bpm = nan;
    out->heart.rate_low_bpm = nan;
    out->heart.rate_high_bpm = nan;
    out->rhythm.mean_interval_s = nan;
    out->rhythm.sdnn_ms = nan;
    out->rhythm.rmssd_ms = nan;
    out->rhythm.pnn50 = nan;
    out->rhythm.cv = nan;
    out->rhythm.sd1_ms = nan;
    out->rhythm.sd2_ms = nan;
    out->quality.level_dbfs = 10.0 * log10(s->mean_square);
    out->quality.clipped_fraction = s->clipped_fraction;
    out->quality.n_gaps = s->n_gaps;
    memcpy(out->quality.gaps, s->gaps, s->n_gaps * sizeof(s->gaps[0]));
}

void fm_minute_analyse(fm_minute *m, fm_segment *segment, fm_count *out)
{
    start_result(segment, out);
    fm_conditioned conditioned;
    fm_condition(m->spectrum, segment->x, segment->n, &conditioned);
    fm_features features;
    if (fm_features_make(m->maker, segment->x, segment->n, &features) != FM_OK) {
        out->heart.reason = FM_REASON_TOO_SHORT;
        return;
    }
    fm_beats_find(m->finder, m->maker, &features, &m->beats);
    fm_heart *h = &out->heart;
    const fm_path *p = &m->beats.path;
    for (size_t i = 0; i < p->n; i++) {
        const double t =
            segment->start_s + m->beats.candidates[p->index[i]].time_s - 0.03;
        if (t < out->window.start_s || t >= out->window.end_s) {
            continue;
        }
        if (p->is_s2[i] && h->n_s2 < FM_BEATS_MAX) {
            h->s2_s[h->n_s2++] = t;
        } else if (!p->is_s2[i] && h->n_s1 < FM_BEATS_MAX) {
            h->s1_sureness[h->n_s1] = 1.0f;
            h->s1_s[h->n_s1++] = t;
        }
    }
    h->beats = (int)h->n_s1;
    h->known = true;
    h->status = FM_COUNTED;
    h->confidence = 0.5;
    if (h->n_s1 > 1) {
        h->rate_bpm =
            60.0 * (double)(h->n_s1 - 1) / (h->s1_s[h->n_s1 - 1] - h->s1_s[0]);
    }
}
