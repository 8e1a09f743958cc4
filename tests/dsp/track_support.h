/* A minute's series made of closed forms, and what a search makes of it. */
#ifndef TESTS_DSP_TRACK_SUPPORT_H
#define TESTS_DSP_TRACK_SUPPORT_H

#include "dsp/breath/breath_track.h"

#include "dsp/signal/random.h"

#include "../support.h"

#include <stdlib.h>

enum {
    FRAMES = 6000
};

/* Running sums as breath_cues lays them down, of a function of time in one channel. */
typedef struct bench {
    fm_breath_series series;
    fm_track_frames frames;
    fm_track_model model;
    fm_track_path path;
    fm_track_memory memory;
} bench;

static inline bench *bench_open(void)
{
    bench *b = calloc(1, sizeof(*b));
    assert_non_null(b);
    b->series.n = FRAMES;
    b->series.length_s = FRAMES / 100.0;
    return b;
}

/* Lay down value(t) with weight 1 in a channel, and noise. */
static inline void lay(bench *b, int channel, double (*value)(double), double noise)
{
    fm_random random = fm_random_init(9, (uint64_t)channel);
    for (size_t k = 0; k < FRAMES; k++) {
        const double v =
            value(((double)k + 0.5) / 100.0) + noise * fm_random_normal(&random);
        b->series.sum[channel][k + 1] = b->series.sum[channel][k] + v;
        b->series.weight[channel][k + 1] = b->series.weight[channel][k] + 1.0;
    }
}

#endif
