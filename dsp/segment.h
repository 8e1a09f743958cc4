/**
 * @file segment.h
 * One window with its context, gathered from pushed blocks: brought to the working rate
 * as it comes, with what must be measured at the input rate (level, clipping, gaps)
 * measured on the way; mono. All memory is taken at create.
 */
#ifndef FM_SEGMENT_H
#define FM_SEGMENT_H

#include "dsp/result.h"
#include "dsp/status.h"

#define FM_WORK_RATE_HZ  2000.0 /**< rate of the conditioned signal, Hz */
#define FM_SEGMENT_MAX_S 68.0   /**< window and both contexts, s */

enum {
    FM_SEGMENT_SECONDS = 70,    /**< whole seconds a segment can touch */
    FM_SEGMENT_SAMPLES = 136064 /**< room for the longest segment, with a little over */
};

/** What the rest of the library sees of a segment. Valid until the collector moves on. */
typedef struct fm_segment {
    float *x; /**< x[0..n-1] at FM_WORK_RATE_HZ; may be written over */
    size_t n;
    double start_s; /**< time of x[0] in the recording */
    double window_start_s;
    double window_end_s;
    double mean_square; /**< of the window's samples, DC included, full scale squared */
    bool single_tone;   /**< two samples predict the next: one sine, little else */
    double clipped_fraction;
    float clipped_in_second[FM_SEGMENT_SECONDS]; /**< share, by second from start_s */
    size_t n_gaps;
    fm_span gaps[FM_SPANS_MAX]; /**< ascending, merged; times in the recording */
} fm_segment;

/** Opaque; see fm_collector_destroy. */
typedef struct fm_collector fm_collector;

/**
 * New collector.
 *
 * @param rate_hz  input rate, within FM_RATE_MIN_HZ..FM_RATE_MAX_HZ (not checked here)
 * @return NULL when memory is short
 */
fm_collector *fm_collector_create(double rate_hz);

/** Frees c; NULL is allowed. */
void fm_collector_destroy(fm_collector *c);

/**
 * Begin a segment.
 *
 * @param context_start  sample index of the first sample that will be pushed, >= 0
 * @param window_start   >= context_start
 * @param window_end     one past the window's last sample
 */
void fm_collector_begin(fm_collector *c,
                        int64_t context_start,
                        int64_t window_start,
                        int64_t window_end);

/**
 * Feed the next n samples; real-time safe after the first second.
 *
 * @param[in] in  in[0..n-1]; not finite or over 1e12: 0 and a gap; NULL: lost audio,
 *                zeros on the timeline and a gap
 */
void fm_collector_push(fm_collector *c, const float *in, size_t n);

/**
 * No more samples for this segment.
 *
 * @param end         sample index one past the last sample pushed
 * @param[out] s      filled; s->x belongs to c
 * @return FM_OK; FM_ERR_NOMEM: samples are missing in it
 */
fm_status fm_collector_finish(fm_collector *c, int64_t end, fm_segment *s);

/** Is no sample of x[0..n-1] beyond a limit, and each a number? */
bool fm_all_within(const float *x, size_t n, float limit);

#endif
