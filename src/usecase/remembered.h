/**
 * @file remembered.h
 * What `sources --find` and `sources --tap-test` have remembered, for a live sitting.
 */
#ifndef USECASE_REMEMBERED_H
#define USECASE_REMEMBERED_H

#include "src/port/devices.h"
#include "src/port/settings.h"

/**
 * The chest piece that was found. Where it is not plugged in now nothing takes its place: a
 * sitting at another microphone would count a room.
 *
 * @param[out] known  false: none is remembered, the default input is meant
 * @return it, borrowed from d; NULL: none is remembered, or, with err APP_USAGE, not here
 */
const device *remembered_input(const settings *s,
                               const devices *d,
                               bool *known,
                               app_err *err);

/** How late this person's taps come, s, measured for an input's key; 0: not measured. */
double remembered_tap_delay_s(const settings *s, const char *key);

#endif
