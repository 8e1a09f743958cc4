#include "dsp/breath/breath_cues.h"

#include "dsp/signal/peaks.h"

#include <math.h>
#include <string.h>

enum {
    FIRST_BAND = 1,          /* 55 Hz; below it the chest moves and the heart rules */
    BANDS = FM_BREATH_BANDS, /* from there up; but for the first, two to a wide band */
    BEFORE = 6,              /* frames before a heart sound's middle that it begins */
    /* Frames either side of the running mean taken off. Of sound so many that breath held
     * for 20 s stays as quiet as the rest between breaths; of the heart's so few that a
     * cycle of 12 s (5 a minute) just keeps most of its depth (both tuned). */
    SOUND_TREND = 2000,
    HEART_TREND = 1000,
    SOUND_BACK = 4, /* frames of a heart sound's loudness: 4 before to 6 after */
    SOUND_ON = 6
};

/* Heart sound over rest, power, at which a frame's word on breathing counts a quarter:
 * weight = (rest / (rest + heart))^2, the inverse variance of what is left. */
static const double REST_QUANTILE = 0.3;
/* Frames' weight in ten under which a level is not observed (ours). */
static const float OBSERVED_WEIGHT = 1e-3f;
/* Intervals outside are a missed or an invented beat (240-300 ms is refractory, from
 * memory). */
static const double GAP_EDGE_S = 0.05; /* a frame's spectrum reaches 32 ms */
static const double INTERVAL_MIN_S = 0.24;
static const double INTERVAL_MAX_S = 3.0;

static void find_open(
    fm_breath_cues *c, const fm_span *gaps, size_t n_gaps, double start_s, size_t n)
{
    for (size_t k = 0; k < n; k++) {
        c->open[k] = 1.0f;
    }
    for (size_t i = 0; i < n_gaps; i++) {
        const double first =
            fmax(0.0, (gaps[i].start_s - start_s - GAP_EDGE_S) * FM_FRAME_RATE_HZ);
        const double last = fmin(
            (double)n, (gaps[i].start_s + gaps[i].length_s - start_s + GAP_EDGE_S) *
                           FM_FRAME_RATE_HZ);
        for (double k = ceil(first); k < last; k += 1.0) {
            c->open[(size_t)k] = 0.0f;
        }
    }
}

/* For each frame the row of the trace it falls on: time since the last heart sound's
 * beginning, one set of rows for S1 and one for S2; the last row of a set for all frames
 * later than that, and of S1's before the first sound. */
static void find_lags(fm_breath_cues *c, const fm_beats *beats, size_t n)
{
    const fm_path *p = &beats->path;
    size_t next = 0;
    size_t from = 0;
    bool any = false;
    size_t base = 0;
    for (size_t k = 0; k < n; k++) {
        while (next < p->n && beats->candidates[p->index[next]].frame <= k + BEFORE) {
            base = p->is_s2[next] ? FM_BREATH_LAGS : 0;
            from = k;
            any = true;
            next++;
        }
        size_t lag = any ? k - from : FM_BREATH_LAGS - 1;
        lag = lag < FM_BREATH_LAGS ? lag : FM_BREATH_LAGS - 1;
        c->lag[k] = (uint16_t)(base + lag);
    }
}

/* Is it the row of all frames too long after a heart sound to hold any of it? */
static bool is_far(size_t row)
{
    return row % FM_BREATH_LAGS == FM_BREATH_LAGS - 1;
}

/* How far the heart lifts each band at each lag over its rest, by the mean over beats.
 * Far frames are never lifted: where beats are found in the quiet part only, they hold the
 * breath itself. */
static void find_trace(fm_breath_cues *c, size_t n)
{
    memset(c->trace, 0, sizeof(c->trace));
    memset(c->observed, 0, sizeof(c->observed));
    for (size_t k = 0; k < n; k++) {
        c->observed[c->lag[k]]++;
        for (size_t b = 0; b < BANDS; b++) {
            c->trace[b][c->lag[k]] += (double)c->level[b][k];
        }
    }
    for (size_t b = 0; b < BANDS; b++) {
        float rows[2 * FM_BREATH_LAGS];
        size_t n_rows = 0;
        for (size_t r = 0; r < (size_t)2 * FM_BREATH_LAGS; r++) {
            if (c->observed[r] > 0) {
                c->trace[b][r] /= c->observed[r];
            }
            if (c->observed[r] >= 8) {
                rows[n_rows++] = (float)c->trace[b][r];
            }
        }
        const float rest = n_rows > 0 ? fm_quantile(rows, n_rows, REST_QUANTILE) : 0.0f;
        for (size_t r = 0; r < (size_t)2 * FM_BREATH_LAGS; r++) {
            const float over = (float)c->trace[b][r] - rest;
            c->over[b][r] =
                c->observed[r] >= 8 && over > 0.0f && !is_far(r) ? over : 0.0f;
            c->weigh[b][r] = expf(-2.0f * c->over[b][r]);
        }
    }
}

/* Take the running mean off and lay down the sums. */
static void lay_down(fm_breath_cues *c, size_t channel, size_t n)
{
    const size_t reach = channel < FM_BREATH_SOUND_CHANNELS ? SOUND_TREND : HEART_TREND;
    double *sum = c->series.sum[channel];
    double *weight = c->series.weight[channel];
    sum[0] = 0.0;
    weight[0] = 0.0;
    for (size_t k = 0; k < n; k++) {
        c->value_weight[k] *= c->open[k];
        const double w = (double)c->value_weight[k];
        sum[k + 1] = sum[k] + w * (double)c->value[k];
        weight[k + 1] = weight[k] + w;
    }
    memcpy(c->running, sum, (n + 1) * sizeof(*sum));
    for (size_t k = 0; k < n; k++) {
        const size_t first = k > reach ? k - reach : 0;
        const size_t last = k + reach < n ? k + reach : n;
        const double w = weight[last] - weight[first];
        const double mean = w > 0.0 ? (c->running[last] - c->running[first]) / w : 0.0;
        sum[k + 1] = sum[k] + (double)c->value_weight[k] * ((double)c->value[k] - mean);
    }
}

static void make_sound(fm_breath_cues *c, size_t channel, size_t n)
{
    const size_t b = 2 * channel + 1;
    for (size_t k = 0; k < n; k++) {
        const size_t r = c->lag[k];
        const float w0 = c->weigh[b][r];
        const float w1 = c->weigh[b + 1][r];
        c->value[k] = (w0 * (c->level[b][k] - c->over[b][r]) +
                       w1 * (c->level[b + 1][k] - c->over[b + 1][r])) /
                      (w0 + w1 + 1e-9f);
        c->value_weight[k] = 0.5f * (w0 + w1);
    }
    lay_down(c, channel, n);
}

/* Fill levels in which nothing was observed from those either side. */
static void fill_unobserved(float *level, const bool *observed, size_t n)
{
    size_t before = n; /* last level observed; n: none yet */
    for (size_t i = 0; i <= n; i++) {
        if (i < n && !observed[i]) {
            continue;
        }
        for (size_t k = before < n ? before + 1 : 0; k < i; k++) {
            if (before < n && i < n) {
                const float share = (float)(k - before) / (float)(i - before);
                level[k] = level[before] + share * (level[i] - level[before]);
            } else {
                level[k] = before < n ? level[before] : i < n ? level[i] : 0.0f;
            }
        }
        before = i;
    }
}

/* The narrow bands: mean level of ten frames, those with heart sound counting less. */
static void make_levels(fm_breath_cues *c, size_t n)
{
    bool observed[FM_BREATH_LEVELS_MAX];
    c->series.n_levels = n / FM_BREATH_LEVEL_SAMPLES;
    for (size_t b = 0; b < BANDS; b++) {
        for (size_t i = 0; i < c->series.n_levels; i++) {
            const size_t first = i * FM_BREATH_LEVEL_SAMPLES;
            float sum = 0.0f;
            float weight = 0.0f;
            for (size_t k = first; k < first + FM_BREATH_LEVEL_SAMPLES; k++) {
                const float over = c->over[b][c->lag[k]];
                const float w = c->weigh[b][c->lag[k]] * c->open[k];
                sum += w * (c->level[b][k] - over);
                weight += w;
            }
            observed[i] = weight > OBSERVED_WEIGHT;
            c->series.level[b][i] = observed[i] ? sum / weight : 0.0f;
        }
        fill_unobserved(c->series.level[b], observed, c->series.n_levels);
    }
}

/* Loudness of each S1 or S2: the two strongest heart bands about its middle. */
static void make_loudness(fm_breath_cues *c,
                          const fm_features *f,
                          const fm_beats *beats,
                          bool s2)
{
    const size_t n = f->n_frames;
    memset(c->value, 0, n * sizeof(*c->value));
    memset(c->value_weight, 0, n * sizeof(*c->value_weight));
    for (size_t i = 0; i < beats->path.n; i++) {
        const size_t k = beats->candidates[beats->path.index[i]].frame;
        if (beats->path.is_s2[i] != s2 || k < SOUND_BACK || k + SOUND_ON >= n) {
            continue;
        }
        double power = 1e-14;
        for (size_t at = k - SOUND_BACK; at < k + SOUND_ON; at++) {
            power += (double)f->power[0][at] + (double)f->power[1][at] +
                     (double)f->power[2][at];
        }
        c->value[k] = (float)log(power);
        c->value_weight[k] = 1.0f;
    }
    lay_down(c, s2 ? FM_BREATH_S2 : FM_BREATH_S1, n);
}

static void make_intervals(fm_breath_cues *c, const fm_beats *beats, size_t n)
{
    memset(c->value, 0, n * sizeof(*c->value));
    memset(c->value_weight, 0, n * sizeof(*c->value_weight));
    double before_s = (double)NAN;
    for (size_t i = 0; i < beats->path.n; i++) {
        if (beats->path.is_s2[i]) {
            continue;
        }
        const double at_s = beats->candidates[beats->path.index[i]].time_s;
        const double length_s = at_s - before_s;
        const double middle_s = at_s - 0.5 * length_s;
        before_s = at_s;
        if (!(length_s > INTERVAL_MIN_S && length_s < INTERVAL_MAX_S)) {
            continue;
        }
        const size_t k = (size_t)(middle_s * FM_FRAME_RATE_HZ);
        if (k < n) {
            c->value[k] = (float)log(length_s);
            c->value_weight[k] = 1.0f;
        }
    }
    lay_down(c, FM_BREATH_INTERVAL, n);
}

const fm_breath_series *fm_breath_cues_make(fm_breath_cues *c,
                                            const fm_features *f,
                                            const fm_beats *beats,
                                            const fm_span *gaps,
                                            size_t n_gaps,
                                            double start_s)
{
    const size_t n = f->n_frames;
    c->series.n = n;
    c->series.length_s = (double)n / FM_FRAME_RATE_HZ;
    for (size_t b = 0; b < BANDS; b++) {
        const float *power = f->power[FIRST_BAND + b];
        for (size_t k = 0; k < n; k++) {
            c->level[b][k] = logf(power[k] + 1e-14f);
        }
    }
    find_open(c, gaps, n_gaps, start_s, n);
    find_lags(c, beats, n);
    find_trace(c, n);
    make_levels(c, n);
    for (size_t channel = 0; channel < FM_BREATH_SOUND_CHANNELS; channel++) {
        make_sound(c, channel, n);
    }
    make_loudness(c, f, beats, false);
    make_loudness(c, f, beats, true);
    make_intervals(c, beats, n);
    return &c->series;
}
