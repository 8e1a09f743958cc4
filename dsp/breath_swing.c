#include "dsp/breath_swing.h"

#include <math.h>
#include <string.h>

/* A little slower than the slowest breath looked for, 4.6 a minute, and 72 a minute. */
static const double FIRST_HZ = 0.07;
static const double LAST_HZ = 1.2;
static const double TWO_PI = 6.28318530717958647692;
/* Rates this near, in steps, cannot be told apart, and so far they can: a whole period more
 * or less over the segment is four (the nearness is ours). */
static const double NEAR_STEPS = 1.5;
static const double APART_STEPS = 4.0;

enum {
    FREE = 3,         /* numbers fitted: level, cosine, sine */
    VALUES_LEAST = 8, /* ours */
    VALUES_MAX = 512  /* beats of a segment, at 8 a second */
};

/* Values of one channel, each at its time, and where each is in its turn at the rate looked at:
 * turned on from rate to rate by the same angle. */
typedef struct values {
    size_t n;
    double value[VALUES_MAX];
    double cosine[VALUES_MAX];
    double sine[VALUES_MAX];
    double on_cosine[VALUES_MAX];
    double on_sine[VALUES_MAX];
} values;

static void gather(const fm_breath_series *s, int c, const fm_swings *w, values *v)
{
    v->n = 0;
    for (size_t k = 0; k < s->n && v->n < VALUES_MAX; k++) {
        const double weight = s->weight[c][k + 1] - s->weight[c][k];
        if (weight > 0.5) {
            const double at_s = (double)k / FM_FRAME_RATE_HZ;
            v->value[v->n] = (s->sum[c][k + 1] - s->sum[c][k]) / weight;
            v->cosine[v->n] = cos(TWO_PI * w->first_hz * at_s);
            v->sine[v->n] = sin(TWO_PI * w->first_hz * at_s);
            v->on_cosine[v->n] = cos(TWO_PI * w->step_hz * at_s);
            v->on_sine[v->n] = sin(TWO_PI * w->step_hz * at_s);
            v->n++;
        }
    }
}

static void turn_on(values *v)
{
    for (size_t i = 0; i < v->n; i++) {
        const double c = v->cosine[i];
        v->cosine[i] = c * v->on_cosine[i] - v->sine[i] * v->on_sine[i];
        v->sine[i] = c * v->on_sine[i] + v->sine[i] * v->on_cosine[i];
    }
}

static double variance(const values *v)
{
    double sum = 0.0;
    double square = 0.0;
    for (size_t i = 0; i < v->n; i++) {
        sum += v->value[i];
        square += v->value[i] * v->value[i];
    }
    return (square - sum * sum / (double)v->n) / (double)v->n;
}

/* Share of the variance that a level and a sine explain (Zechmeister and Kuerster, equations
 * 5 to 15, all weights alike). */
static double explained(const values *v, double all)
{
    double y = 0.0;
    double c = 0.0;
    double s = 0.0;
    double yc = 0.0;
    double ys = 0.0;
    double cc = 0.0;
    double cs = 0.0;
    for (size_t i = 0; i < v->n; i++) {
        y += v->value[i];
        c += v->cosine[i];
        s += v->sine[i];
        yc += v->value[i] * v->cosine[i];
        ys += v->value[i] * v->sine[i];
        cc += v->cosine[i] * v->cosine[i];
        cs += v->cosine[i] * v->sine[i];
    }
    const double n = (double)v->n;
    yc = (yc - y * c / n) / n;
    ys = (ys - y * s / n) / n;
    const double ss = (n - cc - s * s / n) / n;
    cc = (cc - c * c / n) / n;
    cs = (cs - c * s / n) / n;
    const double d = cc * ss - cs * cs;
    if (!(d > 1e-6) || !(all > 0.0)) {
        return 0.0;
    }
    const double share = (ss * yc * yc + cc * ys * ys - 2.0 * cs * yc * ys) / (d * all);
    return share < 0.0 ? 0.0 : share > 1.0 ? 1.0 : share;
}

/* The probability that chance explains a share z of n values is (1 - z)^((n - 3) / 2): the F
 * distribution of 2 and n - 3 (Scargle; Zechmeister and Kuerster, table 1). */
static double surprise_of(double share, size_t n)
{
    return -0.5 * (double)(n - FREE) * log(1.0 - share + 1e-6);
}

void fm_swings_make(const fm_breath_series *series, double beat_s, fm_swings *out)
{
    memset(out, 0, sizeof(*out));
    if (!(beat_s > 0.0) || !(series->length_s > 4.0)) {
        return;
    }
    out->first_hz = FIRST_HZ;
    out->step_hz = 0.25 / series->length_s;
    const double last_hz = fmin(LAST_HZ, 0.5 / beat_s);
    const double n = (last_hz - FIRST_HZ) / out->step_hz;
    if (!(n >= 1.0)) {
        return;
    }
    out->n = n < FM_SWING_RATES ? (size_t)n : FM_SWING_RATES;
    for (int c = 0; c < FM_SWING_CHANNELS; c++) {
        values v;
        gather(series, FM_BREATH_SOUND_CHANNELS + c, out, &v);
        if (v.n < VALUES_LEAST) {
            continue;
        }
        const double all = variance(&v);
        for (size_t i = 0; i < out->n; i++) {
            out->surprise[c][i] = (float)surprise_of(explained(&v, all), v.n);
            turn_on(&v);
        }
    }
}

/* The rates within so many steps of one, as places [first, end). */
static void places(
    const fm_swings *s, double rate_hz, double steps, size_t *first, size_t *end)
{
    const double at = s->n > 0 ? (rate_hz - s->first_hz) / s->step_hz : 0.0;
    const double low = ceil(at - steps);
    const double high = floor(at + steps) + 1.0;
    const double n = (double)s->n;
    *first = (size_t)(low < 0.0 ? 0.0 : low < n ? low : n);
    *end = (size_t)(high < 0.0 ? 0.0 : high < n ? high : n);
}

double fm_swing_near(const fm_swings *s, int channel, double rate_hz)
{
    size_t first = 0;
    size_t end = 0;
    float most = 0.0f;
    places(s, rate_hz, NEAR_STEPS, &first, &end);
    for (size_t i = first; i < end; i++) {
        most = fmaxf(most, s->surprise[channel - FM_BREATH_SOUND_CHANNELS][i]);
    }
    return (double)most;
}

static float together(const fm_swings *s, size_t i)
{
    float sum = 0.0f;
    for (int c = 0; c < FM_SWING_CHANNELS; c++) {
        sum += s->surprise[c][i];
    }
    return sum;
}

double fm_swing_all_near(const fm_swings *s, double rate_hz)
{
    size_t first = 0;
    size_t end = 0;
    float most = 0.0f;
    places(s, rate_hz, NEAR_STEPS, &first, &end);
    for (size_t i = first; i < end; i++) {
        most = fmaxf(most, together(s, i));
    }
    return (double)most;
}

double fm_swing_all_elsewhere(const fm_swings *s, double rate_hz)
{
    size_t first = 0;
    size_t end = 0;
    float most = 0.0f;
    places(s, rate_hz, APART_STEPS, &first, &end);
    for (size_t i = 0; i < s->n; i++) {
        if (i < first || i >= end) {
            most = fmaxf(most, together(s, i));
        }
    }
    return (double)most;
}
