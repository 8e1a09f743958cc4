/* Opening, holding and committing a ledger; rows in and out. */
#include "src/base/bytes.h"
#include "src/batch/ledger_private.h"

#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    APPLICATION_ID = 0x464d6c31, /* "FMl1" */
    BUSY_MS = 3000               /* a killed run may take a moment to be gone */
};

#define STATEMENT(name, sql) sql,
static const char *const SQL[] = {LEDGER_STATEMENT_MAP(STATEMENT)};

/* Small caches: memory must not depend on the number of files. */
static const char SET_UP[] = "PRAGMA locking_mode = EXCLUSIVE;"
                             "PRAGMA journal_mode = DELETE;"
                             "PRAGMA synchronous = FULL;"
                             "PRAGMA cache_size = -256;"
                             "PRAGMA temp_store = FILE;";

static const char TABLES[] =
    "CREATE TABLE IF NOT EXISTS setting (id INTEGER PRIMARY KEY, engine TEXT NOT NULL, "
    "build TEXT NOT NULL, options TEXT NOT NULL, UNIQUE (engine, build, options));"
    "CREATE TABLE IF NOT EXISTS done (id INTEGER PRIMARY KEY, setting INTEGER NOT "
    "NULL, "
    "path BLOB NOT NULL, size INTEGER, mtime INTEGER, looked INTEGER, beside TEXT, "
    "digest BLOB, settled INTEGER NOT NULL DEFAULT 0, UNIQUE (setting, path));"
    "CREATE TABLE IF NOT EXISTS rows (done INTEGER NOT NULL, seq INTEGER NOT NULL, "
    "text "
    "BLOB NOT NULL, PRIMARY KEY (done, seq)) WITHOUT ROWID;"
    "CREATE TEMP TABLE list (name BLOB NOT NULL, path BLOB NOT NULL, size INTEGER NOT "
    "NULL, PRIMARY KEY (name, path)) WITHOUT ROWID;"
    "CREATE TEMP TABLE todo (number INTEGER PRIMARY KEY, path BLOB NOT NULL, size "
    "INTEGER NOT NULL, digest BLOB);"
    /* Only now is there a temporary database that can take it. */
    "PRAGMA temp.cache_size = -256;";

/* ---- Errors and statements ---- */

bool ledger_fail(const ledger *l, app_err *err)
{
    const char *const name = l->path[0] != '\0' ? l->path : "(temporary)";
    switch (sqlite3_errcode(l->db) & 0xff) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return app_err_set(
            err, APP_USAGE,
            "the ledger %s is in use: another run is at work on it; wait "
            "for it, or give this one another --out or --ledger",
            name);
    case SQLITE_NOTADB:
    case SQLITE_CORRUPT:
        return app_err_set(err, APP_UNREADABLE,
                           "the ledger %s is damaged, or no ledger of this program; "
                           "move it away, and everything is done again",
                           name);
    case SQLITE_NOMEM:
        return app_err_memory(err);
    default:
        return app_err_set(err, APP_FAILED,
                           "cannot use the ledger %s: %s; make room or choose another "
                           "place",
                           name, sqlite3_errmsg(l->db));
    }
}

sqlite3_stmt *ledger_use(ledger *l, enum ledger_statement which)
{
    (void)sqlite3_reset(l->statement[which]);
    (void)sqlite3_clear_bindings(l->statement[which]);
    return l->statement[which];
}

bool ledger_run(ledger *l, sqlite3_stmt *statement, app_err *err)
{
    const int rc = sqlite3_step(statement);
    const bool ok = rc == SQLITE_DONE || rc == SQLITE_ROW || ledger_fail(l, err);
    (void)sqlite3_reset(statement);
    return ok;
}

bool ledger_number(ledger *l, sqlite3_stmt *statement, int64_t *out, app_err *err)
{
    const bool ok = sqlite3_step(statement) == SQLITE_ROW || ledger_fail(l, err);
    *out = ok ? sqlite3_column_int64(statement, 0) : 0;
    (void)sqlite3_reset(statement);
    return ok;
}

bool ledger_begin(ledger *l, app_err *err)
{
    l->open = l->open || ledger_run(l, ledger_use(l, LEDGER_BEGIN), err);
    return l->open;
}

bool ledger_commit(ledger *l, app_err *err)
{
    if (!l->open) {
        return true;
    }
    l->open = !ledger_run(l, ledger_use(l, LEDGER_COMMIT), err);
    return !l->open;
}

/* ---- Opening ---- */

/* shard_of(name, of): 1..of, from the name alone; SipHash is keyed and even. */
static void shard_of(sqlite3_context *context, int n, sqlite3_value **value)
{
    static const unsigned char KEY[crypto_shorthash_KEYBYTES] = "fullminute shard";
    unsigned char hash[crypto_shorthash_BYTES];
    (void)n;
    const sqlite3_int64 of = sqlite3_value_int64(value[1]);
    const void *const name = sqlite3_value_blob(value[0]);
    const int n_bytes = sqlite3_value_bytes(value[0]);
    (void)crypto_shorthash(hash, name, (unsigned long long)n_bytes, KEY);
    uint64_t number = 0;
    for (int i = 0; i < 8; i++) {
        number = number << 8U | hash[i];
    }
    sqlite3_result_int64(context, (sqlite3_int64)(number % (uint64_t)of) + 1);
}

static int read_number(ledger *l, const char *sql)
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

static bool run_text(ledger *l, const char *sql, app_err *err)
{
    return sqlite3_exec(l->db, sql, NULL, NULL, NULL) == SQLITE_OK ||
           ledger_fail(l, err);
}

/* An empty file becomes a ledger; a database of another program is left alone. */
static bool check_owner(ledger *l, app_err *err)
{
    const int tables = read_number(l, "SELECT count(*) FROM sqlite_master");
    const int owner = tables >= 0 ? read_number(l, "PRAGMA application_id") : -1;
    if (tables < 0 || owner < 0) {
        return ledger_fail(l, err);
    }
    if (tables > 0 && owner != APPLICATION_ID) {
        return app_err_set(err, APP_USAGE,
                           "%s is a file of another program, not a ledger; give "
                           "another --ledger",
                           l->path);
    }
    char mark[64];
    (void)snprintf(mark, sizeof mark, "PRAGMA application_id = %d", APPLICATION_ID);
    return tables > 0 || run_text(l, mark, err);
}

static bool prepare(ledger *l, app_err *err)
{
    for (int i = 0; i < LEDGER_STATEMENT_COUNT; i++) {
        if (sqlite3_prepare_v3(l->db, SQL[i], -1, SQLITE_PREPARE_PERSISTENT,
                               &l->statement[i], NULL) != SQLITE_OK) {
            return ledger_fail(l, err);
        }
    }
    return true;
}

static bool find_setting(ledger *l, const ledger_setting *setting, app_err *err)
{
    sqlite3_stmt *const s = ledger_use(l, LEDGER_SETTING);
    (void)sqlite3_bind_text(s, 1, setting->engine, -1, SQLITE_STATIC);
    (void)sqlite3_bind_text(s, 2, setting->build, -1, SQLITE_STATIC);
    (void)sqlite3_bind_text(s, 3, setting->options, -1, SQLITE_STATIC);
    return ledger_number(l, s, &l->setting, err);
}

/* Holds the file from the first write on: the lock stays until it is closed. */
static bool set_up(ledger *l, const ledger_setting *setting, app_err *err)
{
    const int made = sqlite3_create_function(l->db, "shard_of", 2,
                                             SQLITE_UTF8 | SQLITE_DETERMINISTIC, NULL,
                                             shard_of, NULL, NULL);
    if (made != SQLITE_OK) {
        return ledger_fail(l, err);
    }
    (void)sqlite3_busy_timeout(l->db, BUSY_MS);
    return run_text(l, SET_UP, err) && run_text(l, "BEGIN EXCLUSIVE", err) &&
           check_owner(l, err) && run_text(l, TABLES, err) && prepare(l, err) &&
           find_setting(l, setting, err) && run_text(l, "COMMIT", err);
}

ledger *ledger_open(const char *path, const ledger_setting *setting, app_err *err)
{
    ledger *const l = calloc(1, sizeof *l);
    char *const name = strdup(path);
    if (l == NULL || name == NULL || sodium_init() < 0) {
        free(l);
        free(name);
        (void)app_err_memory(err);
        return NULL;
    }
    l->path = name;
    l->beside = setting->beside;
    const int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE;
    const bool open = sqlite3_open_v2(path, &l->db, flags, NULL) == SQLITE_OK;
    if ((open || ledger_fail(l, err)) && set_up(l, setting, err)) {
        return l;
    }
    ledger_close(l);
    return NULL;
}

void ledger_close(ledger *l)
{
    if (l == NULL) {
        return;
    }
    for (int i = 0; i < LEDGER_STATEMENT_COUNT; i++) {
        (void)sqlite3_finalize(l->statement[i]);
    }
    (void)sqlite3_close(l->db);
    free(l->path);
    free(l);
}

/* ---- Rows ---- */

bool ledger_add_rows(
    ledger *l, const ledger_job *job, const char *text, size_t n, app_err *err)
{
    if (!ledger_begin(l, err)) {
        return false;
    }
    sqlite3_stmt *const s = ledger_use(l, LEDGER_ROWS_ADD);
    (void)sqlite3_bind_int64(s, 1, job->done);
    (void)sqlite3_bind_blob64(s, 2, text, n, SQLITE_STATIC);
    return ledger_run(l, s, err);
}

static bool run_on(ledger *l,
                   enum ledger_statement which,
                   const ledger_job *job,
                   app_err *err)
{
    sqlite3_stmt *const s = ledger_use(l, which);
    (void)sqlite3_bind_int64(s, 1, job->done);
    return ledger_run(l, s, err);
}

bool ledger_drop_rows(ledger *l, const ledger_job *job, app_err *err)
{
    return ledger_begin(l, err) && run_on(l, LEDGER_ROWS_DROP, job, err) &&
           run_on(l, LEDGER_DONE_CLEAR, job, err);
}

bool ledger_finish(ledger *l,
                   const ledger_job *job,
                   const identity *i,
                   bool same,
                   bool settled,
                   app_err *err)
{
    if (!ledger_begin(l, err)) {
        return false;
    }
    sqlite3_stmt *const s = ledger_use(l, same ? LEDGER_DONE_LOOK : LEDGER_DONE_SET);
    (void)sqlite3_bind_int64(s, 1, job->done);
    (void)sqlite3_bind_int64(s, 2, i->size_bytes);
    (void)sqlite3_bind_int64(s, 3, i->mtime_ns);
    (void)sqlite3_bind_int64(s, 4, i->looked_ns);
    (void)sqlite3_bind_text(s, 5, i->beside, -1, SQLITE_STATIC);
    if (!same) {
        if (i->digested) {
            (void)sqlite3_bind_blob(s, 6, i->digest.byte, DIGEST_BYTES, SQLITE_STATIC);
        }
        (void)sqlite3_bind_int(s, 7, settled && i->digested);
    }
    return ledger_run(l, s, err);
}

bool ledger_each(ledger *l,
                 bool (*take)(void *context, char *text, size_t n, app_err *err),
                 void *context,
                 app_err *err)
{
    sqlite3_stmt *const s = ledger_use(l, LEDGER_EACH);
    (void)sqlite3_bind_int64(s, 1, l->setting);
    bytes text = BYTES_NONE;
    bool ok = true;
    int rc = 0;
    while (ok && (rc = sqlite3_step(s)) == SQLITE_ROW) {
        if (sqlite3_column_type(s, 1) == SQLITE_NULL) {
            ok = app_err_set(err, APP_FAILED,
                             "a file has no rows in the ledger: %s; run it again",
                             (const char *)sqlite3_column_blob(s, 0));
            break;
        }
        bytes_clear(&text);
        bytes_add(&text, sqlite3_column_blob(s, 1), (size_t)sqlite3_column_bytes(s, 1));
        ok = text.failed ? app_err_memory(err) : take(context, text.data, text.n, err);
    }
    if (ok && rc != SQLITE_DONE) {
        ok = ledger_fail(l, err);
    }
    (void)sqlite3_reset(s);
    bytes_free(&text);
    return ok;
}
