#include "src/usecase/click.h"

#include <math.h>

static const double TONE_HZ = 1500.0;
static const double LENGTH_S = 0.015;
static const double LEVEL = 0.25; /* -12 dBFS, as the lead-in's ticks */
static const double TAU = 6.28318530717958647692;

void click_add(float *x, int64_t n, double rate_hz, int64_t at)
{
    const int64_t length = (int64_t)(LENGTH_S * rate_hz);
    for (int64_t i = 0; i < length; i++) {
        if (at + i < 0 || at + i >= n) {
            continue;
        }
        const double t_s = (double)i / rate_hz;
        const double edge = 0.5 - 0.5 * cos(TAU * t_s / LENGTH_S);
        const double sum = (double)x[at + i] + LEVEL * edge * sin(TAU * TONE_HZ * t_s);
        x[at + i] = (float)fmax(-1.0, fmin(1.0, sum));
    }
}
