/**
 * @file source.h
 * What a capture needs of whatever delivers the samples. Private to src/capture: a device
 * (device_source.c) and a paced reader (paced_source.c) are the two makers.
 *
 * A source writes into a ring from its own thread, as soon as it is started.
 */
#ifndef CAPTURE_SOURCE_H
#define CAPTURE_SOURCE_H

#include "src/base/error.h"
#include "src/base/ring.h"
#include "src/port/capture.h"

#include <stdbool.h>

/** Flags in the ring, before the frames they belong to. */
enum {
    SOURCE_OVERFLOW = 1 /**< the driver dropped frames here, it does not say how many */
};

typedef struct source source;

struct source {
    /** Begin to write into the ring. */
    bool (*start)(source *s, app_err *err);
    /** The drain's thread; quick. No more of it will come: the device is gone (or what comes
        is another's, hardware_watch.h), the file is at its end. */
    bool (*finished)(source *s);
    /** Stop and free. May wait for ever for a device whose server hangs: call it from a thread that
        can be left behind. */
    void (*close)(source *s);
    /** Quick. */
    double (*load)(source *s);
    ring *r; /**< borrowed; written by this source only */
    double rate_hz;
    int channels;
    double input_latency_s;   /**< NaN unknown */
    double monitor_latency_s; /**< NaN: not monitored */
    bool file;                /**< finished means the end, not a loss */
};

/**
 * An input of this computer, through PortAudio, listened to through an output in the same
 * stream where that is wanted.
 *
 * @return the source, not yet started and without its ring; NULL with err
 */
source *device_source_open(const capture_request *request, app_err *err);

/** A reader's samples at their own speed, every 10 ms what is due. The same otherwise. */
source *paced_source_open(const capture_reader *reader, app_err *err);

#endif
