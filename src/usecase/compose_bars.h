/**
 * @file compose_bars.h
 * A minute written interval by interval: composed, its truth beside it, and the recipe's
 * text that says the same.
 */
#ifndef USECASE_COMPOSE_BARS_H
#define USECASE_COMPOSE_BARS_H

#include "src/base/error.h"

#include <stddef.h>

enum {
    COMPOSE_BARS_MOST = 400
};

#define COMPOSE_BARS_MIN_S 0.25
#define COMPOSE_BARS_MAX_S 3.0

/** What was written. */
typedef struct compose_bars {
    double intervals_s[COMPOSE_BARS_MOST];
    size_t n;
    double seconds; /**< of the recording, 5..120 */
    double breaths_per_min;
    double noise_snr_db; /**< of a noisy room; NaN: none */
} compose_bars;

/**
 * Compose and write path (.wav) with its truth.
 *
 * @return false with err: APP_USAGE (an interval that no heart has), APP_FAILED
 */
bool compose_bars_write(const compose_bars *b, const char *path, app_err *err);

/** The same as a rhythm file, which `compose --beats` takes; to be freed. */
char *compose_bars_text(const compose_bars *b);

#endif
