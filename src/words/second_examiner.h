/**
 * @file second_examiner.h
 * What two examiners of the same minute came to, in words: the one at the apex, the other at the
 * wrist.
 */
#ifndef WORDS_SECOND_EXAMINER_H
#define WORDS_SECOND_EXAMINER_H

#include "src/document/sitting_document.h"
#include "src/words/lines.h"

/** @return out; "" there were not two */
const char *second_examiner_text(const sitting_document *d,
                                 char out[LINES_PARAGRAPH_BYTES]);

#endif
