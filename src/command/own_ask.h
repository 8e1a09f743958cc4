/**
 * @file own_ask.h
 * What is asked on a terminal beside the number, before it is stored: the learner's words for
 * the rhythm or the breathing, and counts noted under way. Each may be left out.
 */
#ifndef COMMAND_OWN_ASK_H
#define COMMAND_OWN_ASK_H

#include "src/document/own_count.h"
#include "src/document/taking_phase.h"

enum {
    OWN_ASK_BYTES = 256,
    OWN_ASK_TYPED = 15 /**< longest answer: "399,399,399" and blanks */
};

/** A question. Opaque. */
typedef struct own_question own_question;

/** Number n of those beside this count, from 0; NULL: there is none. */
const own_question *own_question_at(taking_entry of, int n);

/** The question with the words to choose from, in lines. @return out */
const char *own_question_say(const own_question *q, char out[OWN_ASK_BYTES]);

/**
 * Take what was typed: a word's number, the word, counts; nothing: not said.
 *
 * @return false with err APP_USAGE: it is no answer to this
 */
bool own_question_take(const own_question *q,
                       const char *typed,
                       own_words *to,
                       app_err *err);

/** Ask all of them, line by line, on stderr and stdin; an end of the input leaves the rest
 *  out. */
void own_ask_all(taking_entry of, own_words *to);

/**
 * From what was typed: the number, or "c", that it could not be counted; asked back where the entry
 * alone calls for it, which the same answer again confirms.
 *
 * @param person        somebody is there, or was: not a recording alone
 * @param[in,out] own  what was typed before; it becomes the entry where true is returned
 * @param[out] note    what to say where it is not: one paragraph
 */
bool own_ask_number(taking_entry of,
                    const char *typed,
                    int seconds,
                    bool person,
                    own_count *own,
                    char *note,
                    size_t note_bytes);

#endif
