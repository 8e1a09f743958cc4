/**
 * @file entry_ask.h
 * The question that an entry is answered with before it is stored (words/entry_question.h), for
 * a page. By the entry alone: no recording is named here, and none is opened.
 */
#ifndef USECASE_ENTRY_ASK_H
#define USECASE_ENTRY_ASK_H

#include "src/document/own_count.h"

/**
 * @param person  somebody is there: not a recording alone
 * @return {error, ask: "improbable" or "person", text, person}; a new reference. NULL: nothing
 *         is asked
 */
json_t *entry_ask_json(taking_entry of, const own_count *own, int seconds, bool person);

#endif
