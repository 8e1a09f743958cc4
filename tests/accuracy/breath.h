/**
 * @file breath.h
 * Measures the count of breaths; README.md tells how.
 */
#ifndef ACCURACY_BREATH_H
#define ACCURACY_BREATH_H

#include "accuracy.h"

/**
 * Measures breaths and prints tables to stdout.
 *
 * @param words  words[0..n-1]: "composed" N; "cycles" or "short-cycles" FILE [N];
 *               "manikin", "manikin-whole" or "chests" FOLDER;
 *               "heart" N: the heart's count beside louder and louder breath;
 *               "troubles" N: breaths beside crackles, wheeze, cough and speech;
 *               "guard": composed ones against the bars that ctest keeps
 * @return EXIT_DONE, EXIT_FAILED, EXIT_USAGE, or EXIT_SKIPPED where the data is absent
 */
int accuracy_breath(const settings *s, char *const words[], size_t n);

/** What was said of recordings whose rate of breathing is known. */
typedef struct breath_figures {
    long n;
    long said;    /**< counted or caution */
    long within2; /**< said, and within 2 a minute */
    long counted;
    long counted_wrong; /**< counted, and off by more than 2 a minute */
} breath_figures;

/**
 * Measures the recordings of a list (path, rate a minute, start s, length s; a path that is
 * not absolute is meant from the list's folder) and prints their table to stdout.
 *
 * @return false when the list cannot be read or names nothing
 */
bool breath_measure_list(const settings *s, const char *path, breath_figures *f);

/** The heart's count of n composed hearts, each beside breath sound of several levels. */
int accuracy_breath_heart(const settings *s, size_t n);

/** The count of n composed breathings, each beside several things that are no breath. */
int accuracy_breath_troubles(const settings *s, size_t n);

#endif
