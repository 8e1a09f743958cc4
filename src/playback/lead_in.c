/* The three ticks before a minute opens. */
#include "src/port/player.h"

#include "dsp/constants.h"

#include <math.h>

static const double TONE_HZ = 1000.0;
static const double TICK_S = 0.025;
static const double APART_S = 1.0;
static const double SILENCE_S = 0.5;
static const double LEVEL = 0.25; /* -12 dBFS: heard beside a heart, startles nobody */
enum {
    TICKS = 3
};

int64_t player_lead_in_samples(double rate_hz)
{
    return (int64_t)ceil(((TICKS - 1) * APART_S + TICK_S + SILENCE_S) * rate_hz);
}

void player_lead_in(double rate_hz, float *out)
{
    const int64_t n = player_lead_in_samples(rate_hz);
    for (int64_t i = 0; i < n; i++) {
        const double t_s = (double)i / rate_hz;
        const double tick = fmin(floor(t_s / APART_S), TICKS - 1);
        const double in_s = t_s - tick * APART_S;
        /* A raised cosine over the whole tick: no click that would reach down into
           the heart band. */
        const double edge =
            in_s < TICK_S ? 0.5 - 0.5 * cos(2.0 * FM_PI * in_s / TICK_S) : 0.0;
        out[i] = (float)(LEVEL * edge * sin(2.0 * FM_PI * TONE_HZ * in_s));
    }
}
