/**
 * @file running_floor.h
 * The local floor of a series: a quantile of what lies within reach either side, found
 * every few steps and interpolated between. Exact, and moves along by what enters and
 * leaves. No allocation.
 *
 * Source: moving a histogram along a signal, as in Huang, Yang and Tang, "A fast
 *         two-dimensional median filtering algorithm", IEEE Trans. ASSP 27 (1979) 13
 *         (from memory); the values in the bin found are then sorted, so that nothing is
 *         rounded.
 */
#ifndef FM_RUNNING_FLOOR_H
#define FM_RUNNING_FLOOR_H

#include <stddef.h>
#include <stdint.h>

enum {
    FM_FLOOR_BINS = 1024,
    FM_FLOOR_MOST = 512 /**< values within reach, at most */
};

/** How it looks. */
typedef struct fm_floor_reach {
    size_t hop;      /**< steps from one estimate to the next, >= 1 */
    size_t reach;    /**< steps either side, 2 * reach + 1 <= FM_FLOOR_MOST */
    double quantile; /**< 0..1 */
} fm_floor_reach;

/**
 * Find the floor.
 *
 * @param[in]  x      x[0..n-1], n >= 1, all finite
 * @param[in]  how    where and how often
 * @param[out] bin    bin[0..n-1], working memory
 * @param[out] floor  floor[0..n-1]
 */
void fm_running_floor(
    const float *x, size_t n, const fm_floor_reach *how, uint16_t *bin, float *floor);

#endif
