/* Is a row that comes from a file in here already? */
#include "src/base/text.h"
#include "src/logbook/logbook_private.h"

#include <stdio.h>

/* Exported numbers have six digits. */
static const char SQL_REAL[] = " AND (%s IS ?%d OR abs(%s - ?%d) <= 1e-5 * abs(?%d))";
static const char SQL_PLAIN[] = " AND %s IS ?%d";

bool logbook_same_begin(logbook *l, app_err *err)
{
    return logbook_run(l,
                       "DROP TABLE IF EXISTS temp.taken;"
                       "CREATE TEMP TABLE taken (number INTEGER PRIMARY KEY);"
                       "INSERT INTO temp.taken SELECT number FROM session",
                       err);
}

static void write_query(char sql[LOGBOOK_SQL_BYTES])
{
    int at = 0;
    (void)snprintf(sql, LOGBOOK_SQL_BYTES,
                   "SELECT min(number) FROM session WHERE number IN temp.taken");
    for (size_t i = 0; i < entry_n_fields(); i++) {
        const entry_field *const f = &ENTRY_FIELD[i];
        if (f->group != ENTRY_ENTERED) {
            continue;
        }
        at++;
        if (f->to.kind == FIELD_REAL) {
            text_add(sql, LOGBOOK_SQL_BYTES, SQL_REAL, f->name, at, f->name, at, at);
        } else {
            text_add(sql, LOGBOOK_SQL_BYTES, SQL_PLAIN, f->name, at);
        }
    }
}

/* Its partner is found once only: of two alike in a file both have to be here. */
static bool take(logbook *l, int64_t number, app_err *err)
{
    sqlite3_stmt *const s =
        logbook_prepare(l, "DELETE FROM temp.taken WHERE number = ?", err);
    (void)sqlite3_bind_int64(s, 1, number);
    return logbook_finish(l, s, err);
}

bool logbook_same_find(logbook *l, const entry *e, bool *found, app_err *err)
{
    char sql[LOGBOOK_SQL_BYTES];
    *found = false;
    if (e->entered_utc[0] == '\0') {
        return true; /* entered now: a new one */
    }
    write_query(sql);
    sqlite3_stmt *const s = logbook_prepare(l, sql, err);
    if (s == NULL) {
        return false;
    }
    logbook_bind_group(s, e, ENTRY_ENTERED);
    const bool ok = sqlite3_step(s) == SQLITE_ROW || logbook_fail(l, err);
    *found = ok && sqlite3_column_type(s, 0) != SQLITE_NULL;
    const int64_t number = *found ? sqlite3_column_int64(s, 0) : 0;
    (void)sqlite3_finalize(s);
    return ok && (!*found || take(l, number, err));
}
