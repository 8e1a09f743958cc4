/**
 * @file capture.h
 * A running input: samples on a true timeline from a device or, for trying without one,
 * from a reader (a sound file) at its own speed. One source interface, two makers.
 *
 * The driver's callback only copies into a ring. A thread, the drain, empties it, notes the
 * monotonic clock beside the number of samples at every wake, and hands blocks, in order
 * and without a gap in their numbering, to the owner's sink. A stretch that was lost is
 * handed on as a gap of its best-known length and is never hidden.
 */
#ifndef PORT_CAPTURE_H
#define PORT_CAPTURE_H

#include "src/base/error.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/** Why audio is missing. */
typedef enum capture_gap_cause {
    CAPTURE_GAP_NONE,
    CAPTURE_GAP_OVERFLOW, /**< the driver says that it dropped samples */
    CAPTURE_GAP_RING,     /**< the drain was held up longer than the ring holds */
    CAPTURE_GAP_STALL     /**< the clock went on and no samples came */
} capture_gap_cause;

/** The word for a cause, as documents carry it: "overflow", "worker late", "stall". */
const char *capture_gap_cause_name(capture_gap_cause cause);

/** One block, or one gap, on the timeline. Samples are borrowed for the call. */
typedef struct capture_block {
    int64_t first_sample; /**< index from the first captured sample, gaps counted in */
    size_t n;             /**< samples, or length of the gap */
    const float *frames;  /**< frames[0..n*channels-1], interleaved, full scale +/-1;
                               NULL: a gap */
    int channels;
    capture_gap_cause cause;
} capture_block;

/** Takes blocks, on the drain's thread. It may write files; it should take well under a
 *  second, and may take longer once in a while: the ring holds several seconds. */
typedef void (*capture_sink)(void *context, const capture_block *block);

/** How it goes. Plain value. */
typedef enum capture_health {
    CAPTURE_STARTING, /**< opened, nothing has come yet */
    CAPTURE_RUNNING,
    CAPTURE_STALLED, /**< nothing has come for CAPTURE_STALL_S */
    CAPTURE_LOST,    /**< the device is gone */
    CAPTURE_ENDED    /**< stopped, or the file has come to its end */
} capture_health;

#define CAPTURE_STALL_S                                                                \
    1.0 /**< no samples for so long: stalled. Must be seen within 2 s */

typedef struct capture_state {
    capture_health health;
    int64_t samples; /**< on the timeline so far, gaps included */
    double gap_s;    /**< of them lost */
    int gaps;
    double since_sample_s;  /**< since the last sample came */
    double callback_load;   /**< share of its time that the driver's callback takes, as
                                   PortAudio measures it from outside; 0 for a file. No
                                   clock is read in the callback; its worst time is
                                   measured by tests/src/test_device_callback.c */
    double input_latency_s; /**< as the driver says; NaN unknown */
    double monitor_latency_s; /**< from input to the headphones; NaN: not monitored */
} capture_state;

/** Where a paced capture takes its samples from. `read` is called on a thread of the
 *  capture's own; what it uses stays the owner's and must live until capture_close. */
typedef struct capture_reader {
    /** Fill out[0..n*channels-1], interleaved; fewer than n only at the end. */
    size_t (*read)(void *context, float *out, size_t n);
    void *context;
    double rate_hz;
    int channels; /**< 1..8 */
} capture_reader;

/** What to open. Plain value. */
typedef struct capture_request {
    int device;            /**< device.index; -1: paced, from `reader` */
    capture_reader reader; /**< for -1; see src/usecase/paced_file.h */
    double rate_hz;      /**< wanted; 0: the device's default ; a reader has its own */
    int channels;        /**< wanted; 0: all up to 8 */
    int monitor_device;  /**< output to listen through; -1: none */
    float monitor_gain;  /**< 0.. */
    int monitor_channel; /**< input channel to listen to, from 0 */
    capture_sink sink;
    void *context;
} capture_request;

capture_request capture_request_default(void);

/** Opaque; see capture_close. */
typedef struct capture capture;

/**
 * Open and start. Blocks come from then on.
 *
 * @return the capture; NULL with err: APP_FAILED (cannot be opened: in use, no such rate,
 *         permission, memory; says what to do), APP_USAGE
 */
capture *capture_open(const capture_request *request, app_err *err);

double capture_rate_hz(const capture *c);
int capture_channels(const capture *c);

/** Any thread. */
void capture_get_state(const capture *c, capture_state *out);

/**
 * The sample that was arriving at a moment of the monotonic clock: its instant less the running minimum over
 * 10 s of (arrival - samples / rate), begun again after a gap or stall. Any thread.
 *
 * @param monotonic_s  CLOCK_MONOTONIC, s
 * @return seconds on the capture's timeline; NaN before anything has come
 */
double capture_time_at(const capture *c, double monotonic_s);

/**
 * Stop: what has come is handed to the sink first; then the device is closed, with a
 * deadline (a hung sound server must not hang us). Safe to call on a stalled or lost one.
 *
 * @return false when the device could not be closed in time; it is then abandoned, and the
 *         caller should end the program with _exit after its own work is safe
 */
bool capture_close(capture *c);

#endif
