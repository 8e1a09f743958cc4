/**
 * @file phrase.h
 * A pass phrase, from the first line of --phrase-file or asked for on the terminal, unseen.
 */
#ifndef COMMAND_PHRASE_H
#define COMMAND_PHRASE_H

#include "src/base/options.h"

enum {
    PHRASE_BYTES = 256
};

/**
 * @param twice     asked for again: it seals something new
 * @param[out] out  the caller wipes it
 * @return false with err APP_USAGE (none, too long, the two differ, no terminal) or
 *         APP_UNREADABLE
 */
bool phrase_find(const options *o,
                 const char *prompt,
                 bool twice,
                 char out[PHRASE_BYTES],
                 app_err *err);

#endif
