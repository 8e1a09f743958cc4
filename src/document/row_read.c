/* Rows out of CSV or JSON Lines, one record at a time. */
#include "src/base/csv.h"
#include "src/base/json_text.h"
#include "src/document/row.h"

#include <errno.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    FIELDS_MAX = 256,          /* columns a foreign file may have */
    RECORD_MAX_BYTES = 1 << 20 /* a longer one is no row of ours */
};

struct row_reader {
    FILE *file;
    char *name; /* for errors */
    row_format format;
    long record;               /* read so far, the header too */
    int column_at[FIELDS_MAX]; /* CSV: which column each field is; -1 none */
    int n_columns;
    bytes text; /* the record */
    bytes raw;  /* the same as it was read */
    json_t *object;
    char digits[ROW_COLUMN_COUNT][32];
};

/* ---- Records from a file ---- */

static bool bad_record(const row_reader *reader, const char *what, app_err *err)
{
    return app_err_set(err, APP_UNREADABLE,
                       "%s, record %ld: %s; make it again with batch or merge",
                       reader->name, reader->record, what);
}

/* One line, or a CSV record over several; 1, 0 at the end, -1. */
static int read_record(row_reader *reader, app_err *err)
{
    bool quoted = false;
    int c = 0;
    bytes_clear(&reader->text);
    reader->record++;
    while ((c = getc(reader->file)) != EOF) {
        if (reader->text.n >= RECORD_MAX_BYTES) {
            (void)bad_record(reader, "it is too long for a row", err);
            return -1;
        }
        const char byte = (char)c;
        bytes_add(&reader->text, &byte, 1);
        if (reader->text.failed) {
            (void)app_err_memory(err);
            return -1;
        }
        quoted ^= c == '"' && reader->format == ROW_FORMAT_CSV;
        if (c == '\n' && !quoted) {
            return 1;
        }
    }
    if (ferror(reader->file)) {
        (void)app_err_set(err, APP_UNREADABLE, "cannot read %s: %s", reader->name,
                          APP_CAUSE(errno));
        return -1;
    }
    if (reader->text.n > 0) {
        (void)bad_record(reader, "it ends before its line does: the file was cut", err);
        return -1;
    }
    return 0;
}

static int column_named(const char *name)
{
    for (int i = 0; i < ROW_COLUMN_COUNT; i++) {
        if (strcmp(name, row_column_name((row_column)i)) == 0) {
            return i;
        }
    }
    return -1;
}

static bool read_csv_header(row_reader *reader, app_err *err)
{
    char *fields[FIELDS_MAX];
    const int got = read_record(reader, err);
    if (got <= 0) {
        return got == 0 && bad_record(reader, "the file is empty", err);
    }
    /* A byte order mark, as some spreadsheets write. */
    const size_t mark =
        reader->text.n >= 3 && memcmp(reader->text.data, "\xef\xbb\xbf", 3) == 0 ? 3
                                                                                 : 0;
    reader->n_columns = csv_split(reader->text.data + mark, reader->text.n - mark,
                                  fields, FIELDS_MAX, NULL);
    unsigned seen = 0;
    for (int i = 0; i < reader->n_columns; i++) {
        reader->column_at[i] = column_named(fields[i]);
        seen |= reader->column_at[i] == ROW_FILE ? 1U : 0U;
        seen |= reader->column_at[i] == ROW_STATUS ? 2U : 0U;
    }
    return seen == 3U ||
           bad_record(reader, "no header with the columns file and status", err);
}

row_reader *row_reader_open(FILE *from, const char *path, app_err *err)
{
    if (from == NULL) {
        return NULL;
    }
    row_reader *const reader = calloc(1, sizeof *reader);
    if (reader == NULL) {
        (void)fclose(from);
        (void)app_err_memory(err);
        return NULL;
    }
    reader->file = from;
    reader->name = strdup(strcmp(path, "-") == 0 ? "standard input" : path);
    if (reader->name == NULL) {
        (void)app_err_memory(err);
        row_reader_close(reader);
        return NULL;
    }
    const int first = getc(reader->file);
    (void)ungetc(first, reader->file);
    if (first == '{') {
        reader->format = ROW_FORMAT_JSON_LINES;
    } else if (first != EOF && !read_csv_header(reader, err)) {
        row_reader_close(reader);
        return NULL;
    }
    return reader;
}

void row_reader_close(row_reader *reader)
{
    if (reader == NULL) {
        return;
    }
    (void)fclose(reader->file);
    json_decref(reader->object);
    bytes_free(&reader->raw);
    free(reader->name);
    bytes_free(&reader->text);
    free(reader);
}

const char *row_reader_text(const row_reader *reader, size_t *n)
{
    *n = reader->raw.n;
    return reader->raw.data;
}

static bool take_csv(row_reader *reader, row *out, app_err *err)
{
    char *fields[FIELDS_MAX];
    const int n =
        csv_split(reader->text.data, reader->text.n, fields, FIELDS_MAX, NULL);
    if (n != reader->n_columns) {
        return bad_record(reader, "it has not the fields that the header names", err);
    }
    for (int i = 0; i < n; i++) {
        if (reader->column_at[i] >= 0) {
            out->field[reader->column_at[i]] = fields[i];
        }
    }
    return true;
}

/* A JSON number goes out as digits again: as written by us, or to 15 of them. */
static const char *field_of(row_reader *reader, row_column column, const json_t *value)
{
    if (json_is_string(value)) {
        return json_string_value(value);
    }
    char *const digits = reader->digits[column];
    if (json_is_integer(value)) {
        (void)snprintf(digits, sizeof reader->digits[0], "%lld",
                       (long long)json_integer_value(value));
        return digits;
    }
    if (json_is_real(value)) {
        (void)snprintf(digits, sizeof reader->digits[0], "%.15g",
                       json_real_value(value));
        return digits;
    }
    return "";
}

static bool take_json(row_reader *reader, row *out, app_err *err)
{
    json_decref(reader->object);
    reader->object =
        json_loadb(reader->text.data, reader->text.n, JSON_REJECT_DUPLICATES, NULL);
    if (json_text_short()) {
        return app_err_memory(err);
    }
    if (!json_is_object(reader->object)) {
        return bad_record(reader, "it is no JSON object", err);
    }
    for (int i = 0; i < ROW_COLUMN_COUNT; i++) {
        const row_column column = (row_column)i;
        out->field[i] = field_of(
            reader, column, json_object_get(reader->object, row_column_name(column)));
    }
    return true;
}

int row_reader_next(row_reader *reader, row *out, app_err *err)
{
    *out = (row){{NULL}};
    const int got = read_record(reader, err);
    if (got <= 0) {
        return got;
    }
    bytes_clear(&reader->raw);
    bytes_add(&reader->raw, reader->text.data, reader->text.n);
    if (reader->raw.failed) {
        (void)app_err_memory(err);
        return -1;
    }
    const bool ok = reader->format == ROW_FORMAT_CSV ? take_csv(reader, out, err)
                                                     : take_json(reader, out, err);
    if (!ok) {
        return -1;
    }
    if (out->field[ROW_FILE] == NULL || row_status_of(out) == ROW_STATUS_COUNT) {
        (void)bad_record(reader, "it has no file, or a status that is none", err);
        return -1;
    }
    return 1;
}
