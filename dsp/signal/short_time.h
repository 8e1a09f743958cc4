/**
 * @file short_time.h
 * Power of a short Hann-windowed frame in the bins that heart and breath sounds lie in,
 * by the defining sum of each bin, its symmetries folded together first: for these few
 * bins faster than a whole transform. No allocation.
 */
#ifndef FM_SHORT_TIME_H
#define FM_SHORT_TIME_H

enum {
    FM_SHORT_N = 128,   /**< samples of a frame: 64 ms at the working rate */
    FM_SHORT_FIRST = 2, /**< first bin, of 15.6 Hz each */
    FM_SHORT_LAST = 65, /**< one past the last */
    FM_SHORT_QUARTER = FM_SHORT_N / 4,
    FM_SHORT_BINS =
        (FM_SHORT_LAST - FM_SHORT_FIRST + 1) / 2 /**< even ones; and odd ones */
};

/** Tables. Plain value. */
typedef struct fm_short_time {
    float hann[FM_SHORT_N];
    /* of the even bins, then of the odd ones, at each of the first samples */
    float cosine[2][FM_SHORT_QUARTER + 1][FM_SHORT_BINS];
    float sine[2][FM_SHORT_QUARTER + 1][FM_SHORT_BINS];
} fm_short_time;

/** Fill the tables. */
void fm_short_time_init(fm_short_time *s);

/**
 * Power of a Hann-windowed frame, |X_k|^2, unscaled.
 *
 * @param[in]  x      x[0..FM_SHORT_N-1]
 * @param[out] power  power[FM_SHORT_FIRST..FM_SHORT_LAST-1]; the rest is left alone
 */
void fm_short_time_power(const fm_short_time *s, const float *x, float *power);

#endif
