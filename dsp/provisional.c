#include "dsp/provisional.h"

#include "dsp/compare/agreement.h"
#include "dsp/constants.h"
#include "dsp/signal/filter.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum {
    MARKS_MAX = 64,
    GAPS = 12, /* the last ones: six of either kind */
    GAPS_LEAST = 6
};

/* Tuned by ear on composed recordings; nothing final depends on them. */
static const double PEAK_FALL_S = 2.5;   /* time constant of the peak's fall */
static const double RISE_SHARE = 0.35;   /* of the peak: a sound begins */
static const double FALL_SHARE = 0.20;   /* of the peak: the sound is over */
static const double REFRACTORY_S = 0.09; /* two marks are never nearer */
static const double ALIKE = 1.2;         /* long over short: under it both are alike */
/* A shorter cycle, over 120 a minute: diastole is no longer than systole (from memory), and
 * the longer gap says nothing. */
static const double CYCLE_S = 0.5;
static const double NEAR = 0.15;     /* of its kind's: a gap of that kind */
static const double DELAY_S = 0.012; /* band-pass and smoother, taken off each time */

struct fm_provisional_marker {
    double rate_hz;
    fm_filter band;
    fm_filter smooth;
    int64_t position;
    double peak;
    double peak_fall; /* factor a sample */
    bool inside;
    double last_s; /* last mark, < 0 before the first */
    fm_provisional_kind last_kind;
    size_t n_gaps; /* ever seen; gaps_s holds the last of them, in a ring */
    double gaps_s[GAPS];
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
    m->last_kind = FM_PROVISIONAL_UNSURE;
    m->n_gaps = 0;
    m->n_marks = 0;
}

/* By the gap before it: the lower half of the last gaps against the upper one. */
static fm_provisional_kind kind_of(const fm_provisional_marker *m, double gap_s)
{
    const size_t n = m->n_gaps < GAPS ? m->n_gaps : GAPS;
    double sorted_s[GAPS];
    memcpy(sorted_s, m->gaps_s, n * sizeof *sorted_s);
    fm_sort_ascending(sorted_s, n);
    const double short_s = sorted_s[n / 4];
    const double long_s = sorted_s[n - 1 - n / 4];
    if (n < GAPS_LEAST || long_s < ALIKE * short_s || short_s + long_s < CYCLE_S) {
        return FM_PROVISIONAL_UNSURE;
    }
    return fabs(gap_s - short_s) < NEAR * short_s ? FM_PROVISIONAL_S2
           : fabs(gap_s - long_s) < NEAR * long_s ? FM_PROVISIONAL_S1
                                                  : FM_PROVISIONAL_UNSURE;
}

static void mark(fm_provisional_marker *m, double time_s)
{
    const double gap_s = time_s - m->last_s;
    if (m->last_s >= 0.0 && gap_s < REFRACTORY_S) {
        return;
    }
    fm_provisional_kind kind = FM_PROVISIONAL_UNSURE;
    if (m->last_s >= 0.0) {
        m->gaps_s[m->n_gaps++ % GAPS] = gap_s;
        kind = kind_of(m, gap_s);
        kind = kind == m->last_kind ? FM_PROVISIONAL_UNSURE : kind; /* they alternate */
    }
    m->last_kind = kind;
    m->last_s = time_s;
    if (m->n_marks < MARKS_MAX) {
        m->marks[m->n_marks++] = (fm_provisional){time_s, kind};
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
