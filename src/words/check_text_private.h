/**
 * @file check_text_private.h
 * The parts of the comparison's text that are files of their own.
 */
#ifndef WORDS_CHECK_TEXT_PRIVATE_H
#define WORDS_CHECK_TEXT_PRIVATE_H

#include "src/words/lines.h"
#include "src/words/pieces.h"

/** Rhythm, short counts, range, method, cautions and the next step, as they apply. */
void check_advice_add(const check_view *view, lines *to);

/** Irregular or outside the range: the person first. Nothing where nothing is. */
void check_cautions_add(const check_view *view, lines *to);

/** The respirations' paragraphs; view->breaths is not NULL. */
void check_breaths_add(const check_view *view, lines *to);

#endif
