/**
 * @file device_callback.h
 * The function that the sound driver calls, and what it may touch. It copies samples into
 * the ring and, when monitored, one channel to the headphones. Nothing in it allocates,
 * locks, waits, reads a clock or calls the system; a test holds it to that.
 */
#ifndef CAPTURE_DEVICE_CALLBACK_H
#define CAPTURE_DEVICE_CALLBACK_H

#include "src/base/ring.h"

#include <portaudio.h>
#include <stdatomic.h>

typedef struct device_callback_state {
    ring *r;
    int inputs;
    int outputs; /**< 0: not monitored */
    _Atomic float monitor_gain;
    atomic_int monitor_channel;
    atomic_bool finished; /**< the driver has said that no more will come */
} device_callback_state;

/** A PaStreamCallback; user_data is a device_callback_state. Real-time safe. */
int device_callback(const void *input,
                    void *output,
                    unsigned long frames,
                    const PaStreamCallbackTimeInfo *time,
                    PaStreamCallbackFlags flags,
                    void *user_data);

/** A PaStreamFinishedCallback. */
void device_callback_finished(void *user_data);

#endif
