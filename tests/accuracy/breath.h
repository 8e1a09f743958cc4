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

/** The heart's count of n composed hearts, each beside breath sound of several levels. */
int accuracy_breath_heart(const settings *s, size_t n);

/** The count of n composed breathings, each beside several things that are no breath. */
int accuracy_breath_troubles(const settings *s, size_t n);

#endif
