/**
 * @file breath_swing.h
 * Do the heart sounds' loudness and the beat intervals swing steadily at some rate? A
 * periodogram of values at the beats' own uneven times; whole-segment. No allocation.
 *
 * breath_track.h follows a swing that wanders, and so also finds one in chance: a few beats to
 * a breath can be bent round a circle of many phases. A steady sine has two free numbers only,
 * and how likely chance explains as much is known in closed form.
 *
 * Source: least-squares periodogram (Lomb, "Least-squares frequency analysis of unequally
 *         spaced data", Astrophys. Space Sci. 39 (1976) 447; Scargle, "Studies in astronomical
 *         time series analysis II", Astrophys. J. 263 (1982) 835); the level fitted along with
 *         the sine (Zechmeister and Kuerster, Astron. Astrophys. 496 (2009) 577, from memory).
 */
#ifndef FM_BREATH_SWING_H
#define FM_BREATH_SWING_H

#include "dsp/breath_cues.h"

enum {
    FM_SWING_CHANNELS = FM_BREATH_CHANNELS - FM_BREATH_SOUND_CHANNELS,
    FM_SWING_RATES = 384 /**< rates looked at, at most */
};

/** How steadily the heart's channels swing at each rate. */
typedef struct fm_swings {
    size_t n;        /**< rates; 0: too few beats */
    double first_hz; /**< the first; the others follow at step_hz */
    double step_hz;  /**< a quarter of 1 over the segment's length */
    /** Of each channel, S1, S2 and intervals: the negative natural log of the probability
     * that as much of its variance is explained by chance, at this one rate; >= 0. */
    float surprise[FM_SWING_CHANNELS][FM_SWING_RATES];
} fm_swings;

/**
 * Look at all rates from 4.2 a minute up to half the heart's: above it a swing of the beats is
 * the mirror image of one below.
 *
 * @param beat_s  typical S1-S1 interval; 0: no heart, nothing is looked at
 */
void fm_swings_make(const fm_breath_series *series, double beat_s, fm_swings *out);

/**
 * The most surprise of a channel near a rate, nearer than can be told apart in the segment.
 *
 * @param channel  FM_BREATH_S1, FM_BREATH_S2 or FM_BREATH_INTERVAL
 */
double fm_swing_near(const fm_swings *s, int channel, double rate_hz);

/** The most that all channels together have near a rate. */
double fm_swing_all_near(const fm_swings *s, double rate_hz);

/** The most that they have anywhere else. */
double fm_swing_all_elsewhere(const fm_swings *s, double rate_hz);

#endif
