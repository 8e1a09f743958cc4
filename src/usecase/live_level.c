#include "src/usecase/live_level.h"

#include <math.h>

/* Bounds of ours, no source: of the bundled recordings none is called bad but those that
 * were made so. */
static const double SILENT_DBFS = -80.0;
static const double QUIET_DBFS = -54.0;
static const double LOUD_DBFS = -24.0;
static const double CLIPPED_SHARE = 0.0005;
static const double CLIPPED_AT = 0.999;
static const double HIGH_SHARE = 0.6; /* of the power, above about 150 Hz */
static const double SPLIT_HZ = 150.0;
static const double TWO_PI = 6.283185307179586;

void live_level_init(live_level *l, double rate_hz)
{
    *l = (live_level){.block_samples = (size_t)llround(LIVE_LEVEL_S * rate_hz),
                      .pole = exp(-TWO_PI * SPLIT_HZ / rate_hz),
                      .level_dbfs = (double)NAN,
                      .advice = ""};
}

static const char *advice(double dbfs, double high_share, double clipped_share)
{
    if (clipped_share > CLIPPED_SHARE) {
        return "Too loud: turn the input down, or press less.";
    }
    if (dbfs < SILENT_DBFS) {
        return "Nothing is heard: look at cable, switch and input.";
    }
    if (dbfs < QUIET_DBFS) {
        return "Too quiet: press gently, or move a finger's width.";
    }
    if (dbfs > LOUD_DBFS && high_share > HIGH_SHARE) {
        return "Rubbing or a noisy room: hold the chest piece still.";
    }
    return "";
}

static void end_block(live_level *l)
{
    const double n = (double)l->n;
    const double dbfs = 10.0 * log10(l->power / n + 1e-12);
    const double high = l->power > 0.0 ? fmax(0.0, 1.0 - l->low_power / l->power) : 0.0;
    l->advice = advice(dbfs, high, (double)l->clipped / n);
    l->level_dbfs = LIVE_LEVEL_STEP_DB * round(dbfs / LIVE_LEVEL_STEP_DB);
    l->known = true;
    l->n = 0;
    l->power = 0.0;
    l->low_power = 0.0;
    l->clipped = 0;
}

void live_level_push(live_level *l, const float *in, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        const double x = (double)in[i];
        l->low = l->pole * l->low + (1.0 - l->pole) * x;
        l->power += x * x;
        l->low_power += l->low * l->low;
        l->clipped += fabs(x) >= CLIPPED_AT;
        l->n++;
        if (l->n >= l->block_samples) {
            end_block(l);
        }
    }
}
