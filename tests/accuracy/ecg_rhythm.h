/**
 * @file ecg_rhythm.h
 * The rhythm of decoded beats against the rhythm of the ECG's own beats: intervals,
 * flags, pattern.
 */
#ifndef ACCURACY_ECG_RHYTHM_H
#define ACCURACY_ECG_RHYTHM_H

#include "dsp/result.h"

/** The flags that are compared. */
enum {
    FLAG_EARLY,
    FLAG_LATE, /**< late or pause */
    FLAGS
};

/** Sums over recordings; start from {0}, free with ecg_rhythm_free. */
typedef struct ecg_rhythm {
    long n;                                         /**< recordings */
    long table[FM_PATTERN_COUNT][FM_PATTERN_COUNT]; /**< of the ECG, of the sound */
    long right[FLAGS];    /**< flagged by both, the intervals' ends within 100 ms */
    long of_ecg[FLAGS];   /**< flagged on the ECG */
    long of_sound[FLAGS]; /**< flagged on the sound */
    double *errors_ms;    /**< interval heard less interval of the ECG */
    size_t n_errors;
} ecg_rhythm;

/**
 * Adds one recording. Both rhythms are described by the library from the beats in the
 * same span, so that beats and not rules are compared.
 *
 * @param r_s      r_s[0..n_r-1]: R peaks, ascending
 * @param s1_s     s1_s[0..n_s1-1]: decoded S1 in the same span, ascending
 * @param lag_s    S1 after R
 */
void ecg_rhythm_add(ecg_rhythm *sums,
                    const double *r_s,
                    size_t n_r,
                    const double *s1_s,
                    size_t n_s1,
                    double lag_s);

/** Prints the tables to stdout; nothing when no recording was added. */
void ecg_rhythm_print(const ecg_rhythm *sums);

/** Frees what the sums hold. */
void ecg_rhythm_free(ecg_rhythm *sums);

#endif
