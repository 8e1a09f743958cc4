/**
 * @file picture_words.h
 * The numbers and the sentences that stand beside the minute dial, as plain text.
 */
#ifndef SRC_PICTURE_PICTURE_WORDS_H
#define SRC_PICTURE_PICTURE_WORDS_H

#include "src/picture/picture.h"

enum {
    PICTURE_ROWS_MAX = 6,
    PICTURE_LABEL_BYTES = 32,
    PICTURE_VALUE_BYTES = 128,
    PICTURE_SENTENCES_BYTES = 4096 /**< more than they can come to */
};

/** One number and what it is. */
typedef struct picture_row {
    char label[PICTURE_LABEL_BYTES]; /**< "You", "fullminute" */
    char value[PICTURE_VALUE_BYTES]; /**< "71 (70-72) in the full minute" */
} picture_row;

/** The words of one picture. */
typedef struct picture_words {
    size_t n_rows;
    picture_row rows[PICTURE_ROWS_MAX];
    char sentences[PICTURE_SENTENCES_BYTES]; /**< one paragraph, UTF-8, "" for none */
} picture_words;

/** Makes the words; a refused count gives no number of the heart. */
void picture_words_make(const picture *p, picture_words *words);

#endif
