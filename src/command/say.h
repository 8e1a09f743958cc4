/**
 * @file say.h
 * What every command says and gives out in the same way.
 */
#ifndef COMMAND_SAY_H
#define COMMAND_SAY_H

#include "src/base/error.h"
#include "src/port/logbook.h"

#include <jansson.h>
#include <stdio.h>

/** A text that may hold a name of any bytes, and a line end. */
void say_line(const char *text, FILE *to);

/** The same between two texts of ours. */
void say_named(FILE *to, const char *before, const char *name, const char *after);

/**
 * Print a finished text on stdout and free it.
 *
 * @param text  NULL: there was no memory for it
 * @return false with err APP_FAILED
 */
bool say_text(char *text, app_err *err);

/** The same with a document, one line; the reference is taken. */
bool say_json(json_t *document, app_err *err);

/** Give bytes out: into a file, or "-" on stdout. @return false with err as file_write */
bool say_bytes(const char *to, const void *data, size_t n, bool force, app_err *err);

/**
 * Open the logbook of that path, NULL: the person's own, and say what is to be said of it.
 *
 * @param makes  begin one where there is none
 * @return for logbook_close; NULL with err
 */
logbook *say_logbook(const char *command, const char *path, bool makes, app_err *err);

#endif
