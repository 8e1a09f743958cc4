/**
 * @file breath_cues.h
 * What breathing shows in: the level of sound bands with the heart sounds taken out, the
 * loudness of each S1 and S2, the beat intervals; whole-segment. Three wide bands and the
 * heart's channels are series at 100 a second with a weight each; seven narrow bands, for
 * the timbre, are levels at 10 a second. No allocation.
 */
#ifndef FM_BREATH_CUES_H
#define FM_BREATH_CUES_H

#include "dsp/heart/beats.h"
#include "dsp/result.h"

enum {
    FM_BREATH_LOW = 0,  /**< level 86-211 Hz, natural log */
    FM_BREATH_MIDDLE,   /**< 211-445 Hz */
    FM_BREATH_HIGH,     /**< 445-898 Hz */
    FM_BREATH_S1,       /**< loudness of each S1, natural log */
    FM_BREATH_S2,       /**< loudness of each S2 */
    FM_BREATH_INTERVAL, /**< each S1-S1 interval, natural log, about its middle */
    FM_BREATH_CHANNELS,
    FM_BREATH_SOUND_CHANNELS = 3, /**< the first of them are the sound of breathing */
    FM_BREATH_LAGS = 160, /**< frames after a heart sound that its trace lasts */
    FM_BREATH_BANDS = 7,  /**< narrow bands, low to high, from 55 to 898 Hz */
    FM_BREATH_LEVEL_SAMPLES = 10, /**< frames of 10 ms to one level */
    FM_BREATH_LEVELS_MAX = 704    /**< levels of the longest segment, with some room */
};

#define FM_BREATH_LEVEL_HZ 10.0 /**< levels a second */

/** The series, as running sums, so that any stretch's mean is two differences. */
typedef struct fm_breath_series {
    size_t n;        /**< frames of 10 ms */
    double length_s; /**< n frames */
    /** sum[c][0..n]: of weight times value; weight[c][0..n]: of the weights, 0..1 each. */
    double sum[FM_BREATH_CHANNELS][FM_FRAMES_MAX + 1];
    double weight[FM_BREATH_CHANNELS][FM_FRAMES_MAX + 1];
    size_t n_levels;
    /** level[b][0..n_levels-1]: natural log of band power, less what the heart adds; where
     * nothing is heard, interpolated. */
    float level[FM_BREATH_BANDS][FM_BREATH_LEVELS_MAX];
} fm_breath_series;

/** Working memory; contents are its own. */
typedef struct fm_breath_cues {
    fm_breath_series series;
    float level[FM_BREATH_BANDS][FM_FRAMES_MAX]; /* natural log of power */
    float value[FM_FRAMES_MAX];                  /* one channel before its sums */
    float value_weight[FM_FRAMES_MAX];
    double running[FM_FRAMES_MAX + 1];
    float open[FM_FRAMES_MAX];   /* 1, in a gap 0 */
    uint16_t lag[FM_FRAMES_MAX]; /* row of the trace for each frame */
    double trace[FM_BREATH_BANDS][2 * FM_BREATH_LAGS];
    float over[FM_BREATH_BANDS][2 * FM_BREATH_LAGS]; /* trace over rest */
    float weigh[FM_BREATH_BANDS]
               [2 * FM_BREATH_LAGS]; /* what a frame's level counts there */
    unsigned observed[2 * FM_BREATH_LAGS];
} fm_breath_cues;

/**
 * Make the series of a segment.
 *
 * @param f        features of the segment
 * @param beats    S1 and S2 of the segment; none at all is allowed
 * @param gaps     gaps[0..n_gaps-1]: where nothing can be heard
 * @param start_s  time of frame 0 in the recording, the clock of the gaps
 * @return the series; it belongs to c and is valid until the next call
 */
const fm_breath_series *fm_breath_cues_make(fm_breath_cues *c,
                                            const fm_features *f,
                                            const fm_beats *beats,
                                            const fm_span *gaps,
                                            size_t n_gaps,
                                            double start_s);

#endif
