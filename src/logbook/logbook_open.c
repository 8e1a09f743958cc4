/* Opening and closing. */
#define _DEFAULT_SOURCE /* NOLINT(bugprone-reserved-identifier): flock */

#include "src/logbook/logbook_private.h"
#include "src/port/home.h"
#include "src/port/steady.h"

#include "src/port/file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

enum {
    BUSY_MS = 10000, /* another program's commit is a matter of milliseconds */
    HOLD_WAIT_MS = 20
};

/* Deleted rows are overwritten; a commit is on disk when it returns. */
static const char SET_UP[] = "PRAGMA foreign_keys = ON;"
                             "PRAGMA synchronous = FULL;"
                             "PRAGMA secure_delete = ON;"
                             "PRAGMA temp_store = MEMORY;";

bool logbook_fail(const logbook *l, app_err *err)
{
    switch (sqlite3_errcode(l->db) & 0xff) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return app_err_set(err, APP_FAILED,
                           "the logbook %s has been held by another program for ten "
                           "seconds; close that one and try again",
                           l->path);
    case SQLITE_NOTADB:
    case SQLITE_CORRUPT:
        return app_err_set(err, APP_UNREADABLE, "the logbook %s is damaged", l->path);
    case SQLITE_FULL:
        return app_err_set(err, APP_FAILED,
                           "the disk is full: nothing was added to the logbook %s, "
                           "what it held is still there; make room and try again",
                           l->path);
    case SQLITE_READONLY:
    case SQLITE_PERM:
        (void)app_err_set(err, APP_FAILED,
                          "the logbook %s or its folder cannot be written, so nothing "
                          "was added",
                          l->path);
        return app_err_hint(err, HINT_NONE, HINT_LOGBOOK);
    case SQLITE_CANTOPEN:
        return app_err_set(err, APP_FAILED,
                           "cannot open the logbook %s; is its folder there, and may "
                           "you write in it?",
                           l->path);
    case SQLITE_NOMEM:
        return app_err_memory(err);
    case SQLITE_CONSTRAINT:
        return app_err_set(err, APP_USAGE, "not stored: %s", sqlite3_errmsg(l->db));
    default:
        return app_err_set(err, APP_FAILED, "cannot use the logbook %s: %s", l->path,
                           sqlite3_errmsg(l->db));
    }
}

bool logbook_run(logbook *l, const char *sql, app_err *err)
{
    return sqlite3_exec(l->db, sql, NULL, NULL, NULL) == SQLITE_OK ||
           logbook_fail(l, err);
}

sqlite3_stmt *logbook_prepare(logbook *l, const char *sql, app_err *err)
{
    sqlite3_stmt *s = NULL;
    if (sqlite3_prepare_v2(l->db, sql, -1, &s, NULL) != SQLITE_OK) {
        (void)logbook_fail(l, err);
        return NULL;
    }
    return s;
}

bool logbook_finish(logbook *l, sqlite3_stmt *s, app_err *err)
{
    if (s == NULL) {
        return false;
    }
    const int rc = sqlite3_step(s);
    const bool ok = rc == SQLITE_DONE || rc == SQLITE_ROW || logbook_fail(l, err);
    (void)sqlite3_finalize(s);
    return ok;
}

bool logbook_run_with(logbook *l, const char *sql, const char *text, app_err *err)
{
    sqlite3_stmt *const s = logbook_prepare(l, sql, err);
    logbook_bind_text(s, 1, text);
    return logbook_finish(l, s, err);
}

char *logbook_default_path(app_err *err)
{
    return home_path(HOME_DATA, "logbook.sqlite", "no home folder to keep a logbook in",
                     HINT_LOGBOOK, err);
}

/* ---- Whose file it is, and whether it is whole ---- */

typedef enum file_state {
    FILE_SOUND,
    FILE_DAMAGED, /* a logbook of ours */
    FILE_FOREIGN, /* anything else: it is left alone */
    FILE_UNREAD /* not known: no memory, a read that failed; logbook_fail says which */
} file_state;

static bool is_damaged(logbook *l)
{
    sqlite3_stmt *s = NULL;
    bool sound = false;
    int rc = sqlite3_prepare_v2(l->db, "PRAGMA quick_check(1)", -1, &s, NULL);
    if (rc == SQLITE_OK) {
        rc = sqlite3_step(s);
        sound = rc == SQLITE_ROW &&
                strcmp((const char *)sqlite3_column_text(s, 0), "ok") == 0;
    }
    (void)sqlite3_finalize(s);
    const int code = rc & 0xff;
    return code == SQLITE_CORRUPT || code == SQLITE_NOTADB ||
           (code == SQLITE_ROW && !sound);
}

static bool is_unread(const logbook *l)
{
    const int code = sqlite3_errcode(l->db) & 0xff;
    return code != SQLITE_OK && code != SQLITE_CORRUPT && code != SQLITE_NOTADB;
}

/* Our mark is read before the tables, so that it is known of a damaged file, too. */
static file_state look(logbook *l)
{
    const bool ours =
        logbook_number(l, "PRAGMA application_id") == LOGBOOK_APPLICATION_ID;
    if (!ours && is_unread(l)) {
        return FILE_UNREAD;
    }
    if (is_damaged(l)) {
        return ours ? FILE_DAMAGED : FILE_FOREIGN;
    }
    if (ours || logbook_number(l, "SELECT count(*) FROM sqlite_master") == 0) {
        return FILE_SOUND;
    }
    return is_unread(l) ? FILE_UNREAD : FILE_FOREIGN;
}

/* ---- Opening ---- */

static bool open_file(logbook *l, bool make, app_err *err)
{
    const int flags = SQLITE_OPEN_READWRITE | (make ? SQLITE_OPEN_CREATE : 0);
    const mode_t before = umask(S_IRWXG | S_IRWXO);
    const int rc = sqlite3_open_v2(l->path, &l->db, flags, NULL);
    const bool ok = rc == SQLITE_OK || logbook_fail(l, err);
    if (ok) {
        (void)sqlite3_busy_timeout(l->db, BUSY_MS);
    }
    (void)umask(before);
    return ok;
}

static bool check_there(const char *path, bool make, app_err *err)
{
    struct stat there;
    if (stat(path, &there) != 0) {
        if (make) {
            return file_make_folders(path, false, err);
        }
        (void)app_err_set(err, APP_UNREADABLE, "there is no logbook %s", path);
        return app_err_hint(err, HINT_NONE, HINT_NO_LOGBOOK);
    }
    return S_ISREG(there.st_mode) ||
           app_err_set(err, APP_UNREADABLE, "%s is no file", path);
}

/* Whoever has the logbook open holds its folder shared, and whoever sets it aside holds
 * it alone: so no program writes into a file that another has just renamed, and of two that
 * find it damaged the second sees the new one. A folder and not the file, because closing
 * any descriptor of that would end SQLite's own locks. */
static bool hold_folder(logbook *l, int how)
{
    if (l->folder < 0) {
        char *const folder = strdup(l->path);
        if (folder == NULL) {
            return false;
        }
        char *const slash = strrchr(folder, '/');
        if (slash != NULL) {
            slash[slash == folder ? 1 : 0] = '\0';
        }
        l->folder =
            open(slash != NULL ? folder : ".", O_RDONLY | O_DIRECTORY | O_CLOEXEC);
        free(folder);
    }
    for (int waited_ms = 0; l->folder >= 0; waited_ms += HOLD_WAIT_MS) {
        if (flock(l->folder, how | LOCK_NB) == 0) {
            return true;
        }
        if ((errno != EWOULDBLOCK && errno != EINTR) || waited_ms > BUSY_MS) {
            break;
        }
        steady_wait_s(HOLD_WAIT_MS / 1000.0);
    }
    return false;
}

static void close_file(logbook *l)
{
    (void)sqlite3_close(l->db);
    l->db = NULL;
}

/* The damaged file is looked at once more, now that nobody else has it. */
static bool begin_anew(logbook *l, app_err *err)
{
    close_file(l);
    if (!hold_folder(l, LOCK_EX)) {
        return app_err_set(
            err, APP_UNREADABLE,
            "the logbook %s is damaged, and another program has it open; "
            "close that one and try again, or move the file away by hand",
            l->path);
    }
    if (!open_file(l, true, err)) {
        return false;
    }
    if (look(l) != FILE_DAMAGED) {
        return true;
    }
    close_file(l);
    return logbook_set_aside(l, err) && open_file(l, true, err);
}

static bool open_and_check(logbook *l, bool make, app_err *err)
{
    const bool held = hold_folder(l, LOCK_SH);
    if (!open_file(l, make, err)) {
        return false;
    }
    const file_state state = look(l);
    if (state == FILE_UNREAD) {
        return logbook_fail(l, err);
    }
    if (state == FILE_FOREIGN) {
        (void)app_err_set(err, APP_UNREADABLE,
                          "%s is a file of another program, no logbook (or its "
                          "beginning is damaged), and was left as it is; move it away",
                          l->path);
        return app_err_hint(err, HINT_NONE, HINT_LOGBOOK);
    }
    if (state == FILE_DAMAGED && !begin_anew(l, err)) {
        return false;
    }
    const bool ok = logbook_run(l, SET_UP, err) &&
                    logbook_run(l, "PRAGMA journal_mode = WAL", err) &&
                    logbook_migrate(l, err);
    if (held && state == FILE_DAMAGED) {
        (void)hold_folder(l, LOCK_SH);
    }
    return ok;
}

logbook *logbook_open(const char *path, bool make, app_err *err)
{
    if (!check_there(path, make, err)) {
        return NULL;
    }
    logbook *const l = calloc(1, sizeof *l);
    char *const name = strdup(path);
    if (l == NULL || name == NULL || strlen(path) + 64 > ENTRY_PATH_BYTES) {
        free(l);
        free(name);
        (void)app_err_set(err, APP_FAILED, "out of memory, or the path %s is too long",
                          path);
        return NULL;
    }
    l->path = name;
    l->folder = -1;
    if (!open_and_check(l, make, err)) {
        logbook_close(l);
        return NULL;
    }
    return l;
}

void logbook_close(logbook *l)
{
    if (l == NULL) {
        return;
    }
    logbook_undo(l);
    (void)sqlite3_close(l->db);
    if (l->folder >= 0) {
        (void)close(l->folder);
    }
    free(l->path);
    sqlite3_free(l->note);
    free(l);
}

const char *logbook_note(const logbook *l)
{
    return l->note;
}

const char *logbook_path(const logbook *l)
{
    return l->path;
}
