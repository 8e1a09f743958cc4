/**
 * @file composed.h
 * The composed set run through the analyser: one outcome a seed, and its tables.
 */
#ifndef ACCURACY_COMPOSED_H
#define ACCURACY_COMPOSED_H

#include "accuracy.h"
#include "sampler.h"

/** What became of one seed. */
typedef struct composed_outcome {
    sample asked;
    scored score; /**< error and rates are beats in [0, 60) */
    fm_band band;
    bool exact_inside; /**< exact but for beats within 30 ms of the window's ends */
    bool good;         /**< false: could not be composed or analysed */
} composed_outcome;

/** The window of every composed recording: [0, 60) s. */
#define COMPOSED_WINDOW_S 60.0

/**
 * Composes and analyses seeds first..first+n-1.
 *
 * @param[out] out  out[0..n-1]
 * @return false when one of them failed (a line on stderr tells which)
 */
bool composed_run(const settings *s, composed_outcome *out, size_t n);

/** Prints the tables: by noise and level, by rhythm, by rate; patterns. */
void composed_print(FILE *out, const composed_outcome *o, size_t n);

/** Prints a line for every seed. */
void composed_print_each(FILE *out, const composed_outcome *o, size_t n);

/** The figures that the goals are about. */
typedef struct composed_figures {
    long n_high;    /**< recordings at 10 dB and better, clean ones among them */
    double f1_high; /**< S1 F1 at 60 ms of those, decoded */
    double f1_high_delivered; /**< the same, a refused minute missing all its beats */
    long counted_high;
    long within2_high; /**< of counted_high */
    long n;
    long counted;
    long counted_wrong; /**< counted, and off by more than 3 */
    long n_clean;
    long clean_exact;        /**< clean, counted, count exact, every S1 within 30 ms */
    long clean_exact_inside; /**< the same but for beats within 30 ms of an end */
    long patterns_right_clean; /**< clean, counted, pattern and repeat right */
    long findings_right_clean; /**< the same of findings */
} composed_figures;

/** Sums the figures. */
composed_figures composed_sum(const composed_outcome *o, size_t n);

#endif
