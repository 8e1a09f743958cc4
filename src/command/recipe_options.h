/**
 * @file recipe_options.h
 * A line of a recipe file as the options of `compose`.
 */
#ifndef COMMAND_RECIPE_OPTIONS_H
#define COMMAND_RECIPE_OPTIONS_H

#include "src/base/options.h"
#include "src/document/recipe_file.h"

/**
 * Parse one line's options.
 *
 * @param i         0..n-1
 * @param[out] out  borrows from the file until the next call
 * @return false with err APP_UNREADABLE: the file, the line, and what is wrong
 */
bool recipe_file_options(recipe_file *file, size_t i, options *out, app_err *err);

#endif
