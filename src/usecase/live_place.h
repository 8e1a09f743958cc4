/**
 * @file live_place.h
 * Where recordings of live sittings lie: $XDG_DATA_HOME/fullminute/recordings (default
 * ~/.local/share), a folder of this person's alone.
 */
#ifndef USECASE_LIVE_PLACE_H
#define USECASE_LIVE_PLACE_H

#include "src/base/error.h"

#include <stdbool.h>

/**
 * The new recording's name: the person's, or one of its own by date and time, in the
 * recordings' folder, which is made with mode 0700.
 *
 * @return to be freed; NULL with err APP_FAILED
 */
char *live_place_new(const char *wanted, app_err *err);

/**
 * Is that a recording of a live sitting of ours: an ordinary file NAME.wav, no link, right
 * in the recordings' folder, with a sitting document beside it that can be read? What a row
 * says of a path is not enough to remove a file.
 */
bool live_place_holds(const char *path);

#endif
