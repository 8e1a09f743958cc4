/**
 * @file breath_table.h
 * Tables about breaths.
 */
#ifndef ACCURACY_BREATH_TABLE_H
#define ACCURACY_BREATH_TABLE_H

#include "dsp/result.h"

#include <stdbool.h>
#include <stddef.h>

/** One recording, its truth and what was said of it. */
typedef struct breath_outcome {
    char name[80];
    int kind;
    bool good;         /**< it could be made and analysed */
    bool whole_minute; /**< else the true figure is a rate */
    double true_per_min;
    double snr_db;
    double speed;
    fm_outcome heart_status;
    size_t n_starts;  /**< true ones in the window; 0 where only the rate is known */
    size_t n_matched; /**< of these found within 0.5 s */
    fm_breath breath;
} breath_outcome;

/** Prints all tables of o[0..n-1] to stdout; each: a line for every one as well. */
void breath_tables(const breath_outcome *o, size_t n, bool each);

#endif
