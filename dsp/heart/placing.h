/**
 * @file placing.h
 * Is the chest piece placed well? Levels of bands ten times a second, first in a hush,
 * then on the chest, and from both one finding; mono, streaming. No count and nothing that
 * follows the beats comes out of it.
 *
 * Source: none. Bands: heart sounds lie mostly under 150 Hz, voice and friction above
 *         (common practice, no source). The limits are tuned on composed sounds sent
 *         through models of our own (tests/dsp/test_placing.c), not on real microphones.
 */
#ifndef FM_PLACING_H
#define FM_PLACING_H

#include "dsp/status.h"

#include <stdbool.h>
#include <stddef.h>

/** The bands; each stands at its mean density, so that white noise is level. */
typedef enum fm_placing_band {
    FM_PLACING_DEEP,  /**< 30-80 Hz: lost in small microphones and calls */
    FM_PLACING_LOW,   /**< 30-150 Hz: the heart */
    FM_PLACING_VOICE, /**< 300-3000 Hz, or to 0.45 of the rate: voice, friction */
    FM_PLACING_RUB,   /**< 700-3000 Hz, or to 0.45 of the rate: above any heart sound */
    FM_PLACING_HIGH,  /**< 4500-7000 Hz: nothing there in the narrower wireless calls */
    FM_PLACING_TOP,   /**< 9000-15000 Hz: nothing there in any wireless call */
    FM_PLACING_BANDS
} fm_placing_band;

/** One tenth of a second. Plain value. Nothing heard is FM_PLACING_SILENCE_DBFS. */
typedef struct fm_placing_frame {
    double level_dbfs; /**< RMS of all, mean removed; a full-scale square wave is 0 */
    double peak_dbfs;
    double density_db[FM_PLACING_BANDS]; /**< dB of full scale squared per Hz; NaN: the
                                              rate is too low for the band */
    double clipped; /**< share of samples in runs of 3 or more at full scale, 0..1 */
    double still;   /**< share in runs of 10 ms or more that do not move at all: no
                         microphone does that, a gate does */
} fm_placing_frame;

#define FM_PLACING_SILENCE_DBFS (-160.0)
#define FM_PLACING_FRAME_S      0.1

/** Levels that 10, 50, 90 and 98 % of the frames do not pass. */
typedef struct fm_placing_spread {
    double p10, p50, p90, p98;
} fm_placing_spread;

/** A stretch in numbers. Plain value. */
typedef struct fm_placing_measures {
    size_t n_frames;
    double clipped; /**< share of samples, 0..1 */
    double still;   /**< share of samples, 0..1 */
    double peak_dbfs;
    fm_placing_spread level_dbfs;
    fm_placing_spread density_db[FM_PLACING_BANDS]; /**< NaN as in a frame */
    double floor_db[3]; /**< level that a fifth of the frames do not pass, dBFS, in each
                             third of the stretch */
} fm_placing_measures;

/** What is found; exactly one. */
typedef enum fm_placing_finding {
    FM_PLACING_READY,
    FM_PLACING_TOO_QUIET,
    FM_PLACING_FRICTION, /**< rubbing, or a voice */
    FM_PLACING_CLIPPING,
    FM_PLACING_VOICE_PROCESSING, /**< the system treats the sound as speech */
    FM_PLACING_WIRELESS_CALL,    /**< a call's microphone without the low sounds */
    FM_PLACING_BUILT_IN,         /**< a small microphone that hears the room */
    FM_PLACING_FINDINGS
} fm_placing_finding;

/** What is known besides the sound. */
typedef struct fm_placing_hints {
    bool named_wireless; /**< the input's name says so */
    bool named_built_in;
} fm_placing_hints;

/** A running meter. Opaque; see fm_placing_destroy. */
typedef struct fm_placing fm_placing;

enum {
    FM_PLACING_FRAMES_MAX = 600 /**< a minute; further frames only move `last` */
};

/**
 * @param rate_hz  1000..192000
 * @return NULL when the rate is out of range or memory short
 */
fm_placing *fm_placing_create(double rate_hz);

/** Frees p; NULL is allowed. */
void fm_placing_destroy(fm_placing *p);

/** Forget what was pushed. */
void fm_placing_reset(fm_placing *p);

/** Push in[0..n-1], any block size; values that are no numbers count as 0. Real-time safe. */
void fm_placing_push(fm_placing *p, const float *in, size_t n);

/** Frames that are complete since create or reset. */
size_t fm_placing_frames(const fm_placing *p);

/** The last complete frame; false before there is one (out untouched). */
bool fm_placing_last(const fm_placing *p, fm_placing_frame *out);

/**
 * The stretch so far in numbers.
 *
 * @return FM_OK; FM_ERR_SHORT under 10 frames (out untouched)
 */
fm_status fm_placing_measure(const fm_placing *p, fm_placing_measures *out);

/** The one finding, from ten seconds of hush and ten on the chest. */
fm_placing_finding fm_placing_decide(const fm_placing_measures *hush,
                                     const fm_placing_measures *chest,
                                     fm_placing_hints hints);

/** The word for a finding, as documents carry it: "ready", "too quiet", "friction",
 *  "clipping", "voice processing", "wireless call microphone", "built-in microphone". */
const char *fm_placing_finding_name(fm_placing_finding finding);

#endif
