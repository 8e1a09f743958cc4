/**
 * @file verdict.h
 * From evidence to outcome: counted, caution or refused, the reason a person can act on,
 * and the range the rate lies in. No allocation.
 */
#ifndef FM_VERDICT_H
#define FM_VERDICT_H

#include "dsp/heart/confidence.h"
#include "dsp/heart/silence.h"
#include "dsp/result.h"

#define FM_USABLE_MIN_S 6.0 /**< no rate from less usable sound, s (contract) */

enum {
    FM_INTERVALS_MIN = 5 /**< no rate from fewer intervals (contract) */
};

/** What the verdict is made from. */
typedef struct fm_case {
    const fm_evidence *evidence;
    const fm_conditioned *conditioned;
    double like_left_share;    /**< of the beats */
    double like_left_spread_s; /**< of the beats */
    double loud_left_share;    /**< of the beats */
    double loud_left_spread_s; /**< of the beats */
    double in_band_share; /**< power at the working rate over power at the input rate */
    bool single_tone;     /**< the input is one sine and little else */
    double confidence;    /**< from the evidence */
    double voiced_share;  /**< fm_speech_pitch_share */
    double window_s;
    double usable_s;
    double
        systole_share; /**< middle S1-S2 as a share of the middle S1-S1; NaN: no S2 */
    double cycle_bpm;  /**< 60 over the middle S1-S1; NaN where systole_share is */
    double lost_s;     /**< seconds of the window in gaps */
    double uneven;     /**< SD of the intervals as a share of their mean */
    const fm_silences
        *silences; /**< what was not heard, or perhaps not; NULL: nothing */
} fm_case;

/**
 * Set status, reason, reason_span, confidence and the rate's range of out->heart, whose
 * beats and rate are already set, and the overall quality.
 */
void fm_verdict_give(const fm_case *c, fm_count *out);

#endif
