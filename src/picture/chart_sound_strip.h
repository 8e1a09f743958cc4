/**
 * @file chart_sound_strip.h
 * The sound strip: how loud the heart band was against time, in rows of ten seconds, with
 * the S1 and S2 that were found hanging below and, where they are known, the true ones
 * above. For educators, and for looking at what went wrong.
 *
 * S1 and S2 differ by shape (filled on a long stem, open on a short one), not by colour.
 */
#ifndef SRC_PICTURE_CHART_SOUND_STRIP_H
#define SRC_PICTURE_CHART_SOUND_STRIP_H

#include "dsp/result.h"

/** Times of sounds; NULL and 0 for none. */
typedef struct chart_times {
    const double *at_s; /**< at_s[0..n-1], seconds of the recording */
    size_t n;
} chart_times;

/** What the strip is drawn from; pointers are borrowed for the call. */
typedef struct chart_sound_strip {
    const float *envelope;        /**< envelope[0..n-1], any unit, >= 0; NaN: a gap */
    size_t n;                     /**< may be 0: the marks alone */
    double rate_hz;               /**< values of envelope a second, > 0 */
    double envelope_start_s;      /**< time of envelope[0] */
    double from_s, to_s;          /**< the stretch drawn, at most ten minutes */
    chart_times s1, s2;           /**< found */
    chart_times true_s1, true_s2; /**< known, of a composed or annotated recording */
    const fm_quality *quality;    /**< gaps and unusable stretches; NULL: none */
} chart_sound_strip;

/**
 * The strip with its legend as a whole SVG picture.
 *
 * @param title  UTF-8, what was listened to; NULL: none
 * @return text, to be freed by the caller; NULL without memory
 */
char *chart_sound_strip_format(const chart_sound_strip *strip, const char *title);

#endif
