/**
 * @file analyser.h
 * The push analyser: mono samples in, one final result a window out, and provisional
 * beats for a live screen. File, batch and live sitting all use this object.
 *
 * A final result depends on the window's samples, up to FM_CONTEXT_S of context on
 * either side (clipped at the ends of the recording) and the options, on nothing else:
 * not on how the caller cuts its blocks, nor on what came before the context.
 *
 * All memory of ours is taken in fm_analyser_create. Time in the stream is a sample index.
 */
#ifndef FM_ANALYSER_H
#define FM_ANALYSER_H

#include "dsp/result.h"
#include "dsp/status.h"

#define FM_RATE_MIN_HZ 1000.0   /**< lowest input rate, Hz */
#define FM_RATE_MAX_HZ 192000.0 /**< highest input rate, Hz */
#define FM_CONTEXT_S   4.0      /**< context used before and after a window, s */

/** Settings; take the defaults and change what you need. */
typedef struct fm_config {
    double rate_hz;    /**< input rate, FM_RATE_MIN_HZ..FM_RATE_MAX_HZ */
    bool provisional;  /**< also run the causal beat marker; default false */
    bool keep_refused; /**< a refused count keeps the onsets and the rate it was refused
                            with: to measure the decoder by, never to be shown; default
                            false */
} fm_config;

/** Defaults for an input rate; nothing is checked here. */
fm_config fm_config_default(double rate_hz);

/** Opaque; see fm_analyser_destroy. One thread at a time may use it. */
typedef struct fm_analyser fm_analyser;

/**
 * New analyser; takes all the memory it will ever need (a few MB). Only libsoxr within
 * it takes some again as a window opens and ends, and gives it back.
 *
 * @param config  settings, copied
 * @param[out] status  FM_OK, FM_ERR_RATE (rate not in range, or NaN), FM_ERR_NOMEM;
 *                     may be NULL
 * @return the analyser, to be freed with fm_analyser_destroy; NULL on error
 */
fm_analyser *fm_analyser_create(const fm_config *config, fm_status *status);

/** Frees a; NULL is allowed. */
void fm_analyser_destroy(fm_analyser *a);

/** Forget all samples and windows; ready for a new recording at the same rate. */
void fm_analyser_reset(fm_analyser *a);

/**
 * Ask for a result over [start, start + n_samples). Call before the window's first
 * sample is pushed or while it is no more than FM_CONTEXT_S in the past; windows may
 * touch but not overlap, and two can be open at once (the end context of one is the
 * start context of the next).
 *
 * @param start      sample index in the recording, >= 0
 * @param n_samples  > 0, at most FM_WINDOW_MAX_S of samples
 * @return FM_OK; FM_ERR_ARG (range, overlap, or too far in the past); FM_ERR_BUSY
 *         (two windows are open or wait to be taken: take a result first)
 */
fm_status fm_analyser_open(fm_analyser *a, int64_t start, int64_t n_samples);

/**
 * Feed samples. Not for the audio callback: at a window's close this runs the whole
 * decoder (tens of milliseconds).
 *
 * @param in  in[0..n-1], full scale +/-1; not finite, or beyond any sound (over 1e12),
 *            counts as 0 and as a gap
 * @param n   samples, any number
 * @return FM_OK; FM_ERR_NOMEM: a window was lost for want of memory, until the next reset;
 *         the two below likewise
 */
fm_status fm_analyser_push(fm_analyser *a, const float *in, size_t n);

/** Feed n samples of lost audio: time goes on, the stretch is a gap. n >= 0. */
fm_status fm_analyser_push_gap(fm_analyser *a, int64_t n);

/** The recording has ended: close what is open with the samples there are. */
fm_status fm_analyser_finish(fm_analyser *a);

/**
 * Take the oldest finished result.
 *
 * @param[out] out  untouched when there is none
 * @return true when a result was taken
 */
bool fm_analyser_take(fm_analyser *a, fm_count *out);

/** A causal mark for a live screen; may be wrong, never enters a document. */
typedef struct fm_provisional {
    double time_s; /**< about when the sound was */
    bool is_s2;
} fm_provisional;

/** Take up to max provisional marks, oldest first; returns how many. */
size_t fm_analyser_take_provisional(fm_analyser *a, fm_provisional *out, size_t max);

/** Samples pushed so far, gaps included. */
int64_t fm_analyser_position(const fm_analyser *a);

#endif
