/**
 * @file short_time.h
 * Power of a short Hann-windowed frame in the bins that heart and breath sounds lie in,
 * by the defining sum of each bin, its symmetries folded together first: for these few
 * bins faster than a whole transform. All memory is taken at create.
 */
#ifndef FM_SHORT_TIME_H
#define FM_SHORT_TIME_H

enum {
    FM_SHORT_N = 128,   /**< samples of a frame: 64 ms at the working rate */
    FM_SHORT_FIRST = 2, /**< first bin, of 15.6 Hz each */
    FM_SHORT_LAST = 65  /**< one past the last */
};

/** Tables. Opaque; see fm_short_time_destroy. */
typedef struct fm_short_time fm_short_time;

/** New tables; NULL when memory is short. */
fm_short_time *fm_short_time_create(void);

/** Frees s; NULL is allowed. */
void fm_short_time_destroy(fm_short_time *s);

/**
 * Power of a Hann-windowed frame, |X_k|^2, unscaled.
 *
 * @param[in]  x      x[0..FM_SHORT_N-1]
 * @param[out] power  power[FM_SHORT_FIRST..FM_SHORT_LAST-1]; the rest is left alone
 */
void fm_short_time_power(const fm_short_time *s, const float *x, float *power);

#endif
