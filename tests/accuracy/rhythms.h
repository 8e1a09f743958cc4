/**
 * @file rhythms.h
 * What is said of each composed rhythm, many seeds of each: a table of confusion.
 */
#ifndef ACCURACY_RHYTHMS_H
#define ACCURACY_RHYTHMS_H

#include "accuracy.h"

/**
 * Composes s->n_rhythms seeds of every rhythm at 15 dB and better, analyses the first
 * minute of each, prints the table.
 *
 * @return EXIT_DONE; EXIT_FAILED when a rhythm is under its bar (95 % have the right word for the pattern), when anything
 *         irregularly irregular was called regular, or when one could not be composed
 */
int accuracy_rhythms(const settings *s);

#endif
