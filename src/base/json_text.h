/**
 * @file json_text.h
 * JSON that is whole or not there. Jansson leaves a member out without a word where memory
 * for it is short (json_object_set_new of a value that could not be made), and calls a text
 * that it could not keep malformed, or returns it without a member. So each of its allocations that fails is noted, for the
 * thread on which it failed.
 */
#ifndef BASE_JSON_TEXT_H
#define BASE_JSON_TEXT_H

#include <jansson.h>
#include <stdbool.h>

/** From main, before anything is made of JSON. */
void json_text_begin(void);

/**
 * json_dumps of a document made on this thread.
 *
 * @param json  NULL: it could not be made
 * @return text, to be freed; NULL where memory was short for any part of it
 */
char *json_text_of(const json_t *json, size_t flags);

/**
 * Was memory short for JSON on this thread since this, or json_text_of, was last asked? To be
 * asked after a read, also one that gave a document: it may lack a member.
 */
bool json_text_short(void);

#endif
