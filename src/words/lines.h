/**
 * @file lines.h
 * Text for a terminal: paragraphs wrapped at 80 columns, built up in memory. Meant for
 * our own words (ASCII); longer words than a line stand alone, uncut.
 */
#ifndef WORDS_LINES_H
#define WORDS_LINES_H

#include "src/base/error.h"

#include <stdbool.h>
#include <stddef.h>

enum {
    LINES_WIDTH = 80,
    LINES_PARAGRAPH_BYTES = 2048 /**< longest paragraph; what is beyond is cut */
};

/** The text so far. Start it as LINES_NONE; lines_take or lines_drop when done. */
typedef struct lines {
    char *text; /**< owned, ends with a line end and '\0'; NULL while empty */
    size_t n;
    size_t room;
    bool failed; /**< no memory: lines_take gives NULL */
} lines;

#define LINES_NONE                                                                     \
    {                                                                                  \
        NULL, 0, 0, false                                                              \
    }

/** Add a paragraph, each of its lines behind `indent` blanks. */
void lines_add(lines *to, size_t indent, const char *format, ...) APP_PRINTF_LIKE(3, 4);

/** Add one line as it is, not wrapped: a table's row. */
void lines_add_row(lines *to, const char *format, ...) APP_PRINTF_LIKE(2, 3);

/** Add another text's lines as they are; from is unchanged. */
void lines_append(lines *to, const lines *from);

/** Add an empty line, unless the text is empty or already ends with one. */
void lines_break(lines *to);

/** The text, to be freed by the caller; NULL without memory. The lines are then empty. */
char *lines_take(lines *from);

/** Throw the text away. */
void lines_drop(lines *from);

#endif
