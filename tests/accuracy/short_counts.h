/**
 * @file short_counts.h
 * The short-count lesson in numbers.
 */
#ifndef ACCURACY_SHORT_COUNTS_H
#define ACCURACY_SHORT_COUNTS_H

#include "accuracy.h"

/**
 * For every recording of a folder with truth documents whose heart can be heard: the first
 * minute's beats, and the least and most that 15 s x 4 and 30 s x 2 give when begun at any
 * whole second of it. Prints a table in Markdown, and the widest errors of the irregular.
 *
 * @return EXIT_DONE; EXIT_FAILED when there is no truth in the folder
 */
int accuracy_short_counts(const char *folder);

#endif
