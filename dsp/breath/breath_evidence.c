#include "dsp/breath/breath_evidence.h"

#include "dsp/constants.h"
#include "dsp/signal/peaks.h"

#include <math.h>
#include <string.h>

/* 70 a minute, a little over the fastest composed and marked; 6 % is about as near as a
 * segment of ten breaths tells two lengths apart. */
static const double LENGTH_MIN_S = 0.857;
static const double LENGTH_STEP = 1.06;
/* A level farther off the mean than this many deviations counts as one so far: a knock. */
static const float FAR_DEVIATIONS = 3.0f;
/* Added to a band's deviation, natural log of power: a band in which nothing moves is not
 * blown up (ours). */
static const float QUIET_DEVIATION = 0.05f;
/* Rates within this share of a lag are looked at for the most alike (ours). */
static const double LAG_SHARE = 0.04;
/* A length this near, natural log, is a heart beat's (ours). */
static const double SAME_LENGTH = 0.07;

enum {
    TREND = 200,         /* levels either side of the running mean taken off */
    SMOOTH = 3,          /* levels either side that smoothing reaches */
    ENDS = 10,           /* products a lag has at least */
    LOW_BANDS = 3,       /* under 211 Hz */
    HIGH_FROM = 4,       /* band 305 Hz and up */
    HEART_BEATS_MIN = 8, /* under so many beats nothing is followed (ours) */
    TIMES = FM_LENGTH_LOUDNESS_THIRD, /* multiples of a breath that each way looks at */
    HEART_NUMBERS = FM_LENGTH_S2_HALF - FM_LENGTH_S1_HALF,
    /* Ways in which the sound may be alike. */
    SET_ALL = FM_LENGTH_ALL_THIRD / TIMES,
    SET_LOUDNESS = FM_LENGTH_LOUDNESS_THIRD / TIMES,
    SET_TIMBRE = FM_LENGTH_TIMBRE_THIRD / TIMES,
    SET_HIGH = FM_LENGTH_HIGH_THIRD / TIMES,
    SET_LOW = FM_LENGTH_LOW_THIRD / TIMES,
    SET_EVEN = FM_LENGTH_EVEN_THIRD / TIMES,
    SET_EVEN_TIMBRE = FM_LENGTH_EVEN_TIMBRE_THIRD / TIMES,
    SETS
};
_Static_assert((int)SETS == (int)FM_LIKENESS_SETS, "the memory has room for every way");

/* How many of the hypothesis's breaths later a number looks. */
#define LATER(name, cues, breaths) breaths,
static const double BREATHS_LATER[FM_LENGTH_SIZE] = {FM_LENGTH_MAP(LATER)};

double fm_breath_hypothesis_s(size_t j)
{
    return LENGTH_MIN_S * pow(LENGTH_STEP, (double)j);
}

/* Gaussian of 80 ms, the ends reflected. */
static void smooth(const float *in, size_t n, float *out)
{
    float weight[SMOOTH + 1];
    float sum = 0.0f;
    for (int k = 0; k <= SMOOTH; k++) {
        weight[k] = (float)exp(-0.5 * k * k / (0.8 * 0.8));
        sum += k == 0 ? weight[k] : 2.0f * weight[k];
    }
    const long last = (long)n - 1;
    for (long i = 0; i <= last; i++) {
        float v = 0.0f;
        for (long k = -SMOOTH; k <= SMOOTH; k++) {
            long at = i + k;
            at = at < 0 ? -at - 1 : at > last ? 2 * last + 1 - at : at;
            v += weight[k < 0 ? -k : k] * in[at];
        }
        out[i] = v / sum;
    }
}

/* Takes the mean of what lies within TREND off each value. */
static void remove_trend(float *x, size_t n, float *before)
{
    double sum = 0.0;
    for (size_t i = 0; i < n && i < TREND; i++) {
        sum += (double)x[i];
    }
    memcpy(before, x, n * sizeof(*x));
    for (size_t i = 0; i < n; i++) {
        sum += i + TREND < n ? (double)before[i + TREND] : 0.0;
        sum -= i > TREND ? (double)before[i - TREND - 1] : 0.0;
        const size_t first = i > TREND ? i - TREND : 0;
        const size_t last = i + TREND < n ? i + TREND : n - 1;
        x[i] = (float)((double)before[i] - sum / (double)(last - first + 1));
    }
}

/* Deviation about the mean. */
static float deviation(const float *x, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += (double)x[i];
    }
    const double mean = sum / (double)n;
    return (float)sqrt(fmax(0.0, fm_mean_square(x, n) - mean * mean));
}

static void limit(float *x, size_t n, float most)
{
    for (size_t i = 0; i < n; i++) {
        x[i] = x[i] > most ? most : x[i] < -most ? -most : x[i];
    }
}

static void prepare(fm_breath_likeness *l, const fm_breath_series *s)
{
    l->n = s->n_levels;
    l->n_lags = l->n > ENDS ? l->n - ENDS : 1;
    l->n_lags = l->n_lags < FM_LIKENESS_LAGS ? l->n_lags : FM_LIKENESS_LAGS;
    memset(l->loudness, 0, sizeof(l->loudness));
    memset(l->even, 0, sizeof(l->even));
    for (size_t b = 0; b < FM_BREATH_BANDS; b++) {
        float *x = l->x[b];
        smooth(s->level[b], l->n, x);
        remove_trend(x, l->n, l->running);
        limit(x, l->n, FAR_DEVIATIONS * deviation(x, l->n));
        memset(x + l->n, 0, FM_AUTOCORRELATION_ROOM * sizeof(*x));
        l->deviation[b] = deviation(x, l->n) + QUIET_DEVIATION;
        for (size_t i = 0; i < l->n; i++) {
            l->loudness[i] += x[i] / FM_BREATH_BANDS;
            l->even[i] += x[i] / (FM_BREATH_BANDS * l->deviation[b]);
        }
    }
}

/* Adds weight times the products of x at every lag. */
static void add_products(const fm_breath_likeness *l,
                         const float *x,
                         double weight,
                         float *sum)
{
    float r[FM_LIKENESS_LAGS];
    if (fm_autocorrelation(x, l->n, r, l->n_lags) != FM_OK) {
        return;
    }
    const float scale = (float)(weight * fm_mean_square(x, l->n));
    for (size_t k = 0; k < l->n_lags; k++) {
        sum[k] += scale * r[k];
    }
}

static void make_alike(fm_breath_likeness *l)
{
    memset(l->alike, 0, sizeof(l->alike));
    for (size_t b = 0; b < FM_BREATH_BANDS; b++) {
        float one[FM_LIKENESS_LAGS] = {0};
        const float even = 1.0f / (l->deviation[b] * l->deviation[b]);
        add_products(l, l->x[b], 1.0, one);
        for (size_t k = 0; k < l->n_lags; k++) {
            l->alike[SET_ALL][k] += one[k];
            l->alike[SET_LOW][k] += b < LOW_BANDS ? one[k] : 0.0f;
            l->alike[SET_HIGH][k] += b >= HIGH_FROM ? one[k] : 0.0f;
            l->alike[SET_EVEN][k] += even * one[k];
        }
    }
    add_products(l, l->loudness, 1.0, l->alike[SET_LOUDNESS]);
    /* What the bands do beside their mean: products of the differences, summed. */
    memcpy(l->alike[SET_TIMBRE], l->alike[SET_ALL], sizeof(l->alike[0]));
    add_products(l, l->loudness, -(double)FM_BREATH_BANDS, l->alike[SET_TIMBRE]);
    memcpy(l->alike[SET_EVEN_TIMBRE], l->alike[SET_EVEN], sizeof(l->alike[0]));
    add_products(l, l->even, -(double)FM_BREATH_BANDS, l->alike[SET_EVEN_TIMBRE]);
    for (size_t set = 0; set < SETS; set++) {
        float *a = l->alike[set];
        const float all = a[0] > 1e-9f ? a[0] : 1e-9f;
        for (size_t k = 0; k < l->n_lags; k++) {
            a[k] /= all;
        }
    }
}

/* A heart channel at the levels' times, straight lines between the beats. */
static size_t lay_beats(const fm_breath_series *s, int channel, size_t n, float *x)
{
    size_t beats = 0;
    size_t next = 0; /* level to be filled */
    double before_s = 0.0;
    float before = 0.0f;
    for (size_t k = 0; k < s->n; k++) {
        const double w = s->weight[channel][k + 1] - s->weight[channel][k];
        if (!(w > 0.5)) {
            continue;
        }
        const double at_s = (double)k / FM_FRAME_RATE_HZ;
        const float now = (float)((s->sum[channel][k + 1] - s->sum[channel][k]) / w);
        for (; next < n && (double)next / FM_BREATH_LEVEL_HZ <= at_s; next++) {
            const double share =
                beats > 0
                    ? ((double)next / FM_BREATH_LEVEL_HZ - before_s) / (at_s - before_s)
                    : 1.0;
            x[next] = before + (float)share * (now - before);
        }
        before = now;
        before_s = at_s;
        beats++;
    }
    for (; next < n; next++) {
        x[next] = before;
    }
    return beats;
}

static void make_heart(fm_breath_likeness *l, const fm_breath_series *s)
{
    float *x = l->running;
    for (int c = 0; c < FM_HEART_CHANNELS; c++) {
        float far[FM_LIKENESS_ROOM];
        memset(x, 0, sizeof(l->running));
        const int channel = FM_BREATH_SOUND_CHANNELS + c;
        l->has_heart[c] = lay_beats(s, channel, l->n, x) >= HEART_BEATS_MIN;
        if (!l->has_heart[c]) {
            continue;
        }
        for (size_t i = 0; i < l->n; i++) {
            far[i] = fabsf(x[i]);
        }
        const float usual = fm_quantile(far, l->n, 0.5);
        limit(x, l->n, FAR_DEVIATIONS * (float)FM_MAD_TO_SD * usual + 1e-6f);
        l->has_heart[c] = fm_autocorrelation(x, l->n, l->heart[c], l->n_lags) == FM_OK;
    }
}

/* The most alike near a lag of so many levels; 0 beyond the longest lag. */
static double at(const fm_breath_likeness *l, const float *alike, double lag)
{
    const long middle = lround(lag);
    const long share = lround(LAG_SHARE * lag);
    const long reach = share > 1 ? share : 1;
    if (middle >= (long)l->n_lags) {
        return 0.0;
    }
    const long first = middle > reach ? middle - reach : 0;
    const long end = (long)l->n_lags;
    const long last = middle + reach + 1 < end ? middle + reach + 1 : end;
    double most = -1.0;
    for (long k = first; k < last; k++) {
        most = fmax(most, (double)alike[k]);
    }
    return most;
}

static void put_contrast(const fm_breath_likeness *l, double t, float *value)
{
    static const int set[] = {SET_ALL, SET_TIMBRE, SET_EVEN, SET_EVEN_TIMBRE};
    for (size_t i = 0; i < sizeof(set) / sizeof(set[0]); i++) {
        const float *a = l->alike[set[i]];
        const double whole = at(l, a, t);
        const double half = at(l, a, 0.5 * t);
        *value++ = (float)(whole - 0.5 * (at(l, a, 0.85 * t) + at(l, a, 1.15 * t)));
        *value++ = (float)(half - 0.5 * (at(l, a, 0.4 * t) + at(l, a, 0.6 * t)));
        *value++ = (float)(whole - half);
        *value++ = (float)(whole - at(l, a, 2.0 * t));
    }
}

static void put_heart(const fm_breath_likeness *l, double t, float *value)
{
    memset(value, 0, (FM_LENGTH_HEARD - FM_LENGTH_S1_HALF) * sizeof(*value));
    for (size_t c = 0; c < FM_HEART_CHANNELS; c++, value += HEART_NUMBERS) {
        if (!l->has_heart[c]) {
            continue;
        }
        const float *a = l->heart[c];
        for (size_t k = 0; k + 1 < HEART_NUMBERS; k++) {
            value[k] = (float)at(l, a, BREATHS_LATER[FM_LENGTH_S1_HALF + k] * t);
        }
        value[HEART_NUMBERS - 1] =
            (float)(at(l, a, t) - 0.5 * (at(l, a, 0.75 * t) + at(l, a, 1.25 * t)));
    }
}

/* Beats to a breath; what goes with the beats themselves, or every second, is the heart. */
static void put_beat(double t_s, double beat_s, double length_s, float *value)
{
    const bool heard = beat_s > 0.0;
    const double off = heard ? log(beat_s / t_s) : 0.0;
    value[FM_LENGTH_HEARD] = heard ? 1.0f : 0.0f;
    value[FM_LENGTH_BEAT] = (float)fmin(1.0, fmax(-4.0, off));
    value[FM_LENGTH_IS_BEAT] = heard && fabs(off) < SAME_LENGTH ? 1.0f : 0.0f;
    value[FM_LENGTH_IS_TWO] = heard && fabs(off + log(2.0)) < SAME_LENGTH ? 1.0f : 0.0f;
    value[FM_LENGTH_BEATS] = heard ? (float)log(length_s / beat_s) - 4.0f : 0.0f;
}

/* How far each length is under the most alike of all: the sound in three ways, each heart
 * channel, and these together. */
static void put_under(fm_breath_evidence *e)
{
    static const size_t OF[] = {FM_LENGTH_ALL_ONE,         FM_LENGTH_EVEN_ONE,
                                FM_LENGTH_EVEN_TIMBRE_ONE, FM_LENGTH_S1_ONE,
                                FM_LENGTH_S2_ONE,          FM_LENGTH_INTERVAL_ONE};
    for (size_t u = FM_LENGTH_UNDER_ALL; u < FM_LENGTH_SIZE; u++) {
        float most = -10.0f;
        for (size_t j = 0; j < FM_BREATH_HYPOTHESES; j++) {
            float *v = e->value[j];
            v[u] = u == FM_LENGTH_UNDER_HEART
                       ? v[FM_LENGTH_S1_ONE] + v[FM_LENGTH_S2_ONE] +
                             v[FM_LENGTH_INTERVAL_ONE]
                       : v[OF[u - FM_LENGTH_UNDER_ALL]];
            most = fmaxf(most, v[u]);
        }
        for (size_t j = 0; j < FM_BREATH_HYPOTHESES; j++) {
            e->value[j][u] -= most;
        }
    }
}

void fm_breath_evidence_gather(fm_breath_likeness *l,
                               const fm_breath_series *series,
                               double beat_s,
                               fm_breath_evidence *out)
{
    prepare(l, series);
    make_alike(l);
    make_heart(l, series);
    double depth = 0.0;
    for (size_t b = 0; b < FM_BREATH_BANDS; b++) {
        depth += fm_mean_square(l->x[b], l->n) / FM_BREATH_BANDS;
    }
    for (size_t j = 0; j < FM_BREATH_HYPOTHESES; j++) {
        const double t_s = fm_breath_hypothesis_s(j);
        const double t = t_s * FM_BREATH_LEVEL_HZ;
        float *value = out->value[j];
        for (size_t set = 0; set < SETS; set++) {
            for (size_t k = 0; k < TIMES; k++) {
                value[set * TIMES + k] =
                    (float)at(l, l->alike[set], BREATHS_LATER[k] * t);
            }
        }
        put_contrast(l, t, value + FM_LENGTH_ALL_TOP);
        value[FM_LENGTH_BREATHS] = (float)log((double)l->n / t);
        value[FM_LENGTH_DEPTH] = (float)log(sqrt(depth) + 0.05);
        put_heart(l, t, value + FM_LENGTH_S1_HALF);
        put_beat(t_s, beat_s, (double)l->n / FM_BREATH_LEVEL_HZ, value);
    }
    put_under(out);
}
