/**
 * @file agreement.h
 * How well a row of measurements agrees with what was true: bias and limits of agreement,
 * exact intervals of shares, order statistics, and whether a confidence means what it
 * says. Whole arrays in, plain values out; no allocation.
 *
 * Sources: Bland and Altman, "Statistical methods for assessing agreement between two
 *          methods of clinical measurement", Lancet 1986; 1:307 (bias, limits, their
 *          intervals). Clopper and Pearson, "The use of confidence or fiducial limits
 *          illustrated in the case of the binomial", Biometrika 1934; 26:404. Brier,
 *          "Verification of forecasts expressed in terms of probability", Mon. Weather
 *          Rev. 1950; 78:1. Hanley and McNeil, Radiology 1982; 143:29 (area by ranks).
 *          All from memory.
 */
#ifndef FM_AGREEMENT_H
#define FM_AGREEMENT_H

#include <stdbool.h>
#include <stddef.h>

enum {
    FM_AGREEMENT_WITHIN = 3, /**< differences of at most 1, 2 and 3 are counted */
    FM_LIMITS_LEAST = 3, /**< pairs: with two, a limit's own 95 % interval (t 12.7) is
                                  wider than what it says (ours, no source) */
    FM_CALIBRATION_BINS = 10 /**< bins of equal count */
};

/** Two ends; NaN where there was nothing to say. */
typedef struct fm_ends {
    double low;
    double high;
} fm_ends;

/** Measured less true, in the unit of both. NaN where there were too few pairs. */
typedef struct fm_agreement {
    size_t n;             /**< pairs; those with a number that is not finite left out */
    double bias;          /**< mean difference; one pair is enough */
    double sd;            /**< standard deviation of the differences, n - 1; from two */
    fm_ends bias_95;      /**< 95 % interval of the bias, by Student's t */
    fm_ends limits;       /**< limits of agreement, bias -/+ 1.96 sd; from three */
    double limit_margin;  /**< each limit's 95 % interval reaches as far either way */
    double mean_absolute; /**< mean of |difference| */
    double worst_absolute;              /**< greatest |difference| */
    size_t within[FM_AGREEMENT_WITHIN]; /**< pairs with |difference| <= 1, 2, 3 */
} fm_agreement;

/**
 * Agreement of measured[0..n-1] with truth[0..n-1].
 *
 * @param n  pairs, also 0; pairs with a number that is not finite are left out
 */
fm_agreement fm_agreement_of(const double *measured, const double *truth, size_t n);

/**
 * The exact 95 % interval of a share: each end leaves 2.5 % in its binomial tail.
 *
 * @param k  successes, 0..n
 * @param n  trials; 0 (or less) gives NaN
 */
fm_ends fm_share_exact_95(long k, long n);

/**
 * Student's t for a two-sided 95 % interval.
 *
 * @param freedom  degrees of freedom, 1 and more; 0 gives NaN
 */
double fm_student_95(size_t freedom);

/** Sorts v[0..n-1] in place, ascending; NaN is not allowed. */
void fm_sort_ascending(double *v, size_t n);

/** Quantile q (0..1) of sorted v[0..n-1], linear between neighbours; NaN when n is 0. */
double fm_sorted_quantile(const double *v, size_t n, double q);

/** Mean of v[0..n-1]; NaN when n is 0. */
double fm_mean(const double *v, size_t n);

/** One forecast and what came of it. */
typedef struct fm_forecast {
    double confidence; /**< 0..1 */
    bool right;        /**< what was forecast came true */
} fm_forecast;

/** Sums over forecasts; NaN where there is nothing to say. */
typedef struct fm_calibration {
    double share_right;
    double
        expected_error; /**< mean over ten equal-count bins of |confidence - right| */
    double brier;       /**< mean of (confidence - right)^2 */
    double brier_constant; /**< the same when share_right is always said */
    double area;           /**< chance that a right one has the higher confidence */
} fm_calibration;

/** One bin of forecasts; n 0: an empty one, its numbers 0. */
typedef struct fm_calibration_bin {
    size_t n;
    double low; /**< least and greatest confidence in it */
    double high;
    double confidence; /**< mean of both */
    double right;
} fm_calibration_bin;

/** Computes the sums. Sorts f[0..n-1] by confidence, ascending. */
fm_calibration fm_calibration_of(fm_forecast *f, size_t n);

/** Bin index (0..FM_CALIBRATION_BINS - 1) of sorted f[0..n-1]: as many in each. */
fm_calibration_bin fm_calibration_bin_of(const fm_forecast *f, size_t n, size_t index);

#endif
