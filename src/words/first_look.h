/**
 * @file first_look.h
 * A comparison in words, in the order in which it is read: the person, both numbers and
 * their difference, how sure, the words for rhythm and breathing, the range, better than
 * last time or not, and one next step; then where it slipped, what a shorter count would
 * have said, and how it was counted. The one place of these sentences: the terminal
 * (check_text.h) and the page show them.
 */
#ifndef WORDS_FIRST_LOOK_H
#define WORDS_FIRST_LOOK_H

#include "src/document/check_view.h"
#include "src/document/first_view.h"

/**
 * All of it. What is sealed in the view (a pulse that was not entered) is not in it.
 *
 * @return to be freed by the caller; NULL without memory
 */
first_view *first_look_make(const check_view *view);

/** The same as a JSON value; a new reference, NULL without memory. */
json_t *first_look_document(const check_view *view);

#endif
