/**
 * @file accuracy.h
 * What the parts of the evaluation share: its options, and one entry for each job.
 */
#ifndef ACCURACY_H
#define ACCURACY_H

#include "score.h"

#include <stdint.h>

/** Options of every job. */
typedef struct settings {
    unsigned jobs;     /**< threads; 0: one for each processor */
    bool each;         /**< print a line for every window */
    const char *dump;  /**< folder for one TSV of beats a window; NULL: none */
    bool dump_all;     /**< dump every window, not only those that went wrong */
    bool refusals;     /**< the sounds without a heart */
    size_t n_composed; /**< recordings to compose */
    uint64_t first_seed;
} settings;

/** Exit statuses; 77 is the usual one by which ctest knows a skipped test. */
enum {
    EXIT_DONE = 0,
    EXIT_FAILED = 1,
    EXIT_USAGE = 2,
    EXIT_SKIPPED = 77
};

/** Measures folders[0..n-1] of recordings with truth; prints tables to stdout. */
int accuracy_folders(const settings *s, char *const folders[], size_t n);

/** Composes and measures s->n_composed recordings; prints tables to stdout. */
int accuracy_composed(const settings *s);

/** Sounds without a heart; prints a table, EXIT_FAILED when one is not refused. */
int accuracy_refusals(const settings *s);

#endif
