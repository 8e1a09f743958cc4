#include "dsp/heart/features.h"

#include "dsp/signal/autocorrelation.h"
#include "dsp/signal/peaks.h"
#include "dsp/signal/running_floor.h"
#include "dsp/signal/short_time.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    FFT_N = FM_SHORT_N, /* samples of a frame's spectrum */
    HIGH_FROM = 4,      /* first band counted as high */
    FLAT_FIRST = 7,     /* bins of the flatness: 109 Hz up */
    FLAT_LAST = 58,
    FLAT_EVERY =
        4 /* frames from one flatness to the next: they overlap, and 40 ms of speech are
                      alike. Ours */
};

/* The local floor of a band: the 30th percentile within 1.5 s, every 0.25 s. At 40 beats per minute
 * 3 s still hold two diastoles, which are more than a third of it; ours, no source. */
static const fm_floor_reach FLOOR = {.hop = 25, .reach = 150, .quantile = 0.3};

/* First bin of each band and one past the last: 23-55, 55-86, 86-148, 148-211, 211-305,
 * 305-445, 445-617, 617-898 Hz. Heart sounds lie mostly in the first three (S1 about
 * 30-150 Hz, S2 to about 200 Hz, from memory); the rest serve small microphones and tell
 * speech and friction. */
static const size_t BAND_EDGES[FM_BANDS + 1] = {2, 4, 6, 10, 14, 20, 29, 40, 58};

/* A band's level is in units of its own louder moments (the 93rd percentile: sounds of 60 to 100 ms,
 * twice a cycle, take up a tenth to a quarter), no finer than a factor of two in power, and within
 * -1..2 of them, so that one knock is no more than two beats. Ours; the tables were learned with these. */
static const double LOUD_QUANTILE = 0.93;
static const float SPREAD_MIN = 0.7f; /* natural log */
static const float LEVEL_MIN = -1.0f;
static const float LEVEL_MAX = 2.0f;
/* A band counts by the square of how well it repeats, and a little whatever it does. The two highest
 * bands hold little heart and much speech: half the say, squared. Ours. */
static const double PERIODICITY_MIN = 0.05;
static const double HIGHEST_SAY = 0.25;

struct fm_feature_maker {
    fm_short_time short_time;
    float level[FM_BANDS][FM_FRAMES_MAX];
    float power[FM_BANDS][FM_FRAMES_MAX];
    float envelope[FM_FRAMES_MAX];
    float floor[FM_FRAMES_MAX];
    float scratch[FM_FRAMES_MAX + FM_AUTOCORRELATION_ROOM];
    uint16_t bin[FM_FRAMES_MAX];
};

fm_feature_maker *fm_feature_maker_create(void)
{
    fm_feature_maker *m = calloc(1, sizeof(*m));
    if (m) {
        fm_short_time_init(&m->short_time);
    }
    return m;
}

void fm_feature_maker_destroy(fm_feature_maker *m)
{
    free(m);
}

/* Geometric over arithmetic mean of the bins where speech has its overtones. */
static double flatness_of(const float *power)
{
    double sum = 0.0;
    double log_sum = 0.0;
    for (size_t bin = FLAT_FIRST; bin < FLAT_LAST; bin++) {
        sum += (double)power[bin];
        log_sum += (double)logf(power[bin] + 1e-20f);
    }
    const double count = FLAT_LAST - FLAT_FIRST;
    return exp(log_sum / count) / (sum / count + 1e-20);
}

static void frame_powers(
    fm_feature_maker *m, const float *x, size_t n, size_t n_frames, fm_features *f)
{
    double total = 0.0;
    double high = 0.0;
    double flat = 0.0;
    double flat_weight = 1e-20;
    float block[FFT_N];
    float power[FM_SHORT_LAST];
    /* Hann window: mean square of a stretch = sum of |X|^2 / (n * sum of window^2). */
    const float scale = 2.0f / (float)FFT_N / (0.375f * (float)FFT_N);
    for (size_t k = 0; k < n_frames; k++) {
        const long first = (long)(k * FM_FRAME_SAMPLES) - FFT_N / 2;
        if (first >= 0 && first + FFT_N <= (long)n) {
            memcpy(block, x + first, sizeof(block));
        } else {
            for (long i = 0; i < FFT_N; i++) {
                const long at = first + i;
                block[i] = at >= 0 && at < (long)n ? x[at] : 0.0f;
            }
        }
        fm_short_time_power(&m->short_time, block, power);
        for (size_t b = 0; b < FM_BANDS; b++) {
            float sum = 0.0f;
            for (size_t bin = BAND_EDGES[b]; bin < BAND_EDGES[b + 1]; bin++) {
                sum += power[bin];
            }
            m->power[b][k] = sum * scale;
            total += (double)sum;
            high += b >= HIGH_FROM ? (double)sum : 0.0;
        }
        if (k % FLAT_EVERY == 0) {
            double weight = 0.0;
            for (size_t b = HIGH_FROM; b < FM_BANDS; b++) {
                weight += (double)m->power[b][k];
            }
            flat += weight * flatness_of(power);
            flat_weight += weight;
        }
    }
    f->high_share = total > 0.0 ? high / total : 0.0;
    f->flatness = flat / flat_weight;
}

/* Log power minus its floor, in units of its own spread. */
static void band_level(fm_feature_maker *m, const float *power, size_t n, float *level)
{
    /* -120 dBFS: below any microphone's noise, keeps the logarithm finite. */
    const float tiny = 1e-12f;
    for (size_t k = 0; k < n; k++) {
        level[k] = logf(power[k] + tiny);
    }
    fm_running_floor(level, n, &FLOOR, m->bin, m->floor);
    for (size_t k = 0; k < n; k++) {
        level[k] -= m->floor[k];
    }
    memcpy(m->scratch, level, n * sizeof(*level));
    float spread = fm_quantile(m->scratch, n, LOUD_QUANTILE);
    spread = spread > SPREAD_MIN ? spread : SPREAD_MIN;
    for (size_t k = 0; k < n; k++) {
        const float z = level[k] / spread;
        level[k] = fminf(fmaxf(z, LEVEL_MIN), LEVEL_MAX);
    }
}

fm_status fm_features_autocorrelation(
    fm_feature_maker *m, const float *x, size_t n, float *r, size_t n_lags)
{
    if (n < 2 || n > FM_FRAMES_MAX) {
        return FM_ERR_ARG;
    }
    double mean = 0.0;
    for (size_t k = 0; k < n; k++) {
        mean += (double)x[k];
    }
    mean /= (double)n;
    for (size_t k = 0; k < n; k++) {
        m->scratch[k] = (float)((double)x[k] - mean);
    }
    memset(m->scratch + n, 0, FM_AUTOCORRELATION_ROOM * sizeof(*m->scratch));
    return fm_autocorrelation(m->scratch, n, r, n_lags);
}

/* Height of the best local maximum of the autocorrelation over the range of beats. */
static double periodicity(fm_feature_maker *m, const float *level, size_t n)
{
    float r[FM_LAG_LAST + 2];
    const size_t n_lags = n / 2 < FM_LAG_LAST + 2 ? n / 2 : FM_LAG_LAST + 2;
    if (fm_features_autocorrelation(m, level, n, r, n_lags) != FM_OK) {
        return 0.0;
    }
    double best = 0.0;
    for (size_t lag = FM_LAG_FIRST; lag + 1 < n_lags; lag++) {
        if (r[lag] >= r[lag - 1] && r[lag] >= r[lag + 1] && (double)r[lag] > best) {
            best = (double)r[lag];
        }
    }
    return best;
}

static void weigh_bands(fm_feature_maker *m, fm_features *f)
{
    double sum = 0.0;
    for (size_t b = 0; b < FM_BANDS; b++) {
        f->periodicity[b] = periodicity(m, f->level[b], f->n_frames);
        const double say = b >= FM_BANDS - 2 ? HIGHEST_SAY : 1.0;
        const double p = fmax(f->periodicity[b], PERIODICITY_MIN);
        f->weight[b] = say * p * p;
        sum += f->weight[b];
    }
    for (size_t b = 0; b < FM_BANDS; b++) {
        f->weight[b] /= sum;
    }
}

fm_status fm_features_make(fm_feature_maker *m,
                           const float *x,
                           size_t n,
                           fm_features *f)
{
    if (n > FM_SEGMENT_SAMPLES) {
        return FM_ERR_ARG;
    }
    if (n < (size_t)FM_WORK_RATE_HZ) {
        return FM_ERR_SHORT;
    }
    f->n_frames = n / FM_FRAME_SAMPLES;
    frame_powers(m, x, n, f->n_frames, f);
    for (size_t b = 0; b < FM_BANDS; b++) {
        f->power[b] = m->power[b];
        f->level[b] = m->level[b];
        band_level(m, f->power[b], f->n_frames, f->level[b]);
    }
    f->envelope = m->envelope;
    weigh_bands(m, f);
    for (size_t k = 0; k < f->n_frames; k++) {
        double sum = 0.0;
        for (size_t b = 0; b < FM_BANDS; b++) {
            sum += f->weight[b] * (double)f->level[b][k];
        }
        f->envelope[k] = (float)sum;
    }
    return FM_OK;
}
