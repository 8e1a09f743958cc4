#include "dsp/compose/compose_band.h"

#include <kiss_fftr.h>

#include <stdlib.h>
#include <string.h>

static const double BLOCK_S = 4.0; /* lines at most 0.25 Hz apart */

struct fm_band_meter {
    double rate_hz;
    size_t block;
    kiss_fftr_cfg plan;
    kiss_fft_scalar *in;
    kiss_fft_cpx *out;
};

fm_band_meter *fm_band_meter_create(double rate_hz)
{
    fm_band_meter *const m = calloc(1, sizeof *m);
    if (m == NULL) {
        return NULL;
    }
    m->rate_hz = rate_hz;
    m->block = 1024;
    while ((double)m->block < BLOCK_S * rate_hz) {
        m->block *= 2;
    }
    m->plan = kiss_fftr_alloc((int)m->block, 0, NULL, NULL);
    m->in = calloc(m->block, sizeof *m->in);
    m->out = calloc(m->block / 2 + 1, sizeof *m->out);
    if (m->plan == NULL || m->in == NULL || m->out == NULL) {
        fm_band_meter_destroy(m);
        return NULL;
    }
    return m;
}

void fm_band_meter_destroy(fm_band_meter *m)
{
    if (m != NULL) {
        kiss_fftr_free(m->plan);
        free(m->in);
        free(m->out);
        free(m);
    }
}

/* Energy of one block, what is missing at its end counted as zeros. */
static double block_energy(
    fm_band_meter *m, const float *x, size_t n, double low_hz, double high_hz)
{
    memcpy(m->in, x, n * sizeof *x);
    memset(m->in + n, 0, (m->block - n) * sizeof *m->in);
    kiss_fftr(m->plan, m->in, m->out);
    const double step_hz = m->rate_hz / (double)m->block;
    double energy = 0.0;
    for (size_t k = 1; k <= m->block / 2; k++) {
        const double f = (double)k * step_hz;
        if (f >= low_hz && f <= high_hz) {
            const double re = (double)m->out[k].r;
            const double im = (double)m->out[k].i;
            /* each line stands for two but the last, at half the rate */
            energy += (k == m->block / 2 ? 1.0 : 2.0) * (re * re + im * im);
        }
    }
    return energy / (double)m->block;
}

double fm_band_meter_power(
    fm_band_meter *m, const float *x, size_t n, double low_hz, double high_hz)
{
    double energy = 0.0;
    for (size_t at = 0; at < n; at += m->block) {
        const size_t part = n - at < m->block ? n - at : m->block;
        energy += block_energy(m, x + at, part, low_hz, high_hz);
    }
    return n == 0 ? 0.0 : energy / (double)n;
}
