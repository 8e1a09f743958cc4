/**
 * @file placement.h
 * Is the chest piece placed well? Levels of bands ten times a second, first in a hush,
 * then on the chest, and from both one finding; mono, streaming. No count and nothing that
 * follows the beats comes out of it.
 *
 * Source: none. Bands: heart sounds lie mostly under 150 Hz, speech and friction above
 *         (common practice, no source). The limits are tuned on composed sounds sent
 *         through models of our own (tests/dsp/test_placement.c), not on real microphones.
 */
#ifndef FM_PLACEMENT_H
#define FM_PLACEMENT_H

#include "dsp/status.h"

#include <stdbool.h>
#include <stddef.h>

/** The bands; each stands at its mean density, so that white noise is level. */
typedef enum fm_placement_band {
    FM_PLACEMENT_DEEP,   /**< 30-80 Hz: lost in small microphones and calls */
    FM_PLACEMENT_LOW,    /**< 30-150 Hz: the heart */
    FM_PLACEMENT_SPEECH, /**< 300-3000 Hz, or to 0.45 of the rate: speech, friction */
    FM_PLACEMENT_RUB, /**< 700-3000 Hz, or to 0.45 of the rate: above any heart sound */
    FM_PLACEMENT_HIGH, /**< 4500-7000 Hz: nothing there in the narrower wireless calls */
    FM_PLACEMENT_TOP,  /**< 9000-15000 Hz: nothing there in any wireless call */
    FM_PLACEMENT_BANDS
} fm_placement_band;

/** One tenth of a second. Plain value. Nothing heard is FM_PLACEMENT_SILENCE_DBFS. */
typedef struct fm_placement_frame {
    double level_dbfs; /**< RMS of all, mean removed; a full-scale square wave is 0 */
    double peak_dbfs;
    double
        density_db[FM_PLACEMENT_BANDS]; /**< dB of full scale squared per Hz; NaN: the
                                              rate is too low for the band */
    double clipped; /**< share of samples in runs of 3 or more at full scale, 0..1 */
    double still;   /**< share in runs of 10 ms or more that do not move at all: no
                         microphone does that, a gate does */
} fm_placement_frame;

#define FM_PLACEMENT_SILENCE_DBFS (-160.0)
#define FM_PLACEMENT_FRAME_S      0.1

/** Levels that 10, 50, 90 and 98 % of the frames do not pass. */
typedef struct fm_placement_spread {
    double p10, p50, p90, p98;
} fm_placement_spread;

/** A stretch in numbers. Plain value. */
typedef struct fm_placement_measures {
    size_t n_frames;
    double clipped; /**< share of samples, 0..1 */
    double still;   /**< share of samples, 0..1 */
    double peak_dbfs;
    fm_placement_spread level_dbfs;
    fm_placement_spread density_db[FM_PLACEMENT_BANDS]; /**< NaN as in a frame */
    double floor_db[3]; /**< level that a fifth of the frames do not pass, dBFS, in each
                             third of the stretch */
} fm_placement_measures;

/** What is found; exactly one. */
typedef enum fm_placement_finding {
    FM_PLACEMENT_READY,
    FM_PLACEMENT_TOO_QUIET,
    FM_PLACEMENT_FRICTION, /**< rubbing, or speech */
    FM_PLACEMENT_CLIPPING,
    FM_PLACEMENT_VOICE_PROCESSING, /**< the system treats the sound as speech */
    FM_PLACEMENT_WIRELESS_CALL,    /**< a call's microphone without the low sounds */
    FM_PLACEMENT_BUILT_IN,         /**< a small microphone that hears the room */
    FM_PLACEMENT_FINDINGS
} fm_placement_finding;

/** What is known besides the sound. */
typedef struct fm_placement_hints {
    bool named_wireless; /**< the input's name says so */
    bool named_built_in;
} fm_placement_hints;

/** A running meter. Opaque; see fm_placement_destroy. */
typedef struct fm_placement fm_placement;

enum {
    FM_PLACEMENT_FRAMES_MAX = 600 /**< a minute; further frames only move `last` */
};

/**
 * @param rate_hz  1000..192000
 * @return NULL when the rate is out of range or memory short
 */
fm_placement *fm_placement_create(double rate_hz);

/** Frees p; NULL is allowed. */
void fm_placement_destroy(fm_placement *p);

/** Forget what was pushed. */
void fm_placement_reset(fm_placement *p);

/** Push in[0..n-1], any block size; values that are no numbers count as 0. Real-time safe. */
void fm_placement_push(fm_placement *p, const float *in, size_t n);

/** Frames that are complete since create or reset. */
size_t fm_placement_frames(const fm_placement *p);

/** The last complete frame; false before there is one (out untouched). */
bool fm_placement_last(const fm_placement *p, fm_placement_frame *out);

/**
 * The stretch so far in numbers.
 *
 * @return FM_OK; FM_ERR_SHORT under 10 frames (out untouched)
 */
fm_status fm_placement_measure(const fm_placement *p, fm_placement_measures *out);

/** The one finding, from ten seconds of hush and ten on the chest. */
fm_placement_finding fm_placement_decide(const fm_placement_measures *hush,
                                         const fm_placement_measures *chest,
                                         fm_placement_hints hints);

#endif
