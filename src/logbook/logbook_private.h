/**
 * @file logbook_private.h
 * What the parts of the logbook share.
 */
#ifndef LOGBOOK_LOGBOOK_PRIVATE_H
#define LOGBOOK_LOGBOOK_PRIVATE_H

#include "src/port/logbook.h"

#include <sqlite3.h>

enum {
    LOGBOOK_VERSION = 4,
    LOGBOOK_APPLICATION_ID = 0x464d6c62, /* "FMlb" */
    LOGBOOK_SQL_BYTES = 8192
};

struct logbook {
    sqlite3 *db;
    char *path;
    char *note;
    int folder; /* its descriptor, held as logbook_open.c says; -1: none */
    bool many;  /* between begin and commit */
};

/** What SQLite says now, as a sentence; always false. */
bool logbook_fail(const logbook *l, app_err *err);

/** Run SQL without results. */
bool logbook_run(logbook *l, const char *sql, app_err *err);

/** The same with a text for its ?1. */
bool logbook_run_with(logbook *l, const char *sql, const char *text, app_err *err);

/** So that rows of this learner may be stored. */
bool logbook_add_learner(logbook *l, const char *name, app_err *err);

/** A statement, for logbook_finish; NULL with err: SQLite's binding does nothing to it. */
sqlite3_stmt *logbook_prepare(logbook *l, const char *sql, app_err *err);

/** Step a statement that gives no row, and free it. NULL: false. */
bool logbook_finish(logbook *l, sqlite3_stmt *s, app_err *err);

/** From version `from` to from + 1, inside the caller's transaction. */
bool logbook_migrate_step(logbook *l, int from, app_err *err);

/** All the steps up to LOGBOOK_VERSION, in one transaction. */
bool logbook_migrate(logbook *l, app_err *err);

/** The one number that SQL gives; -1: none. */
int logbook_number(logbook *l, const char *sql);

/** Rename a damaged file and its log, and note that. The database is closed, the folder
 *  held alone. */
bool logbook_set_aside(logbook *l, app_err *err);

/** Text of a column into a field of that size; NULL gives "". */
void logbook_column_text(sqlite3_stmt *s, int column, char *out, size_t bytes);

/** Binds the fields of a group, in their order, from 1 on; e is kept until the statement is
 * finished. @return how many */
int logbook_bind_group(sqlite3_stmt *s, const entry *e, entry_group group);

/** Binds a text, which is kept until the statement is finished; "" as NULL. */
void logbook_bind_text(sqlite3_stmt *s, int at, const char *text);

#endif
