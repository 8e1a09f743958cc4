/**
 * @file charted_line.h
 * A row as it is charted: always the learner's own numbers, in one line, marked as
 * practice. The second count has no place in it.
 */
#ifndef WORDS_CHARTED_LINE_H
#define WORDS_CHARTED_LINE_H

#include "src/document/entry.h"

enum {
    CHARTED_LINE_BYTES = 1024
};

/**
 * "14:05 Apical 72/min, regular, counted 60 s, at rest, sitting. Resp 16/min, regular,
 * normal depth, unlaboured, counted 60 s. [practice]". Only what is known is in it; what
 * must still be written by hand is "____".
 *
 * @return out
 */
const char *charted_line(const entry *e, char out[CHARTED_LINE_BYTES]);

#endif
