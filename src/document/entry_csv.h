/**
 * @file entry_csv.h
 * Rows as CSV, out and back in: the first column says practice, the second is the row's
 * number, then every field by its name. UTF-8, RFC 4180.
 */
#ifndef DOCUMENT_ENTRY_CSV_H
#define DOCUMENT_ENTRY_CSV_H

#include "src/base/bytes.h"
#include "src/base/error.h"
#include "src/document/entry.h"

/** The line of names. */
void entry_csv_header(bytes *to);

/** One row. */
void entry_csv_add(bytes *to, const entry *e);

/** Called for each row of a file; false with err ends it. */
typedef bool entry_csv_taker(void *context, entry *e, app_err *err);

/**
 * Every row of a CSV text, by the names in its first line, in any order; unknown names are
 * refused, missing ones are not known. number stays 0.
 *
 * @param[in,out] text  text[0..n-1]; changed; text[n] must be writable
 * @param name          for errors
 * @return false with err APP_UNREADABLE (line, column, what it should be), or the taker's
 */
bool entry_csv_read(const char *name,
                    char *text,
                    size_t n,
                    entry_csv_taker *taker,
                    void *context,
                    app_err *err);

#endif
