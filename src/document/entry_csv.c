#include "src/document/entry_csv.h"

#include "src/base/csv.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    COLUMNS_MAX = 128
};

static const char PRACTICE[] = "practice";
static const char NUMBER[] = "number";

void entry_csv_header(bytes *to)
{
    bytes_add_text(to, PRACTICE);
    bytes_add_text(to, ",");
    bytes_add_text(to, NUMBER);
    for (size_t i = 0; i < entry_n_fields(); i++) {
        bytes_add_text(to, ",");
        bytes_add_text(to, ENTRY_FIELD[i].name);
    }
    bytes_add_text(to, "\r\n");
}

/* A spreadsheet takes a cell that begins so for a formula, and may run it; a quote mark
 * before it says that it is text (common practice, no source). It comes off again. */
static bool is_like_formula(char c)
{
    return c != '\0' && strchr("=+-@\t\r", c) != NULL;
}

static bool is_guarded(const char *text)
{
    return text[0] == '\'' && (is_like_formula(text[1]) || text[1] == '\'');
}

static void add_text(bytes *to, const char *text)
{
    char guarded[ENTRY_SHOWN_BYTES + 1];
    if (is_like_formula(text[0]) || is_guarded(text)) {
        (void)snprintf(guarded, sizeof guarded, "'%s", text);
        csv_add(to, guarded);
    } else {
        csv_add(to, text);
    }
}

void entry_csv_add(bytes *to, const entry *e)
{
    char number[32];
    char shown[ENTRY_SHOWN_BYTES];
    (void)snprintf(number, sizeof number, ",%lld", (long long)e->number);
    bytes_add_text(to, PRACTICE);
    bytes_add_text(to, number);
    for (size_t i = 0; i < entry_n_fields(); i++) {
        bytes_add_text(to, ",");
        const char *const text = entry_show(e, &ENTRY_FIELD[i], shown);
        if (ENTRY_FIELD[i].to.kind == FIELD_CHARS) {
            add_text(to, text);
        } else {
            csv_add(to, text);
        }
    }
    bytes_add_text(to, "\r\n");
}

/* Which field each column is; NULL: practice or number. */
static bool read_header(
    const char *name, char **fields, int n, const entry_field **columns, app_err *err)
{
    for (int i = 0; i < n; i++) {
        columns[i] = entry_field_named(fields[i]);
        if (columns[i] == NULL && strcmp(fields[i], PRACTICE) != 0 &&
            strcmp(fields[i], NUMBER) != 0) {
            return app_err_set(err, APP_UNREADABLE,
                               "%s: the column '%.40s' is none of the logbook's; "
                               "'fullminute logbook export' shows the names",
                               name, fields[i]);
        }
        for (int k = 0; k < i; k++) {
            if (strcmp(fields[i], fields[k]) == 0) {
                return app_err_set(err, APP_UNREADABLE,
                                   "%s: two columns are called '%.40s'", name,
                                   fields[i]);
            }
        }
    }
    return true;
}

static bool read_row(const char *name,
                     long record,
                     char **fields,
                     int n,
                     const entry_field *const *columns,
                     entry *e,
                     app_err *err)
{
    *e = entry_none();
    for (int i = 0; i < n; i++) {
        const bool guarded = columns[i] != NULL && columns[i]->to.kind == FIELD_CHARS &&
                             is_guarded(fields[i]);
        if (columns[i] != NULL && !entry_set(e, columns[i], fields[i] + guarded)) {
            return app_err_set(err, APP_UNREADABLE,
                               "%s, record %ld: '%.60s' cannot be %s; nothing of the "
                               "file was taken",
                               name, record, fields[i], columns[i]->name);
        }
    }
    return true;
}

bool entry_csv_read(const char *name,
                    char *text,
                    size_t n,
                    entry_csv_taker *taker,
                    void *context,
                    app_err *err)
{
    static const char MARK[] = "\xef\xbb\xbf";
    char *fields[COLUMNS_MAX];
    const entry_field *columns[COLUMNS_MAX] = {NULL};
    int n_columns = -1;
    size_t used = 0;
    size_t at = n >= 3 && memcmp(text, MARK, 3) == 0 ? 3 : 0;
    for (long record = 1; at < n; record++) {
        const int found = csv_split(text + at, n - at, fields, COLUMNS_MAX, &used);
        if (found < 1 || (n_columns >= 0 && found != n_columns)) {
            const bool blank = found == 1 && fields[0][0] == '\0';
            if (!blank) {
                return app_err_set(
                    err, APP_UNREADABLE,
                    "%s, record %ld: %s; nothing of the file was taken", name, record,
                    found < 1 ? "a quote is not closed, or it holds a zero byte"
                              : "not as many columns as the first line has");
            }
        } else if (n_columns < 0) {
            if (!read_header(name, fields, found, columns, err)) {
                return false;
            }
            n_columns = found;
        } else {
            entry e;
            if (!read_row(name, record, fields, found, columns, &e, err) ||
                !taker(context, &e, err)) {
                return false;
            }
        }
        at += used;
    }
    return n_columns >= 0 ||
           app_err_set(err, APP_UNREADABLE, "%s: there is nothing in it", name);
}
