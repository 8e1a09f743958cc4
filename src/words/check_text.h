/**
 * @file check_text.h
 * The comparison as the learner reads it on a terminal: the two numbers first, then
 * where it slipped, the rhythm, what a shorter count would have said, cautions and the
 * next step. About thirty lines of at most 80 columns, ASCII.
 */
#ifndef WORDS_CHECK_TEXT_H
#define WORDS_CHECK_TEXT_H

#include "src/document/check_view.h"

/**
 * The whole text.
 *
 * @return text ending with a line end, to be freed by the caller; NULL without memory
 */
char *check_text_format(const check_view *view);

#endif
