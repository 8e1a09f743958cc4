/**
 * @file compose_options.h
 * The options of `compose`, and the recipe they make. One table serves the command line,
 * its help and every line of a recipe file.
 */
#ifndef COMMAND_COMPOSE_OPTIONS_H
#define COMMAND_COMPOSE_OPTIONS_H

#include "dsp/compose.h"
#include "src/base/error.h"
#include "src/base/options.h"
#include "src/base/times_file.h"

#include <stddef.h>

extern const option_spec compose_option_table[];

/**
 * The recipe that options ask for.
 *
 * @param[out] recipe     filled; borrows from intervals
 * @param[out] intervals  read from --intervals, to be freed with times_free
 * @return false with err: APP_USAGE (a value out of range, or options that do not go
 *         together), APP_UNREADABLE (the intervals)
 */
bool compose_options_recipe(const options *o,
                            fm_recipe *recipe,
                            times *intervals,
                            app_err *err);

/**
 * The options given that change the sound, as they would be typed; a file by its name
 * alone.
 *
 * @param[out] out  out[0..bytes-1]; "" when they do not fit
 */
void compose_options_format(const options *o, char *out, size_t bytes);

#endif
