/**
 * @file csv_table.h
 * A file of CSV with a line of names, read record by record: its columns are found by their
 * names, in any order, and are members of a struct (src/document/members).
 */
#ifndef DOCUMENT_CSV_TABLE_H
#define DOCUMENT_CSV_TABLE_H

#include "src/base/error.h"
#include "src/document/members.h"

#include <stdbool.h>
#include <stddef.h>

enum {
    CSV_TABLE_COLUMNS = 128
};

/** Where the reading is. Start with name and hint set. */
typedef struct csv_table {
    const char *name; /**< for errors */
    const char *hint; /**< what ends every error: "; nothing was scored" */
    long record;      /**< the one being read, from 1: the names */
    int n;            /**< its fields */
    char *field[CSV_TABLE_COLUMNS];
    const member *column[CSV_TABLE_COLUMNS]; /**< what each is; NULL: passed over */
} csv_table;

/** Called for a record; false with err ends the reading. */
typedef bool csv_table_taker(csv_table *t, void *context, app_err *err);

/**
 * Every record of a text, its fields parted as csv_parted_by says; a byte order mark and lines
 * of empty fields are passed over.
 *
 * @param[in,out] text  text[0..n-1]; changed, fields point into it; text[n] writable
 * @param names         for the first record
 * @param take          for each other
 * @return false with err APP_UNREADABLE (the record and what is wrong there), or a taker's
 */
bool csv_table_read(csv_table *t,
                    char *text,
                    size_t n,
                    csv_table_taker *names,
                    csv_table_taker *take,
                    void *context,
                    app_err *err);

/**
 * Which column each member is in. One that is needed has to be there.
 *
 * @param unknown  what to say of a name that is no member's: "is none of ..."; NULL: it is
 *                 passed over
 */
bool csv_table_names(csv_table *t,
                     const member *rows,
                     const char *unknown,
                     app_err *err);

/** Fill a struct from the record; an empty field leaves its member as it is, unless it is
 *  needed and may not be MEMBER_BLANK. */
bool csv_table_fill(const csv_table *t, void *to, app_err *err);

/** "NAME, record N: WHAT"; always false. */
bool csv_table_wrong(const csv_table *t, const char *what, app_err *err);

/** "NAME, record N: 'VALUE' cannot be COLUMN"; always false. */
bool csv_table_wrong_field(const csv_table *t,
                           const char *value,
                           const char *column,
                           app_err *err);

#endif
