/**
 * @file calibration.h
 * Whether confidence means what it says, by dsp/compare/agreement.h: printed as reliability in
 * bins, the sums, and the risk at each coverage.
 */
#ifndef ACCURACY_CALIBRATION_H
#define ACCURACY_CALIBRATION_H

#include "dsp/compare/agreement.h"
#include "score.h"

typedef fm_forecast forecast; /**< right: the rate, as decoded, within 3 of the truth */
typedef fm_calibration calibration;

static inline calibration calibration_of(forecast *f, size_t n)
{
    return fm_calibration_of(f, n);
}

/** The forecast in a scored window. */
forecast forecast_of(const scored *s);

/** Prints the table of bins, the sums and the risk at each tenth of coverage. */
void calibration_print(FILE *out, forecast *f, size_t n);

#endif
