/**
 * @file taps.h
 * Which tap belongs to which beat: a learner's taps aligned to S1 onsets in order, their
 * own constant lag estimated and taken out. Whole-signal; nothing is allocated.
 *
 * Every pairing that keeps the order of beats and of taps is weighed by dynamic
 * programming (the edit distance of Wagner and Fischer, J ACM 1974;21:168, with a cost
 * for a pair that grows with the square of its lag error). The lag is the one, of a grid
 * of lags a person can have, whose best pairing costs least; it is then refined as the
 * median of the paired lags.
 *
 * Source of the limits: taps lead a click by 30-50 ms (Aschersleben and Prinz 1995, doi
 *         10.3758/BF03213056); spread 20-40 ms untrained (Repp 2005, from memory); on
 *         uneven beats taps become reactions, 150-250 ms late (from memory).
 */
#ifndef FM_TAPS_H
#define FM_TAPS_H

#include "dsp/result.h"
#include "dsp/status.h"

enum {
    FM_TAPS_MAX =
        512 /**< taps one window can hold: more than 8 a second is no tapping */
};

/** One beat and the tap that answered it; tap_s - beat_s is that tap's lag. */
typedef struct fm_tap_pair {
    double beat_s;
    double tap_s;
} fm_tap_pair;

/** What the taps of one window say. Times are seconds of the recording, ascending. */
typedef struct fm_taps {
    size_t n_taps;   /**< taps that fell in the window, the lag allowed for */
    bool lag_known;  /**< false under three pairs: lag_s is then NaN */
    double lag_s;    /**< the person's own constant lag: positive, taps come after S1 */
    double lag_sd_s; /**< its standard deviation (n - 1) over the beats that were
                            followed; NaN under two */
    size_t n_matched;
    fm_tap_pair matched[FM_BEATS_MAX];
    size_t n_not_tapped;
    double not_tapped_s[FM_BEATS_MAX]; /**< beats in the window without a tap */
    size_t n_extra;
    double
        extra_s[FM_TAPS_MAX]; /**< taps without a beat, as tapped (lag not removed) */
    bool lost;           /**< a stretch where taps and beats no longer went together */
    double lost_from_s;  /**< the first beat of that stretch; NaN unless lost */
    double lost_until_s; /**< its last beat; NaN unless lost */
} fm_taps;

/** Room for one alignment, 300 KB: keep it on the heap. Contents mean nothing. */
typedef struct fm_taps_work {
    unsigned char step[(FM_BEATS_MAX + 1) * (FM_TAPS_MAX + 1)];
    double cost[2][FM_TAPS_MAX + 1];
    double tap_s[FM_TAPS_MAX];
    size_t tap_of_beat[FM_BEATS_MAX];
    double sorted[FM_BEATS_MAX];
} fm_taps_work;

/** What is aligned. Borrowed for the call only. */
typedef struct fm_taps_input {
    const double *beats_s; /**< beats_s[0..n_beats-1], S1 onsets, ascending, s */
    size_t n_beats;        /**< 0..FM_BEATS_MAX */
    const double
        *taps_s; /**< taps_s[0..n_taps-1], as recorded, ascending, s; those more
                                than half a second outside the window are left out */
    size_t n_taps;
    double
        delay_s; /**< known delay of playback and capture, taken from every tap first;
                           -1..1, 0 when they listened with a stethoscope */
    fm_window window; /**< the seconds compared; beats outside are left out */
} fm_taps_input;

/**
 * Align taps to beats.
 *
 * @param work      room, overwritten
 * @param[out] out  the alignment; untouched on error
 * @return FM_OK (also for no taps or no beats); FM_ERR_ARG: n_beats or the taps in the
 *         window beyond their maximum, delay out of range, times not finite or not
 *         ascending
 */
fm_status fm_taps_align(const fm_taps_input *in, fm_taps_work *work, fm_taps *out);

#endif
