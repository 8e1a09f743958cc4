/* Rows in and out. */
#include "src/base/text.h"
#include "src/logbook/logbook_private.h"
#include "src/port/utc.h"

#include <string.h>

void logbook_column_text(sqlite3_stmt *s, int column, char *out, size_t bytes)
{
    const unsigned char *const text = sqlite3_column_text(s, column);
    entry_put(out, bytes, text != NULL ? (const char *)text : "");
}

/* Texts are bound as they lie, not copied: a copy may fail for want of memory, and the field
 * would be stored empty. Whoever binds keeps them until the statement is finished. */
void logbook_bind_text(sqlite3_stmt *s, int at, const char *text)
{
    if (text[0] == '\0') {
        (void)sqlite3_bind_null(s, at);
    } else {
        (void)sqlite3_bind_text(s, at, text, -1, SQLITE_STATIC);
    }
}

static void bind_field(sqlite3_stmt *s, int at, const entry *e, const entry_field *f)
{
    if (f->to.kind == FIELD_CHARS) {
        logbook_bind_text(s, at, entry_text(e, f));
    } else {
        (void)sqlite3_bind_double(s, at, entry_number(e, f)); /* NaN is NULL there */
    }
}

static void read_row(sqlite3_stmt *s, const entry *none, entry *e)
{
    *e = *none;
    e->number = sqlite3_column_int64(s, 0);
    for (size_t i = 0; i < entry_n_fields(); i++) {
        const entry_field *const f = &ENTRY_FIELD[i];
        const int column = (int)i + 1;
        char *const at = (char *)e + f->to.offset;
        if (sqlite3_column_type(s, column) == SQLITE_NULL) {
            continue;
        }
        if (f->to.kind == FIELD_CHARS) {
            logbook_column_text(s, column, at, f->to.bytes);
        } else if (f->to.kind == FIELD_INT) {
            const int value = sqlite3_column_int(s, column);
            memcpy(at, &value, sizeof value);
        } else {
            const double value = sqlite3_column_double(s, column);
            memcpy(at, &value, sizeof value);
        }
    }
}

/* The fields of a group: "a, b" or "a = ?, b = ?"; how many. */
static int name_fields(char *sql, entry_group group, const char *suffix)
{
    int n = 0;
    for (size_t i = 0; i < entry_n_fields(); i++) {
        if (ENTRY_FIELD[i].group == group) {
            text_add(sql, LOGBOOK_SQL_BYTES, "%s%s%s", n > 0 ? ", " : "",
                     ENTRY_FIELD[i].name, suffix);
            n++;
        }
    }
    return n;
}

int logbook_bind_group(sqlite3_stmt *s, const entry *e, entry_group group)
{
    int at = 0;
    for (size_t i = 0; i < entry_n_fields(); i++) {
        if (ENTRY_FIELD[i].group == group) {
            bind_field(s, ++at, e, &ENTRY_FIELD[i]);
        }
    }
    return at;
}

/* ---- Transactions ---- */

bool logbook_begin(logbook *l, app_err *err)
{
    l->many = logbook_run(l, "BEGIN IMMEDIATE", err);
    return l->many;
}

bool logbook_commit(logbook *l, app_err *err)
{
    if (!logbook_run(l, "COMMIT", err)) {
        logbook_undo(l);
        return false;
    }
    l->many = false;
    return true;
}

void logbook_undo(logbook *l)
{
    if (l->db != NULL && sqlite3_get_autocommit(l->db) == 0) {
        (void)sqlite3_exec(l->db, "ROLLBACK", NULL, NULL, NULL);
    }
    l->many = false;
}

static bool begin_one(logbook *l, app_err *err)
{
    return l->many || logbook_run(l, "BEGIN IMMEDIATE", err);
}

static bool end_one(logbook *l, bool ok, app_err *err)
{
    if (l->many) {
        return ok;
    }
    if (ok && logbook_run(l, "COMMIT", err)) {
        return true;
    }
    logbook_undo(l);
    return false;
}

/* ---- In ---- */

/* A row that was never counted showed the learner nothing: it was no attempt. */
static bool find_attempt(logbook *l, entry *e, app_err *err)
{
    sqlite3_stmt *const s =
        logbook_prepare(l,
                        "SELECT count(*) FROM session WHERE learner = ? AND recording "
                        "= ? AND counted_utc IS NOT NULL",
                        err);
    if (s == NULL) {
        return false;
    }
    logbook_bind_text(s, 1, e->learner);
    logbook_bind_text(s, 2, e->recording);
    const bool ok = sqlite3_step(s) == SQLITE_ROW || logbook_fail(l, err);
    if (ok && e->attempt == ENTRY_NO_WHOLE) {
        e->attempt = sqlite3_column_int(s, 0) + 1;
    }
    (void)sqlite3_finalize(s);
    return ok;
}

bool logbook_add_learner(logbook *l, const char *name, app_err *err)
{
    return logbook_run_with(l, "INSERT OR IGNORE INTO learner (name) VALUES (?)", name,
                            err);
}

static bool insert(logbook *l, entry *e, app_err *err)
{
    char sql[LOGBOOK_SQL_BYTES] = "INSERT INTO session (";
    const int n = name_fields(sql, ENTRY_ENTERED, "");
    text_add(sql, LOGBOOK_SQL_BYTES, ") VALUES (?");
    for (int i = 1; i < n; i++) {
        text_add(sql, LOGBOOK_SQL_BYTES, ", ?");
    }
    text_add(sql, LOGBOOK_SQL_BYTES, ")");
    sqlite3_stmt *const s = logbook_prepare(l, sql, err);
    (void)logbook_bind_group(s, e, ENTRY_ENTERED);
    if (!logbook_finish(l, s, err)) {
        return false;
    }
    e->number = sqlite3_last_insert_rowid(l->db);
    return true;
}

bool logbook_enter(logbook *l, entry *e, app_err *err)
{
    if (e->learner[0] == '\0') {
        (void)app_err_set(err, APP_USAGE,
                          "whose count is it? give initials or a nickname");
        return app_err_hint(err, HINT_NONE, HINT_LEARNER);
    }
    if (e->beats == ENTRY_NO_WHOLE && e->breaths == ENTRY_NO_WHOLE &&
        e->could_not == ENTRY_NO_WHOLE && e->breath_could_not == ENTRY_NO_WHOLE) {
        return app_err_set(err, APP_USAGE, "nothing was entered, so nothing is stored");
    }
    if ((e->beats != ENTRY_NO_WHOLE && e->could_not != ENTRY_NO_WHOLE) ||
        (e->breaths != ENTRY_NO_WHOLE && e->breath_could_not != ENTRY_NO_WHOLE)) {
        return app_err_set(err, APP_USAGE,
                           "a count cannot have a number and be one that could not be "
                           "made; give one of them");
    }
    if (e->entered_utc[0] == '\0') {
        utc_now(e->entered_utc, &e->offset_min);
    }
    entry stored = *e;
    if (!begin_one(l, err)) {
        return false;
    }
    const bool ok = logbook_add_learner(l, e->learner, err) &&
                    find_attempt(l, &stored, err) && insert(l, &stored, err);
    if (!end_one(l, ok, err)) {
        return false;
    }
    *e = stored;
    return true;
}

/* UPDATE of a group, of the row that has e's number. */
static bool update(logbook *l, const entry *e, entry_group group, app_err *err)
{
    char sql[LOGBOOK_SQL_BYTES] = "UPDATE session SET ";
    (void)name_fields(sql, group, " = ?");
    text_add(sql, LOGBOOK_SQL_BYTES, " WHERE number = ?");
    sqlite3_stmt *const s = logbook_prepare(l, sql, err);
    const int at = logbook_bind_group(s, e, group);
    (void)sqlite3_bind_int64(s, at + 1, e->number);
    return logbook_finish(l, s, err) &&
           (sqlite3_changes(l->db) == 1 ||
            app_err_set(err, APP_USAGE, "the logbook has no row %lld",
                        (long long)e->number));
}

bool logbook_count(logbook *l, entry *e, app_err *err)
{
    if (e->counted_utc[0] == '\0') {
        utc_now(e->counted_utc, NULL);
        /* A clock set back in between must not make the row impossible. */
        if (strcmp(e->counted_utc, e->entered_utc) < 0) {
            entry_put(e->counted_utc, sizeof e->counted_utc, e->entered_utc);
        }
    }
    return begin_one(l, err) && end_one(l, update(l, e, ENTRY_COUNTED, err), err);
}

bool logbook_add(logbook *l, const entry *e, app_err *err)
{
    return begin_one(l, err) && end_one(l, update(l, e, ENTRY_ADDED, err), err);
}

/* ---- Out ---- */

static void select_all(char *sql)
{
    text_add(sql, LOGBOOK_SQL_BYTES, "SELECT number");
    for (size_t i = 0; i < entry_n_fields(); i++) {
        text_add(sql, LOGBOOK_SQL_BYTES, ", %s", ENTRY_FIELD[i].name);
    }
    text_add(sql, LOGBOOK_SQL_BYTES, " FROM session");
}

bool logbook_get(logbook *l, int64_t number, entry *out, app_err *err)
{
    char sql[LOGBOOK_SQL_BYTES] = "";
    select_all(sql);
    text_add(sql, LOGBOOK_SQL_BYTES, " WHERE number = ?");
    sqlite3_stmt *const s = logbook_prepare(l, sql, err);
    if (s == NULL) {
        return false;
    }
    (void)sqlite3_bind_int64(s, 1, number);
    const int rc = sqlite3_step(s);
    if (rc == SQLITE_ROW) {
        const entry none = entry_none();
        read_row(s, &none, out);
    }
    const bool ok =
        rc == SQLITE_ROW ||
        (rc == SQLITE_DONE ? app_err_set(err, APP_USAGE, "the logbook has no row %lld",
                                         (long long)number)
                           : logbook_fail(l, err));
    (void)sqlite3_finalize(s);
    return ok;
}

bool logbook_each(logbook *l,
                  const logbook_query *q,
                  logbook_reader *reader,
                  void *context,
                  app_err *err)
{
    char sql[LOGBOOK_SQL_BYTES] = "";
    text_add(sql, LOGBOOK_SQL_BYTES, "%s", q->last > 0 ? "SELECT * FROM (" : "");
    select_all(sql);
    text_add(sql, LOGBOOK_SQL_BYTES, "%s",
             q->learner != NULL ? " WHERE learner = ?2" : "");
    text_add(sql, LOGBOOK_SQL_BYTES, "%s",
             q->last > 0 ? " ORDER BY number DESC LIMIT ?1)" : "");
    text_add(sql, LOGBOOK_SQL_BYTES, " ORDER BY number");
    sqlite3_stmt *const s = logbook_prepare(l, sql, err);
    if (s == NULL) {
        return false;
    }
    (void)sqlite3_bind_int64(s, 1, (sqlite3_int64)q->last);
    if (q->learner != NULL) {
        (void)sqlite3_bind_text(s, 2, q->learner, -1, SQLITE_STATIC);
    }
    const entry none = entry_none();
    int rc = sqlite3_step(s);
    entry e;
    bool taken = true;
    for (; rc == SQLITE_ROW && taken; rc = taken ? sqlite3_step(s) : rc) {
        read_row(s, &none, &e);
        taken = reader(context, &e);
    }
    const bool ok = taken
                        ? rc == SQLITE_DONE || logbook_fail(l, err)
                        : app_err_set(err, APP_FAILED,
                                      "not all rows of the logbook %s could be taken: "
                                      "out of memory; close other programs",
                                      l->path);
    (void)sqlite3_finalize(s);
    return ok;
}
