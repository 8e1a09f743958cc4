#include "dsp/signal/spectrum.h"

#include "dsp/constants.h"

#include <kiss_fftr.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

struct fm_spectrum {
    size_t n;
    kiss_fftr_cfg forward;
    float *hann;        /* hann[0..n-1], periodic */
    double hann_sq;     /* sum of hann[i]^2 */
    float *work;        /* work[0..n-1] */
    kiss_fft_cpx *bins; /* bins[0..n/2] */
};

fm_spectrum *fm_spectrum_create(size_t n)
{
    if (n < 2 || n > ((size_t)1 << 20) || n % 2 != 0) {
        return NULL;
    }
    fm_spectrum *s = calloc(1, sizeof(*s));
    if (!s) {
        return NULL;
    }
    s->n = n;
    s->forward = kiss_fftr_alloc((int)n, 0, NULL, NULL);
    s->hann = malloc(n * sizeof(*s->hann));
    s->work = malloc(n * sizeof(*s->work));
    s->bins = malloc((n / 2 + 1) * sizeof(*s->bins));
    if (!s->forward || !s->hann || !s->work || !s->bins) {
        fm_spectrum_destroy(s);
        return NULL;
    }
    for (size_t i = 0; i < n; i++) {
        const double w = 0.5 - 0.5 * cos(2.0 * FM_PI * (double)i / (double)n);
        s->hann[i] = (float)w;
        s->hann_sq += w * w;
    }
    return s;
}

void fm_spectrum_destroy(fm_spectrum *s)
{
    if (!s) {
        return;
    }
    free(s->forward);
    free(s->hann);
    free(s->work);
    free(s->bins);
    free(s);
}

void fm_spectrum_power(fm_spectrum *s, const float *x, float *power)
{
    for (size_t i = 0; i < s->n; i++) {
        s->work[i] = x[i] * s->hann[i];
    }
    kiss_fftr(s->forward, s->work, s->bins);
    for (size_t k = 0; k <= s->n / 2; k++) {
        power[k] = s->bins[k].r * s->bins[k].r + s->bins[k].i * s->bins[k].i;
    }
}

/* Mean of x[0..n-1]; sums that do not wait for each other. */
static double mean_of(const float *x, size_t n)
{
    enum {
        SUMS = 8
    };
    double sum[SUMS] = {0.0};
    size_t i = 0;
    for (; i + SUMS <= n; i += SUMS) {
        for (size_t k = 0; k < SUMS; k++) {
            sum[k] += (double)x[i + k];
        }
    }
    for (; i < n; i++) {
        sum[0] += (double)x[i];
    }
    for (size_t k = 1; k < SUMS; k++) {
        sum[0] += sum[k];
    }
    return sum[0] / (double)n;
}

static void add_periodogram(fm_spectrum *s,
                            const float *x,
                            double scale,
                            float *density)
{
    const size_t last = s->n / 2;
    const float mean = (float)mean_of(x, s->n);
    for (size_t i = 0; i < s->n; i++) {
        s->work[i] = (x[i] - mean) * s->hann[i];
    }
    kiss_fftr(s->forward, s->work, s->bins);
    for (size_t k = 0; k <= last; k++) {
        const float p = s->bins[k].r * s->bins[k].r + s->bins[k].i * s->bins[k].i;
        density[k] += (float)((k == 0 || k == last ? 1.0 : 2.0) * scale * (double)p);
    }
}

fm_status fm_spectrum_welch(
    fm_spectrum *s, const float *x, size_t n_x, double rate_hz, float *density)
{
    if (n_x < s->n) {
        return FM_ERR_SHORT;
    }
    const size_t hop = s->n / 2;
    const size_t n_segments = (n_x - s->n) / hop + 1;
    const double scale = 1.0 / (rate_hz * s->hann_sq * (double)n_segments);
    memset(density, 0, (s->n / 2 + 1) * sizeof(*density));
    for (size_t i = 0; i < n_segments; i++) {
        add_periodogram(s, x + i * hop, scale, density);
    }
    return FM_OK;
}
