/**
 * @file listening.h
 * Listening through this computer in a live sitting: which output may be used.
 */
#ifndef USECASE_LISTENING_H
#define USECASE_LISTENING_H

#include "src/base/error.h"
#include "src/port/devices.h"

#include <stdbool.h>

/**
 * May this output be used for headphones? A loudspeaker would be heard by the chest piece.
 * By its name alone, which proves little: whoever hears a howl turns it down.
 *
 * @return false with err APP_USAGE: what to do
 */
bool listening_output_check(const device *output, app_err *err);

#endif
