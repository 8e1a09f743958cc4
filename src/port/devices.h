/**
 * @file devices.h
 * The inputs and outputs of this computer, with a steady name to choose each by. Starts
 * and ends PortAudio, and keeps the chatter of ALSA and JACK off the person's terminal.
 */
#ifndef PORT_DEVICES_H
#define PORT_DEVICES_H

#include "src/base/error.h"

#include <stdbool.h>
#include <stddef.h>

enum {
    DEVICE_NAME_BYTES = 160,
    DEVICE_RATES = 8
};

/** One input, output or both. Plain value. */
typedef struct device {
    int index; /**< PortAudio's, valid until devices_close */
    char key
        [DEVICE_NAME_BYTES]; /**< steady name: host API and device name, "alsa:pulse";
                                       alike ones get " #2" in the order of listing */
    char name[DEVICE_NAME_BYTES]; /**< as the system calls it */
    char host_api[48];
    int inputs; /**< channels; 0: no input */
    int outputs;
    double default_rate_hz;
    int n_rates; /**< of the usual rates, those it takes for input (or
                                       output, where it has no input) */
    double rates_hz[DEVICE_RATES];
    bool default_input;
    bool default_output;
} device;

/** The list. Owned; free with devices_close. */
typedef struct devices {
    device *list; /**< list[0..n-1] */
    size_t n;
} devices;

/**
 * Start PortAudio quietly and list what there is. No sound card is no error: n is 0.
 *
 * @param rates  also ask each device for its rates (slow on some systems)
 * @return false with err APP_FAILED
 */
bool devices_open(devices *out, bool rates, app_err *err);

/** End PortAudio and free the list. */
void devices_close(devices *d);

/**
 * Find an input (or output) by key, by name, or by a part of the name that only one has;
 * NULL or "default": the default one.
 *
 * @return the device, borrowed; NULL with err APP_USAGE that lists what there is, or, with
 *         no input at all, says so and how to use a file instead
 */
const device *devices_find(const devices *d,
                           const char *wanted,
                           bool output,
                           app_err *err);

#endif
