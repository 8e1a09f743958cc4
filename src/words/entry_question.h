/**
 * @file entry_question.h
 * What an entry is asked back before it is stored, by the entry alone: nothing of the sound is
 * known here, nor may be, and so the question tells nothing of it.
 *
 * Asked back is a rate that a slip of the hand explains better than a heart or a chest: a
 * pulse under 30 or over 220 per minute, respirations under 5 or over 80 (all ours; wide
 * enough for the slow and the fast that are met, newborns among them). 0 respirations have
 * the question of the person instead.
 */
#ifndef WORDS_ENTRY_QUESTION_H
#define WORDS_ENTRY_QUESTION_H

#include "src/document/own_count.h"
#include "src/words/lines.h"

#include <stdbool.h>

typedef enum entry_question {
    ENTRY_NO_QUESTION,
    ENTRY_IMPROBABLE,  /**< is that what was counted? */
    ENTRY_PERSON_FIRST /**< none, or not counted: how is the person? */
} entry_question;

/**
 * @param person    somebody is there, or was: not a recording alone
 * @param[out] out  the question, one paragraph; "" where there is none
 * @return ENTRY_NO_QUESTION too where it is confirmed already
 */
entry_question entry_question_of(taking_entry of,
                                 const own_count *own,
                                 int seconds,
                                 bool person,
                                 char out[LINES_PARAGRAPH_BYTES]);

/** "improbable", "person"; NULL: nothing is asked. */
const char *entry_question_word(entry_question q);

#endif
