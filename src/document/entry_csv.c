#include "src/document/entry_csv.h"

#include "src/base/csv.h"
#include "src/document/csv_table.h"

#include <stdio.h>
#include <string.h>

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

typedef struct reading {
    entry_csv_taker *taker;
    void *context;
    const entry_field *columns[CSV_TABLE_COLUMNS]; /* NULL: practice or number */
} reading;

static bool read_names(csv_table *t, void *context, app_err *err)
{
    reading *const r = context;
    for (int i = 0; i < t->n; i++) {
        const char *const name = t->field[i];
        r->columns[i] = entry_field_named(name);
        if (r->columns[i] == NULL && strcmp(name, PRACTICE) != 0 &&
            strcmp(name, NUMBER) != 0) {
            return app_err_set(err, APP_UNREADABLE,
                               "%s: the column '%.40s' is none of the logbook's; "
                               "an export of a logbook shows the names",
                               t->name, name);
        }
        for (int k = 0; k < i; k++) {
            if (strcmp(name, t->field[k]) == 0) {
                return app_err_set(err, APP_UNREADABLE,
                                   "%s: two columns are called '%.40s'", t->name, name);
            }
        }
    }
    return true;
}

static bool read_row(csv_table *t, void *context, app_err *err)
{
    reading *const r = context;
    entry e = entry_none();
    for (int i = 0; i < t->n; i++) {
        const entry_field *const f = r->columns[i];
        const char *const text = t->field[i];
        const bool guarded = f != NULL && f->to.kind == FIELD_CHARS && is_guarded(text);
        if (f != NULL && !entry_set(&e, f, text + guarded)) {
            return csv_table_wrong_field(t, text, f->name, err);
        }
    }
    return r->taker(r->context, &e, err);
}

bool entry_csv_read(const char *name,
                    char *text,
                    size_t n,
                    entry_csv_taker *taker,
                    void *context,
                    app_err *err)
{
    csv_table t = {.name = name, .hint = "; nothing of the file was taken"};
    reading r = {.taker = taker, .context = context};
    return csv_table_read(&t, text, n, read_names, read_row, &r, err);
}
