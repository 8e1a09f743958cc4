/**
 * @file saved.h
 * Results kept in a file, so that recordings decoded by several builds (one for each fold
 * of a cross-validation) can be scored together. The file is for the same machine and
 * version only; files may be joined end to end.
 */
#ifndef ACCURACY_SAVED_H
#define ACCURACY_SAVED_H

#include "dsp/result.h"

#include <stdio.h>

/** Results read back. Start from {0}, free with saved_free. */
typedef struct saved {
    struct saved_window *windows;
    size_t n;
} saved;

/** Appends one window's result to a file; from any thread. */
bool saved_write(FILE *out, const char *name, const fm_count *count);

/** Reads a file of results; false and a line on stderr when it cannot. */
bool saved_read(saved *list, const char *path);

/** Calls visit for every window of a recording, in the order written; how many. */
size_t saved_visit(const saved *list,
                   const char *name,
                   void (*visit)(const fm_count *count, void *context),
                   void *context);

/** Frees what the list holds and empties it. */
void saved_free(saved *list);

#endif
