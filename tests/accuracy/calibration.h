/**
 * @file calibration.h
 * Whether confidence means what it says: reliability in bins, the Brier score, how well
 * it separates right from wrong, and the risk at each coverage.
 */
#ifndef ACCURACY_CALIBRATION_H
#define ACCURACY_CALIBRATION_H

#include "score.h"

/** One forecast and what came of it. */
typedef struct forecast {
    double confidence; /**< 0..1 */
    bool right;        /**< the rate, as decoded, within 3 of the truth */
} forecast;

/** Sums over forecasts; NaN where there is nothing to say. */
typedef struct calibration {
    double share_right;
    double
        expected_error; /**< mean over ten equal-count bins of |confidence - right| */
    double brier;       /**< mean of (confidence - right)^2 */
    double brier_constant; /**< the same when share_right is always said */
    double area;           /**< chance that a right one has the higher confidence */
} calibration;

/**
 * Computes the sums. Sorts f by confidence, ascending.
 *
 * Sources: Brier, "Verification of forecasts expressed in terms of probability", Mon.
 *          Weather Rev. 78:1, 1950; the area by ranks: Hanley and McNeil, Radiology
 *          143:29, 1982 (both from memory).
 */
calibration calibration_of(forecast *f, size_t n);

/** The forecast in a scored window. */
forecast forecast_of(const scored *s);

/** Prints the table of bins, the sums and the risk at each tenth of coverage. */
void calibration_print(FILE *out, forecast *f, size_t n);

#endif
