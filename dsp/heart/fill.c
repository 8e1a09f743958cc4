#include "dsp/heart/fill.h"

#include "dsp/heart/features.h"

#include <math.h>

enum {
    BLOCK = 200, /* samples: 100 ms, shorter than a diastole */
    STEP = 50,
    REACH = 3000, /* 1.5 s: holds a diastole from 40 beats per minute on */
    EDGE = 8      /* the resampler's ringing at an edge */
};

static size_t sample_at(const fm_segment *s, double time_s)
{
    const double at = (time_s - s->start_s) * FM_WORK_RATE_HZ;
    return at < 0.0 ? 0 : (at < (double)s->n ? (size_t)at : s->n);
}

static bool is_lost(const fm_segment *s, size_t from, size_t to)
{
    for (size_t i = 0; i < s->n_gaps; i++) {
        const double end_s = s->gaps[i].start_s + s->gaps[i].length_s;
        if (sample_at(s, s->gaps[i].start_s) < to && sample_at(s, end_s) > from) {
            return true;
        }
    }
    return false;
}

/* Power about the mean. */
static double power_of(const float *x)
{
    double sum = 0.0;
    double squares = 0.0;
    for (size_t i = 0; i < BLOCK; i++) {
        sum += (double)x[i];
        squares += (double)x[i] * (double)x[i];
    }
    return squares / BLOCK - sum / BLOCK * sum / BLOCK;
}

/* Looks for a quieter block in [from, to). */
static void look(
    const fm_segment *s, size_t from, size_t to, double *least, const float **quiet)
{
    for (size_t at = from; at + BLOCK <= to; at += STEP) {
        const double power = power_of(s->x + at);
        if (power < *least && !is_lost(s, at, at + BLOCK)) {
            *least = power;
            *quiet = s->x + at;
        }
    }
}

void fm_fill_gaps(fm_segment *s)
{
    for (size_t i = 0; i < s->n_gaps; i++) {
        size_t from = sample_at(s, s->gaps[i].start_s);
        size_t to = sample_at(s, s->gaps[i].start_s + s->gaps[i].length_s);
        from = from > EDGE ? from - EDGE : 0;
        to = to + EDGE < s->n ? to + EDGE : s->n;
        double least = (double)INFINITY;
        const float *quiet = NULL;
        look(s, from > REACH ? from - REACH : 0, from, &least, &quiet);
        look(s, to, to + REACH < s->n ? to + REACH : s->n, &least, &quiet);
        for (size_t k = from; quiet && k < to; k++) {
            const size_t phase = (k - from) % ((size_t)2 * BLOCK);
            s->x[k] = quiet[phase < BLOCK ? phase : 2 * BLOCK - 1 - phase];
        }
    }
}
