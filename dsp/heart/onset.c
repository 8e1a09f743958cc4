#include "dsp/heart/onset.h"

#include "dsp/heart/features.h"
#include "dsp/signal/lanes.h"

#include <math.h>
#include <stdlib.h>

enum {
    MS_SAMPLES = 2,   /* working samples a millisecond */
    RMS_SAMPLES = 20, /* 10 ms */
    BEFORE_MS = 140,  /* of the shape, before the middle of the sound */
    AFTER_MS = 90,
    SHAPE_MS = BEFORE_MS + AFTER_MS,
    CORE_FIRST = BEFORE_MS - 70, /* the part that is aligned */
    CORE_LAST = BEFORE_MS + 60,
    ROUNDS = 3,
    FLOOR_MS = 50 /* start of the shape, taken for noise */
};
_Static_assert((int)SHAPE_MS + 2 * (int)FM_ONSET_SHIFT_MAX_MS == (int)FM_ONSET_CUT_MS,
               "a shape fits the memory");

/* 10 % of the peak's RMS is 1 % of its power. */
static const double ONSET_POWER = 0.01;
/* The least that can be told from noise in a mean shape: this many times the floor's own
 * unevenness. Three deviations; common practice, no source. */
static const double CLEAR_OF_NOISE = 3.0;

/* Half the peak's RMS; and the longest that a heart sound takes from its onset to there
 * (composed: 8 to 18 ms). Beyond it lies something else: an S4, a murmur, noise. */
static const double RISE_POWER = 0.25;
static const double RISE_MAX_MS = 12.0;

void fm_onset_load(fm_onset_memory *m, const float *x, size_t n)
{
    m->n = n;
    m->sum[0] = 0.0;
    for (size_t i = 0; i < n; i++) {
        m->sum[i + 1] = m->sum[i] + (double)x[i] * (double)x[i];
    }
}

/* Mean square of the 10 ms up to and around a sample; 0 outside the segment. */
static double power_at(const fm_onset_memory *m, long sample)
{
    const long first = sample - RMS_SAMPLES / 2;
    const long last = sample + RMS_SAMPLES / 2;
    if (first < 0 || last > (long)m->n) {
        return 0.0;
    }
    return (m->sum[last] - m->sum[first]) / RMS_SAMPLES;
}

/* RMS of every millisecond around each sound, with room to shift. */
static void cut_shapes(fm_onset_memory *m, const double *about_s, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        const long middle = lround(about_s[i] * FM_WORK_RATE_HZ);
        for (long k = 0; k < SHAPE_MS + 2 * FM_ONSET_SHIFT_MAX_MS; k++) {
            const long at =
                middle + (k - BEFORE_MS - FM_ONSET_SHIFT_MAX_MS) * MS_SAMPLES;
            m->shapes[i][k] = (float)sqrt(power_at(m, at));
        }
    }
}

static void mean_shape(const fm_onset_memory *m,
                       const int *shift,
                       size_t n,
                       float *mean)
{
    for (size_t k = 0; k < SHAPE_MS; k++) {
        mean[k] = 0.0f;
    }
    for (size_t i = 0; i < n; i++) {
        const float *shape = m->shapes[i] + FM_ONSET_SHIFT_MAX_MS + shift[i];
        /* Each sound counts alike, however loud: one knock must not set the shape. */
        float total = 1e-9f;
        for (size_t k = 0; k < SHAPE_MS; k++) {
            total += shape[k];
        }
        for (size_t k = 0; k < SHAPE_MS; k++) {
            mean[k] += shape[k] / total;
        }
    }
}

/* Energy of the core at every shift. */
FM_WIDE static void core_energy(const float *shape, double *energy)
{
    for (size_t shift = 0; shift < FM_ONSET_SHIFTS; shift++) {
        energy[shift] = 1e-18;
    }
    for (size_t k = CORE_FIRST; k < CORE_LAST; k++) {
        for (size_t shift = 0; shift < FM_ONSET_SHIFTS; shift++) {
            const double v = (double)shape[k + shift];
            energy[shift] += v * v;
        }
    }
}

/* The shift at which a sound fits the mean best (normalised correlation of the core). All
 * shifts side by side: each is a sum of its own. */
FM_WIDE static int best_shift(const float *shape,
                              const double *energy,
                              const float *mean)
{
    double product[FM_ONSET_SHIFTS] = {0.0};
    for (size_t k = CORE_FIRST; k < CORE_LAST; k++) {
        const double m = (double)mean[k];
        for (size_t shift = 0; shift < FM_ONSET_SHIFTS; shift++) {
            product[shift] += (double)shape[k + shift] * m;
        }
    }
    int best = 0;
    double best_fit = -1.0;
    for (int shift = -FM_ONSET_SHIFT_MAX_MS; shift <= FM_ONSET_SHIFT_MAX_MS; shift++) {
        const double fit = product[shift + FM_ONSET_SHIFT_MAX_MS] /
                           sqrt(energy[shift + FM_ONSET_SHIFT_MAX_MS]);
        /* Between equal fits the smaller shift. */
        if (fit > best_fit * (1.0 + 1e-6) ||
            (fit > best_fit * (1.0 - 1e-6) && abs(shift) < abs(best))) {
            best = shift;
            best_fit = fit;
        }
    }
    return best;
}

/* Mean power of the aligned sounds, each millisecond. */
static void mean_power(const fm_onset_memory *m,
                       const int *shift,
                       size_t n,
                       double *power)
{
    for (size_t k = 0; k < SHAPE_MS; k++) {
        power[k] = 0.0;
        for (size_t i = 0; i < n; i++) {
            const double v =
                (double)m->shapes[i][FM_ONSET_SHIFT_MAX_MS + shift[i] + (long)k];
            power[k] += v * v / (double)n;
        }
    }
}

/* The millisecond of the mean shape at which the sound begins. */
static double onset_in_shape(const double *power)
{
    double floor = 0.0;
    for (size_t k = 0; k < FLOOR_MS; k++) {
        floor += power[k] / FLOOR_MS;
    }
    double uneven = 0.0;
    for (size_t k = 0; k < FLOOR_MS; k++) {
        uneven += (power[k] - floor) * (power[k] - floor) / FLOOR_MS;
    }
    size_t peak = CORE_FIRST;
    for (size_t k = CORE_FIRST; k < CORE_LAST; k++) {
        peak = power[k] > power[peak] ? k : peak;
    }
    const double height = power[peak] - floor;
    const double clear = CLEAR_OF_NOISE * sqrt(uneven);
    double threshold = ONSET_POWER * height;
    threshold = threshold > clear ? threshold : clear;
    threshold = threshold < 0.5 * height ? threshold : 0.5 * height;
    size_t rise = peak;
    while (rise > 0 && power[rise - 1] - floor > RISE_POWER * height) {
        rise--;
    }
    size_t k = rise;
    while (k > 0 && power[k - 1] - floor > threshold) {
        k--;
    }
    /* Where noise hides the first part, go on back along the rise: from the threshold to
     * 1 % at the pace from the rise's foot to half the peak's RMS. */
    double hidden_ms = 0.0;
    if (threshold > 1.5 * ONSET_POWER * height) {
        const double seen_nepers = log(RISE_POWER * height / threshold);
        const double hidden_nepers = log(threshold / (ONSET_POWER * height));
        hidden_ms = seen_nepers > 0.2 ? (double)(rise - k) * hidden_nepers / seen_nepers
                                      : RISE_MAX_MS;
    }
    const double onset = (double)k - hidden_ms;
    const double earliest = (double)rise - RISE_MAX_MS;
    return onset > earliest ? onset : earliest;
}

void fm_onset_refine(fm_onset_memory *m,
                     const double *about_s,
                     size_t n,
                     double *onset_s)
{
    int shift[FM_BEATS_MAX] = {0};
    float mean[SHAPE_MS];
    double power[SHAPE_MS];
    n = n < FM_BEATS_MAX ? n : FM_BEATS_MAX;
    if (n == 0) {
        return;
    }
    cut_shapes(m, about_s, n);
    for (size_t i = 0; i < n; i++) {
        core_energy(m->shapes[i], m->energy[i]);
    }
    for (int round = 0; round < ROUNDS; round++) {
        mean_shape(m, shift, n, mean);
        for (size_t i = 0; i < n; i++) {
            shift[i] = best_shift(m->shapes[i], m->energy[i], mean);
        }
    }
    mean_power(m, shift, n, power);
    const double onset_ms = onset_in_shape(power) - BEFORE_MS;
    for (size_t i = 0; i < n; i++) {
        onset_s[i] = about_s[i] + ((double)shift[i] + onset_ms) / 1000.0;
    }
}
