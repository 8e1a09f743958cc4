#ifndef TESTS_DSP_BREATH_SUPPORT_H
#define TESTS_DSP_BREATH_SUPPORT_H

#include "dsp/analyser.h"
#include "dsp/signal/random.h"

#include "../support.h"

#include <stdlib.h>
#include <string.h>

/* A train of breaths made of noise: inspiration under half a sine from the start of the
 * breath, expiration under another right behind it, then silence. */
typedef struct train {
    double rate_hz;
    double seconds;
    double per_min;
    double first_s;
    double inspiration; /* share of the breath */
    double expiration;  /* share of the breath */
    double loudness;    /* of expiration against inspiration, amplitude; 0 none */
    double dullness;    /* one-pole low-pass of expiration, 0 none .. 0.9 */
    double floor;       /* amplitude of steady noise */
    uint64_t seed;
} train;

static inline train train_of(double per_min)
{
    return (train){.rate_hz = 4000.0,
                   .seconds = 60.0,
                   .per_min = per_min,
                   .first_s = 0.35 * 60.0 / per_min,
                   .inspiration = 0.4,
                   .expiration = 0.36,
                   .loudness = 0.5,
                   .dullness = 0.5,
                   .floor = 0.002,
                   .seed = 5};
}

static inline double half_sine(double share)
{
    return share > 0.0 && share < 1.0 ? sin(3.14159265358979323846 * share) : 0.0;
}

/* samples[0..n-1]; free with free. */
static inline float *train_make(const train *t, size_t *n)
{
    *n = (size_t)(t->seconds * t->rate_hz);
    float *x = malloc(*n * sizeof(*x));
    assert_non_null(x);
    fm_random random = fm_random_init(t->seed, 77);
    const double breath_s = 60.0 / t->per_min;
    double dull = 0.0;
    for (size_t i = 0; i < *n; i++) {
        const double since = (double)i / t->rate_hz - t->first_s + 4.0 * breath_s;
        const double share = fmod(since, breath_s) / breath_s;
        const double noise = fm_random_normal(&random);
        dull = t->dullness * dull + (1.0 - t->dullness) * noise;
        const double in = half_sine(share / t->inspiration) * noise;
        const double ex = half_sine((share - t->inspiration) / t->expiration) * dull;
        x[i] = (float)(0.05 * (in + t->loudness * ex) +
                       t->floor * fm_random_normal(&random));
    }
    return x;
}

/* Starts in [0, seconds). */
static inline int train_count(const train *t)
{
    int n = 0;
    for (double at = t->first_s; at < t->seconds; at += 60.0 / t->per_min) {
        n++;
    }
    return n;
}

/* The whole library's answer on samples, one window from their start. */
static inline fm_count *count_samples(const float *x, size_t n, double rate_hz)
{
    fm_status status = FM_OK;
    fm_analyser *a = fm_analyser_create(rate_hz, &status);
    fm_count *c = malloc(sizeof(*c));
    assert_true(a != NULL && c != NULL);
    assert_int_equal(fm_analyser_open(a, 0, (int64_t)n), FM_OK);
    status = fm_analyser_push(a, x, n); /* lost audio may be given as no numbers */
    assert_true(status == FM_OK || status == FM_ERR_NOT_FINITE);
    assert_int_equal(fm_analyser_finish(a), FM_OK);
    assert_true(fm_analyser_take(a, c));
    fm_analyser_destroy(a);
    return c;
}

#endif
