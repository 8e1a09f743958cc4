/**
 * @file picture_file.h
 * A picture as a file, SVG or PNG by its name.
 */
#ifndef USECASE_PICTURE_FILE_H
#define USECASE_PICTURE_FILE_H

#include "src/base/error.h"

/**
 * Can path be drawn to? Looks at the extension only (.svg or .png, any case), so that a
 * command can refuse a wrong one before it counts.
 *
 * @return true; false with APP_USAGE and a sentence naming both extensions
 */
bool picture_file_check_name(const char *path, app_err *err);

/**
 * Does the picture spare what it is made from? --force must not replace a recording that
 * happens to have a picture's name.
 *
 * @param input  a file that is read, "-" for standard input; NULL: none
 * @return true; false with APP_USAGE when path and input are one file
 */
bool picture_file_spares(const char *path, const char *input, app_err *err);

/**
 * Writes a picture. The file appears whole or not at all.
 *
 * @param svg    SVG text, freed here; NULL: there was no memory to draw it
 * @param force  replace an existing file; without it an existing file is an error
 * @return true; false with APP_USAGE (extension, existing file) or APP_FAILED
 *         (no memory, cannot write, the PNG part is not installed), path named
 */
bool picture_file_write(char *svg, const char *path, bool force, app_err *err);

#endif
