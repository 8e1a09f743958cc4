#include "src/document/csv_table.h"

#include "src/base/csv.h"

#include <string.h>

bool csv_table_wrong(const csv_table *t, const char *what, app_err *err)
{
    return app_err_set(err, APP_UNREADABLE, "%s, record %ld: %s%s", t->name, t->record,
                       what, t->hint);
}

bool csv_table_wrong_field(const csv_table *t,
                           const char *value,
                           const char *column,
                           app_err *err)
{
    return app_err_set(err, APP_UNREADABLE, "%s, record %ld: '%.60s' cannot be %s%s",
                       t->name, t->record, value, column, t->hint);
}

/* Spreadsheets leave lines of empty fields behind. */
static bool is_blank(const csv_table *t)
{
    int i = 0;
    while (i < t->n && t->field[i][0] == '\0') {
        i++;
    }
    return t->n > 0 && i == t->n;
}

bool csv_table_read(csv_table *t,
                    char *text,
                    size_t n,
                    csv_table_taker *names,
                    csv_table_taker *take,
                    void *context,
                    app_err *err)
{
    static const char MARK[] = "\xef\xbb\xbf";
    int columns = -1;
    size_t used = 0;
    size_t at = n >= 3 && memcmp(text, MARK, 3) == 0 ? 3 : 0;
    const char by = csv_parted_by(text + at, n - at);
    for (t->record = 1; at < n; t->record++, at += used) {
        t->n = csv_split_by(text + at, n - at, by, t->field, CSV_TABLE_COLUMNS, &used);
        if (is_blank(t)) {
            continue;
        }
        if (t->n < 1) {
            return csv_table_wrong(t, "a quote is not closed, or it holds a zero byte",
                                   err);
        }
        if (columns >= 0 && t->n != columns) {
            return csv_table_wrong(t, "not as many columns as the first line has", err);
        }
        if (!(columns < 0 ? names : take)(t, context, err)) {
            return false;
        }
        columns = t->n;
    }
    return columns >= 0 || app_err_set(err, APP_UNREADABLE,
                                       "%s is empty: there is nothing in it", t->name);
}

static const member *named(const member *rows, const char *name)
{
    while (rows->name != NULL && strcmp(rows->name, name) != 0) {
        rows++;
    }
    return rows->name != NULL ? rows : NULL;
}

static bool is_there(const csv_table *t, const member *row)
{
    bool there = false;
    for (int i = 0; i < t->n; i++) {
        there = there || t->column[i] == row;
    }
    return there;
}

bool csv_table_names(csv_table *t,
                     const member *rows,
                     const char *unknown,
                     app_err *err)
{
    for (int i = 0; i < t->n; i++) {
        t->column[i] = named(rows, t->field[i]);
        if (t->column[i] == NULL && unknown != NULL) {
            return app_err_set(err, APP_UNREADABLE, "%s: the column '%.40s' %s",
                               t->name, t->field[i], unknown);
        }
        for (int k = 0; k < i && unknown != NULL; k++) {
            if (t->column[i] == t->column[k]) {
                return app_err_set(err, APP_UNREADABLE,
                                   "%s: two columns are called '%.40s'", t->name,
                                   t->field[i]);
            }
        }
    }
    for (const member *m = rows; m->name != NULL; m++) {
        if ((m->how & MEMBER_NEEDED) != 0 && !is_there(t, m)) {
            return app_err_set(err, APP_UNREADABLE, "%s has no column %s", t->name,
                               m->name);
        }
    }
    return true;
}

bool csv_table_fill(const csv_table *t, void *to, app_err *err)
{
    const int needed_blank = MEMBER_NEEDED | MEMBER_BLANK;
    for (int i = 0; i < t->n; i++) {
        const member *const m = t->column[i];
        const char *const text = t->field[i];
        if (m == NULL ||
            (text[0] == '\0' && (m->how & needed_blank) != MEMBER_NEEDED)) {
            continue;
        }
        if (!field_take_text(&m->to, to, text)) {
            return csv_table_wrong_field(t, text, m->name, err);
        }
        if (m->known != 0) {
            *(bool *)((char *)to + m->known - 1) = true;
        }
    }
    return true;
}
