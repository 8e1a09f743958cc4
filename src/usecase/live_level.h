/**
 * @file live_level.h
 * The slow level of a sealed minute: one value for every three whole seconds, in steps of
 * 3 dB, so that nobody can count it. And what it says of the placement.
 */
#ifndef USECASE_LIVE_LEVEL_H
#define USECASE_LIVE_LEVEL_H

#include <stdbool.h>
#include <stddef.h>

#define LIVE_LEVEL_S       3.0 /**< seconds that one value stands for */
#define LIVE_LEVEL_STEP_DB 3.0

/** State. Plain value. */
typedef struct live_level {
    size_t block_samples;
    size_t n; /**< in the present block */
    double power;
    double low_power;
    size_t clipped;
    double low; /**< low-pass, about 150 Hz */
    double pole;
    bool known;
    double level_dbfs;
    const char *advice;
} live_level;

void live_level_init(live_level *l, double rate_hz);

/** @param in  in[0..n-1], full scale +/-1 */
void live_level_push(live_level *l, const float *in, size_t n);

#endif
