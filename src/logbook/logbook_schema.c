/* The tables, and how an older logbook becomes one of this version. */
#include "src/base/text.h"
#include "src/logbook/logbook_private.h"

#include <stdio.h>
#include <string.h>

static const char *type_of(const entry_field *f)
{
    return f->to.kind == FIELD_CHARS ? "TEXT"
           : f->to.kind == FIELD_INT ? "INTEGER"
                                     : "REAL";
}

/* A row of fields as SQL: ", name TYPE" or ", name". Learner has rules of its own. */
static void list_fields(char *sql, entry_group group, bool types, const char *between)
{
    bool first = true;
    for (size_t i = 0; i < entry_n_fields(); i++) {
        const entry_field *const f = &ENTRY_FIELD[i];
        if (f->group != group || (types && strcmp(f->name, "learner") == 0)) {
            continue;
        }
        text_add(sql, LOGBOOK_SQL_BYTES, "%s%s%s%s", first && !types ? "" : between,
                 f->name, types ? " " : "", types ? type_of(f) : "");
        first = false;
    }
}

int logbook_number(logbook *l, const char *sql)
{
    sqlite3_stmt *s = NULL;
    int value = -1;
    if (sqlite3_prepare_v2(l->db, sql, -1, &s, NULL) == SQLITE_OK &&
        sqlite3_step(s) == SQLITE_ROW) {
        value = sqlite3_column_int(s, 0);
    }
    (void)sqlite3_finalize(s);
    return value;
}

/* The seal: what was entered never changes, what was counted is filled once. */
static bool make_triggers(logbook *l, app_err *err)
{
    char sql[LOGBOOK_SQL_BYTES] = "DROP TRIGGER IF EXISTS entered_stays;"
                                  "DROP TRIGGER IF EXISTS counted_once;"
                                  "CREATE TRIGGER entered_stays BEFORE UPDATE OF ";
    list_fields(sql, ENTRY_ENTERED, false, ", ");
    text_add(sql, LOGBOOK_SQL_BYTES,
             " ON session BEGIN SELECT RAISE(ABORT, 'what was entered is sealed'); END;"
             "CREATE TRIGGER counted_once BEFORE UPDATE OF ");
    list_fields(sql, ENTRY_COUNTED, false, ", ");
    text_add(sql, LOGBOOK_SQL_BYTES,
             " ON session WHEN OLD.counted_utc IS NOT NULL BEGIN SELECT RAISE(ABORT, "
             "'this row was counted before'); END;");
    return logbook_run(l, sql, err);
}

/* The rows' table under a name. A row is a number, or that it could not be counted. */
static bool make_session(logbook *l, const char *name, bool added, app_err *err)
{
    char sql[LOGBOOK_SQL_BYTES];
    (void)snprintf(sql, sizeof sql,
                   "CREATE TABLE %s (number INTEGER PRIMARY KEY AUTOINCREMENT, learner "
                   "TEXT NOT NULL REFERENCES learner (name) ON DELETE CASCADE",
                   name);
    list_fields(sql, ENTRY_ENTERED, true, ", ");
    list_fields(sql, ENTRY_COUNTED, true, ", ");
    if (added) {
        list_fields(sql, ENTRY_ADDED, true, ", ");
    }
    text_add(sql, LOGBOOK_SQL_BYTES,
             ", CHECK (entered_utc IS NOT NULL),"
             " CHECK (beats IS NOT NULL OR breaths IS NOT NULL OR could_not IS NOT NULL"
             " OR breath_could_not IS NOT NULL),"
             " CHECK (beats IS NULL OR could_not IS NULL),"
             " CHECK (breaths IS NULL OR breath_could_not IS NULL),"
             " CHECK (counted_utc IS NULL OR counted_utc >= entered_utc));");
    return logbook_run(l, sql, err);
}

/* Version 1: learners and their rows. Two triggers are the seal. */
static bool make_first(logbook *l, app_err *err)
{
    return logbook_run(
               l,
               "CREATE TABLE learner (name TEXT PRIMARY KEY NOT NULL) WITHOUT ROWID;",
               err) &&
           make_session(l, "session", false, err) && make_triggers(l, err);
}

/* Version 2: what may be added later, goals, signatures, a way to one learner's rows. */
static bool make_second(logbook *l, app_err *err)
{
    for (size_t i = 0; i < entry_n_fields(); i++) {
        const entry_field *const f = &ENTRY_FIELD[i];
        char sql[128];
        (void)snprintf(sql, sizeof sql, "ALTER TABLE session ADD COLUMN %s %s", f->name,
                       type_of(f));
        if (f->group == ENTRY_ADDED && !logbook_run(l, sql, err)) {
            return false;
        }
    }
    return logbook_run(
        l,
        "CREATE TABLE goal (learner TEXT PRIMARY KEY NOT NULL REFERENCES learner "
        "(name) "
        "ON DELETE CASCADE, in_a_row INTEGER NOT NULL, within_per_min REAL NOT NULL, "
        "irregular INTEGER NOT NULL, set_utc TEXT NOT NULL);"
        "CREATE TABLE signature (id INTEGER PRIMARY KEY, learner TEXT NOT NULL "
        "REFERENCES learner (name) ON DELETE CASCADE, signer TEXT NOT NULL, signed_utc "
        "TEXT NOT NULL, last_number INTEGER, goal_met INTEGER NOT NULL);"
        "CREATE INDEX session_of_learner ON session (learner, number);"
        "CREATE INDEX session_of_recording ON session (recording, learner);",
        err);
}

/* A new logbook has the columns already, because version 1 makes all that this program
 * knows. */
static bool add_columns(logbook *l, app_err *err)
{
    for (size_t i = 0; i < entry_n_fields(); i++) {
        const entry_field *const f = &ENTRY_FIELD[i];
        char sql[160];
        (void)snprintf(sql, sizeof sql,
                       "SELECT count(*) FROM pragma_table_info('session') WHERE name = "
                       "'%s'",
                       f->name);
        const int there = logbook_number(l, sql);
        (void)snprintf(sql, sizeof sql, "ALTER TABLE session ADD COLUMN %s %s", f->name,
                       type_of(f));
        if (there < 0 || (there == 0 && !logbook_run(l, sql, err))) {
            return there >= 0 ? false : logbook_fail(l, err);
        }
    }
    return true;
}

/* Version 3: what later versions say of a count; a goal of respirations, what was watched
 * when signing, instructors' pass phrases. */
static bool make_third(logbook *l, app_err *err)
{
    return add_columns(l, err) &&
           logbook_run(
               l,
               "ALTER TABLE goal ADD COLUMN breath_in_a_row INTEGER NOT NULL DEFAULT 0;"
               "ALTER TABLE goal ADD COLUMN breath_within_per_min REAL NOT NULL "
               "DEFAULT "
               "0;"
               "ALTER TABLE signature ADD COLUMN watched TEXT;"
               "CREATE TABLE instructor (name TEXT PRIMARY KEY NOT NULL, sealed BLOB "
               "NOT "
               "NULL) WITHOUT ROWID;",
               err) &&
           make_triggers(l, err);
}

/* Version 4: what could not be counted, and what was noted under way. A table's rules cannot
 * be changed in place, so the rows go into one with those of today, and no number of a row
 * that is gone is given again. */
static bool make_fourth(logbook *l, app_err *err)
{
    char names[LOGBOOK_SQL_BYTES] = "number, ";
    char sql[2 * LOGBOOK_SQL_BYTES + 128];
    list_fields(names, ENTRY_ENTERED, false, ", ");
    text_add(names, sizeof names, ", ");
    list_fields(names, ENTRY_COUNTED, false, ", ");
    text_add(names, sizeof names, ", ");
    list_fields(names, ENTRY_ADDED, false, ", ");
    (void)snprintf(
        sql, sizeof sql,
        "INSERT INTO sqlite_sequence (name, seq) SELECT 'session_4', seq FROM "
        "sqlite_sequence WHERE name = 'session';"
        "INSERT INTO session_4 (%s) SELECT %s FROM session;",
        names, names);
    return add_columns(l, err) && make_session(l, "session_4", true, err) &&
           logbook_run(l, sql, err) &&
           logbook_run(l,
                       "DROP TABLE session;"
                       "ALTER TABLE session_4 RENAME TO session;"
                       "CREATE INDEX session_of_learner ON session (learner, number);"
                       "CREATE INDEX session_of_recording ON session (recording, "
                       "learner);",
                       err) &&
           make_triggers(l, err);
}

bool logbook_migrate_step(logbook *l, int from, app_err *err)
{
    static bool (*const STEPS[LOGBOOK_VERSION])(logbook *, app_err *) = {
        make_first, make_second, make_third, make_fourth};
    char mark[64];
    (void)snprintf(mark, sizeof mark, "PRAGMA user_version = %d", from + 1);
    return STEPS[from](l, err) && logbook_run(l, mark, err);
}

static bool migrate_within(logbook *l, app_err *err)
{
    char mark[64];
    const int tables = logbook_number(l, "SELECT count(*) FROM sqlite_master");
    const int owner = logbook_number(l, "PRAGMA application_id");
    int version = logbook_number(l, "PRAGMA user_version");
    if (tables < 0 || owner < 0 || version < 0) {
        return logbook_fail(l, err);
    }
    if (tables > 0 && owner != LOGBOOK_APPLICATION_ID) {
        (void)app_err_set(err, APP_UNREADABLE,
                          "%s is a file of another program, no logbook", l->path);
        return app_err_hint(err, HINT_NONE, HINT_LOGBOOK);
    }
    if (version > LOGBOOK_VERSION) {
        return app_err_set(err, APP_UNREADABLE,
                           "%s was written by a newer fullminute (schema %d, this one "
                           "knows %d); use that one",
                           l->path, version, LOGBOOK_VERSION);
    }
    (void)snprintf(mark, sizeof mark, "PRAGMA application_id = %d",
                   LOGBOOK_APPLICATION_ID);
    if (tables == 0 && !logbook_run(l, mark, err)) {
        return false;
    }
    while (version < LOGBOOK_VERSION) {
        if (!logbook_migrate_step(l, version, err)) {
            return false;
        }
        version++;
    }
    return true;
}

bool logbook_migrate(logbook *l, app_err *err)
{
    if (logbook_number(l, "PRAGMA user_version") == LOGBOOK_VERSION &&
        logbook_number(l, "PRAGMA application_id") == LOGBOOK_APPLICATION_ID) {
        return true;
    }
    if (!logbook_run(l, "BEGIN IMMEDIATE", err)) {
        return false;
    }
    const bool ok = migrate_within(l, err) && logbook_run(l, "COMMIT", err);
    if (!ok) {
        (void)sqlite3_exec(l->db, "ROLLBACK", NULL, NULL, NULL);
    }
    return ok;
}
