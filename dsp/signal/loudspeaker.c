#include "dsp/signal/loudspeaker.h"

#include "dsp/constants.h"
#include "dsp/signal/filter.h"
#include "dsp/signal/peaks.h"

#include <math.h>
#include <string.h>

enum {
    ORDER = 2,
    TAPS = 15 /* the odd ones of them, at either side */
};

/* The Hilbert transformer's taps lie as far apart as samples at this rate: it then works
   from about 25 Hz to as far under half the rate. */
static const double TAP_RATE_HZ = 500.0;
fm_loudspeaker_config fm_loudspeaker_config_default(double rate_hz)
{
    return (fm_loudspeaker_config){.rate_hz = rate_hz,
                                   .low_hz = 25.0,
                                   .high_hz = 150.0,
                                   .from_hz = 200.0,
                                   .to_hz = 800.0,
                                   .added_db = 0.0,
                                   .peak = 0.98};
}

static void add(const float *work, double most, float *x, size_t n)
{
    double peak = 0.0;
    for (size_t i = 0; i < n; i++) {
        x[i] += work[i];
        peak = fmax(peak, fabs((double)x[i]));
    }
    const double down = peak > most ? most / peak : 1.0;
    for (size_t i = 0; i < n && down < 1.0; i++) {
        x[i] = (float)(down * (double)x[i]);
    }
}

static float at(const float *x, size_t n, size_t i, ptrdiff_t by)
{
    const ptrdiff_t k = (ptrdiff_t)i + by;
    return k >= 0 && k < (ptrdiff_t)n ? x[k] : 0.0F;
}

/* Every wave of low, eight times as fast. */
static void quicken(const float *low, float *out, size_t n, double rate_hz)
{
    double weight[TAPS + 1] = {0.0};
    const ptrdiff_t apart = (ptrdiff_t)fmax(1.0, round(rate_hz / TAP_RATE_HZ));
    for (int k = 1; k <= TAPS; k += 2) {
        weight[k] = (0.54 + 0.46 * cos(FM_PI * k / (TAPS + 2))) * 2.0 / (FM_PI * k);
    }
    for (size_t i = 0; i < n; i++) {
        double q = 0.0;
        for (int k = 1; k <= TAPS; k += 2) {
            const ptrdiff_t by = k * apart;
            q += weight[k] * ((double)at(low, n, i, -by) - (double)at(low, n, i, by));
        }
        const double size = hypot((double)low[i], q);
        double c = size > 0.0 ? (double)low[i] / size : 0.0;
        for (int doubling = 0; doubling < 3; doubling++) {
            c = 2.0 * c * c - 1.0; /* cos 2p from cos p */
        }
        out[i] = (float)(size * c);
    }
}

fm_status fm_loudspeaker_add(const fm_loudspeaker_config *config,
                             float *x,
                             float *work,
                             size_t n)
{
    fm_filter low;
    fm_filter harmonics;
    float *const band = work + n;
    if (fm_filter_init_bandpass(&low, ORDER, config->rate_hz, config->low_hz,
                                config->high_hz) != FM_OK ||
        fm_filter_init_bandpass(&harmonics, ORDER, config->rate_hz, config->from_hz,
                                config->to_hz) != FM_OK ||
        !(config->peak > 0.0) || !isfinite(config->added_db)) {
        return FM_ERR_ARG;
    }
    for (size_t i = 0; i < n; i++) {
        x[i] = isfinite(x[i]) ? x[i] : 0.0F;
        band[i] = x[i];
    }
    fm_filter_zero_phase(&low, band, n);
    const double low_rms = sqrt(fm_mean_square(band, n));
    quicken(band, work, n, config->rate_hz);
    fm_filter_zero_phase(&harmonics, work, n);
    const double added_rms = sqrt(fm_mean_square(work, n));
    if (!(low_rms > 0.0) || !(added_rms > 0.0)) {
        memset(work, 0, n * sizeof *work);
        return FM_OK;
    }
    const double gain = low_rms / added_rms * pow(10.0, config->added_db / 20.0);
    for (size_t i = 0; i < n; i++) {
        work[i] = (float)(gain * (double)work[i]);
    }
    add(work, config->peak, x, n);
    return FM_OK;
}
