/**
 * @file analyser.h
 * The push analyser: mono samples in, one final result a window out. File, batch and live
 * sitting all use this object.
 *
 * A final result depends on the window's samples, up to FM_CONTEXT_S of context on
 * either side (clipped at the ends of the recording), on nothing else: not on how the
 * caller cuts its blocks, nor on what came before the context.
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

/** Opaque; see fm_analyser_destroy. One thread at a time may use it. */
typedef struct fm_analyser fm_analyser;

/**
 * New analyser; takes all the memory it will ever need (a few MB). Only libsoxr within
 * it takes some again as a window opens and ends, and gives it back.
 *
 * @param rate_hz  input rate, FM_RATE_MIN_HZ..FM_RATE_MAX_HZ
 * @param[out] status  FM_OK, FM_ERR_RATE (rate not in range, or NaN), FM_ERR_NOMEM;
 *                     may be NULL
 * @return the analyser, to be freed with fm_analyser_destroy; NULL on error
 */
fm_analyser *fm_analyser_create(double rate_hz, fm_status *status);

/** Frees a; NULL is allowed. */
void fm_analyser_destroy(fm_analyser *a);

/** From now on a refused count keeps the onsets and the rate it was refused with: to measure
 * the decoder by, never to be shown. */
void fm_analyser_keep_refused(fm_analyser *a);

/**
 * Forget all samples and windows; ready for a recording at the same rate.
 *
 * @param origin  sample of the recording that is pushed first, so that windows and times are the
 *                recording's own wherever one begins to read; 0 after create
 * @return FM_OK; FM_ERR_ARG (origin < 0: nothing is done)
 */
fm_status fm_analyser_reset(fm_analyser *a, int64_t origin);

/**
 * Ask for a result over [start, start + n_samples). Call before the window's first
 * sample is pushed or while it is no more than FM_CONTEXT_S in the past; windows may
 * touch but not overlap, and two can be open at once (the end context of one is the
 * start context of the next).
 *
 * @param start      sample index in the recording, the origin or later
 * @param n_samples  > 0, at most FM_WINDOW_MAX_S of samples
 * @return FM_OK; FM_ERR_ARG (range, or overlap); FM_ERR_LONG (over FM_WINDOW_MAX_S); FM_ERR_LATE
 *         (it begins too far in the past, or the recording has ended); FM_ERR_BUSY (two windows
 *         are open or wait to be taken: take a result first)
 */
fm_status fm_analyser_open(fm_analyser *a, int64_t start, int64_t n_samples);

/**
 * Feed samples. Not for the audio callback: at a window's close this runs the whole
 * decoder (tens of milliseconds).
 *
 * @param in  in[0..n-1], full scale +/-1
 * @param n   samples, any number
 * @return FM_OK; FM_ERR_NOT_FINITE: some were no numbers or beyond any sound (over 1e12), and
 *         count as a gap; all were taken and one may go on. FM_ERR_LATE: after
 *         fm_analyser_finish; nothing is taken. FM_ERR_NOMEM: a window was lost for want of
 *         memory, until the next reset
 */
fm_status fm_analyser_push(fm_analyser *a, const float *in, size_t n);

/** Feed n samples of lost audio: time goes on, the stretch is a gap. n >= 0, else FM_ERR_ARG;
 * FM_ERR_LATE and FM_ERR_NOMEM as above. */
fm_status fm_analyser_push_gap(fm_analyser *a, int64_t n);

/** The recording has ended: close what is open with the samples there are. FM_ERR_NOMEM as above. */
fm_status fm_analyser_finish(fm_analyser *a);

/**
 * Take the oldest finished result.
 *
 * @param[out] out  untouched when there is none
 * @return true when a result was taken
 */
bool fm_analyser_take(fm_analyser *a, fm_count *out);

/** Sample of the recording that is pushed next: the origin, and what was pushed since. */
int64_t fm_analyser_position(const fm_analyser *a);

#endif
