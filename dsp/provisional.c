#include "dsp/provisional.h"

#include "dsp/constants.h"
#include "dsp/signal/filter.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum {
    MARKS_MAX = 64
};

/* Tuned by ear on composed recordings; nothing final depends on them. */
static const double PEAK_FALL_S = 2.5;   /* time constant of the peak's fall */
static const double RISE_SHARE = 0.35;   /* of the peak: a sound begins */
static const double FALL_SHARE = 0.20;   /* of the peak: the sound is over */
static const double REFRACTORY_S = 0.09; /* two marks are never nearer */
static const double DELAY_S = 0.012; /* band-pass and smoother, taken off each time */

struct fm_provisional_marker {
    double rate_hz;
    fm_filter band;
    fm_filter smooth;
    int64_t position;
    double peak;
    double peak_fall; /* factor a sample */
    bool inside;
    double last_s;     /* last mark, -inf before the first */
    double long_gap_s; /* running longer of the two alternating gaps */
    double short_gap_s;
    size_t n_marks;
    fm_provisional marks[MARKS_MAX];
};

fm_provisional_marker *fm_provisional_marker_create(double rate_hz)
{
    fm_provisional_marker *m = calloc(1, sizeof(*m));
    if (!m) {
        return NULL;
    }
    m->rate_hz = rate_hz;
    m->peak_fall = exp(-1.0 / (PEAK_FALL_S * rate_hz));
    if (fm_filter_init_bandpass(&m->band, 2, rate_hz, 30.0, 150.0) != FM_OK ||
        fm_filter_init_lowpass(&m->smooth, 2, rate_hz, 20.0) != FM_OK) {
        free(m);
        return NULL;
    }
    fm_provisional_marker_reset(m);
    return m;
}

void fm_provisional_marker_destroy(fm_provisional_marker *m)
{
    free(m);
}

void fm_provisional_marker_reset(fm_provisional_marker *m)
{
    fm_filter_reset(&m->band);
    fm_filter_reset(&m->smooth);
    m->position = 0;
    m->peak = 0.0;
    m->inside = false;
    m->last_s = -1.0;
    m->long_gap_s = 0.6;
    m->short_gap_s = 0.3;
    m->n_marks = 0;
}

static void mark(fm_provisional_marker *m, double time_s)
{
    const double gap_s = time_s - m->last_s;
    if (m->last_s >= 0.0 && gap_s < REFRACTORY_S) {
        return;
    }
    const double middle_s = 0.5 * (m->long_gap_s + m->short_gap_s);
    const bool is_s2 = m->last_s >= 0.0 && gap_s < middle_s;
    if (m->last_s >= 0.0 && gap_s < 2.0) {
        double *const gap = is_s2 ? &m->short_gap_s : &m->long_gap_s;
        *gap += 0.2 * (gap_s - *gap);
    }
    m->last_s = time_s;
    if (m->n_marks < MARKS_MAX) {
        m->marks[m->n_marks++] = (fm_provisional){time_s, is_s2};
    }
}

static void step(fm_provisional_marker *m, float x)
{
    float v = x;
    fm_filter_process(&m->band, &v, &v, 1);
    v = fabsf(v);
    fm_filter_process(&m->smooth, &v, &v, 1);
    const double envelope = (double)v;
    m->peak = envelope > m->peak ? envelope : m->peak * m->peak_fall;
    /* -80 dBFS: below that nothing is marked. */
    if (!m->inside && m->peak > 1e-4 && envelope > RISE_SHARE * m->peak) {
        m->inside = true;
        const double now_s = (double)m->position / m->rate_hz;
        mark(m, now_s > DELAY_S ? now_s - DELAY_S : 0.0);
    } else if (m->inside && envelope < FALL_SHARE * m->peak) {
        m->inside = false;
    }
}

void fm_provisional_marker_push(fm_provisional_marker *m, const float *in, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        step(m, in && fabsf(in[i]) <= FM_SAMPLE_MAX ? in[i] : 0.0f);
        m->position++;
    }
}

size_t fm_provisional_marker_take(fm_provisional_marker *m,
                                  fm_provisional *out,
                                  size_t max)
{
    const size_t n = m->n_marks < max ? m->n_marks : max;
    memcpy(out, m->marks, n * sizeof(*out));
    memmove(m->marks, m->marks + n, (m->n_marks - n) * sizeof(*m->marks));
    m->n_marks -= n;
    return n;
}
