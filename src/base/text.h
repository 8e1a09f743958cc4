/**
 * @file text.h
 * Small text work that must not depend on the person's locale: numbers in, the nearest
 * word to a mistyped one, names of any bytes out. The program never calls setlocale, so the C library
 * works in the C locale.
 */
#ifndef BASE_TEXT_H
#define BASE_TEXT_H

#include "src/base/error.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/**
 * A whole text as one decimal number: [+-]digits[.digits][e[+-]digits]. No blanks, no
 * hexadecimal, no "inf" or "nan".
 *
 * @param[out] out  finite; untouched when false is returned
 * @return false if the text is anything else or too large for a double
 */
bool text_to_double(const char *text, double *out);

/** The same for a whole number, [+-]digits; false too when it does not fit. */
bool text_to_long(const char *text, long *out);

/**
 * Edits (insert, delete, change, swap of neighbours) that turn a into b.
 * Texts over 32 bytes count as far away.
 *
 * @return 0 for equal texts
 */
size_t text_distance(const char *a, const char *b);

/** Holds the nearest of a row of candidates offered one by one. */
typedef struct text_nearest {
    const char *typed;
    const char *word; /**< nearest so far within reach; NULL: none */
    size_t distance;
} text_nearest;

/** Offer a candidate; kept when it is nearer than all before and near enough. */
void text_nearest_offer(text_nearest *nearest, const char *candidate);

/**
 * Print text that may hold a file name of any bytes: control characters, which could
 * move the cursor or colour the screen, marks that turn the direction of writing round,
 * and bytes that are no UTF-8 become '?'.
 */
void text_print_clean(const char *text, FILE *to);

/**
 * One UTF-8 character (RFC 3629) at the start of bytes, which end with '\0'.
 *
 * @param[out] number  its number; untouched when 0 is returned
 * @return its bytes; 0: there is none
 */
size_t text_utf8_character(const char *bytes, uint32_t *number);

/**
 * Add to a text in a field of `bytes` bytes what printf makes; what does not fit is cut.
 *
 * @param[in,out] out  a text; bytes over its length + 1
 */
void text_add(char *out, size_t bytes, const char *format, ...) APP_PRINTF_LIKE(3, 4);

/**
 * How much of a text fits in a line: up to the last blank within width bytes, all of it, or
 * one word that is longer.
 */
size_t text_line(const char *text, size_t width);

/** UTF-8 without control characters, which could move a cursor? */
bool text_is_printable(const char *text);

/** True when text is UTF-8 from end to end. */
bool text_is_utf8(const char *text);

/**
 * A file name of any bytes as UTF-8: as it stands where it is that already, else with
 * every byte above 0x7F and every '%' written as %XX.
 *
 * @return text, to be freed by the caller; NULL without memory
 */
char *text_escape_name(const char *bytes);

/** A new text of three in a row, to be freed; NULL without memory. */
char *text_join(const char *a, const char *b, const char *c);

#endif
