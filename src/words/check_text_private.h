/**
 * @file check_text_private.h
 * The parts of the comparison's text that are files of their own.
 */
#ifndef WORDS_CHECK_TEXT_PRIVATE_H
#define WORDS_CHECK_TEXT_PRIVATE_H

#include "src/words/lines.h"
#include "src/words/pieces.h"
#include "src/words/reason_text.h"

/** Why the device refused, or doubts; out[0..REASON_TEXT_BYTES-1] is returned. */
const char *compared_reason(const check_view *view,
                            fm_event_kind kind,
                            char out[REASON_TEXT_BYTES]);

/** " by watching": how respirations were counted; "" where it was not said. */
const char *compared_how(const fm_comparison *c);

/** "You 72, fullminute 71 (70-72) in the same full minute.": both numbers. */
void compared_put_numbers(const check_view *view,
                          fm_event_kind kind,
                          char out[PIECE_WORDS_BYTES]);

/** "You 36 in 30 s; sound is missing in those seconds, ...": there is no reference, though
 * the device did not refuse and no truth is in doubt. */
void compared_put_why_not(const check_view *view,
                          fm_event_kind kind,
                          char out[PIECE_WORDS_BYTES]);

/** "You could not count the beats; ...": whether that is right. */
void compared_put_could_not(const check_view *view,
                            fm_event_kind kind,
                            char out[PIECE_WORDS_BYTES]);

/** "72 is", or "yours, 150, is": the rate that is held against the range. */
void compared_put_rate(const fm_comparison *c, char out[PIECE_WORDS_BYTES]);

/** "You are 2 per minute lower. Agrees, within ...": the difference, or the range in its
 * place where that holds the limit, and the verdict. */
void compared_put_difference(const check_view *view,
                             fm_event_kind kind,
                             char out[PIECE_WORDS_BYTES]);

/** " fullminute doubts its own count: ...", where it does. */
void compared_put_doubt(const check_view *view,
                        fm_event_kind kind,
                        char out[PIECE_WORDS_BYTES]);

/** Rhythm, short counts, range, method, cautions and the next step, as they apply. */
void check_advice_add(const check_view *view, lines *to);

/** Irregular or outside the range: the person first. Nothing where nothing is. */
void check_cautions_add(const check_view *view, lines *to);

/** The respirations' paragraphs; view->breaths is not NULL. */
void check_breaths_add(const check_view *view, lines *to);

#endif
