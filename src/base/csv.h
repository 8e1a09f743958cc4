/**
 * @file csv.h
 * Comma-separated values, as RFC 4180 has them: quotes, doubled quotes, CRLF or LF.
 */
#ifndef BASE_CSV_H
#define BASE_CSV_H

#include "src/base/bytes.h"

#include <stddef.h>

/**
 * Read one CSV record from memory: a quoted field may hold line ends.
 *
 * @param[in,out] text  text[0..n-1]; quotes are taken out in place and each field gets
 *                      an end mark, so text[n] must be writable
 * @param[out] fields   fields[0..most-1], pointing into text
 * @param[out] used     bytes of the record with its line end; may be NULL
 * @return fields found; 0 for no record (n 0); -1 when it is malformed, is not complete,
 *         holds a zero byte, or has more than most fields
 */
int csv_split(char *text, size_t n, char **fields, int most, size_t *used);

/** The same of fields that another character parts. */
int csv_split_by(
    char *text, size_t n, char parted_by, char **fields, int most, size_t *used);

/**
 * What parts the fields of a text whose first line is names: a comma, or, as spreadsheets in
 * countries with a decimal comma write it, a semicolon, or a tab; the first of them in that
 * line. A comma where there is none.
 */
char csv_parted_by(const char *text, size_t n);

/** Adds a field, quoted where it must be. */
void csv_add(bytes *to, const char *field);

#endif
