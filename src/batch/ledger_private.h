/**
 * @file ledger_private.h
 * The statements of the ledger, and one way to meet SQLite's errors. For ledger*.c only.
 */
#ifndef BATCH_LEDGER_PRIVATE_H
#define BATCH_LEDGER_PRIVATE_H

#include "src/batch/ledger.h"

#include <sqlite3.h>

/* Names sort by their bytes. A record of `done` with size NULL has no rows that count. */
#define LEDGER_STATEMENT_MAP(X)                                                        \
    X(BEGIN, "BEGIN IMMEDIATE")                                                        \
    X(COMMIT, "COMMIT")                                                                \
    X(LIST_ADD, "INSERT OR IGNORE INTO temp.list (name, path, size) VALUES (?, ?, ?)") \
    X(LIST_NAMES, "SELECT name FROM temp.list ORDER BY name, path")                    \
    X(LIST_DROP, "DELETE FROM temp.list WHERE shard_of(name, ?2) <> ?1")               \
    X(LIST_COUNT, "SELECT count(*) FROM temp.list")                                    \
    X(SETTING, "INSERT INTO main.setting (engine, build, options) VALUES (?, ?, ?) "   \
               "ON CONFLICT DO UPDATE SET build = build RETURNING id")                 \
    X(PLAN_READ,                                                                       \
      "SELECT l.name, l.path, l.size, d.size, d.mtime, d.looked, d.beside, d.digest, " \
      "d.settled, d.id FROM temp.list l LEFT JOIN main.done d ON d.setting = ?1 AND "  \
      "d.path = l.path WHERE (l.size > 67108864) = ?2 ORDER BY l.name, l.path")        \
    X(PLAN_ADD, "INSERT INTO temp.todo (path, size, digest) VALUES (?, ?, ?)")         \
    X(NEXT, "SELECT number, path, size, digest FROM temp.todo WHERE number > ? "       \
            "ORDER BY number LIMIT 1")                                                 \
    X(DONE_MAKE, "INSERT INTO main.done (setting, path) VALUES (?1, ?2) "              \
                 "ON CONFLICT DO UPDATE SET settled = settled RETURNING id")           \
    X(DONE_SET, "UPDATE main.done SET size = ?2, mtime = ?3, looked = ?4, beside = "   \
                "?5, digest = ?6, settled = ?7 WHERE id = ?1")                         \
    X(DONE_LOOK, "UPDATE main.done SET size = ?2, mtime = ?3, looked = ?4, beside = "  \
                 "?5 WHERE id = ?1")                                                   \
    X(DONE_CLEAR, "UPDATE main.done SET settled = 0, digest = NULL WHERE id = ?")      \
    X(ROWS_DROP, "DELETE FROM main.rows WHERE done = ?")                               \
    X(ROWS_ADD, "INSERT INTO main.rows (done, seq, text) VALUES (?1, (SELECT "         \
                "ifnull(max(seq), 0) + 1 FROM main.rows WHERE done = ?1), ?2)")        \
    X(EACH, "SELECT l.path, r.text FROM temp.list l LEFT JOIN main.done d ON "         \
            "d.setting = ?1 AND d.path = l.path LEFT JOIN main.rows r ON r.done = "    \
            "d.id ORDER BY l.name, l.path, r.seq")

enum ledger_statement {
#define X(name, sql) LEDGER_##name,
    LEDGER_STATEMENT_MAP(X)
#undef X
    LEDGER_STATEMENT_COUNT
};

struct ledger {
    sqlite3 *db;
    char *path; /* for errors */
    sqlite3_stmt *statement[LEDGER_STATEMENT_COUNT];
    int64_t setting;
    int64_t last; /* number of the last job given out */
    bool beside;
    bool open; /* a transaction */
};

/** @return false with err, in words for what SQLite said last */
bool ledger_fail(const ledger *l, app_err *err);

/** A statement, fresh, with nothing bound. */
sqlite3_stmt *ledger_use(ledger *l, enum ledger_statement which);

/** Run a statement that gives no rows, or whose rows are not wanted. */
bool ledger_run(ledger *l, sqlite3_stmt *statement, app_err *err);

/** Run a statement that gives one row, of one number. */
bool ledger_number(ledger *l, sqlite3_stmt *statement, int64_t *out, app_err *err);

/** Open a transaction unless one is. */
bool ledger_begin(ledger *l, app_err *err);

#endif
