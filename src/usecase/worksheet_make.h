/**
 * @file worksheet_make.h
 * From a folder of recordings with truth to a worksheet: items with neutral names, all of
 * the same length, a sheet to print, and a sealed key.
 */
#ifndef USECASE_WORKSHEET_MAKE_H
#define USECASE_WORKSHEET_MAKE_H

#include "src/document/worksheet_key.h"

#include <stdint.h>

/** What is wanted. Texts are borrowed. */
typedef struct worksheet_plan {
    const char *from; /**< folder of sound files, each with NAME.truth.json beside it */
    const char *to;   /**< folder to be made, or an empty one */
    const char *phrase; /**< seals the key */
    const char *title;  /**< of the sheet */
    size_t n_items;     /**< 0: every recording that fits */
    uint64_t seed;      /**< chooses and orders them */
} worksheet_plan;

/**
 * Make it.
 *
 * @param[out] n  items made
 * @return false with err APP_USAGE (nothing fits, folder not empty, phrase too short),
 *         APP_UNREADABLE, APP_FAILED
 */
bool worksheet_make(const worksheet_plan *plan, size_t *n, app_err *err);

#endif
