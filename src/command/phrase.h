/**
 * @file phrase.h
 * A pass phrase, from the first line of --phrase-file or asked for on the terminal, unseen.
 */
#ifndef COMMAND_PHRASE_H
#define COMMAND_PHRASE_H

#include "src/base/error.h"

enum {
    PHRASE_BYTES = 256
};

/**
 * @param path      a file of it; NULL: ask
 * @param twice     asked for again: it seals something new
 * @param[out] out  the caller wipes it
 * @return false with err APP_USAGE (none, too long, the two differ, no terminal) or
 *         APP_UNREADABLE
 */
bool phrase_find(const char *path,
                 const char *prompt,
                 bool twice,
                 char out[PHRASE_BYTES],
                 app_err *err);

#endif
