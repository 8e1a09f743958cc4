/**
 * @file lines.h
 * Text for a terminal: paragraphs wrapped at 80 columns, built up in memory. Meant for
 * our own words (ASCII); longer words than a line stand alone, uncut.
 */
#ifndef WORDS_LINES_H
#define WORDS_LINES_H

#include "src/base/bytes.h"
#include "src/base/error.h"

#include <stddef.h>

enum {
    LINES_WIDTH = 80,
    LINES_PARAGRAPH_BYTES = 2048 /**< longest paragraph; what is beyond is cut */
};

/** The text so far: BYTES_NONE, then bytes_take or bytes_free. Each line has its end. */
typedef bytes lines;

/** Add a paragraph, each of its lines behind `indent` blanks. */
void lines_add(lines *to, size_t indent, const char *format, ...) APP_PRINTF_LIKE(3, 4);

/** Add one line as it is, not wrapped: a table's row. */
void lines_add_row(lines *to, const char *format, ...) APP_PRINTF_LIKE(2, 3);

/** Add an empty line, unless the text is empty or already ends with one. */
void lines_break(lines *to);

#endif
