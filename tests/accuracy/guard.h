/**
 * @file guard.h
 * Bars that a change may not fall under: run by ctest.
 */
#ifndef ACCURACY_GUARD_H
#define ACCURACY_GUARD_H

#include "accuracy.h"

/** The composed guard: 60 seeds of its own; EXIT_FAILED and a line each bar missed. */
int guard_composed(const settings *s);

/**
 * The open heart data, high-confidence truth.
 *
 * @param folder  where it should be; the environment's FULLMINUTE_OPEN_DATA goes first
 * @return EXIT_SKIPPED and a notice when it is not there
 */
int guard_open_data(const settings *s, const char *folder);

/**
 * The real recordings that are part of the project (tests/data/real): hearts and paced
 * breathing against bars. EXIT_FAILED when they are not there.
 */
int guard_real(const settings *s, const char *folder);

/**
 * The demonstration recordings: each whole minute counted, exact, with the right pattern
 * and findings, or refused where its truth says that the heart lies under the noise.
 */
int guard_recordings(const settings *s, const char *folder);

#endif
