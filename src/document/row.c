#include "src/document/row.h"

#include "src/base/csv.h"
#include "src/base/json_text.h"
#include "src/base/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define NAME(column, name, kind) name,
static const char *const COLUMN_NAMES[] = {ROW_COLUMN_MAP(NAME)};

#define KIND(column, name, kind) kind,
static const row_kind COLUMN_KINDS[] = {ROW_COLUMN_MAP(KIND)};

static const char *const STATUS_WORDS[] = {"counted", "caution", "refused", "error"};

const char *row_status_word(row_status status)
{
    return status < ROW_STATUS_COUNT ? STATUS_WORDS[status] : "error";
}

const char *row_column_name(row_column column)
{
    return column < ROW_COLUMN_COUNT ? COLUMN_NAMES[column] : "";
}

static const char *text_of(const row *r, row_column column)
{
    return r->field[column] != NULL ? r->field[column] : "";
}

double row_number(const row *r, row_column column)
{
    double value = (double)NAN;
    return text_to_double(text_of(r, column), &value) ? value : (double)NAN;
}

row_status row_status_of(const row *r)
{
    const char *const word = text_of(r, ROW_STATUS);
    int status = 0;
    while (status < ROW_STATUS_COUNT && strcmp(word, STATUS_WORDS[status]) != 0) {
        status++;
    }
    return (row_status)status;
}

bool row_format_of_name(const char *path, row_format *out)
{
    const char *const dot = strrchr(path, '.');
    if (dot == NULL) {
        return false;
    }
    if (strcasecmp(dot, ".csv") == 0) {
        *out = ROW_FORMAT_CSV;
        return true;
    }
    if (strcasecmp(dot, ".jsonl") == 0 || strcasecmp(dot, ".ndjson") == 0 ||
        strcasecmp(dot, ".jsonlines") == 0) {
        *out = ROW_FORMAT_JSON_LINES;
        return true;
    }
    return false;
}

/* ---- Writing ---- */

void row_header_format(row_format format, bytes *to)
{
    for (int i = 0; format == ROW_FORMAT_CSV && i < ROW_COLUMN_COUNT; i++) {
        bytes_add_text(to, i > 0 ? "," : "");
        bytes_add_text(to, COLUMN_NAMES[i]);
    }
    bytes_add_text(to, format == ROW_FORMAT_CSV ? "\r\n" : "");
}

/* The digits of a number stay as they are: JSON's own writer would drop zeros. */
static void add_json_field(bytes *to, const row *r, row_column column)
{
    const char *const text = text_of(r, column);
    if (text[0] == '\0') {
        bytes_add_text(to, "null");
    } else if (COLUMN_KINDS[column] == ROW_NUMBER) {
        bytes_add_text(to, text);
    } else {
        json_t *const value = json_string(text);
        char *const quoted = json_text_of(value, JSON_ENCODE_ANY);
        bytes_add_text(to, quoted != NULL ? quoted : "");
        to->failed = to->failed || quoted == NULL;
        free(quoted);
        json_decref(value);
    }
}

void row_write(const row *r, row_format format, bytes *to)
{
    const bool json = format == ROW_FORMAT_JSON_LINES;
    bytes_add_text(to, json ? "{" : "");
    for (int i = 0; i < ROW_COLUMN_COUNT; i++) {
        bytes_add_text(to, i == 0 ? "" : json ? ", " : ",");
        if (json) {
            bytes_add_text(to, "\"");
            bytes_add_text(to, COLUMN_NAMES[i]);
            bytes_add_text(to, "\": ");
            add_json_field(to, r, (row_column)i);
        } else {
            csv_add(to, text_of(r, (row_column)i));
        }
    }
    bytes_add_text(to, json ? "}\n" : "\r\n");
}
