#include "dsp/heart/systole.h"

static const double Q_TO_S1_S = 0.075;
static const double FAST_SHARE = 0.475;
static const double FIT_TO_BPM = 110.0;
static const double FAST_FROM_BPM = 120.0;

static double resting_fit_s(double rate_bpm)
{
    return 0.5405 - 0.0021 * rate_bpm - Q_TO_S1_S;
}

double fm_systole_expected_s(double cycle_s)
{
    const double rate_bpm = 60.0 / cycle_s;
    if (rate_bpm <= FIT_TO_BPM) {
        return resting_fit_s(rate_bpm);
    }
    if (rate_bpm >= FAST_FROM_BPM) {
        return FAST_SHARE * cycle_s;
    }
    const double share = (rate_bpm - FIT_TO_BPM) / (FAST_FROM_BPM - FIT_TO_BPM);
    return (1.0 - share) * resting_fit_s(rate_bpm) + share * FAST_SHARE * cycle_s;
}
