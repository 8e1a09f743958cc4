/**
 * @file input_meter.h
 * An input that is listened to and measured, nothing kept: for choosing an input, placing
 * the chest piece and testing for feedback. A device of this computer, or a sound file in
 * its place.
 */
#ifndef USECASE_INPUT_METER_H
#define USECASE_INPUT_METER_H

#include "dsp/heart/placement.h"
#include "src/base/error.h"
#include "src/port/capture.h"
#include "src/port/devices.h"

#include <stdbool.h>

/** Opaque; see input_meter_close. */
typedef struct input_meter input_meter;

/** The path behind "file:", or NULL where an input's name is no file. */
const char *input_meter_file(const char *input);

/**
 * Open and start.
 *
 * @param d        the device; NULL: `file`
 * @param file     a sound file, played at its own speed
 * @param channel  from 1; 0: the first
 * @return NULL with err: APP_FAILED, APP_UNREADABLE, APP_USAGE (no such channel)
 */
input_meter *input_meter_open(const device *d,
                              const char *file,
                              int channel,
                              app_err *err);

/** Forget what was measured; what comes from now on counts. */
void input_meter_reset(input_meter *m);

/** Seconds measured since open or reset, in whole frames. */
double input_meter_seconds(input_meter *m);

/** As fm_placement_last and fm_placement_measure. */
bool input_meter_last(input_meter *m, fm_placement_frame *out);
bool input_meter_measure(input_meter *m, fm_placement_measures *out);

/** How the capture goes. */
capture_state input_meter_state(const input_meter *m);

/** Seconds since open on the input's own timeline. */
double input_meter_clock_s(const input_meter *m);

/** Stop; false: the device could not be closed in time (see capture_close). NULL allowed. */
bool input_meter_close(input_meter *m);

#endif
