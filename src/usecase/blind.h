/**
 * @file blind.h
 * Recordings by number, so that no name gives the answer away: the same recording has the same
 * number in the terminal and on the page, on every computer. It guards against seeing by
 * accident: who knows the names can work the numbers out.
 */
#ifndef USECASE_BLIND_H
#define USECASE_BLIND_H

#include "src/base/error.h"

enum {
    BLIND_NAME_BYTES = 24
};

/** The number of a recording, from 10000 to 99999: by its name, without folder and ending. */
int blind_number(const char *path);

/** "Recording 12345". @return out */
const char *blind_name(const char *path, char out[BLIND_NAME_BYTES]);

/**
 * The one of that number.
 *
 * @param paths  paths[0..n-1], n > 0
 * @return its place; -1 with err APP_USAGE: none has it, or more than one
 */
int blind_find(const char *const *paths, int n, int number, app_err *err);

/** Any of n, n > 0, by the clock. */
int blind_any(int n);

#endif
