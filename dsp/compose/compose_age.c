/*
 * How much breathing moves the interval at an age.
 */
#include "dsp/fullminute_compose.h"

#include "dsp/constants.h"

#include <math.h>

/* RMSSD by decade of life, from the second on, ms: Umetani 1998, means over 24 h (the
 * numbers from memory; the abstract says that by the sixth decade 47 % is left, and that it
 * stays so). The ninth and tenth decades are one group there. */
static const double RMSSD_MS[] = {53, 43, 35, 31, 25, 22, 24, 21, 21};

double fm_compose_rmssd_of_age_ms(double age_years)
{
    if (!(age_years >= 10.0 && age_years < 100.0)) {
        return (double)NAN;
    }
    return RMSSD_MS[(int)(age_years / 10.0) - 1];
}

double fm_compose_rsa_of_age_ms(double age_years, double bpm, double breaths_per_min)
{
    const double rmssd_ms = fm_compose_rmssd_of_age_ms(age_years);
    if (isnan(rmssd_ms) || !(bpm >= 30.0 && bpm <= 220.0) ||
        !(breaths_per_min >= 4.0 && breaths_per_min <= 80.0)) {
        return (double)NAN;
    }
    const double half_turn = FM_PI * breaths_per_min / bpm;
    /* slower than two beats a breath nothing of it can be seen in the intervals */
    const double seen = sin(fmin(half_turn, 0.5 * FM_PI));
    return fmin(fmin(sqrt(2.0) * rmssd_ms / seen, 0.5 * 60000.0 / bpm), 600.0);
}
