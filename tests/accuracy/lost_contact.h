/**
 * @file lost_contact.h
 * Composed minutes in which the chest piece loses contact.
 */
#ifndef ACCURACY_LOST_CONTACT_H
#define ACCURACY_LOST_CONTACT_H

#include "accuracy.h"

/**
 * The minutes of s->n_lost seeds from s->first_seed on that have 10 dB and better, with contact
 * lost once, for 1.5 to 8 s, at 5 s or later, gone within 0.1 to 1 s. Prints how often it is called
 * a pause, whether a gap is named there, and how often the printed range holds the true count.
 *
 * @return EXIT_DONE; EXIT_FAILED when a seed could not be composed
 */
int accuracy_lost_contact(const settings *s);

#endif
